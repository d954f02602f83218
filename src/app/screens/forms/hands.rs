//! A paper sheet to type in: whose it is, and of when.

use super::Wrong;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::hands::{Seen, parse_time};
use crate::domain::id::PersonId;
use crate::domain::time::Day;
use crate::domain::walk::Mode;

pub(super) fn sheet(model: &Model) -> Form {
    let people = model.board.people.iter();
    let options = people.map(|p| Opt::new(p.id.0.to_string(), p.initials.clone()).hint(p.name.clone())).collect();
    let who = model.who.map_or_else(String::new, |who| who.0.to_string());
    let today = model.today();
    Form::new(
        "Type in a paper sheet",
        today,
        vec![
            Field::choice("by", "who saw it", options).required().starting(&who),
            Field::date("day", "on which day", None, Some(today)).required().starting(&today.to_string()),
            Field::text("from", "from what time", 5).required().help("When the walk began, such as 06:10."),
        ],
    )
    .intro([
        "The walk then stops at every tray that was due on that day.",
        "Its entries carry these hands, this day and time, and \"from paper\".",
    ])
}

pub(super) fn sheet_action(model: &Model, values: &Values) -> Result<(Action, Seen), Wrong> {
    let wrong = |field: &'static str| move |why: &str| (Some(field), why.to_string());
    let by: i64 = values.text("by").parse().map_err(|_| wrong("by")("Choose whose sheet it is."))?;
    let day: Day = values.text("day").parse().map_err(|_| wrong("day")("Write the day like 2026-07-15."))?;
    let at = parse_time(values.text("from"), day, model.now).map_err(|why| (Some("from"), why))?;
    let seen = Seen { by: Some(PersonId(by)), at: Some(at), paper: true };
    Ok((Action::StartWalk { mode: Mode::Both, racks: None }, seen))
}
