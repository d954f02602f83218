//! Past entries put right by keys, with what depends on them listed before saving.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};

use super::Seat;
use crate::book::{Book, roots};

fn sound(seat: &mut Seat) {
    assert_eq!(seat.session.store.rebuild().unwrap(), 0);
    assert_eq!(seat.session.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

/// Three trays from the wrong one of two radish lots, looked at since.
fn wrong_lot() -> Seat {
    let mut book = Book::room();
    let first = book.seed("RAD", 1000);
    book.seed("RAD", 500);
    book.sow("RAD", first, 3);
    book.later(Duration::days(2));
    book.act(&roots(TrayId(1), Roots::Peeking));
    Seat::at(book)
}

#[test]
fn a_wrong_seed_lot_found_two_days_later() {
    let mut seat = wrong_lot();
    // the story of the tray: the look on top, the sowing below
    seat.press("Left i Down c").sees("Put entry 4 right").sees("crop, day or seed of batch B0001-G").press("a");
    seat.sees("Entry 4: 3 trays of radish sown as batch B0001-G with 81 g of seed lot S0001-R");
    seat.press("Tab Tab").type_in("S0002").press("Tab");
    seat.sees("What changes with it:").sees("S0001-R: 919 g -> 1000 g left.").sees("S0002-P: 500 g -> 419 g left.");
    seat.press("Tab").type_in("jar was misread").press("Enter").sees("Entry 4 is put right: jar was misread.");
    seat.sees("[put right by entry 6]").sees("entry 4 put right: sown with 81 g of seed lot").sees("jar was misread");
    let left: Vec<i64> = seat.session.store.seed_lots().unwrap().iter().map(|lot| lot.left_mg).collect();
    assert_eq!(left, [1_000_000, 419_000]);
    let line = seat.session.store.timeline(rackwalk::domain::id::SowingId(1)).unwrap();
    assert_eq!(line.seed, [("S0002-P".to_string(), 81_000)]);
    // the old value stays in the story
    let story = seat.session.store.history(Of::Tray(TrayId(1)), None, 9).unwrap();
    assert!(story.iter().any(|line| line.text.contains("81 g of seed lot S0001-R")));
    sound(&mut seat);
    // and the correction can be taken back
    seat.press("Esc u");
    let left: Vec<i64> = seat.session.store.seed_lots().unwrap().iter().map(|lot| lot.left_mg).collect();
    assert_eq!(left, [919_000, 500_000]);
    sound(&mut seat);
}

#[test]
fn another_day_moves_the_cutting_window() {
    let mut seat = wrong_lot();
    seat.press("Left i Down c a Tab").type_in("2026-06-29").press("Tab").sees("sown 2026-07-01 -> 2026-06-29");
    seat.sees("cut 07 Jul to 11 Jul -> 05 Jul to 09").press("Tab Tab").type_in("written down late").press("Enter");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.day(seat.book().now.day()), 4);
    sound(&mut seat);
}

#[test]
fn a_wrong_grade_is_put_right_and_stays_visible() {
    let mut seat = wrong_lot();
    seat.press("Left i c a Tab").type_in("plenty").press("Tab").sees("last look roots peeking").sees("-> roots plenty");
    seat.press("Tab Tab Tab Tab").type_in("read the wrong tray").press("Enter").sees("is put right");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Plenty));
    seat.sees("roots peeking, watered  [no longer counts:");
    sound(&mut seat);
    seat.press("Esc u");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Peeking));
    sound(&mut seat);
}

#[test]
fn where_a_tray_stood_and_what_was_received() {
    let mut seat = wrong_lot();
    seat.press("Left i Down c s")
        .sees("it stood at")
        .press("Tab")
        .type_in("B 2-2")
        .press("Tab")
        .sees("place A 1-1 -> B 2-2");
    seat.type_in("misread the rack").press("Enter").sees("is put right");
    assert_eq!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().place.label(), "B 2-2");
    seat.press("Esc l").press("End Up c").sees("how much was received").press("a").type_in("60").press("Tab");
    seat.sees("The lot does not hold that much seed")
        .press("BackTab")
        .press("Backspace Backspace")
        .type_in("900")
        .press("Tab");
    seat.sees("S0001-R: 919 g -> 819 g left.").type_in("weighed again").press("Enter").sees("is put right");
    sound(&mut seat);
}

