//! x of n: how sure a share is, whether two differ, and how many such questions were asked at once.

/// 97.5 % of the normal distribution: memory, 1.959963984540054; the checks below would show a slip.
const Z: f64 = 1.959_963_984_540_054;

/// Why a share cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShareError {
    #[error("of none there is no share: give x of n with n above 0")]
    None,
    #[error("{x} of {n} is more than all: give x of n with x at most n")]
    MoreThanAll { x: u64, n: u64 },
}

/// A share with the interval that holds the true one 95 times of a hundred, by Wilson's score without correction.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Share {
    pub x: u64,
    pub n: u64,
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl Share {
    pub fn of(x: u64, n: u64) -> Result<Self, ShareError> {
        if n == 0 {
            return Err(ShareError::None);
        }
        if x > n {
            return Err(ShareError::MoreThanAll { x, n });
        }
        let (count, all) = (real(x), real(n));
        let share = count / all;
        let middle = share + Z * Z / (2.0 * all);
        let half = Z * (share * (1.0 - share) / all + Z * Z / (4.0 * all * all)).sqrt();
        let scale = 1.0 + Z * Z / all;
        // rounding must not lead out of what is possible, and none or all of n are bounds of their own
        let low = if x == 0 { 0.0 } else { ((middle - half) / scale).max(0.0) };
        let high = if x == n { 1.0 } else { ((middle + half) / scale).min(1.0) };
        Ok(Self { x, n, share, low, high })
    }

    /// `3 of 12, 25 % (9 to 53 %)`; few are called few.
    pub fn words(&self) -> String {
        let few = if self.n < FEW { ", few" } else { "" };
        let pct = |x: f64| (x * 100.0).round();
        format!("{} of {}, {} % ({} to {} %{few})", self.x, self.n, pct(self.share), pct(self.low), pct(self.high))
    }
}

/// Below so many a share says little.
pub const FEW: u64 = 10;

#[expect(clippy::cast_precision_loss, reason = "counts of trays are far below 2^53")]
fn real(n: u64) -> f64 {
    n as f64
}

/// Fisher's exact test of several pairs of groups, all of them out of one whole.
pub struct Exact {
    /// Logarithms of the factorials up to the whole.
    ln: Vec<f64>,
}

impl Exact {
    /// For groups of at most so many together.
    pub fn new(all: u64) -> Self {
        Self { ln: ln_factorials(all) }
    }

    /// The chance that two groups differ by as much or more if there is no difference (two-sided): `a` of `a + b` against `c` of
    /// `c + d`.
    pub fn fisher(&self, a: u64, b: u64, c: u64, d: u64) -> f64 {
        let (least, chances) = self.chances(a, b, c, d);
        let seen = usize::try_from(a - least).ok().and_then(|at| chances.get(at).copied()).unwrap_or(0.0);
        // equal chances differ by rounding only
        chances.into_iter().filter(|p| *p <= seen * (1.0 + 1e-7)).sum::<f64>().min(1.0)
    }

    /// How likely each count of the first group is, given all the sums, and the least there can be.
    pub fn chances(&self, a: u64, b: u64, c: u64, d: u64) -> (u64, Vec<f64>) {
        let (row, column, all) = (a + b, a + c, a + b + c + d);
        let ln = |n: u64| usize::try_from(n).ok().and_then(|n| self.ln.get(n).copied()).unwrap_or(0.0);
        let choose = |n: u64, k: u64| ln(n) - ln(k) - ln(n - k);
        let chance = |x: u64| (choose(row, x) + choose(all - row, column - x) - choose(all, column)).exp();
        let (least, most) = (column.saturating_sub(all - row), row.min(column));
        (least, (least..=most).map(chance).collect())
    }
}

fn ln_factorials(most: u64) -> Vec<f64> {
    let steps = (1..=most).scan(0.0, |sum, n| {
        *sum += real(n).ln();
        Some(*sum)
    });
    std::iter::once(0.0).chain(steps).collect()
}

