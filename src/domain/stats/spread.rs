//! How values lie: mean and median, how wide, and between which limits the true mean and the next value lie.

use super::{SURE, law, mean, middle, real, sorted, sound, squares, sum, usable};

/// Makes the median distance comparable with a standard deviation of normal values: 1 / 0.6745.
pub const MAD_SCALE: f64 = 1.4826;

/// From so many values on there are limits of the mean; fewer are shown as they are.
pub const ENOUGH: usize = 3;

/// From so many values on an entry may be called one to check.
pub const ENOUGH_FOR_FENCES: usize = 8;

/// What a handful of values comes to.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Spread {
    pub n: usize,
    pub mean: f64,
    /// By two passes; of one value there is none.
    pub sd: Option<f64>,
    pub median: f64,
    /// The median distance from the median, times 1.4826.
    pub mad: f64,
    /// The median of the means of all pairs, each value with itself too.
    pub hodges_lehmann: f64,
    pub least: f64,
    pub most: f64,
    pub sum: f64,
}

impl Spread {
    /// `None` of no values, and where one is no number.
    pub fn of(values: &[f64]) -> Option<Self> {
        if !usable(values) {
            return None;
        }
        let order = sorted(values);
        let (n, mean, median) = (order.len(), mean(&order), middle(&order)?);
        sound(mean)?;
        let away: Vec<f64> = order.iter().map(|x| (x - median).abs()).collect();
        Some(Self {
            n,
            mean,
            sd: if n < 2 { None } else { sound((squares(&order, mean) / real(n - 1)).sqrt()) },
            median,
            mad: MAD_SCALE * middle(&sorted(&away))?,
            hodges_lehmann: hodges_lehmann(&order)?,
            least: *order.first()?,
            most: *order.last()?,
            sum: sum(order.iter().copied()),
        })
    }

    /// Limits of the mean by Student, 95 %; `None` below three values.
    pub fn mean_interval(&self) -> Option<(f64, f64)> {
        self.around(SURE, (1.0 / real(self.n)).sqrt())
    }

    /// Limits of one value to come, 95 %; `None` below three values.
    pub fn next_interval(&self) -> Option<(f64, f64)> {
        self.next_within(SURE)
    }

    /// Limits of one value to come, as sure as is asked for.
    pub fn next_within(&self, sure: f64) -> Option<(f64, f64)> {
        self.around(sure, (1.0 + 1.0 / real(self.n)).sqrt())
    }

    fn around(&self, sure: f64, times: f64) -> Option<(f64, f64)> {
        if self.n < ENOUGH {
            return None;
        }
        let half = law::t_at(0.5 + 0.5 * sure, real(self.n - 1))? * self.sd? * times;
        Some((sound(self.mean - half)?, sound(self.mean + half)?))
    }
}

/// Limits of the true median by the order of the values, at least 95 %; `None` below six values, where there are none.
pub fn median_interval(values: &[f64]) -> Option<(f64, f64)> {
    if !usable(values) {
        return None;
    }
    let (rank, _) = median_rank(values.len())?;
    let order = sorted(values);
    Some((*order.get(rank - 1)?, *order.get(order.len() - rank)?))
}

/// Which value from either end limits the median of n values, and how sure that is.
pub fn median_rank(n: usize) -> Option<(usize, f64)> {
    let all = u64::try_from(n).ok()?;
    let outside = |rank: u64| law::binomial_most(rank - 1, all, 0.5).map(|p| 2.0 * p);
    let rank = (1..=all / 2).take_while(|rank| outside(*rank).is_some_and(|p| p <= 1.0 - SURE)).last()?;
    Some((usize::try_from(rank).ok()?, 1.0 - outside(rank)?))
}

/// Lower quartile, median, upper quartile of the (n+1)p kind: at the 22.75th value of 90 three quarters of the way from the
/// 22nd to the 23rd (type 6 of Hyndman and Fan, 1996). Other kinds give other fences.
pub fn quartiles(values: &[f64]) -> Option<(f64, f64, f64)> {
    if !usable(values) {
        return None;
    }
    let order = sorted(values);
    let at = |quarter: usize| {
        let (place, rest) = ((order.len() + 1) * quarter / 4, (order.len() + 1) * quarter % 4);
        let here = *order.get(place.max(1) - 1).or(order.last())?;
        let next = if place == 0 { here } else { *order.get(place).or(order.last())? };
        Some(here + (next - here) * real(rest) / 4.0)
    };
    Some((at(1)?, at(2)?, at(3)?))
}

/// Beyond the inner fences an entry is worth checking, beyond the outer ones all the more. None is left out for it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Fences {
    pub inner: (f64, f64),
    pub outer: (f64, f64),
}

