//! Undo of every kind of action: all of it, once, and nothing else.

use chrono::Duration;
use rackwalk::domain::action::{Action, EditCrop, NewCrop};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::room::{Units, Zone};
use rackwalk::domain::setup::{NewFormat, NewRack};
use rackwalk::domain::soak::NewSoak;
use rackwalk::domain::sowing::{NewSowing, Wetting};
use rackwalk::domain::tray::{Cleanup, Gear, LossReason, Stage};
use rackwalk::domain::walk::Mode;
use rusqlite::Connection;

use super::{assert_sound, crop, dump, person, raw, reopen, tables};
use crate::book::{AK, Book, roots};

/// What stands in the book now: live facts, records in use without their revision, derived rows; not the log.
fn standing(conn: &Connection) -> Vec<String> {
    let mut lines = Vec::new();
    for table in tables(conn) {
        let columns: Vec<String> = conn
            .prepare("SELECT name FROM pragma_table_info(?)")
            .unwrap()
            .query_map([&table], |row| row.get(0))
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap();
        let has = |name: &str| columns.iter().any(|c| c == name);
        let parent = match table.as_str() {
            "tray" => Some(("sowing", "sowing_id")),
            "grow_plan_day" => Some(("grow_plan", "grow_plan_id")),
            "anchor" => Some(("anchor_set", "anchor_set_id")),
            "water_tray" => Some(("water", "water_id")),
            "treatment_tray" => Some(("treatment", "treatment_id")),
            _ => None,
        };
        let live = match parent {
            _ if ["entry", "entry_note", "change"].contains(&table.as_str()) => continue,
            Some((parent, column)) => format!("(SELECT void_by IS NULL FROM {parent} p WHERE p.id = x.{column})"),
            None if has("void_by") => "void_by IS NULL".into(),
            None if has("retired") => "NOT retired".into(),
            None => "1".into(),
        };
        let shown: Vec<&str> = columns.iter().map(String::as_str).filter(|c| *c != "rev").collect();
        let text = format!("SELECT {} FROM {table} x WHERE {live} ORDER BY 1, 2", shown.join(", "));
        let mut select = conn.prepare(&text).unwrap();
        let mut rows = select.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let cells: Vec<String> = (0..shown.len()).map(|n| format!("{:?}", row.get_ref(n).unwrap())).collect();
            lines.push(format!("{table}: {}", cells.join(" | ")));
        }
    }
    lines
}

/// A room with seed, four standing trays of which the second is lit, and a second person.
fn room() -> (Book, Vec<TrayId>) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 4);
    book.act(&Action::Move { walk: None, tray: trays[1], to: None, stage: Some(Stage::Lit) });
    person(&mut book, "RM", true);
    book.later(Duration::days(1));
    (book, trays)
}

fn every_kind(book: &Book, trays: &[TrayId]) -> Vec<Action> {
    let lot = book.store.seed_lots().unwrap()[0].id;
    let free = book.board().free_places().last().unwrap().id;
    let rad = || EditCrop::of(crop(book, "RAD"));
    let mut replanned = rad();
    replanned.plan.cut_to_d += 2;
    let mixed = NewSowing {
        soak_h: 6,
        medium_lot: Some("MT-9".into()),
        wetting: Wetting::Mix { name: "peroxide".into(), wait_h: 12 },
        ..book.sowing("RAD", lot, 2)
    };
    let counted = NewSowing { counts: vec![(lot, 3_000_000)], ..book.sowing("RAD", lot, 8) };
    let counted =
        NewSowing { parts: vec![rackwalk::domain::sowing::Part { trays: 8, seed: vec![(lot, 2_900_000)] }], ..counted };
    let look = Look { fuzz: Some(Mist::Stands), watered: true, note: Some("white".into()), ..Look::of(trays[0]) };
    vec![
        Action::CountSeed { lot, counted_mg: 5 },
        Action::CountSeed { lot, counted_mg: 5_000_000 },
        Action::Sow(Box::new(book.sowing("RAD", lot, 3))),
        Action::Sow(Box::new(mixed)),
        Action::Sow(Box::new(counted)),
        Action::StartWalk { mode: Mode::Water, racks: Some(vec![book.board().racks[0].id]) },
        roots(trays[0], Roots::Peeking),
        Action::Look(Box::new(look)),
        Action::Move { walk: None, tray: trays[0], to: Some(free), stage: Some(Stage::Lit) },
        Action::AddCheckKind(rackwalk::domain::check::starters().remove(0)),
        Action::Soak(NewSoak { lot, mg: 5000, start: book.now.instant(), minutes: 30, with: None }),
        Action::Sight { walk: None, trays: vec![(trays[0], None)] },
        Action::Sight { walk: None, trays: vec![(trays[0], Some(free)), (trays[1], None)] },
        Action::Cut { trays: vec![trays[1]] },
        Action::Throw {
            walk: None,
            tray: trays[2],
            reason: LossReason::Mould,
            gear: Gear::Binned,
            cleanup: Some(Cleanup::Both),
            note: Some("grey".into()),
        },
        Action::AddPerson { initials: "CD".into(), name: "cd".into(), may_decide: true },
        Action::EditPerson { person: AK, rev: 0, name: "Ann".into(), may_decide: false, retired: false },
        Action::EditRoom { name: "South Bench".into(), code: "SB".into(), units: Units::Us, rev: 0 },
        Action::AddRack(NewRack { name: "C".into(), places: 3, zones: vec![Zone::Lit, Zone::Covered] }),
        Action::EditPlaces { places: vec![free], zone: Zone::Isolation, retired: true, rev: 0, stack: None },
        Action::AddFormat(NewFormat { name: "half".into(), length_mm: 254, width_mm: 254 }),
        Action::EditCrop(Box::new(EditCrop { name: "red radish".into(), yield_g: None, ..rad() })),
        Action::EditCrop(Box::new(replanned)),
        Action::EditCrop(Box::new(EditCrop { anchors: vec![(20, 400), (80, 100)], ..rad() })),
        Action::AddStarterCrop { letters: "SUN".into() },
        Action::AddCrop(Box::new(NewCrop { letters: "XYZ".into(), edit: EditCrop { name: "own".into(), ..rad() } })),
    ]
}

