//! Traces: what a start is of, and the ways from it to the seed and to the customer.

mod dossier;
mod event;
mod link;
mod out;
mod read;
mod start;
mod thing;
mod touch;
mod typed;
mod walk;

use rusqlite::Connection;

pub(super) use out::gone_out;
pub(super) use start::{Found, resolve};
pub use walk::{BACK, FORWARD};

use super::error::StoreError;
use crate::domain::id::{LotId, SeedLotId};

/// The seed lots that lots were grown from.
pub(super) fn seed_of(conn: &Connection, lots: &[LotId]) -> Result<Vec<SeedLotId>, StoreError> {
    Ok(walk::back(conn, lots, &[], &[])?.seed_lots)
}
