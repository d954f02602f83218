//! Orders, and whom to deliver to.

use super::{Ask, ask, form};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::app::screens::forms::sold::Of;
use crate::app::screens::pick::Pick;
use crate::domain::history::{Of as About, Record};
use crate::domain::id::{OrderId, RoundId};
use crate::domain::order::Order;
use crate::domain::time::Day;

/// `4 × pea 100 g, 2 × mix 80 g`; what is open of it.
fn words(model: &Model, order: &Order) -> String {
    let name = |line: &crate::domain::order::Line| {
        let product = model.goods.product(line.product).map_or("?", |product| product.name.as_str());
        let done = if line.delivered > 0 { format!(" ({} delivered)", line.delivered) } else { String::new() };
        format!("{} × {product}{done}", line.packs)
    };
    order.lines.iter().map(name).collect::<Vec<_>>().join(", ")
}

fn of(model: &Model, order: &Order) -> String {
    let name = model.goods.customer(order.customer).map_or("?", |customer| customer.name.as_str());
    format!("{} {name}", order.day.format("%a %d %b"))
}

pub(super) fn list(model: &Model) -> Menu<Pick> {
    let mut items = vec![Item::new("a new order", form(Of::Order(None))).letter('o')];
    let open = model
        .goods
        .orders
        .iter()
        .filter(|order| order.day >= model.today() || (due(order, model.today()) && order.open() > 0));
    items.extend(open.map(|order| Item::new(of(model, order), ask(Ask::Order(order.id))).hint(words(model, order))));
    Menu::new("Orders", items)
}

pub(super) fn one(model: &Model, id: OrderId) -> Menu<Pick> {
    let Some(order) = model.goods.order(id) else { return list(model) };
    let story = Pick::Story(About::Record(Record::Order, id.0), format!("Order: {}", of(model, order)));
    let items = vec![
        Item::new("deliver it", form(Of::Deliver(order.customer, Some(id), None))).letter('d'),
        Item::new("change it, or call it off", form(Of::Order(Some(id)))).letter('c'),
        Item::new("its story", story).letter('i'),
    ];
    Menu::new(of(model, order), items).intro(words(model, order))
}

/// Today's orders and those of yesterday that were not brought in full; older ones are over.
fn due(order: &Order, today: Day) -> bool {
    (today - chrono::Duration::days(1)..=today).contains(&order.day)
}

/// Orders of today and before that are not delivered, then anyone.
pub(super) fn deliver(model: &Model, round: Option<RoundId>) -> Menu<Pick> {
    let due = model.goods.orders.iter().filter(|order| due(order, model.today()) && order.open() > 0);
    let mut items: Vec<Item<Pick>> = due
        .map(|order| {
            Item::new(of(model, order), form(Of::Deliver(order.customer, Some(order.id), round)))
                .hint(words(model, order))
        })
        .collect();
    items.push(Item::new("without an order", ask(Ask::Anyone(round))).letter('w').hint("to any customer"));
    items.push(Item::new("deliveries so far", ask(Ask::Deliveries)).letter('v').hint("notes to print, returns"));
    Menu::new("Deliver which order?", items)
}

pub(super) fn anyone(model: &Model, round: Option<RoundId>) -> Menu<Pick> {
    let items = model.goods.customers.iter().map(|customer| {
        let bar = customer
            .address
            .is_empty()
            .then(|| "has no address: write it down first; what is sold to the public goes out on a stall".to_string());
        Item::new(customer.name.clone(), form(Of::Deliver(customer.id, None, round)))
            .hint(customer.address.clone())
            .bar(bar)
    });
    Menu::new("Deliver to whom?", items.collect())
}
