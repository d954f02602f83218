//! The home screen by keys.

use rackwalk::domain::action::Action;
use rackwalk::domain::room::Zone;

use super::{Seat, morning};
use crate::book::Book;

#[test]
fn the_cursor_moves_the_other_panes() {
    let mut seat = morning();
    seat.sees("A 1-1  T0001-W").sees("Batch B0001-G: 5 of 5 standing");
    seat.press("Down Right").sees("A 2-2  T0006-M").sees("Batch B0002-E: 3 of 3 standing");
    seat.press("Down").sees("A 3-2 is empty (covered)");
    seat.press("n").sees("Rack B  (2 of 3)");
    seat.press("b").sees("Rack A  (1 of 3)").sees("T0001-W");
}

#[test]
fn a_room_whose_places_are_all_out_of_use_takes_every_key() {
    let mut book = Book::room();
    let places = book.board().places().map(|place| place.id).collect();
    book.act(&Action::EditPlaces { places, zone: Zone::Lit, retired: true, rev: 0, stack: None });
    let mut seat = Seat::at(book);
    seat.press("n b Up Down Left Right Enter Esc").sees("No rack yet");
}

#[test]
fn a_place_taken_out_of_use_lets_the_cursor_go() {
    let mut seat = morning();
    seat.press("Down Down").sees("A 3-1 is empty");
    let place = seat.session.model.cursor_place().unwrap().id;
    let now = seat.book().now;
    let retire = Action::EditPlaces { places: vec![place], zone: Zone::Covered, retired: true, rev: 0, stack: None };
    seat.session.store.act(&retire, crate::book::AK, now).unwrap();
    seat.session.handle(rackwalk::app::effect::Msg::OthersWrote);
    seat.sees("A 1-1  T0001-W").press("m Esc").sees("A 1-1  T0001-W");
}

#[test]
fn a_long_refusal_is_shown_whole_on_a_small_screen() {
    let mut seat = morning();
    seat.size(40, 10);
    let long = "one two three four five six seven eight nine ten ".repeat(2);
    seat.session.model.refuse(format!("{long}and what to do at the end."));
    seat.sees("Not done: one two").sees("at the end.");
}
