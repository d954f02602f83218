//! Suspect trays, the most urgent first; below them all that is known of the one under the cursor.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::suspects::{CAUTION, State, line_of};
use crate::domain::suspect::{AtRisk, Decided, Suspect};

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let suspects = model.suspects();
    let title = format!("Suspect trays: {}", suspects.len());
    put(frame, head, [header(&title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Suspects, theme, foot.width)]);
    let at = line_of(state, &suspects);
    let Some(here) = suspects.get(at) else {
        put(frame, body, [line("No tray is suspect.", Role::Text, theme, body.width)]);
        return;
    };
    let below = about(model, here, theme, body.width);
    let details = u16::try_from(below.len() + 1).unwrap_or(u16::MAX).min(body.height * 2 / 3);
    let top = usize::from(body.height - details);
    let mut lines = wrapped(CAUTION, Role::Soon, theme, body.width);
    lines.truncate(top.saturating_sub(1));
    let rows = (top - lines.len()).max(1);
    let first = at.saturating_sub(rows - 1);
    let shown = suspects.iter().enumerate().skip(first).take(rows);
    lines.extend(shown.map(|(n, suspect)| row(model, suspect, n == at, theme, body.width)));
    put(frame, Rect::new(body.x, body.y, body.width, body.height - details), lines);
    let below = std::iter::once(Line::default()).chain(below);
    put(frame, Rect::new(body.x, body.bottom() - details, body.width, details), below);
}

fn row(model: &Model, suspect: &Suspect, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let Some(card) = model.tray_card(suspect.tray) else { return Line::default() };
    let place = if model.board.tray(suspect.tray).is_some() { card.stands() } else { "MISSING".into() };
    let overdue = suspect.next.overdue(model.now);
    let text = format!(
        "{} {}  {}  {}  {}{}",
        if here { ">" } else { " " },
        fit::pad(&card.code(), 7),
        fit::pad(&card.letters, 3),
        fit::pad(&place, 9),
        if overdue { "OVERDUE  " } else { "" },
        suspect.reason.words(),
    );
    let role = match (here, overdue) {
        (true, _) => Role::Cursor,
        (false, true) => Role::Alarm,
        (false, false) => Role::Text,
    };
    line(&text, role, theme, width)
}

fn wrapped(text: &str, role: Role, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    fit::wrap(text, usize::from(width)).into_iter().map(|row| Line::styled(row, theme.style(role))).collect()
}

/// The suspect under the cursor in whole sentences.
fn about(model: &Model, suspect: &Suspect, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let Some(card) = model.tray_card(suspect.tray) else { return Vec::new() };
    let now = model.now;
    let moment = |at| now.local(at).format("%a %d %b %H:%M").to_string();
    let place = match model.board.missing(suspect.tray) {
        Some(missing) => format!("MISSING, {}", missing.words(now)),
        None => format!("{}, {}", card.stands(), card.place.zone.shown()),
    };
    let seed = if suspect.seed.is_empty() { "not recorded".into() } else { suspect.seed.join(", ") };
    let decided = |decided: &Decided| format!("{} by {}, {}", decided.what.shown(), decided.who, moment(decided.at));
    let decided = suspect.decided.as_ref().map_or_else(|| "nothing yet".to_string(), decided);
    let overdue = suspect.next.overdue(now);
    let mut lines = vec![line(
        &format!("{}  {}, day {}", card.code(), card.crop_name, card.day(model.today())),
        Role::Title,
        theme,
        width,
    )];
    let risk: Vec<String> = suspect.risk.iter().map(AtRisk::words).collect();
    let risk = if risk.is_empty() { "nothing known".into() } else { risk.join(", ") };
    for (text, role) in [
        (suspect.next.words(now), if overdue { Role::Alarm } else { Role::Soon }),
        (format!("suspect since {}: {}", moment(suspect.since), suspect.reason.words()), Role::Text),
        (format!("stands at {place}"), Role::Text),
        (format!("batch {}, seed lot {seed}", card.sowing_code), Role::Text),
        (format!("decided: {decided}"), Role::Text),
        (format!("at risk: {risk}"), Role::Text),
    ] {
        lines.extend(wrapped(&text, role, theme, width));
    }
    lines
}
