//! Who seed comes from: name, address, and how long it takes to come.

use super::{range, scaled};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::SupplierId;
use crate::domain::supplier::LEAD_D_MAX;

#[expect(clippy::cast_precision_loss, reason = "a year of days")]
pub(super) fn build(model: &Model, id: SupplierId) -> Form {
    let known = model.shelf.supplier(id);
    let of = |text: Option<&String>| text.cloned().unwrap_or_default();
    let lead = known.and_then(|supplier| supplier.lead_d).map_or_else(String::new, |days| days.to_string());
    let used = if known.is_some_and(|supplier| supplier.retired) { "no" } else { "yes" };
    Form::new(
        "Supplier of seed",
        model.today(),
        vec![
            Field::text("name", "name", 80).required().starting(&of(known.map(|s| &s.name))),
            Field::text("address", "address", 200)
                .starting(&of(known.map(|s| &s.address)))
                .help("Wanted in a recall: a trace ends there."),
            Field::number("lead", "takes to come", range("d", 0.0, LEAD_D_MAX as f64, 0))
                .starting(&lead)
                .help("Days from the order to the delivery; the shelf then tells when to order."),
            Field::yes_no("used", "still a supplier").required().starting(used).help("Seed from there brings it back."),
        ],
    )
}

pub(super) fn action(supplier: SupplierId, rev: i64, values: &Values) -> Action {
    let text = |id| values.text(id).trim().to_string();
    Action::EditSupplier {
        supplier,
        name: text("name"),
        address: text("address"),
        lead_d: scaled(values, "lead", 1.0),
        retired: !values.yes("used"),
        rev,
    }
}
