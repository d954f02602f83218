//! Traces on books of many trays: what a thing on the way costs, and that it does not go with the size of the book.
//!
//! 10⁴ and 10⁵ trays always, 10⁶ as well with `RACKWALK_BIG=1`. The door would take an hour for the largest: the books are filled
//! by plain statements into the program's own schema, its triggers included, and only here.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rackwalk::domain::action::Action;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::id::{LotId, SeedLotId};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::trace::{Start, Way};
use rackwalk::store::trace::FORWARD;
use rusqlite::Connection;

use crate::book::Book;

/// Seed lots a measured way begins with; the same number in every book, and each comes to the same number of things.
const LOTS: i64 = 40;
/// Trays that one seed lot is sown in.
const TRAYS_A_LOT: i64 = 200;
/// How often each way is gone.
const TIMES: usize = 15;

/// Numbers from 1 to ?1.
pub const N: &str = "WITH RECURSIVE n (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM n WHERE n < ?1)";

/// More seed lots than are used; batches of eight trays, four seed lots in use at a time, every fifth batch from two; four trays to a harvest lot, of every
/// fourth tray two mats to the next; of each harvest lot (4h - 3) a pack lot (4h - 2) and a blend with an older one (4h - 1),
/// and of every tenth blend one more (4h); packs of each to a customer.
const FILL: &[(&str, i64, &str)] = &[
    (
        "seed lots",
        150,
        "INSERT INTO seed_lot (id, entry_id, code, crop_id, supplier_id, supplier_lot, received, treated)
       SELECT n + 1, 2, 'S' || n, (SELECT crop_id FROM seed_lot WHERE id = 1), 1, 'F' || n, '2020-01-01', 'no' FROM n",
    ),
    (
        "seed",
        150,
        "INSERT INTO seed_move (entry_id, seed_lot_id, mg, why) SELECT 2, n + 1, 100000000, 'received' FROM n",
    ),
    (
        "batches",
        8,
        "INSERT INTO sowing (id, entry_id, code, crop_id, grow_plan_id, day)
       SELECT n, 2, 'B' || n, (SELECT crop_id FROM seed_lot WHERE id = 1),
         (SELECT id FROM grow_plan WHERE crop_id = (SELECT crop_id FROM seed_lot WHERE id = 1)),
         date('2020-01-01', '+' || (n / 60) || ' days') FROM n",
    ),
    (
        "seed sown",
        8,
        "INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why)
       SELECT 2, 2 + 4 * ((n - 1) / 100) + (n - 1) % 4, n, -216000, 'sown' FROM n
       UNION ALL SELECT 2, 2 + 4 * ((n - 1) / 100) + n % 4, n, -54000, 'sown' FROM n WHERE n % 5 = 0",
    ),
    ("trays", 1, "INSERT INTO tray (id, sowing_id, format_id, mats) SELECT n, (n + 7) / 8, 1, 4 FROM n"),
    (
        "lots",
        1,
        "INSERT INTO lot (id, entry_id, code, kind, crop_id, product_id, day, cut_at, pack_g)
       SELECT n, 2, char(65 + n % 26, 65 + n / 26 % 26, 65 + n / 676 % 26)
           || substr(strftime('%Y%m%d', '2020-01-01', '+' || (n / 17576) || ' days'), 3) || 'A',
         CASE n % 4 WHEN 1 THEN 'harvest' ELSE 'pack' END,
         CASE n % 4 WHEN 1 THEN (SELECT crop_id FROM seed_lot WHERE id = 1) END, CASE n % 4 WHEN 1 THEN NULL ELSE 1 END,
         date('2020-01-01', '+' || (n / 500) || ' days'),
         CASE n % 4 WHEN 1 THEN '2020-01-01T06:00:00Z' END, CASE n % 4 WHEN 1 THEN NULL ELSE 50 END
       FROM n WHERE n % 4 <> 0 OR n % 40 = 0",
    ),
    (
        "mats",
        1,
        "INSERT INTO lot_input (entry_id, lot_id, tray_id, mats)
       SELECT 2, 4 * ((n + 3) / 4) - 3, n, CASE n % 4 WHEN 0 THEN 2 ELSE 4 END FROM n
       UNION ALL SELECT 2, 4 * ((n + 3) / 4) + 1, n, 2 FROM n WHERE n % 4 = 0 AND n < ?1",
    ),
    (
        "made",
        1,
        "INSERT INTO stock_move (entry_id, lot_id, kind, grams, packs, day)
       SELECT 2, id, 'made', CASE kind WHEN 'harvest' THEN 1000 END, CASE kind WHEN 'pack' THEN 20 END, day FROM lot",
    ),
    (
        "drawn",
        4,
        "INSERT INTO lot_input (entry_id, lot_id, from_lot_id, grams, packs)
       SELECT 2, 4 * n - 2, 4 * n - 3, 300, NULL FROM n
       UNION ALL SELECT 2, 4 * n - 1, 4 * n - 3, 200, NULL FROM n
       UNION ALL SELECT 2, 4 * n - 1, 4 * (n - 3) - 3, 200, NULL FROM n WHERE n > 3
       UNION ALL SELECT 2, 4 * n, 4 * n - 1, 100, 2 FROM n WHERE n % 10 = 0",
    ),
    (
        "deliveries",
        4,
        "INSERT INTO delivery (id, entry_id, customer_id, day)
       SELECT n, 2, 1 + n % 40, date('2020-01-01', '+' || (n / 125) || ' days') FROM n",
    ),
    (
        "delivered",
        4,
        "INSERT INTO stock_move (entry_id, lot_id, kind, packs, day, delivery_id)
       SELECT 2, 4 * n - 2, 'delivered', 6, '2020-01-01', n FROM n
       UNION ALL SELECT 2, 4 * n - 1, 'delivered', 5, '2020-01-01', n FROM n",
    ),
];

