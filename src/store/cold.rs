//! Cold stores, readings by hand in them, and the read model of their screens. What lies where is `store/stay.rs`, spells are
//! `store/spell.rs`.

use std::collections::BTreeMap;
use std::sync::Arc;

use rusqlite::{Connection, OptionalExtension, params};

use super::Store;
use super::act::Wrote;
use super::air::{digest, one_reading, part_words};
use super::breach::decider;
use super::error::StoreError;
use super::facts::{READING, READING_FILE};
use super::person::saved;
use super::revision::{fresh, same};
use super::writer::{Cell, Writer};
use super::{crop, goods, lot, power_cut, room, sender, setting, spell, stay};
use crate::domain::cold::{
    CAUTION, Clock, Cold, ColdStore, HandRead, HandReading, Limits, Measured, NewStore, Rules, Thermometer, clock,
    limit_dc,
};
use crate::domain::id::{CropId, EntryId, LotId, SensorId, StoreId};
use crate::domain::keeping::{self, Left, Place, Rates, Reading, Series, Sums, Way, used, warmest_of};
use crate::domain::reading::TEMP_DC;
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant, Now};

const RULES: &str = "cold";

impl Store {
    /// Cold stores, what lies in them, spells, and the sums that countdowns are read from. `before`: what was read last, of
    /// which sums that did not change are kept.
    pub fn cold(&self, now: Now, before: Option<Cold>) -> Result<Cold, StoreError> {
        read(&self.conn, now, before)
    }
}

/// The name of a cold store in use.
pub(super) fn known(conn: &Connection, store: StoreId) -> Result<String, StoreError> {
    conn.prepare_cached("SELECT name FROM store WHERE id = ? AND NOT retired")?
        .query_row([store], |row| row.get(0))
        .optional()?
        .ok_or_else(|| {
            Refusal::new("store_unknown", "This cold store is not in use here: choose another.").at("store").into()
        })
}

/// What a store is called, for sentences about the past.
pub(super) fn name(conn: &Connection, id: Option<i64>) -> String {
    conn.query_row("SELECT name FROM store WHERE id = ?", [id], |row| row.get(0)).unwrap_or_else(|_| "unknown".into())
}

fn cells<'a>(name: &'a &str, limits: &'a Limits) -> [Cell<'a>; 6] {
    [
        ("name", name),
        ("min_dc", &limits.min_dc),
        ("max_dc", &limits.max_dc),
        ("over_min", &limits.over_min),
        ("gap_min", &limits.gap_min),
        ("plan_dc", &limits.plan_dc),
    ]
}

fn checked(new: &NewStore) -> Result<(), StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("store", why).at(field).into())
}

/// How the readings by hand of a store are called.
fn by_hand(name: &str) -> String {
    format!("{name}, by hand")
}

pub(super) fn add(w: &mut Writer<'_>, new: &NewStore) -> Result<Wrote, StoreError> {
    checked(new)?;
    let name = new.name.trim();
    let id = w.make("store", 1, "1", &cells(&name, &new.limits))?;
    let hand = by_hand(name);
    let known: Option<i64> =
        w.conn.query_row("SELECT id FROM sensor WHERE store_id = ? AND by_hand", [id], |row| row.get(0)).optional()?;
    match known {
        Some(sensor) => {
            w.edit("sensor", sensor, &[("name", &hand), ("retired", &false)])?;
        }
        None => {
            w.create("sensor", &[("name", &hand), ("store_id", &id), ("by_hand", &true)])?;
        }
    }
    Ok(Wrote::said(format!("{name}: kept as a cold store.")).made(id))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    store: StoreId,
    new: &NewStore,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "store", store.0, rev)?;
    checked(new)?;
    if retired && stay::occupied(w.conn, store)? {
        let why = "Something lies in it: put that elsewhere first.";
        return Err(Refusal::new("store_occupied", why).at("used").into());
    }
    let (old, wanted) = (limits(w.conn, store)?, &new.limits);
    let looser = wanted.max_dc > old.max_dc || wanted.over_min > old.over_min || wanted.gap_min > old.gap_min;
    if (looser || retired) && spell::undecided(w.conn, store, i64::MIN)? {
        let why = "A spell in it waits for a decision: decide it first (d), then change its limits.";
        return Err(Refusal::new("store_spell", why).at("max").into());
    }
    let name = new.name.trim();
    let mut cells = cells(&name, &new.limits).to_vec();
    cells.push(("retired", &retired));
    saved(w.edit("store", store.0, &cells)?)?;
    let sensor: i64 =
        w.conn.query_row("SELECT id FROM sensor WHERE store_id = ? AND by_hand", [store], |row| row.get(0))?;
    w.edit("sensor", sensor, &[("name", &by_hand(name)), ("retired", &retired)])?;
    Ok(Wrote::said(format!("{name}: saved.")).made(store.0))
}

