//! The range of a few normal values: constants of control charts, and Tukey's limits when all groups are compared with all.

use statrs::function::gamma::ln_gamma;

use super::{law, real};

/// By Simpson's rule in so many steps (even).
fn integral(from: f64, to: f64, steps: usize, f: impl Fn(f64) -> f64) -> f64 {
    let width = (to - from) / real(steps);
    let weigh = |at: usize| match at {
        0 => 1.0,
        _ if at == steps => 1.0,
        _ if at % 2 == 1 => 4.0,
        _ => 2.0,
    };
    (0..=steps).map(|at| weigh(at) * f(from + width * real(at))).sum::<f64>() * width / 3.0
}

/// The mean of a figure over what the standard deviation may come out as, when it is truly 1, with so many degrees of freedom.
pub(super) fn over_sd(df: f64, f: impl Fn(f64) -> f64) -> f64 {
    let ln_whole = (0.5 * df - 1.0) * std::f64::consts::LN_2 + ln_gamma(0.5 * df) - 0.5 * df * df.ln();
    let density = |s: f64| if s > 0.0 { ((df - 1.0) * s.ln() - 0.5 * df * s * s - ln_whole).exp() } else { 0.0 };
    let reach = 9.0 / (2.0 * df).sqrt();
    let (from, to) = ((1.0 - reach).max(0.0), 1.0 + reach);
    integral(from, to, 200, |s| density(s) * f(s))
}

/// The chance that n normal values lie within a range of w.
pub fn within(n: usize, w: f64) -> f64 {
    let Ok(power) = i32::try_from(n.saturating_sub(1)) else { return 0.0 };
    if w <= 0.0 {
        return 0.0;
    }
    let others = |z: f64| (law::normal_below(z) - law::normal_below(z - w)).powi(power);
    real(n) * integral(-8.0, 8.0 + w.min(8.0), 240, |z| law::normal_density(z) * others(z))
}

/// The mean and the standard deviation of the range of n normal values, in standard deviations of one (d2 and d3).
pub fn mean_and_sd(n: usize) -> Option<(f64, f64)> {
    if !(2..=50).contains(&n) {
        return None;
    }
    let beyond = |w: f64| 1.0 - within(n, w);
    let mean = integral(0.0, 12.0, 240, beyond);
    let square = integral(0.0, 12.0, 240, |w| 2.0 * w * beyond(w));
    Some((mean, (square - mean * mean).max(0.0).sqrt()))
}

/// The chance of a larger range of k means, in standard errors worked out with so many degrees of freedom.
pub fn studentized_above(q: f64, k: usize, df: f64) -> f64 {
    (1.0 - over_sd(df, |s| within(k, q * s))).clamp(0.0, 1.0)
}

/// The range of k means that is passed with this chance.
pub fn studentized_at(chance: f64, k: usize, df: f64) -> Option<f64> {
    if !(chance > 0.0 && chance < 1.0 && df >= 1.0 && (2..=50).contains(&k)) {
        return None;
    }
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if studentized_above(middle, k, df) > chance { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_values_have_a_closed_form() {
        // derived by hand: the distance of two normal values has mean 2/√π, square 2, and lies within w for 2Φ(w/√2) − 1
        let (mean, sd) = mean_and_sd(2).unwrap();
        assert!((mean - 2.0 / std::f64::consts::PI.sqrt()).abs() < 1e-7, "{mean}");
        assert!((sd * sd - (2.0 - 4.0 / std::f64::consts::PI)).abs() < 1e-6, "{sd}");
        for w in [0.1, 1.0, 3.0, 6.0] {
            let right = 2.0 * law::normal_below(w * std::f64::consts::FRAC_1_SQRT_2) - 1.0;
            assert!((within(2, w) - right).abs() < 1e-10, "{w}");
        }
        // and of two means it is Student's t times √2
        let q = 3.0;
        let right = law::t_beyond(q * std::f64::consts::FRAC_1_SQRT_2, 27.0).unwrap();
        assert!((studentized_above(q, 2, 27.0) - right).abs() < 1e-8);
        assert_eq!((mean_and_sd(1), studentized_at(0.0, 3, 5.0)), (None, None));
    }
}
