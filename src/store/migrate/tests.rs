use std::time::Duration;

use super::*;
use crate::store::open::{Opened, Verdict, open_with};
use crate::store::testing::{FIRST, Second, V1, V2, mode, part, say};

const STAMP: &str = "2026-03-02T06:10:00Z";

fn at(list: &[&str], path: &Path) -> Result<Opened, StoreError> {
    open_with(list, path, STAMP, Duration::from_secs(5))
}

/// A closed book of issue 1: a rack, and a place that points to it.
fn book(folder: &Path) -> PathBuf {
    let path = folder.join("nb.db");
    let opened = at(V1, &path).unwrap();
    opened.conn.execute_batch("INSERT INTO rack VALUES (1, 'North'); INSERT INTO place VALUES (1, 2);").unwrap();
    path
}

fn number(conn: &Connection, sql: &str) -> i64 {
    conn.query_row(sql, [], |r| r.get(0)).unwrap()
}

#[test]
fn the_issued_steps_make_a_book() {
    let dir = tempfile::tempdir().unwrap();
    let opened = at(MIGRATIONS, &dir.path().join("nb.db")).unwrap();
    assert_eq!(marks(&opened.conn).unwrap(), (APPLICATION_ID, latest()));
    assert!(latest() >= 1);
    let loose: Vec<String> = opened
        .conn
        .prepare("SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND strict = 0 AND name NOT LIKE 'sqlite_%'")
        .unwrap()
        .query_map([], |r| r.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(loose, Vec::<String>::new(), "tables that are not STRICT");
}

#[test]
fn an_upgrade_leaves_a_proved_backup_of_the_old_issue() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let opened = at(V2, &path).unwrap();
    assert_eq!(opened.verdict, Verdict::Upgrade { from: 1 });
    assert!(!opened.read_only);
    assert_eq!(marks(&opened.conn).unwrap(), (APPLICATION_ID, 2));
    assert_eq!(number(&opened.conn, "SELECT sort FROM rack"), 1);
    assert_eq!(number(&opened.conn, "SELECT count(*) FROM place"), 1);
    assert_eq!(number(&opened.conn, "PRAGMA foreign_keys"), 1);

    let kept = opened.backup.unwrap();
    assert_eq!(kept.file_name().unwrap(), "nb.db.2026-03-02T06-10-00Z-v1.bak");
    assert_eq!(mode(&kept), 0o600);
    let old = Connection::open(&kept).unwrap();
    assert_eq!(marks(&old).unwrap(), (APPLICATION_ID, 1));
    let said: String = old.query_row("PRAGMA integrity_check", [], |r| r.get(0)).unwrap();
    assert_eq!(said, "ok");
    assert_eq!(number(&old, "SELECT count(*) FROM rack"), 1);
    assert!(old.prepare("SELECT sort FROM rack").is_err());
}

#[test]
fn a_step_that_fails_leaves_the_book_at_its_issue() {
    let bad_sql: &[&str] = &[FIRST, "DELETE FROM place; CREATE TABLE rack (again INTEGER) STRICT;"];
    // Keys are not enforced during a step; what they find at the end undoes it.
    let bad_key: &[&str] = &[FIRST, "DELETE FROM rack;"];
    for list in [bad_sql, bad_key] {
        let dir = tempfile::tempdir().unwrap();
        let path = book(dir.path());
        let err = at(list, &path).unwrap_err();
        let is_key = matches!(err, StoreError::ForeignKey);
        assert_eq!(is_key, list == bad_key, "{err:?}");
        let again = at(V1, &path).unwrap();
        assert_eq!(again.verdict, Verdict::Ours);
        assert_eq!(number(&again.conn, "SELECT count(*) FROM place JOIN rack"), 1);
    }
}

#[test]
fn foreign_keys_are_on_again_after_a_failed_step() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let lock = BookLock::take(&path).unwrap();
    let mut conn = Connection::open(&path).unwrap();
    migrate_with(&[FIRST, "no SQL"], &lock, &mut conn, &path, STAMP).unwrap_err();
    assert_eq!(number(&conn, "PRAGMA foreign_keys"), 1);
}

