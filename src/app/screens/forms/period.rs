//! Which days: to write their records to a page, or to sign them.

use chrono::{Datelike, Duration};

use super::breach::{decider, decides};
use super::{Submit, Wrong, some_text};
use crate::app::effect::Effect;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::period::Period;
use crate::domain::text::NOTE_GRAPHEMES;
use crate::domain::time::Day;

/// What for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Print,
    Sign,
    /// Sign the days of a review.
    Review(Period),
}

/// Days that are asked for often; the last is for days of one's own.
const SPANS: [(&str, &str); 4] =
    [("week", "the last 7 days"), ("month", "this month"), ("before", "last month"), ("own", "other days")];

/// The days of a span; `None` of one's own.
fn days(span: &str, today: Day) -> Option<(Day, Day)> {
    let first = today - Duration::days(i64::from(today.day0()));
    match span {
        "week" => Some((today - Duration::days(6), today)),
        "month" => Some((first, today)),
        "before" => {
            let last = first - Duration::days(1);
            Some((last - Duration::days(i64::from(last.day0())), last))
        }
        _ => None,
    }
}

pub(super) fn build(model: &Model, of: Of) -> Form {
    match of {
        Of::Print => print(model),
        Of::Sign => sign(model, None),
        Of::Review(period) => sign(model, Some(period)),
    }
}

fn from_and_to(model: &Model, (from, to): (Day, Day)) -> [Field; 2] {
    let today = model.today();
    [
        Field::date("from", "from", None, Some(today)).required().starting(&from.to_string()),
        Field::date("to", "to", None, Some(today)).required().starting(&to.to_string()),
    ]
}

fn print(model: &Model) -> Form {
    let today = model.today();
    let spans = SPANS.iter().map(|(span, words)| Opt::new(*span, *words)).collect();
    let mut fields = vec![Field::choice("span", "which days", spans).required().starting("week")];
    fields.extend(from_and_to(model, days("week", today).unwrap_or((today, today))));
    Form::new("Records of a period", today, fields).intro([
        "Everything about these days goes into a page beside the book: looks, water, treatments, cold readings, checks, \
         corrections, breaches, late entries, missed days, signatures.",
        "The chain of the log is proved first; its last hash stands on the page.",
    ])
}

fn sign(model: &Model, of: Option<Period>) -> Form {
    let today = model.today();
    let yesterday = today - Duration::days(1);
    // from where the last signature ended, to the last day that is over
    let from = model.board.signed.as_ref().map(|signed| signed.to + Duration::days(1)).filter(|day| *day <= yesterday);
    let from = from.unwrap_or(yesterday - Duration::days(6));
    let days = of.map_or((from, yesterday), |of| (of.from, of.to.min(today)));
    let mut fields = from_and_to(model, days).to_vec();
    fields.push(decides(model).help("Who read them, and may decide."));
    fields.push(Field::note("remark", "remark", NOTE_GRAPHEMES));
    let signed = model.board.signed.as_ref().map(|signed| format!("So far: {}.", signed.words(today)));
    let intro = [
        "You sign that you read the records of these days as they stand now, up to the newest entry and its hash."
            .into(),
        "What is written about them later stands there as changed after it was signed.".to_string(),
    ];
    Form::new("Sign a period", today, fields).intro(intro.into_iter().chain(signed))
}

/// A span brings its days; days of one's own make it one's own.
pub(super) fn changed(model: &Model, of: Of, form: &mut Form) {
    if of != Of::Print {
        return;
    }
    let values = form.values();
    let typed = values.date("from").zip(values.date("to"));
    let of_span = days(values.text("span"), model.today());
    if form.focused().is_some_and(|field| field.id == "span") {
        if let Some((from, to)) = of_span.filter(|of_span| Some(*of_span) != typed) {
            form.set_value("from", &from.to_string());
            form.set_value("to", &to.to_string());
        }
    } else if of_span.is_some() && of_span != typed {
        form.set_value("span", "own");
    }
}

fn period(model: &Model, values: &Values) -> Result<Period, Wrong> {
    let day = |id: &'static str| values.date(id).ok_or((Some(id), "Write the day like 2026-07-15.".to_string()));
    Period::new(day("from")?, day("to")?, model.today()).map_err(|(field, why)| (Some(field), why))
}

pub(super) fn submit(model: &Model, of: Of, values: &Values) -> Result<Submit, Wrong> {
    let period = period(model, values)?;
    Ok(match of {
        Of::Print => Submit::Ask(Box::new(Effect::PrintRecords(period))),
        Of::Sign | Of::Review(_) => {
            let Period { from, to } = period;
            Submit::Act(Box::new(Action::Sign { from, to, by: decider(values)?, remark: some_text(values, "remark") }))
        }
    })
}
