//! Sensors, what they read, and how damp it was.

mod file;

use std::collections::BTreeMap;

use chrono::{Duration, TimeZone};
use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};

use super::Store;
use super::act::Wrote;
use super::bands;
use super::chain::hex;
use super::cold;
use super::error::StoreError;
use super::person::saved;
use super::revision::fresh;
use super::room::{units, zone_id};
use super::writer::{Cell, Writer};
use crate::domain::id::{EntryId, SensorId, SowingId, StoreId, TrayId};
use crate::domain::reading::{Damp, NewReadings, Reading, STANDS_FOR, SensorAir, Spot, damp};
use crate::domain::refusal::Refusal;
use crate::domain::room::Zone;
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant, Now, day_number};

/// Days of a batch for which the weather is worked out.
const DAYS: i64 = 60;

pub use file::PART;
pub(super) use file::{Staged, import};

/// The digest by which a file is known again.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn instant(at_s: i64) -> rusqlite::Result<Instant> {
    let out = rusqlite::Error::IntegralValueOutOfRange(0, at_s);
    chrono::DateTime::from_timestamp(at_s, 0).map(Instant).ok_or(out)
}

impl Store {
    /// Every sensor of a zone that is in use with its newest reading, and how damp the last day and week were.
    pub fn air(&self, now: Now) -> Result<Vec<SensorAir>, StoreError> {
        Ok(self.sensors(now)?.into_iter().filter(|sensor| sensor.spot.humid()).collect())
    }

    /// The same with those of cold stores, after those of zones; mould weather is of zones only.
    pub fn sensors(&self, now: Now) -> Result<Vec<SensorAir>, StoreError> {
        sensors(&self.conn, now)
    }

    /// The cold stores in use by name.
    pub fn cold_names(&self) -> Result<Vec<(StoreId, String)>, StoreError> {
        Ok(self
            .conn
            .prepare_cached("SELECT id, name FROM store WHERE NOT retired ORDER BY name")?
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?)
    }

    /// Mould weather on each day of a batch, in the zones its trays stood in: of all trays the worst.
    pub fn damp_days(&self, sowing: SowingId, now: Now) -> Result<Vec<(i64, Damp)>, StoreError> {
        damp_days(&self.conn, sowing, now)
    }

