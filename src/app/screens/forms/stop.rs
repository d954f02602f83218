//! Water figures and notes for the stop of a walk; kept with the stop until its grade is given.

use super::{Wrong, some_text, water};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::code::Code;
use crate::domain::id::TrayId;

pub(super) fn water(model: &Model, tray: TrayId) -> Form {
    let now = model.walk().map(|walk| walk.chosen_for(tray).water).unwrap_or_default();
    Form::new(format!("Water for {}", Code::tray(tray.0)), model.today(), water::fields(model, &now))
        .intro(["Written together with the grade you give next."])
}

pub(super) fn keep_water(model: &mut Model, tray: TrayId, values: &Values) -> Result<(), Wrong> {
    let water = water::figures(values);
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
