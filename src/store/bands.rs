//! The bands of the room's water and air: one setting.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::same;
use super::room::units;
use super::writer::Writer;
use crate::domain::bands::Bands;
use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;

const KEY: &str = "bands";

/// The bands, and how often they were changed.
pub(super) fn read(conn: &Connection) -> Result<(Bands, i64), StoreError> {
    let found: Option<(String, i64, bool)> = conn
        .prepare_cached("SELECT value, rev, retired FROM setting WHERE key = ?")?
        .query_row([KEY], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((text, rev, retired)) = found else { return Ok((Bands::default(), 0)) };
    let bands = serde_json::from_str(&text).map_err(|_| StoreError::unreadable("bands", &text))?;
    // the row itself counts, so that the first setting is news to a form opened before it
    Ok((if retired { Bands::default() } else { bands }, rev + 1))
}

pub(super) fn edit(w: &mut Writer<'_>, bands: &Bands, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    bands.check().map_err(|(field, why)| Refusal::new("bands", why).at(field))?;
    saved(before != *bands)?;
    let text = serde_json::to_string(bands).map_err(|_| StoreError::unreadable("bands", KEY))?;
    let row: Option<i64> =
        w.conn.query_row("SELECT id FROM setting WHERE key = ?", [KEY], |row| row.get(0)).optional()?;
    match row {
        Some(row) => {
            w.edit("setting", row, &[("value", &text), ("retired", &false)])?;
        }
        None => {
            w.create("setting", &[("key", &KEY), ("value", &text)])?;
        }
    }
    Ok(Wrote::said("Bands of water and air: saved."))
}

/// What an entry says of the bands, if it changed them.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let after: Option<String> = conn
        .prepare_cached(
            "SELECT json_extract(c.after, '$.value') FROM change c JOIN setting s ON s.id = c.row_id
             WHERE c.entry_id = ? AND c.noun = 'setting' AND s.key = ? AND c.after IS NOT NULL",
        )?
        .query_row(params![entry, KEY], |row| row.get(0))
        .optional()?
        .flatten();
    let Some(bands) = after.and_then(|text| serde_json::from_str::<Bands>(&text).ok()) else { return Ok(None) };
    let units = units(conn)?;
    let part =
        |of: &str, words: String| if words.is_empty() { format!("{of}: none") } else { format!("{of}: {words}") };
    Ok(Some(format!("bands of {}; {}", part("water", bands.water_words(units)), part("air", bands.air_words(units)))))
}
