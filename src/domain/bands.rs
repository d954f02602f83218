//! What the room wants its water and air to be. A figure outside is said, never refused.

use super::look::WaterFigures;
use super::reading::Reading;
use super::room::Units;
use super::time::Day;
use super::tray::{Stage, TrayCard};
use super::units::trimmed;

/// From and to; either may be open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct Band {
    pub min: Option<i64>,
    pub max: Option<i64>,
}

impl Band {
    fn crossed(self) -> bool {
        matches!((self.min, self.max), (Some(min), Some(max)) if min > max)
    }

    /// `below 5.5`, `above 6.5`; nothing inside or where nothing was measured.
    fn outside(self, value: Option<i64>, shown: impl Fn(i64) -> String) -> Option<String> {
        let value = value?;
        match (self.min, self.max) {
            (Some(min), _) if value < min => Some(format!("below {}", shown(min))),
            (_, Some(max)) if value > max => Some(format!("above {}", shown(max))),
            _ => None,
        }
    }

    /// `5.5 to 6.5`, `from 5.5`, `up to 6.5`.
    fn words(self, shown: impl Fn(i64) -> String) -> Option<String> {
        match (self.min, self.max) {
            (Some(min), Some(max)) => Some(format!("{} to {}", shown(min), shown(max))),
            (Some(min), None) => Some(format!("from {}", shown(min))),
            (None, Some(max)) => Some(format!("up to {}", shown(max))),
            (None, None) => None,
        }
    }
}

/// The bands of a room; one that was never set says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(default)]
pub struct Bands {
    /// Hundredths.
    pub ph_100: Band,
    /// Tenths of a degree Celsius.
    pub water_dc: Band,
    /// µS/cm.
    pub ec_us: Band,
    pub air_dc: Band,
    /// Per mille.
    pub rh_pm: Band,
    /// Days after which the water of a tray in the light is changed.
    pub every_d: Option<i64>,
}

#[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
fn ph(value: i64) -> String {
    trimmed(value as f64 / 100.0, 2)
}

fn ec(value: i64) -> String {
    format!("{value} µS/cm")
}

#[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
fn rh(value: i64) -> String {
    format!("{} %", trimmed(value as f64 / 10.0, 1))
}

impl Bands {
    /// What can be said against them.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        let all = [
            ("ph_max", self.ph_100),
            ("water_max", self.water_dc),
            ("ec_max", self.ec_us),
            ("air_max", self.air_dc),
            ("rh_max", self.rh_pm),
        ];
        if let Some((field, _)) = all.iter().find(|(_, band)| band.crossed()) {
            return Err((field, "It ends below where it begins: correct one of the two.".into()));
        }
        if self.every_d.is_some_and(|days| !(1..=60).contains(&days)) {
            return Err(("every", "Water is changed every 1 to 60 days.".into()));
        }
        Ok(())
    }

    /// Figures of water outside: `pH 7.4 is above 6.5`.
    pub fn water_outside(&self, figures: &WaterFigures, units: Units) -> Vec<String> {
        let temp = |dc| units.temperature(dc);
        let said = |what: Option<String>, outside: Option<String>| Some(format!("{} is {}", what?, outside?));
        [
            said(figures.ph_100.map(|n| format!("pH {}", ph(n))), self.ph_100.outside(figures.ph_100, ph)),
            said(figures.temp_dc.map(temp), self.water_dc.outside(figures.temp_dc, temp)),
            said(figures.ec_us.map(ec), self.ec_us.outside(figures.ec_us, ec)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// Figures of air outside.
    pub fn air_outside(&self, reading: &Reading, units: Units) -> Vec<String> {
        let temp = |dc| units.temperature(dc);
        let (dc, pm) = (Some(reading.temp_dc), reading.rh_pm);
        [
            self.air_dc.outside(dc, temp).map(|outside| format!("{} is {outside}", temp(reading.temp_dc))),
            self.rh_pm.outside(pm, rh).zip(pm).map(|(outside, pm)| format!("{} is {outside}", rh(pm))),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// The bands of water in one sentence; empty if none is set.
    pub fn water_words(&self, units: Units) -> String {
        let parts: Vec<String> = [
            self.ph_100.words(ph).map(|words| format!("pH {words}")),
            self.water_dc.words(|dc| units.temperature(dc)),
            self.ec_us.words(ec),
            self.every_d.map(|days| format!("changed every {days} d")),
        ]
        .into_iter()
        .flatten()
        .collect();
        parts.join(", ")
    }

    /// The bands of air; empty if none is set.
    pub fn air_words(&self, units: Units) -> String {
        let parts: Vec<String> =
            [self.air_dc.words(|dc| units.temperature(dc)), self.rh_pm.words(rh)].into_iter().flatten().collect();
        parts.join(", ")
    }

    /// Whether the water of a tray in the light should have been changed before today.
    pub fn water_overdue(&self, tray: &TrayCard, today: Day) -> bool {
        let Some(every) = self.every_d else { return false };
        let since = tray.watered_on.unwrap_or(tray.sown.max(tray.known));
        matches!(tray.stage, Stage::Lit | Stage::Ready) && (today - since).num_days() > every
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn water(ph_100: i64, temp_dc: i64, ec_us: i64) -> WaterFigures {
        WaterFigures { ml: None, ph_100: Some(ph_100), temp_dc: Some(temp_dc), ec_us: Some(ec_us) }
    }

    #[test]
    fn a_figure_outside_is_said_and_the_edges_are_inside() {
        let bands = Bands {
            ph_100: Band { min: Some(550), max: Some(650) },
            water_dc: Band { min: None, max: Some(220) },
            ec_us: Band { min: Some(300), max: None },
            ..Bands::default()
        };
        let told = |water: &WaterFigures| bands.water_outside(water, Units::Metric);
        assert_eq!(told(&water(550, 220, 300)), Vec::<String>::new());
        assert_eq!(
            told(&water(740, 225, 120)),
            ["pH 7.4 is above 6.5", "22.5 °C is above 22.0 °C", "120 µS/cm is below 300 µS/cm"]
        );
        assert_eq!(Bands::default().water_outside(&water(1400, 600, 9000), Units::Metric), Vec::<String>::new());
        assert_eq!(bands.water_words(Units::Metric), "pH 5.5 to 6.5, up to 22.0 °C, from 300 µS/cm");
    }

    #[test]
    fn bands_that_end_before_they_begin_are_refused() {
        let crossed = Bands { rh_pm: Band { min: Some(700), max: Some(600) }, ..Bands::default() };
        assert_eq!(crossed.check().unwrap_err().0, "rh_max");
        assert_eq!(Bands { every_d: Some(0), ..Bands::default() }.check().unwrap_err().0, "every");
        assert_eq!(Bands { every_d: Some(2), ..Bands::default() }.check(), Ok(()));
    }
}
