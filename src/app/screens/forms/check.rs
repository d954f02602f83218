//! A check that was made, and what is checked how often.

use super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::check::{CheckKind, NewCheck, NewCheckKind};
use crate::domain::id::CheckKindId;

fn find(model: &Model, id: CheckKindId) -> Option<&CheckKind> {
    model.board.checks.iter().find(|kind| kind.id == id)
}

pub(super) fn note(model: &Model, id: CheckKindId) -> Form {
    let kind = find(model, id);
    let (name, limit) = kind.map_or(("", ""), |kind| (kind.name.as_str(), kind.limit.as_str()));
    let usual = kind.map(|kind| kind.remedy.as_str()).filter(|remedy| !remedy.is_empty());
    let remedy = usual.map_or_else(
        || "Needed where it failed.".to_string(),
        |remedy| format!("Where it failed; usual here: {remedy}."),
    );
    Form::new(
        format!("Check: {name}"),
        model.today(),
        vec![
            Field::text("result", "found", 200).required().help("A figure with its unit, or what was seen."),
            Field::yes_no("ok", "good enough").required(),
            Field::text("remedy", "done about it", 200).help(&remedy),
            Field::text("with", "with what", 200).help("Product and strength, or the source of the water."),
            Field::date("day", "done on", None, Some(model.today())).required().starting("today"),
            Field::text("file", "paper", 200).help("Where the report or photo is kept."),
        ],
    )
    .intro((!limit.is_empty()).then(|| format!("Good enough: {limit}.")))
}

pub(super) fn note_action(id: CheckKindId, values: &Values, model: &Model) -> Action {
    let text = |field: &str| values.text(field).trim().to_string();
    Action::NoteCheck(NewCheck {
        kind: id,
        day: values.date("day").unwrap_or_else(|| model.today()),
        result: text("result"),
        ok: values.yes("ok"),
        remedy: text("remedy"),
        with: text("with"),
        file: text("file"),
    })
}

pub(super) fn kind(model: &Model, id: Option<CheckKindId>) -> Form {
    let known = id.and_then(|id| find(model, id));
    let text = |of: fn(&CheckKind) -> &str| known.map_or("", of).to_string();
    let mut fields = vec![
        Field::text("name", "what is checked", 60).required().starting(&text(|kind| &kind.name)),
        Field::number("every", "every", range("d", 1.0, 1000.0, 0))
            .required()
            .starting(&known.map_or_else(String::new, |kind| kind.every_d.to_string())),
        Field::text("limit", "good enough", 200).starting(&text(|kind| &kind.limit)),
        Field::text("remedy", "if not", 200).starting(&text(|kind| &kind.remedy)),
    ];
    if known.is_some() {
        fields.push(Field::yes_no("used", "still kept").starting("yes"));
    }
    Form::new("A check of the room", model.today(), fields)
}

pub(super) fn kind_action(id: Option<CheckKindId>, rev: i64, values: &Values) -> Result<Action, Wrong> {
    let text = |field: &str| values.text(field).trim().to_string();
    let new = NewCheckKind {
        name: text("name"),
        every_d: scaled(values, "every", 1.0).unwrap_or(0),
        limit: text("limit"),
        remedy: text("remedy"),
    };
    new.check().map_err(|(field, why)| (Some(field), why))?;
    Ok(match id {
        None => Action::AddCheckKind(new),
        Some(kind) => Action::EditCheckKind { kind, new, retired: !values.yes("used"), rev },
    })
}
