//! What the order of the values says, whatever their distances: rank sum of two groups, Kruskal and Wallis of several.

use super::spread::{kth, middle_of};
use super::{SURE, law, real, sorted, usable, whole};

/// From so many values in a group on orders are no longer counted one by one.
pub const COUNTED_BELOW: usize = 50;

/// By so much a chance may pass a limit through rounding alone.
const ROUNDING: f64 = 1e-12;

/// Two groups by the order of their values.
pub(super) struct Order {
    pub w: f64,
    pub p: f64,
    pub exact: bool,
    pub shift: f64,
    pub interval: Option<(f64, f64)>,
}

pub(super) fn order(first: &[f64], second: &[f64]) -> Option<Order> {
    if !usable(first) || !usable(second) {
        return None;
    }
    let (ups, downs) = (sorted(first), sorted(second));
    let below = |limit: f64| ups.iter().map(|x| downs.partition_point(|y| *y < x - limit)).sum::<usize>();
    let ties = ups.iter().map(|x| downs.partition_point(|y| y <= x)).sum::<usize>() - below(0.0);
    let w = real(below(0.0)) + 0.5 * real(ties);
    let (n, m) = (ups.len(), downs.len());
    let all: Vec<f64> = sorted(&[first, second].concat());
    let tied = tied(&all);
    let exact = tied <= 0.0 && n < COUNTED_BELOW && m < COUNTED_BELOW;
    let pairs = real(n) * real(m);
    let total = real(n + m);
    let sd = (pairs / 12.0 * (total + 1.0 - tied / (total * (total - 1.0)))).sqrt();
    let (p, outside) = if exact {
        let chances = chances(n, m);
        let tail = |most: usize| chances.iter().take(most + 1).sum::<f64>();
        // the distribution is its own mirror image
        let low = whole(w.min(pairs - w));
        let outside = (0..=n * m).find(|most| tail(*most) > 0.5 * (1.0 - SURE) + ROUNDING)?;
        ((2.0 * tail(low)).min(1.0), outside)
    } else if sd > 0.0 {
        let off = ((w - 0.5 * pairs).abs() - 0.5).max(0.0);
        let reach = sd * law::normal_at(0.5 + 0.5 * SURE)?;
        ((2.0 * law::normal_below(-off / sd)).min(1.0), whole(0.5 * pairs - reach))
    } else {
        (1.0, 0)
    };
    let (least, most) = (ups.first()? - downs.last()?, ups.last()? - downs.first()?);
    let at_most = |v: f64| ups.iter().map(|x| downs.len() - downs.partition_point(|y| x - y > v)).sum::<usize>();
    let interval =
        (outside > 0).then(|| (kth(outside, least, most, at_most), kth(n * m + 1 - outside, least, most, at_most)));
    Some(Order { w, p, exact, shift: middle_of(n * m, least, most, at_most), interval })
}

/// The chance of each number of pairs in which the first is above, if every order of n and m values is as likely.
fn chances(n: usize, m: usize) -> Vec<f64> {
    // the chance that a value taken at random from the top is of the first, with all of the second below it
    let mut rows: Vec<Vec<f64>> = (0..=m).map(|_| vec![1.0]).collect();
    for i in 1..=n {
        let mut next: Vec<Vec<f64>> = vec![vec![1.0]];
        for j in 1..=m {
            let mut here = vec![0.0; i * j + 1];
            let share = real(i) / real(i + j);
            // of the first: above all j of the second
            let taken = rows.get(j).into_iter().flatten().map(|p| p * share);
            here.iter_mut().skip(j).zip(taken).for_each(|(slot, p)| *slot += p);
            let other = next.last().into_iter().flatten().map(|p| p * (1.0 - share));
            here.iter_mut().zip(other).for_each(|(slot, p)| *slot += p);
            next.push(here);
        }
        rows = next;
    }
    rows.pop().unwrap_or_default()
}

/// The chance that the first is above in so many pairs or more, every order of n and m values being as likely; exact.
pub fn at_least(w: usize, n: usize, m: usize) -> Option<f64> {
    if n == 0 || m == 0 || n >= COUNTED_BELOW || m >= COUNTED_BELOW {
        return None;
    }
    Some(chances(n, m).iter().skip(w).sum())
}

