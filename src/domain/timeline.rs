//! A batch from its sowing to the end of its cutting window, day by day.

use super::fuzz::Verdict;
use super::id::SowingId;
use super::look::{Mist, Roots, Stand};
use super::reading::Damp;
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
