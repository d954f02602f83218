//! A product: one crop, a blend, or a live tray.

use super::super::{Wrong, amount, measure, range, scaled, shown, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{CropId, ProductId};
use crate::domain::product::{Kind, NewProduct};
use crate::domain::units::Quantity::Weight;

/// Crops of a blend, and their shares.
const PARTS: [(&str, &str); 8] =
    [("c1", "s1"), ("c2", "s2"), ("c3", "s3"), ("c4", "s4"), ("c5", "s5"), ("c6", "s6"), ("c7", "s7"), ("c8", "s8")];

pub(super) fn build(model: &Model, id: Option<ProductId>) -> Form {
    let known = id.and_then(|id| model.goods.product(id));
    let kinds = Kind::ALL.iter().map(|kind| Opt::new(kind.stored(), kind.shown())).collect();
    let mut crops: Vec<Opt> =
        model.board.crops.iter().map(|crop| Opt::new(crop.id.0.to_string(), crop.name.clone())).collect();
    // a crop out of use stays where it is one of the parts
    let parts = known.map_or(&[][..], |product| &product.parts).iter();
    let idle = parts.filter(|part| !model.board.crops.iter().any(|crop| crop.id == part.crop));
    crops.extend(idle.map(|part| Opt::new(part.crop.0.to_string(), part.name.clone()).hint("out of use")));
    let mut fields = vec![
        Field::choice("kind", "is", kinds).required().starting(known.map_or(Kind::Crop, |p| p.kind).stored()),
        Field::measure("pack_g", "a pack holds", measure(model, Weight, 1.0, 20_000.0, 0))
            .required()
            .starting(&amount(known.and_then(|p| p.pack_g), 1.0, Weight)),
    ];
    for (n, (crop, share)) in PARTS.into_iter().enumerate() {
        let part = known.and_then(|product| product.parts.get(n));
        let label = if n == 0 { "crop".to_string() } else { format!("crop {}", n + 1) };
        let chosen = part.map_or_else(String::new, |part| part.crop.0.to_string());
        let percent = part.map_or_else(String::new, |part| shown(part.share_pm, 10.0));
        fields.push(Field::choice(crop, &label, crops.clone()).starting(&chosen));
        fields.push(Field::number(share, "share", range("%", 0.1, 100.0, 1)).starting(&percent).hidden());
    }
    fields.push(
        Field::text("name", "name", 60)
            .required()
            .starting(known.map_or("", |p| &p.name))
            .help("As the label says it."),
    );
    let gtin = known.and_then(|product| product.gtin.clone()).unwrap_or_default();
    fields.push(
        Field::text("gtin", "GTIN", 20).starting(&gtin).help("Only with a licensed company prefix; empty otherwise."),
    );
    let price = known.and_then(|product| product.price_c).map_or_else(String::new, |cents| shown(cents, 100.0));
    fields.push(
        Field::number("price", "price", range(&model.board.currency, 0.0, 10_000.0, 2))
            .starting(&price)
            .help("Of one pack or live tray. For the week's margins only; empty for none."),
    );
    if id.is_some() {
        fields.push(Field::yes_no("used", "still sold").required().starting("yes"));
    }
    Form::new(if id.is_some() { "Product" } else { "A product" }, model.today(), fields)
}

pub(super) fn changed(model: &Model, id: Option<ProductId>, form: &mut Form) {
    let kind = Kind::from_stored(form.values().text("kind")).unwrap_or(Kind::Crop);
    form.show("pack_g", kind != Kind::Live);
    let values = form.values();
    let blend = kind == Kind::Blend;
    let mut open = true;
    for (n, (crop, share)) in PARTS.into_iter().enumerate() {
        // one more line than was filled in
        form.show(crop, n == 0 || (blend && open));
        form.show(share, blend && open && !values.text(crop).is_empty());
        open &= !values.text(crop).is_empty();
    }
    if id.is_none() {
        form.set_default("name", &usual_name(model, kind, &values).unwrap_or_default());
    }
    let sum: f64 = PARTS.iter().filter_map(|(_, share)| values.number(share)).sum();
    form.lines = if blend { vec![format!("{} % together; it has to be 100 %.", shown_sum(sum))] } else { vec![] };
}

/// `pea 100 g`, `pea, alive`: what a product of one crop is called where nobody says otherwise.
fn usual_name(model: &Model, kind: Kind, values: &Values) -> Option<String> {
    let crop = values.text("c1").parse().ok().map(CropId)?;
    let name = &model.board.crops.iter().find(|known| known.id == crop)?.name;
    match kind {
        Kind::Crop => Some(format!("{name} {}", model.board.units().weight(scaled(values, "pack_g", 1.0)? * 1000))),
        Kind::Live => Some(format!("{name}, alive")),
        Kind::Blend => None,
    }
}

fn shown_sum(sum: f64) -> String {
    let text = format!("{sum:.1}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

pub(super) fn action(id: Option<ProductId>, rev: i64, values: &Values) -> Result<Action, Wrong> {
    let kind = Kind::from_stored(values.text("kind")).unwrap_or(Kind::Crop);
    let crop = |field: &str| values.text(field).parse().ok().map(CropId);
    let parts = if kind == Kind::Blend {
        let parts =
            PARTS.iter().filter_map(|(field, share)| Some((crop(field)?, scaled(values, share, 10.0).unwrap_or(0))));
        parts.collect()
    } else {
        crop("c1").map(|crop| (crop, 1000)).into_iter().collect()
    };
    let pack_g = scaled(values, "pack_g", 1.0).filter(|_| kind != Kind::Live);
    let new = NewProduct {
        name: values.text("name").trim().to_string(),
        kind,
        pack_g,
        gtin: some_text(values, "gtin"),
        price_c: scaled(values, "price", 100.0),
        parts,
    };
    new.check().map_err(|(field, why)| (Some(if field == "parts" { "c1" } else { field }), why))?;
    let new = Box::new(new);
    Ok(match id {
        None => Action::AddProduct(new),
        Some(product) => Action::EditProduct { product, new, retired: !values.yes("used"), rev },
    })
}
