//! Germination tests: begun, counted, ended, taken back; what they say of a lot; suppliers and how long the seed lasts.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::germ_test::{Against, DayCount, GermEnd, NewGermTest};
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{GermTestId, SeedLotId, SupplierId};
use rackwalk::domain::seed_lot::{NewSeedLot, SeedLot, Treated};
use rackwalk::domain::seed_shelf::Shelf;
use rackwalk::domain::time::Day;

use super::{act_as, assert_sound, crop, number, person, raw, refused_as};
use crate::book::{AK, Book};

fn shelf(book: &Book) -> Shelf {
    let lots = book.store.seed_lots().unwrap();
    book.store.seed_shelf(&lots, book.now.day()).unwrap()
}

fn lot(book: &Book, id: SeedLotId) -> SeedLot {
    book.store.seed_lots().unwrap().into_iter().find(|lot| lot.id == id).unwrap()
}

fn day(book: &Book, back: i64) -> Day {
    book.now.day() - Duration::days(back)
}

fn begin(book: &mut Book, lot: SeedLotId, replicates: i64, seeds: i64) -> GermTestId {
    let new = NewGermTest::of(lot, book.now.day(), replicates, seeds);
    GermTestId(book.act(&Action::BeginGermTest(Box::new(new))).made.unwrap())
}

fn count(day: Day, test: GermTestId, normal: &[i64]) -> Action {
    let counts = vec![DayCount { day, normal: normal.to_vec() }];
    Action::CountGerm { test, counts, end: None }
}

fn end(day: Day, test: GermTestId, dead: Option<i64>) -> Action {
    Action::EndGermTest { test, end: GermEnd { day, abnormal: None, hard: None, dead } }
}

/// A test of 100 seeds that is over, a week old, in one entry.
fn whole(book: &mut Book, lot: SeedLotId, normal: i64) -> GermTestId {
    let (begun, counted) = (day(book, 7), day(book, 0));
    let counts = vec![DayCount { day: counted, normal: vec![normal] }];
    let end = Some(GermEnd { day: counted, abnormal: None, hard: None, dead: None });
    let new = NewGermTest { counts, end, ..NewGermTest::of(lot, begun, 1, 100) };
    GermTestId(book.act(&Action::BeginGermTest(Box::new(new))).made.unwrap())
}

fn told(book: &Book, lot: SeedLotId) -> Vec<String> {
    book.store.history(Of::SeedLot(lot), None, 9).unwrap().iter().map(|line| line.text.clone()).collect()
}

#[test]
fn a_test_is_counted_day_by_day_and_its_story_and_the_jar_say_so() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let test = begin(&mut book, seed, 4, 25);
    book.later(Duration::days(4));
    let today = book.now.day();
    book.act(&count(today, test, &[20, 18, 21, 19]));
    book.later(Duration::days(3));
    let today = book.now.day();
    book.act(&count(today, test, &[3, 4, 3, 2]));
    assert_eq!(lot(&book, seed).tested, None, "a test that goes on says nothing of the lot yet");
    book.act(&end(today, test, Some(10)));
    let found = &shelf(&book).tests[0];
    assert_eq!((found.normals(), found.by_day()), (vec![23, 22, 24, 21], vec![0, 0, 0, 78, 0, 0, 12]));
    assert_eq!(book.store.germ_tests(seed).unwrap(), shelf(&book).tests);
    let tested = lot(&book, seed).tested.unwrap();
    assert_eq!((tested.normal, tested.seeds, tested.day), (90, 100, book.now.day()));
    // no seed was taken from the jar
    assert_eq!(lot(&book, seed).left_mg, 500_000);
    let code = lot(&book, seed).code;
    assert_eq!(
        told(&book, seed)[..4],
        [
            format!("germination test of {code}: ended, 10 dead"),
            format!("germination test of {code}: normal seedlings on 2026-07-08: 3, 4, 3, 2"),
            format!("germination test of {code}: normal seedlings on 2026-07-05: 20, 18, 21, 19"),
            format!("germination test of {code}: 4 x 25 seeds laid out 2026-07-01"),
        ]
    );
    assert_sound(&mut book);
}

