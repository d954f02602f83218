//! `records` from outside: an inspector's period as a page, a table, JSON and text; what is refused, and nothing overwritten.

use std::collections::BTreeSet;
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;

use rackwalk::domain::action::Action;
use rackwalk::domain::look::Look;
use rackwalk::domain::records::Part;
use serde_json::Value;

use super::book::{Book, roots};
use super::cli::{NOW, copy, demo, json, refused, run};

const DAYS: &str = "2026-07-01..2026-07-14";

/// Arguments for the demo room.
fn of<'a>(book: &'a Path, days: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["records", days, "--book", book.to_str().unwrap(), "--now", NOW], more].concat()
}

/// Writes to a file of this name in a folder of its own; gives folder, text and what was said.
fn written(book: &Path, name: &str, more: &[&str]) -> (tempfile::TempDir, String, String) {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(name);
    let (code, out, err) = run(&of(book, DAYS, &[&["--out", file.to_str().unwrap()], more].concat()));
    assert_eq!((code, out.as_str()), (0, ""), "{err}");
    assert_eq!(names(dir.path()), [name], "nothing is left beside it");
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    (dir, fs::read_to_string(&file).unwrap(), err)
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn head(book: &Path) -> String {
    let found = json(&["check", "--chain", "--book", book.to_str().unwrap(), "--format", "json"]);
    found["chain"]["head"].as_str().unwrap().to_string()
}

#[test]
fn the_page_has_every_section_who_grows_here_and_the_last_hash_of_the_chain() {
    let (_dir, page, err) = written(demo(), "period.html", &["--who", "AK"]);
    assert!(
        err.starts_with("The records of 2026-07-01 to 2026-07-14 are in ") && err.contains("fails when wet"),
        "{err}"
    );
    for part in Part::ALL {
        assert!(page.contains(&format!("<section id=\"{}\"><h2>{}</h2>", part.stored(), part.shown())), "{part:?}");
        assert!(page.contains(&format!("<a href=\"#{}\">{}</a>", part.stored(), part.shown())), "{part:?}");
    }
    assert_eq!(page.matches(&head(demo())).count(), 2, "at the top and at the end");
    for said in [
        "The chain is whole: all ",
        "Made 2026-07-15 06:20 by AK",
        "Local codes decide",
        "Room North Bench (NB)",
        "signature ",
    ] {
        assert!(page.contains(said), "{said}");
    }
    // nothing runs, and nothing is loaded from elsewhere
    assert!(page.contains("default-src 'none'") && !page.contains("<script") && !page.contains("://"), "not by itself");
    // nobody signed in the demo room
    assert!(page.contains("Nobody has signed any of these days."));
}

#[test]
fn every_entry_of_the_days_is_named_and_none_of_another_day_stands_among_the_looks() {
    let found = json(&of(demo(), DAYS, &["--format", "json"]));
    let sections = found["sections"].as_array().unwrap();
    assert_eq!(sections.len(), Part::ALL.len());
    let rows = || sections.iter().flat_map(|section| section["rows"].as_array().unwrap());
    let named: BTreeSet<i64> = rows().filter_map(|row| row["entry"].as_i64()).collect();
    let conn = rusqlite::Connection::open(demo()).unwrap();
    let of_days = "SELECT id FROM entry WHERE day BETWEEN '2026-07-01' AND '2026-07-14'";
    let all: BTreeSet<i64> =
        conn.prepare(of_days).unwrap().query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap();
    assert!(all.len() > 100 && all.is_subset(&named), "{:?}", all.difference(&named));
    assert_eq!(found["entries_of_the_period"], Value::from(all.len()));
    // a different way to count: rows of the table itself
    let section =
        |name: &str| sections.iter().find(|section| section["section"] == name).unwrap()["rows"].as_array().unwrap();
    let trays: usize = section("looks").iter().map(|row| row["trays"].as_str().unwrap().split(", ").count()).sum();
    let looks = "SELECT count(*) FROM look WHERE day BETWEEN '2026-07-01' AND '2026-07-14'";
    assert_eq!(Value::from(trays), Value::from(conn.query_row(looks, [], |row| row.get::<_, i64>(0)).unwrap()));
    for row in section("looks") {
        let day = row["day_of_entry"].as_str().unwrap();
        assert!(("2026-07-01"..="2026-07-14").contains(&day), "{row}");
        assert!(!row["who"].as_str().unwrap().is_empty() && row["seen"].as_str().unwrap().ends_with('Z'), "{row}");
        assert!(row["counts"] == false || !row["places"].as_str().unwrap().is_empty(), "no place: {row}");
    }
    assert_eq!((&found["chain_whole"], &found["chain"]["broken"]), (&Value::Bool(true), &Value::Null));
    assert_eq!(found["chain"]["head"], Value::from(head(demo())));
}

#[test]
fn the_table_holds_the_rows_of_every_section_under_names_of_their_own() {
    let (_dir, text, _) = written(demo(), "period.csv", &[]);
    let mut csv = csv::Reader::from_reader(text.as_bytes());
    let heading: Vec<String> = csv.headers().unwrap().iter().map(String::from).collect();
    assert_eq!(heading.iter().collect::<BTreeSet<_>>().len(), heading.len(), "{heading:?}");
    assert_eq!(heading[..4], ["room", "section", "entry", "kind"]);
    let rows: Vec<csv::StringRecord> = csv.records().collect::<Result<_, _>>().unwrap();
    let column = |name: &str| heading.iter().position(|column| column == name).unwrap();
    let found = json(&of(demo(), DAYS, &["--format", "json"]));
    for section in found["sections"].as_array().unwrap() {
        let of = |row: &&csv::StringRecord| &row[1] == section["section"].as_str().unwrap();
        assert_eq!(rows.iter().filter(of).count(), section["rows"].as_array().unwrap().len(), "{}", section["section"]);
        for (row, cells) in rows.iter().filter(of).zip(section["rows"].as_array().unwrap()) {
            for name in ["trays", "roots", "said", "lowest", "result"] {
                let cell = row[column(name)].trim_start_matches('\'');
                assert_eq!(cell, cells[name].as_str().unwrap_or(""), "{name}");
            }
        }
    }
    let last = rows.last().unwrap();
    assert_eq!((&last[1], &last[column("last_hash")]), ("chain", head(demo()).as_str()));
    assert!(last[column("remarks")].starts_with("The chain is whole"));
}

#[test]
fn a_cell_that_looks_like_a_formula_or_like_markup_is_harmless() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    book.later(chrono::Duration::days(1));
    let note = Some("=HYPERLINK(1) <b>wet</b>".to_string());
    book.act(&Action::Look(Box::new(Look { watered: true, note, ..Look::of(tray) })));
    let (path, dir) = (book.path.clone(), tempfile::tempdir().unwrap());
    let now = "2026-07-02T07:00Z";
    let file = |name: &str| dir.path().join(name);
    let write = |name: &str| {
        let (book, out) = (path.to_str().unwrap(), file(name));
        let args = ["records", "2026-07-02", "--book", book, "--now", now, "--out", out.to_str().unwrap()];
        let (code, _, err) = run(&args);
        assert_eq!(code, 0, "{err}");
        fs::read_to_string(out).unwrap()
    };
    assert!(write("r.csv").contains(",'=HYPERLINK(1) <b>wet</b>,"), "{}", write("s.csv"));
    let page = write("r.html");
    assert!(page.contains("=HYPERLINK(1) &lt;b&gt;wet&lt;/b&gt;") && !page.contains("<b>"), "{page}");
    let text = write("r.txt");
    assert!(text.starts_with("RECORDS OF 2026-07-02\n") && text.contains("[=HYPERLINK(1) <b>wet</b>]"), "{text}");
    drop(book);
}

