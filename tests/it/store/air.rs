//! Sensors, readings and water in the book.

use std::cell::Cell;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::bands::{Band, Bands};
use rackwalk::domain::cold::{Limits, NewStore};
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{SensorId, SowingId, StoreId, TrayId};
use rackwalk::domain::logger::{Guess, LoggerFile, Map, Parsed, Sheet, guess, read};
use rackwalk::domain::look::WaterFigures;
use rackwalk::domain::reading::{Damp, NewReadings, Reading, Spot};
use rackwalk::domain::room::Zone;
use rackwalk::domain::time::Instant;
use rackwalk::domain::tray::Stage;
use rackwalk::domain::water::NewWater;
use rackwalk::store::air::{PART, digest};
use rackwalk::store::error::StoreError;

use super::{dump, number, raw};
use crate::book::{AK, Book};

pub(super) fn sensor(book: &mut Book, name: &str, zone: Zone) -> SensorId {
    SensorId(book.act(&Action::AddSensor { name: name.into(), at: Spot::Zone(zone) }).made.unwrap())
}

pub(super) fn reading(book: &Book, minutes: i64, rh: f64) -> Reading {
    Reading::new(book.now.plus(Duration::minutes(minutes)).instant(), 20.0, rh).unwrap()
}

fn cold(book: &Book, minutes: i64, temp: f64) -> Reading {
    Reading::new(book.now.plus(Duration::minutes(minutes)).instant(), temp, None).unwrap()
}

