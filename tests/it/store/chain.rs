//! The chain of entries: whole after everything, broken where someone wrote past the door.

use chrono::Duration;
use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::tray::Stage;
use rackwalk::domain::walk::Mode;
use rusqlite::Connection;

use super::{assert_sound, crop, person, raw, reopen};
use crate::book::{Book, roots};

/// Entries: 1 setup, 2 lot, 3 sowing, 4 walk, 5 look with a note, 6 move, 7 look, 8 undo of 7, 9 crop, 10 person, 11 look.
fn told() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    let note = Some("left of the door".to_string());
    book.later(Duration::days(1));
    book.act(&Action::Look(Box::new(Look { walk, note, roots: Some(Roots::Peeking), ..Look::of(trays[0]) })));
    book.act(&Action::Move { walk, tray: trays[0], to: None, stage: Some(Stage::Lit) });
    book.act(&roots(trays[1], Roots::Plenty));
    book.act(&Action::Undo);
    let mut edit = EditCrop::of(crop(&book, "RAD"));
    edit.plan.cut_to_d += 1;
    book.act(&Action::EditCrop(Box::new(edit)));
    person(&mut book, "RM", false);
    book.act(&roots(trays[2], Roots::None));
    book
}

/// What someone does who knows the triggers: takes them away first.
fn tamper(conn: &Connection, sql: &str) {
    let triggers: Vec<String> = conn
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    for trigger in triggers {
        conn.execute_batch(&format!("DROP TRIGGER {trigger}")).unwrap();
    }
    conn.execute_batch(sql).unwrap();
    assert!(conn.changes() > 0, "{sql}");
}

#[test]
fn whole_after_many_actions_and_the_same_after_reopening() {
    let mut book = told();
    assert_sound(&mut book);
    let chain = book.store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (11, None));
    assert_eq!(chain.head.len(), 64);
    reopen(&mut book);
    assert_eq!(book.store.verify_chain(|_| ()).unwrap(), chain);
    book.act(&Action::Undo);
    let longer = book.store.verify_chain(|_| ()).unwrap();
    assert_ne!(longer.head, chain.head);
    assert_sound(&mut book);
}

#[test]
fn the_same_actions_at_the_same_moments_make_the_same_head() {
    let [one, two] = [told(), told()].map(|book| book.store.verify_chain(|_| ()).unwrap().head);
    assert_eq!(one, two);
}

#[test]
fn tampering_is_found_at_its_entry() {
    let cases = [
        (5, "UPDATE look SET roots = 'full' WHERE entry_id = 5"),
        (5, "UPDATE look SET roots = NULL WHERE entry_id = 5"),
        (5, "UPDATE look SET tray_id = 2 WHERE entry_id = 5"),
        (
            5,
            "INSERT OR REPLACE INTO look (entry_id, tray_id, day, basis, fuzz, watered, misted, faults) VALUES (5, 1, '2026-07-02', 'tray', 0, 0, 0, 0)",
        ),
        (5, "UPDATE entry_note SET text = 'right of the door' WHERE entry_id = 5"),
        (5, "DELETE FROM entry_note WHERE entry_id = 5"),
        (4, "INSERT INTO entry_note VALUES (4, 'never said')"),
        (5, "DELETE FROM walk_stop WHERE entry_id = 5"),
        (5, "DELETE FROM look WHERE entry_id = 5"),
        (
            5,
            "INSERT INTO look (entry_id, tray_id, day, basis, fuzz, watered, misted, faults) VALUES (5, 2, '2026-07-02', 'tray', 0, 1, 0, 0)",
        ),
        // a look moved to a later entry is missed at the earlier one
        (7, "UPDATE look SET entry_id = 11, tray_id = 9 WHERE entry_id = 7"),
        (8, "UPDATE look SET void_by = NULL WHERE entry_id = 7"),
        (8, "UPDATE look SET void_by = 11 WHERE entry_id = 7"),
        (11, "UPDATE look SET void_by = 11 WHERE entry_id = 5"),
        (6, "UPDATE entry SET who = 2 WHERE id = 6"),
        (6, "UPDATE entry SET at = '2026-07-02T05:59:00Z' WHERE id = 6"),
        (6, "UPDATE entry SET day = '2026-07-01' WHERE id = 6"),
        (6, "UPDATE entry SET paper = 1 WHERE id = 6"),
        (8, "UPDATE entry SET undoes = NULL WHERE id = 8"),
        (6, "UPDATE entry SET hash = zeroblob(32) WHERE id = 6"),
        // an entry gone from the middle is missed by the next
        (
            7,
            "DELETE FROM stage WHERE entry_id = 6; DELETE FROM walk_stop WHERE entry_id = 6; DELETE FROM entry WHERE id = 6",
        ),
        (3, "UPDATE tray SET mats = 2 WHERE id = 1"),
        (3, "DELETE FROM tray WHERE id = 3"),
        (3, "UPDATE seed_move SET mg = mg + 1 WHERE entry_id = 3"),
        (2, "UPDATE seed_lot SET supplier_lot = 'FS-78' WHERE id = 1"),
        (1, "UPDATE grow_plan_day SET roots = 'full' WHERE grow_plan_id = 1 AND day = 1"),
        (1, "UPDATE anchor SET life_h = life_h + 1 WHERE anchor_set_id = 1"),
        (9, "UPDATE grow_plan SET cut_to_d = cut_to_d + 1 WHERE entry_id = 9"),
        (10, "UPDATE change SET after = replace(after, 'rm', 'xx') WHERE entry_id = 10"),
        (1, "DELETE FROM change WHERE entry_id = 1 AND n = 2"),
        // a row of an entry nobody made
        (12, "INSERT INTO stage (entry_id, tray_id, stage) VALUES (12, 2, 'lit')"),
        (99, "UPDATE look SET void_by = 99 WHERE entry_id = 11"),
    ];
    for (at, sql) in cases {
        let book = told();
        tamper(&raw(&book.path), sql);
        assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, Some(at), "{sql}");
    }
}

#[test]
fn two_rows_that_change_places_are_found() {
    let book = told();
    tamper(
        &raw(&book.path),
        "UPDATE placement SET place_id = 100 WHERE id = 1; UPDATE placement SET place_id = 1 WHERE id = 2;
         UPDATE placement SET place_id = 2 WHERE id = 1;",
    );
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, Some(3));
}

#[test]
fn progress_is_told_every_thousand_entries() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let tray = book.sow("RAD", lot, 1)[0];
    let now = book.now;
    book.store
        .act_many(|door| {
            (0..2000).try_for_each(|_| door.act(&roots(tray, Roots::None), crate::book::AK, now).map(|_| ()))
        })
        .unwrap();
    let mut heard = Vec::new();
    let chain = book.store.verify_chain(|n| heard.push(n)).unwrap();
    assert_eq!((chain.entries, chain.broken_at, heard), (2003, None, vec![1000, 2000]));
}
