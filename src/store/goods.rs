//! What left the trays, for its screens.

use rusqlite::Connection;

use super::Store;
use super::error::StoreError;
use super::{customer, delivery, harvest, lot, order, product, round, stock, tool};
use crate::domain::delivery::Delivery;
use crate::domain::goods::Goods;
use crate::domain::id::{DeliveryId, LotId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::stock::Account;
use crate::domain::time::Day;

impl Store {
    /// Lots that are there, products, customers, orders, rounds.
    pub fn goods(&self, today: Day) -> Result<Goods, StoreError> {
        read(&self.conn, today)
    }

    /// Lots of a kind made on a day.
    pub fn lots_of(&self, kind: Kind, day: Day) -> Result<Vec<Lot>, StoreError> {
        lot::lots(&self.conn, kind, day)
    }

    /// The lot of a code without hyphens and check character, or the one that took the code over, and whether it did.
    pub fn lot_of_code(&self, body: &str) -> Result<Option<(Lot, bool)>, StoreError> {
        lot::one(&self.conn, body)
    }

    /// A delivery with its lines, for its note.
    pub fn delivery(&self, id: DeliveryId) -> Result<Option<Delivery>, StoreError> {
        delivery::one(&self.conn, id)
    }

    /// Where everything of a lot is.
    pub fn account(&self, lot: LotId) -> Result<Account, StoreError> {
        lot::account(&self.conn, lot)
    }
}

/// Days that orders and deliveries stay in sight.
pub(super) const BACK_D: i64 = 14;

/// Lots of which something is here or on the way.
pub(super) fn there(conn: &Connection) -> Result<Vec<LotId>, StoreError> {
    Ok(conn
        .prepare_cached("SELECT lot_id FROM lot_now ORDER BY lot_id")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

fn read(conn: &Connection, today: Day) -> Result<Goods, StoreError> {
    let since = today - chrono::Duration::days(BACK_D);
    Ok(Goods {
        lots: lot::lots_there(conn)?,
        products: product::all(conn)?,
        customers: customer::all(conn)?,
        orders: order::since(conn, since)?,
        knife: harvest::knife(conn, today)?,
        rounds: round::open(conn, today)?,
        deliveries: delivery::since(conn, since)?,
        samples: stock::samples(conn, today)?,
        tools: tool::all(conn)?,
        last_use: tool::last(conn, today)?,
    })
}
