//! What the book knows of some days: trays sown and ended, weights, waste, orders, sales.

mod baseline;
mod currency;
mod history;
mod odd;
mod roll;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, params};

pub(super) use baseline::set as set_baseline;
pub(super) use currency::{edit as edit_currency, line as currency_line, read as currency};
pub(super) use odd::mark as mark_odd;
pub(super) use roll::{rebuild, refresh};

use super::error::StoreError;
use super::ids::{day, day_sql};
use super::{Store, lot, order, review, sowing};
use crate::domain::id::{CropId, EntryId, LotId, OrderId, SowingId, TrayId};
use crate::domain::period::Period;
use crate::domain::time::{Day, Now};
use crate::domain::tray::{LossReason, Stage};
use crate::domain::week::{
    Batch, CropFigures, Due, DueLine, End, Ended, Facts, OnScale, Outcome, PartLost, Review, Sold, Sown, Told, Wasted,
    Weighing,
};

/// Mats that were cut on some days, and how their trays left the room. Indexes: `lot_kind_day`, `lot_input_lot`, `lot_input_of_tray`,
/// `stage_tray`.
const CUT: &str = "SELECT l.id, i.tray_id, t.sowing_id, g.stage, e.day, i.mats, i.grams, i.again, t.mats, l.code, l.day,
    (SELECT sum(x.mats) FROM lot_input x WHERE x.tray_id = i.tray_id AND x.void_by IS NULL AND x.lot_id < l.id AND x.again)
  FROM lot l CROSS JOIN lot_input i ON i.lot_id = l.id AND i.void_by IS NULL CROSS JOIN tray t ON t.id = i.tray_id
  LEFT JOIN stage g ON g.tray_id = t.id AND g.void_by IS NULL AND g.stage IN ('cut', 'left_alive', 'thrown')
  LEFT JOIN entry e ON e.id = g.entry_id
  WHERE l.kind = 'harvest' AND l.day BETWEEN ?1 AND ?2 AND l.void_by IS NULL";

/// What a harvest lot weighed. Index: `stock_move_lot`.
const MADE: &str = "SELECT sum(grams) FROM stock_move WHERE lot_id = ? AND void_by IS NULL AND kind = 'made'";

/// Mats that were lost on some days. Indexes: `loss_day`, `stage_tray`.
const LOST: &str = "SELECT x.id, x.tray_id, t.sowing_id, g.stage, e.day, x.mats, x.reason, t.mats
  FROM loss x CROSS JOIN tray t ON t.id = x.tray_id
  LEFT JOIN stage g ON g.tray_id = t.id AND g.void_by IS NULL AND g.stage IN ('cut', 'left_alive', 'thrown')
  LEFT JOIN entry e ON e.id = g.entry_id
  WHERE x.day BETWEEN ?1 AND ?2 AND x.void_by IS NULL";

/// Trays that may have left the room on some days without being weighed or lost: sold alive, or taken off the rack. Indexes:
/// `lot_kind_day`, `lot_input_lot`, `entry_cut`, `stage_entry`.
const LEFT: &str = "SELECT l.id, t.id, t.sowing_id, g.stage, e.day
  FROM lot l CROSS JOIN lot_input i ON i.lot_id = l.id AND i.void_by IS NULL AND i.tray_id NOT NULL CROSS JOIN tray t ON t.id = i.tray_id
  CROSS JOIN stage g ON g.tray_id = t.id AND g.void_by IS NULL AND g.stage = 'left_alive' CROSS JOIN entry e ON e.id = g.entry_id
  WHERE l.kind = 'pack' AND l.day BETWEEN ?1 AND ?2 AND l.void_by IS NULL
  UNION ALL SELECT e.id, t.id, t.sowing_id, g.stage, e.day
  FROM entry e CROSS JOIN stage g ON g.entry_id = e.id AND g.void_by IS NULL AND g.stage = 'cut' CROSS JOIN tray t ON t.id = g.tray_id
  WHERE e.kind = 'cut' AND e.day BETWEEN ?1 AND ?2";

