//! Deliveries, and what customers give back.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::ask::ask;
use super::error::StoreError;
use super::facts::DELIVERY;
use super::ids::day_sql;
use super::lot::{Doing, may_go};
use super::stock::{Row, enough, pack_lot, write};
use super::writer::Writer;
use super::{cold, customer, lot, order, room, stock};
use crate::domain::delivery::{COLD_DC, Delivery, Line, NewDelivery, NewReturn, Packs};
use crate::domain::id::{CustomerId, DeliveryId, EntryId, LotId, OrderId, ProductId, RoundId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::reading::TEMP_DC;
use crate::domain::refusal::Refusal;
use crate::domain::stock::{CameBack, Kind as Move, SAMPLE_D};
use crate::domain::text::counted;
use crate::domain::time::Day;

/// A drop as it is written: to whom, on which order, from which round.
pub(super) struct Drop<'a> {
    pub customer: CustomerId,
    pub order: Option<OrderId>,
    pub round: Option<RoundId>,
    pub received_by: Option<&'a str>,
    pub temp_dc: Option<i64>,
    /// Everything of it was beyond the order, as its round says.
    pub extra: bool,
}

pub(super) fn deliver(w: &mut Writer<'_>, new: &NewDelivery) -> Result<Wrote, StoreError> {
    let (name, _) = customer::known(w.conn, new.customer)?;
    let drop = Drop {
        customer: new.customer,
        order: new.order,
        round: new.round,
        received_by: new.received_by.as_deref().map(str::trim).filter(|text| !text.is_empty()),
        temp_dc: new.temp_dc,
        extra: false,
    };
    // what a round carries was asked about when it was loaded
    if new.round.is_none() {
        known_to_keep(w, &new.lines, &new.sure)?;
    }
    let id = drop_off(w, &drop, &new.lines)?;
    let packs: i64 = new.lines.iter().map(|line| line.packs).sum();
    let lots = counted(new.lines.len(), "lot");
    let warm = new.temp_dc.filter(|dc| *dc > COLD_DC).map_or_else(String::new, |dc| {
        let dc = room::units(w.conn).map(|units| units.temperature(dc)).unwrap_or_default();
        format!(" It was {dc} at the drop, warmer than the cold limit: decide with the customer, by local rules.")
    });
    let sentence = format!("Delivery {} to {name}: {} of {lots}.{warm}", id.0, stock_words(packs));
    Ok(Wrote::said(sentence).made(id.0))
}

/// Asks about packs without a figure, where the room keeps them in cold stores: someone says by name that they were looked at.
pub(super) fn known_to_keep(w: &Writer<'_>, lines: &[Packs], sure: &[&'static str]) -> Result<(), StoreError> {
    let lots: Vec<LotId> = lines.iter().map(|line| line.lot).collect();
    let Some(doubt) = cold::keeps(w.conn, &lots, w.moment())?.doubt else { return Ok(()) };
    let why = format!("{doubt}. Were the packs opened and looked at, and are they to go out all the same?");
    ask(w, sure, Refusal::new("deliver_keeps", why).at("lots"))
}

fn stock_words(packs: i64) -> String {
    if packs == 1 { "1 pack".into() } else { format!("{packs} packs") }
}

