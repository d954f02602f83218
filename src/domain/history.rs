//! Entries of the log as a person reads them.

use super::hands::SeenAs;
use super::id::{
    ComplaintId, DeliveryId, EntryId, LotId, MaterialLotId, MixId, PersonId, PlaceId, RoundId, SeedLotId, SowingId,
    TrayId,
};
use super::power_cut::Span;
use super::time::{Instant, Now};
use super::words::words;

words!(
    /// Kinds of editable records.
    Record {
        Person = "person" / "person",
        Crop = "crop" / "crop",
        Rack = "rack" / "rack",
        Format = "tray_format" / "tray format",
        Check = "check_kind" / "check of the room",
        Recipe = "recipe" / "recipe",
        Sensor = "sensor" / "sensor",
        Store = "store" / "cold store",
        Tool = "tool" / "tool",
        Product = "product" / "product",
        Customer = "customer" / "customer",
        Supplier = "supplier" / "supplier",
        Order = "sale_order" / "order",
        Room = "setting" / "the room",
    }
);

/// Whose history.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Of {
    Everything,
    Tray(TrayId),
    Sowing(SowingId),
    SeedLot(SeedLotId),
    Place(PlaceId),
    Person(PersonId),
    /// A prepared bottle.
    Mix(MixId),
    /// A harvest or pack lot.
    Lot(LotId),
    /// A lot of a medium, an ingredient or packaging.
    Material(MaterialLotId),
    Delivery(DeliveryId),
    /// A round or a stall.
    Round(RoundId),
    Complaint(ComplaintId),
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
    /// The hours it is about, where it is about hours; told on the room's wall clock, which the book does not know.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub span: Option<Span>,
    /// Where it was seen at another time or by other hands than it was typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seen: Option<SeenAs>,
    pub note: Option<String>,
    /// The entry that took all of this one back or replaced it; in a tray's story, what it said of that tray.
    pub undone_by: Option<EntryId>,
    /// The newest entry that put something about this one right.
    pub put_right_by: Option<EntryId>,
}

impl EntryLine {
    /// The whole sentence.
    pub fn words(&self, now: Now) -> String {
        let text = match &self.span {
            Some(span) if self.kind == "sighted" => format!("{}; moved some time in {}", self.text, span.words(now)),
            Some(span) if self.kind == "scored" => format!("{}, looked at {}", self.text, span.begun(now)),
            // what became of it is told by the entry that drained it
            Some(span) if self.kind == "soaked" => format!("{}, from {}", self.text, span.begun(now)),
            Some(span) => format!("{}: {}", self.text, span.words(now)),
            None => self.text.clone(),
        };
        match &self.seen {
            Some(seen) => format!("{text} ({})", seen.words(now)),
            None => text,
        }
    }
}
