//! A packing run, and another label for packs that are all still here.

use super::harvest::{named_tools, tool_lines, tools};
use super::{Wrong, measure, range, scaled, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::crop::Allergy;
use crate::domain::id::{LotId, ProductId, StoreId};
use crate::domain::keeping::early_day;
use crate::domain::lot::{Kind as LotKind, Lot};
use crate::domain::mix::{Material, MaterialLot};
use crate::domain::packing::{Draw, NewRun, grams_here, most, share_out};
use crate::domain::product::{Kind, Product};
use crate::domain::seed_lot::percent;
use crate::domain::time::Day;
use crate::domain::tool::names;
use crate::domain::units::Quantity::Weight;

/// Grams drawn of each lot, where they are weighed out by hand.
const DRAWN: [&str; 8] = ["d1", "d2", "d3", "d4", "d5", "d6", "d7", "d8"];

/// Grams of one run.
const MOST_G: f64 = 1_000_000.0;

const MOST_PACK_G: f64 = 20_000.0;

const MOST_PACKS: f64 = 100_000.0;

pub(super) fn build(model: &Model, lot: Option<LotId>) -> Form {
    let proposed = lot.and_then(|id| model.goods.lot(id)).or_else(|| newest(model)).and_then(|lot| fits(model, lot));
    let weight = |id, label: &str, least: f64, most: f64| {
        Field::measure(id, label, measure(model, Weight, least, most, 0)).required()
    };
    let mut fields = vec![
        Field::choice("product", "product", products(model))
            .required()
            .starting(&proposed.map_or_else(String::new, |product| product.id.0.to_string())),
        Field::yes_no("hand", "amounts by hand").starting("no").help("Yes: say how much of each lot goes in."),
        Field::many("from", "from", vec![]).required().help("Least life left first; Space takes a lot out."),
        weight("draw", "drawn", 1.0, MOST_G),
    ];
    fields.extend(DRAWN.map(|id| Field::measure(id, "", measure(model, Weight, 0.0, MOST_G, 0)).hidden()));
    fields.extend([
        weight("size", "a pack holds", 1.0, MOST_PACK_G),
        Field::number("packs", "packs", range("", 1.0, MOST_PACKS, 0)).required(),
        weight("trim", "trimmed off", 0.0, MOST_G).starting("0 g"),
        weight("waste", "binned", 0.0, MOST_G).starting("0 g"),
        Field::choice("into", "they go into", stores(model))
            .starting(NOWHERE)
            .hidden()
            .help("At once; later by k in the stock."),
        Field::date("until", "best before", Some(model.today()), None).help("This day or an earlier one."),
        tools(model, &model.goods.last_use.packed),
        Field::text("into_what", "packed into", 60).help("Boxes, bags, tubs; or leave it empty."),
        Field::text("carton", "lot on the carton", 40).help("As printed; another carton, another lot."),
    ]);
    let mut form = Form::new("Pack", model.today(), fields)
        .intro(["Greens go into the pack dry, on paper. Count the packs, weigh trim and waste."]);
    if proposed.is_some() {
        form.focus_on("packs");
    }
    form
}

/// Not put away yet.
const NOWHERE: &str = "-";

fn stores(model: &Model) -> Vec<Opt> {
    let stores = model.cold.in_use().map(|store| Opt::new(store.id.0.to_string(), store.name.clone()));
    stores.chain([Opt::new(NOWHERE, "not put away yet")]).collect()
}

/// The store that all of what is drawn lies in.
fn lies(model: &Model, draws: &[Draw]) -> Option<StoreId> {
    let mut stores = draws.iter().map(|draw| model.cold.lot(draw.lot).and_then(|lot| lot.store));
    let first = stores.next()??;
    stores.all(|store| store == Some(first)).then_some(first)
}

/// The harvest lot cut last that is free.
fn newest(model: &Model) -> Option<&Lot> {
    let free = model.goods.to_draw(model.today()).filter(|lot| lot.kind == LotKind::Harvest);
    free.max_by_key(|lot| lot.id)
}

/// The product that a lot goes into: of its own crops alone, else one that has them too.
fn fits<'m>(model: &'m Model, lot: &Lot) -> Option<&'m Product> {
    if let Some(product) = lot.product {
        return model.goods.product(product).filter(|product| product.kind != Kind::Live);
    }
    let packed = || model.goods.products.iter().filter(|product| product.kind != Kind::Live);
    let has = |product: &&Product| lot.parts.iter().all(|part| product.has(part.crop));
    packed().filter(has).min_by_key(|product| product.parts.len())
}

fn products(model: &Model) -> Vec<Opt> {
    let packed = model.goods.products.iter().filter(|product| product.kind != Kind::Live);
    packed
        .map(|product| {
            let size = product.pack_g.map_or_else(String::new, |grams| model.board.units().weight(grams * 1000));
            let free = model.goods.free(product.id, model.today());
            Opt::new(product.id.0.to_string(), product.name.clone()).hint(format!("{size}; free {free}"))
        })
        .collect()
}