/// Chances corrected for how many were looked at (Benjamini and Hochberg 1995), in the order given.
pub fn corrected(chances: &[f64]) -> Vec<f64> {
    let all = chances.len();
    let mut order: Vec<(usize, f64)> = chances.iter().copied().enumerate().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut found = vec![1.0; all];
    let mut least = 1.0f64;
    for (below, (at, chance)) in order.into_iter().enumerate() {
        let rank = u64::try_from(all - below).unwrap_or(1);
        least = least.min(chance * real(u64::try_from(all).unwrap_or(1)) / real(rank));
        if let Some(slot) = found.get_mut(at) {
            *slot = least;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fisher(a: u64, b: u64, c: u64, d: u64) -> f64 {
        Exact::new(a + b + c + d).fisher(a, b, c, d)
    }

    #[test]
    fn intervals_as_published() {
        // P: Newcombe (1998) Statistics in Medicine 17:857, table I, method 3; four decimals
        for (x, n, low, high) in
            [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
        {
            let share = Share::of(x, n).unwrap();
            assert!((share.low - low).abs() <= 6e-5 && (share.high - high).abs() <= 6e-5, "{share:?}");
        }
    }

    #[test]
    fn none_and_all_are_mirror_images_and_bounds() {
        for n in [1, 5, 20, 400] {
            let (none, all) = (Share::of(0, n).unwrap(), Share::of(n, n).unwrap());
            assert!(none.low.abs() < 1e-15 && (all.high - 1.0).abs() < 1e-15, "{n}");
            assert!((none.high - (1.0 - all.low)).abs() < 1e-12, "{n}");
        }
        assert_eq!(Share::of(0, 0), Err(ShareError::None));
        assert_eq!(Share::of(7, 3), Err(ShareError::MoreThanAll { x: 7, n: 3 }));
        assert_eq!(Share::of(3, 8).unwrap().words(), "3 of 8, 38 % (14 to 69 %, few)");
    }

    #[test]
    fn the_exact_test_by_fractions_counted_by_hand() {
        // 3 of 3 against 0 of 3: of the 20 ways to choose 3 of 6, one is this and one its mirror
        assert!((fisher(3, 0, 0, 3) - 2.0 / 20.0).abs() < 1e-12);
        // 4 of 5 against 1 of 5, margins 5 and 5: (1 + 25 + 25 + 1) of 252
        assert!((fisher(4, 1, 1, 4) - 52.0 / 252.0).abs() < 1e-12);
        // Fisher's own lady: 3 of 4 against 1 of 4: (1 + 16 + 16 + 1) of 70
        assert!((fisher(3, 1, 1, 3) - 34.0 / 70.0).abs() < 1e-12);
        // no difference at all, and nothing to compare
        assert!((fisher(2, 2, 2, 2) - 1.0).abs() < 1e-12);
        assert!((fisher(0, 5, 0, 7) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_exact_test_as_published() {
        // memory: Fisher (1935) The Logic of Inductive Inference, twins of convicts, 10 of 13 against 2 of 17; his one tail is
        // 40 235 of 86 493 225, to which two-sided the 6 188 of none against 12 comes
        assert!((fisher(10, 3, 2, 15) - 46_423.0 / 86_493_225.0).abs() < 1e-12);
        // memory: R documentation of fisher.test gives 0.0004652 for the one tail, and 0.0005367 two-sided
        assert!((fisher(10, 3, 2, 15) - 0.000_536_7).abs() < 5e-8);
    }

    /// Ways to choose, by whole numbers only.
    fn choose(n: u64, k: u64) -> u128 {
        (0..k).fold(1u128, |ways, i| ways * u128::from(n - i) / u128::from(i + 1))
    }

    #[test]
    fn the_exact_test_agrees_with_counting_every_table_by_whole_numbers() {
        let sizes = [0u64, 1, 2, 3, 5, 8, 13];
        let mut tables = 0;
        for a in sizes {
            for b in sizes {
                for c in sizes {
                    for d in sizes.into_iter().filter(|d| a + b + c + d > 0) {
                        let (row, other, column) = (a + b, c + d, a + c);
                        let ways = |x: u64| {
                            if x > row || column - x > other { 0 } else { choose(row, x) * choose(other, column - x) }
                        };
                        let seen = ways(a);
                        let as_far: u128 = (0..=column).map(ways).filter(|ways| *ways <= seen).sum();
                        #[expect(clippy::cast_precision_loss, reason = "below 2^53 for so few")]
                        let expected = as_far as f64 / choose(row + other, column) as f64;
                        let found = fisher(a, b, c, d);
                        assert!((found - expected).abs() < 1e-9, "{a} {b} {c} {d}: {found} {expected}");
                        tables += 1;
                    }
                }
            }
        }
        assert_eq!(tables, 7 * 7 * 7 * 7 - 1);
    }

    #[test]
    fn the_exact_test_does_not_depend_on_which_way_round_it_is_written() {
        for (a, b, c, d) in [(2, 9, 7, 4), (0, 12, 5, 30), (1, 400, 9, 300)] {
            let p = fisher(a, b, c, d);
            for other in [fisher(b, a, d, c), fisher(c, d, a, b), fisher(a, c, b, d)] {
                assert!((p - other).abs() < 1e-9, "{p} {other}");
            }
        }
    }

    #[test]
    fn many_looks_as_published() {
        // P: Benjamini and Hochberg (1995), the 15 chances of their example; q recomputed with statsmodels
        let p = [
            0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528,
            0.759, 1.0,
        ];
        let q = [
            0.0015,
            0.003,
            0.0095,
            0.035_625,
            0.0603,
            0.063_857_14,
            0.063_857_14,
            0.0645,
            0.0765,
            0.486,
            0.581_181_82,
            0.714_875,
            0.753_230_77,
            0.813_214_29,
            1.0,
        ];
        for (found, published) in corrected(&p).iter().zip(q) {
            assert!((found - published).abs() < 1e-6, "{found} {published}");
        }
        assert_eq!(corrected(&p).iter().filter(|q| **q <= 0.05).count(), 4, "they reject four");
        let mut turned: Vec<f64> = p.to_vec();
        turned.reverse();
        let mut back = corrected(&turned);
        back.reverse();
        assert_eq!(back, corrected(&p));
        assert_eq!(corrected(&[]), Vec::<f64>::new());
    }
}
