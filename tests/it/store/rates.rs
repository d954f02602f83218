//! What became of the trays: what counts as trouble, from which lot and where it began.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::tray::{Gear, LossReason};

use crate::book::Book;

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
    assert!(found.iter().all(|outcome| outcome.tray != old && outcome.lots == ["S0001-R"]), "{found:?}");
    assert_eq!(found[0].place.as_ref().unwrap().id, began.id, "where it began, not where it stands");
    // what is taken back did not happen
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(bad(&book), [true, false, false, false, false]);
}
