//! When an undo is refused, and whose entries it takes.

use chrono::Duration;
use rackwalk::domain::action::{Action, EditCrop};
use rackwalk::domain::id::{PersonId, PlaceId, TrayId};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::room::Zone;
use rackwalk::domain::setup::NewRack;
use rackwalk::domain::sowing::{NewSowing, Part};
use rackwalk::domain::tray::Stage;
use rackwalk::domain::walk::Mode;

use super::{act_as, assert_sound, crop, dump, person, raw, refused_as};
use crate::book::{AK, Book, roots};

/// A room with seed and a second person who may decide.
fn room() -> (Book, PersonId) {
    let mut book = Book::room();
    let rm = person(&mut book, "RM", true);
    (book, rm)
}

fn to(tray: TrayId, place: PlaceId) -> Action {
    Action::Move { walk: None, tray, to: Some(place), stage: None }
}

/// Refused with this rule, a sentence with these words, and no trace.
fn in_the_way(book: &mut Book, who: PersonId, rule: &str, words: &str) {
    let conn = raw(&book.path);
    let before = dump(&conn);
    let refusal = refused_as(book, who, &Action::Undo);
    assert_eq!(refusal.rule, rule, "{refusal}");
    assert!(refusal.sentence.contains(words), "{refusal}");
    assert_eq!(dump(&conn), before);
}

#[test]
fn a_sowing_looked_at_since_names_the_look() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 2);
    let look = act_as(&mut book, rm, &roots(trays[1], Roots::Peeking));
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {} builds on it (T0002", look.entry.0));
    act_as(&mut book, rm, &Action::Undo);
    book.act(&Action::Undo);
    assert!(book.board().trays.is_empty());
    assert_sound(&mut book);
}

#[test]
fn seed_sown_or_counted_since_keeps_its_receipt() {
    for counted in [false, true] {
        let (mut book, rm) = room();
        let lot = book.seed("RAD", 500);
        let use_it = if counted {
            Action::CountSeed { lot, counted_mg: 400_000 }
        } else {
            Action::Sow(Box::new(book.sowing("RAD", lot, 1)))
        };
        let used = act_as(&mut book, rm, &use_it);
        in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", used.entry.0));
        act_as(&mut book, rm, &Action::Undo);
        book.act(&Action::Undo);
        assert!(book.store.seed_lots().unwrap().is_empty());
    }
}

#[test]
fn a_count_that_was_sown_since_cannot_go_below_nothing() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 50);
    book.act(&Action::CountSeed { lot, counted_mg: 90_000 });
    let more = NewSowing { parts: vec![Part { trays: 1, seed: vec![(lot, 80_000)] }], ..book.sowing("RAD", lot, 1) };
    act_as(&mut book, rm, &Action::Sow(Box::new(more)));
    in_the_way(&mut book, AK, "seed_below_zero", "used since");
    assert_eq!(book.store.seed_lots().unwrap()[0].left_mg, 10_000);
    assert_sound(&mut book);
}

#[test]
fn back_into_a_place_taken_meanwhile_is_refused_in_words() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 2);
    let home = book.board().tray(trays[0]).unwrap().place.id;
    let free = book.board().free_places()[3].id;
    book.act(&to(trays[0], free));
    act_as(&mut book, rm, &to(trays[1], home));
    in_the_way(&mut book, AK, "place_taken", "Another tray stands in its place");
    act_as(&mut book, rm, &Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(book.board().tray(trays[0]).unwrap().place.id, home);
    // a cut tray comes back to its place, unless another stands there
    book.act(&Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Lit) });
    book.act(&Action::Cut { trays: vec![trays[0]] });
    act_as(&mut book, rm, &to(trays[1], home));
    in_the_way(&mut book, AK, "place_taken", "Another tray");
    assert_sound(&mut book);
}

#[test]
fn a_tray_never_comes_back_to_a_place_or_crop_out_of_use() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    let home = book.board().tray(tray).unwrap().place.id;
    book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    book.act(&Action::Cut { trays: vec![tray] });
    act_as(
        &mut book,
        rm,
        &Action::EditPlaces { places: vec![home], zone: Zone::Lit, retired: true, rev: 0, stack: None },
    );
    in_the_way(&mut book, AK, "place_retired", "out of use");
    act_as(&mut book, rm, &Action::Undo);
    let retire = EditCrop { retired: true, ..EditCrop::of(crop(&book, "RAD")) };
    act_as(&mut book, rm, &Action::EditCrop(Box::new(retire)));
    in_the_way(&mut book, AK, "crop_standing", "radish");
    act_as(&mut book, rm, &Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(book.board().tray(tray).unwrap().place.id, home);
    assert_sound(&mut book);
}

