//! Keys as the program knows them; the runtime translates the terminal's own into these.

/// One key press. Shift is already folded into `Char`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Key {
    /// A printable character, space included.
    Char(char),
    /// Control with a letter.
    Ctrl(char),
    /// A function key, F1 to F12.
    F(u8),
    Enter,
    Esc,
    Tab,
    BackTab,
    Backspace,
    Delete,
    Left,
    Right,
    Up,
    Down,
    Home,
    End,
    PageUp,
    PageDown,
}
