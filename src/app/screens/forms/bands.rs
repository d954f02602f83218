//! What the room wants its water and air to be.

use super::{Wrong, amount, measure, range, scaled, shown};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::bands::{Band, Bands};
use crate::domain::units::Quantity::Temperature;

/// Proposed for a room that has none.
const USUAL: &str = "Usual for pH: 5.5 to 6.5; for water 18 to 22 °C (memory of common practice, no source).";

pub(super) fn build(model: &Model) -> Form {
    let bands = &model.board.bands;
    let plain = |value: Option<i64>, factor: f64| value.map_or_else(String::new, |value| shown(value, factor));
    let temp = |id, label: &str, min: f64, value: Option<i64>| {
        Field::measure(id, label, measure(model, Temperature, min, 60.0, 1)).starting(&amount(value, 10.0, Temperature))
    };
    let number = |id, label: &str, unit: &str, max: f64, decimals, value: String| {
        Field::number(id, label, range(unit, 0.0, max, decimals)).starting(&value)
    };
    let fields = vec![
        number("ph_min", "pH from", "", 14.0, 2, plain(bands.ph_100.min, 100.0)),
        number("ph_max", "pH to", "", 14.0, 2, plain(bands.ph_100.max, 100.0)),
        temp("water_min", "water from", 0.0, bands.water_dc.min),
        temp("water_max", "water to", 0.0, bands.water_dc.max),
        number("ec_min", "EC from", "µS/cm", 20_000.0, 0, plain(bands.ec_us.min, 1.0)),
        number("ec_max", "EC to", "µS/cm", 20_000.0, 0, plain(bands.ec_us.max, 1.0)),
        number("every", "changed every", "d", 60.0, 0, plain(bands.every_d, 1.0))
            .help("Water of trays in the light; overdue the day after. Empty: never overdue."),
        temp("air_min", "air from", -20.0, bands.air_dc.min),
        temp("air_max", "air to", -20.0, bands.air_dc.max),
        number("rh_min", "humidity from", "%", 100.0, 1, plain(bands.rh_pm.min, 10.0)),
        number("rh_max", "humidity to", "%", 100.0, 1, plain(bands.rh_pm.max, 10.0)),
    ];
    Form::new("Bands of water and air", model.today(), fields)
        .intro(["Empty: no limit. A figure outside is kept and said; none inside clears a tray.", USUAL])
}

pub(super) fn action(values: &Values, rev: i64) -> Result<Action, Wrong> {
    let band =
        |min: &str, max: &str, factor| Band { min: scaled(values, min, factor), max: scaled(values, max, factor) };
    let bands = Bands {
        ph_100: band("ph_min", "ph_max", 100.0),
        water_dc: band("water_min", "water_max", 10.0),
        ec_us: band("ec_min", "ec_max", 1.0),
        air_dc: band("air_min", "air_max", 10.0),
        rh_pm: band("rh_min", "rh_max", 10.0),
        every_d: scaled(values, "every", 1.0),
    };
    bands.check().map_err(|(field, why)| (Some(field), why))?;
    Ok(Action::EditBands { bands: Box::new(bands), rev })
}
