//! Stacks and their order, trays that are elsewhere than the book says, and what stood beside them.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{EntryId, PlaceId, TrayId, WalkId};
use rackwalk::domain::look::{Basis, Fault, Faults, Look, Roots, Stand};
use rackwalk::domain::room::Zone;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::domain::walk::Mode;
use rackwalk::domain::whereabouts::Sighting;

use super::{assert_sound, dump, raw};
use crate::book::{AK, Book, roots};

fn sight(trays: &[Sighting]) -> Action {
    Action::Sight { walk: None, trays: trays.to_vec() }
}

fn to(tray: TrayId, place: PlaceId) -> Action {
    Action::Move { walk: None, tray, to: Some(place), stage: None }
}

fn holds(book: &Book, place: PlaceId, stack: i64) -> Action {
    let board = book.board();
    let (zone, rev) = (board.place(place).unwrap().zone, board.places_rev(&[place]));
    Action::EditPlaces { places: vec![place], zone, retired: false, rev, stack: Some(stack) }
}

/// Trays at a place from the top.
fn stack(book: &Book, place: PlaceId) -> Vec<TrayId> {
    let board = book.board();
    let stack: Vec<_> = board.trays_at(place).map(|tray| (tray.id, tray.from_top, tray.stacked)).collect();
    for (n, (_, from_top, stacked)) in (1i64..).zip(&stack) {
        assert_eq!((*from_top, *stacked), (n, i64::try_from(stack.len()).unwrap()));
    }
    stack.into_iter().map(|(tray, ..)| tray).collect()
}

/// Four covered trays of one batch on the first places of the covered shelf, of which the first holds three.
fn covered() -> (Book, Vec<TrayId>, Vec<PlaceId>) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 4);
    let places: Vec<PlaceId> = trays.iter().map(|tray| book.board().tray(*tray).unwrap().place.id).collect();
    book.act(&Action::EditPlaces { places: places.clone(), zone: Zone::Covered, retired: false, rev: 0, stack: None });
    let three = holds(&book, places[0], 3);
    book.act(&three);
    (book, trays, places)
}

#[test]
fn trays_lie_on_each_other_in_the_order_they_came_and_the_walk_begins_at_the_top() {
    let (mut book, trays, places) = covered();
    book.act(&to(trays[2], places[0]));
    book.act(&to(trays[1], places[0]));
    assert_eq!(stack(&book, places[0]), [trays[1], trays[2], trays[0]]);
    let board = book.board();
    assert_eq!(board.tray_at(places[0]).unwrap().id, trays[1], "the uppermost is the one at hand");
    assert!(board.trays.iter().map(|tray| tray.id).take(3).eq([trays[1], trays[2], trays[0]]));
    assert_eq!(board.tray(trays[2]).unwrap().stands(), "A 1-1, 2nd of 3");
    // the lowest is taken away: the others keep their order
    book.act(&to(trays[0], places[1]));
    assert_eq!(stack(&book, places[0]), [trays[1], trays[2]]);
    book.act(&to(trays[0], places[0]));
    assert_eq!(stack(&book, places[0]), [trays[0], trays[1], trays[2]]);
    assert_sound(&mut book);
}

#[test]
fn a_full_stack_is_refused_with_a_way_on_and_leaves_no_trace() {
    let (mut book, trays, places) = covered();
    let lot = book.seed("PEA", 500);
    let more = book.sow("PEA", lot, 1)[0];
    book.act(&to(trays[1], places[0]));
    book.act(&to(trays[2], places[0]));
    let before = dump(&raw(&book.path));
    let refusal = book.refused(&to(more, places[0]));
    let sentence = "A 1-1 holds 3 trays on each other: choose another place, or give it more in settings.";
    assert_eq!((refusal.rule, refusal.sentence.as_str()), ("stack_full", sentence));
    assert_eq!(book.refused(&sight(&[(more, Some(places[0]))])).rule, "stack_full");
    let fewer = holds(&book, places[0], 2);
    let refusal = book.refused(&fewer);
    assert_eq!(refusal.rule, "stack_standing");
    assert!(refusal.sentence.starts_with("3 trays stand on each other at A 1-1"), "{refusal}");
    for odd in [0, 21] {
        let odd = holds(&book, places[0], odd);
        assert_eq!(book.refused(&odd).rule, "stack_range");
    }
    assert_eq!(dump(&raw(&book.path)), before);
}

