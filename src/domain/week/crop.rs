//! What one crop gave in some days: trays, weights, seed, losses, days to the cut, money.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::{Batch, CropFigures, End, Ended, Facts, Weighing, real};
use crate::domain::harvest::plausible;
use crate::domain::id::{CropId, SowingId, TrayId};
use crate::domain::proportion::Share;
use crate::domain::stats::spread::{Ratio, Spread, fences, ratio};
use crate::domain::time::{Day, day_number};
use crate::domain::tray::LossReason;

/// One crop of a review. Every count stands beside the trays it is of.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct CropReview {
    pub crop: CropId,
    pub name: String,
    pub sown: Vec<TrayId>,
    pub sown_mg: u64,
    pub ended: Vec<Ended>,
    /// Lost of those that ended; none where nothing ended.
    pub lost: Option<Share>,
    /// Why, the most frequent first.
    pub reasons: Vec<(LossReason, Vec<TrayId>)>,
    /// Trays of which only a part was lost.
    pub parts: Vec<TrayId>,
    pub weighings: Vec<Weighing>,
    pub grams: u64,
    /// Grams a tray, of all weights; and without those that someone marked, where there are such.
    pub spread: Option<Spread>,
    pub unmarked: Option<Spread>,
    /// Weights to be looked at again, by their number in `weighings`, with the reason.
    pub check: Vec<(usize, String)>,
    /// Grams per gram of seed: of the trays that were cut, and of all that ended cut or lost.
    pub per_seed: Option<Ratio>,
    pub per_seed_all: Option<Ratio>,
    pub days: Option<Days>,
    pub money: Option<Money>,
}

/// Days from the sowing to the cut, of trays.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Days {
    pub spread: Spread,
    pub early: Vec<TrayId>,
    pub late: Vec<TrayId>,
    /// Of the plan, where all had the same.
    pub window: Option<(i64, i64)>,
}

/// What trays that ended cost, and what was sold of the crop in the same days, in hundredths. What is sold was cut before, so that
/// only many weeks together tell what a tray brings.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Money {
    pub trays: u64,
    /// Those of them that were not lost.
    pub good: u64,
    /// Of one tray.
    pub seed_c: f64,
    /// All else that a tray costs.
    pub tray_c: f64,
    /// All that was sold of the crop in these days, at the present prices.
    pub income_c: Option<f64>,
    /// Where that comes from.
    pub incomes: Vec<Income>,
}

/// What a product brought for one crop in it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Income {
    pub product: String,
    pub packs: u64,
    pub price_c: Option<u64>,
    /// Of the crop, per mille.
    pub share_pm: u64,
}

impl Income {
    /// The crop's part of the price of all packs; none without a price.
    pub fn cents(&self) -> Option<f64> {
        Some(real(self.packs) * real(self.price_c?) * real(self.share_pm) / 1000.0)
    }
}

impl Money {
    /// Only where both prices of the crop are set, and something ended.
    pub fn of(crop: &CropFigures, facts: &Facts) -> Option<Self> {
        let ended: Vec<&Ended> = ended_of(crop.id, facts).collect();
        let (seed_kg_c, tray_c, trays) = (real(crop.seed_kg_c?), real(crop.tray_c?), ended.len() as u64);
        let seed_g: f64 =
            ended.iter().map(|one| seed_g_of(facts, one.sowing)).sum::<Option<f64>>().filter(|_| trays > 0)?;
        let mine = facts.sold.iter().filter_map(|sold| {
            let share_pm = sold.parts.iter().find(|(of, _)| *of == crop.id)?.1;
            Some(Income { product: sold.product.clone(), packs: sold.packs, price_c: sold.price_c, share_pm })
        });
        let incomes: Vec<Income> = mine.collect();
        let good = ended.iter().filter(|one| !matches!(one.end, End::Lost(_))).count() as u64;
        let income_c = incomes.iter().map(Income::cents).sum::<Option<f64>>();
        Some(Self { trays, good, seed_c: seed_g / 1000.0 * seed_kg_c / real(trays), tray_c, income_c, incomes })
    }

    /// Of one tray.
    pub fn cost_c(&self) -> f64 {
        self.seed_c + self.tray_c
    }

    /// Of all of them.
    pub fn costs_c(&self) -> f64 {
        self.cost_c() * real(self.trays)
    }

    /// What a tray brought more than it cost, the lost ones too.
    pub fn margin_c(&self) -> Option<f64> {
        Some(self.income_c? / real(self.trays) - self.cost_c())
    }

    /// What one good tray more would have earned.
    pub fn earned_c(&self) -> Option<f64> {
        if self.good == 0 { None } else { Some(self.income_c? / real(self.good) - self.cost_c()) }
    }
}

