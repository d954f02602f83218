//! The columns of the table: what each is called, its unit, what it means, and whose question it answers.

use chrono::{DateTime, FixedOffset};

use crate::domain::time::Day;
use crate::domain::trace::Dossier;
use crate::domain::trace::event::{Quantity, Row, What};

/// One column.
pub struct Column {
    pub name: &'static str,
    /// Empty where it is a text.
    pub unit: &'static str,
    pub meaning: &'static str,
    /// The events for which an authority asks for it (tracing.md T1), in words; the room's own columns answer to none.
    pub asked: &'static str,
    cell: fn(Row<'_>, &Dossier) -> String,
}

impl Column {
    pub fn cell(&self, row: Row<'_>, of: &Dossier) -> String {
        (self.cell)(row, of)
    }
}

const ALL: &str = "seed received, sown, harvested, cooled, packed, blended, shipped";

/// A moment with its offset from UTC.
fn moment(at: DateTime<FixedOffset>) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

fn number(quantity: Option<Quantity>) -> String {
    quantity.map_or_else(String::new, Quantity::number)
}

fn unit(quantity: Option<Quantity>) -> String {
    quantity.map_or_else(String::new, |quantity| quantity.unit().to_string())
}

fn days(days: &[Day]) -> String {
    days.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

fn yes(is: bool) -> String {
    if is { "yes".into() } else { "no".into() }
}

/// Short for the list below.
const fn column(
    name: &'static str,
    unit: &'static str,
    asked: &'static str,
    meaning: &'static str,
    cell: fn(Row<'_>, &Dossier) -> String,
) -> Column {
    Column { name, unit, meaning, asked, cell }
}

/// The columns in their order; the first ones sort.
pub const COLUMNS: &[Column] = &[
    column("day", "YYYY-MM-DD", ALL, "calendar day of the room on which it happened", |r, _| r.event.day.to_string()),
    column(
        "time",
        "ISO 8601 with offset",
        "",
        "moment at which it happened; empty where only the day is known",
        |r, _| r.event.at.map_or_else(String::new, moment),
    ),
    column("event", "", ALL, "what happened", |r, _| r.what.shown().into()),
    column(
        "room",
        "",
        "",
        "two letters of the room; they stand before its lot codes and are no part of them",
        |r, _| r.event.room.clone(),
    ),
    column(
        "lot",
        "",
        "seed received, harvested, cooled, packed, blended, shipped",
        "the lot the row is about, as on its label: own seed lot, harvest lot, pack lot; of a sowing the batch",
        |r, _| r.event.lot.clone(),
    ),
    column("lot_code_by", "", "packed, shipped", "who gave the lot its code: name, address, phone", |r, _| {
        r.event.code_by.words()
    }),
    column("supplier_lot", "", "seed received", "the supplier's own lot, as printed", |r, _| {
        r.event.supplier_lot.clone()
    }),
    column("batch", "", "sown, harvested, cooled", "batches it was grown in", |r, _| match r.what {
        What::Sown => r.event.lot.clone(),
        _ => r.event.batches.join("; "),
    }),
    column("crop", "", "seed received, harvested, cooled, packed", "crop; of a blend every crop in it", |r, _| {
        r.event.crop.clone()
    }),
    column("variety", "", "seed received", "variety, where it is known", |r, _| r.event.variety.clone()),
    column("product", "", "packed, blended, shipped", "what it is sold as", |r, _| r.event.product.clone()),
    column(
        "quantity",
        "see unit",
        "seed received, harvested, cooled, packed, blended, shipped",
        "how much of the lot; of a sowing the mats sown",
        |r, _| number(r.event.quantity),
    ),
    column(
        "unit",
        "g, packs, trays or mats",
        "seed received, harvested, cooled, packed, blended, shipped",
        "unit of the quantity",
        |r, _| unit(r.event.quantity),
    ),
    column("pack_size", "g", "packed", "net weight of one pack", |r, _| {
        r.event.pack_g.map_or_else(String::new, |grams| grams.to_string())
    }),
    column(
        "input_lot",
        "",
        "sown, packed, blended",
        "the lot that went in: seed lot of a sowing, the lot that a packing run drew from; the old code of a new one",
        |r, _| r.input.map_or_else(String::new, |input| input.lot.clone()),
    ),
    column("input", "", "sown, packed, blended", "crop or product of what went in", |r, _| {
        r.input.map_or_else(String::new, |input| input.name.clone())
    }),
    column(
        "input_quantity",
        "see input_unit",
        "sown, packed, blended",
        "how much of it went in; for a packing run this is the quantity received",
        |r, _| number(r.input.and_then(|input| input.quantity)),
    ),
    column("input_unit", "g or packs", "sown, packed, blended", "unit of the input quantity", |r, _| {
        unit(r.input.and_then(|input| input.quantity))
    }),
    column(
        "input_day",
        "YYYY-MM-DD",
        "packed",
        "day on which what went in was received, sown, cut or packed; greens of the room are received when they are cut",
        |r, _| r.input.and_then(|input| input.day).map_or_else(String::new, |day| day.to_string()),
    ),
    column(
        "harvest_days",
        "YYYY-MM-DD; YYYY-MM-DD",
        "harvested, packed",
        "days on which what is in the lot was cut",
        |r, _| {
            days(&match r.input.filter(|_| r.what == What::Blended) {
                Some(input) => input.cut.clone(),
                None => r.event.cut_days(),
            })
        },
    ),
    column("trays", "", "sown", "trays, as on their labels", |r, _| r.event.trays.join("; ")),
    column(
        "places",
        "",
        "sown, harvested, cooled, packed, blended",
        "growing places as rack, shelf and position; the cold store; the packing room",
        |r, _| r.event.places.join("; "),
    ),
    column("until", "ISO 8601 with offset", "", "until when it lay in the cold store", |r, _| {
        r.event.until.map_or_else(String::new, moment)
    }),
    column("from_name", "", "seed received, shipped", "supplier; or who grew, packed and shipped", |r, _| {
        r.event.from.name.clone()
    }),
    column(
        "from_address",
        "",
        "seed received, harvested, cooled, packed, blended, shipped",
        "address of the same",
        |r, _| r.event.from.address.clone(),
    ),
    column("from_phone", "", "", "phone of the same", |r, _| r.event.from.phone.clone()),
    column("to_name", "", "shipped", "who received it", |r, _| r.event.to.name.clone()),
    column("to_address", "", "shipped", "address of the same; of a stall its place", |r, _| r.event.to.address.clone()),
    column("to_phone", "", "", "phone of the same", |r, _| r.event.to.phone.clone()),
    column("treated", "yes, no or not stated", "seed received", "whether the seed was treated or coated", |r, _| {
        r.event.treated.map_or_else(String::new, |treated| treated.shown().to_string())
    }),
    column("certificate", "", "seed received", "certificate of the seed", |r, _| r.event.certificate.clone()),
    column(
        "document_type",
        "",
        "seed received, harvested, cooled, packed, blended, shipped",
        "kind of the document that says so",
        |r, _| r.event.document.0.clone(),
    ),
    column("document", "", "seed received, harvested, cooled, packed, blended, shipped", "its number", |r, _| {
        r.event.document.1.clone()
    }),
    column("best_before", "YYYY-MM-DD", "", "last day on the label", |r, _| {
        r.event.best_before.map_or_else(String::new, |day| day.to_string())
    }),
    column("remark", "", "", "why, or what became of it", |r, _| r.event.remark.clone()),
    column("saw", "", "harvested, cooled", "initials of who did or saw it", |r, _| r.event.stamp.saw.clone()),
    column("typed", "", "", "initials of who typed it", |r, _| r.event.stamp.typed.clone()),
    column("typed_at", "ISO 8601 with offset", "", "when it was typed", |r, _| moment(r.event.stamp.typed_at)),
    column("late", "yes or no", "", "typed at another time than it was seen", |r, _| yes(r.event.stamp.late)),
    column("paper", "yes or no", "", "written on paper first", |r, _| yes(r.event.stamp.paper)),
    column("entry", "", "", "number of the entry in the log", |r, _| r.event.stamp.entry.0.to_string()),
    column(
        "put_right_by",
        "",
        "",
        "the newest entry that put something about it right; the row says what counts now",
        |r, _| r.event.stamp.put_right_by.map_or_else(String::new, |entry| entry.0.to_string()),
    ),
    column("marks", "", "", "exercise, or a broken chain of the log: stands in every row", |_, of| {
        of.marks().join(" ")
    }),
];
