//! Holds: what must not be cut, packed or sold until a named person has decided, also what came to light too late.

use super::breach::Verdict;
use super::code::Code;
use super::history::Of;
use super::id::{ComplaintId, EntryId, HoldId, LotId, TrayId};
use super::text::counted;
use super::time::{Day, Instant, Now};
use super::trace::Start;
use super::tray::{Stage, named};
use super::words::words;

words!(
    /// Why something is held.
    Cause {
        Mould = "mould" / "mould or rot came to light",
        Fuzz = "fuzz" / "fuzz came to light that nobody cleared",
        Treated = "treated" / "it was cut before its wait after a treatment was over",
        /// Someone's word, in the note of the entry.
        ByHand = "by_hand" / "held by hand",
    }
);

/// Something is to be held.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewHold {
    pub what: Start,
    /// The complaint it is done for.
    pub complaint: Option<ComplaintId>,
    /// The seed lots it was grown from too, with everything made of them.
    pub with_seed: bool,
    /// Its forward list becomes a call sheet in the same entry.
    pub call: bool,
    pub reason: String,
}

impl NewHold {
    /// What is held and all that was made of it, without its seed and without a call sheet.
    pub fn of(what: Start, complaint: Option<ComplaintId>, reason: String) -> Self {
        Self { what, complaint, with_seed: false, call: false, reason }
    }
}

/// A tray that is held, and when it left the room.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Held {
    pub tray: TrayId,
    pub crop: String,
    pub left: Option<(Stage, Instant)>,
}

impl Held {
    /// `radish, cut Tue 07 Jul 06:00`.
    pub fn words(&self, now: Now) -> String {
        match self.left {
            Some((stage, at)) => {
                format!("{}, {} {}", self.crop, stage.shown(), now.local(at).format("%a %d %b %H:%M"))
            }
            None => format!("{}, in the room", self.crop),
        }
    }
}

/// A lot that a hold reaches.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct HeldLot {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    /// What is still here of it, in words.
    pub here: String,
}

/// Who got packs of a lot that a hold reaches.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Buyer {
    pub name: String,
    pub phone: String,
    pub day: Day,
    pub code: String,
    pub packs: i64,
}

impl Buyer {
    /// `Table, 555 0141: 4 packs of PEA-260711-A-Z on 2026-07-11`.
    pub fn words(&self) -> String {
        let Self { name, phone, day, code, packs } = self;
        let phone = if phone.is_empty() { "no phone" } else { phone };
        format!("{name}, {phone}: {packs} of {code} on {day}")
    }
}

/// A hold nobody has lifted yet.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Hold {
    pub id: HoldId,
    pub cause: Cause,
    /// What is held, in words.
    pub scope: String,
    /// The entry that holds it.
    pub entry: EntryId,
    pub at: Instant,
    pub who: String,
    /// The entry with the news.
    pub about: Option<EntryId>,
    /// What was said with it.
    pub note: Option<String>,
    /// Seed, mixes, lots of materials and tools it is of, each with its name.
    pub of: Vec<(Of, String)>,
    pub trays: Vec<Held>,
    /// Lots it reaches: those held themselves, those its trays were cut into, and what was made of them.
    pub lots: Vec<HeldLot>,
    /// Who got any of them, the newest first.
    pub buyers: Vec<Buyer>,
    /// It was looked at and put off.
    pub watched: bool,
    /// The complaint it was written for.
    pub complaint: Option<ComplaintId>,
}

impl Hold {
    /// Seed that is not sown, or something that is not used.
    pub fn bars(&self) -> Option<&'static str> {
        let seed = self.of.iter().any(|(of, _)| matches!(of, Of::SeedLot(_)));
        match (seed, self.of.is_empty()) {
            (true, _) => Some("not sown"),
            (false, false) => Some("not used"),
            (false, true) => None,
        }
    }

    /// Trays that had left the room.
    pub fn gone(&self) -> usize {
        self.trays.iter().filter(|held| held.left.is_some()).count()
    }

    /// `AK, Wed 08 Jul 06:00`.
    pub fn by(&self, now: Now) -> String {
        format!("{}, {}", self.who, now.local(self.at).format("%a %d %b %H:%M"))
    }
}

/// A decision about a hold; `gone`: some of it had left the room.
pub fn words(what: Verdict, gone: bool) -> &'static str {
    match what {
        Verdict::Accepted => "lifted",
        Verdict::Thrown if gone => "called back and destroyed",
        Verdict::Thrown => "to be thrown out",
        Verdict::Watch => "to be decided another day",
    }
}

/// What follows from it.
pub fn follows(what: Verdict, gone: bool) -> &'static str {
    match what {
        Verdict::Accepted => "this hold is lifted; what else stands against it still counts",
        Verdict::Thrown if gone => "none of it is sold; the reason says how much came back, and who saw it destroyed",
        Verdict::Thrown => "it stays held until it is thrown out",
        Verdict::Watch => "it stays held, and waits for a decision",
    }
}

/// What an entry says of trays that had left before its news came.
pub fn reached(trays: &[TrayId]) -> String {
    match trays {
        [] => String::new(),
        [one] => format!(
            " {} had been cut before this was known: it is held until someone who may decide has decided.",
            Code::tray(one.0)
        ),
        many => format!(
            " {} had been cut before this was known: they are held until someone who may decide has decided.",
            counted(many.len(), "tray")
        ),
    }
}

/// What an entry says of lots that trays still standing were cut into before its news came.
pub fn reached_lots(codes: &[String]) -> String {
    match codes {
        [] => String::new(),
        codes => format!(" Cut from it before this was known, and held: {}.", codes.join(", ")),
    }
}

/// The trays of a hold in a phrase of the log.
pub fn phrase(cause: Cause, trays: &[TrayId]) -> String {
    format!("{} held: {}", named(trays), cause.shown())
}
