//! Killed in the middle of writing: every entry that was acknowledged is there.

use std::env;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Command, Stdio};

use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::Roots;
use rackwalk::store::Store;

use super::{assert_sound, number, raw, reopen};
use crate::book::{AK, Book, at, roots};

const BOOK: &str = "RACKWALK_KILL_BOOK";

/// Entries that are to be acknowledged before the kill; it then falls anywhere in the ones after.
const ROUNDS: [usize; 4] = [1, 7, 30, 90];

#[test]
fn every_acknowledged_look_survives_a_hard_kill() {
    if let Some(path) = env::var_os(BOOK) {
        write_until_killed(&PathBuf::from(path));
    }
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    book.sow("RAD", lot, 1);
    for least in ROUNDS {
        // the book is closed here while the other process has it
        let away = Book::empty();
        drop(std::mem::replace(&mut book.store, away.store));
        let acknowledged = killed_after(&book.path, least);
        reopen(&mut book);
        let conn = raw(&book.path);
        let newest = number(&conn, "SELECT max(id) FROM entry");
        let last = *acknowledged.last().unwrap();
        assert!(acknowledged.len() >= least);
        // one more may have been committed whose acknowledgement was cut off
        assert!((last..=last + 1).contains(&newest), "acknowledged {last}, found {newest}");
        for id in acknowledged {
            assert_eq!(number(&conn, &format!("SELECT count(*) FROM look WHERE entry_id = {id}")), 1, "{id}");
        }
        assert_sound(&mut book);
    }
}

/// Entry numbers another process said it wrote before it was killed.
fn killed_after(book: &std::path::Path, least: usize) -> Vec<i64> {
    let mut child = Command::new(env::current_exe().unwrap())
        .args(["store::kill::every_acknowledged_look_survives_a_hard_kill", "--exact", "--nocapture"])
        .env(BOOK, book)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let said = BufReader::new(child.stdout.take().unwrap());
    let mut ids = Vec::new();
    for line in said.lines() {
        // a last line without its end was cut off by the kill and does not parse
        if let Some(id) = line.unwrap().strip_prefix("wrote ").and_then(|id| id.strip_suffix(';')?.parse().ok()) {
            ids.push(id);
        }
        if ids.len() == least {
            child.kill().unwrap();
        }
    }
    assert!(!child.wait().unwrap().success());
    ids
}

/// The part of the process that is killed.
fn write_until_killed(path: &std::path::Path) {
    let mut store = Store::open(path, "x").unwrap();
    let mut now = at("2026-07-02T06:00");
    loop {
        now = now.plus(chrono::Duration::seconds(3));
        let done = store.act(&roots(TrayId(1), Roots::Peeking), AK, now).unwrap();
        println!("wrote {};", done.entry.0);
    }
}
