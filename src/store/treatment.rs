//! Treatments of trays: what the book refuses of them, and the one place where they are written.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::breach::{against, hold};
use super::error::StoreError;
use super::facts::{TREATMENT, TREATMENT_TRAY};
use super::hands::{believable, still_there};
use super::hold::MIX;
use super::look::{found, once};
use super::mix;
use super::writer::Writer;
use crate::domain::code::Code;
use crate::domain::hands::Seen;
use crate::domain::id::{BreachId, EntryId, MixId, SowingId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant, Now, day_number};
use crate::domain::tray::named;
use crate::domain::treatment::{KeepOut, Listed, NewTreatment, Sprayed, Treated, hours_after};

/// The entry of a bottle.
const PREPARED_BY: &str = "SELECT entry_id FROM mix WHERE id = ?";

/// When it was sprayed, as the entry says it; within the last minute it is now.
pub(super) fn seen(conn: &Connection, new: &NewTreatment, seen: Seen, now: Now) -> Result<Seen, StoreError> {
    let ago = now.instant().0 - new.at.0;
    if (chrono::Duration::zero()..chrono::Duration::minutes(1)).contains(&ago) {
        return Ok(seen);
    }
    let seen = Seen { at: Some(new.at), ..seen };
    believable(conn, &seen, now)?;
    Ok(seen)
}

pub(super) fn treat(w: &mut Writer<'_>, new: &NewTreatment) -> Result<Wrote, StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("treatment", why).at(field))?;
    if new.trays.is_empty() {
        return Err(Refusal::new("treat_nothing", "There is no tray to write this for: choose one first.").into());
    }
    once(&new.trays)?;
    for tray in &new.trays {
        grew_then(w, *tray)?;
    }
    let mut broken: Vec<BreachId> = Vec::new();
    let product = match new.mix {
        Some(mix) => from_bottle(w, mix, new.ml, &mut broken)?,
        None => new.product.trim().to_string(),
    };
    if new.listed == Listed::No {
        let why = "The label does not list this crop and site, so it is not sprayed here: take another product.";
        broken.push(against(w, Refusal::new("treat_not_listed", why).at("listed"), None)?);
    }
    let at = w.at();
    write(w, &NewTreatment { product: product.clone(), at, ..new.clone() })?;
    for breach in broken {
        hold(w, breach, &new.trays)?;
    }
    let wait = match new.wait_h {
        0 => String::new(),
        hours => {
            let until = w.now.local(hours_after(at, hours)).format("%a %d %b %H:%M");
            format!(" Not to be cut before {until}.")
        }
    };
    let sentence = format!("{} treated with {product}.{wait}", named(&new.trays));
    Ok(Wrote { sentence, made: None, trays: new.trays.clone() })
}

/// A treatment of trays, all of which are known: every one in the book comes in here.
pub(super) fn write(w: &mut Writer<'_>, new: &NewTreatment) -> Result<(), StoreError> {
    let id = w.fact(
        TREATMENT,
        &[
            ("mix_id", &new.mix),
            ("product", &new.product),
            ("reg_no", &new.reg_no),
            ("at", &new.at),
            ("ml", &new.ml),
            ("purpose", &new.purpose.trim()),
            ("listed", &new.listed),
            ("wait_h", &new.wait_h),
            ("reentry_h", &new.reentry_h),
        ],
    )?;
    for tray in &new.trays {
        w.fact(TREATMENT_TRAY, &[("treatment_id", &id), ("tray_id", tray)])?;
        w.touched.insert(*tray);
    }
    Ok(())
}

