//! A scale with round numbers on it, made for what is ordinary: a slip of the pen must not press everything else flat.

/// What is beyond this either way is no figure of a grow room.
const MOST: f64 = 1e9;
/// Stretches between round numbers, about.
const STRETCHES: f64 = 4.0;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    pub low: f64,
    pub high: f64,
    pub step: f64,
}

/// Where a value lies on a scale: from 0 to 1, or beyond an end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum At {
    Below,
    On(f64),
    Above,
}

impl Scale {
    /// Made for the values of each group, each with whether it is doubtful. `lines` are taken in as long as they lie within
    /// `reach` times the stretch of the values. None without values.
    pub fn of(groups: &[Vec<(f64, bool)>], lines: &[f64], reach: f64) -> Option<Self> {
        let (mut sure, mut doubtful) = (Vec::new(), Vec::new());
        for group in groups {
            let ordinary = ordinary(group);
            for (x, odd) in group.iter().filter(|(x, _)| x.is_finite()) {
                if x.abs() > MOST {
                    continue;
                }
                if *odd || !ordinary.is_none_or(|(low, high)| (low..=high).contains(x)) {
                    doubtful.push(*x);
                } else {
                    sure.push(*x);
                }
            }
        }
        if groups.iter().all(Vec::is_empty) {
            return None;
        }
        let (mut low, mut high) = ends(&sure).or_else(|| ends(&doubtful)).unwrap_or((0.0, 1.0));
        let stretch = if high > low { high - low } else { (low.abs() / 10.0).max(1.0) };
        let (least, most) = (low, high);
        // what is doubtful is drawn where it takes little room
        for (values, reach) in [(lines, reach), (doubtful.as_slice(), 0.35)] {
            for x in values.iter().filter(|x| x.is_finite()) {
                if (least - reach * stretch..=most + reach * stretch).contains(x) {
                    (low, high) = (low.min(*x), high.max(*x));
                }
            }
        }
        if high - low < stretch / 2.0 {
            let positive = low >= 0.0;
            (low, high) = (low - stretch / 2.0, high + stretch / 2.0);
            low = if positive { low.max(0.0) } else { low };
        }
        let step = round_step((high - low) / STRETCHES);
        let half = step / 2.0;
        Some(Self { low: (low / half).floor() * half, high: (high / half).ceil() * half, step })
    }

    pub fn at(&self, x: f64) -> At {
        // the ends are sums of steps and a hair off
        let hair = self.step * 1e-6;
        match x {
            x if x < self.low - hair => At::Below,
            x if x > self.high + hair => At::Above,
            x => At::On(((x - self.low) / (self.high - self.low)).clamp(0.0, 1.0)),
        }
    }

    /// From 0 to 1, what lies beyond at the end it is beyond.
    pub fn near(&self, x: f64) -> f64 {
        match self.at(x) {
            At::Below => 0.0,
            At::On(part) => part,
            At::Above => 1.0,
        }
    }

    /// The round numbers on it, from below.
    pub fn ticks(&self) -> Vec<f64> {
        let first = (self.low / self.step - 1e-6).ceil();
        let ticks = (0..16u8).map(|n| (first + f64::from(n)) * self.step);
        ticks.take_while(|tick| *tick <= self.high + self.step * 1e-6).collect()
    }

    /// A round number of this scale.
    pub fn round(&self, tick: f64) -> String {
        // no "-0"
        let tick = if tick.abs() < self.step / 2.0 { 0.0 } else { tick };
        let places = (0..9usize).find(|n| {
            let shifted = self.step * 10f64.powi(i32::try_from(*n).unwrap_or(0));
            (shifted - shifted.round()).abs() < 1e-6
        });
        format!("{tick:.*}", places.unwrap_or(9))
    }
}

/// Where values of a group may lie before one is taken for a slip: 8 times their usual distance from the middle one.
fn ordinary(group: &[(f64, bool)]) -> Option<(f64, f64)> {
    let values: Vec<f64> = group.iter().map(|(x, _)| *x).filter(|x| x.abs() <= MOST).collect();
    if values.len() < 3 {
        return None;
    }
    let middle = median(&values)?;
    let away: Vec<f64> = values.iter().map(|x| (x - middle).abs()).collect();
    let usual = (1.4826 * median(&away)?).max(0.05 * middle.abs());
    (usual > 0.0).then_some((middle - 8.0 * usual, middle + 8.0 * usual))
}

