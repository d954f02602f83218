//! When and by whom something was seen, where that differs from when and by whom it was typed.

use chrono::Duration;

use super::id::PersonId;
use super::time::{Day, Instant, Now};

/// After this long without a key a walk asks whose hands these are.
pub const IDLE: Duration = Duration::minutes(15);
/// A clock further ahead of the newest entry than this is asked about.
const AHEAD: Duration = Duration::days(7);

/// Who saw it and when, if not the person who types and now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Seen {
    pub by: Option<PersonId>,
    pub at: Option<Instant>,
    /// Written on paper first.
    pub paper: bool,
}

/// The same of an entry in the book, by initials.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SeenAs {
    pub by: String,
    pub at: Instant,
    pub typed_by: String,
    pub typed_at: Instant,
    pub paper: bool,
}

impl SeenAs {
    /// `seen 06:10 by RM, typed 09:30 by AK, from paper`; the day is named where the two differ.
    pub fn words(&self, now: Now) -> String {
        let (seen, typed) = (now.local(self.at), now.local(self.typed_at));
        let form = if seen.date_naive() == typed.date_naive() { "%H:%M" } else { "%d %b %H:%M" };
        let paper = if self.paper { ", from paper" } else { "" };
        format!("seen {} by {}, typed {} by {}{paper}", seen.format(form), self.by, typed.format(form), self.typed_by)
    }
}

/// One row of a tray's past and what is known of its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dated<T> {
    pub row: T,
    pub typed: Instant,
    /// Only where it was given: without it the row happened when it was typed.
    pub seen: Option<Instant>,
}

/// Rows given in the order they were written, in the order they happened.
///
/// Only rows with a time of their own move, and only backwards, to before whatever happened later. All others keep the
/// written order, even where a clock was set back in between. The first `fixed` rows are the beginning of everything.
pub fn as_happened<T>(written: Vec<Dated<T>>, fixed: usize) -> Vec<Dated<T>> {
    let mut rows: Vec<Dated<T>> = Vec::with_capacity(written.len());
    for row in written {
        let to = match row.seen {
            None => rows.len(),
            Some(seen) => rows
                .iter()
                .rposition(|earlier| earlier.seen.unwrap_or(earlier.typed) <= seen)
                .map_or(0, |n| n + 1)
                .max(fixed.min(rows.len())),
        };
        rows.insert(to, row);
    }
    rows
}

/// Why the clock may be wrong, beside the newest entry of the book.
pub fn clock_doubt(newest: Instant, now: Now) -> Option<String> {
    let by = now.instant().0 - newest.0;
    let newest = now.local(newest).format("%a %d %b %Y %H:%M");
    let here = now.0.format("%a %d %b %Y %H:%M");
    if by < Duration::zero() {
        Some(format!("The clock says {here}, but the newest entry is of {newest}: that is later."))
    } else if by > AHEAD {
        Some(format!("The clock says {here}; the newest entry is of {newest}, {} days before.", by.num_days()))
    } else {
        None
    }
}

/// Reads `HH:MM` on a day of the room's wall clock, with the offset from UTC that holds now.
pub fn parse_time(text: &str, day: Day, now: Now) -> Result<Instant, String> {
    chrono::NaiveTime::parse_from_str(text.trim(), "%H:%M")
        .ok()
        .and_then(|time| day.and_time(time).checked_sub_offset(*now.0.offset()))
        .map(|utc| Instant(utc.and_utc()))
        .ok_or_else(|| "Write the time such as 06:10.".to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(time: &str) -> Instant {
        Instant::parse(&format!("2026-07-14T{time}:00Z")).unwrap()
    }

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-14T11:30:00+02:00").unwrap())
    }

    fn order(rows: &[(&'static str, &str, Option<&str>)], fixed: usize) -> String {
        let written = rows.iter().map(|(row, typed, seen)| Dated { row: *row, typed: at(typed), seen: seen.map(at) });
        as_happened(written.collect(), fixed).iter().map(|dated| dated.row).collect()
    }

    #[test]
    fn a_late_row_goes_where_it_belongs_by_time() {
        assert_eq!(order(&[("a", "06:00", None), ("b", "09:00", None), ("c", "10:00", Some("07:00"))], 0), "acb");
        let two =
            [("a", "06:00", None), ("b", "09:00", None), ("c", "10:00", Some("07:00")), ("d", "10:01", Some("06:30"))];
        assert_eq!(order(&two, 0), "adcb");
        assert_eq!(order(&[("a", "06:00", None), ("b", "10:00", Some("05:00")), ("c", "11:00", None)], 0), "bac");
    }

    #[test]
    fn nothing_comes_before_the_beginning() {
        assert_eq!(order(&[("a", "06:00", None), ("b", "09:00", None), ("c", "10:00", Some("05:00"))], 1), "acb");
    }

    #[test]
    fn rows_without_a_time_of_their_own_keep_the_written_order_whatever_the_clock_said() {
        assert_eq!(order(&[("a", "09:00", None), ("b", "05:00", None), ("c", "07:00", None)], 0), "abc");
        assert_eq!(order(&[("a", "09:00", None), ("b", "05:00", None), ("c", "10:00", Some("07:00"))], 0), "abc");
    }

    #[test]
    fn times_are_told_on_the_rooms_clock_and_the_day_only_where_it_differs() {
        let seen = |seen, typed: &str| {
            let (by, typed_by) = ("RM".to_string(), "AK".to_string());
            SeenAs { by, at: at(seen), typed_by, typed_at: Instant::parse(typed).unwrap(), paper: true }.words(now())
        };
        assert_eq!(seen("04:10", "2026-07-14T07:30:00Z"), "seen 06:10 by RM, typed 09:30 by AK, from paper");
        assert_eq!(
            seen("04:10", "2026-07-15T07:30:00Z"),
            "seen 14 Jul 06:10 by RM, typed 15 Jul 09:30 by AK, from paper"
        );
    }

    #[test]
    fn a_clock_behind_or_more_than_a_week_ahead_is_doubted() {
        let doubt = |newest: &str| clock_doubt(Instant::parse(newest).unwrap(), now());
        assert_eq!(doubt("2026-07-14T09:30:00Z"), None);
        assert!(doubt("2026-07-14T09:30:01Z").unwrap().contains("later"));
        assert_eq!(doubt("2026-07-07T09:30:00Z"), None);
        assert!(doubt("2026-07-07T09:29:59Z").unwrap().ends_with("7 days before."));
    }

    #[test]
    fn a_time_is_read_on_a_day_of_the_rooms_clock() {
        let day = "2026-07-14".parse().unwrap();
        assert_eq!(parse_time(" 06:10 ", day, now()), Ok(at("04:10")));
        for bad in ["", "6", "24:00", "06:60", "six"] {
            assert!(parse_time(bad, day, now()).is_err(), "{bad}");
        }
    }
}
