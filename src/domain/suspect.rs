//! Suspect trays: what makes them so, when to look again, what is at risk, and what a person decides.

use chrono::Duration;

use super::code::Code;
use super::fuzz::{ENOUGH, Sign, Signs, Verdict};
use super::id::{EntryId, PlaceId, TrayId};
use super::look::Mist;
use super::refusal::Refusal;
use super::time::{Day, Instant, Now};
use super::words::words;

words!(
    /// What a person made of a suspect tray. Throwing it out is an entry of its own.
    Decision { Clear = "clear" / "cleared", Watch = "watch" / "watched", Isolate = "isolate" / "isolated" }
);

/// The same before it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Choice {
    /// No longer suspect, on the evidence of a check.
    Clear,
    /// Stays suspect; the next look is put off.
    Watch,
    /// Stays suspect, and is set apart.
    Isolate { to: PlaceId },
}

/// What a look with fuzz says of a tray.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Found {
    pub entry: EntryId,
    pub at: Instant,
    pub day: Day,
    pub mist: Mist,
    pub verdict: Option<Verdict>,
    /// Of a check, and the larger of its points for mould and for rot.
    pub signs: Signs,
    pub bad: i64,
}

impl Found {
    /// Mould or rot: never cleared.
    pub fn named(self) -> bool {
        self.verdict.is_some_and(Verdict::is_bad)
    }

    /// No later look clears it.
    pub fn stays(self) -> bool {
        self.mist == Mist::Stands || self.named()
    }

    /// Suspect by this look.
    pub fn doubtful(self) -> bool {
        self.stays() || self.verdict.map_or(self.mist.is_suspect(), Verdict::is_suspect)
    }

    /// Of a check that could not tell: what it showed that hairs never show.
    pub fn veto(self) -> Option<Sign> {
        self.signs.vetoes().next().filter(|_| self.doubtful())
    }

    /// Only a person ends it, if anything does.
    fn lasts(self) -> bool {
        self.stays() || self.veto().is_some() || (self.doubtful() && self.bad >= ENOUGH)
    }

    /// Whether this look, made after the other one, says what that was: a check is answered by a check that says hairs,
    /// fuzz nobody checked also by fuzz that lies down.
    fn answers(self, other: Self) -> bool {
        let says = if other.verdict.is_some() { self.verdict == Some(Verdict::Hairs) } else { !self.doubtful() };
        says && !other.lasts()
    }
}

/// Something that bears on whether a tray is suspect.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    Fuzz(Found),
    /// A person cleared it, by this entry.
    Cleared(EntryId),
}

/// What makes a tray suspect, of all that happened to it in that order.
///
/// Doubt ends with a look that answers it. What stood, or showed what hairs never show, ends only with a clear that was
/// written when it was known. What was named never ends.
pub fn counting(events: &[Event]) -> Vec<Found> {
    let cleared = |at: usize, found: &Found| {
        let after = events.iter().skip(at);
        !found.named() && after.into_iter().any(|event| matches!(event, Event::Cleared(by) if *by > found.entry))
    };
    let fuzz = |event: &Event| match event {
        Event::Fuzz(found) => Some(*found),
        Event::Cleared(_) => None,
    };
    let answered =
        |at: usize, found: Found| events.iter().skip(at + 1).filter_map(fuzz).any(|later| later.answers(found));
    let open = events.iter().enumerate().filter_map(|(at, event)| fuzz(event).map(|found| (at, found)));
    open.filter(|(at, found)| found.doubtful() && !answered(*at, *found) && !cleared(*at, found))
        .map(|(_, found)| found)
        .collect()
}

/// The check a person may clear a tray on: the newest one, if it says hairs and came after all that made it suspect.
/// `lost`: part of the tray was lost to mould or rot.
pub fn evidence(events: &[Event], lost: bool) -> Result<EntryId, Refusal> {
    let open = counting(events);
    if lost || open.iter().any(|found| found.named()) {
        let sentence = "It showed mould or rot: never cleared. Throw it out, or keep it apart.";
        return Err(Refusal::new("clear_named", sentence));
    }
    let check = events.iter().rposition(|event| matches!(event, Event::Fuzz(found) if found.verdict.is_some()));
    let after = check.and_then(|check| events.get(check + 1..)).unwrap_or_default();
    let doubt = |event: &Event| matches!(event, Event::Fuzz(found) if open.contains(found));
    match check.and_then(|check| events.get(check)) {
        Some(Event::Fuzz(found)) if found.verdict == Some(Verdict::Hairs) && !after.iter().any(doubt) => {
            Ok(found.entry)
        }
        _ => {
            let sentence = "No newer check says hairs. Check it again, and clear it on that.";
            Err(Refusal::new("clear_evidence", sentence))
        }
    }
}

/// Untested fuzz is misted no sooner than this after it was seen: by then it may stand again or lie down.
const SOONEST: Duration = Duration::hours(1);
/// And no later than this.
const LATEST: Duration = Duration::hours(4);
/// Any other suspect is looked at again within this.
pub const WITHIN: Duration = Duration::hours(24);

/// When a suspect tray is to be looked at again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct NextLook {
    pub from: Instant,
    pub by: Instant,
}

impl NextLook {
    /// After a look; `untested`: it showed fuzz that nobody misted.
    pub fn after(at: Instant, untested: bool) -> Self {
        let (from, by) = if untested { (SOONEST, LATEST) } else { (Duration::zero(), WITHIN) };
        Self { from: Instant(at.0 + from), by: Instant(at.0 + by) }
    }

