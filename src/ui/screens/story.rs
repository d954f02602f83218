//! Entries, newest first: when, who, what, and whether it was taken back.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::story::State;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(&state.title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Page, theme, foot.width)]);
    let width = usize::from(body.width);
    let mut lines: Vec<Line<'static>> = Vec::new();
    for entry in state.lines.iter().skip(state.from) {
        if lines.len() >= usize::from(body.height) {
            break;
        }
        let when = model.now.local(entry.at).format("%a %d %b %H:%M");
        let undone = entry.undone_by.map_or_else(String::new, |by| format!("  [no longer counts: entry {}]", by.0));
        let head = format!("{:>5}  {when}  {:<4}", entry.id.0, entry.who);
        let role = if entry.undone_by.is_some() { Role::Quiet } else { Role::Text };
        let indent = fit::columns(&head).min(width / 2);
        for (n, row) in fit::wrap(&format!("{}{undone}", entry.words(model.now)), width.saturating_sub(indent))
            .into_iter()
            .enumerate()
        {
            let before = if n == 0 { fit::cut(&head, indent, *theme) } else { " ".repeat(indent) };
            lines.push(Line::styled(format!("{before}{row}"), theme.style(role)));
        }
        if let Some(note) = &entry.note {
            for row in fit::wrap(&note.replace('\n', " / "), width.saturating_sub(indent)) {
                lines.push(Line::styled(
                    format!("{}\"{row}\"", " ".repeat(indent.saturating_sub(1))),
                    theme.style(Role::Quiet),
                ));
            }
        }
    }
    if state.lines.is_empty() {
        lines.push(Line::styled("No entries yet.", theme.style(Role::Text)));
    }
    put(frame, body, lines);
}
