//! A walk that two walk, each with racks of their own.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, RackId, TrayId, WalkId};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::walk::{Mode, Walk};

use super::{act_as, assert_sound, person, refused_as};
use crate::book::{AK, Book};

const A: RackId = RackId(1);
const B: RackId = RackId(2);

/// Two trays on each of two racks, two days old, and a walk that AK began.
fn shared() -> (Book, PersonId, WalkId, Vec<TrayId>) {
    let mut book = Book::room();
    let rm = person(&mut book, "RM", false);
    let lot = book.seed("RAD", 1000);
    let trays = book.radish_at(lot, &["A 1-1", "A 1-2", "B 1-1", "B 1-2"]);
    book.later(Duration::days(2) + Duration::minutes(10));
    let walk = WalkId(book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.unwrap());
    (book, rm, walk, trays)
}

fn take(walk: WalkId, racks: &[RackId]) -> Action {
    Action::TakeRacks { walk, racks: racks.to_vec() }
}

fn look(walk: WalkId, tray: TrayId) -> Action {
    Action::Look(Box::new(Look { walk: Some(walk), roots: Some(Roots::Plenty), ..Look::of(tray) }))
}

/// Whose each rack is.
fn shares(walk: &Walk) -> Vec<(RackId, &str)> {
    walk.shares.iter().map(|share| (share.rack, share.initials.as_str())).collect()
}

fn stops(book: &Book, walk: WalkId, who: PersonId) -> Vec<TrayId> {
    let walk = book.store.walk(walk).unwrap();
    let board = book.board();
    walk.open_stops(board.trays.iter(), book.now.day(), Some(who)).iter().map(|tray| tray.id).collect()
}

#[test]
fn a_taken_rack_is_walked_by_the_one_who_took_it() {
    let (mut book, rm, walk, trays) = shared();
    let done = act_as(&mut book, rm, &take(walk, &[B]));
    assert_eq!(done.sentence, "RM takes rack B of the walk of 06:10.");
    assert_eq!(shares(&book.store.walk(walk).unwrap()), [(B, "RM")]);
    assert_eq!((stops(&book, walk, AK), stops(&book, walk, rm)), (trays[..2].to_vec(), trays[2..].to_vec()));
    // the looks of both belong to the one walk, each with its hands
    book.act(&look(walk, trays[0]));
    act_as(&mut book, rm, &look(walk, trays[2]));
    let walk = book.store.walk(walk).unwrap();
    let by: Vec<(TrayId, PersonId)> = walk.visited.iter().map(|visit| (visit.tray, visit.by)).collect();
    assert_eq!(by, [(trays[0], AK), (trays[2], rm)]);
    let line = &book.store.history(Of::Person(rm), None, 9).unwrap()[1];
    assert_eq!((line.who.as_str(), line.text.as_str()), ("RM", "takes rack B of the walk AK began"));
    assert_sound(&mut book);
}

#[test]
fn the_newest_taking_counts_until_it_is_taken_back() {
    let (mut book, rm, walk, trays) = shared();
    act_as(&mut book, rm, &take(walk, &[A, B]));
    assert_eq!(stops(&book, walk, AK), []);
    let done = book.act(&take(walk, &[B]));
    assert_eq!(shares(&book.store.walk(walk).unwrap()), [(A, "RM"), (B, "AK")]);
    assert_eq!((stops(&book, walk, AK), stops(&book, walk, rm)), (trays[2..].to_vec(), trays[..2].to_vec()));
    // it is RM's no more, so RM may take it again; AK has it already
    assert_eq!(book.refused(&take(walk, &[B])).sentence, "Rack B is yours already: go on with the walk there.");
    let undone = book.act(&Action::Undo);
    assert_eq!(undone.sentence, "Taken back: takes rack B of the walk AK began");
    assert_eq!(shares(&book.store.walk(walk).unwrap()), [(A, "RM"), (B, "RM")]);
    let line = &book.store.history(Of::Person(AK), None, 9).unwrap()[1];
    assert_eq!((line.id, line.undone_by), (done.entry, Some(undone.entry)));
    act_as(&mut book, rm, &Action::Undo);
    assert_eq!(shares(&book.store.walk(walk).unwrap()), []);
    assert_eq!((stops(&book, walk, AK), stops(&book, walk, rm)), (trays.clone(), trays));
    assert_sound(&mut book);
}

#[test]
fn a_walk_that_is_shared_is_not_taken_back_under_the_other() {
    let (mut book, rm, walk, _) = shared();
    act_as(&mut book, rm, &take(walk, &[B]));
    let refusal = book.refused(&Action::Undo);
    assert_eq!(refusal.rule, "undo_in_use");
    assert!(refusal.sentence.contains("takes rack B"), "{refusal}");
    act_as(&mut book, rm, &Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(refused_as(&mut book, rm, &take(walk, &[B])).rule, "walk_unknown");
}

#[test]
fn several_racks_are_one_entry() {
    let (mut book, rm, walk, _) = shared();
    let before = book.store.history(Of::Everything, None, 99).unwrap().len();
    let done = act_as(&mut book, rm, &take(walk, &[B, A]));
    assert_eq!(done.sentence, "RM takes racks B and A of the walk of 06:10.");
    assert_eq!(book.store.history(Of::Everything, None, 99).unwrap().len(), before + 1);
}
