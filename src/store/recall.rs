//! Recalls: a hold's way forward as a call sheet, who was reached, and mock recalls for practice.

use rusqlite::{Connection, OptionalExtension, params};

use super::Store;
use super::act::Wrote;
use super::error::StoreError;
use super::facts::{CONTACT, EXERCISE, RECALL};
use super::writer::Writer;
use super::{hold, lot, trace};
use crate::domain::id::{ComplaintId, DeliveryId, EntryId, HoldId, LotId, RecallId, RoundId};
use crate::domain::lot::Kind;
use crate::domain::recall::{Balance, Call, Line, Recall, Scored, calls, outcome};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::percent;
use crate::domain::time::Instant;
use crate::domain::trace::Start;

/// A hold's forward list becomes a call sheet. The clock began with the complaint it was written for, else with the hold.
pub(super) fn begin(w: &mut Writer<'_>, hold: HoldId) -> Result<Wrote, StoreError> {
    let found: Option<(String, Option<Instant>, Instant, bool)> = w
        .conn
        .prepare_cached(
            "SELECT h.scope_text, coalesce(x.seen_at, x.at), coalesce(e.seen_at, e.at),
                    EXISTS (SELECT 1 FROM hold_decision d WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what = 'accepted')
             FROM hold h JOIN entry e ON e.id = h.entry_id
             LEFT JOIN complaint c ON c.id = h.complaint_id AND c.void_by IS NULL LEFT JOIN entry x ON x.id = c.entry_id
             WHERE h.id = ? AND h.void_by IS NULL",
        )?
        .query_row([hold], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    let (scope, called, held) = match found {
        Some((scope, called, held, false)) => (scope, called, held),
        Some((scope, .., true)) => {
            let why = format!("The hold of {scope} was lifted: hold it again before it is recalled.");
            return Err(Refusal::new("recall_lifted", why).into());
        }
        None => return Err(Refusal::new("hold_unknown", "The book has no such hold.").into()),
    };
    let known: bool = w
        .conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM recall WHERE hold_id = ? AND void_by IS NULL)")?
        .query_row([hold], |row| row.get(0))?;
    if known {
        let why = format!("{scope} is being recalled already: its call sheet is there.");
        return Err(Refusal::new("recall_there", why).into());
    }
    let from = called.map_or(held, |called| called.min(held));
    let id = w.fact(RECALL, &[("hold_id", &hold), ("from_at", &from)])?;
    Ok(Wrote::said(format!("Recall {id} of {scope}: the call sheet is there.")).made(id))
}

/// A call sheet for practice: a lot that went out, and nothing held back.
pub(super) fn exercise(w: &mut Writer<'_>, id: LotId) -> Result<Wrote, StoreError> {
    let lot = lot::get(w.conn, id)?;
    // index: stock_move_lot
    let went: bool = w
        .conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM stock_move WHERE lot_id = ? AND void_by IS NULL AND kind = 'delivered')",
        )?
        .query_row([id], |row| row.get(0))?;
    if lot.kind != Kind::Pack || !went {
        let why = format!("{} did not go to a customer: an exercise begins with a pack that did.", lot.code);
        return Err(Refusal::new("exercise_lot", why).into());
    }
    let mut found = trace::resolve(w.conn, &Start::Lot(id))?;
    found.title = format!("EXERCISE {}", found.title);
    let (hold, _) = hold::found_held(w, &found, None, true)?;
    let recall = w.fact(RECALL, &[("hold_id", &hold), ("from_at", &w.at())])?;
    let sentence = format!("Exercise {recall}: find everyone who got {}. Nothing is held by it.", lot.code);
    Ok(Wrote::said(sentence).made(recall))
}

pub(super) fn contact(
    w: &mut Writer<'_>,
    id: RecallId,
    line: Line,
    reached: bool,
    destroyed: Option<i64>,
    note: Option<&str>,
) -> Result<Wrote, StoreError> {
    let recall = going_on(w.conn, id)?;
    let Some(call) = recall.calls.iter().find(|call| call.line == line) else {
        let why = "This line is not on the call sheet: look at it again.";
        return Err(Refusal::new("contact_line", why).into());
    };
    if destroyed.is_some_and(|n| n < 0 || n > call.packs() - call.returned()) {
        let why = format!("They have {} of it at most: say how many they destroyed.", call.packs() - call.returned());
        return Err(Refusal::new("contact_destroyed", why).at("destroyed").into());
    }
    write_contact(w, id, line, reached, destroyed)?;
    // whoever is on the phone hears of all they got
    let same =
        |other: &&Call| reached && matches!(other.line, Line::Delivery(_)) && other.line != line && other.to(call);
    let also: Vec<Line> =
        recall.calls.iter().filter(same).filter(|other| !other.reached()).map(|other| other.line).collect();
    for other in &also {
        write_contact(w, id, *other, true, None)?;
    }
    w.note(note.map(str::trim))?;
    let what = match (line, reached) {
        (Line::Delivery(_), true) => "reached",
        (Line::Delivery(_), false) => "not reached",
        (Line::Notice(_), true) => "the notice is posted",
        (Line::Notice(_), false) => "the notice is not posted yet",
    };
    let left =
        recall.calls.iter().filter(|other| other.line != line && !also.contains(&other.line) && !other.reached());
    let left = left.count() + usize::from(!reached);
    let about = if also.is_empty() { String::new() } else { format!(" about {} deliveries", also.len() + 1) };
    let exercise = if recall.exercise { "EXERCISE. " } else { "" };
    Ok(Wrote::said(format!("{exercise}{}: {what}{about}. {left} still to do.", call.name)).made(id.0))
}

