//! Sensors, readings by hand, and the columns of a logger's file.

use super::{Submit, Wrong, measure, minute, moment, range};
use crate::app::effect::Effect;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::SensorId;
use crate::domain::logger::{Guess, LoggerFile, Map, TempUnit, TimeOrder, doubt, guess, preview};
use crate::domain::reading::{CLEARS_NOTHING, Reading, Spot};
use crate::domain::room::Zone;
use crate::domain::text::counted;
use crate::domain::units::Quantity::Temperature;

/// Which form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Sensor(Option<SensorId>),
    /// A reading by hand.
    Read(SensorId),
    /// Which file.
    File(SensorId),
    /// What its columns are.
    Columns(SensorId),
}

/// No column of its own.
const SAME: &str = "-";
/// Lines shown as they would be read.
const PREVIEW: usize = 3;

pub(super) fn build(model: &Model, of: Of) -> Form {
    match of {
        Of::Sensor(sensor) => self::sensor(model, sensor),
        Of::Read(sensor) => read(model, sensor),
        Of::File(sensor) => Form::new(
            format!("A logger's file of {}", name(model, sensor)),
            model.today(),
            vec![
                Field::text("path", "file", 400)
                    .required()
                    .help("The whole path, such as /media/stick/july.csv; ~/ is your home folder."),
            ],
        )
        .intro(["A file read twice adds nothing. Its columns are shown before anything is written."]),
        Of::Columns(sensor) => columns(model, sensor),
    }
}

fn name(model: &Model, sensor: SensorId) -> &str {
    model.air.iter().find(|known| known.id == sensor).map_or("", |known| known.name.as_str())
}

/// What it measures: the air where nobody knows, which asks for more.
fn spot(model: &Model, sensor: SensorId) -> Spot {
    model.air.iter().find(|known| known.id == sensor).map_or(Spot::Zone(Zone::Lit), |known| known.spot)
}

fn sensor(model: &Model, sensor: Option<SensorId>) -> Form {
    let Some(id) = sensor else {
        let zones = Zone::ALL.iter().map(|zone| Opt::new(zone.stored(), zone.shown())).collect();
        return Form::new(
            "A sensor",
            model.today(),
            vec![
                Field::text("name", "name", 60).required().help("Such as the one by the door."),
                Field::choice("zone", "measures", zones).required(),
            ],
        )
        .intro(["One that moves to another zone is a new sensor: readings keep their zone."]);
    };
    Form::new(
        "A sensor",
        model.today(),
        vec![
            Field::text("name", "name", 60).required().starting(name(model, id)),
            Field::yes_no("used", "still in use").starting("yes"),
        ],
    )
}

fn read(model: &Model, sensor: SensorId) -> Form {
    Form::new(
        format!("The air at {}", name(model, sensor)),
        model.today(),
        vec![
            Field::measure("temp", "temperature", measure(model, Temperature, -20.0, 60.0, 1)).required(),
            Field::number("rh", "humidity", range("%", 0.1, 100.0, 1)).required(),
            Field::text("time", "read at", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
        ],
    )
}

/// The reading as typed.
fn typed(model: &Model, values: &Values) -> Result<Reading, Wrong> {
    let at = moment(model, values, "time")?;
    let number = |id| values.number(id).unwrap_or(f64::NAN);
    Reading::new(at, number("temp"), number("rh")).map_err(|why| (Some("rh"), format!("{why}.")))
}

fn columns(model: &Model, sensor: SensorId) -> Form {
    let Some(file) = &model.logger else { return Form::new("A logger's file", model.today(), vec![]) };
    let names = || file.sheet.columns.iter().map(|name| Opt::new(name.clone(), name.clone()));
    let guess = guessed(model, sensor, file);
    let none = (!spot(model, sensor).humid()).then(|| Opt::new(SAME, "none"));
    let rh = guess.rh.clone().or(none.as_ref().map(|_| SAME.into()));
    let humidity = none.into_iter().chain(names()).collect();
    let given = |name: Option<&String>| name.cloned().unwrap_or_default();
    let units = TempUnit::ALL.iter().map(|unit| Opt::new(unit.stored(), unit.shown())).collect();
    let orders = TimeOrder::ALL.iter().map(|order| Opt::new(order.stored(), order.shown())).collect();
    let clocks = std::iter::once(Opt::new(SAME, "in the same column")).chain(names()).collect();
    Form::new(
        format!("{}: what stands where", file.name),
        model.today(),
        vec![
            Field::choice("time", "day and time", names().collect()).required().starting(&given(guess.time.as_ref())),
            Field::choice("order", "written", orders).required().starting(guess.order.map_or("", TimeOrder::stored)),
            Field::choice("clock", "time of day", clocks)
                .required()
                .starting(&guess.clock.clone().unwrap_or_else(|| SAME.into())),
            Field::choice("temp", "temperature", names().collect()).required().starting(&given(guess.temp.as_ref())),
            Field::choice("unit", "it is in", units).required().starting(guess.unit.map_or("", TempUnit::stored)),
            Field::choice("rh", "humidity, %", humidity).required().starting(&given(rh.as_ref())),
            Field::yes_no("sure", "sure of the unit").required().hidden(),
            Field::yes_no("same", "of this sensor too").required().hidden(),
        ],
    )
    .intro([format!(
        "{}. Remembered for the next file of {}.",
        counted(file.sheet.rows, "line"),
        name(model, sensor)
    )])
}

/// As this sensor's files were read before, or another's, or by the look of it.
fn guessed(model: &Model, sensor: SensorId, file: &LoggerFile) -> Guess {
    let own = model.air.iter().filter(|known| known.id == sensor);
    let others = model.air.iter().filter(|known| known.id != sensor);
    guess(&file.text, &file.sheet, spot(model, sensor), own.chain(others).filter_map(|known| known.map.as_ref()))
}

fn chosen(model: &Model, sensor: SensorId, values: &Values) -> Result<Map, &'static str> {
    let comma = model.logger.as_ref().is_some_and(|file| guessed(model, sensor, file).comma);
    let column = |id: &str| Some(values.text(id).to_string()).filter(|name| !name.is_empty());
    Guess {
        time: column("time"),
        clock: column("clock").filter(|name| name != SAME),
        temp: column("temp"),
        rh: column("rh").filter(|name| name != SAME),
        unit: TempUnit::from_stored(values.text("unit")),
        order: TimeOrder::from_stored(values.text("order")),
        comma,
    }
    .map(spot(model, sensor))
}

