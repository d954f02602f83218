//! What the seed shelf tells beside its lots: four statements, whatever there is.

use super::error::StoreError;
use super::{Store, germ_test, seed_page, seed_use, supplier};
use crate::domain::germ_test::GermTest;
use crate::domain::id::SeedLotId;
use crate::domain::seed_lot::SeedLot;
use crate::domain::seed_page::SeedPage;
use crate::domain::seed_shelf::Shelf;
use crate::domain::time::Day;

impl Store {
    /// Tests, suppliers and how long the seed lasts; `lots` as they were read.
    pub fn seed_shelf(&self, lots: &[SeedLot], today: Day) -> Result<Shelf, StoreError> {
        let suppliers = supplier::all(&self.conn)?;
        let uses = seed_use::read(&self.conn, lots, &suppliers, today)?;
        Ok(Shelf { tests: germ_test::all(&self.conn)?, suppliers, uses })
    }

    /// Germination tests of a lot, the newest first.
    pub fn germ_tests(&self, lot: SeedLotId) -> Result<Vec<GermTest>, StoreError> {
        germ_test::of_lot(&self.conn, lot)
    }

    /// Everything a lot gave.
    pub fn seed_page(&self, lot: SeedLotId) -> Result<SeedPage, StoreError> {
        seed_page::read(&self.conn, lot)
    }
}
