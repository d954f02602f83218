//! Seed that goes into water or a sanitiser, and comes out of it.

use super::{Wrong, milligrams, minute, moment, range, scaled, seed_weight};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::crop::{Crop, Soak};
use crate::domain::id::{SeedLotId, SoakId};
use crate::domain::soak::{CAUTIONS, NewSoak, RINSES_MAX, Sanitiser, Soaking};
use crate::domain::sowing::SOAK_H;

#[expect(clippy::cast_precision_loss, reason = "two days of hours")]
const MOST_H: f64 = SOAK_H as f64;

#[expect(clippy::cast_precision_loss, reason = "a few dozen")]
const MOST_RINSES: f64 = RINSES_MAX as f64;

fn crop(model: &Model, lot: SeedLotId) -> Option<&Crop> {
    let lot = model.lots.iter().find(|l| l.id == lot)?;
    model.crops.iter().find(|crop| crop.id == lot.crop)
}

pub(super) fn begin(model: &Model, lot: SeedLotId) -> Form {
    let name =
        model.lots.iter().find(|l| l.id == lot).map_or_else(String::new, |l| format!("{} {}", l.crop_name, l.code));
    let usual = crop(model, lot).map(|crop| crop.plan.soak_h).filter(|hours| *hours > 0);
    Form::new(
        format!("Soak or clean: {name}"),
        model.today(),
        vec![
            Field::choice(
                "what",
                "what",
                vec![Opt::new("soak", "soak in water"), Opt::new("clean", "clean, sanitise")],
            )
            .required()
            .starting("soak"),
            Field::measure("grams", "dry seed", seed_weight(model, 0.001, 1_000_000.0)).required(),
            Field::number("hours", "for", range("h", 0.1, MOST_H, 1))
                .required()
                .starting(&usual.map_or_else(String::new, |hours| hours.to_string())),
            Field::text("product", "with", 80).required().hidden().help("The product, as its label names it."),
            Field::text("strength", "strength", 80).required().hidden().help("As you mixed it."),
            Field::number("minutes", "for", range("min", 1.0, MOST_H * 60.0, 0)).required().hidden(),
            Field::text("start", "went in", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
        ],
    )
}

pub(super) fn begin_changed(model: &Model, lot: SeedLotId, form: &mut Form) {
    let cleaning = form.values().text("what") == "clean";
    form.show("hours", !cleaning);
    for id in ["product", "strength", "minutes"] {
        form.show(id, cleaning);
    }
    let mut lines = Vec::new();
    if cleaning {
        lines.extend(CAUTIONS.map(String::from));
    }
    if crop(model, lot).is_some_and(|crop| crop.soak == Soak::Never) {
        lines.push("This seed turns to slime in water and clumps: sow it dry.".into());
    }
    if let Some(lot) = model.lots.iter().find(|l| l.id == lot) {
        let left = model.board.units().weight(lot.left_mg);
        lines.push(format!("The jar keeps its {left} in the book until the sowing takes seed from it."));
    }
    form.lines = lines;
}

pub(super) fn begin_action(model: &Model, lot: SeedLotId, values: &Values) -> Result<Action, Wrong> {
    let cleaning = values.text("what") == "clean";
    let text = |id: &str| values.text(id).trim().to_string();
    let minutes = if cleaning { scaled(values, "minutes", 1.0) } else { scaled(values, "hours", 60.0) };
    Ok(Action::Soak(NewSoak {
        lot,
        mg: milligrams(values, "grams").unwrap_or(0),
        start: moment(model, values, "start")?,
        minutes: minutes.unwrap_or(0),
        with: cleaning.then(|| Sanitiser { product: text("product"), strength: text("strength") }),
    }))
}

fn find(model: &Model, soak: SoakId) -> Option<&Soaking> {
    model.board.soaks.iter().find(|s| s.id == soak)
}

pub(super) fn drain(model: &Model, soak: SoakId) -> Form {
    let name = find(model, soak).map_or_else(String::new, |s| format!("{} {}", s.crop_name, s.lot_code));
    Form::new(
        format!("Drain: {name}"),
        model.today(),
        vec![
            Field::number("rinses", "rinsed", range("times", 0.0, MOST_RINSES, 0)).required(),
            Field::text("at", "drained", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
        ],
    )
}

pub(super) fn drain_changed(model: &Model, soak: SoakId, form: &mut Form) {
    let Some(soak) = find(model, soak) else { return };
    let mut lines = Vec::new();
    if let Some(with) = soak.with_words() {
        lines.push(format!("Cleaned {with}: rinse as its label says."));
    }
    lines.push(match moment(model, &form.values(), "at") {
        Ok(at) if at >= soak.start => {
            let done = Soaking { drained: Some(at), ..soak.clone() };
            let weight = model.board.units().weight(soak.mg);
            format!("{weight} {}.", done.words(model.now))
        }
        _ => format!("{}.", soak.words(model.now)),
    });
    form.lines = lines;
}

pub(super) fn drain_action(model: &Model, soak: SoakId, values: &Values) -> Result<Action, Wrong> {
    let rinses = scaled(values, "rinses", 1.0).unwrap_or(0);
    Ok(Action::Drain { soak, at: moment(model, values, "at")?, rinses })
}
