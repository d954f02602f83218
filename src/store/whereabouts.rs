//! Trays that are elsewhere than the book says, their order in a stack, and what stood beside them.

use rusqlite::{Connection, OptionalExtension, params};

use super::Store;
use super::act::Wrote;
use super::derive::{newest, placements};
use super::error::StoreError;
use super::facts::PLACEMENT;
use super::hands::dated;
use super::look::{in_room, once, part_of_walk};
use super::room::{place, usable_place};
use super::writer::Writer;
use crate::domain::beside::{Beside, Stay, beside};
use crate::domain::code::Code;
use crate::domain::hands::as_happened;
use crate::domain::id::{EntryId, PlaceId, TrayId, WalkId};
use crate::domain::power_cut::Span;
use crate::domain::refusal::Refusal;
use crate::domain::time::Instant;
use crate::domain::tray::TrayCard;
use crate::domain::whereabouts::{Missing, Sighting};

/// Trays found at other places, or at none. Each was moved some time after it was last known where the book has it.
pub(super) fn sight(w: &mut Writer<'_>, walk: Option<WalkId>, trays: &[Sighting]) -> Result<Wrote, StoreError> {
    let ids: Vec<TrayId> = trays.iter().map(|(tray, _)| *tray).collect();
    if ids.is_empty() {
        return Err(Refusal::new("sight_nothing", "Say which tray it is: scan its label, or choose it.").into());
    }
    once(&ids)?;
    let mut told = Vec::new();
    for (tray, found) in trays {
        in_room(w, *tray)?;
        let code = Code::tray(tray.0);
        let stood: Option<PlaceId> =
            w.conn.query_row("SELECT place_id FROM tray_now WHERE tray_id = ?", [tray], |row| row.get(0))?;
        if stood == *found {
            let sentence = match found {
                Some(_) => format!("{code} stands there by the book already: choose another tray or place."),
                None => format!("{code} is missing by the book already: say where it is when it is found."),
            };
            return Err(Refusal::new("sight_known", sentence).into());
        }
        told.push(match found {
            Some(place) => format!("{code} stands at {}", usable_place(w, *place, *tray)?),
            None => format!("{code} is missing: look for it"),
        });
        let since = last_known(w.conn, *tray)?.min(w.at());
        let at = w.seen.at;
        w.fact(PLACEMENT, &[("tray_id", tray), ("place_id", found), ("at", &at), ("since", &since)])?;
        w.touched.insert(*tray);
    }
    part_of_walk(w, walk)?;
    Ok(Wrote { sentence: format!("{}.", told.join("; ")), made: None, trays: ids })
}

