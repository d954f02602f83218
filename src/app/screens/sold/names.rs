//! Products and customers.

use super::{Ask, ask, form};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::app::screens::forms::sold::Of;
use crate::app::screens::pick::Pick;
use crate::app::screens::settings::Section;
use crate::domain::history::{Of as About, Record};
use crate::domain::id::CustomerId;
use crate::domain::product::Kind;

pub(super) fn menu(model: &Model) -> Menu<Pick> {
    let (products, customers) = (model.goods.products.len(), model.goods.customers.len());
    let items = vec![
        Item::new("products", ask(Ask::Products)).letter('p').hint(format!("{products} sold")),
        Item::new("customers", ask(Ask::Customers)).letter('c').hint(format!("{customers} known")),
    ];
    Menu::new("Products and customers", items)
}

pub(super) fn products(model: &Model) -> Menu<Pick> {
    let mut items = vec![Item::new("add a product", form(Of::Product(None))).letter('z')];
    items.extend(model.goods.products.iter().map(|product| {
        let crops: Vec<&str> = product.parts.iter().map(|part| part.name.as_str()).collect();
        let size = product.pack_g.map_or_else(|| "live tray".to_string(), |g| model.board.units().weight(g * 1000));
        let hint = if product.kind == Kind::Crop { size } else { format!("{size}: {}", crops.join(", ")) };
        Item::new(product.name.clone(), form(Of::Product(Some(product.id)))).hint(hint)
    }));
    items.push(Item::new("what was changed about which product", Pick::Section(Section::Stories(Record::Product))));
    Menu::new("Products", items)
}

pub(super) fn customers(model: &Model) -> Menu<Pick> {
    let mut items = vec![Item::new("add a customer", form(Of::Customer(None))).letter('z')];
    items.extend(model.goods.customers.iter().map(|customer| {
        let address = if customer.address.is_empty() { "no address" } else { &customer.address };
        let trays =
            if customer.trays_out > 0 { format!("; {} of our trays", customer.trays_out) } else { String::new() };
        Item::new(customer.name.clone(), ask(Ask::Customer(customer.id))).hint(format!("{address}{trays}"))
    }));
    Menu::new("Customers", items)
}

pub(super) fn customer(model: &Model, id: CustomerId) -> Menu<Pick> {
    let Some(customer) = model.goods.customer(id) else { return customers(model) };
    let none = (customer.trays_out < 1).then(|| "None of our trays is there.".to_string());
    let story = Pick::Story(About::Record(Record::Customer, id.0), format!("Customer: {}", customer.name));
    let items = vec![
        Item::new("name, address, phone, round", form(Of::Customer(Some(id)))).letter('c'),
        Item::new("deliver without an order", form(Of::Deliver(id, None, None))).letter('d'),
        Item::new("empty trays came back", form(Of::Empties(id))).letter('e').bar(none),
        Item::new("orders, deliveries, returns: the story", story).letter('i'),
    ];
    let menu = Menu::new(customer.name.clone(), items).intro(customer.reached());
    if customer.note.is_empty() { menu } else { menu.intro(customer.note.clone()) }
}
