//! Where a tray really is: not at its place, found at another, and which one it may be when its label is lost.

use super::board::Board;
use super::id::{CropId, PlaceId, TrayId};
use super::room::Place;
use super::time::{Instant, Now};
use super::tray::TrayCard;

/// A tray and where it was found; `None`: it is not where the book says, and nobody knows where it is.
pub type Sighting = (TrayId, Option<PlaceId>);

/// A tray in the room that nobody can find. Its card names the last place known.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Missing {
    pub tray: TrayCard,
    /// When it was last known there.
    pub since: Instant,
    /// When it was missed.
    pub noticed: Instant,
}

impl Missing {
    /// `last at B 2-1, Mon 06:10`, what is grave about it first.
    pub fn words(&self, now: Now) -> String {
        let grave = grave(&self.tray);
        format!("{grave}last at {}, {}", self.tray.place.label(), now.local(self.since).format("%a %H:%M"))
    }
}

/// A tray that may be the one in hand, and why it is thought of at this point of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate<'b> {
    pub tray: &'b TrayCard,
    pub why: String,
}

/// The trays of a crop that a tray without label at a place may be, the likeliest first: those missing, those nobody
/// saw today, those nearest in age to what the book expects there, those nearest by.
pub fn candidates<'b>(board: &'b Board, at: &Place, crop: CropId, now: Now) -> Vec<Candidate<'b>> {
    let today = now.day();
    let expected = board.tray_at(at.id).filter(|tray| tray.crop == crop);
    let missing = board.missing.iter().map(|missing| (&missing.tray, Some(missing)));
    let standing = board.trays.iter().filter(|tray| tray.place.id != at.id).map(|tray| (tray, None));
    let mut found: Vec<_> = missing.chain(standing).filter(|(tray, _)| tray.crop == crop).collect();
    let seen = |tray: &TrayCard| tray.last.as_ref().is_some_and(|look| look.day == today);
    let age = |tray: &TrayCard| expected.map_or(0, |expected| (tray.sown - expected.sown).num_days().abs());
    found.sort_by_key(|(tray, missing)| (missing.is_none(), seen(tray), age(tray), apart(&tray.place, at), tray.id));
    let candidate = |(tray, missing): (&'b TrayCard, Option<&Missing>)| {
        let first = match missing {
            Some(missing) => format!("missing, {}", missing.words(now)),
            None if seen(tray) => format!("{}seen today at {}", grave(tray), tray.place.label()),
            None => format!("{}not seen today, {}", grave(tray), tray.place.label()),
        };
        Candidate { tray, why: format!("{first}; {}; {}", how_far(&tray.place, at), age_words(tray, expected)) }
    };
    found.into_iter().map(candidate).collect()
}

/// What must not be lost to sight with the tray.
fn grave(tray: &TrayCard) -> &'static str {
    if tray.held {
        "HELD, "
    } else if tray.doubtful() {
        "SUSPECT, "
    } else {
        ""
    }
}

/// The further apart, the greater: by racks, shelves, places.
fn apart(a: &Place, b: &Place) -> (i64, i64, i64) {
    ((a.rack_sort - b.rack_sort).abs(), (a.shelf - b.shelf).abs(), (a.pos - b.pos).abs())
}

fn how_far(from: &Place, to: &Place) -> String {
    match apart(from, to) {
        (0, 0, 0) => "same place".into(),
        (0, 0, 1) => "next to it".into(),
        (0, 0, _) => "same shelf".into(),
        (0, 1, _) => "one shelf away".into(),
        (0, n, _) => format!("{n} shelves away"),
        _ => "another rack".into(),
    }
}

