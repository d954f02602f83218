//! The records of a period as an inspector reads them: every entry about these days, in sections, with who and when.
//!
//! P: 21 CFR 112.161 asks of growing records: name and place of the farm, actual values, date and time, made at the time,
//! dated and signed or initialled by who did it, and reviewed, dated and signed by a responsible person.

use serde::ser::{Serialize, SerializeMap, SerializeStruct, Serializer};

use super::chain::Proof;
use super::id::EntryId;
use super::period::Period;
use super::power_cut::lasting;
use super::review::Signature;
use super::time::{Day, Instant, Now};
use super::words::words;

/// Typed more than this many minutes after it was seen is late: this program's own limit.
pub const LATE_MIN: i64 = 120;

/// How long exercises are shown for: the yearly record and the one before it.
pub const EXERCISES_D: i64 = 730;

/// Said on every copy.
pub const CODES: &str = "Local codes decide what records have to show, who signs them, and how long they are kept.";

words!(
    /// A section of the records.
    Part {
        People = "people" / "People",
        Received = "received" / "Seed, materials and mixes",
        Sown = "sown" / "Sowings",
        Looks = "looks" / "Looks",
        Waters = "waters" / "Water",
        Treatments = "treatments" / "Treatments",
        Suspects = "suspects" / "Suspect trays and losses",
        Cold = "cold" / "Cold stores, day by day",
        ByHand = "by_hand" / "Cold readings by hand",
        Spells = "spells" / "Warm and cold spells, with decisions",
        Checks = "checks" / "Checks of the room",
        Cut = "cut" / "Checks before the cut, harvests, packing",
        Breaches = "breaches" / "Breaches",
        Holds = "holds" / "Holds, complaints and recalls",
        Exercises = "exercises" / "Mock recalls of the last two years",
        Corrections = "corrections" / "Corrections and what was taken back",
        Late = "late" / "Late entries",
        Missed = "missed" / "Missed days",
        Signatures = "signatures" / "Signatures",
        Others = "others" / "Everything else that was written",
    }
);

impl Part {
    /// What each row says beside its entry, its time and its hands.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            Self::People => &["initials", "name", "may decide", "on the list from", "to"],
            Self::Received | Self::Suspects | Self::Holds | Self::Others => &["what", "said"],
            Self::Sown => &["batch", "crop", "places", "trays", "seed", "medium", "wetted"],
            Self::Looks => {
                &["crop", "places", "trays", "looked", "roots", "stand", "fuzz", "verdict", "odd", "skipped", "watered"]
            }
            Self::Waters => &["places", "trays", "each", "pH", "temperature", "conductivity", "source"],
            Self::Treatments => &[
                "places",
                "trays",
                "product",
                "registration",
                "mix",
                "made of",
                "amount",
                "purpose",
                "on the label",
                "no cutting for",
                "nobody in for",
            ],
            Self::Cold => &["store", "day", "readings", "lowest", "highest", "longest gap", "allowed"],
            Self::ByHand => &["store", "temperature", "measured", "thermometer"],
            Self::Spells => &["store", "spell", "from", "to", "worst", "lots", "decision"],
            Self::Checks => {
                &["check", "day", "result", "good enough", "limit", "done about it", "with", "report kept at"]
            }
            Self::Cut => &["what", "lot", "places", "said"],
            Self::Breaches => &["rule", "said", "reason", "decision"],
            Self::Exercises => &["scope", "found", "balance", "took", "gaps"],
            Self::Corrections => &["of entry", "it said", "it says now", "reason"],
            Self::Late => &["what", "said", "of", "how late"],
            Self::Missed => &["day", "trays standing"],
            Self::Signatures => &["days", "signed by", "name", "up to entry", "last hash then", "since"],
        }
    }

    /// Whether its rows are entries of the log, with a time and hands.
    pub fn stamped(self) -> bool {
        !matches!(self, Self::People | Self::Cold | Self::Spells | Self::Missed)
    }

    /// What has to be known to read it.
    pub fn about(self) -> &'static str {
        match self {
            Self::People => "Whose initials stand in these records.",
            Self::Looks => {
                "A glance is of several trays of one sowing at once; it never clears anything. Water given without a measurement \
                 stands here."
            }
            Self::Waters => "Water that was measured, given outside of a walk, or at the sowing.",
            Self::Cold => {
                "What the loggers and thermometers read in the air of each store. The longest gap is the longest time of the day \
                 without a reading."
            }
            Self::Corrections => "The old value stays in the book: it stands here as it was.",
            Self::Late => {
                "Typed more than 2 h after it was seen, on another day, or from paper. The limit of 2 h is this program's own."
            }
            Self::Missed => "Days on which trays stood, sown before that day, and nobody looked at any.",
            Self::Signatures => {
                "Someone who may decide signed that they read the records of these days, up to an entry and its hash."
            }
            Self::Others => "So that every entry about these days stands in these records.",
            _ => "",
        }
    }

    /// What stands there if there is nothing.
    pub fn none(self) -> &'static str {
        match self {
            Self::Signatures => "Nobody has signed any of these days.",
            Self::Missed => "No day was missed.",
            Self::Exercises => "No exercise in two years.",
            _ => "None in this period.",
        }
    }
}

