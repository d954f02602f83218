//! Seed in water: begun, drained, sown, taken back, put right.

use std::collections::BTreeSet;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{EntryId, SeedLotId, SoakId, SowingId, TrayId};
use rackwalk::domain::soak::{NewSoak, Sanitiser, Soaking};
use rackwalk::domain::sowing::{NewSowing, Part};

use super::{assert_sound, crop, number, raw};
use crate::book::{AK, Book};

/// A room with two kilograms of peas, and 450 g of them in water since this moment.
fn soaking() -> (Book, SeedLotId, SoakId) {
    let mut book = Book::room();
    let lot = book.seed("PEA", 2000);
    let soak = begin(&mut book, lot, 450);
    (book, lot, soak)
}

fn new(book: &Book, lot: SeedLotId, grams: i64) -> NewSoak {
    NewSoak { lot, mg: grams * 1000, start: book.now.instant(), minutes: 600, with: None }
}

fn begin(book: &mut Book, lot: SeedLotId, grams: i64) -> SoakId {
    let new = new(book, lot, grams);
    SoakId(book.act(&Action::Soak(new)).made.unwrap())
}

fn drain(book: &Book, soak: SoakId, rinses: i64) -> Action {
    Action::Drain { soak, at: book.now.instant(), rinses }
}

/// Trays of peas with 225 g each.
fn sow(book: &Book, lot: SeedLotId, trays: usize, soaks: Vec<SoakId>) -> Action {
    let seed = vec![(lot, 225_000 * i64::try_from(trays).unwrap())];
    Action::Sow(Box::new(NewSowing { soaks, parts: vec![Part { trays, seed }], ..book.sowing("PEA", lot, trays) }))
}

fn of(book: &Book, soak: SoakId) -> Soaking {
    book.board().soaks.into_iter().find(|s| s.id == soak).unwrap()
}

fn left_g(book: &Book) -> i64 {
    book.store.seed_lots().unwrap()[0].left_mg / 1000
}

fn already(action: Action) -> Action {
    Action::Already { action: Box::new(action), reason: "slept too long".into() }
}

fn told(book: &Book, lot: SeedLotId) -> Vec<String> {
    let lines = book.store.history(Of::SeedLot(lot), None, 9).unwrap();
    lines.iter().map(|line| line.words(book.now)).collect()
}

#[test]
fn the_seed_stays_in_the_jar_until_it_is_sown_and_its_story_tells_all_of_it() {
    let (mut book, lot, soak) = soaking();
    assert_eq!(left_g(&book), 2000);
    book.later(Duration::minutes(545));
    assert!(!of(&book, soak).due(book.now.instant()));
    book.act(&drain(&book, soak, 3));
    assert_eq!(left_g(&book), 2000);
    book.later(Duration::minutes(30));
    book.act(&sow(&book, lot, 2, vec![soak]));
    assert_eq!((left_g(&book), of(&book, soak).left_mg()), (1550, 0));
    let expected = [
        "450 g of S0001-R (pea) soaked and drained, 3 rinses: 01 Jul 2026 06:00 to 15:05 (9 h 5 min)",
        "450 g of S0001-R (pea) to be soaked for 10 h, from 01 Jul 2026 06:00",
    ];
    let story = told(&book, lot);
    assert_eq!(story[1..3], expected);
    assert!(
        story[0].starts_with("2 trays of pea sown") && story[0].ends_with("; S0001-R soaked 9 h 5 min"),
        "{story:?}"
    );
    assert_eq!(number(&raw(&book.path), "SELECT count(*) FROM soak"), 1, "no second soak is made of the hours");
    assert_sound(&mut book);
}

