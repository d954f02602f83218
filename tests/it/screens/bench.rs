//! Sums of shelf life by keys.

use rackwalk::domain::action::Action;
use rackwalk::domain::room::Units;

use super::Seat;
use super::walk::newest;
use crate::book::Book;

/// A seat in a room that reads ounces and °F.
fn in_us() -> Seat {
    let mut book = Book::room();
    let (name, code) = ("North Bench".into(), "NB".into());
    let rev = book.board().room_rev;
    book.act(&Action::EditRoom { name, code, units: Units::Us, rev });
    Seat::at(book)
}

#[test]
fn what_is_left_of_a_shelf_life_is_worked_out_without_writing() {
    let mut seat = Seat::at(Book::room());
    seat.size(80, 24);
    let before = newest(&seat).id;
    // derived by hand from the anchors: 5 d at 4 °C and 6 h at 20 °C use 44.17 %, and leave 7.79 d at 4 °C
    seat.press("r").sees("e  shelf life").press("e").sees("Nothing is written").type_in("1=23, 6=10, 20=3");
    seat.press("Tab 4").sees("13.95 d left at 4.0 °C").press("Tab n").type_in("5 d").press("Tab");
    seat.sees("Say how warm it was for 5 d.").press("4").sees("5 d of 13.95 d at 4.0 °C: 35.83 % used");
    // the next stretch is asked for
    seat.press("Tab 6h Tab 20").sees("7.79 d left at 4.0 °C (4.67 to 10.91, ±40 %)").sees("together 44.17 % used");
    seat.sees("It never clears a safety flag: people do, by name.");
    // a time alone, and no time
    seat.press("Tab").type_in("6 weeks").press("Tab 20").sees("is no time: write minutes, hours or days");
    seat.press("BackTab C-u").sees("Say how long it was at 20.0 °C.").press("C-s").sees("Nothing is written here");
    seat.press("Esc");
    assert_eq!(newest(&seat).id, before);
}

#[test]
fn anchors_that_do_not_fall_and_frost_have_no_number() {
    let mut seat = Seat::at(Book::room());
    seat.size(80, 24);
    seat.press("r e 5=10,20=11 Tab 4").sees("a warmer anchor must have a shorter life");
    seat.press("BackTab C-u").type_in("warm").sees("Write degrees=days, such as 5=10, 20=3.");
    seat.press("C-u").type_in("5=10").press("Tab Tab y 1h Tab").type_in("-0,3").sees("freezing, inspect: no number");
    seat.sees("chilling: colder than 10.0 °C harms this crop");
    assert!(!seat.text().contains("left at"));
}

#[test]
fn the_sums_are_in_the_units_of_the_room() {
    let mut seat = in_us();
    seat.size(80, 24);
    // one anchor, 10 d at 5 °C = 41 °F: 3 d at 41 °F and 6 h at 68 °F leave 5.92 d (derived by hand)
    seat.press("r e 41=10 Tab 41 Tab n 3d Tab 41 Tab 6h Tab 68").sees("5.92 d left at 41.0 °F");
    seat.sees("6 h of 2.31 d at 68.0 °F: 10.83 % used").sees("extrapolated: warmer than the warmest anchor, 41.0 °F");
    seat.press("Esc");
    // P: USP <1160>: 6.25 °C = 43.25 °F, of 2, 2, 5, 8, 8, 8, 8 °C
    seat.press("r n").sees("In °F").type_in("35.6 35.6 41 46.4 46.4 46.4 46.4");
    seat.sees("mean kinetic temperature 43.25 °F").sees("plain mean 42.54 °F").sees("7 readings at equal intervals");
}

#[test]
fn a_mean_is_told_as_information_only() {
    let mut seat = Seat::at(Book::room());
    seat.size(80, 24);
    let before = newest(&seat).id;
    // P: USP <1160>, equal intervals
    seat.press("r").sees("n  mean kinetic temperature").press("n").type_in("2, 2, 5, 8, 8, 8, 8");
    seat.sees("mean kinetic temperature 6.25 °C")
        .sees("plain mean 5.86 °C")
        .sees("life is never worked out from a mean");
    seat.type_in(", x").sees("\"x\" is no temperature").press("C-u").type_in("4,5 6,2").sees("Is that comma a decimal");
    seat.press("C-s").sees("Nothing is written here").press("Esc");
    assert_eq!(newest(&seat).id, before);
}
