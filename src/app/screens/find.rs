//! A command found by its words: the commands of the screen below, fewer with each letter typed.

use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::key::Key;
use crate::app::keys::{self, Context, Entry};
use crate::app::model::{Model, Screen};
use crate::app::update::on_command;
use crate::domain::text::clean_line;

/// Graphemes that can be typed.
const MOST: usize = 40;
/// Lines that a page key passes.
const PAGE: usize = 10;

/// Whose commands, what was typed so far, and the marked line.
#[derive(Debug, Clone)]
pub struct State {
    pub context: Context,
    pub typed: String,
    pub at: usize,
}

impl State {
    pub fn new(context: Context) -> Self {
        Self { context, typed: String::new(), at: 0 }
    }

    /// Commands with every typed word in their sentence, or with the typed text as their key.
    pub fn found(&self) -> Vec<Entry> {
        let typed = self.typed.trim().to_lowercase();
        let fits = |entry: &Entry| {
            let sentence = entry.sentence.to_lowercase();
            typed.split(' ').all(|word| sentence.contains(word))
                || entry.keys.split(", ").any(|key| key.to_lowercase() == typed)
        };
        keys::entries(self.context).into_iter().filter(|entry| entry.command != Command::Find && fits(entry)).collect()
    }

    /// Adds what was typed or pasted, cleaned.
    fn add(&mut self, text: &str) {
        self.typed = clean_line(&format!("{}{text}", self.typed), MOST).text;
        self.at = 0;
    }
}

/// A key: those of the table first, any other character is typed.
pub fn key(model: &mut Model, key: Key) -> Vec<Effect> {
    let Some(Screen::Find(state)) = model.screens.last_mut() else { return vec![] };
    let found = state.found();
    let last = found.len().saturating_sub(1);
    match (keys::command(Context::Find, key), key) {
        (Some(Command::Back), _) => model.back(),
        (Some(Command::Open), _) => {
            let Some(entry) = found.get(state.at) else {
                model.refuse("No command is found: Backspace takes a letter back.");
                return vec![];
            };
            model.back();
            return on_command(model, entry.command);
        }
        (Some(Command::Erase), _) => {
            state.typed.pop();
            state.at = 0;
        }
        (Some(Command::Up), _) => state.at = state.at.saturating_sub(1),
        (Some(Command::Down), _) => state.at = (state.at + 1).min(last),
        (Some(Command::PageUp), _) => state.at = state.at.saturating_sub(PAGE),
        (Some(Command::PageDown), _) => state.at = (state.at + PAGE).min(last),
        (_, Key::Char(letter)) => state.add(letter.encode_utf8(&mut [0; 4])),
        _ => {}
    }
    vec![]
}

/// Pasted text is typed.
pub fn paste(state: &mut State, text: &str) {
    state.add(text);
}
