//! What is known of the suspects of the room, and which trays stand too near to something bad.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};

use super::{events, written};
use crate::domain::id::{SowingId, TrayId};
use crate::domain::look::Mist;
use crate::domain::suspect::{
    AtRisk, CLOSE_DAYS, CloseLook, Decided, Event, Near, NextLook, Reason, Suspect, counting, evidence,
};
use crate::domain::time::{Day, Instant};
use crate::domain::tray::TrayCard;
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::whereabouts::{beside_here, stays};

/// How long before its first fuzz a tray may have given something to those beside it.
const BEFORE: chrono::Duration = chrono::Duration::days(1);

/// Every tray in the room and its sowing.
type Room = BTreeMap<TrayId, SowingId>;

/// What is known of every suspect among the trays of the room; what was found near them is noted on all of them.
pub(in crate::store) fn read(conn: &Connection, cards: &mut [&mut TrayCard]) -> Result<Vec<Suspect>, StoreError> {
    let room: Room = cards.iter().map(|card| (card.id, card.sowing)).collect();
    let mut suspects = Vec::new();
    for card in cards.iter_mut().filter(|card| card.doubtful()) {
        if let Some(suspect) = one(conn, card, &room)? {
            card.next_look = Some(suspect.next);
            card.doubt = Some(suspect.reason);
            suspects.push(suspect);
        }
    }
    let mut close = close_looks(conn, &room)?;
    for card in cards.iter_mut() {
        card.close_look = close.remove(&card.id);
    }
    Ok(suspects)
}

/// Whether a tray is to be looked at closely on a day because of what was found near it.
pub(in crate::store) fn closely(conn: &Connection, trays: &[TrayId], day: Day) -> Result<Option<TrayId>, StoreError> {
    if trays.is_empty() {
        return Ok(None);
    }
    let room: Room = conn
        .prepare_cached("SELECT n.tray_id, t.sowing_id FROM tray_now n CROSS JOIN tray t ON t.id = n.tray_id")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let close = close_looks(conn, &room)?;
    Ok(trays.iter().copied().find(|tray| close.get(tray).is_some_and(|close| day <= close.until)))
}

/// `None` where the derived rows say what the facts do not: `check --rebuild` mends that.
fn one(conn: &Connection, card: &TrayCard, room: &Room) -> Result<Option<Suspect>, StoreError> {
    let past = events(written(conn, card.id)?);
    let (counts, lost) = (counting(&past), lost(conn, card.id)?);
    let first = counts.first().map(|found| found.at).into_iter().chain(lost.map(|(_, at)| at)).min();
    let Some(since) = first else { return Ok(None) };
    let newest = past.iter().rev().find_map(|event| match event {
        Event::Fuzz(found) => Some(*found),
        Event::Cleared(_) => None,
    });
    // later looks at other things do not mist it
    let untested = newest.filter(|found| found.mist == Mist::Untested && !found.named()).map(|found| found.at);
    let seen = untested.map_or_else(|| looked(conn, card.id).map(|at| at.unwrap_or(since).max(since)), Ok)?;
    let decided = decided(conn, card.id)?;
    let put_off = decided.iter().rfind(|decided| decided.at >= seen).and_then(|watch| Some((watch.at, watch.until?)));
    let next = match put_off {
        Some((from, by)) => NextLook { from, by },
        None => NextLook::after(seen, untested.is_some()),
    };
    Ok(Some(Suspect {
        tray: card.id,
        reason: Reason::of(&counts, lost.is_some()),
        since,
        next,
        seed: seed(conn, card.sowing)?,
        risk: near(conn, (card.id, card.sowing), since, room, true)?,
        decided: decided.last().cloned(),
        bar: evidence(&past, lost.is_some()).err().map(|refusal| refusal.sentence),
    }))
}

/// When something was seen last on the lifted tray. Index: `look_tray`.
fn looked(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(coalesce(l.seen_at, e.at)) FROM look l JOIN entry e ON e.id = l.entry_id
             WHERE l.tray_id = ? AND l.void_by IS NULL AND l.skip IS NULL AND l.basis = 'tray'
             AND (l.roots IS NOT NULL OR l.stand IS NOT NULL OR l.fuzz OR l.faults)",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// When a tray, or part of it, was lost to mould or rot last. Index: `loss_tray`.
fn lost(conn: &Connection, tray: TrayId) -> Result<Option<(Day, Instant)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT l.day, coalesce(e.seen_at, e.at) FROM loss l JOIN entry e ON e.id = l.entry_id
             WHERE l.tray_id = ? AND l.void_by IS NULL AND l.reason IN ('mould', 'rot') ORDER BY l.day DESC, l.id DESC LIMIT 1",
        )?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?)
}

/// What was decided about a tray, the oldest first. Index: `decision_tray`.
fn decided(conn: &Connection, tray: TrayId) -> Result<Vec<Decided>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT d.what, p.initials, coalesce(e.seen_at, e.at), d.next_at FROM decision d
             JOIN entry e ON e.id = d.entry_id JOIN person p ON p.id = d.person_id
             WHERE d.tray_id = ? AND d.void_by IS NULL ORDER BY d.id",
        )?
        .query_map([tray], |row| {
            Ok(Decided { what: row.get(0)?, who: row.get(1)?, at: row.get(2)?, until: row.get(3)? })
        })?
        .collect::<Result<_, _>>()?)
}

