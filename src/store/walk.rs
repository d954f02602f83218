//! Walks: when begun, by whom, and which trays they came to.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::WALK;
use super::ids::day_sql;
use super::writer::Writer;
use crate::domain::id::{RackId, WalkId};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;
use crate::domain::walk::{Mode, Visit, Walk};

pub(super) fn start(w: &mut Writer<'_>, mode: Mode, racks: Option<&[RackId]>) -> Result<Wrote, StoreError> {
    let racks = match racks {
        Some([]) => return Err(Refusal::new("walk_no_rack", "Choose at least one rack to walk.").at("racks").into()),
        Some(racks) => {
            Some(serde_json::to_string(racks).map_err(|e| StoreError::unreadable("the racks", &e.to_string()))?)
        }
        None => None,
    };
    let id = w.fact(WALK, &[("mode", &mode), ("racks", &racks), ("started", &w.now.instant())])?;
    Ok(Wrote::said(format!("A walk has begun: {}.", mode.shown())).made(id))
}

/// The newest walk begun on a day.
pub(super) fn newest(conn: &Connection, day: Day) -> Result<Option<Walk>, StoreError> {
    let id: Option<WalkId> = conn
        .prepare_cached(
            "SELECT w.id FROM walk w JOIN entry e ON e.id = w.entry_id WHERE w.void_by IS NULL AND e.day = ?
             ORDER BY w.id DESC LIMIT 1",
        )?
        .query_row([day_sql(day)], |row| row.get(0))
        .optional()?;
    id.map(|id| read(conn, id)).transpose()
}

/// A walk with every tray it came to: looked at, skipped or thrown out. Index: `walk_stop_walk`.
pub(super) fn read(conn: &Connection, id: WalkId) -> Result<Walk, StoreError> {
    let mut walk = conn
        .prepare_cached(
            "SELECT w.mode, w.racks, w.started, p.initials FROM walk w JOIN entry e ON e.id = w.entry_id
             JOIN person p ON p.id = coalesce(e.seen_by, e.who) WHERE w.id = ?",
        )?
        .query_row([id], |row| {
            let racks: Option<String> = row.get(1)?;
            Ok(Walk {
                id,
                mode: row.get(0)?,
                started: row.get(2)?,
                who: row.get(3)?,
                racks: racks.and_then(|text| serde_json::from_str(&text).ok()),
                visited: Vec::new(),
            })
        })?;
    let visits: Vec<Visit> = conn
        .prepare_cached(
            "SELECT tray_id, skip, at FROM (
               SELECT l.tray_id, l.skip, e.at, e.id FROM walk_stop s JOIN look l ON l.entry_id = s.entry_id JOIN entry e ON e.id = s.entry_id
               WHERE s.walk_id = ?1 AND s.void_by IS NULL AND l.void_by IS NULL
               UNION ALL
               SELECT o.tray_id, NULL, e.at, e.id FROM walk_stop s JOIN loss o ON o.entry_id = s.entry_id JOIN entry e ON e.id = s.entry_id
               WHERE s.walk_id = ?1 AND s.void_by IS NULL AND o.void_by IS NULL AND e.kind = 'thrown')
             ORDER BY id",
        )?
        .query_map([id], |row| Ok(Visit { tray: row.get(0)?, skip: row.get(1)?, at: row.get(2)? }))?
        .collect::<Result<_, _>>()?;
    for visit in visits {
        // looked at and then thrown out is one stop
        walk.visited.retain(|earlier| earlier.tray != visit.tray);
        walk.visited.push(visit);
    }
    Ok(walk)
}
