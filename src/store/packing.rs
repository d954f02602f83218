//! Packing runs: grams drawn from lots become a pack lot.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::ask::ask;
use super::breach::against;
use super::error::StoreError;
use super::facts::{LOT, LOT_INPUT, LOT_USE, SCORE, STAY, STOCK_MOVE};
use super::hold::MATERIAL;
use super::ids::day_sql;
use super::lot::{Doing, may_go};
use super::writer::Writer;
use super::{cold, lot, recipe, room, stay, tool};
use crate::domain::id::{CropId, EntryId, LotId, ProductId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::packing::NewRun;
use crate::domain::product::{BLEND, Kind as ProductKind};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::percent;
use crate::domain::time::Day;

/// A product as a run needs it.
pub(super) struct Packed {
    pub name: String,
    pub kind: ProductKind,
    pub letters: String,
    pub crops: Vec<CropId>,
}

/// A product in use.
pub(super) fn product(conn: &Connection, id: ProductId) -> Result<Packed, StoreError> {
    let found: Option<(String, ProductKind)> = conn
        .prepare_cached("SELECT name, kind FROM product WHERE id = ? AND NOT retired")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((name, kind)) = found else {
        return Err(Refusal::new("product_unknown", "Choose a product that is in use.").at("product").into());
    };
    let parts: Vec<(CropId, String)> = conn
        .prepare_cached(
            "SELECT p.crop_id, c.letters FROM product_part p JOIN crop c ON c.id = p.crop_id WHERE p.product_version_id =
               (SELECT max(id) FROM product_version WHERE product_id = ? AND void_by IS NULL) ORDER BY p.n",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let letters = match (kind, parts.first()) {
        (ProductKind::Crop | ProductKind::Live, Some((_, letters))) => letters.clone(),
        _ => BLEND.to_owned(),
    };
    Ok(Packed { name, kind, letters, crops: parts.into_iter().map(|(crop, _)| crop).collect() })
}

pub(super) fn pack(w: &mut Writer<'_>, new: &NewRun) -> Result<Wrote, StoreError> {
    let product = product(w.conn, new.product)?;
    if product.kind == ProductKind::Live {
        let why = "A live tray is not packed: it leaves the room as it is, by its own key.";
        return Err(Refusal::new("pack_live", why).at("product").into());
    }
    amounts(new)?;
    let mut limits: Vec<Day> = Vec::new();
    for draw in &new.draws {
        may_go(w, draw.lot, Doing::Pack)?;
        limits.extend(there(w, draw.lot, draw.grams, draw.packs)?);
    }
    fits(w, new, &product)?;
    if new.odd() {
        let (off, drawn) = (percent(new.off_pm()), room::units(w.conn)?.weight(new.drawn() * 1000));
        let why = if new.difference() < 0 {
            format!("{off} more came out than the {drawn} that were drawn. Are all weights right?")
        } else {
            format!("{off} of {drawn} drawn: that much is missing. Are all weights right?")
        };
        ask(w, &new.sure, Refusal::new("pack_balance", why).at("packs"))?;
    }
    let lots: Vec<LotId> = new.draws.iter().map(|draw| draw.lot).collect();
    let keeps = cold::keeps(w.conn, &lots, w.moment())?;
    if let Some(doubt) = keeps.doubt {
        let why = format!("{doubt}. Were the greens looked at, and are they to be packed all the same?");
        ask(w, &new.sure, Refusal::new("pack_keeps", why).at("from"))?;
    }
    limits.extend(keeps.early);
    let best_before = best_before(limits.into_iter().min(), new.best_before, w.day())?;
    let (id, code) = lot::write(
        w,
        &lot::New {
            kind: Kind::Pack,
            letters: &product.letters,
            crop: None,
            product: Some(new.product),
            day: w.day(),
            cut_at: None,
            pack_g: Some(new.pack_g),
            best_before,
            instead_of: None,
        },
    )?;
    tool::use_on(w, id, &new.tools)?;
    packaging(w, id, new)?;
    for draw in &new.draws {
        w.fact(
            LOT_INPUT,
            &[("lot_id", &id), ("from_lot_id", &draw.lot), ("grams", &draw.grams), ("packs", &draw.packs)],
        )?;
        w.touched_lots.insert(draw.lot);
    }
    if let Some(store) = new.store {
        cold::known(w.conn, store)?;
        stay::write(w, id, Some(store), w.at(), None)?;
    }
    let day = day_sql(w.day());
    w.fact(STOCK_MOVE, &[("lot_id", &id), ("kind", &"made"), ("packs", &new.packs), ("day", &day)])?;
    for (kind, grams) in [("trim", new.trim_g), ("waste", new.waste_g)].iter().filter(|(_, grams)| *grams > 0) {
        w.fact(STOCK_MOVE, &[("lot_id", &id), ("kind", kind), ("grams", grams), ("day", &day)])?;
    }
    let until = best_before.map_or_else(String::new, |day| format!(", best before {day}"));
    let off = percent(new.off_pm());
    let off =
        if new.difference() < 0 { format!("{off} more than was drawn") } else { format!("{off} not accounted for") };
    let sentence = format!("Lot {code}: {} × {} packed{until}; {off}.", new.packs, product.name);
    Ok(Wrote::said(sentence).made(id.0))
}

/// The boxes or bags around it, found or made by the lot on their carton; of a held lot the packs are held.
fn packaging(w: &mut Writer<'_>, id: LotId, new: &NewRun) -> Result<(), StoreError> {
    let Some((name, code)) = &new.packaging else { return Ok(()) };
    let (name, code) = (name.trim(), code.trim());
    let fits = |text: &str, most: usize| (1..=most).contains(&text.chars().count());
    if !fits(name, 60) || !fits(code, 40) {
        let why = "Say what the packs are of, and the lot on its carton; or leave both empty.";
        return Err(Refusal::new("packaging", why).at("carton").into());
    }
    let (lot, held) = recipe::found_lot(w, name, code, w.day())?;
    if let Some(refusal) = held {
        let breach = against(w, refusal.at("carton"), Some((MATERIAL, lot.0)))?;
        lot::hold_lot(w, breach, id)?;
    }
    tool::packed_in(w, id, lot)
}

fn amounts(new: &NewRun) -> Result<(), StoreError> {
    let refuse = |rule, field, why: &str| Err(Refusal::new(rule, why).at(field).into());
    if new.draws.is_empty() || new.draws.iter().any(|draw| draw.grams <= 0) {
        return refuse("pack_drawn", "lots", "Say what was drawn: grams of one lot at least.");
    }
    let mut seen = std::collections::HashSet::new();
    if !new.draws.iter().all(|draw| seen.insert(draw.lot)) {
        return refuse("pack_twice", "lots", "A lot is named twice: say once what was drawn of it.");
    }
    if new.packs < 1 || new.packs > 100_000 {
        return refuse("pack_packs", "packs", "Say how many packs it gave: one at least.");
    }
    if !(1..=20_000).contains(&new.pack_g) {
        return refuse("pack_size", "pack_g", "A pack holds 1 g to 20 kg: say its size.");
    }
    if new.trim_g < 0 || new.waste_g < 0 {
        return refuse("pack_trim", "trim", "Trim and waste are 0 or more.");
    }
    Ok(())
}

/// The last day of a lot, if that much of it is there.
fn there(w: &Writer<'_>, id: LotId, grams: i64, packs: Option<i64>) -> Result<Option<Day>, StoreError> {
    let (kind, pack_g, best_before, here_g, here): (Kind, Option<i64>, Option<Day>, i64, i64) = w
        .conn
        .prepare_cached(
            "SELECT l.kind, l.pack_g, l.best_before, s.grams, s.packs FROM lot l JOIN lot_stock s ON s.lot_id = l.id
             WHERE l.id = ?",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let code = lot::code(w.conn, id)?;
    let units = room::units(w.conn)?;
    let enough = match (kind, pack_g, packs) {
        (Kind::Harvest, _, None) => grams <= here_g,
        (Kind::Pack, Some(pack_g), Some(packs)) if packs > 0 && grams == packs * pack_g => packs <= here,
        _ => {
            let why = format!("Of {code} whole packs are opened: say how many.");
            return Err(Refusal::new("pack_whole", why).at("lots").into());
        }
    };
    if enough {
        return Ok(best_before);
    }
    let here = match kind {
        Kind::Harvest => units.weight(here_g * 1000),
        Kind::Pack => format!("{here} packs"),
    };
    let why = format!("{code} holds {here}: draw less, or count it first.");
    Err(Refusal::new("pack_over", why).at("lots").into())
}

/// What was drawn belongs into the product, and a blend has all its crops.
fn fits(w: &Writer<'_>, new: &NewRun, product: &Packed) -> Result<(), StoreError> {
    let mut drawn: Vec<CropId> = Vec::new();
    for draw in &new.draws {
        for part in lot::composition(w.conn, draw.lot)? {
            if !product.crops.contains(&part.crop) {
                let why = format!("{} does not belong into {}: draw from other lots.", part.name, product.name);
                return Err(Refusal::new("pack_crop", why).at("lots").into());
            }
            drawn.push(part.crop);
        }
    }
    for crop in product.crops.iter().filter(|crop| !drawn.contains(crop)) {
        let name: String = w.conn.query_row("SELECT name FROM crop WHERE id = ?", [crop], |row| row.get(0))?;
        let why =
            format!("{} wants {name} too, and none was drawn: is the blend to be packed without it?", product.name);
        ask(w, &new.sure, Refusal::new("pack_parts", why).at("lots"))?;
    }
    Ok(())
}

/// The last day on the label: never later than what went in lasts.
fn best_before(limit: Option<Day>, wanted: Option<Day>, today: Day) -> Result<Option<Day>, StoreError> {
    let Some(wanted) = wanted else { return Ok(limit) };
    if limit.is_some_and(|limit| wanted > limit) {
        let why = "What went in does not last that long: choose that day or an earlier one.";
        return Err(Refusal::new("pack_limit", why).at("best_before").into());
    }
    if wanted < today {
        let why = "Best before lies in the past: such packs are not for sale.";
        return Err(Refusal::new("pack_limit", why).at("best_before").into());
    }
    Ok(Some(wanted))
}

/// Gives a pack lot of which everything is still here another code: another product, or today's. The old code finds it.
pub(super) fn reissue(w: &mut Writer<'_>, id: LotId, to: ProductId, reason: &str) -> Result<Wrote, StoreError> {
    let reason = reason.trim();
    if reason.is_empty() {
        let why = "Say why: the old labels are out of date by it.";
        return Err(Refusal::new("reissue_reason", why).at("reason").into());
    }
    let lot = lot::get(w.conn, id)?;
    untouched(w.conn, &lot)?;
    let product = product(w.conn, to)?;
    let parts = lot::composition(w.conn, id)?;
    if let Some(part) = parts.iter().find(|part| !product.crops.contains(&part.crop)) {
        let why = format!("{} does not belong into {}: choose another product.", part.name, product.name);
        return Err(Refusal::new("pack_crop", why).at("product").into());
    }
    let letters = product.letters;
    let (new, code) = lot::write(
        w,
        &lot::New {
            kind: Kind::Pack,
            letters: &letters,
            crop: None,
            product: Some(to),
            day: lot.day,
            cut_at: None,
            pack_g: lot.pack_g,
            best_before: lot.best_before,
            instead_of: Some(id),
        },
    )?;
    for table in [LOT_INPUT, STOCK_MOVE, STAY, SCORE, LOT_USE] {
        let text = format!("SELECT id FROM {} WHERE lot_id = ? AND void_by IS NULL ORDER BY id", table.name);
        let rows: Vec<i64> =
            w.conn.prepare_cached(&text)?.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?;
        for row in rows {
            // void first: what was drawn once is not drawn twice for a moment
            w.void_row(table, &[row])?;
            w.copy(table, &[row], &[("lot_id", &new)])?;
        }
    }
    w.void_row(LOT, &[id.0])?;
    w.note(Some(reason))?;
    w.touched_lots.insert(id);
    Ok(Wrote::said(format!("{} is {code} from now on: print new labels, the old code still finds it.", lot.code))
        .made(new.0))
}

/// Everything of it is still here as it was packed.
fn untouched(conn: &Connection, lot: &Lot) -> Result<(), StoreError> {
    let gone: bool = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM stock_move WHERE lot_id = ?1 AND void_by IS NULL AND packs NOT NULL AND kind <> 'made')
                 OR EXISTS (SELECT 1 FROM lot_input WHERE from_lot_id = ?1 AND void_by IS NULL)",
        )?
        .query_row([lot.id], |row| row.get(0))?;
    if lot.kind != Kind::Pack {
        let why = "A harvest lot keeps its code: only pack lots get another label.";
        return Err(Refusal::new("reissue_kind", why).into());
    }
    if gone {
        let why = format!("Packs of {} went out or were used under this code: they keep it.", lot.code);
        return Err(Refusal::new("reissue_gone", why).into());
    }
    Ok(())
}

