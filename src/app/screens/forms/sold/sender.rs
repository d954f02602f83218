//! What labels and delivery notes say of the room.

use super::super::{amount, measure, scaled, some_text};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::sender::Sender;
use crate::domain::units::Quantity::Temperature;

pub(super) fn build(model: &Model) -> Form {
    let sender = &model.board.sender;
    let name = if sender.name.is_empty() { &model.board.room_name } else { &sender.name };
    let temp = measure(model, Temperature, 0.0, 25.0, 1);
    let fields = vec![
        Field::text("name", "grower", 60).required().starting(name),
        Field::text("address", "address", 120)
            .required()
            .starting(&sender.address)
            .help("All of it, as a letter needs it."),
        Field::text("phone", "phone", 40).required().starting(&sender.phone),
        Field::yes_no("wash", "wash first")
            .required()
            .starting(if sender.wash { "yes" } else { "no" })
            .help("\"Wash before eating\" stands on the label."),
        Field::measure("after", "kept at after us", temp)
            .required()
            .starting(&amount(Some(sender.after_dc), 10.0, Temperature))
            .help("Best before is planned at this temperature: the customer's fridge, not ours."),
        Field::text("prefix", "GS1 prefix", 12)
            .starting(sender.gs1_prefix.as_deref().unwrap_or(""))
            .help("Only a company prefix that is licensed to you; empty otherwise."),
    ];
    Form::new("Labels and notes", model.today(), fields)
        .intro(["Local rules decide what a label has to say; look them up."])
}

pub(super) fn action(rev: i64, values: &Values) -> Action {
    let text = |id| values.text(id).trim().to_string();
    let sender = Box::new(Sender {
        name: text("name"),
        address: text("address"),
        phone: text("phone"),
        gs1_prefix: some_text(values, "prefix"),
        wash: values.yes("wash"),
        after_dc: scaled(values, "after", 10.0).unwrap_or(70),
    });
    Action::EditSender { sender, rev }
}
