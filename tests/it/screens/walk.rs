//! The morning walk by keys.

use chrono::Duration;
use rackwalk::app::effect::Msg;
use rackwalk::app::model::Screen;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::{EntryLine, Of};
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::{Basis, Mist, Roots, Skip, Stand};
use rackwalk::domain::room::{Units, Zone, parse_racks};
use rackwalk::domain::setup::{NewFormat, NewRoom, lay_out};
use rackwalk::domain::tray::{Gear, LossReason, Stage};

use super::{Seat, morning};
use crate::book::{AK, Book, at};

/// A room with `shelves` lit shelves of eight, each with one batch of radish in the light, five days old.
fn lit_shelves(shelves: u32) -> Book {
    let mut book = Book::empty();
    let mut racks = lay_out(&parse_racks(&format!("{shelves}x8")).unwrap());
    for rack in &mut racks {
        rack.zones.iter_mut().for_each(|zone| *zone = Zone::Lit);
    }
    book.act(&Action::SetUp(Box::new(NewRoom {
        name: "North Bench".into(),
        code: "NB".into(),
        initials: "AK".into(),
        units: Units::Metric,
        racks,
        format: NewFormat::nominal(),
        crops: vec!["RAD".into()],
    })));
    let lot = book.seed("RAD", 20_000);
    let trays: Vec<TrayId> = (0..shelves).flat_map(|_| book.sow("RAD", lot, 8)).collect();
    for tray in trays {
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
    }
    book.later(Duration::days(5));
    book
}

pub(super) fn newest(seat: &Seat) -> EntryLine {
    seat.session.store.history(Of::Everything, None, 1).unwrap().remove(0)
}

fn at_stop(seat: &Seat) -> TrayId {
    seat.session.model.walk().unwrap().at.unwrap()
}

#[test]
fn a_walk_of_120_trays_takes_120_keys_by_tray() {
    let mut seat = Seat::at(lit_shelves(15));
    seat.press("w a");
    seat.keys = 0;
    while matches!(seat.session.model.top(), Some(Screen::Walk(_))) {
        seat.press("f");
    }
    assert_eq!(seat.keys, 120);
    seat.sees("The walk is done").sees("120 trays done by AK");
    let board = seat.session.store.board().unwrap();
    assert!(board.trays.iter().all(|t| t.last.as_ref().unwrap().basis == Basis::Tray));
    assert!(board.trays.iter().all(|t| t.watered_on == Some(seat.book().now.day())));
}

#[test]
fn a_walk_of_120_trays_takes_15_keys_by_shelf_of_eight() {
    let mut seat = Seat::at(lit_shelves(15));
    seat.press("w a");
    seat.keys = 0;
    while matches!(seat.session.model.top(), Some(Screen::Walk(_))) {
        seat.press("r");
    }
    assert_eq!(seat.keys, 15);
    let board = seat.session.store.board().unwrap();
    assert!(board.trays.iter().all(|t| {
        let last = t.last.as_ref().unwrap();
        last.basis == Basis::Shelf && last.stand == Some(Stand::Good)
    }));
}

#[test]
fn one_key_writes_grade_and_water_and_moves_on() {
    let mut seat = morning();
    seat.press("w a");
    let first = at_stop(&seat);
    seat.sees("d writes: roots plenty, watered").press("d").sees("T0001-W: roots plenty, watered.");
    assert_ne!(at_stop(&seat), first);
    let card = seat.session.store.board().unwrap().tray(first).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Plenty));
    assert_eq!(card.watered_on, Some(seat.book().now.day()));
}

#[test]
fn the_lower_row_sees_but_does_not_water() {
    let mut seat = morning();
    seat.press("w a c");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Plenty));
    assert_eq!(card.watered_on, Some(at("2026-07-01T06:00").day()));
}

