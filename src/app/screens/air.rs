//! Sensors, the air they read, and the files of their loggers.

use chrono::Duration;

use super::forms::FormKind;
use super::forms::air::Of;
use super::pick::Pick;
use super::records::Page;
use super::{form_page, text};
use crate::app::effect::{Effect, Failure, Query};
use crate::app::form::State;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::app::update::reload;
use crate::domain::action::{Action, Done};
use crate::domain::history::{Of as About, Record};
use crate::domain::id::SensorId;
use crate::domain::logger::{Bad, LoggerFile, Parsed};
use crate::domain::reading::{CLEARS_NOTHING, SensorAir};
use crate::domain::room::Zone;
use crate::domain::text::counted;

/// A step through the lists of sensors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    List,
    Sensor(SensorId),
}

/// Everything that may have changed, with the air: few entries change it, and it takes a week of readings.
pub fn reload_all(model: &Model) -> Vec<Effect> {
    let mut effects = reload(model);
    effects.push(Effect::Load(Query::Air));
    effects.push(Effect::Load(Query::Cold));
    effects
}

/// Whether an action may change what is known of sensors and air.
pub fn told_by(action: &Action) -> bool {
    matches!(
        action,
        Action::AddSensor { .. }
            | Action::EditSensor { .. }
            | Action::ReadAir { .. }
            | Action::ImportAir(_)
            | Action::Undo
            | Action::Correct { .. }
    )
}

/// The last day and week end now: they are read again by the minute.
pub fn due(model: &mut Model) -> Option<Effect> {
    let old = model.now.0 - model.air_at.0 >= Duration::minutes(1);
    (old && !model.air.is_empty()).then(|| {
        model.air_at = model.now;
        Effect::Load(Query::Air)
    })
}

/// Sensors of zones: those of cold stores are in the stores' own list.
fn of_zones(model: &Model) -> impl Iterator<Item = (Zone, &SensorAir)> {
    model.air.iter().filter_map(|sensor| Some((sensor.spot.zone()?, sensor)))
}

/// For the line that leads here.
pub fn hint(model: &Model) -> String {
    let known = of_zones(model).filter(|(_, sensor)| sensor.day.known > 0);
    let worst = known.map(|(zone, sensor)| (zone, sensor.day)).max_by_key(|(_, day)| *day);
    match (of_zones(model).count(), worst) {
        (0, _) => "no sensor yet".into(),
        (n, None) => format!("{}, mould weather unknown", counted(n, "sensor")),
        (_, Some((zone, day))) => format!("{}: {} mould weather", zone.shown(), day.short()),
    }
}

pub fn asked_for(model: &Model, ask: Ask) -> Menu<Pick> {
    match ask {
        Ask::List => list(model),
        Ask::Sensor(id) => {
            let found = of_zones(model).find(|(_, sensor)| sensor.id == id);
            found.map_or_else(|| list(model), |(zone, sensor)| one(model, zone, sensor))
        }
    }
}

fn list(model: &Model) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = of_zones(model)
        .map(|(zone, sensor)| {
            let newest = sensor.newest.map_or_else(
                || "nothing read yet".to_string(),
                |reading| format!("{}; mould weather {}", reading.words(model.board.units()), sensor.day.words()),
            );
            Item::new(format!("{}, {}", sensor.name, zone.shown()), Pick::Record(Page::Air(Ask::Sensor(sensor.id))))
                .hint(newest)
        })
        .collect();
    items.push(Item::new("add a sensor", Pick::Form(FormKind::Air(Of::Sensor(None)))).letter('z'));
    items.push(Item::new("bands of water and air", Pick::Form(FormKind::Bands)).letter('b'));
    Menu::new("Sensors and air", items).intro(CLEARS_NOTHING)
}

fn one(model: &Model, zone: Zone, sensor: &SensorAir) -> Menu<Pick> {
    let story = Pick::Story(About::Record(Record::Sensor, sensor.id.0), format!("Sensor: {}", sensor.name));
    let form = |of: Of| Pick::Form(FormKind::Air(of));
    let items = vec![
        Item::new("a reading by hand", form(Of::Read(sensor.id))),
        Item::new("read a logger's file", form(Of::File(sensor.id))).hint("CSV; the columns are asked once"),
        Item::new("its story", story),
        Item::new("its name, or out of use", form(Of::Sensor(Some(sensor.id)))),
    ];
    let menu = Menu::new(format!("{}, {}", sensor.name, zone.shown()), items);
    let Some(newest) = sensor.newest else { return menu.intro("Nothing was read yet.") };
    let units = model.board.units();
    let outside = model.board.bands.air_outside(&newest, units);
    let outside = if outside.is_empty() { String::new() } else { format!(" {}.", outside.join("; ")) };
    let at = model.now.local(newest.at).format("%a %d %b %H:%M");
    menu.intro(format!("{at}: {}; {}.{outside}", newest.words(units), newest.worked_out(units)))
        .intro("A lid colder than the dew point drips.")
        .intro(format!(
            "Mould weather in 24 h: {}; in 7 d: {}. {CLEARS_NOTHING}",
            sensor.day.words(),
            sensor.week.words()
        ))
}

/// The file was opened: its columns are asked, beginning with what it looks like.
pub fn opened(model: &mut Model, sensor: SensorId, result: Result<Box<LoggerFile>, String>) -> Vec<Effect> {
    match result {
        Ok(file) => {
            model.logger = Some(file);
            form_page::saved(model);
            form_page::open(model, FormKind::Air(Of::Columns(sensor)));
        }
        Err(why) => {
            if let Some(Screen::Form(page)) = model.screens.last_mut() {
                page.form.refuse("path", why);
                page.form.state = State::Editing;
            }
        }
    }
    vec![]
}

/// How far the file is, below the form that waits.
pub fn went_on(model: &mut Model, doing: &str, done: usize, all: &str) {
    if let Some(Screen::Form(page)) = model.screens.last_mut() {
        page.form.lines = vec![format!("{doing} {done} of {all}. Esc stops, and leaves nothing half done.")];
    }
}

/// The whole file is in the book, or nothing of it; of a long one perhaps some parts.
pub fn imported(model: &mut Model, parsed: &Parsed, result: Result<Done, Failure>) -> Vec<Effect> {
    let done = match result {
        Ok(done) => done,
        Err(failure) => {
            if let Some(Screen::Form(page)) = model.screens.last_mut() {
                page.form.lines = parsed.bad.iter().take(MOST_SHOWN).map(Bad::words).collect();
                form_page::refused(page, &failure);
            }
            return vec![];
        }
    };
    form_page::saved(model);
    model.logger = None;
    model.say(done.sentence);
    if !parsed.bad.is_empty() || parsed.twice > 0 {
        let bad = parsed.bad.iter().map(Bad::words);
        let lines = std::iter::once(format!("{}.", parsed.words())).chain(bad).collect();
        text::open(model, "What was left out of the file", lines);
    }
    let mut effects = reload_all(model);
    effects.push(Effect::KeepDrafts);
    effects
}

/// Bad lines told below a form.
const MOST_SHOWN: usize = 6;