#[test]
fn who_has_the_numbers_writes_all_of_them_in_one_entry() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    book.later(Duration::days(9));
    let entries = number(&raw(&book.path), "SELECT count(*) FROM entry");
    let done = {
        let (begun, counted) = (day(&book, 8), day(&book, 1));
        let counts =
            vec![DayCount { day: day(&book, 4), normal: vec![40, 41] }, DayCount { day: counted, normal: vec![5, 4] }];
        let end = Some(GermEnd { day: counted, abnormal: Some(3), hard: Some(0), dead: Some(7) });
        let new = NewGermTest { counts, end, temp_dc: Some(200), ..NewGermTest::of(seed, begun, 2, 50) };
        book.act(&Action::BeginGermTest(Box::new(new)))
    };
    assert_eq!(number(&raw(&book.path), "SELECT count(*) FROM entry"), entries + 1);
    assert!(
        done.sentence.contains("90 of 100, 90 %") && done.sentence.contains("the test is ended"),
        "{}",
        done.sentence
    );
    assert_eq!(lot(&book, seed).tested.unwrap().normal, 90);
    assert!(told(&book, seed)[0].ends_with("ended, 3 abnormal, 0 hard, 7 dead"), "{:?}", told(&book, seed));
    // one entry is one undo
    book.act(&Action::Undo);
    assert_eq!((shelf(&book).tests.len(), lot(&book, seed).tested), (0, None));
    assert_sound(&mut book);
}

#[test]
fn one_entry_with_a_bad_count_writes_nothing_of_it() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    book.later(Duration::days(9));
    let before = super::dump(&raw(&book.path));
    let counts = vec![DayCount { day: day(&book, 1), normal: vec![40, 51] }];
    let new = NewGermTest { counts, ..NewGermTest::of(seed, day(&book, 8), 2, 50) };
    assert_eq!(book.refused(&Action::BeginGermTest(Box::new(new))).rule, "germ_over");
    assert_eq!(super::dump(&raw(&book.path)), before);
}

#[test]
fn counts_and_ends_are_taken_back_one_by_one_and_a_test_only_after_them() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let rm = person(&mut book, "RM", true);
    let test = GermTestId(1);
    let new = NewGermTest::of(seed, book.now.day(), 1, 50);
    act_as(&mut book, rm, &Action::BeginGermTest(Box::new(new)));
    book.later(Duration::hours(20));
    let today = book.now.day();
    act_as(&mut book, AK, &count(today, test, &[30]));
    act_as(&mut book, AK, &end(today, test, None));
    // a test that is ended takes nothing more, also of its trigger
    assert_eq!(refused_as(&mut book, rm, &count(today, test, &[1])).rule, "germ_ended");
    act_as(&mut book, AK, &Action::Undo);
    act_as(&mut book, AK, &count(today, test, &[20]));
    assert_eq!(refused_as(&mut book, AK, &count(today, test, &[1])).rule, "germ_over");
    act_as(&mut book, AK, &Action::Undo);
    assert_eq!(shelf(&book).tests[0].germinated(), 30);
    let right = |entry| Action::Correct {
        entry,
        correction: rackwalk::domain::correction::Correction::Never,
        reason: "another lot".into(),
        second: None,
    };
    let begun = book.store.history(Of::SeedLot(seed), None, 9).unwrap();
    let begun = begun.iter().find(|line| line.kind == "germ_begun").unwrap().id;
    assert_eq!(refused_as(&mut book, rm, &right(begun)).rule, "undo_in_use");
    act_as(&mut book, AK, &Action::Undo);
    act_as(&mut book, rm, &right(begun));
    assert!(shelf(&book).tests.is_empty());
    assert_eq!(refused_as(&mut book, AK, &count(today, test, &[1])).rule, "germ_unknown");
    assert_sound(&mut book);
}

#[test]
fn a_lot_that_failed_its_newest_test_goes_after_the_others_until_it_passes_one() {
    let mut book = Book::room();
    let (old, new) = (book.seed("RAD", 500), book.seed("RAD", 500));
    book.later(Duration::days(10));
    let min = crop(&book, "RAD").min_germ_pm.unwrap();
    let order = |book: &Book| book.store.seed_lots().unwrap().iter().map(|lot| lot.id).collect::<Vec<_>>();
    assert_eq!(order(&book), [old, new]);
    // clearly below: 40 of 100 has an upper end of 50 %
    whole(&mut book, old, 40);
    assert!(min > 500 && lot(&book, old).failed());
    assert_eq!(order(&book), [new, old]);
    // a point below the minimum is only "may be below", and the order stays
    book.later(Duration::days(1));
    whole(&mut book, old, min / 10 - 1);
    assert_eq!(lot(&book, old).tested.unwrap().against(), Against::MayBeBelow);
    assert_eq!(order(&book), [old, new]);
    // an older test typed in later does not count instead of it
    let (begun, counted) = (day(&book, 9), day(&book, 4));
    let counts = vec![DayCount { day: counted, normal: vec![10] }];
    let end = Some(GermEnd { day: counted, abnormal: None, hard: None, dead: None });
    let late = NewGermTest { counts, end, ..NewGermTest::of(old, begun, 1, 100) };
    book.act(&Action::BeginGermTest(Box::new(late)));
    assert!(!lot(&book, old).failed());
}

