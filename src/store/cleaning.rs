//! Places where something bad stood: what made them so, and that they were cleaned.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::PLACE_CLEANED;
use super::room::known_place;
use super::suspect;
use super::whereabouts::stays;
use super::writer::Writer;
use crate::domain::beside::Stay;
use crate::domain::cleaning::{Event, ToClean, When, open};
use crate::domain::id::{EntryId, PlaceId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::room::Place;
use crate::domain::time::Instant;
use crate::domain::tray::Cleanup;

pub(super) fn clean(w: &mut Writer<'_>, places: &[PlaceId], with: &str) -> Result<Wrote, StoreError> {
    let with = with.trim();
    if with.is_empty() {
        return Err(Refusal::new("clean_with", "Say with what it was cleaned.").at("with").into());
    }
    let mut labels = Vec::new();
    for place in places.iter().collect::<BTreeSet<_>>() {
        labels.push(known_place(w.conn, *place)?.0);
        w.fact(PLACE_CLEANED, &[("place_id", place)])?;
    }
    if labels.is_empty() {
        return Err(Refusal::new("clean_none", "Say which place was cleaned.").at("places").into());
    }
    w.note(Some(with))?;
    Ok(Wrote::said(format!("{} cleaned with {with}.", labels.join(", "))))
}

/// What an entry says of places cleaned; with what is its note.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let places: Vec<PlaceId> = conn
        .prepare_cached("SELECT place_id FROM place_cleaned WHERE entry_id = ? ORDER BY id")?
        .query_map([entry], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let labels: Vec<String> =
        places.into_iter().map(|place| Ok(known_place(conn, place)?.0)).collect::<Result<_, StoreError>>()?;
    Ok(format!("cleaned: {}", labels.join(", ")))
}

/// Places to be cleaned, as one walks.
pub(super) fn to_clean(conn: &Connection) -> Result<Vec<ToClean>, StoreError> {
    let mut places: BTreeMap<PlaceId, (Place, Vec<Event>)> = BTreeMap::new();
    for tray in bad(conn)? {
        for (place, event) in events(conn, tray)? {
            places.entry(place.id).or_insert_with(|| (place, Vec::new())).1.push(event);
        }
    }
    let mut found = Vec::new();
    for (id, (place, mut events)) in places {
        events.extend(cleaned(conn, id)?.map(Event::Cleaned));
        found.extend(open(&events).map(|(since, tray)| ToClean { place, tray, since }));
    }
    found.sort_by_key(|dirty| dirty.place.walk_order());
    Ok(found)
}

/// Trays that showed something bad, or of which it was asked. Index: `look_bad`, `loss_bad`.
fn bad(conn: &Connection) -> Result<Vec<TrayId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT tray_id FROM look WHERE void_by IS NULL
               AND (mist = 'stands' OR verdict IN ('mould', 'rot', 'mould_or_rot', 'hairs_and_mould'))
             UNION
             SELECT tray_id FROM loss WHERE void_by IS NULL AND (cleanup IS NOT NULL OR reason IN ('mould', 'rot'))",
        )?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// What a tray did to the places it left: where it was thrown out the book asked, elsewhere nobody did.
fn events(conn: &Connection, tray: TrayId) -> Result<Vec<(Place, Event)>, StoreError> {
    let mut stays = stays(conn, tray)?;
    let mut events = Vec::new();
    if let Some((when, cleanup)) = thrown(conn, tray)?
        && let Some(last) = stays.pop()
    {
        events.extend(cleanup.map(|cleanup| match cleanup {
            Cleanup::Both => (last.place, Event::Cleaned(when)),
            Cleanup::Bagged | Cleanup::Neither => (last.place, Event::Left(when, tray)),
        }));
    }
    let since = suspect::bad_since(conn, tray)?.into_iter().chain(part_lost(conn, tray)?).min();
    let Some(since) = since else { return Ok(events) };
    for Stay { place, to, .. } in stays {
        if let Some(to) = to.filter(|to| *to >= since) {
            events.push((place, Event::Left((to, left_by(conn, tray, to)?), tray)));
        }
    }
    Ok(events)
}

/// When a tray was thrown out and what was said of bag and place; older books did not ask. Index: `loss_tray`.
fn thrown(conn: &Connection, tray: TrayId) -> Result<Option<(When, Option<Cleanup>)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT coalesce(e.seen_at, e.at), l.entry_id, l.cleanup FROM loss l JOIN entry e ON e.id = l.entry_id
             JOIN stage s ON s.entry_id = l.entry_id AND s.tray_id = l.tray_id
             WHERE l.tray_id = ? AND l.void_by IS NULL AND s.stage = 'thrown' AND s.void_by IS NULL
             ORDER BY l.id DESC LIMIT 1",
        )?
        .query_row([tray], |row| Ok(((row.get(0)?, row.get(1)?), row.get(2)?)))
        .optional()?)
}

/// When the first of a tray was lost to mould or rot. Index: `loss_tray`.
fn part_lost(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT min(coalesce(e.seen_at, e.at)) FROM loss l JOIN entry e ON e.id = l.entry_id
             WHERE l.tray_id = ? AND l.void_by IS NULL AND l.reason IN ('mould', 'rot')",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// The entry by which a tray left its place. Index: `placement_tray`.
fn left_by(conn: &Connection, tray: TrayId, at: Instant) -> Result<EntryId, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(m.entry_id) FROM placement m JOIN entry e ON e.id = m.entry_id
             WHERE m.tray_id = ? AND m.void_by IS NULL AND coalesce(m.at, e.at) = ?",
        )?
        .query_row(params![tray, at], |row| row.get(0))?)
}

/// When a place was cleaned last. Index: `place_cleaned_place`.
fn cleaned(conn: &Connection, place: PlaceId) -> Result<Option<When>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT coalesce(e.seen_at, e.at), c.entry_id FROM place_cleaned c JOIN entry e ON e.id = c.entry_id
             WHERE c.place_id = ? AND c.void_by IS NULL ORDER BY 1 DESC, 2 DESC LIMIT 1",
        )?
        .query_row([place], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?)
}
