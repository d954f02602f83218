//! Which lot lies in which cold store since when, and the way its greens took since the cut.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::STAY;
use super::writer::Writer;
use super::{air, cold, lot, spell};
use crate::domain::cold::{LotWays, PutAway};
use crate::domain::id::{CropId, EntryId, LotId, StoreId};
use crate::domain::keeping::{Leg, Place, Way};
use crate::domain::lot::Kind;
use crate::domain::reading::TEMP_DC;
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::Instant;

pub(super) fn put_away(w: &mut Writer<'_>, new: &PutAway) -> Result<Wrote, StoreError> {
    if new.lots.is_empty() {
        return Err(Refusal::new("stay_nothing", "Say which lots: one at least.").at("lots").into());
    }
    if new.at > w.now.instant() {
        let why = "That is still to come: write it down when they lie there.";
        return Err(Refusal::new("stay_future", why).at("time").into());
    }
    if new.out_dc.is_some_and(|dc| !TEMP_DC.contains(&dc)) {
        return Err(Refusal::new("stay_out", "Say a temperature between -20 and 60 °C.").at("out").into());
    }
    let place = match new.store {
        Some(store) => format!("in {}", cold::known(w.conn, store)?),
        None => "out of every store".into(),
    };
    let mut codes = Vec::new();
    for id in &new.lots {
        codes.push(one(w, *id, new)?);
    }
    let what = match codes.as_slice() {
        [code] => code.clone(),
        codes => counted(codes.len(), "lot"),
    };
    let at = w.now.local(new.at).format("%d %b %H:%M");
    let be = if codes.len() == 1 { "lies" } else { "lie" };
    Ok(Wrote::said(format!("{what} {be} {place} since {at}.")))
}

/// One lot, and its code.
fn one(w: &mut Writer<'_>, id: LotId, new: &PutAway) -> Result<String, StoreError> {
    let lot = lot::get(w.conn, id)?;
    let code = &lot.code;
    let refuse = |rule, field, why: String| Err(Refusal::new(rule, why).at(field).into());
    if lot.here() == 0 {
        return refuse("stay_gone", "lots", format!("Nothing of {code} is here: choose another lot."));
    }
    let (begun, mut at_s) = (begun(w.conn, id)?, new.at.0.timestamp());
    // a form knows minutes only
    if at_s < begun && at_s / 60 == begun / 60 {
        at_s = begun;
    }
    if at_s < begun {
        let at = w.now.local(cold::instant(begun)?).format("%d %b %H:%M");
        return refuse("stay_order", "time", format!("{code} is there since {at}: give a later time."));
    }
    if let Some((last_s, store)) = last(w.conn, id)? {
        if at_s / 60 == last_s / 60 {
            at_s = at_s.max(last_s);
        }
        if at_s < last_s {
            let at = w.now.local(cold::instant(last_s)?).format("%d %b %H:%M");
            let why = format!("{code} was moved at {at}: give a later time, or put that entry right.");
            return refuse("stay_order", "time", why);
        }
        if store == new.store {
            return refuse("stay_same", "lots", format!("{code} lies there already: choose another lot or store."));
        }
        if let Some(old) = store
            && spell::undecided(w.conn, old, at_s)?
        {
            let why =
                format!("{code} lay through a spell after that time, which nobody has decided: decide it first (d).");
            return refuse("stay_spell", "time", why);
        }
    } else if new.store.is_none() {
        return refuse("stay_same", "lots", format!("{code} lies in no store yet: choose where it goes."));
    }
    write(w, id, new.store, cold::instant(at_s)?, new.out_dc)?;
    Ok(lot.code)
}

/// A lot lies somewhere from now on.
pub(super) fn write(
    w: &mut Writer<'_>,
    lot: LotId,
    store: Option<StoreId>,
    at: Instant,
    out_dc: Option<i64>,
) -> Result<(), StoreError> {
    let at_s = at.0.timestamp();
    w.fact(STAY, &[("lot_id", &lot), ("store_id", &store), ("at_s", &at_s), ("out_dc", &out_dc)])?;
    w.touched_lots.insert(lot);
    Ok(())
}

