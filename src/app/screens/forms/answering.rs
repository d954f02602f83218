//! Whom to call, whose rules, how fast; and a label that is typed to be traced.

use super::{Wrong, range, scaled};
use crate::app::effect::Effect;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::answering::{Answering, Country};
use crate::domain::trace::Way;

pub(super) fn build(model: &Model) -> Form {
    let now = &model.answers.answering;
    let countries = Country::ALL.iter().map(|c| Opt::new(c.stored(), c.shown()).hint(c.facts())).collect();
    let minutes = |id, label: &str, value: i64| {
        Field::number(id, label, range("min", 1.0, 20_160.0, 0)).required().starting(&value.to_string())
    };
    Form::new(
        "Whom to call, how fast",
        model.today(),
        vec![
            Field::text("authority", "authority", 120)
                .starting(&now.authority)
                .help("Name and number, for when someone is ill."),
            Field::text("laboratory", "laboratory", 120).starting(&now.laboratory),
            Field::text("insurer", "insurer", 120).starting(&now.insurer),
            Field::choice("country", "rules of", countries).required().starting(now.country.stored()),
            minutes("trace", "from the call to the list", now.trace_min),
            minutes("ceiling", "at most", now.ceiling_min),
            minutes("asked", "for an authority", now.authority_min),
        ],
    )
    .intro([
        "Local codes decide what is reported to whom, and how soon; write down the numbers while nothing has happened.",
    ])
}

pub(super) fn action(values: &Values, rev: i64) -> Result<Action, Wrong> {
    let text = |id: &str| values.text(id).trim().to_string();
    let minutes = |id: &str| scaled(values, id, 1.0).unwrap_or_default();
    let Some(country) = Country::from_stored(values.text("country")) else {
        return Err((Some("country"), "Say whose rules the room keeps.".into()));
    };
    Ok(Action::EditAnswering {
        answering: Box::new(Answering {
            authority: text("authority"),
            laboratory: text("laboratory"),
            insurer: text("insurer"),
            country,
            trace_min: minutes("trace"),
            ceiling_min: minutes("ceiling"),
            authority_min: minutes("asked"),
        }),
        rev,
    })
}

pub(super) fn code(model: &Model) -> Form {
    let ways = vec![
        Opt::new(Way::Back.stored(), "back").hint("what it was made of"),
        Opt::new(Way::Forward.stored(), "forward").hint("what was made of it, and who has it"),
    ];
    Form::new(
        "Trace a label",
        model.today(),
        vec![
            Field::text("code", "label", 40)
                .required()
                .help("As it is printed, with the last character: PEA-260712-A-V, S0042-9."),
            Field::choice("way", "which way", ways).required().starting(Way::Back.stored()),
        ],
    )
    .intro(["Of a pack, a tub, a tray, a batch, a bottle or a jar of seed."])
}

pub(super) fn code_effect(values: &Values) -> Effect {
    let way = Way::from_stored(values.text("way")).unwrap_or(Way::Back);
    Effect::TraceCode(values.text("code").trim().to_string(), way)
}
