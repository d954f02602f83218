//! Why something was done against a rule, and what someone who may decide makes of it.

use super::super::hold;
use super::Wrong;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::breach::{Verdict, said};
use crate::domain::hold::{NewHold, follows};
use crate::domain::id::{BreachId, ComplaintId, HoldId, PersonId};
use crate::domain::text::NOTE_GRAPHEMES;
use crate::domain::trace::Start;

pub(super) fn already(model: &Model, rule: &str) -> Form {
    Form::new(
        "It already happened",
        model.today(),
        vec![
            Field::note("reason", "why", NOTE_GRAPHEMES).required().help("One sentence that others understand later."),
        ],
    )
    .intro([
        format!("It is written down as done, and as a breach: {}.", said(rule)),
        "Your initials and the reason stand with it. It holds the trays until someone who may decide has decided."
            .into(),
    ])
}

pub(super) fn already_action(action: &Action, values: &Values) -> Action {
    Action::Already { action: Box::new(action.clone()), reason: values.text("reason").to_string() }
}

/// Who decides: the hands at the rack, if they may.
pub(super) fn decides(model: &Model) -> Field {
    let people = model.board.people.iter().filter(|person| !person.retired);
    let options = people
        .map(|person| {
            let opt = Opt::new(person.id.0.to_string(), person.initials.clone()).hint(person.name.clone());
            if person.may_decide { opt } else { opt.blocked("may not decide; ask someone who may.") }
        })
        .collect();
    let here = model.person().filter(|person| person.may_decide).map(|person| person.id.0.to_string());
    Field::choice("by", "who decides", options).required().starting(&here.unwrap_or_default())
}

/// The person chosen there.
pub(super) fn decider(values: &Values) -> Result<PersonId, Wrong> {
    values.text("by").parse().map(PersonId).map_err(|_| (Some("by"), "Say who decides.".to_string()))
}

pub(super) fn hold(model: &Model, what: &Start, title: &str) -> Form {
    let it = match what {
        Start::SeedLot(_) => {
            "It is not sown or soaked from now on. What grows of it is not cut, packed or sold, and what was cut already is held too."
        }
        Start::Mix(_) => {
            "It is not used from now on. What was treated with it is not cut, packed or sold, and what was cut already is held too."
        }
        Start::Material(_) => {
            "It is not used from now on. What was grown on it, treated with it or packed into it is held too."
        }
        _ => "It is not cut, packed or sold from now on, and what was cut already is held too.",
    };
    Form::new(
        format!("Hold: {title}"),
        model.today(),
        vec![Field::note("reason", "why", NOTE_GRAPHEMES).required().help("What was found, where, and who says so.")],
    )
    .intro([it, "Only someone who may decide lifts it (d in the room)."])
}

/// Hold what a trace began with, with what else is to be held, and the call sheet.
pub(super) fn hold_all(model: &Model, title: &str, call: bool) -> Form {
    let call = if call { "yes" } else { "no" };
    Form::new(
        format!("Hold: {title}"),
        model.today(),
        vec![
            Field::note("reason", "why", NOTE_GRAPHEMES).required().help("What was found, where, and who says so."),
            Field::yes_no("seed", "its seed lots too").required().starting("no").help("And everything else grown from them."),
            Field::yes_no("call", "make the call sheet").required().starting(call).help("Everybody who has any of it."),
        ],
    )
    .intro(["It, and everything made of it, is not sown, cut, packed, sold or given away until someone who may decide lifts it."])
}

pub(super) fn hold_all_action(what: &Start, complaint: Option<ComplaintId>, values: &Values) -> Action {
    Action::Hold(Box::new(NewHold {
        what: what.clone(),
        complaint,
        with_seed: values.yes("seed"),
        call: values.yes("call"),
        reason: values.text("reason").to_string(),
    }))
}

pub(super) fn decide(model: &Model, breach: BreachId, what: Verdict) -> Form {
    let title = match what {
        Verdict::Accepted => "Accept the breach",
        Verdict::Watch => "Watch the breach",
        Verdict::Thrown => "Throw out what is held",
    };
    let intro = model.board.breach(breach).map(|breach| {
        format!(
            "Entry {} by {}: {}. Reason: {}",
            breach.entry.0,
            breach.by(model.now),
            said(&breach.rule),
            breach.reason
        )
    });
    decision(model, title, intro.into_iter().chain([format!("Then {}.", what.follows())]))
}

pub(super) fn decide_hold(model: &Model, hold: HoldId, what: Verdict) -> Form {
    let gone = model.board.hold(hold).is_some_and(|hold| hold.gone() > 0);
    let title = match what {
        Verdict::Accepted => "Lift the hold",
        Verdict::Watch => "Decide another day",
        Verdict::Thrown if gone => "It was called back and destroyed",
        Verdict::Thrown => "Throw out what is held",
    };
    let intro = model.board.hold(hold).map(|hold| hold::said(hold, model));
    decision(model, title, intro.into_iter().chain([format!("Then {}.", follows(what, gone))]))
}

/// Who decides and why.
pub(super) fn decision(model: &Model, title: &str, intro: impl IntoIterator<Item = String>) -> Form {
    Form::new(
        title,
        model.today(),
        vec![
            decides(model),
            Field::note("reason", "reason", NOTE_GRAPHEMES).required().help("What the decision rests on."),
        ],
    )
    .intro(intro)
}

pub(super) fn decide_action(breach: BreachId, what: Verdict, values: &Values) -> Result<Action, Wrong> {
    Ok(Action::Decide { breach, what, by: decider(values)?, reason: values.text("reason").to_string() })
}

pub(super) fn decide_hold_action(hold: HoldId, what: Verdict, values: &Values) -> Result<Action, Wrong> {
    Ok(Action::DecideHold { hold, what, by: decider(values)?, reason: values.text("reason").to_string() })
}
