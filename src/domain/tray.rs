//! A tray in the room: its stage, what was last seen, and the one sign its cell shows.

mod cutting;

use super::code::Code;
use super::crop::Plan;
use super::forecast::Forecast;
use super::fuzz::{Extent, Signs, Verdict};
use super::id::{CropId, SowingId, TrayId};
use super::look::{Basis, Faults, Fuzz, Mist, Roots, Stand, seen};
use super::room::{Place, Zone};
use super::suspect::{CloseLook, NextLook, Reason};
use super::text::counted;
use super::time::{Day, Instant, Now, day_number};
use super::treatment::Sprayed;
use super::words::words;

words!(
    /// Where a tray is in its life, as done or seen and never from the calendar.
    Stage {
        Soaked = "soaked" / "soaked",
        Covered = "covered" / "covered",
        Lit = "lit" / "under light",
        Ready = "ready" / "ready to cut",
        Cut = "cut" / "cut",
        LeftAlive = "left_alive" / "left alive",
        Thrown = "thrown" / "thrown out",
    }
);

impl Stage {
    /// Still on a rack.
    pub fn in_room(self) -> bool {
        matches!(self, Self::Soaked | Self::Covered | Self::Lit | Self::Ready)
    }
}

words!(
    /// Why a tray was lost.
    LossReason {
        Mould = "mould" / "mould",
        Rot = "rot" / "rot",
        PoorGermination = "poor_germination" / "poor germination",
        DriedOut = "dried_out" / "dried out",
        FellOver = "fell_over" / "seedlings fell over",
        Overgrown = "overgrown" / "past its window",
        Accident = "accident" / "dropped or spoiled",
        NotNeeded = "not_needed" / "not needed",
    }
);

words!(
    /// What happened to cover, weight and lower tray of a tray thrown out.
    Gear { ToWash = "to_wash" / "put aside to wash", Washed = "washed" / "washed", Binned = "binned" / "binned" }
);

words!(
    /// What was done about a bad tray and the place where it stood.
    Cleanup {
        Bagged = "bagged" / "bagged where it stood, place still to clean",
        Neither = "neither" / "not bagged, place still to clean",
        Both = "both" / "bagged where it stood, place cleaned",
    }
);

words!(
    /// The one sign of a place. Each has a word in the legend.
    Sign {
        Held = "held" / "held",
        Suspect = "suspect" / "suspect",
        Late = "late" / "late",
        Due = "due" / "due",
        Waiting = "waiting" / "treated, waiting",
        /// Seen, and something was odd about it.
        Odd = "odd" / "odd",
        Ready = "ready" / "ready",
        Looked = "looked" / "seen today",
        New = "new" / "sown today",
        /// Empty, and something bad stood there.
        ToClean = "to_clean" / "to clean",
        Empty = "empty" / "empty",
    }
);

/// The trays of an entry in a sentence: the code of one, the number of several, nothing for none.
pub fn named(trays: &[TrayId]) -> String {
    match trays {
        [] => String::new(),
        [one] => Code::tray(one.0).to_string(),
        many => counted(many.len(), "tray"),
    }
}

/// Something open about a tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flag {
    pub text: String,
    /// Concerns safety: no figure and no key clears it by the way.
    pub grave: bool,
}

/// The newest look at a tray.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct LastLook {
    pub day: Day,
    pub basis: Basis,
    pub roots: Option<Roots>,
    pub stand: Option<Stand>,
    pub fuzz: Option<Mist>,
    /// Of a fuzz check, and what they came to.
    pub signs: Signs,
    pub extent: Option<Extent>,
    pub verdict: Option<Verdict>,
    pub faults: Faults,
    pub who: String,
}

impl LastLook {
    /// One phrase: `roots plenty (AK)`.
    pub fn words(&self) -> String {
        let fuzz = Fuzz { mist: self.fuzz, signs: self.signs, extent: self.extent, verdict: self.verdict };
        let mut parts = seen(self.roots, self.stand, &fuzz, self.faults);
        if parts.is_empty() {
            parts.push("looked at".into());
        }
        if self.basis != Basis::Tray {
            parts.push(self.basis.shown().into());
        }
        format!("{} ({})", parts.join(", "), self.who)
    }
}

/// A fuzz check in the past.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Check {
    pub day: Day,
    pub verdict: Verdict,
    pub signs: Signs,
    pub who: String,
}

