//! The first day: racks that are full already, and many trays moved at once.

use chrono::Duration;
use rackwalk::app::effect::Msg;
use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::room::Zone;
use rackwalk::domain::standing::NewStanding;
use rackwalk::domain::tray::Stage;

use super::Seat;
use crate::book::{AK, Book, roots};

#[test]
fn two_hundred_standing_trays_at_most_six_keys_a_shelf() {
    // 25 shelves of eight, an isolation shelf beside them
    let mut seat = Seat::at(Book::of_racks("5x5x8"));
    seat.press("x q").sees("Rack A, shelf 1").sees("what stands here?");
    seat.keys = 0;
    for _ in 0..25 {
        // radish, five days old, the shelf full, lot not recorded
        seat.press("f")
            .sees("Sown on which day?")
            .press("j")
            .sees("How many")
            .press("Enter")
            .sees("seed lot")
            .press("Enter");
    }
    assert!(seat.keys <= 25 * 6, "{}", seat.keys);
    seat.sees("Rack ISO, shelf 1").press("a").sees("Every shelf is entered");
    let board = seat.session.store.board().unwrap();
    assert_eq!(board.trays.len(), 200);
    assert!(board.trays.iter().all(|tray| tray.day(seat.book().now.day()) == 5));
    let covered = board.trays.iter().filter(|t| t.stage == Stage::Covered).count();
    assert_eq!(covered, board.trays.iter().filter(|t| t.place.zone == Zone::Covered).count());
    seat.sees("before this book").sees("200 due");
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 9).unwrap();
    assert_eq!(
        story[0].text,
        "8 trays of radish stood here before this book, batch B0001-G, sown 2026-06-26; seed lot not recorded"
    );
    // the walk takes them like any other
    seat.press("w a").sees("200 to do");
    assert_eq!(seat.session.store.rebuild().unwrap(), 0);
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn part_of_a_shelf_with_its_lot_and_the_rest_another_crop() {
    let mut book = Book::room();
    book.seed("PEA", 500);
    let mut seat = Seat::at(book);
    seat.press("x q").press("d d").sees("How many").press("s").sees("S0001-").press("s");
    seat.sees("3 trays of pea stood here already").sees("Rack A, shelf 1").press("f Enter Enter Enter");
    let board = seat.session.store.board().unwrap();
    assert_eq!(board.trays.iter().filter(|t| t.letters == "PEA").count(), 3);
    assert_eq!(board.trays.iter().filter(|t| t.letters == "RAD").count(), 1);
    // nothing is taken from the jar: what it holds was counted when it was received
    assert_eq!(seat.session.store.seed_lots().unwrap()[0].left_mg, 500_000);
    seat.sees("Rack A, shelf 2").press("Esc").sees("S0001-R, before this book");
}

#[test]
fn a_place_taken_meanwhile_is_not_left_out_in_silence() {
    let mut seat = Seat::at(Book::room());
    seat.press("x q d d").sees("How many").press("Enter").sees("seed lot");
    let board = seat.session.store.board().unwrap();
    let new = NewStanding {
        crop: board.crops[0].id,
        sown: seat.book().now.day(),
        format: board.formats[0].id,
        lot: None,
        stage: Stage::Lit,
        places: vec![board.places().next().unwrap().id],
    };
    let now = seat.book().now;
    seat.session.store.act(&Action::Standing(Box::new(new)), AK, now).unwrap();
    seat.session.handle(Msg::OthersWrote);
    seat.press("Enter").sees("say again how many");
    assert_eq!(seat.session.store.board().unwrap().trays.len(), 1);
}

#[test]
fn after_setting_up_the_program_asks_what_stands() {
    let mut seat = Seat::at(Book::empty());
    seat.press("Enter Enter").type_in("AK").press("Enter Enter Enter Enter Enter");
    seat.sees("What is standing now?").press("s").sees("Rack A, shelf 1").press("Esc").sees("The racks are empty");
}

/// 24 radish trays under cover on rack B, rack A free and lit.
fn covered_batch() -> Seat {
    let mut book = Book::of_racks("2x6x4");
    let lot = book.seed("RAD", 2000);
    let mut new = book.sowing("RAD", lot, 24);
    let rack = book.board().racks[1].clone();
    book.act(&Action::EditPlaces {
        places: rack.places.iter().map(|p| p.id).collect(),
        zone: Zone::Covered,
        retired: false,
        rev: 0,
        stack: None,
    });
    let first = book.board().racks[0].clone();
    book.act(&Action::EditPlaces {
        places: first.places.iter().map(|p| p.id).collect(),
        zone: Zone::Lit,
        retired: false,
        rev: 0,
        stack: None,
    });
    new.places = rack.places.iter().map(|p| p.id).collect();
    book.act(&Action::Sow(Box::new(new)));
    book.later(Duration::days(4));
    Seat::at(book)
}

