//! What really stands at a place, by keys: stacks, trays not there, others there instead, labels lost.

use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::id::{PlaceId, TrayId};
use rackwalk::domain::room::Zone;
use rackwalk::domain::tray::TrayCard;

use super::{Seat, morning};
use crate::book::Book;

/// The room of `morning` with its covered trays stacked: T0001 to T0003 at the first place, T0003 on top.
fn stacked() -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 5);
    let places: Vec<PlaceId> = trays.iter().map(|tray| book.board().tray(*tray).unwrap().place.id).collect();
    book.act(&Action::EditPlaces {
        places: places.clone(),
        zone: Zone::Covered,
        retired: false,
        rev: 0,
        stack: Some(3),
    });
    for tray in &trays[1..3] {
        book.act(&Action::Move { walk: None, tray: *tray, to: Some(places[0]), stage: None });
    }
    book.later(chrono::Duration::days(2));
    Seat::at(book)
}

fn place_of(seat: &Seat, tray: i64) -> Option<String> {
    seat.session.store.board().unwrap().tray(TrayId(tray)).map(TrayCard::stands)
}

#[test]
fn the_walk_takes_a_stack_down_from_the_top() {
    let mut seat = stacked();
    seat.press("w a").sees("A 1-1, top of 3").sees("T0003").press("s").sees("A 1-1, 2nd of 3");
    seat.press("s").sees("A 1-1, bottom of 3").press("s");
    assert!(!seat.text().contains("A 1-1"), "{}", seat.text());
}

#[test]
fn a_stack_shows_one_cell_with_a_plus_and_asks_which_tray_is_meant() {
    let mut seat = stacked();
    seat.sees("RAD  2!+").sees("+ more below");
    seat.press("i").sees("Which tray at A 1-1, from the top?").press("d").sees("Tray T0001-W");
    seat.press("Esc Enter").sees("tray T0003").sees("tray T0001-W").sees("beside T0001-W");
    seat.press("Esc t a").sees("Throw out T0003").press("Esc");
    seat.press("m d").sees("Move T0001-W from A 1-1, bottom of 3").sees("on top of its stack");
}

#[test]
fn a_stack_is_turned_over_and_a_tray_goes_on_a_stack_by_keys() {
    let mut seat = stacked();
    seat.press("m a").sees("its stack the other way round");
    let letter = letter_of(&seat, "its stack the other way round");
    seat.press(&letter).sees("From the top now: T0001-W");
    assert_eq!(place_of(&seat, 1).unwrap(), "A 1-1, top of 3");
    // the fourth tray onto an empty place of the shelf, the fifth on top of it
    seat.press("Right Right Right m").sees("Move T0004");
    let letter = letter_of(&seat, "on top of 1");
    seat.press(&letter).sees("to A 2-1");
    assert_eq!(place_of(&seat, 4).unwrap(), "A 2-1, top of 2");
}

/// The letter of the line of a list with this text.
fn letter_of(seat: &Seat, text: &str) -> String {
    let screen = seat.text();
    let line = screen.lines().find(|line| line.contains(text)).unwrap_or_else(|| panic!("no {text:?} on:\n{screen}"));
    let words: Vec<&str> = line.split_whitespace().skip_while(|word| word.len() != 1 || *word == ">").collect();
    words[0].to_string()
}

#[test]
fn not_here_goes_on_with_the_walk_and_the_end_names_the_missing() {
    let mut seat = morning();
    seat.press("w a")
        .sees("T0001-W")
        .press("k")
        .sees("it is not here")
        .press("s")
        .sees("T0001-W is missing: look for it.");
    seat.sees("T0002").sees("0 done, 7 to do");
    for key in ["s", "d", "s", "d", "s", "d", "s"] {
        seat.press(key);
    }
    seat.sees("The walk is done").sees("1 missing: look for it in the room.").sees("last at A 1-1, Wed 06:00");
    seat.press("Esc").sees("1 missing");
}