#[test]
fn without_a_file_it_goes_to_the_output_in_the_format_asked_for() {
    let (code, page, err) = run(&of(demo(), "2026-07-10", &["--format", "html"]));
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>"));
    let (_, text, _) = run(&of(demo(), "2026-07-10", &[]));
    assert!(text.starts_with("RECORDS OF 2026-07-10\n") && text.contains("\nLOOKS ("), "{text}");
    let (_, table, _) = run(&of(demo(), "2026-07-10", &["--format", "csv"]));
    assert!(table.starts_with("room,section,entry,"), "{table}");
    let (_dir, text, _) = written(demo(), "period.json", &["--format", "json"]);
    assert_eq!(serde_json::from_str::<Value>(&text).unwrap()["room_code"], "NB");
    assert!(
        refused(64, &["today", "--format", "html", "--book", demo().to_str().unwrap()])
            .contains("Only what is handed over")
    );
}

#[test]
fn a_name_that_is_taken_is_left_alone_also_as_a_link() {
    let dir = tempfile::tempdir().unwrap();
    let (taken, link, nowhere) = (dir.path().join("a.html"), dir.path().join("b.html"), dir.path().join("c"));
    fs::write(&taken, "mine").unwrap();
    symlink(&nowhere, &link).unwrap();
    for (file, what) in [(&taken, "is there already"), (&link, "is a link")] {
        let said = refused(73, &of(demo(), DAYS, &["--out", file.to_str().unwrap()]));
        assert!(said.contains(what) && said.contains("nothing was written"), "{said}");
    }
    assert_eq!((fs::read_to_string(&taken).unwrap().as_str(), nowhere.exists()), ("mine", false));
    assert_eq!(names(dir.path()), ["a.html", "b.html"]);
    let absent = dir.path().join("no/such/folder/r.html");
    assert!(refused(73, &of(demo(), DAYS, &["--out", absent.to_str().unwrap()])).contains("choose another place"));
}

