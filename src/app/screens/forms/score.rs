//! A score of packs that were held back. The score itself is never proposed.

use super::{Wrong, minute, moment, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::app::screens::score::when;
use crate::domain::action::Action;
use crate::domain::id::LotId;
use crate::domain::score::{LAST_SOLD, NewScore, SCALE, scale};

pub(super) fn build(model: &Model, lot: LotId) -> Form {
    let sample = model.scores.sample(lot);
    let held = sample.map_or(1, |sample| sample.packs).max(1);
    let scores = SCALE.iter().map(|(n, words)| Opt::new(n.to_string(), format!("{n} {words}"))).collect();
    #[expect(clippy::cast_precision_loss, reason = "packs of one lot")]
    let most = range("", 1.0, held as f64, 0);
    let title = sample.map_or_else(|| "Score".to_string(), |sample| format!("Score {} {}", sample.code, sample.name));
    let before = sample.and_then(|sample| sample.scores.last()).map_or_else(
        || "Not scored yet.".to_string(),
        |last| format!("Before: {}, {}, {}.", last.score, scale(last.score), when(model, last.at_s)),
    );
    Form::new(
        title,
        model.today(),
        vec![
            Field::choice("score", "they are", scores)
                .required()
                .help("Look, smell and touch. Below 5 none of it would be sold."),
            Field::number("packs", "packs", most).required().starting(&held.to_string()),
            Field::text("time", "looked at", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 06:10; 06:10 is today."),
        ],
    )
    .intro([before])
}

pub(super) fn changed(model: &Model, lot: LotId, form: &mut Form) {
    let score = scaled(&form.values(), "score", 1.0);
    let sold = model.scores.sample(lot).is_some_and(|sample| sample.scores.iter().all(|one| one.score >= LAST_SOLD));
    let fell = score.filter(|score| *score < LAST_SOLD && sold);
    form.lines =
        fell.map(|_| "It falls below 5 with this: it tells how long its crop keeps.".into()).into_iter().collect();
}

pub(super) fn action(model: &Model, lot: LotId, values: &Values) -> Result<Action, Wrong> {
    // what was left as proposed is now
    let now = values.text("time") == minute(model);
    let at = if now { model.now.instant() } else { moment(model, values, "time")? };
    Ok(Action::Score(Box::new(NewScore {
        lot,
        packs: scaled(values, "packs", 1.0).unwrap_or(0),
        score: values.text("score").parse().unwrap_or(0),
        at,
        sure: values.sure().to_vec(),
    })))
}
