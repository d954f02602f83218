use std::os::unix::fs::symlink;

use super::*;
use crate::store::open::{Verdict, open_with};
use crate::store::testing::{V1, mode, snapshot};

/// An open book of more pages than one step copies; its last entries are only in the log.
fn book(folder: &Path) -> Connection {
    let conn = open_with(V1, &folder.join("nb.db"), "now", Duration::ZERO).unwrap().conn;
    conn.execute_batch(
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 600)
         INSERT INTO rack SELECT i, printf('%04d', i) || hex(zeroblob(1900)) FROM n;",
    )
    .unwrap();
    conn
}

fn racks(path: &Path) -> i64 {
    let conn = Connection::open(path).unwrap();
    conn.query_row("SELECT count(*) FROM rack", [], |r| r.get(0)).unwrap()
}

fn names(folder: &Path) -> Vec<PathBuf> {
    snapshot(folder).into_keys().collect()
}

#[test]
fn a_backup_is_one_whole_file_of_its_owner() {
    let dir = tempfile::tempdir().unwrap();
    let away = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    let to = away.path().join("copy.db");
    let mut heard = Vec::new();
    backup(&conn, &to, |remaining, total| {
        heard.push((remaining, total));
        true
    })
    .unwrap();
    assert_eq!(names(away.path()), [to.as_path()]);
    assert_eq!(mode(&to), 0o600);
    assert_eq!(racks(&to), 600);
    let pages: i32 = conn.pragma_query_value(None, "page_count", |r| r.get(0)).unwrap();
    assert!(pages > 2 * PAGES_A_STEP, "{pages}");
    assert!(heard.is_sorted_by(|a, b| a.0 > b.0), "{heard:?}");
    assert_eq!(heard.first(), Some(&(pages - PAGES_A_STEP, pages)));
    assert_eq!(heard.last(), Some(&(0, pages)));
    // It is a book like any other.
    let opened = open_with(V1, &to, "now", Duration::ZERO).unwrap();
    assert_eq!(opened.verdict, Verdict::Ours);
}

#[test]
fn stopping_leaves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let away = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    for stop_at in [1, 2, 3] {
        let mut step = 0;
        let stopped = backup(&conn, &away.path().join("copy.db"), |_, _| {
            step += 1;
            step < stop_at
        });
        assert!(matches!(stopped, Err(StoreError::Stopped)), "{stopped:?}");
        assert_eq!(step, stop_at);
        assert_eq!(names(away.path()), Vec::<PathBuf>::new());
    }
}

#[test]
fn what_is_written_meanwhile_is_in_the_backup_whole() {
    let dir = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    let other = Connection::open(dir.path().join("nb.db")).unwrap();
    let to = dir.path().join("copy.db");
    let mut wrote = false;
    backup(&conn, &to, |_, _| {
        if !wrote {
            other.execute_batch("UPDATE rack SET name = 'x' || name").unwrap();
            wrote = true;
        }
        true
    })
    .unwrap();
    let copy = Connection::open(&to).unwrap();
    let changed: i64 = copy.query_row("SELECT count(*) FROM rack WHERE name LIKE 'x%'", [], |r| r.get(0)).unwrap();
    assert_eq!(changed, 600);
}

#[test]
fn names_in_use_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    let path = |name: &str| dir.path().join(name);
    fs::write(path("there"), "kept").unwrap();
    fs::create_dir(path("folder")).unwrap();
    symlink(path("nowhere"), path("link")).unwrap();
    fs::hard_link(path("nb.db"), path("twin.db")).unwrap();
    for (name, why) in [
        ("there", "is there already"),
        ("folder", "is a folder"),
        ("link", "is a link"),
        ("nb.db", "is the book itself"),
        ("twin.db", "is the book itself"),
        ("nb.db-journal", "needs for itself"),
        ("folder/../nb.db-journal", "needs for itself"),
    ] {
        let err = backup(&conn, &path(name), |_, _| true).unwrap_err();
        assert!(matches!(err, StoreError::Refused(_)), "{name}: {err:?}");
        assert!(err.to_string().contains(why), "{err}");
    }
    assert_eq!(fs::read(path("there")).unwrap(), b"kept");
    assert!(!path("nowhere").exists());
    let nowhere = backup(&conn, &path("none/copy.db"), |_, _| true).unwrap_err();
    assert!(matches!(nowhere, StoreError::CannotCreate(_)), "{nowhere:?}");
}

#[test]
fn a_name_taken_meanwhile_is_not_overwritten() {
    let dir = tempfile::tempdir().unwrap();
    let away = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    let to = away.path().join("copy.db");
    let taken = backup(&conn, &to, |_, _| {
        fs::write(&to, "someone else's").unwrap();
        true
    });
    assert!(matches!(taken, Err(StoreError::CannotCreate(_))), "{taken:?}");
    assert_eq!(names(away.path()), [to.as_path()]);
    assert_eq!(fs::read(&to).unwrap(), b"someone else's");
}

#[test]
fn a_copy_of_another_issue_is_no_backup() {
    let dir = tempfile::tempdir().unwrap();
    let conn = book(dir.path());
    let empty = dir.path().join("empty.db");
    fs::write(&empty, "").unwrap();
    let err = verify(&conn, &empty).unwrap_err();
    assert!(matches!(err, StoreError::Refused(_)), "{err:?}");
}