#[test]
fn a_whole_sowing_may_go_onto_stacks() {
    let (mut book, _, places) = covered();
    let lot = book.seed("PEA", 2000);
    let board = book.board();
    let on_first = board.room_left().iter().filter(|place| place.id == places[0]).count();
    assert_eq!(on_first, 2, "one stands there of three");
    let mut new = book.sowing("PEA", lot, 3);
    new.places = vec![places[0], places[0], new.places[0]];
    let sown = book.act(&Action::Sow(Box::new(new))).trays;
    assert_eq!(stack(&book, places[0])[..2], [sown[1], sown[0]]);
    assert_sound(&mut book);
}

#[test]
fn a_stack_is_put_in_another_order_and_back_by_undo() {
    let (mut book, trays, places) = covered();
    book.act(&to(trays[1], places[0]));
    book.act(&to(trays[2], places[0]));
    let restack = |trays: &[TrayId]| Action::Restack { place: places[0], trays: trays.to_vec() };
    let (low, middle, top) = (trays[0], trays[1], trays[2]);
    let done = book.act(&restack(&[low, middle, top]));
    assert_eq!(stack(&book, places[0]), [low, middle, top]);
    assert!(done.sentence.starts_with("From the top now: T0001-W, "), "{}", done.sentence);
    let told = book.store.history(Of::Tray(low), None, 9).unwrap().remove(0);
    assert!(told.text.starts_with("the stack at A 1-1 from the top now: T0001-W"), "{}", told.text);
    assert_eq!(book.refused(&restack(&[low, middle, top])).rule, "no_change");
    for wrong in [&[low, middle][..], &[low, middle, trays[3]]] {
        assert_eq!(book.refused(&restack(wrong)).rule, "stack_other");
    }
    assert_eq!(book.refused(&restack(&[low, low, top])).rule, "tray_twice");
    book.act(&Action::Undo);
    assert_eq!(stack(&book, places[0]), [top, middle, low]);
    assert_sound(&mut book);
}

#[test]
fn undo_does_not_leave_more_trays_than_a_place_holds() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 2);
    let place = book.board().tray(trays[0]).unwrap().place.id;
    let rm = super::person(&mut book, "RM", true);
    let two = holds(&book, place, 2);
    super::act_as(&mut book, rm, &two);
    book.act(&to(trays[1], place));
    let refusal = super::refused_as(&mut book, rm, &Action::Undo);
    assert_eq!(refusal.rule, "stack_standing", "{refusal}");
    assert_eq!(stack(&book, place).len(), 2);
}

#[test]
fn a_stacked_tray_is_never_part_of_a_glance_also_under_light() {
    let (mut book, trays, places) = covered();
    let all = [0, 1, 2, 3].map(|n| places[n]).to_vec();
    let rev = book.board().places_rev(&all);
    book.act(&Action::EditPlaces { places: all, zone: Zone::Lit, retired: false, rev, stack: Some(2) });
    for tray in &trays {
        book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
    }
    let glance = |trays: &[TrayId]| {
        let (basis, stand) = (Basis::Shelf, Some(Stand::Good));
        Action::Look(Box::new(Look { trays: trays.to_vec(), basis, stand, ..Look::of(trays[0]) }))
    };
    book.act(&glance(&trays));
    book.act(&to(trays[3], places[0]));
    assert_eq!(book.refused(&glance(&trays)).rule, "glance_own_look");
    assert!(book.board().tray(trays[0]).unwrap().needs_own_look(book.now.day()).is_some());
    book.act(&glance(&[trays[1], trays[2]]));
}

