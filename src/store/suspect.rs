//! Suspect trays: whether one is, what was decided, and what is at risk beside it.

mod read;

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::DECISION;
use super::hands::dated;
use super::look::{found, in_room, part_of_walk};
use super::writer::Writer;
use super::{breach, derive, tray};
use crate::domain::code::Code;
use crate::domain::fuzz::Signs;
use crate::domain::hands::{Dated, as_happened};
use crate::domain::id::{EntryId, PersonId, TrayId, WalkId};
use crate::domain::look::Mist;
use crate::domain::refusal::Refusal;
use crate::domain::room::Zone;
use crate::domain::suspect::{Choice, Decision, Event, Found, WITHIN, counting, evidence};
use crate::domain::time::{Day, Instant};
pub(super) use read::{closely, read};

/// Looks with fuzz and clears of a tray, as they were written. A clear counts as long as the check it names does.
fn written(conn: &Connection, tray: TrayId) -> Result<Vec<Dated<Event>>, StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT l.entry_id, e.at, l.seen_at, l.mist, l.verdict, l.day, l.signs, max(l.mould, l.rot) FROM look l JOIN entry e ON e.id = l.entry_id
         WHERE l.tray_id = ? AND l.fuzz AND l.void_by IS NULL ORDER BY l.day, l.entry_id",
    )?;
    let mut rows: Vec<((Day, EntryId), Dated<Event>)> = select
        .query_map([tray], |row| {
            let Dated { row: entry, typed, seen } = dated::<EntryId>(row)?;
            let day: Day = row.get(5)?;
            let found = Found {
                entry,
                at: seen.unwrap_or(typed),
                day,
                mist: row.get::<_, Option<Mist>>(3)?.unwrap_or(Mist::Untested),
                verdict: row.get(4)?,
                signs: Signs(row.get::<_, Option<i64>>(6)?.unwrap_or_default()),
                bad: row.get::<_, Option<i64>>(7)?.unwrap_or_default(),
            };
            Ok(((day, entry), Dated { row: Event::Fuzz(found), typed, seen }))
        })?
        .collect::<Result<_, _>>()?;
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    // index: decision_tray
    let mut select = conn.prepare_cached(
        "SELECT d.entry_id, e.at, e.seen_at, e.day FROM decision d JOIN entry e ON e.id = d.entry_id
         WHERE d.tray_id = ? AND d.void_by IS NULL AND d.what = 'clear'
         AND EXISTS (SELECT 1 FROM look l WHERE l.entry_id = d.about_entry AND l.tray_id = d.tray_id AND l.void_by IS NULL)",
    )?;
    let clears = select.query_map([tray], |row| {
        let Dated { row: entry, typed, seen } = dated::<EntryId>(row)?;
        Ok(((row.get(3)?, entry), Dated { row: Event::Cleared(entry), typed, seen }))
    })?;
    for clear in clears {
        rows.push(clear?);
    }
    rows.sort_by_key(|(order, _)| *order);
    Ok(rows.into_iter().map(|(_, row)| row).collect())
}

fn events(written: Vec<Dated<Event>>) -> Vec<Event> {
    as_happened(written, 0).into_iter().map(|dated| dated.row).collect()
}

/// Fuzz that stood, mould and rot stay suspect (2) until a person decides; fuzz nobody could tell (1), until a check
/// answers it; 0: not suspect.
pub(super) fn level(conn: &Connection, tray: TrayId) -> Result<i64, StoreError> {
    let counts = counting(&events(written(conn, tray)?));
    Ok(if counts.iter().any(|found| found.stays()) { 2 } else { i64::from(!counts.is_empty()) })
}

/// Whether a tray, also one that is gone, showed mould or rot or fuzz that stood and was not cleared; and whether it
/// ever was suspect.
pub(super) fn ever(conn: &Connection, tray: TrayId) -> Result<(bool, bool), StoreError> {
    let events = events(written(conn, tray)?);
    let bad = derive::lost(conn, tray)?.is_some() || counting(&events).iter().any(|found| found.stays());
    let doubted = events.iter().any(|event| matches!(event, Event::Fuzz(found) if found.doubtful()));
    Ok((bad, bad || doubted))
}

/// When mould, rot, or fuzz that stood was seen on a tray and nobody cleared it.
pub(super) fn bad_since(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    let counts = counting(&events(written(conn, tray)?));
    Ok(counts.iter().filter(|found| found.stays()).map(|found| found.at).min())
}

