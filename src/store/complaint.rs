//! Complaints: what was said, which lots it may be about, what came of it. What concerns people lies outside the chain.

use rusqlite::{Connection, OptionalExtension, params};

use super::Store;
use super::act::Wrote;
use super::breach::{decider, grounds};
use super::error::StoreError;
use super::facts::{COMPLAINT, COMPLAINT_END, COMPLAINT_LOT};
use super::ids::day_sql;
use super::writer::Writer;
use super::{hold, lot, trace};
use crate::domain::complaint::{
    BACK_D, Complaint, ComplaintLot, Named, NewComplaint, Severity, Sold, Standing, Told, What,
};
use crate::domain::id::{ComplaintId, CustomerId, EntryId, LotId, PersonId, ProductId};
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::trace::Start;

pub(super) fn complain(w: &mut Writer<'_>, new: &NewComplaint) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("complaint", why).at(field))?;
    // also someone who buys nothing any more may call
    let from: String = match new.customer {
        Some(id) => w
            .conn
            .prepare_cached("SELECT name FROM customer WHERE id = ?")?
            .query_row([id], |row| row.get(0))
            .optional()?
            .ok_or_else(|| Refusal::new("customer_unknown", "Choose a customer of the book.").at("customer"))?,
        None => String::new(),
    };
    if let Some(id) = new.product {
        let known: bool = w
            .conn
            .prepare_cached("SELECT EXISTS (SELECT 1 FROM product WHERE id = ?)")?
            .query_row([id], |row| row.get(0))?;
        if !known {
            return Err(Refusal::new("product_unknown", "Choose a product of the book.").at("product").into());
        }
    }
    let code = new.code.as_deref().map(str::trim).filter(|code| !code.is_empty());
    let id = ComplaintId(w.fact(
        COMPLAINT,
        &[
            ("customer_id", &new.customer),
            ("product_id", &new.product),
            ("day", &day_sql(new.day)),
            ("delivered", &new.delivered.map(day_sql)),
            ("code", &code),
            ("what", &new.what),
            ("severity", &new.severity),
        ],
    )?);
    told(w, id, &new.told)?;
    name(w, id, &new.lots)?;
    let open: Vec<LotId> = new.lots.iter().filter(|n| n.standing != Standing::RuledOut).map(|n| n.lot).collect();
    let held = match (new.hold, open.is_empty()) {
        (true, false) => hold_with_seed(w, id, &open)?,
        (true, true) => " Nothing is held yet: say which lots it may be, and hold those.".into(),
        (false, _) => String::new(),
    };
    let of = if from.is_empty() { String::new() } else { format!(" of {from}") };
    let sentence = format!("Complaint {}{of}: {}.{held}", id.0, new.what.shown());
    Ok(Wrote::said(sentence).made(id.0))
}

/// Holds lots, and the seed lots they were grown from, in this entry.
fn hold_with_seed(w: &mut Writer<'_>, complaint: ComplaintId, lots: &[LotId]) -> Result<String, StoreError> {
    let mut found = trace::resolve(w.conn, &Start::Lots(lots.to_vec()))?;
    trace::add_seed(w.conn, &mut found)?;
    let (_, sentence) = hold::found_held(w, &found, Some(complaint), false)?;
    Ok(format!(" {sentence}"))
}

/// What was told in a call; nothing told writes nothing.
fn told(w: &Writer<'_>, complaint: ComplaintId, told: &Told) -> Result<(), StoreError> {
    if told.is_empty() {
        return Ok(());
    }
    let Told { caller, kept, words, photo, ill, ate, onset, others } = told.trimmed();
    w.conn
        .prepare_cached(
            "INSERT INTO complaint_told (entry_id, complaint_id, caller, kept, words, photo, ill, ate, onset, others)
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        )?
        .execute(params![w.entry, complaint, caller, kept, words, photo, ill, ate, onset, others])?;
    Ok(())
}

fn name(w: &mut Writer<'_>, complaint: ComplaintId, lots: &[Named]) -> Result<(), StoreError> {
    for Named { lot, standing, why } in lots {
        let (code, why) = (lot::get(w.conn, *lot)?.code, why.trim());
        if why.is_empty() {
            let sentence = format!("Say what speaks for {code}, or against it.");
            return Err(Refusal::new("complaint_why", sentence).at("why").into());
        }
        w.fact(COMPLAINT_LOT, &[("complaint_id", &complaint), ("lot_id", lot), ("standing", standing), ("why", &why)])?;
    }
    Ok(())
}

/// A complaint that counts; what it is about, in words.
pub(super) fn known(conn: &Connection, id: ComplaintId) -> Result<String, StoreError> {
    let found: Option<What> = conn
        .prepare_cached("SELECT what FROM complaint WHERE id = ? AND void_by IS NULL")?
        .query_row([id], |row| row.get(0))
        .optional()?;
    let what = found.ok_or_else(unknown)?;
    Ok(format!("Complaint {}, {}", id.0, what.shown()))
}

