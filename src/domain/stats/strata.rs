//! Two groups in strata, such as weeks of a crop: only what differs within a stratum tells, so that a group is not better for
//! having had more of the good weeks.

use std::collections::BTreeMap;

use super::{count, real, sound, sum, usable};
use crate::domain::proportion::Exact;

/// Values of both groups with what their strata have in common taken off and the mean of all put back; `None` where no stratum has
/// both. What the strata cost is made good: the values lie as much wider as the strata, and unequal numbers within them, make the
/// difference less sure, so that a test of two groups that knows nothing of strata is no surer than it may be. Strata with one group
/// alone count for nothing.
pub fn levelled<K: Ord + Copy>(a: &[(K, f64)], b: &[(K, f64)]) -> Option<(Vec<f64>, Vec<f64>)> {
    let mut strata: BTreeMap<K, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
    for (key, value) in a {
        strata.entry(*key).or_default().0.push(*value);
    }
    for (key, value) in b {
        strata.entry(*key).or_default().1.push(*value);
    }
    strata.retain(|_, (a, b)| !a.is_empty() && !b.is_empty());
    let all: Vec<f64> = strata.values().flat_map(|(a, b)| a.iter().chain(b)).copied().collect();
    if !usable(&all) {
        return None;
    }
    let each = |f: &dyn Fn(&[f64], &[f64]) -> f64| sum(strata.values().map(|(a, b)| f(a, b)));
    // the difference that makes the squares least
    let weight = |a: &[f64], b: &[f64]| real(a.len()) * real(b.len()) / real(a.len() + b.len());
    let weights = each(&weight);
    let diff = each(&|a, b| weight(a, b) * (super::mean(a) - super::mean(b))) / weights;
    let level = |(a, b): &(Vec<f64>, Vec<f64>)| {
        (sum(a.iter().map(|value| value - diff)) + sum(b.iter().copied())) / real(a.len() + b.len())
    };
    let middle = each(&|a, b| sum(a.iter().map(|value| value - diff)) + sum(b.iter().copied())) / real(all.len());
    let (free, n) = (real(all.len()) - real(strata.len()) - 1.0, each(&|a, _| real(a.len())));
    let as_if = 1.0 / n + 1.0 / (real(all.len()) - n);
    let wider = if strata.len() > 1 { ((real(all.len()) - 2.0) / free / weights / as_if).sqrt() } else { 1.0 };
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for stratum in strata.values() {
        let level = level(stratum);
        first.extend(stratum.0.iter().map(|value| middle + diff + wider * (value - diff - level)));
        second.extend(stratum.1.iter().map(|value| middle + wider * (value - level)));
    }
    (usable(&first) && usable(&second)).then_some((first, second))
}

/// The chance that two shares differ by as much or more, in all strata together, if there is no difference (two-sided, exact, given
/// how many were found in each stratum): of each `a` of `a + b` against `c` of `c + d`. The same as Fisher's where there is one.
pub fn shares(tables: &[(u64, u64, u64, u64)]) -> Option<f64> {
    let most = tables.iter().map(|(a, b, c, d)| a + b + c + d).max()?;
    let exact = Exact::new(most);
    // chances of each count of the first group, from `least` on, one stratum after the other
    let (mut least, mut chances) = (0, vec![1.0]);
    for (a, b, c, d) in tables {
        let (low, one) = exact.chances(*a, *b, *c, *d);
        let mut next = vec![0.0; chances.len() + one.len() - 1];
        for (at, chance) in chances.iter().enumerate() {
            for (slot, more) in next.iter_mut().skip(at).zip(&one) {
                *slot += chance * more;
            }
        }
        (least, chances) = (least + low, next);
    }
    let found: u64 = tables.iter().map(|(a, ..)| a).sum();
    let seen = *chances.get(usize::try_from(found - least).ok()?)?;
    // equal chances differ by rounding only
    sound(sum(chances.into_iter().filter(|p| *p <= seen * (1.0 + 1e-7))).min(1.0))
}

/// How many more of the first group were found than its strata would give it; below 0: fewer.
pub fn more_than_expected(tables: &[(u64, u64, u64, u64)]) -> f64 {
    sum(tables.iter().map(|(a, b, c, d)| {
        let all = count(a + b + c + d);
        if all > 0.0 { count(*a) - count(a + b) * count(a + c) / all } else { 0.0 }
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_better_week_is_no_better_group() {
        // derived by hand: within each week the first group gives 10 more; it had more of the poor week
        let a = [(1, 110.0), (1, 112.0), (1, 108.0), (2, 210.0)];
        let b = [(1, 100.0), (2, 200.0), (2, 202.0), (2, 198.0)];
        let (first, second) = levelled(&a, &b).unwrap();
        let mean = super::super::mean;
        assert!((mean(&first) - mean(&second) - 10.0).abs() < 1e-9, "{first:?} {second:?}");
        let both: f64 = a.iter().chain(&b).map(|(_, value)| value).sum::<f64>() / 8.0;
        assert!((f64::midpoint(mean(&first), mean(&second)) - both).abs() < 1e-9, "the grams stay grams");
        // one week alone stays as it is; no week of both is none
        let one = levelled(&[(1, 5.0), (1, 7.0)], &[(1, 6.0), (2, 90.0)]).unwrap();
        assert!(one.0.iter().zip([5.0, 7.0]).all(|(x, y): (&f64, f64)| (x - y).abs() < 1e-12), "{one:?}");
        assert_eq!(one.1.len(), 1);
        assert_eq!(levelled(&[(1, 5.0)], &[(2, 6.0)]), None);
        assert_eq!(levelled::<i32>(&[], &[]), None);
    }

    #[test]
    fn one_stratum_is_fishers_test() {
        for (a, b, c, d) in [(3, 1, 1, 3), (12, 3, 10, 71), (0, 4, 0, 9), (5, 5, 1, 9)] {
            let fisher = Exact::new(a + b + c + d).fisher(a, b, c, d);
            assert!((shares(&[(a, b, c, d)]).unwrap() - fisher).abs() < 1e-12);
            // a stratum of one group alone says nothing
            assert!((shares(&[(a, b, c, d), (7, 2, 0, 0)]).unwrap() - fisher).abs() < 1e-12);
        }
        assert_eq!(shares(&[]), None);
    }

    #[test]
    fn two_strata_by_hand() {
        // derived by hand: two tables of one found among two and two: 0, 1 or 2 at 1/4, 1/2, 1/4; 2 seen: 1/4 and its mirror
        let table = (1, 1, 0, 2);
        assert!((shares(&[table, table]).unwrap() - 0.5).abs() < 1e-12);
        assert!((more_than_expected(&[table, table]) - 1.0).abs() < 1e-12);
        // a crop that is lost everywhere does not make its shelf a bad one
        let bad_crop_there = [(12, 28, 0, 0), (0, 0, 1, 39)];
        assert!((shares(&bad_crop_there).unwrap() - 1.0).abs() < 1e-12);
    }
}
