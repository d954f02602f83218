//! Orders: a customer, a day, products and amounts.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::ids::day_sql;
use super::person::saved;
use super::revision::{ORDER, fresh};
use super::writer::Writer;
use super::{customer, packing};
use crate::domain::id::{CustomerId, EntryId, OrderId, ProductId};
use crate::domain::order::{Line, NewOrder, Order, Wanted};
use crate::domain::product::Kind;
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

pub(super) fn order(w: &mut Writer<'_>, new: &NewOrder) -> Result<Wrote, StoreError> {
    let (name, _) = checked(w, new, None)?;
    let day = day_sql(new.day);
    let id = OrderId(w.create("sale_order", &[("customer_id", &new.customer), ("day", &day)])?);
    let mut said = Vec::new();
    for line in &new.lines {
        said.push(write(w, id, *line)?);
    }
    Ok(Wrote::said(format!("Order of {name} for {}: {}.", new.day, said.join(", "))).made(id.0))
}

fn write(w: &mut Writer<'_>, order: OrderId, line: Wanted) -> Result<String, StoreError> {
    let product = packing::product(w.conn, line.product)?;
    let column = if product.kind == Kind::Live { "trays" } else { "packs" };
    w.create("order_line", &[("order_id", &order), ("product_id", &line.product), (column, &line.packs)])?;
    Ok(format!("{} × {}", line.packs, product.name))
}

/// Who orders, once everything is as the book takes it; `day` is what the order was for before.
fn checked(w: &Writer<'_>, new: &NewOrder, day: Option<Day>) -> Result<(String, String), StoreError> {
    let known = customer::known(w.conn, new.customer)?;
    let refuse = |rule, field, why: &str| Err(Refusal::new(rule, why).at(field).into());
    if new.day < w.now.day() && Some(new.day) != day {
        return refuse("order_day", "day", "That day is over: choose today or a day to come.");
    }
    if new.lines.is_empty() || new.lines.iter().any(|line| !(1..=100_000).contains(&line.packs)) {
        return refuse("order_amount", "amount", "Say how many: one at least of each product.");
    }
    let mut seen = std::collections::HashSet::new();
    if !new.lines.iter().all(|line| seen.insert(line.product)) {
        return refuse("order_twice", "product", "A product is named twice: say once how many.");
    }
    Ok(known)
}

pub(super) fn edit(w: &mut Writer<'_>, id: OrderId, new: &NewOrder, off: bool, rev: i64) -> Result<Wrote, StoreError> {
    fresh(w.conn, "sale_order", id.0, rev)?;
    let (customer, name, day): (CustomerId, String, Day) = w.conn.query_row(
        "SELECT c.id, c.name, o.day FROM sale_order o JOIN customer c ON c.id = o.customer_id WHERE o.id = ?",
        [id],
        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
    )?;
    if off {
        saved(w.edit("sale_order", id.0, &[("retired", &true)])?)?;
        return Ok(Wrote::said(format!("Order of {name} for {day}: called off.")).made(id.0));
    }
    let (to, _) = checked(w, new, Some(day))?;
    if customer != new.customer && brought(w.conn, id)? {
        let why = format!("Some of it was delivered to {name} already: write an order of its own for {to}.");
        return Err(Refusal::new("order_customer", why).at("customer").into());
    }
    let lines = lines(w.conn, id)?;
    let short = lines.iter().find(|line| {
        line.delivered
            > new.lines.iter().filter(|wanted| wanted.product == line.product).map(|wanted| wanted.packs).sum()
    });
    if let Some(line) = short {
        let product = packing::product(w.conn, line.product)?.name;
        let why = format!("{} × {product} were delivered on it already: order as many at least.", line.delivered);
        return Err(Refusal::new("order_delivered", why).at("amount").into());
    }
    let day = day_sql(new.day);
    let mut changed =
        w.edit("sale_order", id.0, &[("customer_id", &new.customer), ("day", &day), ("retired", &false)])?;
    for (row, line) in rows(w.conn, id)? {
        match new.lines.iter().find(|wanted| wanted.product == line.product) {
            Some(wanted) => {
                let live = packing::product(w.conn, line.product)?.kind == Kind::Live;
                changed |= w.edit("order_line", row, &[(if live { "trays" } else { "packs" }, &wanted.packs)])?;
            }
            None => changed |= w.edit("order_line", row, &[("retired", &true)])?,
        }
    }
    for wanted in new.lines.iter().filter(|wanted| !lines.iter().any(|line| line.product == wanted.product)) {
        write(w, id, *wanted)?;
        changed = true;
    }
    saved(changed)?;
    Ok(Wrote::said(format!("Order of {to} for {}: saved.", new.day)).made(id.0))
}

/// Whether anything was delivered on an order. Index: `delivery_order`.
fn brought(conn: &Connection, id: OrderId) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM delivery WHERE order_id = ? AND void_by IS NULL)")?
        .query_row([id], |row| row.get(0))?)
}

/// The lines of an order with their rows. Index: `order_line_order`.
fn rows(conn: &Connection, id: OrderId) -> Result<Vec<(i64, Wanted)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT id, product_id, coalesce(packs, trays, grams) FROM order_line WHERE order_id = ? AND NOT retired ORDER BY id",
        )?
        .query_map([id], |row| Ok((row.get(0)?, Wanted { product: row.get(1)?, packs: row.get(2)? })))?
        .collect::<Result<_, _>>()?)
}

