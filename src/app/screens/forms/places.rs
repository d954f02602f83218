//! Racks, what their shelves are for, and tray formats.

use std::collections::BTreeSet;

use super::{Wrong, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::board::Rack;
use crate::domain::id::{FormatId, PlaceId, RackId};
use crate::domain::room::{Place, Zone, parse_racks};
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

/// A rack's places in use and out of use.
fn all_places<'m>(model: &'m Model, rack: RackId) -> (Vec<&'m Place>, Vec<&'m Place>) {
    let of = |racks: &'m [Rack]| racks.iter().filter(|r| r.id == rack).flat_map(|r| &r.places).collect();
    (of(&model.board.racks), of(&model.board.idle))
}

/// How many trays go on each other on a shelf, where it is more than one.
fn stacked(places: &[&Place], shelf: i64) -> String {
    let most = places.iter().filter(|place| place.shelf == shelf).map(|place| place.stack).max().unwrap_or(1);
    if most > 1 { format!(", up to {most} trays on each other") } else { String::new() }
}

/// All of a rack's places.
pub(super) fn rack_places(model: &Model, rack: RackId) -> Vec<PlaceId> {
    let (used, unused) = all_places(model, rack);
    used.into_iter().chain(unused).map(|place| place.id).collect()
}

/// One shelf of a rack is set at a time: which, what for, or out of use.
pub(super) fn shelves(model: &Model, rack: RackId) -> Form {
    let (used, unused) = all_places(model, rack);
    let name = used.first().or(unused.first()).map_or("", |place| place.rack_name.as_str());
    let numbers: BTreeSet<i64> = used.iter().chain(&unused).map(|place| place.shelf).collect();
    let shelves = numbers
        .into_iter()
        .map(|shelf| {
            let on = |places: &[&Place]| places.iter().filter(|p| p.shelf == shelf).count();
            let zone = used.iter().find(|p| p.shelf == shelf).map_or("out of use", |p| p.zone.shown());
            Opt::new(shelf.to_string(), format!("shelf {shelf}")).hint(format!(
                "{zone}, {} places{}",
                on(&used) + on(&unused),
                stacked(&used, shelf)
            ))
        })
        .collect();
    let mut uses = zones();
    uses.push(Opt::new("out", "out of use").hint("must be empty"));
    Form::new(
        format!("Rack {name}"),
        model.today(),
        vec![
            Field::choice("shelf", "shelf", shelves).required().help("Shelf 1 is the top."),
            Field::choice("zone", "is for", uses).required(),
            Field::text("places", "which places", 40).required().starting("all").help("All, or some: 1-3, 6."),
            Field::number("stack", "on each other", range("trays", 1.0, 20.0, 0))
                .help("Trays in one place, one upon the other; empty leaves it as it is."),
        ],
    )
}

pub(super) fn shelves_action(model: &Model, rack: RackId, values: &Values) -> Result<Action, Wrong> {
    let shelf: i64 = values.text("shelf").parse().map_err(|_| (Some("shelf"), "Choose the shelf.".to_string()))?;
    let (used, unused) = all_places(model, rack);
    let some = which(values.text("places"))?;
    let named =
        |pos: i64| some.as_ref().is_none_or(|ranges| ranges.iter().any(|(from, to)| (*from..=*to).contains(&pos)));
    let on: Vec<&Place> =
        used.into_iter().chain(unused).filter(|place| place.shelf == shelf && named(place.pos)).collect();
    if on.is_empty() {
        return Err((Some("places"), "The shelf has no such place: name others, or write all.".into()));
    }
    let retired = values.text("zone") == "out";
    // a shelf out of use keeps its zone
    let zone = Zone::from_stored(values.text("zone")).or(on.first().map(|place| place.zone)).unwrap_or(Zone::Lit);
    let places: Vec<PlaceId> = on.iter().map(|place| place.id).collect();
    let rev = model.board.places_rev(&places);
    let stack = scaled(values, "stack", 1.0);
    Ok(Action::EditPlaces { places, zone, retired, rev, stack })
}

/// `all`, or ranges of places such as `1-3, 6`.
fn which(text: &str) -> Result<Option<Vec<(i64, i64)>>, Wrong> {
    if text.trim().eq_ignore_ascii_case("all") {
        return Ok(None);
    }
    let wrong = || (Some("places"), "Write all, or numbers of places such as 1-3, 6.".to_string());
    text.split(',')
        .map(|part| {
            let (from, to) = part.split_once('-').unwrap_or((part, part));
            Ok((from.trim().parse().map_err(|_| wrong())?, to.trim().parse().map_err(|_| wrong())?))
        })
        .collect::<Result<_, _>>()
        .map(Some)
}

pub(super) fn rename_rack(model: &Model, rack: RackId) -> Form {
    let name = model.board.rack(rack).map_or("", |rack| rack.name.as_str());
    let field = Field::text("name", "name", 8).required().starting(name).help("It begins the name of every place.");
    Form::new(format!("Rack {name}"), model.today(), vec![field])
}

pub(super) fn format(model: &Model, format: FormatId) -> Form {
    let known = model.board.formats.iter().find(|f| f.id == format);
    let name = known.map_or("", |f| f.name.as_str());
    Form::new(
        format!("Tray format {name}"),
        model.today(),
        vec![
            Field::text("name", "name", 30).required().starting(name),
            Field::yes_no("used", "still used").starting("yes").help("Trays keep the format they were sown in."),
        ],
    )
    .intro(["Another size is another format: trays were sown by the old one."])
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
