//! What runs out first.

use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use crate::app::model::Model;
use crate::domain::shelf_life::{Kind, RunsOut};
use crate::domain::time::Day;

/// Days over which a bar runs: trays within a fortnight, a mix within a month, seed within a year.
fn span(line: &RunsOut) -> i64 {
    match line.kind {
        Kind::Trays | Kind::Lot => 14,
        Kind::Seed => 365,
        Kind::Mix => 30,
    }
}

/// Lines of the pane, most urgent first.
pub(super) fn lines(model: &Model, theme: &Theme, area: Rect) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let today = model.today();
    let all = &model.board.runs_out;
    let from = model.room().map_or(0, |room| room.life_from).min(all.len().saturating_sub(1));
    let title = match (from, all.iter().any(|line| line.forecast.is_some())) {
        (0, false) => "Runs out first".to_string(),
        (0, true) => "Runs out first, trays by plan".to_string(),
        (from, _) => format!("Runs out first  (from line {})", from + 1),
    };
    let mut lines = vec![Line::styled(title, theme.style(Role::Title))];
    if all.is_empty() {
        lines.push(Line::styled("Nothing yet.", theme.style(Role::Text)));
        return lines;
    }
    let space = usize::from(area.height).saturating_sub(1);
    let needed: usize = all.iter().skip(from).map(|line| 1 + usize::from(line.forecast.is_some())).sum();
    let space = if needed > space { space.saturating_sub(1) } else { space };
    let mut below = all.len().saturating_sub(from);
    for line in all.iter().skip(from) {
        let rows = rows(line, today, theme, width);
        if lines.len() + rows.len() > space + 1 {
            break;
        }
        lines.extend(rows);
        below -= 1;
    }
    if below > 0 {
        lines.push(Line::styled(format!("{below} more below (PageDown)"), theme.style(Role::Quiet)));
    }
    lines
}

/// Bar, time left by the plan, and what it is; below it the forecast, where that says something else.
fn rows(line: &RunsOut, today: Day, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let left = line.days_left(today);
    let role = if left < 0 {
        Role::Alarm
    } else if left <= 1 {
        Role::Soon
    } else {
        Role::Text
    };
    // narrow: a short bar and no code, so that the amount stays whole
    let narrow = width < 44;
    let cells = if narrow { 3 } else { 5 };
    let bar = signs::bar(line.tenths_used(today, span(line)), cells, theme);
    let name = fit::pad(&fit::cut(&line.name, 12, *theme), if narrow { 11 } else { 12 });
    let text = format!(" {} {name}", fit::pad(&line.words(today), 10));
    let tail = if narrow { format!(" {}", line.amount) } else { format!(" {:<8} {}", line.amount, line.code) };
    let head = format!("{bar}{text}");
    let rest = width.saturating_sub(fit::columns(&head));
    let first = Line::from(vec![
        Span::styled(fit::cut(&head, width, *theme), theme.style(role)),
        Span::styled(fit::cut(&tail, rest, *theme), theme.style(Role::Text)),
    ]);
    let ahead = line.forecast.map(|window| {
        let text = format!("{} forecast {}", " ".repeat(cells), window.words(today));
        Line::styled(fit::cut(&text, width, *theme), theme.style(Role::Quiet))
    });
    std::iter::once(first).chain(ahead).collect()
}