/// The sum of t³ − t over each set of t equal values; 0 where there is none.
fn tied(order: &[f64]) -> f64 {
    let of = |set: &[f64]| real(set.len()).powi(3) - real(set.len());
    order.chunk_by(|x, y| x.total_cmp(y).is_eq()).map(of).sum()
}

/// Several groups by the order of their values.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Rank {
    pub h: f64,
    pub df: f64,
    pub p: f64,
}

/// Kruskal and Wallis, corrected for ties, the chance by chi-square; `None` with fewer than two groups that hold values, or
/// where all values are equal.
pub fn kruskal_wallis(groups: &[Vec<f64>]) -> Option<Rank> {
    let held: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    let all: Vec<f64> = sorted(&held.iter().flat_map(|group| group.iter().copied()).collect::<Vec<_>>());
    if held.len() < 2 || !usable(&all) {
        return None;
    }
    let n = real(all.len());
    // the middle of the ranks that equal values share
    let rank = |x: &f64| real(all.partition_point(|y| y < x) + all.partition_point(|y| y <= x) + 1) / 2.0;
    let off = |group: &&Vec<f64>| {
        let size = real(group.len());
        let mean = group.iter().map(rank).sum::<f64>() / size;
        size * (mean - f64::midpoint(n, 1.0)).powi(2)
    };
    let correction = 1.0 - tied(&all) / (n * n * n - n);
    if correction <= 1e-12 {
        return None;
    }
    let h = 12.0 / (n * (n + 1.0)) * held.iter().map(off).sum::<f64>() / correction;
    let df = real(held.len() - 1);
    Some(Rank { h, df, p: law::chi2_above(h, df)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_of_few_by_hand() {
        // derived by hand: of two and two the six orders have 0, 1, 2, 2, 3, 4 pairs
        let found = chances(2, 2);
        for (found, right) in found.iter().zip([1.0, 1.0, 2.0, 1.0, 1.0]) {
            assert!((found - right / 6.0).abs() < 1e-12);
        }
        assert!((at_least(9, 3, 3).unwrap() - 0.05).abs() < 1e-12, "one of twenty");
        for (n, m) in [(1, 7), (5, 9), (30, 49)] {
            let all = chances(n, m);
            assert_eq!(all.len(), n * m + 1);
            assert!((all.iter().sum::<f64>() - 1.0).abs() < 1e-10);
            let mirror = all.iter().zip(all.iter().rev()).all(|(p, q)| (p - q).abs() < 1e-12);
            assert!(mirror, "{n} {m}");
        }
    }

    #[test]
    fn three_against_three_have_no_limits_of_the_shift() {
        // the most uneven order of three and three has two of twenty: no limits of 95 % exist
        let found = order(&[1.0, 2.0, 3.0], &[7.0, 8.5, 9.0]).unwrap();
        assert!((found.p - 0.1).abs() < 1e-12 && found.exact && found.interval.is_none());
    }

    #[test]
    fn limits_of_exactly_95_of_100_are_limits() {
        // one against 39: below all of them in one of 40, which is 2.5 % on either side, so the ends themselves are the limits
        let many: Vec<f64> = (0..39).map(f64::from).collect();
        let found = order(&[0.5], &many).unwrap();
        assert_eq!((found.exact, found.interval), (true, Some((-37.5, 0.5))));
        assert_eq!(order(&[0.5], &many[1..]).unwrap().interval, None, "one of 39 is more");
    }

    #[test]
    fn the_shift_is_the_median_of_the_list_of_all_differences() {
        let mut random = fastrand::Rng::with_seed(8);
        for n in 1..25 {
            let mut draw = |n: usize| (0..n).map(|_| f64::from(random.i32(-40..40)) / 4.0).collect::<Vec<_>>();
            let (a, b) = (draw(n), draw(30 - n));
            let all: Vec<f64> = a.iter().flat_map(|x| b.iter().map(move |y| x - y)).collect();
            assert_eq!(Some(order(&a, &b).unwrap().shift), super::super::middle(&sorted(&all)), "{a:?} {b:?}");
        }
    }

    #[test]
    fn groups_that_cannot_be_told_apart() {
        assert_eq!(kruskal_wallis(&[]), None);
        assert_eq!(kruskal_wallis(&[vec![1.0, 2.0], vec![]]), None);
        assert_eq!(kruskal_wallis(&[vec![2.0, 2.0], vec![2.0]]), None);
    }
}
