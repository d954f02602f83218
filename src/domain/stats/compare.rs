//! Two groups of values: how far apart, between which limits, and whether the order of the values alone would tell.

use super::spread::{ENOUGH, Spread};
use super::{SURE, count, law, rank, real, sound, sum, usable, variance, words};

/// Two groups side by side; differences are the first less the second.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Two {
    pub n: (usize, usize),
    pub means: (f64, f64),
    pub diff: f64,
    /// The difference in per cent of the mean of the second; `None` where that is 0.
    pub percent: Option<f64>,
    /// Welch's limits of the difference, 95 %; `None` with fewer than three values in one, or where all of each are equal.
    pub interval: Option<(f64, f64)>,
    pub t: Option<f64>,
    pub df: Option<f64>,
    pub p: Option<f64>,
    /// The median of all differences (Hodges and Lehmann).
    pub shift: f64,
    /// Limits of it, at least 95 %; `None` where so few values have none.
    pub shift_interval: Option<(f64, f64)>,
    /// How often a value of the first lies above one of the second, a tie half.
    pub w: f64,
    /// The chance of an order as uneven or more uneven if there is no difference.
    pub rank_p: f64,
    /// By counting every order: fewer than 50 values in each and no ties. Else by the normal distribution, corrected for ties
    /// and continuity.
    pub exact: bool,
}

/// Compares two groups; `None` where one is empty or holds what is no number.
pub fn two(a: &[f64], b: &[f64]) -> Option<Two> {
    let (first, second) = (Spread::of(a)?, Spread::of(b)?);
    let diff = sound(first.mean - second.mean)?;
    let welch = welch(&first, &second);
    let order = rank::order(a, b)?;
    Some(Two {
        n: (first.n, second.n),
        means: (first.mean, second.mean),
        diff,
        percent: sound(100.0 * diff / second.mean.abs()),
        interval: welch.as_ref().and_then(|test| {
            let half = law::t_at(0.5 + 0.5 * SURE, test.df)? * test.se;
            Some((diff - half, diff + half))
        }),
        t: welch.as_ref().map(|test| test.t),
        df: welch.as_ref().map(|test| test.df),
        p: welch.as_ref().map(|test| test.p),
        shift: order.shift,
        shift_interval: order.interval,
        w: order.w,
        rank_p: order.p,
        exact: order.exact,
    })
}

impl Two {
    /// Whether the limits of the difference leave out none at all; `None` where there are no limits.
    pub fn clear(&self) -> Option<bool> {
        self.interval.map(|(low, high)| low > 0.0 || high < 0.0)
    }

    /// The plain sentence; `unit` stands behind the figures, such as ` g`, and may be empty.
    pub fn words(&self, unit: &str) -> String {
        let (Some((low, high)), Some(clear)) = (self.interval, self.clear()) else {
            return "not enough to say: it takes three values in each group, not all of them alike; add more".into();
        };
        let (from, to) = words::signed(low, high);
        let few =
            if self.n.0.min(self.n.1) <= words::VERY_WIDE { " (very wide, so few are they: add more)" } else { "" };
        if !clear {
            return format!("no clear difference; could be from {from}{unit} to {to}{unit}{few}");
        }
        let more = if self.diff > 0.0 { "more" } else { "less" };
        let by = words::like(self.diff.abs(), low, high);
        format!("the first is {by}{unit} {more} than the second; could be from {from}{unit} to {to}{unit}{few}")
    }

    /// The figures behind it.
    pub fn figures(&self) -> Vec<String> {
        let (one, other) = self.means;
        let percent =
            self.percent.map_or(String::new(), |percent| format!(", {:+.0} % of the second", words::rounded(percent)));
        let mut said = vec![format!(
            "means {} of {} and {} of {}: {}{percent}",
            words::short(one),
            self.n.0,
            words::short(other),
            self.n.1,
            words::plus(self.diff)
        )];
        if let (Some((low, high)), Some(t), Some(df), Some(p)) = (self.interval, self.t, self.df, self.p) {
            let (from, to) = (words::plus(low), words::plus(high));
            said.push(format!(
                "by Welch: {from} to {to} (95 %); t {t:.3}, {df:.1} degrees of freedom, chance {}",
                words::chance(p)
            ));
        }
        let shift = match self.shift_interval {
            Some((low, high)) => format!("{} to {} (95 %)", words::plus(low), words::plus(high)),
            None => "no limits with so few".into(),
        };
        let how = if self.exact { "every order counted" } else { "by the normal distribution" };
        said.push(format!(
            "by the order of the values: {}, {shift}; chance {}, {how}",
            words::plus(self.shift),
            words::chance(self.rank_p)
        ));
        said
    }
}

