//! Everything a seed lot gave: what was sown of it, what that gave, what was lost, where it went.

mod words;

use std::collections::{BTreeMap, BTreeSet};

pub use words::lines;

use super::complaint::What;
use super::germ_test::GermTest;
use super::id::{ComplaintId, HoldId, LotId, SeedLotId, SowingId, TrayId};
use super::proportion::Share;
use super::time::Day;
use super::tray::LossReason;

/// A batch with seed of the lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Batch {
    pub sowing: SowingId,
    pub code: String,
    pub day: Day,
    /// Of this lot; unknown of what stood before the book.
    pub mg: Option<i64>,
    pub trays: usize,
    /// No other lot is in it.
    pub alone: bool,
}

/// A tray of one of these batches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Tray {
    pub tray: TrayId,
    pub sowing: SowingId,
    /// Cut, left alive or thrown out: not in the room any more.
    pub ended: bool,
    /// Thrown out for good, and why.
    pub lost: Option<LossReason>,
}

/// A harvest lot with one of these trays in it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Weighing {
    pub lot: LotId,
    pub code: String,
    pub day: Day,
    /// All of it, in grams.
    pub grams: i64,
    /// All its trays, with their own weights where they have one.
    pub trays: Vec<(TrayId, Option<i64>)>,
}

/// A hold that touches it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Hold {
    pub id: HoldId,
    pub day: Day,
    pub of: String,
    /// Nobody has lifted it yet.
    pub open: bool,
}

/// A complaint about something made of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Complaint {
    pub id: ComplaintId,
    pub day: Day,
    pub what: What,
}

/// The facts behind a lot's page.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SeedPage {
    pub lot: SeedLotId,
    /// The oldest first.
    pub batches: Vec<Batch>,
    pub trays: Vec<Tray>,
    pub weighings: Vec<Weighing>,
    pub tests: Vec<GermTest>,
    pub holds: Vec<Hold>,
    pub complaints: Vec<Complaint>,
    /// Packs that are with customers, and how many customers that are.
    pub packs_out: i64,
    pub customers: i64,
}

/// What was weighed of trays that are of this lot alone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Yield {
    pub grams: i64,
    pub trays: BTreeSet<TrayId>,
    /// Trays of it that were weighed together with others, or are of several lots, and what those weighings came to.
    pub left_out: BTreeSet<TrayId>,
    pub left_out_g: i64,
}

impl SeedPage {
    /// Trays of batches with no other seed in them.
    fn own(&self) -> BTreeSet<TrayId> {
        let alone = self.batches.iter().filter(|batch| batch.alone);
        let alone: BTreeSet<SowingId> = alone.map(|batch| batch.sowing).collect();
        self.trays.iter().filter(|tray| alone.contains(&tray.sowing)).map(|tray| tray.tray).collect()
    }

    /// Own weights, and weights together of trays that are all of this lot.
    pub fn weighed(&self) -> Yield {
        let own = self.own();
        let touched: BTreeSet<TrayId> = self.trays.iter().map(|tray| tray.tray).collect();
        let mut found = Yield::default();
        for weighing in &self.weighings {
            let apart: i64 = weighing.trays.iter().filter_map(|(_, grams)| *grams).sum();
            for (tray, grams) in weighing.trays.iter().filter_map(|(tray, grams)| Some((*tray, (*grams)?))) {
                if own.contains(&tray) {
                    found.grams += grams;
                    found.trays.insert(tray);
                } else if touched.contains(&tray) {
                    found.left_out_g += grams;
                    found.left_out.insert(tray);
                }
            }
            let together = || weighing.trays.iter().filter(|(_, grams)| grams.is_none()).map(|(tray, _)| *tray);
            if together().next().is_none() {
                continue;
            }
            let rest = weighing.grams - apart;
            if together().all(|tray| own.contains(&tray)) {
                found.grams += rest;
                found.trays.extend(together());
            } else if together().any(|tray| touched.contains(&tray)) {
                found.left_out_g += rest;
                found.left_out.extend(together().filter(|tray| touched.contains(tray)));
            }
        }
        found
    }

    /// Milligrams of seed in these trays, an equal part of their batch each; none where that is not known of one.
    #[expect(clippy::cast_precision_loss, reason = "a tonne in milligrams is far below 2^53")]
    fn seed_mg<'t>(&self, trays: impl Iterator<Item = &'t TrayId>) -> Option<f64> {
        let of: BTreeMap<TrayId, SowingId> = self.trays.iter().map(|tray| (tray.tray, tray.sowing)).collect();
        let mut sum = 0.0;
        for tray in trays {
            let batch = self.batches.iter().find(|batch| Some(&batch.sowing) == of.get(tray))?;
            if batch.trays == 0 {
                return None;
            }
            sum += batch.mg? as f64 / batch.trays as f64;
        }
        Some(sum)
    }

    /// Grams of greens to a gram of seed, of the trays weighed, and of how many.
    pub fn per_gram(&self) -> Option<(f64, usize)> {
        let weighed = self.weighed();
        Some((per(weighed.grams, self.seed_mg(weighed.trays.iter())?)?, weighed.trays.len()))
    }

    /// The same to the seed of all that was sown of it and ended, lost trays too; only where nothing was left out.
    pub fn per_gram_ended(&self) -> Option<(f64, usize)> {
        let weighed = self.weighed();
        let own = self.own();
        let ended: Vec<TrayId> =
            self.trays.iter().filter(|tray| tray.ended && own.contains(&tray.tray)).map(|tray| tray.tray).collect();
        let whole = self.trays.iter().filter(|tray| tray.ended && tray.lost.is_none());
        let known = weighed.left_out.is_empty() && whole.into_iter().all(|tray| weighed.trays.contains(&tray.tray));
        // what grows again is weighed and has not ended
        let over = weighed.trays.iter().all(|tray| ended.contains(tray));
        (known && over).then(|| Some((per(weighed.grams, self.seed_mg(ended.iter())?)?, ended.len())))?
    }

    /// Lost trays of those that ended.
    pub fn lost(&self) -> Option<Share> {
        let ended = self.trays.iter().filter(|tray| tray.ended);
        let lost = ended.clone().filter(|tray| tray.lost.is_some_and(|why| why != LossReason::NotNeeded)).count();
        Share::of(u64::try_from(lost).ok()?, u64::try_from(ended.count()).ok()?).ok()
    }

    /// Why, the commonest first.
    pub fn reasons(&self) -> Vec<(LossReason, usize)> {
        let mut found: BTreeMap<LossReason, usize> = BTreeMap::new();
        for why in self.trays.iter().filter(|tray| tray.ended).filter_map(|tray| tray.lost) {
            *found.entry(why).or_default() += 1;
        }
        let mut found: Vec<_> = found.into_iter().collect();
        found.sort_by_key(|(why, n)| (std::cmp::Reverse(*n), *why));
        found
    }
}

