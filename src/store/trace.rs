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
pub(super) use walk::{Walked, back};

use super::error::StoreError;
use crate::domain::trace::Start;

/// Adds to what is found the seed lots it was grown from, with their batches and trays.
pub(super) fn add_seed(conn: &Connection, found: &mut Found) -> Result<(), StoreError> {
    for id in back(conn, &found.lots, &found.trays, &[])?.seed_lots {
        let of = resolve(conn, &Start::SeedLot(id))?;
        found.title = format!("{}; {}", found.title, of.title);
        found.seed_lots.extend(of.seed_lots);
        found.sowings.extend(of.sowings);
        found.trays.extend(of.trays);
    }
    found.seed_lots.sort_unstable();
    found.seed_lots.dedup();
    found.sowings.sort_unstable();
    found.sowings.dedup();
    found.trays.sort_unstable();
    found.trays.dedup();
    Ok(())
}
