//! A batch day by day, from the facts of all its trays.

use std::collections::BTreeMap;

use rusqlite::Connection;

use super::error::StoreError;
use super::{lot, treatment};
use crate::domain::id::SowingId;
use crate::domain::look::{Mist, Roots, Stand};
use crate::domain::time::{Day, day_number};
use crate::domain::timeline::{Cutting, DayMarks, Timeline};
use crate::domain::tray::Stage;

pub(super) fn read(conn: &Connection, sowing: SowingId) -> Result<Timeline, StoreError> {
    let mut line = conn
        .prepare_cached(
            "SELECT s.code, s.day, coalesce(s.medium, ''), coalesce(m.code, ''),
                    (SELECT count(*) FROM tray WHERE sowing_id = s.id),
                    (SELECT count(*) FROM tray t JOIN tray_now n ON n.tray_id = t.id WHERE t.sowing_id = s.id),
                    s.before_book, (SELECT code FROM seed_lot WHERE id = s.before_lot_id)
             FROM sowing_now s LEFT JOIN material_lot m ON m.id = s.medium_lot_id WHERE s.id = ?",
        )?
        .query_row([sowing], |row| {
            let (medium, lot): (String, String) = (row.get(2)?, row.get(3)?);
            Ok(Timeline {
                sowing,
                code: row.get(0)?,
                sown: row.get(1)?,
                trays: row.get(4)?,
                standing: row.get(5)?,
                seed: Vec::new(),
                before_book: if row.get(6)? { Some(row.get(7)?) } else { None },
                medium: if lot.is_empty() { medium } else { format!("{medium} {lot}") },
                treated: Vec::new(),
                cuttings: Vec::new(),
                days: Vec::new(),
                damp: Vec::new(),
            })
        })?;
    line.treated = treatment::of_batch(conn, sowing, line.sown)?;
    line.cuttings = cuttings(conn, sowing)?;
    line.seed = conn
        .prepare_cached(
            "SELECT l.code, -m.mg FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
             WHERE m.sowing_id = ? AND m.void_by IS NULL ORDER BY m.id",
        )?
        .query_map([sowing], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut days: BTreeMap<i64, DayMarks> = BTreeMap::new();
    looks(conn, &line, &mut days)?;
    counts(conn, &line, &mut days)?;
    stages(conn, &line, &mut days)?;
    line.days = days.into_values().collect();
    Ok(line)
}

/// Roots graded on any tray of a batch: day of growth and grade.
pub(super) fn roots(conn: &Connection, sowing: SowingId, sown: Day) -> Result<Vec<(i64, Roots)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT l.day, l.roots FROM tray t CROSS JOIN look l ON l.tray_id = t.id
             WHERE t.sowing_id = ? AND l.roots IS NOT NULL AND l.void_by IS NULL",
        )?
        .query_map([sowing], |row| Ok((day_number(sown, row.get(0)?), row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}

/// Lots that trays of a batch were cut into, with what they weighed. Indexes: `lot_input_of_tray`, `lot_input_lot`.
fn cuttings(conn: &Connection, sowing: SowingId) -> Result<Vec<Cutting>, StoreError> {
    let found: Vec<(String, Day, i64, i64, Option<i64>, i64)> = conn
        .prepare_cached(
            "SELECT l.code, l.day, count(DISTINCT i.tray_id),
                    (SELECT count(DISTINCT o.tray_id) FROM lot_input o WHERE o.lot_id = l.id AND o.void_by IS NULL),
                    CASE WHEN count(i.grams) = count(*) THEN sum(i.grams) END,
                    (SELECT coalesce(sum(m.grams), 0) FROM stock_move m
                     WHERE m.lot_id = l.id AND m.kind = 'made' AND m.void_by IS NULL)
             FROM tray t CROSS JOIN lot_input i ON i.tray_id = t.id CROSS JOIN lot l ON l.id = i.lot_id
             WHERE t.sowing_id = ? AND i.void_by IS NULL AND l.kind = 'harvest' GROUP BY l.id ORDER BY l.id",
        )?
        .query_map([sowing], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?)))?
        .collect::<Result<_, _>>()?;
    let mut cuttings = Vec::new();
    for (body, day, trays, all, own, lot_g) in found {
        let grams = own.or_else(|| (trays == all).then_some(lot_g));
        cuttings.push(Cutting { day, code: lot::shown(&body)?, trays, grams, lot_g });
    }
    Ok(cuttings)
}

fn marks(days: &mut BTreeMap<i64, DayMarks>, sown: Day, day: Day) -> &mut DayMarks {
    let n = day_number(sown, day);
    days.entry(n).or_insert_with(|| DayMarks { day: n, ..DayMarks::default() })
}

