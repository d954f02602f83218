//! Places to clean by keys.

use super::form::go;
use super::{Seat, morning};
use crate::book::Book;

#[test]
fn a_place_where_mould_stood_is_to_clean_until_someone_says_with_what_it_was_cleaned() {
    let mut seat = morning();
    seat.press("t j").sees("not bagged").press("Enter").sees("stood, place still to clean.");
    seat.sees("1 place to clean (r)").sees("× to clean 1");
    seat.sees("To clean since Sat 04 Jul, T0001-W stood here; r z says that it was cleaned.");
    seat.press("r").sees("1 to clean").press("z").sees("under light, since Sat 04 Jul, T0001-W stood here");
    seat.press("a").sees("Cleaned: A 1-1").sees("Never mix bleach with acid, peroxide or ammonia");
    seat.press("Enter").sees("fill this in");
    seat.type_in("bleach by its label").press("C-s").sees("A 1-1 cleaned with bleach by its label.");
    assert!(!seat.text().contains("to clean"), "{}", seat.text());
    seat.press("u").sees("1 place to clean (r)");
}

#[test]
fn the_first_line_of_throwing_out_claims_nothing_about_the_place() {
    let mut seat = morning();
    seat.press("t j Enter");
    assert_eq!(seat.session.store.board().unwrap().to_clean.len(), 1);
}

#[test]
fn several_places_are_cleaned_in_one_entry() {
    let mut seat = morning();
    seat.press("t j Enter Right t j Enter").sees("2 places to clean (r)").press("r z z").sees("Cleaned: A 1-1, A 1-2");
    seat.type_in("soap and hot water").press("C-s").sees("A 1-1, A 1-2 cleaned with soap and hot water.");
    seat.press("r z").sees("none is left to clean");
}

#[test]
fn nothing_is_sown_or_moved_to_such_a_place_by_itself() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.radish_at(lot, &["A 3-1", "B 1-1"]);
    book.later(chrono::Duration::days(1));
    let mut seat = Seat::at(book);
    seat.press("t j Enter").press("s rad Tab").sees("Stands at A 3-2 (covered).");
    // chosen all the same, it is said
    go(&mut seat, "place");
    seat.type_in("A 3-1").press("Enter").sees("A 3-1 is to be cleaned first: something bad stood there (r z).");
    seat.press("Esc n m");
    let text = seat.text();
    let (clean, dirty) = (text.find("to B 1-2").unwrap(), text.find("to A 3-1"));
    assert!(dirty.is_none_or(|dirty| dirty > clean), "{text}");
}
