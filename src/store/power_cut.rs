//! Power cuts, as facts of the room.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::POWER_CUT;
use super::room::zone_id;
use super::writer::Writer;
use crate::domain::id::EntryId;
use crate::domain::power_cut::{Span, place};
use crate::domain::refusal::Refusal;
use crate::domain::room::Zone;

pub(super) fn note(w: &mut Writer<'_>, span: Span, zone: Option<Zone>) -> Result<Wrote, StoreError> {
    let now = w.now.instant();
    if span.from > now {
        return Err(Refusal::new("power_cut_future", "That is still to come: note a cut when it has begun.")
            .at("from")
            .into());
    }
    if span.to.is_some_and(|to| to <= span.from) {
        return Err(Refusal::new("power_cut_order", "It ends before it begins: correct one of the times.")
            .at("to")
            .into());
    }
    if span.to.is_some_and(|to| to > now) {
        let sentence = "Its end is still to come: leave it empty until the power is back.";
        return Err(Refusal::new("power_cut_future", sentence).at("to").into());
    }
    let zone_row = zone.map(|zone| zone_id(w.conn, zone)).transpose()?;
    let row = w.fact(POWER_CUT, &[("from_at", &span.from), ("to_at", &span.to), ("zone_id", &zone_row)])?;
    Ok(Wrote::said(format!("Power cut noted, {}: {}.", place(zone), span.words(w.now))).made(row))
}

/// What an entry says of a power cut: the words without the times, and the times.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<(String, Option<Span>), StoreError> {
    let found = conn
        .prepare_cached(
            "SELECT p.from_at, p.to_at, z.kind FROM power_cut p LEFT JOIN zone z ON z.id = p.zone_id WHERE p.entry_id = ?",
        )?
        .query_row([entry], |row| {
            Ok((Span { from: row.get(0)?, to: row.get(1)? }, row.get::<_, Option<Zone>>(2)?))
        })
        .optional()?;
    Ok(match found {
        Some((span, zone)) => (format!("power cut, {}", place(zone)), Some(span)),
        None => ("power cut".into(), None),
    })
}
