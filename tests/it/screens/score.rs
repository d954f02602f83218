//! Packs held back, scored and what comes of it, by keys.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::cold::Rules;
use rackwalk::domain::id::LotId;
use rackwalk::domain::stock::{Away, NewMove};

use super::Seat;
use super::form::{elsewhere, entries, focus, put, value};
use super::stock::stocked;

/// At the stock screen, on the packs of radish.
fn seat() -> Seat {
    let mut book = stocked();
    let rules = Rules { bench_dc: Some(50), ..Rules::default() };
    book.act(&Action::EditColdRules { rules: Box::new(rules), rev: 0 });
    let mut seat = Seat::at(book);
    seat.press("Space");
    on_radish(&mut seat);
    seat
}

fn radish(seat: &Seat) -> LotId {
    let goods = seat.session.store.goods(seat.session.model.today()).unwrap();
    goods.lots.iter().find(|lot| lot.name == "radish 50 g").unwrap().id
}

fn on_radish(seat: &mut Seat) {
    let id = radish(seat);
    while rackwalk::app::screens::stock::here(&seat.session.model).map(|lot| lot.id) != Some(id) {
        seat.press("Down");
    }
}

/// Some days later, at the same place.
fn later(seat: Seat, days: i64) -> Seat {
    let mut seat = seat.later(Duration::days(days));
    seat.press("Space");
    on_radish(&mut seat);
    seat
}

fn keep(seat: &mut Seat) {
    seat.press("b s");
    put(seat, "amount", "1");
    seat.press("C-s").sees("kept as a sample");
}

/// With a pack kept that scored 7 after four days.
fn scored_once() -> Seat {
    let mut seat = seat();
    keep(&mut seat);
    let mut seat = later(seat, 4);
    seat.press("Enter v 7 Enter C-s");
    seat
}

/// And 4 two days later.
pub fn scored() -> Seat {
    let mut seat = later(scored_once(), 2);
    seat.press("b v 4 Enter C-s");
    seat
}

fn shot(name: &str, seat: &Seat) {
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, seat.text());
    });
}

#[test]
fn a_sample_is_kept_and_scored_and_nothing_is_assumed() {
    let mut seat = seat();
    seat.press("b").sees("score what was held back").sees("not now: keep a sample of it first");
    seat.press("v").sees("keep a sample of it first").press("Esc");
    seat.press("Enter").press("Esc");
    keep(&mut seat);
    let mut seat = later(seat, 4);
    seat.press("Enter").sees("score what was held back").press("v").sees("Not scored yet.");
    // the score is never proposed; packs and time are
    assert_eq!(focus(&seat).0, "score");
    let before = entries(&seat);
    seat.press("C-s").sees("choose one, it is needed.");
    assert_eq!(entries(&seat), before);
    assert_eq!((value(&seat, "packs").as_str(), value(&seat, "time").as_str()), ("1", "2026-07-15 06:00"));
    seat.press("7");
    shot("score_form", &seat);
    seat.press("Enter C-s").sees("7 of 1 pack, good, a little less crisp.");
    // better than before is asked once
    let mut seat = later(seat, 1);
    seat.press("b v").sees("Before: 7, good").press("8 Enter C-s").sees("does not get better");
    seat.press("Enter").sees("8 of 1 pack");
    seat.press("b k").sees("8 of 9; until ");
    shot("score_samples", &seat);
    seat.press("a").sees("1 pack held back; cut 11 Jul").sees("15 Jul 06:00: 7, good, a little less crisp");
    shot("score_sample", &seat);
    seat.press("i").sees("1 pack held back, 8 of 9, fresh").press("Esc").sees("Stock");
}

#[test]
fn a_proposal_is_read_opened_taken_and_taken_back() {
    let mut seat = scored();
    seat.press("b l").sees("How long crops really kept").sees("by 1 pack of 1 lot, few");
    shot("score_crops", &seat);
    seat.press("a").sees("By 1 pack of 1 lot that fell below 5: few.").sees("so far, new");
    shot("score_crop", &seat);
    let before = entries(&seat);
    // Enter on the first line takes nothing
    seat.press("Enter");
    assert_eq!(entries(&seat), before);
    seat.press("b l a t").sees("radish: shelf life times ").sees("Days on labels stay.");
    seat.press("b l a").sees("times 1.00").press("t").sees("it kept as the figures say");
    seat.press("Esc u").sees("Taken back").press("b l a").sees("so far, new").press("d").sees("held back");
}

#[test]
fn nothing_scored_and_never_below_five_are_said() {
    let mut seat = seat();
    seat.press("b l").sees("Nothing was scored yet.").press("Esc");
    let mut seat = scored_once();
    seat.press("b l").sees("1 lot scored, no figure yet").press("a");
    seat.sees("No lot of it fell below 5 that can be used")
        .sees("Still 5 or better at the last look, not used: 1 lot.");
    shot("score_crop_still", &seat);
    seat.press("t").sees("Not done: no new figures yet");
}

#[test]
fn what_came_meanwhile_makes_a_proposal_stale() {
    let mut seat = scored();
    seat.press("b l a");
    let rules = Rules { bench_dc: Some(90), ..Rules::default() };
    elsewhere(&seat, &Action::EditColdRules { rules: Box::new(rules), rev: 1 });
    seat.press("t").sees("changed meanwhile: open it again");
    seat.press("b l a t").sees("shelf life times ");
}

#[test]
fn the_sample_of_a_lot_that_is_gone_is_scored_from_the_list() {
    let mut seat = seat();
    keep(&mut seat);
    let lot = radish(&seat);
    let left = seat.session.model.goods.lot(lot).unwrap().packs;
    let all = NewMove { lot, away: Away::Given, amount: left, reason: "a feast".into() };
    elsewhere(&seat, &Action::MoveStock(Box::new(all)));
    let mut seat = seat.later(Duration::days(5));
    seat.press("Space b k a").sees("held back").press("v").type_in("3").press("Enter C-s");
    seat.sees("3 of 1 pack, yellow or wet in many places. It tells now how long");
}
