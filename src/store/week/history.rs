//! The weeks up to a review: what trays belonged to, every week as it is kept, and what later weights are held against.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;
use rusqlite::Connection;

use super::{baseline, crops, grown, sold};
use crate::domain::id::{CropId, PlaceId, SowingId, TrayId};
use crate::domain::period::Period;
use crate::domain::time::Now;
use crate::domain::week::{BASELINE_ENOUGH, Baseline, Past, Rolled, Weekly, Weighing, of as week_of};
use crate::store::Store;
use crate::store::cause::{list, pairs};
use crate::store::error::StoreError;
use crate::store::ids::day;
use crate::store::review;

/// Which seed lots batches were sown from. Indexes: `seed_move_sowing`.
const LOTS: &str =
    "SELECT j.value, l.code FROM json_each(?1) j CROSS JOIN seed_move m ON m.sowing_id = j.value AND m.void_by IS NULL
    JOIN seed_lot l ON l.id = m.seed_lot_id
  UNION SELECT j.value, l.code FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
    JOIN seed_lot l ON l.id = s.before_lot_id ORDER BY 1, 2";

/// Which lots have no seed left. Indexes: the code of `seed_lot`, `seed_move_lot`.
const GONE: &str = "SELECT l.code FROM json_each(?1) j CROSS JOIN seed_lot l ON l.code = j.value
  WHERE (SELECT sum(m.mg) FROM seed_move m WHERE m.seed_lot_id = l.id AND m.void_by IS NULL) <= 0";

/// The shelf on which trays stood last, before they were taken aside. Index: `placement_tray`.
const SHELVES: &str = "SELECT j.value, r.name || ' ' || p.shelf, p.id FROM json_each(?1) j
  JOIN placement m ON m.id = (SELECT max(x.id) FROM placement x WHERE x.tray_id = j.value AND x.void_by IS NULL AND x.place_id NOT NULL
    AND (SELECT z.kind FROM place q JOIN zone z ON z.id = q.zone_id WHERE q.id = x.place_id) <> 'isolation')
  JOIN place p ON p.id = m.place_id JOIN rack r ON r.id = p.rack_id";

/// Seed of a batch's trays by the crop's own figure, per mille. Index: `tray_sowing`.
const DENSITY: &str = "SELECT j.value, c.tray_mg,
    (SELECT f.length_mm * f.width_mm FROM tray t JOIN tray_format f ON f.id = t.format_id WHERE t.sowing_id = s.id LIMIT 1)
  FROM json_each(?1) j CROSS JOIN sowing_now s ON s.id = j.value JOIN crop c ON c.id = s.crop_id";

/// A nominal tray, 10 × 20 in, in mm².
const NOMINAL_MM2: f64 = 254.0 * 508.0;