fn chosen<'m>(model: &'m Model, values: &Values) -> Option<&'m Product> {
    model.goods.product(ProductId(values.text("product").parse().ok()?))
}

/// Lots that a product may be drawn from, least life left first.
fn lots<'m>(model: &'m Model, product: &Product) -> Vec<&'m Lot> {
    let fits = |lot: &&Lot| lot.parts.iter().all(|part| product.has(part.crop)) && grams_here(lot) > 0;
    model.goods.to_draw(model.today()).filter(fits).collect()
}

/// Lots in the order given, without those that are blends: their crops cannot be shared out.
fn single<'m>(lots: &[&'m Lot]) -> Vec<&'m Lot> {
    lots.iter().filter(|lot| lot.parts.len() == 1).copied().collect()
}

fn ticked<'m>(lots: &[&'m Lot], values: &Values) -> Vec<&'m Lot> {
    let from = values.many("from");
    lots.iter().filter(|lot| from.contains(&lot.id.0.to_string())).copied().collect()
}

pub(super) fn changed(model: &Model, form: &mut Form) {
    let grams = |grams: i64| format!("{grams} g");
    form.set_options("product", products(model));
    let Some(product) = chosen(model, &form.values()) else {
        let none = products(model).is_empty();
        form.lines = if none { vec!["No product yet: write one down first.".into()] } else { vec![] };
        return;
    };
    let all = lots(model, product);
    let simple = single(&all);
    form.set_options("from", simple.iter().map(|lot| option(model, lot)).collect());
    // packs are opened only where someone says so
    let fresh = simple.iter().filter(|lot| lot.kind == LotKind::Harvest).map(|lot| lot.id.0.to_string());
    form.set_default("from", &fresh.collect::<Vec<_>>().join("\n"));
    let hand = form.values().yes("hand");
    form.show("from", !hand);
    form.show("draw", !hand);
    for (n, id) in DRAWN.into_iter().enumerate() {
        let lot = all.get(n).filter(|_| hand);
        if let Some(lot) = lot {
            form.set_label(id, &lot.code);
        }
        form.show(id, lot.is_some());
    }
    let there = most(&product.parts, &ticked(&all, &form.values()));
    // whole packs are drawn; what is less than one stays in its tub
    let over = product.pack_g.filter(|size| there >= *size).map_or(0, |size| there % size);
    form.set_default("draw", &grams(there - over));
    form.set_default("size", &product.pack_g.map_or_else(String::new, grams));
    let values = form.values();
    let draws = match draws(&all, product, &values) {
        Ok(draws) => draws,
        Err((_, why)) => {
            form.lines = vec![why];
            return;
        }
    };
    let drawn: i64 = draws.iter().map(|draw| draw.grams).sum();
    let left = drawn - scaled(&values, "trim", 1.0).unwrap_or(0) - scaled(&values, "waste", 1.0).unwrap_or(0);
    let packs = scaled(&values, "size", 1.0).filter(|size| *size > 0).map_or(0, |size| left / size);
    if packs > 0 {
        form.set_default("packs", &packs.to_string());
    }
    form.show("into", model.cold.in_use().next().is_some());
    form.set_default("into", &lies(model, &draws).map_or_else(|| NOWHERE.to_string(), |store| store.0.to_string()));
    let (what, carton) = model.goods.last_use.packaging.get(&product.id).cloned().unwrap_or_default();
    form.set_default("into_what", &what);
    form.set_default("carton", &carton);
    let limit = limit(model, &draws);
    form.set_default("until", &limit.map_or_else(String::new, |day| day.to_string()));
    let values = form.values();
    form.lines = lines(model, product, &draws, &values);
}

fn option(model: &Model, lot: &Lot) -> Opt {
    let here = model.board.units().weight(grams_here(lot) * 1000);
    Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(format!("{} {here}, {}", lot.name, lot.life(model.today())))
}

/// What is drawn of which lot.
fn draws(all: &[&Lot], product: &Product, values: &Values) -> Result<Vec<Draw>, Wrong> {
    if !values.yes("hand") {
        return Ok(share_out(&product.parts, &ticked(all, values), scaled(values, "draw", 1.0).unwrap_or(0)));
    }
    let mut draws = Vec::new();
    for (id, lot) in DRAWN.into_iter().zip(all) {
        let grams = scaled(values, id, 1.0).unwrap_or(0);
        let packs = match lot.pack_g {
            Some(pack_g) if grams % pack_g != 0 => {
                return Err((Some(id), format!("Packs are opened whole: a multiple of {pack_g} g.")));
            }
            pack_g => pack_g.map(|pack_g| grams / pack_g),
        };
        if grams > 0 {
            draws.push(Draw { lot: lot.id, grams, packs });
        }
    }
    Ok(draws)
}

/// The last day of what goes in: as its tubs say, and not later than the early end of what it still keeps.
fn limit(model: &Model, draws: &[Draw]) -> Option<Day> {
    let cold = &model.cold;
    let keeps = draws
        .iter()
        .filter_map(|draw| cold.lot(draw.lot))
        .filter_map(|lot| early_day(&cold.left_at(lot, cold.after_dc, model.now.instant().0.timestamp()), model.now));
    draws.iter().filter_map(|draw| model.goods.lot(draw.lot)?.best_before).chain(keeps).min()
}