/// An entry: when, and whose hands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    pub entry: EntryId,
    /// Such as `look`.
    pub kind: String,
    /// The room's day it is about.
    pub day: Day,
    pub seen: Instant,
    /// Who saw or did it.
    pub who: String,
    pub typed: Instant,
    pub typed_by: String,
    pub paper: bool,
}

/// `2026-07-12 06:10` on the room's clock.
pub fn moment(at: Instant, now: Now) -> String {
    now.local(at).format("%Y-%m-%d %H:%M").to_string()
}

impl Stamp {
    pub fn seen_words(&self, now: Now) -> String {
        moment(self.seen, now)
    }

    /// `at once`, or when and by whom it was typed, and whether from paper.
    pub fn typed_words(&self, now: Now) -> String {
        let by = if self.typed_by == self.who { String::new() } else { format!(" by {}", self.typed_by) };
        let paper = if self.paper { ", from paper" } else { "" };
        if (0..60).contains(&(self.typed.0 - self.seen.0).num_seconds()) {
            return format!("at once{by}{paper}");
        }
        let (seen, typed) = (now.local(self.seen), now.local(self.typed));
        let form = if seen.date_naive() == typed.date_naive() { "%H:%M" } else { "%Y-%m-%d %H:%M" };
        format!("{}{by}{paper}", typed.format(form))
    }

    /// How late it was typed, if it was late. `of`: the day it is about, where that is not the day it was seen.
    pub fn late(&self, of: Day, now: Now) -> Option<String> {
        let typed_on = now.local(self.typed).date_naive();
        let minutes = (self.typed.0 - self.seen.0).num_minutes();
        let days = (typed_on - of).num_days();
        let mut said = Vec::new();
        if minutes > LATE_MIN {
            said.push(format!("{} later", lasting(minutes)));
        } else if days > 0 {
            said.push(if days == 1 { "1 day later".to_string() } else { format!("{days} days later") });
        }
        if self.paper {
            said.push("from paper".into());
        }
        (!said.is_empty()).then(|| said.join(", "))
    }
}

/// One row of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub stamp: Option<Stamp>,
    /// In the order of the section's columns.
    pub cells: Vec<String>,
    pub note: Option<String>,
    /// The entry that took it back or put something else in its place, and what that was: such as `put right`.
    pub gone: Option<(EntryId, &'static str)>,
    /// What is said beside it.
    pub marks: Vec<String>,
}

impl Row {
    pub fn of(stamp: Option<Stamp>, cells: Vec<String>) -> Self {
        Self { stamp, cells, note: None, gone: None, marks: Vec::new() }
    }

