//! The book: `SQLite` behind one door.

pub mod backup;
pub mod error;
pub mod header;
pub mod migrate;
pub mod open;
#[cfg(test)]
mod testing;
