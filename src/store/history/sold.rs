//! The log from the cut on.

use rusqlite::Connection;

use crate::domain::id::EntryId;
use crate::store::error::StoreError;
use crate::store::{complaint, delivery, harvest, live, order, packing, recall, round, score, stock};

pub(super) const PRODUCT: &str = "SELECT entry_id FROM change WHERE noun = 'product' AND row_id = ?1
    UNION SELECT entry_id FROM product_version WHERE product_id = ?1";

pub(super) const CUSTOMER: &str = "SELECT entry_id FROM change WHERE noun = 'customer' AND row_id = ?1
    UNION SELECT c.entry_id FROM sale_order o JOIN change c ON c.noun = 'sale_order' AND c.row_id = o.id WHERE o.customer_id = ?1
    UNION SELECT entry_id FROM delivery WHERE customer_id = ?1
    UNION SELECT m.entry_id FROM delivery d JOIN stock_move m ON m.delivery_id = d.id WHERE d.customer_id = ?1
    UNION SELECT entry_id FROM stock_move WHERE customer_id = ?1
    UNION SELECT entry_id FROM empties WHERE customer_id = ?1";

pub(super) const ORDER: &str = "SELECT entry_id FROM change WHERE noun = 'sale_order' AND row_id = ?1
    UNION SELECT c.entry_id FROM order_line l JOIN change c ON c.noun = 'order_line' AND c.row_id = l.id WHERE l.order_id = ?1
    UNION SELECT entry_id FROM delivery WHERE order_id = ?1";

/// Of a lot itself; and what stood against it or anything that went into it, as far as the trays.
pub(super) const LOT: &str = "WITH RECURSIVE up (id) AS (SELECT ?1 UNION SELECT i.from_lot_id FROM up
      CROSS JOIN lot_input i ON i.lot_id = up.id WHERE i.from_lot_id NOT NULL AND i.void_by IS NULL),
    tray_in (id) AS (SELECT i.tray_id FROM up CROSS JOIN lot_input i ON i.lot_id = up.id
      WHERE i.tray_id NOT NULL AND i.void_by IS NULL),
    barred (id) AS (SELECT i.hold_id FROM up CROSS JOIN hold_item i ON i.lot_id = up.id
      UNION SELECT i.hold_id FROM tray_in CROSS JOIN hold_item i ON i.tray_id = tray_in.id),
    broken (id) AS (SELECT t.breach_id FROM up CROSS JOIN breach_lot t ON t.lot_id = up.id
      UNION SELECT t.breach_id FROM tray_in CROSS JOIN breach_tray t ON t.tray_id = tray_in.id)
    SELECT entry_id FROM lot WHERE id = ?1
    UNION SELECT entry_id FROM lot WHERE instead_of = ?1
    UNION SELECT entry_id FROM lot_input WHERE lot_id = ?1
    UNION SELECT entry_id FROM lot_input WHERE from_lot_id = ?1
    UNION SELECT entry_id FROM stock_move WHERE lot_id = ?1
    UNION SELECT entry_id FROM stay WHERE lot_id = ?1
    UNION SELECT d.entry_id FROM stay y JOIN spell_decision d ON d.store_id = y.store_id AND d.to_s >= y.at_s
      AND d.from_s < coalesce((SELECT min(n.at_s) FROM stay n WHERE n.lot_id = ?1 AND n.at_s > y.at_s), d.from_s + 1)
      WHERE y.lot_id = ?1
    UNION SELECT entry_id FROM score WHERE lot_id = ?1
    UNION SELECT entry_id FROM lot_use WHERE lot_id = ?1
    UNION SELECT entry_id FROM complaint_lot WHERE lot_id = ?1
    UNION SELECT b.entry_id FROM broken CROSS JOIN breach b ON b.id = broken.id
    UNION SELECT d.entry_id FROM broken CROSS JOIN breach_decision d ON d.breach_id = broken.id
    UNION SELECT h.entry_id FROM barred CROSS JOIN hold h ON h.id = barred.id
    UNION SELECT d.entry_id FROM barred CROSS JOIN hold_decision d ON d.hold_id = barred.id";

pub(super) const DELIVERY: &str = "SELECT entry_id FROM delivery WHERE id = ?1
    UNION SELECT entry_id FROM stock_move WHERE delivery_id = ?1
    UNION SELECT entry_id FROM contact WHERE delivery_id = ?1";

pub(super) const ROUND: &str = "SELECT entry_id FROM round WHERE id = ?1
    UNION SELECT entry_id FROM stock_move WHERE round_id = ?1
    UNION SELECT entry_id FROM contact WHERE round_id = ?1";

pub(super) const COMPLAINT: &str = "SELECT entry_id FROM complaint WHERE id = ?1
    UNION SELECT entry_id FROM complaint_lot WHERE complaint_id = ?1
    UNION SELECT entry_id FROM complaint_end WHERE complaint_id = ?1
    UNION SELECT entry_id FROM complaint_told WHERE complaint_id = ?1
    UNION SELECT blanked_by FROM complaint_told WHERE complaint_id = ?1 AND blanked_by NOT NULL
    UNION SELECT entry_id FROM hold WHERE complaint_id = ?1
    UNION SELECT d.entry_id FROM hold h JOIN hold_decision d ON d.hold_id = h.id WHERE h.complaint_id = ?1
    UNION SELECT r.entry_id FROM hold h JOIN recall r ON r.hold_id = h.id WHERE h.complaint_id = ?1
    UNION SELECT c.entry_id FROM hold h JOIN recall r ON r.hold_id = h.id JOIN contact c ON c.recall_id = r.id
      WHERE h.complaint_id = ?1";

/// One entry in one sentence; `None` of a kind that is told elsewhere.
pub(super) fn line(conn: &Connection, kind: &str, id: EntryId) -> Result<Option<String>, StoreError> {
    Ok(Some(match kind {
        "ordered" => order::line(conn, id)?,
        "cut_checked" => harvest::checked(conn, id)?,
        "harvested" => harvest::line(conn, id)?,
        "packed" | "reissued" => packing::line(conn, id)?,
        "left_alive" => live::line(conn, id)?,
        "stock_moved" | "stock_counted" | "returned" => stock::line(conn, id)?,
        "delivered" => delivery::line(conn, id)?,
        "round_out" | "round_back" => round::line(conn, id)?,
        "refitted" => score::refitted(conn, id)?,
        "empties" => live::emptied(conn, id)?,
        kind => return Ok(complaint::line(conn, kind, id)?.or(recall::line(conn, kind, id)?)),
    }))
}
