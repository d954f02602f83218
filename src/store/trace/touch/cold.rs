//! Where the greens of a lot were since the cut: in which store, how cold, and the spells they lay through.

use std::collections::BTreeSet;

use rusqlite::{Connection, params};

use super::used::readings;
use crate::domain::id::{LotId, StoreId};
use crate::domain::keeping::Place;
use crate::domain::time::Now;
use crate::domain::trace::touch::{Section, Touch};
use crate::store::error::StoreError;
use crate::store::{cold, lot, room, spell, stay};

/// The way of each harvest in some lots, part by part, and the spells they lay through; what several lots share is told once.
pub(super) fn stays(conn: &Connection, now: Now, lots: &[LotId]) -> Result<Vec<Touch>, StoreError> {
    let mut touches: Vec<Touch> = Vec::new();
    for id in lots {
        // one that was taken back, or has another code by now, lies nowhere
        if lot::counting(conn, *id)?.is_none() {
            continue;
        }
        let code = lot::code(conn, *id)?;
        let mut add = |touch: Touch| {
            let same = |known: &&mut Touch| {
                (known.section, known.at, known.until) == (touch.section, touch.at, touch.until)
                    && known.words == touch.words
            };
            match touches.iter_mut().find(same) {
                Some(known) => known.of.extend(touch.of),
                None => touches.push(touch),
            }
        };
        let of = BTreeSet::from([code]);
        for way in stay::ways(conn, *id, now.instant().0.timestamp())? {
            for leg in &way.legs {
                let until_s = leg.until(now.instant().0.timestamp());
                let place = match leg.place {
                    Place::Store(store) => in_store(conn, store, leg.from_s, until_s)?,
                    Place::Outside(Some(dc)) => {
                        format!("outside a store, {} at most", room::units(conn)?.temperature(dc))
                    }
                    Place::Outside(None) => "outside a store; nobody knows how warm it was".into(),
                };
                let still = if leg.to_s.is_none() { ", and still there" } else { "" };
                let (from, words) = (now.local(cold::instant(leg.from_s)?), format!("{}: {place}{still}", way.name));
                let until = leg.to_s.map(cold::instant).transpose()?.map(|to| now.local(to));
                add(Touch { until, of: of.clone(), ..Touch::worked_out(Section::Cold, from, words) });
            }
        }
        for (from_s, words, decided) in spell::on_lot(conn, *id, now)? {
            let words = match decided {
                Some((what, by)) => format!("{words}; {by} decided: {}", what.shown()),
                None => format!("{words}; nobody has decided about it"),
            };
            let from = now.local(cold::instant(from_s)?);
            add(Touch { of: of.clone(), ..Touch::worked_out(Section::Spells, from, words) });
        }
    }
    Ok(touches)
}

/// `in walk-in: 24 readings, 2.1 °C to 4.6 °C`. Index: the readings' own key.
fn in_store(conn: &Connection, store: StoreId, from_s: i64, to_s: i64) -> Result<String, StoreError> {
    let (n, low, high): (i64, Option<i64>, Option<i64>) = conn
        .prepare_cached(
            "SELECT count(*), min(r.temp_dc), max(r.temp_dc) FROM sensor s CROSS JOIN reading r
               ON r.sensor_id = s.id AND r.at_s BETWEEN ?2 AND ?3
             JOIN reading_file f ON f.id = r.file_id WHERE s.store_id = ?1 AND f.void_by IS NULL",
        )?
        .query_row(params![store, from_s, to_s], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let name = cold::name(conn, Some(store.0));
    let units = room::units(conn)?;
    Ok(match (low, high) {
        (Some(low), Some(high)) => {
            format!("in {name}: {}, {} to {}", readings(n), units.temperature(low), units.temperature(high))
        }
        _ => format!("in {name}; no reading was taken"),
    })
}
