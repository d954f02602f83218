//! Ratios against a baseline measured in the same run; absolute times are only printed.
//!
//! Criterion measures, its medians are read back, and a ratio beyond its limit fails the run.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::cast_precision_loss,
    reason = "a bench fails by panicking"
)]

use std::collections::BTreeMap;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use criterion::Criterion;
use rackwalk::app::effect::Msg;
use rackwalk::app::key::Key;
use rackwalk::domain::action::Action;
use rackwalk::domain::cold::{Limits, NewStore};
use rackwalk::domain::id::{CropId, PersonId, SensorId, StoreId, TrayId};
use rackwalk::domain::keeping::{self, Leg, Place, Rates, Series, Sums, Way};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::reading::{NewReadings, Reading, Spot};
use rackwalk::domain::room::Zone;
use rackwalk::domain::time::Now;
use rackwalk::runtime::clock::Clock;
use rackwalk::runtime::session::Session;
use rackwalk::store::Store;
use rackwalk::store::air::{PART, digest};
use rackwalk::ui;
use rackwalk::ui::theme::{Paint, Theme};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use rusqlite::Connection;

#[path = "../it/book.rs"]
#[allow(dead_code, reason = "shared with the tests, which use more of it")]
mod book;
mod trace;
mod week;

use book::Book;

/// A room of 400 standing trays in 50 batches, each tray looked at on three mornings.
fn full_room() -> Book {
    let mut book = Book::of_racks("10x5x8");
    let lot = book.seed("RAD", 50_000);
    for _ in 0..50 {
        book.sow("RAD", lot, 8);
    }
    for grade in [Roots::None, Roots::Peeking, Roots::Plenty] {
        book.later(chrono::Duration::days(1));
        for tray in 1..=400 {
            book.act(&book::roots(TrayId(tray), grade));
        }
    }
    book.later(chrono::Duration::days(1));
    book
}

/// The least a durable entry can cost here: one row, one commit, same settings, same disk.
fn plain_table(dir: &Path) -> Connection {
    let conn = Connection::open(dir.join("plain.db")).unwrap();
    conn.pragma_update(None, "journal_mode", "wal").unwrap();
    conn.pragma_update(None, "synchronous", "full").unwrap();
    conn.execute_batch("CREATE TABLE t (id INTEGER PRIMARY KEY, a TEXT, b TEXT, c INTEGER) STRICT").unwrap();
    conn
}

/// A year of a logger that reads every five minutes.
const YEAR: i64 = 365 * 24 * 12;

/// The longest time for which another connection could not begin to write.
fn kept_waiting(path: &Path, work: impl FnOnce()) -> Duration {
    let (working, over) = mpsc::channel::<()>();
    thread::scope(|scope| {
        let waiting = scope.spawn(move || {
            let conn = Connection::open(path).unwrap();
            conn.busy_timeout(Duration::ZERO).unwrap();
            let (mut free, mut longest) = (Instant::now(), Duration::ZERO);
            loop {
                let last = over.recv_timeout(Duration::from_micros(100)) == Err(RecvTimeoutError::Disconnected);
                if conn.execute_batch("BEGIN IMMEDIATE; ROLLBACK").is_ok() {
                    longest = longest.max(free.elapsed());
                    free = Instant::now();
                    if last {
                        return longest;
                    }
                }
            }
        });
        work();
        drop(working);
        waiting.join().unwrap()
    })
}

/// Readings of a sensor that is added, five minutes apart up to now.
fn readings(book: &mut Book, at: Spot, rows: i64) -> NewReadings {
    let sensors = book.store.sensors(book.now).unwrap().len();
    let name = format!("sensor {sensors}");
    let sensor = SensorId(book.act(&Action::AddSensor { name: name.clone(), at }).made.unwrap());
    let now = book.now.instant().0;
    let reading = |n: i64| Reading {
        at: rackwalk::domain::time::Instant(now - chrono::Duration::minutes(5 * n)),
        temp_dc: 35 + n % 11,
        rh_pm: at.zone().map(|_| 600 + n % 300),
    };
    let sha256 = digest(name.as_bytes());
    NewReadings { sensor, file: name, sha256, part: None, readings: (0..rows).rev().map(reading).collect(), map: None }
}

/// How long others wait while so many readings go in.
fn import_waits(book: &mut Book, at: Spot, rows: i64) -> Duration {
    let new = readings(book, at, rows);
    let (path, now) = (book.path.clone(), book.now);
    kept_waiting(&path, || {
        book.store.read_in(None, &new, (book::AK, now), &|_, _| true).unwrap();
    })
}