#[test]
fn uncovering_24_trays_takes_at_most_ten_keys() {
    let mut seat = covered_batch();
    seat.keys = 0;
    seat.press("m a").sees("the whole batch: 24 trays").sees("24 to A 1-").press("s");
    assert!(seat.keys <= 10);
    seat.sees("24 trays: under light.");
    let board = seat.session.store.board().unwrap();
    assert!(board.trays.iter().all(|t| t.stage == Stage::Lit && t.place.zone == Zone::Lit));
    seat.press("u");
    let board = seat.session.store.board().unwrap();
    assert!(board.trays.iter().all(|t| t.stage == Stage::Covered && t.place.zone == Zone::Covered));
    assert_eq!(seat.session.store.rebuild().unwrap(), 0);
}

#[test]
fn a_suspect_or_isolated_tray_stays_behind_when_its_batch_goes_to_the_light() {
    let mut seat = covered_batch();
    let board = seat.session.store.board().unwrap();
    let (hand, suspect, apart) = (board.trays[0].id, board.trays[1].id, board.trays[2].id);
    let iso = board.places().find(|p| p.zone == Zone::Isolation).unwrap().id;
    let look = Look { fuzz: Some(Mist::Stands), ..Look::of(suspect) };
    let now = seat.book().now;
    let mut write = |action: Action| seat.session.store.act(&action, AK, now).unwrap();
    write(Action::Look(Box::new(look)));
    write(Action::Move { walk: None, tray: apart, to: Some(iso), stage: None });
    let mut seat = seat.again();
    seat.type_in(&Code::tray(hand.0).to_string()).press("Enter m a").sees("the whole batch: 22 trays").press("s");
    let board = seat.session.store.board().unwrap();
    assert!([suspect, apart].iter().all(|id| board.tray(*id).unwrap().stage == Stage::Covered));
    assert_eq!(board.tray(apart).unwrap().place.id, iso);
}

#[test]
fn two_trays_change_places_in_one_entry() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 200);
    let trays = book.sow("RAD", lot, 2);
    let at: Vec<_> = trays.iter().map(|t| book.board().tray(*t).unwrap().place.id).collect();
    book.act(&Action::MoveMany { moves: vec![(trays[0], Some(at[1])), (trays[1], Some(at[0]))], stage: None });
    let now: Vec<_> = trays.iter().map(|t| book.board().tray(*t).unwrap().place.id).collect();
    assert_eq!(now, [at[1], at[0]]);
}

#[test]
fn some_mats_are_lost_and_the_rest_goes_on() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 200);
    let mut new = book.sowing("RAD", lot, 1);
    new.mats = 4;
    book.act(&Action::Sow(Box::new(new)));
    book.later(Duration::days(2));
    book.act(&roots(TrayId(1), Roots::Peeking));
    let mut seat = Seat::at(book);
    seat.press("t j").sees("1 of its 4 mats").press("d").sees("T0001-W: 2 of 4 mats thrown out, mould.");
    assert_eq!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().mats_left, 2);
    // what mould left over is not for sale, however sound it looks
    seat.sees("NOT FOR SALE").press("m a a").press("Enter c a").sees("it is not cut for sale").press("Esc");
    seat.press("t j").sees("1 of its 2 mats").press("a a").sees("T0001-W thrown out");
    assert!(seat.session.store.board().unwrap().trays.is_empty());
}

#[test]
fn a_tray_that_lost_some_mats_on_the_walk_still_wants_its_look() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 200);
    let mut new = book.sowing("RAD", lot, 1);
    new.mats = 4;
    book.act(&Action::Sow(Box::new(new)));
    book.later(Duration::days(2));
    let mut seat = Seat::at(book);
    // fuzz that stands is chosen, then the worst mat thrown out: the fuzz is not forgotten
    seat.press("w a j s Esc k").sees("throw out: mould").press("j").sees("1 of its 4 mats").press("s");
    seat.sees("1 of 4 mats thrown out").sees("0 done, 1 to do").sees("chosen       fuzz, stands when misted");
    seat.press("Enter").sees("The walk is done");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().suspect);
}
