//! Germination tests, suppliers and a lot's page by keys.

use chrono::Duration;
use rackwalk::app::model::Screen;
use rackwalk::domain::action::Action;

use super::form::{entries, focus, go, value};
use super::{Seat, twelve};
use crate::book::Book;

/// On the seed shelf of a room with a lot of radish that came nine days ago.
fn shelf() -> Seat {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    let mut seat = Seat::at(days_later(book));
    seat.press("e");
    seat
}

/// Nine days later, with an entry of that day, so that nobody doubts the clock.
fn days_later(mut book: Book) -> Book {
    book.later(Duration::days(9));
    book.act(&Action::AddPerson { initials: "RM".into(), name: "rm".into(), may_decide: false });
    book
}

fn normal(seat: &Seat) -> i64 {
    seat.session.store.germ_tests(rackwalk::domain::id::SeedLotId(1)).unwrap()[0].germinated()
}

#[test]
fn a_test_is_laid_out_counted_and_ended_by_keys() {
    let mut seat = shelf();
    seat.press("g").sees("Germination tests of S0001-R: radish").press("z").sees("Seed for a test is not taken");
    seat.press("C-s").sees("S0001-R: 4 x 25 seeds laid out 2026-07-10; nothing counted yet; count again with");
    let mut seat = seat.later(Duration::days(4));
    seat.press("e g").sees("4 x 25 seeds laid out 2026-07-10").press("a");
    go(&mut seat, "counts");
    seat.type_in("20 18 21 19").sees("Normal seedlings so far: 78 of 100, 78 % (69 to 85 %).");
    seat.sees("The replicates agree");
    seat.press("C-s").sees("S0001-R: so far 78 of 100");
    let mut seat = seat.later(Duration::days(3));
    seat.press("e g a");
    go(&mut seat, "counts");
    seat.type_in("3 4 3 2").press("Tab y").sees("abnormal").press("Tab");
    seat.press("4 Tab 1 Tab 5").sees("The packet says 92 %, 2 points more, which so few seeds do not rule out.");
    seat.press("C-s").sees("the test is ended");
    assert_eq!(normal(&seat), 90);
    // the shelf tells it, and the list opens the whole of it
    seat.sees("90 % test").sees("90 of 100, 90 % (83 to 94 %) tested 2026-07-17, packet 92 %");
    seat.press("g a").sees("Germination of S0001-R").sees("100 seeds leave roughly 5 to 9 points");
    seat.press("PageDown").sees("day 4, 2026-07-14: 20, 18, 21, 19").sees("4 abnormal, 1 hard, 5 dead, 0 not told");
    seat.press("Esc i").sees("2026-07-17: 3, 4, 3, 2; ended, 4 abnormal");
}

#[test]
fn a_test_that_is_over_goes_in_with_one_form() {
    let mut seat = shelf();
    let before = entries(&seat);
    seat.press("g z");
    super::form::put(&mut seat, "day", "-7");
    super::form::put(&mut seat, "replicates", "1");
    super::form::put(&mut seat, "seeds", "100");
    go(&mut seat, "counts");
    seat.type_in("7: 40").press("Tab y");
    seat.sees("Normal seedlings: 40 of 100, 40 % (31 to 50 %).").sees("It is below the 75 % wanted of this crop");
    seat.sees("ask the supplier").press("C-s").sees("is ended, g on the shelf shows it");
    assert_eq!(entries(&seat), before + 1);
    // the shelf and the sowing form tell it
    seat.sees("failed its test").sees("Failed its germination test: 40 of 100");
    seat.press("s rad Enter").sees("S0001-R failed its germination test");
}

#[test]
fn a_lot_that_failed_is_not_proposed_before_one_that_did_not() {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    book.seed("RAD", 1000);
    let mut seat = Seat::at(days_later(book));
    seat.press("s rad Enter");
    assert_eq!(value(&seat, "lot"), "1");
    seat.press("C-n Esc e g z");
    super::form::put(&mut seat, "day", "-7");
    super::form::put(&mut seat, "replicates", "1");
    super::form::put(&mut seat, "seeds", "100");
    go(&mut seat, "counts");
    seat.type_in("7: 40").press("Tab y C-s Esc s rad Enter");
    assert_eq!(value(&seat, "lot"), "2");
}

