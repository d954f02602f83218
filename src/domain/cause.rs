//! Common cause: of what went bad in some weeks, which seed lot, batch, place, mix, store, day, tool or hands it shares more than
//! the rest. What differs is a lead, never a proof.

mod compare;
mod share;
#[cfg(test)]
mod tests;
mod words;

use std::collections::BTreeMap;

pub use compare::{Findings, Group, Lead};
pub use share::Shared;
pub use words::{lines, why};

use super::complaint::What;
use super::id::PlaceId;
use super::room::Place;
use super::time::Day;
use super::tray::LossReason;
use super::words::words;

words!(
    /// What is bad.
    Of {
        /// A check named mould or rot, fuzz stood and nobody cleared it, or it was lost to them.
        Mould = "mould" / "mould and rot",
        Suspects = "suspects" / "suspect trays",
        Losses = "losses" / "losses",
        Complaints = "complaints" / "complaints",
    }
);

words!(
    /// What trays and packs are counted by.
    By {
        Lot = "seed_lot" / "by seed lot",
        Batch = "batch" / "by batch",
        Crop = "crop" / "by crop",
        Product = "product" / "by product",
        Zone = "zone" / "by zone they began in",
        Shelf = "shelf" / "by shelf they began on",
        Place = "place" / "by place they began at",
        Mix = "mix" / "by mix or product sprayed on them",
        Water = "water" / "by water source",
        Medium = "medium" / "by lot of mats, soil or coco",
        Store = "store" / "by cold store they lay in",
        Spell = "spell" / "by warm or cold spell they lay through",
        Tool = "tool" / "by tool that touched them",
        Packaging = "packaging" / "by lot of packaging",
        SownOn = "sown_on" / "by day sown",
        CutOn = "cut_on" / "by day cut",
        PackedOn = "packed_on" / "by day packed",
        SownBy = "sown_by" / "in whose hands, at sowing",
        LookedBy = "looked_by" / "in whose hands, at looks",
        CutBy = "cut_by" / "in whose hands, at cutting",
        PackedBy = "packed_by" / "in whose hands, at packing",
    }
);

/// One reason of losses, or one kind of complaints, alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(untagged)]
pub enum Only {
    Loss(LossReason),
    Complaint(What),
}

impl Only {
    pub fn shown(self) -> &'static str {
        match self {
            Self::Loss(reason) => reason.shown(),
            Self::Complaint(what) => what.shown(),
        }
    }

    /// From the word in the book, where what is bad has kinds.
    pub fn from_stored(of: Of, word: &str) -> Option<Self> {
        match of {
            Of::Losses => {
                LossReason::from_stored(word).filter(|reason| *reason != LossReason::NotNeeded).map(Self::Loss)
            }
            Of::Complaints => What::from_stored(word).map(Self::Complaint),
            Of::Mould | Of::Suspects => None,
        }
    }

    /// The words that may stand there.
    pub fn words(of: Of) -> Vec<&'static str> {
        match of {
            Of::Losses => {
                let lost = LossReason::ALL.iter().filter(|reason| **reason != LossReason::NotNeeded);
                lost.map(|reason| reason.stored()).collect()
            }
            Of::Complaints => What::ALL.iter().map(|what| what.stored()).collect(),
            Of::Mould | Of::Suspects => vec![],
        }
    }
}

/// Periods to choose from, weeks back from today.
pub const WEEKS: [i64; 4] = [2, 4, 8, 26];
/// The one that is looked at first.
const USUAL: i64 = 8;

/// What is asked: of what, of which of its kinds, and over which weeks back from today.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Asked {
    pub of: Of,
    pub only: Option<Only>,
    pub weeks: i64,
}

impl Asked {
    pub fn of(of: Of) -> Self {
        Self { of, only: None, weeks: USUAL }
    }

    /// The first day that counts.
    pub fn since(&self, today: Day) -> Day {
        today - chrono::Duration::days(self.weeks * 7)
    }

    /// The same over the next longer period; after the longest comes the shortest.
    #[must_use]
    pub fn other_weeks(self) -> Self {
        let next = WEEKS.into_iter().find(|weeks| *weeks > self.weeks).or(WEEKS.first().copied());
        Self { weeks: next.unwrap_or(USUAL), ..self }
    }
}

/// How one thing came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
pub enum Fate {
    Good,
    /// Suspect and no more; or a pack lot that only may be the one of a complaint.
    Doubt,
    Bad,
}

/// A tray, or a pack lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thing {
    /// As on its label.
    pub code: String,
    pub fate: Fate,
    /// Where a tray was put first.
    pub place: Option<Place>,
    /// What it belongs to, by number in [`Counted::names`], in order.
    pub groups: Vec<usize>,
}

/// One bad thing, or one complaint with what it may be about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    pub words: String,
    /// By number in [`Counted::things`].
    pub things: Vec<usize>,
    /// Nothing else can be meant, so what all of these share holds for the case.
    pub whole: bool,
}

/// What was found in the book: the things, what each belongs to, and which are bad.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Counted {
    #[serde(skip)]
    pub asked: Asked,
    #[serde(skip)]
    pub things: Vec<Thing>,
    /// Every group once.
    #[serde(skip)]
    pub names: Vec<(By, String)>,
    /// Where nothing is said, every bad thing is a case of its own.
    #[serde(skip)]
    pub cases: Option<Vec<Case>>,
    /// Complaints of these weeks that name none of the things yet.
    pub unnamed: usize,
    /// Reasons of losses, or kinds of complaints, with how many there are of each in the period.
    pub kinds: Vec<(Only, usize)>,
}

impl Counted {
    /// Whether trays were counted; pack lots otherwise.
    pub fn trays(&self) -> bool {
        self.asked.of != Of::Complaints
    }

    pub fn count(&self, fate: Fate) -> usize {
        self.things.iter().filter(|thing| thing.fate == fate).count()
    }

    /// Bad things one by one, or complaints.
    pub fn cases(&self) -> Vec<Case> {
        let bad = |(n, thing): (usize, &Thing)| {
            let case = Case { words: thing.code.clone(), things: vec![n], whole: true };
            (thing.fate == Fate::Bad).then_some(case)
        };
        self.cases.clone().unwrap_or_else(|| self.things.iter().enumerate().filter_map(bad).collect())
    }

    /// The kind after the present one, of those that are there; after the last all of them again.
    pub fn next_kind(&self) -> Option<Only> {
        let at = self.kinds.iter().position(|(only, _)| Some(*only) == self.asked.only);
        self.kinds.get(at.map_or(0, |at| at + 1)).map(|(only, _)| *only)
    }

    /// Bad ones and all of the trays that began at each place.
    pub fn by_place(&self) -> BTreeMap<PlaceId, (u64, u64)> {
        let mut of = BTreeMap::new();
        for thing in &self.things {
            if let Some(place) = &thing.place {
                let (x, n): &mut (u64, u64) = of.entry(place.id).or_default();
                *x += u64::from(thing.fate == Fate::Bad);
                *n += 1;
            }
        }
        of
    }
}
