//! Looks and waterings, resolved to trays when they are written.

use rusqlite::{OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{LOOK, WALK_STOP, WATER, WATER_TRAY};
use super::fuzz;
use super::hands::{on_paper_once, still_there};
use super::ids::day_sql;
use super::room;
use super::suspect;
use super::writer::Writer;
use crate::domain::code::Code;
use crate::domain::fuzz::Judgement;
use crate::domain::id::{EntryId, PersonId, TrayId, WalkId};
use crate::domain::look::{Basis, Faults, Look, Mist};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant};
use crate::domain::tray::named;

pub(super) fn look(w: &mut Writer<'_>, new: &Look) -> Result<Wrote, StoreError> {
    if new.trays.is_empty() {
        return Err(Refusal::new("look_nothing", "There is no tray to write this for: choose one first.").into());
    }
    once(&new.trays)?;
    not_empty(new)?;
    fuzz::may_be(new)?;
    if new.basis != Basis::Tray {
        glance_may_be(w, new)?;
    }
    for tray in &new.trays {
        match w.seen.at.filter(|_| new.saw_something()) {
            // what was seen before it left is written also when it is typed after that: bad news reaches back
            Some(at) if !stands(w, *tray)? => stood_then(w, *tray, at)?,
            _ => {
                in_room(w, *tray)?;
                found(w, *tray)?;
            }
        }
    }
    if let Some(walk) = new.walk {
        replace_in_walk(w, walk, new)?;
    }
    if w.seen.paper {
        for tray in &new.trays {
            on_paper_once(w, *tray)?;
        }
    }
    let mut checked = write_look(w, new, w.day(), w.seen.at, None)?;
    if let (Some(found), [tray]) = (&mut checked, &new.trays[..]) {
        found.verdict = fuzz::with_others(w.conn, *tray, w.day(), found.verdict)?;
    }
    w.note(new.note.as_deref().filter(|text| !text.trim().is_empty()))?;
    let units = room::units(w.conn)?;
    let suspect = checked.as_ref().map_or(new.fuzz.is_some_and(Mist::is_suspect), |j| j.verdict.is_suspect());
    let warning = if suspect { " Suspect now: keep it apart, and change gloves." } else { "" };
    let verdict = checked.map_or_else(String::new, |judgement| format!("; {}", judgement.verdict.shown()));
    let sentence = format!("{}: {}{verdict}.{warning}", named(&new.trays), new.words(units));
    Ok(Wrote { sentence, made: None, trays: new.trays.clone() })
}

/// Refuses a look that says nothing, or figures that cannot be.
pub(super) fn not_empty(new: &Look) -> Result<(), StoreError> {
    let note = new.note.as_deref().filter(|text| !text.trim().is_empty());
    if !new.saw_something() && !new.watered && new.skip.is_none() && new.water.is_empty() && note.is_none() {
        return Err(
            Refusal::new("look_empty", "Nothing is chosen yet: give a grade, water, or skip with a reason.").into()
        );
    }
    new.water.check().map_err(|(field, why)| Refusal::new("water", why).at(field))?;
    Ok(())
}

/// The facts of a look on a day: one a tray, measured water, the stop of its walk. `seen_at`: if not when it is typed.
/// `of`: the entry it puts right. Returns what its fuzz check came to.
pub(super) fn write_look(
    w: &mut Writer<'_>,
    new: &Look,
    day: Day,
    seen_at: Option<Instant>,
    of: Option<EntryId>,
) -> Result<Option<Judgement>, StoreError> {
    let mut checked = None;
    let mist = new.mist();
    for tray in &new.trays {
        let weighed = fuzz::weigh(w.conn, new, *tray, day, of)?;
        let judged = weighed.as_ref().map(|weighed| &weighed.judgement);
        w.fact(
            LOOK,
            &[
                ("tray_id", tray),
                ("day", &day_sql(day)),
                ("basis", &new.basis),
                ("roots", &new.roots),
                ("stand", &new.stand),
                ("fuzz", &mist.is_some()),
                ("mist", &mist),
                ("watered", &new.watered),
                ("misted", &mist.is_some_and(|mist| mist != Mist::Untested)),
                ("faults", &new.faults.0),
                ("skip", &new.skip),
                ("seen_at", &seen_at),
                ("signs", &weighed.as_ref().map(|weighed| weighed.signs.0)),
                ("extent", &new.extent.filter(|_| weighed.is_some())),
                ("verdict", &judged.map(|judged| judged.verdict)),
                ("hair", &judged.map(|judged| judged.hair)),
                ("mould", &judged.map(|judged| judged.mould)),
                ("rot", &judged.map(|judged| judged.rot)),
                ("points_version", &weighed.as_ref().map(|weighed| weighed.version)),
            ],
        )?;
        checked = weighed.map(|weighed| weighed.judgement);
        w.touched.insert(*tray);
    }
    if !new.water.is_empty() {
        let figures = &new.water;
        let water = w.fact(
            WATER,
            &[
                ("day", &day_sql(day)),
                ("ml", &figures.ml),
                ("ph_100", &figures.ph_100),
                ("temp_dc", &figures.temp_dc),
                ("ec_us", &figures.ec_us),
            ],
        )?;
        for tray in &new.trays {
            w.fact(WATER_TRAY, &[("water_id", &water), ("tray_id", tray)])?;
        }
    }
    part_of_walk(w, new.walk)?;
    Ok(checked)
}

