//! The book through its one door, and the guards behind it.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "all of this is tests, which the lints know only inside #[test]"
)]

mod air;
mod breaches;
mod cause;
mod chain;
mod cleaning;
mod cold;
mod complaints;
mod connections;
mod derived;
mod dossier;
mod first;
mod fuzz;
mod germination;
mod guards;
mod hands;
mod harvests;
mod holds;
mod kill;
mod mixes;
mod never;
mod not_used;
mod random;
mod recalls;
mod records;
mod refusals;
mod registry;
mod retimed;
mod reviews;
mod score;
mod seed_page;
mod share;
mod soaks;
mod sold;
mod suspects;
mod tools;
mod trace;
mod undo;
mod undo_refused;
mod upgrade;
mod week;
mod whereabouts;

use std::path::Path;

use rackwalk::domain::action::{Action, Done};
use rackwalk::domain::crop::Crop;
use rackwalk::domain::id::PersonId;
use rackwalk::domain::refusal::Refusal;
use rackwalk::store::Store;
use rackwalk::store::error::StoreError;
use rusqlite::Connection;

use crate::book::Book;

/// A second connection on the book, as a curious person with a SQLite shell would have it.
fn raw(path: &Path) -> Connection {
    let conn = Connection::open(path).unwrap();
    conn.pragma_update(None, "foreign_keys", true).unwrap();
    conn
}

/// One number out of the book.
fn number(conn: &Connection, sql: &str) -> i64 {
    conn.query_row(sql, [], |row| row.get(0)).unwrap()
}

/// Every row of every table as text, so that "nothing was saved" means nothing at all.
fn dump(conn: &Connection) -> Vec<String> {
    let mut lines = Vec::new();
    for table in tables(conn) {
        let mut select = conn.prepare(&format!("SELECT * FROM \"{table}\" ORDER BY 1, 2")).unwrap();
        let columns = select.column_count();
        let mut rows = select.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let cells: Vec<String> = (0..columns).map(|n| format!("{:?}", row.get_ref(n).unwrap())).collect();
            lines.push(format!("{table}: {}", cells.join(" | ")));
        }
    }
    lines
}

/// Tables with at least two columns.
fn tables(conn: &Connection) -> Vec<String> {
    conn.prepare(
        "SELECT name FROM sqlite_schema s WHERE type = 'table' AND name NOT LIKE 'sqlite_%'
         AND (SELECT count(*) FROM pragma_table_info(s.name)) > 1 ORDER BY name",
    )
    .unwrap()
    .query_map([], |row| row.get(0))
    .unwrap()
    .collect::<Result<_, _>>()
    .unwrap()
}

/// Closes the book before it is opened again: a second opening beside an open one would drop the locks of the first.
fn reopen(book: &mut Book) {
    let away = tempfile::tempdir().unwrap();
    let other = Store::open(&away.path().join("other.rackwalk"), "x").unwrap();
    drop(std::mem::replace(&mut book.store, other));
    book.store = Store::open(&book.path, "x").unwrap();
}

/// Writes as someone else than the person who set the room up.
fn act_as(book: &mut Book, who: PersonId, action: &Action) -> Done {
    book.store.act(action, who, book.now).unwrap()
}

/// A rule in the way of someone.
fn refused_as(book: &mut Book, who: PersonId, action: &Action) -> Refusal {
    match book.store.act(action, who, book.now) {
        Err(StoreError::Rule(refusal)) => refusal,
        other => panic!("expected a refusal, got {other:?}"),
    }
}

/// Puts another person on the list.
fn person(book: &mut Book, initials: &str, may_decide: bool) -> PersonId {
    let add = Action::AddPerson { initials: initials.into(), name: initials.to_lowercase(), may_decide };
    PersonId(book.act(&add).made.unwrap())
}

/// A crop of the room by its letters.
fn crop(book: &Book, letters: &str) -> Crop {
    book.store.crops().unwrap().into_iter().find(|c| c.letters == letters).unwrap()
}

/// The book is as sound as it says: the chain whole, derived rows as worked out anew, SQLite content.
fn assert_sound(book: &mut Book) {
    let chain = book.store.verify_chain(|_| ()).unwrap();
    assert_eq!(chain.broken_at, None);
    let conn = raw(&book.path);
    assert_eq!(chain.entries, number(&conn, "SELECT count(*) FROM entry"));
    assert_eq!(book.store.rebuild().unwrap(), 0);
    assert_eq!(book.store.integrity().unwrap(), Vec::<String>::new());
}
