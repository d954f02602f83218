//! Lots as their screens show them.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, Row};

use super::{above, shown};
use crate::domain::id::{CropId, LotId};
use crate::domain::lot::{Kind, Lot, LotPart};
use crate::domain::stock::Account;
use crate::domain::time::Day;
use crate::store::error::StoreError;

const COLUMNS: &str =
    "l.id, l.code, l.kind, l.crop_id, l.product_id, coalesce(c.name, p.name), l.day, l.cut_at, l.pack_g, l.best_before,
    coalesce(n.grams, 0), coalesce(n.packs, 0), coalesce(n.out_packs, 0), coalesce(n.held, 0)";
const JOINS: &str = "LEFT JOIN crop c ON c.id = l.crop_id LEFT JOIN product p ON p.id = l.product_id";

fn lot(row: &Row<'_>) -> rusqlite::Result<Lot> {
    Ok(Lot {
        id: row.get(0)?,
        code: row.get(1)?,
        kind: row.get(2)?,
        crop: row.get(3)?,
        product: row.get(4)?,
        name: row.get(5)?,
        day: row.get(6)?,
        cut_at: row.get(7)?,
        pack_g: row.get(8)?,
        best_before: row.get(9)?,
        grams: row.get(10)?,
        packs: row.get(11)?,
        out_packs: row.get(12)?,
        held: row.get(13)?,
        parts: Vec::new(),
        cut_days: Vec::new(),
    })
}

fn whole(conn: &Connection, lot: &mut Lot) -> Result<(), StoreError> {
    lot.code = shown(&lot.code)?;
    lot.parts = composition(conn, lot.id)?;
    lot.cut_days = cut_days(conn, lot.id)?;
    Ok(())
}

/// Lots of which something is here or on the way, least life left first.
pub(in crate::store) fn lots_there(conn: &Connection) -> Result<Vec<Lot>, StoreError> {
    let mut lots = bare(conn)?;
    lots.iter_mut().try_for_each(|lot| whole(conn, lot))?;
    Ok(lots)
}

/// The same without what is in them: the room's screen only says when they run out.
pub(in crate::store) fn bare(conn: &Connection) -> Result<Vec<Lot>, StoreError> {
    let text = format!("SELECT {COLUMNS} FROM lot_now n CROSS JOIN lot l ON l.id = n.lot_id {JOINS}");
    let mut lots: Vec<Lot> = conn.prepare_cached(&text)?.query_map([], lot)?.collect::<Result<_, _>>()?;
    lots.sort_by_key(Lot::order);
    Ok(lots)
}

/// Lots made on a day, in the order they were made. Index: `lot_kind_day`.
pub(in crate::store) fn lots(conn: &Connection, kind: Kind, day: Day) -> Result<Vec<Lot>, StoreError> {
    let text = format!(
        "SELECT {COLUMNS} FROM lot l LEFT JOIN lot_now n ON n.lot_id = l.id {JOINS}
         WHERE l.kind = ? AND l.day = ? AND l.void_by IS NULL ORDER BY l.id"
    );
    let mut lots: Vec<Lot> = conn
        .prepare_cached(&text)?
        .query_map((kind, crate::store::ids::day_sql(day)), lot)?
        .collect::<Result<_, _>>()?;
    lots.iter_mut().try_for_each(|lot| whole(conn, lot))?;
    Ok(lots)
}

/// The lot of a code as it is stored, or the one that took its code over; and whether the code is an old one.
pub(in crate::store) fn one(conn: &Connection, body: &str) -> Result<Option<(Lot, bool)>, StoreError> {
    let text = format!(
        "SELECT {COLUMNS} FROM lot l LEFT JOIN lot_now n ON n.lot_id = l.id {JOINS}
         WHERE l.id = (WITH RECURSIVE next (id) AS (SELECT id FROM lot WHERE code = ?
           UNION SELECT x.id FROM next JOIN lot x ON x.instead_of = next.id) SELECT max(id) FROM next)"
    );
    let found = conn.prepare_cached(&text)?.query_row([body], lot).optional()?;
    let Some(mut lot) = found else { return Ok(None) };
    let old = lot.code != body;
    whole(conn, &mut lot)?;
    Ok(Some((lot, old)))
}

/// A lot that counts.
pub(in crate::store) fn get(conn: &Connection, id: LotId) -> Result<Lot, StoreError> {
    counting(conn, id)?.ok_or_else(super::unknown)
}

/// The same; nothing of one that was taken back or stands under another code now.
pub(in crate::store) fn counting(conn: &Connection, id: LotId) -> Result<Option<Lot>, StoreError> {
    let text = format!(
        "SELECT {COLUMNS} FROM lot l LEFT JOIN lot_now n ON n.lot_id = l.id {JOINS} WHERE l.id = ? AND l.void_by IS NULL"
    );
    let Some(mut lot) = conn.prepare_cached(&text)?.query_row([id], lot).optional()? else { return Ok(None) };
    whole(conn, &mut lot)?;
    Ok(Some(lot))
}