/// The same, of one that nobody has closed.
pub(super) fn open(conn: &Connection, id: ComplaintId) -> Result<String, StoreError> {
    let words = known(conn, id)?;
    let closed: bool = conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM complaint_end WHERE complaint_id = ? AND void_by IS NULL)")?
        .query_row([id], |row| row.get(0))?;
    if closed {
        let sentence = format!("{words}: it was answered and closed. Write a new one if they call again.");
        return Err(Refusal::new("complaint_closed", sentence).into());
    }
    Ok(words)
}

pub(super) fn tell_more(w: &mut Writer<'_>, id: ComplaintId, more: &Told) -> Result<Wrote, StoreError> {
    let words = open(w.conn, id)?;
    if more.is_empty() {
        return Err(Refusal::new("complaint_nothing", "Write down what was said; nothing stands there yet.").into());
    }
    if more.ill.is_some_and(|ill| !(0..=100_000).contains(&ill)) {
        return Err(Refusal::new("complaint", "Say how many are ill, as a number.").at("ill").into());
    }
    told(w, id, more)?;
    Ok(Wrote::said(format!("{words}: what was said is written down.")).made(id.0))
}

pub(super) fn name_lots(w: &mut Writer<'_>, id: ComplaintId, lots: &[Named]) -> Result<Wrote, StoreError> {
    let words = open(w.conn, id)?;
    if lots.is_empty() {
        return Err(Refusal::new("complaint_lots", "Choose at least one lot.").at("lots").into());
    }
    name(w, id, lots)?;
    let mut said = Vec::new();
    for named in lots {
        said.push(format!("{} {}", lot::code(w.conn, named.lot)?, named.standing.shown()));
    }
    Ok(Wrote::said(format!("{words}: {}.", said.join(", "))).made(id.0))
}

pub(super) fn close(w: &mut Writer<'_>, id: ComplaintId, by: PersonId, found: &str) -> Result<Wrote, StoreError> {
    let words = open(w.conn, id)?;
    let initials = decider(w.conn, by, "a complaint")?;
    let found = grounds(found)?;
    w.fact(COMPLAINT_END, &[("complaint_id", &id), ("person_id", &by)])?;
    w.note(Some(found))?;
    Ok(Wrote::said(format!("{words}: {initials} closed it. Its holds stay until they are lifted by name.")).made(id.0))
}

/// Takes out what was told of people, for good; also of a complaint that was taken back, where it would stand unseen.
pub(super) fn blank(w: &mut Writer<'_>, id: ComplaintId, reason: &str) -> Result<Wrote, StoreError> {
    let what: Option<What> = w
        .conn
        .prepare_cached("SELECT what FROM complaint WHERE id = ?")?
        .query_row([id], |row| row.get(0))
        .optional()?;
    let Some(what) = what else { return Err(unknown()) };
    let reason = grounds(reason)?;
    // what gives up its room in the file is overwritten there
    w.conn.pragma_update_and_check(None, "secure_delete", true, |_| Ok(()))?;
    let rows = w
        .conn
        .prepare_cached(
            "UPDATE complaint_told SET caller = NULL, kept = NULL, words = NULL, photo = NULL, ill = NULL, ate = NULL,
               onset = NULL, others = NULL, blanked_by = ?1 WHERE complaint_id = ?2 AND blanked_by IS NULL",
        )?
        .execute(params![w.entry, id])?;
    if rows == 0 {
        let why = "Nothing of people stands in this complaint: there is nothing to take out.";
        return Err(Refusal::new("blank_nothing", why).into());
    }
    w.note(Some(reason))?;
    let sentence = format!(
        "Complaint {}, {}: what it said of people is gone for good. Copies made before still have it.",
        id.0,
        what.shown()
    );
    Ok(Wrote::said(sentence).made(id.0))
}

/// What was taken out also goes from the log beside the book; where another terminal reads there, with its next turn.
pub(super) fn forget(conn: &Connection) {
    // it is gone from the book whether this can be done now or not
    let _ = conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
}

fn unknown() -> StoreError {
    Refusal::new("complaint_unknown", "The book has no such complaint: it was taken back.").into()
}

impl Store {
    /// Complaints, the open ones first, then the newest.
    pub fn complaints(&self) -> Result<Vec<Complaint>, StoreError> {
        all(&self.conn)
    }

    /// What went out in the weeks before a day, as far as a complaint may be about it, newest first.
    pub fn sold(&self, until: Day) -> Result<Vec<Sold>, StoreError> {
        sold(&self.conn, until)
    }
}