/// Writes a delivery with its lines, from the room or from a round.
pub(super) fn drop_off(w: &mut Writer<'_>, drop: &Drop<'_>, lines: &[Packs]) -> Result<DeliveryId, StoreError> {
    let (name, address) = customer::known(w.conn, drop.customer)?;
    if address.is_empty() {
        let why = format!(
            "{name} has no address: write it down first. What is sold to the public goes out on a stall, with place and hours."
        );
        return Err(Refusal::new("deliver_address", why).at("customer").into());
    }
    some(lines)?;
    if drop.temp_dc.is_some_and(|dc| !TEMP_DC.contains(&dc)) {
        let why = "Say the temperature at the drop between -20 and 60 °C.";
        return Err(Refusal::new("deliver_temp", why).at("temp").into());
    }
    if let Some(order) = drop.order
        && order::customer_of(w.conn, order)? != drop.customer
    {
        let why = "That order is of another customer: choose theirs, or deliver without one.";
        return Err(Refusal::new("deliver_order", why).at("customer").into());
    }
    let mut lots = Vec::new();
    for line in lines {
        let lot = pack_lot(w.conn, line.lot)?;
        // what is on a round was let go when it was loaded, and is asked again at the door
        may_go(w, lot.id, Doing::GiveOut)?;
        match drop.round {
            Some(round) => carried(w.conn, round, &lot, line.packs)?,
            None => enough(w, &lot, line.packs)?,
        }
        lots.push((lot, line.packs));
    }
    let day = day_sql(w.day());
    let id = DeliveryId(w.fact(
        DELIVERY,
        &[
            ("customer_id", &drop.customer),
            ("day", &day),
            ("order_id", &drop.order),
            ("round_id", &drop.round),
            ("received_by", &drop.received_by),
            ("temp_dc", &drop.temp_dc),
        ],
    )?);
    let mut open = match drop.order {
        Some(order) => Some(order::lines(w.conn, order)?),
        None => None,
    };
    for (lot, packs) in lots {
        let wanted = open.as_mut().map(|open| take(open, lot.product, packs));
        let within = if drop.extra { 0 } else { wanted.unwrap_or(packs) };
        for (packs, extra) in [(within, false), (packs - within, true)] {
            if packs > 0 {
                let row = Row {
                    delivery: Some(id),
                    round: drop.round,
                    customer: Some(drop.customer),
                    extra,
                    ..Row::default()
                };
                write(w, (lot.id, Move::Delivered), Kind::Pack, packs, &row)?;
            }
        }
    }
    Ok(id)
}

/// How many of these packs the order still wanted.
fn take(open: &mut [crate::domain::order::Line], product: Option<ProductId>, packs: i64) -> i64 {
    let Some(line) = open.iter_mut().find(|line| Some(line.product) == product) else { return 0 };
    let within = packs.min(line.open());
    line.delivered += within;
    within
}

/// Something, each lot once, a pack at least.
pub(super) fn some(lines: &[Packs]) -> Result<(), StoreError> {
    if lines.is_empty() || lines.iter().any(|line| line.packs < 1) {
        let why = "Say which lots and how many packs: one at least.";
        return Err(Refusal::new("deliver_nothing", why).at("lots").into());
    }
    let mut seen = std::collections::HashSet::new();
    if lines.iter().all(|line| seen.insert(line.lot)) {
        return Ok(());
    }
    Err(Refusal::new("deliver_twice", "A lot is named twice: say once how many packs of it.").at("lots").into())
}

/// Refuses more than a round still carries of a lot. Index: `stock_move_round`.
pub(super) fn carried(conn: &Connection, round: RoundId, lot: &Lot, packs: i64) -> Result<(), StoreError> {
    let there: i64 = conn
        .prepare_cached("SELECT coalesce(sum(packs), 0) FROM round_stock WHERE round_id = ? AND lot_id = ?")?
        .query_row(params![round, lot.id], |row| row.get(0))?;
    if packs <= there {
        return Ok(());
    }
    let why = format!("The round carries {} of {}: say fewer.", stock_words(there), lot.code);
    Err(Refusal::new("round_over", why).at("lots").into())
}

/// Packs that a customer gave back: binned, kept, or not decided; none is sold again.
pub(super) fn take_back(w: &mut Writer<'_>, new: &NewReturn) -> Result<Wrote, StoreError> {
    let lot = pack_lot(w.conn, new.lot)?;
    let customer = customer_of(w.conn, new.delivery)?;
    let reason = new.reason.trim();
    if reason.is_empty() {
        let why = "Say why they came back: it may be the first sign of a complaint.";
        return Err(Refusal::new("return_reason", why).at("reason").into());
    }
    if new.packs < 1 {
        return Err(Refusal::new("stock_amount", "Say how much: one at least.").at("amount").into());
    }
    let out = still_out(w.conn, new.delivery, new.lot)?;
    if new.packs > out {
        let why = format!("{} of {} are with them by this delivery: say fewer.", stock_words(out), lot.code);
        return Err(Refusal::new("return_over", why).at("amount").into());
    }
    let row = Row {
        delivery: Some(new.delivery),
        customer: Some(customer),
        what: Some(new.what),
        keep_until: kept(new.what, &lot),
        reason: Some(reason),
        ..Row::default()
    };
    write(w, (lot.id, Move::Returned), Kind::Pack, new.packs, &row)?;
    customer::trays_went_there(w.conn)?;
    let sentence =
        format!("{} of {} came back: {}. They are not sold again.", stock_words(new.packs), lot.code, new.what.shown());
    Ok(Wrote::said(sentence).made(lot.id.0))
}

