//! Places where something bad stood and which nobody has said to be cleaned.

use super::code::Code;
use super::id::{EntryId, TrayId};
use super::room::Place;
use super::time::{Instant, Now};

/// When something happened, and of one moment which was written last.
pub type When = (Instant, EntryId);

/// A place to be cleaned before a tray is put there.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ToClean {
    pub place: Place,
    /// What stood there last.
    pub tray: TrayId,
    /// When that left.
    pub since: Instant,
}

impl ToClean {
    /// `since Fri 10 Jul, T0012-3 stood here`.
    pub fn words(&self, now: Now) -> String {
        let since = now.local(self.since).format("%a %d %b");
        format!("since {since}, {} stood here", Code::tray(self.tray.0))
    }
}

/// Something bad left a place, or the place was cleaned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    Left(When, TrayId),
    Cleaned(When),
}

/// What left last and was not cleaned after; in one moment what was written last counts.
pub fn open(events: &[Event]) -> Option<(Instant, TrayId)> {
    let left = events.iter().filter_map(|event| match event {
        Event::Left(when, tray) => Some((*when, *tray)),
        Event::Cleaned(_) => None,
    });
    let cleaned = events.iter().filter_map(|event| match event {
        Event::Cleaned(when) => Some(*when),
        Event::Left(..) => None,
    });
    let (newest, cleaned) = (left.max()?, cleaned.max());
    cleaned.is_none_or(|cleaned| cleaned < newest.0).then_some((newest.0.0, newest.1))
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, Utc};

    use super::*;

    fn at(hour: u32, entry: i64) -> When {
        let text = format!("2026-07-10T{hour:02}:00:00Z");
        (Instant(DateTime::parse_from_rfc3339(&text).unwrap().with_timezone(&Utc)), EntryId(entry))
    }

    #[test]
    fn a_place_is_to_clean_until_it_was_cleaned_after() {
        let left = Event::Left(at(8, 3), TrayId(1));
        let (open_at, tray) = (at(8, 3).0, TrayId(1));
        for (events, expected) in [
            (vec![], None),
            (vec![Event::Cleaned(at(8, 3))], None),
            (vec![left], Some((open_at, tray))),
            (vec![left, Event::Cleaned(at(9, 4))], None),
            (vec![Event::Cleaned(at(7, 4)), left], Some((open_at, tray))),
            // one moment
            (vec![left, Event::Cleaned(at(8, 4))], None),
            (vec![Event::Cleaned(at(8, 2)), left], Some((open_at, tray))),
            // again
            (vec![left, Event::Cleaned(at(9, 4)), Event::Left(at(10, 5), TrayId(2))], Some((at(10, 5).0, TrayId(2)))),
        ] {
            assert_eq!(open(&events), expected, "{events:?}");
        }
    }
}
