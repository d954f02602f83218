//! Who grows: one setting.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::same;
use super::room;
use super::writer::Writer;
use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;
use crate::domain::sender::Sender;

const KEY: &str = "sender";

/// The sender, and how often that was changed.
pub(super) fn read(conn: &Connection) -> Result<(Sender, i64), StoreError> {
    let found: Option<(String, i64, bool)> = conn
        .prepare_cached("SELECT value, rev, retired FROM setting WHERE key = ?")?
        .query_row([KEY], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((text, rev, retired)) = found else { return Ok((Sender::default(), 0)) };
    let sender = serde_json::from_str(&text).map_err(|_| StoreError::unreadable("the sender", &text))?;
    // the row itself counts, so that the first setting is news to a form opened before it
    Ok((if retired { Sender::default() } else { sender }, rev + 1))
}

pub(super) fn edit(w: &mut Writer<'_>, sender: &Sender, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    sender.check().map_err(|(field, why)| Refusal::new("sender", why).at(field))?;
    saved(before != *sender)?;
    let text = serde_json::to_string(sender).map_err(|_| StoreError::unreadable("the sender", KEY))?;
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
    Ok(Wrote::said("Labels and notes: saved."))
}

/// What an entry says of the sender, if it changed it.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let after: Option<String> = conn
        .prepare_cached(
            "SELECT json_extract(c.after, '$.value') FROM change c JOIN setting s ON s.id = c.row_id
             WHERE c.entry_id = ? AND c.noun = 'setting' AND s.key = ? AND c.after IS NOT NULL",
        )?
        .query_row(params![entry, KEY], |row| row.get(0))
        .optional()?
        .flatten();
    let Some(sender) = after.and_then(|text| serde_json::from_str::<Sender>(&text).ok()) else { return Ok(None) };
    let wash = if sender.wash { "wash before eating" } else { "nothing about washing" };
    let prefix = sender.gs1_prefix.map_or_else(String::new, |prefix| format!(", GS1 prefix {prefix}"));
    let after_us = room::units(conn)?.temperature(sender.after_dc);
    let Sender { name, address, phone, .. } = sender;
    Ok(Some(format!("labels and notes: {name}, {address}, {phone}; {wash}; kept at {after_us} after us{prefix}")))
}