/// What an entry packed, or gave another code.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (id, body, product, pack_g, day, old): (LotId, String, String, Option<i64>, Option<String>, Option<LotId>) = conn
        .prepare_cached(
            "SELECT l.id, l.code, p.name, l.pack_g, l.best_before, l.instead_of FROM lot l JOIN product p ON p.id = l.product_id
             WHERE l.entry_id = ?",
        )?
        .query_row([entry], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?))
        })?;
    let code = lot::shown(&body)?;
    if let Some(old) = old {
        return Ok(format!("lot {} is {code} from then on, {product}", lot::code(conn, old)?));
    }
    let units = room::units(conn)?;
    let inputs: Vec<(LotId, i64)> = conn
        .prepare_cached("SELECT from_lot_id, grams FROM lot_input WHERE lot_id = ? AND entry_id = ? ORDER BY id")?
        .query_map((id, entry), |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut from = Vec::new();
    for (lot, grams) in &inputs {
        from.push(format!("{} of {}", units.weight(grams * 1000), lot::code(conn, *lot)?));
    }
    let sum = |kind: &str, amount: &str| -> Result<i64, StoreError> {
        let text =
            format!("SELECT coalesce(sum({amount}), 0) FROM stock_move WHERE lot_id = ? AND entry_id = ? AND kind = ?");
        Ok(conn.prepare_cached(&text)?.query_row((id, entry, kind), |row| row.get(0))?)
    };
    let (packs, trim, waste) = (sum("made", "packs")?, sum("trim", "grams")?, sum("waste", "grams")?);
    let size = pack_g.map_or_else(String::new, |pack_g| format!(" of {}", units.weight(pack_g * 1000)));
    let (trim, waste) = (units.weight(trim * 1000), units.weight(waste * 1000));
    let until = day.map_or_else(String::new, |day| format!(", best before {day}"));
    Ok(format!(
        "lot {code}: {packs} × {product}{size} packed from {}{}; trim {trim}, waste {waste}{until}",
        from.join(" and "),
        tool::line(conn, entry)?
    ))
}