fn all(conn: &Connection) -> Result<Vec<Complaint>, StoreError> {
    let mut complaints: Vec<Complaint> = conn
        .prepare_cached(
            "SELECT c.id, c.entry_id, coalesce(e.seen_at, e.at), p.initials, c.customer_id, coalesce(u.name, ''), c.product_id,
                    coalesce(t.name, ''), c.day, c.delivered, c.code, c.what, c.severity
             FROM complaint c JOIN entry e ON e.id = c.entry_id JOIN entry_hands h ON h.id = e.id
             JOIN person p ON p.id = h.person_id LEFT JOIN customer u ON u.id = c.customer_id
             LEFT JOIN product t ON t.id = c.product_id WHERE c.void_by IS NULL ORDER BY c.id DESC",
        )?
        .query_map([], |row| {
            Ok(Complaint {
                id: row.get(0)?,
                entry: row.get(1)?,
                at: row.get(2)?,
                who: row.get(3)?,
                customer: row.get(4)?,
                customer_name: row.get(5)?,
                product: row.get(6)?,
                product_name: row.get(7)?,
                day: row.get(8)?,
                delivered: row.get(9)?,
                code: row.get(10)?,
                what: row.get(11)?,
                severity: row.get::<_, Severity>(12)?,
                told: Vec::new(),
                lots: Vec::new(),
                holds: Vec::new(),
                closed: None,
            })
        })?
        .collect::<Result<_, _>>()?;
    for complaint in &mut complaints {
        complaint.told = calls(conn, complaint.id)?;
        complaint.lots = lots(conn, complaint.id)?;
        complaint.holds = conn
            .prepare_cached("SELECT id FROM hold WHERE complaint_id = ? AND void_by IS NULL ORDER BY id")?
            .query_map([complaint.id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        complaint.closed = conn
            .prepare_cached(
                "SELECT p.initials, n.text FROM complaint_end d JOIN person p ON p.id = d.person_id
                 JOIN entry_note n ON n.entry_id = d.entry_id WHERE d.complaint_id = ? AND d.void_by IS NULL",
            )?
            .query_row([complaint.id], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
    }
    complaints.sort_by_key(|complaint| complaint.closed.is_some());
    Ok(complaints)
}

/// What was told, call by call. Of an entry that was taken back nothing is.
fn calls(conn: &Connection, id: ComplaintId) -> Result<Vec<(EntryId, Option<Told>)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT t.entry_id, t.blanked_by, t.caller, t.kept, t.words, t.photo, t.ill, t.ate, t.onset, t.others
             FROM complaint_told t WHERE t.complaint_id = ?
             AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = t.entry_id)
             AND NOT EXISTS (SELECT 1 FROM correction c WHERE c.about_id = t.entry_id AND c.what = 'never' AND c.void_by IS NULL)
             ORDER BY t.entry_id",
        )?
        .query_map([id], |row| {
            let blanked: Option<EntryId> = row.get(1)?;
            let told = Told {
                caller: row.get(2)?,
                kept: row.get(3)?,
                words: row.get(4)?,
                photo: row.get(5)?,
                ill: row.get(6)?,
                ate: row.get(7)?,
                onset: row.get(8)?,
                others: row.get(9)?,
            };
            Ok((row.get(0)?, blanked.is_none().then_some(told)))
        })?
        .collect::<Result<_, _>>()?)
}

