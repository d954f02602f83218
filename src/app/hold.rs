//! A key that is held down, or hit twice by a wet hand, writes once.

use std::time::Duration;

use super::command::Command;
use super::key::Key;

/// The same key again within this time was not meant.
pub const AGAIN: Duration = Duration::from_millis(400);

/// The last key and when it came, on a clock that nobody sets.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Hold {
    last: Option<(Key, Duration)>,
}

impl Hold {
    /// Notes a key; whether it is the last one again too soon. One that is held stays held until it is let go.
    pub fn again(&mut self, key: Key, at: Duration) -> bool {
        let again = self.last.is_some_and(|(last, then)| last == key && at.saturating_sub(then) < AGAIN);
        self.last = Some((key, at));
        again
    }
}

/// Whether a command goes into the book without another question.
pub fn writes(command: Command) -> bool {
    use Command::{Grade, Hairs, Ready, Undo, WriteChosen};
    matches!(command, Grade(..) | Hairs | Ready | Undo | WriteChosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_key_within_four_tenths_is_one_key() {
        let ms = Duration::from_millis;
        let mut hold = Hold::default();
        let f = Key::Char('f');
        let pressed = [(f, 0), (f, 399), (f, 798), (f, 1198), (Key::Char('d'), 1200), (f, 1210), (f, 1220)];
        let again: Vec<bool> = pressed.into_iter().map(|(key, at)| hold.again(key, ms(at))).collect();
        assert_eq!(again, [false, true, true, false, false, false, true]);
    }
}
