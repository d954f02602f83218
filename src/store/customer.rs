//! Customers.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::order;
use super::person::saved;
use super::revision::fresh;
use super::writer::{Cell, Writer};
use crate::domain::customer::{Customer, NewCustomer};
use crate::domain::id::CustomerId;
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::Day;

pub(super) fn add(w: &mut Writer<'_>, new: &NewCustomer) -> Result<Wrote, StoreError> {
    let new = checked(new)?;
    let id = w.make("customer", 1, "1", &cells(&new))?;
    Ok(Wrote::said(format!("Customer {}: written down{}.", new.name, unreachable(&new))).made(id))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    id: CustomerId,
    new: &NewCustomer,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "customer", id.0, rev)?;
    let new = checked(new)?;
    let mut left = String::new();
    if retired {
        idle(w.conn, id, w.now.day())?;
        let trays = usize::try_from(trays_out(w.conn, id)?).unwrap_or(0);
        if trays > 0 {
            left = format!("; {} of ours never came back", counted(trays, "tray"));
        }
    }
    let mut cells = cells(&new).to_vec();
    cells.push(("retired", &retired));
    saved(w.edit("customer", id.0, &cells)?)?;
    let said = if retired { left } else { unreachable(&new).to_string() };
    Ok(Wrote::said(format!("Customer {}: saved{said}.", new.name)).made(id.0))
}

/// Refuses to let a customer go who still expects something: it would be on no list any more.
fn idle(conn: &Connection, id: CustomerId, today: Day) -> Result<(), StoreError> {
    if order::awaited(conn, id, today)? {
        let why = "Something is ordered for today or later: deliver it, or call it off, first.";
        return Err(Refusal::new("customer_ordered", why).at("used").into());
    }
    Ok(())
}

fn checked(new: &NewCustomer) -> Result<NewCustomer, StoreError> {
    let trim = |text: &str| text.trim().to_owned();
    let new = NewCustomer {
        name: trim(&new.name),
        address: trim(&new.address),
        phone: trim(&new.phone),
        round: trim(&new.round),
        note: trim(&new.note),
    };
    if new.name.is_empty() {
        return Err(Refusal::new("customer", "Say who it is.").at("name").into());
    }
    Ok(new)
}

fn cells(new: &NewCustomer) -> [Cell<'_>; 5] {
    [("name", &new.name), ("address", &new.address), ("phone", &new.phone), ("round", &new.round), ("note", &new.note)]
}

/// What is still missing before something is delivered there, or before anyone can be called back.
fn unreachable(new: &NewCustomer) -> &'static str {
    match (new.address.is_empty(), new.phone.is_empty()) {
        (true, _) => "; without an address nothing is delivered there",
        (false, true) => "; without a phone a recall takes longer",
        (false, false) => "",
    }
}

/// Name and address of a customer in use.
pub(super) fn known(conn: &Connection, id: CustomerId) -> Result<(String, String), StoreError> {
    conn.prepare_cached("SELECT name, address FROM customer WHERE id = ? AND NOT retired")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?
        .ok_or_else(|| Refusal::new("customer_unknown", "Choose a customer who is in use.").at("customer").into())
}

/// Live trays that went to a customer and have not come back empty. Indexes: `delivery_customer`, `empties_customer`.
pub(super) fn trays_out(conn: &Connection, id: CustomerId) -> Result<i64, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT (SELECT coalesce(sum(CASE m.kind WHEN 'delivered' THEN m.packs ELSE -m.packs END), 0) FROM delivery d
                CROSS JOIN stock_move m ON m.delivery_id = d.id AND m.void_by IS NULL AND m.kind IN ('delivered', 'returned')
                JOIN lot l ON l.id = m.lot_id JOIN product p ON p.id = l.product_id AND p.kind = 'live'
                WHERE d.customer_id = ?1 AND d.void_by IS NULL)
             - (SELECT coalesce(sum(trays), 0) FROM empties WHERE customer_id = ?1 AND void_by IS NULL)",
        )?
        .query_row([id], |row| row.get(0))?)
}

/// Refuses that a customer would have given back more empty trays than went there. Index: `empties_customer`.
pub(super) fn trays_went_there(conn: &Connection) -> Result<(), StoreError> {
    let gave: Vec<(CustomerId, String)> = conn
        .prepare_cached(
            "SELECT c.id, c.name FROM customer c WHERE EXISTS (SELECT 1 FROM empties WHERE customer_id = c.id AND void_by IS NULL)",
        )?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    for (id, name) in gave {
        if trays_out(conn, id)? < 0 {
            let why =
                format!("{name} gave back more empty trays than would have gone there: put the empties right first.");
            return Err(Refusal::new("empties_over", why).at("amount").into());
        }
    }
    Ok(())
}

/// Customers in use, by name.
pub(super) fn all(conn: &Connection) -> Result<Vec<Customer>, StoreError> {
    let mut customers: Vec<Customer> = conn
        .prepare_cached(
            "SELECT id, rev, name, address, phone, round, note FROM customer WHERE NOT retired ORDER BY name",
        )?
        .query_map([], |row| {
            Ok(Customer {
                id: row.get(0)?,
                rev: row.get(1)?,
                name: row.get(2)?,
                address: row.get(3)?,
                phone: row.get(4)?,
                round: row.get(5)?,
                note: row.get(6)?,
                trays_out: 0,
            })
        })?
        .collect::<Result<_, _>>()?;
    for customer in &mut customers {
        customer.trays_out = trays_out(conn, customer.id)?;
    }
    Ok(customers)
}