impl CropReview {
    pub fn cut(&self) -> usize {
        self.ended.iter().filter(|one| one.end == End::Cut).count()
    }

    /// All trays that were cut, also those that grow again.
    pub fn cut_at_all(&self) -> usize {
        self.cut() + self.grow_again().len()
    }

    /// Trays that were cut in these days and grow again, so that they have not ended.
    pub fn grow_again(&self) -> Vec<TrayId> {
        let cut = self.weighings.iter().filter(|one| one.again).flat_map(|one| &one.on).map(|on| on.tray);
        let cut: BTreeSet<TrayId> = cut.collect();
        cut.into_iter().filter(|tray| self.ended.iter().all(|one| one.tray != *tray)).collect()
    }

    pub fn count(&self, end: End) -> usize {
        self.ended.iter().filter(|one| one.end == end).count()
    }

    /// The spread to go by: without what was marked as wrong.
    pub fn believed(&self) -> Option<&Spread> {
        if self.marked().next().is_some() { self.unmarked.as_ref() } else { self.spread.as_ref() }
    }

    /// Weights to go by.
    pub fn values(&self) -> Vec<f64> {
        self.weighings.iter().filter(|one| one.counts()).map(Weighing::value).collect()
    }

    /// First cuts that somebody marked as not right.
    pub fn marked(&self) -> impl Iterator<Item = &Weighing> {
        self.weighings.iter().filter(|one| one.odd && !one.regrown)
    }

    /// Works one crop out.
    pub fn of(crop: &CropFigures, facts: &Facts) -> Self {
        let mine = |sowing| facts.batch(sowing).filter(|batch| batch.crop == crop.id);
        let sown: Vec<(TrayId, &Batch)> =
            facts.sown.iter().filter_map(|one| Some((one.tray, mine(one.sowing)?))).collect();
        let ended: Vec<Ended> = ended_of(crop.id, facts).copied().collect();
        let mut reasons: BTreeMap<LossReason, Vec<TrayId>> = BTreeMap::new();
        for one in &ended {
            if let End::Lost(reason) = one.end {
                reasons.entry(reason).or_default().push(one.tray);
            }
        }
        let mut reasons: Vec<_> = reasons.into_iter().collect();
        reasons.sort_by_key(|(_, trays)| std::cmp::Reverse(trays.len()));
        let lost = reasons.iter().map(|(_, trays)| trays.len() as u64).sum();
        let weighings: Vec<Weighing> = facts.weighings.iter().filter(|one| one.crop == crop.id).cloned().collect();
        let all: Vec<f64> = weighings.iter().filter(|one| !one.regrown).map(Weighing::value).collect();
        let good: Vec<f64> = weighings.iter().filter(|one| one.counts()).map(Weighing::value).collect();
        let marked = good.len() < all.len();
        let check = to_check(crop, &weighings);
        let money = Money::of(crop, facts);
        let days = days(facts, &ended, &weighings);
        Self {
            crop: crop.id,
            name: crop.name.clone(),
            sown_mg: whole(sown.iter().filter_map(|(_, batch)| batch.tray_mg()).sum()),
            sown: sown.into_iter().map(|(tray, _)| tray).collect(),
            lost: Share::of(lost, ended.len() as u64).ok(),
            reasons,
            parts: facts.parts.iter().filter(|one| mine(one.sowing).is_some()).map(|one| one.tray).collect(),
            grams: weighings.iter().map(|one| one.grams).sum(),
            spread: Spread::of(&all),
            unmarked: marked.then(|| Spread::of(&good)).flatten(),
            check,
            per_seed: ratio(&per_weighing(facts, &weighings)),
            per_seed_all: with_lost(crop.id, facts, &weighings, &ended),
            days,
            money,
            weighings,
            ended,
        }
    }

    /// Nothing of it in these days.
    pub fn is_empty(&self) -> bool {
        self.sown.is_empty() && self.ended.is_empty() && self.weighings.is_empty() && self.parts.is_empty()
    }
}

/// Grams and grams of seed of weighings whose seed is known.
fn per_weighing(facts: &Facts, weighings: &[Weighing]) -> Vec<(f64, f64)> {
    weighings.iter().filter(|one| one.counts()).filter_map(|one| Some((real(one.grams), seed_g(facts, one)?))).collect()
}

/// Grams of seed under what was on the scale.
fn seed_g(facts: &Facts, weighing: &Weighing) -> Option<f64> {
    let of = |one: &super::facts::OnScale| Some(seed_g_of(facts, one.sowing)? * real(one.mats) / real(one.of.max(1)));
    weighing.on.iter().map(of).sum::<Option<f64>>().filter(|seed| *seed > 0.0)
}