/// A room with that many trays in its book, all cut, packed and delivered.
fn filled(trays: i64) -> Book {
    let mut book = Book::of_racks("1x2x4");
    book.seed("RAD", 1);
    let crop = book.board().crops.iter().find(|crop| crop.letters == "RAD").unwrap().id;
    let product = NewProduct {
        name: "radish".into(),
        kind: Kind::Crop,
        pack_g: Some(50),
        gtin: None,
        price_c: None,
        parts: vec![(crop, 1000)],
    };
    book.act(&Action::AddProduct(Box::new(product)));
    for n in 0..40 {
        let new = NewCustomer { name: format!("customer {n}"), address: "1 Quay".into(), ..NewCustomer::default() };
        book.act(&Action::AddCustomer(Box::new(new)));
    }
    let raw = Connection::open(&book.path).unwrap();
    raw.execute_batch("PRAGMA synchronous = off; PRAGMA cache_size = -400000; BEGIN").unwrap();
    for (what, each, text) in FILL {
        let began = Instant::now();
        let done = if text.contains("FROM n") {
            raw.execute(&format!("{N} {text}"), [trays / each])
        } else {
            raw.execute(text, [])
        };
        done.unwrap_or_else(|e| panic!("{what}: {e}"));
        if began.elapsed() > Duration::from_secs(5) {
            println!("{what} of {trays} trays written in {:.1?}", began.elapsed());
        }
    }
    raw.execute_batch("COMMIT; PRAGMA wal_checkpoint(truncate)").unwrap();
    book
}

/// The seed lots that are measured, away from both ends of the book.
fn seed_lots(trays: i64) -> Vec<i64> {
    let all = trays / TRAYS_A_LOT;
    (0..LOTS).map(|n| 2 + 4 + n * (all - 8) / LOTS).collect()
}

fn list(ids: &[i64]) -> String {
    format!("[{}]", ids.iter().map(ToString::to_string).collect::<Vec<_>>().join(","))
}

/// How long something takes once it was done before, ns: the least of some times, since what else the machine does only adds.
pub fn warm(mut work: impl FnMut() -> usize) -> (f64, usize) {
    let found = work();
    let times = (0..TIMES).map(|_| {
        let began = Instant::now();
        assert_eq!(work(), found);
        began.elapsed().as_nanos() as f64
    });
    (times.fold(f64::INFINITY, f64::min), found)
}

/// The statement as the program prepares it, from seed lots forward.
fn forward(conn: &Connection, lots: &str) -> usize {
    let mut statement = conn.prepare_cached(FORWARD).unwrap();
    let mut rows = statement.query([lots, "[]", "[]"]).unwrap();
    let (mut things, mut sum) = (0, 0i64);
    while let Some(row) = rows.next().unwrap() {
        let (what, id): (i64, i64) = (row.get(0).unwrap(), row.get(1).unwrap());
        sum = sum.wrapping_add(what ^ id);
        things += 1;
    }
    std::hint::black_box(sum);
    things
}