/// Where a lot was put last, and when. Index: `stay_lot`.
fn last(conn: &Connection, lot: LotId) -> Result<Option<(i64, Option<StoreId>)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT at_s, store_id FROM stay WHERE lot_id = ? AND void_by IS NULL ORDER BY at_s DESC, id DESC LIMIT 1",
        )?
        .query_row([lot], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?)
}

/// Whether anything that is here lies in a store.
pub(super) fn occupied(conn: &Connection, store: StoreId) -> Result<bool, StoreError> {
    let lots: Vec<LotId> = conn
        .prepare_cached("SELECT lot_id FROM lot_now")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for lot in lots {
        if last(conn, lot)?.is_some_and(|(_, lies)| lies == Some(store)) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The lot whose code came first, where a lot has another one's place.
pub(super) fn first_code(conn: &Connection, lot: LotId) -> Result<LotId, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE old (id) AS (SELECT ?1 UNION SELECT l.instead_of FROM old JOIN lot l ON l.id = old.id
               WHERE l.instead_of NOT NULL) SELECT min(id) FROM old",
        )?
        .query_row([lot], |row| row.get(0))?)
}

/// When a lot was cut or packed.
pub(super) fn begun(conn: &Connection, lot: LotId) -> Result<i64, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT unixepoch(coalesce(l.cut_at, e.seen_at, e.at)) FROM lot l JOIN entry e ON e.id = l.entry_id WHERE l.id = ?",
        )?
        .query_row([first_code(conn, lot)?], |row| row.get(0))?)
}

/// A lot with its ways until now.
pub(super) fn ways_of(conn: &Connection, lot: LotId, now_s: i64) -> Result<LotWays, StoreError> {
    let last = last(conn, lot)?;
    let since_s = match last {
        Some((at_s, _)) => at_s,
        None => begun(conn, lot)?,
    };
    Ok(LotWays { lot, ways: ways(conn, lot, now_s)?, store: last.and_then(|(_, store)| store), since_s })
}

/// The way of each harvest that is in a lot: what it went through itself, and before it was drawn.
pub(super) fn ways(conn: &Connection, lot: LotId, now_s: i64) -> Result<Vec<Way>, StoreError> {
    let (kind, crop): (Kind, Option<(CropId, String)>) = conn
        .prepare_cached("SELECT l.kind, c.id, c.name FROM lot l LEFT JOIN crop c ON c.id = l.crop_id WHERE l.id = ?")?
        .query_row([lot], |row| {
            let crop: Option<CropId> = row.get(1)?;
            Ok((row.get(0)?, crop.map(|crop| Ok::<_, rusqlite::Error>((crop, row.get(2)?))).transpose()?))
        })?;
    let from_s = begun(conn, lot)?;
    let home = legs(conn, lot, from_s, now_s)?;
    let mut own = vec![home.clone()];
    // packs that were out go another way than those that stayed: a lot is as its worst pack
    let mut out = home;
    for (back_from, back_to, dc) in brought_back(conn, lot)? {
        warmed(&mut out, back_from.max(from_s), back_to, dc);
    }
    if own.first() != Some(&out) {
        own.push(out);
    }
    if let (Kind::Harvest, Some((crop, name))) = (kind, crop) {
        return Ok(own.into_iter().map(|legs| Way { crop, name: name.clone(), cut_s: from_s, legs }).collect());
    }
    // index: lot_input_lot
    let from: Vec<LotId> = conn
        .prepare_cached(
            "SELECT from_lot_id FROM lot_input WHERE lot_id = ? AND from_lot_id NOT NULL AND void_by IS NULL",
        )?
        .query_map([lot], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut all = Vec::new();
    for drawn in from {
        for way in ways(conn, drawn, from_s)? {
            for own in &own {
                let mut way = way.clone();
                until(&mut way.legs, from_s);
                way.legs.extend(own);
                all.push(way);
            }
        }
    }
    Ok(all)
}

/// Cuts legs at the moment something was drawn.
fn until(legs: &mut Vec<Leg>, at_s: i64) {
    legs.retain(|leg| leg.from_s < at_s);
    for leg in legs {
        leg.to_s = Some(leg.to_s.map_or(at_s, |to| to.min(at_s)));
    }
}

/// What a lot itself went through since it was cut or packed.
fn legs(conn: &Connection, lot: LotId, from_s: i64, now_s: i64) -> Result<Vec<Leg>, StoreError> {
    let stays: Vec<(Option<StoreId>, i64, Option<i64>)> = conn
        .prepare_cached(
            "SELECT store_id, at_s, out_dc FROM stay WHERE lot_id = ? AND void_by IS NULL ORDER BY at_s, id",
        )?
        .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let mut legs = Vec::new();
    let mut at = (None, from_s);
    for (store, at_s, out_dc) in &stays {
        if *at_s > at.1 {
            legs.push(leg(conn, at, Some(*at_s), *out_dc, now_s)?);
        }
        at = (*store, *at_s);
    }
    let gone = gone(conn, lot)?;
    if gone.is_none_or(|gone| gone > at.1) {
        legs.push(leg(conn, at, gone, None, now_s)?);
    }
    Ok(legs)
}

/// When the last of a lot went, if nothing of it is here or on a round any more. Indexes: `stock_move_lot`, `lot_input_from`.
pub(super) fn gone(conn: &Connection, lot: LotId) -> Result<Option<i64>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT (SELECT max(unixepoch(coalesce(e.seen_at, e.at))) FROM (
                 SELECT m.entry_id FROM stock_move m WHERE m.lot_id = ?1 AND m.void_by IS NULL
                 UNION SELECT i.entry_id FROM lot_input i WHERE i.from_lot_id = ?1 AND i.void_by IS NULL) x
               JOIN entry e ON e.id = x.entry_id)
             FROM lot_stock s WHERE s.lot_id = ?1 AND s.grams <= 0 AND s.packs <= 0 AND s.out_packs <= 0",
        )?
        .query_row([lot], |row| row.get(0))
        .optional()?
        .flatten())
}

