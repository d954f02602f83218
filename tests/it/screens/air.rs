//! Sensors, readings, loggers' files and water by keys.

use std::fs;

use chrono::Duration;
use rackwalk::app::effect::{Effect, Msg, Query};
use rackwalk::app::key::Key;
use rackwalk::app::update::update;
use rackwalk::domain::action::{Action, Done};
use rackwalk::domain::cold::{Limits, NewStore};
use rackwalk::domain::id::{EntryId, SensorId, StoreId};
use rackwalk::domain::reading::{NewReadings, Reading, Spot};
use rackwalk::domain::room::Zone;
use rackwalk::runtime::session::import::open_logger_for;

use super::{Seat, morning};
use crate::book::{AK, Book};

const SENSOR: &str = "r s z door Enter cov Enter";

/// Types the path of a file with this text into the form that asks for it.
fn choose(seat: &mut Seat, text: &[u8]) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("july.csv");
    fs::write(&path, text).unwrap();
    seat.type_in(path.to_str().unwrap()).press("Enter");
}

const FILE: &str = "time,temp °C,rh %\n2026-06-28 06:00,20.1,82\n2026-06-28 06:05,20.2,0\n\
                    2026-06-28 06:10,20.3,88\n2026-06-28 06:15,--,88\n";

pub fn opens_a_file(seat: &mut Seat) {
    choose(seat, FILE.as_bytes());
}

pub fn reads_a_file(seat: &mut Seat) {
    opens_a_file(seat);
    seat.press("C-s");
}

/// A sensor in each zone, and two days of damp air read by it.
pub fn was_damp(seat: &mut Seat) {
    let now = seat.book().now;
    for zone in [Zone::Covered, Zone::Lit] {
        let store = &mut seat.session.store;
        let add = Action::AddSensor { name: zone.shown().into(), at: Spot::Zone(zone) };
        let sensor = SensorId(store.act(&add, AK, now).unwrap().made.unwrap());
        let damp = |n: i64| if n % 3 == 0 { 90.0 } else { 70.0 };
        let reading = |n: i64| Reading::new(now.plus(-Duration::hours(n)).instant(), 20.0, damp(n)).unwrap();
        let (readings, sha256) = ((0..48).rev().map(reading).collect(), "c".repeat(64));
        let new = NewReadings { sensor, file: "air.csv".into(), sha256, part: None, readings, map: None };
        store.act(&Action::ImportAir(Box::new(new)), AK, now).unwrap();
    }
    seat.session.handle(Msg::OthersWrote);
}

#[test]
fn a_sensor_is_added_and_read_by_hand() {
    let mut seat = morning();
    seat.press("r").sees("no sensor yet").press("s").sees("Zero hours").press("Esc");
    seat.press(SENSOR).sees("door measures the air, covered.");
    seat.press("r s").sees("door, covered").sees("nothing read yet").press("a a 20 Enter 90");
    // derived by FAO-56: 20 °C and 90 % have a dew point of 18.3 °C and lack 0.23 kPa
    seat.sees("dew point 18.3 °C, drying power 0.23 kPa").sees("A lid colder than the dew point drips.");
    seat.sees("Zero hours").press("C-s").sees("door: 20.0 °C, 90 %");
    let mut seat = seat.later(Duration::hours(3));
    seat.press("r")
        .sees("covered: 2 of 2 h mould weather")
        .press("s")
        .sees("90 %; mould weather 2 of 2 h measured")
        .press("a");
    seat.sees("20.0 °C, 90 %; dew point 18.3 °C")
        .sees("Mould weather in 24 h: 2 of 2 h measured; in 7 d: 2 of 2 h measured.")
        .press("d")
        .sees("air by hand, door, covered");
    seat.press("Esc r s a f").press("Tab n C-s").sees("door: saved.").press("r").sees("no sensor yet");
}

#[test]
fn a_reading_that_no_air_is_stays_in_its_form() {
    let mut seat = morning();
    seat.press(SENSOR).press("r s a a 20 Enter 0 C-s").sees("it must be from 0.1 to 100 %; 0 is outside.");
    seat.press("Backspace 55 Enter");
    seat.key(Key::Ctrl('u'));
    // said once, at its field
    seat.press("101 C-s").sees("or 04:10 for today.");
    assert_eq!(seat.text().matches("04:10 for today").count(), 1, "{}", seat.text());
    // a time alone is of today
    seat.key(Key::Ctrl('u'));
    seat.press("05:40 C-s").sees("door: 20.0 °C, 55 %");
    seat.press("r s a").sees("05:40: 20.0 °C, 55 %");
}

