//! What happened to the lots of a trace, as an authority asks for it: who, what, when, where, how much, from whom, to whom.

use chrono::{DateTime, FixedOffset};
use serde::ser::{Serialize, SerializeStruct, Serializer};

use crate::domain::id::EntryId;
use crate::domain::seed_lot::Treated;
use crate::domain::sowing::grams;
use crate::domain::time::Day;
use crate::domain::words::words;

words!(
    /// What happened. The order is that of the way from seed to customer.
    What {
        Received = "seed_received" / "seed received",
        Sown = "sown" / "sown",
        Harvested = "harvested" / "harvested",
        /// Lay in a cold store before it was packed.
        Cooled = "cooled" / "cooled",
        Packed = "packed" / "packed",
        /// One of several lots that a packing run drew from.
        Blended = "blended" / "blended",
        /// Another code for the same packs.
        Relabelled = "new_code" / "new code",
        Shipped = "shipped" / "shipped",
        Sold = "sold_public" / "sold to the public",
        Given = "given_away" / "given away",
        Returned = "returned" / "returned",
        Sampled = "sample_kept" / "kept as a sample",
        Binned = "binned" / "binned",
    }
);

/// How much, in the unit of the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Milligrams, told in grams.
    Mass(i64),
    Packs(i64),
    Trays(i64),
    Mats(i64),
}

impl Quantity {
    pub fn grams(grams: i64) -> Self {
        Self::Mass(grams * 1000)
    }

    /// The number alone: `27.5`.
    pub fn number(self) -> String {
        match self {
            Self::Mass(mg) => grams(mg),
            Self::Packs(n) | Self::Trays(n) | Self::Mats(n) => n.to_string(),
        }
    }

    /// The unit alone.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Mass(_) => "g",
            Self::Packs(_) => "packs",
            Self::Trays(_) => "trays",
            Self::Mats(_) => "mats",
        }
    }

    /// `27.5 g`, `1 pack`.
    pub fn words(self) -> String {
        match self {
            Self::Packs(1) | Self::Trays(1) | Self::Mats(1) => format!("1 {}", self.unit().trim_end_matches('s')),
            _ => format!("{} {}", self.number(), self.unit()),
        }
    }
}

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut pair = to.serialize_struct("Quantity", 2)?;
        pair.serialize_field("amount", &self.number())?;
        pair.serialize_field("unit", self.unit())?;
        pair.end()
    }
}

/// Someone outside, or the room itself.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Party {
    pub name: String,
    pub address: String,
    pub phone: String,
}

impl Party {
    /// `Bell Table, Quay 1, 555`; nothing where nothing is known.
    pub fn words(&self) -> String {
        let parts = [&self.name, &self.address, &self.phone];
        parts.into_iter().map(|part| part.trim()).filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }
}

/// What went in: a seed lot, a batch, or another lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Input {
    /// As on its label.
    pub lot: String,
    /// Crop or product.
    pub name: String,
    /// `None`: nobody weighed it.
    pub quantity: Option<Quantity>,
    /// Received, sown, cut or packed.
    pub day: Option<Day>,
    /// Days on which what is in it was cut.
    pub cut: Vec<Day>,
}

/// The entry of the log that says so: whose hands, when seen, when typed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Stamp {
    pub entry: EntryId,
    pub saw: String,
    pub seen_at: DateTime<FixedOffset>,
    pub typed: String,
    pub typed_at: DateTime<FixedOffset>,
    /// Typed in at another time than it was seen.
    pub late: bool,
    pub paper: bool,
    /// The newest entry that put something about it right.
    pub put_right_by: Option<EntryId>,
    pub note: Option<String>,
}

/// One event. What an event of its kind does not have is empty.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Event {
    pub what: What,
    pub day: Day,
    /// `None`: nobody wrote down at what time of the day.
    pub at: Option<DateTime<FixedOffset>>,
    /// Until when it lay there.
    pub until: Option<DateTime<FixedOffset>>,
    /// The two letters of the room, printed before its codes.
    pub room: String,
    /// The seed, harvest or pack lot it is about, as on its label; of a sowing the batch.
    pub lot: String,
    /// Who gave the lot its code.
    pub code_by: Party,
    /// The supplier's own lot, as printed.
    pub supplier_lot: String,
    /// Batches it was grown in.
    pub batches: Vec<String>,
    pub crop: String,
    pub variety: String,
    pub product: String,
    pub quantity: Option<Quantity>,
    pub pack_g: Option<i64>,
    pub best_before: Option<Day>,
    pub inputs: Vec<Input>,
    pub trays: Vec<String>,
    /// Where trays stood, or the cold store.
    pub places: Vec<String>,
    /// Whom it came from, and to whom it went.
    pub from: Party,
    pub to: Party,
    pub treated: Option<Treated>,
    pub certificate: String,
    /// What kind of paper says so, and its number.
    pub document: (String, String),
    /// Why, or what became of it.
    pub remark: String,
    pub stamp: Stamp,
}

