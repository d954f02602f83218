//! Ounces, pounds, °F and fl oz on the screens; grams, mL and °C in the book.

use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::room::Units;

use super::form::{focus, go, put};
use super::{Seat, twelve};
use crate::book::Book;

/// The room with US units chosen.
fn in_us(mut book: Book) -> Seat {
    let (name, code) = ("North Bench".into(), "NB".into());
    book.act(&Action::EditRoom { name, code, units: Units::Us, rev: 0 });
    Seat::at(book)
}

fn newest(seat: &Seat) -> String {
    seat.session.store.history(Of::Everything, None, 1).unwrap()[0].text.clone()
}

#[test]
fn the_choice_changes_every_screen_and_nothing_in_the_book() {
    let book = twelve::book();
    let before = book.store.seed_lots().unwrap();
    let mut seat = in_us(book);
    // 108 g = 3.8096 oz, 811 g = 1.78795 lb, 2365 g = 5.21392 lb
    seat.sees("3.81 oz of S0001").sees("radish seed 1.78 lb");
    seat.press("e").sees("1.78 lb").sees("5.21 lb").sees("1.79 lb of 2.2 lb left").press("Esc");
    // 400 mL = 13.5256 fl oz, 19.5 °C = 67.1 °F
    seat.press("Down i").sees("watered (13.53 fl oz, pH 6.10,").sees("67.1 °F)").press("Esc");
    assert_eq!(seat.session.store.seed_lots().unwrap(), before);
}

#[test]
fn a_delivery_in_any_unit_is_kept_to_the_milligram() {
    // typed, milligrams kept: 1 oz = 28349.523125 mg, 1 lb = 453592.37 mg
    for (units, typed, mg) in [
        (Units::Us, "2", 56_699),
        (Units::Us, "2,5", 70_874),
        (Units::Us, "2 lb", 907_185),
        (Units::Us, "30 g", 30_000),
        (Units::Us, "1.5kg", 1_500_000),
        (Units::Metric, "2 oz", 56_699),
        (Units::Metric, "2,5", 2_500),
        (Units::Metric, "0.001", 1),
    ] {
        let mut seat = if units == Units::Us { in_us(Book::room()) } else { Seat::at(Book::room()) };
        seat.press("e a rad Tab").type_in("Fen").press("Tab none Tab").type_in(typed);
        go(&mut seat, "treated");
        seat.press("no C-s").sees("is lot S0001-R");
        assert_eq!(seat.session.store.seed_lots().unwrap()[0].received_mg, mg, "{typed}");
    }
}

#[test]
fn the_form_says_what_it_made_of_an_amount() {
    let mut seat = in_us(Book::room());
    seat.press("e a");
    go(&mut seat, "grams");
    seat.sees("or with g, kg, lb").press("2").sees("2 oz").sees("That is 56.699 g.");
    seat.type_in(" lb").sees("2 lb").sees("That is 907.185 g.");
    for (typed, sentence) in [
        ("2 mL", "write a number, bare or with one of: g, kg, oz, lb."),
        ("1 000", "write a number, bare or with one of: g, kg, oz, lb."),
        ("-1 oz", "it must be from 0.00004 to 35273.96194 oz; -1 is outside."),
        ("2000 kg", "it must be from 0.000001 to 1000 kg; 2000 is outside."),
        ("1.1234567 lb", "write at most 6 digits after the comma or point."),
    ] {
        put(&mut seat, "grams", typed);
        seat.press("C-s");
        go(&mut seat, "grams");
        let (_, said) = focus(&seat);
        assert_eq!(said, sentence, "{typed}");
    }
}

#[test]
fn what_is_only_looked_at_is_not_rounded_into_the_book() {
    let mut seat = in_us(Book::room());
    let before = seat.session.store.crops().unwrap();
    for n in 0..before.len() {
        let letter = ["d", "f", "g"][n];
        seat.press("x f").press(letter).press("C-s").sees("Not saved: Nothing was changed.").press("Esc");
    }
    assert_eq!(seat.session.store.crops().unwrap(), before);
}

#[test]
fn seed_is_worked_out_and_sown_in_ounces() {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    let mut seat = in_us(book);
    seat.press("s rad Enter 2 Enter 01R");
    // 3000 seeds of 10 g a thousand on 200 in²; 30 g = 1.0582 oz, x 90/92 = 1.0352 oz, weighed 1.04 oz
    seat.sees("15.00 seeds/in² × 200.00 in² = 3000 seeds").sees("3000 seeds × 0.353 oz / 1000 = 1.058 oz");
    seat.sees("1.058 oz × 0.9783 = 1.035 oz").sees("trays 1 to 2: 2.08 oz of S0001-R").press("C-s");
    // 1.04 oz = 29.48350405 g
    assert_eq!(seat.session.store.seed_lots().unwrap()[0].left_mg, 1_000_000 - 2 * 29_484);
    assert_eq!(newest(&seat), "2 trays of radish sown as batch B0001-G with 2.08 oz of seed lot S0001-R");
}

#[test]
fn water_on_the_walk_in_fluid_ounces_and_fahrenheit() {
    let mut seat = in_us(twelve::book());
    seat.press("w a p").sees("fl oz").type_in("13.5").press("Tab").type_in("6,1").press("Tab").type_in("68");
    seat.sees("That is 20 °C.").press("C-s").sees("13.49 fl oz, pH 6.10, 68.0 °F").press("f");
    assert!(newest(&seat).contains("13.49 fl oz, pH 6.10, 68.0 °F"), "{}", newest(&seat));
    // the same entry for a room that reads the other units: 13.5 fl oz = 399.24 mL
    let (name, code) = ("North Bench".into(), "NB".into());
    super::form::elsewhere(
        &seat,
        &Action::EditRoom { name, code, units: Units::Metric, rev: seat.session.model.board.room_rev },
    );
    let told = seat.session.store.history(Of::Everything, None, 2).unwrap()[1].text.clone();
    assert!(told.contains("399 mL, pH 6.10, 20.0 °C"), "{told}");
}

#[test]
fn a_draft_means_the_same_after_other_units_were_chosen() {
    let mut seat = in_us(Book::room());
    seat.press("e a");
    put(&mut seat, "grams", "2");
    seat.press("Esc Esc x a");
    go(&mut seat, "units");
    seat.press("Left C-s").sees("Saved");
    seat.press("e a");
    go(&mut seat, "grams");
    seat.sees("56.699 g");
}
