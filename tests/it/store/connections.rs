//! Several connections on one book.

use std::sync::mpsc;
use std::thread;

use rackwalk::domain::id::PersonId;
use rackwalk::domain::look::Roots;

use super::{assert_sound, number, raw};
use crate::book::{Book, roots};

#[test]
fn each_side_sees_that_the_other_wrote() {
    let mut book = Book::room();
    let conn = raw(&book.path);
    let theirs = || number(&conn, "PRAGMA data_version");
    let (here, there) = (book.store.data_version().unwrap(), theirs());
    let lot = book.seed("RAD", 500);
    // one's own entry is no news to oneself
    assert_eq!(book.store.data_version().unwrap(), here);
    assert_ne!(theirs(), there);
    assert_eq!(number(&conn, "SELECT id FROM seed_lot"), lot.0);
    conn.execute_batch("UPDATE setting SET value = 'South Bench' WHERE key = 'room_name'").unwrap();
    assert_ne!(book.store.data_version().unwrap(), here);
    assert_eq!(book.board().room_name, "South Bench");
}

#[test]
fn a_writer_waits_for_the_one_before_and_then_sees_its_work() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    let now = book.now;
    let first = raw(&book.path);
    first
        .execute_batch("BEGIN IMMEDIATE; INSERT INTO person (initials, name, may_decide) VALUES ('RM', 'rm', 0)")
        .unwrap();
    let rm = PersonId(first.last_insert_rowid());
    let (say, hear) = mpsc::channel();
    let second = thread::spawn(move || {
        say.send("waits").unwrap();
        let done = book.store.act_many(|door| {
            say.send("inside").unwrap();
            door.act(&roots(tray, Roots::None), rm, now)
        });
        (book, done)
    });
    assert_eq!(hear.recv().unwrap(), "waits");
    // it cannot be inside while the first holds the book
    assert!(hear.try_recv().is_err());
    first.execute_batch("COMMIT").unwrap();
    assert_eq!(hear.recv().unwrap(), "inside");
    let (mut book, done) = second.join().unwrap();
    // RM is known to it only through the first one's commit
    assert_eq!(done.unwrap().trays, [tray]);
    assert_sound(&mut book);
}

#[test]
fn a_reader_in_the_middle_of_a_long_look_does_not_stop_a_writer() {
    let mut book = Book::room();
    let reader = raw(&book.path);
    reader.execute_batch("BEGIN").unwrap();
    let before = number(&reader, "SELECT count(*) FROM entry");
    book.seed("RAD", 500);
    assert_eq!(number(&reader, "SELECT count(*) FROM entry"), before);
    reader.execute_batch("COMMIT").unwrap();
    assert_eq!(number(&reader, "SELECT count(*) FROM entry"), before + 1);
}