/// A reading by hand: a file of one row, with its thermometer.
pub(super) fn read_by_hand(w: &mut Writer<'_>, new: &HandReading) -> Result<Wrote, StoreError> {
    let name = known(w.conn, new.store)?;
    let thermometer = new.thermometer.trim();
    if !(1..=60).contains(&thermometer.chars().count()) {
        let why = "Say with which thermometer, in 1 to 60 characters.";
        return Err(Refusal::new("thermometer", why).at("thermometer").into());
    }
    if !TEMP_DC.contains(&new.temp_dc) {
        let why = "A cold store has -20 to 60 °C: read it again.";
        return Err(Refusal::new("reading_range", why).at("temp").into());
    }
    if new.at > w.now.instant() {
        let why = "That is still to come: give the time it was read.";
        return Err(Refusal::new("reading_future", why).at("time").into());
    }
    let sensor: SensorId =
        w.conn.query_row("SELECT id FROM sensor WHERE store_id = ? AND by_hand", [new.store], |row| row.get(0))?;
    let (at_s, measured) = (new.at.0.timestamp(), new.measured.stored());
    let there: bool = w.conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM reading r JOIN reading_file f ON f.id = r.file_id
         WHERE r.sensor_id = ? AND r.at_s = ? AND f.void_by IS NULL AND f.measured = ?)",
        params![sensor, at_s, measured],
        |row| row.get(0),
    )?;
    if there {
        let why = "A reading of that minute is there already: put that one right, or give another time.";
        return Err(Refusal::new("reading_there", why).at("time").into());
    }
    let sha256 = digest(format!("by hand, {}, {}, {thermometer}, {measured}", new.at, new.temp_dc).as_bytes());
    let file = w.fact(
        READING_FILE,
        &[
            ("sensor_id", &sensor),
            ("sha256", &sha256),
            ("name", &"by hand"),
            ("rows", &1),
            ("thermometer", &thermometer),
            ("measured", &measured),
        ],
    )?;
    w.fact(READING, &[("sensor_id", &sensor), ("at_s", &at_s), ("file_id", &file), ("temp_dc", &new.temp_dc)])?;
    let temp = room::units(w.conn)?.temperature(new.temp_dc);
    let limit = limits(w.conn, new.store)?.max_dc;
    let warm = if new.temp_dc > limit { format!(" Warmer than the store allows. {CAUTION}") } else { String::new() };
    Ok(Wrote::said(format!("{name}: {temp}, {}, by {thermometer}.{warm}", new.measured.shown())))
}

pub(super) fn rules(conn: &Connection) -> Result<(Rules, i64), StoreError> {
    setting::read(conn, RULES)
}

pub(super) fn edit_rules(w: &mut Writer<'_>, rules: &Rules, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = self::rules(w.conn)?;
    same(now, rev)?;
    if rules.bench_dc.is_some_and(|dc| !TEMP_DC.contains(&dc)) {
        return Err(Refusal::new("rules", "A workroom has -20 to 60 °C: read it again.").at("bench").into());
    }
    saved(before != *rules)?;
    if before.cold_food && !rules.cold_food {
        decider(w.conn, w.who, "the cold rules")?;
        if spell::any_undecided(w.conn)? {
            let why = "A spell waits for a decision: decide it first (d), then change the rules.";
            return Err(Refusal::new("store_spell", why).at("food").into());
        }
    }
    setting::write(w, RULES, rules)?;
    Ok(Wrote::said("Cold rules: saved."))
}

