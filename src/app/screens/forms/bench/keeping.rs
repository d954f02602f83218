//! Sums of shelf life: what is left after some time at some temperatures, and the mean that says nothing of it.

use super::super::crop::anchors;
use super::super::{measure, scaled};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::keeping::spent::{self, Spent, Stay};
use crate::domain::keeping::{Mean, typed};
use crate::domain::units::Quantity::Temperature;

/// Fields of the stretches: how long, how warm.
const STRETCHES: [(&str, &str); 4] = [("time1", "temp1"), ("time2", "temp2"), ("time3", "temp3"), ("time4", "temp4")];

pub(super) fn fields(model: &Model) -> Vec<Field> {
    let degrees = || measure(model, Temperature, -20.0, 60.0, 1);
    let mut fields = vec![
        Field::text("anchors", "keeps", 80).required().help(&anchors::help(model.board.units())),
        Field::measure("plan", "to be kept at", degrees()).required(),
        Field::yes_no("chilling", "harmed by cold").starting("no").swift(),
    ];
    for (n, (time, temp)) in STRETCHES.into_iter().enumerate() {
        let label = if n == 0 { "it was for" } else { "then for" };
        let pair = [
            Field::text(time, label, 12).help("Minutes, hours or days, such as 30m, 6h or 5d."),
            Field::measure(temp, "at", degrees()),
        ];
        fields.extend(pair.map(|field| if n == 0 { field } else { field.hidden() }));
    }
    fields
}

/// A stretch is asked for as soon as the one before it is filled in; what was typed stays on show.
pub(super) fn next(form: &mut Form) {
    for pair in STRETCHES.windows(2) {
        let [before, (time, temp)] = pair else { continue };
        let values = form.values();
        let filled = |id: &str| !values.text(id).is_empty();
        let held = [time, temp].iter().any(|id| form.field(id).is_some_and(Field::touched));
        let asked = held || (filled(before.0) && filled(before.1));
        form.show(time, asked);
        form.show(temp, asked);
    }
}

pub(super) fn left(model: &Model, values: &Values) -> Option<Vec<String>> {
    let units = model.board.units();
    let plan_dc = scaled(values, "plan", 10.0)?;
    if values.text("anchors").is_empty() {
        return None;
    }
    let found = || -> Result<Vec<String>, String> {
        let anchors = anchors::parse(values.text("anchors"), units).map_err(|(_, why)| why)?;
        let mut stays = Vec::new();
        for (time, temp) in STRETCHES {
            match (values.text(time), scaled(values, temp, 10.0)) {
                ("", None) => {}
                ("", Some(dc)) => return Err(format!("Say how long it was at {}.", units.temperature(dc))),
                (time, None) => return Err(format!("Say how warm it was for {time}.")),
                (time, Some(dc)) => stays.push(Stay { minutes: spent::minutes(time)?, dc }),
            }
        }
        Ok(Spent::of(anchors, values.yes("chilling"), &stays, plan_dc, units)?.lines(units))
    };
    Some(found().unwrap_or_else(|why| vec![why]))
}

pub(super) fn mean_fields(model: &Model) -> Vec<Field> {
    let degrees = Temperature.typed_in(model.board.units()).name();
    let help = format!("In {degrees}, taken at equal intervals, with commas or spaces between them.");
    vec![Field::text("readings", "readings", 400).required().help(&help)]
}

pub(super) fn mean(model: &Model, values: &Values) -> Option<Vec<String>> {
    let units = model.board.units();
    let text = values.text("readings");
    if text.is_empty() {
        return None;
    }
    Some(match typed(text, Temperature.typed_in(units)) {
        Ok(readings) => Mean::of(&readings)?.lines(units),
        Err(why) => vec![why],
    })
}
