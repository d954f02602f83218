//! Hours without power: light, fans and cooling stood still.

use chrono::{Datelike, NaiveDateTime, NaiveTime};

use super::id::StoreId;
use super::room::Zone;
use super::time::{Instant, Now};

/// Beyond this many days a cut is more likely a slip of the typing.
pub const LONG_DAYS: i64 = 14;

/// From when to when; no end while it is still out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Span {
    pub from: Instant,
    pub to: Option<Instant>,
}

impl Span {
    /// `12 Jul 2026 04:10 to 07:30 (3 h 20 min)` on the room's wall clock; the second day is named where it differs.
    pub fn words(&self, now: Now) -> String {
        let from = now.local(self.from);
        let begun = self.begun(now);
        let Some(end) = self.to else { return format!("{begun}, still out when noted") };
        let to = now.local(end);
        let ended = if to.date_naive() == from.date_naive() { to.format("%H:%M") } else { to.format("%d %b %H:%M") };
        format!("{begun} to {ended} ({})", lasting((to - from).num_minutes()))
    }

    /// `12 Jul 2026 04:10` on the room's wall clock.
    pub fn begun(&self, now: Now) -> String {
        now.local(self.from).format("%d %b %Y %H:%M").to_string()
    }

    /// Whether it is so long that it is asked about; one still open counts up to the present.
    pub fn long(&self, now: Now) -> bool {
        self.to.unwrap_or(now.instant()).0 - self.from.0 > chrono::Duration::days(LONG_DAYS)
    }
}

/// From minutes: `40 min`, `3 h`, `3 h 20 min`.
pub fn lasting(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, min) => format!("{min} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, min) => format!("{hours} h {min} min"),
    }
}

/// Where the power was out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Out {
    /// The whole room with its cold stores.
    Room,
    Zone(Zone),
    /// One cold store.
    Store(StoreId),
}

/// Reads `YYYY-MM-DD HH:MM`, or `HH:MM` of today, on the room's wall clock, with the offset from UTC that holds now.
pub fn parse_moment(text: &str, now: Now) -> Result<Instant, String> {
    let text = text.trim();
    let today = NaiveTime::parse_from_str(text, "%H:%M").ok().map(|time| now.day().and_time(time));
    let wall = ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
        .or(today)
        .filter(|wall| (2000..=9999).contains(&wall.year()));
    wall.and_then(|wall| wall.checked_sub_offset(*now.0.offset()))
        .map(|utc| Instant(utc.and_utc()))
        .ok_or_else(|| "Write day and time such as 2026-07-12 04:10, or 04:10 for today.".to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T06:20:00+02:00").unwrap())
    }

    fn span(from: &str, to: Option<&str>) -> Span {
        let read = |text: &str| parse_moment(text, now()).unwrap();
        Span { from: read(from), to: to.map(read) }
    }

    #[test]
    fn a_moment_is_read_on_the_rooms_clock() {
        for text in ["2026-07-12 00:10", " 2026-07-12T00:10 "] {
            assert_eq!(parse_moment(text, now()).unwrap().to_string(), "2026-07-11T22:10:00Z");
        }
        for text in ["04:10", " 4:10"] {
            assert_eq!(parse_moment(text, now()).unwrap().to_string(), "2026-07-15T02:10:00Z");
        }
        for bad in [
            "",
            "2026-07-12",
            "04",
            "24:00",
            "04:60",
            "2026-02-30 04:10",
            "2026-07-12 24:00",
            "26-07-12 04:10",
            "12.7. 4:10",
        ] {
            assert!(parse_moment(bad, now()).is_err(), "{bad}");
        }
    }

    #[test]
    fn its_words_name_the_second_day_only_where_it_differs() {
        let words = |from, to| span(from, to).words(now());
        assert_eq!(words("2026-07-12 04:10", Some("2026-07-12 07:30")), "12 Jul 2026 04:10 to 07:30 (3 h 20 min)");
        assert_eq!(words("2026-07-12 22:00", Some("2026-07-13 01:00")), "12 Jul 2026 22:00 to 13 Jul 01:00 (3 h)");
        assert_eq!(words("2026-07-12 22:00", Some("2026-07-12 22:40")), "12 Jul 2026 22:00 to 22:40 (40 min)");
        assert_eq!(words("2026-07-12 22:00", None), "12 Jul 2026 22:00, still out when noted");
    }

    #[test]
    fn fourteen_days_are_believed_and_a_minute_more_is_asked_about() {
        assert!(!span("2026-07-01 06:20", Some("2026-07-15 06:20")).long(now()));
        assert!(span("2026-07-01 06:19", Some("2026-07-15 06:20")).long(now()));
        assert!(!span("2026-07-01 06:20", None).long(now()));
        assert!(span("2026-07-01 06:19", None).long(now()));
    }
}
