//! What becomes of a lot in the room: binned, kept as a sample, given away, counted.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::facts::STOCK_MOVE;
use super::ids::day_sql;
use super::lot::{Doing, may_go};
use super::writer::{Cell, Writer};
use super::{lot, room};
use crate::domain::id::{CustomerId, DeliveryId, EntryId, LotId, PersonId, RoundId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::refusal::Refusal;
use crate::domain::room::Units;
use crate::domain::stock::{Away, CameBack, KeptSample, Kind as Move, NewMove, SAMPLE_D};
use crate::domain::time::Day;

/// One movement as it is written.
#[derive(Default)]
pub(super) struct Row<'a> {
    pub delivery: Option<DeliveryId>,
    pub round: Option<RoundId>,
    pub customer: Option<CustomerId>,
    pub extra: bool,
    pub what: Option<CameBack>,
    /// The return that is decided about.
    pub about: Option<i64>,
    pub temp_dc: Option<i64>,
    pub out_min: Option<i64>,
    pub person: Option<PersonId>,
    pub keep_until: Option<Day>,
    pub reason: Option<&'a str>,
}

/// Writes packs of a lot, or grams where it is a harvest lot.
pub(super) fn write(
    w: &mut Writer<'_>,
    (lot, kind): (LotId, Move),
    of: Kind,
    amount: i64,
    row: &Row<'_>,
) -> Result<(), StoreError> {
    let (grams, packs) = match of {
        Kind::Harvest => (Some(amount), None),
        Kind::Pack => (None, Some(amount)),
    };
    let (day, until) = (day_sql(w.day()), row.keep_until.map(day_sql));
    let cells: [Cell<'_>; 16] = [
        ("lot_id", &lot),
        ("kind", &kind),
        ("grams", &grams),
        ("packs", &packs),
        ("day", &day),
        ("delivery_id", &row.delivery),
        ("round_id", &row.round),
        ("customer_id", &row.customer),
        ("extra", &row.extra),
        ("what", &row.what),
        ("about_id", &row.about),
        ("temp_dc", &row.temp_dc),
        ("out_min", &row.out_min),
        ("person_id", &row.person),
        ("keep_until", &until),
        ("reason", &row.reason),
    ];
    w.fact(STOCK_MOVE, &cells)?;
    w.touched_lots.insert(lot);
    Ok(())
}

/// `3 packs`, `120 g`.
pub(super) fn amount(kind: Kind, n: i64, units: Units) -> String {
    match (kind, n) {
        (Kind::Harvest, grams) => units.weight(grams * 1000),
        (Kind::Pack, 1) => "1 pack".into(),
        (Kind::Pack, packs) => format!("{packs} packs"),
    }
}

/// Refuses more than is here, and less than one.
pub(super) fn enough(w: &Writer<'_>, lot: &Lot, wanted: i64) -> Result<(), StoreError> {
    if wanted < 1 {
        return Err(Refusal::new("stock_amount", "Say how much: one at least.").at("amount").into());
    }
    let here: i64 = w
        .conn
        .prepare_cached("SELECT CASE l.kind WHEN 'harvest' THEN s.grams ELSE s.packs END FROM lot l JOIN lot_stock s ON s.lot_id = l.id WHERE l.id = ?")?
        .query_row([lot.id], |row| row.get(0))?;
    if wanted <= here {
        return Ok(());
    }
    let here = amount(lot.kind, here, room::units(w.conn)?);
    let why = format!("{} holds {here}: take less, or count it first.", lot.code);
    Err(Refusal::new("stock_over", why).at("amount").into())
}

pub(super) fn go(w: &mut Writer<'_>, new: &NewMove) -> Result<Wrote, StoreError> {
    let lot = lot::get(w.conn, new.lot)?;
    let reason = new.reason.trim();
    if reason.is_empty() && new.away != Away::Sample {
        let why = "Say why, or to whom.";
        return Err(Refusal::new("stock_reason", why).at("reason").into());
    }
    enough(w, &lot, new.amount)?;
    let mut row = Row { reason: Some(reason).filter(|text| !text.is_empty()), ..Row::default() };
    let kind = match new.away {
        Away::Waste => Move::Waste,
        Away::Given => {
            may_go(w, lot.id, Doing::GiveOut)?;
            Move::Given
        }
        Away::Sample => {
            one_sample(w.conn, &lot, new.amount)?;
            row.keep_until = lot.best_before.map(|day| day + chrono::Duration::days(SAMPLE_D));
            Move::Sample
        }
    };
    write(w, (lot.id, kind), lot.kind, new.amount, &row)?;
    let until = row.keep_until.map_or_else(String::new, |day| format!(", until {day}"));
    let amount = amount(lot.kind, new.amount, room::units(w.conn)?);
    Ok(Wrote::said(format!("{amount} of {}: {}{until}.", lot.code, new.away.shown())).made(lot.id.0))
}

