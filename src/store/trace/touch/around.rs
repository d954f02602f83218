//! What was around trays while they stood: their places, the trays beside them, the air of their zones.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

use super::used::readings;
use crate::domain::code::Code;
use crate::domain::id::{SensorId, TrayId};
use crate::domain::reading::{Reading, STANDS_FOR, damp};
use crate::domain::room::Zone;
use crate::domain::time::{Instant, Now};
use crate::domain::trace::touch::{Section, Touch};
use crate::store::error::StoreError;
use crate::store::{air, room, whereabouts};

/// From when to when; no end: still.
type Span = (Instant, Option<Instant>);

/// Where trays stood and from when to when; those that came and went together in one line each place.
pub(super) fn places(conn: &Connection, now: Now, trays: &[TrayId]) -> Result<Vec<Touch>, StoreError> {
    let mut stood: BTreeMap<Span, (BTreeSet<String>, BTreeSet<String>)> = BTreeMap::new();
    for tray in trays {
        let left = left(conn, *tray)?;
        for stay in whereabouts::stays(conn, *tray)? {
            let (places, codes) = stood.entry((stay.from, stay.to.or(left))).or_default();
            places.insert(stay.place.label());
            codes.insert(Code::tray(tray.0).to_string());
        }
    }
    let told = stood.into_iter().map(|((from, to), (places, of))| {
        let places = places.into_iter().collect::<Vec<_>>().join(", ");
        let still = if to.is_none() { ", and still there" } else { "" };
        let words = format!("stood at {places}{still}");
        Touch { until: to.map(|to| now.local(to)), of, ..Touch::worked_out(Section::Places, now.local(from), words) }
    });
    Ok(told.collect())
}

/// When a tray left the room. Index: `stage_tray`.
fn left(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(coalesce(s.at, e.seen_at, e.at)) FROM stage s JOIN entry e ON e.id = s.entry_id
             WHERE s.tray_id = ? AND s.void_by IS NULL AND s.stage IN ('cut', 'left_alive', 'thrown')",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// Other trays that stood beside these, each once; one on which fuzz stood or mould was found says so.
pub(super) fn neighbours(conn: &Connection, now: Now, trays: &[TrayId]) -> Result<Vec<Touch>, StoreError> {
    let mut found: BTreeMap<TrayId, Touch> = BTreeMap::new();
    for tray in trays {
        let left = left(conn, *tray)?;
        for beside in whereabouts::beside_of(conn, *tray)? {
            let other_left = self::left(conn, beside.tray)?;
            let to = [beside.to, left, other_left].into_iter().flatten().min();
            // what had left before the other came was never beside it
            if trays.contains(&beside.tray) || to.is_some_and(|to| to <= beside.from) {
                continue;
            }
            let (from, to) = (now.local(beside.from), to.map(|to| now.local(to)));
            let touch = match found.entry(beside.tray) {
                std::collections::btree_map::Entry::Occupied(known) => known.into_mut(),
                std::collections::btree_map::Entry::Vacant(new) => {
                    let bad =
                        if bad(conn, beside.tray)? { "; mould, rot or fuzz that stood was seen on it" } else { "" };
                    let words = format!("{} {} stood beside{bad}", beside.letters, Code::tray(beside.tray.0));
                    new.insert(Touch { until: to, ..Touch::worked_out(Section::Neighbours, from, words) })
                }
            };
            touch.at = touch.at.min(from);
            touch.until = touch.until.zip(to).map(|(known, to)| known.max(to));
            touch.of.insert(Code::tray(tray.0).to_string());
        }
    }
    Ok(found.into_values().collect())
}

/// Index: `look_bad`.
fn bad(conn: &Connection, tray: TrayId) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM look WHERE tray_id = ? AND void_by IS NULL
               AND (mist = 'stands' OR verdict IN ('mould', 'rot', 'mould_or_rot', 'hairs_and_mould')))",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// The air of the zones that trays stood in, sensor by sensor, for as long as any of them stood there.
pub(super) fn air(conn: &Connection, now: Now, trays: &[TrayId]) -> Result<Vec<Touch>, StoreError> {
    let units = room::units(conn)?;
    let mut zones: BTreeMap<Zone, Vec<(Instant, Instant, BTreeSet<String>)>> = BTreeMap::new();
    for tray in trays {
        let left = left(conn, *tray)?.unwrap_or_else(|| now.instant());
        for stay in whereabouts::stays(conn, *tray)? {
            let to = stay.to.map_or(left, |to| to.min(left));
            if to > stay.from {
                let of = BTreeSet::from([Code::tray(tray.0).to_string()]);
                zones.entry(stay.place.zone).or_default().push((stay.from, to, of));
            }
        }
    }
    let mut touches = Vec::new();
    for (zone, spans) in zones {
        for (from, to, of) in merged(spans) {
            for (sensor, name) in sensors(conn, zone)? {
                let read = air::series(conn, sensor, Instant(from.0 - STANDS_FOR), to)?;
                let within: Vec<&Reading> = read.iter().filter(|reading| reading.at >= from).collect();
                let (Some(low), Some(high)) =
                    (within.iter().map(|r| r.temp_dc).min(), within.iter().map(|r| r.temp_dc).max())
                else {
                    continue;
                };
                let mut words = format!(
                    "{}, {name}: {}, {} to {}",
                    zone.shown(),
                    readings(i64::try_from(within.len()).unwrap_or(0)),
                    units.temperature(low),
                    units.temperature(high)
                );
                let damp_air: Vec<i64> = within.iter().filter_map(|reading| reading.rh_pm).collect();
                if let (Some(dry), Some(damp)) = (damp_air.iter().min(), damp_air.iter().max()) {
                    words = format!("{words}, {} to {} %", dry / 10, damp / 10);
                }
                let weather = damp(&read, from, to);
                if weather.known > 0 {
                    words = format!("{words}; mould weather {}", weather.words());
                }
                touches.push(Touch {
                    until: Some(now.local(to)),
                    of: of.clone(),
                    ..Touch::worked_out(Section::Air, now.local(from), words)
                });
            }
        }
    }
    Ok(touches)
}

/// Spans that touch each other become one.
fn merged(mut spans: Vec<(Instant, Instant, BTreeSet<String>)>) -> Vec<(Instant, Instant, BTreeSet<String>)> {
    spans.sort_by_key(|(from, to, _)| (*from, *to));
    let mut all: Vec<(Instant, Instant, BTreeSet<String>)> = Vec::new();
    for (from, to, of) in spans {
        match all.last_mut() {
            Some((_, end, codes)) if from <= *end => {
                *end = to.max(*end);
                codes.extend(of);
            }
            _ => all.push((from, to, of)),
        }
    }
    all
}

/// Also those that are out of use by now.
fn sensors(conn: &Connection, zone: Zone) -> Result<Vec<(SensorId, String)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT s.id, s.name FROM sensor s JOIN zone z ON z.id = s.zone_id WHERE z.kind = ? ORDER BY s.name",
        )?
        .query_map([zone], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}