impl Event {
    /// An event of which nothing but the entry is known yet.
    pub fn of(what: What, day: Day, room: &str, stamp: Stamp) -> Self {
        // a day that was typed on another one has no time of its own
        let at = Some(stamp.seen_at).filter(|at| at.date_naive() == day);
        Self {
            what,
            day,
            at,
            until: None,
            room: room.to_string(),
            lot: String::new(),
            code_by: Party::default(),
            supplier_lot: String::new(),
            batches: Vec::new(),
            crop: String::new(),
            variety: String::new(),
            product: String::new(),
            quantity: None,
            pack_g: None,
            best_before: None,
            inputs: Vec::new(),
            trays: Vec::new(),
            places: Vec::new(),
            from: Party::default(),
            to: Party::default(),
            treated: None,
            certificate: String::new(),
            document: ("log entry".into(), stamp.entry.0.to_string()),
            remark: String::new(),
            stamp,
        }
    }

    /// The order in which events are told.
    pub fn order(&self) -> (Day, Option<DateTime<FixedOffset>>, What, &str, EntryId) {
        (self.day, self.at, self.what, &self.lot, self.stamp.entry)
    }

    /// Days on which what is in it was cut, each once.
    pub fn cut_days(&self) -> Vec<Day> {
        let mut days: Vec<Day> = match self.what {
            What::Harvested => vec![self.day],
            _ => self.inputs.iter().flat_map(|input| input.cut.iter().copied()).collect(),
        };
        days.sort_unstable();
        days.dedup();
        days
    }

    /// Rows of a table with one row an event and lot.
    pub fn rows(&self) -> Vec<Row<'_>> {
        let row = |what, input| Row { event: self, what, input };
        // mats of batches are no lots: their batches stand in a column of their own
        let grown = self.inputs.iter().any(|input| matches!(input.quantity, Some(Quantity::Mats(_))));
        match (self.what, self.inputs.as_slice()) {
            _ if grown => vec![row(self.what, None)],
            (What::Sown, [_, ..]) => self.inputs.iter().map(|input| row(What::Sown, Some(input))).collect(),
            (_, [one]) => vec![row(self.what, Some(one))],
            (What::Packed, [_, _, ..]) => {
                let blended = self.inputs.iter().map(|input| row(What::Blended, Some(input)));
                std::iter::once(row(What::Packed, None)).chain(blended).collect()
            }
            _ => vec![row(self.what, None)],
        }
    }
}

/// One row: an event, and one of the lots that went in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row<'a> {
    pub event: &'a Event,
    pub what: What,
    pub input: Option<&'a Input>,
}

/// An event that no longer counts as it was written first; nothing is deleted.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Replaced {
    pub event: Event,
    /// The entry that put it right or took it back.
    pub by: Stamp,
    /// Taken back: it did not happen. Else another event stands for it.
    pub never: bool,
}

