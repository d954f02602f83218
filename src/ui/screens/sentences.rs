//! A page of sentences: why a forecast says what it says, what stood beside a tray.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;

/// Lines from the `from`th on; an empty one parts sentences.
pub(super) fn draw(
    title: &str,
    lines: Vec<String>,
    from: usize,
    model: &Model,
    theme: &Theme,
    frame: &mut Frame,
    area: Rect,
) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(title, model, Role::Title, theme, head.width)]);
    let width = usize::from(body.width).saturating_sub(1);
    let rows = lines.into_iter().skip(from).flat_map(|text| {
        let rows = if text.is_empty() { vec![text] } else { fit::wrap(&text, width) };
        rows.into_iter().map(|row| Line::styled(format!(" {row}"), theme.style(Role::Text)))
    });
    put(frame, body, std::iter::once(Line::default()).chain(rows));
    put(frame, foot, [footer(Context::Page, theme, foot.width)]);
}