/// The same rows by one plain statement into a bare table of the same columns.
fn bare_insert(plain: &Connection, rows: i64) -> Duration {
    plain
        .execute_batch(
            "CREATE TABLE IF NOT EXISTS bare (sensor_id INTEGER, at_s INTEGER, file_id INTEGER, temp_dc INTEGER,
               rh_pm INTEGER, PRIMARY KEY (sensor_id, at_s, file_id)) STRICT, WITHOUT ROWID;
             CREATE TEMP TABLE IF NOT EXISTS rows (at_s INTEGER PRIMARY KEY, temp_dc INTEGER, rh_pm INTEGER) STRICT;
             DELETE FROM rows",
        )
        .unwrap();
    plain
        .execute(
            "WITH RECURSIVE n (n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM n WHERE n + 1 < ?)
             INSERT INTO rows SELECT 1700000000 + 300 * n, 35 + n % 11, 600 + n % 300 FROM n",
            [rows],
        )
        .unwrap();
    let began = Instant::now();
    plain
        .execute_batch(
            "BEGIN IMMEDIATE;
             INSERT INTO bare SELECT (SELECT coalesce(max(sensor_id), 0) + 1 FROM bare), at_s, 1, temp_dc, rh_pm FROM rows;
             COMMIT",
        )
        .unwrap();
    began.elapsed()
}

/// Whether an import keeps others waiting for not much longer than a plain statement takes.
fn imports(plain: &Connection) -> bool {
    const TIMES: usize = 7;
    const LIMIT: f64 = 2.5;
    let median = |mut times: Vec<Duration>| {
        times.sort();
        times[times.len() / 2]
    };
    let mut book = Book::room();
    let (mut ours, mut base) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        ours.push(import_waits(&mut book, Spot::Zone(Zone::Lit), YEAR));
        base.push(bare_insert(plain, YEAR));
    }
    let (ours, base) = (median(ours), median(base));
    let ratio = ours.as_secs_f64() / base.as_secs_f64();
    let word = if ratio <= LIMIT { "ok" } else { "TOO LONG" };
    println!(
        "import of {YEAR} rows: others wait {ours:.1?}, {ratio:.2} x a plain insert ({base:.1?}), limit {LIMIT} x: {word}"
    );
    let rows = i64::try_from(PART).unwrap();
    let times = (0..TIMES).map(|_| import_waits(&mut book, Spot::Zone(Zone::Lit), rows)).collect();
    println!("import of {rows} rows of a zone: others wait {:.1?}", median(times));
    // spells are worked out as well
    let times = (0..TIMES).map(|n| {
        let new = NewStore { name: format!("store {n}"), limits: Limits::default() };
        let store = StoreId(book.act(&Action::AddStore(Box::new(new))).made.unwrap());
        import_waits(&mut book, Spot::Store(store), rows)
    });
    println!("import of {rows} rows of a cold store: others wait {:.1?}", median(times.collect()));
    ratio <= LIMIT
}

fn median_ns(name: &str) -> f64 {
    let file = format!("{}/criterion/{name}/new/estimates.json", target());
    let text = std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file}: {e}"));
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    json["median"]["point_estimate"].as_f64().unwrap()
}

fn target() -> String {
    std::env::var("CARGO_TARGET_DIR").unwrap_or_else(|_| format!("{}/target", env!("CARGO_MANIFEST_DIR")))
}

fn ratio(what: &str, baseline: &str, limit: f64) -> bool {
    let (ours, base) = (median_ns(what), median_ns(baseline));
    let ratio = ours / base;
    let word = if ratio <= limit { "ok" } else { "TOO SLOW" };
    println!("{what}: {:.1} µs, {ratio:.2} x {baseline} ({:.1} µs), limit {limit} x: {word}", ours / 1e3, base / 1e3);
    ratio <= limit
}

/// A year of readings of a store every five minutes.
fn a_year() -> Vec<keeping::Reading> {
    let dc = |n: i64| 38 + (n * 7919) % 9 + if n % 5000 < 40 { 60 } else { 0 };
    (0..105_120).map(|n| keeping::Reading { at_s: n * 300, dc: dc(n) }).collect()
}

/// Five hundred lots that were cut in the last three weeks of that year.
fn five_hundred() -> Vec<Way> {
    let end = 105_120 * 300;
    (0..500)
        .map(|n| {
            let cut_s = end - 3600 - n * 3600;
            let leg = |from_s, to_s, place| Leg { from_s, to_s, place };
            let legs = vec![
                leg(cut_s, Some(cut_s + 1800), Place::Outside(Some(210))),
                leg(cut_s + 1800, None, Place::Store(StoreId(1))),
            ];
            Way { crop: CropId(1), name: String::new(), cut_s, legs }
        })
        .collect()
}

