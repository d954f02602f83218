//! What was sown of each crop's seed in the last full weeks.

use std::collections::BTreeMap;

use rusqlite::{Connection, params};

use super::error::StoreError;
use super::ids::day_sql;
use crate::domain::id::CropId;
use crate::domain::seed_lot::{SeedLot, Treated};
use crate::domain::seed_use::{SeedUse, full_weeks};
use crate::domain::supplier::Supplier;
use crate::domain::time::Day;

/// Seed sown on some days, as the sowing counts now, by crop and day. Indexes: `sowing_day_crop`, `sowing_fix_day`,
/// `sowing_fix_sowing`, `seed_move_sowing`.
const SOWN: &str = "SELECT l.crop_id, coalesce(f.day, s.day), sum(-m.mg)
  FROM (SELECT id FROM sowing WHERE day BETWEEN ?1 AND ?2
        UNION SELECT sowing_id FROM sowing_fix WHERE day BETWEEN ?1 AND ?2 AND void_by IS NULL) x
  CROSS JOIN sowing s ON s.id = x.id
  LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)
  CROSS JOIN seed_move m ON m.sowing_id = s.id AND m.void_by IS NULL
  JOIN seed_lot l ON l.id = m.seed_lot_id
  WHERE s.void_by IS NULL AND coalesce(f.day, s.day) BETWEEN ?1 AND ?2 GROUP BY 1, 2";

/// Of each crop of which there ever was a lot, in the order of the crops' numbers.
pub(super) fn read(
    conn: &Connection,
    lots: &[SeedLot],
    suppliers: &[Supplier],
    today: Day,
) -> Result<Vec<SeedUse>, StoreError> {
    let weeks = full_weeks(today);
    let mut sown: BTreeMap<CropId, Vec<(Day, i64)>> = BTreeMap::new();
    if let (Some((from, _)), Some((_, to))) = (weeks.first(), weeks.last()) {
        let mut select = conn.prepare_cached(SOWN)?;
        let mut rows = select.query(params![day_sql(*from), day_sql(*to)])?;
        while let Some(row) = rows.next()? {
            sown.entry(row.get(0)?).or_default().push((row.get(1)?, row.get(2)?));
        }
    }
    let mut of: BTreeMap<CropId, Vec<&SeedLot>> = BTreeMap::new();
    for lot in lots {
        of.entry(lot.crop).or_default().push(lot);
    }
    let uses = of.into_iter().filter_map(|(crop, lots)| {
        let first = lots.iter().map(|lot| lot.received).min()?;
        let newest = lots.iter().max_by_key(|lot| (lot.received, lot.id))?;
        let days = sown.get(&crop).map(Vec::as_slice).unwrap_or_default();
        let in_week =
            |(from, to): &(Day, Day)| days.iter().filter(|(day, _)| day >= from && day <= to).map(|(_, mg)| mg).sum();
        let usable = lots.iter().filter(|lot| lot.treated == Treated::No && !lot.held);
        Some(SeedUse {
            crop,
            crop_name: newest.crop_name.clone(),
            left_mg: usable.map(|lot| lot.left_mg.max(0)).sum(),
            weeks: weeks.iter().filter(|(from, _)| *from >= first).map(in_week).collect(),
            supplier: suppliers.iter().find(|supplier| supplier.id == newest.supplier_id).cloned(),
        })
    });
    Ok(uses.collect())
}
