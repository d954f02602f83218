//! The view of every form: one column of questions, read from the top down.

mod rows;
#[cfg(test)]
mod tests;

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::{Line, Span};

use super::fit;
use super::page::put;
use crate::app::form::{Form, State};
use crate::ui::theme::{Role, Theme};
use rows::Body;

/// Rows kept for the fields before consequences get any.
const FIELDS_FIRST: usize = 5;

/// Draws the form into `area`; the focused field is visible from one row up.
pub fn draw(form: &Form, theme: &Theme, frame: &mut Frame, area: Rect) {
    let area = area.intersection(frame.area());
    if area.is_empty() {
        return;
    }
    let theme = *theme;
    let width = usize::from(area.width);
    let height = usize::from(area.height);

    let head = usize::from(height > 3);
    let body = Body::of(form, theme, width);
    let room = height - head;
    let kept = FIELDS_FIRST.min(body.lines.len());
    let tail = tail(form, theme, width, room.saturating_sub(kept));
    let gap = usize::from(!tail.is_empty() && body.lines.len() + tail.len() < room);
    let fields = room.saturating_sub(tail.len());
    let top = body.top(fields);
    let caret = body.caret;

    let title = (head > 0).then(|| title(form, theme, width));
    let visible = body.lines.into_iter().skip(top).take(fields);
    let gap = std::iter::repeat_n(Line::default(), gap);
    let lines = title.into_iter().chain(visible).chain(gap).chain(tail);
    put(frame, area, lines);

    let Some(caret) = caret.filter(|_| form.state != State::Saving) else {
        return;
    };
    let place = caret.row.checked_sub(top).and_then(|row| {
        let x = u16::try_from(caret.column).ok()?.checked_add(area.x)?;
        let y = u16::try_from(row + head).ok()?.checked_add(area.y)?;
        Some(Position::new(x, y))
    });
    if let Some(place) = place.filter(|place| area.contains(*place)) {
        frame.set_cursor_position(place);
    }
}

/// The title, and at the right which of several fields has the focus.
fn title(form: &Form, theme: Theme, width: usize) -> Line<'static> {
    let of = form.shown().count();
    let focus = form.focused().map(|field| field.id);
    let at = form.shown().position(|field| Some(field.id) == focus);
    let count = at.filter(|_| of > 1).map_or_else(String::new, |at| format!("{} of {of}", at + 1));
    let left = width.saturating_sub(fit::columns(&count) + 2);
    let name = fit::pad(&fit::cut(&form.title, left, theme), left);
    Line::from(vec![
        Span::styled(name, theme.style(Role::Title)),
        Span::styled(format!("  {count}"), theme.style(Role::Quiet)),
    ])
}

/// Consequences and the state of the form, at most `room` rows; the state goes first if they do
/// not all fit.
fn tail(form: &Form, theme: Theme, width: usize, room: usize) -> Vec<Line<'static>> {
    let (said, role) = match &form.state {
        State::Editing => (String::new(), Role::Text),
        State::Refused(why) => (format!("Not saved: {why}"), Role::Alarm),
        State::Saving => ("Saving ...".to_owned(), Role::Soon),
    };
    let said = fit::wrap(&said, width);
    let lines = form.lines.iter().flat_map(|line| fit::wrap(line, width));
    let spare = room.saturating_sub(said.len());
    let quiet = theme.style(Role::Quiet);
    let lines = lines.take(spare).map(|text| Line::styled(text, quiet));
    let mut tail: Vec<Line<'static>> = lines.collect();
    let strong = theme.style(role);
    let said = said.into_iter().take(room);
    tail.extend(said.map(|text| Line::styled(text, strong)));
    tail
}