/// What an entry says of the rules, if it changed them.
pub(super) fn rules_line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let Some(rules) = setting::after::<Rules>(conn, entry, RULES)? else { return Ok(None) };
    Ok(Some(format!("cold rules: {}", rules.words(room::units(conn)?))))
}

/// The limits of a store.
pub(super) fn limits(conn: &Connection, store: StoreId) -> Result<Limits, StoreError> {
    Ok(conn.prepare_cached("SELECT min_dc, max_dc, over_min, gap_min, plan_dc FROM store WHERE id = ?")?.query_row(
        [store],
        |row| {
            Ok(Limits {
                min_dc: row.get(0)?,
                max_dc: row.get(1)?,
                over_min: row.get(2)?,
                gap_min: row.get(3)?,
                plan_dc: row.get(4)?,
            })
        },
    )?)
}

/// What a store read since a moment, and the reading that stood then.
pub(super) fn series(conn: &Connection, store: StoreId, from_s: i64) -> Result<Series, StoreError> {
    series_and(conn, store, from_s, std::iter::empty())
}

/// The same with more readings of a sensor. Indexes: `sensor_store`, the key of `reading`.
pub(super) fn series_and(
    conn: &Connection,
    store: StoreId,
    from_s: i64,
    more: impl Iterator<Item = (SensorId, Reading)>,
) -> Result<Series, StoreError> {
    let gap_s = limits(conn, store)?.gap_min * 60;
    let stood: Option<i64> = conn
        .prepare_cached(
            "SELECT max(at_s) FROM (SELECT (SELECT r.at_s FROM reading r JOIN reading_file f ON f.id = r.file_id
               WHERE r.sensor_id = s.id AND r.at_s <= ?2 AND f.void_by IS NULL ORDER BY r.at_s DESC LIMIT 1) AS at_s
             FROM sensor s WHERE s.store_id = ?1)",
        )?
        .query_row(params![store, from_s], |row| row.get(0))?;
    let first_s = stood.unwrap_or(from_s);
    // what other sensors read shortly before stands there too; greens measured by hand are a sensor of their own
    let mut readings: Vec<(i64, Reading)> = conn
        .prepare_cached(
            "SELECT CASE f.measured WHEN 'product' THEN -s.id ELSE s.id END, r.at_s, r.temp_dc FROM sensor s
             CROSS JOIN reading r ON r.sensor_id = s.id
             JOIN reading_file f ON f.id = r.file_id WHERE s.store_id = ? AND r.at_s >= ? AND f.void_by IS NULL",
        )?
        .query_map(params![store, first_s.saturating_sub(gap_s)], |row| {
            Ok((row.get(0)?, Reading { at_s: row.get(1)?, dc: row.get(2)? }))
        })?
        .collect::<Result<_, _>>()?;
    readings.extend(more.map(|(sensor, reading)| (sensor.0, reading)));
    let mut merged = warmest_of(readings, gap_s);
    merged.retain(|reading| reading.at_s >= first_s);
    Ok(Series::new(merged, gap_s, power_cut::of_store(conn, store)?))
}