fn kept(what: CameBack, lot: &Lot) -> Option<Day> {
    lot.best_before.filter(|_| what == CameBack::Sample).map(|day| day + chrono::Duration::days(SAMPLE_D))
}

/// What becomes of packs that came back and nobody had decided about.
pub(super) fn decide_return(
    w: &mut Writer<'_>,
    delivery: DeliveryId,
    id: LotId,
    packs: i64,
    what: CameBack,
) -> Result<Wrote, StoreError> {
    let lot = pack_lot(w.conn, id)?;
    let customer = customer_of(w.conn, delivery)?;
    if what == CameBack::Undecided {
        let why = "Say what becomes of them: binned, or kept as a sample.";
        return Err(Refusal::new("return_undecided", why).at("what").into());
    }
    let returns = undecided_returns(w.conn, delivery, id)?;
    let open: i64 = returns.iter().map(|(_, packs)| packs).sum();
    if packs < 1 || packs > open {
        let why = format!("{} of {} wait for a decision: say 1 to that many.", stock_words(open), lot.code);
        return Err(Refusal::new("return_decided", why).at("amount").into());
    }
    let mut left = packs;
    for (about, waiting) in returns {
        let part = waiting.min(left);
        if part > 0 {
            let row = Row {
                delivery: Some(delivery),
                customer: Some(customer),
                what: Some(what),
                about: Some(about),
                keep_until: kept(what, &lot),
                ..Row::default()
            };
            write(w, (lot.id, Move::Decided), Kind::Pack, part, &row)?;
            left -= part;
        }
    }
    Ok(Wrote::said(format!("{} of {} that came back: {}.", stock_words(packs), lot.code, what.shown())).made(id.0))
}

fn customer_of(conn: &Connection, id: DeliveryId) -> Result<CustomerId, StoreError> {
    conn.prepare_cached("SELECT customer_id FROM delivery WHERE id = ? AND void_by IS NULL")?
        .query_row([id], |row| row.get(0))
        .optional()?
        .ok_or_else(|| Refusal::new("delivery_unknown", "The book has no such delivery: choose another.").into())
}

fn sum(conn: &Connection, delivery: DeliveryId, lot: LotId, case: &str) -> Result<i64, StoreError> {
    let text = format!(
        "SELECT coalesce(sum({case}), 0) FROM stock_move WHERE delivery_id = ? AND lot_id = ? AND void_by IS NULL"
    );
    Ok(conn.prepare_cached(&text)?.query_row(params![delivery, lot], |row| row.get(0))?)
}

/// Packs of a lot that a customer still has by a delivery. Index: `stock_move_delivery`.
fn still_out(conn: &Connection, delivery: DeliveryId, lot: LotId) -> Result<i64, StoreError> {
    sum(conn, delivery, lot, "CASE kind WHEN 'delivered' THEN packs WHEN 'returned' THEN -packs ELSE 0 END")
}

/// Returns that wait for a decision, the oldest first, and how many packs of each. A decision names its return, so that
/// neither is taken back under the other. Index: `stock_move_delivery`.
fn undecided_returns(conn: &Connection, delivery: DeliveryId, lot: LotId) -> Result<Vec<(i64, i64)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT r.id, r.packs - coalesce((SELECT sum(d.packs) FROM stock_move d
               WHERE d.delivery_id = ?1 AND d.about_id = r.id AND d.void_by IS NULL), 0)
             FROM stock_move r WHERE r.delivery_id = ?1 AND r.lot_id = ?2 AND r.kind = 'returned' AND r.what = 'undecided'
             AND r.void_by IS NULL ORDER BY r.id",
        )?
        .query_map(params![delivery, lot], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}

