//! The week per crop as the book keeps it: whole numbers, so that sums are exact whatever their order.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::{End, Facts, Weighing};
use crate::domain::id::CropId;
use crate::domain::time::Day;

/// One crop in one ISO week.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Rolled {
    pub sown: i64,
    pub sown_mg: i64,
    pub ended: i64,
    pub lost: i64,
    pub cut: i64,
    /// Values of grams a tray, their sum and sum of squares, in tenths of a gram; a marked one is none.
    pub n: i64,
    pub sum_dg: i64,
    pub sum_dg2: i64,
    /// Of an even number between the two in the middle, half a tenth up.
    pub median_dg: Option<i64>,
    pub grams: i64,
    pub cut_mg: i64,
}

impl Rolled {
    /// Mean grams a tray.
    pub fn mean(&self) -> Option<f64> {
        #[expect(clippy::cast_precision_loss, reason = "tenths of a gram of a week")]
        let mean = self.sum_dg as f64 / self.n as f64 / 10.0;
        (self.n > 0).then_some(mean)
    }

    /// Median grams a tray.
    pub fn median(&self) -> Option<f64> {
        #[expect(clippy::cast_precision_loss, reason = "tenths of a gram of a tray")]
        let grams = |dg: i64| dg as f64 / 10.0;
        self.median_dg.map(grams)
    }
}

/// A crop's week as a line of its history.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Weekly {
    pub week: Day,
    pub crop: CropId,
    pub rolled: Rolled,
}

/// Every crop of one week's facts.
pub fn roll(facts: &Facts) -> BTreeMap<CropId, Rolled> {
    let crops: BTreeSet<CropId> = facts
        .sown
        .iter()
        .map(|one| one.sowing)
        .chain(facts.ended.iter().map(|one| one.sowing))
        .filter_map(|sowing| facts.crop_of(sowing))
        .chain(facts.weighings.iter().map(|one| one.crop))
        .collect();
    crops.into_iter().map(|crop| (crop, of(crop, facts))).collect()
}

fn of(crop: CropId, facts: &Facts) -> Rolled {
    let mut row = Rolled::default();
    for one in &facts.sown {
        if let Some(batch) = facts.batch(one.sowing).filter(|batch| batch.crop == crop) {
            row.sown += 1;
            row.sown_mg += share(batch.seed_mg, batch.trays);
        }
    }
    for one in facts.ended.iter().filter(|one| facts.crop_of(one.sowing) == Some(crop)) {
        row.ended += 1;
        row.lost += i64::from(matches!(one.end, End::Lost(_)));
        row.cut += i64::from(one.end == End::Cut);
    }
    let mut values: Vec<i64> = Vec::new();
    for one in facts.weighings.iter().filter(|one| one.crop == crop) {
        row.grams += i64::try_from(one.grams).unwrap_or(i64::MAX);
        // the seed of a tray is counted with its first cut
        row.cut_mg += one.on.iter().filter(|_| !one.regrown).map(|on| tray_mg(facts, on)).sum::<i64>();
        values.extend(Some(one).filter(|one| one.counts()).map(Weighing::value_dg));
    }
    values.sort_unstable();
    row.n = i64::try_from(values.len()).unwrap_or(i64::MAX);
    row.sum_dg = values.iter().sum();
    row.sum_dg2 = values.iter().map(|value| value * value).sum();
    row.median_dg = median(&values);
    row
}

/// Of values in their order.
fn median(values: &[i64]) -> Option<i64> {
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    let lower = if values.len().is_multiple_of(2) { *values.get(middle - 1)? } else { upper };
    Some((lower + upper + 1).div_euclid(2))
}

/// Seed of one tray, to the milligram below.
fn share(seed_mg: Option<u64>, trays: u64) -> i64 {
    i64::try_from(seed_mg.unwrap_or(0) / trays.max(1)).unwrap_or(i64::MAX)
}

fn tray_mg(facts: &Facts, on: &super::facts::OnScale) -> i64 {
    let mats = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
    let whole = facts.batch(on.sowing).map_or(0, |batch| share(batch.seed_mg, batch.trays));
    whole * mats(on.mats) / mats(on.of.max(1))
}
