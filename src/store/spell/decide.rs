//! What people decide about spells, and what waits for it.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};

use super::{COLUMNS, lots, of_row, through, words};
use crate::domain::breach::Verdict;
use crate::domain::cold::{Kind, Spell, SpellKey};
use crate::domain::id::{EntryId, LotId, PersonId, StoreId};
use crate::domain::refusal::Refusal;
use crate::domain::time::Now;
use crate::store::act::Wrote;
use crate::store::breach::{decider, grounds};
use crate::store::error::StoreError;
use crate::store::facts::SPELL_DECISION;
use crate::store::writer::Writer;
use crate::store::{cold, goods, stay};

/// The newest decision that covers a spell, whose it was, and its entry. Index: `spell_decision_of`.
pub(super) fn decision(conn: &Connection, spell: &Spell) -> Result<Option<(Verdict, String, EntryId)>, StoreError> {
    let decisions: Vec<(Spell, Verdict, String, EntryId)> = conn
        .prepare_cached(
            "SELECT d.store_id, d.kind, d.from_s, d.to_s, 0, d.worst_dc, d.what, p.initials, d.entry_id FROM spell_decision d
             JOIN person p ON p.id = d.person_id
             WHERE d.store_id = ? AND d.kind = ? AND d.from_s <= ? AND d.to_s >= ? AND d.void_by IS NULL ORDER BY d.id DESC",
        )?
        .query_map(params![spell.key.store, spell.key.kind, spell.key.from_s, spell.to_s], |row| {
            Ok((of_row(row)?, row.get(6)?, row.get(7)?, row.get(8)?))
        })?
        .collect::<Result<_, _>>()?;
    let covers = decisions.into_iter().find(|(known, ..)| spell.within(known));
    Ok(covers.map(|(_, what, by, entry)| (what, by, entry)))
}

/// Spells of a store that reach beyond a moment and begin before another.
pub(super) fn between(conn: &Connection, store: StoreId, from_s: i64, to_s: i64) -> Result<Vec<Spell>, StoreError> {
    Ok(conn
        .prepare_cached(&format!("SELECT {COLUMNS} FROM spell_now WHERE store_id = ? AND to_s >= ? AND from_s < ?"))?
        .query_map(params![store, from_s, to_s], of_row)?
        .collect::<Result<_, _>>()?)
}

/// Whether a spell that nobody has accepted holds a lot. A decision covers what was known to lie there then.
pub(in crate::store) fn holds(conn: &Connection, lot: LotId) -> Result<bool, StoreError> {
    let any: bool = conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM spell_now)")?.query_row([], |row| row.get(0))?;
    if !any || !cold::rules(conn)?.0.cold_food {
        return Ok(false);
    }
    for lay in stay::presence(conn, lot)? {
        for spell in between(conn, lay.store, lay.from_s, lay.to_s)? {
            if spell.key.kind.holds() && !accepted(conn, &spell, lay.said)? {
                return Ok(true);
            }
        }
    }
    Ok(false)
}

/// A spell that a lot lay through: since when, in words, and the newest decision about it with whose it is.
type LainThrough = (i64, String, Option<(Verdict, String)>);

/// Every spell that a lot, or what went into it, lay through, the first one first.
pub(in crate::store) fn on_lot(conn: &Connection, lot: LotId, now: Now) -> Result<Vec<LainThrough>, StoreError> {
    let mut found = BTreeMap::new();
    for lay in stay::presence(conn, lot)? {
        for spell in between(conn, lay.store, lay.from_s, lay.to_s)? {
            // what came to light since asks again
            let decided =
                decision(conn, &spell)?.filter(|(.., entry)| *entry > lay.said).map(|(what, by, _)| (what, by));
            if spell.key.kind == Kind::Chilling && !stay::harmed(conn, lot)? {
                continue;
            }
            let words = format!("{}: {}", cold::name(conn, Some(lay.store.0)), words(conn, &spell, now)?);
            found.insert((spell.key.from_s, spell.key), (words, decided));
        }
    }
    Ok(found.into_iter().map(|((from_s, _), (words, decided))| (from_s, words, decided)).collect())
}

/// Whether a spell was accepted after an entry.
fn accepted(conn: &Connection, spell: &Spell, said: EntryId) -> Result<bool, StoreError> {
    Ok(matches!(decision(conn, spell)?, Some((Verdict::Accepted, _, entry)) if entry > said))
}

