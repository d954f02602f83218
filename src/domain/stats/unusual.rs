//! Values in their order: which of them are unusual, whether they shift, and between which limits the next one lies.

use super::chart::{Limits, Rule, RunChart, hits, individuals};
use super::spread::{ENOUGH, Spread};
use super::{usable, words};
use crate::domain::text::counted;

/// Below so many values the limits of a chart call good ones unusual too often, and the limits of the next value are used.
pub const ENOUGH_FOR_CHART: usize = 20;

/// What is unusual among some values.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Unusual {
    pub n: usize,
    /// Limits by the distances of neighbours; `None` below two values.
    pub limits: Option<Limits>,
    /// Limits of one value to come, 95 %; `None` below three values.
    pub next: Option<(f64, f64)>,
    /// Which lie outside the limits, counted from 1.
    pub outside: Vec<usize>,
    /// Which complete eight on one side of the middle, counted from 1.
    pub eight: Vec<usize>,
    pub runs: Option<RunChart>,
}

impl Unusual {
    /// `None` without values, or where one is no number.
    pub fn of(values: &[f64]) -> Option<Self> {
        if !usable(values) {
            return None;
        }
        let limits = individuals(values);
        let beyond = |rule: Rule| {
            limits.as_ref().map_or_else(Vec::new, |limits| {
                let third = (limits.high - limits.centre) / 3.0;
                // where all neighbours are alike there is no distance to measure with
                let z = |x: &f64| if third > 0.0 { (x - limits.centre) / third } else { 0.0 };
                hits(&values.iter().map(z).collect::<Vec<_>>(), rule).into_iter().map(|at| at + 1).collect()
            })
        };
        Some(Self {
            n: values.len(),
            outside: beyond(Rule::Beyond3),
            eight: beyond(Rule::EightOneSide),
            next: Spread::of(values).and_then(|spread| spread.next_interval()),
            runs: RunChart::of(values),
            limits,
        })
    }

    /// The plain sentence.
    pub fn words(&self) -> String {
        let n = self.n;
        let Some((low, high)) = self.next else {
            let values = if n == 1 { "one value has" } else { "two values have" };
            return format!("not enough to say: {values} no limits, it takes {ENOUGH}; add more");
        };
        if high <= low {
            return format!(
                "not enough to say: all {n} values are alike, so nothing tells how far the next one may lie; check them"
            );
        }
        let (from, to) = words::limits(low, high);
        let next = format!("the next value lies from {from} to {to} in 95 of 100 cases");
        if n < ENOUGH_FOR_CHART {
            return format!("{next}; with only {n} values it is too early to call one of them unusual");
        }
        match (self.outside.as_slice(), self.shifted()) {
            ([], false) => format!("none of {n} values is unusual; {next}"),
            ([], true) => {
                format!(
                    "no single value of {n} is unusual, but they have shifted: look for what has changed before the next one is foretold"
                )
            }
            (which, shifted) => {
                let (also, next) =
                    if shifted { (", and they have shifted", String::new()) } else { ("", format!("; {next}")) };
                let (are, which) = (if which.len() == 1 { "is" } else { "are" }, listed(which));
                format!("{which} of {n} values {are} unusual{also}: look at what was different then{next}")
            }
        }
    }

    /// Eight on one side, a run too long, or too few crossings.
    pub fn shifted(&self) -> bool {
        !self.eight.is_empty() || self.runs.as_ref().is_some_and(RunChart::shift)
    }

    /// The figures behind it.
    pub fn figures(&self) -> Vec<String> {
        let mut said = Vec::new();
        if let Some(limits) = &self.limits {
            let (from, to) = words::limits(limits.low, limits.high);
            let early = if self.n < ENOUGH_FOR_CHART {
                "; of fewer than 20 values they call good ones unusual too often, so none is named"
            } else {
                ""
            };
            said.push(format!(
                "limits {from} to {to} about {}, from the mean distance of neighbours {} by 1.128{early}",
                words::short(limits.centre),
                words::short(limits.range_mean)
            ));
            if self.n >= ENOUGH_FOR_CHART {
                let outside = if self.outside.is_empty() { "none".into() } else { listed(&self.outside) };
                let eight = if self.eight.is_empty() { "none".into() } else { listed(&self.eight) };
                said.push(format!("outside of them: {outside}; eight on one side end at: {eight}"));
            }
        }
        said.push(match &self.runs {
            Some(runs) => format!(
                "about the median {}: longest run {}, up to {} usual; {}, at least {} usual ({} values beside it)",
                words::short(runs.median),
                runs.longest,
                runs.longest_most,
                counted(runs.crossings, "crossing"),
                runs.crossings_least,
                runs.useful
            ),
            None => "no run chart: it takes ten values beside the median".into(),
        });
        said
    }
}

/// `the 4th and the 6th`.
fn listed(which: &[usize]) -> String {
    let named: Vec<String> = which.iter().map(|n| format!("the {n}{}", ending(*n))).collect();
    match named.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

fn ending(n: usize) -> &'static str {
    match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_values_have_limits_of_the_next_one_only() {
        assert_eq!(Unusual::of(&[]), None);
        assert_eq!(Unusual::of(&[1.0, f64::NAN]), None);
        assert_eq!(
            Unusual::of(&[1.0]).unwrap().words(),
            "not enough to say: one value has no limits, it takes 3; add more"
        );
        assert!(Unusual::of(&[1.0, 2.0]).unwrap().words().starts_with("not enough to say: two values"));
        let few = Unusual::of(&[10.0, 12.0, 11.0, 9.0]).unwrap();
        assert!(few.words().contains("with only 4 values it is too early"), "{}", few.words());
        assert!(few.figures().iter().any(|line| line.contains("too often")));
        assert!(!few.figures().iter().any(|line| line.contains("outside of them")), "too early to name one");
    }

    #[test]
    fn one_wild_value_and_a_shift() {
        let mut values: Vec<f64> = (0..24).map(|x| 50.0 + f64::from(x % 3)).collect();
        let quiet = Unusual::of(&values).unwrap();
        assert!(
            quiet.words().starts_with("none of 24 values is unusual; the next value lies from"),
            "{}",
            quiet.words()
        );
        values[2] = 90.0;
        let wild = Unusual::of(&values).unwrap();
        assert_eq!(wild.outside, [3]);
        assert!(wild.words().starts_with("the 3rd of 24 values is unusual"), "{}", wild.words());
        let moved: Vec<f64> = (0..24).map(|x| f64::from(x % 3) + if x < 12 { 50.0 } else { 53.0 }).collect();
        let moved = Unusual::of(&moved).unwrap();
        assert!(moved.shifted() && moved.words().contains("they have shifted"), "{}", moved.words());
        let same = Unusual::of(&[5.0; 25]).unwrap();
        assert!(
            same.outside.is_empty() && same.eight.is_empty() && same.words().starts_with("not enough to say: all 25")
        );
    }

    #[test]
    fn numbers_in_their_order() {
        assert_eq!(listed(&[1, 2, 3, 11, 22]), "the 1st, the 2nd, the 3rd, the 11th and the 22nd");
    }
}
