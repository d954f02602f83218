//! `trace` from outside: every format, the folder of files, what is refused, and that nothing is overwritten or left half done.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;

use rackwalk::store::Store;
use serde_json::Value;

use super::cli::{NOW, copy, demo, refused, run};

/// A pack lot of the demo room that went to a customer.
pub fn sold() -> String {
    let now = rackwalk::runtime::clock::parse_now(NOW).unwrap();
    let goods = Store::open(demo(), "test").unwrap().goods(now.day()).unwrap();
    goods.deliveries.iter().flat_map(|delivery| &delivery.lines).next().unwrap().code.clone()
}

fn args<'a>(code: &'a str, book: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["trace", code, "--book", book, "--now", NOW], more].concat()
}

/// Runs on the demo room and expects it to go well.
pub fn handed(code: &str, more: &[&str]) -> String {
    let (exit, out, err) = run(&args(code, demo().to_str().unwrap(), more));
    assert_eq!(exit, 0, "{err}");
    out
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn every_format_tells_of_the_same_lot() {
    let code = sold();
    let text = handed(&code, &[]);
    for must in [
        "WHAT IT WAS MADE OF",
        "WHAT WAS MADE OF IT, AND WHO HAS IT",
        "EVENTS",
        "WHAT TOUCHED IT",
        "Local codes decide.",
    ] {
        assert!(text.contains(must), "{must}");
    }
    assert!(text.contains("The chain is whole"));
    let csv = handed(&code, &["--format", "csv"]);
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let heading = rows.headers().unwrap().clone();
    assert_eq!((&heading[0], &heading[2], &heading[4]), ("day", "event", "lot"));
    let rows: Vec<csv::StringRecord> = rows.records().map(|row| row.unwrap()).collect();
    for event in ["seed received", "sown", "harvested", "packed", "shipped"] {
        assert!(rows.iter().any(|row| &row[2] == event), "{event}");
    }
    assert!(rows.iter().any(|row| row[4] == code));
    let days: Vec<&str> = rows.iter().map(|row| &row[0]).collect();
    assert!(days.is_sorted(), "{days:?}");
    let json: Value = serde_json::from_str(&handed(&code, &["--format", "json"])).unwrap();
    assert_eq!(json["traces"].as_array().unwrap().len(), 2);
    assert_eq!(json["proof"]["broken"], Value::Null);
    let html = handed(&code, &["--format", "html"]);
    assert!(html.starts_with("<!DOCTYPE html>") && html.contains("<svg") && html.contains(&code));
    let epcis: Value = serde_json::from_str(&handed(&code, &["--format", "epcis"])).unwrap();
    assert_eq!((&epcis["type"], &epcis["schemaVersion"]), (&"EPCISDocument".into(), &"2.0".into()));
    assert!(epcis["epcisBody"]["eventList"].as_array().unwrap().len() > 4);
}

#[test]
fn one_way_says_nothing_of_the_other() {
    let code = sold();
    let back = handed(&code, &["--back", "--format", "csv"]);
    assert!(back.contains("seed received") && !back.contains(",shipped,"));
    let forward = handed(&code, &["--forward", "--format", "csv"]);
    assert!(!forward.contains("seed received") && forward.contains(",shipped,"));
    let why = refused(64, &args(&code, demo().to_str().unwrap(), &["--back", "--forward"]));
    assert!(why.contains("--forward"), "{why}");
}

#[test]
fn a_folder_gets_five_files_once() {
    let code = sold();
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    handed(&code, &["--out", out]);
    let parts = ["columns.csv", "events.json", "report.html", "trace.csv", "trace.json"];
    assert_eq!(names(dir.path()), parts.map(|part| format!("{code}-{part}")));
    let before: Vec<Vec<u8>> = names(dir.path()).iter().map(|name| fs::read(dir.path().join(name)).unwrap()).collect();
    let why = refused(73, &args(&code, demo().to_str().unwrap(), &["--out", out]));
    assert!(why.contains("is there already") && why.contains("nothing was written"), "{why}");
    let after: Vec<Vec<u8>> = names(dir.path()).iter().map(|name| fs::read(dir.path().join(name)).unwrap()).collect();
    assert_eq!(before, after);
}

#[test]
fn one_name_that_is_taken_leaves_the_others_unwritten() {
    let code = sold();
    for make in [|path: &Path| fs::write(path, "mine").unwrap(), |path: &Path| symlink("/nowhere", path).unwrap()] {
        let dir = tempfile::tempdir().unwrap();
        let taken = format!("{code}-events.json");
        make(&dir.path().join(&taken));
        let why = refused(73, &args(&code, demo().to_str().unwrap(), &["--out", dir.path().to_str().unwrap()]));
        assert!(why.contains(&taken), "{why}");
        assert_eq!(names(dir.path()), [taken]);
    }
}

#[test]
fn a_file_is_written_as_its_ending_or_the_format_says_and_never_over_another() {
    let code = sold();
    let dir = tempfile::tempdir().unwrap();
    let file = |name: &str| dir.path().join(name).to_str().unwrap().to_string();
    handed(&code, &["--out", &file("a.csv")]);
    assert!(fs::read_to_string(file("a.csv")).unwrap().starts_with("day,time,event,"));
    handed(&code, &["--out", &file("a.html")]);
    assert!(fs::read_to_string(file("a.html")).unwrap().starts_with("<!DOCTYPE html>"));
    handed(&code, &["--out", &file("a.json"), "--format", "epcis"]);
    assert!(fs::read_to_string(file("a.json")).unwrap().contains("EPCISDocument"));
    symlink(file("a.csv"), file("link.csv")).unwrap();
    symlink(dir.path(), file("folder")).unwrap();
    for (name, what) in [("a.csv", "is there already"), ("link.csv", "is a link"), ("folder", "is a link")] {
        let why = refused(73, &args(&code, demo().to_str().unwrap(), &["--out", &file(name)]));
        assert!(why.contains(what), "{why}");
    }
    let why = refused(73, &args(&code, demo().to_str().unwrap(), &["--out", &file("nowhere/a.csv")]));
    assert!(why.contains("cannot be written"), "{why}");
    assert_eq!(names(dir.path()), ["a.csv", "a.html", "a.json", "folder", "link.csv"]);
}

/// A limit on the size of files stands for a disk that fills up in the middle of writing: it leaves room for what SQLite keeps
/// beside an open book, and none for the largest file.
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    const BLOCKS: usize = 66;
    let now = rackwalk::runtime::clock::parse_now(NOW).unwrap();
    let goods = Store::open(demo(), "test").unwrap().goods(now.day()).unwrap();
    let mut codes = goods.deliveries.iter().flat_map(|delivery| &delivery.lines).map(|line| line.code.clone());
    let code = codes.find(|code| handed(code, &["--format", "json"]).len() > BLOCKS * 512).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let (_book_dir, book) = copy();
    for to in [dir.path().to_path_buf(), dir.path().join("a.json")] {
        let script = r#"trap '' XFSZ; ulimit -f "$1"; shift; exec "$@""#;
        let output = Command::new("sh")
            .args(["-c", script, "sh", &BLOCKS.to_string(), env!("CARGO_BIN_EXE_rackwalk")])
            .args(args(&code, book.to_str().unwrap(), &["--out", to.to_str().unwrap()]))
            .env("HOME", "/nonexistent")
            .output()
            .unwrap();
        let why = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(73), "{why}");
        assert!(why.contains("cannot be written"), "{why}");
        assert_eq!(names(dir.path()), [] as [String; 0]);
    }
}

