//! Rounds and stalls, deliveries so far, and what comes back.

use super::{Ask, ask, form};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::app::screens::forms::sold::{Of, Settle};
use crate::app::screens::pick::Pick;
use crate::domain::id::{DeliveryId, RoundId};
use crate::domain::round::{Kind, Round};

fn carries(model: &Model, round: &Round) -> String {
    let line = |line: &crate::domain::delivery::Packs| {
        let lot = model.goods.lot(line.lot);
        format!(
            "{} {}",
            line.packs,
            lot.map_or_else(|| "packs".to_string(), |lot| format!("{} {}", lot.name, lot.code))
        )
    };
    if round.open() {
        round.carries.iter().map(line).collect::<Vec<_>>().join(", ")
    } else {
        "everything is accounted for".into()
    }
}

pub(super) fn list(model: &Model) -> Menu<Pick> {
    let mut items = vec![Item::new("load a round or a stall", form(Of::Load)).letter('l')];
    items.extend(model.goods.rounds.iter().map(|round| {
        let out = model.now.local(round.out_at).format("%a %d %b %H:%M");
        Item::new(format!("{}, out {out}", round.name), ask(Ask::Round(round.id))).hint(carries(model, round))
    }));
    Menu::new("Rounds and stalls", items)
}

pub(super) fn one(model: &Model, id: RoundId) -> Menu<Pick> {
    let Some(round) = model.goods.round(id) else { return list(model) };
    let settle = |label: &str, how: Settle, letter: char| Item::new(label, form(Of::Settle(id, how))).letter(letter);
    let mut items = match round.kind {
        Kind::Round => vec![
            Item::new("a drop: deliver to a customer", ask(Ask::Deliver(Some(id)))).letter('d'),
            settle("not taken by a customer", Settle::Refused, 'n').hint("stays on the round"),
            settle("delivered beyond the orders", Settle::Extra, 'x'),
        ],
        Kind::Stall => vec![settle("sold to the public", Settle::SoldPublic, 's')],
    };
    items.extend([
        settle("given away", Settle::Given, 'g'),
        settle("binned", Settle::Binned, 'b'),
        settle("brought back into stock", Settle::BroughtBack, 'k').hint("measured, and decided by name"),
    ]);
    let bar = (!round.open()).then(|| "Everything on it is accounted for.".to_string());
    let items = items.into_iter().map(|item| item.bar(bar.clone())).collect();
    let mut menu = Menu::new(round.name.clone(), items).intro(carries(model, round));
    if let (Some(place), Some(hours)) = (&round.place, &round.hours) {
        menu = menu.intro(format!("{place}, {hours}"));
    }
    menu
}

/// Deliveries of the last fortnight.
pub(super) fn deliveries(model: &Model) -> Menu<Pick> {
    let items: Vec<Item<Pick>> = model
        .goods
        .deliveries
        .iter()
        .map(|delivery| {
            let lines: Vec<String> =
                delivery.lines.iter().map(|line| format!("{} {}", line.packs, line.product)).collect();
            let label = format!("{} {} {}", delivery.id.0, delivery.day.format("%a %d %b"), delivery.customer_name);
            Item::new(label, ask(Ask::Delivery(delivery.id))).hint(lines.join(", "))
        })
        .collect();
    let none = items.is_empty();
    let menu = Menu::new("Deliveries so far", items);
    if none { menu.intro("Nothing was delivered in the last fortnight.") } else { menu }
}

/// One of them: its note, and what comes back of it.
pub(super) fn delivery(model: &Model, id: DeliveryId) -> Menu<Pick> {
    let Some(delivery) = model.goods.deliveries.iter().find(|known| known.id == id) else { return deliveries(model) };
    let mut items = vec![Item::new("a page with its note, to print", ask(Ask::Note(id))).letter('n')];
    let mut seen = Vec::new();
    for line in &delivery.lines {
        if seen.contains(&line.lot) {
            continue;
        }
        seen.push(line.lot);
        let out: i64 =
            delivery.lines.iter().filter(|other| other.lot == line.lot).map(|other| other.packs - other.returned).sum();
        let what = format!("{} {}", line.code, line.product);
        if out > 0 {
            items.push(
                Item::new(format!("came back: {what}"), form(Of::Return(id, line.lot)))
                    .hint(format!("{out} are there")),
            );
        }
        if line.undecided > 0 {
            let hint = format!("{} not decided yet", line.undecided);
            items.push(Item::new(format!("decide about {what}"), form(Of::DecideReturn(id, line.lot))).hint(hint));
        }
    }
    let title = format!("Delivery {} to {}", id.0, delivery.customer_name);
    Menu::new(title, items).intro("What comes back from a customer is never sold again.")
}
