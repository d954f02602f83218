//! Trays that stood on the racks before the book was begun.

use super::id::{CropId, FormatId, PlaceId, SeedLotId};
use super::time::Day;
use super::tray::Stage;

/// Days back that a standing tray can have been sown.
pub const OLDEST_D: i64 = 90;

/// Alike trays that are found standing: one crop, one day.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewStanding {
    pub crop: CropId,
    pub sown: Day,
    pub format: FormatId,
    /// `None`: not recorded; a trace ends in "before this book".
    pub lot: Option<SeedLotId>,
    /// As they stand now, not as the calendar says.
    pub stage: Stage,
    pub places: Vec<PlaceId>,
}

impl NewStanding {
    /// What can be said against it without the book.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if self.sown > today {
            return Err(("sown", format!("A tray that stands was not sown after today, {today}.")));
        }
        if (today - self.sown).num_days() > OLDEST_D {
            return Err(("sown", format!("A tray older than {OLDEST_D} days is no microgreen: check the day.")));
        }
        if self.places.is_empty() {
            return Err(("places", "Say how many trays stand here.".into()));
        }
        if !self.stage.in_room() {
            return Err(("stage", "A tray that stands is covered, under light, or ready to cut.".into()));
        }
        Ok(())
    }
}
