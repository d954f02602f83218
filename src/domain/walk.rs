//! The morning walk: which trays, in which order, and what one key may write for a whole shelf.

mod share;

use std::collections::BTreeMap;

use super::hands::Seen;
use super::id::{PersonId, RackId, TrayId, WalkId};
use super::look::{Roots, Skip, Stand};
use super::time::{Day, Instant};
use super::tray::TrayCard;
use super::words::words;
pub use share::{Share, racks_named};

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

/// Grades of roots in the order of their keys and of the boxes on paper; the best is the fourth.
pub const ROOT_GRADES: [Roots; 5] = [Roots::None, Roots::Peeking, Roots::Plenty, Roots::Full, Roots::Hidden];
/// The same for the stand of a tray in the light.
pub const STAND_GRADES: [Stand; 5] = [Stand::Yellow, Stand::Dry, Stand::Uneven, Stand::Good, Stand::Fallen];

/// Faster than this a tray was hardly lifted, seconds.
const LIFTED_S: i64 = 2;

/// A walk as started and as far as it got.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Walk {
    pub id: WalkId,
    pub mode: Mode,
    pub started: Instant,
    /// Who walked.
    pub who: String,
    /// The day it was walked; past midnight a walk by the screen goes on with the next.
    pub day: Day,
    /// From a paper sheet: whose, and from what time on.
    pub seen: Seen,
    /// Trays that had been looked at on the day of a paper sheet before it was typed in.
    pub known: Vec<TrayId>,
    /// `None`: all racks.
    pub racks: Option<Vec<RackId>>,
    /// Racks that one person took for their own, each once.
    pub shares: Vec<Share>,
    /// Trays with an entry of this walk, the reason if they were skipped, and when.
    pub visited: Vec<Visit>,
}

/// One tray of a walk that was written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Visit {
    pub tray: TrayId,
    pub skip: Option<Skip>,
    pub at: Instant,
    /// Whose hands.
    pub by: PersonId,
    /// One key for the rest of a shelf wrote it.
    pub glance: bool,
}

impl Walk {
    pub fn visited(&self, tray: TrayId) -> bool {
        self.visited.iter().any(|visit| visit.tray == tray)
    }

    pub fn covers(&self, rack: RackId) -> bool {
        self.racks.as_ref().is_none_or(|racks| racks.contains(&rack))
    }

    /// The day whose trays it stops at.
    pub fn on(&self, today: Day) -> Day {
        if self.seen.paper { self.day } else { today }
    }

    /// A sheet's name in lists.
    pub fn sheet_words(&self) -> String {
        format!("the sheet of {}, {}", self.who, self.day.format("%a %d %b"))
    }

    /// Whether this walk stops at the tray. A sheet stops at what was due on its own day, whatever was seen since.
    pub fn stops_at(&self, tray: &TrayCard, today: Day) -> bool {
        if self.seen.paper {
            tray.sown < self.day && tray.known <= self.day && !self.known.contains(&tray.id)
        } else {
            self.mode.stops_at(tray, today)
        }
    }

    /// Whether the tray still waits for its entry of this walk, whoever is to write it.
    pub fn is_open(&self, tray: &TrayCard, today: Day) -> bool {
        self.covers(tray.place.rack) && self.stops_at(tray, today) && !self.visited(tray.id)
    }

