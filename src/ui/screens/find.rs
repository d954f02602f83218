//! The list of commands that fits what was typed.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::fit;
use super::super::page::{footer, frame_rows, line, put, two_ends};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::screens::find::State;

pub(super) fn draw(state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let title = format!("Find a command: {}", state.context.title());
    put(frame, head, [two_ends(&title, "type a word to narrow down", Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Find, theme, foot.width)]);
    let width = usize::from(body.width);
    let found = state.found();
    let keys = found.iter().map(|entry| fit::columns(&entry.keys)).max().unwrap_or(0).min(18);
    let rows = usize::from(body.height).saturating_sub(1).max(1);
    let first = state.at.saturating_sub(rows - 1);
    let typed = line(&format!("  {}_", state.typed), Role::Key, theme, body.width);
    let none = found.is_empty().then(|| line("  No command with that in its sentence.", Role::Text, theme, body.width));
    let lines = found.into_iter().enumerate().skip(first).map(|(n, entry)| {
        let (mark, role) = if n == state.at { (">", Role::Cursor) } else { (" ", Role::Text) };
        let key = fit::pad(&fit::cut(&entry.keys, keys, *theme), keys);
        Line::from(vec![
            Span::raw(format!("{mark} ")),
            Span::styled(format!("{key}  "), theme.style(Role::Key)),
            Span::styled(fit::cut(entry.sentence, width.saturating_sub(keys + 4), *theme), theme.style(role)),
        ])
    });
    put(frame, body, std::iter::once(typed).chain(none).chain(lines));
}
