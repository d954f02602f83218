//! Putting a past entry right: what it should have said, and why.

use super::{Wrong, amount, milligrams, seed_weight};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::code::Code;
use crate::domain::correction::{Correction, Entry, Sown};
use crate::domain::id::{CropId, PersonId, PlaceId, SeedLotId, SowingId, TrayId};
use crate::domain::look::{Fault, Faults, Look, Mist, Roots, Stand};
use crate::domain::units::Quantity::Weight;

/// What is put right about the entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Never,
    Look,
    Sowing(SowingId),
    Place,
    Received,
}

fn reason() -> Field {
    Field::text("reason", "why", 200).required().help("Stands beside the old value, which stays visible.")
}

pub(super) fn build(model: &Model, what: What) -> Form {
    let today = model.today();
    let Some(entry) = &model.entry else { return Form::new("Put right", today, vec![]) };
    let mut fields = match what {
        What::Never => vec![],
        What::Look => look_fields(entry),
        What::Sowing(id) => {
            entry.sowings.iter().find(|s| s.id == id).map_or_else(Vec::new, |s| sowing_fields(model, s))
        }
        What::Place => place_fields(model, entry),
        What::Received => {
            let now = amount(entry.received, 1000.0, Weight);
            vec![Field::measure("grams", "received", seed_weight(model, 0.001, 1_000_000.0)).required().starting(&now)]
        }
    };
    fields.push(reason());
    if matches!(what, What::Look | What::Never) && entry.look.as_ref().is_some_and(|l| l.fuzz == Some(Mist::Stands)) {
        fields.push(second(model));
    }
    let title = if what == What::Never { "This never happened" } else { "Put an entry right" };
    Form::new(title, today, fields).intro([format!("Entry {}: {}", entry.id.0, entry.text)])
}

/// Someone other than the hands at the rack.
fn second(model: &Model) -> Field {
    let others = model.board.people.iter().filter(|p| !p.retired && Some(p.id) != model.who);
    let options = others.map(|p| Opt::new(p.id.0.to_string(), p.initials.clone()).hint(p.name.clone())).collect();
    Field::choice("second", "second person", options).help("Fuzz that stood is taken back by two people only.")
}

fn none_or<T: Copy + PartialEq>(all: &[T], word: impl Fn(T) -> (&'static str, &'static str)) -> Vec<Opt> {
    let mut options = vec![Opt::new("-", "not written")];
    options.extend(all.iter().map(|value| Opt::new(word(*value).0, word(*value).1)));
    options
}

fn look_fields(entry: &Entry) -> Vec<Field> {
    let Some(look) = &entry.look else { return vec![] };
    let mut trays = vec![Opt::new("all", format!("all {}", look.trays.len()))];
    trays.extend(look.trays.iter().map(|tray| Opt::new(tray.0.to_string(), Code::tray(tray.0).to_string())));
    let faults: Vec<&str> = look.faults.iter().map(Fault::stored).collect();
    vec![
        Field::choice("tray", "which tray", trays).required().starting("all"),
        Field::choice("roots", "roots", none_or(Roots::ALL, |r| (r.stored(), r.shown())))
            .required()
            .starting(look.roots.map_or("-", Roots::stored)),
        Field::choice("stand", "stand", none_or(Stand::ALL, |s| (s.stored(), s.shown())))
            .required()
            .starting(look.stand.map_or("-", Stand::stored)),
        Field::choice("fuzz", "fuzz", none_or(Mist::ALL, |m| (m.stored(), m.shown())))
            .required()
            .starting(look.fuzz.map_or("-", Mist::stored)),
        Field::many("faults", "odd", Fault::ALL.iter().map(|f| Opt::new(f.stored(), f.shown())).collect())
            .starting(&faults.join("\n")),
        Field::yes_no("watered", "watered").starting(if look.watered { "yes" } else { "no" }),
    ]
}