fn walk_in(book: &mut Book) -> StoreId {
    let new = NewStore { name: "walk-in".into(), limits: Limits::default() };
    StoreId(book.act(&Action::AddStore(Box::new(new))).made.unwrap())
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
        ("reading_humidity", Action::ReadAir { sensor: door, reading: cold(&book, 0, 4.0) }),
        (
            "reading_humidity",
            import(NewReadings { readings: vec![cold(&book, 0, 4.0)], ..file(&book, door, "a.csv", &[], 70.0) }),
        ),
        ("store_unknown", Action::AddSensor { name: "probe".into(), at: Spot::Store(StoreId(99)) }),
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

#[test]
fn a_sensor_of_a_cold_store_reads_temperatures_alone_and_is_none_of_the_air() {
    let mut book = Book::room();
    let store = walk_in(&mut book);
    let add = |name: &str| Action::AddSensor { name: name.into(), at: Spot::Store(store) };
    let done = book.act(&add("probe"));
    assert_eq!(done.sentence, "probe measures in walk-in.");
    let probe = SensorId(done.made.unwrap());
    let told = |book: &Book| book.store.history(Of::Everything, None, 1).unwrap().remove(0).text;
    assert_eq!(told(&book), "sensor made: name probe, store walk-in");
    let readings = vec![cold(&book, -20, 3.9), cold(&book, -10, 4.1)];
    let first = NewReadings { readings, ..file(&book, probe, "a.csv", &[], 0.1) };
    assert_eq!(book.act(&import(first.clone())).sentence, "a.csv: 2 readings of probe kept.");
    assert_eq!(told(&book), "walk-in: 2 readings of probe read from a.csv");
    assert_eq!(book.refused(&import(first)).rule, "file_read_already");
    // the same moment with a humidity is another reading; one with both is kept whole
    let both = |minutes, rh| Reading { rh_pm: Some(rh), ..cold(&book, minutes, 4.1) };
    let second = NewReadings { readings: vec![both(-10, 900), both(0, 910)], ..file(&book, probe, "b.csv", &[], 0.2) };
    let sentence = book.act(&import(second)).sentence;
    assert!(sentence.starts_with("b.csv: 1 reading of probe kept; 1 says other than the book"), "{sentence}");
    assert!(sentence.ends_with(": 4.1 °C there, 4.1 °C, 90 % here)."), "{sentence}");
    assert!(book.store.air(book.now).unwrap().is_empty());
    let known = book.store.sensors(book.now).unwrap().remove(0);
    assert_eq!((known.spot, known.newest.unwrap().rh_pm, known.day), (Spot::Store(store), Some(910), Damp::default()));
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
    // out of use it may come back here, and nowhere else
    book.act(&Action::EditSensor { sensor: probe, name: "probe".into(), retired: true, rev: 0 });
    assert_eq!(
        book.refused(&Action::AddSensor { name: "probe".into(), at: Spot::Zone(Zone::Lit) }).rule,
        "sensor_taken"
    );
    assert_eq!(book.act(&add("probe")).made, Some(probe.0));
    book.act(&Action::EditStore {
        store,
        new: Box::new(NewStore { name: "walk-in".into(), limits: Limits::default() }),
        retired: true,
        rev: 0,
    });
    assert_eq!(book.refused(&add("other")).rule, "store_unknown");
}

#[test]
fn others_write_while_a_file_is_staged_and_what_they_read_in_counts() {
    let mut book = Book::room();
    let door = sensor(&mut book, "door", Zone::Lit);
    let minutes: Vec<i64> = (-1200..0).collect();
    let new = file(&book, door, "year.csv", &minutes, 70.0);
    // a look at the room does not disturb it
    let other = std::cell::RefCell::new(book.beside());
    let steps = Cell::new(0);
    let done = book.store.act_watched(&import(new), AK, book.now, &|_, all| {
        steps.set(steps.get() + 1);
        other.borrow_mut().act(&Action::AddPerson {
            initials: format!("P{}", ['A', 'B', 'C'][steps.get() - 1]),
            name: "P".into(),
            may_decide: false,
        });
        all == 1200
    });
    assert_eq!((done.unwrap().sentence.as_str(), steps.get()), ("year.csv: 1200 readings of door kept.", 3));
    assert_eq!(book.board().people.len(), 4);
    // another file of the sensor does, and so does one that is taken back: it is compared again, and nothing is lost or doubled
    let next = file(&book, door, "next.csv", &(-2400..-1198).collect::<Vec<_>>(), 70.0);
    let overlap = file(&book, door, "overlap.csv", &[-2000, -1999], 80.0);
    let once = Cell::new(true);
    let done = book.store.act_watched(&import(next.clone()), AK, book.now, &|_, _| {
        if once.replace(false) {
            other.borrow_mut().act(&import(overlap.clone()));
        }
        true
    });
    let sentence = done.unwrap().sentence;
    assert!(
        sentence.starts_with("next.csv: 1198 readings of door kept; 2 were there already; 2 say other"),
        "{sentence}"
    );
    book.act(&Action::Undo);
    once.set(true);
    let done = book.store.act_watched(&import(next), AK, book.now, &|_, _| {
        if once.replace(false) {
            other.borrow_mut().act(&Action::Undo);
        }
        true
    });
    assert_eq!(done.unwrap().sentence, "next.csv: 1200 readings of door kept; 2 were there already.");
    let live = "SELECT count(*) FROM reading r JOIN reading_file f ON f.id = r.file_id WHERE f.void_by IS NULL";
    assert_eq!(number(&raw(&book.path), live), 2400);
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn a_long_file_goes_in_part_by_part_and_read_again_brings_what_is_missing() {
    let mut book = Book::room();
    let rows = 2 * PART + 5;
    let first = book.now.instant().0 - Duration::minutes(i64::try_from(rows).unwrap());
    let reading = |n: i64| Reading { at: Instant(first + Duration::minutes(n)), temp_dc: 200, rh_pm: Some(700) };
    // not in the order of time
    let readings: Vec<Reading> = (0..i64::try_from(rows).unwrap()).rev().map(reading).collect();
    let new = NewReadings { readings, ..file(&book, SensorId(0), "years.csv", &[], 70.0) };
    let add = Action::AddSensor { name: "door".into(), at: Spot::Zone(Zone::Lit) };
    let (who, now) = (AK, book.now);
    // stopped in the first part: not even the sensor is there
    let before = dump(&raw(&book.path));
    let stopped = book.store.read_in(Some(&add), &new, (who, now), &|done, _| done < 1000).unwrap_err();
    assert_eq!(stopped.to_string(), "Stopped: nothing of the file was written.");
    assert_eq!(dump(&raw(&book.path)), before);
    // in the second: the first stays
    let stopped = book.store.read_in(Some(&add), &new, (who, now), &|done, all| {
        assert_eq!(all, rows);
        done < PART
    });
    let sentence = "Stopped after part 1 of 3, which stays: read the file again for the rest.";
    assert_eq!(stopped.unwrap_err().to_string(), sentence);
    let door = SensorId(1);
    let new = NewReadings { sensor: door, ..new };
    let done = book.store.read_in(None, &new, (who, now), &|_, _| true).unwrap();
    let missing = rows - PART;
    assert_eq!(
        done.sentence,
        format!("years.csv: {missing} readings of door kept, in 2 imports; 1 part was read before.")
    );
    let again = book.store.read_in(None, &new, (who, now), &|_, _| true).unwrap_err();
    assert_eq!(again.to_string(), "years.csv was read already on 2026-07-01: it adds nothing.");
    let conn = raw(&book.path);
    let parts = "SELECT group_concat(part || ' ' || rows, ', ') FROM reading_file WHERE length(sha256) = 64";
    let parts: String = conn.query_row(parts, [], |row| row.get(0)).unwrap();
    assert_eq!(parts, format!("1 {PART}, 2 {PART}, 3 5"));
    assert_eq!(number(&conn, "SELECT count(DISTINCT sha256) FROM reading_file"), 1);
    let story = book.store.history(Of::Everything, None, 1).unwrap().remove(0).text;
    assert_eq!(story, "air read from years.csv, part 3: 5 readings of door, under light");
    // the last part taken back can be read again; a file that was read whole has no parts
    book.act(&Action::Undo);
    let done = book.store.read_in(None, &new, (who, now), &|_, _| true).unwrap();
    assert_eq!(done.sentence, "years.csv: 5 readings of door kept, in 1 import; 2 parts were read before.");
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
    let whole = import(NewReadings { readings: vec![new.readings[0]], part: None, ..new });
    assert_eq!(book.refused(&whole).rule, "file_read_already");
}