#[test]
fn another_tray_here_by_its_label_in_the_walk() {
    let mut seat = morning();
    // at T0001's place stands T0007: it was put there by mistake, and T0001 is where T0007 was
    seat.press("w a k b").sees("Another tray at A 1-1: of which crop?").sees("Scan its label");
    let (was, label) = (place_of(&seat, 7).unwrap(), Code::tray(7).to_string());
    seat.press(&label).press("Enter").sees(&format!("{label} stands at A 1-1. And the other one?"));
    seat.sees("missing, until it is found").sees(&format!("stands at {was} instead")).press("s");
    assert_eq!((place_of(&seat, 7).unwrap(), place_of(&seat, 1).unwrap()), ("A 1-1".to_string(), was));
}

#[test]
fn another_tray_here_without_a_label_is_chosen_by_its_likeness() {
    let mut seat = morning();
    let was = place_of(&seat, 7).unwrap();
    seat.press("w a k b a").sees("Which one stands at A 1-1?").sees("not seen today, A 1-2; next to it; sown 01 Jul");
    let letter = letter_of(&seat, "T0007");
    seat.press(&letter).sees("stands at A 1-1. And the other one?").sees("they changed places");
    seat.press("s").sees("T0007").sees("day 1");
    assert_eq!(place_of(&seat, 7).unwrap(), "A 1-1");
    assert_eq!(place_of(&seat, 1).unwrap(), was);
    // the walk stands at the tray found here, which gets its grade
    seat.press("a").sees("roots none");
    seat.press("u u").sees("Taken back");
    assert_eq!(place_of(&seat, 7).unwrap(), was);
}

#[test]
fn a_missing_tray_is_found_by_its_label_at_the_cursor() {
    let mut seat = morning();
    seat.press("g").sees("What really stands at A 1-1?").press("a").sees("T0001-W is missing");
    seat.press("Right Right g").sees("missing: T0001-W, radish").press("Esc");
    seat.press("T0001-W Enter").sees("T0001-W, radish is missing").sees("it was thrown out").sees("it was cut");
    seat.press("a").sees("And the other one?").press("a");
    assert_eq!(place_of(&seat, 1).unwrap(), "A 1-3");
    assert_eq!(seat.session.store.board().unwrap().missing.len(), 1, "the one that stood there is missing now");
}

#[test]
fn a_missing_tray_that_was_thrown_out_gets_its_reason() {
    let mut seat = morning();
    seat.press("g a").sees("T0001-W is missing").press("T0001-W Enter").sees("it was thrown out");
    let letter = letter_of(&seat, "it was thrown out");
    seat.press(&letter).sees("Throw out T0001-W").press("r a").sees("thrown out");
    assert!(seat.session.store.board().unwrap().missing.is_empty());
}

#[test]
fn a_label_is_printed_again_at_the_place_and_never_over_another() {
    let mut seat = morning();
    let letter = |seat: &mut Seat| {
        seat.press("g").sees("a new label for T0001-W");
        letter_of(seat, "a new label for T0001-W")
    };
    let key = letter(&mut seat);
    seat.press(&key).sees("The page is in ").sees("Paper fails when wet");
    let key = letter(&mut seat);
    seat.press(&key);
    let folder = seat.book().path.parent().unwrap();
    let first = std::fs::read_to_string(folder.join("label-T0001-W.html")).unwrap();
    assert!(first.contains("T0001-W") && first.contains("A 1-1"), "{first}");
    assert!(folder.join("label-T0001-W-2.html").is_file());
}

#[test]
fn what_stood_beside_a_tray_is_told_with_its_times() {
    let mut seat = morning();
    seat.press("Enter");
    let letter = letter_of(&seat, "beside T0001-W");
    seat.press(&letter).sees("Beside tray T0001-W").sees("T0002").sees("since Wed 01 Jul 06:00").press("Esc");
}

#[test]
fn a_stack_above_its_limit_is_refused_in_words_by_keys() {
    let mut seat = stacked();
    seat.press("x d s").type_in("shelf 1").press("Enter cov Tab").press("Tab").type_in("2").press("C-s");
    seat.sees("3 trays stand on each other at A 1-1: unstack them first");
    seat.press("Backspace").type_in("25").press("C-s");
    assert!(!seat.text().contains("on each other."), "{}", seat.text());
    seat.press("Backspace Backspace").type_in("4").press("C-s").sees("covered, up to 4 trays on each other.");
}
