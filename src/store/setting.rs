//! A setting that is one value with several fields, kept as JSON.

use rusqlite::{Connection, OptionalExtension, params};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::StoreError;
use super::writer::Writer;
use crate::domain::id::EntryId;

/// The value, or what stands for none, and how often it was changed.
pub(super) fn read<T: Default + DeserializeOwned>(
    conn: &Connection,
    key: &'static str,
) -> Result<(T, i64), StoreError> {
    let found: Option<(String, i64, bool)> = conn
        .prepare_cached("SELECT value, rev, retired FROM setting WHERE key = ?")?
        .query_row([key], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((text, rev, retired)) = found else { return Ok((T::default(), 0)) };
    let value = serde_json::from_str(&text).map_err(|_| StoreError::unreadable(key, &text))?;
    // the row itself counts, so that the first setting is news to a form opened before it
    Ok((if retired { T::default() } else { value }, rev + 1))
}

pub(super) fn write<T: Serialize>(w: &mut Writer<'_>, key: &'static str, value: &T) -> Result<(), StoreError> {
    let text = serde_json::to_string(value).map_err(|_| StoreError::unreadable(key, key))?;
    let row: Option<i64> =
        w.conn.query_row("SELECT id FROM setting WHERE key = ?", [key], |row| row.get(0)).optional()?;
    match row {
        Some(row) => {
            w.edit("setting", row, &[("value", &text), ("retired", &false)])?;
        }
        None => {
            w.create("setting", &[("key", &key), ("value", &text)])?;
        }
    }
    Ok(())
}

/// What an entry set it to, if it did.
pub(super) fn after<T: DeserializeOwned>(
    conn: &Connection,
    entry: EntryId,
    key: &'static str,
) -> Result<Option<T>, StoreError> {
    let after: Option<String> = conn
        .prepare_cached(
            "SELECT json_extract(c.after, '$.value') FROM change c JOIN setting s ON s.id = c.row_id
             WHERE c.entry_id = ? AND c.noun = 'setting' AND s.key = ? AND c.after IS NOT NULL",
        )?
        .query_row(params![entry, key], |row| row.get(0))
        .optional()?
        .flatten();
    Ok(after.and_then(|text| serde_json::from_str(&text).ok()))
}