/// The same, by someone who saw what the record says now.
fn seen_anew(book: &Book, action: Action) -> Action {
    match action {
        Action::EditPerson { person, name, may_decide, retired, .. } => {
            Action::EditPerson { person, rev: 2, name, may_decide, retired }
        }
        Action::EditCrop(edit) => Action::EditCrop(Box::new(EditCrop { rev: crop(book, "RAD").rev, ..*edit })),
        Action::EditRoom { name, code, units, .. } => {
            Action::EditRoom { name, code, units, rev: book.board().room_rev }
        }
        Action::EditPlaces { places, zone, retired, .. } => {
            let rev = book.board().places_rev(&places);
            Action::EditPlaces { places, zone, retired, rev, stack: None }
        }
        other => other,
    }
}

#[test]
fn every_kind_is_taken_back_whole_also_after_reopening_and_can_be_done_again() {
    let (book, trays) = room();
    let kinds = every_kind(&book, &trays);
    drop(book);
    for action in kinds {
        let (mut book, _) = room();
        let conn = raw(&book.path);
        let before = standing(&conn);
        let first = book.act(&action);
        assert_ne!(standing(&conn), before, "{action:?}");
        reopen(&mut book);
        book.later(Duration::minutes(1));
        let done = book.act(&Action::Undo);
        assert!(done.sentence.starts_with("Taken back: ") && done.sentence.len() > 14, "{}", done.sentence);
        assert_eq!(standing(&conn), before, "{action:?}");
        assert_sound(&mut book);
        let line = book.store.history(Of::Everything, None, 2).unwrap().remove(1);
        assert_eq!((line.id, line.undone_by), (first.entry, Some(done.entry)));
        // every screen still loads, and the same thing can be written once more
        assert_eq!(book.store.crops().unwrap().len(), 3, "{action:?}");
        book.board();
        let again = seen_anew(&book, action);
        book.act(&again);
        assert_ne!(standing(&conn), before, "{again:?}");
        assert_sound(&mut book);
        // and taken back once more
        book.act(&Action::Undo);
        assert_eq!(standing(&conn), before, "{again:?}");
        assert_sound(&mut book);
    }
}

#[test]
fn receiving_seed_is_taken_back_with_its_supplier_and_both_come_again() {
    let mut book = Book::room();
    let conn = raw(&book.path);
    let before = standing(&conn);
    book.seed("RAD", 500);
    book.act(&Action::Undo);
    assert_eq!(standing(&conn), before);
    assert!(book.store.seed_lots().unwrap().is_empty());
    let lot = book.seed("RAD", 500);
    let lots = book.store.seed_lots().unwrap();
    assert_eq!((lots.len(), lots[0].id, lots[0].left_mg), (1, lot, 500_000));
    assert_eq!(super::number(&conn, "SELECT retired FROM supplier WHERE name = 'Fen Seeds'"), 0);
    // the number of the lot taken back stays with it
    assert_eq!(lot.0, 2);
    assert_sound(&mut book);
}

