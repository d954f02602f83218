//! Settings by keys.

use rackwalk::app::form::State;
use rackwalk::app::key::Key;
use rackwalk::domain::history::Of;
use rackwalk::domain::person::Person;
use rackwalk::domain::room::{Units, Zone};

use super::Seat;
use super::form::{afresh, entries, focus, go, put};
use crate::book::Book;

fn room() -> Seat {
    Seat::at(Book::room())
}

fn person(seat: &Seat, initials: &str) -> Person {
    seat.session.store.board().unwrap().people.into_iter().find(|p| p.initials == initials).unwrap()
}

#[test]
fn name_code_and_units_of_the_room() {
    let mut seat = room();
    seat.press("x a").type_in("South Bench").press("Enter sb Enter").sees("the book keeps grams").press("Right Enter");
    seat.sees("South Bench (SB)");
    let board = seat.session.store.board().unwrap();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("South Bench", "SB"));
    assert_eq!(board.units, Some(Units::Us));
    let before = entries(&seat);
    seat.press("x a C-s").sees("Not saved: Nothing was changed.");
    put(&mut seat, "code", "S1");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("code", "The room's code is two letters from A to Z, such as NB.".into()));
    put(&mut seat, "name", " ");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("name", "fill this in, it is needed.".into()));
    assert_eq!(entries(&seat), before);
}

#[test]
fn a_second_person_takes_over_with_one_key() {
    let mut seat = room();
    seat.press("a").sees("Only one person is on the list");
    seat.press("x s a rm Enter").type_in("Robin Marsh").press("Enter n Enter").sees("RM is on the list.");
    assert!(!person(&seat, "RM").may_decide);
    seat.sees("at the rack: AK").press("a").sees("At the rack: RM (Robin Marsh).").sees("at the rack: RM");
    // the next entry carries the other initials
    seat.press("x g a").type_in("small").press("Enter 254 Enter 254 Enter").sees("Tray format small is there.");
    let newest = &seat.session.store.history(Of::Everything, None, 1).unwrap()[0];
    assert_eq!(newest.who, "RM");
    seat.press("a").sees("at the rack: AK");
}

#[test]
fn a_person_without_a_full_name_is_called_by_the_initials() {
    let mut seat = room();
    seat.press("x s a rm C-s");
    assert_eq!(person(&seat, "RM").name, "RM");
}

#[test]
fn bad_initials_are_refused() {
    let mut seat = room();
    for (initials, sentence) in [
        ("", "fill this in, it is needed."),
        ("R", "Initials are two to four letters, such as AK."),
        ("R1", "Initials are two to four letters, such as AK."),
    ] {
        seat.press("x s a").type_in(initials).press("C-s");
        assert_eq!(focus(&seat), ("initials", sentence.to_string()), "{initials}");
        seat.press("Esc");
    }
    assert_eq!(seat.session.store.board().unwrap().people.len(), 1);
    afresh(&mut seat, "x s a");
    seat.press("ak C-s");
    assert!(seat.session.model.form().is_some(), "taken initials leave the form open");
    assert_eq!(seat.session.store.board().unwrap().people.len(), 1);
}

#[test]
fn editing_people_and_the_last_who_may_decide() {
    let mut seat = room();
    seat.press("x s s").sees("AK: AK");
    put(&mut seat, "name", "Ada Kerr");
    go(&mut seat, "may_decide");
    seat.press("n C-s").sees("Not saved: Someone must be left who may decide: name another person first.");
    assert_eq!(person(&seat, "AK").name, "AK", "nothing of it is saved");
    seat.press("y C-s").sees("Saved.");
    assert_eq!((person(&seat, "AK").name.as_str(), person(&seat, "AK").may_decide), ("Ada Kerr", true));
    seat.press("x s a rm Tab Tab y C-s").sees("RM is on the list.");
    assert!(person(&seat, "RM").may_decide);
    // AK leaves; the next entry wants to know who is at the rack
    seat.press("x s s");
    go(&mut seat, "here");
    seat.press("n C-s").sees("Saved.");
    assert!(person(&seat, "AK").retired);
    seat.press("x g a").type_in("small").press("Enter 254 Enter 254 Enter");
    seat.sees("This person has left the room: choose who is at the rack");
    seat.press("Esc a").sees("at the rack: RM").press("x g a C-s").sees("Tray format small is there.");
    seat.press("x s").sees("left");
}

