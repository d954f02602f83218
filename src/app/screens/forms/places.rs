//! Racks, what their shelves are for, and tray formats.

use super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{PlaceId, RackId};
use crate::domain::room::{Zone, parse_racks};
use crate::domain::setup::{NewFormat, NewRack, lay_out};

fn zones() -> Vec<Opt> {
    Zone::ALL.iter().map(|zone| Opt::new(zone.stored(), zone.shown())).collect()
}

pub(super) fn add_rack(model: &Model) -> Form {
    Form::new(
        "A new rack",
        model.today(),
        vec![
            Field::text("name", "name", 8).required().help("Short: it begins the name of every place."),
            Field::text("shape", "shelves x places", 12)
                .required()
                .starting("5x4")
                .help("Such as 5x4; shelf 1 is the top."),
            Field::choice("zone", "all shelves", zones()).starting("lit").help("Each shelf can be changed afterwards."),
        ],
    )
}

pub(super) fn rack_action(values: &Values) -> Result<Action, Wrong> {
    let shapes = parse_racks(values.text("shape")).map_err(|why| (Some("shape"), why))?;
    let [shape] = shapes.as_slice() else {
        return Err((Some("shape"), "One rack at a time: shelves x places, such as 5x4.".into()));
    };
    let zone = Zone::from_stored(values.text("zone")).unwrap_or(Zone::Lit);
    let zones = lay_out(&[*shape]).into_iter().next().map_or_else(Vec::new, |rack| vec![zone; rack.zones.len()]);
    Ok(Action::AddRack(NewRack { name: values.text("name").trim().to_string(), places: shape.places, zones }))
}

/// One shelf of a rack is set at a time: which, what for, or out of use.
pub(super) fn shelves(model: &Model, rack: RackId) -> Form {
    let Some(rack) = model.board.rack(rack) else { return Form::new("Shelves", model.today(), vec![]) };
    let shelves = rack
        .shelves()
        .into_iter()
        .map(|shelf| {
            let zone = rack.on_shelf(shelf).next().map_or("", |place| place.zone.shown());
            Opt::new(shelf.to_string(), format!("shelf {shelf}"))
                .hint(format!("{zone}, {} places", rack.on_shelf(shelf).count()))
        })
        .collect();
    let mut uses = zones();
    uses.push(Opt::new("out", "out of use").hint("must be empty"));
    Form::new(
        format!("Rack {}", rack.name),
        model.today(),
        vec![
            Field::choice("shelf", "shelf", shelves).required().help("Shelf 1 is the top."),
            Field::choice("zone", "is for", uses).required(),
        ],
    )
}

pub(super) fn shelves_action(model: &Model, rack: RackId, values: &Values) -> Result<Action, Wrong> {
    let shelf: i64 = values.text("shelf").parse().map_err(|_| (Some("shelf"), "Choose the shelf.".to_string()))?;
    let places: Vec<PlaceId> =
        model.board.rack(rack).map(|rack| rack.on_shelf(shelf).map(|p| p.id).collect()).unwrap_or_default();
    let retired = values.text("zone") == "out";
    Ok(Action::EditPlaces { places, zone: Zone::from_stored(values.text("zone")).unwrap_or(Zone::Lit), retired })
}

pub(super) fn add_format(model: &Model) -> Form {
    Form::new(
        "A new tray format",
        model.today(),
        vec![
            Field::text("name", "name", 30).required(),
            Field::number("length", "length inside", range("mm", 30.0, 3000.0, 0)).required(),
            Field::number("width", "width inside", range("mm", 30.0, 3000.0, 0)).required(),
        ],
    )
    .intro(["Measure the growing surface inside: makers' sizes differ by up to a sixth."])
}

pub(super) fn format_action(values: &Values) -> Result<Action, Wrong> {
    let new = NewFormat {
        name: values.text("name").trim().to_string(),
        length_mm: scaled(values, "length", 1.0).unwrap_or(0),
        width_mm: scaled(values, "width", 1.0).unwrap_or(0),
    };
    new.check().map_err(|(field, why)| (Some(field), why))?;
    Ok(Action::AddFormat(new))
}
