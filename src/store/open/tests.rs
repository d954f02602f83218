use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;

use super::*;
use crate::store::testing::{Second, V1, V2, chmod, mode, part, say, snapshot, stay};

const STAMP: &str = "2026-03-02T06:10:00Z";
const SOON: Duration = Duration::from_millis(50);

fn at(list: &[&str], path: &Path) -> Result<Opened, StoreError> {
    open_with(list, path, STAMP, SOON)
}

/// A closed book of issue 1 with one rack in it.
fn book(folder: &Path) -> PathBuf {
    let path = folder.join("nb.db");
    let opened = at(V1, &path).unwrap();
    opened.conn.execute("INSERT INTO rack VALUES (1, 'North')", []).unwrap();
    path
}

fn refuses_to_write(conn: &Connection) {
    let err = conn.execute("UPDATE rack SET name = 'South'", []).unwrap_err();
    let err = StoreError::from(err);
    assert!(matches!(err, StoreError::ReadOnly), "{err:?}");
}

fn racks(conn: &Connection) -> i64 {
    conn.query_row("SELECT count(*) FROM rack", [], |r| r.get(0)).unwrap()
}

#[test]
fn a_new_book_is_for_its_owner_only() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("room/books/nb.db");
    assert_eq!(look(&path).unwrap(), Verdict::New);
    assert!(!dir.path().join("room").exists(), "looking writes nothing");
    let opened = open(&path, STAMP).unwrap();
    assert_eq!(opened.verdict, Verdict::New);
    assert!(!opened.read_only);
    assert_eq!(mode(&dir.path().join("room")), 0o700);
    assert_eq!(mode(path.parent().unwrap()), 0o700);
    opened.conn.execute_batch("CREATE TABLE first_write (x)").unwrap();
    for suffix in ["", "-wal", "-shm", ".lock"] {
        assert_eq!(mode(&beside(&path, suffix)), 0o600, "{suffix}");
    }
    drop(opened);
    assert_eq!(look(&path).unwrap(), Verdict::Ours);
    assert_eq!(open(&path, STAMP).unwrap().verdict, Verdict::Ours);
}

#[test]
fn every_setting_holds() {
    let dir = tempfile::tempdir().unwrap();
    let conn = at(V1, &dir.path().join("nb.db")).unwrap().conn;
    let pragma = |name: &str| -> String {
        conn.query_row(&format!("SELECT CAST({name} AS TEXT) FROM pragma_{name}"), [], |r| r.get(0)).unwrap()
    };
    assert_eq!(pragma("journal_mode"), "wal");
    assert_eq!(pragma("synchronous"), "2", "FULL");
    assert_eq!(pragma("foreign_keys"), "1");
    assert_eq!(pragma("cell_size_check"), "1");
    assert_eq!(pragma("application_id"), "1381452875", "RWLK");
    let number = |name| conn.pragma_query_value(None, name, |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(number("mmap_size"), 0);
    assert_eq!(number("busy_timeout"), 50);
    assert!(conn.db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE).unwrap());
    assert!(!conn.db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA).unwrap());
    assert!(conn.prepare("SELECT \"no such column\"").is_err(), "DQS in DML");
    assert!(conn.execute_batch("CREATE INDEX i ON rack (\"nothing\")").is_err(), "DQS in DDL");
}

#[test]
fn transactions_take_the_write_lock_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let mut opened = at(V1, &dir.path().join("nb.db")).unwrap();
    let other = Connection::open(dir.path().join("nb.db")).unwrap();
    other.busy_timeout(Duration::ZERO).unwrap();
    let tx = opened.conn.transaction().unwrap();
    let err = StoreError::from(other.execute_batch("BEGIN IMMEDIATE").unwrap_err());
    assert!(matches!(err, StoreError::Busy), "{err:?}");
    drop(tx);
}

#[test]
fn an_empty_file_becomes_a_book_closed_to_others() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("nb.db");
    fs::write(&path, "").unwrap();
    chmod(&path, 0o644);
    assert_eq!(look(&path).unwrap(), Verdict::New);
    assert_eq!(at(V1, &path).unwrap().verdict, Verdict::New);
    assert_eq!(mode(&path), 0o600);
}