    /// What is said beside it, whether it counts first.
    pub fn remarks(&self) -> String {
        let gone = self.gone.map(|(by, what)| format!("no longer counts: {what} by entry {}", by.0));
        gone.into_iter().chain(self.marks.iter().cloned()).collect::<Vec<_>>().join("; ")
    }
}

/// One section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    pub part: Part,
    pub rows: Vec<Row>,
}

/// Everything of some days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Records {
    pub room: String,
    pub code: String,
    /// Name, address and phone of who grows here; the room's name where none was given.
    pub name: String,
    pub address: String,
    pub phone: String,
    pub period: Period,
    pub made: Now,
    /// Initials of who asked for it; empty if nobody said.
    pub made_by: String,
    /// The day of the first entry of the book.
    pub since: Option<Day>,
    /// Entries of the log about these days.
    pub entries: usize,
    pub sections: Vec<Section>,
    pub signatures: Vec<Signature>,
    pub proof: Proof,
}

impl Records {
    pub fn section(&self, part: Part) -> &[Row] {
        self.sections.iter().find(|section| section.part == part).map_or(&[], |section| &section.rows)
    }

    /// Said where the book holds nothing of these days, or not of all.
    pub fn beginning(&self) -> Option<String> {
        match self.since {
            None => Some("This book has no entries yet.".into()),
            Some(since) if self.period.to < since => {
                Some(format!("This book begins on {since}: it knows nothing of these days."))
            }
            Some(since) if self.period.from < since => {
                Some(format!("This book begins on {since}: it knows nothing of the days before."))
            }
            Some(_) => None,
        }
    }
}

/// Rows as maps, so that another program reads them by name.
impl Serialize for Section {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let rows: Vec<Named<'_>> = self.rows.iter().map(|row| Named(self.part.columns(), row)).collect();
        let mut whole = to.serialize_struct("Section", 3)?;
        whole.serialize_field("section", self.part.stored())?;
        whole.serialize_field("title", self.part.shown())?;
        whole.serialize_field("rows", &rows)?;
        whole.end()
    }
}

struct Named<'r>(&'static [&'static str], &'r Row);

impl Serialize for Named<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let Self(columns, row) = self;
        let mut map = to.serialize_map(None)?;
        if let Some(stamp) = &row.stamp {
            map.serialize_entry("entry", &stamp.entry)?;
            map.serialize_entry("kind", &stamp.kind)?;
            map.serialize_entry("day_of_entry", &stamp.day)?;
            map.serialize_entry("seen", &stamp.seen)?;
            map.serialize_entry("who", &stamp.who)?;
            map.serialize_entry("typed", &stamp.typed)?;
            map.serialize_entry("typed_by", &stamp.typed_by)?;
            map.serialize_entry("paper", &stamp.paper)?;
        }
        for (column, cell) in columns.iter().zip(&row.cells) {
            map.serialize_entry(&key(column), cell)?;
        }
        map.serialize_entry("note", &row.note)?;
        map.serialize_entry("counts", &row.gone.is_none())?;
        map.serialize_entry("remarks", &row.remarks())?;
        map.end()
    }
}

/// A column's name for other programs.
pub fn key(column: &str) -> String {
    column.to_lowercase().replace(' ', "_")
}

