//! Trays on the move: to another place or stage, cut, thrown out.

use rusqlite::OptionalExtension;

use super::act::Wrote;
use super::breach::{About, FUZZ_SEEN, HELD_BY, TREATED_BY, against, hold};
use super::error::StoreError;
use super::facts::{LOSS, PLACEMENT, STAGE};
use super::hands::nothing_after;
use super::ids::day_sql;
use super::look::{found, in_room, once, part_of_walk};
use super::room::usable_place;
use super::writer::{Cell, Writer};
use crate::domain::code::Code;
use crate::domain::id::{PlaceId, TrayId, WalkId};
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::Instant;
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage, named};

pub(super) fn go(
    w: &mut Writer<'_>,
    walk: Option<WalkId>,
    tray: TrayId,
    to: Option<PlaceId>,
    stage: Option<Stage>,
) -> Result<Wrote, StoreError> {
    let did = step(w, tray, to, stage)?;
    part_of_walk(w, walk)?;
    Ok(Wrote { sentence: format!("{}: {}.", Code::tray(tray.0), did.join(", ")), made: None, trays: vec![tray] })
}

/// A whole batch or shelf: one entry, each tray to its own place.
pub(super) fn go_many(
    w: &mut Writer<'_>,
    moves: &[(TrayId, Option<PlaceId>)],
    stage: Option<Stage>,
) -> Result<Wrote, StoreError> {
    let trays: Vec<TrayId> = moves.iter().map(|(tray, _)| *tray).collect();
    once(&trays)?;
    for (tray, to) in moves {
        step(w, *tray, *to, stage)?;
    }
    let to = stage.map_or_else(|| "moved".to_string(), |stage| stage.shown().to_string());
    Ok(Wrote { sentence: format!("{}: {to}.", counted(trays.len(), "tray")), made: None, trays })
}

/// One tray to a place, a stage, or both; says what was done.
pub(super) fn step(
    w: &mut Writer<'_>,
    tray: TrayId,
    to: Option<PlaceId>,
    stage: Option<Stage>,
) -> Result<Vec<String>, StoreError> {
    in_room(w, tray)?;
    found(w, tray)?;
    let (place, is, barred): (PlaceId, Stage, bool) = w.conn.query_row(
        "SELECT place_id, stage, suspect OR bad OR held FROM tray_now WHERE tray_id = ?",
        [tray],
        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
    )?;
    let mut did = Vec::new();
    let at = w.seen.at;
    if let Some(to) = to.filter(|to| *to != place) {
        let label = usable_place(w, to, tray)?;
        w.fact(PLACEMENT, &[("tray_id", &tray), ("place_id", &to), ("at", &at)])?;
        did.push(format!("to {label}"));
    }
    if let Some(stage) = stage.filter(|stage| *stage != is) {
        if !stage.in_room() {
            return Err(Refusal::new(
                "stage_leaves",
                "Cutting and throwing out are entries of their own: use their keys.",
            )
            .into());
        }
        if stage == Stage::Ready && is != Stage::Lit {
            let why = "A covered tray is not ready to cut: bring it to the light first.";
            let breach = against(w, Refusal::new("ready_covered", why), None)?;
            hold(w, breach, &[tray])?;
        }
        if stage == Stage::Ready && barred {
            let code = Code::tray(tray.0);
            let sentence = format!("{code} is suspect or held, so it is not ready to cut: look again, or isolate it.");
            return Err(Refusal::new("ready_barred", sentence).into());
        }
        w.fact(STAGE, &[("tray_id", &tray), ("stage", &stage), ("at", &at)])?;
        did.push(stage.shown().to_string());
    }
    if did.is_empty() {
        return Err(Refusal::new("move_nothing", "It stands there already: choose another place or stage.").into());
    }
    w.touched.insert(tray);
    Ok(did)
}

pub(super) fn cut(w: &mut Writer<'_>, trays: &[TrayId]) -> Result<Wrote, StoreError> {
    if trays.is_empty() {
        return Err(Refusal::new("cut_nothing", "There is no tray to cut: choose one first.").into());
    }
    once(trays)?;
    for tray in trays {
        may_be_cut(w, *tray)?;
        leave(w, *tray, Stage::Cut)?;
    }
    Ok(Wrote { sentence: format!("{} cut and off the rack.", named(trays)), made: None, trays: trays.to_vec() })
}

