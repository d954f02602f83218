//! What stands where, and which tray is suspect: worked out from the facts.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Fault, Faults, Look, Mist, Roots, Skip, WaterFigures};
use rackwalk::domain::sowing::{NewSowing, Wetting};
use rackwalk::domain::tray::{Gear, LossReason, Stage, TrayCard};

use super::{assert_sound, raw};
use crate::book::{Book, roots};

fn one_tray() -> (Book, TrayId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    (book, tray)
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

/// A look the next day.
fn next_day(book: &mut Book, look: Look) {
    book.later(Duration::days(1));
    book.act(&Action::Look(Box::new(look)));
}

fn fuzz(tray: TrayId, mist: Mist) -> Look {
    Look { fuzz: Some(mist), ..Look::of(tray) }
}

#[test]
fn untested_fuzz_is_suspect_until_it_lies_down() {
    let (mut book, tray) = one_tray();
    next_day(&mut book, fuzz(tray, Mist::Down));
    assert!(!card(&book, tray).suspect);
    next_day(&mut book, fuzz(tray, Mist::Untested));
    assert!(card(&book, tray).suspect);
    // a good look without a word on the fuzz, water, or a skip clears nothing
    next_day(&mut book, Look { roots: Some(Roots::Full), watered: true, ..Look::of(tray) });
    assert!(card(&book, tray).suspect);
    next_day(&mut book, Look { skip: Some(Skip::NoTime), ..Look::of(tray) });
    assert!(card(&book, tray).suspect);
    next_day(&mut book, fuzz(tray, Mist::Down));
    assert!(!card(&book, tray).suspect);
    book.act(&Action::Undo);
    assert!(card(&book, tray).suspect);
    assert_sound(&mut book);
}

#[test]
fn fuzz_that_stood_stays_suspect_through_every_later_look() {
    let (mut book, tray) = one_tray();
    next_day(&mut book, fuzz(tray, Mist::Untested));
    next_day(&mut book, fuzz(tray, Mist::Stands));
    next_day(&mut book, fuzz(tray, Mist::Down));
    next_day(&mut book, Look { roots: Some(Roots::Full), ..Look::of(tray) });
    assert!(card(&book, tray).suspect);
    book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    assert!(card(&book, tray).suspect);
    assert_eq!(book.refused(&Action::Cut { trays: vec![tray] }).rule, "cut_suspect");
    assert_sound(&mut book);
}

#[test]
fn undo_of_the_fuzz_look_clears_the_suspicion() {
    for mist in [Mist::Untested, Mist::Stands] {
        let (mut book, tray) = one_tray();
        next_day(&mut book, fuzz(tray, mist));
        assert!(card(&book, tray).suspect);
        book.act(&Action::Undo);
        assert!(!card(&book, tray).suspect);
        assert_sound(&mut book);
    }
}

#[test]
fn two_looks_of_one_day_count_in_the_order_they_were_written() {
    let (mut book, tray) = one_tray();
    next_day(&mut book, fuzz(tray, Mist::Down));
    book.act(&Action::Look(Box::new(fuzz(tray, Mist::Untested))));
    assert!(card(&book, tray).suspect);
    book.act(&Action::Look(Box::new(fuzz(tray, Mist::Down))));
    let last = card(&book, tray).last.unwrap();
    assert_eq!((card(&book, tray).suspect, last.fuzz), (false, Some(Mist::Down)));
}

#[test]
fn water_skips_and_notes_are_no_looks() {
    let (mut book, tray) = one_tray();
    let sown = book.now.day();
    assert_eq!(card(&book, tray).watered_on, Some(sown));
    next_day(&mut book, Look { watered: true, ..Look::of(tray) });
    let watered = book.now.day();
    next_day(&mut book, Look { skip: Some(Skip::OutOfReach), ..Look::of(tray) });
    next_day(&mut book, Look { note: Some("label torn".into()), ..Look::of(tray) });
    let now = card(&book, tray);
    assert_eq!((now.last.clone(), now.watered_on), (None, Some(watered)));
    assert!(now.look_late(book.now.day()));
    let odd = Look { faults: Faults::default().toggled(Fault::Thin), ..Look::of(tray) };
    next_day(&mut book, odd);
    assert_eq!(card(&book, tray).last.unwrap().day, book.now.day());
    assert_sound(&mut book);
}

#[test]
fn water_that_was_only_measured_was_not_given() {
    let (mut book, tray) = one_tray();
    let sown = book.now.day();
    let water = WaterFigures { ph_100: Some(610), ..WaterFigures::default() };
    next_day(&mut book, Look { water, ..Look::of(tray) });
    assert_eq!(card(&book, tray).watered_on, Some(sown));
    let line = book.store.timeline(card(&book, tray).sowing).unwrap();
    assert_eq!(line.on(1).map(|marks| marks.watered), Some(0));
    book.act(&Action::Look(Box::new(Look { water, watered: true, ..Look::of(tray) })));
    assert_eq!(card(&book, tray).watered_on, Some(book.now.day()));
    let line = book.store.timeline(card(&book, tray).sowing).unwrap();
    assert_eq!((line.on(0).unwrap().watered, line.on(1).unwrap().watered), (1, 1));
    assert_sound(&mut book);
}

#[test]
fn what_was_done_last_counts_even_when_the_clock_was_set_back() {
    let (mut book, tray) = one_tray();
    let free: Vec<_> = book.board().free_places().iter().map(|p| p.id).collect();
    let to = |place| Action::Move { walk: None, tray, to: Some(place), stage: None };
    book.act(&to(free[0]));
    book.later(Duration::seconds(-90));
    book.act(&to(free[1]));
    assert_eq!(card(&book, tray).place.id, free[1]);
    book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    assert_eq!(card(&book, tray).stage, Stage::Lit);
    let (reason, gear) = (LossReason::Accident, Gear::Washed);
    book.act(&Action::Throw { walk: None, tray, reason, gear, cleanup: None, note: None });
    assert!(book.board().trays.is_empty());
    book.act(&Action::Undo);
    assert_eq!(card(&book, tray).place.id, free[1]);
    assert_sound(&mut book);
}

#[test]
fn a_treatment_at_sowing_waits_to_the_hour() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let wetting = Wetting::Mix { name: "peroxide".into(), wait_h: 30 };
    let new = NewSowing { wetting, ..book.sowing("RAD", lot, 1) };
    let tray = book.act(&Action::Sow(Box::new(new))).trays[0];
    let now = card(&book, tray);
    assert_eq!(now.wait_until.unwrap().to_string(), "2026-07-02T12:00:00Z");
    assert_eq!(now.watered_on, None);
    assert_sound(&mut book);
}

#[test]
fn rebuild_finds_and_mends_what_was_bent() {
    let (mut book, tray) = one_tray();
    book.act(&roots(tray, Roots::None));
    let conn = raw(&book.path);
    conn.execute_batch("UPDATE tray_now SET suspect = 1, place_id = 5").unwrap();
    assert!(card(&book, tray).suspect);
    // one row as it stood and one as it should be
    assert_eq!(book.store.rebuild().unwrap(), 2);
    assert!(!card(&book, tray).suspect);
    conn.execute_batch("DELETE FROM tray_now").unwrap();
    assert_eq!(book.store.rebuild().unwrap(), 1);
    assert_sound(&mut book);
}