/// Tukey's fences, 1.5 and 3 times the distance of the quartiles; from eight values on.
pub fn fences(values: &[f64]) -> Option<Fences> {
    if values.len() < ENOUGH_FOR_FENCES {
        return None;
    }
    let (low, _, high) = quartiles(values)?;
    let around = |times: f64| Some((sound(low - times * (high - low))?, sound(high + times * (high - low))?));
    Some(Fences { inner: around(1.5)?, outer: around(3.0)? })
}

/// So much of one for each of the other, such as grams cut for each gram of seed: the ratio of the sums.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Ratio {
    pub n: usize,
    pub ratio: f64,
    /// Its standard error, linearised; of one pair there is none.
    pub se: Option<f64>,
    /// The same by leaving one pair out at a time.
    pub jackknife: Option<f64>,
    /// Limits by Student, 95 %, from three pairs on.
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// Of pairs (y, x) the sum of y by the sum of x; `None` without pairs or where the x come to nothing.
pub fn ratio(pairs: &[(f64, f64)]) -> Option<Ratio> {
    let n = pairs.len();
    let (above, below) = (sum(pairs.iter().map(|pair| pair.0)), sum(pairs.iter().map(|pair| pair.1)));
    let ratio = if below > 0.0 { sound(above / below)? } else { return None };
    let se = (n >= 2).then(|| sum(pairs.iter().map(|(y, x)| (y - ratio * x).powi(2))) * real(n) / real(n - 1));
    let se = se.and_then(|squares| sound(squares.sqrt() / below));
    let without: Vec<f64> = pairs.iter().map(|(y, x)| (above - y) / (below - x)).collect();
    let jackknife = if n >= 2 && usable(&without) {
        sound((squares(&without, mean(&without)) * real(n - 1) / real(n)).sqrt())
    } else {
        None
    };
    let half = if n >= ENOUGH { se.zip(law::t_at(0.5 + 0.5 * SURE, real(n - 1))).map(|(se, t)| se * t) } else { None };
    Some(Ratio { n, ratio, se, jackknife, low: half.map(|h| ratio - h), high: half.map(|h| ratio + h) })
}

/// The mean without a tenth of the values at either end (whole values only).
pub fn trimmed(values: &[f64]) -> Option<f64> {
    if !usable(values) {
        return None;
    }
    let (order, cut) = (sorted(values), values.len() / 10);
    order.get(cut..order.len() - cut).map(mean).and_then(sound)
}

/// Huber's mean: values further than 1.5 scaled median distances from it count as if they lay there.
pub fn huber(values: &[f64]) -> Option<f64> {
    let spread = Spread::of(values)?;
    let reach = 1.5 * spread.mad;
    let mut at = spread.median;
    for _ in 0..1000 {
        let held: Vec<f64> = values.iter().map(|x| x.clamp(at - reach, at + reach)).collect();
        let next = mean(&held);
        if (next - at).abs() <= 1e-12 * spread.mad {
            return sound(next);
        }
        at = next;
    }
    sound(at)
}

/// The median of (x + y) / 2 over all pairs, each value with itself too, of values that are in order.
fn hodges_lehmann(order: &[f64]) -> Option<f64> {
    let n = order.len();
    let (least, most) = (*order.first()?, *order.last()?);
    // how many pairs have a mean of at most v: the partner moves down while the value moves up
    let at_most = |v: f64| {
        let mut partners = n;
        let mut found = 0;
        for (at, x) in order.iter().enumerate() {
            while partners > 0 && order.get(partners - 1).is_some_and(|y| f64::midpoint(*x, *y) > v) {
                partners -= 1;
            }
            if partners <= at {
                break;
            }
            found += partners - at;
        }
        found
    };
    Some(middle_of(n * (n + 1) / 2, least, most, at_most))
}

/// The median of so many values of which is only known how many are at most v.
pub(crate) fn middle_of(all: usize, least: f64, most: f64, at_most: impl Fn(f64) -> usize) -> f64 {
    let upper = kth(all / 2 + 1, least, most, &at_most);
    if all % 2 == 1 { upper } else { f64::midpoint(kth(all / 2, least, most, &at_most), upper) }
}

/// The value of a rank (from 1 on): the first number of which as many values are at most as the rank says. Numbers are halved in
/// the order of their bits, so that it ends exactly and needs no list of all pairs.
pub(crate) fn kth(rank: usize, least: f64, most: f64, at_most: impl Fn(f64) -> usize) -> f64 {
    let (mut low, mut high) = (place(least), place(most));
    while low < high {
        let middle = low + (high - low) / 2;
        if at_most(number(middle)) >= rank { high = middle } else { low = middle + 1 }
    }
    number(low) + 0.0
}

