//! Books of every issue before, brought to this one.

use std::fs;
use std::path::{Path, PathBuf};

use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::PersonId;
use rackwalk::domain::power_cut::{Out, Span};
use rackwalk::store::Store;
use rackwalk::store::migrate::latest;
use rackwalk::store::open::{Verdict, look, open_read_only};
use rackwalk::store::restore::restore;
use rusqlite::Connection;

use super::{number, raw};
use crate::book::at;

/// The book of issue 1 that the program of that issue wrote (`rackwalk demo --weeks 1 --trays 4`), built up again.
fn issue_1(folder: &Path) -> PathBuf {
    old_book(folder, 1)
}

/// The frozen schema of a version with the rows a program of that version wrote.
fn old_book(folder: &Path, version: u32) -> PathBuf {
    let fixture = |name: &str| {
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/fixtures").join(name)).unwrap()
    };
    let path = folder.join("room.rackwalk");
    let conn = Connection::open(&path).unwrap();
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    conn.execute_batch(&format!(
        "BEGIN; {} {} COMMIT; PRAGMA application_id = {}; PRAGMA user_version = {version};",
        fixture(&format!("schema_000{version}.sql")),
        fixture(&format!("book_000{version}.sql")),
        u32::from_be_bytes(*b"RWLK"),
    ))
    .unwrap();
    assert_eq!(number(&conn, "SELECT count(*) FROM pragma_foreign_key_check"), 0);
    path
}

/// Every row of the tables of issue 1 that people write.
fn rows(conn: &Connection, tables: &[String]) -> Vec<String> {
    super::dump(conn)
        .into_iter()
        // derived rows are worked out anew
        .filter(|line| !line.starts_with("tray_now: "))
        .filter(|line| tables.iter().any(|table| line.starts_with(&format!("{table}: "))))
        // columns that came later are empty in old rows
        .map(|line| line.trim_end_matches(" | Null").to_string())
        .collect()
}

#[test]
fn a_book_of_issue_1_comes_up_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = issue_1(dir.path());
    let (tables, before) = {
        let conn = raw(&path);
        let tables = super::tables(&conn);
        let rows = rows(&conn, &tables);
        (tables, rows)
    };
    assert!(before.len() > 200, "{}", before.len());
    assert_eq!(look(&path).unwrap(), Verdict::Upgrade { from: 1 });
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let conn = raw(&path);
    assert_eq!(number(&conn, "PRAGMA user_version"), i64::from(latest()));
    assert_eq!(rows(&conn, &tables), before);
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (43, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());

    // the new table takes its facts, and the chain goes on over them
    let now = at("2026-07-15T07:00");
    let span = Span { from: now.plus(-chrono::Duration::hours(2)).instant(), to: None };
    store.act(&Action::PowerCut { span, place: Out::Room, warmest_dc: None }, PersonId(1), now).unwrap();
    let after = store.verify_chain(|_| ()).unwrap();
    assert_eq!((after.entries, after.broken_at), (44, None));

    // the backup is the old book: whole, of issue 1, and without the new table
    let kept = dir.path().join("room.rackwalk.20260715T062000-v1.bak");
    assert_eq!(look(&kept).unwrap(), Verdict::Upgrade { from: 1 });
    let old = open_read_only(&kept).unwrap();
    assert_eq!(rows(&old, &tables), before);
    assert_eq!(number(&old, "SELECT count(*) FROM sqlite_schema WHERE name = 'power_cut'"), 0);
    // and it can be proved and put back as it is, by this program
    let again = dir.path().join("again/room.rackwalk");
    let proved = restore(&kept, &again, |_, _| true).unwrap();
    assert_eq!((proved.entries, proved.head), (43, chain.head));
    assert_eq!(look(&again).unwrap(), Verdict::Upgrade { from: 1 });
}

/// It was written through the one door by the program of issue 3: standing trays, a stack, a walk of two, a sheet, power
/// cuts, corrections of every kind of fact, a tray that is missing, a breach and its decision, an undo.
#[test]
fn a_book_of_issue_3_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 2);
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (25, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    let board = store.board().unwrap();
    assert_eq!((board.missing.len(), board.breaches.len()), (1, 1));
    assert!(board.trays.iter().any(|tray| tray.stacked == 2 && tray.from_top == 2));
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), 25);
}

/// It was written through the one door by the program of issue 4: fuzz points, a hold and a decision about it, a suspect
/// that is watched, soaks, a mix and a treatment, readings, water, checks of the room.
#[test]
fn a_book_of_issue_4_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 3);
    let before = super::dump(&raw(&path));
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (ENTRIES_4, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    if latest() == 3 {
        assert_eq!(super::dump(&raw(&path)), before);
    }
    let board = store.board().unwrap();
    assert_eq!((board.holds.len(), board.suspects.len(), board.soaks.len()), (1, 1, 1));
    assert_eq!(board.fuzz_points.version, 1);
    assert!(board.trays.iter().any(|tray| tray.held && tray.wait_until.is_some()));
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), usize::try_from(ENTRIES_4).unwrap());
}

