//! The terminal's key events as the program's keys.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use crate::app::key::Key;

/// The key pressed or repeated; `None` for releases, for Alt and for keys the program does not know.
pub fn key(event: KeyEvent) -> Option<Key> {
    let held = event.modifiers;
    if event.kind == KeyEventKind::Release || held.intersects(KeyModifiers::SUPER | KeyModifiers::HYPER) {
        return None;
    }
    match event.code {
        KeyCode::Char(c) => character(c, held),
        _ if held.contains(KeyModifiers::ALT) => None,
        code => named(code, held),
    }
}

fn named(code: KeyCode, held: KeyModifiers) -> Option<Key> {
    Some(match code {
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::Tab if held.contains(KeyModifiers::SHIFT) => Key::BackTab,
        KeyCode::Tab => Key::Tab,
        KeyCode::BackTab => Key::BackTab,
        KeyCode::Backspace => Key::Backspace,
        KeyCode::Delete => Key::Delete,
        KeyCode::Left => Key::Left,
        KeyCode::Right => Key::Right,
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Home => Key::Home,
        KeyCode::End => Key::End,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::PageDown => Key::PageDown,
        KeyCode::F(n @ 1..=12) => Key::F(n),
        _ => return None,
    })
}

fn character(c: char, held: KeyModifiers) -> Option<Key> {
    let control = held.contains(KeyModifiers::CONTROL);
    let alt = held.contains(KeyModifiers::ALT);
    match (control, alt) {
        _ if c.is_control() => None,
        (false, false) => Some(Key::Char(if held.contains(KeyModifiers::SHIFT) { capital(c) } else { c })),
        (true, false) => with_control(c.to_ascii_lowercase()),
        // AltGr makes signs and letters beyond ASCII. An ASCII letter, digit or space with both held is
        // Esc followed at once by a control byte, and must not become something typed.
        (true, true) if !(c.is_ascii_alphanumeric() || c == ' ') => Some(Key::Char(c)),
        (_, true) => None,
    }
}

fn with_control(c: char) -> Option<Key> {
    match c {
        // Line feed and carriage return: what scanners end with.
        'j' | 'm' => Some(Key::Enter),
        // crossterm reports the byte 0x1D as Control with 5.
        '5' | ']' => Some(Key::Ctrl(']')),
        'a'..='z' => Some(Key::Ctrl(c)),
        _ => None,
    }
}

/// Shift folded in, for terminals that report it beside a small letter.
fn capital(c: char) -> char {
    let mut upper = c.to_uppercase();
    match (upper.next(), upper.next()) {
        (Some(single), None) => single,
        _ => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: KeyModifiers = KeyModifiers::NONE;
    const SHIFT: KeyModifiers = KeyModifiers::SHIFT;
    const CTRL: KeyModifiers = KeyModifiers::CONTROL;
    const ALT: KeyModifiers = KeyModifiers::ALT;
    const ALT_GR: KeyModifiers = CTRL.union(ALT);

    #[test]
    fn characters() {
        for (c, held, expected) in [
            ('g', NONE, Some(Key::Char('g'))),
            (' ', NONE, Some(Key::Char(' '))),
            ('G', SHIFT, Some(Key::Char('G'))),
            ('g', SHIFT, Some(Key::Char('G'))),
            ('é', SHIFT, Some(Key::Char('É'))),
            ('ß', SHIFT, Some(Key::Char('ß'))),
            ('?', SHIFT, Some(Key::Char('?'))),
            ('c', CTRL, Some(Key::Ctrl('c'))),
            ('C', CTRL | SHIFT, Some(Key::Ctrl('c'))),
            ('j', CTRL, Some(Key::Enter)),
            ('m', CTRL, Some(Key::Enter)),
            ('5', CTRL, Some(Key::Ctrl(']'))),
            (']', CTRL, Some(Key::Ctrl(']'))),
            ('4', CTRL, None),
            (' ', CTRL, None),
            ('x', ALT, None),
            ('@', ALT_GR, Some(Key::Char('@'))),
            ('€', ALT_GR, Some(Key::Char('€'))),
            ('ą', ALT_GR, Some(Key::Char('ą'))),
            ('s', ALT_GR, None),
            ('5', ALT_GR, None),
            ('g', KeyModifiers::SUPER, None),
            ('\u{9b}', NONE, None),
            ('\u{7}', NONE, None),
        ] {
            assert_eq!(key(KeyEvent::new(KeyCode::Char(c), held)), expected, "{c:?} with {held:?}");
        }
    }

    #[test]
    fn named_keys() {
        for (code, held, expected) in [
            (KeyCode::Enter, NONE, Some(Key::Enter)),
            (KeyCode::Enter, ALT, None),
            (KeyCode::Esc, NONE, Some(Key::Esc)),
            (KeyCode::Tab, NONE, Some(Key::Tab)),
            (KeyCode::Tab, SHIFT, Some(Key::BackTab)),
            (KeyCode::BackTab, SHIFT, Some(Key::BackTab)),
            (KeyCode::Backspace, NONE, Some(Key::Backspace)),
            (KeyCode::Delete, NONE, Some(Key::Delete)),
            (KeyCode::Left, NONE, Some(Key::Left)),
            (KeyCode::Right, NONE, Some(Key::Right)),
            (KeyCode::Up, NONE, Some(Key::Up)),
            (KeyCode::Down, NONE, Some(Key::Down)),
            (KeyCode::Left, ALT, None),
            (KeyCode::Home, NONE, Some(Key::Home)),
            (KeyCode::End, NONE, Some(Key::End)),
            (KeyCode::PageUp, NONE, Some(Key::PageUp)),
            (KeyCode::PageDown, NONE, Some(Key::PageDown)),
            (KeyCode::F(1), NONE, Some(Key::F(1))),
            (KeyCode::F(12), NONE, Some(Key::F(12))),
            (KeyCode::F(13), NONE, None),
            (KeyCode::Insert, NONE, None),
            (KeyCode::Null, NONE, None),
        ] {
            assert_eq!(key(KeyEvent::new(code, held)), expected, "{code:?} with {held:?}");
        }
    }

    #[test]
    fn a_held_key_repeats_and_a_released_one_is_silent() {
        for (kind, expected) in [
            (KeyEventKind::Press, Some(Key::Char('g'))),
            (KeyEventKind::Repeat, Some(Key::Char('g'))),
            (KeyEventKind::Release, None),
        ] {
            assert_eq!(key(KeyEvent::new_with_kind(KeyCode::Char('g'), NONE, kind)), expected, "{kind:?}");
        }
    }
}
