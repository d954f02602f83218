//! Two terminals on one walk, each taking racks.

use chrono::Duration;
use rackwalk::app::model::Screen;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::{EntryLine, Of};
use rackwalk::domain::id::TrayId;

use super::Seat;
use crate::book::Book;

/// AK and RM, each at a terminal in the room: three radish trays on each of two racks, two days old.
fn two() -> (Seat, Seat) {
    let mut book = Book::room();
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rui".into(), may_decide: false });
    let lot = book.seed("RAD", 1000);
    book.radish_at(lot, &["A 1-1", "A 1-2", "A 1-3", "B 1-1", "B 1-2", "B 1-3"]);
    book.later(Duration::days(2));
    let ak = Seat::at(book);
    let mut rm = ak.beside();
    rm.press("a").sees("at the rack: RM");
    (ak, rm)
}

/// The list of racks from the room.
const RACKS: &str = "w s";

/// The log, oldest first.
fn log(seat: &Seat) -> Vec<EntryLine> {
    let mut lines = seat.session.store.history(Of::Everything, None, 99).unwrap();
    lines.reverse();
    lines
}

fn at_stop(seat: &Seat) -> TrayId {
    seat.session.model.walk().unwrap().at.unwrap()
}

fn on_walk(seat: &Seat) -> bool {
    matches!(seat.session.model.top(), Some(Screen::Walk(_)))
}

