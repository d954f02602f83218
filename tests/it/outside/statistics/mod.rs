//! Every published and worked-out value of our reference on statistics, read from copies in `tests/it/fixtures/statistics/`.
//!
//! Each copy says in its `#` lines where it comes from, and which of its values were published, worked out with other software,
//! or remembered. Tolerances: published values of four decimals 6e-5, certified ones relative 1e-9 (1e-8 for the standard deviation
//! of `NumAcc3` and `NumAcc4`), limits of distributions relative 1e-8, tables worked out 1e-6, chance runs three standard errors.

mod accuracy;
mod charts;
mod germination;
mod groups;
mod life;
mod proportions;
mod robust;
mod shrinking;
mod sowing;
mod traylog;

use std::collections::BTreeSet;
use std::path::PathBuf;

use rackwalk::domain::stats::spread::Spread;

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/fixtures/statistics"))
}

/// A copy as it stands: what its `#` lines say, and its rows by the names of its columns.
struct Table {
    said: String,
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    fn read(name: &str) -> Self {
        let text = std::fs::read_to_string(folder().join(format!("{name}.csv"))).unwrap();
        let (said, rows): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| line.starts_with('#'));
        let rows = rows.join("\n");
        let mut reader = csv::Reader::from_reader(rows.as_bytes());
        let names = reader.headers().unwrap().iter().map(String::from).collect();
        let rows = reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect();
        Self { said: said.join("\n"), names, rows }
    }

    fn column(&self, name: &str) -> usize {
        self.names
            .iter()
            .position(|found| found == name)
            .unwrap_or_else(|| panic!("no column {name} in {:?}", self.names))
    }

    fn texts(&self, name: &str) -> Vec<&str> {
        let at = self.column(name);
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    /// Numbers of a column; an empty cell is none.
    fn cells(&self, name: &str) -> Vec<Option<f64>> {
        let number =
            |text: &str| (!text.is_empty()).then(|| text.parse().unwrap_or_else(|_| panic!("{name}: {text:?}")));
        self.texts(name).into_iter().map(number).collect()
    }

    fn numbers(&self, name: &str) -> Vec<f64> {
        self.cells(name).into_iter().map(Option::unwrap).collect()
    }

    fn counts(&self, name: &str) -> Vec<u64> {
        self.texts(name).into_iter().map(|text| text.parse().unwrap_or_else(|_| panic!("{name}: {text:?}"))).collect()
    }

    /// The values of a column by the words of another, in the order in which these first come.
    fn groups(&self, by: &str, of: &str) -> Vec<(String, Vec<f64>)> {
        let mut found: Vec<(String, Vec<f64>)> = Vec::new();
        for (group, value) in self.texts(by).into_iter().zip(self.cells(of)) {
            let Some(value) = value else { continue };
            match found.iter_mut().find(|(name, _)| name == group) {
                Some((_, values)) => values.push(value),
                None => found.push((group.into(), vec![value])),
            }
        }
        found
    }

    fn values(&self, by: &str, of: &str) -> Vec<Vec<f64>> {
        self.groups(by, of).into_iter().map(|(_, values)| values).collect()
    }
}

/// Within so much.
#[track_caller]
fn near(found: f64, right: f64, by: f64) {
    assert!((found - right).abs() <= by, "{found} is not {right} within {by}");
}

/// Within such a part of it.
#[track_caller]
fn alike(found: f64, right: f64, part: f64) {
    assert!((found - right).abs() <= part * right.abs(), "{found} is not {right} within {part} of it");
}

fn spread(values: &[f64]) -> Spread {
    Spread::of(values).unwrap()
}

#[expect(clippy::cast_precision_loss, reason = "few values")]
fn real(n: usize) -> f64 {
    n as f64
}

const PUBLISHED: f64 = 6e-5;
const CERTIFIED: f64 = 1e-9;
const LIMIT: f64 = 1e-8;
const TABLE: f64 = 1e-6;

/// What the tests of this folder say they read, found in their own text.
fn read_by_tests() -> BTreeSet<String> {
    let here = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/outside/statistics"));
    let mut found = BTreeSet::new();
    for entry in std::fs::read_dir(here).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        for (at, call) in text.match_indices("Table::read(\"") {
            let name = text[at + call.len()..].split('"').next().unwrap();
            found.insert(name.to_string());
        }
    }
    found
}

#[test]
fn every_copy_is_read_by_a_test_and_says_where_it_comes_from() {
    let read = read_by_tests();
    let mut copies = BTreeSet::new();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_string();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.starts_with("# ") && text.lines().next().unwrap().len() > 15, "{name} says nothing of itself");
        assert!(text.lines().filter(|line| !line.starts_with('#')).count() >= 2, "{name} holds no row");
        copies.insert(name);
    }
    assert!(copies.len() >= 55, "only {} copies", copies.len());
    let unread: Vec<&String> = copies.difference(&read).collect();
    assert!(unread.is_empty(), "no test reads {unread:?}");
    let missing: Vec<&String> = read.difference(&copies).collect();
    assert!(missing.is_empty(), "no copy of {missing:?}");
}
