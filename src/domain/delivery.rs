//! What a customer gets, and gives back.

use super::id::{CustomerId, DeliveryId, LotId, OrderId, ProductId, RoundId};
use super::stock::CameBack;
use super::time::Day;

/// Cold holding, tenths of °C: 5.0 is fine, 5.1 is flagged. P: FDA Food Code 3-501.16.
pub const COLD_DC: i64 = 50;

/// Packs of one lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Packs {
    pub lot: LotId,
    pub packs: i64,
}

/// A delivery: packs of some lots to one customer, from the room or from what a round carries.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewDelivery {
    pub customer: CustomerId,
    pub order: Option<OrderId>,
    pub round: Option<RoundId>,
    pub lines: Vec<Packs>,
    pub received_by: Option<String>,
    /// Temperature at the drop, tenths of °C.
    pub temp_dc: Option<i64>,
    /// Rules that were asked about and answered: `deliver_keeps`.
    pub sure: Vec<&'static str>,
}

/// A line of a delivery as it counts now.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Line {
    pub lot: LotId,
    pub code: String,
    pub product: String,
    pub product_id: ProductId,
    pub pack_g: Option<i64>,
    pub best_before: Option<Day>,
    pub packs: i64,
    pub returned: i64,
    /// Came back, and nobody has decided about it.
    pub undecided: i64,
    /// Beyond what was ordered.
    pub extra: bool,
}

/// A delivery with its lines, for its note and for returns.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Delivery {
    pub id: DeliveryId,
    pub customer: CustomerId,
    pub customer_name: String,
    pub address: String,
    pub phone: String,
    pub day: Day,
    pub order: Option<OrderId>,
    pub round: Option<String>,
    pub received_by: Option<String>,
    pub temp_dc: Option<i64>,
    pub who: String,
    pub lines: Vec<Line>,
}

/// Packs that a customer gave back.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewReturn {
    pub delivery: DeliveryId,
    pub lot: LotId,
    pub packs: i64,
    pub what: CameBack,
    pub reason: String,
}
