//! What the cold stores read, day by day and by hand, and spells with what was decided about them.

use rusqlite::params;

use super::{Gather, some};
use crate::domain::breach::Verdict;
use crate::domain::cold::{Kind, Measured, Spell, SpellKey};
use crate::domain::id::{EntryId, StoreId};
use crate::domain::period::Period;
use crate::domain::power_cut::lasting;
use crate::domain::records::{Row, moment};
use crate::domain::time::{Day, Instant};
use crate::store::error::StoreError;
use crate::store::{cold, lot, spell};

/// Readings of the air of one store on one day: how many, the lowest and the highest, and the seconds without any.
struct OneDay {
    readings: usize,
    lowest: i64,
    highest: i64,
    gap_s: i64,
}

fn stores(g: &Gather<'_>) -> Result<Vec<(StoreId, String)>, StoreError> {
    Ok(g.conn
        .prepare_cached("SELECT id, name FROM store ORDER BY name")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}

/// Each day of each store that has begun to be read: what it read, and how long nothing did.
pub(super) fn by_day(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let mut rows = Vec::new();
    let now_s = g.now.instant().0.timestamp();
    for (store, name) in stores(g)? {
        let (begun, until) = spanned(g, store)?;
        let limits = cold::limits(g.conn, store)?;
        let allowed = format!("{} to {}", g.units.temperature(limits.min_dc), g.units.temperature(limits.max_dc));
        for day in g.period.days() {
            let (from_s, to_s) = Period { from: day, to: day }.seconds(g.now);
            let to_s = to_s.min(now_s);
            // before its first reading it was not read yet, and one out of use is not read any more
            if begun.is_none_or(|begun| begun >= to_s) || until.is_some_and(|until| until < from_s) || from_s >= to_s {
                continue;
            }
            let from_s = from_s.max(begun.unwrap_or(from_s));
            let mut row = Row::of(None, vec![name.clone(), day.to_string()]);
            if let Some(read) = one_day(g, store, from_s, to_s)? {
                row.cells.extend([
                    read.readings.to_string(),
                    g.units.temperature(read.lowest),
                    g.units.temperature(read.highest),
                    lasting(read.gap_s / 60),
                ]);
                if read.highest > limits.max_dc {
                    row.marks.push("warmer than allowed".into());
                }
                if read.lowest < limits.min_dc {
                    row.marks.push("colder than allowed".into());
                }
                if read.gap_s > limits.gap_min * 60 {
                    row.marks.push(format!("readings are to be {} apart at most", lasting(limits.gap_min)));
                }
            } else {
                row.cells.extend(["0".to_string(), String::new(), String::new(), lasting((to_s - from_s) / 60)]);
                row.marks.push("nothing was read".into());
            }
            row.cells.push(allowed.clone());
            rows.push(row);
        }
    }
    Ok(rows)
}

/// When the air of a store was first read; and last, if it is out of use.
fn spanned(g: &Gather<'_>, store: StoreId) -> Result<(Option<i64>, Option<i64>), StoreError> {
    let (first, last, used): (Option<i64>, Option<i64>, bool) = g
        .conn
        .prepare_cached(
            "SELECT min(r.at_s), max(r.at_s), (SELECT NOT retired FROM store WHERE id = ?1) FROM sensor s
             CROSS JOIN reading r ON r.sensor_id = s.id JOIN reading_file f ON f.id = r.file_id
             WHERE s.store_id = ?1 AND f.void_by IS NULL AND f.measured IS NOT 'product'",
        )?
        .query_row([store], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok((first, last.filter(|_| !used)))
}

/// Indexes: `sensor_store`, the key of `reading`.
fn one_day(g: &Gather<'_>, store: StoreId, from_s: i64, to_s: i64) -> Result<Option<OneDay>, StoreError> {
    let mut read: Vec<(i64, i64)> = g
        .conn
        .prepare_cached(
            "SELECT r.at_s, r.temp_dc FROM sensor s CROSS JOIN reading r ON r.sensor_id = s.id AND r.at_s >= ?2 AND r.at_s < ?3
             JOIN reading_file f ON f.id = r.file_id
             WHERE s.store_id = ?1 AND f.void_by IS NULL AND f.measured IS NOT 'product'",
        )?
        .query_map(params![store, from_s, to_s], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    read.sort_unstable();
    let temps = || read.iter().map(|(_, dc)| *dc);
    let (Some(lowest), Some(highest)) = (temps().min(), temps().max()) else { return Ok(None) };
    let (mut gap_s, mut before) = (0, from_s);
    for at_s in read.iter().map(|(at_s, _)| *at_s).chain([to_s]) {
        gap_s = gap_s.max(at_s - before);
        before = at_s;
    }
    Ok(Some(OneDay { readings: read.len(), lowest, highest, gap_s }))
}

/// Each reading that somebody wrote down.
pub(super) fn by_hand(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    type Found = (EntryId, i64, i64, String, Option<Measured>, Option<String>, Option<EntryId>);
    let (from_s, to_s) = g.period.seconds(g.now);
    let found: Vec<Found> = g
        .conn
        .prepare_cached(
            "SELECT f.entry_id, r.at_s, r.temp_dc, t.name, f.measured, f.thermometer, f.void_by FROM sensor s
             CROSS JOIN reading r ON r.sensor_id = s.id AND r.at_s >= ?1 AND r.at_s < ?2
             JOIN reading_file f ON f.id = r.file_id JOIN store t ON t.id = s.store_id WHERE s.by_hand ORDER BY r.at_s",
        )?
        .query_map([from_s, to_s], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?))
        })?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for (entry, at_s, dc, store, measured, thermometer, void_by) in found {
        let cells = vec![
            store,
            g.units.temperature(dc),
            some(measured, |measured| measured.shown().to_string()),
            thermometer.unwrap_or_default(),
        ];
        let mut row = g.row(entry, cells)?;
        let at = cold::instant(at_s)?;
        if let Some(stamp) = &mut row.stamp {
            stamp.seen = at;
            stamp.day = on(g, at);
        }
        g.dated.insert(entry, on(g, at));
        row.gone = g.gone(void_by)?;
        rows.push(row);
    }
    Ok(rows)
}

