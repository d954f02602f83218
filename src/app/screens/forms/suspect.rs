//! Who decides about a suspect tray, and on what it rests.

use super::Wrong;
use super::breach::{decider, decision};
use crate::app::form::{Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::TrayId;
use crate::domain::suspect::{Choice, Decision};

/// Clear or watch; setting apart takes no form.
pub(super) fn build(model: &Model, tray: TrayId, what: Decision) -> Form {
    let card = model.tray_card(tray);
    let code = card.map_or_else(String::new, crate::domain::tray::TrayCard::code);
    let why = model.board.suspect(tray).map(|suspect| {
        let since = model.now.local(suspect.since).format("%a %d %b %H:%M");
        format!("Suspect since {since}: {}.", suspect.reason.words())
    });
    let check = card.and_then(|card| card.checks.first()).map(|check| {
        let day = check.day.format("%a %d %b");
        format!("Newest check, {day} by {}: {}; {}.", check.who, check.verdict.shown(), check.signs.words())
    });
    let (title, then) = match what {
        Decision::Clear => (
            format!("Clear {code}"),
            "Then it is a tray like any other. Fuzz seen after this makes it suspect again. Are you sure it was the same spot?",
        ),
        _ => (format!("Watch {code}"), "Then it stays suspect and off sale, and wants its next look within a day."),
    };
    decision(model, &title, why.into_iter().chain(check).chain([then.into()]))
}

pub(super) fn action(model: &Model, tray: TrayId, what: Decision, values: &Values) -> Result<Action, Wrong> {
    let what = if what == Decision::Clear { Choice::Clear } else { Choice::Watch };
    let (walk, reason) = (model.walk_id(), values.text("reason").to_string());
    Ok(Action::DecideSuspect { walk, tray, what, by: decider(values)?, reason })
}