const SELECT: &str =
    "SELECT d.id, d.customer_id, c.name, c.address, c.phone, d.day, d.order_id, r.name, d.received_by, d.temp_dc,
        p.initials
    FROM delivery d JOIN customer c ON c.id = d.customer_id LEFT JOIN round r ON r.id = d.round_id
    JOIN entry_hands h ON h.id = d.entry_id JOIN person p ON p.id = h.person_id";

fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<Delivery> {
    Ok(Delivery {
        id: row.get(0)?,
        customer: row.get(1)?,
        customer_name: row.get(2)?,
        address: row.get(3)?,
        phone: row.get(4)?,
        day: row.get(5)?,
        order: row.get(6)?,
        round: row.get(7)?,
        received_by: row.get(8)?,
        temp_dc: row.get(9)?,
        who: row.get(10)?,
        lines: Vec::new(),
    })
}

/// Deliveries since a day, newest first. Index: `delivery_day`.
pub(super) fn since(conn: &Connection, day: Day) -> Result<Vec<Delivery>, StoreError> {
    let text = format!("{SELECT} WHERE d.day >= ? AND d.void_by IS NULL ORDER BY d.day DESC, d.id DESC");
    let mut deliveries: Vec<Delivery> =
        conn.prepare_cached(&text)?.query_map([day_sql(day)], read)?.collect::<Result<_, _>>()?;
    deliveries.iter_mut().try_for_each(|delivery| lines(conn, delivery))?;
    Ok(deliveries)
}

/// One delivery with its lines.
pub(super) fn one(conn: &Connection, id: DeliveryId) -> Result<Option<Delivery>, StoreError> {
    let text = format!("{SELECT} WHERE d.id = ? AND d.void_by IS NULL");
    let found = conn.prepare_cached(&text)?.query_row([id], read).optional()?;
    let Some(mut delivery) = found else { return Ok(None) };
    lines(conn, &mut delivery)?;
    Ok(Some(delivery))
}

fn lines(conn: &Connection, delivery: &mut Delivery) -> Result<(), StoreError> {
    let found: Vec<Line> = conn
        .prepare_cached(
            "SELECT l.id, l.code, p.name, l.pack_g, l.best_before, m.packs, coalesce(m.extra, 0), p.id FROM stock_move m
             JOIN lot l ON l.id = m.lot_id JOIN product p ON p.id = l.product_id
             WHERE m.delivery_id = ? AND m.kind = 'delivered' AND m.void_by IS NULL ORDER BY m.id",
        )?
        .query_map([delivery.id], |row| {
            Ok(Line {
                lot: row.get(0)?,
                code: row.get(1)?,
                product: row.get(2)?,
                product_id: row.get(7)?,
                pack_g: row.get(3)?,
                best_before: row.get(4)?,
                packs: row.get(5)?,
                returned: 0,
                undecided: 0,
                extra: row.get(6)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    for mut line in found {
        line.code = lot::shown(&line.code)?;
        let all = sum(conn, delivery.id, line.lot, "CASE kind WHEN 'returned' THEN packs ELSE 0 END")?;
        let before: i64 = delivery.lines.iter().filter(|known| known.lot == line.lot).map(|known| known.returned).sum();
        line.returned = (all - before).clamp(0, line.packs);
        line.undecided = undecided_returns(conn, delivery.id, line.lot)?.iter().map(|(_, packs)| packs).sum();
        delivery.lines.push(line);
    }
    Ok(())
}

/// What an entry delivered.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (id, name, by, temp): (i64, String, Option<String>, Option<i64>) = conn
        .prepare_cached(
            "SELECT d.id, c.name, d.received_by, d.temp_dc FROM delivery d JOIN customer c ON c.id = d.customer_id
             WHERE d.entry_id = ? ORDER BY d.id LIMIT 1",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let units = room::units(conn)?;
    let by = by.map_or_else(String::new, |by| format!("; received by {by}"));
    let temp = temp.map_or_else(String::new, |dc| format!("; {} at the drop", units.temperature(dc)));
    Ok(format!("delivery {id} to {name}: {}{by}{temp}", stock::line(conn, entry)?))
}
