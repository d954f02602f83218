//! Water figures and notes for the stop of a walk; kept with the stop until its grade is given.

use super::{Wrong, amount, measure, range, scaled, shown, some_text};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::code::Code;
use crate::domain::id::TrayId;
use crate::domain::look::WaterFigures;
use crate::domain::units::Quantity::{Temperature, Volume};

pub(super) fn water(model: &Model, tray: TrayId) -> Form {
    let now = model.walk().map(|walk| walk.chosen_for(tray).water).unwrap_or_default();
    let ph = now.ph_100.map_or_else(String::new, |ph| shown(ph, 100.0));
    Form::new(
        format!("Water for {}", Code::tray(tray.0)),
        model.today(),
        vec![
            Field::measure("ml", "amount", measure(model, Volume, 1.0, 20_000.0, 0))
                .starting(&amount(now.ml, 1.0, Volume)),
            Field::number("ph", "pH", range("", 0.0, 14.0, 2)).starting(&ph),
            Field::measure("temp", "temperature", measure(model, Temperature, 0.0, 60.0, 1)).starting(&amount(
                now.temp_dc,
                10.0,
                Temperature,
            )),
        ],
    )
    .intro(["Written together with the grade you give next."])
}

pub(super) fn keep_water(model: &mut Model, tray: TrayId, values: &Values) -> Result<(), Wrong> {
    let water = WaterFigures {
        ml: scaled(values, "ml", 1.0),
        ph_100: scaled(values, "ph", 100.0),
        temp_dc: scaled(values, "temp", 10.0),
    };
    water.check().map_err(|(field, sentence)| (Some(field), sentence))?;
    if let Some(walk) = model.walk_mut() {
        walk.choose(tray, |chosen| chosen.water = water);
    }
    Ok(())
}

pub(super) fn note(model: &Model, tray: TrayId) -> Form {
    let now = model.walk().and_then(|walk| walk.chosen_for(tray).note).unwrap_or_default();
    Form::new(
        format!("Note on {}", Code::tray(tray.0)),
        model.today(),
        vec![Field::note("note", "note", crate::domain::text::NOTE_GRAPHEMES).starting(&now)],
    )
    .intro(["Written together with the grade you give next, or by Enter without a grade."])
}

pub(super) fn keep_note(model: &mut Model, tray: TrayId, values: &Values) {
    let note = some_text(values, "note");
    if let Some(walk) = model.walk_mut() {
        walk.choose(tray, |chosen| chosen.note = note);
    }
}
