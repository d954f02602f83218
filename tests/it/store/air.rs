//! Sensors, readings and water in the book.

use std::cell::Cell;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::bands::{Band, Bands};
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{SensorId, SowingId, TrayId};
use rackwalk::domain::logger::{Guess, LoggerFile, Map, Parsed, Sheet, guess, read};
use rackwalk::domain::look::WaterFigures;
use rackwalk::domain::reading::{Damp, NewReadings, Reading, Spot};
use rackwalk::domain::room::Zone;
use rackwalk::domain::time::Instant;
use rackwalk::domain::tray::Stage;
use rackwalk::domain::water::NewWater;
use rackwalk::store::air::digest;
use rackwalk::store::error::StoreError;

use super::{dump, number, raw};
use crate::book::{AK, Book};

pub(super) fn sensor(book: &mut Book, name: &str, zone: Zone) -> SensorId {
    SensorId(book.act(&Action::AddSensor { name: name.into(), at: Spot::Zone(zone) }).made.unwrap())
}

pub(super) fn reading(book: &Book, minutes: i64, rh: f64) -> Reading {
    Reading::new(book.now.plus(Duration::minutes(minutes)).instant(), 20.0, rh).unwrap()
}

/// A file of readings that many minutes from now.
pub(super) fn file(book: &Book, sensor: SensorId, name: &str, minutes: &[i64], rh: f64) -> NewReadings {
    let readings: Vec<Reading> = minutes.iter().map(|n| reading(book, *n, rh)).collect();
    let sha256 = digest(format!("{name} {readings:?}").as_bytes());
    NewReadings { sensor, file: name.into(), sha256, part: None, readings, map: None }
}

fn import(new: NewReadings) -> Action {
    Action::ImportAir(Box::new(new))
}

#[test]
fn a_file_read_twice_adds_nothing_and_an_overlapping_one_only_what_is_new() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let made = book.store.history(Of::Everything, None, 1).unwrap().remove(0).text;
    assert_eq!(made, "sensor made: name door, zone under light");
    let first = file(&book, door, "a.csv", &[-30, -20, -10], 70.0);
    let done = book.act(&import(first.clone()));
    assert_eq!(done.sentence, "a.csv: 3 readings of door kept.");
    let again = book.refused(&import(NewReadings { file: "renamed.csv".into(), ..first.clone() }));
    assert_eq!(
        (again.rule, again.sentence.as_str()),
        ("file_read_already", "renamed.csv was read already on 2026-07-01: it adds nothing.")
    );
    let longer = file(&book, door, "b.csv", &[-30, -20, -10, 0], 70.0);
    assert_eq!(book.act(&import(longer)).sentence, "b.csv: 1 reading of door kept; 3 were there already.");
    assert_eq!(book.refused(&import(file(&book, door, "c.csv", &[-20, 0], 70.0))).rule, "import_nothing");
    // what was there first stays
    let conn = raw(&book.path);
    assert_eq!(number(&conn, "SELECT count(*) FROM reading WHERE rh_pm = 700"), 4);
    // another sensor may have the same file
    let window = sensor(&mut book, "window", Zone::Lit);
    book.act(&import(NewReadings { sensor: window, ..first.clone() }));
    // taken back, it may be read again
    book.act(&Action::Undo);
    assert_eq!(book.store.air(book.now).unwrap()[1].newest, None);
    book.act(&import(NewReadings { sensor: window, ..first }));
    assert_eq!(book.store.air(book.now).unwrap()[1].newest.unwrap(), reading(&book, -10, 70.0));
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
    let story = book.store.history(Of::Record(Record::Sensor, door.0), None, 9).unwrap();
    let told: Vec<&str> = story.iter().map(|line| line.text.as_str()).collect();
    assert_eq!(
        told[..2],
        ["air read from b.csv: 1 reading of door, under light", "air read from a.csv: 3 readings of door, under light"]
    );
    assert!(told[2].starts_with("sensor made: "), "{told:?}");
}

