//! Drawing again from the same values, to see how far a figure would wander.

use super::{usable, variance};

/// The standard deviation of the difference of two means over so many draws with replacement; the seed makes it the same again.
pub fn difference_se(a: &[f64], b: &[f64], draws: usize, seed: u64) -> Option<f64> {
    if !usable(a) || !usable(b) {
        return None;
    }
    let mut random = fastrand::Rng::with_seed(seed);
    let mut draw = |values: &[f64]| {
        let again: Vec<f64> = values.iter().filter_map(|_| values.get(random.usize(..values.len())).copied()).collect();
        super::mean(&again)
    };
    let found: Vec<f64> = (0..draws).map(|_| draw(a) - draw(b)).collect();
    variance(&found).map(f64::sqrt)
}

/// What that comes to for the mean of one group with ever more draws: the spread of the values themselves by √n.
pub fn mean_se(values: &[f64]) -> Option<f64> {
    let n = super::real(values.len());
    if !usable(values) {
        return None;
    }
    super::sound((super::squares(values, super::mean(values)) / n / n).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_draws_the_same() {
        let (a, b) = ([1.0, 5.0, 9.0], [2.0, 2.5]);
        assert_eq!(difference_se(&a, &b, 50, 3), difference_se(&a, &b, 50, 3));
        assert_ne!(difference_se(&a, &b, 50, 3), difference_se(&a, &b, 50, 4));
        assert_eq!((difference_se(&[], &b, 50, 3), difference_se(&a, &b, 1, 3), mean_se(&[])), (None, None, None));
        assert_eq!(mean_se(&[4.0, 4.0]), Some(0.0));
    }
}