    /// The trays a person has still to stop at, as one walks: rack, shelf from the top, place from the left; suspects
    /// last.
    pub fn open_stops<'a>(
        &self,
        trays: impl Iterator<Item = &'a TrayCard>,
        today: Day,
        who: Option<PersonId>,
    ) -> Vec<&'a TrayCard> {
        let mut stops: Vec<&TrayCard> =
            trays.filter(|tray| self.is_for(tray.place.rack, who) && self.is_open(tray, today)).collect();
        stops.sort_by_key(|tray| (tray.doubtful(), tray.place.walk_order(), tray.from_top));
        stops
    }

    /// Trays that got their entry without being skipped.
    pub fn done(&self) -> usize {
        self.visited.iter().filter(|visit| visit.skip.is_none()).count()
    }

    /// Trays graded one by one so soon after the entry before by the same hands that nobody can have lifted them.
    pub fn too_fast(&self) -> usize {
        let mut before: BTreeMap<PersonId, Instant> = BTreeMap::new();
        let mut fast = 0;
        for visit in &self.visited {
            let last = before.insert(visit.by, visit.at).unwrap_or(self.started);
            let seconds = (visit.at.0 - last.0).num_seconds();
            fast += usize::from(visit.skip.is_none() && !visit.glance && (0..LIFTED_S).contains(&seconds));
        }
        fast
    }

    /// Seconds between the first and the last entry, and the median of the seconds from one entry to the next by the
    /// same hands, which a break does not lift; `None` where nobody wrote two.
    pub fn pace(&self) -> Option<(i64, i64)> {
        let mut at: Vec<(PersonId, Instant)> = self.visited.iter().map(|visit| (visit.by, visit.at)).collect();
        at.sort_unstable();
        let steps = at.iter().zip(at.iter().skip(1)).filter(|(a, b)| a.0 == b.0);
        let mut gaps: Vec<i64> = steps.map(|(a, b)| (b.1.0 - a.1.0).num_seconds()).collect();
        gaps.sort_unstable();
        let median = *gaps.get(gaps.len() / 2)?;
        let times = || self.visited.iter().map(|visit| visit.at.0);
        Some(((times().max()? - times().min()?).num_seconds(), median))
    }
}