/// Whether a spell that nobody has accepted, and that holds something that is here, began in a store at a moment or after it.
pub(in crate::store) fn undecided(conn: &Connection, store: StoreId, from_s: i64) -> Result<bool, StoreError> {
    for spell in between(conn, store, from_s, i64::MAX)? {
        if spell.key.from_s < from_s
            || !spell.key.kind.holds()
            || matches!(decision(conn, &spell)?, Some((Verdict::Accepted, ..)))
        {
            continue;
        }
        // what is to be thrown out stays held as long as any of it is here
        let here = goods::there(conn)?;
        if lots(conn, &spell)?.iter().any(|lot| here.contains(lot)) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The same of any store.
pub(in crate::store) fn any_undecided(conn: &Connection) -> Result<bool, StoreError> {
    let stores: Vec<StoreId> = conn
        .prepare_cached("SELECT DISTINCT store_id FROM spell_now")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for store in stores {
        if undecided(conn, store, i64::MIN)? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether a spell that holds what it touched rests on an entry's readings, or on where it put something.
pub(in crate::store) fn rests_on(conn: &Connection, entry: EntryId) -> Result<bool, StoreError> {
    // indexes: reading_file_entry, stay_entry
    let spans: Vec<(StoreId, i64, i64)> = conn
        .prepare_cached(
            "SELECT s.store_id, min(r.at_s), max(r.at_s) FROM reading_file f JOIN sensor s ON s.id = f.sensor_id
             JOIN reading r ON r.sensor_id = s.id AND r.file_id = f.id
             WHERE f.entry_id = ?1 AND f.void_by IS NULL AND s.store_id NOT NULL GROUP BY f.id
             UNION ALL SELECT y.store_id, y.at_s, coalesce((SELECT min(n.at_s) FROM stay n WHERE n.lot_id = y.lot_id
               AND n.void_by IS NULL AND n.at_s > y.at_s), ?2)
             FROM stay y WHERE y.entry_id = ?1 AND y.void_by IS NULL AND y.store_id NOT NULL
             UNION ALL SELECT s.id, unixepoch(p.from_at), coalesce(unixepoch(p.to_at), ?2) FROM power_cut p
               JOIN store s ON p.zone_id IS NULL AND s.id = coalesce(p.store_id, s.id)
               WHERE p.entry_id = ?1 AND p.void_by IS NULL AND p.warmest_dc NOT NULL",
        )?
        .query_map(params![entry, i64::MAX], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    for (store, from_s, to_s) in spans {
        let spells: Vec<Spell> = conn
            .prepare_cached(&format!(
                "SELECT {COLUMNS} FROM spell_now WHERE store_id = ? AND to_s >= ? AND from_s <= ?"
            ))?
            .query_map(params![store, from_s, to_s], of_row)?
            .collect::<Result<_, _>>()?;
        if spells.iter().any(|spell| spell.key.kind.holds()) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The newest entry that says that something lay in a spell.
pub(super) fn latest(conn: &Connection, spell: &Spell) -> Result<EntryId, StoreError> {
    let mut latest = EntryId(0);
    for lot in lots(conn, spell)? {
        let said = stay::presence(conn, lot)?.into_iter().filter(|lay| through(lay, spell)).map(|lay| lay.said);
        latest = said.fold(latest, Ord::max);
    }
    Ok(latest)
}

/// Someone who may decide says what becomes of what a spell touched.
pub(in crate::store) fn decide(
    w: &mut Writer<'_>,
    key: SpellKey,
    what: Verdict,
    by: PersonId,
    reason: &str,
) -> Result<Wrote, StoreError> {
    let found = w
        .conn
        .prepare_cached(&format!("SELECT {COLUMNS} FROM spell_now WHERE store_id = ? AND kind = ? AND from_s = ?"))?
        .query_row(params![key.store, key.kind, key.from_s], of_row)
        .optional()?;
    let Some(spell) = found else {
        let why = "The readings say otherwise by now: open the list again.";
        return Err(Refusal::new("spell_unknown", why).into());
    };
    let latest = latest(w.conn, &spell)?;
    if let Some((known @ (Verdict::Accepted | Verdict::Thrown), by, entry)) = decision(w.conn, &spell)?
        && entry > latest
    {
        let why = format!("{by} decided about it already: {}.", known.shown());
        return Err(Refusal::new("spell_decided", why).into());
    }
    let initials = decider(w.conn, by, "a spell")?;
    let reason = grounds(reason)?;
    w.fact(
        SPELL_DECISION,
        &[
            ("store_id", &key.store),
            ("kind", &key.kind),
            ("from_s", &key.from_s),
            ("to_s", &spell.to_s),
            ("worst_dc", &spell.worst_dc),
            ("what", &what),
            ("person_id", &by),
        ],
    )?;
    w.note(Some(reason))?;
    let said = words(w.conn, &spell, w.now)?;
    Ok(Wrote::said(format!("{initials} decided. {said}: {}.", follows(what))))
}

fn follows(what: Verdict) -> &'static str {
    match what {
        Verdict::Accepted => "accepted, what it touched goes on",
        Verdict::Thrown => "what it touched is thrown out: bin it in the stock",
        Verdict::Watch => "put off, what it touched stays as it is",
    }
}

/// What an entry decided about which spell.
pub(in crate::store) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (kind, store, what, by): (Kind, String, Verdict, String) = conn
        .prepare_cached(
            "SELECT d.kind, s.name, d.what, p.initials FROM spell_decision d JOIN store s ON s.id = d.store_id
             JOIN person p ON p.id = d.person_id WHERE d.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    Ok(format!("{by} decided about the {} in {store}: {}", kind.shown(), follows(what)))
}
