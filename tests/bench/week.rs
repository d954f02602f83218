//! The review of one week in a book of many, against the three plain queries that any review needs, in the sqlite3 shell; and
//! every week of a crop from what is kept, against a scan of all trays.
//!
//! 10⁵ trays always, 10⁶ as well with `RACKWALK_BIG=1`. The books are filled by plain statements into the program's own schema, its
//! triggers included, and only here.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rackwalk::domain::action::Action;
use rackwalk::domain::period::Period;
use rackwalk::domain::time::Day;
use rackwalk::domain::week;
use rusqlite::Connection;

use crate::book::Book;
use crate::trace::{N, warm, within};

/// Trays of a week, in batches of eight.
const A_WEEK: i64 = 400;

/// Batches of eight trays of three crops in turn, cut on their eighth day, each tray with its own weight; every twentieth is lost.
/// A seed lot is sown in 120 batches.
const FILL: &[(&str, i64, &str)] = &[
    (
        "days",
        57,
        "INSERT INTO entry (id, at, day, who, kind, hash)
       SELECT n + 1000, date('2020-01-06', '+' || (n - 1) || ' days') || 'T06:00:00Z', date('2020-01-06', '+' || (n - 1) || ' days'), 1,
         'harvested', zeroblob(32) FROM n",
    ),
    (
        "seed lots",
        960,
        "INSERT INTO seed_lot (id, entry_id, code, crop_id, supplier_id, supplier_lot, received, treated)
       SELECT n + 10, 2, 'X' || n, 1, 1, 'F' || n, '2020-01-01', 'no' FROM n",
    ),
    ("seed", 960, "INSERT INTO seed_move (entry_id, seed_lot_id, mg, why) SELECT 2, n + 10, 100000000, 'received' FROM n"),
    (
        "batches",
        8,
        "INSERT INTO sowing (id, entry_id, code, crop_id, grow_plan_id, day)
       SELECT n, 2, 'B' || n, 1 + n % 3, (SELECT max(id) FROM grow_plan WHERE crop_id = 1 + n % 3),
         date('2020-01-06', '+' || (n * 56 / 400) || ' days') FROM n",
    ),
    (
        "seed sown",
        8,
        "INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why)
       SELECT 2, min(11 + (n - 1) / 120, (SELECT max(id) FROM seed_lot)), n, -216000, 'sown' FROM n",
    ),
    ("trays", 1, "INSERT INTO tray (id, sowing_id, format_id, mats) SELECT n, (n + 7) / 8, 1, 4 FROM n"),
    ("places", 1, "INSERT INTO placement (entry_id, tray_id, place_id) SELECT 2, n, 1 + n % 8 FROM n"),
    (
        "lots",
        8,
        "INSERT INTO lot (id, entry_id, code, kind, crop_id, day, cut_at)
       SELECT n, 2, char(65 + n % 26, 65 + n / 26 % 26, 65 + n / 676 % 26)
           || substr(strftime('%Y%m%d', '2020-01-01', '+' || (n / 17576) || ' days'), 3) || 'A', 'harvest', 1 + n % 3,
         date('2020-01-06', '+' || (8 + n * 56 / 400) || ' days'), '2020-01-01T06:00:00Z' FROM n",
    ),
    (
        "mats",
        1,
        "INSERT INTO lot_input (entry_id, lot_id, tray_id, mats, grams) SELECT 2, (n + 7) / 8, n, 4, 180 + n * 7919 % 97 FROM n WHERE n % 20",
    ),
    (
        "made",
        8,
        "INSERT INTO stock_move (entry_id, lot_id, kind, grams, day)
       SELECT 2, n, 'made', (SELECT sum(grams) FROM lot_input WHERE lot_id = n), (SELECT day FROM lot WHERE id = n) FROM n",
    ),
    (
        "lost",
        20,
        "INSERT INTO loss (entry_id, tray_id, day, mats, reason, gear)
       SELECT 2, 20 * n, date('2020-01-06', '+' || (8 + (20 * n + 7) / 8 * 56 / 400) || ' days'), 4, 'mould', 'binned' FROM n",
    ),
    (
        "stages",
        1,
        "INSERT INTO stage (entry_id, tray_id, stage)
       SELECT min(1001 + 8 + (n + 7) / 8 * 56 / 400, (SELECT max(id) FROM entry)), n, CASE WHEN n % 20 THEN 'cut' ELSE 'thrown' END FROM n",
    ),
];