fn looks(conn: &Connection, line: &Timeline, days: &mut BTreeMap<i64, DayMarks>) -> Result<(), StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT l.day, l.roots, l.stand, l.mist, l.faults, l.watered, l.skip IS NOT NULL, n.entry_id IS NOT NULL, l.verdict
         FROM tray t JOIN look l ON l.tray_id = t.id LEFT JOIN entry_note n ON n.entry_id = l.entry_id
         WHERE t.sowing_id = ? AND l.void_by IS NULL",
    )?;
    let mut rows = select.query([line.sowing])?;
    while let Some(row) = rows.next()? {
        let day = marks(days, line.sown, row.get(0)?);
        let (roots, stand, fuzz): (Option<Roots>, Option<Stand>, Option<Mist>) =
            (row.get(1)?, row.get(2)?, row.get(3)?);
        let (faults, watered, skipped, note): (i64, bool, bool, bool) =
            (row.get(4)?, row.get(5)?, row.get(6)?, row.get(7)?);
        day.looked += i64::from(!skipped && (roots.is_some() || stand.is_some() || fuzz.is_some() || faults != 0));
        day.watered += i64::from(watered);
        day.odd += i64::from(faults != 0);
        day.notes += i64::from(note);
        if let Some(roots) = roots.filter(|r| *r != Roots::Hidden) {
            day.roots_low = Some(day.roots_low.map_or(roots, |low| low.min(roots)));
            day.roots_high = Some(day.roots_high.map_or(roots, |high| high.max(roots)));
        }
        // stands are listed from harmless to worst
        day.stand = day.stand.max(stand);
        // verdicts are listed from harmless to worst
        day.verdict = day.verdict.max(row.get(8)?);
        day.fuzz = [day.fuzz, fuzz].into_iter().flatten().reduce(Mist::worse);
    }
    Ok(())
}

fn counts(conn: &Connection, line: &Timeline, days: &mut BTreeMap<i64, DayMarks>) -> Result<(), StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT w.day, 'water', 1 FROM tray t JOIN water_tray x ON x.tray_id = t.id JOIN water w ON w.id = x.water_id
           WHERE t.sowing_id = ?1 AND w.void_by IS NULL
           AND NOT EXISTS (SELECT 1 FROM look l WHERE l.entry_id = w.entry_id AND l.tray_id = t.id)
         UNION ALL SELECT e.day, 'treated', 1 FROM tray t JOIN treatment_tray x ON x.tray_id = t.id
           JOIN treatment m ON m.id = x.treatment_id JOIN entry e ON e.id = m.entry_id
           WHERE t.sowing_id = ?1 AND m.void_by IS NULL
         UNION ALL SELECT e.day, 'part', 1 FROM tray t CROSS JOIN lot_input i ON i.tray_id = t.id JOIN entry e ON e.id = i.entry_id
           WHERE t.sowing_id = ?1 AND i.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM stage s
             WHERE s.entry_id = i.entry_id AND s.tray_id = t.id AND s.stage IN ('cut', 'left_alive'))
         UNION ALL SELECT o.day, 'lost', 1 FROM tray t JOIN loss o ON o.tray_id = t.id WHERE t.sowing_id = ?1 AND o.void_by IS NULL
         UNION ALL SELECT e.day, 'moved', 1 FROM tray t JOIN placement p ON p.tray_id = t.id JOIN entry e ON e.id = p.entry_id
           WHERE t.sowing_id = ?1 AND p.void_by IS NULL AND p.place_id IS NOT NULL AND (e.kind = 'moved'
             OR EXISTS (SELECT 1 FROM correction c WHERE c.entry_id = coalesce(e.undoes, e.id) AND c.what = 'hands'))",
    )?;
    let mut rows = select.query([line.sowing])?;
    while let Some(row) = rows.next()? {
        let (what, n): (String, i64) = (row.get(1)?, row.get(2)?);
        let day = marks(days, line.sown, row.get(0)?);
        match what.as_str() {
            "water" => day.watered += n,
            "treated" => day.treated += n,
            "lost" => day.lost += n,
            // some mats: the tray stays
            "part" => day.cut += n,
            _ => day.moved += n,
        }
    }
    Ok(())
}

fn stages(conn: &Connection, line: &Timeline, days: &mut BTreeMap<i64, DayMarks>) -> Result<(), StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT e.day, s.stage FROM tray t JOIN stage s ON s.tray_id = t.id JOIN entry e ON e.id = s.entry_id
         WHERE t.sowing_id = ? AND s.void_by IS NULL ORDER BY s.id",
    )?;
    let mut rows = select.query([line.sowing])?;
    while let Some(row) = rows.next()? {
        let stage: Stage = row.get(1)?;
        let day = marks(days, line.sown, row.get(0)?);
        day.cut += i64::from(stage == Stage::Cut);
        day.stage = Some(day.stage.map_or(stage, |s| s.max(stage)));
    }
    Ok(())
}
