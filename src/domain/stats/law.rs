//! Distributions: how likely, and where the limits lie. Chances come from `statrs`; limits are polished by Newton's steps.

use statrs::distribution::{Beta, ContinuousCDF, StudentsT};
use statrs::function::beta::checked_beta_reg;
use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::{checked_gamma_ur, ln_gamma};

/// The density of the normal distribution.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}

/// The share of the normal distribution below.
pub fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Below which the share of the normal distribution lies, such as 1.96 for 0.975.
pub fn normal_at(share: f64) -> Option<f64> {
    if !(share > 0.0 && share < 1.0) {
        return None;
    }
    let start = -std::f64::consts::SQRT_2 * erfc_inv(2.0 * share);
    let step = |z: f64| z - (normal_below(z) - share) / normal_density(z);
    super::sound(step(step(start)))
}

/// The share of Student's distribution above.
pub fn t_above(t: f64, df: f64) -> Option<f64> {
    let half = 0.5 * checked_beta_reg(0.5 * df, 0.5, df / (df + t * t)).ok()?;
    super::sound(if t < 0.0 { 1.0 - half } else { half })
}

/// The chance of as large a t or a larger one on either side.
pub fn t_beyond(t: f64, df: f64) -> Option<f64> {
    Some((2.0 * t_above(t.abs(), df)?).min(1.0))
}

/// Below which the share of Student's distribution lies.
pub fn t_at(share: f64, df: f64) -> Option<f64> {
    if !(share > 0.0 && share < 1.0 && df > 0.0 && df.is_finite()) {
        return None;
    }
    // by the half above zero, where chances do not lose their digits
    let tail = share.min(1.0 - share);
    let start = StudentsT::new(0.0, 1.0, df).ok()?.inverse_cdf(1.0 - tail);
    let ln_density = |t: f64| {
        ln_gamma(0.5 * (df + 1.0))
            - ln_gamma(0.5 * df)
            - 0.5 * (df * std::f64::consts::PI).ln()
            - 0.5 * (df + 1.0) * (t * t / df).ln_1p()
    };
    let mut t = start;
    for _ in 0..4 {
        t += (t_above(t, df)? - tail) / ln_density(t).exp();
    }
    super::sound(if share < 0.5 { -t } else { t })
}

/// The share of the beta distribution below.
pub fn beta_below(x: f64, a: f64, b: f64) -> Option<f64> {
    checked_beta_reg(a, b, x).ok().and_then(super::sound)
}

/// Below which the share of the beta distribution lies.
pub fn beta_at(share: f64, a: f64, b: f64) -> Option<f64> {
    if !(share > 0.0 && share < 1.0 && a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite()) {
        return None;
    }
    let start = Beta::new(a, b).ok()?.inverse_cdf(share);
    let ln_whole = ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b);
    // Newton's step where it stays between what is known to be too low and too high, else the middle of the two
    let (mut low, mut high, mut x) = (0.0f64, 1.0f64, start.clamp(1e-300, 1.0 - 1e-16));
    for _ in 0..200 {
        let off = beta_below(x, a, b)? - share;
        if off > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let density = ((a - 1.0) * x.ln() + (b - 1.0) * (-x).ln_1p() - ln_whole).exp();
        let step = x - off / density;
        let next = if step > low && step < high { step } else { f64::midpoint(low, high) };
        if (next - x).abs() <= 1e-15 * x.abs() {
            return Some(next);
        }
        x = next;
    }
    Some(x)
}

/// The share of the chi-square distribution above.
pub fn chi2_above(x: f64, df: f64) -> Option<f64> {
    if x <= 0.0 { Some(1.0) } else { checked_gamma_ur(0.5 * df, 0.5 * x).ok().and_then(super::sound) }
}

/// The share of Fisher's F distribution above.
pub fn f_above(f: f64, above: f64, below: f64) -> Option<f64> {
    if f <= 0.0 { Some(1.0) } else { beta_below(below / (below + above * f), 0.5 * below, 0.5 * above) }
}

/// The chance of at least so many of n.
pub fn binomial_least(least: u64, n: u64, share: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&share) {
        return None;
    }
    if least == 0 {
        return Some(1.0);
    }
    if least > n {
        return Some(0.0);
    }
    beta_below(share, super::count(least), super::count(n - least + 1))
}

/// The chance of at most so many of n.
pub fn binomial_most(most: u64, n: u64, share: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&share) {
        return None;
    }
    if most >= n {
        return Some(1.0);
    }
    beta_below(1.0 - share, super::count(n - most), super::count(most + 1))
}

