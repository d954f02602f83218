//! Sowing: the crop proposes the lot, the seed per tray, the places; the jar confirms the lot.

mod plan;

use super::seed::crop_options;
use super::{Wrong, milligrams, range, scaled, seed_weight, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::app::screens::cleaning;
use crate::domain::action::Action;
use crate::domain::code::Code;
use crate::domain::crop::Medium;
use crate::domain::id::CropId;
use crate::domain::room::Place;
use crate::domain::seed_lot::SeedLot;
use crate::domain::sowing::{NewSowing, Part, SOAK_MAX_H, TRAYS_MAX, Wetting};
use crate::domain::time::Day;
use plan::{Plan, chosen};

#[expect(clippy::cast_precision_loss, reason = "a few hundred trays")]
const MOST_TRAYS: f64 = TRAYS_MAX as f64;

#[expect(clippy::cast_precision_loss, reason = "a week of hours")]
const SOAK_MOST_H: f64 = SOAK_MAX_H as f64;

/// Fields that ask nothing as long as the crop has no seed.
const WITH_SEED: &[&str] = &["jar", "grams"];

pub(super) fn build(model: &Model) -> Form {
    let today = model.today();
    let formats: Vec<Opt> = model.board.formats.iter().map(|f| Opt::new(f.id.0.to_string(), f.name.clone())).collect();
    let media = Medium::ALL.iter().map(|m| Opt::new(m.stored(), m.shown())).collect();
    let first_format = formats.first().map_or_else(String::new, |opt| opt.value.clone());
    Form::new(
        "Sow",
        today,
        vec![
            Field::choice("crop", "crop", crop_options(model)).required().help("Type its first letters."),
            Field::number("trays", "trays", range("", 1.0, MOST_TRAYS, 0)).required().starting("1"),
            Field::text("jar", "read off the jar", 40)
                .required()
                .help("Scan the jar, or type the last three characters of its code; two jars with a space between."),
            Field::measure("grams", "seed per tray", seed_weight(model, 0.001, 5000.0)).required(),
            Field::yes_no("sure", "sure of the seed")
                .required()
                .hidden()
                .help("It is more than double or under half of what such a tray gets: check grams and unit."),
            Field::choice("lot", "first lot", vec![]),
            Field::choice("place", "first place", vec![]).help("The trays fill free places from here on."),
            Field::yes_no("from_soak", "from the soak")
                .required()
                .hidden()
                .starting("yes")
                .help("No: dry from the jar, or soaked otherwise."),
            Field::number("soak_h", "hours soaked", range("h", 0.0, SOAK_MOST_H, 0)).starting("0"),
            Field::date("day", "sown on", None, Some(today)).required().starting("today"),
            Field::choice("format", "tray", formats).starting(&first_format),
            Field::number("mats", "mats per tray", range("", 1.0, 8.0, 0)).required().starting("1"),
            Field::choice("medium", "medium", media).required().starting("mat"),
            Field::text("medium_lot", "lot of the medium", 40),
            Field::choice("wet", "wetted with", vec![Opt::new("water", "water"), Opt::new("mix", "a mix")])
                .required()
                .starting("water"),
            Field::text("mix", "mix", 80).required().hidden().help("The label and local rules decide about any spray."),
            Field::number("wait", "wait before cutting", range("d", 0.0, 365.0, 1)).required().hidden(),
            Field::measure("counted", "first jar holds", seed_weight(model, 0.0, 1_000_000.0))
                .help("Only if it holds other than the book says."),
        ],
    )
}

/// Works out proposals and the arithmetic after every change.
pub(super) fn changed(model: &Model, form: &mut Form) {
    propose(model, form);
    let values = form.values();
    let mix = values.text("wet") == "mix";
    form.show("mix", mix);
    form.show("wait", mix);
    let Some(plan) = chosen(model, &values) else {
        form.lines = missing(model, &values).map_or_else(Vec::new, |(_, sentence)| vec![sentence]);
        return;
    };
    for id in WITH_SEED {
        form.show(id, !plan.lots.is_empty());
    }
    form.show("lot", in_jars(model, plan.crop.id).next().is_some());
    form.show("sure", !plan.lots.is_empty() && plan.odd(&values).is_some());
    // an answer holds for the grams it was given for
    if values.yes("sure") && form.focused().is_some_and(|field| ["grams", "crop", "format", "lot"].contains(&field.id))
    {
        form.set_value("sure", "");
    }
    let soaked = plan.soaked(model, &values);
    form.show("from_soak", !soaked.is_empty());
    let from_soak = form.values().yes("from_soak");
    form.show("soak_h", !(from_soak && soaked.all));
    form.lines = plan.lines(&values);
    if from_soak {
        form.lines.splice(0..0, soaked.lines(model));
    }
}

/// What the room itself lacks for a sowing; nothing while the crop is only not chosen yet.
fn missing(model: &Model, values: &Values) -> Option<Wrong> {
    if model.board.crops.is_empty() {
        return Some((Some("crop"), "No crop is grown here: add one in settings.".into()));
    }
    if model.board.formats.is_empty() {
        return Some((Some("format"), "No tray format is known: add one in settings.".into()));
    }
    values.text("format").is_empty().then(|| (Some("format"), "Choose the tray.".into()))
}

/// Proposes what depends on the crop; what the person typed stays.
fn propose(model: &Model, form: &mut Form) {
    let values = form.values();
    let Some(crop) = plan::crop(model, &values) else { return };
    let day = plan::day(model, &values);
    form.set_options("lot", lot_options(model, crop.id, day));
    if let Some(first) = model.lots.iter().find(|l| l.crop == crop.id && l.bar(day).is_none()) {
        form.set_default("lot", &first.id.0.to_string());
    }
    let mut places = plan::places(model, crop);
    places.dedup_by_key(|place| place.id);
    let dirty = |place: &Place| model.board.to_clean(place.id).is_some();
    form.set_options(
        "place",
        places
            .iter()
            .map(|p| {
                let opt = Opt::new(p.id.0.to_string(), p.label()).hint(p.zone.shown());
                if dirty(p) { opt.hint(cleaning::FIRST) } else { opt }
            })
            .collect(),
    );
    if let Some(first) = places.iter().find(|place| !dirty(place)) {
        form.set_default("place", &first.id.0.to_string());
    }
    form.set_default("medium", crop.medium.stored());
    form.set_default("soak_h", &crop.plan.soak_h.to_string());
    let grams = chosen(model, &form.values()).and_then(|plan| plan.grams());
    form.set_default("grams", &grams.map_or_else(String::new, |grams| format!("{grams} g")));
}

/// Lots of a crop that hold seed.
fn in_jars(model: &Model, crop: CropId) -> impl Iterator<Item = &SeedLot> {
    model.lots.iter().filter(move |lot| lot.crop == crop && lot.left_mg > 0)
}

fn lot_options(model: &Model, crop: CropId, day: Day) -> Vec<Opt> {
    in_jars(model, crop)
        .map(|lot| {
            let until = lot.use_by.map_or_else(String::new, |d| format!(", use by {d}"));
            let left = model.board.units().weight(lot.left_mg);
            let opt = Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(format!("{left}{until}"));
            match lot.bar(day) {
                Some(why) => opt.hint(format!("not to be sown: {why}")),
                None if lot.failed() => opt.hint("failed its germination test"),
                None => opt,
            }
        })
        .collect()
}

/// Codes as typed, whole or their ends, or as a scanner sends them.
fn jar_tokens(jar: &str) -> Vec<String> {
    jar.split([' ', ',', ';'])
        .map(|token| Code::parse(token).map_or_else(|_| token.to_ascii_uppercase(), |code| code.to_string()))
        .filter(|token| !token.is_empty())
        .collect()
}

fn reads(token: &str, lot: &SeedLot) -> bool {
    let plain = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect::<String>();
    // three characters as they stand on the jar: with or without the hyphen among them
    token.len() >= 3 && plain(&lot.code).ends_with(&plain(token))
}

/// Each lot that is used must have been read off its jar; what was read instead is named.
fn confirmed(model: &Model, plan: &Plan<'_>, parts: &[Part], jar: &str) -> Result<(), Wrong> {
    let tokens = jar_tokens(jar);
    let used = |lot: &SeedLot| parts.iter().flat_map(|part| &part.seed).any(|(id, _)| *id == lot.id);
    let Some(open) = plan.lots.iter().find(|lot| used(lot) && !tokens.iter().any(|token| reads(token, lot))) else {
        return Ok(());
    };
    let stray = tokens.iter().find(|token| !plan.lots.iter().any(|lot| used(lot) && reads(token, lot)));
    let read = stray.map_or_else(String::new, |token| match model.lots.iter().find(|lot| reads(token, lot)) {
        Some(lot) if plan.lots.iter().any(|usable| usable.id == lot.id) => {
            format!(" You read {}: choose it as the first lot, or take the other jar.", lot.code)
        }
        Some(lot) if lot.crop == plan.crop.id => format!(" You read {}, which may not be sown.", lot.code),
        Some(lot) => format!(" You read {}, which is {} seed.", lot.code, lot.crop_name),
        None => format!(" {token} is on no jar of this room."),
    });
    Err((Some("jar"), format!("Read the last three characters off the jar of {}.{read}", open.code)))
}

pub(super) fn action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let unclear = || missing(model, values).unwrap_or((Some("crop"), "Choose the crop.".into()));
    let plan = chosen(model, values).ok_or_else(unclear)?;
    if let Some(none) = plan.no_seed() {
        return Err((Some("crop"), none));
    }
    let soak_h = scaled(values, "soak_h", 1.0).unwrap_or(0);
    let soaks = if values.yes("from_soak") { plan.soaked(model, values).ids() } else { vec![] };
    let parts = plan.poured(values).ok_or((Some("grams"), "Say how much seed a tray gets.".to_string()))?;
    let trays: usize = parts.iter().map(|part| part.trays).sum();
    if trays > plan.places.len() {
        return Err((Some("trays"), plan.too_few_places(trays)));
    }
    confirmed(model, &plan, &parts, values.text("jar"))?;
    if plan.odd(values).is_some() && !values.yes("sure") {
        return Err((Some("grams"), "Correct the seed per tray, or say yes to it below.".into()));
    }
    let counts = match (milligrams(values, "counted"), plan.lots.first()) {
        (Some(counted), Some(lot)) if counted != lot.left_mg => vec![(lot.id, counted)],
        _ => vec![],
    };
    let wetting = if values.text("wet") == "mix" {
        Wetting::Mix { name: values.text("mix").to_string(), wait_h: scaled(values, "wait", 24.0).unwrap_or(0) }
    } else {
        Wetting::Water
    };
    Ok(Action::Sow(Box::new(NewSowing {
        crop: plan.crop.id,
        day: plan::day(model, values),
        format: plan.format.id,
        mats: scaled(values, "mats", 1.0).unwrap_or(1),
        medium: Medium::from_stored(values.text("medium")).unwrap_or(Medium::Mat),
        medium_lot: some_text(values, "medium_lot"),
        wetting,
        soaks,
        soak_h,
        parts,
        places: plan.places.iter().take(trays).map(|place| place.id).collect(),
        counts,
    })))
}
