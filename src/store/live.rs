//! Live trays: they leave as a lot of their own, and come back empty.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{EMPTIES, LOT_INPUT};
use super::ids::day_sql;
use super::look::{found, in_room, once};
use super::stock::{Row, write};
use super::writer::Writer;
use super::{customer, lot, packing, tray};
use crate::domain::code::Code;
use crate::domain::id::{CropId, CustomerId, EntryId, LotId, TrayId};
use crate::domain::lot::Kind;
use crate::domain::packing::NewLive;
use crate::domain::product::Kind as ProductKind;
use crate::domain::refusal::Refusal;
use crate::domain::stock::Kind as Move;
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::tray::{Stage, named};

/// Trays leave the room alive. The same stands against it as against the knife.
pub(super) fn leave(w: &mut Writer<'_>, new: &NewLive) -> Result<Wrote, StoreError> {
    let product = packing::product(w.conn, new.product)?;
    if product.kind != ProductKind::Live {
        let why = format!("{} is packed, not sold alive: choose a product that is a live tray.", product.name);
        return Err(Refusal::new("live_product", why).at("product").into());
    }
    if new.trays.is_empty() {
        return Err(Refusal::new("cut_nothing", "There is no tray to cut: choose one first.").at("trays").into());
    }
    once(&new.trays)?;
    let mut last: Option<Day> = None;
    for id in &new.trays {
        in_room(w, *id)?;
        found(w, *id)?;
        let (crop, until): (CropId, Day) = w
            .conn
            .prepare_cached(
                "SELECT s.crop_id, date(s.day, '+' || g.cut_to_d || ' days') FROM tray t JOIN sowing_now s ON s.id = t.sowing_id
                 JOIN grow_plan g ON g.id = s.grow_plan_id WHERE t.id = ?",
            )?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        if !product.crops.contains(&crop) {
            let why = format!("{} is no {}: choose trays of its crop.", Code::tray(id.0), product.name);
            return Err(Refusal::new("live_crop", why).at("trays").into());
        }
        tray::may_be_cut(w, *id)?;
        last = Some(last.map_or(until, |last| last.min(until)));
    }
    let best_before = new.best_before.or(last);
    if best_before.is_some_and(|day| day < w.day()) {
        let why = match new.best_before {
            Some(_) => "Best before lies in the past: choose today or a day to come.",
            None => "The cutting window of these trays is over: say until which day they are sold.",
        };
        return Err(Refusal::new("live_limit", why).at("until").into());
    }
    let (id, code) = lot::write(
        w,
        &lot::New {
            kind: Kind::Pack,
            letters: &product.letters,
            crop: None,
            product: Some(new.product),
            day: w.day(),
            cut_at: None,
            pack_g: None,
            best_before,
            instead_of: None,
        },
    )?;
    for tray in &new.trays {
        let mats = tray::mats_left(w, *tray)?;
        w.fact(LOT_INPUT, &[("lot_id", &id), ("tray_id", tray), ("mats", &mats), ("again", &false)])?;
        tray::leave(w, *tray, Stage::LeftAlive)?;
    }
    let trays = i64::try_from(new.trays.len()).unwrap_or(0);
    write(w, (id, Move::Made), Kind::Pack, trays, &Row::default())?;
    let sentence = format!("Lot {code}: {} leave the room alive, as {}.", named(&new.trays), product.name);
    Ok(Wrote { sentence, made: Some(id.0), trays: new.trays.clone() })
}

/// Empty trays come back, and are washed before they are used again.
pub(super) fn empties(w: &mut Writer<'_>, id: CustomerId, trays: i64, with: &str) -> Result<Wrote, StoreError> {
    let (name, _) = customer::known(w.conn, id)?;
    let with = with.trim();
    if with.is_empty() {
        let why = "Say with what they were washed: none goes back on a rack before.";
        return Err(Refusal::new("empties_washed", why).at("with").into());
    }
    let out = customer::trays_out(w.conn, id)?;
    if trays < 1 || trays > out {
        let why = format!("{name} has {out} of our trays: say 1 to that many.");
        return Err(Refusal::new("empties_over", why).at("amount").into());
    }
    let day = day_sql(w.day());
    w.fact(EMPTIES, &[("customer_id", &id), ("day", &day), ("trays", &trays), ("washed_with", &with)])?;
    let n = counted(usize::try_from(trays).unwrap_or(0), "tray");
    Ok(Wrote::said(format!("{n} back from {name}, washed before re-entry with {with}.")))
}

/// What an entry says of trays that came back empty.
pub(super) fn emptied(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (name, trays, with): (String, i64, String) = conn
        .prepare_cached(
            "SELECT c.name, e.trays, e.washed_with FROM empties e JOIN customer c ON c.id = e.customer_id WHERE e.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let n = counted(usize::try_from(trays).unwrap_or(0), "tray");
    Ok(format!("{n} back from {name}, washed before re-entry with {with}"))
}

/// What an entry sent out alive.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let found: Option<(LotId, String, String)> = conn
        .prepare_cached(
            "SELECT l.id, l.code, p.name FROM lot l JOIN product p ON p.id = l.product_id WHERE l.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let (id, body, name) = found.ok_or_else(lot::unknown)?;
    let trays: Vec<TrayId> = conn
        .prepare_cached("SELECT tray_id FROM lot_input WHERE lot_id = ? AND entry_id = ? ORDER BY id")?
        .query_map((id, entry), |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(format!("lot {}: {} left the room alive, {name}", lot::shown(&body)?, named(&trays)))
}
