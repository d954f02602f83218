//! Rounds and stalls: loaded, and accounted for line by line.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::breach::{against, decider};
use super::delivery::{Drop, carried, drop_off, known_to_keep, some};
use super::error::StoreError;
use super::facts::ROUND;
use super::ids::day_sql;
use super::lot::{Doing, hold_lot, may_go};
use super::stock::{Row, enough, pack_lot, write};
use super::writer::{Cell, Writer};
use super::{customer, room, stock};
use crate::domain::delivery::{COLD_DC, Packs};
use crate::domain::id::{CustomerId, EntryId, RoundId};
use crate::domain::lot::{Kind as LotKind, Lot};
use crate::domain::reading::TEMP_DC;
use crate::domain::refusal::Refusal;
use crate::domain::round::{How, Kind, NewRound, Round, Settled, Settling};
use crate::domain::stock::{BackDecision, Kind as Move};
use crate::domain::time::Day;

/// Minutes that packs may be out of the cold and still come back into stock.
/// P: FDA Food Code 3-501.19 lets time alone control for 4 hours, after which what is left is discarded.
const OUT_MIN: i64 = 4 * 60;

pub(super) fn load(w: &mut Writer<'_>, new: &NewRound) -> Result<Wrote, StoreError> {
    let name = new.name.trim();
    let refuse = |rule, field, why: &str| Err(Refusal::new(rule, why).at(field).into());
    if name.is_empty() {
        return refuse("round_name", "name", "Say which round or market it is.");
    }
    let text =
        |text: &Option<String>| text.as_deref().map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned);
    let (place, hours) = (text(&new.place), text(&new.hours));
    if new.kind == Kind::Stall && (place.is_none() || hours.is_none()) {
        return refuse(
            "stall_place",
            "place",
            "A stall sells to the public: say where it stands and between which hours.",
        );
    }
    if new.temp_dc.is_some_and(|dc| !TEMP_DC.contains(&dc)) {
        return refuse("round_temp", "temp", "Say the temperature of the load between -20 and 60 °C.");
    }
    if new.out_at > w.now.instant() {
        return refuse("round_future", "out_at", "It has not gone out yet: say when it did.");
    }
    some(&new.load)?;
    known_to_keep(w, &new.load, &new.sure)?;
    let day = day_sql(w.now.local(new.out_at).date_naive());
    let cells: [Cell<'_>; 7] = [
        ("kind", &new.kind),
        ("name", &name),
        ("day", &day),
        ("out_at", &new.out_at),
        ("temp_dc", &new.temp_dc),
        ("place", &place),
        ("hours", &hours),
    ];
    let round = RoundId(w.fact(ROUND, &cells)?);
    let mut packs = 0;
    for line in &new.load {
        let lot = pack_lot(w.conn, line.lot)?;
        may_go(w, lot.id, Doing::GiveOut)?;
        enough(w, &lot, line.packs)?;
        write(w, (lot.id, Move::Loaded), LotKind::Pack, line.packs, &Row { round: Some(round), ..Row::default() })?;
        packs += line.packs;
    }
    let warm = new.temp_dc.filter(|dc| *dc > COLD_DC).map_or("", |_| " The load is warmer than the cold limit.");
    let out = w.now.local(new.out_at).format("%H:%M");
    let packs = stock::amount(LotKind::Pack, packs, room::units(w.conn)?);
    Ok(Wrote::said(format!("{name} loaded at {out}: {packs}.{warm}")).made(round.0))
}

