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

impl Key {
    /// How help and footers name it.
    pub fn name(self) -> String {
        match self {
            Self::Char(' ') => "Space".into(),
            Self::Char(letter) => letter.to_string(),
            Self::Ctrl(letter) => format!("Ctrl-{letter}"),
            Self::F(n) => format!("F{n}"),
            Self::Enter => "Enter".into(),
            Self::Esc => "Esc".into(),
            Self::Tab => "Tab".into(),
            Self::BackTab => "Shift-Tab".into(),
            Self::Backspace => "Backspace".into(),
            Self::Delete => "Delete".into(),
            Self::Left => "Left".into(),
            Self::Right => "Right".into(),
            Self::Up => "Up".into(),
            Self::Down => "Down".into(),
            Self::Home => "Home".into(),
            Self::End => "End".into(),
            Self::PageUp => "PageUp".into(),
            Self::PageDown => "PageDown".into(),
        }
    }
}
