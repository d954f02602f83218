//! Warm and cold spells: `spell_now` is worked out again for the stores an entry touched; what was decided stays a fact.

mod decide;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, Row, params};

use super::error::StoreError;
use super::facts::{CHANGE, POWER_CUT, READING_FILE, SPELL_DECISION, STAY};
use super::stay::Presence;
use super::writer::Writer;
use super::{cold, goods, hold, lot, room, stay, stock};
use crate::domain::cold::{Kind, Spell, SpellKey, SpellSeen, Touched, spells};
use crate::domain::id::{LotId, SensorId, StoreId};
use crate::domain::keeping::{self, Series};
use crate::domain::reading::Reading;
use crate::domain::text::counted;
use crate::domain::time::Now;
pub(super) use decide::{any_undecided, decide, holds, line, on_lot, rests_on, undecided};
use decide::{between, decision, latest};

fn of_row(row: &Row<'_>) -> rusqlite::Result<Spell> {
    Ok(Spell {
        key: SpellKey { store: row.get(0)?, kind: row.get(1)?, from_s: row.get(2)? },
        to_s: row.get(3)?,
        going_on: row.get(4)?,
        worst_dc: row.get(5)?,
    })
}

const COLUMNS: &str = "store_id, kind, from_s, to_s, going_on, worst_dc";

