//! Walks: when begun, by whom, and which trays they came to.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{WALK, WALK_SHARE};
use super::hands::{seen_of, sheet_is_new};
use super::ids::day_sql;
use super::writer::Writer;
use crate::domain::id::{RackId, TrayId, WalkId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant};
use crate::domain::walk::{Mode, Share, Visit, Walk, racks_named};

pub(super) fn start(w: &mut Writer<'_>, mode: Mode, racks: Option<&[RackId]>) -> Result<Wrote, StoreError> {
    let racks = match racks {
        Some([]) => return Err(Refusal::new("walk_no_rack", "Choose at least one rack to walk.").at("racks").into()),
        Some(racks) => {
            Some(serde_json::to_string(racks).map_err(|e| StoreError::unreadable("the racks", &e.to_string()))?)
        }
        None => None,
    };
    sheet_is_new(w)?;
    let started = w.at();
    let id = w.fact(WALK, &[("mode", &mode), ("racks", &racks), ("started", &started)])?;
    Ok(Wrote::said(format!("A walk has begun: {}.", mode.shown())).made(id))
}

/// When a walk began; refused if that was taken back.
pub(super) fn begun(conn: &Connection, walk: WalkId) -> Result<Instant, StoreError> {
    let started: Option<Instant> = conn
        .prepare_cached("SELECT started FROM walk WHERE id = ? AND void_by IS NULL")?
        .query_row([walk], |row| row.get(0))
        .optional()?;
    started.ok_or_else(|| Refusal::new("walk_unknown", "This walk was taken back: begin a new one.").into())
}

/// Racks of a walk become one person's, whoever had them before.
pub(super) fn take_racks(w: &mut Writer<'_>, id: WalkId, racks: &[RackId]) -> Result<Wrote, StoreError> {
    let started = w.now.local(begun(w.conn, id)?);
    let walk = read(w.conn, id)?;
    if walk.seen.paper {
        let sentence = "A paper sheet is typed in by one person alone: share the walk by the screen.";
        return Err(Refusal::new("take_sheet", sentence).into());
    }
    if racks.is_empty() {
        return Err(Refusal::new("take_no_rack", "Choose at least one rack to take.").into());
    }
    let who = w.seen.by.unwrap_or(w.who);
    let mut names: Vec<String> = Vec::new();
    for rack in racks {
        let name: Option<String> = w
            .conn
            .prepare_cached("SELECT name FROM rack WHERE id = ? AND NOT retired")?
            .query_row([rack], |row| row.get(0))
            .optional()?;
        let Some(name) = name.filter(|_| walk.covers(*rack)) else {
            return Err(
                Refusal::new("take_outside", "That rack is no part of this walk: take one of its racks.").into()
            );
        };
        if names.contains(&name) || walk.share(*rack).is_some_and(|share| share.person == who) {
            let sentence = format!("Rack {name} is yours already: go on with the walk there.");
            return Err(Refusal::new("take_own", sentence).into());
        }
        w.fact(WALK_SHARE, &[("walk_id", &id), ("rack_id", rack)])?;
        names.push(name);
    }
    let initials: String = w.conn.query_row("SELECT initials FROM person WHERE id = ?", [who], |row| row.get(0))?;
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let sentence = format!("{initials} takes {} of the walk of {}.", racks_named(&names), started.format("%H:%M"));
    Ok(Wrote::said(sentence))
}

/// Takings that count, the newest last. Index: `walk_share_walk`.
fn shares(conn: &Connection, id: WalkId) -> Result<Vec<Share>, StoreError> {
    let shares = conn
        .prepare_cached(
            "SELECT s.rack_id, p.id, p.initials FROM walk_share s JOIN entry_hands h ON h.id = s.entry_id
             JOIN person p ON p.id = h.person_id WHERE s.walk_id = ? AND s.void_by IS NULL ORDER BY s.id",
        )?
        .query_map([id], |row| Ok(Share { rack: row.get(0)?, person: row.get(1)?, initials: row.get(2)? }))?
        .collect::<Result<_, _>>()?;
    Ok(shares)
}

/// The newest walk by the screen begun on a day.
pub(super) fn newest(conn: &Connection, day: Day) -> Result<Option<Walk>, StoreError> {
    let id: Option<WalkId> = conn
        .prepare_cached(
            "SELECT w.id FROM walk w JOIN entry e ON e.id = w.entry_id
             WHERE w.void_by IS NULL AND e.day = ? AND e.paper = 0 ORDER BY w.id DESC LIMIT 1",
        )?
        .query_row([day_sql(day)], |row| row.get(0))
        .optional()?;
    id.map(|id| read(conn, id)).transpose()
}

