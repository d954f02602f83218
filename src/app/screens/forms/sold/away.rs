//! What leaves the stock by hand, and what a count found.

use super::super::{measure, range, scaled};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::LotId;
use crate::domain::lot::Kind;
use crate::domain::stock::{Away, NewMove, SAMPLE_D};
use crate::domain::units::Quantity::Weight;

/// Packs of a pack lot, grams of a harvest lot.
fn amount(model: &Model, id: LotId, least: f64, label: &str) -> Field {
    let lot = model.goods.lot(id);
    #[expect(clippy::cast_precision_loss, reason = "what is there of one lot")]
    let here = lot.map_or(0.0, |lot| lot.here() as f64);
    let most = if least > 0.0 { here.max(least) } else { 10_000_000.0 };
    let field = match lot.map(|lot| lot.kind) {
        Some(Kind::Harvest) => Field::measure("amount", label, measure(model, Weight, least, most, 0)),
        _ => Field::number("amount", label, range("packs", least, most, 0)),
    };
    field.required()
}

fn name(model: &Model, id: LotId) -> String {
    model.goods.lot(id).map_or_else(String::new, |lot| format!("{} {}", lot.code, lot.name))
}

pub(super) fn build(model: &Model, lot: LotId, away: Away) -> Form {
    let mut fields = vec![amount(model, lot, 1.0, "how much")];
    match away {
        Away::Waste => fields.push(Field::text("reason", "why", 200).required()),
        Away::Given => fields.push(Field::text("reason", "to whom", 200).required()),
        Away::Sample => fields.push(Field::text("reason", "remark", 200)),
    }
    let title = match away {
        Away::Waste => "Bin",
        Away::Given => "Give away",
        Away::Sample => "Keep a sample",
    };
    let form = Form::new(format!("{title}: {}", name(model, lot)), model.today(), fields);
    if away == Away::Sample {
        return form.intro([format!("Kept to the end of the lot's life and {SAMPLE_D} days more; never for sale.")]);
    }
    form
}

pub(super) fn action(lot: LotId, away: Away, values: &Values) -> Action {
    let amount = scaled(values, "amount", 1.0).unwrap_or(0);
    let reason = values.text("reason").trim().to_string();
    Action::MoveStock(Box::new(NewMove { lot, away, amount, reason }))
}

pub(super) fn count(model: &Model, lot: LotId) -> Form {
    let fields = vec![amount(model, lot, 0.0, "is there"), Field::text("reason", "why", 200).required()];
    Form::new(format!("Count {}", name(model, lot)), model.today(), fields)
        .intro(["The difference stays visible: what was made is then not wholly accounted for."])
}

pub(super) fn count_action(lot: LotId, values: &Values) -> Action {
    let counted = scaled(values, "amount", 1.0).unwrap_or(0);
    Action::CountStock { lot, counted, reason: values.text("reason").trim().to_string() }
}
