//! The points that signs of fuzz weigh in this room.

use super::Wrong;
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::fuzz::{OURS, Points, Sign, Weight};

pub(super) fn build(model: &Model) -> Form {
    let points = &model.board.fuzz_points;
    let fields = Sign::ALL
        .iter()
        .map(|sign| {
            let Weight { hair, mould, rot } = points.of(*sign);
            Field::text(sign.stored(), sign.shown(), 12)
                .required()
                .starting(&format!("{hair} {mould} {rot}"))
                .help("Three whole numbers from -20 to 20: for hairs, for mould, for rot.")
        })
        .collect();
    let mut form = Form::new("Points of fuzz signs", model.today(), fields);
    form.intro = vec![OURS.into(), "Checks written before keep the points of their time.".into()];
    form
}

pub(super) fn action(version: i64, values: &Values) -> Result<Action, Wrong> {
    let mut points = Points { version, ..Points::default() };
    for sign in Sign::ALL {
        let wrong = || (Some(sign.stored()), "Give three whole numbers: for hairs, for mould, for rot.".to_string());
        let numbers: Option<Vec<i64>> =
            values.text(sign.stored()).split_whitespace().map(|word| word.parse().ok()).collect();
        let [hair, mould, rot] = numbers.ok_or_else(wrong)?[..] else { return Err(wrong()) };
        points.set(*sign, Weight { hair, mould, rot });
    }
    points.check().map_err(|refusal| (refusal.field, refusal.sentence))?;
    Ok(Action::EditFuzzPoints(Box::new(points)))
}
