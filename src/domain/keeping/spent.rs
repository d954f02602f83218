//! A countdown without a book: anchors and time spent at temperatures as somebody types them, and what is left.

use super::count::{BAND, Figure, Used};
use super::rates::{COLDEST, Marks, Rates, WARMEST};
use super::{CHILLING_DC, FREEZING_DC, NO_CLEARANCE};
use crate::domain::power_cut::lasting;
use crate::domain::room::Units;
use crate::domain::units::{Quantity::Temperature, Unit, split_unit, trimmed};

/// Lives of the book, hours: up to 400 days.
const LIFE_H: std::ops::RangeInclusive<f64> = 1.0..=9600.0;

const DAY_MIN: i64 = 24 * 60;

/// Some time at one temperature, tenths of °C.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    pub minutes: i64,
    pub dc: i64,
}

/// Shares of life used one after the other, and what is left of it at the temperature it is planned for.
#[derive(Debug, Clone, PartialEq)]
pub struct Spent {
    anchors: Vec<(i64, i64)>,
    rates: Rates,
    plan_dc: i64,
    parts: Vec<(Stay, Used)>,
    /// All parts together.
    pub used: Used,
    /// In hours.
    pub figure: Figure,
    /// Of the parts and of the plan.
    pub marks: Marks,
}

/// Digits with decimal comma or point; no `nan`, no `1e3`.
fn number(text: &str) -> Option<f64> {
    let (digits, rest) = split_unit(text.trim());
    digits.replace(',', ".").parse().ok().filter(|_| rest.is_empty())
}

/// Degrees as typed, in °C: a number alone is in `unit`.
pub(super) fn degrees(text: &str, unit: Unit) -> Result<f64, String> {
    let (typed, word) = split_unit(text.trim());
    let unit = if word.is_empty() { Some(unit) } else { Temperature.spelled(word) };
    let (unit, x) = unit
        .zip(number(typed))
        .ok_or_else(|| format!("{:?} is no temperature: write degrees, such as 4 or 4.5.", text.trim()))?;
    let (min, max) = (unit.from_kept(celsius(COLDEST)), unit.from_kept(celsius(WARMEST)));
    if !(min..=max).contains(&x) {
        return Err(format!("{x} {0} is no reading: {min} to {max} {0} can be.", unit.name()));
    }
    Ok(unit.to_kept(x))
}

/// Degrees as typed, in tenths of °C.
#[expect(clippy::cast_possible_truncation, reason = "a temperature of a reading")]
pub fn tenths(text: &str, units: Units) -> Result<i64, String> {
    Ok((degrees(text, Temperature.typed_in(units))? * 10.0).round() as i64)
}

/// `5d`, `6 h`, `30m`, in minutes.
#[expect(clippy::cast_possible_truncation, reason = "the cast saturates, and what is too long is refused")]
pub fn minutes(text: &str) -> Result<i64, String> {
    let wrong = || format!("{:?} is no time: write minutes, hours or days, such as 30m, 6h or 5d.", text.trim());
    let (typed, word) = split_unit(text.trim());
    let each = match word {
        "m" | "min" => 1.0,
        "h" => 60.0,
        "d" => 1440.0,
        _ => return Err(wrong()),
    };
    let minutes = (number(typed).ok_or_else(wrong)? * each).round() as i64;
    if !(1..=400 * DAY_MIN).contains(&minutes) {
        return Err(format!("{:?} cannot be: a time is a minute to 400 days.", text.trim()));
    }
    Ok(minutes)
}

/// `5d@4`: a time and the temperature it was spent at.
pub fn stay(text: &str, units: Units) -> Result<Stay, String> {
    let (time, temp) =
        text.split_once('@').ok_or_else(|| format!("{text:?} is no time at a temperature: write it such as 5d@4."))?;
    Ok(Stay { minutes: minutes(time)?, dc: tenths(temp, units)? })
}

