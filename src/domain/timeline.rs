//! A batch from its sowing to the end of its cutting window, day by day.

use super::fuzz::Verdict;
use super::id::SowingId;
use super::look::{Mist, Roots, Stand};
use super::reading::Damp;
use super::room::Units;
use super::text::counted;
use super::time::Day;
use super::tray::Stage;
use super::treatment::Treated;

/// What was done and seen on one day, over all trays of the batch.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct DayMarks {
    /// Day of growth, 0 = sowing.
    pub day: i64,
    /// Trays looked at.
    pub looked: i64,
    pub roots_low: Option<Roots>,
    pub roots_high: Option<Roots>,
    /// The worst stand seen.
    pub stand: Option<Stand>,
    /// The worst fuzz seen.
    pub fuzz: Option<Mist>,
    /// The worst that a fuzz check came to.
    pub verdict: Option<Verdict>,
    /// Trays with something odd.
    pub odd: i64,
    pub watered: i64,
    pub treated: i64,
    pub moved: i64,
    pub lost: i64,
    pub cut: i64,
    pub notes: i64,
    /// A stage reached that day.
    pub stage: Option<Stage>,
}

/// What of a batch was cut into one lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Cutting {
    pub day: Day,
    pub code: String,
    pub trays: i64,
    /// Of this batch; `None` where it was weighed together with others.
    pub grams: Option<i64>,
    /// Of the whole lot.
    pub lot_g: i64,
}

impl Cutting {
    /// `Sat 11 Jul: 480 g of 4 trays, lot RAD-260711-A-9`.
    pub fn words(&self, units: Units) -> String {
        let trays = counted(usize::try_from(self.trays).unwrap_or(0), "tray");
        let (day, code) = (self.day.format("%a %d %b"), &self.code);
        let weight = |grams: i64| units.weight(grams * 1000);
        match self.grams {
            Some(grams) => format!("{day}: {} of {trays}, lot {code}", weight(grams)),
            None => format!("{day}: {trays}, weighed with other batches, {} in all, lot {code}", weight(self.lot_g)),
        }
    }
}

/// The batch under the cursor.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Timeline {
    pub sowing: SowingId,
    pub code: String,
    pub sown: Day,
    /// Trays sown, and still standing.
    pub trays: i64,
    pub standing: i64,
    /// Seed per lot code, mg.
    pub seed: Vec<(String, i64)>,
    pub medium: String,
    /// Stood here before the book: the trace ends there, or with this lot.
    pub before_book: Option<Option<String>>,
    /// What was sprayed on it, the oldest first.
    pub treated: Vec<Treated>,
    /// What was cut of it, the oldest first.
    pub cuttings: Vec<Cutting>,
    /// Days on which something was done or seen, ascending.
    pub days: Vec<DayMarks>,
    /// Mould weather around its trays by day of growth, where the air was measured.
    #[serde(skip)]
    pub damp: Vec<(i64, Damp)>,
}

impl Timeline {
    pub fn on(&self, day: i64) -> Option<&DayMarks> {
        self.days.iter().find(|marks| marks.day == day)
    }
}
