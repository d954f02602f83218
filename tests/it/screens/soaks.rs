//! Seed in water by keys, and signs of fuzz on trial.

use chrono::Duration;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::SeedLotId;

use super::form::{focus, go};
use super::{Seat, morning};
use crate::book::Book;

/// On the shelf of a room with two kilograms of peas.
fn shelf() -> Seat {
    let mut book = Book::room();
    book.seed("PEA", 2000);
    let mut seat = Seat::at(book);
    seat.press("e");
    seat
}

/// Eight hours after 450 g went into water.
fn overnight() -> Seat {
    let mut seat = shelf();
    seat.press("k Tab 450 C-s").sees("450 g of S0001-R soaking since 06:00; drain at 16:00.");
    seat.later(Duration::hours(8))
}

fn left_g(seat: &Seat) -> i64 {
    seat.session.store.seed_lots().unwrap()[0].left_mg / 1000
}

#[test]
fn seed_is_soaked_drained_and_sown() {
    let mut seat = overnight();
    seat.press("r").sees("1 in water").press("k").sees("drain at 16:00; soaking since 06:00, 8 h so far").press("Esc");
    let mut seat = seat.later(Duration::hours(2));
    seat.sees("1 soak to drain (r)").press("r").sees("1 in water, 1 to drain").press("Esc e");
    seat.sees("450 g soaking since 06:00, 10 h so far; to be drained since 16:00").press("k a");
    seat.sees("450 g soaked 10 h, drained 16:00.").press("3 C-s").sees("S0001-R: soaked 10 h, drained 16:00.");
    assert_eq!(left_g(&seat), 2000);
    seat.press("s pea Enter 2 Enter 01R").sees("S0001-R, 440.2 g: soaked 10 h, drained 16:00.");
    assert!(!seat.text().contains("hours soaked"), "the soak says it:\n{}", seat.text());
    seat.press("C-s").sees("2 trays of pea sown");
    assert_eq!(left_g(&seat), 1559);
    seat.press("Esc r").sees("none is in water").press("k").sees("sown; soaked 10 h, drained 16:00");
    seat.press("a").sees("S0001-R soaked 10 h").sees("rinses: 01 Jul 2026 06:00 to 16:00 (10 h)");
}

#[test]
fn a_sowing_from_the_water_says_that_it_drains() {
    let mut seat = overnight();
    seat.press("s pea Enter 2 Enter 01R").sees("S0001-R, 440.2 g: soaking since 06:00, 8 h so far");
    seat.sees("writes it drained now").press("C-s").sees("2 trays of pea sown");
    seat.press("r k").sees("sown; soaked 8 h, drained 14:00");
}

#[test]
fn seed_dry_from_the_jar_leaves_the_soak_alone() {
    let mut seat = overnight();
    seat.press("s pea Enter 1 Enter 01R");
    go(&mut seat, "from_soak");
    seat.press("n").sees("hours soaked");
    assert!(!seat.text().contains("writes it drained"), "{}", seat.text());
    seat.press("C-s").sees("1 tray of pea sown").press("r").sees("1 in water");
}

#[test]
fn the_field_of_hours_is_for_what_no_soak_covers() {
    let mut seat = overnight();
    seat.press("s pea Enter 3 Enter 01R")
        .sees("450 g: soaking since")
        .sees("hours soaked")
        .sees("no soak of the book covers");
    seat.press("C-s").sees("3 trays of pea sown");
    assert_eq!(left_g(&seat), 1339);
    let conn = rusqlite::Connection::open(&seat.book().path).unwrap();
    let rest: (i64, i64) = conn
        .query_row(
            "SELECT (SELECT sum(mg) FROM soak_sown), (SELECT mg FROM soak WHERE drained IS NOT NULL)",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .unwrap();
    assert_eq!(rest, (450_000, 3 * 220_100 - 450_000));
}

#[test]
fn cleaning_wants_product_strength_and_minutes_and_warns() {
    let mut seat = shelf();
    seat.press("k Right").sees("Never mix bleach with acid, peroxide or ammonia").sees("goggles and gloves");
    seat.sees("local rules decide").press("Tab 450 C-s");
    assert_eq!(focus(&seat), ("product", "fill this in, it is needed.".to_string()));
    seat.type_in("peroxide").press("C-s");
    assert_eq!(focus(&seat).0, "strength");
    seat.type_in("as the label").press("C-s");
    assert_eq!(focus(&seat).0, "minutes");
    seat.press("10 C-s").sees("450 g of S0001-R cleaning since 06:00; drain at 06:10.");
    seat.sees("drain at 06:10 with peroxide, as the label").press("k a").sees("rinse as its label says").press("2 C-s");
    seat.press("i").sees("450 g of S0001-R (pea) cleaned with");
}

#[test]
fn what_is_in_water_comes_first_and_more_can_go_in() {
    let mut seat = overnight();
    seat.press("e k").sees("drain 450 g").press("z Tab 1600 C-s");
    seat.sees("S0001-R holds 2000 g, 450 g of it soaked or cleaned already").press("Backspace C-s");
    seat.press("k").sees("drain 450 g").sees("drain 160 g");
}

#[test]
fn slime_is_refused_and_can_have_happened() {
    let mut book = Book::room();
    book.seed("MUS", 100);
    let mut seat = Seat::at(book);
    seat.press("e k").sees("turns to slime").press("Tab 20 Tab 4 C-s").sees("it already happened");
    seat.press("s").type_in("a new hand").press("Enter").sees("this seed is sown dry: held until");
    assert_eq!(seat.session.store.history(Of::SeedLot(SeedLotId(1)), None, 9).unwrap().len(), 2);
    seat.press("Esc").sees("1 breach to decide");
}

#[test]
fn another_terminal_drained_it_meanwhile() {
    let mut seat = overnight();
    seat.press("e k a 3");
    let mut other = seat.beside();
    other.press("r k a 1 C-s").sees("soaked 8 h, drained 14:00.");
    seat.press("C-s").sees("It is drained already: soaked 8 h, drained 14:00.");
}

#[test]
fn signs_are_tried_and_nothing_is_written() {
    let mut seat = morning();
    let before = seat.session.store.newest_entry().unwrap();
    seat.press("r f").sees("tick what is seen").sees("nothing is written, and no figure clears a tray");
    // by the table of points: stands, web and patches make hair -12, mould 12, rot 2
    seat.press("k e p").sees("MOULD").sees("(hair -12, mould 12,").sees("seen: in patches");
    seat.press("y").sees("CANNOT BE").press("k").sees("seen: lies down when misted");
    assert!(!seat.text().contains("CANNOT BE") && !seat.text().contains("seen: stands"), "{}", seat.text());
    seat.press("z").sees("tick what is seen").press("q u").sees("CANNOT BE").press("Esc");
    assert_eq!(seat.session.store.newest_entry().unwrap(), before);
    assert!(seat.session.model.board.trays.iter().all(|tray| !tray.suspect));
}
