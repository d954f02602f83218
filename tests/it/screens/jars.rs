//! Lots and jars in the sowing form, by keys.

use rackwalk::domain::history::Of;
use rackwalk::domain::id::{SeedLotId, SowingId};
use rusqlite::Connection;

use super::Seat;
use super::form::{afresh, focus, go, value};
use crate::book::Book;

/// A room with the given lots of radish seed, in grams.
pub fn with_radish(grams: &[i64]) -> Seat {
    let mut book = Book::room();
    for lot in grams {
        book.seed("RAD", *lot);
    }
    Seat::at(book)
}

/// Trays that stand in the room.
pub fn trays(seat: &Seat) -> usize {
    seat.session.store.board().unwrap().trays.len()
}

/// Grams left of a lot.
pub fn left(seat: &Seat, code: &str) -> i64 {
    let lots = seat.session.store.seed_lots().unwrap();
    lots.iter().find(|lot| lot.code == code).unwrap().left_mg
}

/// Seed of each batch: batch, lot, milligrams, trays.
fn batches(seat: &Seat) -> Vec<(i64, i64, i64, i64)> {
    let conn = Connection::open(&seat.book().path).unwrap();
    let mut select = conn
        .prepare(
            "SELECT s.id, m.seed_lot_id, -m.mg, (SELECT count(*) FROM tray t WHERE t.sowing_id = s.id)
             FROM sowing s JOIN seed_move m ON m.sowing_id = s.id ORDER BY 1, 2",
        )
        .unwrap();
    let rows = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}

#[test]
fn a_scanned_jar_confirms_as_its_last_three_characters_do() {
    for jar in ["S0001-R", "]C0S0001R", "01R", "1r s0001r"] {
        let mut seat = with_radish(&[1000]);
        seat.press("s r Enter 5 Enter").type_in(jar).press("Enter");
        // the scanner's Enter goes on to the next field and saves nothing
        assert_eq!((focus(&seat).0, trays(&seat)), ("grams", 0));
        seat.press("C-s");
        assert_eq!(trays(&seat), 5, "{jar}");
    }
}

#[test]
fn the_lot_that_expires_first_is_proposed() {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    let crop = book.board().crops.iter().find(|c| c.letters == "RAD").unwrap().id;
    let mut seat = Seat::at(book);
    // a second lot by keys, with 200 days instead of 300
    seat.press("e a rad Enter Fen Enter X2 Enter 800 Enter n Tab Tab +200 C-s");
    assert_eq!(seat.session.store.seed_lots().unwrap().iter().filter(|l| l.crop == crop).count(), 2);
    seat.press("s rad");
    assert_eq!(value(&seat, "lot"), "2");
    seat.press("Tab 2 Tab 02p C-s");
    assert_eq!(batches(&seat).iter().map(|b| b.1).collect::<Vec<_>>(), [2]);
}

#[test]
fn a_lot_that_runs_out_is_followed_by_the_next_and_both_jars_are_read() {
    let mut seat = with_radish(&[390, 1000]);
    seat.press("s rad Tab 20 Tab 01r Tab 27");
    seat.sees("trays 1 to 14: 378 g of S0001-R")
        .sees("tray 15: 12 g of S0001-R and 15 g of S0002-P")
        .sees("trays 16 to 20: 135 g of S0002-P");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("jar", "Read the last three characters off the jar of S0002-P.".into()));
    assert_eq!(trays(&seat), 0);
    seat.type_in(" 02P").press("C-s");
    seat.sees("20 trays of radish sown: batches B0001-G, B0002-E, B0003-C");
    assert_eq!(batches(&seat), [(1, 1, 378_000, 14), (2, 1, 12_000, 1), (2, 2, 15_000, 1), (3, 2, 135_000, 5)]);
    assert_eq!((left(&seat, "S0001-R"), left(&seat, "S0002-P")), (0, 850_000));
    let board = seat.session.store.board().unwrap();
    let of = |sowing| board.trays.iter().filter(|t| t.sowing == SowingId(sowing)).map(|t| t.id.0).collect::<Vec<_>>();
    let mut first = of(1);
    first.sort_unstable();
    assert_eq!((first, of(2)), ((1..=14).collect(), vec![15]));
}

#[test]
fn a_jar_counted_lower_corrects_the_book_first() {
    let mut seat = with_radish(&[390, 1000]);
    seat.press("s rad Tab 4 Tab").type_in("01r 02p").press("Tab 27");
    go(&mut seat, "counted");
    seat.press("60").sees("trays 1 to 2: 54 g of S0001-R").sees("tray 3: 6 g of S0001-R and 21 g of S0002-P");
    seat.press("Enter");
    assert_eq!(trays(&seat), 4);
    assert_eq!((left(&seat, "S0001-R"), left(&seat, "S0002-P")), (0, 1_000_000 - 48_000));
    let told = seat.session.store.history(Of::SeedLot(SeedLotId(1)), None, 9).unwrap();
    assert!(told[0].text.starts_with("S0001-R counted: -330 g against the book; 2 trays"), "{told:?}");
    // one entry, one undo
    seat.press("u").sees("Taken back");
    assert_eq!((trays(&seat), left(&seat, "S0001-R"), left(&seat, "S0002-P")), (0, 390_000, 1_000_000));
}

#[test]
fn the_wrong_jar_is_named() {
    let mut book = Book::room();
    for crop in ["RAD", "RAD", "PEA"] {
        book.seed(crop, 1000);
    }
    let mut seat = Seat::at(book);
    let pea = seat.session.store.seed_lots().unwrap().into_iter().find(|lot| lot.crop_name == "pea").unwrap().code;
    let want = "Read the last three characters off the jar of S0001-R.";
    for (jar, read) in [
        ("S0002-P", " You read S0002-P: choose it as the first lot, or take the other jar."),
        (pea.as_str(), &format!(" You read {pea}, which is pea seed.")),
        ("XYZ", " XYZ is on no jar of this room."),
        ("1r", " 1R is on no jar of this room."),
    ] {
        afresh(&mut seat, "s");
        seat.press("rad Tab 2 Tab").type_in(jar).press("C-s");
        assert_eq!(focus(&seat), ("jar", format!("{want}{read}")));
        seat.press("Esc");
    }
    assert_eq!(trays(&seat), 0);
    // the other jar may be chosen
    afresh(&mut seat, "s");
    seat.press("rad Tab 2 Tab 02p Tab Tab Right C-s");
    assert_eq!(batches(&seat).iter().map(|b| b.1).collect::<Vec<_>>(), [2]);
}

#[test]
fn a_crop_without_seed_says_where_seed_comes_in() {
    let mut seat = Seat::at(Book::room());
    seat.press("s pea").sees("There is no pea seed to sow: receive a lot first, on the seed shelf.").press("C-s");
    assert_eq!(focus(&seat), ("crop", "There is no pea seed to sow: receive a lot first, on the seed shelf.".into()));
}