fn age_words(tray: &TrayCard, expected: Option<&TrayCard>) -> String {
    let sown = tray.sown.format("%d %b");
    match expected.map(|expected| (tray.sown - expected.sown).num_days()) {
        Some(0) => format!("sown {sown} as expected"),
        Some(days) if days > 0 => format!("sown {sown}, {days} d younger"),
        Some(days) => format!("sown {sown}, {} d older", -days),
        None => format!("sown {sown}"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::board::Rack;
    use super::super::id::RackId;
    use super::super::tray::Sign;
    use super::super::tray::tests::{card, day, looked};
    use super::*;

    fn now() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-13T06:30:00Z").unwrap())
    }

    fn at(id: i64, rack: i64, shelf: i64, pos: i64, sown: &str) -> TrayCard {
        let place = Place { id: PlaceId(id), rack: RackId(rack), rack_sort: rack, shelf, pos, ..card(id).place };
        TrayCard { place, sown: day(sown), ..card(id) }
    }

    fn board() -> Board {
        let expected = at(1, 1, 2, 2, "2026-07-10");
        let other_crop = TrayCard { crop: CropId(2), ..at(2, 1, 2, 3, "2026-07-10") };
        let seen = TrayCard { last: Some(looked("2026-07-13")), ..at(3, 1, 2, 1, "2026-07-10") };
        let older = at(4, 1, 2, 4, "2026-07-08");
        let far = at(5, 2, 1, 1, "2026-07-10");
        let lost = Missing {
            tray: at(6, 2, 1, 2, "2026-07-01"),
            since: Instant::parse("2026-07-12T06:10:00Z").unwrap(),
            noticed: Instant::parse("2026-07-13T06:20:00Z").unwrap(),
        };
        let trays = vec![expected, other_crop, seen, older, far];
        let rack = Rack {
            id: RackId(1),
            name: "A".into(),
            places: trays.iter().map(|tray| tray.place.clone()).collect(),
            rev: 0,
        };
        Board { racks: vec![rack], trays, missing: vec![lost], ..Board::default() }
    }

    #[test]
    fn the_missing_come_first_then_the_unseen_then_by_age_and_nearness() {
        let board = board();
        let here = board.trays[0].place.clone();
        let found = candidates(&board, &here, CropId(1), now());
        let order: Vec<i64> = found.iter().map(|candidate| candidate.tray.id.0).collect();
        assert_eq!(order, [6, 5, 4, 3], "never the one the book has there, never another crop");
        let why: Vec<&str> = found.iter().map(|candidate| candidate.why.as_str()).collect();
        assert_eq!(
            why,
            [
                "missing, last at A 1-2, Sun 06:10; another rack; sown 01 Jul, 9 d older",
                "not seen today, A 1-1; another rack; sown 10 Jul as expected",
                "not seen today, A 2-4; same shelf; sown 08 Jul, 2 d older",
                "seen today at A 2-1; next to it; sown 10 Jul as expected",
            ]
        );
    }

    #[test]
    fn what_is_suspect_or_held_is_said_of_the_missing_too() {
        let mut board = board();
        board.missing[0].tray.suspect = true;
        board.trays[4].held = true;
        assert_eq!(board.missing[0].words(now()), "SUSPECT, last at A 1-2, Sun 06:10");
        assert_eq!((board.count(Sign::Suspect, now()), board.count(Sign::Held, now())), (1, 1));
        let here = board.trays[0].place.clone();
        let found = candidates(&board, &here, CropId(1), now());
        assert!(found[0].why.starts_with("missing, SUSPECT, last at"), "{}", found[0].why);
        assert!(found[1].why.starts_with("HELD, not seen today"), "{}", found[1].why);
    }

    #[test]
    fn at_an_empty_place_nearness_and_not_age_decides() {
        let board = board();
        let empty = Place { id: PlaceId(99), pos: 5, ..board.trays[0].place.clone() };
        let order: Vec<i64> =
            candidates(&board, &empty, CropId(1), now()).iter().map(|candidate| candidate.tray.id.0).collect();
        assert_eq!(order, [6, 4, 1, 5, 3]);
    }
}