/// A suspect, held, covered or still-waiting tray is not cut.
pub(super) fn may_be_cut(w: &mut Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    let (code, now, at) = (Code::tray(tray.0), w.now, w.at());
    let found: Option<(Stage, bool, bool, Option<Instant>)> = w
        .conn
        .prepare_cached("SELECT stage, suspect OR bad, held, wait_until FROM tray_now WHERE tray_id = ?")?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    let Some((stage, suspect, held, wait)) = found else { return in_room(w, tray) };
    let mut refuse = |refusal: Refusal, about: Option<About>| {
        let breach = against(w, refusal, about)?;
        hold(w, breach, &[tray])
    };
    if held {
        let why = format!("{code} is held: it is not cut until the hold is lifted.");
        refuse(Refusal::new("cut_held", why), Some((HELD_BY, tray.0)))?;
    }
    if suspect {
        let why = format!("{code} is suspect: it is not cut for sale. Look again, isolate it, or throw it out.");
        refuse(Refusal::new("cut_suspect", why), Some((FUZZ_SEEN, tray.0)))?;
    }
    if matches!(stage, Stage::Soaked | Stage::Covered) {
        let why = format!("{code} is still covered: bring it to the light first.");
        refuse(Refusal::new("cut_covered", why), None)?;
    }
    if let Some(until) = wait.filter(|until| *until > at) {
        let local = now.local(until).format("%Y-%m-%d %H:%M");
        let why = format!("{code} was treated and is not cut before {local}.");
        refuse(Refusal::new("cut_waiting", why), Some((TREATED_BY, tray.0)))?;
    }
    Ok(())
}

pub(super) fn throw(
    w: &mut Writer<'_>,
    walk: Option<WalkId>,
    tray: TrayId,
    reason: LossReason,
    gear: Gear,
    cleanup: Option<Cleanup>,
) -> Result<Wrote, StoreError> {
    in_room(w, tray)?;
    let mats = mats_left(w, tray)?;
    lose(w, tray, mats, (reason, gear, cleanup))?;
    leave(w, tray, Stage::Thrown)?;
    part_of_walk(w, walk)?;
    let clean = cleanup.map_or_else(String::new, |cleanup| format!("; {}", cleanup.shown()));
    let (code, reason, gear) = (Code::tray(tray.0), reason.shown(), gear.shown());
    let sentence = format!("{code} thrown out: {reason}; tray and cover {gear}{clean}.");
    Ok(Wrote { sentence, made: None, trays: vec![tray] })
}

pub(super) fn mats_left(w: &Writer<'_>, tray: TrayId) -> Result<i64, StoreError> {
    Ok(w.conn.query_row("SELECT mats_left FROM tray_now WHERE tray_id = ?", [tray], |row| row.get(0))?)
}

/// Why mats went, and what became of the gear and the place.
type Loss = (LossReason, Gear, Option<Cleanup>);

fn lose(w: &mut Writer<'_>, tray: TrayId, mats: i64, (reason, gear, cleanup): Loss) -> Result<(), StoreError> {
    let day = day_sql(w.day());
    let cells: [Cell<'_>; 6] = [
        ("tray_id", &tray),
        ("day", &day),
        ("mats", &mats),
        ("reason", &reason),
        ("gear", &gear),
        ("cleanup", &cleanup),
    ];
    w.fact(LOSS, &cells)?;
    Ok(())
}

/// Some mats of a tray go; the rest stays on the rack.
pub(super) fn lose_part(
    w: &mut Writer<'_>,
    walk: Option<WalkId>,
    tray: TrayId,
    mats: i64,
    reason: LossReason,
) -> Result<Wrote, StoreError> {
    in_room(w, tray)?;
    let left = mats_left(w, tray)?;
    if !(1..left).contains(&mats) {
        let sentence = format!("The tray has {left} mats left: say fewer, or throw out all of it.");
        return Err(Refusal::new("part_mats", sentence).at("mats").into());
    }
    lose(w, tray, mats, (reason, Gear::ToWash, None))?;
    w.touched.insert(tray);
    part_of_walk(w, walk)?;
    let sentence = format!("{}: {mats} of {left} mats thrown out, {}.", Code::tray(tray.0), reason.shown());
    Ok(Wrote { sentence, made: None, trays: vec![tray] })
}

/// Takes a tray off its rack for good.
pub(super) fn leave(w: &mut Writer<'_>, tray: TrayId, stage: Stage) -> Result<(), StoreError> {
    nothing_after(w, tray)?;
    let nowhere: Option<PlaceId> = None;
    let at = w.seen.at;
    w.fact(PLACEMENT, &[("tray_id", &tray), ("place_id", &nowhere), ("at", &at)])?;
    w.fact(STAGE, &[("tray_id", &tray), ("stage", &stage), ("at", &at)])?;
    w.touched.insert(tray);
    Ok(())
}