#[test]
fn readings_that_contradict_the_book_are_told_with_both_values() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    book.act(&import(file(&book, door, "a.csv", &[-50, -40, -30, -20, -10], 70.0)));
    let now = book.now;
    let at = |minutes| now.plus(Duration::minutes(minutes)).0.format("%d %b %Y %H:%M").to_string();
    let told = |minutes: i64| format!("{}: 20.0 °C, 70 % there, 20.0 °C, 90 % here", at(minutes));
    let refused = book.refused(&import(file(&book, door, "b.csv", &[-20], 90.0)));
    assert_eq!(refused.rule, "import_nothing");
    let one = format!(" But 1 says other than the book, which keeps what it has ({}).", told(-20));
    assert!(refused.sentence.ends_with(&one), "{}", refused.sentence);
    let mut new = file(&book, door, "c.csv", &[-40, -30, -20, -10, 0], 90.0);
    new.readings.push(reading(&book, -50, 70.0));
    let three = [-40, -30, -20].map(told).join("; ");
    let right = format!(
        "c.csv: 1 reading of door kept; 1 was there already; \
         4 say other than the book, which keeps what it has ({three}; and 1 more)."
    );
    assert_eq!(book.act(&import(new)).sentence, right);
    assert_eq!(number(&raw(&book.path), "SELECT count(*) FROM reading WHERE rh_pm = 900"), 1);
}

#[test]
fn what_cannot_be_read_is_refused() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let cases = [
        ("sensor_unknown", import(file(&book, SensorId(99), "a.csv", &[0], 70.0))),
        ("sensor_unknown", Action::ReadAir { sensor: SensorId(99), reading: reading(&book, 0, 70.0) }),
        ("reading_future", Action::ReadAir { sensor: door, reading: reading(&book, 1, 70.0) }),
        ("import_nothing", import(file(&book, door, "a.csv", &[], 70.0))),
        ("sensor", Action::AddSensor { name: " ".into(), at: Spot::Zone(Zone::Lit) }),
        ("sensor_taken", Action::AddSensor { name: "door".into(), at: Spot::Zone(Zone::Lit) }),
        ("no_change", Action::EditSensor { sensor: door, name: "door".into(), retired: false, rev: 0 }),
        ("stale", Action::EditSensor { sensor: door, name: "window".into(), retired: false, rev: 7 }),
        ("no_change", Action::EditBands { bands: Box::default(), rev: 0 }),
        ("stale", Action::EditBands { bands: Box::default(), rev: 1 }),
        ("water_nothing", Action::Water(Box::default())),
        ("tray_gone", Action::Water(Box::new(NewWater { trays: vec![TrayId(99)], ..NewWater::default() }))),
        (
            "water",
            Action::Water(Box::new(NewWater {
                trays: vec![TrayId(99)],
                figures: WaterFigures { ec_us: Some(20_001), ..WaterFigures::default() },
                ..NewWater::default()
            })),
        ),
        ("bands", Action::EditBands { bands: Box::new(Bands { every_d: Some(0), ..Bands::default() }), rev: 0 }),
    ];
    let conn = raw(&book.path);
    let before = dump(&conn);
    for (rule, action) in cases {
        assert_eq!(book.refused(&action).rule, rule, "{action:?}");
        assert_eq!(dump(&conn), before, "{action:?} left a trace");
    }
    // made by mistake and taken back, it may be of another zone; out of use, its readings keep it where it is
    let slip = sensor(&mut book, "slip", Zone::Lit);
    book.act(&Action::Undo);
    assert_eq!(sensor(&mut book, "slip", Zone::Covered), slip);
    book.act(&Action::ReadAir { sensor: door, reading: reading(&book, -1, 70.0) });
    book.act(&Action::EditSensor { sensor: door, name: "door".into(), retired: true, rev: 0 });
    let by_hand = Action::ReadAir { sensor: door, reading: reading(&book, 0, 70.0) };
    assert_eq!(book.refused(&by_hand).rule, "sensor_unknown");
    let elsewhere = book.refused(&Action::AddSensor { name: "door".into(), at: Spot::Zone(Zone::Covered) });
    assert!(elsewhere.rule == "sensor_taken" && elsewhere.sentence.contains("readings keep their zone"));
    assert_eq!(number(&conn, "SELECT retired FROM sensor WHERE name = 'door'"), 1);
    assert_eq!(sensor(&mut book, "door", Zone::Lit), door);
    assert_eq!(book.act(&by_hand).sentence, "door: 20.0 °C, 70 %; dew point 14.4 °C, drying power 0.70 kPa.");
    assert_eq!(book.refused(&by_hand).rule, "file_read_already");
}

