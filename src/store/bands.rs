//! The bands of the room's water and air: one setting.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::same;
use super::room::units;
use super::setting;
use super::writer::Writer;
use crate::domain::bands::Bands;
use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;

const KEY: &str = "bands";

/// The bands, and how often they were changed.
pub(super) fn read(conn: &Connection) -> Result<(Bands, i64), StoreError> {
    setting::read(conn, KEY)
}

pub(super) fn edit(w: &mut Writer<'_>, bands: &Bands, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    bands.check().map_err(|(field, why)| Refusal::new("bands", why).at(field))?;
    saved(before != *bands)?;
    setting::write(w, KEY, bands)?;
    Ok(Wrote::said("Bands of water and air: saved."))
}

/// What an entry says of the bands, if it changed them.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let Some(bands) = setting::after::<Bands>(conn, entry, KEY)? else { return Ok(None) };
    let units = units(conn)?;
    let part =
        |of: &str, words: String| if words.is_empty() { format!("{of}: none") } else { format!("{of}: {words}") };
    Ok(Some(format!("bands of {}; {}", part("water", bands.water_words(units)), part("air", bands.air_words(units)))))
}
