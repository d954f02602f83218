//! Where trouble comes from, as a page.

use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::rates::{By, Group, Outcome, SPAN_D, by_place, groups};
use crate::domain::room::Place;

/// What became of the trays, and the first line shown.
#[derive(Debug, Clone, Default)]
pub struct State {
    /// Unknown until it is loaded.
    pub outcomes: Option<Vec<Outcome>>,
    pub from: usize,
}

pub const TITLE: &str = "Where trouble comes from";

pub fn open(model: &mut Model) -> Vec<Effect> {
    model.open(Screen::Rates(State::default()));
    vec![Effect::Load(Query::Outcomes(model.today() - chrono::Duration::days(SPAN_D)))]
}

pub fn loaded(model: &mut Model, outcomes: Vec<Outcome>) {
    let state = model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Rates(state) => Some(state),
        _ => None,
    });
    if let Some(state) = state {
        state.outcomes = Some(outcomes);
    }
}

/// The page, a line each.
pub fn lines(model: &Model, state: &State) -> Vec<String> {
    let Some(outcomes) = &state.outcomes else { return vec!["Counting ...".into()] };
    if outcomes.is_empty() {
        return vec![format!("No tray was sown in the last {} weeks.", SPAN_D / 7)];
    }
    let bad = outcomes.iter().filter(|outcome| outcome.bad).count();
    let suspects = outcomes.iter().filter(|outcome| outcome.suspect).count();
    let mut lines = vec![
        format!(
            "Of {} trays sown in the last {} weeks {bad} went bad: a check named mould or rot, fuzz stood and was not \
             cleared, or they were lost to it. Suspect at some time, with those: {suspects}.",
            outcomes.len(),
            SPAN_D / 7
        ),
        "In brackets where the true share lies, 95 of 100 times. Trays of one shelf fail together, so it may be wider."
            .into(),
    ];
    let groups = groups(outcomes);
    let compared = groups.iter().filter(|group| group.q.is_some()).count();
    let called = groups.iter().filter(|group| group.called).count();
    for by in By::ALL.iter().filter(|by| groups.iter().any(|group| group.by == **by)) {
        lines.extend([String::new(), by.shown().to_string()]);
        lines.extend(groups.iter().filter(|group| group.by == *by).map(Group::words));
    }
    lines.extend([
        String::new(),
        format!(
            "{compared} lines were compared with all other trays, and {} from them by more than chance. What differs is \
             worth a trial, not proved; and no share clears a tray.",
            match called {
                0 => "none differs".to_string(),
                1 => "1, marked >, differs".to_string(),
                n => format!("{n}, marked >, differ"),
            }
        ),
    ]);
    lines.extend(heat(model, outcomes));
    lines
}

/// Each rack as it stands: x of n at every place where trays began, `.` where none did.
fn heat(model: &Model, outcomes: &[Outcome]) -> Vec<String> {
    let of = by_place(outcomes);
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