/// The same statement in the sqlite3 shell, ns; none where there is no shell.
fn shell(path: &Path, lots: &str) -> Option<f64> {
    let again = format!("{FORWARD};\n").repeat(TIMES);
    let script = format!(
        ".output /dev/null\n.parameter init\n.parameter set ?1 \"'{lots}'\"\n.parameter set ?2 \"'[]'\"\n\
         .parameter set ?3 \"'[]'\"\n{FORWARD};\n.timer on\n{again}"
    );
    let spawned =
        Command::new("sqlite3").arg("-readonly").arg(path).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let mut shell = match spawned {
        Ok(shell) => shell,
        Err(error) => {
            assert!(std::env::var_os("CI").is_none(), "sqlite3: {error}");
            return None;
        }
    };
    std::io::Write::write_all(&mut shell.stdin.take().unwrap(), script.as_bytes()).unwrap();
    let said = String::from_utf8(shell.wait_with_output().unwrap().stdout).unwrap();
    let times = said.lines().filter_map(|line| line.strip_prefix("Run Time: real "));
    let times: Vec<f64> = times.map(|rest| rest.split(' ').next().unwrap().parse::<f64>().unwrap() * 1e9).collect();
    assert_eq!(times.len(), TIMES, "{said}");
    times.into_iter().reduce(f64::min)
}

/// What was measured on one book, ns.
struct Measured {
    trays: i64,
    /// A thing on the way forward, the statement alone.
    walk: f64,
    /// The same with what the screen says of each.
    trace: f64,
    /// The slowest whole trace back from a blend of blends.
    back: f64,
    shell: Option<f64>,
}

fn measured(trays: i64) -> Measured {
    let book = filled(trays);
    let conn = Connection::open(&book.path).unwrap();
    let (mut walk, mut trace, mut found) = (0.0, 0.0, 0);
    for lot in seed_lots(trays) {
        let (ns, things) = warm(|| forward(&conn, &list(&[lot])));
        walk += ns;
        found += things;
        let start = Start::SeedLot(SeedLotId(lot));
        trace += warm(|| book.store.trace(&start, Way::Forward).unwrap().things.len()).0;
    }
    let (mut back, mut behind) = (0.0f64, 0);
    for n in 0..LOTS {
        let start = Start::Lot(LotId(trays * (n + 1) / (LOTS + 1) / 40 * 40));
        let (ns, things) = warm(|| book.store.trace(&start, Way::Back).unwrap().things.len());
        (back, behind) = (back.max(ns), behind.max(things));
    }
    let lots = list(&seed_lots(trays));
    let ours = warm(|| forward(&conn, &lots)).0;
    let shell = shell(&book.path, &lots).map(|theirs| ours / theirs);
    let each = |ns: f64| ns / found as f64;
    println!(
        "{trays} trays: forward {:.2} µs a thing, {:.2} µs with its words, of {} things a seed lot; back at most {:.2} ms of {behind} things",
        each(walk) / 1e3,
        each(trace) / 1e3,
        i64::try_from(found).unwrap() / LOTS,
        back / 1e6
    );
    Measured { trays, walk: each(walk), trace: each(trace), back, shell }
}

pub fn within(what: &str, value: f64, limit: f64) -> bool {
    let word = if value <= limit { "ok" } else { "TOO SLOW" };
    println!("{what}: {value:.2}, limit {limit}: {word}");
    value <= limit
}

/// Whether every way is as fast as it is to be, and no slower on a larger book.
pub fn fine() -> bool {
    let mut sizes = vec![10_000, 100_000];
    if std::env::var_os("RACKWALK_BIG").is_some() {
        sizes.push(1_000_000);
    }
    let all: Vec<Measured> = sizes.into_iter().map(measured).collect();
    let mut fine = true;
    for one in &all {
        let trays = one.trays;
        fine &= within(&format!("forward on {trays} trays, µs a thing"), one.walk / 1e3, 2.0);
        fine &= within(&format!("back on {trays} trays, ms"), one.back / 1e6, 5.0);
        fine &= within(&format!("forward on {trays} trays against {}", all[0].trays), one.walk / all[0].walk, 2.0);
        fine &= within(&format!("with words on {trays} trays against {}", all[0].trays), one.trace / all[0].trace, 2.0);
        fine &= within(&format!("back on {trays} trays against {}", all[0].trays), one.back / all[0].back, 2.0);
        match one.shell {
            Some(ratio) => fine &= within(&format!("forward on {trays} trays against the sqlite3 shell"), ratio, 2.0),
            None => println!("sqlite3 is not installed here: nothing to compare with"),
        }
    }
    fine
}
