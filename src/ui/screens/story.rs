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
use crate::domain::history::EntryLine;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(&state.title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Story, theme, foot.width)]);
    let width = usize::from(body.width);
    let height = usize::from(body.height);
    // from the entry under the cursor upwards as many as fit above it, then those below
    let mut from = state.at.min(state.lines.len());
    let mut used = 0;
    let blocks: Vec<Vec<Line<'static>>> = state
        .lines
        .iter()
        .enumerate()
        .skip(from.saturating_sub(height))
        .take(2 * height + 1)
        .map(|(n, line)| entry(model, line, n == state.at, theme, width))
        .collect();
    let first = from.saturating_sub(height);
    while let Some(block) = from.checked_sub(first).and_then(|n| blocks.get(n)) {
        if used > 0 && used + block.len() > height {
            from += 1;
            break;
        }
        used += block.len();
        if from == first {
            break;
        }
        from -= 1;
    }
    let shown = blocks.into_iter().skip(from.saturating_sub(first)).flatten();
    if state.lines.is_empty() {
        put(frame, body, [Line::styled("No entries yet.", theme.style(Role::Text))]);
    } else {
        put(frame, body, shown);
    }
}

/// One entry: when, who, what, and whether it still counts; its note below.
fn entry(model: &Model, entry: &EntryLine, here: bool, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let when = model.now.local(entry.at).format("%a %d %b %H:%M");
    let after = match (entry.undone_by, entry.put_right_by) {
        (Some(by), _) => format!("  [no longer counts: entry {}]", by.0),
        (None, Some(by)) => format!("  [put right by entry {}]", by.0),
        (None, None) => String::new(),
    };
    let mark = if here { ">" } else { " " };
    let head = format!("{mark}{:>4}  {when}  {:<4}", entry.id.0, entry.who);
    let role = match (here, entry.undone_by) {
        (true, _) => Role::Cursor,
        (false, Some(_)) => Role::Quiet,
        (false, None) => Role::Text,
    };
    let indent = fit::columns(&head).min(width / 2);
    let text = format!("{}{after}", entry.words(model.now));
    let mut lines: Vec<Line<'static>> = fit::wrap(&text, width.saturating_sub(indent))
        .into_iter()
        .enumerate()
        .map(|(n, row)| {
            let before = if n == 0 { fit::cut(&head, indent, *theme) } else { " ".repeat(indent) };
            Line::styled(format!("{before}{row}"), theme.style(role))
        })
        .collect();
    if let Some(note) = &entry.note {
        lines.extend(fit::wrap(&note.replace('\n', " / "), width.saturating_sub(indent)).into_iter().map(|row| {
            Line::styled(format!("{}\"{row}\"", " ".repeat(indent.saturating_sub(1))), theme.style(Role::Quiet))
        }));
    }
    lines
}
