//! Entries of the log as a person reads them.

use super::id::{EntryId, PersonId, PlaceId, SeedLotId, SowingId, TrayId};
use super::time::Instant;
use super::words::words;

words!(
    /// Kinds of editable records.
    Record {
        Person = "person" / "person",
        Crop = "crop" / "crop",
        Rack = "rack" / "rack",
        Format = "tray_format" / "tray format",
        Room = "setting" / "the room",
    }
);

/// Whose history.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Everything,
    Tray(TrayId),
    Sowing(SowingId),
    SeedLot(SeedLotId),
    Place(PlaceId),
    Person(PersonId),
    /// An editable record by its row.
    Record(Record, i64),
}

/// One entry in one sentence.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct EntryLine {
    pub id: EntryId,
    pub at: Instant,
    pub who: String,
    /// The kind of entry, such as `look`.
    pub kind: String,
    pub text: String,
    pub note: Option<String>,
    /// The entry that took this one back, or replaced it.
    pub undone_by: Option<EntryId>,
}