/// Refuses a tray that is not of the book, was not sown by then, had left, or is missing.
fn grew_then(w: &Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    let code = Code::tray(tray.0);
    let sown: Option<(Day, Option<Day>)> = w
        .conn
        .prepare_cached(
            "SELECT s.day, (SELECT min(l.received) FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
               WHERE m.sowing_id = s.id AND m.void_by IS NULL)
             FROM tray t JOIN sowing_now s ON s.id = t.sowing_id WHERE t.id = ? AND s.void_by IS NULL",
        )?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((sown, received)) = sown else {
        return Err(Refusal::new(
            "tray_unknown",
            format!("There is no tray {code} in the book: read its label again."),
        )
        .at("more")
        .into());
    };
    let day = w.day();
    if let Some(received) = received.filter(|received| day < *received) {
        let why = format!("The seed of {code} was received on {received}: it was not treated on {day}. Check the day.");
        return Err(Refusal::new("treated_before_seed", why).at("from").into());
    }
    if day < sown {
        let why = format!("{code} was sown on {sown}: it was not treated on {day}. Check the day.");
        return Err(Refusal::new("treated_before_sowing", why).at("from").into());
    }
    still_there(w, tray, w.at())?;
    let here: bool = w
        .conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM tray_now WHERE tray_id = ?)")?
        .query_row([tray], |row| row.get(0))?;
    if here { found(w, tray) } else { Ok(()) }
}

/// What is in the bottle, if it was there then and holds that much.
fn from_bottle(
    w: &mut Writer<'_>,
    id: MixId,
    ml: Option<i64>,
    broken: &mut Vec<BreachId>,
) -> Result<String, StoreError> {
    let (bottle, at, now) = (mix::bottle(w.conn, id)?, w.at(), w.now);
    let code = &bottle.code;
    let local = |at: Instant| now.local(at).format("%d %b %H:%M");
    if at < bottle.prepared {
        let why = format!("{code} was prepared only on {}: give a later time, or another mix.", local(bottle.prepared));
        return Err(Refusal::new("mix_not_yet", why).at("from").into());
    }
    if let Some(ended) = bottle.ended.filter(|ended| *ended < at) {
        let why = format!("{code} was gone on {}: give an earlier time, or another mix.", local(ended));
        return Err(Refusal::new("mix_gone", why).at("what").into());
    }
    if let Some(ml) = ml.filter(|ml| *ml > bottle.left_ml) {
        let left = bottle.left_ml.max(0);
        let why = format!("{code} holds {left} mL and {ml} are said to be used: give less, or leave the amount empty.");
        return Err(Refusal::new("mix_left", why).at("ml").into());
    }
    if bottle.held {
        let why = format!("{code} is held: take another mix. Someone who may decide lifts the hold (d in the room).");
        broken.push(against(w, Refusal::new("mix_held", why).at("what"), Some((MIX, id.0)))?);
    }
    if let Some(expires) = bottle.expires.filter(|expires| *expires < at) {
        let why = format!("{code} kept only until {}: bin it and prepare it anew.", local(expires));
        broken.push(against(w, Refusal::new("mix_expired", why).at("what"), Some((PREPARED_BY, id.0)))?);
    }
    Ok(bottle.name)
}

/// Where nobody goes in, the longest first; what was over before the newest entry is left out, and none lasts longer than
/// [`WAIT_MAX_H`](crate::domain::treatment::WAIT_MAX_H). Index: `treatment_reentry`.
pub(super) fn keep_out(conn: &Connection) -> Result<Vec<KeepOut>, StoreError> {
    let lasting: Vec<(i64, Instant, String)> = conn
        .prepare_cached(
            "SELECT id, strftime('%Y-%m-%dT%H:%M:%SZ', at, '+' || reentry_h || ' hours') AS until, product
             FROM treatment WHERE reentry_h > 0 AND void_by IS NULL
             AND at > (SELECT strftime('%Y-%m-%dT%H:%M:%SZ', at, '-8760 hours') FROM entry WHERE id = (SELECT max(id) FROM entry))
             AND until > (SELECT at FROM entry WHERE id = (SELECT max(id) FROM entry)) ORDER BY until DESC",
        )?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let mut racks = conn.prepare_cached(
        "SELECT DISTINCT r.name FROM treatment_tray x JOIN placement p ON p.id = (SELECT max(id) FROM placement
           WHERE tray_id = x.tray_id AND void_by IS NULL AND place_id IS NOT NULL)
         JOIN place l ON l.id = p.place_id JOIN rack r ON r.id = l.rack_id WHERE x.treatment_id = ? ORDER BY r.sort, r.name",
    )?;
    lasting
        .into_iter()
        .map(|(id, until, product)| {
            let racks = racks.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?;
            Ok(KeepOut { until, racks, product })
        })
        .collect()
}

