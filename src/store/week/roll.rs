//! `week_crop`: what a crop gave in a week, worked out from the facts of that week, never patched.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, params};

use super::grown;
use crate::domain::id::CropId;
use crate::domain::time::Day;
use crate::domain::week::{Rolled, monday, mondays, of, roll};
use crate::store::error::StoreError;
use crate::store::facts::{LOSS, LOT, LOT_INPUT, ODD_WEIGHT, SEED_MOVE, SOWING, SOWING_FIX, STAGE, STOCK_MOVE, Table};
use crate::store::ids::day_sql;
use crate::store::writer::Writer;

/// Days and crops that rows of a table speak of, by row number. Of a batch also the days on which its trays ended. Indexes:
/// `sowing_fix_sowing`, `tray_sowing`, `stage_tray`, `lot_input_of_tray`, `loss_tray`, `lot_input_lot`.
const TOUCHED: &[(&Table, &str)] = &[
    (SOWING, BATCH),
    (SOWING_FIX, "SELECT sowing_id, NULL FROM sowing_fix WHERE id = ?"),
    (SEED_MOVE, "SELECT sowing_id, NULL FROM seed_move WHERE id = ? AND sowing_id NOT NULL"),
    (
        STAGE,
        "SELECT t.sowing_id, e.day FROM stage g JOIN tray t ON t.id = g.tray_id JOIN entry e ON e.id = g.entry_id
         WHERE g.id = ? AND g.stage IN ('cut', 'left_alive', 'thrown')",
    ),
    (LOSS, "SELECT t.sowing_id, x.day FROM loss x JOIN tray t ON t.id = x.tray_id WHERE x.id = ?"),
    (
        LOT,
        "SELECT t.sowing_id, l.day FROM lot l JOIN lot_input i ON i.lot_id = l.id JOIN tray t ON t.id = i.tray_id WHERE l.id = ?",
    ),
    (
        LOT_INPUT,
        // a cut after which a tray grows again says of later ones that they are no first ones
        "SELECT t.sowing_id, CASE WHEN i.again THEN NULL ELSE l.day END FROM lot_input i JOIN lot l ON l.id = i.lot_id
         JOIN tray t ON t.id = i.tray_id WHERE i.id = ?",
    ),
    (
        STOCK_MOVE,
        "SELECT t.sowing_id, l.day FROM stock_move m JOIN lot l ON l.id = m.lot_id JOIN lot_input i ON i.lot_id = l.id
         JOIN tray t ON t.id = i.tray_id WHERE m.id = ? AND m.kind = 'made'",
    ),
    (
        ODD_WEIGHT,
        "SELECT t.sowing_id, l.day FROM odd_weight o JOIN lot l ON l.id = o.lot_id JOIN lot_input i ON i.lot_id = l.id
         JOIN tray t ON t.id = i.tray_id WHERE o.id = ?",
    ),
];
const BATCH: &str = "SELECT id, NULL FROM sowing WHERE id = ?";

/// Every crop a batch was, or is.
const CROPS: &str =
    "SELECT crop_id FROM sowing WHERE id = ?1 UNION SELECT crop_id FROM sowing_fix WHERE sowing_id = ?1";

/// Every day of a batch that a week knows of.
const DAYS: &str = "SELECT day FROM sowing WHERE id = ?1 UNION SELECT day FROM sowing_fix WHERE sowing_id = ?1
  UNION SELECT e.day FROM tray t CROSS JOIN stage g ON g.tray_id = t.id JOIN entry e ON e.id = g.entry_id
    WHERE t.sowing_id = ?1 AND g.stage IN ('cut', 'left_alive', 'thrown')
  UNION SELECT l.day FROM tray t CROSS JOIN lot_input i ON i.tray_id = t.id JOIN lot l ON l.id = i.lot_id WHERE t.sowing_id = ?1
  UNION SELECT x.day FROM tray t CROSS JOIN loss x ON x.tray_id = t.id WHERE t.sowing_id = ?1";