    /// Another sensor that a file was read for, and when.
    pub fn file_read_for_another(&self, sensor: SensorId, sha256: &str) -> Result<Option<(String, Day)>, StoreError> {
        // index: reading_file_once
        Ok(self
            .conn
            .prepare_cached(
                "SELECT s.name, e.day FROM sensor s CROSS JOIN reading_file f ON f.sensor_id = s.id AND f.sha256 = ?2
                 JOIN entry e ON e.id = f.entry_id WHERE s.id <> ?1 AND f.void_by IS NULL LIMIT 1",
            )?
            .query_row(params![sensor, sha256], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?)
    }

    /// When a sensor's file was read, if it was, and not in parts: of those some may be missing yet.
    pub fn file_read(&self, sensor: SensorId, sha256: &str) -> Result<Option<Day>, StoreError> {
        file_read(&self.conn, sensor, sha256)
    }
}

fn sensor_name(name: &str) -> Result<&str, StoreError> {
    let name = name.trim();
    if (1..=60).contains(&name.chars().count()) {
        Ok(name)
    } else {
        Err(Refusal::new("sensor", "A sensor's name has 1 to 60 characters.").at("name").into())
    }
}

pub(super) fn add(w: &mut Writer<'_>, name: &str, at: Spot) -> Result<Wrote, StoreError> {
    let name = sensor_name(name)?;
    let (column, other, row, said) = match at {
        Spot::Zone(zone) => {
            ("zone_id", "store_id", zone_id(w.conn, zone)?, format!("{name} measures the air, {}.", zone.shown()))
        }
        Spot::Store(store) => {
            let said = format!("{name} measures in {}.", cold::known(w.conn, store)?);
            ("store_id", "zone_id", store.0, said)
        }
    };
    // one that has read elsewhere stays there, and its name with it
    let unread = "NOT EXISTS (SELECT 1 FROM reading r WHERE r.sensor_id = sensor.id)";
    let free = format!("NOT by_hand AND {other} IS NULL AND ({column} = {row} OR {unread})");
    let cells: [Cell<'_>; 2] = [("name", &name), (column, &row)];
    Ok(Wrote::said(said).made(w.make("sensor", 1, &free, &cells)?))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    sensor: SensorId,
    name: &str,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "sensor", sensor.0, rev)?;
    let name = sensor_name(name)?;
    saved(w.edit("sensor", sensor.0, &[("name", &name), ("retired", &retired)])?)?;
    Ok(Wrote::said(format!("{name}: saved.")).made(sensor.0))
}

/// What a sensor measures.
fn spot(conn: &Connection, sensor: SensorId) -> Result<Option<Spot>, StoreError> {
    let found: Option<(Option<Zone>, Option<StoreId>)> = conn
        .prepare_cached("SELECT z.kind, s.store_id FROM sensor s LEFT JOIN zone z ON z.id = s.zone_id WHERE s.id = ?")?
        .query_row([sensor], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    Ok(found.and_then(|(zone, store)| zone.map(Spot::Zone).or(store.map(Spot::Store))))
}

/// The name of a sensor in use.
fn known(conn: &Connection, sensor: SensorId) -> Result<String, StoreError> {
    conn.prepare_cached("SELECT name FROM sensor WHERE id = ? AND NOT retired")?
        .query_row([sensor], |row| row.get(0))
        .optional()?
        .ok_or_else(|| Refusal::new("sensor_unknown", "This sensor is not in use here: open the list again.").into())
}

/// One reading by hand: a file of one row.
pub(super) fn read_by_hand(w: &mut Writer<'_>, sensor: SensorId, reading: Reading) -> Result<Wrote, StoreError> {
    let name = known(w.conn, sensor)?;
    let Reading { at, temp_dc, rh_pm } = reading;
    let said =
        rh_pm.map_or_else(|| format!("by hand, {at}, {temp_dc}"), |rh| format!("by hand, {at}, {temp_dc}, {rh}"));
    let (file, sha256) = ("by hand".to_string(), digest(said.as_bytes()));
    file::put(w, &NewReadings { sensor, file, sha256, part: None, readings: vec![reading], map: None })?;
    let units = units(w.conn)?;
    let outside = bands::read(w.conn)?.0.air_outside(&reading, units);
    let outside = if outside.is_empty() { String::new() } else { format!(" {}.", outside.join("; ")) };
    let told: Vec<String> =
        [reading.words(units), reading.worked_out(units)].into_iter().filter(|part| !part.is_empty()).collect();
    Ok(Wrote::said(format!("{name}: {}.{outside}", told.join("; "))))
}

fn file_read(conn: &Connection, sensor: SensorId, sha256: &str) -> Result<Option<Day>, StoreError> {
    // index: reading_file_once
    Ok(conn
        .prepare_cached(
            "SELECT e.day FROM reading_file f JOIN entry e ON e.id = f.entry_id
             WHERE f.sensor_id = ? AND f.sha256 = ? AND f.void_by IS NULL AND f.part IS NULL",
        )?
        .query_row(params![sensor, sha256], |row| row.get(0))
        .optional()?)
}

/// A reading from a row of its moment and figures.
fn reading(row: &rusqlite::Row<'_>) -> rusqlite::Result<Reading> {
    Ok(Reading { at: instant(row.get(0)?)?, temp_dc: row.get(1)?, rh_pm: row.get(2)? })
}

/// What a sensor read between two moments, in the order of time. Index: the table's own key.
pub(super) fn series(
    conn: &Connection,
    sensor: SensorId,
    from: Instant,
    to: Instant,
) -> Result<Vec<Reading>, StoreError> {
    let readings = conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading r JOIN reading_file f ON f.id = r.file_id
             WHERE r.sensor_id = ? AND r.at_s BETWEEN ? AND ? AND f.void_by IS NULL
             ORDER BY r.at_s",
        )?
        .query_map(params![sensor, from.0.timestamp(), to.0.timestamp()], reading)?
        .collect::<Result<_, _>>()?;
    Ok(readings)
}

fn newest(conn: &Connection, sensor: SensorId) -> Result<Option<Reading>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading r JOIN reading_file f ON f.id = r.file_id
             WHERE r.sensor_id = ? AND f.void_by IS NULL ORDER BY r.at_s DESC LIMIT 1",
        )?
        .query_row([sensor], reading)
        .optional()?)
}

