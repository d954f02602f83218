//! A review of some days, and what they are compared with.

use super::crop::{CropReview, Money};
use super::differ::Differences;
use super::drift::Drift;
use super::facts::{CropFigures, Due, End, Facts, Outcome, Sold, Wasted};
use super::past::Past;
use crate::domain::id::{CropId, TrayId};
use crate::domain::period::Period;
use crate::domain::proportion::Share;
use crate::domain::review::Signature;
use crate::domain::stats::sow::{Enough, newsvendor, trays};
use crate::domain::time::Day;

/// What figures of money are followed by, such as EUR: one setting.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Currency(pub String);

impl Currency {
    /// At most so many letters.
    pub const MOST: usize = 8;
}

/// What the days themselves say.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Review {
    pub period: Period,
    pub begins: Option<Day>,
    pub crops: Vec<CropReview>,
    pub wasted: Vec<Wasted>,
    pub due: Vec<Due>,
    pub sold: Vec<Sold>,
    pub signed: Vec<Signature>,
    pub currency: String,
}

impl Review {
    pub fn of(facts: &Facts) -> Self {
        Self {
            period: facts.period,
            begins: facts.begins,
            crops: facts.crops.iter().map(|crop| CropReview::of(crop, facts)).filter(|crop| !crop.is_empty()).collect(),
            wasted: facts.wasted.clone(),
            due: facts.due.clone(),
            sold: facts.sold.clone(),
            signed: facts.signed.clone(),
            currency: facts.currency.clone(),
        }
    }

    pub fn sown(&self) -> usize {
        self.crops.iter().map(|crop| crop.sown.len()).sum()
    }

    pub fn count(&self, end: End) -> usize {
        self.crops.iter().map(|crop| crop.count(end)).sum()
    }

    pub fn grams(&self) -> u64 {
        self.crops.iter().map(|crop| crop.grams).sum()
    }

    /// Lost of the trays that ended.
    pub fn lost(&self) -> Option<Share> {
        let (x, n) = self.crops.iter().filter_map(|crop| crop.lost).fold((0, 0), |(x, n), of| (x + of.x, n + of.n));
        Share::of(x, n).ok()
    }

    pub fn orders(&self, outcome: Outcome) -> usize {
        self.due.iter().filter(|due| due.outcome == outcome).count()
    }

    /// Every tray that was lost.
    pub fn lost_trays(&self) -> Vec<TrayId> {
        self.crops.iter().flat_map(|crop| &crop.reasons).flat_map(|(_, trays)| trays.clone()).collect()
    }

    /// Nothing at all of these days.
    pub fn is_empty(&self) -> bool {
        self.crops.is_empty() && self.wasted.is_empty() && self.due.is_empty() && self.sold.is_empty()
    }
}

/// A review with what it is compared with.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Told {
    pub review: Review,
    pub window: Period,
    pub drifts: Vec<Drift>,
    pub differences: Differences,
    /// What crops cost and brought in all the weeks that are looked at, where their prices are set.
    pub margins: Vec<Margin>,
    /// Trays to sow for ten good ones, by crop: how many of how many came good in these weeks.
    pub enough: Vec<Sowing>,
    #[serde(skip)]
    pub past: Past,
}

/// What trays of a crop cost and brought.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Margin {
    pub crop: CropId,
    pub crop_name: String,
    pub money: Money,
}

/// How many trays to sow of a crop.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Sowing {
    pub crop_name: String,
    pub need: u64,
    pub good: u64,
    pub of: u64,
    pub enough: Enough,
    /// Where it is known what a tray costs and brings.
    pub by_cost: Option<ByCost>,
}

/// How sure it pays to be that enough come good.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct ByCost {
    /// What one good tray too few loses, and one too many, in hundredths.
    pub too_few_c: f64,
    pub too_many_c: f64,
    /// The chance at which both weigh alike.
    pub assurance: f64,
    pub enough: Enough,
}

/// How sure it has to be that enough come good.
pub const ASSURANCE: f64 = 0.95;

impl Told {
    pub fn of(review: Review, past: Past) -> Self {
        let drifts = past.facts.crops.iter().map(|crop| Drift::of(crop.id, &crop.name, &past)).collect();
        let margin = |crop: &CropFigures| {
            let money = Money::of(crop, &past.facts)?;
            Some(Margin { crop: crop.id, crop_name: crop.name.clone(), money })
        };
        let margins: Vec<Margin> = past.facts.crops.iter().filter_map(margin).collect();
        let enough = past.facts.crops.iter().filter_map(|crop| sowing(crop.id, &crop.name, &past, &margins)).collect();
        Self { window: past.window, drifts, differences: Differences::of(&past), margins, enough, review, past }
    }

    pub fn drift(&self, crop: CropId) -> Option<&Drift> {
        self.drifts.iter().find(|drift| drift.crop == crop)
    }
}

/// For as many good trays as a week usually gives.
fn sowing(crop: CropId, name: &str, past: &Past, margins: &[Margin]) -> Option<Sowing> {
    let ended = past.facts.ended.iter().filter(|one| past.facts.crop_of(one.sowing) == Some(crop));
    let ends: Vec<End> = ended.map(|one| one.end).filter(|end| *end != End::NotNeeded).collect();
    let of = ends.len() as u64;
    let good = ends.iter().filter(|end| !matches!(end, End::Lost(_))).count() as u64;
    let weeks: std::collections::BTreeSet<Day> = past
        .facts
        .ended
        .iter()
        .filter(|one| past.facts.crop_of(one.sowing) == Some(crop))
        .map(|one| super::span::monday(one.day))
        .collect();
    let need = good.div_ceil((weeks.len() as u64).max(1)).max(1);
    let money = margins.iter().find(|one| one.crop == crop).map(|one| &one.money);
    let by_cost = money.and_then(|money| by_cost(money, need, good, of));
    Some(Sowing { crop_name: name.to_string(), need, good, of, enough: trays(need, good, of, ASSURANCE)?, by_cost })
}

/// A tray too few loses what it would have earned, one too many what it cost; nothing to weigh where it earns nothing.
fn by_cost(money: &Money, need: u64, good: u64, of: u64) -> Option<ByCost> {
    let (too_few_c, too_many_c) = (money.earned_c()?, money.cost_c());
    let assurance = newsvendor(too_few_c, too_many_c)?;
    Some(ByCost { too_few_c, too_many_c, assurance, enough: trays(need, good, of, assurance)? })
}
