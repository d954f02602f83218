//! Checks of the room: what is looked at every so often, what came of it, and what was done where it failed.

use super::id::CheckKindId;
use super::time::Day;

/// A kind of check as it is kept in this room.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CheckKind {
    pub id: CheckKindId,
    pub rev: i64,
    pub name: String,
    /// Days from one to the next.
    pub every_d: i64,
    /// What is good enough, in words.
    pub limit: String,
    /// What to do where it is not.
    pub remedy: String,
    /// Since when it is kept here.
    pub known: Day,
    pub last: Option<LastCheck>,
}

/// The newest check of a kind.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct LastCheck {
    pub day: Day,
    pub who: String,
    pub result: String,
    pub ok: bool,
}

impl CheckKind {
    /// The day it is due: at once if it was never done, and again the day after it failed.
    pub fn due_on(&self) -> Day {
        match &self.last {
            None => self.known,
            Some(last) => last.day + chrono::Duration::days(if last.ok { self.every_d } else { 1 }),
        }
    }

    pub fn due(&self, today: Day) -> bool {
        self.due_on() <= today
    }

    /// `ok, 1.2 °C off (AK, 12 Jul); due 11 Aug`.
    pub fn words(&self, today: Day) -> String {
        let due = match (today - self.due_on()).num_days() {
            0 => "due today".to_string(),
            late if late > 0 => format!("due for {late} d"),
            _ => format!("due {}", self.due_on().format("%d %b")),
        };
        match &self.last {
            None => format!("never done; {due}"),
            Some(last) => {
                let ok = if last.ok { "ok" } else { "FAILED" };
                format!("{ok}, {} ({}, {}); {due}", last.result, last.who, last.day.format("%d %b"))
            }
        }
    }
}

/// A kind as it is made or changed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewCheckKind {
    pub name: String,
    pub every_d: i64,
    pub limit: String,
    pub remedy: String,
}

impl NewCheckKind {
    /// What can be said against it without the book.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if !(1..=60).contains(&self.name.trim().chars().count()) {
            return Err(("name", "A check's name has 1 to 60 characters.".into()));
        }
        if !(1..=1000).contains(&self.every_d) {
            return Err(("every", "A check comes every 1 to 1000 days.".into()));
        }
        if [&self.limit, &self.remedy].iter().any(|text| text.chars().count() > 200) {
            return Err(("limit", "Limit and remedy have at most 200 characters each.".into()));
        }
        Ok(())
    }
}

/// One check that was made.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewCheck {
    pub kind: CheckKindId,
    pub day: Day,
    pub result: String,
    pub ok: bool,
    /// What was done about it; needed where it failed.
    pub remedy: String,
    /// Product and strength of what was cleaned with, or the source of the water.
    pub with: String,
    /// Where the paper of it is kept.
    pub file: String,
}

impl NewCheck {
    /// What can be said against it without the book.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if self.day > today {
            return Err(("day", "That day is still to come: give the day it was done.".into()));
        }
        if self.result.trim().is_empty() {
            return Err(("result", "Say what was found, such as a figure with its unit.".into()));
        }
        if !self.ok && self.remedy.trim().is_empty() {
            return Err(("remedy", "It failed: say what was done about it.".into()));
        }
        Ok(())
    }
}

/// Kinds most rooms keep, to begin with: memory of common practice, no source. Local codes say which are asked for and
/// how often; every figure can be changed.
pub fn starters() -> Vec<NewCheckKind> {
    let kind = |name: &str, every_d, limit: &str, remedy: &str| NewCheckKind {
        name: name.into(),
        every_d,
        limit: limit.into(),
        remedy: remedy.into(),
    };
    vec![
        kind(
            "water: generic E. coli",
            90,
            "none found in 100 mL",
            "stop using this source, tell whoever decides, test again",
        ),
        kind(
            "thermometers in ice water",
            30,
            "0 °C, 1 °C more or less",
            "adjust or replace it, look again at what was measured since",
        ),
        kind("scale with a known weight", 30, "2 g more or less", "adjust or replace it"),
        kind(
            "trays, covers and tools cleaned and sanitised",
            7,
            "clean to the eye, dry, within the product's label",
            "wash and sanitise again",
        ),
        kind("pests", 7, "no droppings, no insects, doors tight", "remove, clean, close the way in"),
        kind(
            "training of everyone at the rack",
            365,
            "hygiene, gloves, mould, what to do when ill",
            "train before the next shift",
        ),
        kind(
            "fit for work",
            1,
            "nobody with vomiting, diarrhoea, jaundice or open sores",
            "off work, away from food, local rules on return",
        ),
        kind("waste out of the room", 1, "bags closed and out", "take it out, clean the place"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn kind(last: Option<(&str, bool)>) -> CheckKind {
        let last = last.map(|(on, ok)| LastCheck { day: day(on), who: "AK".into(), result: "0.4 °C".into(), ok });
        CheckKind {
            id: CheckKindId(1),
            rev: 0,
            name: "thermometers".into(),
            every_d: 30,
            limit: String::new(),
            remedy: String::new(),
            known: day("2026-07-01"),
            last,
        }
    }

    #[test]
    fn due_at_once_then_by_its_days_and_the_day_after_it_failed() {
        let today = day("2026-07-10");
        for (last, due, words) in [
            (None, true, "never done; due for 9 d"),
            (Some(("2026-07-10", true)), false, "ok, 0.4 °C (AK, 10 Jul); due 09 Aug"),
            (Some(("2026-06-10", true)), true, "ok, 0.4 °C (AK, 10 Jun); due today"),
            (Some(("2026-07-09", false)), true, "FAILED, 0.4 °C (AK, 09 Jul); due today"),
        ] {
            let kind = kind(last);
            assert_eq!((kind.due(today), kind.words(today).as_str()), (due, words));
        }
    }

    #[test]
    fn a_failed_check_says_what_was_done() {
        let check = NewCheck {
            kind: CheckKindId(1),
            day: day("2026-07-10"),
            result: "3 °C".into(),
            ok: false,
            remedy: " ".into(),
            with: String::new(),
            file: String::new(),
        };
        let today = day("2026-07-10");
        assert_eq!(check.check(today).unwrap_err().0, "remedy");
        assert!(NewCheck { remedy: "replaced".into(), ..check.clone() }.check(today).is_ok());
        assert_eq!(NewCheck { result: String::new(), ok: true, ..check.clone() }.check(today).unwrap_err().0, "result");
        assert_eq!(NewCheck { day: day("2026-07-11"), ok: true, ..check }.check(today).unwrap_err().0, "day");
    }

    #[test]
    fn what_rooms_begin_with_can_be_kept() {
        for kind in starters() {
            assert_eq!(kind.check(), Ok(()), "{}", kind.name);
            assert!(!kind.limit.is_empty() && !kind.remedy.is_empty());
        }
        let bad = |name: &str, every_d| NewCheckKind {
            name: name.into(),
            every_d,
            limit: String::new(),
            remedy: String::new(),
        };
        assert_eq!(bad(" ", 1).check().unwrap_err().0, "name");
        assert_eq!(bad("x", 0).check().unwrap_err().0, "every");
    }
}
