//! Whether values drift from week to week, and what is to be expected next.

use super::{law, middle, real, sorted, sound, sum, usable, whole};

/// A mean in which older values count less and less.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Ewma {
    pub centre: f64,
    pub series: Vec<f64>,
    /// Exact limits, which grow from the first value on.
    pub limits: Vec<(f64, f64)>,
    /// What they grow to.
    pub steady: (f64, f64),
}

/// From `start`, each value counting `lambda`, with limits of `k` standard deviations; `None` without values or with a lambda
/// outside 0 to 1.
pub fn ewma(values: &[f64], lambda: f64, start: f64, sd: f64, k: f64) -> Option<Ewma> {
    let fits = lambda > 0.0 && lambda <= 1.0 && start.is_finite() && sd >= 0.0 && (sd * k).is_finite();
    if !fits || !usable(values) {
        return None;
    }
    let full = sd * k * (lambda / (2.0 - lambda)).sqrt();
    let around = |half: f64| (start - half, start + half);
    let (mut level, mut left) = (start, 1.0);
    let (mut series, mut limits) = (Vec::new(), Vec::new());
    for x in values {
        level = lambda * x + (1.0 - lambda) * level;
        left *= (1.0 - lambda) * (1.0 - lambda);
        series.push(level);
        limits.push(around(full * (1.0 - left).sqrt()));
    }
    Some(Ewma { centre: start, series, limits, steady: around(full) })
}

/// Sums of what lies more than `k` above and below the target; each is told with whether one passed `h`.
pub fn cusum(values: &[f64], target: f64, k: f64, h: f64) -> Vec<(f64, f64, bool)> {
    let step = |state: &mut (f64, f64), x: &f64| {
        state.0 = (state.0 + x - target - k).max(0.0);
        state.1 = (state.1 + target - k - x).max(0.0);
        Some((state.0, state.1, state.0 > h || state.1 > h))
    };
    values.iter().scan((0.0, 0.0), step).collect()
}

/// The plain sum of the distances from the target so far.
pub fn summed(values: &[f64], target: f64) -> Vec<f64> {
    let step = |total: &mut f64, x: &f64| {
        *total += x - target;
        Some(*total)
    };
    values.iter().scan(0.0, step).collect()
}

/// A line through points that one wild value does not turn.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Slope {
    pub slope: f64,
    pub low: f64,
    pub high: f64,
    /// The median of y less the slope times the median of x.
    pub intercept: f64,
    pub n: usize,
}

/// Theil and Sen: the median slope of all pairs, with Sen's limits as sure as is asked for. `None` below three points, or where
/// no two have another x.
pub fn theil_sen(points: &[(f64, f64)], confidence: f64) -> Option<Slope> {
    let n = points.len();
    let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    if n < 3 || !usable(&xs) || !usable(&ys) {
        return None;
    }
    let (xs, ys) = (sorted(&xs), sorted(&ys));
    let mut slopes = Vec::new();
    for (at, (x, y)) in points.iter().enumerate() {
        let others = points.iter().skip(at + 1).filter(|(other, _)| (other - x).abs() > 0.0);
        slopes.extend(others.map(|(other, level)| (level - y) / (other - x)));
    }
    if !usable(&slopes) {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let slope = middle(&slopes)?;
    let size = |n: usize| real(n) * (real(n) - 1.0) * (2.0 * real(n) + 5.0);
    let tied = |order: &[f64]| order.chunk_by(|x, y| x.total_cmp(y).is_eq()).map(|set| size(set.len())).sum::<f64>();
    let sd = ((size(n) - tied(&xs) - tied(&ys)).max(0.0) / 18.0).sqrt();
    let reach = law::normal_at(0.5 + 0.5 * confidence)? * sd;
    let pairs = real(slopes.len());
    let low = whole(((pairs - reach) / 2.0).round() - 1.0);
    let high = whole(f64::midpoint(pairs, reach).round()).min(slopes.len() - 1);
    Some(Slope {
        slope,
        low: *slopes.get(low)?,
        high: *slopes.get(high)?,
        intercept: middle(&ys)? - slope * middle(&xs)?,
        n,
    })
}

/// What is to be expected next, and how far off that has been so far.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Expect {
    pub next: f64,
    /// The mean distance of what came from what was expected; `None` after one value.
    pub error: Option<f64>,
    /// What was expected of each value but the first.
    pub series: Vec<f64>,
}

/// Smoothing from the first value on. After a gap of several weeks the new value counts as much as that many would:
/// 1 − (1 − lambda)^weeks. `None` without points, or where they are not in the order of their weeks.
pub fn smooth(points: &[(f64, f64)], lambda: f64) -> Option<Expect> {
    let usable = points.iter().all(|(week, y)| week.is_finite() && y.is_finite());
    let in_order = points.iter().zip(points.iter().skip(1)).all(|(one, next)| one.0 < next.0);
    if !(lambda > 0.0 && lambda <= 1.0 && usable && in_order) {
        return None;
    }
    let (mut week, mut level) = *points.first()?;
    let (mut series, mut off) = (Vec::new(), Vec::new());
    for (now, y) in points.iter().skip(1) {
        series.push(level);
        off.push((y - level).abs());
        level += (1.0 - (1.0 - lambda).powf(now - week)) * (y - level);
        week = *now;
    }
    let error = if off.is_empty() { None } else { sound(sum(off.iter().copied()) / real(off.len())) };
    Some(Expect { next: sound(level)?, error, series })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_counts_as_the_weeks_it_lasts() {
        // derived by hand: 10, then 20 after three weeks at 0.5: 10 + (1 − 1/8) · 10
        let found = smooth(&[(1.0, 10.0), (4.0, 20.0)], 0.5).unwrap();
        assert_eq!((found.next, found.error, found.series), (18.75, Some(10.0), vec![10.0]));
        let one = smooth(&[(1.0, 10.0)], 0.2).unwrap();
        assert_eq!((one.next, one.error), (10.0, None));
    }

    #[test]
    fn not_enough_is_none() {
        assert_eq!((smooth(&[], 0.2), smooth(&[(2.0, 1.0), (2.0, 3.0)], 0.2)), (None, None));
        assert_eq!((smooth(&[(1.0, 2.0)], 0.0), smooth(&[(1.0, f64::NAN)], 0.5)), (None, None));
        assert_eq!((ewma(&[], 0.3, 1.0, 1.0, 3.0), ewma(&[1.0], 1.5, 1.0, 1.0, 3.0)), (None, None));
        assert_eq!(theil_sen(&[(1.0, 2.0), (2.0, 3.0)], 0.95), None);
        assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)], 0.95), None);
        assert_eq!(cusum(&[], 1.0, 0.5, 5.0), vec![]);
    }

    #[test]
    fn a_straight_line_keeps_its_slope_whatever_one_value_does() {
        let mut points: Vec<(f64, f64)> = (0..9).map(|x| (f64::from(x), 3.0 - 2.0 * f64::from(x))).collect();
        points[4].1 = 1e6;
        assert!((theil_sen(&points, 0.95).unwrap().slope + 2.0).abs() < 1e-12);
    }
}
