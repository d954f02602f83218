//! The present as a value, and instants as the book writes them.

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};

/// A calendar day of the room. Everything done daily counts in these.
pub type Day = NaiveDate;

/// This moment with the room's offset from UTC, handed in from outside; nothing below the runtime reads a clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Now(pub DateTime<FixedOffset>);

impl Now {
    /// The room's calendar day.
    pub fn day(&self) -> Day {
        self.0.date_naive()
    }

    /// The instant as the book stores it.
    pub fn instant(&self) -> Instant {
        Instant(self.0.with_timezone(&Utc))
    }

    /// A stored instant on the room's wall clock.
    pub fn local(&self, at: Instant) -> DateTime<FixedOffset> {
        at.0.with_timezone(self.0.offset())
    }

    /// The same offset at another moment.
    #[must_use]
    pub fn plus(&self, by: chrono::Duration) -> Self {
        Self(self.0 + by)
    }
}

/// An instant in UTC, to the second: `YYYY-MM-DDTHH:MM:SSZ`, which sorts as text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(pub DateTime<Utc>);

impl std::fmt::Display for Instant {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%dT%H:%M:%SZ"))
    }
}

impl serde::Serialize for Instant {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl Instant {
    /// Reads the stored form back; anything else is `None`.
    pub fn parse(text: &str) -> Option<Self> {
        chrono::NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M:%SZ").ok().map(|t| Self(t.and_utc()))
    }
}

/// Whole days from `from` to `to`; day 0 is the sowing.
pub fn day_number(from: Day, to: Day) -> i64 {
    (to - from).num_days()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instant_reads_back_and_sorts_as_text() {
        let early = Instant::parse("2026-07-12T06:05:09Z").unwrap();
        let late = Instant::parse("2026-07-12T16:05:09Z").unwrap();
        assert_eq!(early.to_string(), "2026-07-12T06:05:09Z");
        assert!(early < late && early.to_string() < late.to_string());
        assert_eq!(Instant::parse("2026-07-12 06:05:09"), None);
    }

    #[test]
    fn the_day_is_the_rooms_not_utc() {
        let now = Now(DateTime::parse_from_rfc3339("2026-07-12T00:30:00+02:00").unwrap());
        assert_eq!(now.day().to_string(), "2026-07-12");
        assert_eq!(now.instant().to_string(), "2026-07-11T22:30:00Z");
    }
}