fn filled(trays: i64) -> Book {
    let mut book = Book::of_racks("1x2x4");
    book.seed("RAD", 1);
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rita".into(), may_decide: true });
    let raw = Connection::open(&book.path).unwrap();
    raw.execute_batch("PRAGMA synchronous = off; PRAGMA cache_size = -400000; BEGIN").unwrap();
    for (what, each, text) in FILL {
        raw.execute(&format!("{N} {text}"), [trays / each]).unwrap_or_else(|e| panic!("{what}: {e}"));
    }
    raw.execute_batch("COMMIT; PRAGMA wal_checkpoint(truncate)").unwrap();
    let began = Instant::now();
    book.store.rebuild().unwrap();
    println!("{trays} trays: everything derived made anew in {:.1?}", began.elapsed());
    book
}

/// What any review of a week has to read: weights, losses, sowings.
fn plain(period: Period) -> [String; 3] {
    let Period { from, to } = period;
    [
        format!(
            "SELECT l.id, l.day, i.tray_id, i.mats, i.grams, t.sowing_id FROM lot l JOIN lot_input i ON i.lot_id = l.id AND i.void_by IS NULL
             JOIN tray t ON t.id = i.tray_id WHERE l.kind = 'harvest' AND l.day BETWEEN '{from}' AND '{to}' AND l.void_by IS NULL"
        ),
        format!(
            "SELECT x.tray_id, x.reason, t.sowing_id, s.crop_id FROM loss x JOIN tray t ON t.id = x.tray_id JOIN sowing s ON s.id = t.sowing_id
             WHERE x.day BETWEEN '{from}' AND '{to}' AND x.void_by IS NULL"
        ),
        format!(
            "SELECT s.id, s.crop_id, t.id, (SELECT -sum(m.mg) FROM seed_move m WHERE m.sowing_id = s.id AND m.void_by IS NULL)
             FROM sowing s JOIN tray t ON t.sowing_id = s.id WHERE s.day BETWEEN '{from}' AND '{to}' AND s.void_by IS NULL"
        ),
    ]
}

/// Every week and crop out of all trays there ever were.
const SCAN: &str = "SELECT date(l.day, '-' || ((strftime('%w', l.day) + 6) % 7) || ' days') AS week, s.crop_id, count(*), sum(i.grams * 10),
    sum(i.grams * i.grams * 100)
  FROM lot_input i JOIN lot l ON l.id = i.lot_id JOIN tray t ON t.id = i.tray_id JOIN sowing s ON s.id = t.sowing_id
  WHERE i.void_by IS NULL AND l.void_by IS NULL AND i.grams NOT NULL GROUP BY 1, 2";

/// How often the shell reads all three: its own clock counts whole milliseconds.
const AGAIN: usize = 200;

/// All statements once in the sqlite3 shell, ns: many times less once, so that its start does not count.
fn shell(path: &Path, statements: &[String; 3]) -> Option<f64> {
    let once = statements.join(";\n") + ";\n";
    let run = |times: usize| -> Option<f64> {
        let script = format!(".output /dev/null\n{}", once.repeat(times));
        let began = Instant::now();
        let spawned =
            Command::new("sqlite3").arg("-readonly").arg(path).stdin(Stdio::piped()).stdout(Stdio::null()).spawn();
        let mut shell = match spawned {
            Ok(shell) => shell,
            Err(error) => {
                assert!(std::env::var_os("CI").is_none(), "sqlite3: {error}");
                return None;
            }
        };
        std::io::Write::write_all(&mut shell.stdin.take().unwrap(), script.as_bytes()).unwrap();
        assert!(shell.wait().unwrap().success());
        Some(began.elapsed().as_nanos() as f64)
    };
    Some((run(AGAIN + 1)? - run(1)?) / AGAIN as f64)
}

