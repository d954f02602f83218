//! The call sheet of a recall: whom to call, who was reached, where everything is, how long it takes.

use super::forms::FormKind;
use super::forms::calls::Of as Form;
use super::{answer, form_page, sold, story, text};
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::history::Of;
use crate::domain::id::RecallId;
use crate::domain::recall::{Balance, Call, Line, Recall, outcome};
use crate::domain::seed_lot::percent;
use crate::domain::text::sentence_case;

/// Which recall, and where the cursor is.
#[derive(Debug, Clone, Copy)]
pub struct State {
    pub recall: RecallId,
    pub at: usize,
}

pub fn open(model: &mut Model, recall: RecallId) {
    if model.answers.recall(recall).is_none() {
        model.refuse("This recall was taken back.");
        return;
    }
    model.open(Screen::Calls(State { recall, at: 0 }));
}

/// The recall on top and the line under the cursor.
fn here(model: &Model) -> Option<(&Recall, Option<&Call>)> {
    let Some(Screen::Calls(state)) = model.top() else { return None };
    let recall = model.answers.recall(state.recall)?;
    Some((recall, recall.calls.get(state.at)))
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some((recall, call)) = here(model) else {
        model.back();
        return vec![];
    };
    let (id, line, last) = (recall.id, call.map(|call| call.line), recall.calls.len().saturating_sub(1));
    if let Command::Balance = command {
        let lines = balance(model, recall);
        text::open(model, "Where everything is", lines);
        return vec![];
    }
    let over = recall.scored.is_some() || !recall.exercise;
    if let Some(Screen::Calls(state)) = model.screens.last_mut() {
        state.at = match command {
            Command::Up => state.at.saturating_sub(1),
            Command::Down => (state.at + 1).min(last),
            Command::PageUp => state.at.saturating_sub(10),
            Command::PageDown => (state.at + 10).min(last),
            _ => state.at.min(last),
        };
    }
    match (command, line) {
        (Command::Back, _) => {
            let complaint = model.answers.recall(id).and_then(|recall| recall.complaint);
            model.back();
            if let (Some(complaint), Some(Screen::Room(_))) = (complaint, model.top()) {
                return answer::fetch(model, answer::Next::Complaint(complaint));
            }
        }
        (Command::PrintLabel, _) => return vec![Effect::PrintCalls(id)],
        (Command::EndExercise, _) if over => {
            model.refuse(
                "Only an exercise that goes on is ended here: a recall ends when its hold is decided (d in the room).",
            );
        }
        (Command::EndExercise, _) => form_page::open(model, FormKind::Calls(Form::End(id))),
        (Command::Reached | Command::NotReached | Command::Open | Command::Story | Command::Returned, None) => {
            model.refuse("Nobody outside has any of it: there is nobody to call.");
        }
        (Command::Reached, Some(line)) => return reached(id, line, true),
        (Command::NotReached, Some(line)) => return reached(id, line, false),
        (Command::Open, Some(line)) => form_page::open(model, FormKind::Calls(Form::Contact(id, line))),
        (Command::Returned, Some(Line::Delivery(delivery))) => return sold::open(model, sold::Ask::Delivery(delivery)),
        (Command::Returned, Some(Line::Notice(_))) => {
            model.refuse("What the public brings back is binned: write it down as a note.");
        }
        (Command::Story, Some(Line::Delivery(delivery))) => {
            return story::open(model, Of::Delivery(delivery), &format!("Delivery {}", delivery.0));
        }
        (Command::Story, Some(Line::Notice(round))) => {
            return story::open(model, Of::Round(round), &format!("Round or stall {}", round.0));
        }
        _ => {}
    }
    vec![]
}

fn reached(recall: RecallId, line: Line, reached: bool) -> Vec<Effect> {
    vec![Effect::Act(Box::new(Action::Contact { recall, line, reached, destroyed: None, note: None }))]
}

