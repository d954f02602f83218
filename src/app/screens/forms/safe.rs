//! What keeps the record safe and honest: the second copy, and hours without power.

use super::{Wrong, measure, minute, scaled, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::StoreId;
use crate::domain::power_cut::{LONG_DAYS, Out, Span, parse_moment};
use crate::domain::room::Zone;
use crate::domain::time::Now;
use crate::domain::units::Quantity::Temperature;

pub(super) fn second_copy(model: &Model) -> Form {
    let mut form = Form::new(
        "The second copy",
        model.today(),
        vec![
            Field::text("folder", "folder", 400)
                .starting(model.board.second_copy.as_deref().unwrap_or_default())
                .help("The whole path, such as /media/stick; empty for no second copy."),
        ],
    )
    .intro([
        "Once a day the book is copied to a folder on another disk or a stick, and the copy is proved.",
        "The newest 30 copies stay. \"rackwalk restore\" makes one of them the book again.",
    ]);
    form.lines = model.second_copy.failure().map(|why| format!("Last try: {why}")).into_iter().collect();
    form
}

pub(super) fn second_copy_action(values: &Values) -> Action {
    Action::SetSecondCopy { folder: some_text(values, "folder") }
}

pub(super) fn power_cut(model: &Model) -> Form {
    let mut places = vec![Opt::new("room", "the whole room").hint("with its cold stores")];
    places.extend(Zone::ALL.iter().map(|zone| Opt::new(zone.stored(), zone.shown())));
    places.extend(model.cold.in_use().map(|store| Opt::new(store.id.0.to_string(), store.name.clone())));
    let warmest = measure(model, Temperature, -20.0, 60.0, 1);
    Form::new(
        "A power cut",
        model.today(),
        vec![
            Field::text("from", "power went", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
            Field::text("to", "power back", 16).help("Empty while it is still out."),
            Field::choice("zone", "where", places).required().starting("room"),
            Field::measure("warmest", "warmest then", warmest)
                .help("As measured in a cold store meanwhile; without it how long greens keep is unknown."),
            Field::yes_no("sure", "sure of the days")
                .required()
                .hidden()
                .help("Such a long time without power is rare: check both days."),
        ],
    )
}

/// The hours as typed, if both can be read.
fn span(values: &Values, now: Now) -> Result<Span, Wrong> {
    let read = |id: &'static str, text: &str| parse_moment(text, now).map_err(|why| (Some(id), why));
    let to = some_text(values, "to").map(|text| read("to", &text)).transpose()?;
    Ok(Span { from: read("from", values.text("from"))?, to })
}

pub(super) fn power_cut_changed(model: &Model, form: &mut Form) {
    let values = form.values();
    let span = span(&values, model.now).ok();
    form.show("sure", span.is_some_and(|span| span.long(model.now)));
    // an answer holds for the times it was given for
    if values.yes("sure") && form.focused().is_some_and(|field| field.id == "from" || field.id == "to") {
        form.set_value("sure", "");
    }
    form.lines = span
        .filter(|span| span.to.is_none_or(|to| to > span.from))
        .map(|span| span.words(model.now))
        .into_iter()
        .collect();
}

pub(super) fn power_cut_action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let span = span(values, model.now)?;
    if span.long(model.now) && !values.yes("sure") {
        return Err((Some("from"), format!("That is more than {LONG_DAYS} days: correct it, or say yes to it below.")));
    }
    let place = match (Zone::from_stored(values.text("zone")), values.text("zone").parse()) {
        (Some(zone), _) => Out::Zone(zone),
        (None, Ok(store)) => Out::Store(StoreId(store)),
        (None, Err(_)) => Out::Room,
    };
    Ok(Action::PowerCut { span, place, warmest_dc: scaled(values, "warmest", 10.0) })
}
