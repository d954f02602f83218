//! Suppliers: made by a delivery of seed, and put right here.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::fresh;
use super::writer::Writer;
use crate::domain::id::SupplierId;
use crate::domain::refusal::Refusal;
use crate::domain::supplier::{LEAD_D_MAX, Supplier};
use crate::domain::text::counted;

/// `new`: name, address, lead time.
pub(super) fn edit(
    w: &mut Writer<'_>,
    id: SupplierId,
    (name, address, lead_d): (&str, &str, Option<i64>),
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "supplier", id.0, rev)?;
    let (name, address) = (name.trim(), address.trim());
    if name.is_empty() {
        return Err(Refusal::new("supplier_name", "Say who it is; a trace ends there.").at("name").into());
    }
    if lead_d.is_some_and(|days| !(0..=LEAD_D_MAX).contains(&days)) {
        let why = format!("Seed takes 0 to {LEAD_D_MAX} days to come: give the days, or leave it empty.");
        return Err(Refusal::new("supplier_lead", why).at("lead").into());
    }
    saved(w.edit(
        "supplier",
        id.0,
        &[("name", &name), ("address", &address), ("lead_d", &lead_d), ("retired", &retired)],
    )?)?;
    let takes = lead_d.map_or_else(
        || "no lead time is set, so no day to order is told".to_string(),
        |days| format!("takes {}", counted(usize::try_from(days).unwrap_or(0), "day")),
    );
    let gone = if retired { "; out of use until seed comes from there again" } else { "" };
    Ok(Wrote::said(format!("Supplier {name}: {takes}{gone}.")).made(id.0))
}

/// All of them by name: lots name also those out of use.
pub(super) fn all(conn: &Connection) -> Result<Vec<Supplier>, StoreError> {
    let mut select =
        conn.prepare_cached("SELECT id, rev, retired, name, address, lead_d FROM supplier ORDER BY name")?;
    let rows = select.query_map([], |row| {
        Ok(Supplier {
            id: row.get(0)?,
            rev: row.get(1)?,
            retired: row.get(2)?,
            name: row.get(3)?,
            address: row.get(4)?,
            lead_d: row.get(5)?,
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}
