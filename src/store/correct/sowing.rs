//! A batch or a delivery put right: crop, day, lot, amount.

use rusqlite::Connection;

use super::wrong_kind;
use crate::domain::correction::{Correction, Entry, Sown};
use crate::domain::id::{CropId, EntryId, SeedLotId, SowingId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::SEED_MG_MAX;
use crate::domain::time::Day;
use crate::store::breach::{against_seed, hold};
use crate::store::error::StoreError;
use crate::store::facts::{SEED_MOVE, SOWING_FIX};
use crate::store::hold::cut_under_another_crop;
use crate::store::ids::day_sql;
use crate::store::writer::Writer;
use crate::store::{crop, revision, seed_lot};

/// Refuses a correction of what someone else put right since it was seen: what they wrote would be undone unseen.
pub(super) fn fresh(entry: &Entry, correction: &Correction) -> Result<(), StoreError> {
    match correction {
        Correction::Sowing { after, .. } | Correction::Received { after, .. } => revision::same(entry.after, *after),
        _ => Ok(()),
    }
}

/// Another crop, day, lot or amount of a batch; its trays keep their labels.
pub(super) fn sown(
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
    if crop != old.crop {
        // the labels of what was cut name the wrong crop, and perhaps not its allergen
        cut_under_another_crop(w, &old.code, &trays)?;
    }
    w.touched.extend(trays.iter().copied());
    Ok(trays)
}

pub(super) fn received(w: &mut Writer<'_>, entry: &Entry, mg: i64) -> Result<Vec<TrayId>, StoreError> {
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

/// The batches of an entry as they count now.
pub(super) fn sowings(conn: &Connection, id: EntryId) -> Result<Vec<Sown>, StoreError> {
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
