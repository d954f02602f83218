//! The only place that reads the clock; everything else is handed its value.

use chrono::{
    DateTime, Datelike, FixedOffset, Local, MappedLocalTime, NaiveDate, NaiveDateTime, SubsecRound, TimeZone,
};

use crate::domain::time::Now;

/// What time it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// The machine's clock and time zone.
    System,
    /// Stands still at one moment, for tests, pictures and demos.
    Fixed(Now),
}

impl Clock {
    /// The present to the second, as the book writes it.
    pub fn now(&self) -> Now {
        match self {
            Self::System => Now(Local::now().fixed_offset().trunc_subsecs(0)),
            Self::Fixed(at) => *at,
        }
    }
}

/// Reads what `--now` takes: a day (its midnight), or a day with a time to the minute or second. Without
/// an offset (`Z`, `+02:00`) it is the machine's time zone. The error is a sentence.
pub fn parse_now(text: &str) -> Result<Now, String> {
    parse_with(text, |wall| Local.from_local_datetime(&wall).map(|at| at.fixed_offset()))
}

fn parse_with(
    text: &str,
    local: impl Fn(NaiveDateTime) -> MappedLocalTime<DateTime<FixedOffset>>,
) -> Result<Now, String> {
    let at = match wall_time(text) {
        Some(wall) => match local(wall) {
            // The hour that comes twice when clocks go back: the first of the two.
            MappedLocalTime::Single(at) | MappedLocalTime::Ambiguous(at, _) => Some(at),
            MappedLocalTime::None => {
                return Err(format!("{text} does not exist here: the clocks skip that hour. Give a time outside it."));
            }
        },
        None => with_offset(text),
    };
    // The book writes years with four digits.
    at.filter(|at| (1970..=9999).contains(&at.year())).map(|at| Now(at.trunc_subsecs(0))).ok_or_else(|| {
        format!("{text:?} is no time: write it like 2026-11-25, 2026-11-25T06:00 or 2026-11-25T06:00:00+01:00.")
    })
}

fn wall_time(text: &str) -> Option<NaiveDateTime> {
    let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().and_then(|day| day.and_hms_opt(0, 0, 0));
    day.or_else(|| {
        ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"]
            .iter()
            .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
    })
}

fn with_offset(text: &str) -> Option<DateTime<FixedOffset>> {
    ["%Y-%m-%dT%H:%M%#z", "%Y-%m-%dT%H:%M:%S%#z"].iter().find_map(|format| DateTime::parse_from_str(text, format).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_hours_east() -> FixedOffset {
        FixedOffset::east_opt(2 * 3600).unwrap()
    }

    fn read(text: &str) -> Result<String, String> {
        parse_with(text, |wall| two_hours_east().from_local_datetime(&wall)).map(|now| now.0.to_rfc3339())
    }

    #[test]
    fn every_way_to_write_a_moment() {
        for (text, moment) in [
            ("2026-11-25", "2026-11-25T00:00:00+02:00"),
            ("2026-11-25T06:00", "2026-11-25T06:00:00+02:00"),
            ("2026-11-25T06:00:09", "2026-11-25T06:00:09+02:00"),
            ("2026-11-25T06:00Z", "2026-11-25T06:00:00+00:00"),
            ("2026-11-25T06:00:09Z", "2026-11-25T06:00:09+00:00"),
            ("2026-11-25T06:00-03:30", "2026-11-25T06:00:00-03:30"),
            ("2026-11-25T06:00:09+01:00", "2026-11-25T06:00:09+01:00"),
            ("2024-02-29", "2024-02-29T00:00:00+02:00"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(moment), "{text}");
        }
    }

    #[test]
    fn anything_else_is_refused_with_an_example() {
        for text in [
            "",
            "today",
            "25.11.2026",
            "2026-13-01",
            "2026-02-29",
            "2026-11-25T24:00",
            "2026-11-25T06",
            "2026-11-25T06:00+",
            "2026-11-25T06:00+25:00",
            "2026-11-25T06:00:00 and more",
            "+12026-11-25",
            "1969-12-31",
        ] {
            let sentence = read(text).unwrap_err();
            assert!(sentence.contains(&format!("{text:?} is no time")) && sentence.ends_with('.'), "{sentence}");
        }
    }

    #[test]
    fn the_hour_clocks_skip_is_refused_and_the_one_that_comes_twice_is_the_first() {
        let sentence = parse_with("2026-03-29T02:30", |_| MappedLocalTime::None).unwrap_err();
        assert!(sentence.contains("does not exist"), "{sentence}");

        let summer = DateTime::parse_from_rfc3339("2026-10-25T02:30:00+02:00").unwrap();
        let winter = DateTime::parse_from_rfc3339("2026-10-25T02:30:00+01:00").unwrap();
        let read = parse_with("2026-10-25T02:30", |_| MappedLocalTime::Ambiguous(summer, winter));
        assert_eq!(read.unwrap().0.to_rfc3339(), "2026-10-25T02:30:00+02:00");
    }

    #[test]
    fn a_fixed_clock_stands_still() {
        let at = parse_now("2026-11-25T06:00Z").unwrap();
        let clock = Clock::Fixed(at);
        assert_eq!((clock.now(), clock.now()), (at, at));
    }

    #[test]
    fn the_present_has_no_parts_of_a_second_that_the_book_would_lose() {
        let instant = Clock::System.now().instant();
        assert_eq!(crate::domain::time::Instant::parse(&instant.to_string()), Some(instant));
    }
}
