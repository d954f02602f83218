//! Settings of the room and its people.

use super::Wrong;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::PersonId;
use crate::domain::person::{parse_initials, parse_room_code};
use crate::domain::room::Units;

/// Choices for the units of the screen.
pub(in crate::app::screens) fn unit_options() -> Vec<Opt> {
    Units::ALL.iter().map(|units| Opt::new(units.stored(), units.shown())).collect()
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
            Field::choice("units", "units", unit_options()).starting(board.units.map_or("metric", Units::stored)),
        ],
    )
}

pub(super) fn room_action(values: &Values) -> Result<Action, Wrong> {
    let code = parse_room_code(values.text("code")).map_err(|why| (Some("code"), why))?;
    let units = Units::from_stored(values.text("units")).unwrap_or(Units::Metric);
    Ok(Action::EditRoom { name: values.text("name").trim().to_string(), code, units })
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

pub(super) fn person_action(model: &Model, person: Option<PersonId>, values: &Values) -> Result<Action, Wrong> {
    let name = values.text("name").trim().to_string();
    let may_decide = values.yes("may_decide");
    match person.and_then(|id| model.board.people.iter().find(|p| p.id == id)) {
        None => {
            let initials = parse_initials(values.text("initials")).map_err(|why| (Some("initials"), why))?;
            let name = if name.is_empty() { initials.clone() } else { name };
            Ok(Action::AddPerson { initials, name, may_decide })
        }
        Some(known) => {
            Ok(Action::EditPerson { person: known.id, rev: known.rev, name, may_decide, retired: !values.yes("here") })
        }
    }
}
