//! Counts as they are typed: `4: 23 22 25 21, 7: 1 2 0 3`, a day of the test or a date, and a number for each replicate.

use chrono::Duration;

use super::DayCount;
use crate::domain::time::Day;

/// How it is typed, for the field.
pub const HELP: &str = "New normal seedlings, a number each replicate; several days as 4: 23 22 25 21, 7: 1 2 0 3.";

/// Counts of several days. `begun`: day 0 of the test. `plain`: the day of numbers without one.
pub fn counts(text: &str, begun: Day, plain: Option<Day>) -> Result<Vec<DayCount>, String> {
    let parts = text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty());
    parts.map(|part| one(part, begun, plain)).collect()
}

fn one(part: &str, begun: Day, plain: Option<Day>) -> Result<DayCount, String> {
    let (day, numbers) = if let Some((day, numbers)) = part.split_once(':') {
        (on(day.trim(), begun)?, numbers)
    } else {
        let none = || {
            format!("Begin \"{part}\" with the day of the test, such as 7: 23 22 25 21, a number for each replicate.")
        };
        (plain.ok_or_else(none)?, part)
    };
    let number = |word: &str| {
        let bad =
            || format!("\"{word}\" is no number of seedlings: write 7: 23 22 25 21, a number for each replicate.");
        word.parse::<u16>().map(i64::from).map_err(|_| bad())
    };
    let normal = numbers.split_whitespace().map(number).collect::<Result<Vec<_>, _>>()?;
    Ok(DayCount { day, normal })
}

/// A number of days since it was laid out, or a date.
fn on(day: &str, begun: Day) -> Result<Day, String> {
    let days = day.parse::<u8>().ok().map(|days| begun + Duration::days(i64::from(days)));
    let bad =
        || format!("\"{day}\" is no day of the test: write 7 for the seventh day, or a date, such as 2026-07-08.");
    days.or_else(|| day.parse().ok()).ok_or_else(bad)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_the_test_and_dates_and_one_day_without() {
        let begun: Day = "2026-07-01".parse().unwrap();
        let day = |text: &str| text.parse::<Day>().unwrap();
        let count = |on: &str, normal: &[i64]| DayCount { day: day(on), normal: normal.to_vec() };
        assert_eq!(
            counts("4: 23 22 25 21, 2026-07-08:1 2 0 3;", begun, None),
            Ok(vec![count("2026-07-05", &[23, 22, 25, 21]), count("2026-07-08", &[1, 2, 0, 3])])
        );
        assert_eq!(counts("23 22", begun, Some(day("2026-07-06"))), Ok(vec![count("2026-07-06", &[23, 22])]));
        assert_eq!(counts(" ", begun, None), Ok(vec![]));
        for bad in ["23 22", "x: 1", "4: many", "4: -1", "300: 1", "4: 1.5"] {
            assert!(counts(bad, begun, None).is_err(), "{bad}");
        }
    }
}
