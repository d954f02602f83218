//! The suspects by keys: the list, the decisions, and what walk and room say of them.

use chrono::Duration;
use rackwalk::app::model::Screen;
use rackwalk::domain::action::Action;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, TrayId};
use rackwalk::domain::look::{Fault, Faults, Look, Mist};
use rackwalk::domain::room::Zone;
use rackwalk::domain::tray::{Stage, TrayCard};

use super::walk::newest;
use super::{Seat, morning, twelve};
use crate::book::Book;

fn card(seat: &Seat, id: i64) -> TrayCard {
    seat.session.store.board().unwrap().tray(TrayId(id)).unwrap().clone()
}

fn look(book: &mut Book, tray: i64, change: impl FnOnce(&mut Look)) {
    let mut look = Look::of(TrayId(tray));
    change(&mut look);
    book.act(&Action::Look(Box::new(look)));
}

/// Five radish trays under light on A 1 and A 2, three days old.
fn lit() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    for tray in book.radish_at(lot, &["A 1-1", "A 1-2", "A 1-3", "A 1-4", "A 2-1"]) {
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    }
    book.later(Duration::days(3));
    book
}

#[test]
fn from_fuzz_to_an_isolated_suspect_in_at_most_six_keys() {
    let mut seat = morning();
    seat.press("w a");
    seat.keys = 0;
    seat.press("j s").sees("write it, then isolate it: to ISO 1-1").press("n");
    assert!(seat.keys <= 6, "{} keys", seat.keys);
    let now = card(&seat, 1);
    assert_eq!((now.place.label().as_str(), now.suspect, now.stood), ("ISO 1-1", true, true));
    seat.sees("T0001-W isolated: to ISO 1-1. It stays suspect: change gloves, clean its place.");
    // the walk goes on with the next, and each entry is taken back by itself
    assert_eq!(seat.session.model.walk().unwrap().at, Some(TrayId(2)));
    seat.press("u");
    assert_eq!((card(&seat, 1).place.label().as_str(), card(&seat, 1).suspect), ("A 1-1", true));
    seat.press("u");
    assert!(!card(&seat, 1).suspect);
}

#[test]
fn a_tray_is_isolated_with_its_look_or_not_at_all() {
    let mut book = lit();
    let cd = PersonId(
        book.act(&Action::AddPerson { initials: "CD".into(), name: "cd".into(), may_decide: true }).made.unwrap(),
    );
    look(&mut book, 5, |look| look.fuzz = Some(Mist::Untested));
    let now = book.now;
    let mut seat = Seat::at(book);
    seat.press("w a");
    let walk = seat.session.model.walk_id();
    let faults = Faults::default().toggled(Fault::Dry);
    let odd = Action::Look(Box::new(Look { walk, faults, ..Look::of(TrayId(1)) }));
    for action in [odd, Action::Look(Box::new(Look { fuzz: Some(Mist::Untested), ..Look::of(TrayId(1)) }))] {
        seat.session.store.act(&action, cd, now).unwrap();
    }
    seat.press("j s n").sees("CD found something odd on T0001-W");
    let card = card(&seat, 1);
    assert_eq!((card.place.label().as_str(), card.stood), ("A 1-1", false));
    // what was refused leaves nothing behind for the next look
    seat.press("u j d Enter");
    seat.press("Esc");
    assert_eq!(self::card(&seat, 1).place.label(), "A 1-1");
}

#[test]
fn only_what_is_suspect_is_offered_a_place_apart() {
    let mut seat = morning();
    seat.press("w a j a o").sees("HAIRS");
    assert!(!seat.text().contains("isolate"));
    // every place apart is taken
    let mut book = lit();
    let apart: Vec<_> = book.board().places().filter(|place| place.zone == Zone::Isolation).map(|p| p.id).collect();
    for (tray, place) in (1..).zip(&apart) {
        book.act(&Action::Move { walk: None, tray: TrayId(tray), to: Some(*place), stage: None });
    }
    let mut seat = Seat::at(book);
    seat.type_in("T0005-O").press("Enter o j s").sees("not now: no place apart").press("n");
    seat.sees("Not done: no place apart is free: make one in settings").press("Esc Esc u Esc");
    assert!(!apart.is_empty() && apart.len() < 5, "{apart:?}");
    assert!(!card(&seat, 5).suspect);
}