#[test]
fn what_never_happened_no_longer_counts() {
    let mut seat = wrong_lot();
    // the sowing is built upon: the look names itself
    seat.press("Left i Down c").sees("not now: Entry 5 builds on it").press("d").sees("Not done: Entry 5 builds");
    seat.press("Esc Up c s").type_in("another tray").press("Enter").sees("is put right");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().last.is_none());
    seat.press("Down c").sees("no longer counts");
    seat.press("Esc u").sees("is not taken back");
    sound(&mut seat);
}

#[test]
fn fuzz_that_stood_is_taken_back_by_two_only() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 200);
    book.sow("RAD", lot, 1);
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rui Matos".into(), may_decide: false });
    book.later(Duration::days(2));
    let look = Look { fuzz: Some(Mist::Stands), ..Look::of(TrayId(1)) };
    book.act(&Action::Look(Box::new(look)));
    let mut seat = Seat::at(book);
    seat.press("i c s").type_in("it was a splash").press("C-s");
    seat.sees("taken back by two people only").press("Right C-s").sees("it was a splash (with RM)");
    assert!(!seat.session.store.board().unwrap().trays[0].suspect);
    sound(&mut seat);
}

/// The same with RM, who has left since, on the list.
fn with_rm() -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rui Matos".into(), may_decide: false });
    book.sow("RAD", lot, 3);
    book.later(Duration::days(2));
    book.act(&roots(TrayId(1), Roots::Peeking));
    let (person, name) = (PersonId(2), "Rui Matos".to_string());
    book.act(&Action::EditPerson { person, rev: 0, name, may_decide: false, retired: true });
    book.later(Duration::hours(3));
    Seat::at(book)
}

#[test]
fn when_it_was_and_whose_hands_are_put_right() {
    let mut seat = with_rm();
    seat.press("Left i c").sees("when, or who").press("d").sees("Entry 5: T0001-W: roots peeking, watered");
    seat.sees("on which day").sees("at what time").sees("06:00").sees("who saw it");
    seat.type_in("2026-07-02").press("Tab").type_in("18:20").press("Tab");
    seat.sees("What changes with it:")
        .sees("looked at 2026-07-03 -> 2026-07-02")
        .sees("watered 2026-07-03 -> 2026-07-02");
    seat.type_in("RM").press("Tab").sees("last look roots peeking (AK) -> roots peeking (RM)");
    seat.type_in("RM noted it on the door").press("Enter").sees("Entry 5 is put right: RM noted it on the door.");
    seat.sees("(seen 02 Jul 18:20 by RM, typed").sees("[no longer counts:");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!((card.last.unwrap().who.as_str(), card.watered_on.unwrap().to_string()), ("RM", "2026-07-02".into()));
    sound(&mut seat);
    seat.press("Esc u").sees("Taken back");
    let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
    assert_eq!((card.last.unwrap().who.as_str(), card.watered_on.unwrap().to_string()), ("AK", "2026-07-03".into()));
    sound(&mut seat);
}

#[test]
fn of_a_sowing_only_the_initials_are_asked_here() {
    let mut seat = with_rm();
    seat.press("Left i Down c").press("f").sees("Here only who it was; the day is put right with crop and seed.");
    assert!(!seat.text().contains("at what time"));
    seat.type_in("RM").press("Tab").sees("Nothing else depends on it.").type_in("RM sowed it").press("Enter");
    seat.sees("Entry 4 is put right: RM sowed it.").sees("entry 4 put right: it was RM, not AK");
    sound(&mut seat);
}

#[test]
fn times_that_cannot_be_are_refused_in_one_sentence() {
    let mut seat = with_rm();
    let open = |seat: &mut Seat| {
        seat.press("Esc Left i c d C-n");
    };
    for (day, time, sentence) in [
        ("2026-07-03", "25:00", "Write the time such as 06:10."),
        ("2026-07-03", "09:30", "That time is still to come: give the time it was seen."),
        ("2026-06-30", "06:10", "T0001-W was sown on 2026-07-01: nothing was seen of it before."),
        ("2026-07-03", "06:00", "Nothing was changed."),
    ] {
        open(&mut seat);
        seat.type_in(day).press("Tab").type_in(time).press("Tab Tab").type_in("x").press("C-s").sees(sentence);
        seat.press("Esc");
    }
    open(&mut seat);
    seat.type_in("2026-07-04").press("C-s").sees("on which day");
    assert!(matches!(seat.session.model.top(), Some(rackwalk::app::model::Screen::Form(_))));
    seat.press("Esc");
    open(&mut seat);
    seat.press("Tab").type_in("05:50").press("C-s").sees("fill this in");
    sound(&mut seat);
}

