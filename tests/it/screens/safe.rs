//! The second copy and power cuts by keys.

use std::fs;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::{Of, Record};

use super::Seat;
use super::form::{entries, focus, put};
use crate::book::Book;
use crate::copies::stick;

fn room() -> Seat {
    Seat::at(Book::room())
}

#[test]
fn the_second_copy_is_chosen_made_and_missed() {
    let (mut seat, stick) = (room(), stick());
    let folder = stick.path().display().to_string();
    seat.silence();
    seat.sees("The racks are empty").press("x").sees("no second copy: choose a folder").press("k");
    seat.sees("The second copy").type_in("/nowhere/at/all").press("C-s");
    assert_eq!(
        focus(&seat),
        ("folder", "/nowhere/at/all is not there: plug the stick in, or choose another folder.".into())
    );
    put(&mut seat, "folder", &folder);
    seat.press("Enter").sees("Once a day the book is copied to");
    let copies = || fs::read_dir(stick.path()).unwrap().count();
    assert_eq!(copies(), 0, "not before the screen is drawn and quiet");

    // not while a list or a story lies over the room
    seat.press("x").silence();
    seat.press("Esc l").silence();
    assert_eq!(copies(), 0);
    seat.press("Esc").silence();
    assert!(stick.path().join("rackwalk-NB-2026-07-01.rackwalk").exists());
    assert_eq!(copies(), 1);
    seat.silence();
    assert!(!seat.text().contains("no second copy"));
    seat.press("x").sees(&folder).press("Esc");
}

#[test]
fn a_stick_that_is_away_is_said_once_and_named_after_three_days() {
    let stick = stick();
    let mut book = Book::room();
    book.act(&Action::SetSecondCopy { folder: Some(stick.path().display().to_string()) });
    let mut seat = Seat::at(book);
    seat.silence();
    drop(stick);
    let mut seat = seat.later(Duration::days(3));
    seat.silence();
    seat.sees("Not done: the second copy of the book.").sees("choose another folder.");
    seat.press("Down").silence();
    assert!(!seat.text().contains("second copy"), "said once, and three days are no reason to worry");
    let mut seat = seat.later(Duration::days(1));
    seat.silence();
    seat.press("Down").sees("no second copy since 01 Jul (4 days)").press("x");
    seat.sees("no second copy since 01 Jul").press("k").sees("Last try:").press("Esc");
}

#[test]
fn a_copy_that_never_came_about_is_named_and_tried_again() {
    let stick = stick();
    let folder = stick.path().to_owned();
    let mut book = Book::room();
    book.act(&Action::SetSecondCopy { folder: Some(folder.display().to_string()) });
    drop(stick);
    let mut seat = Seat::at(book);
    seat.silence();
    seat.press("Down").sees("no second copy yet");
    // plugged in again, it is made by itself
    fs::create_dir(&folder).unwrap();
    let mut seat = seat.later(Duration::minutes(10));
    seat.silence();
    let made = fs::read_dir(&folder).unwrap().count();
    fs::remove_dir_all(&folder).unwrap();
    assert_eq!(made, 1);
    assert!(!seat.text().contains("no second copy"));
}

#[test]
fn a_power_cut_is_noted_and_told() {
    let mut seat = room();
    seat.press("x l").sees("A power cut").sees("2026-07-01 06:00");
    put(&mut seat, "from", "2026-07-01 01:10");
    put(&mut seat, "to", "2026-07-01 04:30");
    seat.sees("01 Jul 2026 01:10 to 04:30 (3 h 20 min)");
    put(&mut seat, "zone", "under");
    seat.press("C-s").sees("Power cut noted, under light: 01 Jul 2026 01:10 to 04:30 (3 h 20 min).");
    seat.press("l").sees("AK  power cut, under light: 01 Jul 2026 01:10 to 04:30").press("Esc");
    seat.press("x j").sees("The story of the room").sees("power cut, under light").press("Esc");
    let told = seat.session.store.history(Of::Record(Record::Room, 0), None, 9).unwrap();
    assert_eq!(told[0].kind, "power_cut");
    assert_eq!(told[0].words(seat.book().now), "power cut, under light: 01 Jul 2026 01:10 to 04:30 (3 h 20 min)");
    seat.press("u").sees("Taken back: power cut, under light: 01 Jul 2026 01:10");
    assert!(seat.session.store.history(Of::Record(Record::Room, 0), None, 9).unwrap()[1].undone_by.is_some());
}

#[test]
fn times_that_cannot_be_are_refused_beside_their_field() {
    let mut seat = room();
    let before = entries(&seat);
    seat.press("x l");
    for (from, to, field, why) in [
        ("yesterday", "", "from", "Write day and time such as"),
        ("2026-07-01 07:00", "", "from", "That is still to come"),
        ("2026-07-01 05:00", "2026-07-01 04:00", "to", "It ends before it begins"),
        ("2026-07-01 05:00", "2026-07-01 07:00", "to", "Its end is still to come"),
        ("2026-07-01 05:00", "4 o'clock", "to", "Write day and time such as"),
    ] {
        put(&mut seat, "from", from);
        put(&mut seat, "to", to);
        seat.press("C-s");
        let (at, said) = focus(&seat);
        assert_eq!(at, field, "{from} to {to}: {said}");
        assert!(said.starts_with(why), "{said}");
    }
    assert_eq!(entries(&seat), before);
}

#[test]
fn more_than_fourteen_days_are_asked_about() {
    let mut seat = room();
    let before = entries(&seat);
    seat.press("x l");
    put(&mut seat, "from", "2026-06-01 05:00");
    seat.sees("sure of the days").press("C-s");
    assert_eq!(entries(&seat), before);
    put(&mut seat, "sure", "y");
    // an answer holds for the times it was given for
    put(&mut seat, "from", "2026-05-01 05:00");
    seat.press("C-s");
    assert_eq!(entries(&seat), before);
    put(&mut seat, "sure", "y");
    seat.press("C-s").sees("Power cut noted, the whole room: 01 May 2026 05:00, still out when noted.");
    assert_eq!(entries(&seat), before + 1);
}
