//! What the book knows of some days: trays sown, trays that ended, what was weighed, wasted, ordered.

use crate::domain::id::{CropId, LotId, OrderId, SowingId, TrayId};
use crate::domain::period::Period;
use crate::domain::review::Signature;
pub(super) use crate::domain::stats::count as real;
use crate::domain::time::Day;
use crate::domain::tray::LossReason;

/// A batch, as it counts now.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Batch {
    pub sowing: SowingId,
    pub code: String,
    pub crop: CropId,
    pub day: Day,
    /// Days of the plan's cutting window.
    pub window: (i64, i64),
    pub plan_version: i64,
    pub trays: u64,
    /// Of all its trays; none where it stood there before the book.
    pub seed_mg: Option<u64>,
}

impl Batch {
    /// Of one tray: the seed is mixed in all of them.
    pub fn tray_mg(&self) -> Option<f64> {
        Some(real(self.seed_mg?) / real(self.trays.max(1)))
    }
}

/// A tray that was sown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Sown {
    pub tray: TrayId,
    pub sowing: SowingId,
}

/// How a tray left the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum End {
    Cut,
    LeftAlive,
    Lost(LossReason),
    /// There was nobody for it: no loss of growing.
    NotNeeded,
}

/// A tray that left the room for good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Ended {
    pub tray: TrayId,
    pub sowing: SowingId,
    pub day: Day,
    pub end: End,
}

/// Some mats of a tray were lost and the rest went on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct PartLost {
    pub tray: TrayId,
    pub sowing: SowingId,
    pub mats: u64,
    pub of: u64,
    pub reason: LossReason,
}

/// Mats of one tray on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct OnScale {
    pub tray: TrayId,
    pub sowing: SowingId,
    pub mats: u64,
    pub of: u64,
}

/// One weighing: a tray by itself, or several together.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Weighing {
    pub lot: LotId,
    pub code: String,
    pub crop: CropId,
    pub day: Day,
    pub on: Vec<OnScale>,
    pub grams: u64,
    /// They stayed and grew again.
    pub again: bool,
    /// They had been cut before and grew again: what they give now is no tray's full yield.
    pub regrown: bool,
    /// Someone said that this weight is not right.
    pub odd: bool,
    /// The tray, where it has a weight of its own in the lot.
    pub own: Option<TrayId>,
}

impl Weighing {
    /// Whether it is a value of what a tray gives: of a first cut, and nobody said that it is not right.
    pub fn counts(&self) -> bool {
        !self.odd && !self.regrown
    }

    /// How many trays it is the weight of; parts of trays count by their mats.
    pub fn trays(&self) -> f64 {
        self.on.iter().map(|one| real(one.mats) / real(one.of.max(1))).sum()
    }

    /// Grams a tray, one value however many were weighed together.
    pub fn value(&self) -> f64 {
        real(self.grams) / self.trays()
    }

    /// The same in whole tenths of a gram, as the book keeps it by week.
    pub fn value_dg(&self) -> i64 {
        #[expect(clippy::cast_possible_truncation, reason = "at most ten tonnes on one scale")]
        let dg = (self.value() * 10.0).round() as i64;
        dg
    }
}

/// What was thrown away after the cut.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Wasted {
    pub lot: LotId,
    pub code: String,
    pub what: String,
    pub grams: u64,
    pub packs: u64,
    pub reason: String,
}

/// How an order that was due came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Outcome {
    Met,
    Late,
    Short,
    /// Its day is not over.
    Open,
}

/// One product of an order: how many were asked for, and how many of them came.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct DueLine {
    pub product: String,
    pub packs: u64,
    pub brought: u64,
}

/// An order of these days.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Due {
    pub order: OrderId,
    pub customer: String,
    pub day: Day,
    pub lines: Vec<DueLine>,
    pub outcome: Outcome,
}

/// Packs of one product that customers got in these days, and what one of them is made of and brings.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Sold {
    pub product: String,
    pub packs: u64,
    /// Hundredths.
    pub price_c: Option<u64>,
    /// Of each crop, per mille.
    pub parts: Vec<(CropId, u64)>,
}

/// A crop with its figures.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CropFigures {
    pub id: CropId,
    pub name: String,
    /// Expected of a nominal tray.
    pub yield_g: Option<u64>,
    /// A kilogram of seed, in hundredths.
    pub seed_kg_c: Option<u64>,
    /// All else that a tray costs, in hundredths.
    pub tray_c: Option<u64>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Facts {
    pub period: Period,
    /// The first day the book knows anything of.
    pub begins: Option<Day>,
    pub crops: Vec<CropFigures>,
    pub batches: Vec<Batch>,
    pub sown: Vec<Sown>,
    pub ended: Vec<Ended>,
    pub parts: Vec<PartLost>,
    pub weighings: Vec<Weighing>,
    pub wasted: Vec<Wasted>,
    pub due: Vec<Due>,
    pub sold: Vec<Sold>,
    /// Signatures under any of these days.
    pub signed: Vec<Signature>,
    /// What a figure of money is followed by.
    pub currency: String,
}

impl Facts {
    /// Nothing yet of some days.
    pub fn of(period: Period) -> Self {
        Self {
            period,
            begins: None,
            crops: vec![],
            batches: vec![],
            sown: vec![],
            ended: vec![],
            parts: vec![],
            weighings: vec![],
            wasted: vec![],
            due: vec![],
            sold: vec![],
            signed: vec![],
            currency: String::new(),
        }
    }

    pub fn batch(&self, sowing: SowingId) -> Option<&Batch> {
        self.batches.binary_search_by_key(&sowing, |batch| batch.sowing).ok().and_then(|at| self.batches.get(at))
    }

    pub fn crop_of(&self, sowing: SowingId) -> Option<CropId> {
        self.batch(sowing).map(|batch| batch.crop)
    }
}