fn sowing_fields(model: &Model, sown: &Sown) -> Vec<Field> {
    let crops = super::seed::crop_options(model);
    let lots = model
        .lots
        .iter()
        .map(|lot| {
            Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(format!("{}, {}", lot.crop_name, lot.supplier))
        })
        .collect();
    let lot = sown.seed.first().map_or_else(String::new, |(lot, _)| lot.0.to_string());
    let total: i64 = sown.seed.iter().map(|(_, mg)| mg).sum();
    let per_tray = amount(Some(total / sown.trays.max(1)), 1000.0, Weight);
    vec![
        Field::choice("crop", "crop", crops).required().starting(&sown.crop.0.to_string()),
        Field::date("day", "sown on", None, Some(model.today())).required().starting(&sown.day.to_string()),
        Field::choice("lot", "seed lot", lots).required().starting(&lot),
        Field::measure("grams", "seed per tray", seed_weight(model, 0.001, 5000.0)).required().starting(&per_tray),
    ]
}

fn place_fields(model: &Model, entry: &Entry) -> Vec<Field> {
    let trays: Vec<Opt> =
        entry.placed.iter().map(|(tray, _)| Opt::new(tray.0.to_string(), Code::tray(tray.0).to_string())).collect();
    let first = trays.first().map_or_else(String::new, |opt| opt.value.clone());
    let places = model
        .board
        .free_places()
        .iter()
        .map(|place| Opt::new(place.id.0.to_string(), place.label()).hint(place.zone.shown()))
        .collect();
    vec![
        Field::choice("tray", "which tray", trays).required().starting(&first),
        Field::choice("place", "it stood at", places).required(),
    ]
}

/// The correction the form comes to.
pub(super) fn action(model: &Model, what: What, values: &Values) -> Result<Action, Wrong> {
    let Some(entry) = &model.entry else { return Err((None, "The entry is gone: open it again.".into())) };
    let choose = |id: &'static str| (Some(id), "Choose one.".to_string());
    let correction = match what {
        What::Never => Correction::Never,
        What::Received => Correction::Received { mg: milligrams(values, "grams").unwrap_or(0) },
        What::Place => Correction::Place {
            tray: TrayId(values.text("tray").parse().map_err(|_| choose("tray"))?),
            place: PlaceId(values.text("place").parse().map_err(|_| choose("place"))?),
        },
        What::Sowing(id) => sowing(entry, id, values).ok_or_else(|| choose("lot"))?,
        What::Look => Correction::Look(Box::new(look(entry, values).ok_or_else(|| choose("tray"))?)),
    };
    let second = values.text("second").parse().ok().map(PersonId);
    Ok(Action::Correct { entry: entry.id, correction, reason: values.text("reason").trim().to_string(), second })
}

fn sowing(entry: &Entry, id: SowingId, values: &Values) -> Option<Correction> {
    let old = entry.sowings.iter().find(|s| s.id == id)?;
    let lot = SeedLotId(values.text("lot").parse().ok()?);
    let total: i64 = old.seed.iter().map(|(_, mg)| mg).sum();
    let per_tray = milligrams(values, "grams")?;
    let untouched = per_tray == total / old.trays.max(1) && old.seed.first().is_some_and(|(first, _)| *first == lot);
    // a batch of two lots keeps both as long as neither lot nor amount is put right
    let seed = if untouched { old.seed.clone() } else { vec![(lot, per_tray * old.trays)] };
    Some(Correction::Sowing {
        sowing: id,
        crop: CropId(values.text("crop").parse().ok()?),
        day: values.date("day")?,
        seed,
    })
}

fn look(entry: &Entry, values: &Values) -> Option<Look> {
    let old = entry.look.clone()?;
    let trays = match values.text("tray") {
        "all" => old.trays.clone(),
        one => vec![TrayId(one.parse().ok()?)],
    };
    let faults = values
        .many("faults")
        .iter()
        .filter_map(|word| Fault::from_stored(word))
        .fold(Faults::default(), Faults::toggled);
    Some(Look {
        trays,
        roots: Roots::from_stored(values.text("roots")),
        stand: Stand::from_stored(values.text("stand")),
        fuzz: Mist::from_stored(values.text("fuzz")),
        faults,
        watered: values.yes("watered"),
        skip: None,
        ..old
    })
}