fn leg(
    conn: &Connection,
    (store, from_s): (Option<StoreId>, i64),
    to_s: Option<i64>,
    said_dc: Option<i64>,
    now_s: i64,
) -> Result<Leg, StoreError> {
    let place = match store {
        Some(store) => Place::Store(store),
        None => Place::Outside(match said_dc {
            Some(dc) => Some(dc),
            None => match air::warmest(conn, from_s, to_s.unwrap_or(now_s))? {
                Some(dc) => Some(dc),
                None => cold::rules(conn)?.0.bench_dc,
            },
        }),
    };
    Ok(Leg { from_s, to_s, place })
}

/// When packs of a lot were out and brought back, and how warm they were at most. A lot is as its worst pack.
fn brought_back(conn: &Connection, lot: LotId) -> Result<Vec<(i64, i64, Option<i64>)>, StoreError> {
    // index: stock_move_lot
    let back = conn
        .prepare_cached(
            "SELECT m.out_min, unixepoch(coalesce(e.seen_at, e.at)), max(coalesce(m.temp_dc, r.temp_dc), coalesce(r.temp_dc, m.temp_dc))
             FROM stock_move m JOIN entry e ON e.id = m.entry_id LEFT JOIN round r ON r.id = m.round_id
             WHERE m.lot_id = ? AND m.kind = 'brought_back' AND m.void_by IS NULL",
        )?
        .query_map([lot], |row| {
            let (out_min, back_s): (Option<i64>, i64) = (row.get(0)?, row.get(1)?);
            Ok((back_s - out_min.unwrap_or(0) * 60, back_s, row.get(2)?))
        })?
        .collect::<Result<_, _>>()?;
    Ok(back)
}

/// Puts time outside into legs, in place of what lay there at home.
fn warmed(legs: &mut Vec<Leg>, from_s: i64, to_s: i64, dc: Option<i64>) {
    if to_s <= from_s {
        return;
    }
    let mut whole = Vec::new();
    for leg in legs.iter() {
        if leg.from_s < from_s {
            whole.push(Leg { to_s: Some(leg.to_s.map_or(from_s, |to| to.min(from_s))), ..*leg });
        }
        if leg.to_s.is_none_or(|to| to > to_s) {
            whole.push(Leg { from_s: leg.from_s.max(to_s), ..*leg });
        }
    }
    whole.push(Leg { from_s, to_s: Some(to_s), place: Place::Outside(dc) });
    whole.sort_by_key(|leg| leg.from_s);
    *legs = whole;
}