const ENTRIES_4: i64 = 30;

/// It was written through the one door by the program of issue 5: a check before the cut, a harvest, a packing run, a live
/// tray, an order, a round, a delivery and an empty tray, all against rules where rules stand against them.
#[test]
fn a_book_of_issue_5_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 4);
    let before = super::dump(&raw(&path));
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (ENTRIES_5, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    if latest() == 4 {
        assert_eq!(super::dump(&raw(&path)), before);
    }
    let lots = [1, 2, 3].map(|id| store.account(rackwalk::domain::id::LotId(id)).unwrap());
    assert_eq!(lots.map(|account| account.accounted_pm()), [Some(1000); 3]);
    assert_eq!((lots[0].drawn, lots[1].on_the_way, lots[2].with_customers), (100, 1, 1));
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), usize::try_from(ENTRIES_5).unwrap());
}

const ENTRIES_5: i64 = 42;

/// It was written through the one door by the program of issue 6: beside what came before, a cold store with readings, a lot
/// that lies in it, a warm spell and a decision about it, a score.
#[test]
fn a_book_of_issue_6_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 5);
    let before = super::dump(&raw(&path));
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (ENTRIES_6, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    if latest() == 5 {
        assert_eq!(super::dump(&raw(&path)), before);
    }
    let cold = store.cold(at("2026-07-01T09:00"), None).unwrap();
    let spells = cold.open_spells();
    assert_eq!((spells.len(), spells[0].1.spell.worst_dc, spells[0].1.touched.len()), (1, 90, 1));
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), usize::try_from(ENTRIES_6).unwrap());
}

const ENTRIES_6: i64 = 49;

/// It was written through the one door by the program of issue 7: beside what came before, two complaints with what was told of
/// people, a recall and an exercise, a knife that cut.
#[test]
fn a_book_of_issue_7_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 6);
    let before = super::dump(&raw(&path));
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (ENTRIES_7, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    if latest() == 6 {
        assert_eq!(super::dump(&raw(&path)), before);
    }
    let complaints = store.complaints().unwrap();
    assert!(complaints.iter().any(|complaint| complaint.told.iter().any(|(_, told)| told.is_some())), "{complaints:?}");
    let recalls = store.recalls().unwrap();
    assert!(recalls.iter().any(|recall| recall.exercise) && recalls.iter().any(|recall| !recall.exercise));
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), usize::try_from(ENTRIES_7).unwrap());
}

const ENTRIES_7: i64 = 65;

/// It was written through the one door by the program of issue 8: beside what came before, a germination test with its counts
/// and its end, a weight marked as not right, a currency, the weeks that are kept.
#[test]
fn a_book_of_issue_8_is_read_with_all_it_held() {
    let dir = tempfile::tempdir().unwrap();
    let path = old_book(dir.path(), 7);
    let before = super::dump(&raw(&path));
    let mut store = Store::open(&path, "20260715T062000").unwrap();
    let chain = store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (ENTRIES_8, None), "old hashes still fit");
    assert_eq!(store.rebuild().unwrap(), 0);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    if latest() == 7 {
        assert_eq!(super::dump(&raw(&path)), before);
    }
    let lot = store.seed_lots().unwrap().into_iter().find(|lot| lot.tested.is_some());
    assert!(lot.is_some(), "its germination test is read");
    let weekly = store.weekly(None).unwrap();
    assert!(weekly.iter().any(|one| one.rolled.sown > 0) && weekly.iter().any(|one| one.rolled.cut > 0), "{weekly:?}");
    assert_eq!(store.board().unwrap().currency, "EUR");
    assert_eq!(store.history(Of::Everything, None, 99).unwrap().len(), usize::try_from(ENTRIES_8).unwrap());
}

const ENTRIES_8: i64 = 70;

#[test]
fn an_old_copy_with_a_changed_row_is_not_restored() {
    let dir = tempfile::tempdir().unwrap();
    let path = issue_1(dir.path());
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("DROP TRIGGER look_frozen; UPDATE look SET watered = 1 - watered WHERE skip IS NULL;").unwrap();
    drop(conn);
    let to = dir.path().join("again.rackwalk");
    let said = restore(&path, &to, |_, _| true).unwrap_err().to_string();
    assert!(said.contains("its chain breaks at entry") && said.contains("take another copy"), "{said}");
    assert!(!to.exists());
}
