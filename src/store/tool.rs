//! Knives, tables, scales: found or made by the names someone gave at a cut or a run, and which lots they touched.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::breach::against;
use super::error::StoreError;
use super::facts::LOT_USE;
use super::hold::{self, TOOL};
use super::ids::day_sql;
use super::lot;
use super::person::saved;
use super::revision::fresh;
use super::writer::Writer;
use crate::domain::id::{EntryId, LotId, MaterialLotId, ProductId, ToolId};
use crate::domain::lot::Kind;
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;
use crate::domain::tool::{LastUse, NAME_MAX, Tool, check, same, with};

/// Days back in which a cut or a run proposes its tools to the next.
const BACK_D: i64 = 45;

/// Writes down what a lot was cut or packed with. One that is held is not used, or the lot is held by the breach.
pub(super) fn use_on(w: &mut Writer<'_>, lot: LotId, names: &[String]) -> Result<(), StoreError> {
    check(names).map_err(|why| Refusal::new("tool_name", why).at("tools"))?;
    let mut used: Vec<ToolId> = Vec::new();
    for name in names {
        let tool = found(w, name.trim())?;
        if used.contains(&tool) {
            continue;
        }
        used.push(tool);
        if hold::bars(w.conn, (TOOL, tool.0))? {
            let why = format!(
                "{} is held: take another one. Someone who may decide lifts the hold (d in the room).",
                name.trim()
            );
            let breach = against(w, Refusal::new("tool_held", why).at("tools"), Some((TOOL, tool.0)))?;
            lot::hold_lot(w, breach, lot)?;
        }
        w.fact(LOT_USE, &[("lot_id", &lot), ("tool_id", &tool)])?;
    }
    Ok(())
}

/// Writes down which packaging is around a lot.
pub(super) fn packed_in(w: &mut Writer<'_>, lot: LotId, packaging: MaterialLotId) -> Result<(), StoreError> {
    w.fact(LOT_USE, &[("lot_id", &lot), ("material_lot_id", &packaging)])?;
    Ok(())
}

/// The tool of this name, found or made; one out of use comes back.
fn found(w: &mut Writer<'_>, name: &str) -> Result<ToolId, StoreError> {
    let known = all(w.conn)?.into_iter().find(|tool| same(&tool.name, name));
    Ok(match known {
        Some(tool) => {
            w.edit("tool", tool.id.0, &[("retired", &false)])?;
            tool.id
        }
        None => ToolId(w.create("tool", &[("name", &name)])?),
    })
}

pub(super) fn edit(w: &mut Writer<'_>, id: ToolId, name: &str, retired: bool, rev: i64) -> Result<Wrote, StoreError> {
    fresh(w.conn, "tool", id.0, rev)?;
    let name = name.trim();
    if !(1..=NAME_MAX).contains(&name.chars().count()) || name.contains(',') {
        let why = format!("A name has 1 to {NAME_MAX} characters and no comma.");
        return Err(Refusal::new("tool_name", why).at("name").into());
    }
    if all(w.conn)?.iter().any(|tool| tool.id != id && same(&tool.name, name)) {
        let why = "A tool of that name is there already: choose another name.";
        return Err(Refusal::new("tool_taken", why).at("name").into());
    }
    saved(w.edit("tool", id.0, &[("name", &name), ("retired", &retired)])?)?;
    Ok(Wrote::said(format!("{name}: saved.")).made(id.0))
}

/// Every tool by name, those out of use among them.
pub(super) fn all(conn: &Connection) -> Result<Vec<Tool>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT id, rev, name, retired, EXISTS (SELECT 1 FROM blocked WHERE tool_id = t.id) FROM tool t ORDER BY name",
        )?
        .query_map([], |row| {
            Ok(Tool { id: row.get(0)?, rev: row.get(1)?, name: row.get(2)?, retired: row.get(3)?, held: row.get(4)? })
        })?
        .collect::<Result<_, _>>()?)
}

/// With what was cut and packed last, and into what; what is longer ago than [`BACK_D`] is no habit any more.
pub(super) fn last(conn: &Connection, today: Day) -> Result<LastUse, StoreError> {
    let since = day_sql(today - chrono::Duration::days(BACK_D));
    // index: lot_kind_day
    let packaging = conn
        .prepare_cached(
            "SELECT l.product_id, m.name, x.code FROM lot l CROSS JOIN lot_use u ON u.lot_id = l.id AND u.void_by IS NULL
             JOIN material_lot x ON x.id = u.material_lot_id JOIN material m ON m.id = x.material_id
             WHERE l.kind = 'pack' AND l.day >= ? AND l.void_by IS NULL ORDER BY u.id",
        )?
        .query_map([&since], |row| Ok((row.get::<_, ProductId>(0)?, (row.get(1)?, row.get(2)?))))?
        .collect::<Result<_, _>>()?;
    Ok(LastUse { cut: last_of(conn, Kind::Harvest, &since)?, packed: last_of(conn, Kind::Pack, &since)?, packaging })
}

/// Tools of the newest lot of a kind that has any, in the order they were named. Index: `lot_kind_day`.
fn last_of(conn: &Connection, kind: Kind, since: &str) -> Result<Vec<String>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT t.name FROM lot_use u JOIN tool t ON t.id = u.tool_id WHERE u.void_by IS NULL AND u.lot_id =
               (SELECT max(l.id) FROM lot l WHERE l.kind = ? AND l.day >= ? AND l.void_by IS NULL
                AND EXISTS (SELECT 1 FROM lot_use x WHERE x.lot_id = l.id AND x.tool_id NOT NULL AND x.void_by IS NULL))
             ORDER BY u.id",
        )?
        .query_map((kind, since), |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// What an entry cut or packed with, and into what, taken back or not: the entry said so. Index: `lot_use_entry`.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let names: Vec<String> = conn
        .prepare_cached(
            "SELECT t.name FROM lot_use u JOIN tool t ON t.id = u.tool_id WHERE u.entry_id = ? ORDER BY u.id",
        )?
        .query_map([entry], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let packaging: Option<(String, String)> = conn
        .prepare_cached(
            "SELECT m.name, x.code FROM lot_use u JOIN material_lot x ON x.id = u.material_lot_id
             JOIN material m ON m.id = x.material_id WHERE u.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let packaging = packaging.map_or_else(String::new, |(name, code)| format!(", into {name} of lot {code}"));
    Ok(with(&names) + &packaging)
}
