//! A crop's figures: how it grows, what it wants, how long it keeps.

pub(super) mod anchors;

use super::{Wrong, amount, measure, milligrams, range, scaled, seed_weight, shown, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::{Action, EditCrop, NewCrop};
use crate::domain::crop::{Crop, Medium, Plan, Soak};
use crate::domain::id::{CropId, PlanId};
use crate::domain::look::Roots;
use crate::domain::units::Quantity::Weight;

const GRADES: &[Roots] = &[Roots::None, Roots::Peeking, Roots::Plenty, Roots::Full];

fn yes(on: bool) -> &'static str {
    if on { "yes" } else { "no" }
}

pub(super) fn build(model: &Model, crop: Option<CropId>) -> Form {
    let units = model.board.units();
    let crop = crop.and_then(|id| model.crops.iter().find(|c| c.id == id));
    let of = |read: &dyn Fn(&Crop) -> String, fresh: &str| crop.map_or_else(|| fresh.to_string(), read);
    let opt = |value: Option<i64>, factor: f64| value.map_or_else(String::new, |v| shown(v, factor));
    let words = |all: &[&'static str]| all.iter().map(|w| Opt::new(*w, *w)).collect::<Vec<_>>();
    let media = Medium::ALL.iter().map(|m| Opt::new(m.stored(), m.shown())).collect();
    let soaks = Soak::ALL.iter().map(|s| Opt::new(s.stored(), s.shown())).collect();
    let mut fields = Vec::new();
    if crop.is_none() {
        fields.push(Field::text("letters", "three letters", 3).required().help("They begin its lot codes."));
    }
    fields.extend([
        Field::text("name", "name", 40).required().starting(&of(&|c| c.name.clone(), "")),
        Field::measure("grams", "seed per tray", seed_weight(model, 0.001, 5000.0))
            .required()
            .starting(&of(&|c| amount(Some(c.tray_mg), 1000.0, Weight), ""))
            .help("For a nominal 10 x 20 inch tray."),
        Field::measure("tsw", "1000 seeds weigh", seed_weight(model, 0.01, 5000.0))
            .starting(&of(&|c| amount(c.tsw_mg, 1000.0, Weight), "")),
        Field::choice("soak", "soaking", soaks).starting(&of(&|c| c.soak.stored().into(), "no")),
        Field::number("soak_h", "hours soaked", range("h", 0.0, 48.0, 0))
            .starting(&of(&|c| c.plan.soak_h.to_string(), "0")),
        Field::number("cover_d", "days covered", range("d", 0.0, 60.0, 0))
            .required()
            .starting(&of(&|c| c.plan.cover_d.to_string(), "3")),
        Field::yes_no("weighted", "weight on top").starting(&of(&|c| yes(c.weighted).into(), "no")),
        Field::number("cut_from", "cut from day", range("", 1.0, 90.0, 0))
            .required()
            .starting(&of(&|c| c.plan.cut_from_d.to_string(), "8")),
        Field::number("cut_to", "cut to day", range("", 1.0, 90.0, 0))
            .required()
            .starting(&of(&|c| c.plan.cut_to_d.to_string(), "12")),
        Field::text("roots", "roots by day", 120)
            .starting(&of(&|c| roots_text(&c.plan), "none, peeking, plenty, full"))
            .help("Day 1 first: none, peeking, plenty, full. The last one holds on."),
        Field::yes_no("hidden", "roots hidden")
            .starting(&of(&|c| yes(c.roots_hidden).into(), "no"))
            .help("In soil or coco the stand is judged instead."),
        Field::yes_no("hairs", "root hairs expected")
            .starting(&of(&|c| yes(c.hairs_expected).into(), "no"))
            .help("White fuzz on the roots on days 2 to 4."),
        Field::choice("medium", "medium", media).starting(&of(&|c| c.medium.stored().into(), "mat")),
        Field::yes_no("second", "second cut").starting(&of(&|c| yes(c.second_cut).into(), "no")),
        Field::measure("yield", "expected yield", measure(model, Weight, 1.0, 20_000.0, 0))
            .starting(&of(&|c| amount(c.yield_g, 1.0, Weight), "")),
        Field::number("min_germ", "legal germination", range("%", 0.0, 100.0, 1))
            .starting(&of(&|c| opt(c.min_germ_pm, 10.0), "")),
        Field::number("want_germ", "wanted germination", range("%", 0.0, 100.0, 1))
            .starting(&of(&|c| opt(c.want_germ_pm, 10.0), "90")),
        Field::text("light", "hours of light", 12).starting(&of(&|c| c.light_hours.clone(), "12-16")),
        Field::text("allergen", "allergen", 60)
            .starting(&of(&|c| c.allergen.clone(), "not checked"))
            .help("Which, \"no\", or \"not checked\": that blocks the label."),
        Field::choice("us_list", "on the US trace list", words(&["yes", "no", "not sure"]))
            .starting(&of(&|c| c.us_list.clone(), "not sure")),
        Field::yes_no("chilling", "harmed by cold").starting(&of(&|c| yes(c.chilling).into(), "no")),
        Field::text("anchors", "keeps", 80)
            .required()
            .starting(&of(&|c| anchors::text(&c.anchors, units), &anchors::text(&[(50, 240)], units)))
            .help(&anchors::help(units)),
        Field::number("most", "sold for at most", range("d", 1.0, 400.0, 0))
            .starting(&of(&|c| opt(c.most_d, 1.0), ""))
            .help("Days from the cut, whatever the shelf life says; empty for none."),
        Field::number("seed_price", "seed costs", range(&per(model, "kg"), 0.0, 10_000.0, 2))
            .starting(&of(&|c| opt(c.seed_kg_c, 100.0), ""))
            .help("A kilogram of it. For the week's margins only; empty for none."),
        Field::number("tray_price", "a tray costs", range(&model.board.currency, 0.0, 10_000.0, 2))
            .starting(&of(&|c| opt(c.tray_c, 100.0), ""))
            .help("All but seed: mat, power, hands. Empty for none."),
        Field::yes_no("grown", "grown here").starting(&of(&|c| yes(!c.retired).into(), "yes")),
    ]);
    let title = crop.map_or_else(|| "A crop of your own".to_string(), |c| format!("{} {}", c.letters, c.name));
    let sources = crop.map_or("", |c| c.sources.as_str());
    Form::new(title, model.today(), with_sources(fields, sources))
}

/// `EUR/kg`, or `per kg` where no currency is set.
fn per(model: &Model, unit: &str) -> String {
    match model.board.currency.as_str() {
        "" => format!("per {unit}"),
        currency => format!("{currency}/{unit}"),
    }
}

/// Which figure of the starter table each field shows.
const FIGURES: &[(&str, &str)] = &[
    ("tsw", "thousand-seed weight"),
    ("grams", "grams per tray"),
    ("soak", "soaking"),
    ("soak_h", "soaking"),
    ("cover_d", "days under cover"),
    ("cut_from", "cutting days"),
    ("cut_to", "cutting days"),
    ("roots", "roots by day"),
    ("light", "hours of light"),
    ("yield", "expected yield"),
    ("want_germ", "wanted germination"),
    ("min_germ", "minimum germination"),
    ("allergen", "allergen"),
];

/// Adds to each field where its figure comes from.
fn with_sources(mut fields: Vec<Field>, json: &str) -> Vec<Field> {
    let map: serde_json::Map<String, serde_json::Value> = serde_json::from_str(json).unwrap_or_default();
    for field in &mut fields {
        let figure = FIGURES.iter().find(|(id, _)| *id == field.id).and_then(|(_, figure)| map.get(*figure));
        if let Some(source) = figure.and_then(|source| source.as_str()) {
            field.help = format!("{} Source: {source}.", field.help).trim_start().to_string();
        }
    }
    fields
}

fn roots_text(plan: &Plan) -> String {
    plan.roots.iter().map(|(_, grade)| grade.shown()).collect::<Vec<_>>().join(", ")
}

fn parse_roots(text: &str) -> Result<Vec<(i64, Roots)>, Wrong> {
    let wrong =
        || (Some("roots"), "Write none, peeking, plenty or full for each day from day 1, with commas.".to_string());
    let parts = text.split([',', ' ']).filter(|part| !part.is_empty());
    (1..)
        .zip(parts)
        .map(|(day, word)| GRADES.iter().find(|g| g.shown() == word).map(|g| (day, *g)).ok_or_else(wrong))
        .collect()
}

pub(super) fn action(model: &Model, crop: Option<CropId>, rev: i64, values: &Values) -> Result<Action, Wrong> {
    let hidden = values.yes("hidden");
    let edit = EditCrop {
        crop: crop.unwrap_or(CropId(0)),
        rev,
        name: values.text("name").trim().to_string(),
        soak: Soak::from_stored(values.text("soak")).unwrap_or(Soak::No),
        hairs_expected: values.yes("hairs"),
        roots_hidden: hidden,
        second_cut: values.yes("second"),
        chilling: values.yes("chilling"),
        weighted: values.yes("weighted"),
        medium: Medium::from_stored(values.text("medium")).unwrap_or(Medium::Mat),
        tsw_mg: milligrams(values, "tsw"),
        tray_mg: milligrams(values, "grams").unwrap_or(0),
        yield_g: scaled(values, "yield", 1.0),
        min_germ_pm: scaled(values, "min_germ", 10.0),
        want_germ_pm: scaled(values, "want_germ", 10.0),
        most_d: scaled(values, "most", 1.0),
        seed_kg_c: scaled(values, "seed_price", 100.0),
        tray_c: scaled(values, "tray_price", 100.0),
        allergen: some_text(values, "allergen").unwrap_or_else(|| "not checked".into()),
        us_list: values.text("us_list").to_string(),
        light_hours: values.text("light").trim().to_string(),
        plan: Plan {
            id: PlanId(0),
            version: 0,
            soak_h: scaled(values, "soak_h", 1.0).unwrap_or(0),
            cover_d: scaled(values, "cover_d", 1.0).unwrap_or(0),
            cut_from_d: scaled(values, "cut_from", 1.0).unwrap_or(0),
            cut_to_d: scaled(values, "cut_to", 1.0).unwrap_or(0),
            seeds_dm2: None,
            source: String::new(),
            roots: if hidden { Vec::new() } else { parse_roots(values.text("roots"))? },
        },
        anchors: anchors::parse(values.text("anchors"), model.board.units())?,
        retired: !values.yes("grown"),
    };
    let window_ends_early = edit.plan.cut_from_d > edit.plan.cover_d;
    let at = if window_ends_early { "cut_to" } else { "cut_from" };
    edit.plan.check().map_err(|why| (Some(at), why))?;
    match crop {
        Some(_) => Ok(Action::EditCrop(Box::new(edit))),
        None => Ok(Action::AddCrop(Box::new(NewCrop { letters: values.text("letters").to_string(), edit }))),
    }
}