/// The two columns of a line, one of them set.
fn columns(line: Line) -> (Option<DeliveryId>, Option<RoundId>) {
    match line {
        Line::Delivery(id) => (Some(id), None),
        Line::Notice(id) => (None, Some(id)),
    }
}

fn write_contact(
    w: &mut Writer<'_>,
    recall: RecallId,
    line: Line,
    reached: bool,
    destroyed: Option<i64>,
) -> Result<(), StoreError> {
    let (delivery, round) = columns(line);
    w.fact(
        CONTACT,
        &[
            ("recall_id", &recall),
            ("delivery_id", &delivery),
            ("round_id", &round),
            ("reached", &reached),
            ("destroyed", &destroyed),
        ],
    )?;
    Ok(())
}

/// A recall, if it is there and no exercise that is over.
fn going_on(conn: &Connection, id: RecallId) -> Result<Recall, StoreError> {
    let Some(recall) = one(conn, id)? else {
        return Err(Refusal::new("recall_unknown", "The book has no such recall: it was taken back.").into());
    };
    if recall.scored.is_some() {
        return Err(Refusal::new("exercise_over", "This exercise is over: begin another.").into());
    }
    Ok(recall)
}

pub(super) fn end_exercise(w: &mut Writer<'_>, id: RecallId, gaps: &str) -> Result<Wrote, StoreError> {
    let recall = going_on(w.conn, id)?;
    if !recall.exercise {
        let why = "A recall is not an exercise: it ends when its hold is decided.";
        return Err(Refusal::new("exercise_not", why).into());
    }
    let gaps = gaps.trim();
    if gaps.is_empty() {
        let why = "Say what was missing or slow; \"none\" if nothing was.";
        return Err(Refusal::new("exercise_gaps", why).at("gaps").into());
    }
    let (found, balance) = (recall.found_pm(), recall.balance_pm());
    let minutes = (w.at().0 - recall.from.0).num_minutes().max(0);
    w.fact(EXERCISE, &[("recall_id", &id), ("found_pm", &found), ("balance_pm", &balance), ("minutes", &minutes)])?;
    w.note(Some(gaps))?;
    let balance = balance.map_or_else(|| "nothing to balance".into(), |pm| format!("balance {}", percent(pm)));
    Ok(Wrote::said(format!("Exercise {}: found {}, {balance}, {minutes} min.", id.0, percent(found))).made(id.0))
}

impl Store {
    /// Recalls and exercises, the newest first.
    pub fn recalls(&self) -> Result<Vec<Recall>, StoreError> {
        let ids: Vec<RecallId> = self
            .conn
            .prepare_cached("SELECT id FROM recall WHERE void_by IS NULL ORDER BY id DESC")?
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let mut recalls = Vec::new();
        for id in ids {
            recalls.extend(one(&self.conn, id)?);
        }
        Ok(recalls)
    }

    /// Pack lots that went to customers in the last weeks, for an exercise to draw from.
    pub fn delivered_lots(&self, since: crate::domain::time::Day) -> Result<Vec<LotId>, StoreError> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT DISTINCT m.lot_id FROM delivery d JOIN stock_move m ON m.delivery_id = d.id AND m.kind = 'delivered'
                 AND m.void_by IS NULL JOIN lot l ON l.id = m.lot_id AND l.void_by IS NULL
                 WHERE d.day >= ? AND d.void_by IS NULL ORDER BY 1",
            )?
            .query_map([super::ids::day_sql(since)], |row| row.get(0))?
            .collect::<Result<_, _>>()?)
    }
}