#[test]
fn looking_only_never_waters_and_watering_only_never_looks() {
    let mut seat = morning();
    seat.press("w s f");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.watered_on, Some(at("2026-07-01T06:00").day()));
    seat.press("c").sees("does not water");
    seat.press("Esc w").sees("go on with the walk").press("f");
    seat.press("f");
    let board = seat.session.store.board().unwrap();
    assert_eq!(board.tray(TrayId(1)).unwrap().watered_on, Some(seat.book().now.day()));
    assert!(board.tray(TrayId(2)).unwrap().last.is_none());
    seat.press("v");
    let walk = seat.session.model.walk().unwrap().walk.clone().unwrap();
    assert_eq!(walk.visited.last().unwrap().skip, Some(Skip::WetEnough));
}

#[test]
fn covered_trays_are_never_part_of_a_shelf_glance() {
    let mut seat = morning();
    seat.press("w a r").sees("covered trays are lifted one by one");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().last.is_none());
}

#[test]
fn fuzz_that_stands_makes_the_tray_suspect_in_three_keys() {
    let mut seat = morning();
    seat.press("w a");
    seat.keys = 0;
    seat.press("j s Enter");
    assert_eq!(seat.keys, 3);
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert!(card.suspect);
    assert_eq!(card.last.unwrap().fuzz, Some(Mist::Stands));
    seat.press("Esc").sees("1 suspect");
}

#[test]
fn grading_again_never_clears_fuzz_by_the_way() {
    let mut seat = morning();
    // untested, then stands, each graded again without a word about it
    seat.press("w a j d Enter Left f").sees("roots full").press("j s Enter Left f");
    let suspect = |seat: &Seat| [1, 2].map(|id| seat.session.store.board().unwrap().tray(TrayId(id)).unwrap().suspect);
    assert_eq!(suspect(&seat), [true, true]);
    // said to lie down after all: that answers what was not tested, never what stood
    seat.press("Left Left j a o Esc f j a o Esc f");
    assert_eq!(suspect(&seat), [false, true]);
    assert_eq!(seat.session.store.rebuild().unwrap(), 0);
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn a_shelf_glance_never_takes_the_place_of_a_lifted_tray() {
    let mut seat = Seat::at(lit_shelves(1));
    seat.press("w a f Left").sees("the row below corrects it").press("r");
    assert_eq!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().last.as_ref().unwrap().basis, Basis::Tray);
}

#[test]
fn expected_root_hairs_take_one_key() {
    let mut seat = morning();
    seat.press("w a").sees("root hairs: writes fuzz, lies down when misted, only on the roots, day 2 to").press("i");
    let board = seat.session.store.board().unwrap();
    let card = board.tray(TrayId(1)).unwrap();
    assert_eq!(card.last.as_ref().unwrap().fuzz, Some(Mist::Down));
    assert!(!card.suspect);
    // on its first day no hairs are expected: the key says so and writes nothing
    seat.press("Esc Down o i").sees("not expected");
}

#[test]
fn what_is_chosen_goes_with_the_grade() {
    let mut seat = morning();
    seat.press("r w b").press("Tab 6 C-s");
    seat.press("w a o a p 400 Tab 6,1 Tab 19.5 Tab").sees("pH 6.1 is above 6").press("820 Enter").sees("chosen");
    seat.press("n").type_in("left corner").press("Enter");
    seat.press("s").sees("T0001-W: roots peeking, brown roots");
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 1).unwrap();
    assert_eq!(story[0].text, "T0001-W: roots peeking, brown roots, watered (400 mL, pH 6.10, 19.5 °C, 820 µS/cm)");
    assert_eq!(story[0].note.as_deref(), Some("left corner"));
}

#[test]
fn skipping_wants_a_reason_and_the_end_names_it() {
    let mut seat = morning();
    seat.press("w a k a d d d d s s s").sees("The walk is done").sees("1 skipped").sees("out of reach");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().look_due(seat.book().now.day()));
}

#[test]
fn undo_goes_back_to_the_stop() {
    let mut seat = morning();
    seat.press("w a d u").sees("Taken back");
    assert_eq!(at_stop(&seat), TrayId(1));
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().last.is_none());
}