#[test]
fn the_list_tells_what_is_known_the_most_urgent_first() {
    let mut book = lit();
    look(&mut book, 5, |look| look.fuzz = Some(Mist::Untested));
    book.later(Duration::hours(1));
    look(&mut book, 1, |look| look.fuzz = Some(Mist::Stands));
    let mut seat = Seat::at(book);
    seat.press("").sees("2 suspect (p)").press("p").sees("Suspect trays: 2").sees("Do not sniff or fan");
    seat.sees("> T0001-W").sees("suspect since Sat 04 Jul 07:00: fuzz stood when misted");
    seat.sees("next look by Sun 05 Jul 07:00").sees("stands at A 1-1, under light").sees("seed lot S0001-R");
    seat.sees("decided: nothing yet").sees("T0002-U (touching, same sowing)");
    seat.press("Down").sees("next look by 10:00").press("Esc").sees("2 suspect (p)");
    // past its four hours the untested one comes first, and heads the line of facts
    let mut seat = seat.later(Duration::hours(4));
    let text = seat.text();
    let facts = text.lines().nth(1).unwrap();
    assert!(facts.starts_with("1 re-look overdue: T0005-"), "{facts}");
    seat.press("p").sees("> T0005-").sees("OVERDUE: next look was due by 10:00");
}

#[test]
fn a_suspect_is_watched_and_cleared_by_name_with_the_reason() {
    let mut book = lit();
    look(&mut book, 1, |look| look.fuzz = Some(Mist::Stands));
    let mut seat = Seat::at(book);
    seat.press("p Enter c").sees("Not done: No newer check says hairs. Check it again").press("Esc");
    // look at it now, from the list
    seat.press("o j a o Enter").sees("hairs").sees("Suspect trays: 1");
    assert!(card(&seat, 1).suspect);
    seat.press("Enter w").sees("Watch T0001-W").sees("Suspect since Sat 04 Jul 06:00");
    seat.press("Enter").type_in("the sun will dry it").press("Enter");
    seat.sees("T0001-W stays suspect; AK watches it").sees("decided: watched by AK");
    seat.press("Enter c").sees("Clear T0001-W").sees("Newest check, Sat 04 Jul by AK: hairs").press("C-s");
    assert!(card(&seat, 1).suspect, "not without a reason");
    seat.press("Tab").type_in("fibres only at the roots").press("C-s");
    seat.sees("AK cleared it on the check of entry").sees("No tray is suspect.");
    assert!(!card(&seat, 1).suspect);
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 1).unwrap();
    assert_eq!(story[0].note.as_deref(), Some("fibres only at the roots"));
    seat.press("u");
    assert!(card(&seat, 1).suspect);
    seat.press("Esc p Enter i").sees("Tray T0001-W").sees("decided to watch it");
}

#[test]
fn a_named_tray_is_isolated_and_thrown_out_with_bag_and_place_in_the_record() {
    let mut book = lit();
    look(&mut book, 2, |look| look.signs = Signs::of(&[Sign::Stands, Sign::Web, Sign::Patches]));
    let mut seat = Seat::at(book);
    seat.press("p Enter c")
        .sees("never cleared")
        .press("Enter")
        .sees("never cleared")
        .press("n")
        .sees("T0002-U isolated: to ISO 1-2");
    assert_eq!(card(&seat, 2).place.label(), "ISO 1-2");
    seat.press("Enter n")
        .sees("it stands apart at ISO 1-2 already")
        .press("t j")
        .sees("bag it where it stands")
        .press("d");
    seat.sees("No tray is suspect.");
    assert_eq!(
        newest(&seat).text,
        "T0002-U thrown out: mould; tray and cover binned; bagged where it stood, place still to clean"
    );
    // its neighbours are looked at one by one
    seat.press("Esc").press("w a").sees("look closely until Tue 07 Jul: mould on T0002-U, touching");
    seat.press("r").sees("something bad was found near it");
}

#[test]
fn gloves_are_spoken_of_once_before_the_first_suspect_of_a_walk() {
    const SAID: &str = "Suspect trays from here on: gloves and mask on now";
    let mut book = lit();
    for tray in [1, 2] {
        look(&mut book, tray, |look| look.fuzz = Some(Mist::Stands));
    }
    book.later(Duration::days(1));
    let mut seat = Seat::at(book);
    seat.press("w a");
    for _ in 0..3 {
        assert!(!seat.text().contains(SAID));
        seat.press("f");
    }
    assert_eq!(seat.session.model.walk().unwrap().at, Some(TrayId(1)));
    seat.sees(SAID).press("f");
    assert_eq!(seat.session.model.walk().unwrap().at, Some(TrayId(2)));
    assert!(!seat.text().contains(SAID), "once is enough");
    // back on a clean tray the hands want fresh gloves, once
    seat.press("Left").sees("Fresh gloves before you touch this tray").press("Left");
    assert!(!seat.text().contains("Fresh gloves before"));
    // a look at one tray is no walk
    seat.press("Esc p o");
    assert!(!seat.text().contains(SAID) && matches!(seat.session.model.top(), Some(Screen::Walk(_))));
}

#[test]
fn no_suspect_no_list_and_a_missing_one_is_to_be_found_first() {
    let mut seat = morning();
    seat.press("p").sees("No tray is suspect.");
    let mut book = twelve::book();
    book.act(&Action::Sight { walk: None, trays: vec![(TrayId(7), None)] });
    let mut seat = Seat::at(book);
    seat.press("p").sees("MISSING").press("o").sees("say first where it was found");
    seat.press("Enter l").sees("not now: it is missing");
}
