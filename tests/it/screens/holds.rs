//! Holds by keys: bad news of a tray that was cut, a batch held from its story, and the decisions.

use super::form::{focus, put};
use super::{Seat, twelve};

fn open(seat: &Seat) -> usize {
    seat.session.store.board().unwrap().holds.len()
}

#[test]
fn bad_news_of_a_tray_that_was_cut_holds_it_until_someone_decides() {
    let mut seat = Seat::at(twelve::book());
    seat.press("T0001-W Enter Enter c a").sees("T0001-W cut and off the rack.");
    // its label leads to its story; the look of this morning was of something else
    seat.press("T0001-W Enter").sees("Tray T0001-W: not in the room");
    seat.press("Down Down c").sees("another grade or finding").press("a");
    put(&mut seat, "fuzz", "stands");
    put(&mut seat, "reason", "photograph of this morning looked at again");
    seat.sees("T0001-W (radish) was cut, and will be held");
    seat.press("C-s").sees("been cut before this was known: it is held until someone");
    seat.sees("T0001-W held: fuzz came to light that nobody");
    seat.press("Esc").sees("1 hold to decide (d)");
    seat.press("d").sees("hold of T0001-W").press("a").sees("fuzz came to light that nobody cleared.");
    seat.sees("1 tray had left the room. By the book nobody got any of it yet").sees("radish, cut Wed 08 Jul 06:00");
    seat.press("a").sees("Decide another day").sees("Then it stays held, and waits for a decision.");
    put(&mut seat, "reason", "the shop is called first");
    seat.press("C-s").sees("AK decided about the hold of T0001-W: to be decided").press("d").sees("watched;");
    seat.press("a").sees("it was called back and destroyed").press("d").sees("Lift the hold").press("C-s");
    assert_eq!(focus(&seat).0, "reason", "never without a word");
    put(&mut seat, "reason", "dust, seen through the glass");
    seat.press("C-s").sees("this hold is lifted");
    assert_eq!(open(&seat), 0);
    seat.press("d").sees("No breach, no hold and no spell waits for a decision.");
}

#[test]
fn a_batch_is_held_from_its_story() {
    let mut seat = Seat::at(twelve::book());
    seat.press("T0001-W Enter Enter c a").press("T0002-U Enter Enter").sees("batch").press("s").sees("Batch B0001-G");
    seat.press("o").sees("Hold: Batch B0001-G: radish").sees("what was cut already is held");
    seat.press("C-s");
    assert_eq!((focus(&seat).0, open(&seat)), ("reason", 0));
    seat.type_in("grit in the seed").press("Enter").sees("Batch B0001-G is held with all that was made of it");
    let board = seat.session.store.board().unwrap();
    assert_eq!((board.holds[0].trays.len(), board.trays.iter().filter(|tray| tray.held).count()), (4, 3));
    seat.press("Esc Enter c a").sees("T0002-U is held: it is not cut until the hold is lifted.").press("Esc");
    seat.press("u").sees("A hold is not taken back");
    // the log is of everything, and nothing that can be held
    seat.press("l o").sees("A tray or a batch is held from its own story");
}
