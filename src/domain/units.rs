//! Weights, volumes, temperatures and areas as a person reads and types them. The book keeps grams, millilitres and
//! degrees Celsius whatever is chosen; rounding on the screen never reaches it.

use super::room::Units;
use super::sowing::grams;

#[cfg(test)]
mod tests;

/// Square centimetres in a square inch, exactly (1 in = 2.54 cm).
const CM2_PER_IN2: f64 = 6.4516;
/// Grams in an avoirdupois ounce, exactly.
pub const G_PER_OZ: f64 = 28.349_523_125;
/// Grams in an avoirdupois pound of 16 ounces, exactly.
pub const G_PER_LB: f64 = 453.592_37;
/// Millilitres in a US fluid ounce, exactly.
pub const ML_PER_FL_OZ: f64 = 29.573_529_562_5;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    Weight,
    Volume,
    Temperature,
}

/// What it is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Gram,
    Kilogram,
    Ounce,
    Pound,
    Millilitre,
    Litre,
    FluidOunce,
    Celsius,
    Fahrenheit,
}

use Unit::{Celsius, Fahrenheit, FluidOunce, Gram, Kilogram, Litre, Millilitre, Ounce, Pound};

impl Quantity {
    /// Every unit it can be typed in; the book's own comes first.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Weight => &[Gram, Kilogram, Ounce, Pound],
            Self::Volume => &[Millilitre, Litre, FluidOunce],
            Self::Temperature => &[Celsius, Fahrenheit],
        }
    }

    /// The unit of the book.
    pub fn kept_in(self) -> Unit {
        match self {
            Self::Weight => Gram,
            Self::Volume => Millilitre,
            Self::Temperature => Celsius,
        }
    }

    /// The unit of a number that names none.
    pub fn typed_in(self, units: Units) -> Unit {
        match (units, self) {
            (Units::Metric, _) => self.kept_in(),
            (Units::Us, Self::Weight) => Ounce,
            (Units::Us, Self::Volume) => FluidOunce,
            (Units::Us, Self::Temperature) => Fahrenheit,
        }
    }

    /// The unit as somebody writes it: `oz`, `OZ`, `fl. oz`, `°F`, `lbs`.
    pub fn spelled(self, word: &str) -> Option<Unit> {
        let plain: String = word.to_lowercase().chars().filter(|c| !matches!(c, ' ' | '.' | '°')).collect();
        let found = match plain.as_str() {
            "g" => Gram,
            "kg" => Kilogram,
            "oz" => Ounce,
            "lb" | "lbs" => Pound,
            "ml" => Millilitre,
            "l" => Litre,
            "floz" => FluidOunce,
            "c" => Celsius,
            "f" => Fahrenheit,
            _ => return None,
        };
        Some(found).filter(|unit| self.units().contains(unit))
    }
}

impl Unit {
    pub fn name(self) -> &'static str {
        match self {
            Gram => "g",
            Kilogram => "kg",
            Ounce => "oz",
            Pound => "lb",
            Millilitre => "mL",
            Litre => "L",
            FluidOunce => "fl oz",
            Celsius => "°C",
            Fahrenheit => "°F",
        }
    }

    /// An amount in the unit of the book.
    pub fn to_kept(self, x: f64) -> f64 {
        match self {
            Gram | Millilitre | Celsius => x,
            Kilogram | Litre => x * 1000.0,
            Ounce => x * G_PER_OZ,
            Pound => x * G_PER_LB,
            FluidOunce => x * ML_PER_FL_OZ,
            Fahrenheit => (x - 32.0) * 5.0 / 9.0,
        }
    }

    /// An amount of the book in this unit.
    pub fn from_kept(self, x: f64) -> f64 {
        match self {
            Gram | Millilitre | Celsius => x,
            Kilogram | Litre => x / 1000.0,
            Ounce => x / G_PER_OZ,
            Pound => x / G_PER_LB,
            FluidOunce => x / ML_PER_FL_OZ,
            Fahrenheit => x * 9.0 / 5.0 + 32.0,
        }
    }

    /// Decimals beyond those of the book's unit at which every amount of the book can be told from the next.
    pub fn finer_by(self) -> u8 {
        match self {
            Gram | Millilitre | Celsius | Fahrenheit => 0,
            Ounce | FluidOunce => 2,
            Kilogram | Litre | Pound => 3,
        }
    }
}