fn median(values: &[f64]) -> Option<f64> {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let above = values.get(half)?;
    if values.len() % 2 == 1 { Some(*above) } else { Some(f64::midpoint(*values.get(half.checked_sub(1)?)?, *above)) }
}

fn ends(values: &[f64]) -> Option<(f64, f64)> {
    let first = *values.first()?;
    Some(values.iter().fold((first, first), |(low, high), x| (low.min(*x), high.max(*x))))
}

/// The next of 1, 2, 5, 10 … from `least` on.
fn round_step(least: f64) -> f64 {
    let ten = 10f64.powf(least.max(1e-9).log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|n| n * ten).find(|step| *step >= least * (1.0 - 1e-9)).unwrap_or(10.0 * ten)
}

/// A figure as it is read: three digits that count, no noughts behind them.
pub fn shown(x: f64) -> String {
    let size = x.abs();
    if size > MOST {
        return format!("{x:.0e}");
    }
    let places = match size {
        _ if size >= 99.95 => 0,
        _ if size >= 9.995 => 1,
        _ => 2,
    };
    // halves go up, as everywhere else in the program
    let factor = 10f64.powi(places);
    let places = usize::try_from(places).unwrap_or(0);
    let text = format!("{:.places$}", (x * factor).round() / factor);
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(values: &[f64]) -> Scale {
        Scale::of(&[values.iter().map(|x| (*x, false)).collect()], &[], 0.5).unwrap()
    }

    #[test]
    fn the_numbers_on_a_scale_are_round_and_hold_the_values() {
        // derived by hand
        for (values, low, high, ticks) in [
            (&[197.0, 281.0][..], 175.0, 300.0, &["200", "250", "300"][..]),
            (&[0.0, 1.0], 0.0, 1.0, &["0.0", "0.5", "1.0"]),
            (&[240.0], 225.0, 255.0, &["230", "240", "250"]),
            (&[0.0], 0.0, 0.5, &["0.0", "0.2", "0.4"]),
            (&[-3.0, 3.0], -3.0, 3.0, &["-2", "0", "2"]),
        ] {
            let scale = scale(values);
            assert!((scale.low - low).abs() < 1e-9 && (scale.high - high).abs() < 1e-9, "{values:?}: {scale:?}");
            let said: Vec<String> = scale.ticks().iter().map(|tick| scale.round(*tick)).collect();
            assert_eq!(said, ticks, "{values:?}");
        }
    }

    #[test]
    fn a_slip_of_the_pen_does_not_press_the_rest_flat() {
        let trays = [231.0, 238.0, 240.0, 244.0, 251.0, 236.0, 247.0];
        for slip in [2.4, 2400.0, 24_000_000.0, 1e300] {
            let with: Vec<f64> = trays.into_iter().chain([slip]).collect();
            let scale = scale(&with);
            assert!(scale.high - scale.low < 60.0, "{slip}: {scale:?}");
            assert!(!matches!(scale.at(slip), At::On(_)));
        }
    }

    #[test]
    fn what_is_doubtful_is_drawn_where_it_takes_little_room() {
        let group = |odd: f64| vec![(200.0, false), (220.0, false), (240.0, false), (odd, true)];
        let at = |odd: f64| Scale::of(&[group(odd)], &[], 0.5).unwrap().at(odd);
        assert!(matches!(at(190.0), At::On(_)));
        assert_eq!([at(41.0), at(410.0)], [At::Below, At::Above]);
    }

    #[test]
    fn lines_far_off_are_not_waited_for() {
        let group = vec![(200.0, false), (240.0, false)];
        let of = |lines: &[f64]| Scale::of(std::slice::from_ref(&group), lines, 0.5).unwrap();
        assert!(matches!(of(&[185.0, 255.0]).at(255.0), At::On(_)));
        assert_eq!(of(&[-100.0, 540.0]).at(540.0), At::Above);
    }

    #[test]
    fn figures_have_three_digits_that_count() {
        for (x, text) in [
            (239.057, "239"),
            (99.96, "100"),
            (9.513, "9.51"),
            (23.0, "23"),
            (9.999, "10"),
            (0.0, "0"),
            (-0.001, "0"),
            (-3.5, "-3.5"),
            (1200.4, "1200"),
            (1e300, "1e300"),
        ] {
            assert_eq!(shown(x), text);
        }
    }
}