/// Treatments of every tray in the room, the newest first. Index: `treatment_tray_tray`.
pub(super) fn of_trays(conn: &Connection) -> Result<BTreeMap<TrayId, Vec<Sprayed>>, StoreError> {
    let mut found: BTreeMap<TrayId, Vec<Sprayed>> = BTreeMap::new();
    let mut select = conn.prepare_cached(
        "SELECT n.tray_id, m.at, m.product, m.listed FROM tray_now n CROSS JOIN treatment_tray x ON x.tray_id = n.tray_id
         JOIN treatment m ON m.id = x.treatment_id WHERE m.void_by IS NULL ORDER BY m.at DESC, m.id DESC",
    )?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let sprayed = Sprayed { at: row.get(1)?, product: row.get(2)?, listed: row.get(3)? };
        found.entry(row.get(0)?).or_default().push(sprayed);
    }
    Ok(found)
}

/// Treatments of a batch, the oldest first. Index: `treatment_tray_tray`.
pub(super) fn of_batch(conn: &Connection, sowing: SowingId, sown: Day) -> Result<Vec<Treated>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT e.day, m.at, m.product, count(*),
                    CASE WHEN m.wait_h > 0 THEN strftime('%Y-%m-%dT%H:%M:%SZ', m.at, '+' || m.wait_h || ' hours') END
             FROM tray t JOIN treatment_tray x ON x.tray_id = t.id JOIN treatment m ON m.id = x.treatment_id
             JOIN entry e ON e.id = m.entry_id
             WHERE t.sowing_id = ? AND m.void_by IS NULL GROUP BY m.id ORDER BY m.at, m.id",
        )?
        .query_map([sowing], |row| {
            Ok(Treated {
                day: day_number(sown, row.get(0)?),
                at: row.get(1)?,
                product: row.get(2)?,
                trays: row.get(3)?,
                wait_until: row.get(4)?,
            })
        })?
        .collect::<Result<_, _>>()?)
}

/// What an entry says of a treatment.
pub(super) fn line(conn: &Connection, entry: EntryId, trays: &str) -> Result<String, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT t.product, m.code, t.reg_no, t.ml, t.purpose, t.listed, t.wait_h, t.reentry_h
             FROM treatment t LEFT JOIN mix m ON m.id = t.mix_id WHERE t.entry_id = ?",
        )?
        .query_row([entry], |row| {
            let (product, purpose): (String, String) = (row.get(0)?, row.get(4)?);
            let bottle = row.get::<_, Option<String>>(1)?.map_or_else(String::new, |code| format!(" from {code}"));
            let reg = row.get::<_, Option<String>>(2)?.map_or_else(String::new, |no| format!(", registration {no}"));
            let ml = row.get::<_, Option<i64>>(3)?.map_or_else(String::new, |ml| format!(", {ml} mL"));
            let listed: Listed = row.get(5)?;
            let (wait, out): (i64, i64) = (row.get(6)?, row.get(7)?);
            let out = if out > 0 { format!(", nobody in for {out} h") } else { String::new() };
            Ok(format!(
                "{trays} treated with {product}{bottle}{reg}{ml}: {purpose}; listed on the label: {}; no cutting for {wait} h{out}",
                listed.shown()
            ))
        })?)
}
