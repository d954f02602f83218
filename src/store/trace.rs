//! Traces: what a start is of, and the ways from it to the seed and to the customer.

mod out;
mod start;
mod walk;

use rusqlite::Connection;

pub(super) use out::gone_out;
pub(super) use start::{Found, resolve};
pub use walk::{BACK, FORWARD};
pub(super) use walk::{Walked, back};

use super::Store;
use super::error::StoreError;
use crate::domain::id::{LotId, SeedLotId};
use crate::domain::trace::Start;

impl Store {
    /// How many things the way forward from a start comes to.
    pub fn count_forward(&self, start: &Start) -> Result<usize, StoreError> {
        let found = resolve(&self.conn, start)?;
        let walked = walk::forward(&self.conn, &found.seed_lots, &found.trays, &found.lots)?;
        Ok(walked.seed_lots.len() + walked.sowings.len() + walked.trays.len() + walked.lots.len())
    }
}

/// The seed lots that lots were grown from.
pub(super) fn seed_of(conn: &Connection, lots: &[LotId]) -> Result<Vec<SeedLotId>, StoreError> {
    Ok(back(conn, lots, &[])?.seed_lots)
}
