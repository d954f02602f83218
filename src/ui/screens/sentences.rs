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
            let rows = if text.is_empty() { vec![text] } else { fit::wrap(&text, width) };
            rows.into_iter().map(|row| Line::styled(format!(" {row}"), theme.style(Role::Text)))
        });
        put(frame, body, std::iter::once(Line::default()).chain(rows));
        put(frame, foot, [footer(self.context, theme, foot.width)]);
    }
}
