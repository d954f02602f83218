//! Putting a past entry right: what it should have said, and why.

use super::{Wrong, amount, milligrams, seed_weight};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::code::Code;
use crate::domain::correction::{Correction, Entry, Sown};
use crate::domain::fuzz::Signs;
use crate::domain::hands::parse_time;
use crate::domain::id::{CropId, PersonId, PlaceId, SeedLotId, SowingId, TrayId};
use crate::domain::look::{Fault, Faults, Look, Mist, Roots, Stand};
use crate::domain::time::Day;
use crate::domain::units::Quantity::Weight;

/// What is put right about the entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Never,
    Look,
    Sowing(SowingId),
    Place,
    Received,
    /// When it was, and whose hands.
    Hands,
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
        What::Hands => hands_fields(model, entry),
    };
    fields.push(reason());
    if matches!(what, What::Look | What::Never) && entry.grave {
        fields.push(second(model));
    }
    let title = if what == What::Never { "This never happened" } else { "Put an entry right" };
    let mut intro = vec![format!("Entry {}: {}", entry.id.0, entry.text)];
    if what == What::Hands && !entry.timed {
        let elsewhere = if entry.sowings.is_empty() { "" } else { "; the day is put right with crop and seed" };
        intro.push(format!("Here only who it was{elsewhere}."));
    }
    Form::new(title, today, fields).intro(intro)
}

/// Day and time on the room's clock where they can be put right, and everyone who ever was on the list.
fn hands_fields(model: &Model, entry: &Entry) -> Vec<Field> {
    let people = model.board.people.iter().map(|person| {
        let left = if person.retired { ", has left" } else { "" };
        Opt::new(person.id.0.to_string(), person.initials.clone()).hint(format!("{}{left}", person.name))
    });
    let by = Field::choice("by", "who saw it", people.collect()).required().starting(&entry.by.0.to_string());
    if !entry.timed {
        return vec![by];
    }
    let (today, (day, time)) = (model.today(), shown_time(model, entry));
    vec![
        Field::date("day", "on which day", None, Some(today)).required().starting(&day),
        Field::text("from", "at what time", 5).required().starting(&time).help("On the room's clock, such as 06:10."),
        by,
    ]
}

/// The day and the minute of an entry as the form shows them.
fn shown_time(model: &Model, entry: &Entry) -> (String, String) {
    let at = model.now.local(entry.at);
    (at.date_naive().to_string(), at.format("%H:%M").to_string())
}

/// Day and time as typed; what was left as it stood is no other time.
fn hands(model: &Model, entry: &Entry, values: &Values) -> Result<Correction, Wrong> {
    let by = values.text("by").parse().map(PersonId).map_err(|_| (Some("by"), "Choose who it was.".to_string()))?;
    let typed = (values.text("day").trim().to_string(), values.text("from").trim().to_string());
    if !entry.timed || typed == shown_time(model, entry) {
        return Ok(Correction::Hands { at: None, by });
    }
    let day: Day = typed.0.parse().map_err(|_| (Some("day"), "Write the day like 2026-07-15.".to_string()))?;
    let at = parse_time(&typed.1, day, model.now).map_err(|why| (Some("from"), why))?;
    Ok(Correction::Hands { at: Some(at), by })
}

/// Someone other than the hands at the rack.
fn second(model: &Model) -> Field {
    let others = model.board.people.iter().filter(|p| !p.retired && Some(p.id) != model.who);
    let options = others.map(|p| Opt::new(p.id.0.to_string(), p.initials.clone()).hint(p.name.clone())).collect();
    Field::choice("second", "second person", options)
        .help("Fuzz that stood, mould and rot are taken back by two people only.")
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
            .starting(look.mist().map_or("-", Mist::stored)),
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
        .places_with_room()
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
        What::Hands => hands(model, entry, values)?,
        What::Received => Correction::Received { mg: milligrams(values, "grams").unwrap_or(0), after: entry.after },
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
        after: entry.after,
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
    let fuzz = Mist::from_stored(values.text("fuzz"));
    // the signs of a check go with what misting did; without them the fuzz stays
    let kept = fuzz.is_some() && fuzz == old.mist();
    Some(Look {
        trays,
        roots: Roots::from_stored(values.text("roots")),
        stand: Stand::from_stored(values.text("stand")),
        fuzz,
        signs: if kept { old.signs } else { Signs::default() },
        extent: old.extent.filter(|_| kept),
        faults,
        watered: values.yes("watered"),
        skip: None,
        ..old
    })
}