#[test]
fn going_back_and_grading_again_corrects_the_stop() {
    let mut seat = morning();
    seat.press("w a d Left").sees("a grade now corrects it").press("f");
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 9).unwrap();
    assert!(story[0].text.contains("roots full"));
    assert_eq!(story[1].undone_by, Some(story[0].id));
    let line = seat.session.store.timeline(rackwalk::domain::id::SowingId(1)).unwrap();
    let day = line.on(3).unwrap();
    assert_eq!((day.roots_low, day.roots_high, day.looked), (Some(Roots::Full), Some(Roots::Full), 1));
    // taking the correction back brings the first grade back
    seat.press("u");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Plenty));
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn a_glance_still_counts_for_the_trays_that_were_not_graded_again() {
    let mut seat = Seat::at(lit_shelves(2));
    seat.press("w a r Left Left d");
    let told = |of: Of| {
        let story = seat.session.store.history(of, None, 9).unwrap();
        story.into_iter().find(|line| line.text.contains("in one glance along the shelf")).unwrap().undone_by
    };
    let graded = seat
        .session
        .store
        .board()
        .unwrap()
        .trays
        .iter()
        .find(|t| t.last.as_ref().is_some_and(|last| last.basis == Basis::Tray))
        .unwrap()
        .id;
    assert!(told(Of::Tray(graded)).is_some());
    assert_eq!(told(Of::Tray(TrayId(1))), None);
    assert_eq!(told(Of::Everything), None);
}

#[test]
fn an_interrupted_walk_goes_on_at_the_next_tray() {
    let mut seat = morning();
    seat.press("w a d d Esc").sees("6 trays of this walk are still to do");
    let mut seat = seat.again();
    seat.press("w").sees("go on with the walk of 06:00").sees("2 done, 6 to do").press("Enter");
    assert_eq!(at_stop(&seat), TrayId(3));
}

#[test]
fn a_label_jumps_to_its_tray_and_fires_nothing() {
    let mut seat = morning();
    seat.press("w a");
    let entries = seat.session.store.history(Of::Everything, None, 99).unwrap().len();
    seat.type_in("T0004-Q").press("Enter");
    assert_eq!(at_stop(&seat), TrayId(4));
    assert_eq!(seat.session.store.history(Of::Everything, None, 99).unwrap().len(), entries);
    // a check character that does not fit offers the code one character away
    seat.type_in("T0004-X").silence();
    seat.sees("One character away: T0004-Q");
    assert_eq!(at_stop(&seat), TrayId(4));
    // a capital alone
    seat.type_in("D").silence();
    seat.sees("Caps Lock");
}

#[test]
fn to_the_light_by_two_keys() {
    let mut seat = morning();
    seat.press("w a l a");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.stage, Stage::Lit);
    assert_eq!(at_stop(&seat), TrayId(1));
    seat.sees("d writes: roots plenty, watered").press("f");
    assert_ne!(at_stop(&seat), TrayId(1));
}

#[test]
fn throwing_out_in_the_walk_asks_reason_and_gear_in_three_keys() {
    let mut seat = morning();
    seat.press("w a").sees("skip, throw");
    seat.keys = 0;
    seat.press("k").sees("throw out: mould").press("j").sees("What becomes of tray, cover and weight?");
    seat.sees("bagged where it stood, place cleaned").press("a");
    assert_eq!(seat.keys, 3);
    let board = seat.session.store.board().unwrap();
    assert!(board.tray(TrayId(1)).is_none());
    assert_eq!(at_stop(&seat), TrayId(2));
}

#[test]
fn enter_says_before_that_it_writes_water_too() {
    let mut seat = morning();
    seat.press("w a o a").sees("brown roots, watered (Enter writes it)").press("Enter");
    assert_eq!(newest(&seat).text, "T0001-W: brown roots, watered");
}