    pub fn overdue(self, now: Now) -> bool {
        now.instant() > self.by
    }

    /// `next look by 10:00`; another day is named.
    pub fn words(self, now: Now) -> String {
        let moment = |at: Instant| {
            let local = now.local(at);
            let form = if local.date_naive() == now.day() { "%H:%M" } else { "%a %d %b %H:%M" };
            local.format(form).to_string()
        };
        let by = moment(self.by);
        if self.overdue(now) {
            format!("OVERDUE: next look was due by {by}")
        } else if self.from > now.instant() {
            format!("next look between {} and {by}", moment(self.from))
        } else {
            format!("next look by {by}")
        }
    }
}

/// Why a tray is suspect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Reason {
    /// A check named mould or rot.
    Named(Verdict),
    /// Part of it was lost to mould or rot.
    Lost,
    Stood,
    /// A check saw what hairs never show.
    Veto(Sign),
    /// A check that could not tell.
    Doubt(Verdict),
    Untested,
}

impl Reason {
    /// Of all that counts the worst, newest first.
    pub fn of(counting: &[Found], lost: bool) -> Self {
        let newest = |which: fn(&Found) -> bool| counting.iter().rev().find(|found| which(found));
        let named = newest(|found| found.named()).and_then(|found| found.verdict);
        if let Some(verdict) = named {
            Self::Named(verdict)
        } else if lost {
            Self::Lost
        } else if newest(|found| found.stays()).is_some() {
            Self::Stood
        } else if let Some(sign) = counting.iter().rev().find_map(|found| found.veto()) {
            Self::Veto(sign)
        } else {
            counting.last().and_then(|found| found.verdict).map_or(Self::Untested, Self::Doubt)
        }
    }

    /// As a phrase.
    pub fn words(self) -> String {
        match self {
            Self::Named(verdict) => format!("{} named by a check", verdict.shown()),
            Self::Lost => "part of it lost to mould or rot".into(),
            Self::Stood => "fuzz stood when misted".into(),
            Self::Veto(sign) => format!("unlike hairs: {}", sign.shown()),
            Self::Doubt(verdict) => format!("fuzz, {}", verdict.shown()),
            Self::Untested => "fuzz, not misted yet".into(),
        }
    }

    /// What was found, as neighbours are told.
    fn finding(self) -> &'static str {
        match self {
            Self::Named(verdict) => verdict.shown(),
            Self::Lost => "mould or rot",
            Self::Stood => "fuzz that stood",
            Self::Veto(_) | Self::Doubt(_) | Self::Untested => "fuzz",
        }
    }

    /// The worse, the smaller.
    fn rank(self) -> u8 {
        match self {
            Self::Named(_) | Self::Lost => 0,
            Self::Stood | Self::Veto(_) => 1,
            Self::Doubt(_) | Self::Untested => 2,
        }
    }
}

words!(
    /// How something may have come from one tray to another, the nearest first.
    Near {
        Stack = "stack" / "same stack",
        Beside = "beside" / "touching",
        Batch = "batch" / "same sowing",
        Water = "water" / "watered together",
    }
);

/// A tray that something may have come to.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct AtRisk {
    pub tray: TrayId,
    pub near: Vec<Near>,
}

impl AtRisk {
    /// `T0008-I (touching, same sowing)`.
    pub fn words(&self) -> String {
        let near: Vec<&str> = self.near.iter().map(|near| near.shown()).collect();
        format!("{} ({})", Code::tray(self.tray.0), near.join(", "))
    }
}

/// What was decided about a suspect tray last.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Decided {
    pub what: Decision,
    pub who: String,
    pub at: Instant,
    /// Of a watch: the look it put off.
    pub until: Option<Instant>,
}

/// A suspect tray as the list of suspects shows it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Suspect {
    pub tray: TrayId,
    pub reason: Reason,
    pub since: Instant,
    pub next: NextLook,
    /// Codes of the lots its seed came from.
    pub seed: Vec<String>,
    pub risk: Vec<AtRisk>,
    pub decided: Option<Decided>,
    /// Why it cannot be cleared now.
    pub bar: Option<String>,
}

/// The most urgent first: what is overdue, then by how bad it is, then by when it is due.
pub fn by_urgency(suspects: &[Suspect], now: Now) -> Vec<&Suspect> {
    let mut found: Vec<&Suspect> = suspects.iter().collect();
    found.sort_by_key(|suspect| (!suspect.next.overdue(now), suspect.reason.rank(), suspect.next.by, suspect.tray));
    found
}

/// Days for which trays near something bad are looked at one by one.
pub const CLOSE_DAYS: i64 = 3;

/// Why a tray is looked at closely for some days.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CloseLook {
    /// The last day.
    pub until: Day,
    /// What was found, on which tray, and how near.
    pub what: &'static str,
    pub of: TrayId,
    pub near: Near,
}

impl CloseLook {
    /// After something was found on a day.
    pub fn of(found: Day, reason: Reason, of: TrayId, near: Near) -> Self {
        Self { until: found + Duration::days(CLOSE_DAYS), what: reason.finding(), of, near }
    }

    /// `look closely until Tue 14 Jul: mould on T0003-S, touching`.
    pub fn words(&self) -> String {
        let (until, code) = (self.until.format("%a %d %b"), Code::tray(self.of.0));
        format!("look closely until {until}: {} on {code}, {}", self.what, self.near.shown())
    }
}

#[cfg(test)]
mod tests;
