//! Places where something bad stood stay marked until someone writes that they were cleaned.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::tray::{Cleanup, Gear, LossReason};

use super::assert_sound;
use crate::book::{AK, Book};

fn room() -> (Book, Vec<TrayId>) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.radish_at(lot, &["A 1-1", "A 1-2", "A 1-3"]);
    book.later(Duration::days(3));
    (book, trays)
}

fn throw(tray: TrayId, cleanup: Option<Cleanup>) -> Action {
    Action::Throw { walk: None, tray, reason: LossReason::Mould, gear: Gear::Binned, cleanup, note: None }
}

fn cleaned(book: &Book, labels: &[&str]) -> Action {
    let places = labels.iter().map(|label| book.place(label)).collect();
    Action::CleanPlaces { places, with: "bleach, 200 ppm, 10 min".into() }
}

fn stood(book: &mut Book, tray: TrayId, mist: Mist) {
    book.act(&Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) })));
}

/// Writes it a minute after what was written last.
fn act(book: &mut Book, action: &Action) -> rackwalk::domain::action::Done {
    book.later(Duration::minutes(1));
    book.act(action)
}

fn dirty(book: &Book) -> Vec<String> {
    book.board().to_clean.iter().map(|dirty| dirty.place.label()).collect()
}

#[test]
fn a_place_that_was_not_said_to_be_cleaned_is_marked_until_it_is() {
    let (mut book, trays) = room();
    act(&mut book, &throw(trays[0], Some(Cleanup::Bagged)));
    act(&mut book, &throw(trays[1], Some(Cleanup::Neither)));
    act(&mut book, &throw(trays[2], Some(Cleanup::Both)));
    assert_eq!(dirty(&book), ["A 1-1", "A 1-2"]);
    assert_eq!(book.board().to_clean[0].words(book.now), "since Sat 04 Jul, T0001-W stood here");
    let clean = cleaned(&book, &["A 1-1"]);
    assert_eq!(act(&mut book, &clean).sentence, "A 1-1 cleaned with bleach, 200 ppm, 10 min.");
    assert_eq!(dirty(&book), ["A 1-2"]);
    let line = &book.store.history(Of::Place(book.place("A 1-1")), None, 1).unwrap()[0];
    assert_eq!((line.text.as_str(), line.note.as_deref()), ("cleaned: A 1-1", Some("bleach, 200 ppm, 10 min")));
    assert_sound(&mut book);
    // taken back, it is to clean again
    act(&mut book, &Action::Undo);
    assert_eq!(dirty(&book), ["A 1-1", "A 1-2"]);
    let both = cleaned(&book, &["A 1-1", "A 1-2"]);
    let entry = act(&mut book, &both).entry;
    assert_eq!(dirty(&book), [""; 0]);
    let never = Action::Correct { entry, correction: Correction::Never, reason: "it was A 2-1".into(), second: None };
    act(&mut book, &never);
    assert_eq!(dirty(&book), ["A 1-1", "A 1-2"]);
    assert_sound(&mut book);
}

#[test]
fn in_one_moment_what_was_written_last_counts() {
    let (mut book, trays) = room();
    let clean = cleaned(&book, &["A 1-1"]);
    book.act(&clean);
    book.act(&throw(trays[0], Some(Cleanup::Neither)));
    assert_eq!(dirty(&book), ["A 1-1"]);
    book.act(&clean);
    assert_eq!(dirty(&book), [""; 0]);
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(dirty(&book), [""; 0], "the tray stands there again");
}

#[test]
fn what_showed_mould_leaves_each_place_it_is_moved_from_to_be_cleaned() {
    let (mut book, trays) = room();
    stood(&mut book, trays[0], Mist::Stands);
    stood(&mut book, trays[1], Mist::Down);
    let moved = |book: &Book, n: usize, to: &str| {
        let to = Some(book.place(to));
        Action::Move { walk: None, tray: trays[n], to, stage: None }
    };
    assert_eq!(dirty(&book), [""; 0], "it stands there still");
    let apart = Choice::Isolate { to: book.place("ISO 1-1") };
    act(&mut book, &Action::DecideSuspect { walk: None, tray: trays[0], what: apart, by: AK, reason: String::new() });
    let away = moved(&book, 1, "A 2-2");
    act(&mut book, &away);
    assert_eq!(dirty(&book), ["A 1-1"], "hairs leave nothing behind");
    let clean = cleaned(&book, &["A 1-1"]);
    act(&mut book, &clean);
    // it is moved on, and thrown out where the book asked
    let on = moved(&book, 0, "ISO 1-2");
    act(&mut book, &on);
    assert_eq!(dirty(&book), ["ISO 1-1"]);
    act(&mut book, &throw(trays[0], Some(Cleanup::Both)));
    assert_eq!(dirty(&book), ["ISO 1-1"]);
    // places it left before anything was seen on it are not meant
    let away = moved(&book, 2, "A 2-3");
    act(&mut book, &away);
    book.later(Duration::minutes(1));
    stood(&mut book, trays[2], Mist::Stands);
    act(&mut book, &throw(trays[2], Some(Cleanup::Bagged)));
    assert_eq!(dirty(&book), ["A 2-3", "ISO 1-1"]);
    assert_sound(&mut book);
}

#[test]
fn what_older_books_did_not_ask_marks_nothing() {
    let (mut book, trays) = room();
    act(&mut book, &throw(trays[0], None));
    assert_eq!(dirty(&book), [""; 0]);
}