#[test]
fn a_suspect_tray_says_so_on_the_smallest_screen() {
    let mut seat = morning();
    seat.press("w a j s Enter Left");
    for (width, height) in [(40, 10), (40, 12), (60, 10), (80, 10)] {
        seat.size(width, height);
        seat.sees("SUSPECT");
    }
}

#[test]
fn what_was_chosen_for_a_tray_that_is_gone_holds_nobody_on_the_walk() {
    let mut seat = morning();
    seat.press("w a o a");
    let cut = Action::Throw {
        walk: None,
        tray: TrayId(1),
        reason: LossReason::Accident,
        gear: Gear::Washed,
        cleanup: None,
        note: None,
    };
    let now = seat.book().now;
    seat.session.store.act(&cut, AK, now).unwrap();
    seat.session.handle(Msg::OthersWrote);
    seat.press("Esc").sees("of this walk are still to do");
}

#[test]
fn a_wrong_choice_is_taken_back_before_it_is_written() {
    let mut seat = morning();
    seat.press("w a n").type_in("left corner").press("Enter j s Esc o a");
    let before = newest(&seat).id;
    seat.press("u").sees("nothing was written").sees("chosen       note");
    assert_eq!(newest(&seat).id, before);
    seat.press("d");
    assert_eq!(newest(&seat).text, "T0001-W: roots plenty, watered");
    assert_eq!(newest(&seat).note.as_deref(), Some("left corner"));
    assert!(!seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().suspect);
    // with nothing chosen the same key takes the entry back
    seat.press("u").sees("Taken back");
}

#[test]
fn a_skip_does_not_lose_what_was_chosen() {
    let mut seat = morning();
    seat.press("w a j s Esc k a").sees("Something was chosen for this tray");
    assert_eq!(at_stop(&seat), TrayId(1));
    seat.press("Enter");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().suspect);
    // a note goes with the skip
    seat.press("n").type_in("behind the fan").press("Enter k a");
    assert_eq!(
        (newest(&seat).text.as_str(), newest(&seat).note.as_deref()),
        ("T0002-U: skipped: out of reach", Some("behind the fan"))
    );
}

#[test]
fn what_was_seen_on_a_tray_thrown_out_is_written_first() {
    let mut seat = morning();
    seat.press("w a j s Esc k j a").sees("T0001-W");
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 9).unwrap();
    assert_eq!(
        story[0].text,
        "T0001-W thrown out: mould; tray and cover put aside to wash; bagged where it stood, place still to clean"
    );
    assert_eq!(story[1].text, "T0001-W: fuzz, stands when misted, day 2 to 4; cannot tell; suspect from then on");
    // one stop, not two
    let walk = seat.session.model.walk().unwrap().walk.clone().unwrap();
    assert_eq!(walk.done(), 1);
    assert_eq!(seat.session.store.walk(walk.id).unwrap().done(), 1);
}

#[test]
fn wet_enough_with_something_seen_is_no_skip() {
    let mut seat = morning();
    seat.press("w d o a").sees("v writes: brown roots").press("v");
    assert_eq!(newest(&seat).text, "T0001-W: brown roots");
}

#[test]
fn a_label_reaches_a_tray_that_was_seen_already_and_stays_with_it() {
    let mut seat = morning();
    seat.press("w a d").type_in("T0001-W").press("Enter l a");
    assert_eq!(at_stop(&seat), TrayId(1));
    // the tray was done on another walk
    let mut seat = morning();
    seat.press("o d w a").type_in("T0001-W").press("Enter l a").sees("T0001-W");
    assert_eq!(at_stop(&seat), TrayId(1));
}

#[test]
fn a_label_leaves_the_seed_shelf_for_the_walk() {
    let mut seat = morning();
    seat.press("w a").type_in("S0001-R").press("Enter").sees("Seed shelf").type_in("T0003-S").press("Enter");
    assert_eq!(at_stop(&seat), TrayId(3));
    assert!(matches!(seat.session.model.top(), Some(Screen::Walk(_))));
}