/// A stop graded again on the same walk: what was written there before no longer counts, and stays visible.
///
/// Fuzz that stood or was not tested, and every fuzz check, goes on counting: a grade, or a second terminal, never clears
/// it by the way. Nor does a glance take the place of a look at the lifted tray.
fn replace_in_walk(w: &mut Writer<'_>, walk: WalkId, new: &Look) -> Result<(), StoreError> {
    for tray in &new.trays {
        let before: Vec<(EntryId, Basis, bool, bool, Faults)> = w
            .conn
            .prepare_cached(
                "SELECT l.entry_id, l.basis, l.fuzz AND CASE WHEN l.verdict IS NULL THEN l.mist <> 'down' ELSE l.verdict <> 'hairs' END,
                        l.skip IS NOT NULL, l.faults FROM walk_stop s JOIN look l ON l.entry_id = s.entry_id
                 WHERE s.walk_id = ? AND s.void_by IS NULL AND l.tray_id = ? AND l.void_by IS NULL",
            )?
            .query_map(params![walk, tray], |row| {
                Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, Faults(row.get(4)?)))
            })?
            .collect::<Result<_, _>>()?;
        for (entry, basis, suspect, skipped, faults) in before {
            if new.basis != Basis::Tray && basis == Basis::Tray && !skipped {
                let sentence = format!("{} was lifted on this walk already: grade it by itself.", Code::tray(tray.0));
                return Err(Refusal::new("glance_lifted", sentence).into());
            }
            // a check stays: a clear may rest on it, and another spot is another check
            if suspect || fuzz::is_check(w.conn, entry, *tray)? {
                continue;
            }
            if !faults.is_empty() && new.faults.is_empty() {
                others_odd(w, entry, *tray)?;
            }
            w.void_row(LOOK, &[entry.0, tray.0])?;
            let figures: Vec<i64> = w
                .conn
                .prepare_cached(
                    "SELECT w.id FROM water w WHERE w.entry_id = ?1 AND w.void_by IS NULL
                     AND (SELECT group_concat(tray_id) FROM water_tray WHERE water_id = w.id) = ?2",
                )?
                .query_map(params![entry, tray.0.to_string()], |row| row.get(0))?
                .collect::<Result<_, _>>()?;
            for water in figures {
                w.void_row(WATER, &[water])?;
            }
        }
    }
    Ok(())
}

