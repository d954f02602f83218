//! Who grows: one setting.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::same;
use super::writer::Writer;
use super::{room, setting};
use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;
use crate::domain::sender::Sender;

const KEY: &str = "sender";

/// The sender, and how often that was changed.
pub(super) fn read(conn: &Connection) -> Result<(Sender, i64), StoreError> {
    setting::read(conn, KEY)
}

pub(super) fn edit(w: &mut Writer<'_>, sender: &Sender, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    sender.check().map_err(|(field, why)| Refusal::new("sender", why).at(field))?;
    saved(before != *sender)?;
    setting::write(w, KEY, sender)?;
    Ok(Wrote::said("Labels and notes: saved."))
}

/// What an entry says of the sender, if it changed it.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let Some(sender) = setting::after::<Sender>(conn, entry, KEY)? else { return Ok(None) };
    let wash = if sender.wash { "wash before eating" } else { "nothing about washing" };
    let prefix = sender.gs1_prefix.map_or_else(String::new, |prefix| format!(", GS1 prefix {prefix}"));
    let after_us = room::units(conn)?.temperature(sender.after_dc);
    let Sender { name, address, phone, .. } = sender;
    Ok(Some(format!("labels and notes: {name}, {address}, {phone}; {wash}; kept at {after_us} after us{prefix}")))
}