/// What was typed comes to this, below the fields.
pub(super) fn changed(model: &Model, of: Of, form: &mut Form) {
    let values = form.values();
    let units = model.board.units();
    match of {
        Of::Read(_) => {
            form.lines = match typed(model, &values) {
                Ok(reading) => {
                    [format!("{}.", reading.worked_out(units)), "A lid colder than the dew point drips.".into()]
                        .into_iter()
                        .chain(
                            reading
                                .air()
                                .is_some_and(crate::domain::air::Air::mould_weather)
                                .then(|| CLEARS_NOTHING.into()),
                        )
                        .chain(
                            model.board.bands.air_outside(&reading, units).into_iter().map(|words| format!("{words}.")),
                        )
                        .collect()
                }
                // said at its field
                Err(_) => Vec::new(),
            };
        }
        Of::Columns(sensor) => {
            let Some(file) = &model.logger else { return };
            let map = chosen(model, sensor, &values);
            let doubt = map.as_ref().ok().and_then(|map| doubt(&file.text, &file.sheet, map, spot(model, sensor)));
            form.show("sure", doubt.is_some());
            form.show("same", file.read_for.is_some());
            // an answer holds for the unit it was given for
            if values.yes("sure") && form.focused().is_some_and(|field| field.id == "unit" || field.id == "temp") {
                form.set_value("sure", "");
            }
            form.lines = match map {
                Ok(map) => doubt
                    .into_iter()
                    .chain(file.read_before())
                    .chain(preview(file, &map, model.now, units, PREVIEW).unwrap_or_else(|why| vec![why]))
                    .collect(),
                Err(open) => vec![format!("Still open: {open}.")],
            };
        }
        Of::Sensor(_) | Of::File(_) => {}
    }
}

pub(super) fn submit(model: &Model, of: Of, rev: i64, values: &Values) -> Result<Submit, Wrong> {
    let act = |action| Ok(Submit::Act(Box::new(action)));
    let name = values.text("name").trim().to_string();
    match of {
        Of::Sensor(None) => {
            let zone = Zone::from_stored(values.text("zone")).unwrap_or(Zone::Lit);
            act(Action::AddSensor { name, at: Spot::Zone(zone) })
        }
        Of::Sensor(Some(sensor)) => act(Action::EditSensor { sensor, name, retired: !values.yes("used"), rev }),
        Of::Read(sensor) => act(Action::ReadAir { sensor, reading: typed(model, values)? }),
        Of::File(sensor) => {
            Ok(Submit::Ask(Box::new(Effect::OpenLogger(sensor, values.text("path").trim().to_string()))))
        }
        Of::Columns(sensor) => {
            let Some(file) = &model.logger else { return Err((None, "The file is closed: choose it again.".into())) };
            let map = chosen(model, sensor, values).map_err(|open| (None, format!("Still open: {open}.")))?;
            preview(file, &map, model.now, model.board.units(), 1).map_err(|why| (Some("temp"), why))?;
            let doubt = doubt(&file.text, &file.sheet, &map, spot(model, sensor));
            if let Some(doubt) = doubt.filter(|_| !values.yes("sure")) {
                return Err((Some("unit"), format!("{doubt} Choose the other, or say yes below.")));
            }
            if let Some(before) = file.read_before().filter(|_| !values.yes("same")) {
                return Err((Some("same"), format!("{before} Esc leaves it, yes reads it for this sensor too.")));
            }
            Ok(Submit::Ask(Box::new(Effect::Import(sensor, map))))
        }
    }
}