#[test]
fn without_a_sound_backup_there_is_no_upgrade() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let root = {
        let conn = Connection::open(&path).unwrap();
        number(&conn, "SELECT rootpage FROM sqlite_schema WHERE name = 'sqlite_autoindex_rack_1'")
    };
    let mut bytes = fs::read(&path).unwrap();
    let begin = usize::try_from(root - 1).unwrap() * 4096;
    bytes[begin + 100..begin + 4096].fill(0xA5);
    fs::write(&path, &bytes).unwrap();

    let err = at(V2, &path).unwrap_err();
    assert!(matches!(err, StoreError::Damaged { .. }), "{err:?}");
    assert_eq!(fs::read(&path).unwrap(), bytes);
    assert_eq!(backups_beside(&path), Vec::<PathBuf>::new(), "no unsound backup is left");
}

#[test]
fn a_backup_never_takes_the_name_of_another() {
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let first = dir.path().join("nb.db.2026-03-02T06-10-00Z-v1.bak");
    fs::write(&first, "an earlier one").unwrap();
    let kept = at(V2, &path).unwrap().backup.unwrap();
    assert_eq!(kept.file_name().unwrap(), "nb.db.2026-03-02T06-10-00Z-v1-2.bak");
    assert_eq!(fs::read(&first).unwrap(), b"an earlier one");
    let found = backups_beside(&fs::canonicalize(&path).unwrap());
    assert_eq!(found.len(), 2);
}

#[test]
fn backups_are_told_newest_first_and_only_this_books() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["nb.db.2026-01-v1.bak", "nb.db.2026-02-v2.bak", "sb.db.2026-03-v1.bak", "nb.db-wal"] {
        fs::write(dir.path().join(name), "").unwrap();
    }
    let path = |name: &str| dir.path().join(name);
    assert_eq!(backups_beside(&path("nb.db")), [path("nb.db.2026-02-v2.bak"), path("nb.db.2026-01-v1.bak")]);
}

/// Lets several processes loose on one path at once and returns what each found.
fn together(test: &str, path: &Path) -> Vec<String> {
    // None gets past this lock before all have come to it.
    let gate = BookLock::take(path).unwrap();
    let mut others: Vec<Second> = (0..4).map(|_| Second::start(test, path)).collect();
    for other in &mut others {
        assert_eq!(other.hear(), "here");
    }
    drop(gate);
    let mut found: Vec<String> = others.iter_mut().map(Second::hear).collect();
    others.into_iter().for_each(Second::finish);
    found.sort();
    found
}

fn play(list: &[&str], path: &Path) {
    say("here");
    let opened = at(list, path).unwrap();
    say(&format!("{:?}", opened.verdict));
}

#[test]
fn processes_that_make_a_book_together_make_it_once() {
    if let Some(path) = part() {
        return play(V1, &path);
    }
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("nb.db");
    let test = "store::migrate::tests::processes_that_make_a_book_together_make_it_once";
    assert_eq!(together(test, &path), ["New", "Ours", "Ours", "Ours"]);
    let opened = at(V1, &path).unwrap();
    assert_eq!(number(&opened.conn, "SELECT count(*) FROM ran"), 1);
}

#[test]
fn processes_that_upgrade_together_upgrade_once() {
    if let Some(path) = part() {
        return play(V2, &path);
    }
    let dir = tempfile::tempdir().unwrap();
    let path = book(dir.path());
    let test = "store::migrate::tests::processes_that_upgrade_together_upgrade_once";
    assert_eq!(together(test, &path), ["Ours", "Ours", "Ours", "Upgrade { from: 1 }"]);
    let opened = at(V2, &path).unwrap();
    assert_eq!(number(&opened.conn, "SELECT count(*) FROM ran"), 2);
    assert_eq!(backups_beside(&fs::canonicalize(&path).unwrap()).len(), 1);
}