#[test]
fn a_tray_that_is_not_there_is_missing_until_it_is_found() {
    let (mut book, trays, places) = covered();
    let lifted = book.now.plus(Duration::hours(24));
    book.now = lifted;
    book.act(&roots(trays[1], Roots::Peeking));
    book.later(Duration::hours(24));
    let done = book.act(&sight(&[(trays[1], None)]));
    assert_eq!(done.sentence, "T0002-U is missing: look for it.");
    let board = book.board();
    assert!(board.tray(trays[1]).is_none() && board.free_places().iter().any(|place| place.id == places[1]));
    let missing = board.missing(trays[1]).unwrap();
    assert_eq!((missing.since, missing.noticed), (lifted.instant(), book.now.instant()));
    assert_eq!(missing.tray.place.id, places[1], "the last place known");
    // nobody can look at it, move it or miss it twice
    assert_eq!(book.refused(&roots(trays[1], Roots::Full)).rule, "tray_missing");
    assert_eq!(book.refused(&to(trays[1], places[1])).rule, "tray_missing");
    assert_eq!(book.refused(&sight(&[(trays[1], None)])).rule, "sight_known");
    assert_eq!(book.refused(&sight(&[])).rule, "sight_nothing");
    assert_eq!(book.refused(&sight(&[(trays[0], Some(places[0]))])).rule, "sight_known");
    assert_sound(&mut book);
    // found a day later: moved some time after it was lifted last
    let free = book.board().free_places().last().unwrap().id;
    book.later(Duration::hours(5));
    book.act(&sight(&[(trays[1], Some(free))]));
    assert_eq!(book.board().tray(trays[1]).unwrap().place.id, free);
    let told = book.store.history(Of::Tray(trays[1]), None, 9).unwrap().remove(0);
    let span = told.span.unwrap();
    assert_eq!((span.from, span.to), (lifted.instant(), Some(book.now.instant())));
    assert_eq!(told.text, "T0002-U found at ISO 1-2");
    let words = told.words(book.now);
    assert!(words.starts_with("T0002-U found at ISO 1-2; moved some time in 02 Jul 2026 06:00 to 03 Jul"), "{words}");
    book.act(&Action::Undo);
    assert!(book.board().missing(trays[1]).is_some());
    assert_sound(&mut book);
}

#[test]
fn a_missing_tray_may_turn_out_to_be_cut_or_thrown_out() {
    let (mut book, trays, _) = covered();
    book.act(&Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Lit) });
    book.act(&sight(&[(trays[0], None), (trays[1], None)]));
    book.act(&Action::Cut { trays: vec![trays[0]] });
    let (reason, gear) = (LossReason::Accident, Gear::Binned);
    book.act(&Action::Throw { walk: None, tray: trays[1], reason, gear, cleanup: None, note: None });
    assert!(book.board().missing.is_empty());
    assert_sound(&mut book);
}

#[test]
fn two_that_changed_places_are_one_entry_and_were_beside_the_neighbours_of_both() {
    let mut book = Book::room();
    let (lot, pea) = (book.seed("RAD", 500), book.seed("PEA", 500));
    let trays = book.sow("RAD", lot, 2);
    let places: Vec<PlaceId> = book.board().places().map(|place| place.id).collect();
    let far = book.sow("PEA", pea, 1)[0];
    book.act(&to(far, places[11]));
    let neighbour = book.sow("PEA", pea, 1)[0];
    book.act(&to(neighbour, places[10]));
    let sown = book.now.instant();
    let beside = |book: &Book, tray: TrayId| -> Vec<(TrayId, bool)> {
        book.store.beside(tray).unwrap().iter().map(|b| (b.tray, b.to.is_none())).collect()
    };
    assert_eq!(beside(&book, trays[0]), [(trays[1], true)]);
    book.later(Duration::hours(30));
    book.act(&sight(&[(trays[0], Some(places[11])), (far, Some(places[0]))]));
    let board = book.board();
    assert_eq!(board.tray(trays[0]).unwrap().place.id, places[11]);
    assert_eq!(board.tray(far).unwrap().place.id, places[0]);
    // nobody knows when: for the whole time beside the neighbours of both places
    let found = book.store.beside(trays[0]).unwrap();
    let of = |tray: TrayId| found.iter().filter(|b| b.tray == tray).map(|b| (b.from, b.to)).collect::<Vec<_>>();
    assert_eq!(of(trays[1]), [(sown, Some(book.now.instant()))]);
    assert_eq!(of(neighbour), [(sown, None)]);
    let told = book.store.history(Of::Place(places[0]), None, 9).unwrap().remove(0);
    assert!(told.text.contains("T0001-W found at A 3-4") && told.text.contains("found at A 1-1"), "{}", told.text);
    assert_sound(&mut book);
}