/// What an entry put where.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let rows: Vec<(LotId, Option<String>)> = conn
        .prepare_cached(
            "SELECT y.lot_id, s.name FROM stay y LEFT JOIN store s ON s.id = y.store_id WHERE y.entry_id = ? ORDER BY y.id",
        )?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut codes = Vec::new();
    for (lot, _) in &rows {
        codes.push(lot::code(conn, *lot)?);
    }
    let place = rows.into_iter().next().and_then(|(_, store)| store);
    let place = place.map_or_else(|| "taken out of the cold".into(), |store| format!("put into {store}"));
    Ok(format!("{} {place}", codes.join(", ")))
}

/// Where a lot, or what went into it, lay in stores: from when to when, and the entry that says so.
#[derive(Debug, Clone, Copy)]
pub(super) struct Presence {
    pub store: StoreId,
    pub from_s: i64,
    pub to_s: i64,
    pub said: EntryId,
}

/// Where a lot lay, through everything it was drawn from. Index: `stay_lot`.
pub(super) fn presence(conn: &Connection, lot: LotId) -> Result<Vec<Presence>, StoreError> {
    let from_s = begun(conn, lot)?;
    let gone = gone(conn, lot)?.unwrap_or(i64::MAX);
    let stays: Vec<(Option<StoreId>, i64, EntryId)> = conn
        .prepare_cached(
            "SELECT store_id, at_s, entry_id FROM stay WHERE lot_id = ? AND void_by IS NULL ORDER BY at_s, id",
        )?
        .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let ends = stays.iter().skip(1).map(|(_, at_s, _)| *at_s).chain([i64::MAX]);
    let mut lay: Vec<Presence> = stays
        .iter()
        .zip(ends)
        .filter_map(|((store, at_s, said), end)| {
            let (from_s, to_s) = (*at_s, end.min(gone));
            store.filter(|_| to_s > from_s).map(|store| Presence { store, from_s, to_s, said: *said })
        })
        .collect();
    // index: lot_input_lot
    let from: Vec<LotId> = conn
        .prepare_cached(
            "SELECT from_lot_id FROM lot_input WHERE lot_id = ? AND from_lot_id NOT NULL AND void_by IS NULL",
        )?
        .query_map([lot], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for drawn in from {
        let before = presence(conn, drawn)?.into_iter().filter(|lay| lay.from_s < from_s);
        lay.extend(before.map(|lay| Presence { to_s: lay.to_s.min(from_s), ..lay }));
    }
    Ok(lay)
}

/// Whether cold harms a crop that is in a lot. Index: `lot_input_lot`.
pub(super) fn harmed(conn: &Connection, lot: LotId) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE up (id) AS (SELECT ?1 UNION SELECT i.from_lot_id FROM up JOIN lot_input i ON i.lot_id = up.id
               WHERE i.from_lot_id NOT NULL AND i.void_by IS NULL)
             SELECT EXISTS (SELECT 1 FROM up JOIN lot l ON l.id = up.id JOIN crop c ON c.id = l.crop_id WHERE c.chilling)",
        )?
        .query_row([lot], |row| row.get(0))?)
}

/// When lots that cold harms lay in a store, of those that lay there after a moment: from when to when.
pub(super) fn sensitive(conn: &Connection, store: StoreId, from_s: i64) -> Result<Vec<(i64, i64)>, StoreError> {
    let mut spans = Vec::new();
    for lot in in_store(conn, store, from_s, i64::MAX)? {
        if harmed(conn, lot)? {
            let lay = presence(conn, lot)?.into_iter().filter(|lay| lay.store == store);
            spans.extend(lay.map(|lay| (lay.from_s, lay.to_s)));
        }
    }
    spans.sort_unstable();
    spans.dedup();
    Ok(spans)
}

/// Lots that may have lain in a store some time between two moments. Index: `stay_store`.
pub(super) fn in_store(conn: &Connection, store: StoreId, from_s: i64, to_s: i64) -> Result<Vec<LotId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT DISTINCT y.lot_id FROM stay y WHERE y.store_id = ?1 AND y.void_by IS NULL AND y.at_s <= ?3
             AND coalesce((SELECT min(n.at_s) FROM stay n WHERE n.lot_id = y.lot_id AND n.void_by IS NULL
               AND (n.at_s, n.id) > (y.at_s, y.id)), ?4) > ?2 ORDER BY y.lot_id",
        )?
        .query_map(params![store, from_s, to_s, i64::MAX], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}