/// Indexes: `tray_sowing`, `seed_move_sowing`; the rest by row number.
const BATCH: &str = "SELECT s.code, s.crop_id, s.day, g.cut_from_d, g.cut_to_d, g.version,
    (SELECT count(*) FROM tray t WHERE t.sowing_id = s.id),
    (SELECT -sum(m.mg) FROM seed_move m WHERE m.sowing_id = s.id AND m.void_by IS NULL)
  FROM sowing_now s JOIN grow_plan g ON g.id = s.grow_plan_id WHERE s.id = ?";

/// Index: `stock_move_day`.
const WASTED: &str = "SELECT l.id, l.code, coalesce(p.name, c.name), coalesce(m.grams, 0), coalesce(m.packs, 0), coalesce(m.reason, '')
  FROM stock_move m JOIN lot l ON l.id = m.lot_id LEFT JOIN product p ON p.id = l.product_id LEFT JOIN crop c ON c.id = l.crop_id
  WHERE m.day BETWEEN ?1 AND ?2 AND m.void_by IS NULL AND (m.kind = 'waste' OR (m.kind = 'decided' AND m.what = 'binned')
    OR (m.kind = 'returned' AND m.what = 'binned')) AND coalesce(m.grams, m.packs) > 0 ORDER BY m.id";

/// Index: `stock_move_day`.
const SOLD: &str = "SELECT l.product_id, sum(m.packs) FROM stock_move m JOIN lot l ON l.id = m.lot_id
  WHERE m.day BETWEEN ?1 AND ?2 AND m.void_by IS NULL AND m.kind IN ('delivered', 'sold_public') AND l.product_id NOT NULL
  GROUP BY l.product_id ORDER BY 1";

/// Index: `sale_order_by_day`.
const DUE: &str = "SELECT o.id, c.name, o.day FROM sale_order o JOIN customer c ON c.id = o.customer_id
  WHERE NOT o.retired AND o.day BETWEEN ?1 AND ?2 ORDER BY o.day, o.id";

impl Store {
    /// The review of some days, and what it is compared with.
    pub fn told(&self, period: Period, now: Now) -> Result<Told, StoreError> {
        Ok(Told::of(self.week(period, now)?, self.past(period, now)?))
    }

    /// The review of some days.
    pub fn week(&self, period: Period, now: Now) -> Result<Review, StoreError> {
        Ok(Review::of(&facts(&self.conn, period, now)?))
    }
}

/// What an entry says of a baseline or a mark.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    Ok(match baseline::line(conn, entry)? {
        Some(text) => text,
        None => odd::line(conn, entry)?,
    })
}

/// All that a review is made of.
fn facts(conn: &Connection, period: Period, now: Now) -> Result<Facts, StoreError> {
    let mut facts = grown(conn, period)?;
    facts.begins = review::since(conn)?;
    facts.wasted = wasted(conn, period)?;
    facts.due = due(conn, period, now.day())?;
    facts.sold = sold(conn, period)?;
    facts.signed = review::signatures(conn, period, now)?;
    facts.currency = currency(conn)?.0;
    facts.crops = crops(conn, &facts)?;
    Ok(facts)
}

