//! Power cuts, as facts of the room.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::cold;
use super::error::StoreError;
use super::facts::POWER_CUT;
use super::room::{units, zone_id};
use super::writer::Writer;
use crate::domain::id::{EntryId, StoreId};
use crate::domain::keeping::Cut;
use crate::domain::power_cut::{Out, Span};
use crate::domain::reading::TEMP_DC;
use crate::domain::refusal::Refusal;
use crate::domain::room::Zone;

pub(super) fn note(w: &mut Writer<'_>, span: Span, place: Out, warmest_dc: Option<i64>) -> Result<Wrote, StoreError> {
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
    if warmest_dc.is_some_and(|dc| !TEMP_DC.contains(&dc)) {
        return Err(Refusal::new("power_cut_warmest", "Say a temperature between -20 and 60 °C.").at("warmest").into());
    }
    let (zone, store, name) = match place {
        Out::Room => (None, None, WHOLE.to_string()),
        Out::Zone(zone) => (Some(zone_id(w.conn, zone)?), None, zone.shown().to_string()),
        Out::Store(store) => (None, Some(store), cold::known(w.conn, store)?),
    };
    let row = w.fact(
        POWER_CUT,
        &[
            ("from_at", &span.from),
            ("to_at", &span.to),
            ("zone_id", &zone),
            ("store_id", &store),
            ("warmest_dc", &warmest_dc),
        ],
    )?;
    Ok(Wrote::said(format!("Power cut noted, {name}: {}.", span.words(w.now))).made(row))
}

const WHOLE: &str = "the whole room";

/// The cuts that a cold store went through.
pub(super) fn of_store(conn: &Connection, store: StoreId) -> Result<Vec<Cut>, StoreError> {
    Ok(conn
        .prepare_cached(
            // one that was noted while it lasted ends with the next one noted that has an end
            "SELECT unixepoch(p.from_at), unixepoch(coalesce(p.to_at, (SELECT min(o.to_at) FROM power_cut o WHERE o.id > p.id
               AND o.zone_id IS NULL AND o.store_id IS p.store_id AND o.void_by IS NULL AND o.to_at > p.from_at))), p.warmest_dc
             FROM power_cut p WHERE p.zone_id IS NULL AND coalesce(p.store_id, ?1) = ?1 AND p.void_by IS NULL ORDER BY p.from_at",
        )?
        .query_map([store], |row| Ok(Cut { from_s: row.get(0)?, to_s: row.get(1)?, warmest_dc: row.get(2)? }))?
        .collect::<Result<_, _>>()?)
}

/// What an entry says of a power cut: the words without the times, and the times.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<(String, Option<Span>), StoreError> {
    let found = conn
        .prepare_cached(
            "SELECT p.from_at, p.to_at, z.kind, s.name, p.warmest_dc FROM power_cut p LEFT JOIN zone z ON z.id = p.zone_id
             LEFT JOIN store s ON s.id = p.store_id WHERE p.entry_id = ?",
        )?
        .query_row([entry], |row| {
            let (zone, store, warmest): (Option<Zone>, Option<String>, Option<i64>) =
                (row.get(2)?, row.get(3)?, row.get(4)?);
            let place = zone.map(|zone| zone.shown().to_string()).or(store).unwrap_or_else(|| WHOLE.into());
            Ok((Span { from: row.get(0)?, to: row.get(1)? }, place, warmest))
        })
        .optional()?;
    let Some((span, place, warmest)) = found else { return Ok(("power cut".into(), None)) };
    let units = units(conn)?;
    let warmest = warmest.map_or_else(String::new, |dc| format!(", {} at most", units.temperature(dc)));
    Ok((format!("power cut, {place}{warmest}"), Some(span)))
}
