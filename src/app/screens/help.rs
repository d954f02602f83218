//! All keys, from the table; letters typed narrow it down.

use super::{beside, cause, seed_page, walk_end, why};
use crate::app::command::Command;
use crate::app::keys::{Context, table};
use crate::app::model::{Model, Screen};
use crate::domain::text::columns;

/// The context help was asked from comes first.
#[derive(Debug, Clone)]
pub struct State {
    pub context: Context,
    pub from: usize,
    /// Only lines with this in them.
    pub filter: String,
}

impl State {
    pub fn new(context: Context) -> Self {
        Self { context, from: 0, filter: String::new() }
    }

    /// Heading or key and sentence, line by line.
    pub fn lines(&self) -> Vec<(Option<String>, String)> {
        let mut contexts: Vec<Context> = Context::ALL.to_vec();
        contexts.sort_by_key(|context| *context != self.context);
        let wanted = self.filter.to_lowercase();
        let mut lines = Vec::new();
        for context in contexts {
            let rows: Vec<_> = table(context)
                .into_iter()
                .filter(|(keys, sentence)| sentence.to_lowercase().contains(&wanted) || keys.to_lowercase() == wanted)
                .collect();
            if !rows.is_empty() {
                lines.push((None, context.title().to_string()));
                lines.extend(rows.into_iter().map(|(keys, sentence)| (Some(keys), sentence.to_string())));
            }
        }
        lines
    }
}

/// Scrolls help, the end of a walk, or why.
pub fn command(model: &mut Model, command: Command) {
    let page = usize::from(model.size.1).saturating_sub(6).max(1);
    let width = usize::from(model.size.0);
    let last = match model.top() {
        Some(Screen::Help(state)) => state.lines().len().saturating_sub(page),
        Some(Screen::WalkEnd(state)) => walk_end::lines(model, &state.walk).len().saturating_sub(page),
        Some(Screen::Why(state)) => last_page(&why::lines(model, state), page, width),
        Some(Screen::Beside(state)) => last_page(&beside::lines(model, state), page, width),
        Some(Screen::Cause(state)) => last_page(&cause::lines(model, state), page, width),
        Some(Screen::SeedPage(state)) => last_page(&seed_page::lines(model, state), page, width),
        Some(Screen::Text(state)) => last_page(&state.lines, page, width),
        _ => 0,
    };
    let from = match model.screens.last_mut() {
        Some(Screen::Help(state)) => &mut state.from,
        Some(Screen::WalkEnd(state)) => &mut state.from,
        Some(Screen::Why(state)) => &mut state.from,
        Some(Screen::Beside(state)) => &mut state.from,
        Some(Screen::Cause(state)) => &mut state.from,
        Some(Screen::SeedPage(state)) => &mut state.from,
        Some(Screen::Text(state)) => &mut state.from,
        _ => return,
    };
    *from = match command {
        Command::Up => from.saturating_sub(1),
        Command::Down => (*from + 1).min(last),
        Command::PageUp => from.saturating_sub(page),
        Command::PageDown => (*from + page).min(last),
        Command::First => 0,
        Command::Last => last,
        Command::Back => {
            model.back();
            return;
        }
        _ => *from,
    };
}

/// The line from which on the rest fits on a page, at the most rows that its long lines may take.
fn last_page(lines: &[String], page: usize, width: usize) -> usize {
    let rows = |line: &String| match columns(line) {
        wide if wide + 2 > width => wide / width.saturating_sub(10).max(1) + 1,
        _ => 1,
    };
    let mut free = page;
    let fits = lines.iter().rev().take_while(|line| {
        let rows = rows(line);
        let fits = rows <= free;
        free = free.saturating_sub(rows);
        fits
    });
    lines.len() - fits.count().max(1).min(lines.len())
}

/// A letter narrows help down, Backspace widens it. Says whether the key was taken.
pub fn filter(state: &mut State, key: crate::app::key::Key) -> bool {
    use crate::app::key::Key;
    match key {
        Key::Char(letter) if letter != ' ' || !state.filter.is_empty() => {
            state.filter.push(letter);
            state.from = 0;
            true
        }
        Key::Backspace => {
            state.filter.pop();
            state.from = 0;
            true
        }
        _ => false,
    }
}
