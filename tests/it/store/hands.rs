//! Seen at another time and by other hands than typed.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, PlaceId, TrayId, WalkId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::time::Now;
use rackwalk::domain::tray::{Stage, TrayCard};
use rackwalk::domain::walk::Mode;

use super::{assert_sound, person, raw};
use crate::book::{AK, Book, at, roots};

/// Three radish trays sown on the first of July at six; now it is the second at ten.
fn second_day() -> (Book, Vec<TrayId>, PersonId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    let rm = person(&mut book, "RM", false);
    book.now = at("2026-07-02T10:00");
    (book, trays, rm)
}

fn seen(by: PersonId, when: &str) -> Seen {
    Seen { by: Some(by), at: Some(at(when).instant()), paper: true }
}

fn late(book: &mut Book, when: &str, action: &Action) {
    let seen = Seen { at: Some(at(when).instant()), ..Seen::default() };
    book.store.act_seen(action, AK, &seen, book.now).unwrap();
}

fn at_time(book: &mut Book, now: &str, action: &Action) {
    let then: Now = at(now);
    book.store.act(action, AK, then).unwrap();
}

fn go(tray: TrayId, to: PlaceId) -> Action {
    Action::Move { walk: None, tray, to: Some(to), stage: None }
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

#[test]
fn a_late_move_does_not_undo_what_came_after_it() {
    let (mut book, trays, _) = second_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    at_time(&mut book, "2026-07-02T09:00", &go(trays[0], free[0]));
    late(&mut book, "2026-07-02T07:00", &go(trays[0], free[1]));
    assert_eq!(card(&book, trays[0]).place.id, free[0], "moved at nine, whatever was typed at ten");
    late(&mut book, "2026-07-02T09:30", &go(trays[0], free[1]));
    assert_eq!(card(&book, trays[0]).place.id, free[1]);
    // sown at six, written at six: a move of five that morning still is a move
    late(&mut book, "2026-07-01T05:00", &go(trays[1], free[2]));
    assert_eq!(card(&book, trays[1]).place.id, free[2]);
    late(
        &mut book,
        "2026-07-02T08:00",
        &Action::Move { walk: None, tray: trays[2], to: None, stage: Some(Stage::Lit) },
    );
    assert_eq!(card(&book, trays[2]).stage, Stage::Lit);
    assert_sound(&mut book);
}

#[test]
fn a_clock_set_back_changes_nothing_for_rows_without_a_time_of_their_own() {
    let (mut book, trays, _) = second_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    at_time(&mut book, "2026-07-02T09:00", &go(trays[0], free[0]));
    at_time(&mut book, "2026-07-02T05:00", &go(trays[0], free[1]));
    assert_eq!(card(&book, trays[0]).place.id, free[1]);
    late(&mut book, "2026-07-02T07:00", &go(trays[0], free[2]));
    assert_eq!(card(&book, trays[0]).place.id, free[2], "after the newest row that is not later");
    assert_sound(&mut book);
}

#[test]
fn a_late_look_stands_on_its_own_day_and_never_hides_a_newer_one() {
    let (mut book, trays, _) = second_day();
    book.now = at("2026-07-03T10:00");
    at_time(&mut book, "2026-07-03T09:00", &roots(trays[0], Roots::Plenty));
    late(&mut book, "2026-07-03T06:00", &roots(trays[0], Roots::Peeking));
    assert_eq!(card(&book, trays[0]).last.unwrap().roots, Some(Roots::Plenty));
    late(&mut book, "2026-07-02T06:00", &roots(trays[0], Roots::None));
    assert_eq!(card(&book, trays[0]).last.unwrap().roots, Some(Roots::Plenty));
    let line = book.store.timeline(card(&book, trays[0]).sowing).unwrap();
    assert_eq!(line.on(1).unwrap().roots_high, Some(Roots::None));
    assert_eq!(line.on(2).unwrap().looked, 2);
    // fuzz seen to lie down at nine is not made suspect again by what was untested at seven
    let fuzz = |mist| Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(trays[1]) }));
    at_time(&mut book, "2026-07-03T09:00", &fuzz(Mist::Down));
    late(&mut book, "2026-07-03T07:00", &fuzz(Mist::Untested));
    assert!(!card(&book, trays[1]).suspect);
    late(&mut book, "2026-07-03T09:30", &fuzz(Mist::Untested));
    assert!(card(&book, trays[1]).suspect);
    assert_sound(&mut book);
}