#[test]
fn foreign_files_stay_as_they_are() {
    let dir = tempfile::tempdir().unwrap();
    let table = dir.path().join("orders.db");
    let conn = Connection::open(&table).unwrap();
    conn.execute_batch("CREATE TABLE t (x); INSERT INTO t VALUES (1); PRAGMA user_version = 1;").unwrap();
    drop(conn);
    let text = dir.path().join("notes.txt");
    fs::write(&text, "water at six\n".repeat(50)).unwrap();
    chmod(&text, 0o644);
    let before = snapshot(dir.path());
    for path in [&table, &text] {
        assert_eq!(look(path).unwrap(), Verdict::Foreign);
        assert!(matches!(at(V1, path), Err(StoreError::Foreign)));
    }
    assert_eq!(snapshot(dir.path()), before, "no byte and no file more");
    assert_eq!(mode(&text), 0o644);
}

#[test]
fn a_torn_book_is_kept_and_its_backups_named() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let whole = fs::read(&path).unwrap();
    let kept = dir.path().join("nb.db.2026-03-01-v1.bak");
    fs::write(&kept, &whole).unwrap();
    let tears: [(&str, Vec<u8>); 5] = [
        ("begins only", whole[..60].to_vec()),
        ("last page gone", whole[..whole.len() - 4096].to_vec()),
        ("last byte gone", whole[..whole.len() - 1].to_vec()),
        ("zeros", vec![0; whole.len()]),
        ("noise", vec![0xA5; whole.len()]),
    ];
    for (what, bytes) in tears {
        fs::write(&path, bytes).unwrap();
        let before = snapshot(dir.path());
        assert!(matches!(look_for(&path, 1).unwrap(), Verdict::Damaged(_)), "{what}");
        match at(V1, &path) {
            Err(StoreError::Damaged { backups, .. }) => {
                assert_eq!(backups, [fs::canonicalize(&kept).unwrap()], "{what}");
            }
            other => panic!("{what}: {other:?}"),
        }
        assert_eq!(snapshot(dir.path()), before, "{what}");
    }
}

#[test]
fn a_broken_list_of_tables_is_found_at_opening() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let mut bytes = fs::read(&path).unwrap();
    bytes[100..4096].fill(0xA5);
    fs::write(&path, &bytes).unwrap();
    assert_eq!(look_for(&path, 1).unwrap(), Verdict::Ours, "the header is sound");
    let err = at(V1, &path).unwrap_err();
    assert!(matches!(err, StoreError::Damaged { .. }), "{err:?}");
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn a_damaged_book_can_still_be_read_where_it_is_sound() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let whole = fs::read(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    assert!(matches!(look_for(&path, 1).unwrap(), Verdict::Damaged(_)));
    let conn = open_read_only(&path).unwrap();
    assert_eq!(racks(&conn), 1);
    refuses_to_write(&conn);
}

#[test]
fn a_log_without_its_book_is_not_thrown_away() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("nb.db");
    let log = beside(&path, "-wal");
    fs::write(&log, "the last entries").unwrap();
    for empty in [false, true] {
        if empty {
            fs::write(&path, "").unwrap();
        }
        assert!(matches!(look(&path).unwrap(), Verdict::Damaged(_)));
        assert!(matches!(at(V1, &path), Err(StoreError::Damaged { .. })));
        assert_eq!(fs::read(&log).unwrap(), b"the last entries");
    }
}

#[test]
fn a_short_file_is_whole_together_with_its_log_or_journal() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let bytes = fs::read(&path).unwrap();
    fs::write(&path, &bytes[..4096]).unwrap();
    for suffix in ["-wal", "-journal"] {
        let sidecar = beside(&path, suffix);
        fs::write(&sidecar, "").unwrap();
        assert!(matches!(look_for(&path, 1).unwrap(), Verdict::Damaged(_)));
        fs::write(&sidecar, "pages").unwrap();
        assert_eq!(look_for(&path, 1).unwrap(), Verdict::Ours, "{suffix}");
        fs::remove_file(&sidecar).unwrap();
    }
}

#[test]
fn a_newer_book_is_read_and_not_written() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    drop(at(V2, &path).unwrap());
    let newer = Verdict::Newer { book: 2, program: 1 };
    assert_eq!(look_for(&path, 1).unwrap(), newer);
    let before = fs::read(&path).unwrap();
    let opened = at(V1, &path).unwrap();
    assert_eq!(opened.verdict, newer);
    assert!(opened.read_only);
    assert_eq!(racks(&opened.conn), 1);
    refuses_to_write(&opened.conn);
    drop(opened);
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_newer_version_is_seen_while_only_the_log_has_it() {
    if let Some(path) = part() {
        let opened = at(V2, &path).unwrap();
        say("upgraded");
        stay();
        return drop(opened);
    }
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let test = "store::open::tests::a_newer_version_is_seen_while_only_the_log_has_it";
    let mut other = Second::start(test, &path);
    assert_eq!(other.hear(), "upgraded");
    assert_eq!(look_for(&path, 1).unwrap(), Verdict::Ours, "the header is behind");
    let opened = at(V1, &path).unwrap();
    assert_eq!(opened.verdict, Verdict::Newer { book: 2, program: 1 });
    refuses_to_write(&opened.conn);
    other.finish();
}

