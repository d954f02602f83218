//! What every screen shares: header, notice, footer, and lines put into an area.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Clear;

use super::fit;
use super::theme::{Role, Theme};
use crate::app::keys::{self, Context};
use crate::app::model::{Model, Notice};

/// Draws lines from the top; what does not fit is left out.
pub(super) fn put(frame: &mut Frame, area: Rect, lines: impl IntoIterator<Item = Line<'static>>) {
    let area = area.intersection(frame.area());
    for (y, line) in (area.y..area.bottom()).zip(lines) {
        frame.render_widget(line, Rect::new(area.x, y, area.width, 1));
    }
}

/// A line in one role, cut to the width.
pub(super) fn line(text: &str, role: Role, theme: &Theme, width: u16) -> Line<'static> {
    Line::styled(fit::cut(text, usize::from(width), *theme), theme.style(role))
}

/// Text left and right on one row; the right gives way first.
pub(super) fn two_ends(left: &str, right: &str, role: Role, theme: &Theme, width: u16) -> Line<'static> {
    let width = usize::from(width);
    let room = width.saturating_sub(fit::columns(left) + 2);
    let right = if room >= fit::columns(right) { right.to_string() } else { String::new() };
    let left = fit::pad(&fit::cut(left, width, *theme), width.saturating_sub(fit::columns(&right)));
    Line::from(vec![Span::styled(left, theme.style(role)), Span::styled(right, theme.style(Role::Text))])
}

/// The top row: what is shown, the day and time, and whose hands are at the rack, which go last where it is narrow.
pub(super) fn header(left: &str, model: &Model, role: Role, theme: &Theme, width: u16) -> Line<'static> {
    let who = model.person().map_or_else(|| "nobody".to_string(), |person| person.initials.clone());
    let hands = format!("at the rack: {who}");
    let all = format!("{}  {hands}", model.now.0.format("%a %d %b  %H:%M"));
    let fits = |right: &String| fit::columns(left) + 2 + fit::columns(right) <= usize::from(width);
    let right = [all, hands].into_iter().find(fits).unwrap_or(who);
    two_ends(left, &right, role, theme, width)
}

/// The area split into header row, body, notice row and footer row; header and notice go first when it is low.
pub(super) fn frame_rows(area: Rect) -> (Rect, Rect, Rect, Rect) {
    let row = |y: u16, height: u16| Rect::new(area.x, area.y + y, area.width, height);
    let h = area.height;
    match h {
        0..=2 => (row(0, 0), row(0, h), row(h, 0), row(h, 0)),
        _ => (row(0, 1), row(1, h - 3), row(h - 2, 1), row(h - 1, 1)),
    }
}

/// The last word to the person, above the footer; a long one takes up to half of the rows above it from the body.
pub(super) fn put_notice(model: &Model, theme: &Theme, frame: &mut Frame, row: Rect) {
    let (text, role) = match &model.notice {
        Some(Notice::Said(sentence)) => (sentence.clone(), Role::Good),
        Some(Notice::Refused(sentence)) => (format!("Not done: {sentence}"), Role::Alarm),
        None => return,
    };
    let rows = fit::wrap(&text, usize::from(row.width));
    let height = u16::try_from(rows.len()).unwrap_or(u16::MAX).clamp(1, (row.bottom() / 2).max(1));
    let area = Rect::new(row.x, row.bottom() - height, row.width, height).intersection(frame.area());
    frame.render_widget(Clear, area);
    put(frame, area, rows.into_iter().map(|text| Line::styled(text, theme.style(role))));
}

/// Keys that work here, as many as fit whole.
pub(super) fn footer(context: Context, theme: &Theme, width: u16) -> Line<'static> {
    keys_line(keys::footer(context).iter().map(|(key, hint)| (key.as_str(), *hint)), theme, width)
}

/// Keys with their words, as many as fit whole; the last two (help, the way out) always stay.
pub(super) fn keys_line<'k>(
    keys: impl Iterator<Item = (&'k str, &'k str)>,
    theme: &Theme,
    width: u16,
) -> Line<'static> {
    let keys: Vec<(&str, &str)> = keys.collect();
    let wide = |(key, hint): &(&str, &str)| fit::columns(key) + fit::columns(hint) + 3;
    let mut kept: usize = keys.iter().rev().take(2).map(wide).sum();
    let mut left = usize::from(width);
    let mut spans = Vec::new();
    for (n, entry) in keys.iter().enumerate() {
        let need = wide(entry);
        if keys.len() - n <= 2 {
            kept = kept.saturating_sub(need);
        }
        if need + kept > left {
            continue;
        }
        left -= need;
        spans.push(Span::styled(entry.0.to_string(), theme.style(Role::Key)));
        spans.push(Span::styled(format!(" {}  ", entry.1), theme.style(Role::Text)));
    }
    Line::from(spans)
}