const SIGN: u64 = 1 << 63;

/// Where a number stands among all numbers.
fn place(x: f64) -> u64 {
    let bits = x.to_bits();
    if bits & SIGN == 0 { bits | SIGN } else { !bits }
}

fn number(place: u64) -> f64 {
    f64::from_bits(if place & SIGN == 0 { !place } else { place & !SIGN })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_values_by_hand() {
        // derived by hand: 4, 8, 6
        let spread = Spread::of(&[4.0, 8.0, 6.0]).unwrap();
        assert_eq!((spread.n, spread.mean, spread.sd, spread.median), (3, 6.0, Some(2.0), 6.0));
        // pairs 4 5 6 6 7 8 → between the third and fourth
        assert_eq!((spread.hodges_lehmann, spread.least, spread.most, spread.sum), (6.0, 4.0, 8.0, 18.0));
        assert!((spread.mad - 2.0 * 1.4826).abs() < 1e-12);
        let (low, high) = spread.mean_interval().unwrap();
        // 4.302653 · 2 / √3
        assert!((high - low - 2.0 * 4.302_653 * 2.0 / 3.0f64.sqrt()).abs() < 1e-5);
    }

    #[test]
    fn not_enough_is_none_and_never_a_figure() {
        assert_eq!(Spread::of(&[]), None);
        for odd in [f64::NAN, f64::INFINITY] {
            assert_eq!(Spread::of(&[1.0, odd]), None);
            assert_eq!((quartiles(&[1.0, odd]), median_interval(&[odd; 9]), fences(&[odd; 9])), (None, None, None));
            assert_eq!(ratio(&[(odd, 1.0)]), None);
        }
        let one = Spread::of(&[5.0]).unwrap();
        assert_eq!((one.sd, one.mean_interval(), one.next_interval()), (None, None, None));
        let two = Spread::of(&[5.0, 7.0]).unwrap();
        assert_eq!((two.sd.is_some(), two.mean_interval()), (true, None));
        assert_eq!((median_interval(&[1.0; 5]), fences(&[1.0; 7]), ratio(&[])), (None, None, None));
        assert_eq!(ratio(&[(3.0, 0.0)]), None);
        assert_eq!(Spread::of(&[f64::MAX, f64::MAX]), None, "a sum beyond all numbers");
        let one = ratio(&[(6.0, 2.0)]).unwrap();
        assert_eq!((one.ratio, one.se, one.jackknife, one.low), (3.0, None, None, None));
    }

    #[test]
    fn equal_values_have_no_spread_but_limits_of_no_width() {
        let same = Spread::of(&[3.0; 9]).unwrap();
        assert_eq!((same.sd, same.mad, same.hodges_lehmann), (Some(0.0), 0.0, 3.0));
        assert_eq!((same.mean_interval(), median_interval(&[3.0; 9])), (Some((3.0, 3.0)), Some((3.0, 3.0))));
        assert_eq!(fences(&[3.0; 9]).unwrap().outer, (3.0, 3.0));
        assert_eq!((huber(&[3.0; 9]), trimmed(&[3.0; 9])), (Some(3.0), Some(3.0)));
    }

    #[test]
    fn the_median_of_pairs_is_that_of_the_list_of_all_pairs() {
        let mut random = fastrand::Rng::with_seed(7);
        for n in 1..40 {
            let values: Vec<f64> = (0..n).map(|_| f64::from(random.i32(-50..50)) / 8.0).collect();
            let mut pairs = Vec::new();
            for (at, x) in values.iter().enumerate() {
                pairs.extend(values.iter().skip(at).map(|y| f64::midpoint(*x, *y)));
            }
            let listed = middle(&sorted(&pairs)).unwrap();
            assert_eq!(Spread::of(&values).map(|spread| spread.hodges_lehmann), Some(listed), "{values:?}");
        }
    }

    #[test]
    fn quartiles_of_few() {
        // derived by hand, (n+1)p: of 1..7 the 2nd, 4th and 6th; of 1..4 at 1.25, 2.5 and 3.75
        assert_eq!(quartiles(&[7.0, 1.0, 2.0, 6.0, 3.0, 5.0, 4.0]), Some((2.0, 4.0, 6.0)));
        assert_eq!(quartiles(&[4.0, 1.0, 2.0, 3.0]), Some((1.25, 2.5, 3.75)));
        assert_eq!(quartiles(&[4.0]), Some((4.0, 4.0, 4.0)));
        assert_eq!(quartiles(&[4.0, 8.0]), Some((4.0, 6.0, 8.0)));
    }
}
