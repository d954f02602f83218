//! Control charts: limits of what is usual, patterns that are not, and the run chart of medians.

use statrs::function::gamma::ln_gamma;

use super::{count, law, mean, middle, range, real, sorted, sound, usable};

/// The mean distance of two neighbours in standard deviations, as charts have it printed (exactly 2/√π = 1.128379).
const NEIGHBOURS: f64 = 1.128;

/// The upper limit of such a distance, in mean distances, as printed.
const NEIGHBOURS_HIGH: f64 = 3.267;

/// Limits of single values, from the distances of neighbours.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Limits {
    pub centre: f64,
    pub low: f64,
    pub high: f64,
    /// The mean distance of neighbours, and its upper limit.
    pub range_mean: f64,
    pub range_high: f64,
}

/// Individuals and moving range, by 1.128 and 3.267; `None` below two values.
pub fn individuals(values: &[f64]) -> Option<Limits> {
    if values.len() < 2 || !usable(values) {
        return None;
    }
    let moves: Vec<f64> = values.iter().zip(values.iter().skip(1)).map(|(x, next)| (next - x).abs()).collect();
    let (centre, range_mean) = (sound(mean(values))?, sound(mean(&moves))?);
    let half = 3.0 * range_mean / NEIGHBOURS;
    Some(Limits {
        centre,
        low: centre - half,
        high: centre + half,
        range_mean,
        range_high: NEIGHBOURS_HIGH * range_mean,
    })
}

/// Limits of shares, wider where there are fewer.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct ShareLimits {
    pub centre: f64,
    /// Low and high of each, never below 0 or above 1.
    pub each: Vec<(f64, f64)>,
}

/// The p-chart of pairs (x, n); `None` without any n, or where x is more than n. Of an n of none everything is usual.
pub fn shares(of: &[(u64, u64)]) -> Option<ShareLimits> {
    let (found, all) = of.iter().fold((0, 0), |(found, all), (x, n)| (found + x, all + n));
    if all == 0 || of.iter().any(|(x, n)| x > n) {
        return None;
    }
    let centre = count(found) / count(all);
    let limits = |n: u64| {
        if n == 0 {
            return (0.0, 1.0);
        }
        let half = 3.0 * (centre * (1.0 - centre) / count(n)).sqrt();
        ((centre - half).max(0.0), (centre + half).min(1.0))
    };
    Some(ShareLimits { centre, each: of.iter().map(|(_, n)| limits(*n)).collect() })
}

/// Constants of charts of groups of n values, worked out.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Constants {
    pub d2: f64,
    pub d3: f64,
    pub c4: f64,
    /// Limits of means from the mean range and from the mean standard deviation (A2, A3).
    pub mean_by_range: f64,
    pub mean_by_sd: f64,
    /// Lower and upper limit of the range (D3, D4) and of the standard deviation (B3, B4).
    pub range: (f64, f64),
    pub sd: (f64, f64),
}

/// `None` below two values and above 50.
pub fn constants(n: usize) -> Option<Constants> {
    let (d2, d3) = range::mean_and_sd(n)?;
    let c4 = (2.0 / real(n - 1)).sqrt() * (ln_gamma(0.5 * real(n)) - ln_gamma(0.5 * real(n - 1))).exp();
    let around = |width: f64| ((1.0 - 3.0 * width).max(0.0), 1.0 + 3.0 * width);
    Some(Constants {
        d2,
        d3,
        c4,
        mean_by_range: 3.0 / (d2 * real(n).sqrt()),
        mean_by_sd: 3.0 / (c4 * real(n).sqrt()),
        range: around(d3 / d2),
        sd: around((1.0 - c4 * c4).sqrt() / c4),
    })
}

/// A pattern that good values seldom make. Values are distances from the centre in standard deviations; a value on a line does
/// not lie beyond it, and a value on the centre breaks a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Rule {
    /// One beyond 3.
    Beyond3,
    /// Two of three beyond 2 on one side.
    TwoOfThree,
    /// Four of five beyond 1 on one side.
    FourOfFive,
    EightOneSide,
    NineOneSide,
    /// Six that rise or fall throughout.
    SixTrend,
    /// Fourteen that go up and down in turn.
    Fourteen,
    /// Fifteen within 1.
    FifteenWithin,
    /// Eight of which none is within 1, on both sides.
    EightOutside,
}

/// Where a pattern is complete, counted from 0: the value there belongs to it.
pub fn hits(z: &[f64], rule: Rule) -> Vec<usize> {
    (0..z.len()).filter(|at| z.get(..=*at).is_some_and(|so_far| complete(so_far, rule))).collect()
}

