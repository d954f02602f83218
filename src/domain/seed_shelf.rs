//! What the seed shelf tells beside its lots: tests, suppliers, and how long the seed of a crop lasts.

use super::germ_test::GermTest;
use super::id::{CropId, GermTestId, SeedLotId, SupplierId};
use super::seed_use::SeedUse;
use super::supplier::Supplier;

/// Read together with the lots.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Shelf {
    /// The newest first.
    pub tests: Vec<GermTest>,
    pub suppliers: Vec<Supplier>,
    /// Of each crop of which there ever was a lot.
    pub uses: Vec<SeedUse>,
}

impl Shelf {
    pub fn tests_of(&self, lot: SeedLotId) -> impl Iterator<Item = &GermTest> {
        self.tests.iter().filter(move |test| test.lot == lot)
    }

    pub fn test(&self, id: GermTestId) -> Option<&GermTest> {
        self.tests.iter().find(|test| test.id == id)
    }

    pub fn supplier(&self, id: SupplierId) -> Option<&Supplier> {
        self.suppliers.iter().find(|supplier| supplier.id == id)
    }

    pub fn of_crop(&self, crop: CropId) -> Option<&SeedUse> {
        self.uses.iter().find(|seed| seed.crop == crop)
    }
}