/// Stores whose spells an entry may have changed, and from when on.
fn touched(w: &Writer<'_>) -> Result<BTreeMap<StoreId, i64>, StoreError> {
    let mut from: BTreeMap<StoreId, i64> = BTreeMap::new();
    let mut touch = |store: StoreId, at_s: i64| {
        let at = from.entry(store).or_insert(at_s);
        *at = at_s.min(*at);
    };
    let staged = w.staged.as_ref().and_then(|staged| staged.spells.as_ref());
    if let Some(known) = staged {
        touch(known.store, known.from_s);
    }
    for file in w.rows(READING_FILE).into_iter().filter(|_| staged.is_none()) {
        let read: Option<(StoreId, i64)> = w
            .conn
            .prepare_cached(
                "SELECT s.store_id, (SELECT min(r.at_s) FROM reading r WHERE r.sensor_id = s.id AND r.file_id = f.id)
                 FROM reading_file f JOIN sensor s ON s.id = f.sensor_id WHERE f.id = ? AND s.store_id NOT NULL",
            )?
            .query_row([file], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        if let Some((store, at_s)) = read {
            touch(store, at_s);
        }
    }
    // a lot that went elsewhere left a store behind
    for moved in w.rows(STAY) {
        let lay: Vec<(StoreId, i64)> = w
            .conn
            .prepare_cached(
                "SELECT o.store_id, y.at_s FROM stay y JOIN stay o ON o.lot_id = y.lot_id WHERE y.id = ? AND o.store_id NOT NULL",
            )?
            .query_map([moved], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        for (store, at_s) in lay {
            touch(store, at_s);
        }
    }
    // what cold harms went, or came back
    for lot in &w.touched_lots {
        if !stay::harmed(w.conn, *lot)? {
            continue;
        }
        let lay: Vec<(StoreId, i64)> = w
            .conn
            .prepare_cached("SELECT store_id, at_s FROM stay WHERE lot_id = ? AND store_id NOT NULL")?
            .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        for (store, at_s) in lay {
            touch(store, at_s);
        }
    }
    for cut in w.rows(POWER_CUT) {
        let cut: Vec<(StoreId, i64)> = w
            .conn
            .prepare_cached(
                "SELECT s.id, unixepoch(p.from_at) FROM power_cut p JOIN store s ON p.zone_id IS NULL AND s.id = coalesce(p.store_id, s.id)
                 WHERE p.id = ?",
            )?
            .query_map([cut], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        for (store, at_s) in cut {
            touch(store, at_s);
        }
    }
    if !w.rows(CHANGE).is_empty() {
        // other limits, or a crop that cold harms: all of it
        let whole: Vec<StoreId> = w
            .conn
            .prepare_cached(
                "SELECT row_id FROM change WHERE entry_id = ?1 AND noun = 'store'
                 UNION SELECT s.id FROM store s WHERE EXISTS (SELECT 1 FROM change c WHERE c.entry_id = ?1 AND c.noun = 'crop'
                   AND json_extract(c.after, '$.chilling') NOT NULL AND c.before NOT NULL)",
            )?
            .query_map([w.entry], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for store in whole {
            touch(store, i64::MIN);
        }
    }
    Ok(from)
}

/// The spells of a store with readings that are about to go in, worked out while others may still write.
pub(super) struct Foreseen {
    store: StoreId,
    from_s: i64,
    /// The newest entry of the book they were worked out from.
    newest: i64,
    start: i64,
    spells: Vec<Spell>,
}

pub(super) fn foreseen(
    conn: &Connection,
    store: StoreId,
    sensor: SensorId,
    fresh: &[Reading],
    newest: i64,
) -> Result<Foreseen, StoreError> {
    let from_s = fresh.first().map_or(i64::MAX, |first| first.at.0.timestamp());
    let start = start(conn, store, from_s)?;
    let more =
        fresh.iter().map(|reading| (sensor, keeping::Reading { at_s: reading.at.0.timestamp(), dc: reading.temp_dc }));
    let series = cold::series_and(conn, store, start, more)?;
    Ok(Foreseen { store, from_s, newest, start, spells: found(conn, store, start, &series)? })
}

impl Foreseen {
    /// Whether nothing but the sensor came in since.
    fn stands(&self, w: &Writer<'_>, store: StoreId, start: i64) -> Result<bool, StoreError> {
        Ok((self.store, self.start) == (store, start)
            && !w
                .conn
                .prepare_cached("SELECT EXISTS (SELECT 1 FROM entry WHERE id > ?1 AND id < ?2 AND kind <> 'sensor')")?
                .query_row(params![self.newest, w.entry], |row| row.get(0))?)
    }
}

/// Works the spells of the touched stores out again, and says which are new or grew. What they hold is touched by it.
pub(super) fn refresh(w: &mut Writer<'_>) -> Result<Vec<Spell>, StoreError> {
    let mut news = Vec::new();
    let mut other = !w.rows(SPELL_DECISION).is_empty() || rules_changed(w)?;
    for (store, from_s) in touched(w)? {
        let start = start(w.conn, store, from_s)?;
        let known = w.staged.as_ref().and_then(|staged| staged.spells.as_ref());
        let come = match known {
            Some(known) if known.stands(w, store, start)? => known.spells.clone(),
            _ => worked_out(w.conn, store, start)?,
        };
        let gone = replace(w.conn, store, start, &come)?;
        other |= gone != come;
        news.extend(come.into_iter().filter(|spell| !gone.contains(spell)));
    }
    if other {
        w.touched_lots.extend(goods::there(w.conn)?);
    }
    Ok(news)
}

fn rules_changed(w: &Writer<'_>) -> Result<bool, StoreError> {
    Ok(!w.rows(CHANGE).is_empty()
        && w.conn
            .prepare_cached(
                "SELECT EXISTS (SELECT 1 FROM change c JOIN setting s ON s.id = c.row_id WHERE c.entry_id = ? AND c.noun = 'setting'
                   AND s.key = 'cold')",
            )?
            .query_row([w.entry], |row| row.get(0))?)
}

/// Writes the spells of a store anew that begin after a moment; returns what stood there.
fn replace(conn: &Connection, store: StoreId, start: i64, come: &[Spell]) -> Result<Vec<Spell>, StoreError> {
    let gone: Vec<Spell> = conn
        .prepare_cached(&format!(
            "SELECT {COLUMNS} FROM spell_now WHERE store_id = ? AND from_s >= ? ORDER BY from_s, kind"
        ))?
        .query_map(params![store, start], of_row)?
        .collect::<Result<_, _>>()?;
    conn.prepare_cached("DELETE FROM spell_now WHERE store_id = ? AND from_s >= ?")?.execute(params![store, start])?;
    for spell in come {
        conn.prepare_cached(
            "INSERT INTO spell_now (store_id, kind, from_s, to_s, going_on, worst_dc) VALUES (?, ?, ?, ?, ?, ?)",
        )?
        .execute(params![
            spell.key.store,
            spell.key.kind,
            spell.key.from_s,
            spell.to_s,
            spell.going_on,
            spell.worst_dc
        ])?;
    }
    Ok(gone)
}

fn worked_out(conn: &Connection, store: StoreId, start: i64) -> Result<Vec<Spell>, StoreError> {
    found(conn, store, start, &cold::series(conn, store, start)?)
}

fn found(conn: &Connection, store: StoreId, start: i64, series: &Series) -> Result<Vec<Spell>, StoreError> {
    let found = spells(store, series, &cold::limits(conn, store)?, &stay::sensitive(conn, store, start)?);
    Ok(found.into_iter().filter(|spell| spell.key.from_s >= start).collect())
}

/// From where on the spells that a change at a moment touches are found whole: before it no run was as long as a spell yet.
fn start(conn: &Connection, store: StoreId, from_s: i64) -> Result<i64, StoreError> {
    if from_s == i64::MIN {
        return Ok(i64::MIN);
    }
    let before = |at_s: i64| -> Result<Option<i64>, StoreError> {
        Ok(conn
            .prepare_cached(
                "SELECT max(at_s) FROM (SELECT (SELECT r.at_s FROM reading r JOIN reading_file f ON f.id = r.file_id
                   WHERE r.sensor_id = s.id AND r.at_s < ?2 AND f.void_by IS NULL ORDER BY r.at_s DESC LIMIT 1) AS at_s
                 FROM sensor s WHERE s.store_id = ?1)",
            )?
            .query_row(params![store, at_s], |row| row.get(0))?)
    };
    let over_s = cold::limits(conn, store)?.over_min * 60;
    let Some(stood) = before(from_s)? else { return Ok(i64::MIN) };
    let Some(first) = before(stood - over_s)? else { return Ok(i64::MIN) };
    // spells of several kinds may overlap: back to where none of them is cut
    let mut start = first;
    loop {
        let spell: Option<i64> = conn
            .prepare_cached("SELECT min(from_s) FROM spell_now WHERE store_id = ? AND to_s >= ?")?
            .query_row(params![store, start], |row| row.get(0))?;
        match spell.filter(|spell| *spell < start) {
            Some(spell) => start = spell,
            None => return Ok(start),
        }
    }
}

/// Works every spell out again; returns how many differed.
pub(super) fn rebuild(conn: &Connection) -> Result<usize, StoreError> {
    let stores: Vec<StoreId> =
        conn.prepare("SELECT id FROM store ORDER BY id")?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let mut differed = 0;
    for store in stores {
        let come = worked_out(conn, store, i64::MIN)?;
        let gone = replace(conn, store, i64::MIN, &come)?;
        differed += gone.iter().filter(|spell| !come.contains(spell)).count();
        differed += come.iter().filter(|spell| !gone.contains(spell)).count();
    }
    Ok(differed)
}

/// What an entry says of spells that opened by it.
pub(super) fn opened(conn: &Connection, news: &[Spell], now: Now) -> Result<String, StoreError> {
    let mut said = Vec::new();
    for spell in news {
        let store: String =
            conn.query_row("SELECT name FROM store WHERE id = ?", [spell.key.store], |row| row.get(0))?;
        let held = if cold::rules(conn)?.0.cold_food && spell.key.kind.holds() {
            let lots = lots(conn, spell)?.len();
            if lots > 0 { format!("; {} held by it", counted(lots, "lot")) } else { String::new() }
        } else {
            String::new()
        };
        said.push(format!(" {}: {store}{held}.", words(conn, spell, now)?));
    }
    Ok(said.concat())
}

/// `Warm spell 12 Jul 22:10 to 04:40, 11.2 °C at worst`.
fn words(conn: &Connection, spell: &Spell, now: Now) -> Result<String, StoreError> {
    let at = |at_s: i64| Ok::<_, StoreError>(now.local(cold::instant(at_s)?));
    let (from, to) = (at(spell.key.from_s)?, at(spell.to_s)?);
    let to = match (spell.going_on, from.date_naive() == to.date_naive()) {
        (true, _) => "going on".to_string(),
        (false, true) => format!("to {}", to.format("%H:%M")),
        (false, false) => format!("to {}", to.format("%d %b %H:%M")),
    };
    let worst = room::units(conn)?.temperature(spell.worst_dc);
    let mut kind = spell.key.kind.shown().to_string();
    if let Some(first) = kind.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    Ok(format!("{kind} {} {to}, {worst} at worst", from.format("%d %b %H:%M")))
}

/// Lots that lay in the store during a spell, and what was made of them since.
pub(super) fn lots(conn: &Connection, spell: &Spell) -> Result<BTreeSet<LotId>, StoreError> {
    let mut all = BTreeSet::new();
    for id in stay::in_store(conn, spell.key.store, spell.key.from_s, spell.to_s)? {
        for made in lot::below(conn, id)? {
            if all.contains(&made) || lot::counting(conn, made)?.is_none() {
                continue;
            }
            // a chilling spell touches only what cold harms
            let harmed = spell.key.kind != Kind::Chilling || stay::harmed(conn, made)?;
            if harmed && stay::presence(conn, made)?.iter().any(|lay| through(lay, spell)) {
                all.insert(made);
            }
        }
    }
    Ok(all)
}

/// Cold stores that a lot, or what went into it, lay in, and the spells it lay through there.
pub(super) fn behind(
    conn: &Connection,
    lot: LotId,
) -> Result<(BTreeSet<StoreId>, BTreeMap<SpellKey, Spell>), StoreError> {
    let (mut stores, mut spells) = (BTreeSet::new(), BTreeMap::new());
    for lay in stay::presence(conn, lot)? {
        stores.insert(lay.store);
        for spell in between(conn, lay.store, lay.from_s, lay.to_s)?.into_iter().filter(|spell| through(&lay, spell)) {
            // a chilling spell touches only what cold harms
            if spell.key.kind != Kind::Chilling || stay::harmed(conn, lot)? {
                spells.insert(spell.key, spell);
            }
        }
    }
    Ok((stores, spells))
}

/// Whether something lay in a spell's store while it lasted.
fn through(lay: &Presence, spell: &Spell) -> bool {
    lay.store == spell.key.store && lay.from_s <= spell.to_s && lay.to_s > spell.key.from_s
}

/// Spells that want a decision, and those since a moment, by store, newest first.
pub(super) fn seen(conn: &Connection, since_s: i64, now: Now) -> Result<BTreeMap<StoreId, Vec<SpellSeen>>, StoreError> {
    let all: Vec<Spell> = conn
        .prepare_cached(&format!("SELECT {COLUMNS} FROM spell_now ORDER BY from_s DESC, kind"))?
        .query_map([], of_row)?
        .collect::<Result<_, _>>()?;
    let now_s = now.instant().0.timestamp();
    let mut seen: BTreeMap<StoreId, Vec<SpellSeen>> = BTreeMap::new();
    for spell in all {
        // what came to light since asks again
        let latest = latest(conn, &spell)?;
        let decided = decision(conn, &spell)?.filter(|(.., entry)| *entry > latest).map(|(what, by, _)| (what, by));
        let mut one = SpellSeen { spell, decided, touched: Vec::new(), buyers: Vec::new() };
        if one.decided.is_some() && spell.to_s < since_s {
            continue;
        }
        let units = room::units(conn)?;
        for id in lots(conn, &spell)? {
            let Some(of) = lot::counting(conn, id)? else { continue };
            let here = of.here() + of.out_packs;
            let here = if here > 0 { stock::amount(of.kind, here, units) } else { String::new() };
            one.touched.push(Touched {
                lot: id,
                code: of.code,
                name: of.name,
                here,
                ways: stay::ways(conn, id, now_s)?,
            });
        }
        let codes = one.touched.iter().map(|lot| (lot.lot, lot.code.as_str()));
        // who got some before it began has nothing of it
        let began = now.local(cold::instant(spell.key.from_s)?).date_naive();
        one.buyers = hold::buyers(conn, codes)?;
        one.buyers.retain(|buyer| buyer.day >= began);
        seen.entry(spell.key.store).or_default().push(one);
    }
    Ok(seen)
}