fn complete(so_far: &[f64], rule: Rule) -> bool {
    let last = |n: usize| so_far.get(so_far.len().saturating_sub(n)..).unwrap_or(so_far);
    let whole = |n: usize, f: &dyn Fn(&[f64]) -> bool| so_far.len() >= n && f(last(n));
    let some = |needed: usize, of: usize, beyond: f64| {
        [1.0, -1.0].iter().any(|side| {
            let out = |z: &&f64| **z * side > beyond;
            so_far.last().as_ref().is_some_and(out) && last(of).iter().filter(out).count() >= needed
        })
    };
    let one_side = |window: &[f64]| window.iter().all(|z| *z > 0.0) || window.iter().all(|z| *z < 0.0);
    match rule {
        Rule::Beyond3 => so_far.last().is_some_and(|z| z.abs() > 3.0),
        Rule::TwoOfThree => some(2, 3, 2.0),
        Rule::FourOfFive => some(4, 5, 1.0),
        Rule::EightOneSide => whole(8, &one_side),
        Rule::NineOneSide => whole(9, &one_side),
        Rule::SixTrend => whole(6, &|window| {
            let steps = moves(window);
            steps.iter().all(|step| *step > 0.0) || steps.iter().all(|step| *step < 0.0)
        }),
        Rule::Fourteen => whole(14, &|window| {
            let steps = moves(window);
            steps.iter().zip(steps.iter().skip(1)).all(|(step, next)| step * next < 0.0)
        }),
        Rule::FifteenWithin => whole(15, &|window| window.iter().all(|z| z.abs() < 1.0)),
        Rule::EightOutside => whole(8, &|window| {
            window.iter().all(|z| z.abs() > 1.0) && window.iter().any(|z| *z > 0.0) && window.iter().any(|z| *z < 0.0)
        }),
    }
}

/// Up, down or level from each value to the next.
fn moves(window: &[f64]) -> Vec<f64> {
    let step = |(x, next): (&f64, &f64)| {
        if next > x {
            1.0
        } else if next < x {
            -1.0
        } else {
            0.0
        }
    };
    window.iter().zip(window.iter().skip(1)).map(step).collect()
}

/// Values in their order about their median, by the rules of Anhøj and Olesen (2014).
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct RunChart {
    pub median: f64,
    /// Values that do not lie on the median.
    pub useful: usize,
    /// The longest run on one side, and the longest that is still usual.
    pub longest: usize,
    pub longest_most: usize,
    /// How often the median is crossed, and how often at least that is usual.
    pub crossings: usize,
    pub crossings_least: usize,
}

/// Fewer values beside the median have no run chart.
pub const ENOUGH_TO_RUN: usize = 10;

impl RunChart {
    /// `None` below ten values that do not lie on the median.
    pub fn of(values: &[f64]) -> Option<Self> {
        if !usable(values) {
            return None;
        }
        let median = middle(&sorted(values))?;
        let sides: Vec<bool> = values.iter().filter(|x| (**x - median).abs() > 0.0).map(|x| *x > median).collect();
        let useful = sides.len();
        let (longest_most, crossings_least) = usual_runs(useful)?;
        let runs: Vec<usize> = sides.chunk_by(|one, next| one == next).map(<[bool]>::len).collect();
        let longest = runs.iter().copied().max().unwrap_or_default();
        let crossings = runs.len().saturating_sub(1);
        Some(Self { median, useful, longest, longest_most, crossings, crossings_least })
    }

    /// Whether the values have shifted or drift: a run too long, or too few crossings.
    pub fn shift(&self) -> bool {
        self.longest > self.longest_most || self.crossings < self.crossings_least
    }
}

/// The longest usual run and the fewest usual crossings of so many values; `None` below ten.
pub fn usual_runs(useful: usize) -> Option<(usize, usize)> {
    if useful < ENOUGH_TO_RUN {
        return None;
    }
    // log2 rounded, in whole numbers: r with n² between 2^(2r − 1) and 2^(2r + 1)
    let square = u128::try_from(useful).ok()?.pow(2);
    let rounded = (0..64).find(|r| square < 1u128 << (2 * r + 1))?;
    let least = law::even_at(0.05, u64::try_from(useful - 1).ok()?)?;
    Some((rounded + 3, usize::try_from(least).ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn not_enough_is_none() {
        assert_eq!((individuals(&[1.0]), individuals(&[1.0, f64::NAN])), (None, None));
        assert_eq!((shares(&[]), shares(&[(0, 0)]), shares(&[(3, 2)])), (None, None, None));
        assert_eq!((constants(1), constants(51), usual_runs(9)), (None, None, None));
        assert_eq!(RunChart::of(&[1.0; 30]), None, "all on the median");
        assert_eq!(hits(&[], Rule::SixTrend), Vec::<usize>::new());
    }

    #[test]
    fn limits_by_hand() {
        // derived by hand: 10 12 10: mean distance 2, limits 32/3 ± 6/1.128
        let found = individuals(&[10.0, 12.0, 10.0]).unwrap();
        assert!((found.range_mean - 2.0).abs() < 1e-12 && (found.high - found.centre - 6.0 / 1.128).abs() < 1e-12);
        // 5 of 50 in two unequal lots: the small one may be anything from none to 0.1 + 3·0.3/√5
        let found = shares(&[(0, 5), (5, 45), (0, 0)]).unwrap();
        let (low, high) = found.each[0];
        assert!(low.abs() < 1e-15 && (high - (0.1 + 0.9 / 5.0f64.sqrt())).abs() < 1e-12);
        assert_eq!(found.each[2], (0.0, 1.0));
    }

    #[test]
    fn a_shift_in_the_middle_is_a_long_run() {
        let values: Vec<f64> = (0..20).map(|at| if at < 10 { 1.0 } else { 5.0 } + f64::from(at % 3)).collect();
        let chart = RunChart::of(&values).unwrap();
        assert_eq!((chart.useful, chart.longest, chart.crossings), (20, 10, 1));
        assert!(chart.shift());
        let up_and_down: Vec<f64> = (0..20).map(|at| f64::from(at % 2)).collect();
        assert!(!RunChart::of(&up_and_down).unwrap().shift());
    }
}
