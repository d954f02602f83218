//! A round or a stall is loaded.

use super::super::{Wrong, measure, minute, moment, scaled, some_text};
use super::lots::{against, fields, given, on_hand, propose};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::ProductId;
use crate::domain::round::{Kind, NewRound};
use crate::domain::units::Quantity::Temperature;

/// Names of rounds that customers are usually brought things on.
pub(in crate::app::screens) fn names(model: &Model) -> Vec<&str> {
    let mut names: Vec<&str> =
        model.goods.customers.iter().map(|c| c.round.as_str()).filter(|r| !r.is_empty()).collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// What today's orders of the customers of a round still want.
fn of_round(model: &Model, name: &str) -> Vec<(ProductId, i64)> {
    let today = model.today();
    let on_it = |id| model.goods.customer(id).is_some_and(|customer| customer.round == name);
    let orders = model.goods.orders.iter().filter(|order| order.day == today && on_it(order.customer));
    let mut wanted: Vec<(ProductId, i64)> = Vec::new();
    for line in orders.flat_map(|order| &order.lines) {
        match wanted.iter_mut().find(|(product, _)| *product == line.product) {
            Some((_, packs)) => *packs += line.open(),
            None => wanted.push((line.product, line.open())),
        }
    }
    wanted
}

pub(super) fn build(model: &Model) -> Form {
    let kinds = Kind::ALL.iter().map(|kind| Opt::new(kind.stored(), kind.shown())).collect();
    let first = names(model).first().map_or("", |name| name).to_owned();
    let temp = measure(model, Temperature, -20.0, 60.0, 1);
    let mut all = vec![
        Field::choice("kind", "what", kinds).required().starting(Kind::Round.stored()),
        Field::text("name", "name", 60)
            .required()
            .starting(&first)
            .help(&format!("Rounds: {}", names(model).join(", "))),
        Field::text("out", "out at", 16).required().starting(&minute(model)).help("Day and time, as 2026-07-12 06:30."),
        Field::measure("temp", "load is at", temp).help("Measured in a pack."),
        Field::text("place", "place", 60).required().hidden(),
        Field::text("hours", "hours", 40).required().hidden().help("From when to when it sells, as 8 to 13."),
    ];
    let lots = on_hand(model);
    all.extend(fields(model, &lots, &[]));
    Form::new("Load a round or a stall", model.today(), all)
        .intro(["Everything loaded is accounted for, line by line, when it comes back."])
}

pub(super) fn changed(model: &Model, form: &mut Form) {
    let stall = form.values().text("kind") == Kind::Stall.stored();
    form.show("place", stall);
    form.show("hours", stall);
    let lots = on_hand(model);
    let wanted = if stall { vec![] } else { of_round(model, form.values().text("name")) };
    let proposed = propose(&lots, wanted.iter().copied());
    for ((lot, _), id) in lots.iter().zip(super::lots::LOTS) {
        let packs: i64 = proposed.iter().filter(|line| line.lot == lot.id).map(|line| line.packs).sum();
        form.set_default(id, &if packs > 0 { packs.to_string() } else { String::new() });
    }
    form.lines = against(model, &wanted, &given(&lots, &form.values()));
}

pub(super) fn action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let load = given(&on_hand(model), values);
    if load.is_empty() {
        return Err((Some("l1"), "Say how many packs of which lot: one at least.".into()));
    }
    Ok(Action::LoadRound(Box::new(NewRound {
        kind: Kind::from_stored(values.text("kind")).unwrap_or(Kind::Round),
        name: values.text("name").trim().to_string(),
        out_at: moment(model, values, "out")?,
        temp_dc: scaled(values, "temp", 10.0),
        place: some_text(values, "place"),
        hours: some_text(values, "hours"),
        load,
        sure: values.sure().to_vec(),
    })))
}