/// The next line that nobody has reached, after one was.
pub fn acted(model: &mut Model, action: &Action) {
    let Action::Contact { recall, line, reached: true, .. } = action else { return };
    let Some(found) = model.answers.recall(*recall) else { return };
    let called = found.calls.iter().find(|call| call.line == *line);
    let open = |call: &Call| !call.reached() && !called.is_some_and(|called| call.to(called));
    let next = found.calls.iter().position(open);
    if let (Some(next), Some(Screen::Calls(state))) = (next, model.screens.last_mut()) {
        state.at = next;
    }
}

/// Above the lines: the exercise mark, the clock, and what is still missing.
pub fn head(model: &Model, recall: &Recall) -> Vec<String> {
    let (all, missing) = recall.packs();
    let mut lines = Vec::new();
    if recall.exercise {
        lines.push("EXERCISE: nobody is called, nothing is held; look each line up as if it were true.".to_string());
    }
    lines.extend(recall.clock(&model.answers.answering, model.now.instant()));
    lines.push(match missing {
        0 => format!("{all} packs went out; whoever has them knows."),
        missing => format!("{all} packs went out; whoever has {missing} of them does not know yet."),
    });
    if recall.given() > 0 {
        let given = recall.given();
        lines.push(format!("{given} given away, those by hand on no line below: the lots' stories say to whom."));
    }
    if let Some(scored) = &recall.scored {
        let balance = scored.balance_pm.map_or_else(String::new, |pm| format!(", balance {}", percent(pm)));
        lines.push(format!(
            "Over: found {}{balance}, {} min. Gaps: {}",
            percent(scored.found_pm),
            scored.minutes,
            scored.gaps
        ));
    }
    lines
}

/// The line under the cursor in whole sentences.
pub fn about(model: &Model, call: &Call) -> Vec<String> {
    let lots: Vec<String> = call
        .lots
        .iter()
        .map(|lot| {
            let back = if lot.returned > 0 { format!(", {} came back", lot.returned) } else { String::new() };
            format!("{} x {} {}{back}", lot.packs, lot.product, lot.code)
        })
        .collect();
    let mut lines = match call.line {
        Line::Delivery(id) => {
            let phone = if call.phone.is_empty() { "no phone" } else { &call.phone };
            vec![
                format!("{}, {phone}; {}", call.name, call.address),
                format!("Delivery {} of {}: {}.", id.0, call.day, lots.join("; ")),
            ]
        }
        Line::Notice(_) => vec![
            format!("Sold to the public: {}, {}, {}.", call.name, call.day, call.address),
            format!("Post a notice where they bought it: {}.", lots.join("; ")),
        ],
    };
    if let Some((reached, at, who)) = &call.tried {
        let what = sentence_case(outcome(matches!(call.line, Line::Notice(_)), *reached));
        let note = call.note.as_ref().map_or_else(String::new, |note| format!(" They said: {note}"));
        let gone = if call.destroyed > 0 { format!(" {} destroyed there.", call.destroyed) } else { String::new() };
        lines.push(format!("{what} {}, {who}.{gone}{note}", model.now.local(*at).format("%a %d %b %H:%M")));
    }
    lines
}

/// Where everything of each lot is, and how far the sum is off.
fn balance(model: &Model, recall: &Recall) -> Vec<String> {
    let units = model.board.units();
    let mut lines = Vec::new();
    for Balance { code, name, unit, account, .. } in &recall.balances {
        let said = |n: i64| if *unit == "g" { units.weight(n * 1000) } else { n.to_string() };
        let sum = account.accounted_pm().map_or_else(
            || "nothing was made of it".to_string(),
            |pm| match pm {
                1000 => "100 %: everything is accounted for".to_string(),
                pm if pm < 1000 => format!("{}: {} {unit} MISSING", percent(pm), said(account.made - account.sum())),
                pm => format!("{}: {} {unit} TOO MANY", percent(pm), said(account.sum() - account.made)),
            },
        );
        lines.push(format!("{code} {name}: made {}; {}.", said(account.made), account.places(said).join(", ")));
        lines.push(format!("  accounted for {sum}."));
    }
    if lines.is_empty() {
        lines.push("No lot was made of it.".into());
    }
    lines
}