/// A test by Student's distribution.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Student {
    pub t: f64,
    pub df: f64,
    /// Two-sided.
    pub p: f64,
    /// The standard error of the difference.
    pub se: f64,
}

fn student(diff: f64, se: f64, df: f64) -> Option<Student> {
    if !(se > 0.0 && se.is_finite()) {
        return None;
    }
    Some(Student { t: sound(diff / se)?, df: sound(df)?, p: law::t_beyond(diff / se, df)?, se })
}

/// Welch's test, of groups that need not spread alike.
fn welch(first: &Spread, second: &Spread) -> Option<Student> {
    if first.n < ENOUGH || second.n < ENOUGH {
        return None;
    }
    let part = |spread: &Spread| spread.sd.map(|sd| sd * sd / real(spread.n));
    let (one, other) = (part(first)?, part(second)?);
    let df = (one + other).powi(2) / (one * one / real(first.n - 1) + other * other / real(second.n - 1));
    student(first.mean - second.mean, (one + other).sqrt(), df)
}

/// Student's own test, of groups that spread alike; from two values in each on.
pub fn pooled(a: &[f64], b: &[f64]) -> Option<Student> {
    if !usable(a) || !usable(b) {
        return None;
    }
    let (one, other) = (variance(a)?, variance(b)?);
    let df = real(a.len() + b.len() - 2);
    let within = (one * real(a.len() - 1) + other * real(b.len() - 1)) / df;
    student(super::mean(a) - super::mean(b), (within * (1.0 / real(a.len()) + 1.0 / real(b.len()))).sqrt(), df)
}

/// Every way to split the values into two groups of these sizes.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Splits {
    pub all: u64,
    /// With as large a difference of the means, first less second, or a larger one.
    pub as_large: u64,
    /// The same on either side.
    pub as_far: u64,
    pub p_above: f64,
    pub p: f64,
}

/// More splits are not counted one by one.
const MOST_SPLITS: f64 = 1_000_000.0;

/// Counts every split; `None` where there are more than a million.
pub fn permutation(a: &[f64], b: &[f64]) -> Option<Splits> {
    if !usable(a) || !usable(b) {
        return None;
    }
    let values: Vec<f64> = a.iter().chain(b).copied().collect();
    let ways = (0..a.len()).fold(1.0, |ways, i| ways * real(values.len() - i) / real(i + 1));
    if ways > MOST_SPLITS {
        return None;
    }
    let total = sum(values.iter().copied());
    let (n, m) = (real(a.len()), real(b.len()));
    let diff = |taken: f64| taken / n - (total - taken) / m;
    let seen = diff(sum(a.iter().copied()));
    // what differs by rounding only is as large
    let slack = 1e-9 * values.iter().fold(0.0f64, |most, x| most.max(x.abs()));
    let mut found = Splits { all: 0, as_large: 0, as_far: 0, p_above: 0.0, p: 0.0 };
    each_sum(&values, a.len(), 0.0, &mut |taken| {
        found.all += 1;
        found.as_large += u64::from(diff(taken) >= seen - slack);
        found.as_far += u64::from(diff(taken).abs() >= seen.abs() - slack);
    });
    found.p_above = count(found.as_large) / count(found.all);
    found.p = count(found.as_far) / count(found.all);
    Some(found)
}

/// The sum of every choice of so many of the values.
fn each_sum(values: &[f64], choose: usize, so_far: f64, tell: &mut impl FnMut(f64)) {
    if choose == 0 {
        tell(so_far);
    } else if let Some((first, rest)) = values.split_first()
        && values.len() >= choose
    {
        each_sum(rest, choose - 1, so_far + first, tell);
        each_sum(rest, choose, so_far, tell);
    }
}

