//! The morning walk: which trays, in which order, and what one key may write for a whole shelf.

use super::id::{RackId, TrayId, WalkId};
use super::look::Skip;
use super::time::{Day, Instant};
use super::tray::TrayCard;
use super::words::words;

words!(
    /// What the hands do on this walk. Looking and watering are two records.
    Mode { Both = "both" / "looking and watering", Look = "look" / "looking only", Water = "water" / "watering only" }
);

impl Mode {
    pub fn looks(self) -> bool {
        self != Self::Water
    }

    pub fn waters(self) -> bool {
        self != Self::Look
    }

    /// Whether this walk stops at the tray today.
    pub fn stops_at(self, tray: &TrayCard, today: Day) -> bool {
        if self.looks() { tray.look_due(today) } else { tray.water_due(today) }
    }
}

/// A walk as started and as far as it got.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Walk {
    pub id: WalkId,
    pub mode: Mode,
    pub started: Instant,
    pub who: String,
    /// `None`: all racks.
    pub racks: Option<Vec<RackId>>,
    /// Trays with an entry of this walk, the reason if they were skipped, and when.
    pub visited: Vec<Visit>,
}

/// One tray of a walk that was written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Visit {
    pub tray: TrayId,
    pub skip: Option<Skip>,
    pub at: Instant,
}

impl Walk {
    pub fn visited(&self, tray: TrayId) -> bool {
        self.visited.iter().any(|visit| visit.tray == tray)
    }

    pub fn covers(&self, rack: RackId) -> bool {
        self.racks.as_ref().is_none_or(|racks| racks.contains(&rack))
    }

    /// The trays still to stop at, as one walks: rack, shelf from the top, place from the left; suspects last.
    pub fn open_stops<'a>(&self, trays: impl Iterator<Item = &'a TrayCard>, today: Day) -> Vec<&'a TrayCard> {
        let mut stops: Vec<&TrayCard> = trays
            .filter(|tray| self.covers(tray.place.rack) && self.mode.stops_at(tray, today) && !self.visited(tray.id))
            .collect();
        stops.sort_by_key(|tray| (tray.doubtful(), tray.place.walk_order(), tray.id));
        stops
    }

    /// Trays that got their entry without being skipped.
    pub fn done(&self) -> usize {
        self.visited.iter().filter(|visit| visit.skip.is_none()).count()
    }

    /// Seconds between the first and the last entry, and the median of the seconds from one entry to the next, which
    /// a break does not lift; `None` below two entries.
    pub fn pace(&self) -> Option<(i64, i64)> {
        let mut at: Vec<Instant> = self.visited.iter().map(|v| v.at).collect();
        at.sort_unstable();
        let mut gaps: Vec<i64> = at.iter().zip(at.iter().skip(1)).map(|(a, b)| (b.0 - a.0).num_seconds()).collect();
        gaps.sort_unstable();
        let median = *gaps.get(gaps.len() / 2)?;
        Some((gaps.iter().sum(), median))
    }
}

/// The trays a shelf key would write: the one in hand and those of its sowing on the rest of the shelf.
///
/// Refused in words if the tray in hand wants a look of its own.
pub fn rest_of_shelf(hand: &TrayCard, open: &[&TrayCard]) -> Result<Vec<TrayId>, &'static str> {
    if let Some(why) = hand.needs_own_look() {
        return Err(why);
    }
    Ok(open
        .iter()
        .filter(|tray| {
            tray.sowing == hand.sowing
                && tray.place.rack == hand.place.rack
                && tray.place.shelf == hand.place.shelf
                && tray.place.pos >= hand.place.pos
                && tray.needs_own_look().is_none()
        })
        .map(|tray| tray.id)
        .collect())
}

#[cfg(test)]
mod tests {
    use super::super::id::SowingId;
    use super::super::room::Place;
    use super::super::tray::tests::{card, day, looked};
    use super::*;

    fn walk(mode: Mode) -> Walk {
        Walk {
            id: WalkId(1),
            mode,
            started: Instant::parse("2026-07-13T06:00:00Z").unwrap(),
            who: "AK".into(),
            racks: None,
            visited: vec![],
        }
    }

    fn at(id: i64, rack_sort: i64, shelf: i64, pos: i64) -> TrayCard {
        TrayCard { place: Place { rack_sort, shelf, pos, ..card(id).place }, ..card(id) }
    }

    #[test]
    fn stops_come_as_one_walks_and_only_where_something_is_due() {
        let today = day("2026-07-13");
        let seen = TrayCard { last: Some(looked("2026-07-13")), ..at(9, 1, 1, 3) };
        let trays = [at(1, 2, 1, 1), at(2, 1, 2, 1), at(3, 1, 1, 2), at(4, 1, 1, 1), seen];
        let order = |walk: &Walk| walk.open_stops(trays.iter(), today).iter().map(|t| t.id.0).collect::<Vec<_>>();
        assert_eq!(order(&walk(Mode::Both)), [4, 3, 2, 1]);
        assert_eq!(order(&walk(Mode::Water)), [4, 3, 9, 2, 1]);
        let doubtful = [TrayCard { suspect: true, ..at(4, 1, 1, 1) }, at(3, 1, 1, 2)];
        let order_of = |trays: &[TrayCard]| {
            walk(Mode::Both).open_stops(trays.iter(), today).iter().map(|t| t.id.0).collect::<Vec<_>>()
        };
        assert_eq!(order_of(&doubtful), [3, 4], "suspects last");
        let mut begun = walk(Mode::Look);
        begun.visited.push(Visit { tray: TrayId(4), skip: None, at: begun.started });
        assert_eq!(order(&begun), [3, 2, 1]);
    }

    #[test]
    fn a_walk_of_one_rack_leaves_the_others_out() {
        let other = TrayCard { place: Place { rack: RackId(2), ..card(5).place }, ..card(5) };
        let one = Walk { racks: Some(vec![RackId(2)]), ..walk(Mode::Both) };
        let trays = [card(1), other];
        assert_eq!(one.open_stops(trays.iter(), day("2026-07-13")).len(), 1);
    }

    #[test]
    fn the_shelf_key_takes_one_sowing_and_nothing_that_wants_care() {
        let hand = at(2, 1, 1, 2);
        let other_sowing = TrayCard { sowing: SowingId(2), ..at(4, 1, 1, 4) };
        let suspect = TrayCard { suspect: true, ..at(5, 1, 1, 5) };
        let trays = [at(1, 1, 1, 1), hand.clone(), at(3, 1, 1, 3), other_sowing, suspect.clone(), at(6, 1, 2, 1)];
        let open: Vec<&TrayCard> = trays.iter().collect();
        assert_eq!(rest_of_shelf(&hand, &open), Ok(vec![TrayId(2), TrayId(3)]));
        assert!(rest_of_shelf(&suspect, &open).is_err());
    }

    #[test]
    fn pace_is_time_between_entries() {
        let mut walk = walk(Mode::Both);
        assert_eq!(walk.pace(), None);
        for n in [0, 1, 2, 100] {
            let at = Instant(walk.started.0 + chrono::Duration::seconds(5 * n));
            walk.visited.push(Visit { tray: TrayId(n), skip: None, at });
        }
        assert_eq!(walk.pace(), Some((500, 5)), "a break of eight minutes is no pace");
    }
}
