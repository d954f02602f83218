//! How many to sow so that enough come of it, how many to have ready, how much to keep back.

use statrs::function::gamma::ln_gamma;

use super::{count, law, sound};

/// So many trays, and how likely they are enough.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Enough {
    pub trays: u64,
    pub chance: f64,
    /// The chance with one tray fewer.
    pub one_fewer: f64,
    /// The trays if the share of the record were known for sure.
    pub optimistic: u64,
}

/// By so much a chance may fall short through rounding alone.
const ROUNDING: f64 = 1e-12;

/// More trays than this are no answer.
const MOST: u64 = 100_000;

/// From a record of `good` out of `of`: the share is as uncertain as that record (Beta with a half added to either side). `None`
/// without a record, where none was good, and where no number of trays is sure enough.
pub fn trays(need: u64, good: u64, of: u64, assurance: f64) -> Option<Enough> {
    if of == 0 || good == 0 || good > of {
        return None;
    }
    let found = beta_binomial(need, count(good) + 0.5, count(of - good) + 0.5, assurance)?;
    Some(Enough { optimistic: trays_at(need, count(good) / count(of), assurance)?.trays, ..found })
}

/// With a share of success that is known.
pub fn trays_at(need: u64, rate: f64, assurance: f64) -> Option<Enough> {
    if !(rate > 0.0 && rate <= 1.0) {
        return None;
    }
    fewest(need, assurance, |n| law::binomial_least(need, n, rate))
}

/// With a share of success distributed as Beta(a, b).
pub fn beta_binomial(need: u64, a: f64, b: f64, assurance: f64) -> Option<Enough> {
    if !(a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite()) {
        return None;
    }
    let found = fewest(need, assurance, |n| at_least_of(need, n, a, b))?;
    Some(Enough { optimistic: trays_at(need, a / (a + b), assurance)?.trays, ..found })
}

/// The chance of at least so many of n, when the share is distributed as Beta(a, b).
pub fn at_least_of(least: u64, n: u64, a: f64, b: f64) -> Option<f64> {
    let ln_beta = |a: f64, b: f64| ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b);
    let ln_one = |k: u64| {
        let (yes, no) = (count(k), count(n - k));
        ln_gamma(count(n) + 1.0) - ln_gamma(yes + 1.0) - ln_gamma(no + 1.0) + ln_beta(yes + a, no + b) - ln_beta(a, b)
    };
    if least > n { Some(0.0) } else { sound(1.0 - (0..least).map(|k| ln_one(k).exp()).sum::<f64>()) }
}

/// The fewest for which the chance reaches the assurance.
fn fewest(need: u64, assurance: f64, chance: impl Fn(u64) -> Option<f64>) -> Option<Enough> {
    if need == 0 || need > MOST || !(assurance > 0.0 && assurance < 1.0) {
        return None;
    }
    let enough = |n: u64| chance(n).is_some_and(|p| p >= assurance - ROUNDING);
    let (mut low, mut high) = (need, need);
    while !enough(high) {
        low = high + 1;
        if high == MOST {
            return None;
        }
        high = (high * 2 + 1).min(MOST);
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if enough(middle) { high = middle } else { low = middle + 1 }
    }
    Some(Enough { trays: low, chance: chance(low)?, one_fewer: chance(low - 1)?, optimistic: low })
}

impl Enough {
    /// The plain sentence, for so many needed from a record of `good` out of `of`.
    pub fn words(&self, need: u64, good: u64, of: u64) -> String {
        let share = 100.0 * count(good) / count(of);
        let sure = if self.optimistic < self.trays {
            format!("; if {share:.0} % ({good} of {of}) were sure, {} would do", self.optimistic)
        } else {
            String::new()
        };
        format!("{}{sure}", self.plain(need))
    }

    /// The same for a share that is taken as sure.
    pub fn words_at(&self, need: u64) -> String {
        format!("{}; the rate is taken as sure, and a record of trays is more honest", self.plain(need))
    }

    fn plain(&self, need: u64) -> String {
        let Self { trays, chance, one_fewer, .. } = self;
        let fewer = match trays - 1 {
            // cut off, so that what falls short is not rounded up to enough
            less if less >= need => format!(" ({less} give {:.1} %)", (1000.0 * one_fewer).floor() / 10.0),
            _ => String::new(),
        };
        // cut off as well, and with a decimal where 100 would be said
        let sure = if *chance < 1.0 && *chance >= 0.995 {
            format!("{:.1}", (1000.0 * chance).floor() / 10.0)
        } else {
            format!("{:.0}", (100.0 * chance + 1e-9).floor())
        };
        format!("sow {trays} to have {need} with a chance of {sure} %{fewer}")
    }
}

