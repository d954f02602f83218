//! A customer.

use super::load::names;
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::customer::{Customer, NewCustomer};
use crate::domain::id::CustomerId;

pub(super) fn build(model: &Model, id: Option<CustomerId>) -> Form {
    let known = id.and_then(|id| model.goods.customer(id));
    let of = |text: fn(&Customer) -> &String| known.map_or_else(String::new, |customer| text(customer).clone());
    let rounds = names(model).join(", ");
    let mut fields = vec![
        Field::text("name", "name", 60).required().starting(&of(|c| &c.name)),
        Field::text("address", "address", 200).starting(&of(|c| &c.address)).help("Nothing is delivered without one."),
        Field::text("phone", "phone", 40).starting(&of(|c| &c.phone)).help("For a recall: someone who answers."),
        Field::text("round", "round", 60).starting(&of(|c| &c.round)).help(&format!("Rounds so far: {rounds}")),
        Field::text("note", "note", 200).starting(&of(|c| &c.note)).help("Door, hours, who to ask for."),
    ];
    if id.is_some() {
        fields.push(Field::yes_no("used", "still a customer").required().starting("yes"));
    }
    Form::new(if id.is_some() { "Customer" } else { "A customer" }, model.today(), fields)
}

pub(super) fn action(id: Option<CustomerId>, rev: i64, values: &Values) -> Action {
    let text = |id| values.text(id).trim().to_string();
    let new = Box::new(NewCustomer {
        name: text("name"),
        address: text("address"),
        phone: text("phone"),
        round: text("round"),
        note: text("note"),
    });
    match id {
        None => Action::AddCustomer(new),
        Some(customer) => Action::EditCustomer { customer, new, retired: !values.yes("used"), rev },
    }
}
