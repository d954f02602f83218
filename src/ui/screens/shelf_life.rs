//! What runs out first.

use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use crate::app::model::Model;
use crate::domain::shelf_life::{Kind, RunsOut};

/// Days over which a bar runs: trays within a fortnight, seed within a year.
fn span(line: &RunsOut) -> i64 {
    match line.kind {
        Kind::Trays => 14,
        Kind::Seed => 365,
    }
}

/// Lines of the pane, most urgent first.
pub(super) fn lines(model: &Model, theme: &Theme, area: Rect) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let today = model.today();
    let all = &model.board.runs_out;
    let from = model.room().map_or(0, |room| room.life_from).min(all.len().saturating_sub(1));
    let below = all.len().saturating_sub(from);
    let title =
        if from > 0 { format!("Runs out first  (from line {})", from + 1) } else { "Runs out first".to_string() };
    let mut lines = vec![Line::styled(title, theme.style(Role::Title))];
    if all.is_empty() {
        lines.push(Line::styled("Nothing yet.", theme.style(Role::Text)));
        return lines;
    }
    let rows = usize::from(area.height).saturating_sub(1);
    let shown = if below > rows { rows.saturating_sub(1) } else { rows };
    for line in all.iter().skip(from).take(shown) {
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
        let bar = signs::bar(line.tenths_used(today, span(line)), if narrow { 3 } else { 5 }, theme);
        let name = fit::pad(&fit::cut(&line.name, 12, *theme), if narrow { 11 } else { 12 });
        let text = format!(" {} {name}", fit::pad(&line.words(today), 10));
        let tail = if narrow { format!(" {}", line.amount) } else { format!(" {:<8} {}", line.amount, line.code) };
        let head = format!("{bar}{text}");
        let rest = width.saturating_sub(fit::columns(&head));
        lines.push(Line::from(vec![
            Span::styled(fit::cut(&head, width, *theme), theme.style(role)),
            Span::styled(fit::cut(&tail, rest, *theme), theme.style(Role::Text)),
        ]));
    }
    if below > shown {
        lines.push(Line::styled(format!("{} more below (PageDown)", below - shown), theme.style(Role::Quiet)));
    }
    lines
}
