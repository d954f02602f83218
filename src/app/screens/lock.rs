//! The keyboard locked for wiping: no key does anything until Enter was pressed three times.

use crate::app::key::Key;
use crate::app::model::{Model, Screen};

/// Presses of Enter that unlock.
pub const PRESSES: u8 = 3;

/// Presses of Enter so far, one after the other.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct State {
    pub pressed: u8,
}

pub fn open(model: &mut Model) {
    model.open(Screen::Locked(State::default()));
}

/// A key while locked. A cloth on the keyboard holds keys down and presses others in between: neither counts.
pub fn key(model: &mut Model, key: Key, held: bool) {
    let Some(Screen::Locked(state)) = model.screens.last_mut() else { return };
    match (key, held) {
        (Key::Enter, false) => state.pressed += 1,
        (Key::Enter, true) => {}
        _ => state.pressed = 0,
    }
    if state.pressed >= PRESSES {
        model.back();
        model.say("Unlocked.");
    }
}
