//! Unusual or drifting: a crop's weights and weeks against its frozen baseline.

use super::past::{BASELINE_ENOUGH, BASELINE_LEAST, Baseline, Past};
use super::roll::Weekly;
use super::span::label;
use crate::domain::id::CropId;
use crate::domain::stats::chart::{Limits, Rule, RunChart, ShareLimits, hits, individuals, shares};
use crate::domain::stats::drift::{Ewma, Expect, Slope, ewma, smooth, theil_sen};
use crate::domain::stats::law::t_at;
use crate::domain::stats::sow::at_least_of;
use crate::domain::stats::spread::Spread;
use crate::domain::stats::{count, real};
use crate::domain::time::Day;
use crate::domain::week::Weighing;

/// No chart of weeks from fewer.
pub const WEEKS_LEAST: usize = 8;
/// Weeks of longer ago say little of how it goes now.
const WEEKS_MOST: i64 = 52;

/// So sure are limits beyond which one weight is called unusual: one good weight of 370 lies outside, as with a chart's three
/// standard deviations.
const RARE: f64 = 0.9973;
/// Below such a chance more trays were lost than the weeks before explain.
const RARE_LOSS: f64 = 0.005;

/// How one crop stands against what it gave before.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Drift {
    pub crop: CropId,
    pub name: String,
    pub baseline: Option<Baseline>,
    pub limits: Option<Against>,
    /// Weights of the review, with whether each lies outside.
    pub weights: Vec<(Weighing, bool)>,
    /// Weights since the baseline, up to the end of the review, in order, as the control chart draws them.
    pub since: Vec<f64>,
    /// Where eight or more of them lie on one side; by number in `since`.
    pub eight: Vec<usize>,
    /// Median grams a tray by week, up to the review.
    pub medians: Vec<(Day, f64)>,
    pub runs: Option<RunChart>,
    pub ewma: Option<Ewma>,
    pub slope: Option<Slope>,
    pub next: Option<Expect>,
    /// Lost of ended by week, and the limits of each.
    pub lost: Vec<(Day, u64, u64)>,
    pub lost_limits: Option<ShareLimits>,
    /// Lost of ended in the week of the review, where that is more than the weeks before explain.
    pub lost_more: Option<(u64, u64)>,
    /// The median of the same week a year before.
    pub year_before: Option<f64>,
}

/// Between what a weight lies if nothing changed.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Against {
    /// The interval for one new tray, of a small baseline.
    Next { centre: f64, low: f64, high: f64 },
    /// The control chart's limits, of a large one.
    Chart(Limits),
}

impl Against {
    pub fn centre(&self) -> f64 {
        match self {
            Self::Next { centre, .. } => *centre,
            Self::Chart(limits) => limits.centre,
        }
    }

    pub fn band(&self) -> (f64, f64) {
        match self {
            Self::Next { low, high, .. } => (*low, *high),
            Self::Chart(limits) => (limits.low, limits.high),
        }
    }

    fn outside(&self, value: f64) -> bool {
        let (low, high) = self.band();
        value < low || value > high
    }

    fn of(values: &[f64]) -> Option<Self> {
        let spread = Spread::of(values)?;
        if values.len() < BASELINE_LEAST {
            return None;
        }
        let against = if values.len() >= BASELINE_ENOUGH {
            individuals(values).map(Self::Chart)?
        } else {
            let (low, high) = spread.next_within(RARE)?;
            Self::Next { centre: spread.mean, low, high }
        };
        // weights that are all alike do not tell how far the next one may lie
        let (low, high) = against.band();
        Some(against).filter(|_| high > low)
    }
}

/// What is said of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// Weights outside of the limits.
    Outside,
    /// Eight in a row on one side of the baseline, up to the last one.
    Shifted,
    /// Weekly medians run too long on one side, or cross too seldom.
    Runs,
    /// The weighted mean of the weeks has left its limits.
    Drifting,
    /// Weekly medians rise or fall.
    Slope,
    /// More trays lost this week than the weeks before explain.
    Losses,
}

