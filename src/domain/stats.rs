//! Statistics of few trays: what is honest to say of them, and "not enough" as `None` where nothing is.
//!
//! Nothing in here knows of a book, a crop or a week: values go in, figures come out. What figures are worth showing, and in
//! which words, is said where they are asked for.

pub mod chart;
pub mod compare;
pub mod drift;
pub mod groups;
pub mod law;
pub mod range;
pub mod rank;
pub mod regress;
pub mod resample;
pub mod share;
pub mod shrink;
pub mod sow;
pub mod spread;
pub mod strata;
pub mod unusual;
pub mod words;

/// How sure an interval is where nothing else is said.
pub const SURE: f64 = 0.95;

/// Counts of trays, weeks and seeds as a number to reckon with.
#[expect(clippy::cast_precision_loss, reason = "counts of trays and seeds are far below 2^53")]
pub(crate) fn real(n: usize) -> f64 {
    n as f64
}

/// The same of the counts that a book keeps.
#[expect(clippy::cast_precision_loss, reason = "counts of trays and seeds are far below 2^53")]
pub(crate) fn count(n: u64) -> f64 {
    n as f64
}

/// The whole number at or below, none below 0.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held between 0 and 2^53 before")]
pub(crate) fn whole(x: f64) -> usize {
    x.clamp(0.0, 9_007_199_254_740_992.0) as usize
}

/// Whether all of them are numbers to reckon with, and there is one.
pub(crate) fn usable(values: &[f64]) -> bool {
    !values.is_empty() && values.iter().all(|x| x.is_finite())
}

/// What is left when a figure came to be no number.
pub(crate) fn sound(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}

/// The sum with what rounding took away added again at the end, so that the order of the values does not tell.
pub(crate) fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let (total, lost) = values.into_iter().fold((0.0f64, 0.0f64), |(total, lost), x| {
        let next = total + x;
        let gone = if total.abs() >= x.abs() { (total - next) + x } else { (x - next) + total };
        (next, lost + gone)
    });
    total + lost
}

/// The mean, taken twice: the second time of what is left, so that large values keep their last digits.
pub(crate) fn mean(values: &[f64]) -> f64 {
    let n = real(values.len());
    let first = sum(values.iter().copied()) / n;
    first + sum(values.iter().map(|x| x - first)) / n
}

/// Squares of the distances from a mean that is known already: the second of two passes.
pub(crate) fn squares(values: &[f64], mean: f64) -> f64 {
    sum(values.iter().map(|x| (x - mean) * (x - mean)))
}

/// The variance of a sample by two passes; `None` of one value.
pub(crate) fn variance(values: &[f64]) -> Option<f64> {
    let n = values.len();
    if n < 2 {
        return None;
    }
    sound(squares(values, mean(values)) / real(n - 1))
}

pub(crate) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut order = values.to_vec();
    order.sort_by(f64::total_cmp);
    order
}

/// The middle of values that are in order.
pub(crate) fn middle(order: &[f64]) -> Option<f64> {
    let n = order.len();
    let upper = *order.get(n / 2)?;
    if n % 2 == 1 { Some(upper) } else { order.get(n / 2 - 1).map(|lower| f64::midpoint(*lower, upper)) }
}
