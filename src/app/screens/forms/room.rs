//! Settings of the room and its people.

use super::Wrong;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::PersonId;
use crate::domain::person::{parse_initials, parse_room_code};
use crate::domain::room::Units;

/// Choices for the units of screens and forms.
pub(in crate::app::screens) fn unit_options() -> Vec<Opt> {
    let hint = |units: Units| match units {
        Units::Metric => "",
        Units::Us => "and pounds, fl oz, in²; the book keeps grams and °C",
    };
    Units::ALL.iter().map(|units| Opt::new(units.stored(), units.shown()).hint(hint(*units))).collect()
}

pub(super) fn room(model: &Model) -> Form {
    let board = &model.board;
    Form::new(
        "The room",
        model.today(),
        vec![
            Field::text("name", "name", 60).required().starting(&board.room_name),
            Field::text("code", "two-letter code", 2)
                .required()
                .starting(&board.room_code)
                .help("Printed before every lot, so that books of several rooms can stand side by side."),
            Field::choice("units", "units", unit_options()).starting(board.units().stored()),
        ],
    )
}

pub(super) fn room_action(values: &Values, rev: i64) -> Result<Action, Wrong> {
    let code = parse_room_code(values.text("code")).map_err(|why| (Some("code"), why))?;
    let units = Units::from_stored(values.text("units")).unwrap_or(Units::Metric);
    Ok(Action::EditRoom { name: values.text("name").trim().to_string(), code, units, rev })
}

pub(super) fn person(model: &Model, person: Option<PersonId>) -> Form {
    let known = person.and_then(|id| model.board.people.iter().find(|p| p.id == id));
    let yes = |on: bool| if on { "yes" } else { "no" };
    let decide = "May clear suspects, lift holds and sign.";
    match known {
        None => Form::new(
            "A person at the rack",
            model.today(),
            vec![
                Field::text("initials", "initials", 4).required().help("Two to four letters, such as RM."),
                Field::text("name", "full name", 80),
                Field::yes_no("may_decide", "may decide").starting("no").help(decide),
            ],
        ),
        Some(known) => Form::new(
            format!("{}: {}", known.initials, known.name),
            model.today(),
            vec![
                Field::text("name", "full name", 80).starting(&known.name),
                Field::yes_no("may_decide", "may decide").starting(yes(known.may_decide)).help(decide),
                Field::yes_no("here", "still here").starting(yes(!known.retired)),
            ],
        ),
    }
}

pub(super) fn person_action(
    model: &Model,
    person: Option<PersonId>,
    rev: i64,
    values: &Values,
) -> Result<Action, Wrong> {
    let name = values.text("name").trim().to_string();
    let named = |initials: &str| if name.is_empty() { initials.to_string() } else { name.clone() };
    let may_decide = values.yes("may_decide");
    let Some(id) = person else {
        let initials = parse_initials(values.text("initials")).map_err(|why| (Some("initials"), why))?;
        return Ok(Action::AddPerson { name: named(&initials), initials, may_decide });
    };
    let initials = model.board.people.iter().find(|p| p.id == id).map_or("", |p| p.initials.as_str());
    Ok(Action::EditPerson { person: id, rev, name: named(initials), may_decide, retired: !values.yes("here") })
}