/// The newest live row of each lot counts. A lot that got another label meanwhile stands there under its new code.
fn lots(conn: &Connection, id: ComplaintId) -> Result<Vec<ComplaintLot>, StoreError> {
    let rows: Vec<(LotId, Standing, String)> = conn
        .prepare_cached(
            "SELECT lot_id, standing, why FROM complaint_lot WHERE complaint_id = ? AND void_by IS NULL ORDER BY id DESC",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let mut lots: Vec<ComplaintLot> = Vec::new();
    for (named, standing, why) in rows {
        let now = lot::newest(conn, named)?;
        if lots.iter().any(|known| known.lot == now) {
            continue;
        }
        let (body, name, held): (String, String, bool) = conn
            .prepare_cached(
                "SELECT l.code, coalesce(c.name, p.name), coalesce(n.held, 0) FROM lot l LEFT JOIN crop c ON c.id = l.crop_id
                 LEFT JOIN product p ON p.id = l.product_id LEFT JOIN lot_now n ON n.lot_id = l.id WHERE l.id = ?",
            )?
            .query_row([now], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        lots.push(ComplaintLot { lot: now, code: lot::shown(&body)?, name, standing, why, held });
    }
    lots.reverse();
    lots.sort_by_key(|lot| match lot.standing {
        Standing::Sure => 0,
        Standing::Open => 1,
        Standing::RuledOut => 2,
    });
    Ok(lots)
}

/// Indexes: `delivery_day`, `stock_move_day`.
fn sold(conn: &Connection, until: Day) -> Result<Vec<Sold>, StoreError> {
    let from = until - chrono::Duration::days(BACK_D);
    let mut sold: Vec<Sold> = conn
        .prepare_cached(
            "SELECT l.id, l.code, l.product_id, p.name, d.customer_id, c.name, d.day AS on_day, sum(m.packs)
             FROM delivery d JOIN stock_move m ON m.delivery_id = d.id AND m.kind = 'delivered' AND m.void_by IS NULL
             JOIN lot l ON l.id = m.lot_id JOIN product p ON p.id = l.product_id JOIN customer c ON c.id = d.customer_id
             WHERE d.day BETWEEN ?1 AND ?2 AND d.void_by IS NULL AND l.void_by IS NULL GROUP BY d.id, l.id
             UNION ALL
             SELECT l.id, l.code, l.product_id, p.name, NULL, r.name || coalesce(', ' || r.place, ''), m.day, sum(m.packs)
             FROM stock_move m JOIN round r ON r.id = m.round_id JOIN lot l ON l.id = m.lot_id
             JOIN product p ON p.id = l.product_id
             WHERE m.day BETWEEN ?1 AND ?2 AND m.kind IN ('sold_public', 'given') AND m.void_by IS NULL AND l.void_by IS NULL
             GROUP BY r.id, l.id ORDER BY on_day DESC, 1",
        )?
        .query_map([day_sql(from), day_sql(until)], |row| {
            Ok(Sold {
                lot: row.get(0)?,
                code: row.get(1)?,
                product: row.get::<_, ProductId>(2)?,
                name: row.get(3)?,
                customer: row.get::<_, Option<CustomerId>>(4)?,
                to: row.get(5)?,
                day: row.get(6)?,
                packs: row.get(7)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    for sale in &mut sold {
        sale.code = lot::shown(&sale.code)?;
    }
    Ok(sold)
}

/// What an entry says of a complaint; nothing of people.
pub(super) fn line(conn: &Connection, kind: &str, entry: EntryId) -> Result<Option<String>, StoreError> {
    Ok(match kind {
        "complaint" => {
            let (id, what, severity, from, product): (ComplaintId, What, Severity, String, String) = conn
                .prepare_cached(
                    "SELECT c.id, c.what, c.severity, coalesce(' of ' || u.name, ''), coalesce(', ' || t.name, '') FROM complaint c
                     LEFT JOIN customer u ON u.id = c.customer_id LEFT JOIN product t ON t.id = c.product_id WHERE c.entry_id = ?",
                )?
                .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
            Some(format!(
                "complaint {}{from}: {}{product}; {}{}",
                id.0,
                what.shown(),
                severity.shown(),
                named(conn, entry)?
            ))
        }
        "complaint_lots" => {
            let id: ComplaintId = conn
                .prepare_cached("SELECT complaint_id FROM complaint_lot WHERE entry_id = ? LIMIT 1")?
                .query_row([entry], |row| row.get(0))?;
            Some(format!("complaint {}{}", id.0, named(conn, entry)?))
        }
        "complaint_more" => {
            let id: ComplaintId = conn
                .prepare_cached("SELECT complaint_id FROM complaint_told WHERE entry_id = ?")?
                .query_row([entry], |row| row.get(0))?;
            Some(format!("complaint {}: what was said in another call", id.0))
        }
        "complaint_closed" => {
            let (id, by): (ComplaintId, String) = conn
                .prepare_cached(
                    "SELECT d.complaint_id, p.initials FROM complaint_end d JOIN person p ON p.id = d.person_id WHERE d.entry_id = ?",
                )?
                .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Some(format!("complaint {}: answered and closed by {by}", id.0))
        }
        "blanked" => {
            let id: Option<ComplaintId> = conn
                .prepare_cached("SELECT complaint_id FROM complaint_told WHERE blanked_by = ? LIMIT 1")?
                .query_row([entry], |row| row.get(0))
                .optional()?;
            let of = id.map_or_else(String::new, |id| format!(" {}", id.0));
            Some(format!("complaint{of}: what it said of people was taken out"))
        }
        _ => None,
    })
}

/// Lots an entry named.
fn named(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let lots: Vec<(LotId, Standing)> = conn
        .prepare_cached("SELECT lot_id, standing FROM complaint_lot WHERE entry_id = ? ORDER BY id")?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    if lots.len() > 6 {
        return Ok(format!("; {} named", counted(lots.len(), "lot")));
    }
    let said =
        |(id, standing): (LotId, Standing)| lot::code(conn, id).map(|code| format!("; {code} {}", standing.shown()));
    lots.into_iter().map(said).collect()
}