/// The trays of a stack put on each other anew, named from the top.
pub(super) fn restack(w: &mut Writer<'_>, place: PlaceId, trays: &[TrayId]) -> Result<Wrote, StoreError> {
    once(trays)?;
    let stands: Vec<TrayId> = w
        .conn
        .prepare_cached("SELECT tray_id FROM tray_now WHERE place_id = ? ORDER BY layer DESC")?
        .query_map([place], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    if stands.len() != trays.len() || !trays.iter().all(|tray| stands.contains(tray)) {
        let sentence = "Other trays stand there than a moment ago: look again, then give their order.";
        return Err(Refusal::new("stack_other", sentence).into());
    }
    if stands == trays {
        return Err(Refusal::new("no_change", "They lie in that order already.").into());
    }
    let at = w.seen.at;
    for tray in trays.iter().rev() {
        w.fact(PLACEMENT, &[("tray_id", tray), ("place_id", &place), ("at", &at)])?;
        w.touched.insert(*tray);
    }
    let codes: Vec<String> = trays.iter().map(|tray| Code::tray(tray.0).to_string()).collect();
    Ok(Wrote { sentence: format!("From the top now: {}.", codes.join(", ")), made: None, trays: trays.to_vec() })
}

/// When a tray was last known where the book has it: put there, or lifted there. Of a missing one, before it was missed.
fn last_known(conn: &Connection, tray: TrayId) -> Result<Instant, StoreError> {
    if let Some(since) = missing_since(conn, tray)? {
        return Ok(since.0);
    }
    // index: placement_tray, look_tray
    Ok(conn
        .prepare_cached(
            "SELECT max(at) FROM (
               SELECT coalesce(p.at, e.at) AS at FROM placement p JOIN entry e ON e.id = p.entry_id
               WHERE p.tray_id = ?1 AND p.void_by IS NULL
               UNION ALL
               SELECT coalesce(l.seen_at, e.at) FROM look l JOIN entry e ON e.id = l.entry_id
               WHERE l.tray_id = ?1 AND l.void_by IS NULL AND l.skip IS NULL AND l.basis = 'tray')",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// Since when a missing tray may be gone, and when it was missed.
fn missing_since(conn: &Connection, tray: TrayId) -> Result<Option<(Instant, Instant)>, StoreError> {
    let Some(row) = newest::<i64>(conn, tray, 1, &placements("id"))? else { return Ok(None) };
    let (placed, noticed, since): (Option<PlaceId>, Instant, Option<Instant>) = conn
        .prepare_cached(
            "SELECT p.place_id, coalesce(p.at, e.at), p.since FROM placement p JOIN entry e ON e.id = p.entry_id WHERE p.id = ?",
        )?
        .query_row([row], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok(placed.is_none().then_some((since.unwrap_or(noticed), noticed)))
}

/// What is known of a missing tray.
pub(super) fn missing(conn: &Connection, tray: TrayCard) -> Result<Missing, StoreError> {
    let (since, noticed) =
        missing_since(conn, tray.id)?.ok_or_else(|| StoreError::unreadable("a missing tray's place", &tray.code()))?;
    let place = stays(conn, tray.id)?.pop().map_or_else(|| tray.place.clone(), |stay| stay.place);
    Ok(Missing { tray: TrayCard { place, ..tray }, since, noticed })
}

/// What an entry says of trays found elsewhere: the words without the times, and the time in which they were moved.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<(String, Span), StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT m.tray_id, r.name || ' ' || p.shelf || '-' || p.pos, m.since, coalesce(m.at, e.at)
         FROM placement m JOIN entry e ON e.id = m.entry_id
         LEFT JOIN place p ON p.id = m.place_id LEFT JOIN rack r ON r.id = p.rack_id WHERE m.entry_id = ? ORDER BY m.id",
    )?;
    let mut rows = select.query([entry])?;
    let (mut told, mut span): (Vec<String>, Option<Span>) = (Vec::new(), None);
    while let Some(row) = rows.next()? {
        let (tray, place): (TrayId, Option<String>) = (row.get(0)?, row.get(1)?);
        let (since, noticed): (Option<Instant>, Instant) = (row.get(2)?, row.get(3)?);
        let code = Code::tray(tray.0);
        told.push(match place {
            Some(place) => format!("{code} found at {place}"),
            None => format!("{code} not found at its place, missing"),
        });
        let from = since.unwrap_or(noticed);
        let from = span.map_or(from, |known| known.from.min(from));
        span = Some(Span { from, to: Some(noticed) });
    }
    let span = span.ok_or_else(|| StoreError::unreadable("an entry of trays found", &entry.0.to_string()))?;
    Ok((told.join("; "), span))
}

/// The new order of a stack in one sentence.
pub(super) fn restacked(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let rows: Vec<(TrayId, String)> = conn
        .prepare_cached(
            "SELECT m.tray_id, r.name || ' ' || p.shelf || '-' || p.pos FROM placement m
             JOIN place p ON p.id = m.place_id JOIN rack r ON r.id = p.rack_id WHERE m.entry_id = ? ORDER BY m.id DESC",
        )?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let place = rows.first().map_or("", |(_, place)| place.as_str());
    let codes: Vec<String> = rows.iter().map(|(tray, _)| Code::tray(tray.0).to_string()).collect();
    Ok(format!("the stack at {place} from the top now: {}", codes.join(", ")))
}

impl Store {
    /// What stood beside a tray, and when.
    pub fn beside(&self, tray: TrayId) -> Result<Vec<Beside>, StoreError> {
        beside_of(&self.conn, tray)
    }
}

/// The same in a view of the book that is open already.
pub(super) fn beside_of(conn: &Connection, tray: TrayId) -> Result<Vec<Beside>, StoreError> {
    among(conn, tray, &ever_near(conn, tray)?)
}

/// What of the trays now in the room stood beside a tray, and when.
pub(super) fn beside_here(conn: &Connection, tray: TrayId) -> Result<Vec<Beside>, StoreError> {
    let mut here = conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM tray_now WHERE tray_id = ?)")?;
    let mut others = Vec::new();
    for other in ever_near(conn, tray)? {
        if here.query_row([other], |row| row.get(0))? {
            others.push(other);
        }
    }
    among(conn, tray, &others)
}

/// When some trays stood beside one.
fn among(conn: &Connection, tray: TrayId, others: &[TrayId]) -> Result<Vec<Beside>, StoreError> {
    let mut found = Vec::new();
    for other in others {
        let letters: String = conn
            .prepare_cached(
                "SELECT c.letters FROM tray t JOIN sowing_now s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id WHERE t.id = ?",
            )?
            .query_row([other], |row| row.get(0))?;
        found.extend(stays(conn, *other)?.into_iter().map(|stay| (stay, letters.clone())));
    }
    Ok(beside(&stays(conn, tray)?, &found))
}

/// Trays that ever were put at a place near one where this tray was. Index: `placement_tray`, `placement_place`.
fn ever_near(conn: &Connection, tray: TrayId) -> Result<Vec<TrayId>, StoreError> {
    let near = conn
        .prepare_cached(
            "SELECT DISTINCT o.tray_id FROM (SELECT DISTINCT place_id FROM placement WHERE tray_id = ?1 AND void_by IS NULL) m
             CROSS JOIN place h ON h.id = m.place_id
             CROSS JOIN place p ON p.rack_id = h.rack_id AND abs(p.shelf - h.shelf) + abs(p.pos - h.pos) <= 1
             CROSS JOIN placement o ON o.place_id = p.id
             WHERE o.void_by IS NULL AND o.tray_id <> ?1 ORDER BY o.tray_id",
        )?
        .query_map([tray], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(near)
}

/// Where a tray stood and from when to when.
pub(super) fn stays(conn: &Connection, tray: TrayId) -> Result<Vec<Stay>, StoreError> {
    let written =
        conn.prepare_cached(&placements("id"))?.query_map([tray], dated::<i64>)?.collect::<Result<Vec<_>, _>>()?;
    let rows = as_happened(written, 1);
    let mut stays: Vec<Stay> = Vec::new();
    for row in rows {
        let at = row.seen.unwrap_or(row.typed);
        let found = conn
            .prepare_cached(
                "SELECT p.id, r.id, r.name, r.sort, p.shelf, p.pos, z.kind, p.stack, m.since FROM placement m
                 JOIN place p ON p.id = m.place_id JOIN rack r ON r.id = p.rack_id JOIN zone z ON z.id = p.zone_id WHERE m.id = ?",
            )?
            .query_row(params![row.row], |row| Ok((place(row, 0)?, row.get::<_, Option<Instant>>(8)?)))
            .optional()?;
        if let Some(before) = stays.last_mut().filter(|stay| stay.to.is_none()) {
            if found.as_ref().is_some_and(|(place, _)| place.id == before.place.id) {
                // put back onto its own stack
                continue;
            }
            before.to = Some(at);
        }
        if let Some((place, since)) = found {
            stays.push(Stay { tray, place, from: since.unwrap_or(at), to: None });
        }
    }
    Ok(stays)
}
