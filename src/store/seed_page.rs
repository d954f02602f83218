//! Everything a seed lot gave: one statement a figure, each by index.

use std::collections::BTreeMap;

use rusqlite::{Connection, params};

use super::error::StoreError;
use super::germ_test;
use crate::domain::complaint::What;
use crate::domain::id::{LotId, SeedLotId, TrayId};
use crate::domain::seed_page::{Batch, Complaint, Hold, SeedPage, Tray, Weighing};
use crate::domain::tray::LossReason;

/// Indexes: `seed_move_lot`, `seed_move_sowing`, `sowing_before_lot`, `sowing_fix_sowing`, `tray_sowing`.
const BATCHES: &str = "SELECT s.id, s.code, coalesce(f.day, s.day) AS day, x.mg,
    (SELECT count(*) FROM tray WHERE sowing_id = s.id),
    NOT EXISTS (SELECT 1 FROM seed_move o WHERE o.sowing_id = s.id AND o.void_by IS NULL AND o.seed_lot_id <> ?1)
  FROM (SELECT sowing_id AS id, sum(-mg) AS mg FROM seed_move
          WHERE seed_lot_id = ?1 AND void_by IS NULL AND sowing_id NOT NULL GROUP BY sowing_id
        UNION ALL SELECT id, NULL FROM sowing WHERE before_lot_id = ?1 AND void_by IS NULL) x
  CROSS JOIN sowing s ON s.id = x.id
  LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)
  WHERE s.void_by IS NULL ORDER BY day, s.id";

/// Trays of batches. What is in the room is in `tray_now`. Indexes: `tray_sowing`, `stage_tray`, `loss_tray`.
const TRAYS: &str = "SELECT t.id, t.sowing_id, NOT EXISTS (SELECT 1 FROM tray_now WHERE tray_id = t.id),
    CASE WHEN EXISTS (SELECT 1 FROM stage WHERE tray_id = t.id AND stage = 'thrown' AND void_by IS NULL) THEN
      (SELECT reason FROM loss WHERE tray_id = t.id AND void_by IS NULL ORDER BY id DESC LIMIT 1) END
  FROM json_each(?1) j CROSS JOIN tray t ON t.sowing_id = j.value ORDER BY t.id";

/// Harvest lots with such trays in them, with all their trays. Indexes: `lot_input_of_tray`, `lot_input_lot`, `stock_move_lot`.
const WEIGHINGS: &str = "SELECT l.id, l.code, l.day, i.tray_id, i.grams,
    (SELECT coalesce(sum(grams), 0) FROM stock_move WHERE lot_id = l.id AND void_by IS NULL AND kind = 'made')
  FROM (SELECT DISTINCT o.lot_id FROM json_each(?1) j CROSS JOIN lot_input o ON o.tray_id = j.value AND o.void_by IS NULL) x
  CROSS JOIN lot l ON l.id = x.lot_id AND l.kind = 'harvest' AND l.void_by IS NULL
  CROSS JOIN lot_input i ON i.lot_id = l.id AND i.void_by IS NULL AND i.tray_id NOT NULL
  ORDER BY l.day, l.id, i.tray_id";

/// Every lot made of such trays, also of lots made of them. Indexes: `lot_input_of_tray`, `lot_input_from`.
const MADE: &str = "WITH RECURSIVE made (id) AS (
    SELECT i.lot_id FROM json_each(?1) j CROSS JOIN lot_input i ON i.tray_id = j.value AND i.void_by IS NULL
    UNION SELECT i.lot_id FROM made CROSS JOIN lot_input i ON i.from_lot_id = made.id AND i.void_by IS NULL)
  SELECT id FROM made ORDER BY id";

/// Packs that went to customers and did not come back. Index: `stock_move_lot`; the rest by row number.
const OUT: &str = "SELECT coalesce(sum(packs), 0), coalesce(sum(packs > 0), 0) FROM
  (SELECT coalesce(m.customer_id, d.customer_id) AS customer,
     sum(CASE m.kind WHEN 'delivered' THEN m.packs ELSE -m.packs END) AS packs
   FROM json_each(?1) j CROSS JOIN stock_move m ON m.lot_id = j.value AND m.void_by IS NULL AND m.kind IN ('delivered', 'returned')
   LEFT JOIN delivery d ON d.id = m.delivery_id GROUP BY 1)";

