//! Water given to trays outside of a walk, with what was measured of it.

use super::id::TrayId;
use super::look::WaterFigures;
use super::room::Units;

/// Water for some trays at once.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct NewWater {
    pub trays: Vec<TrayId>,
    pub figures: WaterFigures,
    /// Conductivity, µS/cm.
    pub ec_us: Option<i64>,
    /// Where it came from: the tap, the rain barrel.
    pub source: String,
}

impl NewWater {
    /// What can be said against it without the book.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        self.figures.check()?;
        if self.ec_us.is_some_and(|ec| !(0..=20_000).contains(&ec)) {
            return Err(("ec", "Conductivity lies between 0 and 20 000 µS/cm.".into()));
        }
        if self.source.chars().count() > 60 {
            return Err(("source", "A source has at most 60 characters.".into()));
        }
        Ok(())
    }

    /// `watered, 400 mL, pH 6.10, 820 µS/cm, from the tap`.
    pub fn words(&self, units: Units) -> String {
        let figures = Some(self.figures.words(units)).filter(|words| !words.is_empty());
        let ec = self.ec_us.map(|ec| format!("{ec} µS/cm"));
        let source = Some(self.source.trim()).filter(|source| !source.is_empty()).map(|s| format!("from {s}"));
        let parts = [Some("watered".to_string()), figures, ec, source];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_is_told_with_what_was_measured() {
        let plain = NewWater::default();
        assert_eq!(plain.words(Units::Metric), "watered");
        let figures = WaterFigures { ml: Some(400), ph_100: Some(610), temp_dc: None };
        let full = NewWater { figures, ec_us: Some(820), source: "the tap".into(), ..plain };
        assert_eq!(full.words(Units::Metric), "watered, 400 mL, pH 6.10, 820 µS/cm, from the tap");
        assert_eq!(NewWater { ec_us: Some(20_001), ..full.clone() }.check().unwrap_err().0, "ec");
        assert_eq!(NewWater { source: "x".repeat(61), ..full }.check().unwrap_err().0, "source");
    }
}
