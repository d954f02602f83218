//! What became of a load, one kind at a time, a number for each lot.

use super::super::{Wrong, measure, range, scaled};
use super::Settle;
use super::deliver::load;
use super::lots::{fields, given};
use super::order::customers;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::delivery::Packs;
use crate::domain::id::{CustomerId, PersonId, RoundId};
use crate::domain::round::{How, Settled, Settling};
use crate::domain::stock::BackDecision;
use crate::domain::units::Quantity::Temperature;

fn title(how: Settle) -> &'static str {
    match how {
        Settle::SoldPublic => "Sold to the public",
        Settle::Given => "Given away",
        Settle::Binned => "Binned",
        Settle::BroughtBack => "Brought back into stock",
        Settle::Refused => "Not taken by a customer",
        Settle::Extra => "Delivered beyond the orders",
    }
}

pub(super) fn build(model: &Model, round: RoundId, how: Settle) -> Form {
    let lots = load(model, Some(round));
    // of what is sold, binned or brought back all that is left is likely; the rest is counted out
    let all = matches!(how, Settle::SoldPublic | Settle::Binned | Settle::BroughtBack);
    let rest: Vec<Packs> = lots.iter().map(|(lot, packs)| Packs { lot: lot.id, packs: *packs }).collect();
    let mut list = Vec::new();
    if matches!(how, Settle::Refused | Settle::Extra) {
        list.push(Field::choice("customer", "customer", customers(model)).required());
    }
    list.extend(fields(model, &lots, if all { &rest } else { &[] }));
    match how {
        Settle::Given => list.push(Field::text("reason", "to whom", 120).required()),
        Settle::Binned | Settle::Refused => list.push(Field::text("reason", "why", 200).required()),
        Settle::BroughtBack => {
            let temp = measure(model, Temperature, -20.0, 60.0, 1);
            list.push(Field::measure("temp", "measured", temp).required().help("In a pack, now."));
            let out =
                model.goods.round(round).map_or(0, |round| (model.now.instant().0 - round.out_at.0).num_minutes());
            let minutes = Field::number("out", "minutes out", range("min", 0.0, 100_000.0, 0)).required();
            list.push(minutes.starting(&out.max(0).to_string()).help("Out of the cold; counted from when it left."));
            let people = model.board.people.iter().filter(|person| person.may_decide && !person.retired);
            let people =
                people.map(|p| Opt::new(p.id.0.to_string(), p.initials.clone()).hint(p.name.clone())).collect();
            let who = model.who.map_or_else(String::new, |who| who.0.to_string());
            list.push(Field::choice("decided", "decided by", people).required().starting(&who));
        }
        Settle::SoldPublic | Settle::Extra => {}
    }
    let name = model.goods.round(round).map_or("", |round| round.name.as_str());
    let form = Form::new(format!("{name}: {}", title(how).to_lowercase()), model.today(), list);
    if how == Settle::BroughtBack {
        return form.intro([
            "Only cold packs go back: at 5 °C (41 °F) or below, and out for 4 hours at most. Local rules decide.",
        ]);
    }
    form
}

pub(super) fn changed(model: &Model, round: RoundId, how: Settle, form: &mut Form) {
    let lots = load(model, Some(round));
    let given: i64 = given(&lots, &form.values()).iter().map(|line| line.packs).sum();
    let all: i64 = lots.iter().map(|(_, packs)| *packs).sum();
    // what was not taken stays on the round
    let left = if how == Settle::Refused { all } else { all - given };
    form.lines = vec![match left {
        0 => "Everything on it is accounted for then.".into(),
        1 => "1 pack stays on the round until something is said of it.".into(),
        more => format!("{more} packs stay on the round until something is said of them."),
    }];
}

pub(super) fn action(model: &Model, round: RoundId, how: Settle, values: &Values) -> Result<Action, Wrong> {
    let given = given(&load(model, Some(round)), values);
    if given.is_empty() {
        return Err((Some("l1"), "Say how many packs of which lot: one at least.".into()));
    }
    let customer = || CustomerId(values.text("customer").parse().unwrap_or(0));
    let reason = || values.text("reason").trim().to_string();
    let one = || match how {
        Settle::SoldPublic => How::SoldPublic,
        Settle::Given => How::Given { to: reason() },
        Settle::Binned => How::Binned { reason: reason() },
        Settle::Refused => How::Refused { customer: customer(), reason: reason() },
        Settle::Extra => How::Delivered { customer: customer(), extra: true },
        Settle::BroughtBack => How::BroughtBack(BackDecision {
            temp_dc: scaled(values, "temp", 10.0).unwrap_or(0),
            out_min: scaled(values, "out", 1.0).unwrap_or(0),
            by: PersonId(values.text("decided").parse().unwrap_or(0)),
        }),
    };
    let lines = given.iter().map(|line| Settled { lot: line.lot, packs: line.packs, how: one() }).collect();
    Ok(Action::SettleRound(Box::new(Settling { round, lines })))
}