/// A logger's file of so many lines, five minutes apart up to now.
fn lines(book: &Book, n: i64) -> String {
    let line = |back: i64| {
        let at = book.now.plus(Duration::minutes(-5 * back)).0.format("%Y-%m-%d %H:%M");
        format!("{at},{}.{},{}", 18 + back % 5, back % 10, 60 + back % 40)
    };
    std::iter::once("time,temp °C,rh %".to_string()).chain((0..n).rev().map(line)).collect::<Vec<_>>().join("\n")
}

fn opened(text: String) -> (LoggerFile, Map) {
    let sheet = Sheet::of(&text).unwrap();
    let map = guess(&text, &sheet, Spot::Zone(Zone::Lit), None).map(Spot::Zone(Zone::Lit)).unwrap();
    (LoggerFile { name: "year.csv".into(), sha256: digest(text.as_bytes()), text, sheet, read_for: None }, map)
}

#[test]
fn a_hundred_thousand_lines_come_in_whole_and_stopped_midway_leave_nothing() {
    const LINES: usize = 100_000;
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let (file, map) = opened(lines(&book, 100_000));
    // stopped while it is read
    let mut heard = Vec::new();
    let stopped = read(&file, &map, book.now, &mut |done| {
        heard.push(done);
        done < LINES / 2
    });
    assert_eq!(stopped, Ok(None));
    assert_eq!((heard[0], *heard.last().unwrap()), (500, LINES / 2));
    let parsed = read(&file, &map, book.now, &mut |_| true).unwrap().unwrap();
    assert_eq!((parsed.readings.len(), parsed.bad.len()), (LINES, 0));
    let Parsed { readings, .. } = parsed;
    let new = NewReadings {
        sensor: door,
        file: file.name,
        sha256: file.sha256,
        part: None,
        readings,
        map: Some(map.clone()),
    };
    let action = import(new);
    // stopped while it is written
    let conn = raw(&book.path);
    let before = dump(&conn);
    let most = Cell::new(0);
    let refused = book.store.act_watched(&action, AK, book.now, &|done, all| {
        most.set(done);
        assert_eq!(all, LINES);
        done < LINES / 2
    });
    assert!(matches!(refused, Err(StoreError::Rule(refusal)) if refusal.rule == "import_stopped"));
    assert_eq!(most.get(), LINES / 2);
    assert_eq!(dump(&conn), before);
    let steps = Cell::new(0);
    let done = book.store.act_watched(&action, AK, book.now, &|_, _| {
        steps.set(steps.get() + 1);
        true
    });
    assert_eq!(done.unwrap().sentence, "year.csv: 100000 readings of door kept.");
    assert_eq!(steps.get(), 200);
    assert_eq!(number(&conn, "SELECT count(*) FROM reading"), 100_000);
    assert_eq!(number(&conn, "SELECT rows FROM reading_file"), 100_000);
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
    assert_eq!(book.store.air(book.now).unwrap()[0].map, Some(map));
    book.act(&Action::Undo);
    assert_eq!(book.store.air(book.now).unwrap()[0].newest, None);
    assert_eq!(book.store.air(book.now).unwrap()[0].map, None);
}

#[test]
fn the_map_of_a_file_is_remembered_for_the_next() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let (opened, map) = opened(lines(&book, 3));
    book.act(&import(NewReadings { map: Some(map.clone()), ..file(&book, door, "a.csv", &[-9], 70.0) }));
    let known = book.store.air(book.now).unwrap()[0].map.clone().unwrap();
    assert_eq!(known, map);
    assert_eq!(guess(&opened.text, &opened.sheet, Spot::Zone(Zone::Lit), [&known]), Guess::of(&map));
}