fn run(product: &Product, draws: Vec<Draw>, values: &Values) -> NewRun {
    let number = |id| scaled(values, id, 1.0).unwrap_or(0);
    NewRun {
        product: product.id,
        draws,
        packs: number("packs"),
        pack_g: number("size"),
        trim_g: number("trim"),
        waste_g: number("waste"),
        best_before: values.date("until"),
        store: values.text("into").parse().ok().map(StoreId),
        tools: names(values.text("tools")),
        packaging: some_text(values, "into_what").zip(some_text(values, "carton")),
        sure: values.sure().to_vec(),
    }
}

/// The material and its lot typed there, if it is held.
fn held_carton<'m>(model: &'m Model, values: &Values) -> Option<(&'m Material, &'m MaterialLot)> {
    let (what, carton) = (values.text("into_what").trim(), values.text("carton").trim());
    let material = model.board.materials.iter().find(|material| material.name == what)?;
    let lot = material.lots.iter().find(|lot| lot.code == carton && lot.held)?;
    Some((material, lot))
}

/// What is drawn from where, what is not accounted for, and what the label will have to say.
fn lines(model: &Model, product: &Product, draws: &[Draw], values: &Values) -> Vec<String> {
    let weight = |grams: i64| model.board.units().weight(grams * 1000);
    let mut lines: Vec<String> = draws
        .iter()
        .filter_map(|draw| {
            let lot = model.goods.lot(draw.lot)?;
            let opened = draw.packs.map_or_else(String::new, |packs| format!(", {packs} packs opened"));
            Some(format!("{} of {} ({}){opened}", weight(draw.grams), lot.code, lot.life(model.today())))
        })
        .collect();
    if draws.is_empty() {
        lines.push(format!("Nothing that may be drawn for {} is here: cut first.", product.name));
        return lines;
    }
    let run = run(product, draws.to_vec(), values);
    let off = match run.difference() {
        more if more < 0 => format!("{} more came out than was drawn, {}", weight(-more), percent(run.off_pm())),
        less => format!("{}, {} not accounted for", weight(less), percent(run.off_pm())),
    };
    lines.push(if run.odd() { format!("MORE THAN 5 %: {off}. Weigh again.") } else { format!("{off}.") });
    if let Some(day) = limit(model, draws) {
        lines.push(format!("What goes in is best before {day}; a planning figure, it clears nothing."));
    }
    for part in &product.parts {
        match Allergy::of(&part.allergen) {
            Allergy::Yes(what) => lines.push(format!("{} contains {what}: the label says so.", part.name)),
            Allergy::NotChecked => lines.push(format!(
                "{}: allergens not checked. The label is barred until the crop's settings say.",
                part.name
            )),
            Allergy::No => {}
        }
    }
    lines.extend(tool_lines(model, values, &model.goods.last_use.packed));
    if let Some((material, lot)) = held_carton(model, values) {
        lines.push(format!("{}, lot {}, is HELD: take another carton.", material.name, lot.code));
    }
    lines
}

pub(super) fn action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let product = chosen(model, values).ok_or((Some("product"), "Choose a product that is in use.".to_string()))?;
    let all = lots(model, product);
    if !values.yes("hand") {
        let (wanted, there) = (scaled(values, "draw", 1.0).unwrap_or(0), most(&product.parts, &ticked(&all, values)));
        if wanted > there {
            let there = model.board.units().weight(there * 1000);
            return Err((Some("draw"), format!("By the shares the lots give {there} at most: draw less.")));
        }
    }
    named_tools(values)?;
    match (some_text(values, "into_what"), some_text(values, "carton")) {
        (Some(_), None) => return Err((Some("carton"), "Copy the lot from the carton, or empty both.".into())),
        (None, Some(_)) => return Err((Some("into_what"), "Say what came out of that carton, or empty both.".into())),
        _ => {}
    }
    let draws = draws(&all, product, values)?;
    Ok(Action::Pack(Box::new(run(product, draws, values))))
}

pub(super) fn reissue(model: &Model, lot: LotId) -> Form {
    let code = model.goods.lot(lot).map_or_else(String::new, |lot| lot.code.clone());
    Form::new(
        format!("Another label: {code}"),
        model.today(),
        vec![
            Field::choice("product", "product", products(model)).required(),
            Field::text("reason", "why", 200).required().help("The old labels are out of date by it."),
        ],
    )
    .intro(["All packs get a new code and new labels; the old code still finds them."])
}

pub(super) fn reissue_action(lot: LotId, values: &Values) -> Result<Action, Wrong> {
    let to = values.text("product").parse().map(ProductId);
    let product = to.map_err(|_| (Some("product"), "Choose a product that is in use.".to_string()))?;
    Ok(Action::Reissue { lot, product, reason: values.text("reason").trim().to_string() })
}