#[expect(clippy::cast_precision_loss, reason = "grams of a lot are far below 2^53")]
fn per(grams: i64, seed_mg: f64) -> Option<f64> {
    (seed_mg > 0.0 && grams > 0).then(|| grams as f64 * 1000.0 / seed_mg)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Three trays of the lot alone with 27 g each, two of it and another.
    pub fn page() -> SeedPage {
        let batch = |id, trays, mg, alone| Batch {
            sowing: SowingId(id),
            code: format!("B{id}"),
            day: "2026-07-01".parse().unwrap(),
            mg: Some(mg),
            trays,
            alone,
        };
        let tray = |id, sowing| Tray { tray: TrayId(id), sowing: SowingId(sowing), ended: true, lost: None };
        SeedPage {
            lot: SeedLotId(1),
            batches: vec![batch(1, 3, 81_000, true), batch(2, 2, 20_000, false)],
            trays: vec![tray(1, 1), tray(2, 1), tray(3, 1), tray(4, 2), tray(5, 2)],
            weighings: vec![],
            tests: vec![],
            holds: vec![],
            complaints: vec![],
            packs_out: 0,
            customers: 0,
        }
    }

    pub fn weighing(grams: i64, trays: &[(i64, Option<i64>)]) -> Weighing {
        Weighing {
            lot: LotId(1),
            code: "L1".into(),
            day: "2026-07-10".parse().unwrap(),
            grams,
            trays: trays.iter().map(|(tray, grams)| (TrayId(*tray), *grams)).collect(),
        }
    }

    #[test]
    fn own_weights_and_shares_of_trays_of_this_lot_alone_count() {
        let whole = SeedPage { weighings: vec![weighing(360, &[(1, Some(120)), (2, None), (3, None)])], ..page() };
        let found = whole.weighed();
        assert_eq!((found.grams, found.trays.len(), found.left_out.len()), (360, 3, 0));
        // derived by hand: 360 g of 3 x 27 g
        let (per, trays) = whole.per_gram().unwrap();
        assert!((per - 360.0 / 81.0).abs() < 1e-12 && trays == 3);
        // the two of several lots ended and were not weighed
        assert_eq!(whole.per_gram_ended(), None);
    }

    #[test]
    fn what_was_weighed_with_other_lots_is_left_out_and_told() {
        // 9 is of another lot altogether; 4 has a weight of its own, and seed of two lots
        let mixed = SeedPage {
            weighings: vec![weighing(500, &[(1, Some(120)), (2, None), (9, None)]), weighing(90, &[(4, Some(90))])],
            ..page()
        };
        let found = mixed.weighed();
        assert_eq!((found.grams, found.trays.len()), (120, 1));
        assert_eq!((found.left_out_g, found.left_out.len()), (380 + 90, 2));
        let (per, trays) = mixed.per_gram().unwrap();
        assert!((per - 120.0 / 27.0).abs() < 1e-12 && trays == 1);
    }

    #[test]
    fn nothing_cut_or_seed_unknown_gives_no_ratio() {
        assert_eq!((page().per_gram(), page().per_gram_ended()), (None, None));
        let mut before = SeedPage { weighings: vec![weighing(120, &[(1, Some(120))])], ..page() };
        before.batches[0].mg = None;
        assert_eq!(before.per_gram(), None);
        let none = SeedPage { trays: vec![], ..page() };
        assert_eq!((none.lost(), none.reasons()), (None, vec![]));
    }

    #[test]
    fn losses_are_of_the_trays_that_ended_and_what_was_not_needed_is_none() {
        let mut page = page();
        page.trays[0].lost = Some(LossReason::Mould);
        page.trays[1].lost = Some(LossReason::NotNeeded);
        page.trays[4].ended = false;
        let lost = page.lost().unwrap();
        assert_eq!((lost.x, lost.n), (1, 4));
        assert_eq!(page.reasons(), [(LossReason::Mould, 1), (LossReason::NotNeeded, 1)]);
        // trays lost count in the seed that ended: 240 g of 3 x 27 g
        page.trays.truncate(3);
        page.trays[1].lost = Some(LossReason::Rot);
        page.weighings = vec![weighing(120, &[(3, Some(120))])];
        let (per, trays) = page.per_gram_ended().unwrap();
        assert!((per - 120.0 / 81.0).abs() < 1e-12 && trays == 3);
    }
}