/// Refuses to replace what someone else found odd on this walk by a look that says nothing of it.
fn others_odd(w: &Writer<'_>, entry: EntryId, tray: TrayId) -> Result<(), StoreError> {
    let (by, initials): (PersonId, String) = w
        .conn
        .prepare_cached(
            "SELECT p.id, p.initials FROM entry_hands h JOIN person p ON p.id = h.person_id WHERE h.id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?)))?;
    if by == w.seen.by.unwrap_or(w.who) {
        return Ok(());
    }
    let sentence = format!(
        "{initials} found something odd on {} on this walk: say what is odd as well, or put entry {} right.",
        Code::tray(tray.0),
        entry.0
    );
    Err(Refusal::new("look_others", sentence).into())
}

/// Refuses an entry that names a tray twice.
pub(super) fn once(trays: &[TrayId]) -> Result<(), StoreError> {
    let mut seen = std::collections::HashSet::new();
    match trays.iter().find(|tray| !seen.insert(**tray)) {
        Some(tray) => {
            Err(Refusal::new("tray_twice", format!("Tray {} is named twice: once is enough.", Code::tray(tray.0)))
                .into())
        }
        None => Ok(()),
    }
}

/// Marks the entry as a stop of a walk.
pub(super) fn part_of_walk(w: &mut Writer<'_>, walk: Option<WalkId>) -> Result<(), StoreError> {
    if let Some(walk) = walk {
        super::walk::begun(w.conn, walk)?;
        w.fact(WALK_STOP, &[("walk_id", &walk)])?;
    }
    Ok(())
}

fn stands(w: &Writer<'_>, tray: TrayId) -> Result<bool, StoreError> {
    Ok(w.conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM tray_now WHERE tray_id = ?)")?
        .query_row([tray], |row| row.get(0))?)
}

/// Refuses a tray that is not in the book any more, or had left before.
fn stood_then(w: &Writer<'_>, tray: TrayId, at: Instant) -> Result<(), StoreError> {
    let counts: bool = w
        .conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM tray t JOIN sowing s ON s.id = t.sowing_id AND s.void_by IS NULL WHERE t.id = ?)",
        )?
        .query_row([tray], |row| row.get(0))?;
    if counts { still_there(w, tray, at) } else { in_room(w, tray) }
}

/// Refuses a tray that no longer stands in the room.
pub(super) fn in_room(w: &Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    if stands(w, tray)? {
        Ok(())
    } else {
        let sentence =
            format!("Tray {} is not in the room any more: its story tells where it went.", Code::tray(tray.0));
        Err(Refusal::new("tray_gone", sentence).into())
    }
}

/// Refuses to write of a tray in hand that is missing: where it stands comes first.
pub(super) fn found(w: &Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    let missing: bool = w
        .conn
        .prepare_cached("SELECT place_id IS NULL FROM tray_now WHERE tray_id = ?")?
        .query_row([tray], |row| row.get(0))?;
    if missing {
        let sentence = format!("{} is missing by the book: say first where it was found.", Code::tray(tray.0));
        return Err(Refusal::new("tray_missing", sentence).into());
    }
    Ok(())
}

/// A glance covers one sowing, and nothing that is covered, set apart, suspect, held, or showed something odd last time.
fn glance_may_be(w: &Writer<'_>, new: &Look) -> Result<(), StoreError> {
    let mut sowings: Vec<i64> = Vec::new();
    let mut select = w.conn.prepare_cached(
        "SELECT t.sowing_id,
                n.stage IN ('soaked', 'covered') OR z.kind <> 'lit' OR n.suspect OR n.bad OR n.held
                OR coalesce(l.fuzz OR l.faults <> 0, 0)
                OR EXISTS (SELECT 1 FROM tray_now o WHERE o.place_id = n.place_id AND o.tray_id <> n.tray_id)
         FROM tray_now n JOIN tray t ON t.id = n.tray_id JOIN place p ON p.id = n.place_id JOIN zone z ON z.id = p.zone_id
         LEFT JOIN look l ON l.entry_id = n.last_entry AND l.tray_id = n.tray_id WHERE n.tray_id = ?",
    )?;
    for tray in &new.trays {
        let found: Option<(i64, bool)> = select.query_row([tray], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        let Some((sowing, own)) = found else { continue };
        if own {
            let sentence = format!("{} wants a look of its own: lift it.", Code::tray(tray.0));
            return Err(Refusal::new("glance_own_look", sentence).into());
        }
        sowings.push(sowing);
    }
    if let Some(tray) = suspect::closely(w.conn, &new.trays, w.day())? {
        let sentence =
            format!("Something bad was found near {}, so it is looked at by itself: lift it.", Code::tray(tray.0));
        return Err(Refusal::new("glance_own_look", sentence).into());
    }
    sowings.dedup();
    if sowings.len() > 1 {
        return Err(Refusal::new(
            "glance_one_sowing",
            "A shelf glance is for trays of one sowing only: write the others by themselves.",
        )
        .into());
    }
    if new.mist().is_some() || !new.faults.is_empty() {
        return Err(Refusal::new(
            "glance_plain",
            "What is odd is written for the one tray it was seen on: grade that one by itself.",
        )
        .into());
    }
    Ok(())
}
