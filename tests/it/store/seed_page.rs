//! Everything a seed lot gave, out of the book.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{LotId, SeedLotId, TrayId};
use rackwalk::domain::sowing::{NewSowing, Part};
use rackwalk::domain::trace::Start;
use rackwalk::domain::tray::{Gear, LossReason, Stage};

use super::assert_sound;
use crate::book::{AK, Book};

/// Two lots of radish: four trays of the first, two of the second, one with seed of both; all may be cut.
fn room() -> (Book, [SeedLotId; 2], Vec<TrayId>) {
    let mut book = Book::room();
    let lots = [book.seed("RAD", 500), book.seed("RAD", 500)];
    let mut trays = book.sow("RAD", lots[0], 4);
    trays.extend(book.sow("RAD", lots[1], 2));
    let seed = vec![(lots[0], 10_000), (lots[1], 17_000)];
    let both = NewSowing { parts: vec![Part { trays: 1, seed }], ..book.sowing("RAD", lots[0], 1) };
    trays.extend(book.act(&Action::Sow(Box::new(both))).trays);
    (book, lots, trays)
}

fn cut(book: &mut Book, new: NewHarvest) -> LotId {
    let sure = vec!["harvest_grams", "harvest_early", "harvest_late"];
    LotId(book.act(&Action::Harvest(Box::new(NewHarvest { sure, ..new }))).made.unwrap())
}

fn each(trays: &[(TrayId, Option<i64>)], grams: Option<i64>) -> NewHarvest {
    let cuts = trays.iter().map(|(tray, grams)| CutTray { tray: *tray, mats: None, grams: *grams }).collect();
    NewHarvest { cuts, grams, ..NewHarvest::whole(&[], 0) }
}

#[test]
fn what_was_sown_cut_lost_and_left_out() {
    let (mut book, lots, trays) = room();
    for tray in &trays {
        book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
    }
    book.later(Duration::days(9));
    let check = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with: "soap".into(), washed: None };
    book.act(&Action::CheckCut(Box::new(check)));
    // 120 g apart, 200 g of two together; then one together with a tray of the other lot
    cut(&mut book, each(&[(trays[0], Some(120)), (trays[1], None), (trays[2], None)], Some(200)));
    book.later(Duration::minutes(1));
    cut(&mut book, each(&[(trays[4], None), (trays[6], None)], Some(180)));
    let throw = Action::Throw {
        walk: None,
        tray: trays[3],
        reason: LossReason::Mould,
        gear: Gear::Binned,
        cleanup: None,
        note: None,
    };
    book.act(&throw);
    let page = book.store.seed_page(lots[0]).unwrap();
    let batches: Vec<_> = page.batches.iter().map(|batch| (batch.mg, batch.trays, batch.alone)).collect();
    assert_eq!(batches, [(Some(108_000), 4, true), (Some(10_000), 1, false)]);
    let weighed = page.weighed();
    assert_eq!((weighed.grams, weighed.trays.len()), (320, 3));
    // the tray with seed of both was weighed with one of the other lot
    assert_eq!((weighed.left_out.len(), weighed.left_out_g), (1, 180));
    // 320 g of three trays with 27 g of seed each (derived by hand)
    assert!((page.per_gram().unwrap().0 - 320.0 / 81.0).abs() < 1e-9);
    let lost = page.lost().unwrap();
    assert_eq!((lost.x, lost.n), (1, 5));
    assert_eq!(page.reasons(), [(LossReason::Mould, 1)]);
    // of the second lot the one tray weighed alone is none: both of its weighings are left out
    let other = book.store.seed_page(lots[1]).unwrap();
    assert_eq!((other.weighed().trays.len(), other.lost().unwrap().n), (0, 2));
    assert_sound(&mut book);
}

#[test]
fn holds_and_complaints_that_touch_it_and_where_it_went() {
    let (mut book, lots, _) = room();
    assert!(book.store.seed_page(lots[0]).unwrap().holds.is_empty());
    book.act(&Action::Hold(Box::new(NewHold::of(Start::SeedLot(lots[0]), None, "a call".into()))));
    let page = book.store.seed_page(lots[0]).unwrap();
    assert_eq!(page.holds.iter().map(|hold| hold.open).collect::<Vec<_>>(), [true]);
    let hold = page.holds[0].id;
    let what = rackwalk::domain::breach::Verdict::Accepted;
    book.act(&Action::DecideHold { hold, what, by: AK, reason: "it was nothing".into() });
    assert!(!book.store.seed_page(lots[0]).unwrap().holds[0].open);
    assert_eq!((page.packs_out, page.customers, page.complaints.len()), (0, 0, 0));
    let none = book.store.seed_page(SeedLotId(99)).unwrap();
    assert!(none.batches.is_empty() && none.lost().is_none());
}
