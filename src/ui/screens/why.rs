//! The explanation of a forecast on one page.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::why::{State, lines, title};

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(&title(model, state), model, Role::Title, theme, head.width)]);
    let width = usize::from(body.width).saturating_sub(1);
    let rows = lines(model, state).into_iter().skip(state.from).flat_map(|text| {
        let rows = if text.is_empty() { vec![text] } else { fit::wrap(&text, width) };
        rows.into_iter().map(|row| Line::styled(format!(" {row}"), theme.style(Role::Text)))
    });
    put(frame, body, std::iter::once(Line::default()).chain(rows));
    put(frame, foot, [footer(Context::Page, theme, foot.width)]);
}