#[test]
fn a_late_cut_is_believed_when_nothing_came_after_it() {
    let (mut book, trays, _) = second_day();
    let lit = Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Lit) };
    at_time(&mut book, "2026-07-02T07:00", &lit);
    late(&mut book, "2026-07-02T08:00", &Action::Cut { trays: vec![trays[0]] });
    assert_eq!(book.board().tray(trays[0]), None);
    let line = book.store.timeline(card(&book, trays[1]).sowing).unwrap();
    assert_eq!(line.on(1).unwrap().cut, 1);
    assert_sound(&mut book);
}

#[test]
fn the_story_says_who_saw_and_who_typed() {
    let (mut book, trays, rm) = second_day();
    let sheet = seen(rm, "2026-07-02T06:10");
    let now = at("2026-07-02T09:30");
    book.store.act_seen(&roots(trays[0], Roots::Peeking), AK, &sheet, now).unwrap();
    book.store.act(&roots(trays[1], Roots::Peeking), AK, now).unwrap();
    let lines = book.store.history(Of::Everything, None, 2).unwrap();
    assert_eq!(lines[0].words(now), "T0002-U: roots peeking, watered");
    let said = "T0001-W: roots peeking, watered (seen 06:10 by RM, typed 09:30 by AK, from paper)";
    assert_eq!((lines[1].words(now).as_str(), lines[1].who.as_str()), (said, "RM"));
    assert_eq!(card(&book, trays[0]).last.unwrap().who, "RM");
    // what AK typed is AK's to take back
    book.store.act(&Action::Undo, AK, now).unwrap();
    book.store.act(&Action::Undo, AK, now).unwrap();
    assert_eq!(card(&book, trays[0]).last, None);
    assert_sound(&mut book);
}

#[test]
fn a_sheet_is_a_walk_of_its_own_day_and_hands() {
    let (mut book, trays, rm) = second_day();
    at_time(&mut book, "2026-07-02T09:00", &roots(trays[0], Roots::Peeking));
    book.now = at("2026-07-03T09:30");
    at_time(&mut book, "2026-07-03T09:00", &roots(trays[1], Roots::Plenty));
    let sheet = seen(rm, "2026-07-02T06:10");
    let start = Action::StartWalk { mode: Mode::Both, racks: None };
    let id = WalkId(book.store.act_seen(&start, AK, &sheet, book.now).unwrap().made.unwrap());
    let walk = book.store.newest_sheet().unwrap().unwrap();
    assert_eq!((walk.id, walk.seen, walk.day), (id, sheet, at("2026-07-02T06:10").day()));
    assert_eq!((walk.known.as_slice(), walk.who.as_str()), (&trays[..1], "RM"));
    assert_eq!(book.store.newest_walk(book.now.day()).unwrap(), None, "no walk by the screen");
    let open: Vec<TrayId> =
        walk.open_stops(book.board().trays.iter(), book.now.day(), None).iter().map(|t| t.id).collect();
    assert_eq!(open, trays[1..], "seen since, but not on that day");
    let look = Look { walk: Some(id), roots: Some(Roots::None), ..Look::of(trays[1]) };
    book.store.act_seen(&Action::Look(Box::new(look)), AK, &sheet, book.now).unwrap();
    let walk = book.store.walk(id).unwrap();
    assert_eq!(walk.visited.len(), 1);
    assert_eq!(walk.known, trays[..1]);
    assert_eq!(card(&book, trays[1]).last.unwrap().day, book.now.day(), "the newer look stands");
    assert_sound(&mut book);
}

