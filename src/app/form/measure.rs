//! A typed amount with its unit: `2 oz`, `30 g`, or a bare number in the unit of the screen. Its value is in the unit of
//! the book, rounded to what the book keeps.

use super::line::{Range, with_unit};
use crate::domain::room::Units;
use crate::domain::units::{Quantity, Unit, split_unit, trimmed};

/// Limits of an amount, both included, and its decimals, in the unit of the book.
#[derive(Debug, Clone)]
pub struct Measure {
    pub quantity: Quantity,
    pub units: Units,
    pub min: f64,
    pub max: f64,
    pub decimals: u8,
}

impl Measure {
    /// The unit of a number that names none.
    fn unit(&self) -> Unit {
        self.quantity.typed_in(self.units)
    }

    /// The number and its unit; a word that is no unit of this quantity is nothing.
    fn read<'t>(&self, text: &'t str) -> Option<(&'t str, Unit)> {
        match split_unit(text) {
            (number, "") => Some((number, self.unit())),
            (number, word) => Some((number, self.quantity.spelled(word)?)),
        }
    }

    /// The limits as they read in a unit, rounded so that each of them is within.
    fn range(&self, unit: Unit) -> Range {
        let decimals = self.decimals + unit.finer_by();
        let steps = 10_f64.powi(i32::from(decimals));
        // the little less and more keep a limit that is exact in this unit where it is
        let min = ((unit.from_kept(self.min) * steps - 1e-6).ceil() + 0.0) / steps;
        let max = (unit.from_kept(self.max) * steps + 1e-6).floor() / steps;
        Range { unit: unit.name().to_owned(), min, max, decimals }
    }

    fn kept(&self, unit: Unit, x: f64) -> f64 {
        let steps = 10_f64.powi(i32::from(self.decimals));
        (unit.to_kept(x) * steps).round() / steps
    }

    pub(super) fn check(&self, text: &str) -> Result<String, String> {
        let Some((number, unit)) = self.read(text) else {
            let names: Vec<&str> = self.quantity.units().iter().map(|unit| unit.name()).collect();
            return Err(format!("write a number, bare or with one of: {}.", names.join(", ")));
        };
        let exact = self.range(unit).check(number)?;
        let x: f64 = exact.parse().map_err(|_| "write a number in digits, such as 12 or 12.5.".to_owned())?;
        Ok((self.kept(unit, x) + 0.0).to_string())
    }

    pub(super) fn limits(&self) -> String {
        let limits = self.range(self.unit()).limits();
        let others: Vec<&str> =
            self.quantity.units().iter().filter(|unit| **unit != self.unit()).map(|unit| unit.name()).collect();
        match self.units {
            Units::Metric => limits,
            Units::Us => format!("{limits}; or with {}", others.join(", ")),
        }
    }

    /// The amount in the unit of the book, where something else was typed.
    pub(super) fn understood(&self, text: &str) -> Option<String> {
        let kept = self.check(text).ok()?;
        let (number, unit) = self.read(text)?;
        let book = self.quantity.kept_in();
        (unit != book || kept != number).then(|| with_unit(&kept, book.name()))
    }

    /// The unit to show beside a text; none beside one that names its own.
    pub(super) fn beside(&self, text: &str) -> &'static str {
        if split_unit(text).1.is_empty() { self.unit().name() } else { "" }
    }

    /// A text of any unit in the unit of the screen, as short as it comes back to the same amount; what cannot be read
    /// stays as it is.
    pub(super) fn on_screen(&self, text: &str) -> String {
        let (Ok(kept), Some((number, unit))) = (self.check(text), self.read(text)) else { return text.to_owned() };
        if unit == self.unit() {
            return number.to_owned();
        }
        let kept: f64 = kept.parse().unwrap_or_default();
        let x = self.unit().from_kept(kept);
        let most = usize::from(self.decimals + self.unit().finer_by());
        let same = |text: &String| text.parse().is_ok_and(|x| (self.kept(self.unit(), x) - kept).abs() < f64::EPSILON);
        (0..=most).map(|decimals| trimmed(x, decimals)).find(same).unwrap_or_else(|| trimmed(x, most))
    }

    /// The text with its unit, so that a draft means the same when other units are chosen meanwhile.
    pub(super) fn held(&self, text: &str) -> String {
        let bare = self.check(text).is_ok() && split_unit(text).1.is_empty();
        if bare && !text.trim().is_empty() { with_unit(text.trim(), self.unit().name()) } else { text.to_owned() }
    }
}