/// The warmest that any zone's sensor read between two moments, and at the first of them.
pub(super) fn warmest(conn: &Connection, from_s: i64, to_s: i64) -> Result<Option<i64>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(r.temp_dc) FROM sensor s CROSS JOIN reading r ON r.sensor_id = s.id AND r.at_s BETWEEN ?1 AND ?2
             JOIN reading_file f ON f.id = r.file_id WHERE s.zone_id NOT NULL AND f.void_by IS NULL",
        )?
        .query_row(params![from_s - STANDS_FOR.num_seconds(), to_s], |row| row.get(0))?)
}

/// A sensor's row: id, rev, name, spot, map.
type Row = (SensorId, i64, String, Spot, Option<String>);

/// Sensors in use, or with those that were.
fn rows(conn: &Connection, retired: bool) -> Result<Vec<Row>, StoreError> {
    let rows = conn
        .prepare_cached(
            "SELECT s.id, s.rev, s.name, z.kind, s.store_id, s.csv_map FROM sensor s LEFT JOIN zone z ON z.id = s.zone_id
             WHERE (NOT s.retired OR ?) AND NOT s.by_hand ORDER BY s.store_id, z.id, s.name",
        )?
        .query_map([retired], |row| {
            let store: Option<StoreId> = row.get(4)?;
            let spot = store.map_or_else(|| row.get(3).map(Spot::Zone), |store| Ok(Spot::Store(store)))?;
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, spot, row.get(5)?))
        })?
        .collect::<Result<_, _>>()?;
    Ok(rows)
}

fn sensors(conn: &Connection, now: Now) -> Result<Vec<SensorAir>, StoreError> {
    let until = now.instant();
    let before = |hours| Instant(until.0 - Duration::hours(hours));
    let (day, week) = (before(24), before(24 * 7));
    rows(conn, false)?
        .into_iter()
        .map(|(id, rev, name, spot, map)| {
            let readings =
                if spot.humid() { series(conn, id, Instant(week.0 - STANDS_FOR), until)? } else { Vec::new() };
            Ok(SensorAir {
                id,
                rev,
                name,
                spot,
                // a map of a later issue is no map
                map: map.and_then(|text| serde_json::from_str(&text).ok()),
                newest: newest(conn, id)?,
                day: damp(&readings, day, until),
                week: damp(&readings, week, until),
            })
        })
        .collect()
}

/// Where a tray stood from when on: none while it stood nowhere.
type Stood = Vec<(Instant, Option<Zone>)>;

/// The zones of a batch's trays over time. Indexes: `tray_sowing`, `placement_tray`.
fn stood(conn: &Connection, sowing: SowingId) -> Result<BTreeMap<TrayId, Stood>, StoreError> {
    let mut trays: BTreeMap<TrayId, Stood> = BTreeMap::new();
    let mut select = conn.prepare_cached(
        "SELECT p.tray_id, coalesce(p.at, e.seen_at, e.at), z.kind FROM tray t CROSS JOIN placement p ON p.tray_id = t.id
         JOIN entry e ON e.id = p.entry_id LEFT JOIN place l ON l.id = p.place_id LEFT JOIN zone z ON z.id = l.zone_id
         WHERE t.sowing_id = ? AND p.void_by IS NULL",
    )?;
    let mut found = select.query([sowing])?;
    while let Some(row) = found.next()? {
        trays.entry(row.get(0)?).or_default().push((row.get(1)?, row.get(2)?));
    }
    for stood in trays.values_mut() {
        stood.sort_by_key(|(at, _)| *at);
    }
    Ok(trays)
}

