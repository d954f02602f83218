//! Signatures under the records of some days.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::breach::decider;
use super::chain::hex;
use super::error::StoreError;
use super::facts::REVIEW;
use super::ids::day_sql;
use super::writer::Writer;
use crate::domain::id::{EntryId, PersonId};
use crate::domain::period::Period;
use crate::domain::refusal::Refusal;
use crate::domain::review::{Signature, Signed};
use crate::domain::text::NOTE_GRAPHEMES;
use crate::domain::time::{Day, Now};

pub(super) fn sign(
    w: &mut Writer<'_>,
    (from, to): (Day, Day),
    by: PersonId,
    remark: Option<&str>,
) -> Result<Wrote, StoreError> {
    let period =
        Period::new(from, to, w.now.day()).map_err(|(field, why)| Refusal::new("sign_period", why).at(field))?;
    let initials = decider(w.conn, by, "the records")?;
    if let Some(since) = since(w.conn)?.filter(|since| to < *since) {
        let why = format!("This book begins on {since}: there is nothing to sign of the days before.");
        return Err(Refusal::new("sign_before", why).at("to").into());
    }
    let remark = remark.map(str::trim).filter(|remark| !remark.is_empty());
    if remark.is_some_and(|remark| remark.chars().count() > NOTE_GRAPHEMES) {
        let why = format!("A remark has {NOTE_GRAPHEMES} characters at most: say it shorter.");
        return Err(Refusal::new("sign_remark", why).at("remark").into());
    }
    let (upto, head) = w.before();
    let head = hex(head);
    let id = w.fact(
        REVIEW,
        &[
            ("from_day", &day_sql(from)),
            ("to_day", &day_sql(to)),
            ("upto_id", &upto),
            ("head", &head),
            ("person_id", &by),
        ],
    )?;
    w.note(remark)?;
    let (days, upto) = (period.words(), upto.0);
    Ok(Wrote::said(format!("{initials} signed the records of {days}, as they stand up to entry {upto}.")).made(id))
}

/// The day of the first entry of the book.
pub(super) fn since(conn: &Connection) -> Result<Option<Day>, StoreError> {
    Ok(conn.prepare_cached("SELECT day FROM entry ORDER BY id LIMIT 1")?.query_row([], |row| row.get(0)).optional()?)
}

/// Up to which day the records are signed, and by whom. Index: `review_days`.
pub(super) fn signed(conn: &Connection) -> Result<Option<Signed>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT r.to_day, p.initials FROM review r JOIN person p ON p.id = r.person_id WHERE r.void_by IS NULL
             ORDER BY r.to_day DESC, r.id DESC LIMIT 1",
        )?
        .query_row([], |row| Ok(Signed { to: row.get(0)?, by: row.get(1)? }))
        .optional()?)
}

/// Signatures under any of some days, also those that were taken back, the oldest first.
pub(super) fn signatures(conn: &Connection, period: Period, now: Now) -> Result<Vec<Signature>, StoreError> {
    let mut signatures: Vec<Signature> = conn
        .prepare_cached(
            "SELECT r.entry_id, r.from_day, r.to_day, p.initials, p.name, coalesce(e.seen_at, e.at), r.upto_id, r.head, n.text, r.void_by
             FROM review r JOIN entry e ON e.id = r.entry_id JOIN person p ON p.id = r.person_id
             LEFT JOIN entry_note n ON n.entry_id = r.entry_id
             WHERE r.to_day >= ?1 AND r.from_day <= ?2 ORDER BY r.id",
        )?
        .query_map([day_sql(period.from), day_sql(period.to)], |row| {
            Ok(Signature {
                entry: row.get(0)?,
                period: Period { from: row.get(1)?, to: row.get(2)? },
                by: row.get(3)?,
                name: row.get(4)?,
                at: row.get(5)?,
                upto: row.get(6)?,
                head: row.get(7)?,
                remark: row.get(8)?,
                void_by: row.get(9)?,
                since: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    for sign in signatures.iter_mut().filter(|sign| sign.void_by.is_none()) {
        sign.since = written_since(conn, sign, now)?;
    }
    Ok(signatures)
}

/// Entries about the days of a signature that were written after it: looks and the like of those days, checks and readings
/// that were dated back, corrections and what was taken back, and days that a crop is held against: what is called unusual
/// hangs on them. A logger's file is no change: it comes in when it is read.
fn written_since(conn: &Connection, sign: &Signature, now: Now) -> Result<Vec<EntryId>, StoreError> {
    let Period { from, to } = sign.period;
    let (from_s, to_s) = sign.period.seconds(now);
    Ok(conn
        .prepare_cached(
            "SELECT id FROM entry WHERE id > ?1 AND day BETWEEN ?2 AND ?3 AND kind <> 'reviewed'
             UNION SELECT c.entry_id FROM correction c JOIN entry a ON a.id = c.about_id
               WHERE c.entry_id > ?1 AND a.day BETWEEN ?2 AND ?3
             UNION SELECT u.id FROM entry u JOIN entry a ON a.id = u.undoes
               WHERE u.id > ?1 AND u.undoes > 0 AND a.day BETWEEN ?2 AND ?3 AND a.kind <> 'reviewed'
             UNION SELECT entry_id FROM room_check WHERE entry_id > ?1 AND day BETWEEN ?2 AND ?3
             UNION SELECT o.entry_id FROM odd_weight o JOIN lot l ON l.id = o.lot_id WHERE o.entry_id > ?1 AND l.day BETWEEN ?2 AND ?3
             UNION SELECT entry_id FROM baseline WHERE entry_id > ?1
             UNION SELECT entry_id FROM sowing WHERE entry_id > ?1 AND day BETWEEN ?2 AND ?3
             UNION SELECT f.entry_id FROM sensor s CROSS JOIN reading r ON r.sensor_id = s.id AND r.at_s >= ?4 AND r.at_s < ?5
               JOIN reading_file f ON f.id = r.file_id WHERE s.by_hand AND f.entry_id > ?1 ORDER BY 1",
        )?
        .query_map(params![sign.upto, day_sql(from), day_sql(to), from_s, to_s], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// What an entry signed.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (period, by, upto, head): (Period, String, EntryId, String) = conn
        .prepare_cached(
            "SELECT r.from_day, r.to_day, p.initials, r.upto_id, r.head FROM review r JOIN person p ON p.id = r.person_id
             WHERE r.entry_id = ?",
        )?
        .query_row([entry], |row| {
            Ok((Period { from: row.get(0)?, to: row.get(1)? }, row.get(2)?, row.get(3)?, row.get(4)?))
        })?;
    let short: String = head.chars().take(12).collect();
    let days = period.words();
    Ok(format!("{by} signed the records of {days}, up to entry {} with the hash {short}...", upto.0))
}