fn on(g: &Gather<'_>, at: Instant) -> Day {
    g.now.local(at).date_naive()
}

/// Spells that lie in these days, with every decision about them.
pub(super) fn spells(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let (from_s, to_s) = g.period.seconds(g.now);
    let found: Vec<(Spell, String)> = g
        .conn
        .prepare_cached(
            "SELECT n.store_id, n.kind, n.from_s, n.to_s, n.going_on, n.worst_dc, s.name FROM spell_now n
             JOIN store s ON s.id = n.store_id WHERE n.to_s >= ?1 AND n.from_s < ?2 ORDER BY n.from_s, n.kind",
        )?
        .query_map([from_s, to_s], |row| {
            let key = SpellKey { store: row.get(0)?, kind: row.get(1)?, from_s: row.get(2)? };
            Ok((Spell { key, to_s: row.get(3)?, going_on: row.get(4)?, worst_dc: row.get(5)? }, row.get(6)?))
        })?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for (one, store) in found {
        let mut lots = Vec::new();
        for id in spell::lots(g.conn, &one)? {
            lots.push(lot::code(g.conn, id)?);
        }
        let to = if one.going_on { "going on".to_string() } else { moment(cold::instant(one.to_s)?, g.now) };
        let decided = decided(g, &one)?;
        let decided = match decided.as_str() {
            "" if !one.key.kind.holds() => "none asked for".to_string(),
            "" if lots.is_empty() => "nothing lay there".to_string(),
            "" => "NONE YET".to_string(),
            decided => decided.to_string(),
        };
        rows.push(Row::of(
            None,
            vec![
                store,
                one.key.kind.shown().to_string(),
                moment(cold::instant(one.key.from_s)?, g.now),
                to,
                g.units.temperature(one.worst_dc),
                lots.join(", "),
                decided,
            ],
        ));
    }
    Ok(rows)
}

/// What was decided about a spell and whatever of it was known before, in words. Index: `spell_decision_of`.
fn decided(g: &mut Gather<'_>, one: &Spell) -> Result<String, StoreError> {
    type Found = (EntryId, Verdict, String, Kind);
    let found: Vec<Found> = g
        .conn
        .prepare_cached(
            "SELECT d.entry_id, d.what, p.initials, d.kind FROM spell_decision d JOIN person p ON p.id = d.person_id
             WHERE d.store_id = ? AND d.kind = ? AND d.from_s <= ? AND d.to_s >= ? AND d.void_by IS NULL ORDER BY d.id",
        )?
        .query_map(params![one.key.store, one.key.kind, one.to_s, one.key.from_s], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })?
        .collect::<Result<_, _>>()?;
    let mut words = Vec::new();
    for (entry, what, by, _) in found {
        words.push(super::rules::decision(g, entry, what.shown(), &by)?);
    }
    Ok(words.join("; "))
}
