//! Orders, bare: who wants how much of what on which day.

use super::id::{CustomerId, OrderId, ProductId};
use super::time::Day;

/// How much of a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Wanted {
    pub product: ProductId,
    /// Packs, or live trays.
    pub packs: i64,
}

/// An order to be written down.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewOrder {
    pub customer: CustomerId,
    pub day: Day,
    pub lines: Vec<Wanted>,
}

/// One product of an order, and what was delivered on it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Line {
    pub product: ProductId,
    pub packs: i64,
    pub delivered: i64,
}

impl Line {
    /// Still to be brought.
    pub fn open(&self) -> i64 {
        (self.packs - self.delivered).max(0)
    }
}

#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Order {
    pub id: OrderId,
    pub rev: i64,
    pub customer: CustomerId,
    pub day: Day,
    pub lines: Vec<Line>,
}

impl Order {
    /// Packs still to be brought.
    pub fn open(&self) -> i64 {
        self.lines.iter().map(Line::open).sum()
    }
}
