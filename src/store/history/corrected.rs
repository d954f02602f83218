//! What a correction says now, beside what it said.

use rusqlite::{Connection, OptionalExtension};

use super::{look, moved, part_lost, thrown};
use crate::domain::id::EntryId;
use crate::store::error::StoreError;
use crate::store::room;

/// What was put right: the entry and what now counts.
pub(super) fn corrected(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (about, what): (EntryId, String) = conn
        .prepare_cached("SELECT about_id, what FROM correction WHERE entry_id = ?")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let now = match what.as_str() {
        "never" => "it never happened".to_string(),
        "look" => look(conn, id)?,
        "place" => moved(conn, id)?,
        "received" => {
            let mg: i64 = conn.query_row("SELECT mg FROM seed_move WHERE entry_id = ?", [id], |row| row.get(0))?;
            format!("{} were received", room::units(conn)?.weight(mg))
        }
        "hands" => retimed(conn, id)?,
        _ => resown(conn, id)?,
    };
    Ok(format!("entry {} put right: {now}", about.0))
}

/// What an entry says whose time was put right; of initials alone, whose they are and whose they were.
fn retimed(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (looked, gone, lost, any): (bool, bool, bool, bool) = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM look WHERE entry_id = ?1),
                    EXISTS (SELECT 1 FROM stage WHERE entry_id = ?1 AND stage = 'thrown'),
                    EXISTS (SELECT 1 FROM loss WHERE entry_id = ?1), EXISTS (SELECT 1 FROM happening WHERE entry_id = ?1)",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    match (looked, gone, lost, any) {
        (true, ..) => look(conn, id),
        (_, true, ..) => thrown(conn, id),
        (_, _, true, _) => part_lost(conn, id),
        (.., true) => moved(conn, id),
        _ => initials(conn, id),
    }
}

fn initials(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (now, before): (String, String) = conn
        .prepare_cached(
            "SELECT p.initials, (SELECT initials FROM person WHERE id = coalesce((SELECT x.seen_by FROM correction x
                 WHERE x.about_id = c.about_id AND x.id < c.id AND x.seen_by IS NOT NULL
                 AND (x.void_by IS NULL OR x.void_by > c.entry_id) ORDER BY x.id DESC LIMIT 1), e.seen_by, e.who))
             FROM correction c JOIN person p ON p.id = c.seen_by JOIN entry e ON e.id = c.about_id WHERE c.entry_id = ?",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(format!("it was {now}, not {before}"))
}

/// The crop, day and seed a correction gave a batch.
fn resown(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let fix: Option<(String, String)> = conn
        .prepare_cached("SELECT c.name, f.day FROM sowing_fix f JOIN crop c ON c.id = f.crop_id WHERE f.entry_id = ?")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let seed: Vec<(String, i64)> = conn
        .prepare_cached(
            "SELECT l.code, -m.mg FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id WHERE m.entry_id = ? ORDER BY m.id",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let sown = fix.map_or_else(|| "sown".to_string(), |(crop, day)| format!("{crop} sown {day}"));
    if seed.is_empty() {
        return Ok(sown);
    }
    let units = room::units(conn)?;
    let seed: Vec<String> = seed.iter().map(|(code, mg)| format!("{} of seed lot {code}", units.weight(*mg))).collect();
    Ok(format!("{sown} with {}", seed.join(" and ")))
}
