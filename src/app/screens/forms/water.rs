//! Water for a tray, a shelf, a rack or the room, with what was measured of it.

use super::{Wrong, amount, measure, range, scaled, shown};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::TrayId;
use crate::domain::look::WaterFigures;
use crate::domain::text::counted;
use crate::domain::units::Quantity::{Temperature, Volume};
use crate::domain::water::NewWater;

/// Which trays, by the cursor of the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    Place,
    Shelf,
    Rack,
    /// Those in the light whose water is overdue.
    Overdue,
}

impl Where {
    pub const ALL: [Self; 4] = [Self::Place, Self::Shelf, Self::Rack, Self::Overdue];

    /// `the place A 1-2`, `shelf 1 of rack A`.
    pub fn words(self, model: &Model) -> String {
        let place = model.cursor_place();
        match (self, place) {
            (Self::Overdue, _) => "every tray whose water is overdue".into(),
            (_, None) => "no place".into(),
            (Self::Place, Some(place)) => place.label(),
            (Self::Shelf, Some(place)) => format!("shelf {} of rack {}", place.shelf, place.rack_name),
            (Self::Rack, Some(place)) => format!("rack {}", place.rack_name),
        }
    }

    /// The trays that stand there.
    pub fn trays(self, model: &Model) -> Vec<TrayId> {
        let here = model.cursor_place();
        let trays = model.board.trays.iter().filter(|tray| match self {
            Self::Place => here.is_some_and(|here| tray.place.id == here.id),
            Self::Shelf => here.is_some_and(|here| (tray.place.rack, tray.place.shelf) == (here.rack, here.shelf)),
            Self::Rack => here.is_some_and(|here| tray.place.rack == here.rack),
            Self::Overdue => model.board.bands.water_overdue(tray, model.today()),
        });
        trays.map(|tray| tray.id).collect()
    }
}

pub(super) fn build(model: &Model, place: Where) -> Form {
    let wanted = model.board.bands.water_words(model.board.units());
    Form::new(
        format!("Water: {}, {}", place.words(model), counted(place.trays(model).len(), "tray")),
        model.today(),
        fields(model, &WaterFigures::default())
            .into_iter()
            .chain([Field::text("source", "source", 60).help("Such as the tap, or the rain barrel.")])
            .collect(),
    )
    .intro((!wanted.is_empty()).then(|| format!("Wanted here: {wanted}. What lies outside is kept and said.")))
}

/// What can be measured of water, as far as it is known.
pub(super) fn fields(model: &Model, known: &WaterFigures) -> Vec<Field> {
    let plain = |value: Option<i64>, factor| value.map_or_else(String::new, |value| shown(value, factor));
    vec![
        Field::measure("ml", "for each tray", measure(model, Volume, 1.0, 20_000.0, 0))
            .starting(&amount(known.ml, 1.0, Volume)),
        Field::number("ph", "pH", range("", 0.0, 14.0, 2)).starting(&plain(known.ph_100, 100.0)),
        Field::measure("temp", "temperature", measure(model, Temperature, 0.0, 60.0, 1)).starting(&amount(
            known.temp_dc,
            10.0,
            Temperature,
        )),
        Field::number("ec", "conductivity", range("µS/cm", 0.0, 20_000.0, 0))
            .starting(&plain(known.ec_us, 1.0))
            .help("EC; 1 mS/cm is 1000 µS/cm."),
    ]
}

/// What was typed of it.
pub(super) fn figures(values: &Values) -> WaterFigures {
    WaterFigures {
        ml: scaled(values, "ml", 1.0),
        ph_100: scaled(values, "ph", 100.0),
        temp_dc: scaled(values, "temp", 10.0),
        ec_us: scaled(values, "ec", 1.0),
    }
}

/// Says what lies outside of the room's bands.
pub(super) fn changed(model: &Model, form: &mut Form) {
    let outside = model.board.bands.water_outside(&figures(&form.values()), model.board.units());
    form.lines = outside.into_iter().map(|words| format!("{words}.")).collect();
}

pub(super) fn action(model: &Model, place: Where, values: &Values) -> Result<Action, Wrong> {
    let source = values.text("source").trim().to_string();
    let new = NewWater { trays: place.trays(model), figures: figures(values), source };
    new.check().map_err(|(field, why)| (Some(field), why))?;
    Ok(Action::Water(Box::new(new)))
}
