//! The story of a tray, a lot, or the whole room: its entries, newest first.

use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::history::{EntryLine, Of};

/// Entries fetched at a time.
pub const PAGE: u32 = 200;

/// What is told and how far one has read.
#[derive(Debug, Clone)]
pub struct State {
    pub of: Of,
    pub title: String,
    pub lines: Vec<EntryLine>,
    pub from: usize,
    /// Older entries may still be in the book.
    pub more: bool,
}

pub fn open(model: &mut Model, of: Of, title: &str) -> Vec<Effect> {
    model.open(Screen::Story(State { of, title: title.to_string(), lines: vec![], from: 0, more: true }));
    vec![Effect::Load(Query::History(of, None))]
}

pub fn loaded(model: &mut Model, of: Of, older: bool, lines: Vec<EntryLine>) {
    let Some(Screen::Story(state)) = model.screens.last_mut() else { return };
    if state.of != of {
        return;
    }
    state.more = lines.len() >= PAGE as usize;
    if older {
        state.lines.extend(lines);
    } else {
        state.lines = lines;
        state.from = state.from.min(state.lines.len().saturating_sub(1));
    }
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let page = usize::from(model.size.1).saturating_sub(6).max(1);
    let Some(Screen::Story(state)) = model.screens.last_mut() else { return vec![] };
    let last = state.lines.len().saturating_sub(1);
    state.from = match command {
        Command::Up => state.from.saturating_sub(1),
        Command::Down => (state.from + 1).min(last),
        Command::PageUp => state.from.saturating_sub(page),
        Command::PageDown => (state.from + page).min(last),
        Command::First => 0,
        Command::Last => last,
        Command::Back => {
            model.back();
            return vec![];
        }
        _ => state.from,
    };
    let ahead = state.from + 2 * page >= state.lines.len();
    match state.lines.last() {
        Some(oldest) if state.more && ahead => {
            state.more = false;
            vec![Effect::Load(Query::History(state.of, Some(oldest.id)))]
        }
        _ => vec![],
    }
}
