//! Cold stores: their limits, what lies in them since when, the clock from the cut, warm and cold spells.

mod clock;
mod read;
mod spell;
#[cfg(test)]
mod tests;

pub use clock::{ALARM_MIN, Clock, FLAG_MIN, clock, limit_dc};
pub use read::{Cold, ColdStore, HandRead, LotWays, SpellSeen, Thermometer, Touched};
pub use spell::{Kind, Spell, SpellKey, spells};

use super::id::{LotId, StoreId};
use super::reading::TEMP_DC;
use super::room::Units;
use super::time::Instant;
use super::words::words;

words!(
    /// What a thermometer was held into.
    Measured { Air = "air" / "the air of the store", Product = "product" / "the greens" }
);

/// What a cold store is to keep, tenths of °C and minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Limits {
    /// Colder for longer is a cold spell.
    pub min_dc: i64,
    /// Warmer for longer is a warm spell. P: Food Code 3-501.16, 5.0 °C is fine and 5.1 is not.
    pub max_dc: i64,
    /// How long a door may stand open.
    pub over_min: i64,
    /// Readings further apart leave a gap.
    pub gap_min: i64,
    /// What it is kept at as a rule: what is here is counted on at this.
    pub plan_dc: i64,
}

impl Default for Limits {
    fn default() -> Self {
        // all but the 5 °C: memory
        Self { min_dc: 0, max_dc: 50, over_min: 30, gap_min: 60, plan_dc: 40 }
    }
}

/// A cold store as it is written down or changed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewStore {
    pub name: String,
    pub limits: Limits,
}

impl NewStore {
    /// What the book would not take, and the field.
    pub fn check(&self) -> Result<(), (&'static str, &'static str)> {
        let Limits { min_dc, max_dc, over_min, gap_min, plan_dc } = self.limits;
        if !(1..=50).contains(&self.name.trim().chars().count()) {
            return Err(("name", "A store's name has 1 to 50 characters."));
        }
        if ![min_dc, max_dc, plan_dc].iter().all(|dc| TEMP_DC.contains(dc)) {
            return Err(("max", "Temperatures of a store lie between -20 and 60 °C."));
        }
        if min_dc >= max_dc {
            return Err(("min", "Its coldest must be colder than its warmest."));
        }
        if !(min_dc..=max_dc).contains(&plan_dc) {
            return Err(("plan", "What it is kept at must lie between its coldest and its warmest."));
        }
        if !(0..=240).contains(&over_min) {
            return Err(("over", "Say 0 to 240 minutes: longer than that no door stands open."));
        }
        if !(1..=1440).contains(&gap_min) {
            return Err(("gap", "Say 1 minute to 24 hours between two readings."));
        }
        Ok(())
    }
}

/// A reading by hand: never proposed, always with its thermometer.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct HandReading {
    pub store: StoreId,
    pub at: Instant,
    pub temp_dc: i64,
    pub thermometer: String,
    pub measured: Measured,
}

/// Lots go into a store, or out of every store.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct PutAway {
    pub lots: Vec<LotId>,
    pub store: Option<StoreId>,
    pub at: Instant,
    /// The warmest it was where they lay until then, outside a store.
    pub out_dc: Option<i64>,
}

/// What the room keeps to between cut and customer: one setting.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Rules {
    /// Greens are treated as food that has to be kept cold: warm and freezing spells hold what they touched. Whether greens cut
    /// only at harvest fall under it is for the local inspector.
    pub cold_food: bool,
    /// The warmest the workroom gets, tenths of °C: counts for time outside a store where nobody measured.
    pub bench_dc: Option<i64>,
}

impl Default for Rules {
    fn default() -> Self {
        Self { cold_food: true, bench_dc: None }
    }
}

impl Rules {
    pub fn words(&self, units: Units) -> String {
        let food = if self.cold_food { "greens count as food to be kept cold" } else { "greens do not count as such" };
        let bench = self.bench_dc.map_or_else(
            || "warmest of the workroom not set".to_string(),
            |dc| format!("workroom at most {}", units.temperature(dc)),
        );
        format!("{food}; {bench}")
    }
}

/// Said wherever food was warm. P: Food Code 3-501.14, 3-501.16, 3-501.19.
pub const CAUTION: &str = "Greens are to be at 5 °C or colder within 4 h of the cut, and stay there. What was warm longer is for someone \
     who may decide, by local rules; what was kept by time alone is used or discarded, never chilled again.";