/// Trays, batches and weights of some days: what the book keeps by week.
pub(super) fn grown(conn: &Connection, period: Period) -> Result<Facts, StoreError> {
    let days = [day_sql(period.from), day_sql(period.to)];
    let sown = sowing::of_days(conn, period, false)?;
    let sown: Vec<Sown> = sown.into_iter().map(|(tray, sowing)| Sown { tray, sowing }).collect();
    let mut left = Left::new();
    let mut weighings = cut(conn, &days, &mut left)?;
    let mut select = conn.prepare_cached(LEFT)?;
    let mut rows = select.query(days.clone())?;
    while let Some(row) = rows.next()? {
        leaves(row, &mut left)?;
    }
    let lost = lost(conn, &days, &mut left)?;
    let reasons: BTreeMap<TrayId, LossReason> = lost.iter().map(|one| (one.tray, one.reason)).collect();
    let mut ended = Vec::new();
    for (tray, (sowing, stage, day)) in left.into_iter().filter(|(_, (.., day))| period.holds(*day)) {
        let end = match stage {
            Stage::Thrown => {
                // where it was thrown out on another day than its loss was written for
                let reason = reasons.get(&tray).copied().map_or_else(|| reason_of(conn, tray), Ok)?;
                if reason == LossReason::NotNeeded { End::NotNeeded } else { End::Lost(reason) }
            }
            Stage::LeftAlive => End::LeftAlive,
            _ => End::Cut,
        };
        ended.push(Ended { tray, sowing, day, end });
    }
    let thrown: BTreeSet<TrayId> =
        ended.iter().filter(|one| matches!(one.end, End::Lost(_) | End::NotNeeded)).map(|one| one.tray).collect();
    let parts = lost.into_iter().filter(|one| !thrown.contains(&one.tray) && one.reason != LossReason::NotNeeded);
    let parts: Vec<PartLost> = parts.collect();
    let sowings: BTreeSet<SowingId> = sown
        .iter()
        .map(|one| one.sowing)
        .chain(ended.iter().map(|one| one.sowing))
        .chain(parts.iter().map(|one| one.sowing))
        .chain(weighings.iter().flat_map(|one| &one.on).map(|on| on.sowing))
        .collect();
    let batches: Vec<Batch> = sowings.into_iter().map(|sowing| batch(conn, sowing)).collect::<Result<_, _>>()?;
    let of: BTreeMap<SowingId, CropId> = batches.iter().map(|batch| (batch.sowing, batch.crop)).collect();
    for one in &mut weighings {
        one.crop = one.on.first().and_then(|on| of.get(&on.sowing)).copied().unwrap_or(one.crop);
    }
    odd::mark_all(conn, &mut weighings)?;
    Ok(Facts { batches, sown, ended, parts, weighings, ..Facts::of(period) })
}

/// How and when trays left the room, with their batch: the newest that counts.
type Left = BTreeMap<TrayId, (SowingId, Stage, Day)>;

/// Columns 1 to 4 of a row: tray, batch, how it left and when, if it did.
fn leaves(row: &rusqlite::Row<'_>, left: &mut Left) -> Result<(), StoreError> {
    if let Some(stage) = row.get::<_, Option<Stage>>(3)? {
        left.insert(row.get(1)?, (row.get(2)?, stage, day(row, 4)?));
    }
    Ok(())
}

/// Weighings of lots cut on some days.
fn cut(conn: &Connection, days: &[String; 2], left: &mut Left) -> Result<Vec<Weighing>, StoreError> {
    let mut weighings: Vec<Weighing> = Vec::new();
    let mut select = conn.prepare_cached(CUT)?;
    let mut made = conn.prepare_cached(MADE)?;
    let mut rows = select.query(days.clone())?;
    let (mut lot, mut cut) = (LotId(0), (String::new(), Day::default()));
    // where the weighings of this lot begin, and which of them is of what has no weight of its own
    let (mut first, mut together) = (0, None);
    while let Some(row) = rows.next()? {
        leaves(row, left)?;
        let on = OnScale { tray: row.get(1)?, sowing: row.get(2)?, mats: count(row, 5)?, of: count(row, 8)? };
        let of: LotId = row.get(0)?;
        if of != lot {
            rest(&mut weighings, first, together);
            (lot, first, together) = (of, weighings.len(), None);
            cut = (lot::shown(&row.get::<_, String>(9)?)?, day(row, 10)?);
        }
        let known = weighings.iter().skip(first).any(|one| one.own == Some(on.tray));
        if known {
            // a tray stands in a lot once, whatever ways it left
        } else if let Some(own) = some(row, 6)? {
            weighings.push(weighing(row, (lot, &cut), on, own, Some(on.tray))?);
        } else if let Some(at) = together {
            if let Some(one) = weighings.get_mut(at).filter(|one| one.on.iter().all(|known| known.tray != on.tray)) {
                one.on.push(on);
                one.regrown |= regrown(row, on)?;
            }
        } else {
            together = Some(weighings.len());
            let all = made.query_row([lot], |row| some(row, 0))?.unwrap_or(0);
            weighings.push(weighing(row, (lot, &cut), on, all, None)?);
        }
    }
    rest(&mut weighings, first, together);
    Ok(weighings)
}

