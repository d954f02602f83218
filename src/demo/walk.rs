//! A morning walk: what the walker finds on each tray and writes down.

use std::collections::HashSet;
use std::ops::RangeInclusive;

use chrono::{Datelike, Weekday};
use fastrand::Rng;

use super::{Notebook, vigour};
use crate::domain::action::Action;
use crate::domain::beside::near;
use crate::domain::board::Board;
use crate::domain::id::{PlaceId, TrayId, WalkId};
use crate::domain::look::{Basis, Fault, Faults, Look, Mist, Roots, Skip, Stand, WaterFigures};
use crate::domain::room::Zone;
use crate::domain::suspect::Choice;
use crate::domain::time::Day;
use crate::domain::tray::{Cleanup, Gear, LossReason, TrayCard};
use crate::domain::walk::rest_of_shelf;

/// What is known of the day before the walk begins.
pub struct Morning<'a> {
    pub board: &'a Board,
    pub day: Day,
    pub walk: WalkId,
    pub seed: u64,
    pub notes: &'a [String],
    /// Trays sown from a lot that germinates poorly.
    pub weak: &'a HashSet<TrayId>,
    /// The last walk before today: it leaves suspects and trays that are late.
    pub last: bool,
    /// A wrong grade is written and taken back.
    pub slip: bool,
}

/// What a tray shows this morning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Seen {
    AsExpected,
    /// White that lies down under the mist: root hairs.
    Hairs,
    /// White that was not misted yet.
    Unmisted,
    /// White that stands: likely mould.
    Mould,
    Odd(Fault),
    OutOfReach,
    /// Walked past.
    Forgotten,
}

/// Writes the whole walk.
pub fn walk(morning: &Morning<'_>, book: &mut Notebook, rng: &mut Rng) {
    let due: Vec<&TrayCard> = morning.board.trays.iter().filter(|tray| tray.look_due(morning.day)).collect();
    let mut seen: Vec<Seen> = due.iter().map(|tray| found(morning, tray, rng)).collect();
    if morning.last {
        leave_something(&due, &mut seen, morning.day);
    }
    let mut isolation: Vec<PlaceId> =
        morning.board.free_places().iter().filter(|p| p.zone == Zone::Isolation).map(|p| p.id).collect();
    // what is near something bad is lifted tray by tray; where it stood the day before is not known here
    let bad: Vec<&TrayCard> = due.iter().filter(|tray| tray.stood).copied().collect();
    let new = seen.contains(&Seen::Mould);
    let calm =
        |tray: &TrayCard| !new && !bad.iter().any(|bad| bad.sowing == tray.sowing || near(&bad.place, &tray.place));
    let as_expected = due.iter().zip(&seen).filter(|(_, seen)| **seen == Seen::AsExpected).map(|(tray, _)| *tray);
    let open: Vec<&TrayCard> = as_expected.filter(|tray| calm(tray)).collect();
    let mut done: HashSet<TrayId> = HashSet::new();
    let mut slip = morning.slip;
    let mut measure = morning.day.weekday() == Weekday::Wed;
    let pace = (75 * 60 / i64::try_from(due.len()).unwrap_or(i64::MAX).max(1)).clamp(1, 30);
    for (tray, seen) in due.into_iter().zip(seen) {
        if done.contains(&tray.id) || seen == Seen::Forgotten {
            continue;
        }
        let seconds = rng.i64(pace / 2 + 1..=pace * 3 / 2 + 1);
        if tray.suspect {
            again(morning, tray, book, seconds);
            continue;
        }
        let mut look = plain(morning, tray, rng);
        match seen {
            Seen::AsExpected => {
                if calm(tray)
                    && let Ok(rest) = rest_of_shelf(tray, &open, morning.day)
                    && rest.len() > 1
                    && rng.u8(..8) > 0
                {
                    done.extend(&rest);
                    look.stand = Some(Stand::Good);
                    book.write(seconds, Action::Look(Box::new(Look { trays: rest, basis: Basis::Shelf, ..look })));
                    continue;
                }
                if std::mem::take(&mut measure) {
                    look.watered = true;
                    look.water = WaterFigures {
                        ml: Some(400),
                        ph_100: Some(rng.i64(580..640)),
                        temp_dc: Some(rng.i64(180..210)),
                        ec_us: None,
                    };
                }
                if rng.u8(..60) == 0 {
                    look.note = rng.choice(morning.notes).cloned();
                }
                if look.roots.is_some() && std::mem::take(&mut slip) {
                    let wrong = Look { roots: Some(Roots::Full), ..look.clone() };
                    book.write(seconds, Action::Look(Box::new(wrong)));
                    book.write(4, Action::Undo);
                }
            }
            Seen::Hairs => look.fuzz = Some(Mist::Down),
            Seen::Unmisted => look.fuzz = Some(Mist::Untested),
            Seen::Mould => look.fuzz = Some(Mist::Stands),
            Seen::Odd(fault) => look.faults = Faults::default().toggled(fault),
            Seen::OutOfReach | Seen::Forgotten => {
                look = Look { walk: look.walk, skip: Some(Skip::OutOfReach), ..Look::of(tray.id) };
            }
        }
        book.write(seconds, Action::Look(Box::new(look)));
        if seen == Seen::Mould
            && let Some(to) = isolation.pop()
        {
            let (walk, what, by) = (Some(morning.walk), Choice::Isolate { to }, book.who);
            book.write(20, Action::DecideSuspect { walk, tray: tray.id, what, by, reason: String::new() });
            book.write(90, Action::CleanPlaces { places: vec![tray.place.id], with: "bleach by its label".into() });
        }
    }
}