/// What such an event should say and the book does not know, in sentences: an authority asks for it.
pub fn gaps(events: &[Event]) -> Vec<String> {
    let mut found = Vec::new();
    let mut say = |missing: bool, text: String| {
        if missing && !found.contains(&text) {
            found.push(text);
        }
    };
    for event in events {
        let Event { what, lot, from, to, .. } = event;
        match what {
            What::Received => {
                say(from.address.trim().is_empty(), format!("{lot}: no address of the supplier {}.", from.name));
                say(event.document.1.is_empty(), format!("{lot}: no document of the supplier."));
                say(event.treated != Some(Treated::No), format!("{lot}: the seed is not known to be untreated."));
            }
            What::Sown => {
                say(event.inputs.is_empty(), format!("Batch {lot}: no seed lot is known."));
                let unweighed = event.inputs.iter().any(|input| input.quantity.is_none());
                say(unweighed, format!("Batch {lot}: the seed was not weighed."));
                say(event.places.is_empty(), format!("Batch {lot}: no places are known."));
            }
            What::Harvested => {
                say(event.quantity.is_none(), format!("{lot}: no weight of the harvest."));
                say(event.places.is_empty(), format!("{lot}: no growing place is known."));
            }
            What::Packed => {
                say(
                    event.code_by.address.trim().is_empty(),
                    "No address of the room: settings, labels and notes.".into(),
                );
            }
            What::Shipped => {
                say(to.address.trim().is_empty(), format!("No address of {}.", to.name));
                say(to.phone.trim().is_empty(), format!("No phone of {}.", to.name));
            }
            _ => {}
        }
    }
    found
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A moment of the invented summer, at the room's offset.
    pub fn moment(text: &str) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339(&format!("{text}:00+02:00")).unwrap()
    }

    pub fn stamp(entry: i64, at: &str) -> Stamp {
        Stamp {
            entry: EntryId(entry),
            saw: "AK".into(),
            seen_at: moment(at),
            typed: "AK".into(),
            typed_at: moment(at),
            late: false,
            paper: false,
            put_right_by: None,
            note: None,
        }
    }

    /// An event of an entry at its own time.
    pub fn event(what: What, lot: &str, entry: i64, at: &str) -> Event {
        let stamp = stamp(entry, at);
        Event { lot: lot.into(), ..Event::of(what, stamp.seen_at.date_naive(), "NB", stamp) }
    }

    pub fn input(lot: &str, grams: i64, cut: &str) -> Input {
        let day = Some(cut.parse().unwrap());
        Input {
            lot: lot.into(),
            name: "pea".into(),
            quantity: Some(Quantity::grams(grams)),
            day,
            cut: day.into_iter().collect(),
        }
    }

    #[test]
    fn amounts_are_told_in_the_unit_of_the_book() {
        for (quantity, number, words) in [
            (Quantity::Mass(27_500), "27.5", "27.5 g"),
            (Quantity::grams(4800), "4800", "4800 g"),
            (Quantity::Packs(1), "1", "1 pack"),
            (Quantity::Packs(12), "12", "12 packs"),
            (Quantity::Mats(1), "1", "1 mat"),
            (Quantity::Trays(3), "3", "3 trays"),
        ] {
            assert_eq!((quantity.number().as_str(), quantity.words().as_str()), (number, words));
        }
        assert_eq!(serde_json::to_string(&Quantity::Mass(500)).unwrap(), r#"{"amount":"0.5","unit":"g"}"#);
    }

    #[test]
    fn a_blend_has_a_row_for_itself_and_one_for_each_lot_that_went_in() {
        let mut run = event(What::Packed, "MIX-260712-A-H", 9, "2026-07-12T09:00");
        run.inputs = vec![input("PEA-260711-A-Z", 900, "2026-07-11"), input("RAD-260712-A-5", 300, "2026-07-12")];
        let told: Vec<(What, Option<&str>)> =
            run.rows().iter().map(|row| (row.what, row.input.map(|input| input.lot.as_str()))).collect();
        assert_eq!(
            told,
            [(What::Packed, None), (What::Blended, Some("PEA-260711-A-Z")), (What::Blended, Some("RAD-260712-A-5")),]
        );
        assert_eq!(run.cut_days(), ["2026-07-11", "2026-07-12"].map(|day| day.parse().unwrap()));
        run.inputs.pop();
        assert_eq!(run.rows().len(), 1, "of one lot there is nothing to blend");
        let mats = |lot| Input { quantity: Some(Quantity::Mats(2)), ..input(lot, 0, "2026-07-01") };
        run.inputs = vec![mats("B0001-Q"), mats("B0002-O")];
        assert_eq!(run.rows().iter().map(|row| (row.what, row.input)).collect::<Vec<_>>(), [(What::Packed, None)]);
        let mut sown = event(What::Sown, "B0001-Q", 3, "2026-07-01T09:00");
        assert_eq!(sown.rows().len(), 1, "a batch without a seed lot is told too");
        sown.inputs = vec![input("S0001-X", 1, "2026-06-01"), input("S0002-V", 1, "2026-06-01")];
        assert_eq!(sown.rows().iter().map(|row| row.what).collect::<Vec<_>>(), [What::Sown, What::Sown]);
    }

    #[test]
    fn a_day_typed_in_on_another_has_no_time() {
        let stamp = stamp(4, "2026-07-13T08:00");
        let event = |day: &str| Event::of(What::Sown, day.parse().unwrap(), "NB", stamp.clone()).at;
        assert_eq!(event("2026-07-12"), None);
        assert_eq!(event("2026-07-13"), Some(moment("2026-07-13T08:00")));
    }

    #[test]
    fn what_an_authority_asks_for_and_the_book_does_not_know_is_said_once() {
        let mut seed = event(What::Received, "S0001-X", 1, "2026-06-01T09:00");
        seed.from.name = "Fen Seeds".into();
        seed.document = (String::new(), String::new());
        seed.treated = Some(Treated::NotStated);
        let mut shipped = event(What::Shipped, "PEA-260712-A-V", 8, "2026-07-12T11:00");
        shipped.to = Party { name: "Bell Table".into(), address: "Quay 1".into(), phone: String::new() };
        assert_eq!(
            gaps(&[seed, shipped.clone(), shipped]),
            [
                "S0001-X: no address of the supplier Fen Seeds.",
                "S0001-X: no document of the supplier.",
                "S0001-X: the seed is not known to be untreated.",
                "No phone of Bell Table.",
            ]
        );
    }
}