fn damp_days(conn: &Connection, sowing: SowingId, now: Now) -> Result<Vec<(i64, Damp)>, StoreError> {
    let sown: Day =
        conn.prepare_cached("SELECT day FROM sowing_now WHERE id = ?")?.query_row([sowing], |row| row.get(0))?;
    let today = now.day();
    let first = sown.max(today - Duration::days(DAYS));
    let midnight = |day: Day| {
        let local = day.and_hms_opt(0, 0, 0).and_then(|at| now.0.offset().from_local_datetime(&at).single());
        local.map(|at| Instant(at.to_utc()))
    };
    let Some(begin) = midnight(first) else { return Ok(Vec::new()) };
    let mut zones: BTreeMap<Zone, Vec<Vec<Reading>>> = BTreeMap::new();
    for (id, _, _, spot, _) in rows(conn, true)? {
        let Some(zone) = spot.zone() else { continue };
        let readings = series(conn, id, Instant(begin.0 - STANDS_FOR), now.instant())?;
        if !readings.is_empty() {
            zones.entry(zone).or_default().push(readings);
        }
    }
    if zones.is_empty() {
        return Ok(Vec::new());
    }
    // trays that stood in the same zones at the same times count once
    let mut ways: Vec<Stood> = stood(conn, sowing)?.into_values().collect();
    ways.sort();
    ways.dedup();
    let mut days = Vec::new();
    let mut day = first;
    while day <= today {
        let next = day + Duration::days(1);
        if let (Some(from), Some(until)) = (midnight(day), midnight(next)) {
            let until = until.min(now.instant());
            let worst = ways.iter().map(|way| of_way(way, &zones, from, until)).max().unwrap_or_default();
            if worst.known > 0 {
                days.push((day_number(sown, day), worst));
            }
        }
        day = next;
    }
    Ok(days)
}

/// The mould weather around one tray between two moments.
fn of_way(way: &Stood, zones: &BTreeMap<Zone, Vec<Vec<Reading>>>, from: Instant, until: Instant) -> Damp {
    let mut sum = Damp::default();
    for (n, (at, zone)) in way.iter().enumerate() {
        let left = way.get(n + 1).map_or(until, |(next, _)| (*next).min(until));
        let came = (*at).max(from);
        let Some(sensors) = zone.and_then(|zone| zones.get(&zone)).filter(|_| came < left) else { continue };
        let worst = sensors.iter().map(|readings| damp(readings, came, left)).max().unwrap_or_default();
        sum = Damp { minutes: sum.minutes + worst.minutes, known: sum.known + worst.known };
    }
    sum
}

/// What an entry says of readings of a zone.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (file, name, rows, zone, part): (String, String, i64, Zone, Option<i64>) = conn
        .prepare_cached(
            "SELECT f.name, s.name, f.rows, z.kind, f.part FROM reading_file f JOIN sensor s ON s.id = f.sensor_id
             JOIN zone z ON z.id = s.zone_id WHERE f.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    if rows > 1 || file != "by hand" {
        let readings = counted(usize::try_from(rows).unwrap_or(0), "reading");
        return Ok(format!("air read from {file}{}: {readings} of {name}, {}", part_words(part), zone.shown()));
    }
    let reading = one_reading(conn, entry)?;
    Ok(format!("air by hand, {name}, {}: {}", zone.shown(), reading.words(units(conn)?)))
}

/// `, part 2`
pub(super) fn part_words(part: Option<i64>) -> String {
    part.map_or_else(String::new, |part| format!(", part {part}"))
}

/// The reading of an entry that has one. Readings are not indexed by their file: it is looked for backwards from the moment it
/// was written, before which it was read. Index: the table's own key.
pub(super) fn one_reading(conn: &Connection, entry: EntryId) -> Result<Reading, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading_file f JOIN entry e ON e.id = f.entry_id
             JOIN reading r ON r.sensor_id = f.sensor_id AND r.file_id = f.id AND r.at_s <= unixepoch(e.at)
             WHERE f.entry_id = ? ORDER BY r.at_s DESC LIMIT 1",
        )?
        .query_row([entry], reading)?)
}
