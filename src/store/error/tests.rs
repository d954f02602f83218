//! Every case is an error `SQLite` itself gives, none is made up.

use rusqlite::Connection;

use super::*;

fn room() -> Connection {
    let conn = Connection::open_in_memory().unwrap();
    conn.execute_batch(
        "PRAGMA foreign_keys = ON;
         CREATE TABLE rack (
             id INTEGER PRIMARY KEY,
             name TEXT NOT NULL UNIQUE,
             shelves INTEGER NOT NULL CONSTRAINT rack_shelves CHECK (shelves BETWEEN 1 AND 12)
         ) STRICT;
         CREATE TABLE place (
             rack_id INTEGER NOT NULL REFERENCES rack ON DELETE RESTRICT,
             shelf INTEGER NOT NULL, pos INTEGER NOT NULL,
             UNIQUE (rack_id, shelf, pos)
         ) STRICT;
         CREATE TABLE person (initials TEXT NOT NULL) STRICT;
         CREATE UNIQUE INDEX person_initials ON person (upper(initials));
         INSERT INTO person VALUES ('AK');
         CREATE TRIGGER rack_kept BEFORE DELETE ON rack WHEN old.id = 9
             BEGIN SELECT RAISE(ABORT, 'rack_is_kept'); END;
         INSERT INTO rack VALUES (1, 'North', 4), (9, 'South', 4);
         INSERT INTO place VALUES (1, 1, 1);",
    )
    .unwrap();
    conn
}

fn refused(sql: &str) -> StoreError {
    StoreError::from(room().execute_batch(sql).unwrap_err())
}

#[test]
fn broken_rules_come_with_their_name() {
    for (sql, expected) in [
        ("INSERT INTO rack VALUES (2, 'East', 13)", "rack_shelves"),
        ("INSERT INTO rack VALUES (2, 'North', 4)", "rack.name"),
        ("INSERT INTO rack VALUES (1, 'East', 4)", "rack.id"),
        ("INSERT INTO person VALUES ('ak')", "person_initials"),
        ("INSERT INTO place VALUES (1, 1, 1)", "place.rack_id, place.shelf, place.pos"),
        ("INSERT INTO rack VALUES (2, NULL, 4)", "rack.name"),
        ("INSERT INTO rack VALUES (2, 'East', 'four')", "rack.shelves"),
        ("DELETE FROM rack WHERE id = 9", "rack_is_kept"),
    ] {
        match refused(sql) {
            StoreError::Constraint { name } => assert_eq!(name, expected, "{sql}"),
            other => panic!("{sql}: {other:?}"),
        }
    }
}

#[test]
fn a_foreign_key_is_told_both_ways() {
    let names_nothing = refused("INSERT INTO place VALUES (5, 1, 1)");
    assert!(matches!(names_nothing, StoreError::ForeignKey), "{names_nothing:?}");
    let still_needed = refused("DELETE FROM rack WHERE id = 1");
    assert!(matches!(still_needed, StoreError::ForeignKey), "{still_needed:?}");
}

#[test]
fn a_full_disk_is_full() {
    let dir = tempfile::tempdir().unwrap();
    let conn = Connection::open(dir.path().join("full.db")).unwrap();
    conn.execute_batch("CREATE TABLE t (x BLOB); PRAGMA max_page_count = 4;").unwrap();
    let err = conn.execute_batch("INSERT INTO t VALUES (zeroblob(100000))").unwrap_err();
    let err = StoreError::from(err);
    assert!(matches!(err, StoreError::Full), "{err:?}");
    assert_eq!(err.to_string(), "The disk is full: free some space, nothing was half saved.");
}

#[test]
fn a_second_writer_is_busy() {
    let dir = tempfile::tempdir().unwrap();
    let one = Connection::open(dir.path().join("two.db")).unwrap();
    one.execute_batch("PRAGMA journal_mode = WAL; CREATE TABLE t (x); INSERT INTO t VALUES (1);").unwrap();
    let two = Connection::open(dir.path().join("two.db")).unwrap();
    two.busy_timeout(std::time::Duration::ZERO).unwrap();
    one.execute_batch("BEGIN IMMEDIATE").unwrap();
    let waiting = StoreError::from(two.execute_batch("BEGIN IMMEDIATE").unwrap_err());
    assert!(matches!(waiting, StoreError::Busy), "{waiting:?}");
    one.execute_batch("ROLLBACK").unwrap();

    // A read that turns into a write after someone else wrote: BUSY_SNAPSHOT.
    two.execute_batch("BEGIN; SELECT * FROM t;").unwrap();
    let _: i64 = two.query_row("SELECT count(*) FROM t", [], |r| r.get(0)).unwrap();
    one.execute_batch("INSERT INTO t VALUES (2)").unwrap();
    let stale = two.execute_batch("INSERT INTO t VALUES (3)").unwrap_err();
    assert_eq!(stale.sqlite_error().map(|e| e.extended_code), Some(ffi::SQLITE_BUSY_SNAPSHOT));
    assert!(matches!(StoreError::from(stale), StoreError::Busy));
}

#[test]
fn what_is_no_failure_of_the_book_stays_visible() {
    let err = refused("SELECT * FROM nowhere");
    assert!(matches!(err, StoreError::Sqlite(_)), "{err:?}");
    assert!(err.to_string().contains("nowhere"));
}

#[test]
fn a_file_of_noise_is_damaged() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("noise.db");
    std::fs::write(&path, vec![7_u8; 5000]).unwrap();
    let conn = Connection::open(&path).unwrap();
    let err = conn.execute_batch("SELECT * FROM sqlite_schema").unwrap_err();
    let err = StoreError::from(err);
    assert!(matches!(err, StoreError::Damaged { .. }), "{err:?}");
}

#[test]
fn a_full_disk_is_full_in_file_work_too() {
    let full = io::Error::from(io::ErrorKind::StorageFull);
    let there = Path::new("/there");
    assert!(matches!(StoreError::file("Cannot write", there, &full), StoreError::Full));
    assert!(matches!(StoreError::create(there, &full), StoreError::Full));
    let gone = io::Error::from(io::ErrorKind::NotFound);
    assert!(StoreError::create(there, &gone).to_string().contains("Cannot create /there"));
}

/// FreeBSD, sysexits(3): <https://man.freebsd.org/cgi/man.cgi?query=sysexits>; numbers from memory.
#[test]
fn exit_codes_are_those_of_sysexits() {
    for (err, code) in [
        (StoreError::Foreign, 65),
        (StoreError::Refused("no".into()), 65),
        (StoreError::NoBook("a folder".into()), 66),
        (StoreError::Sqlite(rusqlite::Error::InvalidQuery), 70),
        (StoreError::CannotCreate("x".into()), 73),
        (StoreError::Io("x".into()), 74),
        (StoreError::Full, 74),
        (StoreError::Busy, 75),
        (StoreError::Locked, 75),
        (StoreError::ReadOnly, 77),
        (StoreError::Newer { book: 3, program: 2 }, 78),
    ] {
        assert_eq!(err.exit_code(), code, "{err}");
    }
}

#[test]
fn damage_names_the_backups() {
    let err =
        StoreError::Damaged { why: "page 3 is torn".into(), backups: vec!["/room/b.bak".into(), "/room/a.bak".into()] };
    let said = err.to_string();
    assert!(said.contains("page 3 is torn"), "{said}");
    assert!(said.ends_with("/room/b.bak, /room/a.bak."), "{said}");
}
