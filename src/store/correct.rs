//! Corrections: an entry that replaces what an older one said, with the reason, by a copy of what still counts.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::breach::{against_seed, hold};
use super::derive::{PLACEMENT_IDS, newest};
use super::error::StoreError;
use super::facts::{CORRECTION, LOOK, PLACEMENT, SEED_MOVE, SOWING_FIX};
use super::ids::day_sql;
use super::look::{not_empty, write_look};
use super::writer::Writer;
use super::{crop, history, room, seed_lot, undo};
use crate::domain::code::Code;
use crate::domain::correction::{Correction, Entry, Sown};
use crate::domain::id::{CropId, EntryId, PersonId, PlaceId, SeedLotId, SowingId, TrayId, WalkId};
use crate::domain::look::{Basis, Faults, Look, Mist, WaterFigures};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::{SEED_MG_MAX, SeedLot};
use crate::domain::time::{Day, Instant};

pub(super) fn correct(
    w: &mut Writer<'_>,
    about: EntryId,
    correction: &Correction,
    reason: &str,
    second: Option<PersonId>,
) -> Result<Wrote, StoreError> {
    if reason.trim().is_empty() {
        return Err(Refusal::new("correct_reason", "Say why: the reason stands beside the old value.")
            .at("reason")
            .into());
    }
    let entry = read(w.conn, about)?;
    if entry.gone {
        return Err(
            Refusal::new("correct_gone", "This entry no longer counts: correct the one that replaced it.").into()
        );
    }
    let word = correction.stored();
    w.fact(CORRECTION, &[("about_id", &about), ("what", &word)])?;
    let beside: Option<String> = match second {
        Some(id) => Some(w.conn.query_row("SELECT initials FROM person WHERE id = ?", [id], |row| row.get(0))?),
        None => None,
    };
    let reason = beside.map_or_else(|| reason.trim().to_string(), |who| format!("{} (with {who})", reason.trim()));
    w.note(Some(&reason))?;
    let trays = match correction {
        Correction::Never => never(w, &entry)?,
        Correction::Look(look) => looked(w, &entry, look)?,
        Correction::Sowing { sowing, crop, day, seed } => sown(w, &entry, *sowing, *crop, *day, seed)?,
        Correction::Place { tray, place } => placed(w, &entry, *tray, *place)?,
        Correction::Received { mg } => received(w, &entry, *mg)?,
    };
    Ok(Wrote { sentence: format!("Entry {} is put right: {reason}.", about.0), made: None, trays })
}

/// A finding of fuzz that stood is not taken back by one person alone.
pub(super) fn finding_stands(
    conn: &Connection,
    about: EntryId,
    correction: &Correction,
    who: PersonId,
    second: Option<PersonId>,
) -> Result<(), StoreError> {
    let stood: bool = conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM look WHERE entry_id = ? AND mist = 'stands' AND void_by IS NULL)",
        [about],
        |row| row.get(0),
    )?;
    let taken_back = match correction {
        Correction::Never => true,
        Correction::Look(look) => look.fuzz != Some(Mist::Stands),
        _ => false,
    };
    if !(stood && taken_back) {
        return Ok(());
    }
    let here: bool = conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM person WHERE id = ? AND NOT retired)",
        [second.map_or(0, |id| id.0)],
        |row| row.get(0),
    )?;
    if here && second != Some(who) {
        return Ok(());
    }
    let sentence =
        "Fuzz that stood is taken back by two people only: name a second one who looked, or throw the tray out.";
    Err(Refusal::new("correct_finding", sentence).at("second").into())
}

/// It never happened: every fact of it is void.
fn never(w: &mut Writer<'_>, entry: &Entry) -> Result<Vec<TrayId>, StoreError> {
    if ["setup", "undo", "corrected"].contains(&entry.kind.as_str()) {
        let sentence = "This kind of entry is not put right: take it back by undo, or write what should count.";
        return Err(Refusal::new("correct_kind", sentence).into());
    }
    if let Some(by) = undo::refers(w.conn, entry.id)? {
        let later = history::line(w.conn, by)?;
        let sentence = format!("Entry {} builds on it ({}): put that right first.", by.0, later.text);
        return Err(Refusal::new("undo_in_use", sentence).into());
    }
    let trays = undo::trays_of(w.conn, entry.id)?;
    w.void_entry(entry.id)?;
    w.touched.extend(trays.iter().copied());
    Ok(trays)
}