fn main() {
    // cargo bench --bench book -- traces: nothing but those
    let only = std::env::args().any(|arg| arg == "traces");
    if only {
        std::process::exit(i32::from(!trace::fine()));
    }
    // the same with weeks
    if std::env::args().any(|arg| arg == "weeks") {
        std::process::exit(i32::from(!week::fine()));
    }
    let mut criterion = Criterion::default()
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3))
        .sample_size(30)
        .configure_from_args();

    let mut room = full_room();
    let plain = plain_table(room.path.parent().unwrap());
    let (who, now): (PersonId, Now) = (book::AK, room.now);

    criterion.bench_function("plain_commit", |b| {
        b.iter(|| plain.execute("INSERT INTO t (a, b, c) VALUES ('2026-07-01', 'plenty', 1)", []).unwrap());
    });
    let raw = Connection::open(&room.path).unwrap();
    criterion.bench_function("plain_rows", |b| {
        let mut rows = raw
            .prepare(
                "SELECT n.*, s.*, c.name FROM tray_now n JOIN tray t ON t.id = n.tray_id
                 JOIN sowing s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id",
            )
            .unwrap();
        b.iter(|| {
            let texts: Vec<String> = rows.query_map([], |row| row.get("code")).unwrap().map(Result::unwrap).collect();
            black_box(texts)
        });
    });
    criterion.bench_function("board", |b| b.iter(|| black_box(room.store.board().unwrap())));

    let (year, lots) = (a_year(), five_hundred());
    let rates = Arc::new(Rates::of(&[(10, 552), (60, 240), (200, 72)], false).unwrap());
    let built =
        |year: &[keeping::Reading]| Sums::new(Arc::new(Series::new(year.to_vec(), 3600, vec![])), Arc::clone(&rates));
    // the least it can cost: one multiplication and one addition a reading, in order
    criterion.bench_function("plain_year", |b| {
        b.iter(|| {
            let pairs = year.windows(2).map(|pair| (pair[1].at_s - pair[0].at_s) as f64 * rates.per_s(pair[0].dc));
            let mut total = 0.0;
            let sums: Vec<f64> = pairs
                .map(|share| {
                    total += share;
                    total
                })
                .collect();
            black_box(sums)
        });
    });
    criterion.bench_function("year_of_readings", |b| b.iter(|| black_box(built(&year))));
    let sums = built(&year);
    criterion.bench_function("countdown_of_500", |b| {
        b.iter(|| {
            let left = lots.iter().map(|way| keeping::used(way, &rates, 105_120 * 300, |_| Some(&sums)).share);
            black_box(left.collect::<Vec<f64>>())
        });
    });

    // last of those on the book: it fills it with more looks than a room ever sees
    criterion.bench_function("look_commit", |b| {
        let mut trays = (1..=400).cycle();
        b.iter(|| {
            let tray = TrayId(trays.next().unwrap());
            let look = Look { roots: Some(Roots::Plenty), watered: true, ..Look::of(tray) };
            room.store.act(&Action::Look(Box::new(look)), who, now).unwrap()
        });
    });

    let store = Store::open(&room.path, "bench").unwrap();
    let mut session = Session::start(store, Clock::Fixed(now), None, None, BTreeMap::new()).unwrap();
    session.handle(Msg::Resize(100, 30));
    let theme = Theme { paint: Paint::Plain, wide_signs: true };
    let mut terminal = Terminal::new(TestBackend::new(100, 30)).unwrap();
    criterion.bench_function("cursor_key", |b| {
        let mut right = true;
        b.iter(|| {
            right = !right;
            session.handle(Msg::Key(if right { Key::Right } else { Key::Left }, Duration::ZERO));
            terminal.draw(|frame| ui::draw(&session.model, &theme, frame)).unwrap();
        });
    });

    let fine = [
        imports(&plain),
        ratio("look_commit", "plain_commit", 8.0),
        ratio("board", "plain_rows", 25.0),
        ratio("year_of_readings", "plain_year", 40.0),
        trace::fine(),
        week::fine(),
    ];
    println!(
        "a year of readings built in {:.1} ms, 500 countdowns read from it in {:.1} µs",
        median_ns("year_of_readings") / 1e6,
        median_ns("countdown_of_500") / 1e3
    );
    println!("cursor_key with its redraw: {:.1} µs", median_ns("cursor_key") / 1e3);
    if fine.contains(&false) {
        std::process::exit(1);
    }
}