#[test]
fn two_walkers_share_a_walk_and_nothing_is_written_twice() {
    let (mut ak, mut rm) = two();
    ak.press("w a").sees("looking and watering: 0 done, 6 to do");
    rm.look_around().press("w").sees("go on with the walk of 06:00").sees("share the walk: take racks of your own");
    rm.press("s").sees("Take a rack of the walk of 06:00").sees("a  rack A  3 to do").sees("s  rack B  3 to do");
    rm.press("s").sees("RM takes rack B of the walk of 06:00.").sees("rack B: 0 done, 3 to do").sees("B 1-1");
    // the other's route follows, and the tray in hand stays
    ak.look_around().sees("all but rack B: 0 done, 3 to do").sees("Rack B is RM's now.");
    assert_eq!((at_stop(&ak), on_walk(&ak)), (TrayId(1), true));
    ak.press("d f");
    rm.press("f");
    ak.look_around().sees("all but rack B: 2 done, 1 to do");
    ak.press("Esc").sees("1 tray of this walk is still to do").sees("Rack B is RM's:").sees("2 to do.");
    ak.press("w").sees("2 done, 1 to do").sees("RM has B").press("a d");
    ak.sees("Your racks are done").sees("4 trays done, 3 by AK and 1 by RM").sees("Rack B is RM's: 2 to do.");
    rm.press("d").look_around().sees("rack B: 2 done, 1 to do");
    ak.look_around().sees("Rack B is RM's: 1 to do.");
    rm.press("s").sees("The walk is done").sees("6 trays done, 3 by AK and 3 by RM");
    ak.look_around().sees("The walk is done").sees("6 trays done, 3 by AK and 3 by RM");
    assert!(!ak.text().contains("takes one of them over"));
    let lines = log(&ak);
    let looks: Vec<(&str, &str)> = lines
        .iter()
        .filter(|line| line.kind == "look")
        .map(|line| (line.who.as_str(), line.text.split(':').next().unwrap()))
        .collect();
    let of = |who, code| (who, code);
    let expected = [
        of("AK", "T0001-W"),
        of("AK", "T0002-U"),
        of("RM", "T0004-Q"),
        of("AK", "T0003-S"),
        of("RM", "T0005-O"),
        of("RM", "T0006-M"),
    ];
    assert_eq!(looks, expected);
    assert_eq!(lines.iter().filter(|line| line.kind == "walk_started").count(), 1);
    assert!(lines.iter().all(|line| line.undone_by.is_none()));
    assert_eq!(ak.session.store.rebuild().unwrap(), 0);
    assert_eq!(ak.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn a_rack_is_taken_over_from_the_end_of_the_walk() {
    let (mut ak, mut rm) = two();
    ak.press("w a");
    rm.look_around().press(RACKS).press("s d");
    ak.look_around().press("d f d").sees("Your racks are done").sees("w takes one of them over.");
    ak.press("w").sees("s  rack B  RM has it, 2 to do").press("s");
    ak.sees("AK takes rack B of the walk of 06:00.").sees("rack B: 1 done, 2 to do").sees("B 1-2");
    rm.look_around().sees("Rack B is AK's now.").sees("T0005-O");
    rm.press("f").sees("Your racks are done").sees("Rack B is AK's: 1 to do.");
    // the tray AK stands at was done by RM meanwhile
    ak.look_around().sees("RM has just done T0005-O.").sees("T0006-M").press("d").sees("The walk is done");
    ak.sees("6 trays done, 4 by AK and 2 by RM");
    assert_eq!(log(&ak).iter().filter(|line| line.kind == "look").count(), 6);
}

#[test]
fn racks_are_taken_one_after_the_other_and_given_back() {
    let (mut ak, mut rm) = two();
    rm.press("w a Esc");
    ak.look_around().press(RACKS).press("s").sees("rack B: 0 done, 3 to do");
    // the list again, from the walk
    ak.press("Space").sees("share the walk").press("s").sees("not now: it is yours already, 3 to do").press("a");
    ak.sees("AK takes rack A of the walk").sees("racks A and B: 0 done, 6 to do");
    assert_eq!(at_stop(&ak), TrayId(1));
    rm.look_around().press("w");
    assert!(!rm.text().contains("go on with the walk"), "nothing is left for RM");
    rm.sees("share the walk").press("Esc");
    // one's own are given back by taking the entry back, and the walk goes on
    ak.press("u").sees("Taken back: takes rack A").sees("rack B: 0 done").press("u").sees("Taken back: takes rack B");
    ak.sees("looking and watering: 0 done, 6 to do");
    assert!(on_walk(&ak));
    rm.look_around().press("w").sees("go on with the walk of 06:00").sees("0 done, 6 to do");
}

#[test]
fn a_label_leads_to_a_tray_on_the_others_rack() {
    let (mut ak, mut rm) = two();
    ak.press("w a");
    rm.look_around().press(RACKS).press("s");
    ak.look_around().type_in("T0005-O").press("Enter").sees("B 1-2").press("d");
    assert_ne!(at_stop(&ak), TrayId(5));
    ak.sees("all but rack B: 0 done, 3 to do");
    // it is a stop of the walk, and done
    rm.look_around().sees("rack B: 1 done, 2 to do").press("d d").sees("Your racks are done");
    rm.sees("3 trays done, 1 by AK and 2 by RM").sees("Not taken: rack A, 3 to do.");
}

#[test]
fn what_was_chosen_on_a_rack_that_was_taken_is_not_lost() {
    let (mut ak, mut rm) = two();
    ak.press("w a").type_in("T0004-Q").press("Enter o a").type_in("T0001-W").press("Enter");
    rm.look_around().press(RACKS).press("s");
    ak.look_around().press("Esc").sees("Something was chosen and not written").sees("B 1-1").press("d");
    assert!(log(&ak).last().unwrap().text.contains("brown roots"));
}

#[test]
fn other_hands_go_on_in_their_own_racks() {
    let (mut ak, mut rm) = two();
    ak.press("w a");
    rm.look_around().press(RACKS).press("s");
    ak.look_around();
    assert_eq!(at_stop(&ak), TrayId(1));
    ak.press("Space a").sees("at the rack: RM").sees("rack B: 0 done, 3 to do");
    assert_eq!(at_stop(&ak), TrayId(4));
}

#[test]
fn without_racks_of_their_own_two_see_each_other_on_the_walk() {
    let (mut ak, mut rm) = two();
    ak.press("w a");
    rm.look_around().press("w a d").sees("1 done, 5 to do");
    // what the other did in the meantime is done
    ak.look_around().sees("looking and watering: 1 done, 5 to do").sees("RM has just done T0001-W.");
    ak.sees("T0002-U").press("d d d d");
    rm.look_around().sees("5 done, 1 to do");
    ak.press("d").sees("The walk is done").sees("6 trays done, 5 by AK and 1 by RM");
    rm.look_around().sees("The walk is done").sees("6 trays done, 5 by AK and 1 by RM");
}

#[test]
fn alone_there_is_nobody_to_share_with() {
    let mut seat = super::morning();
    seat.press("w a Esc w").sees("go on with the walk");
    assert!(!seat.text().contains("share the walk"));
}
