//! The home screen by keys.

use chrono::Duration;

use super::Seat;
use crate::book::Book;

/// Five radish trays on their third day, three on their first.
fn room() -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 5);
    book.later(Duration::days(2));
    book.sow("RAD", lot, 3);
    book.later(Duration::days(1));
    Seat::at(book)
}

#[test]
fn the_cursor_moves_the_other_panes() {
    let mut seat = room();
    seat.sees("A 1-1  T0001-W").sees("Batch B0001-G: 5 of 5 standing");
    seat.press("Down Right").sees("A 2-2  T0006-M").sees("Batch B0002-E: 3 of 3 standing");
    seat.press("Down").sees("A 3-2 is empty (covered)");
    seat.press("n").sees("Rack B  (2 of 3)");
    seat.press("b").sees("Rack A  (1 of 3)").sees("T0001-W");
}
