//! A straight line by least squares, and how values hang together with their neighbours.

use super::{mean, real, sound, squares, sum, usable};

/// A line with what is known of it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Line {
    pub slope: f64,
    pub intercept: f64,
    pub slope_sd: f64,
    pub intercept_sd: f64,
    pub residual_sd: f64,
    pub r2: f64,
    pub f: f64,
    /// Sums of squares, of the line and of what is left.
    pub explained: f64,
    pub left: f64,
    pub df: f64,
}

/// Through points (x, y); `None` below three, where all x are equal, or where nothing is left to judge the line by.
pub fn ols(points: &[(f64, f64)]) -> Option<Line> {
    let n = points.len();
    let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    if n < 3 || !usable(&xs) || !usable(&ys) {
        return None;
    }
    let (x0, y0) = (mean(&xs), mean(&ys));
    let width = squares(&xs, x0);
    let slope = sound(sum(points.iter().map(|(x, y)| (x - x0) * (y - y0))) / width)?;
    let left = sum(points.iter().map(|(x, y)| (y - y0 - slope * (x - x0)).powi(2)));
    let df = real(n - 2);
    let residual_sd = (left / df).sqrt();
    let explained = slope * slope * width;
    Some(Line {
        slope,
        intercept: y0 - slope * x0,
        slope_sd: residual_sd / width.sqrt(),
        intercept_sd: residual_sd * (1.0 / real(n) + x0 * x0 / width).sqrt(),
        residual_sd,
        r2: explained / (explained + left),
        f: sound(explained / (left / df))?,
        explained,
        left,
        df,
    })
}

/// How much a value goes with the one before it: 1 alike, −1 in turn. `None` where all are equal.
pub fn lag1(values: &[f64]) -> Option<f64> {
    if !usable(values) {
        return None;
    }
    let middle = mean(values);
    let along = sum(values.iter().zip(values.iter().skip(1)).map(|(x, next)| (x - middle) * (next - middle)));
    sound(along / squares(values, middle))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_by_hand() {
        // derived by hand: (0, 1) (1, 2) (2, 6): slope 2.5, intercept 0.5, left 0.25 + 1 + 0.25
        let line = ols(&[(0.0, 1.0), (1.0, 2.0), (2.0, 6.0)]).unwrap();
        assert!((line.slope - 2.5).abs() < 1e-12 && (line.intercept - 0.5).abs() < 1e-12);
        assert!((line.left - 1.5).abs() < 1e-12 && (line.explained - 12.5).abs() < 1e-12);
        assert_eq!(ols(&[(0.0, 1.0), (1.0, 2.0)]), None);
        assert_eq!(ols(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0)]), None);
        assert_eq!(ols(&[(1.0, 1.0), (2.0, 2.0), (3.0, 3.0)]), None, "nothing left");
        assert_eq!((lag1(&[]), lag1(&[2.0; 4])), (None, None));
    }
}
