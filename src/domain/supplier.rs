//! Who seed comes from, and how long it takes to come.

use super::id::SupplierId;

/// A supplier as it stands.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Supplier {
    pub id: SupplierId,
    pub rev: i64,
    pub retired: bool,
    pub name: String,
    pub address: String,
    /// Days from the order to the delivery.
    pub lead_d: Option<i64>,
}

/// The longest believable.
pub const LEAD_D_MAX: i64 = 365;
