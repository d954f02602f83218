//! Colours and attributes by role; `plain` uses the terminal's own background, `mono` attributes only.

use ratatui::style::{Color, Modifier, Style};

/// How the program may paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paint {
    /// Sixteen named colours over the terminal's own background.
    Plain,
    /// Attributes only: `NO_COLOR`, or a terminal without colour.
    Mono,
}

/// What a piece of the screen is for. Colour is never the only carrier: each role's text says it too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    Text,
    /// Secondary text: hints, units, explanations.
    Quiet,
    /// Headings and the name of a pane.
    Title,
    /// Key letters in footers, hints and help.
    Key,
    /// The place, row or field under the cursor.
    Cursor,
    Good,
    /// Wants a person soon: due, ready, early or late.
    Soon,
    /// Wants a person now: suspect, held, refused.
    Alarm,
    /// Lines around panes.
    Frame,
}

/// Styles for roles, and whether drawing characters beyond ASCII may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    pub paint: Paint,
    /// The locale is UTF-8, so signs and lines beyond ASCII may be drawn.
    pub wide_signs: bool,
}

impl Theme {
    pub fn style(&self, role: Role) -> Style {
        let base = Style::default();
        let bold = base.add_modifier(Modifier::BOLD);
        match (self.paint, role) {
            (_, Role::Text) | (Paint::Mono, Role::Quiet | Role::Frame | Role::Good) => base,
            (_, Role::Cursor) => base.add_modifier(Modifier::REVERSED),
            (Paint::Plain, Role::Quiet | Role::Frame) => base.fg(Color::DarkGray),
            (Paint::Plain, Role::Key) => bold.fg(Color::Cyan),
            (Paint::Plain, Role::Good) => base.fg(Color::Green),
            (Paint::Plain, Role::Soon) => bold.fg(Color::Yellow),
            (Paint::Plain, Role::Alarm) => bold.fg(Color::Red),
            (_, Role::Title) | (Paint::Mono, Role::Key | Role::Soon) => bold,
            (Paint::Mono, Role::Alarm) => bold.add_modifier(Modifier::UNDERLINED),
        }
    }
}