/// A number with the word behind it, as in `2 oz`, `30g`, `68 °F`; the word is empty where none was written.
pub fn split_unit(text: &str) -> (&str, &str) {
    let number = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-'));
    let head = text.strip_suffix(number).unwrap_or(text);
    (head.trim(), number.trim())
}

impl Units {
    /// Seed in milligrams, such as `58.6 g`, `2.07 oz`, and from sixteen ounces `1.79 lb`.
    pub fn weight(self, mg: i64) -> String {
        match self {
            Self::Metric => format!("{} g", grams(mg)),
            Self::Us => us_weight(mg, f64::round),
        }
    }

    /// What a jar holds, never more than there is: whole grams, or hundredths of an ounce or pound.
    pub fn stock(self, mg: i64) -> String {
        match self {
            Self::Metric => format!("{} g", grams(mg / 1000 * 1000)),
            Self::Us => us_weight(mg, f64::floor),
        }
    }

    /// `811 of 1000 g`, `1.79 lb of 2.2 lb`.
    pub fn part_of(self, part_mg: i64, whole_mg: i64) -> String {
        match self {
            Self::Metric => format!("{} of {} g", grams(part_mg), grams(whole_mg)),
            Self::Us => format!("{} of {}", self.weight(part_mg), self.weight(whole_mg)),
        }
    }

    /// A step of arithmetic: grams to hundredths, or ounces to thousandths.
    pub fn step(self, g: f64) -> String {
        match self {
            Self::Metric => format!("{g:.2} g"),
            Self::Us => format!("{:.3} oz", Ounce.from_kept(g)),
        }
    }

    /// Water in millilitres.
    #[expect(clippy::cast_precision_loss, reason = "millilitres of a tray are far below 2^53")]
    pub fn volume(self, ml: i64) -> String {
        match self {
            Self::Metric => format!("{ml} mL"),
            Self::Us => format!("{} fl oz", trimmed(FluidOunce.from_kept(ml as f64), 2)),
        }
    }

    /// Tenths of a degree Celsius.
    #[expect(clippy::cast_precision_loss, reason = "temperatures are far below 2^53")]
    pub fn temperature(self, dc: i64) -> String {
        let unit = Quantity::Temperature.typed_in(self);
        format!("{:.1} {}", unit.from_kept(dc as f64 / 10.0), unit.name())
    }

    pub fn area(self, cm2: f64) -> String {
        match self {
            Self::Metric => format!("{cm2:.2} cm²"),
            Self::Us => format!("{:.2} in²", cm2 / CM2_PER_IN2),
        }
    }

    /// Seeds on an area.
    pub fn density(self, seeds_per_cm2: f64) -> String {
        match self {
            Self::Metric => format!("{seeds_per_cm2:.2} seeds/cm²"),
            Self::Us => format!("{:.2} seeds/in²", seeds_per_cm2 * CM2_PER_IN2),
        }
    }
}

/// Hundredths of a pound from sixteen ounces, hundredths of an ounce from one, finer below.
#[expect(clippy::cast_precision_loss, reason = "a tonne of milligrams is far below 2^53")]
fn us_weight(mg: i64, round: fn(f64) -> f64) -> String {
    let g = mg as f64 / 1000.0;
    let oz = Ounce.from_kept(g);
    let (x, unit, decimals) = match oz.abs() {
        16.0.. => (Pound.from_kept(g), Pound, 2),
        1.0..16.0 => (oz, Ounce, 2),
        0.01..1.0 => (oz, Ounce, 3),
        _ => (oz, Ounce, 5),
    };
    let steps = 10_f64.powi(decimals);
    // the little more keeps an exact amount such as 2 lb from being rounded down by the last bit
    let x = round(x * steps + 1e-9) / steps;
    format!("{} {}", trimmed(x, usize::try_from(decimals).unwrap_or(0)), unit.name())
}

/// A number without needless zeros at its end.
pub fn trimmed(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}
