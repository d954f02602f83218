//! Where trouble comes from, as a page: of mould, suspects, losses or complaints, over some weeks.

use super::{help, text};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::cause::{self, Asked, Counted, Findings, Of};
use crate::domain::room::Place;
use crate::domain::text::counted;

/// What is asked, what it came to, and the first line shown.
#[derive(Debug, Clone)]
pub struct State {
    pub asked: Asked,
    /// Unknown until it is loaded.
    pub found: Option<Box<Findings>>,
    pub from: usize,
}

impl State {
    fn new(asked: Asked) -> Self {
        Self { asked, found: None, from: 0 }
    }
}

/// `Where trouble comes from: losses, 8 weeks`.
pub fn title(state: &State) -> String {
    let Asked { of, only, weeks } = state.asked;
    let only = only.map_or_else(String::new, |only| format!(", {}", only.shown()));
    let weeks = counted(usize::try_from(weeks).unwrap_or(0), "week");
    format!("Where trouble comes from: {}{only}, {weeks}", of.shown())
}

/// Opens the page for what is bad, over the usual weeks.
pub fn open(model: &mut Model, of: Of) -> Vec<Effect> {
    let asked = Asked::of(of);
    model.open(Screen::Cause(State::new(asked)));
    vec![Effect::Load(Query::Cause(asked))]
}

pub fn loaded(model: &mut Model, counted: Counted) {
    let state = model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Cause(state) => Some(state),
        _ => None,
    });
    if let Some(state) = state.filter(|state| state.asked == counted.asked) {
        state.found = Some(Box::new(Findings::of(counted)));
    }
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::Cause(state)) = model.screens.last_mut() else { return vec![] };
    let asked = match command {
        // the same key again goes through the kinds that there are
        Command::Of(of) if of == state.asked.of => {
            let only = state.found.as_ref().and_then(|found| found.counted.next_kind());
            Asked { only, ..state.asked }
        }
        Command::Of(of) => Asked { weeks: state.asked.weeks, ..Asked::of(of) },
        Command::Weeks => state.asked.other_weeks(),
        Command::Why => {
            if let Some(found) = &state.found {
                let lines = cause::why(found);
                text::open(model, "How it was counted", lines);
            }
            return vec![];
        }
        _ => {
            help::command(model, command);
            return vec![];
        }
    };
    *state = State::new(asked);
    vec![Effect::Load(Query::Cause(asked))]
}

/// The page, a line each.
pub fn lines(model: &Model, state: &State) -> Vec<String> {
    let Some(found) = &state.found else { return vec!["Counting ...".into()] };
    let mut lines = cause::lines(found);
    lines.extend(heat(model, &found.counted));
    lines
}

/// Each rack as it stands: x of n at every place where trays began, `.` where none did.
fn heat(model: &Model, counted: &Counted) -> Vec<String> {
    let of = counted.by_place();
    if of.is_empty() {
        return vec![];
    }
    let cell = |place: &Place| of.get(&place.id).map_or_else(|| ".".to_string(), |(x, n)| format!("{x}/{n}"));
    let mut lines = Vec::new();
    for rack in &model.board.racks {
        lines.extend([String::new(), format!("Rack {}, where they began: how many of how many", rack.name)]);
        for shelf in rack.shelves() {
            let cells: Vec<String> = rack.on_shelf(shelf).map(|place| format!("{:>6}", cell(place))).collect();
            lines.push(format!("{shelf:>2} {}", cells.concat()));
        }
    }
    lines
}
