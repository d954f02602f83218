//! A trace: the answer in words, the tree, and the way to the line under the cursor.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::trace::{State, answers};
use crate::domain::trace::{Row, Trace, Way};

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let title = match state.way {
        Way::Back => "What it was made of",
        Way::Forward => "Who has it, and what is still here",
    };
    put(frame, head, [header(title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Trace, theme, foot.width)]);
    let Some(trace) = &state.trace else {
        put(frame, body, [line("Looking ...", Role::Quiet, theme, body.width)]);
        return;
    };
    let width = usize::from(body.width);
    let rows = state.rows();
    let mut above: Vec<Line<'static>> = vec![line(&trace.title, Role::Title, theme, body.width)];
    let most = usize::from(body.height / 4).max(1);
    for text in answers(trace) {
        let wrapped = fit::wrap(&text, width);
        above.extend(wrapped.into_iter().take(most).map(|row| Line::styled(row, theme.style(Role::Soon))));
    }
    above.push(Line::default());
    let below: Vec<Line<'static>> = rows.get(state.at).map(|row| about(trace, row, theme, width)).unwrap_or_default();
    let below_rows = below.len().min(usize::from(body.height / 3));
    let room = usize::from(body.height).saturating_sub(above.len() + below_rows + 1).max(1);
    let first = (state.at + 1).saturating_sub(room);
    let shown = rows.iter().enumerate().skip(first).take(room);
    let tree: Vec<Line<'static>> =
        shown.map(|(n, row)| tree_row(trace, row, n == state.at, theme, body.width)).collect();
    put(frame, body, above.into_iter().chain(tree).chain([Line::default()]).chain(below.into_iter().take(below_rows)));
}

/// One row: how deep, whether something lies behind it, what it is, and how much of it.
fn tree_row(trace: &Trace, row: &Row, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let sign = match (row.leads_on, row.open) {
        (false, _) => " ",
        (true, true) => "-",
        (true, false) => "+",
    };
    let mark = if here { ">" } else { " " };
    let amount = if row.branch.amount.is_empty() { String::new() } else { format!("  {}", row.branch.amount) };
    let held = if trace.held(&row.branch) { "  HELD" } else { "" };
    let rest = match row.branch.nodes.as_slice() {
        [one] => trace
            .things
            .get(one)
            .map(|thing| if thing.here.is_empty() { String::new() } else { format!("  here: {}", thing.here) }),
        _ => None,
    };
    let indent = "  ".repeat(row.depth().min(12));
    let text = format!("{mark} {indent}{sign} {}{amount}{held}{}", trace.label(&row.branch), rest.unwrap_or_default());
    let role = match (here, trace.held(&row.branch)) {
        (true, _) => Role::Cursor,
        (false, true) => Role::Alarm,
        (false, false) => Role::Text,
    };
    line(&text, role, theme, width)
}

/// The way to a row in words, and what else is known of it.
fn about(trace: &Trace, row: &Row, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let way = trace.path_words(&row.path);
    let mut lines: Vec<Line<'static>> =
        fit::wrap(&way, width).into_iter().map(|row| Line::styled(row, theme.style(Role::Text))).collect();
    if let [one] = row.branch.nodes.as_slice()
        && let Some(thing) = trace.things.get(one).filter(|thing| !thing.words.is_empty())
    {
        let day = thing.day.map_or_else(String::new, |day| format!("{day}: "));
        let text = format!("{day}{}", thing.words);
        lines.extend(fit::wrap(&text, width).into_iter().map(|row| Line::styled(row, theme.style(Role::Quiet))));
    }
    lines
}
