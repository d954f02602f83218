//! Who got something of lots: customers by delivery, and the public by stall.

use rusqlite::Connection;

use crate::domain::id::LotId;
use crate::domain::trace::{Public, Recipient};
use crate::store::error::StoreError;
use crate::store::lot;

/// Recipients of lots and what the public got of them, the newest day first. Indexes: `stock_move_lot`, `stock_move_delivery`.
pub(in crate::store) fn gone_out(
    conn: &Connection,
    lots: &[LotId],
) -> Result<(Vec<Recipient>, Vec<Public>), StoreError> {
    let (mut recipients, mut public) = (Vec::new(), Vec::new());
    for id in lots {
        let code = lot::code(conn, *id)?;
        let product: String = conn
            .prepare_cached(
                "SELECT coalesce(p.name, c.name) FROM lot l LEFT JOIN product p ON p.id = l.product_id
                 LEFT JOIN crop c ON c.id = l.crop_id WHERE l.id = ?",
            )?
            .query_row([id], |row| row.get(0))?;
        let mut delivered = conn.prepare_cached(
            "SELECT d.id, c.name, c.address, c.phone, d.day, sum(m.packs),
               (SELECT coalesce(sum(r.packs), 0) FROM stock_move r WHERE r.delivery_id = d.id AND r.lot_id = m.lot_id
                AND r.kind = 'returned' AND r.void_by IS NULL)
             FROM stock_move m JOIN delivery d ON d.id = m.delivery_id JOIN customer c ON c.id = d.customer_id
             WHERE m.lot_id = ? AND m.void_by IS NULL AND m.kind = 'delivered' GROUP BY d.id ORDER BY d.id",
        )?;
        let rows = delivered.query_map([id], |row| {
            Ok(Recipient {
                delivery: row.get(0)?,
                name: row.get(1)?,
                address: row.get(2)?,
                phone: row.get(3)?,
                day: row.get(4)?,
                lot: *id,
                code: code.clone(),
                product: product.clone(),
                packs: row.get(5)?,
                returned: row.get(6)?,
            })
        })?;
        for row in rows {
            recipients.push(row?);
        }
        let mut sold = conn.prepare_cached(
            "SELECT r.id, r.name || coalesce(', ' || nullif(r.place, ''), ''), coalesce(r.hours, ''), r.day, sum(m.packs)
             FROM stock_move m JOIN round r ON r.id = m.round_id
             WHERE m.lot_id = ? AND m.void_by IS NULL AND m.kind IN ('sold_public', 'given') GROUP BY r.id ORDER BY r.id",
        )?;
        let rows = sold.query_map([id], |row| {
            Ok(Public {
                round: row.get(0)?,
                place: row.get(1)?,
                hours: row.get(2)?,
                day: row.get(3)?,
                lot: *id,
                code: code.clone(),
                product: product.clone(),
                packs: row.get(4)?,
            })
        })?;
        for row in rows {
            public.push(row?);
        }
    }
    recipients.sort_by(|a, b| (b.day, &a.name, a.delivery).cmp(&(a.day, &b.name, b.delivery)));
    public.sort_by(|a, b| (b.day, &a.place).cmp(&(a.day, &b.place)));
    Ok((recipients, public))
}
