//! The log from the cut on.

use rusqlite::Connection;

use crate::domain::id::EntryId;
use crate::store::error::StoreError;
use crate::store::{delivery, harvest, live, order, packing, round, stock};

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

pub(super) const LOT: &str = "SELECT entry_id FROM lot WHERE id = ?1
    UNION SELECT entry_id FROM lot WHERE instead_of = ?1
    UNION SELECT entry_id FROM lot_input WHERE lot_id = ?1
    UNION SELECT entry_id FROM lot_input WHERE from_lot_id = ?1
    UNION SELECT entry_id FROM stock_move WHERE lot_id = ?1
    UNION SELECT b.entry_id FROM breach_lot t JOIN breach b ON b.id = t.breach_id WHERE t.lot_id = ?1
    UNION SELECT d.entry_id FROM breach_lot t JOIN breach_decision d ON d.breach_id = t.breach_id WHERE t.lot_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.lot_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.lot_id = ?1";

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
        "empties" => live::emptied(conn, id)?,
        _ => return Ok(None),
    }))
}