#[test]
fn a_mistyped_code_offers_its_neighbours_and_is_never_put_right_silently() {
    let code = sold();
    let book = demo().to_str().unwrap();
    let last = code.chars().last().unwrap();
    let wrong = format!("{}{}", &code[..code.len() - 1], if last == 'A' { 'B' } else { 'A' });
    let why = refused(65, &args(&wrong, book, &[]));
    assert!(why.contains(&code), "{why}");
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("a.csv");
    refused(65, &args("T9999-Q", book, &["--out", out.to_str().unwrap()]));
    assert!(!out.exists());
}

#[test]
fn a_complaint_is_asked_by_its_number() {
    let book = demo().to_str().unwrap();
    let why = refused(66, &["trace", "--complaint", "999", "--book", book, "--now", NOW]);
    assert!(why.contains("no complaint 999"), "{why}");
    let why = refused(64, &["trace", "--book", book, "--now", NOW]);
    assert!(why.contains("CODE"), "{why}");
    let why = refused(64, &args("T0001-W", book, &["--complaint", "1"]));
    assert!(why.contains("--complaint"), "{why}");
}

#[test]
fn an_exercise_is_marked_in_every_file() {
    let code = sold();
    let dir = tempfile::tempdir().unwrap();
    handed(&code, &["--exercise", "--out", dir.path().to_str().unwrap()]);
    for name in names(dir.path()) {
        assert!(name.starts_with("EXERCISE-"), "{name}");
        let text = fs::read_to_string(dir.path().join(&name)).unwrap();
        // the key is the same for every hand-over
        assert!(
            text.contains("EXERCISE") || text.contains("\"exercise\": true") || name.ends_with("columns.csv"),
            "{name}"
        );
    }
}

#[test]
fn a_broken_chain_is_said_and_it_is_handed_over_all_the_same() {
    let code = sold();
    let (dir, book): (tempfile::TempDir, PathBuf) = copy();
    let conn = rusqlite::Connection::open(&book).unwrap();
    conn.execute_batch("DROP TRIGGER seed_move_frozen; UPDATE seed_move SET mg = mg + 1 WHERE id = 1").unwrap();
    drop(conn);
    let out = dir.path().join("a.csv");
    let (exit, said, err) = run(&args(&code, book.to_str().unwrap(), &["--out", out.to_str().unwrap()]));
    assert_eq!((exit, said.as_str()), (65, ""), "{err}");
    assert!(err.contains("THE CHAIN IS BROKEN") && err.contains("first at entry "), "{err}");
    let mut rows = csv::Reader::from_path(&out).unwrap();
    let last = rows.headers().unwrap().len() - 1;
    assert!(rows.records().all(|row| row.unwrap()[last].contains("BROKEN AT ENTRY")));
}

#[test]
fn only_what_is_handed_over_is_a_page_or_events() {
    let why = refused(64, &["today", "--book", demo().to_str().unwrap(), "--format", "epcis"]);
    assert!(why.contains("--format text, json or csv"), "{why}");
}
