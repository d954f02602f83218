//! The book: SQLite behind one door. [`Store::act`] is the only function that writes.

mod act;
pub mod air;
mod answering;
mod ask;
pub mod backup;
mod bands;
mod board;
mod breach;
mod cause;
pub mod chain;
mod check;
mod cleaning;
mod cold;
mod complaint;
mod copy;
mod correct;
mod crop;
mod customer;
mod delivery;
mod derive;
pub mod error;
pub mod facts;
mod fuzz;
mod germ_test;
mod goods;
mod hands;
mod harvest;
mod header;
mod history;
mod hold;
mod ids;
mod live;
mod look;
mod lot;
pub mod migrate;
mod mix;
pub mod open;
mod order;
mod packing;
mod person;
#[cfg(test)]
mod plans;
mod power_cut;
mod product;
mod recall;
mod recipe;
mod records;
pub mod restore;
mod review;
mod revision;
mod room;
mod round;
mod score;
mod seed_lot;
mod seed_page;
mod seed_shelf;
mod seed_use;
mod sender;
mod setting;
mod share;
mod soak;
mod sowing;
mod spell;
mod standing;
mod stay;
mod stock;
mod supplier;
mod suspect;
#[cfg(test)]
mod testing;
mod timeline;
mod tool;
pub mod trace;
mod tray;
mod treatment;
mod undo;
mod walk;
mod water;
mod week;
mod whereabouts;
mod writer;

use std::path::Path;

use rusqlite::Connection;

use self::error::StoreError;

/// An open book.
pub struct Store {
    conn: Connection,
    read_only: bool,
}

impl Store {
    /// The folder the book lies in; none if it lies in memory.
    pub fn folder(&self) -> Option<std::path::PathBuf> {
        Path::new(self.conn.path()?).parent().map(Path::to_path_buf)
    }

    /// Opens or makes the book; `stamp` names a backup made before an upgrade.
    pub fn open(path: &Path, stamp: &str) -> Result<Self, StoreError> {
        let opened = open::open(path, stamp)?;
        opened.conn.set_prepared_statement_cache_capacity(256);
        let mut store = Self { conn: opened.conn, read_only: opened.read_only };
        if matches!(opened.verdict, open::Verdict::Upgrade { .. }) && !store.read_only {
            // what is derived may be worked out otherwise by now
            store.rebuild()?;
        }
        Ok(store)
    }

    /// Whether the book can only be read: its file is, or a newer program made it.
    pub fn read_only(&self) -> bool {
        self.read_only
    }

    /// A number that changes when another connection wrote.
    pub fn data_version(&self) -> Result<i64, StoreError> {
        Ok(self.conn.query_row("PRAGMA data_version", [], |row| row.get(0))?)
    }

    /// Checks the hash chain.
    pub fn verify_chain(&self, progress: impl FnMut(i64)) -> Result<chain::Chain, StoreError> {
        chain::verify(&self.conn, progress)
    }

    /// Works the derived rows out again; says how many differed.
    pub fn rebuild(&mut self) -> Result<usize, StoreError> {
        let tx = self.conn.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let differed = derive::rebuild(&tx)? + spell::rebuild(&tx)? + lot::rebuild(&tx)? + week::rebuild(&tx)?;
        tx.commit()?;
        Ok(differed)
    }

    /// SQLite's own look at the file: empty if sound.
    pub fn integrity(&self) -> Result<Vec<String>, StoreError> {
        integrity(&self.conn)
    }

    /// A verified copy to a new file; see [`backup::backup`].
    pub fn backup(&self, to: &Path, progress: impl FnMut(i32, i32) -> bool) -> Result<(), StoreError> {
        backup::backup(&self.conn, to, progress)
    }
}

/// `SQLite`'s own look at a book's file: empty if sound.
fn integrity(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let mut found: Vec<String> =
        conn.prepare("PRAGMA integrity_check(20)")?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    found.retain(|line| line != "ok");
    let keys: i64 = conn.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))?;
    if keys > 0 {
        found.push(format!("{keys} rows refer to rows that do not exist"));
    }
    Ok(found)
}
