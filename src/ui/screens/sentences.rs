//! A page of sentences: why a forecast says what it says, what stood beside a tray, where trouble comes from.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;

/// Lines from one on; an empty one parts sentences.
pub(super) struct Page {
    title: String,
    lines: Vec<String>,
    from: usize,
    context: Context,
}

impl Page {
    pub fn of(title: String, lines: Vec<String>, from: usize) -> Self {
        Self { title, lines, from, context: Context::Page }
    }

    /// One with keys of its own.
    pub fn in_context(self, context: Context) -> Self {
        Self { context, ..self }
    }

    pub fn draw(self, model: &Model, theme: &Theme, frame: &mut Frame, area: Rect) {
        let (head, body, _, foot) = frame_rows(area);
        put(frame, head, [header(&self.title, model, Role::Title, theme, head.width)]);
        let width = usize::from(body.width).saturating_sub(1);
        let rows = self.lines.into_iter().skip(self.from).flat_map(|text| {
            hung(&text, width).into_iter().map(|row| Line::styled(format!(" {row}"), theme.style(Role::Text)))
        });
        put(frame, body, std::iter::once(Line::default()).chain(rows));
        put(frame, foot, [footer(self.context, theme, foot.width)]);
    }
}

/// Rows of a line; what does not fit goes on below where its words begin, right of spaces and a mark.
fn hung(text: &str, width: usize) -> Vec<String> {
    let words = text.trim_start_matches([' ', '>']);
    let indent = text.len() - words.len();
    if words.is_empty() || indent >= width {
        return vec![text.to_string()];
    }
    let rows = fit::wrap(words, width - indent);
    let mark = text.get(..indent).unwrap_or_default();
    rows.into_iter().enumerate().map(|(n, row)| format!("{:indent$}{row}", if n == 0 { mark } else { "" })).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_goes_on_where_its_words_begin() {
        assert_eq!(hung("one two three", 8), ["one two", "three"]);
        assert_eq!(hung("> one two three", 10), ["> one two", "  three"]);
        assert_eq!(hung("   one two", 7), ["   one", "   two"]);
        assert_eq!(hung("", 8), [""]);
        assert_eq!(hung("   ", 2), ["   "]);
        assert_eq!(hung("    x", 4), ["    x"]);
    }
}