#[test]
fn the_seed_lasts_as_long_as_the_last_full_weeks_say() {
    let mut book = Book::room();
    // 2026-07-01 is a Wednesday: the first full week begins on the 6th
    let seed = book.seed("RAD", 1000);
    let of = |book: &Book| shelf(book).of_crop(crop(book, "RAD").id).cloned().unwrap();
    book.sow("RAD", seed, 2);
    assert_eq!((of(&book).weeks, of(&book).left_mg), (vec![], 946_000));
    book.later(Duration::days(6));
    book.sow("RAD", seed, 3);
    book.later(Duration::days(7));
    // 14 July: of the week from the 6th three trays of 27 g
    assert_eq!(of(&book).weeks, [81_000]);
    assert_eq!(of(&book).supplier.unwrap().name, "Fen Seeds");
    // 865 g at 81 g a week: 74.75 d (derived by hand)
    assert_eq!(of(&book).runs_out(book.now.day()), Some("2026-09-26".parse().unwrap()));
    // treated seed is none that lasts
    let treated = NewSeedLot {
        supplier: "Marsh Seeds".into(),
        supplier_lot: "x".into(),
        treated: Treated::Yes,
        ..NewSeedLot::of(crop(&book, "RAD").id, 9_000_000, book.now.day())
    };
    book.act(&Action::ReceiveSeedLot(Box::new(treated)));
    assert_eq!((of(&book).left_mg, of(&book).supplier.unwrap().name), (865_000, "Marsh Seeds".to_string()));
    // a sowing put right to another day moves with it
    let entry = book.store.history(Of::Everything, None, 9).unwrap();
    let entry = entry.iter().filter(|line| line.kind == "sown").map(|line| line.id).min().unwrap();
    let correction = rackwalk::domain::correction::Correction::Sowing {
        sowing: rackwalk::domain::id::SowingId(1),
        crop: crop(&book, "RAD").id,
        day: "2026-07-06".parse().unwrap(),
        seed: vec![(seed, 54_000)],
        after: None,
    };
    book.act(&Action::Correct { entry, correction, reason: "misread".into(), second: None });
    assert_eq!(of(&book).weeks, [135_000]);
}

#[test]
fn a_supplier_has_a_lead_time_and_a_story_and_is_put_right() {
    let mut book = Book::room();
    book.seed("RAD", 500);
    let edit = |name: &str, lead_d, retired, rev| Action::EditSupplier {
        supplier: SupplierId(1),
        name: name.into(),
        address: "1 Dyke Road".into(),
        lead_d,
        retired,
        rev,
    };
    let done = book.act(&edit("Fen Seeds", Some(10), false, 0));
    assert_eq!(done.sentence, "Supplier Fen Seeds: takes 10 days.");
    let of = |book: &Book| shelf(book).supplier(SupplierId(1)).cloned().unwrap();
    assert_eq!((of(&book).lead_d, of(&book).rev), (Some(10), 1));
    assert_eq!(book.refused(&edit("Fen", None, false, 0)).rule, "stale");
    let lines = book.store.history(Of::Record(Record::Supplier, 1), None, 9).unwrap();
    assert_eq!(lines[0].text, "supplier changed from lead d none to lead d 10");
    assert_eq!(book.store.last_hands(Record::Supplier, 1).unwrap().as_deref(), Some("AK"));
    book.act(&Action::Undo);
    assert_eq!(of(&book).lead_d, None);
    // out of use, and back with the next delivery
    let rev = of(&book).rev;
    book.act(&edit("Fen Seeds", None, true, rev));
    assert!(of(&book).retired);
    book.seed("RAD", 500);
    assert!(!of(&book).retired);
    assert_sound(&mut book);
}
