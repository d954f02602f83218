//! Water given to trays outside of a walk, with what was measured of it.

use super::id::TrayId;
use super::look::WaterFigures;
use super::room::Units;

/// Water for some trays at once.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct NewWater {
    pub trays: Vec<TrayId>,
    pub figures: WaterFigures,
    /// Where it came from: the tap, the rain barrel.
    pub source: String,
}

impl NewWater {
    /// What can be said against it without the book.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        self.figures.check()?;
        if self.source.chars().count() > 60 {
            return Err(("source", "A source has at most 60 characters.".into()));
        }
        Ok(())
    }

    /// `watered, 400 mL, pH 6.10, 820 µS/cm, from the tap`; of more trays than one, `400 mL each`.
    pub fn words(&self, units: Units) -> String {
        let figures = &self.figures;
        let amount = figures.ml.map(|_| WaterFigures { ml: figures.ml, ..WaterFigures::default() }.words(units));
        let each = if self.trays.len() > 1 { " each" } else { "" };
        let amount = amount.map(|amount| format!("{amount}{each}"));
        let rest = WaterFigures { ml: None, ..*figures }.words(units);
        let figures = [amount, Some(rest)].into_iter().flatten().filter(|words| !words.is_empty());
        let figures = Some(figures.collect::<Vec<_>>().join(", ")).filter(|words| !words.is_empty());
        let source = Some(self.source.trim()).filter(|source| !source.is_empty()).map(|s| format!("from {s}"));
        let parts = [Some("watered".to_string()), figures, source];
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
        let figures = WaterFigures { ml: Some(400), ph_100: Some(610), temp_dc: None, ec_us: Some(820) };
        let full = NewWater { figures, source: "the tap".into(), ..plain };
        assert_eq!(full.words(Units::Metric), "watered, 400 mL, pH 6.10, 820 µS/cm, from the tap");
        let two = NewWater { trays: vec![TrayId(1), TrayId(2)], ..full.clone() };
        assert_eq!(two.words(Units::Metric), "watered, 400 mL each, pH 6.10, 820 µS/cm, from the tap");
        assert_eq!(NewWater { figures: WaterFigures::default(), ..two }.words(Units::Metric), "watered, from the tap");
        assert_eq!(
            NewWater { figures: WaterFigures { ec_us: Some(20_001), ..figures }, ..full.clone() }
                .check()
                .unwrap_err()
                .0,
            "ec"
        );
        assert_eq!(NewWater { source: "x".repeat(61), ..full }.check().unwrap_err().0, "source");
    }
}