/// Index: `complaint_lot_lot`.
const COMPLAINTS: &str = "SELECT DISTINCT c.id, c.day, c.what FROM json_each(?1) j
  CROSS JOIN complaint_lot x ON x.lot_id = j.value AND x.void_by IS NULL
  JOIN complaint c ON c.id = x.complaint_id AND c.void_by IS NULL ORDER BY c.day DESC, c.id DESC";

/// Holds of the lot itself, of its batches, trays and what was made of them; exercises hold nothing. Indexes:
/// `hold_item_seed_lot`, `hold_item_sowing`, `hold_item_tray`, `hold_item_lot`.
const HOLDS: &str = "SELECT h.id, e.day, h.scope_text, NOT EXISTS (SELECT 1 FROM hold_decision d
     WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what = 'accepted')
  FROM (SELECT hold_id FROM hold_item WHERE seed_lot_id = ?1
        UNION SELECT i.hold_id FROM json_each(?2) j CROSS JOIN hold_item i ON i.sowing_id = j.value
        UNION SELECT i.hold_id FROM json_each(?3) j CROSS JOIN hold_item i ON i.tray_id = j.value
        UNION SELECT i.hold_id FROM json_each(?4) j CROSS JOIN hold_item i ON i.lot_id = j.value) x
  CROSS JOIN hold h ON h.id = x.hold_id JOIN entry e ON e.id = h.entry_id
  WHERE h.void_by IS NULL AND h.exercise IS NOT 1 ORDER BY h.id DESC";

pub(super) fn read(conn: &Connection, lot: SeedLotId) -> Result<SeedPage, StoreError> {
    let batches: Vec<Batch> = conn
        .prepare_cached(BATCHES)?
        .query_map([lot], |row| {
            let trays: i64 = row.get(4)?;
            Ok(Batch {
                sowing: row.get(0)?,
                code: row.get(1)?,
                day: row.get(2)?,
                mg: row.get(3)?,
                trays: usize::try_from(trays).unwrap_or(0),
                alone: row.get(5)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    let sowings = list(batches.iter().map(|batch| batch.sowing.0));
    let trays: Vec<Tray> = conn
        .prepare_cached(TRAYS)?
        .query_map([&sowings], |row| {
            let lost: Option<LossReason> = row.get(3)?;
            Ok(Tray { tray: row.get(0)?, sowing: row.get(1)?, ended: row.get(2)?, lost })
        })?
        .collect::<Result<_, _>>()?;
    let ids = list(trays.iter().map(|tray| tray.tray.0));
    let made: Vec<i64> = conn.prepare_cached(MADE)?.query_map([&ids], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let made = list(made.into_iter());
    let (packs_out, customers) = conn.prepare_cached(OUT)?.query_row([&made], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let complaints = conn
        .prepare_cached(COMPLAINTS)?
        .query_map([&made], |row| {
            let what: What = row.get(2)?;
            Ok(Complaint { id: row.get(0)?, day: row.get(1)?, what })
        })?
        .collect::<Result<_, _>>()?;
    let holds = conn
        .prepare_cached(HOLDS)?
        .query_map(params![lot, sowings, ids, made], |row| {
            Ok(Hold { id: row.get(0)?, day: row.get(1)?, of: row.get(2)?, open: row.get(3)? })
        })?
        .collect::<Result<_, _>>()?;
    Ok(SeedPage {
        lot,
        batches,
        trays,
        weighings: weighings(conn, &ids)?,
        tests: germ_test::of_lot(conn, lot)?,
        holds,
        complaints,
        packs_out,
        customers,
    })
}

fn weighings(conn: &Connection, trays: &str) -> Result<Vec<Weighing>, StoreError> {
    let mut found: BTreeMap<LotId, Weighing> = BTreeMap::new();
    let mut select = conn.prepare_cached(WEIGHINGS)?;
    let mut rows = select.query([trays])?;
    while let Some(row) = rows.next()? {
        let lot: LotId = row.get(0)?;
        let (code, day, grams) = (row.get(1)?, row.get(2)?, row.get(5)?);
        let tray: (TrayId, Option<i64>) = (row.get(3)?, row.get(4)?);
        found.entry(lot).or_insert_with(|| Weighing { lot, code, day, grams, trays: vec![] }).trays.push(tray);
    }
    Ok(found.into_values().collect())
}

fn list(ids: impl Iterator<Item = i64>) -> String {
    let ids: Vec<String> = ids.map(|id| id.to_string()).collect();
    format!("[{}]", ids.join(","))
}
