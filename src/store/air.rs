//! Sensors, what they read, and how damp it was.

use std::collections::{BTreeMap, HashMap};

use chrono::{Duration, TimeZone};
use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};

use super::Store;
use super::act::Wrote;
use super::bands;
use super::chain::hex;
use super::error::StoreError;
use super::facts::{READING, READING_FILE};
use super::person::saved;
use super::revision::fresh;
use super::room::{units, zone_id};
use super::writer::Writer;
use crate::domain::id::{EntryId, SensorId, SowingId, TrayId};
use crate::domain::reading::{Damp, NewReadings, Reading, STANDS_FOR, SensorAir, damp};
use crate::domain::refusal::Refusal;
use crate::domain::room::{Units, Zone};
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant, Now, day_number};

/// Readings written between two looks at whether to stop.
const STEP: usize = 500;
/// Days of a batch for which the weather is worked out.
const DAYS: i64 = 60;

/// The digest by which a file is known again.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn instant(at_s: i64) -> rusqlite::Result<Instant> {
    let out = rusqlite::Error::IntegralValueOutOfRange(0, at_s);
    chrono::DateTime::from_timestamp(at_s, 0).map(Instant).ok_or(out)
}

impl Store {
    /// Every sensor in use with its newest reading, and how damp the last day and week were.
    pub fn air(&self, now: Now) -> Result<Vec<SensorAir>, StoreError> {
        sensors(&self.conn, now)
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

    /// When a sensor's file was read, if it was.
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

pub(super) fn add(w: &mut Writer<'_>, name: &str, zone: Zone) -> Result<Wrote, StoreError> {
    let (name, zone_row) = (sensor_name(name)?, zone_id(w.conn, zone)?);
    // one that has read in another zone stays there, and its name with it
    let free = format!("(zone_id = {zone_row} OR NOT EXISTS (SELECT 1 FROM reading r WHERE r.sensor_id = sensor.id))");
    let id = w.make("sensor", 1, &free, &[("name", &name), ("zone_id", &zone_row)])?;
    Ok(Wrote::said(format!("{name} measures the air, {}.", zone.shown())).made(id))
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
    let sha256 = digest(format!("by hand, {at}, {temp_dc}, {rh_pm}").as_bytes());
    let new = NewReadings { sensor, file: "by hand".into(), sha256, readings: vec![reading], map: None };
    write(w, &new)?;
    let units = units(w.conn)?;
    let outside = bands::read(w.conn)?.0.air_outside(&reading, units);
    let outside = if outside.is_empty() { String::new() } else { format!(" {}.", outside.join("; ")) };
    Ok(Wrote::said(format!("{name}: {}; {}.{outside}", reading.words(units), reading.worked_out(units))))
}

/// A whole file, as one entry: all of its new readings or none.
pub(super) fn import(w: &mut Writer<'_>, new: &NewReadings) -> Result<Wrote, StoreError> {
    let name = known(w.conn, new.sensor)?;
    let (kept, contrary) = write(w, new)?;
    if let Some(map) = &new.map {
        let text = serde_json::to_string(map).map_err(|_| StoreError::unreadable("a map of columns", &name))?;
        w.edit("sensor", new.sensor.0, &[("csv_map", &text)])?;
    }
    let there = new.readings.len() - kept - contrary.len();
    let there = (there > 0).then(|| format!("; {there} {} there already", if there == 1 { "was" } else { "were" }));
    let units = units(w.conn)?;
    let otherwise = (!contrary.is_empty()).then(|| format!("; {}", contrary_words(&contrary, units, w.now)));
    let told: String = there.into_iter().chain(otherwise).collect();
    Ok(Wrote::said(format!("{}: {} of {name} kept{told}.", new.file, counted(kept, "reading"))))
}

fn file_read(conn: &Connection, sensor: SensorId, sha256: &str) -> Result<Option<Day>, StoreError> {
    // index: reading_file_once
    Ok(conn
        .prepare_cached(
            "SELECT e.day FROM reading_file f JOIN entry e ON e.id = f.entry_id
             WHERE f.sensor_id = ? AND f.sha256 = ? AND f.void_by IS NULL",
        )?
        .query_row(params![sensor, sha256], |row| row.get(0))
        .optional()?)
}

/// Readings of other figures than the book has for the same moment: that of the book, and the new one.
type Contrary = Vec<(Reading, Reading)>;

/// `2 say other than the book, which keeps what it has (12 Jul 06:00: 21.0 °C, 82 % there, 25.0 °C, 95 % here)`.
fn contrary_words(contrary: &Contrary, units: Units, now: Now) -> String {
    /// Told with both values.
    const TOLD: usize = 3;
    let told = contrary.iter().take(TOLD).map(|(there, here)| {
        let at = now.local(here.at).format("%d %b %Y %H:%M");
        format!("{at}: {} there, {} here", there.words(units), here.words(units))
    });
    let more = contrary.len().saturating_sub(TOLD);
    let told: Vec<String> = told.chain((more > 0).then(|| format!("and {more} more"))).collect();
    let say = if contrary.len() == 1 { "says" } else { "say" };
    format!("{} {say} other than the book, which keeps what it has ({})", contrary.len(), told.join("; "))
}

/// Writes what the sensor has not read yet, and says how many that are and which the book has otherwise.
fn write(w: &mut Writer<'_>, new: &NewReadings) -> Result<(usize, Contrary), StoreError> {
    if let Some(day) = file_read(w.conn, new.sensor, &new.sha256)? {
        let sentence = format!("{} was read already on {day}: it adds nothing.", new.file);
        return Err(Refusal::new("file_read_already", sentence).into());
    }
    let (first, last) = new.readings.iter().fold((None, None), |(first, last): (Option<Instant>, _), reading| {
        (Some(first.map_or(reading.at, |at| at.min(reading.at))), last.max(Some(reading.at)))
    });
    let (Some(first), Some(last)) = (first, last) else {
        return Err(Refusal::new("import_nothing", "There is no reading in it that could be kept.").into());
    };
    if last > w.now.instant() {
        return Err(Refusal::new("reading_future", "That is still to come: give the time it was read.")
            .at("time")
            .into());
    }
    let mut there: HashMap<Instant, Reading> =
        series(w.conn, new.sensor, first, last)?.into_iter().map(|reading| (reading.at, reading)).collect();
    let (mut fresh, mut contrary) = (Vec::new(), Vec::new());
    for reading in &new.readings {
        match there.get(&reading.at) {
            Some(known) if known != reading => contrary.push((*known, *reading)),
            Some(_) => {}
            None => {
                there.insert(reading.at, *reading);
                fresh.push(reading);
            }
        }
    }
    if fresh.is_empty() {
        let told = if contrary.is_empty() {
            String::new()
        } else {
            format!(" But {}.", contrary_words(&contrary, units(w.conn)?, w.now))
        };
        let sentence =
            format!("{}: the book has a reading at every one of these times, so it adds nothing.{told}", new.file);
        return Err(Refusal::new("import_nothing", sentence).at("time").into());
    }
    fresh.sort_by_key(|reading| reading.at);
    let rows = i64::try_from(fresh.len()).unwrap_or(i64::MAX);
    let file = w.fact(
        READING_FILE,
        &[("sensor_id", &new.sensor), ("sha256", &new.sha256), ("name", &new.file), ("rows", &rows)],
    )?;
    for (n, reading) in fresh.iter().enumerate() {
        if n % STEP == 0 {
            w.go_on(n, fresh.len())?;
        }
        w.fact(
            READING,
            &[
                ("sensor_id", &new.sensor),
                ("at_s", &reading.at.0.timestamp()),
                ("file_id", &file),
                ("temp_dc", &reading.temp_dc),
                ("rh_pm", &reading.rh_pm),
            ],
        )?;
    }
    Ok((fresh.len(), contrary))
}

/// A reading from a row of its moment and figures.
fn reading(row: &rusqlite::Row<'_>) -> rusqlite::Result<Reading> {
    Ok(Reading { at: instant(row.get(0)?)?, temp_dc: row.get(1)?, rh_pm: row.get(2)? })
}

/// What a sensor read between two moments, in the order of time. Index: the table's own key.
fn series(conn: &Connection, sensor: SensorId, from: Instant, to: Instant) -> Result<Vec<Reading>, StoreError> {
    let readings = conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading r JOIN reading_file f ON f.id = r.file_id
             WHERE r.sensor_id = ? AND r.at_s BETWEEN ? AND ? AND r.rh_pm IS NOT NULL AND f.void_by IS NULL
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
             WHERE r.sensor_id = ? AND r.rh_pm IS NOT NULL AND f.void_by IS NULL ORDER BY r.at_s DESC LIMIT 1",
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

/// A sensor's row: id, rev, name, zone, map.
type Row = (SensorId, i64, String, Zone, Option<String>);

/// Sensors in use, or with those that were.
fn rows(conn: &Connection, retired: bool) -> Result<Vec<Row>, StoreError> {
    let rows = conn
        .prepare_cached(
            "SELECT s.id, s.rev, s.name, z.kind, s.csv_map FROM sensor s JOIN zone z ON z.id = s.zone_id
             WHERE NOT s.retired OR ? ORDER BY z.id, s.name",
        )?
        .query_map([retired], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?
        .collect::<Result<_, _>>()?;
    Ok(rows)
}

fn sensors(conn: &Connection, now: Now) -> Result<Vec<SensorAir>, StoreError> {
    let until = now.instant();
    let before = |hours| Instant(until.0 - Duration::hours(hours));
    let (day, week) = (before(24), before(24 * 7));
    rows(conn, false)?
        .into_iter()
        .map(|(id, rev, name, zone, map)| {
            let readings = series(conn, id, Instant(week.0 - STANDS_FOR), until)?;
            Ok(SensorAir {
                id,
                rev,
                name,
                zone,
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
    for (id, _, _, zone, _) in rows(conn, true)? {
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

/// What an entry says of readings.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (file, name, rows, zone): (String, String, i64, Zone) = conn
        .prepare_cached(
            "SELECT f.name, s.name, f.rows, z.kind FROM reading_file f JOIN sensor s ON s.id = f.sensor_id
             JOIN zone z ON z.id = s.zone_id WHERE f.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    if rows > 1 || file != "by hand" {
        let readings = counted(usize::try_from(rows).unwrap_or(0), "reading");
        return Ok(format!("air read from {file}: {readings} of {name}, {}", zone.shown()));
    }
    let reading = conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading_file f JOIN reading r ON r.file_id = f.id
             WHERE f.entry_id = ?",
        )?
        .query_row([entry], reading)?;
    Ok(format!("air by hand, {name}, {}: {}", zone.shown(), reading.words(units(conn)?)))
}
