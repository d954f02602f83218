//! An entry as it can be put right.

use rusqlite::{Connection, OptionalExtension, params};

use super::{never, sowing};
use crate::domain::correction::Entry;
use crate::domain::fuzz::Signs;
use crate::domain::id::{EntryId, TrayId, WalkId};
use crate::domain::look::{Faults, Look, Mist, WaterFigures};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;
use crate::store::error::StoreError;
use crate::store::{hands, history};

/// Kinds of entries with a time of their own to put right.
const TIMED: [&str; 5] = ["look", "moved", "cut", "thrown", "part_lost"];

/// An entry with what can be put right about it, for a person to choose from.
pub(in crate::store) fn read(conn: &Connection, id: EntryId) -> Result<Entry, StoreError> {
    let entry = entry(conn, id)?;
    let stays = never::stays(conn, id, &entry.kind)?.map(|why| why.sentence);
    let grave = super::is_grave(conn, id)?;
    Ok(Entry { stays, grave, ..entry })
}

/// The same without asking whether it may never have happened.
pub(super) fn entry(conn: &Connection, id: EntryId) -> Result<Entry, StoreError> {
    let Some(hands) = hands::of_entry(conn, id, None)? else {
        return Err(Refusal::new("entry_unknown", "There is no such entry in the book.").into());
    };
    // of a correction its facts know on which day it was, not the entry
    let day: Day = conn.query_row(
        "SELECT coalesce((SELECT min(day) FROM look WHERE entry_id = e.id), e.day) FROM entry e WHERE e.id = ?",
        [id],
        |row| row.get(0),
    )?;
    let says: bool = conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM happening WHERE entry_id = ? AND void_by IS NULL)")?
        .query_row([id], |row| row.get(0))?;
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
        at: hands.at,
        by: hands.by,
        paper: hands.paper,
        timed: says && TIMED.contains(&root(conn, id)?.as_str()),
        signed: match line.kind.as_str() {
            "setup" => false,
            // of these only what they say of trays has hands of its own
            "undo" | "corrected" => says,
            _ => true,
        },
        gone: line.undone_by.is_some(),
        after: line.put_right_by,
        stays: None,
        grave: false,
        text: line.text,
        kind: line.kind,
        look: look_of(conn, id)?,
        sowings: sowing::sowings(conn, id)?,
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
            "SELECT basis, roots, stand, mist, faults, watered, skip, signs, extent FROM look WHERE entry_id = ? AND tray_id = ?",
        )?
        .query_row(params![id, first], |row| {
            Ok(Look {
                walk,
                trays: trays.clone(),
                basis: row.get(0)?,
                roots: row.get(1)?,
                stand: row.get(2)?,
                fuzz: row.get::<_, Option<Mist>>(3)?,
                signs: Signs(row.get::<_, Option<i64>>(7)?.unwrap_or_default()),
                extent: row.get(8)?,
                faults: Faults(row.get(4)?),
                watered: row.get(5)?,
                skip: row.get(6)?,
                water: WaterFigures::default(),
                note: None,
            })
        })?;
    Ok(Some(look))
}

/// The kind of the entry that was put right, or taken back, first.
pub(super) fn root(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE chain (id) AS (
               SELECT ?1 UNION SELECT coalesce(e.undoes, (SELECT about_id FROM correction WHERE entry_id = e.id))
               FROM chain c JOIN entry e ON e.id = c.id)
             SELECT kind FROM entry WHERE id = (SELECT min(id) FROM chain)",
        )?
        .query_row([id], |row| row.get(0))?)
}
