//! `import`: what other machines wrote, into the book.

use std::cell::Cell;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::ValueEnum;
use serde::Serialize;
use signal_hook::consts::{SIGINT, SIGTERM};

use super::exit::{DATA, Exit, NO_INPUT, say, usage};
use super::screen::person;
use super::show::Show;
use super::{Common, progress};
use crate::domain::action::{Action, Done};
use crate::domain::id::{PersonId, SensorId, StoreId};
use crate::domain::logger::{Bad, Guess, LoggerFile, Map, Parsed, TempUnit, TimeOrder, doubt, guess, read, shown};
use crate::domain::reading::{NewReadings, SensorAir, Spot};
use crate::domain::room::Zone;
use crate::domain::text::counted;
use crate::domain::time::Now;
use crate::runtime::session::import::open_logger_for;
use crate::store::Store;

/// Lines shown as they would be read, and lines left out that are told.
const PREVIEW: usize = 5;
const TOLD: usize = 20;

/// What is imported.
#[derive(Debug, clap::Subcommand)]
pub enum Import {
    /// Readings of the air from a logger's CSV; its columns are asked once a sensor and remembered
    Air(Box<AirFile>),
    /// The same of a cold store, where the humidity may be missing
    Cold(Box<ColdFile>),
}

#[derive(Debug, clap::Args)]
pub struct AirFile {
    #[command(flatten)]
    file: Logged,
    /// Adds the sensor first: what it measures
    #[arg(long, value_enum)]
    zone: Option<ZoneName>,
}

#[derive(Debug, clap::Args)]
pub struct ColdFile {
    #[command(flatten)]
    file: Logged,
    /// Adds the sensor first: the cold store it measures in
    #[arg(long, value_name = "NAME")]
    store: Option<String>,
}

/// A logger's file, and what its columns are where that is not remembered.
#[derive(Debug, clap::Args)]
struct Logged {
    /// The logger's CSV in UTF-8
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
    /// Whose readings they are
    #[arg(long, value_name = "NAME")]
    sensor: String,
    /// Column of day and time, as the file names it; "column 1" where it names none
    #[arg(long, value_name = "COLUMN")]
    time_column: Option<String>,
    /// Column of the time of day, where it stands apart
    #[arg(long, value_name = "COLUMN")]
    clock_column: Option<String>,
    #[arg(long, value_name = "COLUMN")]
    temp_column: Option<String>,
    #[arg(long, value_name = "COLUMN")]
    rh_column: Option<String>,
    /// What the temperature is in
    #[arg(long, value_enum)]
    unit: Option<UnitName>,
    /// What comes first in a date
    #[arg(long, value_enum)]
    time_format: Option<OrderName>,
    /// Numbers are written with a comma: 21,4
    #[arg(long)]
    decimal_comma: bool,
    /// The file was read for another sensor, and is of this one too
    #[arg(long)]
    same_file: bool,
    /// Shows what would be read and writes nothing
    #[arg(long)]
    preview: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ZoneName {
    Covered,
    Lit,
    Isolation,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum UnitName {
    C,
    F,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum OrderName {
    Year,
    Day,
    Month,
    Unix,
}

impl From<ZoneName> for Zone {
    fn from(name: ZoneName) -> Self {
        match name {
            ZoneName::Covered => Self::Covered,
            ZoneName::Lit => Self::Lit,
            ZoneName::Isolation => Self::Isolation,
        }
    }
}

impl From<UnitName> for TempUnit {
    fn from(name: UnitName) -> Self {
        match name {
            UnitName::C => Self::Celsius,
            UnitName::F => Self::Fahrenheit,
        }
    }
}

impl From<OrderName> for TimeOrder {
    fn from(name: OrderName) -> Self {
        match name {
            OrderName::Year => Self::YearFirst,
            OrderName::Day => Self::DayFirst,
            OrderName::Month => Self::MonthFirst,
            OrderName::Unix => Self::Unix,
        }
    }
}

#[derive(Serialize)]
struct Told {
    /// What the book did; nothing for a preview.
    #[serde(skip_serializing_if = "Option::is_none")]
    done: Option<String>,
    columns: Map,
    lines: usize,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    preview: Vec<String>,
    bad: Vec<Bad>,
}

/// What of a sensor is said on the command line, for the air of zones or for cold stores.
struct Wanted<'a> {
    args: &'a Logged,
    cold: bool,
    /// Where a sensor that is not there yet measures.
    add: Option<Spot>,
    /// The same as it was typed.
    typed: String,
}

impl<'a> Wanted<'a> {
    fn of(what: &'a Import, store: &Store) -> Result<Self, Exit> {
        match what {
            Import::Air(air) => {
                let AirFile { file, zone } = air.as_ref();
                let named = zone.and_then(|zone| zone.to_possible_value());
                let typed = named.map_or_else(String::new, |zone| format!(" --zone {}", zone.get_name()));
                Ok(Self { args: file, cold: false, add: zone.map(|zone| Spot::Zone(zone.into())), typed })
            }
            Import::Cold(cold) => {
                let ColdFile { file, store: name } = cold.as_ref();
                let add = name.as_deref().map(|name| cold_store(store, name)).transpose()?.map(Spot::Store);
                let typed = name.as_deref().map_or_else(String::new, |name| format!(" --store {}", quoted(name)));
                Ok(Self { args: file, cold: true, add, typed })
            }
        }
    }

    fn command(&self) -> &'static str {
        if self.cold { "cold" } else { "air" }
    }

    /// What is asked of its file; the store is not looked at where the sensor is not there.
    fn spot(&self, sensor: Option<&SensorAir>) -> Spot {
        let unknown = if self.cold { Spot::Store(StoreId(0)) } else { Spot::Zone(Zone::Lit) };
        sensor.map_or(self.add.unwrap_or(unknown), |sensor| sensor.spot)
    }
}

/// A cold store by its name.
fn cold_store(store: &Store, name: &str) -> Result<StoreId, Exit> {
    let known = store.cold_names()?;
    let found = known.iter().find(|(_, known)| known == name).map(|(id, _)| *id);
    found.ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|(_, name)| name.as_str()).collect();
        let take = if names.is_empty() {
            "add it in the program first".into()
        } else {
            format!("take {}", names.join(" or "))
        };
        usage(format!("There is no cold store {name}: {take}. Nothing was written."))
    })
}

fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
}

pub fn import(what: &Import, common: &Common, show: &mut Show) -> Result<u8, Exit> {
    let mut store = common.open()?;
    let now = common.present();
    let named = common.who.as_deref().map(|initials| person(&store, initials)).transpose()?;
    let wanted = Wanted::of(what, &store)?;
    let args = wanted.args;
    let sensors = store.sensors(now)?;
    let sensor = sensors.iter().find(|sensor| sensor.name == args.sensor);
    if let Some(other) = sensor.filter(|sensor| sensor.spot.humid() == wanted.cold) {
        let (is, say) = if other.spot.humid() { ("the air of a zone", "air") } else { ("in a cold store", "cold") };
        return Err(usage(format!("{} measures {is}: say import {say}. Nothing was written.", other.name)));
    }
    let spot = wanted.spot(sensor);
    let file = open_logger_for(&store, sensor.map_or(SensorId(0), |sensor| sensor.id), &args.file);
    let file = file.map_err(|sentence| Exit { code: NO_INPUT, sentence })?;
    if sensor.is_none() && wanted.add.is_none() && !args.preview {
        return Err(no_sensor(&wanted, &sensors));
    }
    if let Some(day) = sensor.map(|sensor| store.file_read(sensor.id, &file.sha256)).transpose()?.flatten() {
        return Err(Exit {
            code: DATA,
            sentence: format!("{} was read already on {day}: it adds nothing.", file.name),
        });
    }
    let found = args.guess(sensor, spot, &file);
    let map = found.map(spot).map_err(|open| still_open(open, &found, spot, &file))?;
    let doubt = doubt(&file.text, &file.sheet, &map, spot);
    if args.preview || !args.confirmed(sensor, spot, &map) {
        return propose(&wanted, &file, &map, doubt, common, &store, show);
    }
    if let Some(doubt) = doubt.filter(|_| args.unit.is_none()) {
        return Err(usage(format!("{doubt} Say which with --unit c or --unit f; nothing was written.")));
    }
    if let Some(before) = file.read_before().filter(|_| !args.same_file) {
        return Err(usage(format!("{before} If it is of {} too, add --same-file; nothing was written.", args.sensor)));
    }
    let who = named.map_or_else(|| only_person(&store), Ok)?;
    write(&mut store, &wanted, sensor.map(|sensor| sensor.id), (&file, map), (who, now), show)
}

fn no_sensor(wanted: &Wanted<'_>, sensors: &[SensorAir]) -> Exit {
    let alike = sensors.iter().filter(|sensor| sensor.spot.humid() != wanted.cold);
    let names: Vec<&str> = alike.map(|sensor| sensor.name.as_str()).collect();
    let known = if names.is_empty() { String::new() } else { format!("take one of {}, or ", names.join(", ")) };
    let add = if wanted.cold { "--store and the cold store's name" } else { "--zone covered, lit or isolation" };
    usage(format!("There is no sensor {}: {known}add it with {add}.", wanted.args.sensor))
}

