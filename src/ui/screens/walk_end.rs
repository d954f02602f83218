//! The end of a walk on one page.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::walk_end::{State, lines, title};

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(title(model, &state.walk), model, Role::Title, theme, head.width)]);
    let rows: Vec<Line<'static>> = std::iter::once(Line::default())
        .chain(lines(model, &state.walk).into_iter().skip(state.from).map(|(text, wants)| {
            line(&format!(" {text}"), if wants { Role::Alarm } else { Role::Text }, theme, body.width)
        }))
        .collect();
    put(frame, body, rows);
    put(frame, foot, [footer(Context::WalkEnd, theme, foot.width)]);
}