/// The difference, in standard deviations of one value, that two groups of n reveal with 80 % power (two-sided, 5 %).
pub fn detectable(each: usize) -> Option<f64> {
    if each < 2 {
        return None;
    }
    let df = real(2 * each - 2);
    let limit = law::t_at(0.5 + 0.5 * SURE, df)?;
    let away = (real(each) / 2.0).sqrt();
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if power(limit, df, middle * away) < POWER { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

const POWER: f64 = 0.8;

/// The chance that a t of this many degrees of freedom, moved by `away`, lies beyond the limit on either side.
fn power(limit: f64, df: f64, away: f64) -> f64 {
    super::range::over_sd(df, |sd| law::normal_below(away - limit * sd) + law::normal_below(-away - limit * sd))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_against_three_by_hand() {
        // derived by hand: 1 2 3 against 2 3 4: −1 ± 2.776445 · √(1/3 + 1/3)
        let found = two(&[1.0, 2.0, 3.0], &[2.0, 3.0, 4.0]).unwrap();
        assert_eq!((found.n, found.diff, found.shift, found.w, found.exact), ((3, 3), -1.0, -1.0, 2.0, false));
        let (low, high) = found.interval.unwrap();
        let half = 2.776_445 * (2.0f64 / 3.0).sqrt();
        assert!((low + 1.0 + half).abs() < 1e-6 && (high + 1.0 - half).abs() < 1e-6);
        assert!((found.df.unwrap() - 4.0).abs() < 1e-12);
        assert!((found.percent.unwrap() + 100.0 / 3.0).abs() < 1e-12);
        // by order, two pairs tied: 2 of 9 against 4.5, variance 0.75 · (7 − 12/30): (2.5 − 0.5) / √4.95 away
        let beyond = 2.0 * law::normal_below(-2.0 / 4.95f64.sqrt());
        assert!((found.rank_p - beyond).abs() < 1e-12);
    }

    #[test]
    fn no_clear_difference_is_never_called_none() {
        let found = two(&[1.0, 2.0, 3.0], &[2.0, 3.0, 4.0]).unwrap();
        assert_eq!(
            found.words(""),
            "no clear difference; could be from -3.3 to +1.3 (very wide, so few are they: add more)"
        );
        let far: Vec<f64> = (0..9).map(|x| 100.0 + f64::from(x)).collect();
        let near: Vec<f64> = (0..9).map(f64::from).collect();
        let found = two(&far, &near).unwrap();
        assert_eq!(found.words(" g"), "the first is 100.0 g more than the second; could be from +97.3 g to +102.7 g");
        assert!(two(&near, &far).unwrap().words("").starts_with("the first is 100.0 less than"));
        assert!(two(&[1.0], &far).unwrap().words("").starts_with("not enough to say"));
        assert_eq!(two(&[1.0], &far).unwrap().figures().len(), 2);
    }

    #[test]
    fn not_enough_is_none() {
        assert_eq!(two(&[], &[1.0]), None);
        assert_eq!(two(&[1.0], &[f64::NAN]), None);
        let few = two(&[1.0, 2.0], &[2.0, 5.0, 6.0]).unwrap();
        assert_eq!((few.interval, few.t, few.p, few.shift_interval), (None, None, None, None));
        let same = two(&[2.0; 5], &[2.0; 5]).unwrap();
        assert_eq!((same.diff, same.interval, same.p, same.rank_p), (0.0, None, None, 1.0));
        assert_eq!(two(&[1.0, 2.0, 3.0], &[0.0, 0.0, 0.0]).unwrap().percent, None);
        assert_eq!((pooled(&[1.0], &[2.0, 3.0]), permutation(&[], &[1.0]), detectable(1)), (None, None, None));
        assert_eq!(permutation(&[1.0; 20], &[1.0; 20]), None, "too many splits");
    }

    #[test]
    fn every_split_of_four_by_hand() {
        // derived by hand: {4, 3} of {1, 2, 3, 4}: one split of six is as large, two as far
        let found = permutation(&[4.0, 3.0], &[1.0, 2.0]).unwrap();
        assert_eq!((found.all, found.as_large, found.as_far), (6, 1, 2));
    }
}