/// Everything a screen says about one tray that stands in the room.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct TrayCard {
    pub id: TrayId,
    pub sowing: SowingId,
    pub sowing_code: String,
    pub crop: CropId,
    pub letters: String,
    pub crop_name: String,
    pub roots_hidden: bool,
    pub hairs_expected: bool,
    pub sown: Day,
    /// Since when it is in the book: later than its sowing if it stood there before.
    pub known: Day,
    pub plan: Plan,
    /// The plan's window moved by the roots of its batch; an estimate that no sign and no refusal goes by.
    pub forecast: Option<Forecast>,
    pub stage: Stage,
    /// Of a missing tray the last one known.
    pub place: Place,
    /// Where it comes when its stack is taken down, 1 for the uppermost; trays on each other there.
    pub from_top: i64,
    pub stacked: i64,
    pub mats_left: i64,
    /// What the mats left usually give by the crop's figure, g; nothing where the crop has none.
    pub usual_g: Option<i64>,
    pub last: Option<LastLook>,
    pub watered_on: Option<Day>,
    /// Since when it shows fuzz.
    pub fuzz_since: Option<Day>,
    /// Fuzz checks, the newest first.
    pub checks: Vec<Check>,
    pub suspect: bool,
    /// It is suspect because fuzz stood when misted: no later look clears that.
    pub stood: bool,
    /// Showed mould or rot, or was treated so that it is not for sale.
    pub bad: bool,
    /// Of a suspect tray.
    pub next_look: Option<NextLook>,
    /// Why it is suspect.
    pub doubt: Option<Reason>,
    /// Something bad was found near it.
    pub close_look: Option<CloseLook>,
    /// Not to be cut before, after a treatment.
    pub wait_until: Option<Instant>,
    /// Treatments, the newest first.
    pub treated: Vec<Sprayed>,
    pub held: bool,
}

impl TrayCard {
    /// The code on its label, such as `T0001-W`.
    pub fn code(&self) -> String {
        Code::tray(self.id.0).to_string()
    }

    /// Its place, and where in a stack from the top: `B 2-1`, or `B 2-1, 2nd of 3`.
    pub fn stands(&self) -> String {
        let place = self.place.label();
        if self.stacked <= 1 {
            return place;
        }
        let nth = match self.from_top {
            1 => return format!("{place}, top of {}", self.stacked),
            n if n == self.stacked => return format!("{place}, bottom of {}", self.stacked),
            2 => "2nd".to_string(),
            3 => "3rd".to_string(),
            n => format!("{n}th"),
        };
        format!("{place}, {nth} of {}", self.stacked)
    }

    /// Day of growth; the sowing is day 0.
    pub fn day(&self, today: Day) -> i64 {
        day_number(self.sown, today)
    }

    /// First day of the cutting window.
    pub fn cut_from(&self) -> Day {
        self.sown + chrono::Duration::days(self.plan.cut_from_d)
    }

    /// Last day of the cutting window.
    pub fn cut_to(&self) -> Day {
        self.sown + chrono::Duration::days(self.plan.cut_to_d)
    }

    /// The forecast, where it says something else than the plan.
    pub fn moved_forecast(&self) -> Option<&Forecast> {
        self.forecast.as_ref().filter(|forecast| forecast.moved())
    }

    /// Wants to be lifted today: every tray every day, from the day after its sowing.
    pub fn look_due(&self, today: Day) -> bool {
        self.sown < today && self.last.as_ref().is_none_or(|look| look.day < today)
    }

    /// Was missed the day before as well.
    pub fn look_late(&self, today: Day) -> bool {
        let seen = self.last.as_ref().map_or(self.sown.max(self.known), |look| look.day);
        self.look_due(today) && day_number(seen, today) > 1
    }

    /// Has had no water yet today.
    pub fn water_due(&self, today: Day) -> bool {
        self.sown < today && self.watered_on.is_none_or(|day| day < today)
    }

    /// Suspect, or shown to be mouldy or rotten: never for sale as it stands.
    pub fn doubtful(&self) -> bool {
        self.suspect || self.bad
    }

    /// Marked ready, or inside its cutting window.
    pub fn ready(&self, today: Day) -> bool {
        self.stage == Stage::Ready || (self.stage == Stage::Lit && today >= self.cut_from())
    }

    /// Still to wait after a treatment before it may be cut.
    pub fn waits(&self, now: Now) -> bool {
        self.wait_until.is_some_and(|until| until > now.instant())
    }

    /// Ready, and nothing known stands against cutting it.
    pub fn may_be_cut(&self, now: Now) -> bool {
        self.ready(now.day()) && !self.doubtful() && !self.held && !self.waits(now)
    }

