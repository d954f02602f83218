//! Every record tells its story by keys.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::room::Zone;
use rackwalk::domain::standing::NewStanding;
use rackwalk::domain::tray::Stage;

use super::Seat;
use crate::book::{AK, Book};

fn room() -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 2);
    book.later(Duration::days(1));
    Seat::at(book)
}

#[test]
fn tray_batch_place_and_person_from_the_room() {
    let mut seat = room();
    seat.press("w a s Esc Left Enter").sees("tray T0001-W").sees("batch B0001-G").sees("place A 1-1").sees("all by AK");
    seat.press("a").sees("Tray T0001-W: radish").sees("T0001-W: roots peeking, watered").press("Esc");
    seat.press("Enter s").sees("Batch B0001-G: radish").sees("2 trays of radish sown").press("Esc");
    seat.press("Enter d").sees("Place A 1-1").sees("2 trays of radish sown").press("Esc");
    seat.press("Enter f").sees("All by AK").sees("the room was set up");
    // an empty place has a story of its own
    seat.press("Esc Down Enter").sees("place A 2-1").press("a").sees("Place A 2-1").sees("the room was set up");
}

#[test]
fn records_of_the_settings() {
    let mut seat = room();
    for keys in ["x s d a", "x d j a", "x f j a", "x g d a"] {
        seat.press(keys).sees("The story of").sees("the room was set up").press("Esc");
    }
    seat.press("x j").sees("The story of the room").sees("the room was set up");
}

#[test]
fn a_rack_gets_another_name_and_keeps_its_trays() {
    let mut seat = room();
    seat.press("x d g").sees("Which rack?").press("a").type_in("N").press("C-s");
    seat.sees("The rack is called N.").sees("Rack N  (1 of 3)").sees("N 1-1");
    seat.press("x d j").sees("Whose story?").press("a").sees("rack changed from name A to name N");
}

#[test]
fn one_place_of_a_shelf_is_set_apart() {
    let mut seat = room();
    seat.press("x d s")
        .type_in("shelf 3")
        .press("Enter isol Tab")
        .type_in("2-3")
        .press("C-s")
        .sees("2 places: isolation.");
    let board = seat.session.store.board().unwrap();
    let zones: Vec<&str> = board.racks[0].on_shelf(3).map(|place| place.zone.stored()).collect();
    assert_eq!(zones, ["covered", "isolation", "isolation", "covered"]);
    for (typed, sentence) in
        [("9", "The shelf has no such place: name others"), ("x", "Write all, or numbers of places")]
    {
        seat.press("x d s").type_in("shelf 3").press("Enter lit Tab").type_in(typed).press("C-s").sees(sentence);
        seat.press("Esc");
    }
}

#[test]
fn a_format_goes_out_of_use_but_not_the_last_one() {
    let mut seat = room();
    seat.press("x g s Tab n C-s").sees("One tray format must stay in use: add another first.").press("Esc");
    seat.press("x g a").type_in("half").press("Enter 250 Enter 254 C-s").sees("Tray format half is there.");
    seat.press("x g s").sees("10 x 20 in").press("C-n Tab n C-s").sees("saved");
    assert_eq!(seat.session.store.board().unwrap().formats.len(), 1);
}

#[test]
fn a_lot_tells_of_the_trays_that_stood_before_the_book() {
    let mut book = Book::room();
    let lot = book.seed("PEA", 500);
    let board = book.board();
    let new = NewStanding {
        crop: board.crops.iter().find(|crop| crop.letters == "PEA").unwrap().id,
        sown: book.now.day(),
        format: board.formats[0].id,
        lot: Some(lot),
        stage: Stage::Lit,
        places: board.places().take(2).map(|place| place.id).collect(),
    };
    book.act(&Action::Standing(Box::new(new)));
    Seat::at(book).press("e i").sees("Seed lot S0001-R: pea").sees("2 trays of pea stood here before this book");
}

#[test]
fn a_long_edit_says_how_much_of_it_is_not_told() {
    let mut book = Book::room();
    let places = book.board().racks[0].places.iter().take(5).map(|place| place.id).collect();
    book.act(&Action::EditPlaces { places, zone: Zone::Isolation, retired: false, rev: 0, stack: None });
    Seat::at(book).press("l").sees("place changed from zone").sees("and 2 more");
}

#[test]
fn the_label_of_a_tray_that_has_left_tells_its_story() {
    let mut seat = room();
    let cut = Action::Already { action: Box::new(Action::Cut { trays: vec![TrayId(1)] }), reason: "late".into() };
    let now = seat.book().now;
    seat.session.store.act(&cut, AK, now).unwrap();
    let mut seat = seat.again();
    seat.type_in("T0001-W").press("Enter").sees("Tray T0001-W: not in the room").sees("T0001-W: cut; a breach");
    // from story to story, and one that was never here says so
    seat.type_in(&Code::tray(9).to_string()).press("Enter").sees("No entries yet.");
    seat.press("Esc").sees("T0002-U");
    // on the walk nothing is left for it
    seat.press("w a").type_in("T0001-W").press("Enter").sees("Tray T0001-W does not stand in the room: read another");
}