/// What was weighed together weighs what the lot does, less what has a weight of its own.
fn rest(weighings: &mut [Weighing], first: usize, together: Option<usize>) {
    let own: u64 = weighings.iter().skip(first).filter(|one| one.own.is_some()).map(|one| one.grams).sum();
    if let Some(one) = together.and_then(|at| weighings.get_mut(at)) {
        one.grams = one.grams.saturating_sub(own);
    }
}

fn weighing(
    row: &rusqlite::Row<'_>,
    (lot, (code, day)): (LotId, &(String, Day)),
    on: OnScale,
    grams: u64,
    own: Option<TrayId>,
) -> Result<Weighing, StoreError> {
    let again = row.get::<_, Option<bool>>(7)?.unwrap_or(false);
    let regrown = regrown(row, on)?;
    // the crop comes from the batches
    let (code, day) = (code.clone(), *day);
    Ok(Weighing { lot, code, crop: CropId(0), day, on: vec![on], grams, again, regrown, odd: false, own })
}

/// Whether mats of a tray were cut before: those that were left to grow again and these are more than it has.
fn regrown(row: &rusqlite::Row<'_>, on: OnScale) -> rusqlite::Result<bool> {
    Ok(some(row, 11)?.is_some_and(|before| before + on.mats > on.of))
}