#[test]
fn a_walk_that_was_missed_stays_a_gap() {
    let (mut book, trays, _) = second_day();
    let missed = |book: &Book, day: &str| book.board().missed_yesterday(at(day).day());
    assert!(!missed(&book, "2026-07-02T10:00"), "sown yesterday: nothing was due");
    assert!(missed(&book, "2026-07-03T10:00"));
    at_time(&mut book, "2026-07-02T09:00", &roots(trays[0], Roots::Peeking));
    assert!(!missed(&book, "2026-07-03T10:00"));
    at_time(&mut book, "2026-07-04T09:00", &roots(trays[0], Roots::Plenty));
    assert!(missed(&book, "2026-07-04T10:00"), "today's walk does not make up for yesterday's");
    let line = book.store.timeline(card(&book, trays[0]).sowing).unwrap();
    assert!(line.on(1).is_some() && line.on(2).is_none() && line.on(3).is_some());
    book.now = at("2026-07-04T10:00");
    late(&mut book, "2026-07-03T06:00", &roots(trays[1], Roots::Plenty));
    assert!(!missed(&book, "2026-07-04T10:00"));
}

#[test]
fn people_are_on_the_list_from_a_day_to_a_day() {
    let (mut book, _, rm) = second_day();
    let days = |book: &Book, id| {
        let people = book.board().people;
        let person = people.iter().find(|p| p.id == id).unwrap();
        (person.from.map(|d| d.to_string()), person.to.map(|d| d.to_string()))
    };
    let first = Some("2026-07-01".to_string());
    assert_eq!((days(&book, AK), days(&book, rm)), ((first.clone(), None), (first.clone(), None)));
    let edit = |rev, name: &str, retired| Action::EditPerson {
        person: rm,
        rev,
        name: name.into(),
        may_decide: false,
        retired,
    };
    book.act(&edit(0, "Rita", true));
    let left = (first.clone(), Some("2026-07-02".to_string()));
    assert_eq!(days(&book, rm), left);
    book.later(Duration::days(3));
    book.act(&edit(1, "Rita M", true));
    assert_eq!(days(&book, rm), left, "another name is not another day");
    book.act(&edit(2, "Rita M", false));
    assert_eq!(days(&book, rm), (first, None));
    book.act(&Action::Undo);
    assert_eq!(days(&book, rm), left);
    assert_sound(&mut book);
}

#[test]
fn the_hash_covers_who_saw_it_and_when() {
    let (mut book, trays, rm) = second_day();
    let sheet = seen(rm, "2026-07-02T06:10");
    let done = book.store.act_seen(&roots(trays[0], Roots::Peeking), AK, &sheet, book.now).unwrap();
    assert_sound(&mut book);
    let conn = raw(&book.path);
    conn.execute_batch("DROP TRIGGER entry_frozen").unwrap();
    for change in ["seen_at = '2026-07-02T06:11:00Z'", "seen_by = 1", "paper = 0"] {
        conn.execute(&format!("UPDATE entry SET {change} WHERE id = ?"), [done.entry.0]).unwrap();
        assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, Some(done.entry.0), "{change}");
        let back = "UPDATE entry SET seen_at = '2026-07-02T06:10:00Z', seen_by = ?2, paper = 1 WHERE id = ?1";
        conn.execute(back, [done.entry.0, rm.0]).unwrap();
    }
    assert_sound(&mut book);
}

#[test]
fn a_correction_says_what_was_so_then_and_not_now() {
    let (mut book, trays, _) = second_day();
    let look = |tray, roots| Look { roots: Some(roots), watered: true, ..Look::of(tray) };
    let early = book.store.act(&roots(trays[0], Roots::Full), AK, at("2026-07-02T06:00")).unwrap().entry;
    at_time(&mut book, "2026-07-02T09:00", &roots(trays[0], Roots::Plenty));
    let right = |about, roots| Action::Correct {
        entry: about,
        correction: Correction::Look(Box::new(look(trays[0], roots))),
        reason: "slip".into(),
        second: None,
    };
    let first = book.act(&right(early, Roots::Peeking)).entry;
    assert_eq!(card(&book, trays[0]).last.unwrap().roots, Some(Roots::Plenty), "the look of nine is still the newest");
    // a correction put right the next day is still about its own day and time
    book.later(Duration::days(1));
    book.act(&right(first, Roots::None));
    let last = card(&book, trays[0]).last.unwrap();
    assert_eq!((last.day, last.roots), (at("2026-07-02T06:00").day(), Some(Roots::Plenty)));
    // what was typed later about an earlier time does not keep a tray on its rack
    at_time(
        &mut book,
        "2026-07-02T09:10",
        &Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Lit) },
    );
    late(&mut book, "2026-07-02T09:30", &Action::Cut { trays: vec![trays[0]] });
    assert_sound(&mut book);
}
