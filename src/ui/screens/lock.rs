//! The locked keyboard: one sentence in the middle of nothing.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::screens::lock::{PRESSES, State};

pub(super) fn draw(state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let left = PRESSES.saturating_sub(state.pressed);
    let sentences = [
        ("The keyboard is locked: wipe it.".to_string(), Role::Title),
        ("No key does anything now, and nothing is written.".to_string(), Role::Text),
        (format!("Press Enter three times, slowly, to unlock: {left} to go."), Role::Text),
    ];
    let width = usize::from(area.width.saturating_sub(2));
    let mut lines = vec![Line::default(); usize::from(area.height / 4)];
    for (sentence, role) in sentences {
        let rows = fit::wrap(&sentence, width);
        lines.extend(rows.into_iter().map(|row| Line::styled(format!(" {row}"), theme.style(role))));
    }
    let (_, body, _, foot) = frame_rows(area);
    put(frame, body, lines);
    put(frame, foot, [footer(Context::Locked, theme, foot.width)]);
}
