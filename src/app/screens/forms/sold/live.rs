//! Trays sold alive, and the empty ones that come back.

use super::super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{CustomerId, ProductId, TrayId};
use crate::domain::packing::NewLive;
use crate::domain::product::Kind;
use crate::domain::tray::{Stage, TrayCard};

pub(super) fn build(model: &Model, tray: TrayId) -> Form {
    let first = model.board.tray(tray);
    let of_crop = |id| first.is_some_and(|tray| tray.crop == id);
    let live =
        model.goods.products.iter().filter(|p| p.kind == Kind::Live && p.parts.iter().any(|part| of_crop(part.crop)));
    let products: Vec<Opt> = live.map(|product| Opt::new(product.id.0.to_string(), product.name.clone())).collect();
    let start = products.first().map_or_else(String::new, |product| product.value.clone());
    let none = products.is_empty();
    let stands = |card: &&TrayCard| of_crop(card.crop) && matches!(card.stage, Stage::Lit | Stage::Ready);
    let mut cards: Vec<&TrayCard> = model.board.trays.iter().filter(stands).collect();
    cards.sort_by_key(|card| (card.id != tray, card.sown, card.id));
    let trays = cards.into_iter().map(|card| {
        let bar = card.cut_bar(model.now).map_or_else(String::new, |why| format!("; {why}"));
        Opt::new(card.id.0.to_string(), card.code()).hint(format!("{}{bar}", card.stands()))
    });
    let fields = vec![
        Field::choice("product", "product", products).required().starting(&start),
        Field::many("trays", "trays", trays.collect()).required().starting(&tray.0.to_string()),
        Field::date("until", "best before", Some(model.today()), None)
            .help("Empty: the last day of the cutting window."),
    ];
    let intro = if none {
        "No product is a live tray of this crop: write one down first (stock, n)."
    } else {
        "It leaves as a lot with a code of its own; the same stands against it as against the knife."
    };
    Form::new("Sell alive", model.today(), fields).intro([intro])
}

pub(super) fn action(values: &Values) -> Result<Action, Wrong> {
    let product = values.text("product").parse().map(ProductId);
    let product = product.map_err(|_| (Some("product"), "Choose a product that is a live tray.".to_string()))?;
    let trays = values.many("trays").iter().filter_map(|id| id.parse().ok().map(TrayId)).collect();
    Ok(Action::LeaveAlive(Box::new(NewLive { product, trays, best_before: values.date("until") })))
}

pub(super) fn empties(model: &Model, customer: CustomerId) -> Form {
    let to = model.goods.customer(customer);
    let out = to.map_or(0, |customer| customer.trays_out);
    #[expect(clippy::cast_precision_loss, reason = "trays at one customer")]
    let most = range("", 1.0, out.max(1) as f64, 0);
    let fields = vec![
        Field::number("amount", "trays", most).required().starting(&out.to_string()),
        Field::text("with", "washed with", 120).required().help("None goes back on a rack before."),
    ];
    let name = to.map_or("", |customer| customer.name.as_str());
    Form::new(format!("Empty trays back from {name}"), model.today(), fields)
}

pub(super) fn empties_action(customer: CustomerId, values: &Values) -> Action {
    let trays = scaled(values, "amount", 1.0).unwrap_or(0);
    Action::Empties { customer, trays, washed_with: values.text("with").trim().to_string() }
}
