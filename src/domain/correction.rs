//! Putting a past entry right: the old value stays visible, the new one counts, the reason stands beside it.

use super::id::{CropId, EntryId, PersonId, PlaceId, SeedLotId, SowingId, TrayId};
use super::look::Look;
use super::time::{Day, Instant};

/// What an entry should have said.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum Correction {
    /// It never happened.
    Never,
    /// The look as it was; for the trays it names, all or some of those of the entry.
    Look(Box<Look>),
    /// Crop, day and seed of a batch; grams of each lot for all of its trays together. `after`: [`Entry::after`] as it
    /// was seen.
    Sowing { sowing: SowingId, crop: CropId, day: Day, seed: Vec<(SeedLotId, i64)>, after: Option<EntryId> },
    /// Where a tray was put.
    Place { tray: TrayId, place: PlaceId },
    /// Milligrams of seed received; `after` as with a batch.
    Received { mg: i64, after: Option<EntryId> },
    /// Whose hands it was, and when it happened where that was wrong too.
    Hands { at: Option<Instant>, by: PersonId },
}

impl Correction {
    /// The word in the book.
    pub fn stored(&self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::Look(_) => "look",
            Self::Sowing { .. } => "sowing",
            Self::Place { .. } => "place",
            Self::Received { .. } => "received",
            Self::Hands { .. } => "hands",
        }
    }
}

/// What can be put right about an entry, with what it says now.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    pub id: EntryId,
    pub kind: String,
    pub day: Day,
    /// When what it says happened.
    pub at: Instant,
    /// Who saw it, as it counts now.
    pub by: PersonId,
    /// Written on paper first.
    pub paper: bool,
    /// When it happened can be put right.
    pub timed: bool,
    /// Who saw it can be put right.
    pub signed: bool,
    /// Its own sentence.
    pub text: String,
    /// It no longer counts: nothing is left to put right.
    pub gone: bool,
    /// The newest correction of it that counts: what else it says here is from then on.
    pub after: Option<EntryId>,
    /// Why it cannot be said never to have happened, where that is so.
    pub stays: Option<String>,
    /// It found mould, rot or fuzz that stood, or lost something to them: two people take that back.
    pub grave: bool,
    pub look: Option<Look>,
    pub sowings: Vec<Sown>,
    /// Trays it put somewhere.
    pub placed: Vec<(TrayId, PlaceId)>,
    /// Milligrams received.
    pub received: Option<i64>,
}

/// A batch as it counts now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sown {
    pub id: SowingId,
    pub code: String,
    pub crop: CropId,
    pub day: Day,
    pub trays: i64,
    pub seed: Vec<(SeedLotId, i64)>,
}
