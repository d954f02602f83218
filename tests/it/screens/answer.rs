//! A customer calls: from the complaint to the seed lot, the hold and the call sheet, by keys.

use rackwalk::demo::{Demo, build};
use rackwalk::domain::action::Action;
use rackwalk::domain::id::SeedLotId;
use rackwalk::store::error::StoreError;

use super::Seat;
use crate::book::{Book, at};

/// The demo room on a Tuesday at six.
fn demo() -> Seat {
    let mut book = Book::empty();
    let now = at("2026-07-14T06:00");
    build(&mut book.store, &Demo::default(), now, |_, _| {}).unwrap();
    book.now = now;
    Seat::at(book)
}

#[test]
fn the_demos_story_is_found_from_the_call_to_the_call_sheet_within_forty_keys() {
    let mut seat = demo();
    // Green Corner calls: mould in a pack of the mix, the label is gone
    seat.press(". c m").sees("A customer calls: mould");
    seat.press("g r e e n Enter m i l l Enter C-s").sees("Complaint 3: mould, Green Corner, Mill Street mix 50 g");
    seat.sees("no label").sees("May be it: MIX-260706-B");
    // the pea seed is in it, and in the packs of both complaints of yesterday
    seat.press("t").sees("What it was made of").sees("Whichever of the 2 it is: S0007-F pea").press("Esc");
    // everything it may be and all of its seed is held, and who has any of it stands on one sheet
    seat.press("o").sees("and their seed lots").press("m o u l d C-s").sees("Call sheet").sees("TO CALL");
    seat.sees("Harbour Table").sees("The Copper Pot").sees("Green Corner");
    assert!(seat.keys <= 40, "{} keys", seat.keys);
}

#[test]
fn shown() {
    let mut seat = demo();
    seat.press(". c m g r e e n Enter m i l l Enter C-s");
    println!("{}", seat.text());
    seat.press("t");
    println!("{}", seat.text());
    seat.press("w");
    println!("{}", seat.text());
    seat.press("Esc o m o u l d C-s");
    println!("{}", seat.text());
    seat.press("y n v");
    println!("{}", seat.text());
    seat.press("Esc Enter");
    println!("{}", seat.text());
    seat.press("Esc Esc Esc . i");
    println!("{}", seat.text());
    seat.press("Esc . x");
    println!("{}", seat.text());
    seat.press("y");
    println!("{}", seat.text());
    seat.press("y e n o n e C-s");
    println!("{}", seat.text());
    seat.press("Esc . c i");
    println!("{}", seat.text());
    seat.press("y");
    println!("{}", seat.text());
    let _ = (SeedLotId(1), Action::Undo, StoreError::ReadOnly);
}
