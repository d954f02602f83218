//! Weights that someone says are not right. They are never dropped: shown with and without.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};

use crate::domain::code::Code;
use crate::domain::id::{EntryId, LotId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::week::Weighing;
use crate::store::act::Wrote;
use crate::store::error::StoreError;
use crate::store::facts::ODD_WEIGHT;
use crate::store::lot;
use crate::store::writer::Writer;

/// Marks a weight of a harvest lot, or takes the mark away: of one tray, or of those that were weighed together.
pub(in crate::store) fn mark(
    w: &mut Writer<'_>,
    lot: LotId,
    tray: Option<TrayId>,
    odd: bool,
    why: &str,
) -> Result<Wrote, StoreError> {
    let known: bool = w
        .conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM lot l JOIN lot_input i ON i.lot_id = l.id AND i.void_by IS NULL
             WHERE l.id = ?1 AND l.kind = 'harvest' AND l.void_by IS NULL AND CASE WHEN ?2 IS NULL THEN i.grams IS NULL
               ELSE i.tray_id = ?2 AND i.grams NOT NULL END)",
        )?
        .query_row(params![lot, tray], |row| row.get(0))?;
    if !known {
        let why = "There is no such weight: open the review again and choose one of its weights.";
        return Err(Refusal::new("odd_unknown", why).into());
    }
    let why = why.trim();
    if why.is_empty() {
        return Err(Refusal::new("odd_why", "Say in a few words what is wrong with the weight, or why it is right.")
            .at("why")
            .into());
    }
    if now(w.conn, lot, tray)? == odd {
        let why = if odd { "This weight is marked already." } else { "This weight is not marked." };
        return Err(Refusal::new("odd_already", format!("{why} Nothing was written: go back with Esc.")).into());
    }
    let id = w.fact(ODD_WEIGHT, &[("lot_id", &lot), ("tray_id", &tray), ("odd", &odd)])?;
    w.note(Some(why))?;
    let of = named(w.conn, lot, tray)?;
    Ok(Wrote::said(if odd {
        format!("{of}: marked as not right. Averages are shown with and without it.")
    } else {
        format!("{of}: counts again.")
    })
    .made(id))
}

/// Whether a weight is marked now. Index: `odd_weight_lot`.
fn now(conn: &Connection, lot: LotId, tray: Option<TrayId>) -> Result<bool, StoreError> {
    let newest: Option<bool> = conn
        .prepare_cached(
            "SELECT odd FROM odd_weight WHERE lot_id = ? AND tray_id IS ? AND void_by IS NULL ORDER BY id DESC LIMIT 1",
        )?
        .query_row(params![lot, tray], |row| row.get(0))
        .optional()?;
    Ok(newest.unwrap_or(false))
}

/// Which of these weighings are marked. Of marks, of which there are few, all are read once there are any.
pub(super) fn mark_all(conn: &Connection, weighings: &mut [Weighing]) -> Result<(), StoreError> {
    let rows: Vec<((LotId, Option<TrayId>), bool)> = conn
        .prepare_cached("SELECT lot_id, tray_id, odd FROM odd_weight WHERE void_by IS NULL ORDER BY id")?
        .query_map([], |row| Ok(((row.get(0)?, row.get(1)?), row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let marks: BTreeMap<(LotId, Option<TrayId>), bool> = rows.into_iter().collect();
    for one in weighings {
        one.odd = marks.get(&(one.lot, one.own)).copied().unwrap_or(false);
    }
    Ok(())
}

fn named(conn: &Connection, lot: LotId, tray: Option<TrayId>) -> Result<String, StoreError> {
    let code = lot::code(conn, lot)?;
    Ok(tray.map_or_else(
        || format!("Weight of lot {code}"),
        |tray| format!("Weight of {} in lot {code}", Code::tray(tray.0)),
    ))
}

/// What an entry marked.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (lot, tray, odd) = conn
        .prepare_cached("SELECT lot_id, tray_id, odd FROM odd_weight WHERE entry_id = ?")?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get::<_, bool>(2)?)))?;
    let of = named(conn, lot, tray)?;
    Ok(if odd { format!("{of}: not right") } else { format!("{of}: right after all") })
}
