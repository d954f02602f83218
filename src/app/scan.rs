//! A barcode scanner types fast and ends with Enter, Tab or Ctrl-J. What it types is kept apart from the keys.

use super::key::Key;
use crate::domain::code::{Code, CodeError};
use crate::domain::gs1;

/// Longer input is no code of ours; the rest is dropped.
const LONGEST: usize = 256;

/// Characters of a scan as they come in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Scan {
    typed: String,
}

/// What came of a key or of silence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// Not a scanner's key: let it have its meaning.
    NotMine,
    /// Taken, more is to come.
    Waiting,
    Code(Code),
    /// Shaped like a code, but wrong: the text and what is wrong with it.
    Wrong(String, CodeError),
    /// One capital by itself.
    LoneCapital,
}

impl Scan {
    /// A scan is under way.
    pub fn active(&self) -> bool {
        !self.typed.is_empty()
    }

    /// Takes a key outside text fields.
    pub fn key(&mut self, key: Key) -> Heard {
        let ends = matches!(key, Key::Enter | Key::Tab | Key::Ctrl('j'));
        match key {
            Key::Char(letter) if self.active() || begins(letter) => self.take(letter),
            Key::Ctrl(']') => self.take('\u{1d}'),
            _ if ends && self.active() => self.end(),
            _ => {
                self.typed.clear();
                Heard::NotMine
            }
        }
    }

    /// Nothing came for a tenth of a second: a scan under way is over.
    pub fn silence(&mut self) -> Heard {
        if self.active() { self.end() } else { Heard::NotMine }
    }

    fn take(&mut self, letter: char) -> Heard {
        if self.typed.chars().count() < LONGEST {
            self.typed.push(letter);
        }
        Heard::Waiting
    }

    fn end(&mut self) -> Heard {
        let text = std::mem::take(&mut self.typed);
        if text.chars().count() == 1 && text.chars().all(char::is_uppercase) {
            return Heard::LoneCapital;
        }
        let lot = gs1::lot_in(&text).filter(|lot| Code::parse(lot).is_ok());
        match Code::parse(lot.as_deref().unwrap_or(text.trim_matches('\u{1d}'))) {
            Ok(code) => Heard::Code(code),
            Err(why) => Heard::Wrong(text.replace('\u{1d}', ""), why),
        }
    }
}

/// Codes begin with a capital or a digit; scanners may put a symbol mark, a bracket or a separator before them.
fn begins(letter: char) -> bool {
    letter.is_uppercase() || letter.is_ascii_digit() || matches!(letter, ']' | '(' | 'h' | '\u{1d}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn type_in(scan: &mut Scan, text: &str) -> Heard {
        text.chars().map(|letter| scan.key(Key::Char(letter))).last().unwrap()
    }

    #[test]
    fn a_label_ends_with_enter_tab_or_silence() {
        for end in [Key::Enter, Key::Tab, Key::Ctrl('j')] {
            let mut scan = Scan::default();
            assert_eq!(type_in(&mut scan, "T0001-W"), Heard::Waiting);
            assert_eq!(scan.key(end), Heard::Code(Code::tray(1)));
            assert!(!scan.active());
        }
        let mut scan = Scan::default();
        type_in(&mut scan, "T0001W");
        assert_eq!(scan.silence(), Heard::Code(Code::tray(1)));
        assert_eq!(scan.silence(), Heard::NotMine);
    }

    #[test]
    fn small_letters_keep_their_meaning_unless_inside_a_scan() {
        let mut scan = Scan::default();
        assert_eq!(scan.key(Key::Char('d')), Heard::NotMine);
        assert_eq!(scan.key(Key::Enter), Heard::NotMine);
        type_in(&mut scan, "T0");
        assert_eq!(scan.key(Key::Char('d')), Heard::Waiting);
        assert!(matches!(scan.key(Key::Enter), Heard::Wrong(..)));
    }

    #[test]
    fn a_wrong_check_character_is_no_code() {
        let mut scan = Scan::default();
        type_in(&mut scan, "T0001-X");
        assert_eq!(scan.key(Key::Enter), Heard::Wrong("T0001-X".into(), CodeError::Check { expected: 'W' }));
    }

    #[test]
    fn one_capital_alone_points_at_caps_lock() {
        let mut scan = Scan::default();
        assert_eq!(scan.key(Key::Char('D')), Heard::Waiting);
        assert_eq!(scan.silence(), Heard::LoneCapital);
    }

    #[test]
    fn symbol_marks_before_the_code_are_taken_off() {
        for before in ["]C0", "]Q1", "]d2"] {
            let mut scan = Scan::default();
            type_in(&mut scan, before);
            type_in(&mut scan, "T0001W");
            assert_eq!(scan.key(Key::Enter), Heard::Code(Code::tray(1)), "{before}");
        }
    }
}
