//! Whose hands and when, by keys: a paper sheet, an idle walk, a doubtful clock, a held key, a locked keyboard.

use std::time::Duration;

use rackwalk::app::effect::Msg;
use rackwalk::app::key::Key;
use rackwalk::app::model::Screen;
use rackwalk::app::update::update;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, TrayId};
use rackwalk::runtime::session::Flow;

use super::Seat;
use super::walk::newest;
use crate::book::Book;

/// Two people; three radish trays sown two days ago, not walked since.
fn missed() -> Seat {
    let mut book = Book::room();
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rui".into(), may_decide: false });
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 3);
    book.later(chrono::Duration::days(2));
    Seat::at(book)
}

fn entries(seat: &Seat) -> usize {
    seat.session.store.history(Of::Everything, None, 100).unwrap().len()
}

/// The list of walks, and the form of a sheet of RM of yesterday from ten past six.
const SHEET: &str = "w g RM Enter -1 Enter";

#[test]
fn a_sheet_is_typed_in_with_the_hands_and_the_day_it_was_walked() {
    let mut seat = missed();
    seat.sees("yesterday was not walked").press(SHEET).type_in("05:10").press("Enter");
    seat.sees("the sheet of RM, Thu 02 Jul: 0 done, 3 to do").sees("day 1").press("d");
    let line = newest(&seat);
    let now = seat.book().now;
    assert!(line.words(now).ends_with("(seen 02 Jul 05:10 by RM, typed 03 Jul 06:00 by AK, from paper)"), "{line:?}");
    assert_eq!(line.who, "RM");
    // a slip is taken back by who typed it, and the sheet goes on
    seat.press("u").sees("0 done, 3 to do").press("s Esc");
    assert!(!seat.text().contains("yesterday was not walked"));
    seat.press("w").sees("go on with the sheet of RM, Thu 02 Jul").press("Esc");
    // today's own walk knows nothing of it
    seat.press("w a").sees("looking and watering: 0 done, 3 to do").press("f");
    assert!(newest(&seat).seen.is_none());
    seat.press("Esc w").sees("go on with the walk of 06:00").press("k f f");
    seat.sees("The walk is done").sees("3 trays done by RM");
    assert!(!seat.text().contains("a tray."), "typing has no pace");
    let board = seat.session.store.board().unwrap();
    let card = board.tray(TrayId(1)).unwrap();
    assert_eq!(card.last.as_ref().unwrap().day, seat.book().now.day());
}

#[test]
fn a_sheet_typed_twice_is_refused_in_one_sentence() {
    let mut seat = missed();
    seat.press(SHEET).type_in("05:10").press("Enter f Esc");
    let before = entries(&seat);
    seat.press(SHEET).type_in("05:10").press("Enter").sees("sheet of 2026-07-02 is in the book already (1 tray");
    assert_eq!(entries(&seat), before);
    seat.press("Esc w").sees("go on with the sheet of RM").press("j").sees("1 done, 2 to do");
}

#[test]
fn a_sheet_of_no_known_time_is_refused_beside_its_field() {
    let mut seat = missed();
    seat.press("w g RM Enter today Enter").type_in("6:1x").press("Enter").sees("Write the time such as 06:10.");
    seat.press("Backspace Backspace Backspace Backspace").type_in("06:01").press("Enter");
    seat.sees("That time is still to come");
}