/// A count or an amount, which the book keeps at or above nothing.
fn count(row: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<u64> {
    Ok(some(row, at)?.unwrap_or(0))
}

fn some(row: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<Option<u64>> {
    Ok(row.get::<_, Option<i64>>(at)?.map(|n| u64::try_from(n).unwrap_or(0)))
}

fn lost(conn: &Connection, days: &[String; 2], left: &mut Left) -> Result<Vec<PartLost>, StoreError> {
    let mut lost = Vec::new();
    let mut select = conn.prepare_cached(LOST)?;
    let mut rows = select.query(days.clone())?;
    while let Some(row) = rows.next()? {
        leaves(row, left)?;
        let (tray, sowing, reason) = (row.get(1)?, row.get(2)?, row.get(6)?);
        lost.push(PartLost { tray, sowing, mats: count(row, 5)?, of: count(row, 7)?, reason });
    }
    Ok(lost)
}

/// Index: `loss_tray`.
fn reason_of(conn: &Connection, tray: TrayId) -> Result<LossReason, StoreError> {
    let found: Option<LossReason> = conn
        .prepare_cached("SELECT reason FROM loss WHERE tray_id = ? AND void_by IS NULL ORDER BY id DESC LIMIT 1")?
        .query_row([tray], |row| row.get(0))
        .optional()?;
    Ok(found.unwrap_or(LossReason::Accident))
}

fn batch(conn: &Connection, sowing: SowingId) -> Result<Batch, StoreError> {
    Ok(conn.prepare_cached(BATCH)?.query_row([sowing], |row| {
        Ok(Batch {
            sowing,
            code: row.get(0)?,
            crop: row.get(1)?,
            day: day(row, 2)?,
            window: (row.get(3)?, row.get(4)?),
            plan_version: row.get(5)?,
            trays: count(row, 6)?,
            seed_mg: some(row, 7)?,
        })
    })?)
}

/// The crops of the batches, by name.
fn crops(conn: &Connection, facts: &Facts) -> Result<Vec<CropFigures>, StoreError> {
    let ids: BTreeSet<CropId> = facts.batches.iter().map(|batch| batch.crop).collect();
    let mut crops: Vec<CropFigures> = Vec::new();
    for id in ids {
        crops.push(conn.prepare_cached("SELECT name, yield_g, seed_kg_c, tray_c FROM crop WHERE id = ?")?.query_row(
            [id],
            |row| {
                Ok(CropFigures {
                    id,
                    name: row.get(0)?,
                    yield_g: some(row, 1)?,
                    seed_kg_c: some(row, 2)?,
                    tray_c: some(row, 3)?,
                })
            },
        )?);
    }
    crops.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(crops)
}

fn wasted(conn: &Connection, period: Period) -> Result<Vec<Wasted>, StoreError> {
    let rows: Vec<(LotId, String, Wasted)> = conn
        .prepare_cached(WASTED)?
        .query_map([day_sql(period.from), day_sql(period.to)], |row| {
            let lot = row.get(0)?;
            let (what, grams, packs, reason) = (row.get(2)?, count(row, 3)?, count(row, 4)?, row.get(5)?);
            Ok((lot, row.get(1)?, Wasted { lot, code: String::new(), what, grams, packs, reason }))
        })?
        .collect::<Result<_, _>>()?;
    rows.into_iter().map(|(_, code, wasted)| Ok(Wasted { code: lot::shown(&code)?, ..wasted })).collect()
}

fn sold(conn: &Connection, period: Period) -> Result<Vec<Sold>, StoreError> {
    let rows: Vec<(i64, u64)> = conn
        .prepare_cached(SOLD)?
        .query_map([day_sql(period.from), day_sql(period.to)], |row| Ok((row.get(0)?, count(row, 1)?)))?
        .collect::<Result<_, _>>()?;
    let mut all = Vec::new();
    for (product, packs) in rows {
        let (name, price_c) = conn
            .prepare_cached("SELECT name, price_c FROM product WHERE id = ?")?
            .query_row([product], |row| Ok((row.get(0)?, some(row, 1)?)))?;
        let parts = conn
            .prepare_cached(
                "SELECT p.crop_id, p.share_pm FROM product_part p WHERE p.product_version_id =
                   (SELECT max(id) FROM product_version WHERE product_id = ? AND void_by IS NULL) ORDER BY p.n",
            )?
            .query_map([product], |row| Ok((row.get(0)?, count(row, 1)?)))?
            .collect::<Result<_, _>>()?;
        all.push(Sold { product: name, packs, price_c, parts });
    }
    Ok(all)
}

fn due(conn: &Connection, period: Period, today: Day) -> Result<Vec<Due>, StoreError> {
    let rows: Vec<(OrderId, String, Day)> = conn
        .prepare_cached(DUE)?
        .query_map([day_sql(period.from), day_sql(period.to)], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let mut all = Vec::new();
    for (order, customer, day) in rows {
        let mut lines = Vec::new();
        for line in order::lines(conn, order)? {
            let name = "SELECT name FROM product WHERE id = ?";
            let product = conn.prepare_cached(name)?.query_row([line.product], |row| row.get(0))?;
            let whole = |n: i64| u64::try_from(n).unwrap_or(0);
            lines.push(DueLine { product, packs: whole(line.packs), brought: whole(line.delivered.min(line.packs)) });
        }
        let all_came = lines.iter().all(|line| line.brought >= line.packs);
        // index: delivery_order
        let last: Option<Day> = conn
            .prepare_cached("SELECT max(day) FROM delivery WHERE order_id = ? AND void_by IS NULL")?
            .query_row(params![order], |row| row.get(0))?;
        let outcome = match last {
            Some(last) if all_came && last > day => Outcome::Late,
            _ if all_came => Outcome::Met,
            _ if day >= today => Outcome::Open,
            _ => Outcome::Short,
        };
        all.push(Due { order, customer, day, lines, outcome });
    }
    Ok(all)
}