#[test]
fn a_loggers_file_is_shown_read_and_remembered_and_read_once() {
    let mut seat = morning();
    seat.press(SENSOR).press("r s a s");
    opens_a_file(&mut seat);
    seat.sees("july.csv: what stands where").sees("Sun 28 Jun 2026 06:00: 20.1 °C, 82 %");
    seat.sees("line 3: 0 % is no relative humidity").press("C-s");
    seat.sees("2 readings, 2 lines left out.").sees("line 3: 0 % is").sees("line 5: temperature: \"--\" is no number");
    seat.sees("july.csv: 2 readings of door kept.").press("Esc r s a s");
    opens_a_file(&mut seat);
    seat.press("C-s").sees("july.csv was read already on 2026-07-04: it adds nothing.").press("Esc");
    // taken back, and stopped the second time
    seat.press("u").sees("Taken back: air read from july.csv");
    seat.press("r s a s");
    opens_a_file(&mut seat);
    seat.patience = 1;
    let before = seat.session.store.newest_entry().unwrap();
    seat.press("C-s").sees("Stopped: nothing of the file was written.");
    assert_eq!(seat.session.store.newest_entry().unwrap(), before);
    assert_eq!(seat.session.model.air[0].newest, None);
    seat.patience = usize::MAX;
    seat.press("C-s").sees("2 readings of door kept.");
}

#[test]
fn the_file_of_another_sensor_is_asked_about() {
    let mut seat = morning();
    seat.press(SENSOR).press("r s a s");
    reads_a_file(&mut seat);
    seat.press("Esc r s z lamps Enter lit Enter").press("r s s s");
    opens_a_file(&mut seat);
    seat.sees("july.csv was read on 2026-07-04 for another sensor, door.").press("C-s");
    seat.sees("answer yes or no").press("n C-s").sees("yes reads it for this sensor too").press("y C-s");
    seat.sees("july.csv: 2 readings of lamps kept.");
}

#[test]
fn the_file_of_a_cold_store_may_have_no_humidity_and_that_of_a_zone_may_not() {
    let mut seat = morning();
    let (now, store) = (seat.book().now, &mut seat.session.store);
    let new = NewStore { name: "walk-in".into(), limits: Limits::default() };
    let at = StoreId(store.act(&Action::AddStore(Box::new(new)), AK, now).unwrap().made.unwrap());
    let add = Action::AddSensor { name: "probe".into(), at: Spot::Store(at) };
    let probe = SensorId(store.act(&add, AK, now).unwrap().made.unwrap());
    seat.session.handle(Msg::OthersWrote);
    // no sensor of the air
    seat.press("r").sees("no sensor yet").press("Esc").press(SENSOR).press("r s a s");
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("cold.csv");
    fs::write(&path, "time,temp °C,battery\n2026-06-28 06:00,4.1,99\n2026-06-28 06:05,4.2,99\n").unwrap();
    let file = open_logger_for(&seat.session.store, probe, &path).unwrap();
    seat.session.handle(Msg::LoggerOpened(probe, Ok(Box::new(file))));
    seat.sees("cold.csv: what stands where").sees("Remembered for the next file of probe.");
    seat.sees("Sun 28 Jun 2026 06:00: 4.1 °C").press("C-s").sees("cold.csv: 2 readings of probe kept.");
    let known = seat.session.model.air.iter().find(|sensor| sensor.id == probe).unwrap();
    assert_eq!((known.map.as_ref().unwrap().rh.as_ref(), known.newest.unwrap().rh_pm), (None, None));
    seat.press("r s a s");
    choose(&mut seat, b"time,temp C\n2026-06-28 06:00,4.1\n2026-06-28 06:05,4.2\n");
    seat.sees("Still open: which column is the humidity").press("C-s").sees("choose one, it is needed");
}

#[test]
fn what_a_file_does_not_say_is_asked() {
    let mut seat = morning();
    seat.press(SENSOR).press("r s a s");
    choose(&mut seat, b"at,temp,rh\n03/04/2026 06:00,70,82\n03/04/2026 07:00,71,83\n");
    seat.sees("Still open: whether the temperature is in").press("C-s").sees("choose one, it is needed");
    // day first; °C, which is doubted, then °F
    seat.press("day Tab Tab Tab Right").sees("looks like °F, not °C").press("C-s").sees("answer yes or no");
    seat.press("n C-s").sees("Choose the other, or say yes below");
    seat.press("Right").sees("Fri 03 Apr 2026 06:00: 21.1 °C, 82 %").press("C-s").sees("2 readings of door kept.");
    // remembered: nothing is open for the next file
    seat.press("r s a s");
    choose(&mut seat, b"at,temp,rh\n03/05/2026 06:00,70,82\n");
    seat.sees("Sun 03 May 2026 06:00: 21.1 °C, 82 %").press("C-s").sees("1 reading of door kept.");
}