/// `5=10`: degrees and the days of life there; tenths of °C and hours.
#[expect(clippy::cast_possible_truncation, reason = "a life of the book")]
pub fn anchor(text: &str, units: Units) -> Result<(i64, i64), String> {
    let wrong = || format!("{text:?} is no anchor: write degrees=days, such as 5=10.");
    let (temp, days) = text.split_once('=').ok_or_else(wrong)?;
    let days = number(days).ok_or_else(wrong)?;
    let hours = (days * 24.0).round();
    if !LIFE_H.contains(&hours) {
        return Err(format!("{text:?} cannot be: a life is an hour to 400 days."));
    }
    Ok((tenths(temp, units)?, hours as i64))
}

impl Spent {
    /// Refuses anchors that do not fall from cold to warm; they may come in any order.
    pub fn of(
        mut anchors: Vec<(i64, i64)>,
        chilling: bool,
        stays: &[Stay],
        plan_dc: i64,
        units: Units,
    ) -> Result<Self, String> {
        anchors.sort_unstable();
        falling(&anchors, units)?;
        let rates = Rates::of(&anchors, chilling).ok_or("Give at least one anchor, such as 5=10.")?;
        let part = |stay: &Stay| (*stay, share(&rates, *stay));
        let parts: Vec<_> = stays.iter().map(part).collect();
        let used = parts.iter().fold(Used::default(), |used, (_, part)| used.and(*part));
        let (figure, marks) = Figure::of(used, &rates, plan_dc);
        Ok(Self { anchors, rates, plan_dc, parts, used, figure, marks })
    }

    /// Days of life at a temperature; no number where it freezes.
    pub fn life_d(&self, dc: i64) -> Option<f64> {
        (!self.rates.marks(dc).freezing).then(|| self.rates.life_h(dc) / 24.0)
    }

    pub fn life_at_plan_d(&self) -> Option<f64> {
        self.life_d(self.plan_dc)
    }

    /// The share used; no number if it froze.
    pub fn share(&self) -> Option<f64> {
        (!self.used.marks.freezing).then_some(self.used.share)
    }

    /// What is left, and how it came about.
    pub fn lines(&self, units: Units) -> Vec<String> {
        let life = |dc: i64| {
            let at = units.temperature(dc);
            self.life_d(dc).map_or_else(|| format!("at {at} freezing, inspect"), |days| format!("{days:.2} d at {at}"))
        };
        let plan = units.temperature(self.plan_dc);
        let mut lines = vec![match self.figure {
            Figure::Hours { left, .. } if left <= 0.0 => format!("nothing left at {plan}: its life is used up"),
            Figure::Hours { left, low, high } => {
                let (left, low, high) = (left / 24.0, low / 24.0, high / 24.0);
                format!("{left:.2} d left at {plan} ({low:.2} to {high:.2}, ±{:.0} %)", BAND * 100.0)
            }
            _ => format!("freezing, inspect: no number at or below {}", units.temperature(FREEZING_DC)),
        }];
        lines.extend(self.parts.iter().map(|(stay, part)| {
            let (time, life) = (time(stay.minutes), life(stay.dc));
            if part.marks.freezing {
                format!("  {time} {life}")
            } else {
                format!("  {time} of {life}: {:.2} % used", part.share * 100.0)
            }
        }));
        lines.extend(self.share().map(|share| format!("  together {:.2} % used", share * 100.0)));
        lines.push(format!("  planned: {}", life(self.plan_dc)));
        let anchors: Vec<String> = self.anchors.iter().map(|(dc, _)| life(*dc)).collect();
        lines.push(format!("  anchors: {}", anchors.join(", ")));
        if self.anchors.len() == 1 {
            lines.push("  one anchor: the rest by the rates of USDA Agriculture Handbook 66".into());
        }
        if self.marks.extrapolated {
            let warmest = self.anchors.last().map_or_else(String::new, |(dc, _)| units.temperature(*dc));
            lines.push(format!("extrapolated: warmer than the warmest anchor, {warmest}"));
        }
        if self.marks.chilling {
            let bears = units.temperature(CHILLING_DC);
            lines.push(format!("chilling: colder than {bears} harms this crop and counts as {bears}"));
        }
        lines.push(NO_CLEARANCE.into());
        lines
    }
}

