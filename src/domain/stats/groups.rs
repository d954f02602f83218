//! Several groups by their means: how much lies between them, and how much within.

use super::{law, mean, real, sound, squares, sum, usable, variance};

/// Analysis of variance of one way.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Anova {
    /// Sums of squares and their degrees of freedom.
    pub between: f64,
    pub within: f64,
    pub df_between: f64,
    pub df_within: f64,
    pub f: f64,
    pub p: f64,
    pub r2: f64,
    pub residual_sd: f64,
}

/// Groups that hold values, all of them numbers; at least two.
fn held(groups: &[Vec<f64>]) -> Option<Vec<&Vec<f64>>> {
    let held: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    (held.len() >= 2 && held.iter().all(|group| usable(group))).then_some(held)
}

/// `None` with fewer than two groups, no value to spare, or where all of each are equal.
pub fn anova(groups: &[Vec<f64>]) -> Option<Anova> {
    let held = held(groups)?;
    let all: Vec<f64> = held.iter().flat_map(|group| group.iter().copied()).collect();
    let middle = mean(&all);
    let moved: Vec<Vec<f64>> = held.iter().map(|group| group.iter().map(|x| x - middle).collect()).collect();
    let between = sum(moved.iter().map(|group| real(group.len()) * mean(group).powi(2)));
    let within = sum(moved.iter().map(|group| squares(group, mean(group))));
    let (df_between, df_within) = (real(held.len() - 1), real(all.len() - held.len()));
    let f = sound(between / df_between / (within / df_within))?;
    Some(Anova {
        between,
        within,
        df_between,
        df_within,
        f,
        p: law::f_above(f, df_between, df_within)?,
        r2: between / (between + within),
        residual_sd: (within / df_within).sqrt(),
    })
}

/// Welch's analysis of groups that need not spread alike; `(F, degrees of freedom between, within, chance)`.
pub fn welch_anova(groups: &[Vec<f64>]) -> Option<(f64, f64, f64, f64)> {
    let held = held(groups)?;
    let k = real(held.len());
    let weighed: Vec<(f64, f64, f64)> = held
        .iter()
        .map(|group| Some((real(group.len()) / variance(group)?, mean(group), real(group.len()))))
        .collect::<Option<_>>()?;
    let weights = sum(weighed.iter().map(|(w, ..)| *w));
    let middle = sum(weighed.iter().map(|(w, mean, _)| w * mean)) / weights;
    let lost = sum(weighed.iter().map(|(w, _, n)| (1.0 - w / weights).powi(2) / (n - 1.0)));
    let between = sum(weighed.iter().map(|(w, mean, _)| w * (mean - middle).powi(2))) / (k - 1.0);
    let f = sound(between / (1.0 + 2.0 * (k - 2.0) / (k * k - 1.0) * lost))?;
    let df = sound((k * k - 1.0) / (3.0 * lost))?;
    Some((f, k - 1.0, df, law::f_above(f, k - 1.0, df)?))
}

/// How much of the spread lies between lots.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Between {
    pub mean: f64,
    /// Mean squares.
    pub between_square: f64,
    pub within_square: f64,
    /// The variance between groups, 0 where it came out below.
    pub variance: f64,
}

/// By the mean squares of an analysis of variance; for uneven groups with their mean size corrected.
pub fn between_variance(groups: &[Vec<f64>]) -> Option<Between> {
    let held = held(groups)?;
    let found = anova(groups)?;
    let all: Vec<f64> = held.iter().flat_map(|group| group.iter().copied()).collect();
    let n = real(all.len());
    let size = (n - sum(held.iter().map(|group| real(group.len()).powi(2))) / n) / found.df_between;
    let (above, below) = (found.between / found.df_between, found.within / found.df_within);
    let variance = ((above - below) / size).max(0.0);
    Some(Between { mean: mean(&all), between_square: above, within_square: below, variance })
}

/// Bartlett's test whether groups spread alike: `(chi-square, degrees of freedom, chance)`.
pub fn bartlett(groups: &[Vec<f64>]) -> Option<(f64, f64, f64)> {
    let held = held(groups)?;
    let of: Vec<(f64, f64)> =
        held.iter().map(|group| Some((real(group.len() - 1), variance(group)?))).collect::<Option<_>>()?;
    let df = sum(of.iter().map(|(df, _)| *df));
    let pooled = sum(of.iter().map(|(df, variance)| df * variance)) / df;
    let k = real(held.len() - 1);
    let plain = df * pooled.ln() - sum(of.iter().map(|(df, variance)| df * variance.ln()));
    let chi2 = sound(plain / (1.0 + (sum(of.iter().map(|(df, _)| 1.0 / df)) - 1.0 / df) / (3.0 * k)))?;
    Some((chi2, k, law::chi2_above(chi2, k)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_groups_by_hand() {
        // derived by hand: 1 3 and 5 7: between 16 of 1, within 4 of 2, F 8
        let found = anova(&[vec![1.0, 3.0], vec![5.0, 7.0]]).unwrap();
        assert_eq!((found.between, found.within, found.f, found.r2), (16.0, 4.0, 8.0, 0.8));
        let lots = between_variance(&[vec![1.0, 3.0], vec![5.0, 7.0]]).unwrap();
        assert_eq!((lots.variance, lots.mean), (7.0, 4.0));
        let alike = between_variance(&[vec![1.0, 7.0], vec![1.0, 7.0]]).unwrap();
        assert!(alike.variance.abs() < 1e-15, "never below nothing");
    }

    #[test]
    fn not_enough_is_none() {
        assert_eq!(anova(&[vec![1.0, 2.0]]), None);
        assert_eq!(anova(&[vec![1.0], vec![2.0]]), None, "none to spare");
        assert_eq!(anova(&[vec![1.0, 1.0], vec![1.0, 1.0]]), None);
        assert_eq!(welch_anova(&[vec![1.0], vec![2.0, 4.0]]), None);
        assert_eq!(bartlett(&[vec![1.0, 1.0], vec![2.0, 4.0]]), None);
    }
}
