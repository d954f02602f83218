//! Seed in water: soaked overnight for the next morning, and in the morning for later.

use super::sow::Grown;
use super::{Notebook, Room};
use crate::domain::action::Action;
use crate::domain::soak::NewSoak;
use crate::domain::time::Day;
use crate::store::error::StoreError;

impl Room<'_> {
    /// The crops whose seed is soaked, those sown most first, as they are counted here.
    pub(super) fn soaked_crops(&self) -> Vec<usize> {
        let soaks = |grown: &Grown| grown.crop.plan.soak_h > 0 && grown.weekly > 0;
        self.grown.iter().enumerate().filter(|(_, grown)| soaks(grown)).map(|(n, _)| n).collect()
    }

    /// Seed for two trays goes into water.
    pub(super) fn soak(&self, crop: Option<&usize>, book: &mut Notebook) -> Result<(), StoreError> {
        let Some(grown) = crop.and_then(|crop| self.grown.get(*crop)) else { return Ok(()) };
        let lots = grown.usable(&self.store.seed_lots()?, book.at.day());
        if let Some((lot, _)) = lots.into_iter().find(|(_, left)| *left >= grown.mg(2)) {
            let (mg, start, minutes) = (grown.mg(2), book.at.instant(), grown.crop.plan.soak_h * 60);
            book.write(0, Action::Soak(NewSoak { lot, mg, start, minutes, with: None }));
        }
        Ok(())
    }

    /// Yesterday: seed for this morning is soaked overnight.
    pub(super) fn evening(&mut self, day: Day) -> Result<(), StoreError> {
        let mut book = self.notebook(day, 20 * 60 + 30);
        self.soak(self.soaked_crops().first(), &mut book)?;
        self.commit(&book)?;
        Ok(())
    }
}