#[test]
fn a_sowing_drains_what_is_still_in_water_and_takes_only_what_it_sows() {
    let (mut book, lot, soak) = soaking();
    book.later(Duration::hours(8));
    book.act(&sow(&book, lot, 1, vec![soak]));
    let after = of(&book, soak);
    assert_eq!((after.drained, after.rinses, after.left_mg()), (Some(book.now.instant()), None, 225_000));
    book.later(Duration::hours(1));
    // more than is left of it: the rest is as the form says
    let Action::Sow(more) = sow(&book, lot, 2, vec![soak]) else { panic!("a sowing") };
    book.act(&Action::Sow(Box::new(NewSowing { soak_h: 6, ..*more })));
    assert_eq!(of(&book, soak).left_mg(), 0);
    assert_eq!(number(&raw(&book.path), "SELECT sum(mg) FROM soak WHERE drained IS NOT NULL"), 225_000);
    assert_eq!(book.refused(&sow(&book, lot, 1, vec![soak])).rule, "soak_gone");
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert!(of(&book, soak).running(), "the sowing that drained it was taken back");
    assert_sound(&mut book);
}

#[test]
fn cleaned_and_then_soaked_is_the_same_seed() {
    let (mut book, lot, soaked) = soaking();
    let with = Some(Sanitiser { product: "peroxide".into(), strength: "as the label".into() });
    let cleaning = NewSoak { with, minutes: 10, ..new(&book, lot, 450) };
    // the whole jar may be cleaned although some of it is soaked; soaked twice it is not
    book.act(&Action::Soak(NewSoak { mg: 2_000_000, ..cleaning.clone() }));
    book.act(&Action::Undo);
    let cleaned = SoakId(book.act(&Action::Soak(cleaning)).made.unwrap());
    let refused = book.refused(&Action::Soak(new(&book, lot, 1600)));
    assert_eq!((refused.rule, refused.field), ("soak_grams", Some("grams")));
    assert!(refused.sentence.contains("450 g of it soaked or cleaned already"), "{refused}");
    book.act(&Action::Soak(new(&book, lot, 1550)));
    book.act(&Action::Undo);
    book.later(Duration::minutes(10));
    book.act(&drain(&book, cleaned, 2));
    book.later(Duration::hours(9));
    book.act(&sow(&book, lot, 2, vec![cleaned, soaked]));
    assert_eq!((of(&book, cleaned).left_mg(), of(&book, soaked).left_mg()), (0, 0));
    let story = told(&book, lot);
    assert!(story[0].ends_with("; S0001-R soaked 9 h 10 min; S0001-R cleaned 10 min"), "{}", story[0]);
    assert!(story[1].starts_with("450 g of S0001-R (pea) cleaned with peroxide, as the label and drained, 2 rinses"));
}

#[test]
fn it_is_drained_once_and_not_before_it_went_in() {
    let (mut book, _, soak) = soaking();
    book.later(Duration::hours(1));
    let at = |book: &Book, hours| book.now.plus(Duration::hours(hours)).instant();
    for (action, field) in [
        (Action::Drain { soak, at: at(&book, -2), rinses: 0 }, "at"),
        (Action::Drain { soak, at: at(&book, 1), rinses: 0 }, "at"),
        (Action::Drain { soak, at: at(&book, 0), rinses: 51 }, "rinses"),
        (Action::Drain { soak, at: at(&book, 0), rinses: -1 }, "rinses"),
    ] {
        let refused = book.refused(&action);
        assert_eq!((refused.rule, refused.field), ("soak", Some(field)), "{action:?}");
    }
    let begun = book.store.newest_entry().unwrap();
    book.act(&drain(&book, soak, 0));
    assert_ne!(book.store.newest_entry().unwrap(), begun);
    assert_eq!(book.refused(&drain(&book, soak, 0)).rule, "soak_drained");
    // taken back it runs again, and then its beginning can be taken back as well
    book.act(&Action::Undo);
    assert!(of(&book, soak).running());
    book.act(&Action::Undo);
    assert!(book.board().soaks.is_empty());
    assert_sound(&mut book);
}

#[test]
fn the_beginning_is_not_taken_back_below_what_builds_on_it() {
    let (mut book, _, soak) = soaking();
    let begun = number(&raw(&book.path), "SELECT max(id) FROM entry");
    book.act(&drain(&book, soak, 0));
    let never = Action::Correct {
        entry: EntryId(begun),
        correction: Correction::Never,
        reason: "another lot".into(),
        second: None,
    };
    assert_eq!(book.refused(&never).rule, "undo_in_use");
    let never = match never {
        Action::Correct { correction, reason, second, .. } => {
            Action::Correct { entry: EntryId(begun + 1), correction, reason, second }
        }
        other => other,
    };
    book.act(&never);
    assert!(of(&book, soak).running());
}

