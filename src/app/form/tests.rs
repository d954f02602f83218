//! The engine, driven by keys as a person would. Every expected value is worked out by hand.

mod flow;
mod kinds;

use chrono::NaiveDate;

use super::*;

fn today() -> NaiveDate {
    day("2026-03-10")
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn one(field: Field) -> Form {
    Form::new("Test", today(), vec![field])
}

fn press(form: &mut Form, keys: &[Key]) -> Outcome {
    let outcomes = keys.iter().map(|key| form.key(*key, today()));
    outcomes.last().unwrap_or(Outcome::Stay)
}

fn write(form: &mut Form, text: &str) {
    for c in text.chars() {
        form.key(Key::Char(c), today());
    }
}

/// What a form of one field makes of `text`: its exact value, or the sentence beside it.
fn submitted(field: Field, text: &str) -> Result<String, String> {
    let id = field.id;
    let mut form = one(field);
    write(&mut form, text);
    match form.key(Key::Enter, today()) {
        Outcome::Submit(values) => Ok(values.text(id).to_owned()),
        Outcome::Stay => Err(sentence(&form, id)),
        other => panic!("{other:?}"),
    }
}

fn sentence(form: &Form, id: &str) -> String {
    match form.field(id).unwrap().remark() {
        Some(Remark::Told(text) | Remark::Unmet(text) | Remark::Refused(text)) => text.clone(),
        None => String::new(),
    }
}

fn typed(form: &Form, id: &str) -> String {
    match &form.field(id).unwrap().kind {
        Kind::Line(line) => line.typed().to_owned(),
        other => panic!("{other:?}"),
    }
}

fn grams() -> Field {
    let range = Range { unit: "g".to_owned(), min: 0.5, max: 500.0, decimals: 1 };
    Field::number("grams", "Seed", range)
}

fn crops() -> Vec<Opt> {
    vec![
        Opt::new("pe", "Pea"),
        Opt::new("ra", "Radish red"),
        Opt::new("ro", "Rocket"),
        Opt::new("su", "Sunflower").blocked("no seed left"),
    ]
}
