//! The week reviewed: a page of lines, one under the cursor, each as long as it needs.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::week::{State, lines, title};
use crate::domain::week::Part;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header(&title(state), model, Role::Title, theme, head.width)]);
    let width = usize::from(body.width).saturating_sub(3);
    let lines = lines(model, state, !theme.wide_signs);
    let at = state.at().min(lines.len().saturating_sub(1));
    let mut rows: Vec<Line<'static>> = Vec::new();
    let mut under = 0..0;
    for (n, line) in lines.iter().enumerate() {
        let from = rows.len();
        let words = line.text.trim_start();
        let indent = line.text.len() - words.len();
        let marked = n == at;
        let role = if marked { Role::Cursor } else { Role::Text };
        let opens = if line.opens.is_some() { "+" } else { " " };
        let parts = match words {
            "" => vec![String::new()],
            // a picture is made for the width and never broken
            _ if state.part() == Part::Pictures => vec![words.to_string()],
            _ => fit::wrap(words, width.saturating_sub(indent).max(width / 2)),
        };
        for (n, part) in parts.into_iter().enumerate() {
            let sign = if n == 0 { opens } else { " " };
            let mark = if marked && n == 0 { ">" } else { " " };
            let text = format!("{mark}{sign} {:indent$}{part}", "");
            rows.push(Line::styled(text, theme.style(role)));
        }
        if marked {
            under = from..rows.len();
        }
    }
    let height = usize::from(body.height).saturating_sub(1);
    // the line under the cursor is always whole where it fits, with what follows it
    let from = (under.end + 1).saturating_sub(height).min(under.start);
    let more = rows.len().saturating_sub(from) > height;
    let shown = rows.into_iter().skip(from);
    put(frame, body, std::iter::once(Line::default()).chain(shown));
    if more && body.height > 4 {
        // what goes on below is said, so that nobody takes the end of the screen for the end of the page
        let last = Rect { y: body.bottom() - 1, height: 1, ..body };
        let text = fit::pad("   ... more below: Down, PageDown", usize::from(last.width));
        put(frame, last, [Line::styled(text, theme.style(Role::Quiet))]);
    }
    put(frame, foot, [footer(Context::Week, theme, foot.width)]);
}
