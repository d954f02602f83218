//! A delivery: packs of lots to one customer.

use super::super::{Wrong, measure, scaled, some_text};
use super::lots::{against, fields, given, on_hand, propose, wanted};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::customer::Customer;
use crate::domain::delivery::NewDelivery;
use crate::domain::id::{CustomerId, OrderId, RoundId};
use crate::domain::lot::Lot;
use crate::domain::units::Quantity::Temperature;

/// What may go: packs in the room, or those a round carries.
pub(super) fn load(model: &Model, round: Option<RoundId>) -> Vec<(&Lot, i64)> {
    let Some(round) = round.and_then(|id| model.goods.round(id)) else { return on_hand(model) };
    let mut lots: Vec<(&Lot, i64)> = round
        .carries
        .iter()
        .filter_map(|line| Some((model.goods.lot(line.lot)?, line.packs)))
        .take(super::lots::LOTS.len())
        .collect();
    lots.sort_by_key(|(lot, _)| lot.order());
    lots
}

pub(super) fn build(model: &Model, customer: CustomerId, order: Option<OrderId>, round: Option<RoundId>) -> Form {
    let lots = load(model, round);
    let wanted = order.map(|order| wanted(model, order)).unwrap_or_default();
    let mut all = fields(model, &lots, &propose(&lots, wanted));
    all.push(Field::text("by", "received by", 60).help("Who took it at the door."));
    let temp = measure(model, Temperature, -20.0, 60.0, 1);
    all.push(Field::measure("temp", "at the drop", temp).help("Measured in the pack, where it was."));
    let to = model.goods.customer(customer);
    let mut intro = vec![to.map_or_else(String::new, Customer::reached)];
    if lots.is_empty() {
        intro.push("Nothing that may go out is here: pack first.".into());
    }
    let name = to.map_or("", |to| to.name.as_str());
    Form::new(format!("Deliver to {name}"), model.today(), all).intro(intro)
}

pub(super) fn changed(model: &Model, order: Option<OrderId>, round: Option<RoundId>, form: &mut Form) {
    let given = given(&load(model, round), &form.values());
    let wanted = order.map(|order| wanted(model, order)).unwrap_or_default();
    form.lines = against(model, &wanted, &given);
}

pub(super) fn action(
    model: &Model,
    (customer, order, round): (CustomerId, Option<OrderId>, Option<RoundId>),
    values: &Values,
) -> Result<Action, Wrong> {
    let lines = given(&load(model, round), values);
    if lines.is_empty() {
        return Err((Some("l1"), "Say how many packs of which lot: one at least.".into()));
    }
    let (received_by, temp_dc) = (some_text(values, "by"), scaled(values, "temp", 10.0));
    Ok(Action::Deliver(Box::new(NewDelivery {
        customer,
        order,
        round,
        lines,
        received_by,
        temp_dc,
        sure: values.sure().to_vec(),
    })))
}