/// A recall with its lines as they stand now.
pub(super) fn one(conn: &Connection, id: RecallId) -> Result<Option<Recall>, StoreError> {
    type Found = (HoldId, EntryId, Option<ComplaintId>, bool, String, Instant, Instant);
    let found: Option<Found> = conn
        .prepare_cached(
            "SELECT r.hold_id, r.entry_id, (SELECT id FROM complaint WHERE id = h.complaint_id AND void_by IS NULL), coalesce(h.exercise, 0), h.scope_text, r.from_at, coalesce(e.seen_at, e.at)
             FROM recall r JOIN hold h ON h.id = r.hold_id JOIN entry e ON e.id = r.entry_id WHERE r.id = ? AND r.void_by IS NULL",
        )?
        .query_row([id], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?))
        })
        .optional()?;
    let Some((hold, entry, complaint, exercise, scope, from, listed)) = found else { return Ok(None) };
    let lots: Vec<LotId> = hold::lots_of(conn, &hold::own_lots(conn, hold)?, &hold::trays(conn, hold)?)?
        .into_iter()
        .map(|lot| lot.lot)
        .collect();
    let (recipients, public) = trace::gone_out(conn, &lots)?;
    let mut calls = calls(&recipients, &public);
    for call in &mut calls {
        tried(conn, id, call)?;
    }
    let mut balances = Vec::new();
    for lot in &lots {
        let whole = lot::get(conn, *lot)?;
        let unit = match whole.kind {
            Kind::Harvest => "g",
            Kind::Pack => "packs",
        };
        let account = lot::account(conn, *lot)?;
        balances.push(Balance { lot: *lot, code: whole.code, name: whole.name, unit, account });
    }
    let scored = conn
        .prepare_cached(
            "SELECT x.found_pm, x.balance_pm, x.minutes, coalesce(n.text, '') FROM exercise x
             LEFT JOIN entry_note n ON n.entry_id = x.entry_id WHERE x.recall_id = ? AND x.void_by IS NULL",
        )?
        .query_row([id], |row| {
            Ok(Scored { found_pm: row.get(0)?, balance_pm: row.get(1)?, minutes: row.get(2)?, gaps: row.get(3)? })
        })
        .optional()?;
    Ok(Some(Recall { id, hold, entry, complaint, exercise, scope, from, listed, calls, balances, scored }))
}

/// Whether they were reached, when, by whom, what was said.
type Tried = (bool, Instant, String, Option<String>);

/// The newest try of a line, and the newest word on what they destroyed. Index: `contact_recall`.
fn tried(conn: &Connection, recall: RecallId, call: &mut Call) -> Result<(), StoreError> {
    let (delivery, round) = columns(call.line);
    let newest: Option<Tried> = conn
        .prepare_cached(
            "SELECT c.reached, coalesce(e.seen_at, e.at), p.initials, n.text FROM contact c JOIN entry e ON e.id = c.entry_id
             JOIN entry_hands h ON h.id = e.id JOIN person p ON p.id = h.person_id LEFT JOIN entry_note n ON n.entry_id = e.id
             WHERE c.recall_id = ?1 AND c.void_by IS NULL AND c.delivery_id IS ?2 AND c.round_id IS ?3 ORDER BY c.id DESC LIMIT 1",
        )?
        .query_row(params![recall, delivery, round], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })
        .optional()?;
    if let Some((reached, at, who, note)) = newest {
        call.tried = Some((reached, at, who));
        call.note = note;
        // a call in which nobody spoke of it takes nothing back
        call.destroyed = conn
            .prepare_cached(
                "SELECT coalesce((SELECT destroyed FROM contact WHERE recall_id = ?1 AND void_by IS NULL AND delivery_id IS ?2
                   AND round_id IS ?3 AND destroyed NOT NULL ORDER BY id DESC LIMIT 1), 0)",
            )?
            .query_row(params![recall, delivery, round], |row| row.get(0))?;
    }
    Ok(())
}

/// What an entry says of a recall.
pub(super) fn line(conn: &Connection, kind: &str, entry: EntryId) -> Result<Option<String>, StoreError> {
    Ok(match kind {
        "recalled" => {
            let (id, scope, exercise): (RecallId, String, bool) = conn
                .prepare_cached(
                    "SELECT r.id, h.scope_text, coalesce(h.exercise, 0) FROM recall r JOIN hold h ON h.id = r.hold_id WHERE r.entry_id = ?",
                )?
                .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
            let what = if exercise { "mock recall" } else { "recall" };
            Some(format!("{what} {} of {scope} begun", id.0))
        }
        "contacted" => {
            let (id, name, reached, destroyed, notice, exercise): (RecallId, String, bool, Option<i64>, bool, bool) =
                conn.prepare_cached(
                    "SELECT x.recall_id, coalesce(c.name, r.name), x.reached, x.destroyed, x.round_id NOT NULL,
                            coalesce(h.exercise, 0)
                     FROM contact x JOIN recall k ON k.id = x.recall_id JOIN hold h ON h.id = k.hold_id
                     LEFT JOIN delivery d ON d.id = x.delivery_id LEFT JOIN customer c ON c.id = d.customer_id
                     LEFT JOIN round r ON r.id = x.round_id WHERE x.entry_id = ? ORDER BY x.id LIMIT 1",
                )?
                .query_row([entry], |row| {
                    Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?))
                })?;
            let of = if exercise { "mock recall" } else { "recall" };
            let what = outcome(notice, reached);
            let destroyed = destroyed.map_or_else(String::new, |n| format!(", {n} destroyed there"));
            Some(format!("{of} {}: {name} {what}{destroyed}", id.0))
        }
        "exercised" => {
            let (id, found, balance, minutes): (RecallId, i64, Option<i64>, i64) = conn
                .prepare_cached("SELECT recall_id, found_pm, balance_pm, minutes FROM exercise WHERE entry_id = ?")?
                .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
            let balance = balance.map_or_else(String::new, |pm| format!(", balance {}", percent(pm)));
            Some(format!("mock recall {} over: found {}{balance}, {minutes} min", id.0, percent(found)))
        }
        _ => None,
    })
}