/// Grams of seed in one tray of a batch.
fn seed_g_of(facts: &Facts, sowing: SowingId) -> Option<f64> {
    Some(facts.batch(sowing)?.tray_mg()? / 1000.0)
}

/// The same with trays, and parts of trays, that gave nothing.
fn with_lost(crop: CropId, facts: &Facts, weighings: &[Weighing], ended: &[Ended]) -> Option<Ratio> {
    let lost = ended.iter().filter(|one| matches!(one.end, End::Lost(_)));
    let lost = lost.filter_map(|one| Some((0.0, seed_g_of(facts, one.sowing)?)));
    let mine = |sowing| facts.crop_of(sowing) == Some(crop);
    let parts = facts.parts.iter().filter(|one| mine(one.sowing));
    let parts =
        parts.filter_map(|one| Some((0.0, seed_g_of(facts, one.sowing)? * real(one.mats) / real(one.of.max(1)))));
    let pairs: Vec<(f64, f64)> = per_weighing(facts, weighings).into_iter().chain(lost).chain(parts).collect();
    ratio(&pairs)
}

/// Weights outside Tukey's inner fences, or far from the crop's own figure.
fn to_check(crop: &CropFigures, weighings: &[Weighing]) -> Vec<(usize, String)> {
    let first: Vec<(usize, f64)> =
        weighings.iter().enumerate().filter(|(_, one)| !one.regrown).map(|(n, one)| (n, one.value())).collect();
    let values: Vec<f64> = first.iter().map(|(_, value)| *value).collect();
    // where the middle half is all alike there is no distance to measure with
    let fences = fences(&values).filter(|fences| fences.inner.0 < fences.inner.1);
    let odd = |value: f64| {
        if let Some(fences) = fences.as_ref() {
            let (low, high) = (fences.inner.0.max(0.0), fences.inner.1);
            let far = format!("far from the other {}: between {low:.0} and {high:.0} g would not be", values.len() - 1);
            return (value < fences.inner.0 || value > fences.inner.1).then_some(far);
        }
        let usual = crop.yield_g?;
        #[expect(clippy::cast_possible_truncation, reason = "grams of a tray")]
        let grams = value.round() as i64;
        let odd = !plausible(i64::try_from(usual).unwrap_or(0), grams);
        odd.then(|| format!("less than half or more than double of the {usual} g that the crop's settings say"))
    };
    first.iter().filter_map(|(n, value)| Some((*n, odd(*value)?))).collect()
}

fn days(facts: &Facts, ended: &[Ended], weighings: &[Weighing]) -> Option<Days> {
    // a tray that grew again was cut by its plan the first time
    let on = |again: fn(&Weighing) -> bool| -> BTreeSet<TrayId> {
        weighings.iter().filter(|one| again(one)).flat_map(|one| &one.on).map(|on| on.tray).collect()
    };
    let regrown = on(|one| one.regrown);
    let first = weighings.iter().filter(|one| one.again && !one.regrown);
    let first = first.flat_map(|one| one.on.iter().map(|on| (on.tray, on.sowing, one.day)));
    let first: BTreeSet<(TrayId, SowingId, Day)> = first.collect();
    let cut: Vec<(TrayId, i64, (i64, i64))> = ended
        .iter()
        .filter(|one| one.end == End::Cut && !regrown.contains(&one.tray))
        .map(|one| (one.tray, one.sowing, one.day))
        .filter(|one| first.iter().all(|(tray, ..)| *tray != one.0))
        .chain(first.iter().copied())
        .filter_map(|(tray, sowing, day)| {
            let batch = facts.batch(sowing)?;
            Some((tray, day_number(batch.day, day), batch.window))
        })
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "days of a tray")]
    let values: Vec<f64> = cut.iter().map(|(_, day, _)| *day as f64).collect();
    let first = cut.first()?.2;
    Some(Days {
        spread: Spread::of(&values)?,
        early: cut.iter().filter(|(_, day, window)| *day < window.0).map(|(tray, ..)| *tray).collect(),
        late: cut.iter().filter(|(_, day, window)| *day > window.1).map(|(tray, ..)| *tray).collect(),
        window: cut.iter().all(|(.., window)| *window == first).then_some(first),
    })
}

/// Milligrams as the book keeps them.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "seed of some days, at or above nothing")]
fn whole(mg: f64) -> u64 {
    mg.round() as u64
}

/// Trays of a crop that ended.
fn ended_of(crop: CropId, facts: &Facts) -> impl Iterator<Item = &Ended> {
    facts.ended.iter().filter(move |one| facts.crop_of(one.sowing) == Some(crop))
}