/// A look that finds what the plan expects of a batch of this vigour.
fn plain(morning: &Morning<'_>, tray: &TrayCard, rng: &mut Rng) -> Look {
    let mut look = Look { walk: Some(morning.walk), ..Look::of(tray.id) };
    if tray.grades_roots(morning.day) {
        let weak = i64::from(morning.weak.contains(&tray.id));
        // one tray in twelve is a day behind its batch
        let behind = i64::from(rng.u8(..12) == 0);
        let day = tray.day(morning.day) + vigour(morning.seed, tray.sowing) - weak - behind;
        let roots = tray.plan.roots_on(day).unwrap_or(Roots::None);
        look.roots = Some(roots);
        look.watered = roots != Roots::None || rng.bool();
    } else {
        look.stand = Some(if rng.u8(..25) == 0 { Stand::Uneven } else { Stand::Good });
        look.watered = true;
    }
    look
}

/// Chances, in thousandths, chosen so that a room of forty trays a week has something to show every few days.
fn found(morning: &Morning<'_>, tray: &TrayCard, rng: &mut Rng) -> Seen {
    let day = tray.day(morning.day);
    let covered = tray.grades_roots(morning.day);
    let had_hairs = tray.last.as_ref().is_some_and(|look| look.fuzz == Some(Mist::Down));
    let had_fault = tray.last.as_ref().is_some_and(|look| !look.faults.is_empty());
    let chance = rng.u16(..1000);
    if tray.suspect {
        Seen::AsExpected
    } else if tray.hairs_time(morning.day) && covered && chance < if had_hairs { 600 } else { 180 } {
        Seen::Hairs
    } else if tray.hairs_time(morning.day) && !morning.last && chance >= 985 {
        Seen::Unmisted
    } else if (3..=6).contains(&day) && !morning.last && (975..985).contains(&chance) {
        Seen::Mould
    } else if morning.weak.contains(&tray.id) && !covered && !had_fault && chance < 400 {
        Seen::Odd(Fault::Thin)
    } else if (300..312).contains(&chance) {
        let faults = if covered {
            [Fault::StandingWater, Fault::Dry, Fault::Uneven]
        } else {
            [Fault::Dry, Fault::Uneven, Fault::Pests]
        };
        rng.choice(faults).map_or(Seen::AsExpected, Seen::Odd)
    } else if chance == 500 && !morning.last {
        Seen::OutOfReach
    } else {
        Seen::AsExpected
    }
}

/// The last walk finds two suspects and leaves two trays out, so that today has all of it to show.
fn leave_something(due: &[&TrayCard], seen: &mut [Seen], day: Day) {
    let mut set = |what: Seen, eligible: &dyn Fn(&TrayCard) -> bool| {
        let mut plain = due.iter().zip(seen.iter_mut()).filter(|(_, seen)| **seen == Seen::AsExpected);
        if let Some((_, seen)) = plain.find(|(tray, _)| !tray.suspect && eligible(tray)) {
            *seen = what;
        }
    };
    let aged = |days: RangeInclusive<i64>| move |tray: &TrayCard| days.contains(&tray.day(day));
    // not one that is cut today, or nobody could see that it was passed by
    let stays = |tray: &TrayCard| tray.day(day) >= 2 && tray.cut_from() > day;
    set(Seen::Mould, &aged(3..=6));
    set(Seen::Unmisted, &aged(2..=4));
    set(Seen::OutOfReach, &|tray| stays(tray) && tray.place.shelf == 1);
    set(Seen::Forgotten, &|tray| stays(tray) && tray.place.shelf > 1);
}

/// The day after: white that stood is thrown out, white that was not misted is misted.
fn again(morning: &Morning<'_>, tray: &TrayCard, book: &mut Notebook, seconds: i64) {
    let walk = Some(morning.walk);
    let stood = tray.last.as_ref().is_some_and(|look| look.fuzz == Some(Mist::Stands));
    let mut look = Look { walk, ..Look::of(tray.id) };
    if stood {
        look.fuzz = Some(Mist::Stands);
        look.note = Some("Wider than yesterday, webbed over the stems.".into());
        book.write(seconds, Action::Look(Box::new(look)));
        let throw = Action::Throw {
            walk,
            tray: tray.id,
            reason: LossReason::Mould,
            gear: Gear::Binned,
            cleanup: Some(Cleanup::Both),
            note: None,
        };
        book.write(60, throw);
    } else {
        look.fuzz = Some(Mist::Down);
        look.watered = true;
        book.write(seconds, Action::Look(Box::new(look)));
    }
}