/// The newest days with an entry of a walk or a look, three at most. Index: `look_day`, day by day.
pub(super) fn days(conn: &Connection) -> Result<Vec<Day>, StoreError> {
    let days = conn
        .prepare_cached(
            "WITH RECURSIVE walked (n, day) AS (
               SELECT 1, (SELECT max(day) FROM look WHERE void_by IS NULL AND skip IS NULL)
               UNION ALL
               SELECT n + 1, (SELECT max(day) FROM look WHERE void_by IS NULL AND skip IS NULL AND day < walked.day)
               FROM walked WHERE n < 3)
             SELECT day FROM walked WHERE day IS NOT NULL",
        )?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(days)
}

/// The paper sheet typed in last. Walks are few; their entries are found by their keys.
pub(super) fn newest_sheet(conn: &Connection) -> Result<Option<Walk>, StoreError> {
    let id: Option<WalkId> = conn
        .prepare_cached(
            "SELECT w.id FROM walk w CROSS JOIN entry e ON e.id = w.entry_id
             WHERE e.paper = 1 AND w.void_by IS NULL ORDER BY w.id DESC LIMIT 1",
        )?
        .query_row([], |row| row.get(0))
        .optional()?;
    id.map(|id| read(conn, id)).transpose()
}

/// Trays that were looked at on a day outside of a walk. Index: `look_day`.
fn looked_on(conn: &Connection, day: Day, walk: WalkId) -> Result<Vec<TrayId>, StoreError> {
    let trays = conn
        .prepare_cached(
            "SELECT DISTINCT l.tray_id FROM look l WHERE l.day = ? AND l.void_by IS NULL AND l.skip IS NULL
             AND NOT EXISTS (SELECT 1 FROM walk_stop s WHERE s.entry_id = l.entry_id AND s.walk_id = ?)",
        )?
        .query_map(params![day_sql(day), walk], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(trays)
}

/// A walk with every tray it came to: looked at, skipped or thrown out. Index: `walk_stop_walk`.
pub(super) fn read(conn: &Connection, id: WalkId) -> Result<Walk, StoreError> {
    let mut walk = conn
        .prepare_cached(
            "SELECT w.mode, w.racks, w.started, p.initials, e.day,
                    CASE WHEN e.seen_by IS NOT NULL OR p.id <> e.who THEN p.id END, e.seen_at, e.paper
             FROM walk w JOIN entry e ON e.id = w.entry_id JOIN entry_hands h ON h.id = e.id
             JOIN person p ON p.id = h.person_id WHERE w.id = ?",
        )?
        .query_row([id], |row| {
            let racks: Option<String> = row.get(1)?;
            Ok(Walk {
                id,
                mode: row.get(0)?,
                started: row.get(2)?,
                who: row.get(3)?,
                day: row.get(4)?,
                seen: seen_of(row, 5)?,
                known: Vec::new(),
                racks: racks.and_then(|text| serde_json::from_str(&text).ok()),
                shares: Vec::new(),
                visited: Vec::new(),
            })
        })?;
    for share in shares(conn, id)? {
        walk.take(share);
    }
    if walk.seen.paper {
        walk.known = looked_on(conn, walk.day, id)?;
    }
    let visits: Vec<Visit> = conn
        .prepare_cached(
            "SELECT tray_id, skip, at, glance, by FROM (
               SELECT l.tray_id, l.skip, e.at, e.id, l.basis <> 'tray' AS glance, (SELECT person_id FROM entry_hands WHERE id = e.id) AS by FROM walk_stop s JOIN look l ON l.entry_id = s.entry_id JOIN entry e ON e.id = s.entry_id
               WHERE s.walk_id = ?1 AND s.void_by IS NULL AND l.void_by IS NULL
               UNION ALL
               SELECT o.tray_id, NULL, e.at, e.id, 0, (SELECT person_id FROM entry_hands WHERE id = e.id) FROM walk_stop s JOIN loss o ON o.entry_id = s.entry_id JOIN entry e ON e.id = s.entry_id
               WHERE s.walk_id = ?1 AND s.void_by IS NULL AND o.void_by IS NULL
               AND EXISTS (SELECT 1 FROM stage g WHERE g.entry_id = e.id AND g.tray_id = o.tray_id AND g.stage = 'thrown'))
             ORDER BY id",
        )?
        .query_map([id], |row| {
            Ok(Visit { tray: row.get(0)?, skip: row.get(1)?, at: row.get(2)?, glance: row.get(3)?, by: row.get(4)? })
        })?
        .collect::<Result<_, _>>()?;
    for visit in visits {
        // looked at and then thrown out is one stop
        walk.visited.retain(|earlier| earlier.tray != visit.tray);
        walk.visited.push(visit);
    }
    Ok(walk)
}