/// One kept sample of a lot is enough, and one pack of it.
fn one_sample(conn: &Connection, lot: &Lot, amount: i64) -> Result<(), StoreError> {
    if lot.kind == Kind::Pack && amount > 1 {
        let why = format!("One pack of {} is enough as a sample: keep 1.", lot.code);
        return Err(Refusal::new("sample_kept", why).at("amount").into());
    }
    let kept: bool = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM stock_move WHERE lot_id = ? AND kind = 'sample' AND void_by IS NULL)",
        )?
        .query_row([lot.id], |row| row.get(0))?;
    if kept {
        let why = format!("A sample of {} is kept already: one is enough.", lot.code);
        return Err(Refusal::new("sample_kept", why).into());
    }
    Ok(())
}

/// There is more or less than the book says.
pub(super) fn count(w: &mut Writer<'_>, id: LotId, counted: i64, reason: &str) -> Result<Wrote, StoreError> {
    let lot = lot::get(w.conn, id)?;
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(Refusal::new("stock_reason", "Say why, or to whom.").at("reason").into());
    }
    if !(0..=10_000_000).contains(&counted) {
        return Err(Refusal::new("stock_amount", "Say how much is there: 0 or more.").at("amount").into());
    }
    let here = lot.here();
    if counted == here {
        return Err(Refusal::new("stock_same", "The book says the same: nothing is to be written.")
            .at("amount")
            .into());
    }
    write(w, (id, Move::Count), lot.kind, counted - here, &Row { reason: Some(reason), ..Row::default() })?;
    let units = room::units(w.conn)?;
    let (now, before) = (amount(lot.kind, counted, units), amount(lot.kind, here, units));
    Ok(Wrote::said(format!("{} counted: {now} instead of {before}.", lot.code)).made(id.0))
}

/// Samples that are kept, the first to go first.
pub(super) fn samples(conn: &Connection, today: Day) -> Result<Vec<KeptSample>, StoreError> {
    // index: stock_move_day; a sample is kept for weeks
    let since = today - chrono::Duration::days(120);
    let found: Vec<(LotId, String, String, i64, Option<Day>)> = conn
        .prepare_cached(
            "SELECT l.id, l.code, p.name, m.packs, m.keep_until FROM stock_move m JOIN lot l ON l.id = m.lot_id
             JOIN product p ON p.id = l.product_id
             WHERE m.day >= ? AND m.void_by IS NULL AND (m.kind = 'sample' OR m.what = 'sample') AND m.packs NOT NULL
             ORDER BY m.keep_until, m.id",
        )?
        .query_map([day_sql(since)], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?
        .collect::<Result<_, _>>()?;
    let mut samples = Vec::new();
    for (lot, body, name, packs, until) in found {
        if until.is_none_or(|until| until + chrono::Duration::days(SAMPLE_D) >= today) {
            samples.push(KeptSample { lot, code: lot::shown(&body)?, name, packs, until });
        }
    }
    Ok(samples)
}

/// What an entry moved, one phrase for each lot.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let units = room::units(conn)?;
    let mut select = conn.prepare_cached(
        "SELECT l.code, l.kind, m.kind, coalesce(m.grams, m.packs), c.name, m.what, m.temp_dc, m.out_min, p.initials,
                m.keep_until, m.reason, coalesce(m.extra, 0)
         FROM stock_move m JOIN lot l ON l.id = m.lot_id LEFT JOIN customer c ON c.id = m.customer_id
         LEFT JOIN person p ON p.id = m.person_id WHERE m.entry_id = ? ORDER BY m.id",
    )?;
    let mut rows = select.query([entry])?;
    let mut phrases = Vec::new();
    while let Some(row) = rows.next()? {
        let (body, of, kind, n): (String, Kind, Move, i64) = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        let sign = if kind == Move::Count && n > 0 { "+" } else { "" };
        let to = row.get::<_, Option<String>>(4)?.map_or_else(String::new, |name| format!(" ({name})"));
        let what: Option<CameBack> = row.get(5)?;
        let done = match (kind, what) {
            (Move::Returned, Some(what)) => format!("came back, {}", what.shown()),
            (Move::Decided, Some(what)) => format!("that came back: {}", what.shown()),
            _ => kind.shown().to_string(),
        };
        let tail: String = [
            row.get::<_, Option<i64>>(6)?.map(|dc| format!(", {} measured", units.temperature(dc))),
            row.get::<_, Option<i64>>(7)?.map(|min| format!(", {min} min out")),
            row.get::<_, Option<String>>(8)?.map(|by| format!(", decided by {by}")),
            row.get::<_, Option<String>>(9)?.map(|until| format!(", until {until}")),
            row.get::<_, Option<String>>(10)?.map(|reason| format!(": {reason}")),
        ]
        .into_iter()
        .flatten()
        .collect();
        let extra = if row.get(11)? { " beyond the order" } else { "" };
        let (code, n) = (lot::shown(&body)?, amount(of, n, units));
        phrases.push(format!("{sign}{n} of {code} {done}{extra}{to}{tail}"));
    }
    Ok(phrases.join("; "))
}

/// Whose lot it is, for a movement of packs.
pub(super) fn pack_lot(conn: &Connection, id: LotId) -> Result<Lot, StoreError> {
    let lot = lot::get(conn, id)?;
    match lot.kind {
        Kind::Pack => Ok(lot),
        Kind::Harvest => {
            let why = format!("{} is a harvest lot: pack it first, customers get pack lots.", lot.code);
            Err(Refusal::new("deliver_unpacked", why).at("lots").into())
        }
    }
}