/// Codes of the lots the seed of a batch came from. Index: `seed_move_sowing`.
fn seed(conn: &Connection, sowing: SowingId) -> Result<Vec<String>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT l.code FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
             WHERE m.sowing_id = ?1 AND m.void_by IS NULL
             UNION SELECT l.code FROM sowing s JOIN seed_lot l ON l.id = s.before_lot_id WHERE s.id = ?1 ORDER BY 1",
        )?
        .query_map([sowing], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// The trays of the room that something on a tray may have come to since then, or come from; by its water only where that
/// is asked for.
fn near(
    conn: &Connection,
    (tray, sowing): (TrayId, SowingId),
    since: Instant,
    room: &Room,
    water: bool,
) -> Result<Vec<AtRisk>, StoreError> {
    let mut found: BTreeMap<TrayId, Vec<Near>> = BTreeMap::new();
    let mut note = |tray: TrayId, near: Near| {
        let known = found.entry(tray).or_default();
        if !known.contains(&near) {
            known.push(near);
        }
    };
    let own = stays(conn, tray)?;
    for beside in beside_here(conn, tray)? {
        if beside.to.is_none_or(|to| to >= since) {
            let stacked = own.iter().any(|stay| stay.place.id == beside.place.id);
            note(beside.tray, if stacked { Near::Stack } else { Near::Beside });
        }
    }
    for other in room.iter().filter(|(other, batch)| **batch == sowing && **other != tray) {
        note(*other.0, Near::Batch);
    }
    if water {
        for other in watered_with(conn, tray, since)?.into_iter().filter(|other| room.contains_key(other)) {
            note(other, Near::Water);
        }
    }
    let mut risk: Vec<AtRisk> = found
        .into_iter()
        .map(|(tray, mut near)| {
            near.sort_unstable();
            AtRisk { tray, near }
        })
        .collect();
    risk.sort_by(|a, b| (&a.near, a.tray).cmp(&(&b.near, b.tray)));
    Ok(risk)
}

/// Trays watered in one go with a tray since it was sown, from some days before that on. Indexes: `water_tray_tray`, `look_tray`.
fn watered_with(conn: &Connection, tray: TrayId, since: Instant) -> Result<Vec<TrayId>, StoreError> {
    let from = day_sql(since.0.date_naive() - chrono::Duration::days(CLOSE_DAYS));
    Ok(conn
        .prepare_cached(
            "SELECT o.tray_id FROM water_tray t JOIN water w ON w.id = t.water_id CROSS JOIN water_tray o ON o.water_id = w.id
             WHERE t.tray_id = ?1 AND w.day >= ?2 AND w.void_by IS NULL AND o.tray_id <> ?1
             AND NOT EXISTS (SELECT 1 FROM sowing s WHERE s.entry_id = w.entry_id)
             UNION
             SELECT o.tray_id FROM look l CROSS JOIN look o ON o.entry_id = l.entry_id
             WHERE l.tray_id = ?1 AND l.day >= ?2 AND l.watered AND l.void_by IS NULL
             AND o.watered AND o.void_by IS NULL AND o.tray_id <> ?1",
        )?
        .query_map(params![tray, from], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// Which trays of the room stand, or stood, too near to what was found in the last days, on trays in the room or gone.
fn close_looks(conn: &Connection, room: &Room) -> Result<BTreeMap<TrayId, CloseLook>, StoreError> {
    // the day of today is not known here; whoever asks compares with it
    let from: Option<String> = conn
        .prepare_cached("SELECT date(day, ?) FROM entry WHERE id = (SELECT max(id) FROM entry)")?
        .query_row([format!("-{CLOSE_DAYS} days")], |row| row.get(0))
        .optional()?;
    // index: look_fuzz_day, loss_day
    let sources: Vec<(TrayId, SowingId)> = conn
        .prepare_cached(
            "SELECT DISTINCT t.id, t.sowing_id FROM (
               SELECT tray_id FROM look WHERE fuzz = 1 AND void_by IS NULL AND day >= ?1
               UNION ALL SELECT tray_id FROM loss WHERE void_by IS NULL AND day >= ?1 AND reason IN ('mould', 'rot')) f
             CROSS JOIN tray t ON t.id = f.tray_id",
        )?
        .query_map([&from], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut close: BTreeMap<TrayId, CloseLook> = BTreeMap::new();
    for (source, sowing) in sources {
        let counts = counting(&events(written(conn, source)?));
        let (first, lost) = (counts.first().map(|found| found.at), lost(conn, source)?);
        let staying = counts.into_iter().filter(|found| found.stays());
        let mut finds: Vec<(Day, Instant, Reason)> =
            staying.map(|found| (found.day, found.at, Reason::of(&[found], false))).collect();
        finds.extend(lost.map(|(day, at)| (day, at, Reason::Lost)));
        finds.retain(|(day, ..)| from.as_ref().is_some_and(|from| day_sql(*day) >= *from));
        for (day, at, reason) in finds {
            // it may have been set apart for its fuzz before that was named, or moved on the evening before
            let since = Instant(first.map_or(at, |first| first.min(at)).0 - BEFORE);
            for risk in near(conn, (source, sowing), since, room, false)? {
                let Some(nearest) = risk.near.first().copied() else { continue };
                let new = CloseLook::of(day, reason, source, nearest);
                let later = |known: &CloseLook| (known.until, new.near) < (new.until, known.near);
                if close.get(&risk.tray).is_none_or(later) {
                    close.insert(risk.tray, new);
                }
            }
        }
    }
    Ok(close)
}