#[test]
fn what_was_put_back_to_use_and_used_stays_in_use() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let home = book.board().free_places()[0].id;
    let place = |retired, rev| Action::EditPlaces { places: vec![home], zone: Zone::Lit, retired, rev, stack: None };
    book.act(&place(true, 0));
    book.act(&place(false, 1));
    let sown = Action::Sow(Box::new(book.sowing("RAD", lot, 1)));
    let sown = act_as(&mut book, rm, &sown);
    assert_eq!(book.board().tray(sown.trays[0]).unwrap().place.id, home);
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", sown.entry.0));
}

#[test]
fn a_rack_plan_crop_or_person_in_use_stays() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    book.act(&Action::AddRack(NewRack { name: "C".into(), places: 2, zones: vec![Zone::Lit] }));
    let place = book.board().racks.last().unwrap().places[0].id;
    let into = NewSowing { places: vec![place], ..book.sowing("RAD", lot, 1) };
    let sown = act_as(&mut book, rm, &Action::Sow(Box::new(into)));
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", sown.entry.0));

    let mut longer = EditCrop::of(crop(&book, "RAD"));
    longer.plan.cut_to_d += 1;
    book.act(&Action::EditCrop(Box::new(longer)));
    let sow = Action::Sow(Box::new(book.sowing("RAD", lot, 1)));
    let sown = act_as(&mut book, rm, &sow);
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", sown.entry.0));

    let cd = person(&mut book, "CD", false);
    let look = act_as(&mut book, cd, &roots(sown.trays[0], Roots::None));
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", look.entry.0));
    // even when CD took it back: the entry is still signed CD
    act_as(&mut book, cd, &Action::Undo);
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", look.entry.0));
    assert_sound(&mut book);
}

#[test]
fn a_record_changed_again_since_names_the_later_change() {
    let (mut book, rm) = room();
    let edit =
        |rev, name: &str| Action::EditPerson { person: AK, rev, name: name.into(), may_decide: true, retired: false };
    book.act(&edit(0, "Ann"));
    let later = act_as(&mut book, rm, &edit(1, "Anna"));
    in_the_way(&mut book, AK, "undo_in_use", &format!("Entry {}", later.entry.0));
    act_as(&mut book, rm, &Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(book.board().people.iter().find(|p| p.id == AK).unwrap().name, "AK");
    assert_sound(&mut book);
}

#[test]
fn someone_who_may_decide_is_left() {
    let mut book = Book::room();
    let rm = person(&mut book, "RM", false);
    let cd = person(&mut book, "CD", false);
    let edit =
        |person, rev, may_decide| Action::EditPerson { person, rev, name: "x".into(), may_decide, retired: false };
    book.act(&edit(rm, 0, true));
    act_as(&mut book, cd, &edit(AK, 0, false));
    in_the_way(&mut book, AK, "last_decider", "may decide");
    assert_eq!(book.refused(&edit(rm, 1, false)).rule, "last_decider");
}

#[test]
fn everyone_takes_back_only_their_own() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 2);
    book.later(Duration::days(1));
    let mine = book.act(&roots(trays[0], Roots::Peeking));
    let hers = act_as(&mut book, rm, &roots(trays[1], Roots::Full));
    let back = book.act(&Action::Undo);
    assert_eq!(back.trays, [trays[0]]);
    let board = book.board();
    assert!(board.tray(trays[0]).unwrap().last.is_none());
    assert_eq!(board.tray(trays[1]).unwrap().last.as_ref().unwrap().who, "RM");
    assert_eq!(act_as(&mut book, rm, &Action::Undo).trays, [trays[1]]);
    assert_eq!(refused_as(&mut book, rm, &Action::Undo).rule, "undo_nothing");
    let conn = raw(&book.path);
    for (entry, who) in [(mine.entry.0, AK.0), (hers.entry.0, rm.0)] {
        let text = format!("SELECT who FROM entry WHERE undoes = {entry}");
        assert_eq!(super::number(&conn, &text), who);
    }
    assert_sound(&mut book);
}

#[test]
fn a_walk_with_stops_stays_until_they_are_taken_back() {
    let (mut book, rm) = room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    let look = Look { walk, roots: Some(Roots::None), ..Look::of(tray) };
    act_as(&mut book, rm, &Action::Look(Box::new(look)));
    assert!(book.store.walk(walk.unwrap()).unwrap().visited(tray));
    in_the_way(&mut book, AK, "undo_in_use", "roots none");
    act_as(&mut book, rm, &Action::Undo);
    assert!(!book.store.walk(walk.unwrap()).unwrap().visited(tray));
    book.act(&Action::Undo);
    assert_eq!(book.store.newest_walk(book.now.day()).unwrap(), None);
}