/// The crops of a lot by weight, largest first, through every lot it was drawn from.
pub(in crate::store) fn composition(conn: &Connection, lot: LotId) -> Result<Vec<LotPart>, StoreError> {
    let mut grams: BTreeMap<CropId, f64> = BTreeMap::new();
    share(conn, lot, 1.0, &mut grams)?;
    let all: f64 = grams.values().sum();
    let mut parts = Vec::new();
    for (crop, part) in grams {
        let (name, allergen): (String, String) = conn
            .prepare_cached("SELECT name, allergen FROM crop WHERE id = ?")?
            .query_row([crop], |row| Ok((row.get(0)?, row.get(1)?)))?;
        #[expect(clippy::cast_possible_truncation, reason = "a share of a thousand")]
        let share_pm = if all > 0.0 { (part / all * 1000.0).round() as i64 } else { 0 };
        parts.push(LotPart { crop, name, share_pm, allergen });
    }
    parts.sort_by(|a, b| (b.share_pm, &a.name).cmp(&(a.share_pm, &b.name)));
    Ok(parts)
}

/// Adds what a share of a lot holds of each crop.
fn share(conn: &Connection, lot: LotId, of: f64, grams: &mut BTreeMap<CropId, f64>) -> Result<(), StoreError> {
    let crop: Option<CropId> =
        conn.prepare_cached("SELECT crop_id FROM lot WHERE id = ?")?.query_row([lot], |row| row.get(0))?;
    if let Some(crop) = crop {
        *grams.entry(crop).or_default() += of;
        return Ok(());
    }
    let inputs: Vec<(Option<LotId>, Option<CropId>, i64)> = conn
        .prepare_cached(
            "SELECT i.from_lot_id, s.crop_id, coalesce(i.grams, 0) FROM lot_input i LEFT JOIN tray t ON t.id = i.tray_id
             LEFT JOIN sowing_now s ON s.id = t.sowing_id WHERE i.lot_id = ? AND i.void_by IS NULL",
        )?
        .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let drawn: i64 = inputs.iter().map(|(.., grams)| *grams).sum();
    for (from, crop, part) in inputs {
        #[expect(clippy::cast_precision_loss, reason = "grams of one packing run")]
        let part = if drawn > 0 { of * part as f64 / drawn as f64 } else { of };
        match (from, crop) {
            (Some(from), _) => share(conn, from, part, grams)?,
            (None, Some(crop)) => *grams.entry(crop).or_default() += part,
            (None, None) => {}
        }
    }
    Ok(())
}

/// Days on which the greens of a lot were cut; of a live tray none.
fn cut_days(conn: &Connection, lot: LotId) -> Result<Vec<Day>, StoreError> {
    let mut days = Vec::new();
    for above in above(conn, lot)? {
        let day: Option<Day> = conn
            .prepare_cached("SELECT day FROM lot WHERE id = ? AND kind = 'harvest'")?
            .query_row([above], |row| row.get(0))
            .optional()?;
        days.extend(day);
    }
    days.sort_unstable();
    days.dedup();
    Ok(days)
}

/// Where everything of a lot is: grams of a harvest lot, packs of a pack lot.
pub(in crate::store) fn account(conn: &Connection, lot: LotId) -> Result<Account, StoreError> {
    let kind: Kind = conn
        .prepare_cached("SELECT kind FROM lot WHERE id = ? AND void_by IS NULL")?
        .query_row([lot], |row| row.get(0))
        .optional()?
        .ok_or_else(super::unknown)?;
    let amount = match kind {
        Kind::Harvest => "grams",
        Kind::Pack => "packs",
    };
    let sums: BTreeMap<String, i64> = conn
        .prepare_cached(&format!(
            "SELECT kind, sum({amount}) FROM stock_move WHERE lot_id = ? AND void_by IS NULL AND {amount} NOT NULL GROUP BY kind"
        ))?
        .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let sum = |kind: &str| sums.get(kind).copied().unwrap_or(0);
    let drawn: i64 = conn
        .prepare_cached(&format!(
            "SELECT coalesce(sum({amount}), 0) FROM lot_input WHERE from_lot_id = ? AND void_by IS NULL"
        ))?
        .query_row([lot], |row| row.get(0))?;
    let (here, out, held): (i64, i64, bool) = conn
        .prepare_cached(&format!(
            "SELECT s.{amount}, s.out_packs, coalesce(n.held, 0) FROM lot_stock s LEFT JOIN lot_now n ON n.lot_id = s.lot_id
             WHERE s.lot_id = ?"
        ))?
        .query_row([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let counted = sum("count");
    Ok(Account {
        made: sum("made"),
        on_hand: if held { 0 } else { here },
        on_hold: if held { here } else { 0 },
        on_the_way: out,
        drawn,
        with_customers: sum("delivered") - sum("returned"),
        sold_public: sum("sold_public"),
        sampled: sum("sample"),
        wasted: sum("waste"),
        given: sum("given"),
        returned: sum("returned"),
        counted,
    })
}