/// Works out again every week and crop that an entry touched.
pub(in crate::store) fn refresh(w: &Writer<'_>) -> Result<(), StoreError> {
    let (mut weeks, mut crops) = (BTreeSet::new(), BTreeSet::new());
    let mut batches: BTreeSet<(i64, bool)> = BTreeSet::new();
    for (table, text) in TOUCHED {
        for row in w.rows(table) {
            let mut select = w.conn.prepare_cached(text)?;
            let mut rows = select.query([row])?;
            while let Some(row) = rows.next()? {
                let day: Option<Day> = row.get(1)?;
                weeks.extend(day.map(monday));
                batches.insert((row.get(0)?, day.is_none()));
            }
        }
    }
    for (sowing, whole) in batches {
        let mut of = w.conn.prepare_cached(CROPS)?;
        crops.extend(of.query_map([sowing], |row| row.get::<_, CropId>(0))?.collect::<Result<Vec<_>, _>>()?);
        if whole {
            let mut days = w.conn.prepare_cached(DAYS)?;
            let days: Vec<Day> = days.query_map([sowing], |row| row.get(0))?.collect::<Result<_, _>>()?;
            weeks.extend(days.into_iter().map(monday));
        }
    }
    weeks.into_iter().try_for_each(|week| write(w.conn, week, Some(&crops)))
}

/// Writes a week's rows anew: of some crops, or of all.
fn write(conn: &Connection, week: Day, only: Option<&BTreeSet<CropId>>) -> Result<(), StoreError> {
    let mut rows = roll(&grown(conn, of(week))?);
    if let Some(only) = only {
        rows.retain(|crop, _| only.contains(crop));
        for crop in only {
            conn.prepare_cached("DELETE FROM week_crop WHERE crop_id = ? AND week = ?")?
                .execute(params![crop, day_sql(week)])?;
        }
    }
    for (crop, row) in rows {
        let Rolled { sown, sown_mg, ended, lost, cut, n, sum_dg, sum_dg2, median_dg, grams, cut_mg } = row;
        conn.prepare_cached(
            "INSERT INTO week_crop (week, crop_id, sown, sown_mg, ended, lost, cut, n, sum_dg, sum_dg2, median_dg, grams, cut_mg)
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        )?
        .execute(params![
            day_sql(week),
            crop,
            sown,
            sown_mg,
            ended,
            lost,
            cut,
            n,
            sum_dg,
            sum_dg2,
            median_dg,
            grams,
            cut_mg
        ])?;
    }
    Ok(())
}

/// Works every week out again; returns how many derived rows differed from what stood there.
pub(in crate::store) fn rebuild(conn: &Connection) -> Result<usize, StoreError> {
    let before = lines(conn)?;
    conn.execute("DELETE FROM week_crop", [])?;
    let span: Option<(Day, Day)> = conn
        .query_row(
            "SELECT min(day), max(day) FROM (SELECT min(day) AS day FROM sowing UNION ALL SELECT min(day) FROM sowing_fix
               UNION ALL SELECT max(day) FROM sowing UNION ALL SELECT max(day) FROM sowing_fix UNION ALL SELECT max(day) FROM loss
               UNION ALL SELECT min(day) FROM entry UNION ALL SELECT max(day) FROM entry UNION ALL SELECT max(day) FROM lot)",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?
        .and_then(|(from, to): (Option<Day>, Option<Day>)| from.zip(to));
    if let Some((from, to)) = span {
        mondays(from, to).try_for_each(|week| write(conn, week, None))?;
    }
    Ok(lines(conn)?.symmetric_difference(&before).count())
}

fn lines(conn: &Connection) -> Result<BTreeSet<String>, StoreError> {
    const ALL: &str = "SELECT week || '|' || crop_id || '|' || sown || '|' || sown_mg || '|' || ended || '|' || lost || '|' || cut
        || '|' || n || '|' || sum_dg || '|' || sum_dg2 || '|' || coalesce(median_dg, '') || '|' || grams || '|' || cut_mg FROM week_crop";
    Ok(conn.prepare(ALL)?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
}