/// The trays a shelf key would write: the one in hand and those of its sowing on the rest of the shelf.
///
/// Refused in words if the tray in hand wants a look of its own.
pub fn rest_of_shelf(hand: &TrayCard, open: &[&TrayCard], today: Day) -> Result<Vec<TrayId>, &'static str> {
    if let Some(why) = hand.needs_own_look(today) {
        return Err(why);
    }
    Ok(open
        .iter()
        .filter(|tray| {
            tray.sowing == hand.sowing
                && tray.place.rack == hand.place.rack
                && tray.place.shelf == hand.place.shelf
                && tray.place.pos >= hand.place.pos
                && tray.needs_own_look(today).is_none()
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

    pub(super) fn walk(mode: Mode) -> Walk {
        Walk {
            id: WalkId(1),
            mode,
            started: Instant::parse("2026-07-13T06:00:00Z").unwrap(),
            who: "AK".into(),
            day: day("2026-07-13"),
            seen: Seen::default(),
            known: vec![],
            racks: None,
            shares: vec![],
            visited: vec![],
        }
    }

    fn visit(tray: i64, at: Instant) -> Visit {
        Visit { tray: TrayId(tray), skip: None, at, by: PersonId(1), glance: false }
    }

    fn at(id: i64, rack_sort: i64, shelf: i64, pos: i64) -> TrayCard {
        TrayCard { place: Place { rack_sort, shelf, pos, ..card(id).place }, ..card(id) }
    }

    #[test]
    fn stops_come_as_one_walks_and_only_where_something_is_due() {
        let today = day("2026-07-13");
        let seen = TrayCard { last: Some(looked("2026-07-13")), ..at(9, 1, 1, 3) };
        let trays = [at(1, 2, 1, 1), at(2, 1, 2, 1), at(3, 1, 1, 2), at(4, 1, 1, 1), seen];
        let order = |walk: &Walk| walk.open_stops(trays.iter(), today, None).iter().map(|t| t.id.0).collect::<Vec<_>>();
        assert_eq!(order(&walk(Mode::Both)), [4, 3, 2, 1]);
        assert_eq!(order(&walk(Mode::Water)), [4, 3, 9, 2, 1]);
        let doubtful = [TrayCard { suspect: true, ..at(4, 1, 1, 1) }, at(3, 1, 1, 2)];
        let order_of = |trays: &[TrayCard]| {
            walk(Mode::Both).open_stops(trays.iter(), today, None).iter().map(|t| t.id.0).collect::<Vec<_>>()
        };
        assert_eq!(order_of(&doubtful), [3, 4], "suspects last");
        let mut begun = walk(Mode::Look);
        begun.visited.push(visit(4, begun.started));
        assert_eq!(order(&begun), [3, 2, 1]);
    }

    #[test]
    fn a_walk_of_one_rack_leaves_the_others_out() {
        let other = TrayCard { place: Place { rack: RackId(2), ..card(5).place }, ..card(5) };
        let one = Walk { racks: Some(vec![RackId(2)]), ..walk(Mode::Both) };
        let trays = [card(1), other];
        assert_eq!(one.open_stops(trays.iter(), day("2026-07-13"), None).len(), 1);
    }

    #[test]
    fn the_shelf_key_takes_one_sowing_and_nothing_that_wants_care() {
        let hand = at(2, 1, 1, 2);
        let other_sowing = TrayCard { sowing: SowingId(2), ..at(4, 1, 1, 4) };
        let suspect = TrayCard { suspect: true, ..at(5, 1, 1, 5) };
        let trays = [at(1, 1, 1, 1), hand.clone(), at(3, 1, 1, 3), other_sowing, suspect.clone(), at(6, 1, 2, 1)];
        let open: Vec<&TrayCard> = trays.iter().collect();
        assert_eq!(rest_of_shelf(&hand, &open, day("2026-07-13")), Ok(vec![TrayId(2), TrayId(3)]));
        assert!(rest_of_shelf(&suspect, &open, day("2026-07-13")).is_err());
    }

    #[test]
    fn pace_is_time_between_entries() {
        let mut walk = walk(Mode::Both);
        assert_eq!(walk.pace(), None);
        for n in [0, 1, 2, 100] {
            let at = Instant(walk.started.0 + chrono::Duration::seconds(5 * n));
            walk.visited.push(visit(n, at));
        }
        assert_eq!(walk.pace(), Some((500, 5)), "a break of eight minutes is no pace");
    }

    #[test]
    fn below_two_seconds_nobody_lifted_a_tray() {
        let mut walk = walk(Mode::Both);
        // the second and the third too soon; a glance and a skip are what they say; the clock set back says nothing
        for (n, (seconds, skip, glance)) in [
            (2, None, false),
            (3, None, false),
            (3, None, false),
            (3, None, true),
            (4, Some(Skip::NoTime), false),
            (6, None, false),
            (1, None, false),
        ]
        .into_iter()
        .enumerate()
        {
            let at = Instant(walk.started.0 + chrono::Duration::seconds(seconds));
            walk.visited.push(Visit { skip, glance, ..visit(i64::try_from(n).unwrap(), at) });
        }
        assert_eq!(walk.too_fast(), 2);
    }

    #[test]
    fn two_walkers_keep_their_own_pace() {
        let mut walk = walk(Mode::Both);
        // each lifts a tray every four seconds, one second apart
        for n in 0..8 {
            let at = Instant(walk.started.0 + chrono::Duration::seconds(10 + n / 2 * 4 + n % 2));
            walk.visited.push(Visit { by: PersonId(1 + n % 2), ..visit(n, at) });
        }
        assert_eq!((walk.pace(), walk.too_fast()), (Some((13, 4)), 0));
    }

    #[test]
    fn a_sheet_stops_at_what_was_due_on_its_own_day() {
        let (sheet, today) = (day("2026-07-13"), day("2026-07-14"));
        let seen_since = TrayCard { sown: day("2026-07-10"), last: Some(looked("2026-07-14")), ..card(1) };
        let seen_then = TrayCard { id: TrayId(2), ..seen_since.clone() };
        let sown_then = TrayCard { id: TrayId(3), sown: sheet, last: None, ..card(3) };
        let came_later = TrayCard { id: TrayId(4), known: today, last: None, ..seen_since.clone() };
        let seen = Seen { paper: true, ..Seen::default() };
        let walk = Walk { day: sheet, seen, known: vec![TrayId(2)], ..walk(Mode::Both) };
        let trays = [seen_since, seen_then, sown_then, came_later];
        let order: Vec<i64> = walk.open_stops(trays.iter(), today, None).iter().map(|t| t.id.0).collect();
        assert_eq!(order, [1]);
    }
}
