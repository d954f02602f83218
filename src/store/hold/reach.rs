//! How far a hold or a breach reaches: the lots, and who got any of them.

use std::collections::BTreeSet;

use rusqlite::Connection;

use crate::domain::hold::{Buyer, HeldLot, Hold};
use crate::domain::id::{HoldId, LotId, TrayId};
use crate::domain::time::Day;
use crate::store::error::StoreError;
use crate::store::{lot, room, stock};

/// The lots that own lots and trays reach: with what the trays were cut into, and all that was made of them.
pub(in crate::store) fn lots_of(
    conn: &Connection,
    own: &[LotId],
    trays: &[TrayId],
) -> Result<Vec<HeldLot>, StoreError> {
    let mut from: BTreeSet<LotId> = own.iter().copied().collect();
    for tray in trays {
        from.extend(lot::of_tray(conn, *tray)?);
    }
    let mut lots: BTreeSet<LotId> = BTreeSet::new();
    for lot in from {
        lots.extend(lot::below(conn, lot)?);
    }
    let units = room::units(conn)?;
    let mut held = Vec::new();
    for id in lots {
        // a lot that was taken back, or stands under another code now, holds nothing
        let Some(lot) = lot::counting(conn, id)? else { continue };
        let here = stock::amount(lot.kind, lot.here(), units);
        held.push(HeldLot { lot: id, code: lot.code, name: lot.name, here });
    }
    Ok(held)
}

/// The lots a hold reaches, and who got any of them.
pub(super) fn reach(conn: &Connection, hold: &mut Hold) -> Result<(), StoreError> {
    let trays: Vec<TrayId> = hold.trays.iter().map(|held| held.tray).collect();
    hold.lots = lots_of(conn, &own_lots(conn, hold.id)?, &trays)?;
    hold.buyers = buyers(conn, hold.lots.iter().map(|lot| (lot.lot, lot.code.as_str())))?;
    Ok(())
}

/// Who got packs of lots, the newest delivery first.
pub(in crate::store) fn buyers<'c>(
    conn: &Connection,
    lots: impl Iterator<Item = (LotId, &'c str)>,
) -> Result<Vec<Buyer>, StoreError> {
    let mut buyers = Vec::new();
    for (lot, code) in lots {
        // index: stock_move_lot
        let got: Vec<(String, String, Day, i64)> = conn
            .prepare_cached(
                "SELECT c.name, c.phone, d.day, sum(m.packs) FROM stock_move m JOIN delivery d ON d.id = m.delivery_id
                 JOIN customer c ON c.id = d.customer_id
                 WHERE m.lot_id = ? AND m.kind = 'delivered' AND m.void_by IS NULL GROUP BY d.id ORDER BY d.id",
            )?
            .query_map([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
            .collect::<Result<_, _>>()?;
        let code = code.to_owned();
        buyers.extend(got.into_iter().map(|(name, phone, day, packs)| Buyer {
            name,
            phone,
            day,
            code: code.clone(),
            packs,
        }));
    }
    buyers.sort_by(|a, b| (b.day, &a.name).cmp(&(a.day, &b.name)));
    Ok(buyers)
}

/// Lots a hold named, and those that went into packaging it holds by now.
pub(in crate::store) fn own_lots(conn: &Connection, hold: HoldId) -> Result<Vec<LotId>, StoreError> {
    // indexes: the key of hold_item, lot_use_material
    Ok(conn
        .prepare_cached(
            "SELECT lot_id FROM hold_item WHERE hold_id = ?1 AND lot_id NOT NULL
             UNION SELECT u.lot_id FROM hold_item i JOIN lot_use u ON u.material_lot_id = i.material_lot_id AND u.void_by IS NULL
               WHERE i.hold_id = ?1 ORDER BY 1",
        )?
        .query_map([hold], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}
