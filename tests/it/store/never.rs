//! Acts put right once that never happened at all, and amounts that two people put right.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::id::{EntryId, PlaceId, SowingId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots, WaterFigures};
use rackwalk::domain::tray::TrayCard;
use rackwalk::store::Store;
use rackwalk::store::error::StoreError;

use super::{assert_sound, number, person, raw};
use crate::book::{AK, Book, at};

/// Three radish trays of the first of July; now it is the third, ten o'clock.
fn third_day() -> (Book, Vec<TrayId>) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    book.now = at("2026-07-03T10:00");
    (book, trays)
}

fn right(entry: EntryId, correction: Correction) -> Action {
    Action::Correct { entry, correction, reason: "read wrongly".into(), second: None }
}

fn never(entry: EntryId) -> Action {
    right(entry, Correction::Never)
}

/// Written now, and put right to an hour before; the entry that counts.
fn an_hour_before(book: &mut Book, action: &Action) -> (EntryId, EntryId) {
    let entry = book.act(action).entry;
    let correction = Correction::Hands { at: Some(book.now.plus(Duration::hours(-1)).instant()), by: AK };
    (entry, book.act(&right(entry, correction)).entry)
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

/// Why the list does not offer it, which is what the book would say.
fn stays(book: &mut Book, entry: EntryId) -> String {
    let why = book.store.entry(entry).unwrap().stays.unwrap();
    let refusal = book.refused(&never(entry));
    assert_eq!(refusal.sentence, why);
    refusal.rule.to_string()
}

#[test]
fn a_look_of_another_time_never_happened() {
    let (mut book, trays) = third_day();
    let water = WaterFigures { ml: Some(400), ..WaterFigures::default() };
    let look = Look { roots: Some(Roots::Peeking), watered: true, water, ..Look::of(trays[0]) };
    let (look, moved) = an_hour_before(&mut book, &Action::Look(Box::new(look)));
    book.later(Duration::days(1));
    assert_eq!(book.refused(&Action::Undo).rule, "undo_older");
    assert_eq!(book.refused(&never(look)).rule, "correct_gone");
    assert_eq!(book.store.entry(moved).unwrap().stays, None);
    let now = book.now;
    let changes = book.store.preview(&never(moved), AK, now).unwrap();
    assert!(changes[0].contains("last look roots peeking (AK) -> none"), "{changes:?}");
    book.act(&never(moved));
    assert!(card(&book, trays[0]).last.is_none());
    assert_eq!(number(&raw(&book.path), "SELECT count(*) FROM water WHERE void_by IS NULL AND ml = 400"), 0);
    assert!([look, moved].iter().all(|entry| book.store.entry(*entry).unwrap().gone));
    assert_sound(&mut book);
}

#[test]
fn a_move_that_never_happened_leaves_the_tray_where_it_stood() {
    let (mut book, trays) = third_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|place| place.id).collect();
    let (was, go) = (card(&book, trays[0]).place.id, |to| Action::Move { walk: None, tray: trays[0], to, stage: None });
    let (_, moved) = an_hour_before(&mut book, &go(Some(free[0])));
    let elsewhere = book.act(&right(moved, Correction::Place { tray: trays[0], place: free[1] })).entry;
    assert_eq!(book.refused(&never(moved)).rule, "correct_gone");
    book.act(&never(elsewhere));
    assert_eq!(card(&book, trays[0]).place.id, was);
    assert_sound(&mut book);
}

#[test]
fn what_was_against_a_rule_goes_with_the_act() {
    let (mut book, trays) = third_day();
    let cut = Action::Cut { trays: vec![trays[0]] };
    let (_, right) = an_hour_before(&mut book, &Action::Already { action: Box::new(cut), reason: "van".into() });
    let breach = book.board().breaches[0].id;
    let decided = Action::Decide { breach, what: Verdict::Watch, by: AK, reason: "taste it".into() };
    book.act(&decided);
    // decided already: the decision is in the way
    assert_eq!(stays(&mut book, right), "undo_in_use");
    assert!(book.board().tray(trays[0]).is_none());
    book.act(&Action::Undo);
    book.act(&never(right));
    assert!(book.board().breaches.is_empty(), "no rule was broken");
    assert!(!card(&book, trays[0]).suspect);
    assert_sound(&mut book);
}

#[test]
fn a_finding_of_another_time_is_taken_back_by_two() {
    let (mut book, trays) = third_day();
    let rm = person(&mut book, "RM", false);
    let look = Look { fuzz: Some(Mist::Stands), ..Look::of(trays[0]) };
    let (_, found) = an_hour_before(&mut book, &Action::Look(Box::new(look)));
    assert_eq!(book.refused(&never(found)).rule, "correct_finding");
    let reason = "a splash".to_string();
    book.act(&Action::Correct { entry: found, correction: Correction::Never, reason, second: Some(rm) });
    assert!(!card(&book, trays[0]).suspect);
    assert_sound(&mut book);
}

#[test]
fn a_correction_of_what_must_stand_somewhere_is_not_said_away() {
    let (mut book, trays) = third_day();
    let free = book.board().free_places()[0].id;
    let (sown, cd) = (EntryId(3), person(&mut book, "CD", false));
    let place = book.act(&right(sown, Correction::Place { tray: trays[0], place: free })).entry;
    assert_eq!(stays(&mut book, place), "undo_nowhere");
    let initials = book.act(&right(sown, Correction::Hands { at: None, by: cd })).entry;
    assert_eq!(stays(&mut book, initials), "correct_kind");
    assert_eq!(stays(&mut book, EntryId(1)), "correct_kind");
    assert_sound(&mut book);
}

#[test]
fn who_puts_right_what_was_put_right_since_is_told_so() {
    let (mut book, _) = third_day();
    let lot = book.store.seed_lots().unwrap()[0].id;
    let other = book.seed("RAD", 500);
    let board = book.board();
    let (crop, day, now) = (board.trays[0].crop, board.trays[0].sown, book.now);
    let sown = |seed, day, after| right(EntryId(3), Correction::Sowing { sowing: SowingId(1), crop, day, seed, after });
    let received = |mg, after| right(EntryId(2), Correction::Received { mg, after });
    let mut beside = Store::open(&book.path, "beside").unwrap();
    let first = beside.act(&sown(vec![(other, 81_000)], day, None), AK, now).unwrap().entry;
    let weighed = beside.act(&received(900_000, None), AK, now).unwrap().entry;
    let before = day.pred_opt().unwrap();
    for late in [sown(vec![(lot, 81_000)], before, None), received(950_000, None)] {
        assert_eq!(book.refused(&late).rule, "stale");
        assert!(matches!(book.store.preview(&late, AK, now), Err(StoreError::Rule(why)) if why.rule == "stale"));
    }
    assert_eq!(book.store.entry(EntryId(3)).unwrap().after, Some(first));
    book.act(&sown(vec![(other, 81_000)], before, Some(first)));
    book.act(&received(950_000, Some(weighed)));
    let left: Vec<i64> = book.store.seed_lots().unwrap().iter().map(|lot| lot.left_mg).collect();
    assert_eq!(left, [950_000, 419_000], "what the other wrote still counts");
    // a correction that was taken back is none to be seen
    book.act(&Action::Undo);
    assert_eq!(book.refused(&received(940_000, None)).rule, "stale");
    assert_sound(&mut book);
}