/// The chance of each count of n, from 0 on.
pub fn binomial(n: u64, share: f64) -> Vec<f64> {
    let (yes, no) = (share.ln(), (-share).ln_1p());
    let ln_ways = |k: u64| {
        ln_gamma(super::count(n) + 1.0) - ln_gamma(super::count(k) + 1.0) - ln_gamma(super::count(n - k) + 1.0)
    };
    let part = |times: u64, ln: f64| if times == 0 { 0.0 } else { super::count(times) * ln };
    (0..=n).map(|k| (ln_ways(k) + part(k, yes) + part(n - k, no)).exp()).collect()
}

/// The least count that the chance of at most so many of n reaches a share for: the quantile, for even chances.
pub fn even_at(share: f64, n: u64) -> Option<u64> {
    (0..=n).find(|k| binomial_most(*k, n, 0.5).is_some_and(|p| p >= share - 1e-12))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: Option<f64>, right: f64) {
        let found = found.unwrap();
        assert!((found - right).abs() <= 1e-8 * right.abs(), "{found} is not {right}");
    }

    #[test]
    fn limits_go_back_to_their_shares() {
        for df in [1.0, 2.0, 3.0, 4.5, 11.7, 30.0, 137.0, 1000.0] {
            for share in [0.001, 0.025, 0.4, 0.5, 0.9, 0.975, 0.999_5] {
                let t = t_at(share, df).unwrap();
                near(t_above(-t, df), share);
            }
        }
        for (a, b) in [(0.5, 20.5), (4.0, 17.0), (5.0, 16.0), (18.5, 2.5), (200.0, 3.0), (1.0, 1.0)] {
            for share in [0.001, 0.05, 0.5, 0.95, 0.999] {
                near(beta_below(beta_at(share, a, b).unwrap(), a, b), share);
            }
        }
        for share in [1e-12, 0.001, 0.025, 0.5, 0.8, 0.975, 0.999_9] {
            near(Some(normal_below(normal_at(share).unwrap())), share);
        }
    }

    #[test]
    fn limits_that_have_a_closed_form() {
        // derived by hand: one degree of freedom is the Cauchy distribution, tan(π(p − ½)); two have t = (2p−1)/√(2p(1−p))
        near(t_at(0.975, 1.0), (std::f64::consts::PI * 0.475).tan());
        near(t_at(0.975, 2.0), 0.95 / (2.0f64 * 0.975 * 0.025).sqrt());
        // Beta(1, n) ends at 1 − (1 − p)^(1/n), and two degrees of chi-square and F(2, n) at e^(−x/2) and (1 + 2f/n)^(−n/2)
        near(beta_at(0.95, 1.0, 14.0), 1.0 - 0.05f64.powf(1.0 / 14.0));
        near(chi2_above(5.3, 2.0), (-2.65f64).exp());
        near(f_above(3.3, 2.0, 17.0), (1.0f64 + 6.6 / 17.0).powf(-8.5));
        // memory: 1.959963984540054
        near(normal_at(0.975), 1.959_963_984_540_054);
    }

    #[test]
    fn what_cannot_be_asked_is_none() {
        for share in [-0.1, 0.0, 1.0, 1.5, f64::NAN] {
            assert_eq!((normal_at(share), t_at(share, 5.0), beta_at(share, 2.0, 3.0)), (None, None, None), "{share}");
        }
        for df in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(t_at(0.9, df), None, "{df}");
        }
        assert_eq!(
            (binomial_least(0, 5, 0.3), binomial_least(6, 5, 0.3), binomial_most(5, 5, 0.3)),
            (Some(1.0), Some(0.0), Some(1.0))
        );
        assert_eq!(binomial_least(3, 5, 1.2), None);
    }

    #[test]
    fn counts_of_few_by_hand() {
        // derived by hand: of 3 even chances 1, 3, 3, 1 of 8
        let found = binomial(3, 0.5);
        for (found, right) in found.iter().zip([0.125, 0.375, 0.375, 0.125]) {
            near(Some(*found), right);
        }
        for (share, right) in [(0.0, [1.0, 0.0, 0.0]), (1.0, [0.0, 0.0, 1.0])] {
            assert!(
                binomial(2, share).iter().zip(right).all(|(found, right)| (found - right).abs() < 1e-12),
                "{share}"
            );
        }
        near(binomial_most(1, 3, 0.5), 0.5);
        assert_eq!((even_at(0.5, 3), even_at(0.05, 9)), (Some(1), Some(2)));
    }
}
