//! ISO weeks: Monday to Sunday, week 1 being the one with the year's first Thursday (ISO 8601).

use chrono::{Datelike, Duration, NaiveDate, Weekday};

use crate::domain::period::Period;
use crate::domain::time::Day;

/// The Monday of a day's week.
pub fn monday(day: Day) -> Day {
    day - Duration::days(i64::from(day.weekday().num_days_from_monday()))
}

/// The whole week of a day.
pub fn of(day: Day) -> Period {
    let from = monday(day);
    Period { from, to: from + Duration::days(6) }
}

/// The last week that is over.
pub fn last(today: Day) -> Period {
    of(today - Duration::days(7))
}

/// `2026-W47`.
pub fn label(day: Day) -> String {
    let week = day.iso_week();
    format!("{}-W{:02}", week.year(), week.week())
}

/// The week, where a period is one whole ISO week.
pub fn whole(period: Period) -> Option<String> {
    (of(period.from) == period).then(|| label(period.from))
}

/// `week 2026-W47, 2026-11-16 to 2026-11-22`, or the days alone.
pub fn words(period: Period) -> String {
    whole(period).map_or_else(|| period.words(), |label| format!("week {label}, {}", period.words()))
}

/// Reads `2026-W47`, `W47` of this year, or days as [`Period::parse`] does. A week may still be running.
pub fn parse(text: &str, today: Day) -> Result<Period, String> {
    let typed = text.trim();
    let upper = typed.to_uppercase();
    let bad = || format!("\"{}\" is no week: write 2026-W47, or 2026-11-16..2026-11-22.", typed.escape_debug());
    let Some((year, week)) = upper.split_once('W') else {
        return Period::parse(typed, today).map_err(|why| if why.contains(" is no day") { bad() } else { why });
    };
    let year = match year.trim_end_matches('-') {
        "" => today.iso_week().year(),
        year => year.parse().map_err(|_| bad())?,
    };
    let from = NaiveDate::from_isoywd_opt(year, week.parse().map_err(|_| bad())?, Weekday::Mon).ok_or_else(bad)?;
    if from > today {
        return Err(format!("Week {} is still to come: ask for one that has begun.", label(from)));
    }
    Ok(of(from))
}

/// The same length before, or after where it has begun by today.
pub fn step(period: Period, forward: bool, today: Day) -> Option<Period> {
    let by = Duration::days(if forward { period.length() } else { -period.length() });
    let next = Period { from: period.from.checked_add_signed(by)?, to: period.to.checked_add_signed(by)? };
    (next.from <= today && next.from.year() > 1900).then_some(next)
}

/// Mondays from one week to another, both included.
pub fn mondays(from: Day, to: Day) -> impl Iterator<Item = Day> {
    let first = monday(from);
    let weeks = ((to - first).num_days() / 7).max(-1) + 1;
    (0..weeks).map(move |n| first + Duration::days(7 * n))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    #[test]
    fn weeks_are_those_of_the_standard() {
        // memory, ISO 8601: 2026-01-01 is a Thursday and so in week 1; 2027-01-03 is a Sunday of 2026's week 53
        assert_eq!(label(day("2026-01-01")), "2026-W01");
        assert_eq!(label(day("2025-12-29")), "2026-W01");
        assert_eq!(label(day("2027-01-03")), "2026-W53");
        assert_eq!(words(of(day("2026-11-18"))), "week 2026-W47, 2026-11-16 to 2026-11-22");
        assert_eq!(last(day("2026-11-26")).from, day("2026-11-16"));
    }

    #[test]
    fn a_week_is_read_and_what_is_none_is_refused() {
        let today = day("2026-11-26");
        for text in ["2026-W47", "2026w47", " W47 ", "2026-11-16..2026-11-22"] {
            assert_eq!(parse(text, today), Ok(of(day("2026-11-16"))), "{text}");
        }
        assert_eq!(parse("W48", today).unwrap().to, day("2026-11-29"), "it is running");
        assert!(parse("2026-W49", today).unwrap_err().contains("still to come"));
        for bad in ["2026-W54", "2025-W53", "W", "2026-W", "xW1", "2026-W00", "week"] {
            assert!(parse(bad, today).unwrap_err().contains(" is no "), "{bad}");
        }
    }

    #[test]
    fn steps_keep_the_length_and_stop_at_today() {
        let today = day("2026-11-26");
        let week = last(today);
        assert_eq!(step(week, true, today), Some(of(today)));
        assert_eq!(step(of(today), true, today), None);
        assert_eq!(step(week, false, today).unwrap().to, day("2026-11-15"));
        assert_eq!(mondays(day("2026-11-16"), day("2026-11-30")).count(), 3);
        assert_eq!(mondays(day("2026-11-22"), day("2026-11-22")).collect::<Vec<_>>(), [day("2026-11-16")]);
        assert_eq!(mondays(day("2026-11-22"), day("2026-11-01")).count(), 0);
    }
}
