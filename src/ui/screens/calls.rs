//! The call sheet: the clock above, one line a call, and all of the one under the cursor below.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::calls::{State, about, head as clock};
use crate::domain::recall::{Call, Line as Which};

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, foot, [footer(Context::Calls, theme, foot.width)]);
    let Some(recall) = model.answers.recall(state.recall) else {
        put(frame, head, [header("Call sheet", model, Role::Title, theme, head.width)]);
        put(frame, body, [line("This recall was taken back: Esc goes back.", Role::Text, theme, body.width)]);
        return;
    };
    let what = if recall.exercise { "EXERCISE: call sheet" } else { "Call sheet" };
    put(frame, head, [header(what, model, Role::Title, theme, head.width)]);
    let width = usize::from(body.width);
    let role = if recall.exercise { Role::Soon } else { Role::Alarm };
    let mut above = vec![line(&recall.scope, role, theme, body.width)];
    let quarter = usize::from(body.height / 3);
    let clock = clock(model, recall).into_iter().flat_map(|text| fit::wrap(&text, width));
    above.extend(clock.take(quarter.max(1)).map(|row| Line::styled(row, theme.style(Role::Text))));
    above.push(Line::default());
    let below: Vec<Line<'static>> = recall
        .calls
        .get(state.at)
        .map(|call| about(model, call))
        .unwrap_or_default()
        .iter()
        .flat_map(|text| fit::wrap(text, width))
        .map(|row| Line::styled(row, theme.style(Role::Text)))
        .collect();
    let below_rows = below.len().min(quarter.max(1));
    let room = usize::from(body.height).saturating_sub(above.len() + below_rows + 1).max(1);
    let first = (state.at + 1).saturating_sub(room);
    let shown = recall.calls.iter().enumerate().skip(first).take(room);
    let mut rows: Vec<Line<'static>> =
        shown.map(|(n, call)| row(model, call, n == state.at, theme, body.width)).collect();
    if recall.calls.is_empty() {
        rows.push(line("Nobody outside has any of it.", Role::Good, theme, body.width));
    }
    put(frame, body, above.into_iter().chain(rows).chain([Line::default()]).chain(below.into_iter().take(below_rows)));
}

/// Whether they were reached, who, the phone, the day, how many packs.
fn row(model: &Model, call: &Call, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let mark = if here { ">" } else { " " };
    let done = match (&call.tried, call.line) {
        (Some((true, at, _)), _) => format!("done {}", model.now.local(*at).format("%H:%M")),
        (Some((false, ..)), Which::Delivery(_)) => "no answer".to_string(),
        (None, Which::Delivery(_)) => "TO CALL".to_string(),
        (_, Which::Notice(_)) => "TO POST".to_string(),
    };
    let phone = match call.line {
        Which::Delivery(_) if call.phone.is_empty() => "no phone",
        Which::Delivery(_) => call.phone.as_str(),
        Which::Notice(_) => "notice",
    };
    let name = fit::pad(&fit::cut(&call.name, 24, *theme), 24);
    let packs = if call.packs() == 1 { "1 pack".into() } else { format!("{} packs", call.packs()) };
    let text =
        format!("{mark} {}{name} {} {}  {packs}", fit::pad(&done, 12), fit::pad(phone, 14), call.day.format("%d %b"));
    let role = match (here, call.reached()) {
        (true, _) => Role::Cursor,
        (false, true) => Role::Good,
        (false, false) => Role::Soon,
    };
    line(&text, role, theme, width)
}