#[test]
fn a_rack_and_what_its_shelves_are_for() {
    let mut seat = room();
    seat.press("x d a C Enter 2x3 Enter Enter").sees("Rack C stands.");
    let places = |seat: &Seat| {
        let board = seat.session.store.board().unwrap();
        let rack = board.racks.into_iter().find(|rack| rack.name == "C");
        rack.map_or(vec![], |rack| rack.places.iter().map(|p| (p.shelf, p.zone)).collect::<Vec<_>>())
    };
    assert_eq!(places(&seat), [(1, Zone::Lit); 3].into_iter().chain([(2, Zone::Lit); 3]).collect::<Vec<_>>());
    seat.press("x d").sees("rack C").press("g").sees("Rack C").type_in("shelf 2");
    seat.press("Enter cov C-s").sees("3 places: covered.");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3].into_iter().chain([(2, Zone::Covered); 3]).collect::<Vec<_>>());
    // out of use, and back with the zone it had
    seat.press("x d g").type_in("shelf 2").press("Enter out C-s").sees("3 places: out of use.");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3]);
    seat.press("x d g").type_in("shelf 2").sees("out of use, 3 places").press("Enter cov C-s");
    assert_eq!(places(&seat).len(), 6);
    for shelf in ["shelf 1", "shelf 2"] {
        seat.press("x d g").type_in(shelf).press("Enter out C-s");
    }
    assert!(places(&seat).is_empty());
    seat.press("x d").sees("rack C").sees("out of use").press("g").type_in("shelf 1").press("Enter under C-s");
    assert_eq!(places(&seat), [(1, Zone::Lit); 3]);
}

#[test]
fn a_shelf_with_a_tray_stays_in_use() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 100);
    book.sow("RAD", lot, 1);
    let mut seat = Seat::at(book);
    let tray = seat.session.store.board().unwrap().trays[0].clone();
    let shelf = format!("shelf {}", tray.place.shelf);
    seat.press("x d s").type_in(&shelf).press("Enter out C-s");
    seat.sees("Not saved: A tray stands there: move it first, then take the place out of use.");
    assert_eq!(seat.session.store.board().unwrap().idle, []);
}

#[test]
fn bad_racks_are_refused() {
    let mut seat = room();
    for (shape, sentence) in [
        ("axb", "Write racks x shelves x places"),
        ("0x4", "A rack has 1 to 40 shelves of 1 to 40 places."),
        ("41x2", "A rack has 1 to 40 shelves of 1 to 40 places."),
        ("2x5x4", "One rack at a time: shelves x places, such as 5x4."),
    ] {
        seat.press("x d a C Tab").type_in(shape).press("C-s");
        let (field, said) = focus(&seat);
        assert!(field == "shape" && said.starts_with(sentence), "{shape}: {said}");
        seat.key(Key::Ctrl('n'));
        seat.press("Esc");
    }
    seat.press("x d a A C-s");
    assert!(seat.session.model.form().is_some(), "a name that is taken leaves the form open");
    assert_eq!(seat.session.store.board().unwrap().racks.len(), 3);
}

#[test]
fn tray_formats_and_their_limits() {
    let mut seat = room();
    seat.press("x g a").type_in("half").press("Enter 250 Enter 29 C-s");
    assert_eq!(focus(&seat), ("width", "it must be from 30 to 3000 mm; 29 is outside.".into()));
    put(&mut seat, "width", "254,5");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("width", "write a whole number, without comma or point.".into()));
    put(&mut seat, "width", "254");
    seat.press("C-s").sees("Tray format half is there.");
    let formats = seat.session.store.board().unwrap().formats;
    assert_eq!((formats[1].name.as_str(), formats[1].length_mm, formats[1].width_mm), ("half", 250, 254));
    // the sowing form scales the seed to it: 29.35 g x 635 / 1290.32 = 14.44 g
    let mut book = Book::room();
    book.seed("RAD", 100);
    let mut seat = Seat::at(book);
    seat.press("x g a").type_in("half").press("Enter 250 Enter 254 Enter s rad Tab");
    go(&mut seat, "format");
    seat.press("half").sees("2.33 seeds/cm² × 635.00 cm² = 1476 seeds").sees("tray 1: 14.4 g of S0001-R");
}

#[test]
fn nothing_typed_is_lost_by_a_form_that_saves_nothing() {
    let mut seat = room();
    seat.press("x f g C-s").sees("Not saved: Nothing was changed.");
    assert_eq!(seat.session.model.form().unwrap().state, State::Refused("Nothing was changed.".into()));
}
