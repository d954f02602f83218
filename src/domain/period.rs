//! A stretch of days that someone asks about, both ends included.

use chrono::{Duration, NaiveTime};

use super::time::{Day, Now};

/// The longest, in days: three years and a little more. Beyond that it is a slip of the typing, and no browser shows it.
pub const MOST_D: i64 = 1100;

/// From one day to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Period {
    pub from: Day,
    pub to: Day,
}

impl Period {
    /// The days, or the end that is wrong and what to do about it.
    pub fn new(from: Day, to: Day, today: Day) -> Result<Self, (&'static str, String)> {
        if to < from {
            return Err(("to", format!("{to} is before {from}: give the earlier day first.")));
        }
        if to > today {
            return Err(("to", format!("{to} is still to come: end with {today} at the latest.")));
        }
        let period = Self { from, to };
        if period.length() > MOST_D {
            return Err((
                "from",
                format!("These are {} days; {MOST_D} at most: ask for fewer at once.", period.length()),
            ));
        }
        Ok(period)
    }

    /// Reads `2026-07-01..2026-07-14`, or one day.
    pub fn parse(text: &str, today: Day) -> Result<Self, String> {
        let day = |text: &str| {
            text.trim().parse::<Day>().map_err(|_| {
                format!("\"{}\" is no day: write 2026-07-01..2026-07-14, or one day.", text.trim().escape_debug())
            })
        };
        let (from, to) = match text.split_once("..") {
            Some((from, to)) => (day(from)?, day(to)?),
            None => (day(text)?, day(text)?),
        };
        Self::new(from, to, today).map_err(|(_, why)| why)
    }

    /// How many days.
    pub fn length(self) -> i64 {
        (self.to - self.from).num_days() + 1
    }

    pub fn holds(self, day: Day) -> bool {
        (self.from..=self.to).contains(&day)
    }

    /// Whether any day is of both.
    pub fn meets(self, other: Self) -> bool {
        self.from <= other.to && other.from <= self.to
    }

    /// From its first second to the first one after it, since 1970, with the offset from UTC that holds now.
    pub fn seconds(self, now: Now) -> (i64, i64) {
        let start =
            |day: Day| day.and_time(NaiveTime::MIN).and_utc().timestamp() - i64::from(now.0.offset().local_minus_utc());
        (start(self.from), start(self.to + Duration::days(1)))
    }

    /// Every day, the first one first.
    pub fn days(self) -> impl Iterator<Item = Day> {
        (0..self.length()).map(move |n| self.from + Duration::days(n))
    }

    /// `2026-07-01 to 2026-07-14`, or one day.
    pub fn words(self) -> String {
        if self.from == self.to { self.from.to_string() } else { format!("{} to {}", self.from, self.to) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn read(text: &str) -> Result<Period, String> {
        Period::parse(text, day("2026-07-15"))
    }

    #[test]
    fn days_are_read_from_one_to_another_or_one_alone() {
        let fortnight = Period { from: day("2026-07-01"), to: day("2026-07-14") };
        for text in ["2026-07-01..2026-07-14", " 2026-07-01 .. 2026-07-14 "] {
            assert_eq!(read(text), Ok(fortnight));
        }
        assert_eq!((fortnight.length(), fortnight.days().count()), (14, 14));
        assert_eq!(fortnight.words(), "2026-07-01 to 2026-07-14");
        assert_eq!(fortnight.days().last(), Some(fortnight.to));
        let one = read("2026-07-15").unwrap();
        assert_eq!((one.from, one.to, one.length(), one.words().as_str()), (one.to, one.from, 1, "2026-07-15"));
        assert!(fortnight.holds(day("2026-07-01")) && fortnight.holds(day("2026-07-14")));
        assert!(!fortnight.holds(day("2026-06-30")) && !fortnight.holds(one.to));
        assert!(!fortnight.meets(one) && fortnight.meets(Period { from: fortnight.to, ..one }));
    }

    #[test]
    fn its_seconds_are_those_of_the_rooms_days() {
        let now = Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T08:20:00+02:00").unwrap());
        let (from, to) = read("2026-07-14").unwrap().seconds(now);
        let at = |text: &str| chrono::DateTime::parse_from_rfc3339(text).unwrap().timestamp();
        assert_eq!((from, to), (at("2026-07-13T22:00:00Z"), at("2026-07-14T22:00:00Z")));
    }

    #[test]
    fn what_is_no_period_is_refused_with_what_to_do() {
        for bad in
            ["", "july", "2026-07-01...2026-07-14", "2026-07-01..", "..2026-07-14", "2026-02-30", "2026-7", "1..2"]
        {
            let why = read(bad).unwrap_err();
            assert!(why.ends_with("or one day."), "{bad}: {why}");
        }
        assert_eq!(
            read("2026-07-14..2026-07-01").unwrap_err(),
            "2026-07-01 is before 2026-07-14: give the earlier day first."
        );
        assert_eq!(
            read("2026-07-01..2026-07-16").unwrap_err(),
            "2026-07-16 is still to come: end with 2026-07-15 at the latest."
        );
        // derived by hand: 1100 days that end on 2026-07-15 begin on 2023-07-12
        assert_eq!(read("2023-07-12..2026-07-15").unwrap().length(), MOST_D);
        assert!(read("2023-07-11..2026-07-15").unwrap_err().starts_with("These are 1101 days; 1100 at most"));
        assert!(read("0000-01-01..2026-07-15").unwrap_err().contains("at most"));
    }

    #[test]
    fn a_refusal_names_the_end_that_is_wrong() {
        let of = |from, to| Period::new(day(from), day(to), day("2026-07-15")).unwrap_err().0;
        assert_eq!(of("2026-07-02", "2026-07-01"), "to");
        assert_eq!(of("2026-07-02", "2026-08-01"), "to");
        assert_eq!(of("2016-07-02", "2026-07-01"), "from");
    }
}