/// Whose work it is where nobody said: nobody but one can have done it.
fn only_person(store: &Store) -> Result<PersonId, Exit> {
    let people = store.board()?.people;
    let here: Vec<_> = people.iter().filter(|person| !person.retired).collect();
    match here[..] {
        [one] => Ok(one.id),
        [] => Ok(PersonId(1)),
        _ => {
            let initials: Vec<&str> = here.iter().map(|person| person.initials.as_str()).collect();
            Err(usage(format!("Say who reads it in, with --who and one of {}.", initials.join(", "))))
        }
    }
}

/// What nobody can tell from the file, and what to write.
fn still_open(open: &str, found: &Guess, spot: Spot, file: &LoggerFile) -> Exit {
    let columns = || format!("and one of its columns: {}", file.sheet.columns.join(", "));
    let say = if found.time.is_none() {
        format!("--time-column {}", columns())
    } else if found.temp.is_none() {
        format!("--temp-column {}", columns())
    } else if found.rh.is_none() && spot.humid() {
        format!("--rh-column {}", columns())
    } else if found.unit.is_none() {
        "--unit c or --unit f".into()
    } else {
        "--time-format day or --time-format month".into()
    };
    usage(format!("{} does not say {open}: add {say}. Nothing was written.", file.name))
}

impl Logged {
    /// What is remembered or looks like it, with what was said on the command line in its place.
    fn guess(&self, sensor: Option<&SensorAir>, spot: Spot, file: &LoggerFile) -> Guess {
        let known = sensor.and_then(|sensor| sensor.map.as_ref());
        let found = guess(&file.text, &file.sheet, spot, known);
        Guess {
            time: self.time_column.clone().or(found.time),
            clock: self.clock_column.clone().or(found.clock),
            temp: self.temp_column.clone().or(found.temp),
            rh: self.rh_column.clone().or(found.rh),
            unit: self.unit.map(TempUnit::from).or(found.unit),
            order: self.time_format.map(TimeOrder::from).or(found.order),
            comma: self.decimal_comma || found.comma,
        }
    }

    /// Someone chose these columns: now, or for an earlier file of the sensor.
    fn confirmed(&self, sensor: Option<&SensorAir>, spot: Spot, map: &Map) -> bool {
        let humidity = self.rh_column.is_some() || (map.rh.is_none() && !spot.humid());
        let said = self.time_column.is_some() && self.temp_column.is_some() && humidity;
        let whole = said && self.unit.is_some() && self.time_format.is_some();
        let remembered = sensor.and_then(|sensor| sensor.map.as_ref());
        whole || remembered.is_some_and(|known| Map { unit: map.unit, order: map.order, ..known.clone() } == *map)
    }

    /// The command that says yes to a proposal.
    fn confirm(&self, wanted: &Wanted<'_>, map: &Map, unit: TempUnit, common: &Common) -> String {
        let rh = map.rh.as_ref().map_or_else(String::new, |rh| format!(" --rh-column {}", quoted(rh)));
        let clock = map.clock.as_ref().map_or_else(String::new, |clock| format!(" --clock-column {}", quoted(clock)));
        let unit = match unit {
            TempUnit::Celsius => "c",
            TempUnit::Fahrenheit => "f",
        };
        let book =
            common.book.as_ref().map_or_else(String::new, |b| format!(" --book {}", quoted(&b.display().to_string())));
        let who = common.who.as_ref().map_or_else(String::new, |who| format!(" --who {}", quoted(who)));
        format!(
            "rackwalk import {} {}{book}{who} --sensor {}{} --time-column {}{clock} --temp-column {}{rh} --unit {unit} \
             --time-format {}{}{}",
            wanted.command(),
            quoted(&self.file.display().to_string()),
            quoted(&self.sensor),
            wanted.typed,
            quoted(&map.time),
            quoted(&map.temp),
            map.order.stored(),
            if map.comma { " --decimal-comma" } else { "" },
            if self.same_file { " --same-file" } else { "" },
        )
    }
}

