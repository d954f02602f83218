//! Water given outside of a walk, resolved to trays when it is written.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{WATER, WATER_TRAY};
use super::ids::day_sql;
use super::look::{found, in_room, once};
use super::writer::Writer;
use super::{bands, room};
use crate::domain::id::EntryId;
use crate::domain::look::WaterFigures;
use crate::domain::refusal::Refusal;
use crate::domain::tray::named;
use crate::domain::water::NewWater;

pub(super) fn give(w: &mut Writer<'_>, new: &NewWater) -> Result<Wrote, StoreError> {
    if new.trays.is_empty() {
        return Err(Refusal::new("water_nothing", "No tray stands there: choose where trays stand.").into());
    }
    new.check().map_err(|(field, why)| Refusal::new("water", why).at(field))?;
    once(&new.trays)?;
    for tray in &new.trays {
        in_room(w, *tray)?;
        found(w, *tray)?;
    }
    let figures = &new.figures;
    let source = Some(new.source.trim()).filter(|source| !source.is_empty());
    let water = w.fact(
        WATER,
        &[
            ("day", &day_sql(w.day())),
            ("ml", &figures.ml),
            ("ph_100", &figures.ph_100),
            ("temp_dc", &figures.temp_dc),
            ("ec_us", &figures.ec_us),
            ("source", &source),
        ],
    )?;
    for tray in &new.trays {
        w.fact(WATER_TRAY, &[("water_id", &water), ("tray_id", tray)])?;
        w.touched.insert(*tray);
    }
    let units = room::units(w.conn)?;
    let outside = bands::read(w.conn)?.0.water_outside(figures, units);
    let outside = if outside.is_empty() { String::new() } else { format!(" {}.", outside.join("; ")) };
    let sentence = format!("{}: {}.{outside}", named(&new.trays), new.words(units));
    Ok(Wrote { sentence, made: Some(water), trays: new.trays.clone() })
}

/// Figures of water from a row that begins with them.
pub(super) fn figures(row: &rusqlite::Row<'_>) -> rusqlite::Result<WaterFigures> {
    Ok(WaterFigures { ml: row.get(0)?, ph_100: row.get(1)?, temp_dc: row.get(2)?, ec_us: row.get(3)? })
}

/// Every source that was written down, by letter, each once. Sources written with large or small letters are the same.
pub(super) fn sources(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let mut sources: Vec<String> = Vec::new();
    for source in written(conn)? {
        if !sources.iter().any(|known| same(known, &source)) {
            sources.push(source);
        }
    }
    Ok(sources)
}

/// Every way in which a source was written.
pub(super) fn spellings(conn: &Connection, source: &str) -> Result<Vec<String>, StoreError> {
    Ok(written(conn)?.into_iter().filter(|known| same(known, source)).collect())
}

fn same(one: &str, two: &str) -> bool {
    one.trim().to_lowercase() == two.trim().to_lowercase()
}

/// One step of the index for each source. Index: `water_source`.
fn written(conn: &Connection) -> Result<Vec<String>, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE known (source) AS (
               SELECT (SELECT min(source) FROM water WHERE source > '' AND void_by IS NULL)
               UNION ALL SELECT (SELECT min(w.source) FROM water w WHERE w.source > known.source AND w.void_by IS NULL)
               FROM known WHERE known.source NOT NULL)
             SELECT source FROM known WHERE source NOT NULL",
        )?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// What an entry says of water given.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let trays = super::undo::trays_of(conn, entry)?;
    let water = conn
        .prepare_cached(
            "SELECT ml, ph_100, temp_dc, ec_us, coalesce(source, '') FROM water WHERE entry_id = ? ORDER BY id LIMIT 1",
        )?
        .query_row([entry], |row| Ok(NewWater { trays, figures: figures(row)?, source: row.get(4)? }))?;
    Ok(format!("{}: {}", named(&water.trays), water.words(room::units(conn)?)))
}