impl Serialize for Records {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(None)?;
        map.serialize_entry("room", &self.room)?;
        map.serialize_entry("room_code", &self.code)?;
        map.serialize_entry("name", &self.name)?;
        map.serialize_entry("address", &self.address)?;
        map.serialize_entry("phone", &self.phone)?;
        map.serialize_entry("period", &self.period)?;
        map.serialize_entry("made", &self.made.instant())?;
        map.serialize_entry("made_by", &self.made_by)?;
        map.serialize_entry("book_begins", &self.since)?;
        map.serialize_entry("entries_of_the_period", &self.entries)?;
        map.serialize_entry("chain", &self.proof)?;
        map.serialize_entry("chain_whole", &self.proof.whole())?;
        map.serialize_entry("signatures", &self.signatures)?;
        map.serialize_entry("sections", &self.sections)?;
        map.serialize_entry("codes", CODES)?;
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T08:20:00+02:00").unwrap())
    }

    fn stamp(seen: &str, typed: &str) -> Stamp {
        let at = |text: &str| Instant::parse(&format!("2026-07-{text}:00Z")).unwrap();
        let (seen, typed) = (at(seen), at(typed));
        let day = now().local(seen).date_naive();
        let who = "AK".to_string();
        Stamp {
            entry: EntryId(7),
            kind: "look".into(),
            day,
            seen,
            who: who.clone(),
            typed,
            typed_by: who,
            paper: false,
        }
    }

    #[test]
    fn what_was_typed_at_once_says_so_and_the_rest_says_when_and_by_whom() {
        let at_once = stamp("14T04:10", "14T04:10");
        assert_eq!(at_once.seen_words(now()), "2026-07-14 06:10");
        assert_eq!(at_once.typed_words(now()), "at once");
        assert_eq!(Stamp { typed_by: "RM".into(), ..at_once }.typed_words(now()), "at once by RM");
        let fast = Instant(stamp("14T04:10", "14T04:10").seen.0 + chrono::Duration::seconds(59));
        assert_eq!(
            Stamp { typed: fast, ..stamp("14T04:10", "14T04:10") }.typed_words(now()),
            "at once",
            "within the minute"
        );
        assert_eq!(stamp("14T04:10", "14T04:11").typed_words(now()), "06:11");
        let later = Stamp { typed_by: "RM".into(), paper: true, ..stamp("14T04:10", "14T07:30") };
        assert_eq!(later.typed_words(now()), "09:30 by RM, from paper");
        // half past midnight on the room's clock is another day there and not in UTC
        assert_eq!(stamp("14T04:10", "14T22:30").typed_words(now()), "2026-07-15 00:30");
    }

    #[test]
    fn late_is_more_than_two_hours_or_another_day_or_from_paper() {
        let late = |stamp: Stamp| stamp.late(stamp.day, now());
        assert_eq!(late(stamp("14T04:10", "14T06:10")), None, "two hours are in time");
        assert_eq!(late(stamp("14T04:10", "14T06:11")).unwrap(), "2 h 1 min later");
        assert_eq!(late(stamp("14T21:50", "14T22:10")).unwrap(), "1 day later", "twenty minutes, over midnight");
        assert_eq!(late(stamp("14T04:10", "15T06:10")).unwrap(), "26 h later");
        assert_eq!(late(Stamp { paper: true, ..stamp("14T04:10", "14T04:10") }).unwrap(), "from paper");
        let of = |day: &str| stamp("14T04:10", "14T04:10").late(day.parse().unwrap(), now());
        assert_eq!(of("2026-07-14"), None);
        assert_eq!(of("2026-07-11").unwrap(), "3 days later", "a check of three days before");
    }

    #[test]
    fn a_row_that_no_longer_counts_says_so_first() {
        let mut row = Row::of(None, vec![]);
        assert_eq!(row.remarks(), "");
        row.marks.push("changed after it was signed (AK, 2026-07-15)".into());
        row.gone = Some((EntryId(9), "put right"));
        let said = "no longer counts: put right by entry 9; changed after it was signed (AK, 2026-07-15)";
        assert_eq!(row.remarks(), said);
    }

    #[test]
    fn names_of_columns_are_told_apart_and_are_names_for_other_programs_too() {
        for part in Part::ALL {
            let names: std::collections::BTreeSet<String> = part.columns().iter().map(|name| key(name)).collect();
            assert_eq!(names.len(), part.columns().len(), "{part:?}");
            for taken in [
                "room",
                "section",
                "entry",
                "kind",
                "day_of_entry",
                "seen",
                "who",
                "typed",
                "typed_by",
                "paper",
                "note",
                "counts",
                "remarks",
            ] {
                assert!(!names.contains(taken), "{part:?}: {taken}");
            }
        }
    }
}
