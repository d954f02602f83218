//! Packs that were held back and looked at over days: how they were, and how long their crop keeps by that.
//!
//! A lot tells one thing: the share of life it had used, by the figures the crop has now and the temperatures the lot really
//! had, when its score fell below [`LAST_SOLD`]. Of all such lots of a crop comes one factor ([`Proposal`]).

mod refit;
#[cfg(test)]
mod tests;

pub use refit::{FEW, Fit, LotSays, Proposal};

use super::id::{CropId, LotId, StoreId};
use super::keeping::{Marks, Place, Rates, Sums, Way, used};
use super::time::{Day, Instant};
use super::words::words;

/// As it was when it was cut.
pub const AS_CUT: i64 = 9;
/// The last that is sold.
pub const LAST_SOLD: i64 = 5;
pub const GONE: i64 = 1;

/// The scale, best first. Nine points with 5 as the last that is sold are common practice, no source; the words are the room's.
pub const SCALE: [(i64, &str); 9] = [
    (9, "as cut"),
    (8, "fresh, a leaf or two dull"),
    (7, "good, a little less crisp"),
    (6, "fair, some limp"),
    (5, "just good enough, the last that is sold"),
    (4, "limp or yellow, not sold"),
    (3, "yellow or wet in many places"),
    (2, "slimy, or it smells"),
    (1, "gone"),
];

/// A score in words.
pub fn scale(score: i64) -> &'static str {
    SCALE.iter().find(|(n, _)| *n == score).map_or("", |(_, words)| words)
}

/// Packs of a lot that were held back are looked at.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewScore {
    pub lot: LotId,
    pub packs: i64,
    /// From [`AS_CUT`] down to [`GONE`].
    pub score: i64,
    pub at: Instant,
    /// What was asked and answered.
    pub sure: Vec<&'static str>,
}

/// One score of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Scored {
    pub at_s: i64,
    pub packs: i64,
    pub score: i64,
}

/// When a lot's score first fell below the last that is sold, by a straight line between two scores; the cut itself counts as
/// [`AS_CUT`]. Scores in the order of time. `None`: it never did.
pub fn fell_s(cut_s: i64, scores: &[Scored]) -> Option<i64> {
    let mut before = (cut_s, AS_CUT);
    for Scored { at_s, score, .. } in scores {
        if *score < LAST_SOLD {
            let (from_s, from) = before;
            return Some(from_s + (at_s - from_s) * (from - LAST_SOLD) / (from - score));
        }
        before = (*at_s, *score);
    }
    None
}

words!(
    /// Why a lot tells nothing of how long its crop keeps.
    Why {
        Several = "several" / "of several crops",
        Uncut = "uncut" / "never cut",
        NoSample = "no_sample" / "its sample was taken back",
        /// How warm it was at the customer's nobody knows.
        CameBack = "came_back" / "kept of what a customer gave back",
        /// Whether the packs that are looked at were among them nobody knows.
        BroughtBack = "brought_back" / "packs were out and came back",
        Freezing = "freezing" / "it froze, or began to",
        Unknown = "unknown" / "temperature unknown",
        NoRecord = "no_record" / "no temperature record",
        NoAnchors = "no_anchors" / "the crop has no figures",
        AtOnce = "at_once" / "below 5 from the cut on",
    }
);

/// What a lot tells of how long its crop keeps.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub enum Says {
    /// The share of life it had used when its score fell below 5; whether readings were missing on the way.
    Share {
        share: f64,
        gap: bool,
    },
    /// It was still sold at its last score: how much longer it would have kept nobody knows.
    Still,
    Nothing(Why),
}

/// What a lot tells whose score fell at a moment. `ways` until then, all of one crop; of several cuts the one counts that had
/// used most, as in the countdown. `sums` finds the sums of a store for the crop, if it has any reading.
pub fn says<'s>(ways: &[Way], rates: Option<&Rates>, fell_s: i64, sums: impl Fn(StoreId) -> Option<&'s Sums>) -> Says {
    let Some(first) = ways.first() else { return Says::Nothing(Why::Uncut) };
    if ways.iter().any(|way| way.crop != first.crop) {
        return Says::Nothing(Why::Several);
    }
    let Some(rates) = rates else { return Says::Nothing(Why::NoAnchors) };
    let been = ways.iter().flat_map(|way| &way.legs).filter(|leg| leg.from_s < fell_s);
    let silent = been.into_iter().any(|leg| match leg.place {
        Place::Store(store) => sums(store).is_none_or(|sums| sums.series().readings().is_empty()),
        Place::Outside(_) => false,
    });
    if silent {
        return Says::Nothing(Why::NoRecord);
    }
    let of = |way: &Way| used(way, rates, fell_s, &sums);
    let marks = ways.iter().map(|way| of(way).marks).fold(Marks::default(), Marks::and);
    let share = ways.iter().map(|way| of(way).share).fold(0.0, f64::max);
    match () {
        () if marks.freezing => Says::Nothing(Why::Freezing),
        () if marks.unknown => Says::Nothing(Why::Unknown),
        () if share <= 0.0 => Says::Nothing(Why::AtOnce),
        () => Says::Share { share, gap: marks.gap },
    }
}

/// A lot of which packs were held back, with its scores, the oldest first.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Sample {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    /// Packs held back.
    pub packs: i64,
    pub until: Option<Day>,
    /// What was cut for it, each crop once.
    pub crops: Vec<CropId>,
    pub cut_s: i64,
    pub scores: Vec<Scored>,
}

/// What was held back, and what it comes to.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize)]
pub struct Scores {
    /// The first to go first.
    pub samples: Vec<Sample>,
    /// Crops of which something was scored, by name.
    pub proposals: Vec<Proposal>,
}

impl Scores {
    pub fn sample(&self, lot: LotId) -> Option<&Sample> {
        self.samples.iter().find(|sample| sample.lot == lot)
    }

    pub fn proposal(&self, crop: CropId) -> Option<&Proposal> {
        self.proposals.iter().find(|proposal| proposal.crop == crop)
    }
}
