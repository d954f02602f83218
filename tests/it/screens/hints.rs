//! The hint beside a key of the walk is the very text the book has afterwards.

use std::sync::OnceLock;

use chrono::Duration;
use rackwalk::app::keys::{self, Context};
use rackwalk::app::model::Notice;
use rackwalk::app::screens::walk::plan;
use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::fuzz::{Points, judge};
use rackwalk::domain::look::{Basis, Look, Mist};
use rackwalk::domain::time::Now;
use rackwalk::domain::tray::Stage;

use super::Seat;
use super::walk::newest;
use crate::book::Book;

/// Three radish trays covered on their third day, three in the light, three covered on their first.
fn mixed() -> Book {
    static BUILT: OnceLock<(Vec<u8>, Now)> = OnceLock::new();
    let (bytes, now) = BUILT.get_or_init(|| build_mixed().closed());
    Book::copy(bytes, *now)
}

fn build_mixed() -> Book {
    let mut book = Book::of_racks("2x4x3");
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 3);
    for tray in book.sow("RAD", lot, 3) {
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    }
    book.later(Duration::days(2));
    book.sow("RAD", lot, 3);
    book.later(Duration::days(1));
    book
}

/// What the key would write, as the book would tell it afterwards.
fn told(look: &Look) -> String {
    let whom = match look.trays.as_slice() {
        [one] => Code::tray(one.0).to_string(),
        many => format!("{} trays", many.len()),
    };
    let glance = if look.basis == Basis::Shelf { ", seen in one glance along the shelf" } else { "" };
    let verdict = judge(look.signs, &Points::default()).unwrap().verdict;
    let checked = !look.signs.is_empty();
    let suspect = if checked { verdict.is_suspect() } else { look.fuzz.is_some_and(Mist::is_suspect) };
    let suspect = if suspect { "; suspect from then on" } else { "" };
    let verdict = if checked { format!("; {}", verdict.shown()) } else { String::new() };
    format!("{whom}{glance}: {}{verdict}{suspect}", look.words(rackwalk::domain::room::Units::Metric))
}

/// Tries every key of the walk at one stop, taking back what it wrote; how many wrote something.
fn each_key(open: &str, label: &str, chosen: &str) -> usize {
    let mut seat = Seat::at(mixed());
    let single = open == "o";
    if !single {
        seat.press(open);
    }
    seat.type_in(label).press("Enter").press(if single { open } else { "" }).press(chosen);
    let mut written = 0;
    for binding in keys::BINDINGS.iter().filter(|binding| binding.context == Context::Walk) {
        let about = format!("{binding:?} after {open:?}, {label}, {chosen:?}");
        let before = newest(&seat).id;
        match plan(&seat.session.model, binding.command) {
            Ok(Action::Look(look)) => {
                seat.key(binding.key);
                let entry = newest(&seat);
                assert_ne!(entry.id, before, "nothing was written: {about}");
                assert_eq!(entry.text, told(&look), "{about}");
                seat.press("u").press(if single { open } else { "" }).press(chosen);
                written += 1;
            }
            Ok(other) => panic!("{other:?} is planned: {about}"),
            Err(refusal) if refusal.rule != "no_action" => {
                seat.key(binding.key);
                assert_eq!(newest(&seat).id, before, "written all the same: {about}");
                assert_eq!(seat.session.model.notice, Some(Notice::Refused(refusal.sentence)), "{about}");
            }
            Err(_) => {}
        }
    }
    written
}

#[test]
fn every_key_writes_what_its_hint_says() {
    let mut written = 0;
    for open in ["w a", "w s", "w d", "o"] {
        // covered, covered and a day old, in the light
        for label in ["T0001-W", "T0007-K", "T0004-Q"] {
            for chosen in ["", "j s Esc", "j d e v s Esc", "o a o j", "p 400 C-s"] {
                written += each_key(open, label, chosen);
            }
        }
    }
    assert!(written > 300, "only {written} entries were compared");
}