fn wrong_kind<T>(what: &str) -> Result<T, StoreError> {
    Err(Refusal::new("correct_kind", format!("This entry has no {what} to put right.")).into())
}

/// Another grade, fuzz, fault or watering for some of the trays, on the day it was seen.
fn looked(w: &mut Writer<'_>, entry: &Entry, look: &Look) -> Result<Vec<TrayId>, StoreError> {
    let Some(old) = &entry.look else { return wrong_kind("look") };
    if look.trays.is_empty() || !look.trays.iter().all(|tray| old.trays.contains(tray)) {
        return wrong_kind("look of these trays");
    }
    not_empty(look)?;
    for tray in &look.trays {
        w.void_row(LOOK, &[entry.id.0, tray.0])?;
    }
    // a glance that turns out odd was of the tray after all, as far as the book can say
    let basis = if look.fuzz.is_some() || !look.faults.is_empty() { Basis::Tray } else { old.basis };
    write_look(w, &Look { basis, walk: old.walk, ..look.clone() }, entry.day, Some(entry.at))?;
    Ok(look.trays.clone())
}

/// Another crop, day, lot or amount of a batch; its trays keep their labels.
fn sown(
    w: &mut Writer<'_>,
    entry: &Entry,
    sowing: SowingId,
    crop: CropId,
    day: Day,
    seed: &[(SeedLotId, i64)],
) -> Result<Vec<TrayId>, StoreError> {
    let Some(old) = entry.sowings.iter().find(|s| s.id == sowing) else { return wrong_kind("such batch") };
    if day > w.now.day() {
        return Err(Refusal::new("sowing", "A batch was not sown after today.").at("day").into());
    }
    if seed.iter().any(|(_, mg)| *mg <= 0) {
        return Err(Refusal::new("sowing", "Seed of a lot is more than 0 g.").at("grams").into());
    }
    let lots = seed_lot::lots(w.conn)?;
    for (id, _) in seed {
        let Some(lot) = lots.iter().find(|lot| lot.id == *id) else {
            return Err(Refusal::new("seed_lot_unknown", "This seed lot is not in the book.").at("lot").into());
        };
        if lot.crop != crop {
            let sentence = format!("{} is {} seed: choose a lot of the crop that was sown.", lot.code, lot.crop_name);
            return Err(Refusal::new("seed_other_crop", sentence).at("lot").into());
        }
    }
    if crop == old.crop && day == old.day && seed == old.seed.as_slice() {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    if crop != old.crop || day != old.day {
        let plan = crop::plan_of(w.conn, crop)?;
        w.fact(
            SOWING_FIX,
            &[("sowing_id", &sowing), ("crop_id", &crop), ("grow_plan_id", &plan.id), ("day", &day_sql(day))],
        )?;
    }
    let trays: Vec<TrayId> = w
        .conn
        .prepare_cached("SELECT id FROM tray WHERE sowing_id = ?")?
        .query_map([sowing], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut broken = Vec::new();
    if seed != old.seed.as_slice() {
        let moves: Vec<i64> = w
            .conn
            .prepare_cached("SELECT id FROM seed_move WHERE sowing_id = ? AND void_by IS NULL")?
            .query_map([sowing], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for id in moves {
            w.void_row(SEED_MOVE, &[id])?;
        }
        broken = against_seed(w, &lots, old, seed)?;
        for (lot, mg) in seed {
            w.fact(SEED_MOVE, &[("seed_lot_id", lot), ("sowing_id", &sowing), ("mg", &-mg), ("why", &"sown")])?;
        }
    }
    for breach in broken {
        hold(w, breach, &trays)?;
    }
    w.touched.extend(trays.iter().copied());
    Ok(trays)
}

/// Another place, unless the tray was moved on since: then the later move counts anyway.
fn placed(w: &mut Writer<'_>, entry: &Entry, tray: TrayId, place: PlaceId) -> Result<Vec<TrayId>, StoreError> {
    let Some((_, old)) = entry.placed.iter().find(|(t, _)| *t == tray) else { return wrong_kind("place of this tray") };
    if *old == place {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    room::usable_place(w, place, tray)?;
    let Some(newest) = newest::<i64>(w.conn, tray, 1, PLACEMENT_IDS)? else { return wrong_kind("place of this tray") };
    let by: EntryId = w.conn.query_row("SELECT entry_id FROM placement WHERE id = ?", [newest], |row| row.get(0))?;
    if by != entry.id {
        let later = history::line(w.conn, by)?;
        let sentence = format!("It was moved on since (entry {}, {}): put that right.", by.0, later.text);
        return Err(Refusal::new("correct_later_move", sentence).into());
    }
    w.void_row(PLACEMENT, &[newest])?;
    w.fact(PLACEMENT, &[("tray_id", &tray), ("place_id", &place), ("at", &entry.at)])?;
    w.touched.insert(tray);
    Ok(vec![tray])
}

fn received(w: &mut Writer<'_>, entry: &Entry, mg: i64) -> Result<Vec<TrayId>, StoreError> {
    let Some(old) = entry.received else { return wrong_kind("delivery") };
    if !(1..=SEED_MG_MAX).contains(&mg) {
        return Err(Refusal::new("grams", "A seed lot weighs more than 0 g and at most 1 000 000 g.")
            .at("grams")
            .into());
    }
    if old == mg {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    let (id, lot): (i64, SeedLotId) = w.conn.query_row(
        "SELECT id, seed_lot_id FROM seed_move WHERE seed_lot_id = (SELECT id FROM seed_lot WHERE entry_id = ?)
         AND why = 'received' AND void_by IS NULL",
        [entry.id],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    // the new amount first: the old one may be sown already
    w.fact(SEED_MOVE, &[("seed_lot_id", &lot), ("mg", &mg), ("why", &"received")])?;
    w.void_row(SEED_MOVE, &[id])?;
    Ok(vec![])
}

/// An entry with what can be put right about it.
pub(super) fn read(conn: &Connection, id: EntryId) -> Result<Entry, StoreError> {
    // of a correction its facts know when they happened, not the entry
    let known: Option<(Day, Instant)> = conn
        .query_row(
            "SELECT coalesce((SELECT min(day) FROM look WHERE entry_id = e.id), e.day),
                    coalesce((SELECT min(seen_at) FROM look WHERE entry_id = e.id),
                             (SELECT min(at) FROM placement WHERE entry_id = e.id), e.seen_at, e.at)
             FROM entry e WHERE e.id = ?",
            [id],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let Some((day, at)) = known else {
        return Err(Refusal::new("entry_unknown", "There is no such entry in the book.").into());
    };
    let line = history::line(conn, id)?;
    let placed = conn
        .prepare_cached(
            "SELECT tray_id, place_id FROM placement WHERE entry_id = ? AND void_by IS NULL AND place_id IS NOT NULL ORDER BY id",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let received = conn
        .query_row(
            "SELECT mg FROM seed_move WHERE why = 'received' AND void_by IS NULL
             AND seed_lot_id = (SELECT id FROM seed_lot WHERE entry_id = ? AND void_by IS NULL)",
            [id],
            |row| row.get(0),
        )
        .optional()?;
    Ok(Entry {
        id,
        day,
        at,
        gone: line.undone_by.is_some(),
        text: line.text,
        kind: line.kind,
        look: look_of(conn, id)?,
        sowings: sowings(conn, id)?,
        placed,
        received,
    })
}

fn look_of(conn: &Connection, id: EntryId) -> Result<Option<Look>, StoreError> {
    let trays: Vec<TrayId> = conn
        .prepare_cached("SELECT tray_id FROM look WHERE entry_id = ? AND void_by IS NULL ORDER BY tray_id")?
        .query_map([id], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let Some(first) = trays.first().copied() else { return Ok(None) };
    let walk: Option<WalkId> = conn
        .query_row("SELECT walk_id FROM walk_stop WHERE entry_id = ? AND void_by IS NULL", [id], |row| row.get(0))
        .optional()?;
    let look = conn
        .prepare_cached(
            "SELECT basis, roots, stand, mist, faults, watered, skip FROM look WHERE entry_id = ? AND tray_id = ?",
        )?
        .query_row(params![id, first], |row| {
            Ok(Look {
                walk,
                trays: trays.clone(),
                basis: row.get(0)?,
                roots: row.get(1)?,
                stand: row.get(2)?,
                fuzz: row.get::<_, Option<Mist>>(3)?,
                faults: Faults(row.get(4)?),
                watered: row.get(5)?,
                skip: row.get(6)?,
                water: WaterFigures::default(),
                note: None,
            })
        })?;
    Ok(Some(look))
}

fn sowings(conn: &Connection, id: EntryId) -> Result<Vec<Sown>, StoreError> {
    let mut found: Vec<Sown> = conn
        .prepare_cached(
            "SELECT s.id, s.code, s.crop_id, s.day, (SELECT count(*) FROM tray WHERE sowing_id = s.id)
             FROM sowing_now s WHERE s.entry_id = ? AND s.void_by IS NULL ORDER BY s.id",
        )?
        .query_map([id], |row| {
            Ok(Sown {
                id: row.get(0)?,
                code: row.get(1)?,
                crop: row.get(2)?,
                day: row.get(3)?,
                trays: row.get(4)?,
                seed: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    for sown in &mut found {
        sown.seed = conn
            .prepare_cached(
                "SELECT seed_lot_id, -mg FROM seed_move WHERE sowing_id = ? AND void_by IS NULL ORDER BY id",
            )?
            .query_map([sown.id], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
    }
    Ok(found)
}

/// What a correction changed, from the room and the seed before and after, a sentence each.
pub(super) fn consequences(
    before: (&crate::domain::board::Board, &[SeedLot]),
    after: (&crate::domain::board::Board, &[SeedLot]),
) -> Vec<String> {
    let mut lines = Vec::new();
    for old in &before.0.trays {
        let code = Code::tray(old.id.0);
        let Some(new) = after.0.tray(old.id) else {
            lines.push(format!("{code} ({}) is not in the room any more.", old.crop_name));
            continue;
        };
        let mut changes = Vec::new();
        let mut differ = |what: &str, old: String, new: String| {
            if old != new {
                changes.push(format!("{what} {old} -> {new}"));
            }
        };
        differ("crop", old.crop_name.clone(), new.crop_name.clone());
        differ("sown", old.sown.to_string(), new.sown.to_string());
        differ("cut", window(old), window(new));
        differ("place", old.place.label(), new.place.label());
        differ("stage", old.stage.shown().into(), new.stage.shown().into());
        let look = |t: &crate::domain::tray::TrayCard| {
            t.last.as_ref().map_or_else(|| "none".to_string(), crate::domain::tray::LastLook::words)
        };
        differ("last look", look(old), look(new));
        let state = |t: &crate::domain::tray::TrayCard| if t.suspect { "suspect" } else { "not suspect" }.to_string();
        differ("it is", state(old), state(new));
        if !changes.is_empty() {
            lines.push(format!("{code}: {}.", changes.join(", ")));
        }
    }
    for new in &after.0.trays {
        if before.0.tray(new.id).is_none() {
            lines.push(format!("{} ({}) stands in the room again.", Code::tray(new.id.0), new.crop_name));
        }
    }
    for old in before.1 {
        let left = after.1.iter().find(|lot| lot.id == old.id).map_or(0, |lot| lot.left_mg);
        if left != old.left_mg {
            let units = after.0.units();
            lines.push(format!("{}: {} -> {} left.", old.code, units.weight(old.left_mg), units.weight(left)));
        }
    }
    lines
}

fn window(tray: &crate::domain::tray::TrayCard) -> String {
    format!("{} to {}", tray.cut_from().format("%d %b"), tray.cut_to().format("%d %b"))
}

/// Whether an entry put another right as never having happened.
pub(super) fn never_happened(conn: &Connection, correction: EntryId) -> Result<bool, StoreError> {
    Ok(conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM correction WHERE entry_id = ? AND what = 'never')",
        [correction],
        |row| row.get(0),
    )?)
}