fn share(rates: &Rates, stay: Stay) -> Used {
    Used { share: rates.share(stay.minutes * 60, stay.dc), marks: rates.marks(stay.dc) }
}

/// Each temperature once, and a warmer one keeps shorter.
fn falling(anchors: &[(i64, i64)], units: Units) -> Result<(), String> {
    for pair in anchors.windows(2) {
        let [(cold, long), (warm, short)] = pair else { continue };
        let (colder, warmer) = (units.temperature(*cold), units.temperature(*warm));
        if cold == warm {
            return Err(format!("There are two lives at {colder}: give each temperature once."));
        }
        if long <= short {
            let (long, short) = (days(*long), days(*short));
            return Err(format!(
                "{long} d at {colder} and {short} d at {warmer}: a warmer anchor must have a shorter life."
            ));
        }
    }
    Ok(())
}

#[expect(clippy::cast_precision_loss, reason = "hours of some weeks")]
fn days(hours: i64) -> String {
    trimmed(hours as f64 / 24.0, 2)
}

#[expect(clippy::cast_precision_loss, reason = "tenths of degrees")]
fn celsius(dc: i64) -> f64 {
    dc as f64 / 10.0
}

/// `5 d`, `6 h`, `1 h 30 min`.
fn time(minutes: i64) -> String {
    if minutes % DAY_MIN == 0 { format!("{} d", minutes / DAY_MIN) } else { lasting(minutes) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_temperatures_are_read_as_they_are_written() {
        for (typed, expected) in [("30m", 30), ("90 min", 90), ("6h", 360), ("1,5 h", 90), ("5d", 7200), ("0.5 d", 720)]
        {
            assert_eq!(minutes(typed), Ok(expected), "{typed}");
        }
        for typed in ["", "5", "h", "5x", "nan h", "1e3m", "--5h", "0m", "0.1m", "-1h", "401d"] {
            assert!(minutes(typed).is_err(), "{typed}");
        }
        assert_eq!(stay("6 h @ 20", Units::Metric), Ok(Stay { minutes: 360, dc: 200 }));
        assert_eq!(stay("6h@68", Units::Us), Ok(Stay { minutes: 360, dc: 200 }));
        assert_eq!(stay("6h@68 °F", Units::Metric), stay("6h@20 C", Units::Us));
        assert_eq!(anchor("-1,5=2,5", Units::Metric), Ok((-15, 60)));
        assert_eq!((tenths("-20", Units::Metric), tenths("140", Units::Us)), (Ok(-200), Ok(600)));
        for typed in ["-20.1", "60.1", "", "4 oz", "4-5", "warm"] {
            assert!(tenths(typed, Units::Metric).is_err(), "{typed}");
        }
    }

    #[test]
    fn it_is_told_in_either_scale() {
        let stays = [Stay { minutes: 90, dc: -10 }];
        let told =
            |units| Spent::of(vec![(50, 240)], false, &stays, 50, units).map(|spent| spent.lines(units).join("\n"));
        let (metric, us) = (told(Units::Metric).unwrap(), told(Units::Us).unwrap());
        assert!(metric.contains("no number at or below -0.3 °C\n  1 h 30 min at -1.0 °C freezing"), "{metric}");
        assert!(us.contains("no number at or below 31.5 °F\n  1 h 30 min at 30.2 °F freezing"), "{us}");
        assert!(Spent::of(vec![], false, &stays, 50, Units::Metric).is_err());
    }

    #[test]
    fn a_plan_has_its_own_marks_and_a_frozen_one_no_number() {
        let of = |plan_dc| Spent::of(vec![(60, 240), (10, 552)], false, &[], plan_dc, Units::Metric).unwrap();
        assert!(of(61).marks.extrapolated && !of(60).marks.extrapolated);
        assert_eq!((of(-3).figure, of(-3).life_at_plan_d(), of(-3).share()), (Figure::Freezing, None, Some(0.0)));
        // colder than the coldest anchor gives no more
        let clamped = of(-2).life_at_plan_d().unwrap();
        assert!((clamped - 23.0).abs() < 1e-9, "{clamped}");
    }
}
