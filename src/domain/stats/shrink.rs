//! Small lots lean on all of them: what a lot's figure is worth when it is drawn toward the crop's.

use super::{count, mean, real, sound, squares, sum, usable};

/// Figures drawn toward their common mean.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Shrunk {
    /// The variance between lots, beyond what chance makes; 0 where there is none to be seen.
    pub tau2: f64,
    pub q: f64,
    pub mean: f64,
    pub se: f64,
    pub each: Vec<f64>,
}

/// Of pairs (mean, variance of that mean), by `DerSimonian` and Laird; `None` below two, or with a variance of 0.
pub fn means(of: &[(f64, f64)]) -> Option<Shrunk> {
    if of.len() < 2 || of.iter().any(|(y, v)| !(y.is_finite() && v.is_finite() && *v > 0.0)) {
        return None;
    }
    let weighed = |extra: f64| {
        let all = sum(of.iter().map(|(_, v)| 1.0 / (v + extra)));
        (all, sum(of.iter().map(|(y, v)| y / (v + extra))) / all)
    };
    let (weights, fixed) = weighed(0.0);
    let q = sum(of.iter().map(|(y, v)| (y - fixed).powi(2) / v));
    let spare = weights - sum(of.iter().map(|(_, v)| 1.0 / (v * v))) / weights;
    let tau2 = sound(((q - real(of.len() - 1)) / spare).max(0.0))?;
    let (weights, mean) = weighed(tau2);
    let drawn = |(y, v): &(f64, f64)| (tau2 * y + v * mean) / (tau2 + v);
    Some(Shrunk { tau2, q, mean: sound(mean)?, se: (1.0 / weights).sqrt(), each: of.iter().map(drawn).collect() })
}

/// Shares of pairs (x, n), each drawn toward the share of all; where the shares differ no more than by chance all get that of
/// all. Beta-binomial by moments. `None` without any n, or where x is more than n.
pub fn shares(of: &[(u64, u64)]) -> Option<Vec<f64>> {
    let (found, all) = of.iter().fold((0, 0), |(found, all), (x, n)| (found + x, all + n));
    if all == 0 || of.iter().any(|(x, n)| x > n) {
        return None;
    }
    let pooled = count(found) / count(all);
    let sizes: Vec<(f64, f64)> = of.iter().filter(|(_, n)| *n > 0).map(|(x, n)| (count(*x), count(*n))).collect();
    let even = pooled * (1.0 - pooled);
    let off = sum(sizes.iter().map(|(x, n)| n * (x / n - pooled).powi(2)));
    let spare = sum(sizes.iter().map(|(_, n)| (n - 1.0) * (1.0 - n / count(all))));
    // how alike two seeds of one lot are, beyond what they have in common with all
    let alike = ((off / even - real(sizes.len() - 1)) / spare).min(1.0);
    if !alike.is_finite() || alike <= 0.0 {
        return Some(vec![pooled; of.len()]);
    }
    let weight = 1.0 / alike - 1.0;
    let drawn = |x: u64, n: u64| if n == 0 { pooled } else { (count(x) + weight * pooled) / (count(n) + weight) };
    Some(of.iter().map(|(x, n)| drawn(*x, *n)).collect())
}

/// Values of one known variance drawn toward their mean.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Stein {
    pub mean: f64,
    /// How much of its own distance each keeps.
    pub keeps: f64,
    pub each: Vec<f64>,
}

/// James and Stein, toward the mean of all; `None` below four values, where it would not help.
pub fn james_stein(values: &[f64], variance: f64) -> Option<Stein> {
    if values.len() < 4 || !usable(values) || !(variance.is_finite() && variance >= 0.0) {
        return None;
    }
    let middle = sound(mean(values))?;
    let keeps = sound(1.0 - real(values.len() - 3) * variance / squares(values, middle)).map_or(0.0, |c| c.max(0.0));
    Some(Stein { mean: middle, keeps, each: values.iter().map(|y| middle + keeps * (y - middle)).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lots_that_differ_keep_more_of_their_own() {
        // derived by hand: 0 and 10 of variance 1: q 50, spare 2 − 1 = 1, tau² 49, each keeps 49/50 of its distance from 5
        let found = means(&[(0.0, 1.0), (10.0, 1.0)]).unwrap();
        assert!((found.tau2 - 49.0).abs() < 1e-12 && (found.q - 50.0).abs() < 1e-12);
        assert!((found.each[0] - 0.1).abs() < 1e-12 && (found.each[1] - 9.9).abs() < 1e-12, "{found:?}");
        assert_eq!((means(&[(1.0, 1.0)]), means(&[(1.0, 0.0), (2.0, 1.0)])), (None, None));
    }

    #[test]
    fn shares_without_spread_are_all_the_pooled_one() {
        assert_eq!(shares(&[(8, 10), (8, 10), (8, 10)]), Some(vec![0.8; 3]));
        assert_eq!(shares(&[(0, 10), (0, 30)]), Some(vec![0.0; 2]));
        assert_eq!(shares(&[(4, 5)]), Some(vec![0.8]));
        assert_eq!((shares(&[]), shares(&[(0, 0)]), shares(&[(5, 4)])), (None, None, None));
        // lots that differ: each between its own share and that of all, the small one further from its own
        let found = shares(&[(95, 100), (50, 100), (10, 10), (0, 0)]).unwrap();
        let pooled = 155.0 / 210.0;
        assert!(found[0] > pooled && found[0] < 0.95 && found[1] > 0.5 && found[1] < pooled, "{found:?}");
        assert!(1.0 - found[2] > 0.95 - found[0], "{found:?}");
        assert!((found[3] - pooled).abs() < 1e-12);
    }

    #[test]
    fn equal_values_stay() {
        assert_eq!(james_stein(&[2.0; 5], 1.0).unwrap().each, vec![2.0; 5]);
        assert_eq!(james_stein(&[1.0, 2.0, 3.0], 1.0), None);
    }
}