#[test]
fn over_two_days_is_a_breach_and_holds_its_trays_until_it_is_accepted() {
    let (mut book, lot, soak) = soaking();
    book.later(Duration::hours(48));
    book.act(&drain(&book, soak, 0));
    book.act(&Action::Undo);
    book.later(Duration::minutes(1));
    let late = drain(&book, soak, 0);
    let refused = book.refused(&late);
    assert_eq!((refused.rule, refused.field), ("soak_hours", Some("at")));
    let done = book.act(&already(late));
    assert!(done.sentence.contains("soaked for more than 48 hours"), "{}", done.sentence);
    // sown, it is against the rule again and holds the trays
    let sown = sow(&book, lot, 1, vec![soak]);
    assert_eq!(book.refused(&sown).rule, "soak_hours");
    let trays = book.act(&already(sown.clone())).trays;
    assert!(book.board().tray(trays[0]).unwrap().held);
    book.act(&Action::Undo);
    let breach = book.board().breaches[0].id;
    let (what, reason) = (Verdict::Accepted, "cool water, no smell".to_string());
    book.act(&Action::Decide { breach, what, by: AK, reason });
    let trays = book.act(&sown).trays;
    assert!(!book.board().tray(trays[0]).unwrap().held);
    assert_sound(&mut book);
}

#[test]
fn what_a_sowing_drains_after_two_days_is_a_breach_as_well() {
    let (mut book, lot, soak) = soaking();
    book.later(Duration::hours(60));
    let sown = sow(&book, lot, 1, vec![soak]);
    assert_eq!(book.refused(&sown).rule, "soak_hours");
    let trays: BTreeSet<TrayId> = book.act(&already(sown)).trays.into_iter().collect();
    assert!(book.board().trays.iter().all(|tray| tray.held == trays.contains(&tray.id)));
}

#[test]
fn seed_that_turns_to_slime_is_soaked_only_as_a_breach() {
    let mut book = Book::room();
    let lot = book.seed("MUS", 100);
    let soak = Action::Soak(new(&book, lot, 20));
    assert_eq!(book.refused(&soak).rule, "soak_never");
    let id = SoakId(book.act(&already(soak)).made.unwrap());
    assert_eq!(book.board().breaches[0].rule, "soak_never");
    let seed = vec![(lot, 20_000)];
    let sown = NewSowing { soaks: vec![id], parts: vec![Part { trays: 1, seed }], ..book.sowing("MUS", lot, 1) };
    assert_eq!(book.refused(&Action::Sow(Box::new(sown))).rule, "soak_never");
}

#[test]
fn a_batch_that_turns_out_to_be_of_another_lot_leaves_the_soak_unsown() {
    let (mut book, lot, soak) = soaking();
    let other = book.seed("PEA", 900);
    let entry = book.act(&sow(&book, lot, 2, vec![soak])).entry;
    assert_eq!(of(&book, soak).left_mg(), 0);
    let (crop, day) = (crop(&book, "PEA").id, book.now.day());
    let seed = vec![(other, 450_000)];
    let correction = Correction::Sowing { sowing: SowingId(1), crop, day, seed, after: None };
    book.act(&Action::Correct { entry, correction, reason: "the other jar".into(), second: None });
    assert_eq!(of(&book, soak).left_mg(), 450_000);
    book.act(&Action::Undo);
    assert_eq!(of(&book, soak).left_mg(), 0);
    assert_sound(&mut book);
}

#[test]
fn what_runs_is_listed_however_many_came_after_it() {
    let (mut book, lot, first) = soaking();
    for _ in 0..60 {
        let soak = begin(&mut book, lot, 1);
        book.act(&drain(&book, soak, 0));
    }
    let soaks = book.board().soaks;
    assert_eq!((soaks.len(), soaks.last().unwrap().id), (51, first));
}