/// What is always said beside it.
pub const TOGETHER: &str = "Trays of one shelf or one lot fail together, so it takes rather more than this.";

/// The share of days on which stock should do: what is lost by one too few, by that and what is lost by one too many.
pub fn newsvendor(too_few: f64, too_many: f64) -> Option<f64> {
    if !(too_few > 0.0 && too_many > 0.0) {
        return None;
    }
    sound(too_few / (too_few + too_many))
}

/// How many to have ready for a demand that is normal.
pub fn newsvendor_normal(mean: f64, sd: f64, too_few: f64, too_many: f64) -> Option<f64> {
    sound(mean + sd * law::normal_at(newsvendor(too_few, too_many)?)?)
}

/// How many to have ready for a demand between two numbers, each as likely.
pub fn newsvendor_uniform(least: f64, most: f64, too_few: f64, too_many: f64) -> Option<f64> {
    sound(least + (most - least) * newsvendor(too_few, too_many)?)
}

/// What to keep back for a demand of mean and standard deviation a period over an uncertain number of periods until more comes.
pub fn safety_stock(z: f64, sd: f64, periods: f64, mean: f64, periods_sd: f64) -> Option<f64> {
    if periods < 0.0 {
        return None;
    }
    sound(z * (periods * sd * sd + mean * mean * periods_sd * periods_sd).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_trays_by_hand() {
        // derived by hand: one needed at ½: 1 − ½^n ≥ 0.9 from n = 4 on, 0.9375; three give 0.875
        let found = trays_at(1, 0.5, 0.9).unwrap();
        assert_eq!((found.trays, found.optimistic), (4, 4));
        assert!((found.chance - 0.9375).abs() < 1e-12 && (found.one_fewer - 0.875).abs() < 1e-12);
        assert_eq!(trays_at(7, 1.0, 0.95), Some(Enough { trays: 7, chance: 1.0, one_fewer: 0.0, optimistic: 7 }));
        // Beta(1, 1): every count of n is as likely, at least one of n has n/(n+1)
        let found = beta_binomial(1, 1.0, 1.0, 0.8).unwrap();
        assert_eq!(found.trays, 4);
        assert!((found.chance - 0.8).abs() < 1e-12);
    }

    #[test]
    fn trays_in_words() {
        assert_eq!(
            trays(10, 18, 20, 0.95).unwrap().words(10, 18, 20),
            "sow 15 to have 10 with a chance of 97 % (14 give 94.6 %); if 90 % (18 of 20) were sure, 13 would do"
        );
        assert!(
            trays_at(10, 0.9, 0.95)
                .unwrap()
                .words_at(10)
                .starts_with("sow 13 to have 10 with a chance of 96 % (12 give 88.9 %); the rate")
        );
        // 0.9658 is cut off, not called 97, and less than all is never called 100
        assert!(trays(10, 18, 20, 0.999).unwrap().words(10, 18, 20).contains("with a chance of 99.9 %"));
        assert_eq!(
            trays_at(60_000, 0.99, 0.95).map(|found| found.trays > 60_000),
            Some(true),
            "below the most there is"
        );
        assert!(trays_at(7, 1.0, 0.95).unwrap().words_at(7).starts_with("sow 7 to have 7 with a chance of 100 %; "));
    }

    #[test]
    fn not_enough_to_say_is_none() {
        assert_eq!((trays(10, 0, 0, 0.95), trays(10, 0, 20, 0.95), trays(10, 21, 20, 0.95)), (None, None, None));
        assert_eq!((trays(0, 9, 10, 0.95), trays(10, 9, 10, 1.0), trays(10, 9, 10, f64::NAN)), (None, None, None));
        assert_eq!((trays_at(5, 0.0, 0.9), trays_at(5, 1.1, 0.9), trays_at(5, 1e-9, 0.9)), (None, None, None));
        assert_eq!((newsvendor(0.0, 1.0), newsvendor(1.0, f64::INFINITY)), (None, Some(0.0)));
    }
}
