//! Germination tests of the crop whose second lot disappoints, and how long suppliers take.

use chrono::Duration;

use super::Room;
use crate::domain::action::Action;
use crate::domain::germ_test::{DayCount, GermEnd, NewGermTest};
use crate::domain::time::{Day, day_number};
use crate::store::error::StoreError;

/// Normal seedlings of four times 25 seeds, day 2 to day 5: of good seed, and of poor.
const GOOD: [[i64; 4]; 4] = [[15, 14, 16, 15], [6, 8, 7, 7], [2, 1, 1, 2], [1, 0, 0, 0]];
const POOR: [[i64; 4]; 4] = [[7, 6, 8, 7], [6, 7, 5, 6], [4, 3, 4, 3], [1, 2, 0, 2]];
/// The day of the room on which both tests are over.
const OVER: i64 = 7;
/// Days from order to delivery, of each supplier.
const LEADS: [i64; 2] = [5, 9];

impl Room<'_> {
    /// What was counted in the first week is written down at its end.
    pub(super) fn tests(&mut self, day: Day) -> Result<(), StoreError> {
        let first = self.calendar.first;
        if day_number(first, day) != OVER {
            return Ok(());
        }
        let doubted = self.grown.iter().find(|grown| grown.of.weak_lot.is_some()).map(|grown| grown.crop.id);
        let lots = self.store.seed_lots()?;
        let mut book = self.notebook(day, 14 * 60);
        for lot in lots.iter().filter(|lot| Some(lot.crop) == doubted && lot.received < first) {
            let found = if self.weak_lots.contains(&lot.id) { POOR } else { GOOD };
            let counts = (2i64..).zip(found);
            let counts: Vec<DayCount> = counts
                .map(|(n, normal)| DayCount { day: first + Duration::days(n), normal: normal.to_vec() })
                .collect();
            let end = Some(GermEnd { day: first + Duration::days(5), abnormal: Some(2), hard: None, dead: None });
            let new = NewGermTest { counts, end, ..NewGermTest::of(lot.id, first, 4, 25) };
            book.write(180, Action::BeginGermTest(Box::new(new)));
        }
        for (supplier, lead) in self.store.seed_shelf(&lots, day)?.suppliers.iter().zip(LEADS) {
            let (name, address) = (supplier.name.clone(), supplier.address.clone());
            let (retired, rev) = (supplier.retired, supplier.rev);
            book.write(
                60,
                Action::EditSupplier { supplier: supplier.id, name, address, lead_d: Some(lead), retired, rev },
            );
        }
        self.commit(&book)?;
        Ok(())
    }
}