#[test]
fn what_was_put_right_to_another_time_can_still_be_said_away() {
    let mut seat = with_rm();
    seat.press("Left i c d").type_in("2026-07-02").press("Tab").type_in("18:20").press("Tab Tab");
    seat.type_in("noted on the door").press("Enter").sees("is put right");
    let mut seat = seat.next_morning(Duration::days(1));
    seat.press("u").sees("put it right from the log");
    seat.press("Left i c s").sees("This never happened").sees("What changes with it:").sees("(AK) -> none");
    seat.type_in("it was the shelf below").press("Enter").sees("is put right: it was the shelf below.");
    assert!(seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().last.is_none());
    // the correction itself says nothing of trays
    seat.press("Up Up c").sees("This kind of entry is not put right");
    assert!(matches!(seat.session.model.top(), Some(rackwalk::app::model::Screen::Story(_))));
    sound(&mut seat);
}

/// The other terminal saves another lot for the batch.
fn another_lot(seat: &Seat) {
    let mut other = seat.beside();
    other.press("Left i Down c a Tab Tab").type_in("S0002").press("Tab Tab").type_in("jar was misread").press("Enter");
    other.sees("Entry 4 is put right: jar was misread.");
}

#[test]
fn two_put_one_batch_right_and_both_count() {
    let open = |seat: &mut Seat| {
        seat.press("Left i Down c a").sees("Entry 4: 3 trays of radish");
    };
    let day = |seat: &mut Seat| {
        seat.press("Tab").type_in("2026-06-29").press("Tab");
    };
    let why = |seat: &mut Seat| {
        seat.press("Tab Tab").type_in("written down late");
    };
    let taken = "Someone else changed seed lot, which stands here now";
    // seen at once, seen with the consequences of another day, seen only when saving, and begun before a menu was left
    for when in 0..4 {
        let mut seat = wrong_lot();
        if when == 3 {
            seat.press("Left i Down c");
            another_lot(&seat);
            seat.press("a");
        } else {
            open(&mut seat);
        }
        if when == 0 {
            another_lot(&seat);
            seat.look_around().sees(&format!("{taken}."));
        }
        if when == 1 {
            another_lot(&seat);
        }
        day(&mut seat);
        seat.sees("sown 2026-07-01 -> 2026-06-29");
        why(&mut seat);
        if when == 2 {
            another_lot(&seat);
            seat.press("C-s").sees(&format!("Not saved: {taken}: save again."));
        }
        seat.sees("S0002-P").press("C-s").sees("Entry 4 is put right: written down late.");
        let left: Vec<i64> = seat.session.store.seed_lots().unwrap().iter().map(|lot| lot.left_mg).collect();
        assert_eq!(left, [1_000_000, 419_000], "{when}");
        let card = seat.session.store.board().unwrap().tray(TrayId(1)).unwrap().clone();
        assert_eq!(card.sown.to_string(), "2026-06-29");
        sound(&mut seat);
    }
}

#[test]
fn two_weights_of_one_delivery_stand_side_by_side() {
    let weigh = |seat: &mut Seat, grams: &str| {
        seat.press("l End Up c a Backspace Backspace Backspace Backspace Backspace Backspace").type_in(grams);
        seat.press("Tab").type_in("weighed again");
    };
    let mut seat = wrong_lot();
    weigh(&mut seat, "900");
    let mut other = seat.beside();
    weigh(&mut other, "950");
    other.press("C-s").sees("is put right");
    seat.press("C-s").sees("Not saved: Someone else changed received too: Ctrl-T takes the book's");
    seat.sees("in the book  950 g").press("C-s").sees("is put right");
    let left = |seat: &Seat| seat.session.store.seed_lots().unwrap()[0].left_mg;
    assert_eq!(left(&seat), 819_000);
    sound(&mut seat);
}

#[test]
fn a_batch_that_was_taken_back_meanwhile_is_not_put_right() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 3);
    let mut seat = Seat::at(book);
    seat.press("Left i c a").sees("seed per tray");
    let mut other = seat.beside();
    other.press("u").sees("Taken back");
    seat.look_around().sees("This entry no longer counts, so nothing about it is saved; Esc leaves.");
    let before = seat.session.store.newest_entry().unwrap();
    seat.press("Tab Tab Tab Tab").type_in("x").press("C-s").sees("no longer counts");
    assert_eq!(seat.session.store.newest_entry().unwrap(), before);
}
