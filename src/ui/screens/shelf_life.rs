//! What runs out first: a pane of the room, and a screen of its own.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::shelf_life::{Row, State, What, rows};
use crate::domain::keeping::NO_CLEARANCE;
use crate::domain::shelf_life::Only;
use crate::domain::time::Day;

/// Hours from which on a row is not urgent any more.
const SOON_H: f64 = 48.0;

fn role(row: &Row, today: Day) -> Role {
    let last = row.until.is_some_and(|until| until <= today);
    if row.grave || row.hours <= 0.0 {
        Role::Alarm
    } else if row.hours < SOON_H || last {
        Role::Soon
    } else {
        Role::Text
    }
}

/// Lines of the pane, most urgent first.
pub(super) fn lines(model: &Model, theme: &Theme, area: Rect) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let all = rows(model, None);
    let from = model.room().map_or(0, |room| room.life_from).min(all.len().saturating_sub(1));
    let title = match (from, all.iter().any(|row| row.forecast.is_some())) {
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
    let needed: usize = all
        .iter()
        .skip(from)
        .map(|row| 1 + usize::from(row.forecast.is_some()) + usize::from(row.promised.is_some()))
        .sum();
    let space = if needed > space { space.saturating_sub(1) } else { space };
    let mut below = all.len().saturating_sub(from);
    for row in all.iter().skip(from) {
        let rows = pane_row(model, row, theme, width);
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

/// Bar, time left, and what it is; below it the forecast, where that says something else.
fn pane_row(model: &Model, row: &Row, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    // narrow: a short bar and no code, so that the amount stays whole
    let narrow = width < 44;
    let cells = if narrow { 3 } else { 5 };
    let bar = signs::bar(row.tenths, cells, theme);
    let band = row.band.trim_end_matches([' ', 'd', 'h']);
    let left = if band.is_empty() { row.left.clone() } else { format!("{} {band}", fit::pad(&row.left, 5)) };
    let left = fit::pad(&left, 10);
    // the shorter the figure, the more room for the name; amounts stay below each other
    let long = if narrow { 21_usize } else { 25 }.saturating_sub(fit::columns(&left));
    let head = format!("{bar} {left} {}", fit::pad(&fit::cut(&row.name, long, *theme), long));
    let tail = if narrow { format!(" {}", row.amount) } else { format!(" {:<8} {}", row.amount, row.code) };
    let rest = width.saturating_sub(fit::columns(&head));
    let first = Line::from(vec![
        Span::styled(fit::cut(&head, width, *theme), theme.style(role(row, model.today()))),
        Span::styled(fit::cut(&tail, rest, *theme), theme.style(Role::Text)),
    ]);
    let ahead = row.forecast.map(|window| {
        let text = format!("{} forecast {}", " ".repeat(cells), window.words(model.today()));
        Line::styled(fit::cut(&text, width, *theme), theme.style(Role::Quiet))
    });
    let wanted = row.promised.map(|(n, outlasts)| {
        let (why, role) = if outlasts { (", may not last", Role::Soon) } else { ("", Role::Quiet) };
        let text = format!("{} {n} promised{why}", " ".repeat(cells));
        Line::styled(fit::cut(&text, width, *theme), theme.style(role))
    });
    std::iter::once(first).chain(ahead).chain(wanted).collect()
}

/// Columns from which the list has room for codes.
const WITH_CODE: u16 = 96;

/// The whole screen: one row each, then the row under the cursor in words.
pub(super) fn draw(model: &Model, state: State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let only = state.only.filter(|only| *only != Only::All);
    let title =
        only.map_or_else(|| "What runs out first".into(), |only| format!("What runs out first: {}", only.shown()));
    put(frame, head, [header(&title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::ShelfLife, theme, foot.width)]);
    let all = rows(model, state.only);
    let at = state.at.min(all.len().saturating_sub(1));
    let Some(here) = all.get(at) else {
        put(frame, body, [line("Nothing of it is here.", Role::Text, theme, body.width)]);
        return;
    };
    let below = about(model, here, theme, body.width);
    let details = u16::try_from(below.len() + 1).unwrap_or(u16::MAX).min(body.height / 2);
    let space = usize::from(body.height - details).saturating_sub(1).max(1);
    let first = at.saturating_sub(space - 1);
    let titles = columns(["  left", "band", "last day", "what", "amount", "promised", "lot or batch"], body.width);
    let mut shown = vec![line(&titles, Role::Quiet, theme, body.width)];
    shown.extend(all.iter().enumerate().skip(first).take(space).map(|(n, row)| {
        let mark = if n == at { ">" } else { " " };
        let name = fit::cut(&row.name, 20, *theme);
        let (left, until) = (format!("{mark} {}", row.left), last_day(row));
        let text = columns([&left, &row.band, &until, &name, &row.amount, &promised(row), &row.code], body.width);
        line(&text, if n == at { Role::Cursor } else { role(row, model.today()) }, theme, body.width)
    }));
    shown.push(Line::default());
    put(frame, body, shown.into_iter().chain(below));
}

/// `14 Jul`; of seed with its year.
fn last_day(row: &Row) -> String {
    let form = if row.only == Only::Seed { "%b %Y" } else { "%d %b" };
    row.until.map_or_else(String::new, |day| day.format(form).to_string())
}

fn columns([left, band, until, name, amount, promised, code]: [&str; 7], width: u16) -> String {
    let code = if width < WITH_CODE { "" } else { code };
    format!(
        "{} {} {} {}{amount:>9}  {} {code}",
        fit::pad(left, 11),
        fit::pad(band, 10),
        fit::pad(until, 8),
        fit::pad(name, 20),
        fit::pad(promised, 9)
    )
    .trim_end()
    .to_string()
}

/// How much is promised; `!` where a promise outlasts it.
fn promised(row: &Row) -> String {
    row.promised.map_or_else(String::new, |(n, outlasts)| if outlasts { format!("{n} !") } else { n.to_string() })
}

/// The row under the cursor in whole sentences.
fn about(model: &Model, row: &Row, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let mut lines = vec![line(&format!("{}  {}", row.code, row.name), Role::Title, theme, width)];
    let mut say = |text: String, role: Role| {
        let rows = fit::wrap(&text, usize::from(width)).into_iter();
        lines.extend(rows.map(|row| Line::styled(row, theme.style(role))));
    };
    let band = if row.band.is_empty() { String::new() } else { format!(", between {}", row.band) };
    let left = if row.left.is_empty() { "no figure".into() } else { row.left.clone() };
    let until = row.until.map_or_else(String::new, |day| format!("; last day {}", day.format("%a %d %b %Y")));
    let keeps = match row.left.as_str() {
        "PAST" => "PAST its last day; by the sum it would keep".into(),
        "FREEZING" => "no figure: it was at or below freezing; open it and look".into(),
        "UNKNOWN" => {
            "no figure: for some of the time nobody measured; someone who may decide says what becomes of it".into()
        }
        "NO RECORD" => "no figure: its store has no readings".into(),
        _ if matches!(row.what, What::Other(_)) => left,
        _ => format!("keeps {left}"),
    };
    say(format!("{keeps}{band}{until}"), role(row, model.today()));
    if !row.marks.is_empty() {
        say(format!("marked: {}", row.marks.join(", ")), Role::Soon);
    }
    if let Some(window) = row.forecast {
        say(format!("by forecast {}", window.words(model.today())), Role::Text);
    }
    match row.promised {
        Some((n, true)) => say(
            format!(
                "{n} promised, and one order is for a day on which this may be over: bring it earlier, or cut again"
            ),
            Role::Soon,
        ),
        Some((n, false)) => say(format!("{n} promised of its product"), Role::Text),
        None => {}
    }
    say(NO_CLEARANCE.into(), Role::Quiet);
    lines
}