#[test]
fn a_file_that_is_none_is_told_in_its_form() {
    let mut seat = morning();
    seat.press(SENSOR).press("r s a s").type_in("/nowhere/july.csv").press("Enter").sees("cannot be read");
    seat.key(Key::Ctrl('u'));
    choose(&mut seat, b"\xff\xfet\0i\0m\0e\0");
    seat.sees("The file is written in UTF-16");
    seat.key(Key::Ctrl('u'));
    choose(&mut seat, b"time,temp,rh\n\xb0C\n");
    seat.sees("Line 2 is not in UTF-8, perhaps in Latin-1");
    seat.key(Key::Ctrl('u'));
    choose(&mut seat, b"hello\n");
    seat.sees("No line of it looks like a reading");
}

#[test]
fn rack_and_timeline_tell_the_hours_of_mould_weather() {
    let mut seat = morning();
    assert!(!seat.text().contains("damp"), "{}", seat.text());
    was_damp(&mut seat);
    // of the rack's zones the worst, by its name
    seat.sees("Rack A  mould weather: under light 8 of 24 h");
    seat.size(140, 40);
    seat.sees("weath.: hours of mould weather, ? not measured all day; 0 clears nothing");
    let line = seat.text().lines().find(|line| line.starts_with("weath. ")).unwrap().to_string();
    let cells: Vec<&str> = line.split_whitespace().skip(1).collect();
    assert!(cells.contains(&"8") && cells.contains(&"2?"), "{line}");
    // later most of the last day is not known: that is said
    let mut seat = seat.later(Duration::hours(20));
    // n = 3 for one hour, and the last for two
    seat.sees("Rack A  mould weather: under light 3 of 6 h");
}

#[test]
fn the_air_is_read_again_where_it_may_have_changed_and_by_the_minute() {
    let mut seat = morning();
    was_damp(&mut seat);
    let now = seat.book().now;
    let model = &mut seat.session.model;
    let air = Effect::Load(Query::Air);
    let done = Done { entry: EntryId(1), sentence: "Done.".into(), made: None, trays: vec![] };
    let reading = Reading::new(now.instant(), 20.0, 70.0).unwrap();
    for (action, told) in [
        (Action::ReadAir { sensor: SensorId(1), reading }, true),
        (Action::EditSensor { sensor: SensorId(1), name: "door".into(), retired: true, rev: 0 }, true),
        (Action::Undo, true),
        (Action::Water(Box::default()), false),
    ] {
        let effects = update(model, Msg::Acted(Box::new(action.clone()), Ok(done.clone())), now);
        assert!(effects.contains(&Effect::Load(Query::Board)));
        assert_eq!(effects.contains(&air), told, "{action:?}");
    }
    assert!(update(model, Msg::OthersWrote, now).contains(&air));
    let later = |seconds| now.plus(Duration::seconds(seconds));
    assert!(!update(model, Msg::Quiet, later(59)).contains(&air));
    assert!(update(model, Msg::Quiet, later(60)).contains(&air));
    assert!(!update(model, Msg::Quiet, later(61)).contains(&air));
}

#[test]
fn water_is_given_to_a_shelf_and_what_lies_outside_is_said() {
    let mut seat = Seat::at({
        let mut book = Book::room();
        let lot = book.seed("RAD", 1000);
        book.sow("RAD", lot, 3);
        book
    });
    seat.press("r w").sees("No bands are set").press("b 5.5 Enter 6.5 C-s").sees("Bands of water and air: saved.");
    seat.press("r w").sees("Wanted here: pH 5.5 to 6.5.").press("s 400 Enter 7.4").sees("pH 7.4 is above 6.5.");
    seat.press("Tab Tab 820 Enter").type_in("the tap").press("Enter");
    seat.sees("3 trays: watered, 400 mL each, pH 7.40, 820 µS/cm, from the tap. pH 7.4 is above").sees("6.5.");
    seat.press("i").sees("3 trays: watered, 400 mL each, pH 7.40, 820").press("Esc");
    // bands the wrong way round stay in their form
    seat.press("r w b").press("Backspace Backspace Backspace 7 C-s").sees("It ends below where it begins");
}

#[test]
fn overdue_water_stands_in_the_line_of_facts_and_is_given_at_once() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    for tray in book.sow("RAD", lot, 2) {
        let stage = Some(rackwalk::domain::tray::Stage::Lit);
        book.act(&Action::Move { walk: None, tray, to: None, stage });
    }
    let bands = rackwalk::domain::bands::Bands { every_d: Some(2), ..Default::default() };
    book.act(&Action::EditBands { bands: Box::new(bands), rev: 0 });
    book.later(Duration::days(3));
    let mut seat = Seat::at(book);
    seat.size(120, 24);
    seat.sees("2 overdue for water (r)")
        .sees("its water is overdue")
        .press("r")
        .sees("overdue for 2 trays")
        .press("w f C-s");
    seat.sees("2 trays: watered.");
    assert!(!seat.text().contains("overdue"), "{}", seat.text());
}