#[test]
fn the_place_by_the_book_has_no_room_for_both() {
    let (mut book, trays, places) = covered();
    assert_eq!(book.refused(&sight(&[(trays[2], Some(places[1]))])).rule, "place_taken");
    book.act(&sight(&[(trays[2], Some(places[1])), (trays[1], None)]));
    assert_eq!(book.board().tray(trays[2]).unwrap().place.id, places[1]);
    assert!(book.board().missing(trays[1]).is_some());
    assert_eq!(book.board().tray(trays[0]).unwrap().stacked, 1);
}

fn right(entry: EntryId, correction: Correction) -> Action {
    Action::Correct { entry, correction, reason: "looked again".into(), second: None }
}

#[test]
fn the_place_of_a_found_tray_put_right_keeps_the_time_in_which_it_was_moved() {
    let (mut book, trays, _) = covered();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|place| place.id).collect();
    book.later(Duration::hours(20));
    let found = book.act(&sight(&[(trays[3], Some(free[0]))]));
    book.act(&right(found.entry, Correction::Place { tray: trays[3], place: free[2] }));
    assert_eq!(book.board().tray(trays[3]).unwrap().place.id, free[2]);
    let conn = raw(&book.path);
    let since = "SELECT count(*) FROM placement WHERE void_by IS NULL AND since IS NOT NULL AND place_id = ";
    assert_eq!(super::number(&conn, &format!("{since}{}", free[2].0)), 1);
    assert_sound(&mut book);
}

#[test]
fn what_never_happened_brings_no_tray_to_a_place_out_of_use() {
    let (mut book, trays, _) = covered();
    let board = book.board();
    let (home, free) = (board.tray(trays[3]).unwrap().place.clone(), board.free_places().last().unwrap().id);
    let moved = book.act(&to(trays[3], free));
    let (rev, zone) = (book.board().places_rev(&[home.id]), home.zone);
    book.act(&Action::EditPlaces { places: vec![home.id], zone, retired: true, rev, stack: None });
    let refusal = book.refused(&right(moved.entry, Correction::Never));
    assert_eq!(refusal.rule, "place_retired");
    assert!(refusal.sentence.contains(&home.label()), "{refusal}");
}

#[test]
fn what_changes_for_the_missing_is_listed_before_it_is_saved() {
    let (mut book, trays, _) = covered();
    let missed = book.act(&sight(&[(trays[1], None)]));
    let free = book.board().free_places().last().unwrap().id;
    let found = book.act(&sight(&[(trays[1], Some(free))]));
    let now = book.now;
    let preview = |book: &mut Book, entry| book.store.preview(&right(entry, Correction::Never), AK, now).unwrap();
    assert_eq!(preview(&mut book, found.entry), ["T0002-U (radish) is missing, last at ISO 1-2."]);
    book.act(&Action::Undo);
    assert_eq!(preview(&mut book, missed.entry), ["T0002-U (radish) is not missing any more: at A 1-2."]);
}

#[test]
fn what_someone_else_found_odd_on_the_walk_is_not_graded_away() {
    let (mut book, trays, _) = covered();
    let rm = super::person(&mut book, "RM", false);
    book.later(Duration::hours(24));
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(WalkId);
    let look =
        |faults| Action::Look(Box::new(Look { walk, roots: Some(Roots::Peeking), faults, ..Look::of(trays[0]) }));
    let odd = Faults::default().toggled(Fault::Thin);
    super::act_as(&mut book, rm, &look(odd));
    let refusal = book.refused(&look(Faults::default()));
    assert_eq!(refusal.rule, "look_others");
    assert!(refusal.sentence.starts_with("RM found something odd on T0001-W on this walk"), "{refusal}");
    book.act(&look(odd));
    // one's own is one's own to put right
    book.act(&look(Faults::default()));
}