#[test]
fn a_walk_asks_again_whose_hands_these_are() {
    let mut seat = missed();
    seat.press("w a").sees("at the rack: AK");
    let model = &mut seat.session.model;
    let later = |minutes| seat.book.now.plus(chrono::Duration::minutes(minutes));
    assert_eq!(update(model, Msg::Quiet, later(14)), []);
    assert!(matches!(model.top(), Some(Screen::Walk(_))));
    // the key that comes after a quarter of an hour writes nothing
    let mut wait = Duration::from_hours(1);
    let mut key = |model: &mut rackwalk::app::model::Model, key, minutes| {
        wait += Duration::from_mins(1);
        update(model, Msg::Key(key, wait), later(minutes))
    };
    assert_eq!(key(model, Key::Char('f'), 15), []);
    let Some(Screen::Menu(menu)) = model.top() else { panic!("no question: {:?}", model.top()) };
    let lines: Vec<&str> = menu.items.iter().map(|item| item.label.as_str()).collect();
    assert_eq!((menu.title.as_str(), lines), ("Who is at the rack?", vec!["still AK", "RM"]));
    assert_eq!(key(model, Key::Char('s'), 16), []);
    assert_eq!((model.who, model.walk().is_some()), (Some(PersonId(2)), true));
    assert_eq!(key(model, Key::Char('f'), 17).len(), 1, "now it writes");
    // time that passes by itself asks as well, but not over a form
    key(model, Key::Char('n'), 18);
    assert_eq!(key(model, Key::Char('x'), 40), []);
    assert!(model.typing());
    key(model, Key::Esc, 41);
    assert_eq!(update(model, Msg::Quiet, later(42)), []);
    assert!(matches!(model.top(), Some(Screen::Menu(menu)) if menu.title == "Who is at the rack?"));
    let screens = model.screens.len();
    assert_eq!(update(model, Msg::Quiet, later(60)), []);
    assert_eq!(model.screens.len(), screens, "asked once, however long nobody answers");
}

#[test]
fn a_clock_that_cannot_be_right_is_asked_about_once() {
    let mut book = Book::room();
    book.later(chrono::Duration::minutes(-1));
    let mut seat = Seat::at(book);
    seat.sees("Is the clock right?").sees("later.").press("s");
    assert_eq!(seat.flow, Flow::Quit);
    let mut seat = seat.later(chrono::Duration::days(8));
    seat.sees("7 days before.").press("a").sees("The racks are empty");
    assert_eq!(seat.flow, Flow::GoOn);
    let seat = seat.later(chrono::Duration::days(-1));
    assert!(!seat.text().contains("Is the clock right?"));
}

#[test]
fn a_key_held_down_writes_once() {
    let mut seat = missed();
    seat.press("w a f");
    let once = entries(&seat);
    let ms = Duration::from_millis;
    seat.key_after(ms(399), Key::Char('f'));
    seat.sees("Held down? The second f was dropped.");
    seat.key_after(ms(399), Key::Char('f'));
    assert_eq!(entries(&seat), once, "held is held, however long");
    seat.key_after(ms(10), Key::Char('d'));
    assert_eq!(entries(&seat), once + 1, "another key was meant");
    seat.key_after(ms(10), Key::Char('u'));
    seat.key_after(ms(10), Key::Char('u'));
    assert_eq!(entries(&seat), once + 2, "taking back writes, too");
    seat.key_after(ms(400), Key::Char('f'));
    assert_eq!(entries(&seat), once + 3);
    // arrows may be held
    seat.key_after(ms(10), Key::Left);
    seat.key_after(ms(10), Key::Left);
    assert!(!seat.text().contains("Held down"));
    // a key held from one list into the next takes nothing there
    seat.press("Esc x d");
    seat.key_after(ms(30), Key::Char('d'));
    seat.sees("add a rack").sees("Held down?");
    seat.press("Esc t Enter");
    seat.key_after(ms(30), Key::Enter);
    seat.sees("cover and weight").sees("The second Enter was dropped.");
}

#[test]
fn a_locked_keyboard_does_nothing_until_enter_was_pressed_three_times() {
    let mut seat = missed();
    seat.press("k").sees("The keyboard is locked").sees("3 to go");
    let before = entries(&seat);
    seat.press("w a f u q Esc Space Enter x Enter Enter").type_in("T0001-W").silence();
    seat.flow = seat.session.handle(Msg::Paste("T0001-W".into()));
    seat.press("Enter Enter").sees("1 to go");
    seat.key_after(Duration::from_millis(30), Key::Enter);
    seat.sees("1 to go");
    assert_eq!((entries(&seat), seat.flow), (before, Flow::GoOn));
    seat.press("Enter").sees("Unlocked.").sees("Runs out first");
    // from the walk, by its list, back to the same stop
    seat.press("w a f Space");
    seat.press("w").sees("The keyboard is locked");
    seat.press("f Enter Enter Enter").sees("1 done, 2 to do");
}

#[test]
fn trays_logged_faster_than_a_hand_can_lift_are_counted_at_the_end() {
    let mut seat = missed();
    // the clock of the test stands still
    seat.press("w a f f k s f").sees("2 trays faster than two seconds each.");
}