#[test]
fn counts_that_cannot_be_are_said_beside_their_field_and_nothing_is_saved() {
    for (typed, sentence) in [
        ("7: 26 1 1 1", "Replicate 1 had 25 seeds, and 26 seedlings would be counted"),
        ("7: 1 1 1", "Give a number for each of its 4 replicates, 0 for none."),
        ("9: 1 1 1 1", "is still to come"),
        ("0: 1 1 1 1", "Seedlings are counted from the day after it was laid out on"),
        ("1 1 1 1", "Begin \"1 1 1 1\" with the day of the test, such as 7: 23 22 25 21, a number for each"),
        ("7: many", "\"many\" is no number of seedlings"),
    ] {
        let mut seat = shelf();
        let before = entries(&seat);
        seat.press("g z");
        super::form::put(&mut seat, "day", "-8");
        go(&mut seat, "counts");
        seat.type_in(typed).press("C-s");
        let (field, said) = focus(&seat);
        assert!(field == "counts" && said.contains(sentence), "{typed}: {field} {said}");
        assert_eq!(entries(&seat), before, "{typed}");
    }
}

#[test]
fn a_supplier_gets_a_lead_time_and_the_shelf_says_when_to_order() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.later(Duration::days(6));
    book.sow("RAD", lot, 3);
    book.later(Duration::days(7));
    let mut seat = Seat::at(book);
    // derived by hand: 919 g at 81 g a week are 11.3 weeks, 79 d after the 14th of July
    seat.press("e").sees("81 g a week in 1 full week (sown in 1, few):").sees("11.3 weeks, until 2026-10-01.");
    seat.sees("No lead time of Fen Seeds is set: p sets it").press("p").sees("Supplier of seed");
    go(&mut seat, "lead");
    seat.type_in("14").press("C-s").sees("Supplier Fen Seeds: takes 14 days.").sees("Order by 2026-09-17");
    seat.press("p");
    assert_eq!((value(&seat, "lead"), value(&seat, "name")), ("14".into(), "Fen Seeds".into()));
    seat.press("C-s").sees("Nothing was changed.");
}

#[test]
fn a_lots_page_tells_what_it_gave_and_opens_stories_tests_and_the_trace() {
    let mut seat = Seat::at(twelve::book());
    seat.press("e Enter").sees("Seed lot S0001-R: radish").sees("Received 1000 g on 2026-07-01 from Fen Seeds");
    seat.sees("Sown: 189 g in 2 batches, 7 trays.").sees("Cut: nothing weighed of it alone yet");
    seat.sees("Lost: no tray of it has ended yet.");
    seat.press("Enter").sees("What it went into").press("a").sees("Batch").press("Esc");
    assert!(matches!(seat.session.model.top(), Some(Screen::SeedPage(_))));
    seat.press("g")
        .sees("Germination tests of S0001-R")
        .press("Esc i")
        .sees("1000 g of radish seed received")
        .press("Esc");
    seat.press("t").sees("S0001-R");
    assert!(matches!(seat.session.model.top(), Some(Screen::Trace(_))));
    // a page follows what is written while it is open
    seat.press("Esc g z C-s").sees("nothing counted yet");
    seat.press("End").sees("Germination: 4 x 25 seeds laid out 2026-07-08, nothing counted yet.");
    seat.sees("let a sealed jar warm up before opening it");
}

#[test]
fn how_long_seed_keeps_is_a_sum_within_the_limits_of_the_rule() {
    let mut seat = Seat::at(Book::room());
    let before = entries(&seat);
    // 5 °C cooler and 1 point drier: twice by twice
    seat.press("r g 8 Tab 20 Tab 7 Tab 15").sees("It keeps about 4 times as long there.").sees("Harrington");
    seat.sees("Treated or coated field seed is never food").press("C-u -18").sees("outside of 0 to 50 °C");
    seat.press("C-s").sees("Nothing is written here");
    assert_eq!(entries(&seat), before);
}