impl Drift {
    pub fn of(crop: CropId, name: &str, past: &Past) -> Self {
        let baseline = past.baselines.get(&crop).cloned();
        let limits = baseline.as_ref().and_then(|baseline| Against::of(&baseline.values));
        let mine: Vec<&Weighing> = past.weighings(crop).collect();
        let outside = |value| limits.is_some_and(|limits| limits.outside(value));
        let weights: Vec<(Weighing, bool)> = mine
            .iter()
            .filter(|one| past.period.holds(one.day))
            .map(|one| ((*one).clone(), outside(one.value())))
            .collect();
        let after = baseline.as_ref().map(|baseline| baseline.days.to);
        let since: Vec<f64> =
            mine.iter().filter(|one| after.is_none_or(|after| one.day > after)).map(|one| one.value()).collect();
        let eight = limits.map_or_else(Vec::new, |limits| {
            let z: Vec<f64> = since.iter().map(|value| value - limits.centre()).collect();
            hits(&z, Rule::EightOneSide)
        });
        let all: Vec<_> = past.weekly.iter().filter(|one| one.crop == crop && one.week <= past.period.to).collect();
        let year = past.period.to - chrono::Duration::weeks(WEEKS_MOST);
        let weeks: Vec<_> = all.iter().copied().filter(|one| one.week > year).collect();
        let medians: Vec<(Day, f64)> = weeks.iter().filter_map(|one| Some((one.week, one.rolled.median()?))).collect();
        let enough = medians.len() >= WEEKS_LEAST;
        let values: Vec<f64> = medians.iter().map(|(_, median)| *median).collect();
        let number = |week: Day| {
            #[expect(clippy::cast_precision_loss, reason = "weeks since the first one")]
            let n = ((week - medians.first().map_or(week, |(first, _)| *first)).num_days() / 7) as f64;
            n
        };
        let points: Vec<(f64, f64)> = medians.iter().map(|(week, median)| (number(*week), *median)).collect();
        let lost: Vec<(Day, u64, u64)> = weeks
            .iter()
            .filter(|one| one.rolled.ended > 0)
            .map(|one| (one.week, unsigned(one.rolled.lost), unsigned(one.rolled.ended)))
            .collect();
        let counts: Vec<(u64, u64)> = lost.iter().map(|(_, x, n)| (*x, *n)).collect();
        let ended_here = past
            .facts
            .ended
            .iter()
            .any(|one| past.period.holds(one.day) && past.facts.crop_of(one.sowing) == Some(crop));
        let lost_more = if ended_here { more_lost(&counts) } else { None };
        let year_before = past.period.from - chrono::Duration::weeks(52);
        Self {
            crop,
            name: name.to_string(),
            limits,
            weights,
            since,
            eight,
            runs: if enough { RunChart::of(&values) } else { None },
            ewma: if enough { weekly_mean(&weeks, &base_weeks(&all, baseline.as_ref())) } else { None },
            slope: if enough { theil_sen(&points, 0.95) } else { None },
            next: if values.len() > 1 { smooth(&points, 0.2) } else { None },
            lost_limits: if counts.len() >= WEEKS_LEAST { shares(&counts) } else { None },
            lost,
            year_before: all
                .iter()
                .find(|one| label(one.week) == label(year_before))
                .and_then(|one| one.rolled.median()),
            medians,
            baseline,
            lost_more,
        }
    }

    /// Weights of the review that lie outside.
    pub fn outside(&self) -> Vec<&Weighing> {
        self.weights.iter().filter(|(_, outside)| *outside).map(|(one, _)| one).collect()
    }

    /// Everything there is to say.
    pub fn said(&self) -> Vec<Said> {
        let mut said = Vec::new();
        if self.weights.iter().any(|(_, outside)| *outside) {
            said.push(Said::Outside);
        }
        // of days without a weight there is nothing new to say
        if self.weights.is_empty() {
            return if self.lost_more.is_some() { vec![Said::Losses] } else { said };
        }
        if self.eight.last().is_some_and(|at| at + 1 == self.since.len()) {
            said.push(Said::Shifted);
        }
        if self.runs.as_ref().is_some_and(RunChart::shift) {
            said.push(Said::Runs);
        }
        let left = |ewma: &Ewma| {
            let last = ewma.series.last().zip(ewma.limits.last());
            last.is_some_and(|(value, (low, high))| value < low || value > high)
        };
        if self.ewma.as_ref().is_some_and(left) {
            said.push(Said::Drifting);
        }
        if self.slope.as_ref().is_some_and(|slope| slope.low > 0.0 || slope.high < 0.0) {
            said.push(Said::Slope);
        }
        if self.lost_more.is_some() {
            said.push(Said::Losses);
        }
        said
    }
}

fn unsigned(n: i64) -> u64 {
    u64::try_from(n).unwrap_or(0)
}

/// The last week's losses, where so many are rare by what all the weeks before lost; their share is as uncertain as it is.
fn more_lost(weeks: &[(u64, u64)]) -> Option<(u64, u64)> {
    let ((x, n), before) = weeks.split_last().filter(|(_, before)| before.len() + 1 >= WEEKS_LEAST)?;
    let (lost, all) = before.iter().fold((0, 0), |(lost, all), (x, n)| (lost + x, all + n));
    let chance = at_least_of(*x, *n, count(lost) + 0.5, count(all - lost) + 0.5)?;
    (*x > 0 && chance < RARE_LOSS).then_some((*x, *n))
}

/// The weeks that later ones are held against: those somebody chose, where they are enough, else the first of the book.
fn base_weeks<'w>(all: &[&'w Weekly], baseline: Option<&Baseline>) -> Vec<&'w Weekly> {
    let weighed = || all.iter().copied().filter(|one| one.rolled.n > 0);
    let chosen = baseline.filter(|base| base.set.is_some()).map(|base| base.days);
    let chosen: Vec<&Weekly> = weighed().filter(|one| chosen.is_some_and(|days| days.holds(one.week))).collect();
    if chosen.len() >= WEEKS_LEAST { chosen } else { weighed().take(WEEKS_LEAST).collect() }
}

/// The weighted mean of weekly means about the mean of some weeks that stand still. Limits are as wide as those few weeks make
/// them: by Student, and with how unsure their own mean is.
fn weekly_mean(weeks: &[&Weekly], base: &[&Weekly]) -> Option<Ewma> {
    let means = |of: &[&Weekly]| of.iter().filter_map(|one| one.rolled.mean()).collect::<Vec<f64>>();
    let spread = Spread::of(&means(base))?;
    // equal weeks differ by rounding only
    let sd = spread.sd.filter(|sd| *sd > 1e-9 * spread.mean.abs())?;
    let wide = sd * t_at(0.5 + 0.5 * RARE, real(spread.n - 1))?;
    let mut found = ewma(&means(weeks), 0.2, spread.mean, wide, 1.0)?;
    let of_centre = wide / real(spread.n).sqrt();
    let wider = |(low, high): (f64, f64)| {
        let half = ((high - low) / 2.0).hypot(of_centre);
        (spread.mean - half, spread.mean + half)
    };
    found.limits = found.limits.into_iter().map(wider).collect();
    found.steady = wider(found.steady);
    Some(found)
}
