//! An order: who, what, how many, for which day.

use super::super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{CustomerId, OrderId, ProductId};
use crate::domain::order::{NewOrder, Order, Wanted};
use crate::domain::product::Kind;
use crate::domain::text::counted;
use crate::domain::today;

/// Products of an order, and how many of each.
const LINES: [(&str, &str); 10] = [
    ("p1", "n1"),
    ("p2", "n2"),
    ("p3", "n3"),
    ("p4", "n4"),
    ("p5", "n5"),
    ("p6", "n6"),
    ("p7", "n7"),
    ("p8", "n8"),
    ("p9", "n9"),
    ("p10", "n10"),
];

/// Customers to choose from.
pub(in super::super) fn customers(model: &Model) -> Vec<Opt> {
    let all = model.goods.customers.iter();
    all.map(|customer| Opt::new(customer.id.0.to_string(), customer.name.clone()).hint(customer.round.clone()))
        .collect()
}

fn products(model: &Model) -> Vec<Opt> {
    let today = model.today();
    let all = model.goods.products.iter();
    all.map(|p| Opt::new(p.id.0.to_string(), p.name.clone()).hint(format!("free {}", model.goods.free(p.id, today))))
        .collect()
}

pub(super) fn build(model: &Model, id: Option<OrderId>) -> Form {
    let known = id.and_then(|id| model.goods.order(id));
    let customer = known.map_or_else(String::new, |order| order.customer.0.to_string());
    let mut fields = vec![Field::choice("customer", "customer", customers(model)).required().starting(&customer)];
    for (n, (product, packs)) in LINES.into_iter().enumerate() {
        let line = known.and_then(|order| order.lines.get(n));
        let (what, many) =
            line.map_or_else(Default::default, |line| (line.product.0.to_string(), line.packs.to_string()));
        let label = if n == 0 { "product".to_string() } else { format!("product {}", n + 1) };
        let field = Field::choice(product, &label, products(model)).starting(&what);
        fields.push(if n == 0 { field.required() } else { field });
        fields.push(Field::number(packs, "how many", range("", 1.0, 100_000.0, 0)).required().starting(&many));
    }
    let day = known.map_or_else(|| model.today() + chrono::Duration::days(1), |order| order.day);
    // one of yesterday that was not brought in full is still changed or called off
    let first = day.min(model.today());
    fields.insert(3, Field::date("day", "for", Some(first), None).required().starting(&day.to_string()));
    if id.is_some() {
        fields.push(Field::yes_no("stands", "it stands").required().starting("yes").help("No: it is called off."));
    }
    let title = if id.is_some() { "Order" } else { "An order" };
    let intro = if model.goods.products.is_empty() || model.goods.customers.is_empty() {
        "Write down products and customers first (n on the stock screen)."
    } else {
        "Free is what is on hand less what is promised; Ctrl-S saves at any time."
    };
    Form::new(title, model.today(), fields).intro([intro])
}

pub(super) fn changed(model: &Model, id: Option<OrderId>, form: &mut Form) {
    let values = form.values();
    let mut open = true;
    for (n, (product, packs)) in LINES.into_iter().enumerate() {
        form.show(product, n == 0 || open);
        form.show(packs, n == 0 || (open && !values.text(product).is_empty()));
        open &= !values.text(product).is_empty();
    }
    let known = id.and_then(|id| model.goods.order(id)).filter(|order| order.day >= model.today());
    form.lines = wanted(&values).into_iter().flat_map(|line| free(model, known, line)).collect();
}

/// What is free of a product beside this order, and where more would have to come from.
fn free(model: &Model, order: Option<&Order>, wanted: Wanted) -> Vec<String> {
    let (goods, today) = (&model.goods, model.today());
    let Some(product) = goods.product(wanted.product) else { return vec![] };
    let lines = order.map_or(&[][..], |order| &order.lines).iter().filter(|line| line.product == product.id);
    let (own, done) = lines.fold((0, 0), |(own, done), line| (own + line.open(), done + line.delivered));
    let hand = goods.on_hand(product.id, today);
    let promised = (goods.promised(product.id, today) - own).max(0);
    let free = hand - promised;
    let said = format!("{}: free {free} = {hand} on hand - {promised} promised", product.name);
    if wanted.packs - done <= free {
        return vec![said];
    }
    let units = model.board.units();
    let parts = product.parts.iter().map(|part| {
        let ready = counted(today::ready(&model.board, part.crop, today).count(), "tray");
        let tubs = units.weight(today::tubs_g(goods, part.crop, today) * 1000);
        let tubs = if product.kind == Kind::Live { String::new() } else { format!("{tubs} in tubs, ") };
        format!("{}: {tubs}{ready} ready to cut", part.name)
    });
    vec![format!("{said}; MORE THAN IS FREE"), format!("  {}", parts.collect::<Vec<_>>().join("; "))]
}

fn wanted(values: &Values) -> Vec<Wanted> {
    let line = |(product, packs): &(&'static str, &'static str)| {
        let product = values.text(product).parse().ok().map(ProductId)?;
        Some(Wanted { product, packs: scaled(values, packs, 1.0).unwrap_or(0) })
    };
    LINES.iter().filter_map(line).collect()
}

pub(super) fn action(id: Option<OrderId>, rev: i64, values: &Values) -> Result<Action, Wrong> {
    let customer = values.text("customer").parse().map(CustomerId);
    let customer = customer.map_err(|_| (Some("customer"), "Choose a customer who is in use.".to_string()))?;
    let day = values.date("day").ok_or((Some("day"), "Say for which day.".to_string()))?;
    let new = Box::new(NewOrder { customer, day, lines: wanted(values) });
    Ok(match id {
        None => Action::Order(new),
        Some(order) => Action::EditOrder { order, new, off: !values.yes("stands"), rev },
    })
}