#[test]
fn a_write_protected_book_is_read_and_nothing_is_left_beside_it() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("100% north?bench#é file.db");
    fs::rename(book(dir.path()), &path).unwrap();
    fs::remove_file(dir.path().join("nb.db.lock")).unwrap();
    chmod(&path, 0o400);
    let before = snapshot(dir.path());
    assert_eq!(look_for(&path, 1).unwrap(), Verdict::ReadOnly);
    let opened = at(V1, &path).unwrap();
    assert_eq!((opened.verdict, opened.read_only), (Verdict::ReadOnly, true));
    assert_eq!(racks(&opened.conn), 1);
    refuses_to_write(&opened.conn);
    assert_eq!(snapshot(dir.path()), before);
    assert_eq!(mode(&path), 0o400);
}

#[test]
fn a_write_protected_folder_protects_the_book() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    chmod(dir.path(), 0o500);
    let found = at(V1, &path).map(|o| (o.verdict, racks(&o.conn)));
    chmod(dir.path(), 0o700);
    assert_eq!(found.unwrap(), (Verdict::ReadOnly, 1));
}

#[test]
fn what_must_be_written_first_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    chmod(&path, 0o400);
    assert_eq!(look_for(&path, 2).unwrap(), Verdict::Upgrade { from: 1 });
    let err = at(V2, &path).unwrap_err();
    assert!(err.to_string().contains("issue 1 and cannot be written"), "{err}");

    let empty = dir.path().join("empty.db");
    fs::write(&empty, "").unwrap();
    chmod(&empty, 0o400);
    assert!(matches!(at(V1, &empty), Err(StoreError::ReadOnly)));
    assert_eq!(fs::metadata(&empty).unwrap().len(), 0);
}

#[test]
fn a_book_another_program_holds_whole_is_locked() {
    if let Some(path) = part() {
        let conn = Connection::open(path).unwrap();
        conn.execute_batch("PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; INSERT INTO rack VALUES (7, 'x');")
            .unwrap();
        say("held");
        return stay();
    }
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let test = "store::open::tests::a_book_another_program_holds_whole_is_locked";
    let mut other = Second::start(test, &path);
    assert_eq!(other.hear(), "held");
    let err = at(V1, &path).unwrap_err();
    assert!(matches!(err, StoreError::Locked), "{err:?}");
    other.finish();
    assert_eq!(racks(&at(V1, &path).unwrap().conn), 1);
}

#[test]
fn what_is_no_file_is_told_in_words() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name);
    fs::create_dir(path("folder")).unwrap();
    symlink(path("b"), path("a")).unwrap();
    symlink(path("a"), path("b")).unwrap();
    symlink(path("nowhere"), path("dangling")).unwrap();
    fs::write(path("plain"), "x").unwrap();
    let _socket = UnixListener::bind(path("socket")).unwrap();
    for (name, why) in [
        ("folder", "it is a folder"),
        ("a", "symbolic links"),
        ("dangling", "No such file"),
        ("socket", "not a plain file"),
        ("plain/nb.db", "Not a directory"),
    ] {
        for err in [look(&path(name)).unwrap_err(), at(V1, &path(name)).unwrap_err()] {
            assert!(matches!(err, StoreError::NoBook(_)), "{name}: {err:?}");
            assert!(err.to_string().contains(why), "{err}");
        }
    }
    assert!(!path("nowhere").exists());
}

#[test]
fn a_link_to_a_book_uses_the_books_own_lock_and_log() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let other = tempfile::tempdir().unwrap();
    let link = other.path().join("mine.db");
    symlink(&path, &link).unwrap();
    let opened = at(V1, &link).unwrap();
    assert_eq!(racks(&opened.conn), 1);
    assert_eq!(fs::read_dir(other.path()).unwrap().count(), 1);
    assert!(beside(&path, "-wal").exists());
}

#[test]
fn a_disk_without_a_log_is_named() {
    // The one store at hand that answers the wish for a log with another mode.
    let conn = Connection::open_in_memory().unwrap();
    assert!(matches!(start_log(&conn), Err(StoreError::NetworkShare)));
}
