//! Limits of x of n beside Wilson's own (`domain::proportion::Share`): one-sided, exact, of a difference, and of none in n.

use super::{count, law, sound};
use crate::domain::proportion::{Share, ShareError};

/// Wilson's lower limit alone, as sure as is asked for.
pub fn at_least(x: u64, n: u64, sure: f64) -> Option<f64> {
    let share = Share::of(x, n).ok()?.share;
    let (z, all) = (law::normal_at(sure)?, count(n));
    let half = z * (share * (1.0 - share) / all + z * z / (4.0 * all * all)).sqrt();
    sound(((share + z * z / (2.0 * all) - half) / (1.0 + z * z / all)).max(0.0))
}

/// Exact limits of both sides (Clopper and Pearson), as sure as is asked for.
pub fn exact(x: u64, n: u64, sure: f64) -> Option<(f64, f64)> {
    Share::of(x, n).ok()?;
    let outside = 0.5 * (1.0 - sure);
    let (yes, no) = (count(x), count(n - x));
    let low = if x == 0 { 0.0 } else { law::beta_at(outside, yes, no + 1.0)? };
    let high = if x == n { 1.0 } else { law::beta_at(1.0 - outside, yes + 1.0, no)? };
    (outside > 0.0 && outside < 0.5).then_some((low, high))
}

/// The share that none of n still allows, exact and one-sided: 1 − 0.05^(1/n) for 95 %.
pub fn most_of_none(n: u64, sure: f64) -> Option<f64> {
    if n == 0 || !(sure > 0.0 && sure < 1.0) {
        return None;
    }
    sound(1.0 - (1.0 - sure).powf(1.0 / count(n)))
}

/// Two shares side by side; the difference is the first less the second.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Apart {
    pub first: Share,
    pub second: Share,
    pub diff: f64,
    /// Newcombe's limits from the two intervals by Wilson, 95 %.
    pub low: f64,
    pub high: f64,
}

/// Of x1 of n1 and x2 of n2 (Newcombe 1998, method 10).
pub fn difference(one: (u64, u64), other: (u64, u64)) -> Result<Apart, ShareError> {
    let (first, second) = (Share::of(one.0, one.1)?, Share::of(other.0, other.1)?);
    let diff = first.share - second.share;
    let down = (first.share - first.low).hypot(second.high - second.share);
    let up = (first.high - first.share).hypot(second.share - second.low);
    Ok(Apart { first, second, diff, low: diff - down, high: diff + up })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_of_none_and_all() {
        // derived by hand: none of n has the upper limit 1 − 0.025^(1/n), all of n its mirror
        let (low, high) = exact(0, 8, 0.95).unwrap();
        assert!(low.abs() < 1e-15 && (high - (1.0 - 0.025f64.powf(0.125))).abs() < 1e-10);
        let (low, high) = exact(8, 8, 0.95).unwrap();
        assert!((low - 0.025f64.powf(0.125)).abs() < 1e-10 && (high - 1.0).abs() < 1e-15);
        assert_eq!((exact(1, 0, 0.95), exact(3, 2, 0.95), exact(1, 3, 1.0)), (None, None, None));
        assert_eq!((most_of_none(0, 0.95), most_of_none(4, 1.0), at_least(1, 3, 0.0)), (None, None, None));
    }

    #[test]
    fn a_difference_turned_round_is_its_mirror() {
        let (one, other) = (difference((9, 10), (3, 10)).unwrap(), difference((3, 10), (9, 10)).unwrap());
        assert!((one.low + other.high).abs() < 1e-12 && (one.high + other.low).abs() < 1e-12);
        assert_eq!(difference((1, 0), (1, 2)), Err(ShareError::None));
    }

    #[test]
    fn the_z_of_wilson_is_that_of_the_normal_distribution() {
        // two-sided 95 % is one-sided 97.5 %
        for (x, n) in [(1, 29), (15, 148), (81, 263)] {
            assert!((at_least(x, n, 0.975).unwrap() - Share::of(x, n).unwrap().low).abs() < 1e-10);
        }
    }
}
