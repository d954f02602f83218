//! The mean kinetic temperature, as information only: life is never worked out from a mean.

use super::spent::degrees;
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::units::{Quantity::Temperature, Unit};

/// `ΔH/R` of 83.144 kJ/mol. P: USP <1160>.
const KELVIN: f64 = 10_000.0;
const ZERO_C: f64 = 273.15;

/// Of readings at equal intervals, °C. `None` without any.
#[expect(clippy::cast_precision_loss, reason = "a number of readings")]
pub fn mean_kinetic_c(readings_c: &[f64]) -> Option<f64> {
    if readings_c.is_empty() {
        return None;
    }
    let sum: f64 = readings_c.iter().map(|c| (-KELVIN / (c + ZERO_C)).exp()).sum();
    Some(KELVIN / -(sum / readings_c.len() as f64).ln() - ZERO_C)
}

/// What is said beside it, always.
pub const ONLY: &str = "As information only: life is never worked out from a mean.";

/// Where it comes from.
pub const SOURCE: &str = "USP <1160>, 83.144 kJ/mol";

/// Both means of readings at equal intervals, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    pub readings: usize,
    pub kinetic_c: f64,
    pub plain_c: f64,
}

impl Mean {
    #[expect(clippy::cast_precision_loss, reason = "a number of readings")]
    pub fn of(readings_c: &[f64]) -> Option<Self> {
        let readings = readings_c.len();
        let kinetic_c = mean_kinetic_c(readings_c)?;
        Some(Self { readings, kinetic_c, plain_c: readings_c.iter().sum::<f64>() / readings as f64 })
    }

    pub fn lines(self, units: Units) -> Vec<String> {
        let unit = Temperature.typed_in(units);
        let shown = |c: f64| format!("{:.2} {}", unit.from_kept(c), unit.name());
        vec![
            format!("mean kinetic temperature {}", shown(self.kinetic_c)),
            format!("  plain mean {}", shown(self.plain_c)),
            format!("  {} at equal intervals, by {SOURCE}", counted(self.readings, "reading")),
            ONLY.into(),
        ]
    }
}

/// Readings with commas or spaces between them, in °C. With semicolons between them a comma is a decimal comma, and
/// where nobody can tell which it is, it is asked for.
pub fn typed(text: &str, unit: Unit) -> Result<Vec<f64>, String> {
    let text = text.trim();
    let list: Vec<&str> = if text.contains(';') {
        text.split(';').map(str::trim).filter(|part| !part.is_empty()).collect()
    } else {
        let words: Vec<&str> = text.split_whitespace().collect();
        if words.len() > 1 && words.iter().any(|word| word.trim_matches(',').contains(',')) {
            return Err(
                "Is that comma a decimal one? Write 4.5, 6.2 with points, or 4,5; 6,2 with semicolons between.".into(),
            );
        }
        text.split(|c: char| c == ',' || c.is_whitespace()).filter(|part| !part.is_empty()).collect()
    };
    if list.is_empty() {
        return Err("Give at least one reading, such as 2,2,5,8.".into());
    }
    list.into_iter().map(|part| degrees(part, unit)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_part_readings_unless_nobody_can_tell() {
        for text in ["2,2.5,8", "2 2.5 8", "2, 2.5, 8,", "2; 2,5;8", " 2\t2.5  8 "] {
            assert_eq!(typed(text, Unit::Celsius), Ok(vec![2.0, 2.5, 8.0]), "{text}");
        }
        for text in ["2,5 8,5", "2,5, 8,5", "2, 2,5, 8"] {
            let why = typed(text, Unit::Celsius).unwrap_err();
            assert!(why.starts_with("Is that comma a decimal one?"), "{text}: {why}");
        }
        for text in ["", " ", ",;", "2,x", "2,nan", "2,61", "2,-21"] {
            assert!(typed(text, Unit::Celsius).is_err(), "{text}");
        }
        assert_eq!(typed("32,50,4C", Unit::Fahrenheit), Ok(vec![0.0, 10.0, 4.0]));
    }
}