/// The lines of an order with what was delivered on them; what came back is not brought again by itself. Index: `delivery_order`.
pub(super) fn lines(conn: &Connection, id: OrderId) -> Result<Vec<Line>, StoreError> {
    let mut lines = Vec::new();
    for (_, wanted) in rows(conn, id)? {
        let delivered: i64 = conn
            .prepare_cached(
                "SELECT coalesce(sum(m.packs), 0) FROM delivery d CROSS JOIN stock_move m ON m.delivery_id = d.id
                   AND m.void_by IS NULL AND m.kind = 'delivered' JOIN lot l ON l.id = m.lot_id
                 WHERE d.order_id = ? AND d.void_by IS NULL AND l.product_id = ?",
            )?
            .query_row(params![id, wanted.product], |row| row.get(0))?;
        lines.push(Line { product: wanted.product, packs: wanted.packs, delivered });
    }
    Ok(lines)
}

/// Orders from a day on, by day. Index: `sale_order_by_day`.
pub(super) fn since(conn: &Connection, day: Day) -> Result<Vec<Order>, StoreError> {
    let mut orders: Vec<Order> = conn
        .prepare_cached(&format!(
            "SELECT id, {ORDER}, customer_id, day FROM sale_order WHERE NOT retired AND day >= ? ORDER BY day, id"
        ))?
        .query_map([day_sql(day)], |row| {
            Ok(Order { id: row.get(0)?, rev: row.get(1)?, customer: row.get(2)?, day: row.get(3)?, lines: Vec::new() })
        })?
        .collect::<Result<_, _>>()?;
    for order in &mut orders {
        order.lines = lines(conn, order.id)?;
    }
    Ok(orders)
}

/// The customer of an order that stands.
pub(super) fn customer_of(conn: &Connection, id: OrderId) -> Result<CustomerId, StoreError> {
    conn.prepare_cached("SELECT customer_id FROM sale_order WHERE id = ? AND NOT retired")?
        .query_row([id], |row| row.get(0))
        .optional()?
        .ok_or_else(|| Refusal::new("order_unknown", "This order was called off: deliver without one.").into())
}

/// What an entry says of an order.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (name, day, off): (String, String, bool) = conn
        .prepare_cached(
            "SELECT c.name, o.day, EXISTS (SELECT 1 FROM change x WHERE x.entry_id = ?1 AND x.noun = 'sale_order'
               AND json_extract(x.after, '$.retired') = 1)
             FROM sale_order o JOIN customer c ON c.id = o.customer_id WHERE o.id = (
               SELECT coalesce((SELECT row_id FROM change WHERE entry_id = ?1 AND noun = 'sale_order' ORDER BY n LIMIT 1),
                 (SELECT l.order_id FROM change x JOIN order_line l ON l.id = x.row_id
                  WHERE x.entry_id = ?1 AND x.noun = 'order_line' ORDER BY x.n LIMIT 1)))",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    if off {
        return Ok(format!("order of {name} for {day} called off"));
    }
    let lines: Vec<(String, Option<i64>)> = conn
        .prepare_cached(
            "SELECT p.name, coalesce(json_extract(x.after, '$.packs'), json_extract(x.after, '$.trays')) FROM change x
             JOIN order_line l ON l.id = x.row_id JOIN product p ON p.id = l.product_id
             WHERE x.entry_id = ? AND x.noun = 'order_line' ORDER BY x.n",
        )?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let lines: Vec<String> = lines
        .into_iter()
        .map(|(name, n)| n.map_or_else(|| format!("no {name}"), |n| format!("{n} × {name}")))
        .collect();
    let what = if lines.is_empty() { String::new() } else { format!(": {}", lines.join(", ")) };
    Ok(format!("order of {name} for {day}{what}"))
}

/// Products that orders not over yet want. Used where one is to go out of use.
pub(super) fn wants(conn: &Connection, product: ProductId, today: Day) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM sale_order o JOIN order_line l ON l.order_id = o.id AND NOT l.retired
             WHERE NOT o.retired AND o.day >= ? AND l.product_id = ?)",
        )?
        .query_row(params![day_sql(today), product], |row| row.get(0))?)
}

/// Whether orders not over yet still want something for a customer. Index: `sale_order_customer`.
pub(super) fn awaited(conn: &Connection, customer: CustomerId, today: Day) -> Result<bool, StoreError> {
    let mut text =
        conn.prepare_cached("SELECT id FROM sale_order WHERE customer_id = ? AND NOT retired AND day >= ?")?;
    let orders: Vec<OrderId> =
        text.query_map(params![customer, day_sql(today)], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for order in orders {
        if lines(conn, order)?.iter().any(|line| line.open() > 0) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The first entry after `since` by which an order that stands came to use a customer or a product.
pub(super) fn used(conn: &Connection, noun: &str, row: i64, since: EntryId) -> Result<Option<EntryId>, StoreError> {
    let of = match noun {
        "customer" => {
            "x.noun = 'sale_order' AND x.row_id IN (SELECT id FROM sale_order WHERE customer_id = ?1 AND NOT retired)"
        }
        "product" => {
            "x.noun = 'order_line' AND x.row_id IN (SELECT l.id FROM order_line l JOIN sale_order o ON o.id = l.order_id
               WHERE l.product_id = ?1 AND NOT l.retired AND NOT o.retired)"
        }
        _ => return Ok(None),
    };
    let text = format!("SELECT min(x.entry_id) FROM change x WHERE {of} AND x.entry_id > ?2");
    Ok(conn.prepare_cached(&text)?.query_row(params![row, since], |found| found.get(0))?)
}
