//! Whether the replicates of one test agree: their range against what chance alone makes.

use super::{GermError, checked};
use crate::domain::stats::{count, law, sum, whole, words};
use crate::domain::text::counted;

/// Replicates of one test side by side.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Agreement {
    pub mean_pct: f64,
    /// The best less the worst, in seeds.
    pub range: u64,
    /// The largest range that is still usual, in seeds.
    pub allowed: u64,
    /// Which rule says so.
    pub by: &'static str,
    /// The dispersion test beside it.
    pub chi2: f64,
    pub df: u64,
    pub p: f64,
}

/// A range that chance makes less often than this is not usual (2.5 %).
pub const MOST_EXCEED: f64 = 0.025;

/// The regulation's own table for four hundreds fits this chance.
pub const REGULATION_EXCEED: f64 = 0.0275;

const REGULATION: &str = "7 CFR 201.55";
const EXACT: &str = "exact binomial range, 2.5 %";
const EXACT_BELOW: &str = "exact binomial range as in 7 CFR 201.55";

/// Maximum ranges among four and among two hundreds by the mean per cent, from 99 down to 70. P: 7 CFR 201.55. There is none for
/// two hundreds at 98 and 99.
const HUNDREDS: &[(u64, u64, Option<u64>)] = &[
    (99, 5, None),
    (98, 6, None),
    (97, 7, Some(6)),
    (96, 8, Some(6)),
    (95, 9, Some(7)),
    (94, 10, Some(8)),
    (93, 10, Some(8)),
    (92, 11, Some(9)),
    (91, 11, Some(9)),
    (90, 12, Some(9)),
    (89, 12, Some(10)),
    (88, 13, Some(10)),
    (87, 13, Some(11)),
    (86, 14, Some(11)),
    (85, 14, Some(11)),
    (84, 14, Some(11)),
    (83, 15, Some(12)),
    (82, 15, Some(12)),
    (81, 15, Some(12)),
    (80, 16, Some(13)),
    (79, 16, Some(13)),
    (78, 16, Some(13)),
    (77, 17, Some(13)),
    (76, 17, Some(13)),
    (75, 17, Some(14)),
    (74, 17, Some(14)),
    (73, 17, Some(14)),
    (72, 18, Some(14)),
    (71, 18, Some(14)),
    (70, 18, Some(14)),
];

/// Of the normal seedlings of each replicate of so many seeds: 4 or 2 hundreds by the regulation, others by the exact rule.
pub fn agreement(normal: &[u64], seeds: u64) -> Result<Agreement, GermError> {
    for one in normal {
        checked(&[*one], seeds)?;
    }
    let replicates = u64::try_from(normal.len()).unwrap_or(u64::MAX);
    if replicates < 2 {
        return Err(GermError::OneReplicate);
    }
    let all = seeds.saturating_mul(replicates);
    let germinated = checked(normal, all)?;
    let share = count(germinated) / count(all);
    let range = normal.iter().max().zip(normal.iter().min()).map_or(0, |(most, least)| most - least);
    let (allowed, by) = allowed(replicates, seeds, share);
    let df = replicates - 1;
    let spread = count(seeds) * share * (1.0 - share);
    let off = sum(normal.iter().map(|one| (count(*one) - count(seeds) * share).powi(2)));
    // where all or none germinated they are alike
    let chi2 = if spread > 0.0 { off / spread } else { 0.0 };
    let p = law::chi2_above(chi2, count(df)).unwrap_or(1.0);
    Ok(Agreement { mean_pct: 100.0 * share, range, allowed, by, chi2, df, p })
}

fn allowed(replicates: u64, seeds: u64, share: f64) -> (u64, &'static str) {
    if seeds == 100 && (replicates == 4 || replicates == 2) {
        let mean = u64::try_from(whole((100.0 * share).round())).unwrap_or(0);
        if let Some(range) = published_range(mean, replicates) {
            return (range, REGULATION);
        }
        return (exact_range(replicates, seeds, share, REGULATION_EXCEED), EXACT_BELOW);
    }
    (exact_range(replicates, seeds, share, MOST_EXCEED), EXACT)
}

/// The largest range among four or two hundreds that the regulation still takes, by the mean per cent; per cents under 50 are read
/// as their mirror (8 as 93). Full germination is read as 99.
pub fn published_range(mean_pct: u64, replicates: u64) -> Option<u64> {
    let mean = if mean_pct <= 50 { 101 - mean_pct.max(2) } else { mean_pct.min(99) };
    let (_, of_four, of_two) = HUNDREDS.iter().find(|(percent, ..)| *percent == mean)?;
    match replicates {
        4 => Some(*of_four),
        2 => *of_two,
        _ => None,
    }
}

/// The smallest range, in seeds, that replicates of one lot exceed no more often than `exceed`.
pub fn exact_range(replicates: u64, seeds: u64, share: f64, exceed: f64) -> u64 {
    let below = so_far(seeds, share);
    (0..=seeds).find(|range| beyond(&below, *range, replicates) <= exceed).unwrap_or(seeds)
}

/// The chances of fewer than 0 of so many seeds, of fewer than 1, and so on.
fn so_far(seeds: u64, share: f64) -> Vec<f64> {
    let step = |so_far: &mut f64, p: f64| {
        *so_far += p;
        Some(*so_far)
    };
    std::iter::once(0.0).chain(law::binomial(seeds, share).into_iter().scan(0.0, step)).collect()
}

/// The chance that the range of so many counts is larger; `below` has the chances of fewer than 0, than 1 and so on.
fn beyond(below: &[f64], range: u64, replicates: u64) -> f64 {
    let width = usize::try_from(range).unwrap_or(usize::MAX).saturating_add(1);
    let top = below.len() - 1;
    let at = |n: usize| below.get(n.min(top)).copied().unwrap_or(1.0);
    let power = i32::try_from(replicates).unwrap_or(i32::MAX);
    // the worst is n, and none is more than the range above it
    let worst = |n: usize| {
        let end = n.saturating_add(width);
        (at(end) - at(n)).powi(power) - (at(end) - at(n + 1)).powi(power)
    };
    (1.0 - sum((0..top).map(worst))).max(0.0)
}

/// The chance that the range of replicates of one lot is larger than so many seeds.
pub fn exceeds(replicates: u64, seeds: u64, share: f64, range: u64) -> f64 {
    beyond(&so_far(seeds, share), range, replicates)
}

impl Agreement {
    pub fn agree(&self) -> bool {
        self.range <= self.allowed
    }

    /// The figures behind it.
    pub fn figures(&self) -> String {
        format!(
            "mean {:.1} %, range {} seeds; dispersion chi-square {:.3}, {} degrees of freedom, chance {}",
            self.mean_pct,
            self.range,
            self.chi2,
            self.df,
            words::chance(self.p)
        )
    }

    /// The plain sentence.
    pub fn words(&self) -> String {
        let Self { allowed, by, mean_pct, .. } = self;
        let range = counted(usize::try_from(self.range).unwrap_or(usize::MAX), "seed");
        if self.agree() {
            format!(
                "The replicates agree: best and worst are {range} apart, and up to {allowed} are usual at {mean_pct:.0} % ({by})."
            )
        } else {
            format!(
                "The replicates do not agree: best and worst are {range} apart, and no more than {allowed} are usual at \
                 {mean_pct:.0} % ({by}). Count again, look for dry or mouldy ones, and repeat the test."
            )
        }
    }
}
