//! Packs that a customer gave back, and what becomes of them.

use super::super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::delivery::{Line, NewReturn};
use crate::domain::id::{DeliveryId, LotId};
use crate::domain::stock::CameBack;

/// The lines of a delivery that are of a lot: its name, packs that are out, packs not decided about.
fn of(model: &Model, delivery: DeliveryId, lot: LotId) -> (String, i64, i64) {
    let found = model.goods.deliveries.iter().find(|known| known.id == delivery);
    let lines: Vec<&Line> =
        found.into_iter().flat_map(|delivery| &delivery.lines).filter(|line| line.lot == lot).collect();
    let name = lines.first().map_or_else(String::new, |line| format!("{} {}", line.code, line.product));
    let out = lines.iter().map(|line| line.packs - line.returned).sum();
    (name, out, lines.first().map_or(0, |line| line.undecided))
}

fn number(id: &'static str, most: i64) -> Field {
    #[expect(clippy::cast_precision_loss, reason = "packs of one delivery")]
    let most = range("", 1.0, most.max(1) as f64, 0);
    Field::number(id, "packs", most).required()
}

fn becomes(words: &[CameBack]) -> Field {
    let options = words.iter().map(|what| Opt::new(what.stored(), what.shown())).collect();
    Field::choice("what", "they are", options).required().starting(CameBack::Binned.stored())
}

pub(super) fn build(model: &Model, delivery: DeliveryId, lot: LotId) -> Form {
    let (name, out, _) = of(model, delivery, lot);
    Form::new(
        format!("Back from a customer: {name}"),
        model.today(),
        vec![
            number("packs", out),
            becomes(CameBack::ALL),
            Field::text("reason", "why", 200).required().help("It may be the first sign of a complaint."),
        ],
    )
    .intro(["What was out of our hands is never sold again: bin it, or keep it as a sample."])
}

pub(super) fn action(delivery: DeliveryId, lot: LotId, values: &Values) -> Result<Action, Wrong> {
    Ok(Action::Return(Box::new(NewReturn {
        delivery,
        lot,
        packs: scaled(values, "packs", 1.0).unwrap_or(0),
        what: what(values)?,
        reason: values.text("reason").trim().to_string(),
    })))
}

fn what(values: &Values) -> Result<CameBack, Wrong> {
    CameBack::from_stored(values.text("what")).ok_or((Some("what"), "Say what becomes of them.".into()))
}

pub(super) fn decide(model: &Model, delivery: DeliveryId, lot: LotId) -> Form {
    let (name, _, open) = of(model, delivery, lot);
    let fields =
        vec![number("packs", open).starting(&open.to_string()), becomes(&[CameBack::Binned, CameBack::Sample])];
    Form::new(format!("What becomes of {name}"), model.today(), fields)
}

pub(super) fn decide_action(delivery: DeliveryId, lot: LotId, values: &Values) -> Result<Action, Wrong> {
    let packs = scaled(values, "packs", 1.0).unwrap_or(0);
    Ok(Action::DecideReturn { delivery, lot, packs, what: what(values)? })
}