fn read(conn: &Connection, now: Now, before: Option<Cold>) -> Result<Cold, StoreError> {
    let now_s = now.instant().0.timestamp();
    let mut lots = Vec::new();
    for lot in goods::there(conn)? {
        lots.push(stay::ways_of(conn, lot, now_s)?);
    }
    let since = now_s - goods::BACK_D * 24 * 3600;
    let mut spells = spell::seen(conn, since, now)?;
    // as far back as any sum reaches
    let touched = spells.values().flatten().flat_map(|spell| &spell.touched).flat_map(|lot| &lot.ways);
    let cuts = lots.iter().flat_map(|lot| &lot.ways).chain(touched).map(|way| way.cut_s);
    let oldest = cuts.min().unwrap_or(now_s).min(since);
    let mut stores = Vec::new();
    let rows: Vec<(StoreId, i64, String, bool)> = conn
        .prepare_cached("SELECT id, rev, name, NOT retired FROM store ORDER BY name")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    for (id, rev, name, used) in rows {
        stores.push(ColdStore {
            id,
            rev,
            name,
            used,
            limits: limits(conn, id)?,
            series: Arc::new(series(conn, id, oldest)?),
            newest: newest(conn, id)?,
            sensors: sensors(conn, id)?,
            spells: spells.remove(&id).unwrap_or_default(),
            thermometers: thermometers(conn, id)?,
        });
    }
    let after_dc = sender::read(conn)?.0.after_dc;
    Ok(Cold::new(stores, lots, rules(conn)?, after_dc, lives(conn)?, before))
}

/// What lots still keep, for a label.
#[derive(Default)]
pub(super) struct Keeps {
    /// The day of the early end at the temperature they have after they leave us; of all the soonest.
    pub early: Option<Day>,
    /// Why one of them is in doubt, where the room keeps its greens in cold stores: not cold in time, or without a figure.
    pub doubt: Option<String>,
}

pub(super) fn keeps(conn: &Connection, lots: &[LotId], now: Now) -> Result<Keeps, StoreError> {
    let kept: bool = conn.query_row("SELECT EXISTS (SELECT 1 FROM store WHERE NOT retired)", [], |row| row.get(0))?;
    let (lives, after_dc, now_s) = (lives(conn)?, sender::read(conn)?.0.after_dc, now.instant().0.timestamp());
    let (rules, _) = rules(conn)?;
    let mut keeps = Keeps::default();
    for lot in lots {
        // what the book does not know is refused where it is taken
        if lot::counting(conn, *lot)?.is_none() {
            continue;
        }
        for way in stay::ways(conn, *lot, now_s)? {
            let mut lain: BTreeMap<StoreId, Arc<Series>> = BTreeMap::new();
            for leg in &way.legs {
                if let Place::Store(store) = leg.place
                    && !lain.contains_key(&store)
                {
                    lain.insert(store, Arc::new(series(conn, store, way.cut_s)?));
                }
            }
            // what lies in a store is told of by its readings
            let outside = way.legs.last().is_none_or(|leg| matches!(leg.place, Place::Outside(_)));
            if kept && rules.cold_food && outside {
                let late = clock_of(conn, &way, &lain, lives.get(&way.crop), now_s)?;
                if late.urgent() && late.alarm() {
                    let code = lot::code(conn, *lot)?;
                    keeps.doubt = Some(format!("{code} ({}): {}; 4 h at most are usual", way.name, late.words()));
                }
            }
            let Some(rates) = lives.get(&way.crop) else { continue };
            let sums: BTreeMap<StoreId, Sums> =
                lain.into_iter().map(|(store, series)| (store, Sums::new(series, Arc::clone(rates)))).collect();
            let used = used(&way, rates, now_s, |store| sums.get(&store));
            let left = Left::of(used, rates, after_dc, way.crop);
            keeps.early = keeps.early.into_iter().chain(keeping::early_day(&left, now)).min();
            if kept && left.hours().is_none() {
                keeps.doubt = Some(format!("{} ({}): {}", lot::code(conn, *lot)?, way.name, left.words()));
            }
        }
    }
    Ok(keeps)
}

/// From the cut until a way was cold, by what the stores read in which it lay.
fn clock_of(
    conn: &Connection,
    way: &Way,
    lain: &BTreeMap<StoreId, Arc<Series>>,
    rates: Option<&Arc<Rates>>,
    now_s: i64,
) -> Result<Clock, StoreError> {
    let harmed = rates.is_some_and(|rates| rates.chilling());
    let mut stores: BTreeMap<StoreId, (&Series, i64)> = BTreeMap::new();
    for (store, series) in lain {
        stores.insert(*store, (series, limit_dc(harmed, limits(conn, *store)?.max_dc)));
    }
    Ok(clock(way, now_s, |store| stores.get(&store).copied()))
}

