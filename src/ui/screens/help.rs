//! All keys, from the table.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::fit;
use super::super::page::{footer, frame_rows, line, put, two_ends};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::help::State;

pub(super) fn draw(_: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, said, foot) = frame_rows(area);
    put(frame, head, [two_ends("All keys", "type a word to narrow down", Role::Title, theme, head.width)]);
    let filter = if state.filter.is_empty() {
        String::new()
    } else {
        format!("only lines with: {}_   (Backspace widens)", state.filter)
    };
    put(frame, said, [line(&filter, Role::Soon, theme, said.width)]);
    put(frame, foot, [footer(Context::Page, theme, foot.width)]);
    let width = usize::from(body.width);
    let all = state.lines();
    let keys = all.iter().filter_map(|(key, _)| key.as_ref().map(|k| fit::columns(k))).max().unwrap_or(0).min(18);
    let lines: Vec<Line<'static>> = all
        .into_iter()
        .skip(state.from)
        .map(|(key, sentence)| match key {
            None => line(&sentence, Role::Title, theme, body.width),
            Some(key) => Line::from(vec![
                Span::styled(format!("  {}  ", fit::pad(&fit::cut(&key, keys, *theme), keys)), theme.style(Role::Key)),
                Span::styled(fit::cut(&sentence, width.saturating_sub(keys + 4), *theme), theme.style(Role::Text)),
            ]),
        })
        .collect();
    let none = lines.is_empty().then(|| line("No key with that in its sentence.", Role::Text, theme, body.width));
    put(frame, body, lines.into_iter().chain(none));
}