pub(super) fn settle(w: &mut Writer<'_>, new: &Settling) -> Result<Wrote, StoreError> {
    let known: Option<(Kind, String)> = w
        .conn
        .prepare_cached("SELECT kind, name FROM round WHERE id = ? AND void_by IS NULL")?
        .query_row([new.round], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((kind, name)) = known else {
        return Err(Refusal::new("round_unknown", "The book has no such round: choose another.").into());
    };
    if new.lines.is_empty() || new.lines.iter().any(|line| line.packs < 1) {
        let why = "Say what became of the load: one pack at least.";
        return Err(Refusal::new("round_nothing", why).at("lots").into());
    }
    let mut drops: BTreeMap<(CustomerId, bool), Vec<Packs>> = BTreeMap::new();
    for line in &new.lines {
        let lot = pack_lot(w.conn, line.lot)?;
        carried(w.conn, new.round, &lot, line.packs)?;
        if let How::Delivered { customer, extra } = &line.how {
            let drop = drops.entry((*customer, *extra)).or_default();
            match drop.iter_mut().find(|known| known.lot == line.lot) {
                Some(known) => known.packs += line.packs,
                None => drop.push(Packs { lot: line.lot, packs: line.packs }),
            }
        } else {
            other(w, (new.round, kind), &lot, line)?;
        }
    }
    for ((customer, extra), lines) in drops {
        let round = Some(new.round);
        drop_off(w, &Drop { customer, order: None, round, received_by: None, temp_dc: None, extra }, &lines)?;
    }
    let left = left(w.conn, new.round)?;
    let rest = match left {
        0 => "everything is accounted for".to_string(),
        1 => "1 pack is still on it".to_string(),
        more => format!("{more} packs are still on it"),
    };
    Ok(Wrote::said(format!("{name}: {rest}.")).made(new.round.0))
}

/// Everything but what a customer took.
fn other(w: &mut Writer<'_>, (id, kind): (RoundId, Kind), lot: &Lot, line: &Settled) -> Result<(), StoreError> {
    let mut row = Row { round: Some(id), ..Row::default() };
    let said = |text: &str, why: &str| -> Result<(), StoreError> {
        if text.trim().is_empty() { Err(Refusal::new("round_reason", why).at("reason").into()) } else { Ok(()) }
    };
    let what = match &line.how {
        How::Delivered { .. } => return Ok(()),
        How::Refused { customer, reason } => {
            customer::known(w.conn, *customer)?;
            said(reason, "Say why it was not taken: it may be the first sign of a complaint.")?;
            row.customer = Some(*customer);
            row.reason = Some(reason.trim());
            Move::Refused
        }
        How::SoldPublic => {
            if kind != Kind::Stall {
                let why = "A round does not sell to the public: load a stall, with its place and hours.";
                return Err(Refusal::new("round_public", why).at("lots").into());
            }
            may_go(w, lot.id, Doing::GiveOut)?;
            Move::SoldPublic
        }
        How::Given { to } => {
            said(to, "Say to whom it was given.")?;
            may_go(w, lot.id, Doing::GiveOut)?;
            row.reason = Some(to.trim());
            Move::Given
        }
        How::Binned { reason } => {
            said(reason, "Say why it was binned.")?;
            row.reason = Some(reason.trim());
            Move::Waste
        }
        How::BroughtBack(decision) => {
            back(w, lot, *decision)?;
            row.temp_dc = Some(decision.temp_dc);
            row.out_min = Some(decision.out_min);
            row.person = Some(decision.by);
            Move::BroughtBack
        }
    };
    write(w, (lot.id, what), LotKind::Pack, line.packs, &row)
}

/// Packs come back into stock only cold, in time, and by someone who may decide.
fn back(w: &mut Writer<'_>, lot: &Lot, decision: BackDecision) -> Result<(), StoreError> {
    decider(w.conn, decision.by, "what is brought back")?;
    if !TEMP_DC.contains(&decision.temp_dc) || !(0..=100_000).contains(&decision.out_min) {
        let why = "Say the temperature you measured, and how long the packs were out.";
        return Err(Refusal::new("back_measured", why).at("temp").into());
    }
    if decision.temp_dc <= COLD_DC && decision.out_min <= OUT_MIN {
        return Ok(());
    }
    let temp = room::units(w.conn)?.temperature(decision.temp_dc);
    let why = format!(
        "{} is {temp} after {} min out: packs warmer than the cold limit, or out for more than 4 hours, do not go back into stock. Bin them; local rules decide.",
        lot.code, decision.out_min
    );
    let breach = against(w, Refusal::new("back_warm", why).at("temp"), None)?;
    hold_lot(w, breach, lot.id)
}

/// Packs that a round still carries. Index: `stock_move_round`.
fn left(conn: &Connection, round: RoundId) -> Result<i64, StoreError> {
    Ok(conn
        .prepare_cached("SELECT coalesce(sum(packs), 0) FROM round_stock WHERE round_id = ?")?
        .query_row([round], |row| row.get(0))?)
}

/// Rounds of a day, and those of which something is not accounted for, newest first.
pub(super) fn open(conn: &Connection, today: Day) -> Result<Vec<Round>, StoreError> {
    // of what is out the derived lots know: a round of long ago is among them until it carries nothing
    // indexes: round_by_day, stock_move_lot
    let mut rounds: Vec<Round> = conn
        .prepare_cached(
            "SELECT r.id, r.kind, r.name, r.day, r.out_at, r.temp_dc, r.place, r.hours, p.initials FROM round r
             JOIN entry_hands h ON h.id = r.entry_id JOIN person p ON p.id = h.person_id
             WHERE r.id IN (SELECT id FROM round WHERE day = ? AND void_by IS NULL
               UNION SELECT m.round_id FROM lot_now n CROSS JOIN stock_move m ON m.lot_id = n.lot_id AND m.kind = 'loaded'
                 AND m.void_by IS NULL WHERE n.out_packs > 0) ORDER BY r.id DESC",
        )?
        .query_map([day_sql(today)], |row| {
            Ok(Round {
                id: row.get(0)?,
                kind: row.get(1)?,
                name: row.get(2)?,
                day: row.get(3)?,
                out_at: row.get(4)?,
                temp_dc: row.get(5)?,
                place: row.get(6)?,
                hours: row.get(7)?,
                who: row.get(8)?,
                carries: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    for round in &mut rounds {
        round.carries = conn
            .prepare_cached("SELECT lot_id, packs FROM round_stock WHERE round_id = ? AND packs > 0 ORDER BY lot_id")?
            .query_map([round.id], |row| Ok(Packs { lot: row.get(0)?, packs: row.get(1)? }))?
            .collect::<Result<_, _>>()?;
    }
    rounds.retain(|round| round.day == today || round.open());
    Ok(rounds)
}

/// What an entry loaded, or accounted for.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (name, own): (String, bool) = conn
        .prepare_cached(
            "SELECT name, entry_id = ?1 FROM round WHERE id = (SELECT coalesce((SELECT id FROM round WHERE entry_id = ?1),
               (SELECT round_id FROM stock_move WHERE entry_id = ?1 AND round_id NOT NULL LIMIT 1)))",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let word = if own { "loaded" } else { "accounted for" };
    Ok(format!("{name} {word}: {}", stock::line(conn, entry)?))
}