/// How fast each crop ages.
pub(super) fn lives(conn: &Connection) -> Result<BTreeMap<CropId, Arc<Rates>>, StoreError> {
    let crops: Vec<(CropId, bool)> = conn
        .prepare_cached("SELECT id, chilling FROM crop")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut lives = BTreeMap::new();
    for (crop, chilling) in crops {
        lives.extend(Rates::of(&crop::anchors_of(conn, crop)?, chilling).map(|rates| (crop, Arc::new(rates))));
    }
    Ok(lives)
}

/// The newest reading of a store, by whatever read it.
fn newest(conn: &Connection, store: StoreId) -> Result<Option<HandRead>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc, f.measured, coalesce(f.thermometer, s.name) FROM sensor s
             CROSS JOIN reading r ON r.sensor_id = s.id AND r.at_s = (SELECT x.at_s FROM reading x
               JOIN reading_file y ON y.id = x.file_id WHERE x.sensor_id = s.id AND y.void_by IS NULL ORDER BY x.at_s DESC LIMIT 1)
             JOIN reading_file f ON f.id = r.file_id WHERE s.store_id = ? AND f.void_by IS NULL
             ORDER BY r.at_s DESC, r.temp_dc DESC LIMIT 1",
        )?
        .query_row([store], |row| {
            Ok(HandRead { at_s: row.get(0)?, dc: row.get(1)?, measured: row.get(2)?, by: row.get(3)? })
        })
        .optional()?)
}

fn sensors(conn: &Connection, store: StoreId) -> Result<Vec<Thermometer>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT id, rev, name FROM sensor WHERE store_id = ? AND NOT retired AND NOT by_hand ORDER BY name",
        )?
        .query_map([store], |row| Ok(Thermometer { id: row.get(0)?, rev: row.get(1)?, name: row.get(2)? }))?
        .collect::<Result<_, _>>()?)
}

/// Thermometers that were named in a store, the newest first.
fn thermometers(conn: &Connection, store: StoreId) -> Result<Vec<String>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT f.thermometer FROM sensor s JOIN reading_file f ON f.sensor_id = s.id
             WHERE s.store_id = ? AND s.by_hand AND f.void_by IS NULL AND f.thermometer NOT NULL
             GROUP BY f.thermometer ORDER BY max(f.id) DESC LIMIT 8",
        )?
        .query_map([store], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// What an entry says of readings in a cold store, if it is about one.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    type File = (String, String, i64, Option<String>, Option<Measured>, String, Option<i64>);
    let file: Option<File> = conn
        .prepare_cached(
            "SELECT f.name, s.name, f.rows, f.thermometer, f.measured, c.name, f.part FROM reading_file f
             JOIN sensor s ON s.id = f.sensor_id JOIN store c ON c.id = s.store_id WHERE f.entry_id = ?",
        )?
        .query_row([entry], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?))
        })
        .optional()?;
    let Some((file, sensor, rows, thermometer, measured, store, part)) = file else { return Ok(None) };
    let (Some(thermometer), Some(measured)) = (thermometer, measured) else {
        let readings = counted(usize::try_from(rows).unwrap_or(0), "reading");
        return Ok(Some(format!("{store}: {readings} of {sensor} read from {file}{}", part_words(part))));
    };
    let temp = room::units(conn)?.temperature(one_reading(conn, entry)?.temp_dc);
    Ok(Some(format!("{store}: {temp}, {}, by {thermometer}", measured.shown())))
}

/// Moments as the book keeps those of readings.
pub(super) fn instant(at_s: i64) -> Result<Instant, StoreError> {
    let at = chrono::DateTime::from_timestamp(at_s, 0);
    at.map(Instant).ok_or_else(|| StoreError::unreadable("a moment", &at_s.to_string()))
}
