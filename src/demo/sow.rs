//! Seed deliveries and sowings of the demo room.

use std::collections::HashSet;

use chrono::Duration;

use super::scenario::{Scenario, ScenarioCrop};
use crate::domain::crop::Crop;
use crate::domain::id::{FormatId, PlaceId, SeedLotId};
use crate::domain::seed_lot::{NewSeedLot, SeedLot, Treated};
use crate::domain::sowing::{NewSowing, Part, Wetting};
use crate::domain::time::Day;

/// Germination of a lot that disappoints, per mille.
const WEAK_PM: i64 = 710;

/// A crop of the room and what was received of it.
pub struct Grown {
    pub crop: Crop,
    pub of: ScenarioCrop,
    /// Trays in a week.
    pub weekly: usize,
    /// Deliveries so far.
    pub deliveries: u32,
}

/// A delivery and whether it germinates poorly.
pub struct Delivery {
    pub lot: NewSeedLot,
    pub weak: bool,
}

impl Grown {
    /// Milligrams of seed for some trays.
    pub fn mg(&self, trays: usize) -> i64 {
        self.crop.tray_mg.saturating_mul(i64::try_from(trays).unwrap_or(i64::MAX))
    }

    /// Lots that may be sown on a day, in the order of use, with what is left.
    pub fn usable(&self, lots: &[SeedLot], day: Day) -> Vec<(SeedLotId, i64)> {
        let fit = |lot: &&SeedLot| lot.crop == self.crop.id && lot.bar(day).is_none();
        lots.iter().filter(fit).map(|lot| (lot.id, lot.left_mg)).collect()
    }

    /// The next delivery: enough for a good week, and for twice what is wanted now.
    pub fn deliver(&mut self, scenario: &Scenario, received: Day, trays: usize) -> Delivery {
        self.deliveries += 1;
        let n = self.deliveries;
        let weak = self.of.weak_lot == Some(n);
        let stated = self.of.unstated_lot != Some(n);
        let supplier = scenario.suppliers.get(self.of.supplier);
        let lot = NewSeedLot {
            crop: self.crop.id,
            variety: self.of.variety.clone(),
            supplier: supplier.map_or_else(|| "unknown".into(), |s| s.name.clone()),
            supplier_address: supplier.map_or_else(String::new, |s| s.address.clone()),
            supplier_lot: format!("{}{}", self.of.lot, 100 + 7 * n),
            mg: bag(self.mg(self.weekly) * 13 / 10).max(bag(self.mg(trays) * 2)),
            received,
            use_by: Some(received + Duration::days(self.of.keeps_d)),
            germ_pm: Some(if weak { WEAK_PM } else { self.of.germ_pm }),
            tsw_mg: None,
            treated: if stated { Treated::No } else { Treated::NotStated },
            cert: None,
            document: Some(format!("invoice {}", received.format("%y%m%d"))),
            kept: Some("seed cupboard".into()),
        };
        Delivery { lot, weak }
    }

    /// A sowing of these parts into these places.
    pub fn sowing(
        &self,
        day: Day,
        format: FormatId,
        medium_lot: Option<&str>,
        parts: Vec<Part>,
        places: Vec<PlaceId>,
    ) -> NewSowing {
        NewSowing {
            crop: self.crop.id,
            day,
            format,
            mats: 1,
            medium: self.crop.medium,
            medium_lot: medium_lot.map(str::to_owned),
            wetting: Wetting::Water,
            soaks: Vec::new(),
            soak_h: self.crop.plan.soak_h,
            parts,
            places,
            counts: Vec::new(),
        }
    }
}

/// Which trays of a sowing, in order, got seed of a poor lot.
pub fn weak_trays(parts: &[Part], weak: &HashSet<SeedLotId>) -> Vec<bool> {
    parts
        .iter()
        .flat_map(|part| std::iter::repeat_n(part.seed.iter().any(|(lot, _)| weak.contains(lot)), part.trays))
        .collect()
}

/// Seed comes in bags of 25 g, from a kilogram on of 250 g: the next full one, mg.
fn bag(mg: i64) -> i64 {
    let size = if mg < 1_000_000 { 25_000 } else { 250_000 };
    (mg.max(1) + size - 1) / size * size
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bags_are_full() {
        assert_eq!([bag(0), bag(25_000), bag(25_001), bag(1_000_001)], [25_000, 25_000, 50_000, 1_250_000]);
    }

    #[test]
    fn a_tray_of_two_lots_is_as_weak_as_the_worse() {
        let (good, poor) = (SeedLotId(1), SeedLotId(2));
        let parts = [
            Part { trays: 2, seed: vec![(good, 1)] },
            Part { trays: 1, seed: vec![(good, 1), (poor, 1)] },
            Part { trays: 1, seed: vec![(poor, 1)] },
        ];
        assert_eq!(weak_trays(&parts, &HashSet::from([poor])), [false, false, true, true]);
    }
}
