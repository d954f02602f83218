//! The two ways through the book, each one statement: from seed, trays and lots forward, from lots and trays back.
//!
//! Every step is answered by an index alone, so its cost goes with what is found and not with the size of the book.

use rusqlite::{Connection, Statement};

use crate::domain::id::{LotId, SeedLotId, SowingId, TrayId};
use crate::store::error::StoreError;

/// Seed lots (?1), trays (?2) and lots (?3), each a JSON list of row numbers, to all that was made of them: rows of what (1 a
/// sowing, 2 a tray, 3 a lot) and row number. Indexes: `seed_move_lot`, `sowing_before_lot`, `tray_sowing`,
/// `lot_input_of_tray`, `lot_input_from`.
pub const FORWARD: &str = "WITH RECURSIVE
  sown (id) AS (
    SELECT m.sowing_id FROM json_each(?1) j CROSS JOIN seed_move m ON m.seed_lot_id = j.value AND m.void_by IS NULL
      WHERE m.sowing_id NOT NULL
    UNION SELECT s.id FROM json_each(?1) j CROSS JOIN sowing s ON s.before_lot_id = j.value WHERE s.void_by IS NULL),
  grown (id) AS (SELECT value FROM json_each(?2) UNION SELECT t.id FROM sown CROSS JOIN tray t ON t.sowing_id = sown.id),
  made (id) AS (
    SELECT value FROM json_each(?3)
    UNION SELECT i.lot_id FROM grown CROSS JOIN lot_input i ON i.tray_id = grown.id AND i.void_by IS NULL
    UNION SELECT i.lot_id FROM made CROSS JOIN lot_input i ON i.from_lot_id = made.id AND i.void_by IS NULL)
SELECT 1, id FROM sown UNION ALL SELECT 2, id FROM grown UNION ALL SELECT 3, id FROM made";

/// Lots (?1), trays (?2) and sowings (?3), each a JSON list, back to all they were made of: rows of what (0 a seed lot, 1 a sowing, 2 a tray, 3
/// a lot) and row number. Indexes: `lot_input_lot`, `seed_move_sowing`.
pub const BACK: &str = "WITH RECURSIVE
  above (id) AS (
    SELECT value FROM json_each(?1)
    UNION SELECT i.from_lot_id FROM above CROSS JOIN lot_input i ON i.lot_id = above.id AND i.void_by IS NULL
      WHERE i.from_lot_id NOT NULL),
  cut (id) AS (
    SELECT value FROM json_each(?2)
    UNION SELECT i.tray_id FROM above CROSS JOIN lot_input i ON i.lot_id = above.id AND i.void_by IS NULL WHERE i.tray_id NOT NULL),
  sown (id) AS (SELECT value FROM json_each(?3) UNION SELECT t.sowing_id FROM cut CROSS JOIN tray t ON t.id = cut.id),
  seed (id) AS (
    SELECT m.seed_lot_id FROM sown CROSS JOIN seed_move m ON m.sowing_id = sown.id AND m.void_by IS NULL
    UNION SELECT s.before_lot_id FROM sown CROSS JOIN sowing s ON s.id = sown.id WHERE s.before_lot_id NOT NULL)
SELECT 0, id FROM seed UNION ALL SELECT 1, id FROM sown UNION ALL SELECT 2, id FROM cut UNION ALL SELECT 3, id FROM above";

/// What a way comes to, its beginning included, each kind by row number.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::store) struct Walked {
    pub seed_lots: Vec<SeedLotId>,
    pub sowings: Vec<SowingId>,
    pub trays: Vec<TrayId>,
    pub lots: Vec<LotId>,
}

pub(in crate::store) fn forward(
    conn: &Connection,
    seed_lots: &[SeedLotId],
    trays: &[TrayId],
    lots: &[LotId],
) -> Result<Walked, StoreError> {
    let mut statement = conn.prepare_cached(FORWARD)?;
    let mut found =
        walked(&mut statement, &[list(seed_lots, |id| id.0), list(trays, |id| id.0), list(lots, |id| id.0)])?;
    found.seed_lots = seed_lots.to_vec();
    Ok(found)
}

pub(in crate::store) fn back(
    conn: &Connection,
    lots: &[LotId],
    trays: &[TrayId],
    sowings: &[SowingId],
) -> Result<Walked, StoreError> {
    let mut statement = conn.prepare_cached(BACK)?;
    walked(&mut statement, &[list(lots, |id| id.0), list(trays, |id| id.0), list(sowings, |id| id.0)])
}

/// `[1,2,3]`.
fn list<T>(ids: &[T], number: impl Fn(&T) -> i64) -> String {
    format!("[{}]", ids.iter().map(|id| number(id).to_string()).collect::<Vec<_>>().join(","))
}

fn walked(statement: &mut Statement<'_>, lists: &[String]) -> Result<Walked, StoreError> {
    let mut found = Walked::default();
    let mut rows = statement.query(rusqlite::params_from_iter(lists))?;
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(1)?;
        match row.get(0)? {
            0 => found.seed_lots.push(SeedLotId(id)),
            1 => found.sowings.push(SowingId(id)),
            2 => found.trays.push(TrayId(id)),
            _ => found.lots.push(LotId(id)),
        }
    }
    found.seed_lots.sort_unstable();
    found.sowings.sort_unstable();
    found.trays.sort_unstable();
    found.lots.sort_unstable();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Store;

    /// What each step of a statement reads.
    fn steps(conn: &Connection, text: &str) -> Vec<String> {
        let mut explain = conn.prepare(&format!("EXPLAIN QUERY PLAN {text}")).unwrap();
        let mut rows = explain.raw_query();
        let mut lines = Vec::new();
        while let Some(row) = rows.next().unwrap() {
            lines.push(row.get(3).unwrap());
        }
        lines
    }

    #[test]
    fn every_step_is_answered_by_an_index_alone() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("room.rackwalk"), "x").unwrap();
        // what was found before, and the list it began with, are gone through once
        let own = ["sown", "grown", "made", "above", "cut", "seed", "j", "json_each"];
        for (text, indexes) in [
            (
                FORWARD,
                &["seed_move_lot", "sowing_before_lot", "tray_sowing", "lot_input_of_tray", "lot_input_from"][..],
            ),
            (BACK, &["lot_input_lot", "seed_move_sowing"][..]),
        ] {
            let lines = steps(&store.conn, text);
            for index in indexes {
                let used = format!("USING COVERING INDEX {index} ");
                assert!(lines.iter().any(|line| line.contains(&used)), "{index}: {lines:#?}");
            }
            for line in &lines {
                if let Some(rest) = line.strip_prefix("SCAN ") {
                    let of = rest.split(' ').next().unwrap();
                    assert!(own.contains(&of), "{line}");
                } else if line.starts_with("SEARCH ") {
                    // a tray and a batch are found by their own row number
                    let by_row = ["SEARCH t USING INTEGER PRIMARY KEY", "SEARCH s USING INTEGER PRIMARY KEY"];
                    let own_row = text == BACK && by_row.iter().any(|row| line.starts_with(row));
                    assert!(line.contains("USING COVERING INDEX") || own_row, "{line}");
                }
            }
        }
    }
}