#[test]
fn a_disk_that_fills_up_leaves_nothing_half_written() {
    // a limit on the length of files stands for the full disk: 64 KiB, and the page is longer
    let dir = tempfile::tempdir().unwrap();
    let out: PathBuf = dir.path().join("r.html");
    let script = "trap '' XFSZ; ulimit -f 128; exec \"$0\" records 2026-07-01..2026-07-14 --book \"$1\" --now \"$2\" --out \"$3\"";
    let program = env!("CARGO_BIN_EXE_rackwalk");
    let mut shell = Command::new("sh");
    shell.args(["-c", script, program, demo().to_str().unwrap(), NOW, out.to_str().unwrap()]);
    let output = shell.output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(73), "{said}");
    assert!(said.contains("cannot be written") && said.contains("choose another place"), "{said}");
    assert_eq!(names(dir.path()), Vec::<String>::new());
}

#[test]
fn days_endings_and_people_that_cannot_be_are_refused_in_one_sentence() {
    for (days, why) in [
        ("july", "is no day: write 2026-07-01..2026-07-14"),
        ("2026-07-14..2026-07-01", "give the earlier day first"),
        ("2026-07-01..2026-07-16", "is still to come: end with 2026-07-15"),
        ("2020-01-01..2026-07-01", "ask for fewer at once"),
        ("2026-07-01..", "is no day"),
    ] {
        let said = refused(64, &of(demo(), days, &[]));
        assert!(said.contains(why) && said.lines().count() == 1, "{days}: {said}");
    }
    assert!(refused(64, &of(demo(), DAYS, &["--out", "r.pdf"])).contains("must end in .html"));
    assert!(refused(64, &of(demo(), DAYS, &["--out", "room.rackwalk"])).contains("must end in .html"));
    assert!(refused(64, &of(demo(), DAYS, &["--out", "r.csv", "--format", "html"])).contains("does not go with"));
    assert!(refused(64, &of(demo(), DAYS, &["--who", "XX"])).contains("XX is not at this rack"));
    assert!(refused(66, &of(Path::new("/nonexistent/room.rackwalk"), DAYS, &[])).contains("no book"));
    assert!(!Path::new("r.pdf").exists() && !Path::new("room.rackwalk").exists());
}

#[test]
fn a_period_before_the_book_is_empty_and_says_so() {
    let (code, text, err) = run(&of(demo(), "2026-01-01..2026-01-31", &[]));
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(text.contains("This book begins on 2026-06-24: it knows nothing of these days."), "{text}");
    assert_eq!(text.matches("None in this period.").count(), Part::ALL.len() - 4, "{text}");
    assert!(text.contains("No day was missed.") && text.contains("Nobody has signed any of these days."));
}