#[test]
fn hours_of_mould_weather_are_of_the_day_and_the_zone_the_trays_stood_in() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let (cover, lamp) = (sensor(&mut book, "cover", Zone::Covered), sensor(&mut book, "lamp", Zone::Lit));
    let place = book.board().places().find(|place| place.zone == Zone::Covered).unwrap().label();
    let tray = book.radish_at(lot, &[&place])[0];
    // two days at 06:00: damp under cover, dry in the light, every hour
    book.later(Duration::days(2));
    let hours: Vec<i64> = (0..=48).map(|n| -60 * n).collect();
    book.act(&import(file(&book, cover, "c.csv", &hours, 90.0)));
    book.act(&import(file(&book, lamp, "l.csv", &hours, 60.0)));
    let days = |book: &Book| book.store.damp_days(SowingId(1), book.now).unwrap();
    let damp = |hours: i64| Damp { minutes: hours * 60, known: hours * 60 };
    // from 06:00 on the first day, to 06:00 on the third
    assert_eq!(days(&book), [(0, damp(18)), (1, damp(24)), (2, damp(6))]);
    let board = book.board();
    let lit = board.places().find(|place| place.zone == Zone::Lit).unwrap().id;
    book.act(&Action::Move { walk: None, tray, to: Some(lit), stage: Some(Stage::Lit) });
    book.later(Duration::hours(2));
    // the two hours since were dry: known, and none of them damp
    assert_eq!(days(&book)[2], (2, Damp { minutes: 360, known: 480 }));
    let air = book.store.air(book.now).unwrap();
    assert_eq!((air[0].spot, air[0].day.minutes, air[0].week.minutes), (Spot::Zone(Zone::Covered), 24 * 60, 50 * 60));
    assert_eq!((air[1].spot, air[1].day.minutes), (Spot::Zone(Zone::Lit), 0));
    // out of use it keeps its past
    book.act(&Action::EditSensor { sensor: cover, name: "cover".into(), retired: true, rev: 0 });
    assert_eq!(book.store.air(book.now).unwrap().len(), 1);
    assert_eq!(days(&book)[..2], [(0, damp(18)), (1, damp(24))]);
    // as the book tells it: nothing is known of days without a reading
    book.later(Duration::days(3));
    assert_eq!(days(&book).len(), 3);
}

#[test]
fn water_outside_of_a_walk_is_told_waters_its_trays_and_is_taken_back() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 2);
    for tray in &trays {
        book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
    }
    let bands = Bands { ph_100: Band { min: Some(550), max: Some(650) }, every_d: Some(2), ..Bands::default() };
    book.act(&Action::EditBands { bands: Box::new(bands), rev: 0 });
    book.later(Duration::days(2));
    let overdue = |book: &Book| {
        let board = book.board();
        board.trays.iter().filter(|tray| board.bands.water_overdue(tray, book.now.day())).count()
    };
    assert_eq!(overdue(&book), 0, "due today is not overdue");
    book.later(Duration::days(1));
    assert_eq!(overdue(&book), 2);
    let figures = WaterFigures { ml: Some(400), ph_100: Some(740), temp_dc: None, ec_us: Some(820) };
    let new = NewWater { trays: vec![trays[0]], figures, source: "the tap".into() };
    let done = book.act(&Action::Water(Box::new(new)));
    assert_eq!(done.sentence, "T0001-W: watered, 400 mL, pH 7.40, 820 µS/cm, from the tap. pH 7.4 is above 6.5.");
    assert_eq!(overdue(&book), 1);
    let story = book.store.history(Of::Tray(trays[0]), None, 1).unwrap();
    assert_eq!(story[0].text, "T0001-W: watered, 400 mL, pH 7.40, 820 µS/cm, from the tap");
    assert_eq!(book.store.rebuild().unwrap(), 0);
    book.act(&Action::Undo);
    assert_eq!(overdue(&book), 2);
    // the setting as well, and it can be set again
    let told = book.store.history(Of::Record(Record::Room, 0), None, 9).unwrap();
    assert_eq!(told[0].text, "bands of water: pH 5.5 to 6.5, changed every 2 d; air: none");
    let off = Action::EditBands { bands: Box::default(), rev: book.board().bands_rev };
    book.act(&off);
    assert_eq!(overdue(&book), 0);
    book.act(&Action::Undo);
    assert_eq!(overdue(&book), 2);
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn two_terminals_read_the_same_file_once() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let mut other = book.beside();
    let new = import(file(&book, door, "a.csv", &[-5], 70.0));
    other.act(&new);
    assert_eq!(book.refused(&new).rule, "file_read_already");
    assert_eq!(
        book.store.air(book.now).unwrap()[0].newest.unwrap().at,
        Instant(book.now.instant().0 - Duration::minutes(5))
    );
}
