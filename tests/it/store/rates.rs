//! What became of the trays: what counts as trouble, from which lot and where it began.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::tray::{Gear, LossReason};

use crate::book::{AK, Book};

#[test]
fn fuzz_that_stood_and_losses_to_mould_or_rot_count_and_nothing_else() {
    let mut book = Book::room();
    let (lot, other) = (book.seed("RAD", 500), book.seed("RAD", 500));
    let old = book.sow("RAD", other, 1)[0];
    book.later(Duration::days(3));
    let since = book.now.day();
    let trays = book.sow("RAD", lot, 5);
    let began = book.board().tray(trays[0]).unwrap().place.clone();
    let free = book.board().free_places().last().unwrap().id;
    book.act(&Action::Move { walk: None, tray: trays[0], to: Some(free), stage: None });
    book.later(Duration::days(1));
    let fuzz = |tray, mist| Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) }));
    book.act(&fuzz(trays[0], Mist::Stands));
    book.act(&fuzz(trays[1], Mist::Down));
    book.act(&fuzz(trays[2], Mist::Untested));
    let thrown =
        |tray, reason| Action::Throw { walk: None, tray, reason, gear: Gear::Binned, cleanup: None, note: None };
    book.act(&thrown(trays[3], LossReason::Rot));
    book.act(&thrown(trays[4], LossReason::DriedOut));
    let bad = |book: &Book| -> Vec<bool> { book.store.outcomes(since).unwrap().iter().map(|o| o.bad).collect() };
    assert_eq!(bad(&book), [true, false, false, true, false]);
    let found = book.store.outcomes(since).unwrap();
    let suspect: Vec<bool> = found.iter().map(|outcome| outcome.suspect).collect();
    assert_eq!(suspect, [true, false, true, true, false], "untested fuzz is suspect, and no more");
    assert!(found.iter().all(|outcome| outcome.tray != old && outcome.lots == ["S0001-R radish"]), "{found:?}");
    assert_eq!(found[0].place.as_ref().unwrap().id, began.id, "where it began, not where it stands");
    // what is taken back did not happen
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(bad(&book), [true, false, false, false, false]);
}

#[test]
fn what_a_check_named_counts_and_what_was_cleared_does_not() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let trays = book.sow("RAD", lot, 3);
    let since = book.now.day();
    book.later(Duration::days(3));
    let check = |tray, signs: &[Sign]| Action::Look(Box::new(Look { signs: Signs::of(signs), ..Look::of(tray) }));
    // rot, by its signs and without a drop of mist
    book.act(&check(trays[0], &[Sign::BrownRoots, Sign::Falling]));
    // fuzz that stood, then hairs, and a person who clears it
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(trays[1]) })));
    let outcomes = |book: &Book| -> Vec<(bool, bool)> {
        book.store.outcomes(since).unwrap().iter().map(|outcome| (outcome.bad, outcome.suspect)).collect()
    };
    assert_eq!(outcomes(&book), [(true, true), (true, true), (false, false)]);
    book.later(Duration::hours(1));
    book.act(&check(trays[1], &[Sign::Vanishes, Sign::OnlyRoot]));
    assert!(outcomes(&book)[1].0, "a check alone clears nothing that stood");
    let reason = "another spot".to_string();
    book.act(&Action::DecideSuspect { walk: None, tray: trays[1], what: Choice::Clear, by: AK, reason });
    assert_eq!(outcomes(&book), [(true, true), (false, true), (false, false)]);
}
