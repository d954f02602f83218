//! A command found by its words.

use rackwalk::app::effect::Msg;
use rackwalk::app::key::Key;
use rackwalk::app::keys::{self, Context};
use rackwalk::app::model::Screen;
use rackwalk::domain::history::Of;

use super::{Seat, twelve};

fn seat() -> Seat {
    Seat::at(twelve::book())
}

#[test]
fn every_command_of_the_room_is_listed_with_its_key_and_sentence() {
    let mut seat = seat();
    seat.size(100, 60);
    seat.press("f").sees("Find a command: The room");
    let screen = seat.text();
    let listed = |sentence: &str| screen.lines().filter(|row| row.contains(sentence)).count();
    for (key, sentence) in keys::table(Context::Room) {
        let expected = usize::from(sentence != "Find a command by its words");
        assert_eq!(listed(&format!("{key} ")).min(1), 1, "{key}");
        assert_eq!(listed(sentence), expected, "{sentence}:\n{screen}");
    }
}

#[test]
fn letters_narrow_down_and_enter_carries_it_out() {
    let mut seat = seat();
    seat.press("f seed").sees("> e  Open the seed shelf").press("Enter").sees("Seed shelf, in the order of use");
    seat.press("Esc f").type_in("tray throw").press("Enter").sees("Throw out T0002-U");
    // a key finds its own command too, and arrows choose among several
    seat.press("Esc f PageDown Up Down").type_in("f1").press("Enter").sees("All keys");
    seat.press("Esc f").type_in("rack").press("Down Down Down").sees("> b ").press("Enter").sees("Rack ISO  (3 of 3)");
}

#[test]
fn backspace_widens_and_escape_does_nothing() {
    let mut seat = seat();
    let before = seat.session.store.history(Of::Everything, None, 1).unwrap()[0].id;
    seat.press("f xyz").sees("No command with that in its sentence.").press("Enter").sees("No command is found");
    seat.press("Backspace Backspace Backspace").sees("Start the walk").press("Esc").sees("Rack A  (1 of 3)");
    assert_eq!(seat.session.store.history(Of::Everything, None, 1).unwrap()[0].id, before);
}

#[test]
fn a_scan_and_a_paste_are_text_there_and_carry_nothing_out() {
    let mut seat = seat();
    seat.press("f").type_in("T0006-M").press("Enter").sees("No command is found");
    assert!(matches!(seat.session.model.top(), Some(Screen::Find(_))));
    for _ in 0.."T0006-M".len() {
        seat.key(Key::Backspace);
    }
    seat.session.handle(Msg::Paste("seed\u{1b}[2J shelf\n".into()));
    seat.sees("seed shelf_").sees("> e  Open the seed shelf");
}
