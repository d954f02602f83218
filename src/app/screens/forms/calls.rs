//! What someone on a call sheet said, and the end of an exercise.

use super::{range, scaled, some_text};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::RecallId;
use crate::domain::recall::Line;
use crate::domain::seed_lot::percent;
use crate::domain::text::NOTE_GRAPHEMES;

/// Which of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Contact(RecallId, Line),
    End(RecallId),
}

pub(super) fn build(model: &Model, of: Of) -> Form {
    match of {
        Of::Contact(id, line) => contact(model, id, line),
        Of::End(id) => end(model, id),
    }
}

fn contact(model: &Model, id: RecallId, line: Line) -> Form {
    let call = model.answers.recall(id).and_then(|recall| recall.calls.iter().find(|call| call.line == line));
    let most = call.map_or(0, |call| call.packs() - call.returned());
    let reached = call.is_some_and(crate::domain::recall::Call::reached);
    #[expect(clippy::cast_precision_loss, reason = "packs of one delivery")]
    let limit = range("packs", 0.0, most as f64, 0);
    let mut fields =
        vec![Field::yes_no("reached", "reached").required().starting(if reached { "yes" } else { "" }).swift()];
    if matches!(line, Line::Delivery(_)) {
        fields.push(
            Field::number("destroyed", "destroyed there", limit)
                .help("Packs they destroyed; what comes back is g on the sheet."),
        );
    }
    fields.push(Field::note("note", "what they said", NOTE_GRAPHEMES));
    let title = call.map_or_else(String::new, |call| format!("{}, {}", call.name, call.phone));
    Form::new(title, model.today(), fields)
}

fn end(model: &Model, id: RecallId) -> Form {
    let found = model.answers.recall(id).map_or(0, crate::domain::recall::Recall::found_pm);
    Form::new(
        "The exercise is over",
        model.today(),
        vec![
            Field::note("gaps", "gaps", NOTE_GRAPHEMES)
                .required()
                .help("What was missing or slow, and what will be changed; \"none\" if nothing was."),
        ],
    )
    .intro([format!(
        "Found {} of the packs that went out. It is kept for the yearly record, two years at least.",
        percent(found)
    )])
}

pub(super) fn action(of: Of, values: &Values) -> Action {
    match of {
        Of::Contact(recall, line) => Action::Contact {
            recall,
            line,
            reached: values.yes("reached"),
            destroyed: scaled(values, "destroyed", 1.0),
            note: some_text(values, "note"),
        },
        Of::End(recall) => Action::EndExercise { recall, gaps: values.text("gaps").to_string() },
    }
}
