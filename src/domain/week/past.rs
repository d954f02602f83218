//! The weeks up to a review, and what trays of them belonged to.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;

use super::facts::{End, Facts, OnScale, Weighing};
use super::roll::Weekly;
use super::span::monday;
use crate::domain::id::{CropId, PlaceId, SowingId, TrayId};
use crate::domain::period::Period;
pub use crate::domain::stats::unusual::ENOUGH_FOR_CHART as BASELINE_ENOUGH;
use crate::domain::time::Day;

/// Weeks that are looked at together.
pub const WINDOW_WEEKS: i64 = 12;
/// Fewer are no baseline.
pub const BASELINE_LEAST: usize = 3;

/// The weights that later ones of a crop are held against.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Baseline {
    pub days: Period,
    /// Who chose these days, when and why, where someone did.
    pub set: Option<String>,
    pub values: Vec<f64>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    pub today: Day,
    /// The days of the review.
    pub period: Period,
    /// The weeks up to its end.
    pub window: Period,
    pub facts: Facts,
    pub lots: BTreeMap<SowingId, Vec<String>>,
    /// Those of these lots of which no seed is left.
    pub gone: BTreeSet<String>,
    /// Where each tray stood last.
    pub shelves: BTreeMap<TrayId, (String, PlaceId)>,
    /// Seed sown, of what the crop's settings say for the area.
    pub seeded: BTreeMap<SowingId, f64>,
    pub weekly: Vec<Weekly>,
    pub baselines: BTreeMap<CropId, Baseline>,
}

/// What trays are told apart by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    SeedLot,
    Shelf,
    Density,
    Plan,
}

impl By {
    pub const ALL: [Self; 4] = [Self::SeedLot, Self::Shelf, Self::Density, Self::Plan];

    pub fn shown(self) -> &'static str {
        match self {
            Self::SeedLot => "seed lot",
            Self::Shelf => "shelf",
            Self::Density => "sowing density",
            Self::Plan => "growing plan",
        }
    }
}

/// One value of grams a tray, with the week it was sown in and the trays it is of.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Value {
    pub week: Day,
    pub grams: f64,
    pub trays: Vec<TrayId>,
}

/// One tray that ended: lost or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Fate {
    pub crop: CropId,
    pub week: Day,
    pub tray: TrayId,
    pub lost: bool,
}

impl Past {
    /// The weeks that end with some days, or those days themselves where they are more.
    pub fn window(period: Period) -> Period {
        let from = monday(period.to) - Duration::days(7 * (WINDOW_WEEKS - 1));
        Period { from: from.min(period.from), to: period.to }
    }

    /// Of which time these are: the last weeks, or all since the book began.
    pub fn of_when(&self) -> String {
        let begins = self.facts.begins.filter(|begins| *begins > self.window.from);
        begins.map_or_else(|| format!("the last {WINDOW_WEEKS} weeks"), |day| format!("all since {day}"))
    }

    /// The same days without those before the book.
    pub fn days(&self) -> Period {
        let from = self.facts.begins.map_or(self.window.from, |begins| begins.max(self.window.from));
        Period { from: from.min(self.window.to), to: self.window.to }
    }

    /// What one tray belongs to; none where that is not one thing.
    fn group(&self, by: By, tray: TrayId, sowing: SowingId) -> Option<String> {
        match by {
            By::SeedLot => match self.lots.get(&sowing)?.as_slice() {
                [one] => Some(one.clone()),
                _ => None,
            },
            By::Shelf => self.shelves.get(&tray).map(|(shelf, _)| shelf.clone()),
            By::Density => self.seeded.get(&sowing).map(|share| density(*share).to_string()),
            By::Plan => Some(format!("plan {}", self.facts.batch(sowing)?.plan_version)),
        }
    }

    /// Weights of a crop by what all the trays on the scale belonged to; a weight of several groups belongs to none.
    pub fn values(&self, crop: CropId, by: By) -> BTreeMap<String, Vec<Value>> {
        let mut of: BTreeMap<String, Vec<Value>> = BTreeMap::new();
        for one in self.weighings(crop) {
            if let Some(group) = self.common(by, &one.on) {
                let value = Value {
                    week: self.sown_week(one),
                    grams: one.value(),
                    trays: one.on.iter().map(|on| on.tray).collect(),
                };
                of.entry(group).or_default().push(value);
            }
        }
        of
    }

    /// Weights of a crop in the window that are values of what a tray gives, in order of days.
    pub fn weighings(&self, crop: CropId) -> impl Iterator<Item = &Weighing> {
        self.facts.weighings.iter().filter(move |one| one.crop == crop && one.counts())
    }

    /// The Monday of the week in which what was weighed was sown, the first of several: what grew together had the same weather.
    pub fn sown_week(&self, weighing: &Weighing) -> Day {
        let sown = weighing.on.iter().filter_map(|on| self.facts.batch(on.sowing)).map(|batch| batch.day).min();
        monday(sown.unwrap_or(weighing.day))
    }

    fn common(&self, by: By, on: &[OnScale]) -> Option<String> {
        let groups: BTreeSet<Option<String>> = on.iter().map(|one| self.group(by, one.tray, one.sowing)).collect();
        match groups.into_iter().collect::<Vec<_>>().as_mut_slice() {
            [one] => one.take(),
            _ => None,
        }
    }

    /// Trays lost, and all that ended, by the place where they stood last.
    pub fn by_place(&self) -> BTreeMap<PlaceId, (u64, u64)> {
        let mut of: BTreeMap<PlaceId, (u64, u64)> = BTreeMap::new();
        for one in &self.facts.ended {
            if let Some((_, place)) = self.shelves.get(&one.tray) {
                let (x, n) = of.entry(*place).or_default();
                *x += u64::from(matches!(one.end, End::Lost(_)));
                *n += 1;
            }
        }
        of
    }

    /// Trays that ended, by what they belonged to: of one crop, or of all. What nobody needed was not lost.
    pub fn fates(&self, crop: Option<CropId>, by: By) -> BTreeMap<String, Vec<Fate>> {
        let mut of: BTreeMap<String, Vec<Fate>> = BTreeMap::new();
        for one in &self.facts.ended {
            let Some(batch) = self.facts.batch(one.sowing).filter(|batch| crop.is_none_or(|crop| batch.crop == crop))
            else {
                continue;
            };
            if let Some(group) = self.group(by, one.tray, one.sowing) {
                let lost = matches!(one.end, End::Lost(_));
                let fate = Fate { crop: batch.crop, week: monday(batch.day), tray: one.tray, lost };
                of.entry(group).or_default().push(fate);
            }
        }
        of
    }
}

/// Thinner or denser by more than a tenth.
fn density(share: f64) -> &'static str {
    if share < 0.9 {
        "thinner than the crop's settings"
    } else if share > 1.1 {
        "denser than the crop's settings"
    } else {
        "as the crop's settings say"
    }
}