#[test]
fn a_broken_chain_is_named_in_words_by_the_records_and_by_the_check() {
    let (dir, book) = copy();
    let conn = rusqlite::Connection::open(&book).unwrap();
    let entry: i64 = conn.query_row("SELECT min(entry_id) FROM look", [], |row| row.get(0)).unwrap();
    let change = format!("DROP TRIGGER look_frozen; UPDATE look SET watered = 1 - watered WHERE entry_id = {entry}");
    conn.execute_batch(&change).unwrap();
    let (at, who): (String, String) = conn
        .query_row(
            "SELECT replace(substr(e.at, 1, 16), 'T', ' '), p.initials FROM entry e JOIN person p ON p.id = e.who WHERE e.id = ?",
            [entry],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .unwrap();
    drop(conn);
    let link = format!("entry {entry}, look, typed {at} by {who} (");
    let path = book.to_str().unwrap();
    let (code, out, _) = run(&["check", "--chain", "--book", path, "--now", NOW]);
    assert_eq!(code, 65);
    assert!(out.contains(&format!("chain: broken at entry {entry} of ")), "{out}");
    assert!(out.contains(&format!("first broken link: {link}")), "{out}");
    let (_, out, _) = run(&["check", "--chain", "--book", path, "--now", NOW, "--format", "json"]);
    let found: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(found["chain"]["broken_at"], entry);
    assert!(found["chain"]["broken"].as_str().unwrap().starts_with(&link), "{found}");
    // the records are given all the same, with the warning on them
    let file = dir.path().join("r.html");
    let (code, out, err) = run(&of(&book, DAYS, &["--out", file.to_str().unwrap()]));
    assert_eq!((code, out.as_str()), (65, ""));
    assert!(err.contains("THE CHAIN IS BROKEN") && err.contains(&link), "{err}");
    let page = fs::read_to_string(&file).unwrap();
    assert!(page.contains("<p class=\"caution\">THE CHAIN IS BROKEN") && page.contains(&head_of(&page)), "no warning");
}

/// The hash a page shows.
fn head_of(page: &str) -> String {
    let (_, rest) = page.split_once("Last hash of the log: <span class=\"code\">").unwrap();
    rest.get(..64).unwrap().to_string()
}

#[test]
fn what_was_signed_and_changed_since_stands_on_the_page() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    book.later(chrono::Duration::days(2));
    let (from, to) = ("2026-07-01".parse().unwrap(), "2026-07-02".parse().unwrap());
    book.act(&Action::Sign { from, to, by: super::book::AK, remark: None });
    let seen = Some(super::book::at("2026-07-02T07:00").instant());
    let late = rackwalk::domain::hands::Seen { at: seen, ..rackwalk::domain::hands::Seen::default() };
    let grade = roots(tray, rackwalk::domain::look::Roots::Peeking);
    let entry = book.store.act_seen(&grade, super::book::AK, &late, book.now).unwrap().entry.0;
    let args = [
        "records",
        "2026-07-02",
        "--book",
        book.path.to_str().unwrap(),
        "--now",
        "2026-07-03T08:00Z",
        "--format",
        "html",
    ];
    let (code, page, err) = run(&args);
    assert_eq!(code, 0, "{err}");
    assert!(page.contains("<tr class=\"changed\">"), "{page}");
    assert!(page.contains("changed after it was signed (AK, 2026-07-03)"));
    assert!(page.contains(&format!("changed after it was signed: entry {entry} was written since")), "{page}");
    drop(book);
}

#[test]
#[ignore = "needs the sqlite3 shell and Python; run by .ci/run"]
fn the_table_is_read_alike_by_a_spreadsheet_a_database_and_python() {
    let (dir, text, _) = written(demo(), "period.csv", &[]);
    let rows = csv::Reader::from_reader(text.as_bytes()).records().count();
    let file = dir.path().join("period.csv");
    let import = format!(".import --csv '{}' t", file.display());
    let sqlite =
        Command::new("sqlite3").args([":memory:", &import, "SELECT count(*), count(DISTINCT section) FROM t"]).output();
    let said = String::from_utf8(sqlite.unwrap().stdout).unwrap();
    assert!(said.trim().starts_with(&format!("{rows}|")), "{said}");
    let script =
        "import csv,sys; print(sum(1 for _ in csv.DictReader(open(sys.argv[1], encoding='utf-8', newline=''))))";
    let python = Command::new("python3").args(["-c", script, file.to_str().unwrap()]).output().unwrap();
    assert_eq!(String::from_utf8(python.stdout).unwrap().trim(), rows.to_string());
}
