//! What stood beside a tray, and when: where something may have spread from or to.

use super::id::TrayId;
use super::room::Place;
use super::time::{Instant, Now};

/// A tray at a place for a while. Where it was moved at a time nobody knows, it is said to have been at both places for
/// all of the time in question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    pub tray: TrayId,
    pub place: Place,
    pub from: Instant,
    /// `None`: it still stands there.
    pub to: Option<Instant>,
}

/// One tray beside another for a while.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beside {
    pub tray: TrayId,
    /// Letters of its crop.
    pub letters: String,
    pub place: Place,
    pub from: Instant,
    pub to: Option<Instant>,
}

impl Beside {
    /// `Sun 12 Jul 06:10 to Mon 13 Jul 06:20`.
    pub fn when(&self, now: Now) -> String {
        let moment = |at: Instant| now.local(at).format("%a %d %b %H:%M").to_string();
        match self.to {
            Some(to) => format!("{} to {}", moment(self.from), moment(to)),
            None => format!("since {}", moment(self.from)),
        }
    }
}

/// Side by side, in one stack, or one above the other: near enough for splashes, drips and hands.
pub fn near(a: &Place, b: &Place) -> bool {
    a.rack == b.rack && (a.shelf - b.shelf).abs() + (a.pos - b.pos).abs() <= 1
}

/// When others stood near, the newest time first.
pub fn beside(own: &[Stay], others: &[(Stay, String)]) -> Vec<Beside> {
    let mut found = Vec::new();
    for mine in own {
        for (other, letters) in others.iter().filter(|(other, _)| near(&mine.place, &other.place)) {
            let from = mine.from.max(other.from);
            let to = match (mine.to, other.to) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
            if other.tray != mine.tray && to.is_none_or(|to| from < to) {
                let (tray, place, letters) = (other.tray, other.place.clone(), letters.clone());
                found.push(Beside { tray, letters, place, from, to });
            }
        }
    }
    found.sort_by(|a, b| (b.from, a.tray, a.place.id).cmp(&(a.from, b.tray, b.place.id)));
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::super::id::{PlaceId, RackId};
    use super::super::tray::tests::card;
    use super::*;

    fn at(time: &str) -> Instant {
        Instant::parse(&format!("2026-07-13T{time}:00Z")).unwrap()
    }

    fn stay(tray: i64, shelf: i64, pos: i64, from: &str, to: Option<&str>) -> Stay {
        let place = Place { id: PlaceId(shelf * 10 + pos), shelf, pos, ..card(1).place };
        Stay { tray: TrayId(tray), place, from: at(from), to: to.map(at) }
    }

    fn told(own: &[Stay], others: Vec<Stay>) -> Vec<(i64, String, Option<String>)> {
        let others: Vec<(Stay, String)> = others.into_iter().map(|stay| (stay, "RAD".into())).collect();
        let time = |at: Instant| at.0.format("%H:%M").to_string();
        beside(own, &others).into_iter().map(|b| (b.tray.0, time(b.from), b.to.map(time))).collect()
    }

    #[test]
    fn the_four_around_and_the_same_place_are_near_a_corner_and_another_rack_are_not() {
        let here = stay(1, 2, 2, "06:00", None).place;
        for (shelf, pos, is) in
            [(2, 1, true), (2, 3, true), (1, 2, true), (3, 2, true), (2, 2, true), (1, 1, false), (2, 4, false)]
        {
            assert_eq!(near(&here, &stay(2, shelf, pos, "06:00", None).place), is, "{shelf}-{pos}");
        }
        let other = Place { rack: RackId(9), ..here.clone() };
        assert!(!near(&here, &other));
    }

    #[test]
    fn only_the_time_both_stood_there_counts() {
        let own = [stay(1, 1, 1, "06:00", Some("09:00"))];
        let others = vec![
            stay(2, 1, 2, "05:00", Some("07:00")),
            stay(3, 1, 2, "07:00", Some("08:00")),
            stay(4, 1, 2, "09:00", None),
            stay(5, 2, 1, "08:30", None),
            stay(6, 1, 3, "05:00", None),
        ];
        let word = |text: &str| text.to_string();
        assert_eq!(
            told(&own, others),
            [
                (5, word("08:30"), Some(word("09:00"))),
                (3, word("07:00"), Some(word("08:00"))),
                (2, word("06:00"), Some(word("07:00"))),
            ]
        );
    }

    #[test]
    fn a_tray_moved_at_an_unknown_time_was_beside_the_neighbours_of_both_places() {
        // at 1-1 until noticed at 08:00 to be at 1-4, moved some time after 06:00
        let own = [stay(1, 1, 1, "05:00", Some("08:00")), stay(1, 1, 4, "06:00", None)];
        let others = vec![stay(2, 1, 2, "05:00", None), stay(3, 1, 5, "05:00", Some("07:00"))];
        let word = |text: &str| text.to_string();
        assert_eq!(
            told(&own, others),
            [(3, word("06:00"), Some(word("07:00"))), (2, word("05:00"), Some(word("08:00")))]
        );
    }
}