#[test]
fn a_rack_taken_back_comes_again_in_another_shape() {
    let mut book = Book::room();
    let rack = |zones: Vec<Zone>, places| Action::AddRack(NewRack { name: "C".into(), places, zones });
    book.act(&rack(vec![Zone::Lit; 2], 5));
    book.act(&Action::Undo);
    assert_eq!(book.board().racks.len(), 3);
    book.act(&rack(vec![Zone::Covered; 3], 2));
    let board = book.board();
    let rack = board.racks.last().unwrap();
    let places: Vec<String> = rack.places.iter().map(rackwalk::domain::room::Place::label).collect();
    assert_eq!(places, ["C 1-1", "C 1-2", "C 2-1", "C 2-2", "C 3-1", "C 3-2"]);
    assert!(rack.places.iter().all(|place| place.zone == Zone::Covered));
    let lot = book.seed("RAD", 100);
    let into_c = NewSowing { places: vec![rack.places[0].id], ..book.sowing("RAD", lot, 1) };
    book.act(&Action::Sow(Box::new(into_c)));
    assert_sound(&mut book);
}

#[test]
fn undo_after_undo_takes_the_one_before_and_never_one_twice() {
    let (mut book, trays) = room();
    let at = |book: &Book| book.board().tray(trays[0]).unwrap().last.clone().map(|l| l.roots.unwrap());
    for grade in [Roots::None, Roots::Peeking, Roots::Plenty] {
        book.act(&roots(trays[0], grade));
        book.later(Duration::minutes(5));
    }
    let mut seen = Vec::new();
    for _ in 0..3 {
        seen.push(at(&book).unwrap());
        reopen(&mut book);
        book.act(&Action::Undo);
    }
    assert_eq!(seen, [Roots::Plenty, Roots::Peeking, Roots::None]);
    assert_eq!(at(&book), None);
    book.act(&roots(trays[0], Roots::Full));
    book.act(&Action::Undo);
    assert_eq!(at(&book), None);
    // what was written yesterday is slept over: it is put right, not taken back
    assert_eq!(book.refused(&Action::Undo).rule, "undo_older");
    assert_eq!(book.board().trays.len(), 4);
    // on its own day it goes on: the person, the move, the sowing, the seed; then the room itself is refused
    book.later(-Duration::days(1));
    for _ in 0..4 {
        book.act(&Action::Undo);
    }
    assert_eq!(book.refused(&Action::Undo).rule, "undo_setup");
    assert!(book.board().trays.is_empty() && book.store.seed_lots().unwrap().is_empty());
    assert_sound(&mut book);
}

#[test]
fn undo_of_an_edit_writes_the_old_values_and_makes_open_forms_stale() {
    let (mut book, _) = room();
    let edit =
        |rev, name: &str| Action::EditPerson { person: AK, rev, name: name.into(), may_decide: true, retired: false };
    book.act(&edit(0, "Ann"));
    book.act(&edit(1, "Annika"));
    book.act(&Action::Undo);
    let ak = |book: &Book| book.board().people.iter().find(|p| p.id == AK).unwrap().clone();
    assert_eq!((ak(&book).name.as_str(), ak(&book).rev), ("Ann", 3));
    assert_eq!(book.refused(&edit(2, "Anna")).rule, "stale");
    book.act(&Action::Undo);
    assert_eq!(ak(&book).name, "AK");
    assert_sound(&mut book);
}

#[test]
fn a_made_person_is_retired_not_deleted() {
    let mut book = Book::room();
    let rm = person(&mut book, "RM", false);
    book.act(&Action::Undo);
    let people = book.board().people;
    assert!(people.iter().any(|p| p.id == rm && p.retired));
    assert_eq!(super::refused_as(&mut book, rm, &Action::Undo).rule, "person_left");
    // never having signed anything, the initials are free for the same row
    assert_eq!(person(&mut book, "RM", true), rm);
    assert!(book.board().people.iter().any(|p| p.id == rm && !p.retired && p.may_decide));
    assert_sound(&mut book);
}

#[test]
fn the_log_only_grows() {
    let (mut book, trays) = room();
    let conn = raw(&book.path);
    let log = |conn: &Connection| -> Vec<String> {
        dump(conn).into_iter().filter(|l| l.starts_with("entry") || l.starts_with("change")).collect()
    };
    let before = log(&conn);
    book.act(&roots(trays[0], Roots::Full));
    book.act(&Action::Undo);
    let after = log(&conn);
    assert!(before.iter().all(|line| after.contains(line)));
    assert_eq!(after.len(), before.len() + 2);
}
