//! A customer calls: from the complaint to the seed lot, the hold and the call sheet, by keys.

use rackwalk::demo::{Demo, build};

use super::{Seat, stock, twelve};
use crate::book::{Book, at};

/// The demo room on a Tuesday at six.
fn demo() -> Seat {
    let mut book = Book::empty();
    let now = at("2026-07-14T06:00");
    build(&mut book.store, &Demo::default(), now, |_, _| {}).unwrap();
    book.now = now;
    Seat::at(book)
}

#[test]
fn the_demos_story_is_found_from_the_call_to_the_call_sheet_within_forty_keys() {
    let mut seat = demo();
    // Green Corner calls: mould in a pack of the mix, the label is gone
    seat.press(". c m").sees("A customer calls: mould");
    seat.press("g r e e n Enter m i l l Enter C-s").sees("Complaint 3: mould, Green Corner, Mill Street mix 50 g");
    seat.sees("no label").sees("May be it: MIX-260708-B");
    // the pea seed is in it, and in the packs of both complaints of yesterday
    seat.press("t").sees("What it was made of").sees("Whichever of the 2 it is: S0008-D pea").press("Esc");
    // everything it may be and all of its seed is held, and who has any of it stands on one sheet
    seat.press("o").sees("and their seed lots").press("m o u l d C-s").sees("Call sheet").sees("TO CALL");
    seat.sees("Harbour Table").sees("The Copper Pot").sees("Green Corner");
    assert!(seat.keys <= 40, "{} keys", seat.keys);
}

/// The demo's small sister: two packs went to a table this morning, and someone calls.
pub fn called(seat: &mut Seat, keys: &str) {
    seat.press("c yyyy soap Enter 360 Enter C-s Space");
    stock::sells(seat, "d a C-s Esc");
    seat.press(keys);
}

/// The same, written down: mould, label gone.
pub const MOULD: &str = ". c m t C-s";
pub const LISTED: &str = ". c m t C-s Esc .";
pub const LOTS: &str = ". c m t C-s l";
pub const HOLD: &str = ". c m t C-s o";
pub const BACK: &str = ". c m t C-s t";
pub const FORWARD: &str = ". c m t C-s w";
pub const CALLS: &str = ". c m t C-s o g r i t C-s";
pub const CONTACT: &str = ". c m t C-s o g r i t C-s Enter";

fn table() -> Seat {
    let mut seat = Seat::at(twelve::book());
    called(&mut seat, "");
    seat
}

#[test]
fn a_call_is_written_down_and_leads_back_to_its_page() {
    let mut seat = table();
    seat.press(". c m").sees("A customer calls: mould").sees("1 lot went out that it may be");
    seat.press("t a b l e Enter").sees("may be            RAD-").press("C-s").sees("Complaint 1: mould, Table");
    seat.press("m").sees("They said more");
    seat.press("Tab Tab Tab Tab s l i m y C-s").sees("Said: slimy");
    seat.press("l")
        .sees("Which lot it is")
        .press("Space Tab i Tab w e Space r e a d Space i t C-s")
        .sees("It is this one: RAD-");
    seat.press("b g d p r C-s").sees("of people was taken out");
    seat.press("c Tab a n s w e r e d C-s").sees("Closed by AK: answered");
    seat.press("m").sees("it is closed");
    let book = seat.into_book();
    assert_eq!(book.store.complaints().unwrap()[0].told.iter().filter(|(_, told)| told.is_some()).count(), 0);
}

#[test]
fn a_mistyped_label_offers_its_neighbour_and_days_that_cannot_be_are_refused() {
    let mut seat = table();
    let code = seat.book().store.goods(seat.book().now.day()).unwrap().deliveries[0].lines[0].code.clone();
    let wrong = code.replace("-B-", "-A-");
    seat.press(". c m Tab Tab Tab").press(&wrong).sees("One character away").sees(&code);
    // a code that was read whole is the one, and the only one
    seat.press("C-u").press(&code).press("Enter").sees(&format!("may be            [x] {code}"));
    seat.press("Esc . c m Tab Tab 2 0 2 6 - 0 8 - 0 1 Enter").sees("cannot be after");
    seat.press("Esc . t").press(&wrong).press("C-s").sees("is ").sees("Type the one that stands on the label");
}

#[test]
fn illness_shows_the_caution_first_and_one_key_holds_everything() {
    let mut seat = table();
    seat.press(". c i").sees("no medical").sees("keep the pack").sees("authority no number in settings");
    seat.press("y").sees("how many are ill").sees("hold it all       [Yes]");
    seat.press("t a b l e Enter C-s").sees("Complaint 1: illness, Table").sees("HELD").sees("the call sheet");
    // the seed is held as well: none of it is sown
    seat.press("r").sees("Call sheet").sees("TO CALL").press("y").sees("everybody was reached");
    seat.press("Esc Esc Esc s r a d i s h Enter 1 Enter 0 1 R C-s")
        .sees("S0001-R is not to be sown: HELD until it is lifted");
}

#[test]
fn a_trace_opens_shuts_turns_round_and_leads_to_stories_and_holds() {
    let mut seat = table();
    seat.press(MOULD).press("t").sees("What it was made of");
    seat.press("Down Down Down Down")
        .sees("B0001-G radish, sown with 108 g")
        .press("Up Up Up Up Left")
        .sees("> + ")
        .press("Enter")
        .sees("> - ")
        .press("Right Right i")
        .sees("Esc back")
        .press("Esc");
    seat.press("w").sees("Who has it").sees("1 customer got 2 packs");
    seat.press("v").sees("Everything that touched it").press("Esc");
    seat.press("r").sees("make the call sheet").press("g r i t C-s").sees("Call sheet").press("Esc").sees("Who has it");
    seat.press("r").sees("Call sheet").press("e").sees("Only an exercise");
}

#[test]
fn an_exercise_holds_nothing_is_scored_and_kept() {
    let mut seat = table();
    seat.press(". x").sees("Drawn by lot").press("y").sees("EXERCISE: call sheet").sees("nothing is held");
    seat.press("n")
        .sees("no answer")
        .press("y")
        .sees("done")
        .press("e n o n e C-s")
        .sees("Over: found 100 %, balance 100 %");
    seat.press("Esc . ").sees("the last on");
    let book = seat.into_book();
    assert!(book.board().holds.is_empty());
    let other = Seat::at(twelve::book()).press(". x").text();
    assert!(other.contains("Nothing went to a customer"), "{other}");
}