/// Someone says what becomes of a suspect tray.
pub(super) fn decide(
    w: &mut Writer<'_>,
    walk: Option<WalkId>,
    id: TrayId,
    what: Choice,
    by: PersonId,
    reason: &str,
) -> Result<Wrote, StoreError> {
    in_room(w, id)?;
    found(w, id)?;
    let (code, reason) = (Code::tray(id.0), reason.trim());
    let (doubtful, zone): (bool, Zone) = w
        .conn
        .prepare_cached(
            "SELECT n.suspect OR n.bad, z.kind FROM tray_now n JOIN place p ON p.id = n.place_id
             JOIN zone z ON z.id = p.zone_id WHERE n.tray_id = ?",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    if !doubtful {
        return Err(
            Refusal::new("not_suspect", format!("{code} is not suspect any more: nothing is to decide.")).into()
        );
    }
    let initials = match what {
        // whoever finds it sets it apart
        Choice::Isolate { .. } => breach::known_person(w.conn, by)?.0,
        Choice::Clear | Choice::Watch => breach::decider(w.conn, by, "a suspect tray")?,
    };
    let reason = if matches!(what, Choice::Isolate { .. }) { reason } else { breach::grounds(reason)? };
    let past = written(w.conn, id)?;
    let last_found = counting(&events(past.clone())).last().map(|found| found.entry);
    let (word, about, next_at, said) = match what {
        Choice::Clear => {
            let check = cleared(w, id, past)?;
            let said =
                format!("{code} is not suspect any more: {initials} cleared it on the check of entry {}.", check.0);
            (Decision::Clear, Some(check), None, said)
        }
        Choice::Watch => {
            let until = Instant(w.at().0 + WITHIN);
            let local = w.now.local(until).format("%a %d %b %H:%M");
            let said = format!("{code} stays suspect; {initials} watches it, next look by {local}.");
            (Decision::Watch, last_found, Some(until), said)
        }
        Choice::Isolate { to } => {
            let apart: Option<Zone> = w
                .conn
                .prepare_cached("SELECT z.kind FROM place p JOIN zone z ON z.id = p.zone_id WHERE p.id = ?")?
                .query_row([to], |row| row.get(0))
                .optional()?;
            if apart.is_some_and(|zone| zone != Zone::Isolation) {
                let why = "That is no place for isolation: choose one that is apart, or make one in settings.";
                return Err(Refusal::new("not_isolation", why).at("places").into());
            }
            let already = if zone == Zone::Isolation { " It was in isolation already." } else { "" };
            let did = tray::step(w, id, Some(to), None)?.join(", ");
            let said = format!("{code} isolated: {did}.{already} It stays suspect: change gloves, clean its place.");
            (Decision::Isolate, last_found, None, said)
        }
    };
    w.fact(
        DECISION,
        &[("tray_id", &id), ("what", &word), ("about_entry", &about), ("person_id", &by), ("next_at", &next_at)],
    )?;
    w.note(Some(reason))?;
    w.touched.insert(id);
    part_of_walk(w, walk)?;
    Ok(Wrote { sentence: said, made: None, trays: vec![id] })
}

/// The check a clear rests on; refused where it would not clear the tray.
fn cleared(w: &Writer<'_>, tray: TrayId, mut past: Vec<Dated<Event>>) -> Result<EntryId, StoreError> {
    let check = evidence(&events(past.clone()), derive::lost(w.conn, tray)?.is_some())?;
    past.push(Dated { row: Event::Cleared(w.entry), typed: w.now.instant(), seen: w.seen.at });
    if !counting(&events(past)).is_empty() {
        let sentence = "It became suspect after that time: give the time at which it was decided.";
        return Err(Refusal::new("clear_earlier", sentence).at("from").into());
    }
    Ok(check)
}

/// What an entry decided about a tray.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (what, by, about, tray, place): (Decision, String, Option<EntryId>, TrayId, Option<String>) = conn
        .prepare_cached(
            "SELECT d.what, w.initials, d.about_entry, d.tray_id,
                    (SELECT r.name || ' ' || p.shelf || '-' || p.pos FROM placement m JOIN place p ON p.id = m.place_id
                     JOIN rack r ON r.id = p.rack_id WHERE m.entry_id = d.entry_id)
             FROM decision d JOIN person w ON w.id = d.person_id WHERE d.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let code = Code::tray(tray.0);
    let on = about.map_or_else(String::new, |about| format!(", on the look of entry {}", about.0));
    Ok(match (what, place) {
        (Decision::Clear, _) => format!("{code}: {by} decided that it is not suspect any more{on}"),
        (Decision::Watch, _) => format!("{code}: {by} decided to watch it; it stays suspect{on}"),
        (Decision::Isolate, Some(place)) => format!("{code}: isolated by {by}, moved to {place}{on}"),
        (Decision::Isolate, None) => format!("{code}: isolated by {by}{on}"),
    })
}