/// The review against the shell, ns: the least of some times of each, by turns, so that a busy moment of the machine meets both.
fn by_turns(mut ours: impl FnMut() -> f64, theirs: impl Fn() -> Option<f64>) -> (f64, Option<f64>) {
    const TURNS: usize = 7;
    (0..TURNS).map(|_| (ours(), theirs())).fold((f64::INFINITY, None), |(least, shell), (ours, theirs)| {
        (least.min(ours), shell.into_iter().chain(theirs).reduce(f64::min))
    })
}

type Weeks = BTreeMap<(Day, i64), (i64, i64, i64)>;

fn scan(conn: &Connection) -> Weeks {
    let mut select = conn.prepare(SCAN).unwrap();
    let rows =
        select.query_map([], |row| Ok(((row.get(0)?, row.get(1)?), (row.get(2)?, row.get(3)?, row.get(4)?)))).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}

/// Whether a review is as fast as it is to be, on every size.
pub fn fine() -> bool {
    let mut sizes = vec![100_000];
    if std::env::var_os("RACKWALK_BIG").is_some() {
        sizes.push(1_000_000);
    }
    sizes.into_iter().fold(true, |fine, trays| fine & one(trays))
}

fn one(trays: i64) -> bool {
    let mut book = filled(trays);
    let middle = "2020-01-06".parse::<Day>().unwrap() + chrono::Duration::weeks(trays / A_WEEK / 2);
    let period = week::of(middle);
    // the present of the book is the end of its trays
    book.later(chrono::Duration::weeks((trays / A_WEEK - 300).max(0)));
    let now = book.now;
    let ended = |review: &week::Review| review.crops.iter().map(|crop| crop.ended.len()).sum::<usize>();
    let found = ended(&book.store.week(period, now).unwrap());
    let queries = plain(period);
    let (ours, theirs) =
        by_turns(|| warm(|| ended(&book.store.week(period, now).unwrap())).0, || shell(&book.path, &queries));
    let (all, _) = warm(|| book.store.told(period, now).unwrap().differences.asked);
    println!(
        "{trays} trays: a week of {found} trays reviewed in {:.2} ms, with 12 weeks to compare in {:.1} ms",
        ours / 1e6,
        all / 1e6
    );
    assert!(found > 300, "the week is full");
    let mut fine = true;
    match theirs {
        Some(theirs) => {
            println!("the three plain queries in the sqlite3 shell: {:.2} ms", theirs / 1e6);
            fine &= within(
                &format!("a week reviewed on {trays} trays against three plain queries in the shell"),
                ours / theirs,
                4.0,
            );
        }
        None => println!("sqlite3 is not installed here: nothing to compare with"),
    }
    let conn = Connection::open(&book.path).unwrap();
    let began = Instant::now();
    let scanned = scan(&conn);
    let raw = began.elapsed().max(Duration::from_nanos(1)).as_nanos() as f64;
    let crop = book.board().crops.iter().map(|crop| crop.id).min().unwrap();
    let (kept_one, _) = warm(|| book.store.weekly(Some(crop)).unwrap().len());
    let kept: Weeks = book
        .store
        .weekly(None)
        .unwrap()
        .into_iter()
        .filter(|one| one.rolled.n > 0)
        .map(|one| ((one.week, one.crop.0), (one.rolled.n, one.rolled.sum_dg, one.rolled.sum_dg2)))
        .collect();
    assert_eq!(kept, scanned, "what is kept by week is what a scan of all trays gives");
    println!("every week of a crop: {:.2} ms kept, {:.0} ms by a scan", kept_one / 1e6, raw / 1e6);
    // on a smaller book the scan is short and the rows of weeks are not: the limit is of the book of 10⁶
    let limit = if trays >= 1_000_000 { 1.0 / 500.0 } else { 1.0 / 150.0 };
    fine & within(
        &format!("every week of a crop on {trays} trays against a scan, ‰"),
        kept_one / raw * 1000.0,
        limit * 1000.0,
    )
}