impl Store {
    /// What some days are compared with: the weeks up to their end, and the baselines of their crops.
    pub fn past(&self, period: Period, now: Now) -> Result<Past, StoreError> {
        let conn = &self.conn;
        let window = Past::window(period);
        let mut facts = grown(conn, window)?;
        facts.begins = review::since(conn)?;
        facts.sold = sold(conn, window)?;
        facts.crops = crops(conn, &facts)?;
        let sowings: BTreeSet<i64> = facts.batches.iter().map(|batch| batch.sowing.0).collect();
        let trays: BTreeSet<i64> = facts
            .ended
            .iter()
            .map(|one| one.tray.0)
            .chain(facts.weighings.iter().flat_map(|one| &one.on).map(|on| on.tray.0))
            .collect();
        let (sowings, trays) = (list(sowings), list(trays));
        let mut lots: BTreeMap<SowingId, Vec<String>> = BTreeMap::new();
        for (sowing, code) in pairs(conn, LOTS, &sowings)? {
            lots.entry(SowingId(sowing)).or_default().push(code);
        }
        let codes: BTreeSet<&String> = lots.values().flatten().collect();
        let gone = conn
            .prepare_cached(GONE)?
            .query_map([serde_json::json!(codes).to_string()], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let shelves: BTreeMap<TrayId, (String, PlaceId)> = conn
            .prepare_cached(SHELVES)?
            .query_map([&trays], |row| Ok((row.get(0)?, (row.get(1)?, row.get(2)?))))?
            .collect::<Result<_, _>>()?;
        let seeded = seeded(conn, &facts, &sowings)?;
        let weekly = weekly(conn, None)?;
        let mut baselines = BTreeMap::new();
        for crop in facts.crops.iter().map(|crop| crop.id) {
            baselines.extend(self.baseline(crop, period, &weekly)?.map(|baseline| (crop, baseline)));
        }
        Ok(Past { today: now.day(), period, window, facts, lots, gone, shelves, seeded, weekly, baselines })
    }

    /// Every week of a crop, or of all, as the book keeps it.
    pub fn weekly(&self, crop: Option<CropId>) -> Result<Vec<Weekly>, StoreError> {
        weekly(&self.conn, crop)
    }

    /// The days someone set, else the crop's first weeks that have enough weights together, before the days of the review.
    fn baseline(&self, crop: CropId, period: Period, weekly: &[Weekly]) -> Result<Option<Baseline>, StoreError> {
        let (days, set) = baseline::of(&self.conn, crop)?.unzip();
        let Some(days) = days.or_else(|| first_weeks(crop, period, weekly)) else { return Ok(None) };
        let weighings = grown(&self.conn, days)?.weighings;
        let mine = weighings.iter().filter(|one| one.crop == crop && one.counts());
        Ok(Some(Baseline { days, set, values: mine.map(Weighing::value).collect() }))
    }
}

/// A crop's first weeks that have enough weights together, before the days of the review; those there are where they have fewer.
fn first_weeks(crop: CropId, period: Period, weekly: &[Weekly]) -> Option<Period> {
    let mut sum = 0;
    let (mut first, mut last) = (None, None);
    for one in weekly.iter().filter(|one| one.crop == crop && one.rolled.n > 0 && one.week < period.from) {
        first = first.or(Some(one.week));
        last = Some(week_of(one.week).to);
        sum += usize::try_from(one.rolled.n).unwrap_or(0);
        if sum >= BASELINE_ENOUGH {
            break;
        }
    }
    // a span that begins in the middle of a week is held against days before it only
    let before = period.from - Duration::days(1);
    first.zip(last).map(|(from, to)| Period { from, to: to.min(before) })
}

/// Index: the primary key.
fn weekly(conn: &Connection, crop: Option<CropId>) -> Result<Vec<Weekly>, StoreError> {
    const ROW: &str = "SELECT week, crop_id, sown, sown_mg, ended, lost, cut, n, sum_dg, sum_dg2, median_dg, grams, cut_mg FROM week_crop";
    let read = |row: &rusqlite::Row<'_>| {
        Ok(Weekly {
            week: day(row, 0)?,
            crop: row.get(1)?,
            rolled: Rolled {
                sown: row.get(2)?,
                sown_mg: row.get(3)?,
                ended: row.get(4)?,
                lost: row.get(5)?,
                cut: row.get(6)?,
                n: row.get(7)?,
                sum_dg: row.get(8)?,
                sum_dg2: row.get(9)?,
                median_dg: row.get(10)?,
                grams: row.get(11)?,
                cut_mg: row.get(12)?,
            },
        })
    };
    let rows = match crop {
        Some(crop) => conn
            .prepare_cached(&format!("{ROW} WHERE crop_id = ? ORDER BY week"))?
            .query_map([crop], read)?
            .collect::<Result<_, _>>()?,
        None => conn
            .prepare_cached(&format!("{ROW} ORDER BY crop_id, week"))?
            .query_map([], read)?
            .collect::<Result<_, _>>()?,
    };
    Ok(rows)
}

/// How much seed batches got, of what the crop's settings say for the area: 1.0 is just that.
fn seeded(
    conn: &Connection,
    facts: &crate::domain::week::Facts,
    sowings: &str,
) -> Result<BTreeMap<SowingId, f64>, StoreError> {
    let mut found = BTreeMap::new();
    let mut select = conn.prepare_cached(DENSITY)?;
    let mut rows = select.query([sowings])?;
    while let Some(row) = rows.next()? {
        let (sowing, usual_mg, mm2): (SowingId, f64, Option<f64>) =
            (row.get(0)?, row.get::<_, i64>(1).map(real)?, row.get::<_, Option<i64>>(2)?.map(real));
        let mg = facts.batch(sowing).and_then(crate::domain::week::Batch::tray_mg);
        if let Some((mg, mm2)) = mg.zip(mm2) {
            found.insert(sowing, mg / (usual_mg * mm2 / NOMINAL_MM2));
        }
    }
    Ok(found)
}

#[expect(clippy::cast_precision_loss, reason = "milligrams and square millimetres of a tray")]
fn real(n: i64) -> f64 {
    n as f64
}