/// Shows what would be read; nothing is written.
fn propose(
    wanted: &Wanted<'_>,
    file: &LoggerFile,
    map: &Map,
    doubt: Option<String>,
    common: &Common,
    store: &Store,
    show: &mut Show,
) -> Result<u8, Exit> {
    let units = store.board()?.units();
    let now = common.present();
    let parsed = read(file, map, now, &mut |_| true).map_err(usage)?.unwrap_or_default();
    let lines: Vec<String> = parsed.readings.iter().take(PREVIEW).map(|reading| shown(reading, now, units)).collect();
    let clock = map.clock.as_ref().map_or_else(String::new, |clock| format!(" and {clock}"));
    let mut text = vec![
        format!("{}, {}:", file.name, counted(file.sheet.rows, "line")),
        format!("time: {}{clock}, {}", map.time, map.order.shown()),
        format!("temperature: {}, {}", map.temp, map.unit.shown()),
        format!("humidity: {}", map.rh.as_deref().unwrap_or("none")),
    ];
    text.extend(lines.iter().map(|line| format!("  {line}")));
    let more = parsed.readings.len().saturating_sub(PREVIEW);
    text.extend((more > 0).then(|| format!("  and {more} more")));
    text.extend(left_out(&parsed));
    let told =
        Told { done: None, columns: map.clone(), lines: file.sheet.rows, preview: lines, bad: parsed.bad.clone() };
    show.text_or_json(&text, &told)?;
    let command = |unit| wanted.args.confirm(wanted, map, unit, common);
    if let Some(doubt) = doubt {
        say(&doubt);
        say(&format!("Nothing was written. If it is °C: {}", command(TempUnit::Celsius)));
        say(&format!("If it is °F: {}", command(TempUnit::Fahrenheit)));
    } else {
        say(&format!("Nothing was written. If this is right: {}", command(map.unit)));
    }
    Ok(0)
}

/// Reads and writes all of it, or nothing when someone stops it.
fn write(
    store: &mut Store,
    wanted: &Wanted<'_>,
    sensor: Option<SensorId>,
    (file, map): (&LoggerFile, Map),
    (who, now): (PersonId, Now),
    show: &mut Show,
) -> Result<u8, Exit> {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM] {
        signal_hook::flag::register(signal, Arc::clone(&stop))?;
    }
    let go_on = || !stop.load(Ordering::Relaxed);
    let bar = progress::bar("lines read", u64::try_from(file.sheet.rows).unwrap_or(0), true);
    let parsed = read(file, &map, now, &mut |done| {
        bar.set_position(u64::try_from(done).unwrap_or(0));
        go_on()
    });
    let Some(Parsed { readings, bad, twice }) = parsed.map_err(usage)? else { return Err(stopped()) };
    let parsed = Parsed { readings: Vec::new(), bad, twice };
    let new = NewReadings {
        sensor: sensor.unwrap_or(SensorId(0)),
        file: file.name.clone(),
        sha256: file.sha256.clone(),
        part: None,
        readings,
        map: Some(map.clone()),
    };
    bar.set_message("readings laid ready");
    let shown = Cell::new(0);
    let watch = |done, all| {
        if shown.replace(all) != all {
            bar.set_length(u64::try_from(all).unwrap_or(0));
        }
        bar.set_position(u64::try_from(done).unwrap_or(0));
        go_on()
    };
    // a new sensor comes with its first file or not at all
    let add = wanted.add.filter(|_| sensor.is_none());
    let add = add.map(|at| Action::AddSensor { name: wanted.args.sensor.clone(), at });
    let done = store.read_in(add.as_ref(), &new, (who, now), &watch);
    bar.finish_and_clear();
    tell(&parsed, file, map, done?, show)
}

/// How many lines were left out, and the first of them.
fn left_out(parsed: &Parsed) -> Vec<String> {
    let mut text = Vec::new();
    if parsed.twice > 0 {
        text.push(format!("{} written twice.", counted(parsed.twice, "line")));
    }
    if !parsed.bad.is_empty() {
        text.push(format!("{} left out:", counted(parsed.bad.len(), "line")));
        text.extend(parsed.bad.iter().take(TOLD).map(|bad| format!("  {}", bad.words())));
        let more = parsed.bad.len().saturating_sub(TOLD);
        text.extend((more > 0).then(|| format!("  and {more} more")));
    }
    text
}

fn tell(parsed: &Parsed, file: &LoggerFile, map: Map, done: Done, show: &mut Show) -> Result<u8, Exit> {
    let mut text = vec![done.sentence.clone()];
    text.extend(left_out(parsed));
    let told = Told {
        done: Some(done.sentence),
        columns: map,
        lines: file.sheet.rows,
        preview: Vec::new(),
        bad: parsed.bad.clone(),
    };
    show.text_or_json(&text, &told)?;
    Ok(0)
}

fn stopped() -> Exit {
    Exit { code: DATA, sentence: "Stopped: nothing of the file was written.".into() }
}
