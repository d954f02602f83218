//! What stood beside a tray, and when.

use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::beside::Beside;
use crate::domain::code::Code;
use crate::domain::id::TrayId;

/// The tray in question and the first line shown.
#[derive(Debug, Clone)]
pub struct State {
    pub tray: TrayId,
    /// Unknown until it is loaded.
    pub found: Option<Vec<Beside>>,
    pub from: usize,
}

pub fn open(model: &mut Model, tray: TrayId) -> Vec<Effect> {
    model.open(Screen::Beside(State { tray, found: None, from: 0 }));
    vec![Effect::Load(Query::Beside(tray))]
}

pub fn loaded(model: &mut Model, found: Vec<Beside>) {
    if let Some(Screen::Beside(state)) = model.screens.last_mut() {
        state.found = Some(found);
    }
}

pub fn title(state: &State) -> String {
    format!("Beside tray {}", Code::tray(state.tray.0))
}

/// The page, a line each.
pub fn lines(model: &Model, state: &State) -> Vec<String> {
    let Some(found) = &state.found else { return vec!["Looking it up ...".into()] };
    if found.is_empty() {
        return vec!["Nothing stood next to it, above it or below it.".into()];
    }
    let mut lines = vec![
        "Next to it, above or below, or in one stack with it; the newest first.".to_string(),
        "Where a tray was moved at an unknown time, both places count for all of that time.".to_string(),
        String::new(),
    ];
    lines.extend(found.iter().map(|beside| {
        let (code, place) = (Code::tray(beside.tray.0), beside.place.label());
        format!("{code}  {}  {place}  {}", beside.letters, beside.when(model.now))
    }));
    lines
}