    /// Whether roots are graded, covered or still in the plan's covered days; otherwise the stand is.
    pub fn grades_roots(&self, today: Day) -> bool {
        let covered = matches!(self.stage, Stage::Soaked | Stage::Covered);
        !self.roots_hidden && (covered || self.day(today) < self.plan.cover_d)
    }

    /// Something odd was seen at the newest look: a fault, or a stand that is not good.
    pub fn odd(&self) -> bool {
        self.last
            .as_ref()
            .is_some_and(|look| !look.faults.is_empty() || look.stand.is_some_and(|stand| stand != Stand::Good))
    }

    /// The signs with what the day of growth says of them.
    pub fn signs_on(&self, signs: Signs, today: Day) -> Signs {
        let since = self.fuzz_since.map_or(today, |since| since.min(today));
        signs.on_day(self.day(today), self.day(since))
    }

    /// Fuzz is looked for as root hairs: a crop known for them, day 2 to 4.
    pub fn hairs_time(&self, today: Day) -> bool {
        self.hairs_expected && (2..=4).contains(&self.day(today))
    }

    /// What was found near it, as long as that calls for a closer look.
    pub fn watched_closely(&self, today: Day) -> Option<&CloseLook> {
        self.close_look.as_ref().filter(|close| today <= close.until)
    }

    /// Wants care of its own, so no shelf glance may include it.
    pub fn needs_own_look(&self, today: Day) -> Option<&'static str> {
        if self.stage == Stage::Covered || self.stage == Stage::Soaked || self.place.zone == Zone::Covered {
            Some("covered trays are lifted one by one")
        } else if self.stacked > 1 {
            Some("stacked trays are lifted one by one")
        } else if self.place.zone == Zone::Isolation {
            Some("a tray set apart is looked at by itself")
        } else if self.doubtful() {
            Some("a suspect tray is looked at by itself")
        } else if self.held {
            Some("a held tray is looked at by itself")
        } else if self.watched_closely(today).is_some() {
            Some("something bad was found near it, so it is looked at by itself")
        } else if self.last.as_ref().is_some_and(|look| look.fuzz.is_some() || !look.faults.is_empty()) {
            Some("something was seen on it last time, so it is looked at by itself")
        } else {
            None
        }
    }

    /// The sign of its cell.
    pub fn sign(&self, now: Now) -> Sign {
        let today = now.day();
        if self.held {
            Sign::Held
        } else if self.doubtful() {
            Sign::Suspect
        } else if self.look_late(today) {
            Sign::Late
        } else if self.look_due(today) {
            Sign::Due
        } else if self.odd() {
            Sign::Odd
        } else if self.may_be_cut(now) {
            Sign::Ready
        } else if self.ready(today) {
            Sign::Waiting
        } else if self.sown >= today && self.last.is_none() {
            Sign::New
        } else {
            Sign::Looked
        }
    }

    /// Open flags in words, worst first; the grave ones concern safety.
    pub fn flags(&self, now: Now) -> Vec<Flag> {
        let today = now.day();
        let grave = |text: &str| Flag { text: text.into(), grave: true };
        let soon = |text: &str| Flag { text: text.into(), grave: false };
        let mut flags = Vec::new();
        if self.held {
            flags.push(grave("HELD: do not cut or move out"));
        }
        if self.bad {
            flags.push(grave("NOT FOR SALE: showed mould or rot"));
        } else if self.suspect {
            flags.push(grave(&match self.doubt {
                _ if self.stood => "SUSPECT: keep it apart. Fuzz stood when misted; only a clear ends it".into(),
                Some(Reason::Veto(sign)) => format!("SUSPECT: unlike hairs: {}", sign.shown()),
                Some(Reason::Doubt(_)) => "SUSPECT: fuzz nobody could tell: mist it and look again".into(),
                _ => "SUSPECT: fuzz not tested: mist it and look again".to_string(),
            }));
        }
        if let Some(next) = self.next_look.filter(|_| self.doubtful()) {
            flags.push(Flag { text: next.words(now), grave: next.overdue(now) });
        }
        flags.extend(self.treated_flag(now));
        flags.extend(self.watched_closely(today).map(|close| soon(&close.words())));
        if self.look_late(today) {
            let seen = self.last.as_ref().map_or(self.sown.max(self.known), |look| look.day);
            flags.push(soon(&format!("not looked at for {} days", day_number(seen, today))));
        }
        if self.day(today) > self.plan.cut_to_d {
            flags.push(soon("past its cutting window"));
        }
        if self.stage == Stage::Covered && self.day(today) > self.plan.cover_d {
            flags.push(soon("still covered, past the plan"));
        }
        flags
    }
}

#[cfg(test)]
pub(crate) mod tests;
