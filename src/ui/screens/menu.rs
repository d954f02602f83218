//! A short list over the lower part of the screen: a letter for every line.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Clear;

use super::super::fit;
use super::super::page::{footer, frame_rows, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::menu::Menu;
use crate::app::screens::pick::Pick;

/// Why a line cannot be taken: where not all of it fits, its first sentence.
fn not_now(why: &str, width: usize) -> String {
    let said = format!("not now: {why}");
    match said.split_once(". ") {
        Some((first, _)) if fit::columns(&said) > width => format!("{first}."),
        _ => said,
    }
}

pub(super) fn draw(menu: &Menu<Pick>, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (_, body, said, foot) = frame_rows(area);
    let width = usize::from(body.width);
    let mut head = vec![Line::styled(fit::cut(&menu.title, width, *theme), theme.style(Role::Title))];
    for sentence in &menu.intro {
        head.extend(fit::wrap(sentence, width).into_iter().map(|row| Line::styled(row, theme.style(Role::Quiet))));
    }
    let tall = usize::from(body.height);
    head.truncate(tall.saturating_sub(3).max(1));
    let shown = menu.items.len().clamp(1, tall.saturating_sub(head.len() + 1).max(1));
    let first = menu.at.saturating_sub(shown - 1);
    let rule = if theme.wide_signs { "━" } else { "=" };
    let mut lines = vec![Line::styled(rule.repeat(width), theme.style(Role::Frame))];
    lines.extend(head);
    let label_width = menu.items.iter().map(|i| fit::columns(&i.label)).max().unwrap_or(0).min(width.saturating_sub(6));
    for (n, item) in menu.items.iter().enumerate().skip(first).take(shown) {
        let here = n == menu.at;
        let letter = menu.letter(n).map_or_else(|| " ".to_string(), |l| l.to_string());
        let mark = if here { ">" } else { " " };
        let label = fit::pad(&fit::cut(&item.label, label_width, *theme), label_width);
        let rest = width.saturating_sub(label_width + 7);
        let more = item.bar.as_ref().map_or_else(|| item.hint.clone(), |why| not_now(why, rest.saturating_sub(2)));
        let role = if item.bar.is_some() { Role::Quiet } else { Role::Text };
        lines.push(Line::from(vec![
            Span::raw(format!("{mark} ")),
            Span::styled(letter, theme.style(Role::Key)),
            Span::raw("  "),
            Span::styled(label, if here { theme.style(Role::Cursor) } else { theme.style(role) }),
            Span::styled(fit::cut(&format!("  {more}"), rest, *theme), theme.style(Role::Quiet)),
        ]));
    }
    if menu.items.is_empty() {
        lines.push(Line::styled("Nothing to choose from.", theme.style(Role::Text)));
    }
    let height = u16::try_from(lines.len()).unwrap_or(body.height).min(body.height);
    let over = Rect::new(body.x, body.bottom() - height, body.width, height);
    frame.render_widget(Clear, over);
    frame.render_widget(Clear, said);
    frame.render_widget(Clear, foot);
    put(frame, over, lines);
    put(frame, foot, [footer(Context::Menu, theme, foot.width)]);
}
