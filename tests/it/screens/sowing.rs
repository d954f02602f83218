//! Sowing by keys.

use rackwalk::app::form::{Remark, State};
use rackwalk::app::key::Key;
use rackwalk::domain::action::Action;
use rackwalk::domain::crop::Medium;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{SeedLotId, SowingId};
use rackwalk::domain::look::Roots;
use rackwalk::domain::tray::Stage;
use rusqlite::Connection;

use super::Seat;
use crate::book::{Book, roots};

/// A room with the given lots of radish seed, in grams.
fn with_radish(grams: &[i64]) -> Seat {
    let mut book = Book::room();
    for lot in grams {
        book.seed("RAD", *lot);
    }
    Seat::at(book)
}

/// The field in focus and the sentence beside it.
fn focus(seat: &Seat) -> (&'static str, String) {
    let field = seat.session.model.form().unwrap().focused().unwrap();
    let sentence = match field.remark() {
        Some(Remark::Unmet(why) | Remark::Refused(why) | Remark::Told(why)) => why.clone(),
        None => String::new(),
    };
    (field.id, sentence)
}

fn lines(seat: &Seat) -> Vec<String> {
    seat.session.model.form().unwrap().lines.clone()
}

/// Goes to a field of the form on top by Tab or Shift-Tab.
fn go(seat: &mut Seat, field: &str) {
    while focus(seat).0 != "crop" {
        seat.press("BackTab");
    }
    while focus(seat).0 != field {
        seat.press("Tab");
    }
}

fn value(seat: &Seat, field: &str) -> String {
    seat.session.model.form().unwrap().field(field).unwrap().check().unwrap()
}

fn trays(seat: &Seat) -> usize {
    seat.session.store.board().unwrap().trays.len()
}

/// Grams left of a lot.
fn left(seat: &Seat, code: &str) -> i64 {
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
fn a_usual_sowing_takes_ten_keys() {
    let mut seat = with_radish(&[1000]);
    seat.press("s ra Enter 5 Enter 01r C-s");
    assert_eq!(seat.keys, 10);
    seat.sees("5 trays of radish sown: batch B0001-G, labels T0001-W to T0005-");
    let board = seat.session.store.board().unwrap();
    assert_eq!(board.trays.len(), 5);
    for tray in &board.trays {
        assert_eq!((tray.stage, tray.sown, tray.plan.cover_d), (Stage::Covered, seat.book().now.day(), 4));
        assert_eq!(tray.watered_on, Some(seat.book().now.day()));
    }
    // 92 % germinate and 90 % are aimed at: 30 g x 90 / 92 = 29.35 g, weighed as 29.3 g
    assert_eq!(left(&seat, "S0001-R"), 1_000_000 - 5 * 29_300);
    assert!(seat.session.model.drafts.is_empty());
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
fn the_arithmetic_is_on_the_screen() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab");
    // by hand: 30 g of seed at 10 g a thousand are 3000 seeds, on 25.4 cm x 50.8 cm = 1290.32 cm² 2.325 each
    seat.sees("2.33 seeds/cm² × 1290.32 cm² = 3000 seeds")
        .sees("3000 seeds × 10.00 g / 1000 = 30.00 g")
        .sees("90 % aimed at / 92 % in this lot = 0.9783")
        .sees("30.00 g × 0.9783 = 29.35 g")
        .sees("tray 1: 29.3 g of S0001-R")
        .sees("Stands at A 3-1 (covered).");
    assert_eq!(value(&seat, "grams"), "29.3");
}

#[test]
fn a_weak_lot_gets_a_fifth_more_at_most_and_a_dead_one_is_named() {
    let mut seat = Seat::at(Book::room());
    // 60 % germinate: 90 / 60 = 1.5 is held at 1.2, 36 g; heavier seed, 12 g a thousand, makes 43.2 g of it
    seat.press("e a rad Enter Fen Enter X1 Enter 500 Enter n Tab Tab Tab 60 Tab 12 C-s");
    seat.press("s rad Tab").sees("90 % aimed at / 60 % in this lot = 1.5000").sees("held at 1.2000");
    seat.sees("3000 seeds × 12.00 g / 1000 = 36.00 g").sees("36.00 g × 1.2000 = 43.20 g");
    assert_eq!(value(&seat, "grams"), "43.2");
    let mut seat = Seat::at(Book::room());
    seat.press("e a rad Enter Fen Enter X1 Enter 500 Enter n Tab Tab Tab 0 C-s");
    seat.press("s rad Tab").sees("This lot germinates 0 %: nothing of it will grow.");
    assert_eq!(value(&seat, "grams"), "30");
}

#[test]
fn other_grams_say_how_far_off_they_are() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab Tab 01r Tab 27").sees("You sow 27 g: -8 % against 29.3 g.").sees("tray 1: 27 g of S0001-R");
    seat.press("C-s").sees("1 tray of radish sown: batch B0001-G, label T0001-W.");
    assert_eq!(left(&seat, "S0001-R"), 973_000);
}

/// Common practice, no source: 27 g of radish on a nominal tray is an ordinary amount.
#[test]
fn twenty_seven_grams_of_radish_are_not_asked_about() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab Tab 01r Tab 27");
    assert!(!seat.session.model.form().unwrap().field("sure").unwrap().shown);
    seat.press("C-s");
    assert_eq!(trays(&seat), 1);
}

#[test]
fn more_than_double_and_under_half_ask() {
    for odd in ["58,7", "14,6"] {
        let mut seat = with_radish(&[1000]);
        seat.press("s rad Tab Tab 01r Tab").type_in(odd).press("C-s");
        assert_eq!(focus(&seat), ("sure", "answer yes or no.".into()), "{odd}");
        seat.sees("more than double or under half").press("n C-s");
        assert_eq!(focus(&seat), ("grams", "Correct the seed per tray, or say yes to it below.".into()));
        assert_eq!(trays(&seat), 0);
        go(&mut seat, "sure");
        seat.press("y C-s");
        assert_eq!(trays(&seat), 1, "{odd}");
    }
    // double and half themselves are not odd: 29.3 g proposed
    for even in ["58,6", "14,65"] {
        let mut seat = with_radish(&[1000]);
        seat.press("s rad Tab Tab 01r Tab").type_in(even).press("C-s");
        assert_eq!(trays(&seat), 1, "{even}");
    }
    // a yes holds for the grams it was given for
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab Tab 01r Tab 70 Tab y BackTab");
    seat.press("Backspace Backspace 90 C-s");
    assert_eq!((focus(&seat).0, trays(&seat)), ("sure", 0));
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
        seat.press("s");
        seat.key(Key::Ctrl('n'));
        seat.press("rad Tab 2 Tab").type_in(jar).press("C-s");
        assert_eq!(focus(&seat), ("jar", format!("{want}{read}")));
        seat.press("Esc");
    }
    assert_eq!(trays(&seat), 0);
    // the other jar may be chosen
    seat.press("s");
    seat.key(Key::Ctrl('n'));
    seat.press("rad Tab 2 Tab 02p Tab Tab Right C-s");
    assert_eq!(batches(&seat).iter().map(|b| b.1).collect::<Vec<_>>(), [2]);
}

#[test]
fn mustard_is_never_soaked_and_pea_is() {
    let mut book = Book::room();
    book.seed("MUS", 1000);
    book.seed("PEA", 5000);
    let mut seat = Seat::at(book);
    seat.press("s mus Tab Tab 01r");
    go(&mut seat, "soak_h");
    seat.press("6 C-s");
    let never = "mustard seed turns to slime in water and clumps: sow it dry.";
    assert_eq!((focus(&seat), trays(&seat)), (("soak_h", never.to_string()), 0));
    seat.press("Backspace 0 C-s");
    assert_eq!(trays(&seat), 1);
    seat.press("s pea Tab Tab 02p");
    assert_eq!(value(&seat, "soak_h"), "10");
    go(&mut seat, "soak_h");
    seat.press("49 C-s");
    assert_eq!(focus(&seat), ("soak_h", "it must be from 0 to 48 h; 49 is outside.".into()));
}

#[test]
fn more_trays_than_places_or_seed_are_refused() {
    let mut seat = with_radish(&[300]);
    seat.press("s rad Tab 25 Tab 01r").sees("25 trays, and only 24 places free: sow fewer, or free some.");
    seat.press("Tab 1 C-s");
    assert_eq!(focus(&seat).0, "sure");
    seat.press("y C-s");
    assert_eq!(focus(&seat), ("trays", "25 trays, and only 24 places free: sow fewer, or free some.".into()));
    let mut seat = with_radish(&[300]);
    seat.press("s rad Tab 11 Tab 01r C-s");
    // 11 x 29.3 g = 322.3 g
    let short = "22.3 g of radish seed are missing: sow fewer trays, receive a lot, or count the jar.";
    assert_eq!((focus(&seat), trays(&seat)), (("trays", short.to_string()), 0));
    for bad in ["0", "401", "2,5"] {
        go(&mut seat, "trays");
        seat.key(Key::Ctrl('u'));
        seat.type_in(bad).press("C-s");
        assert_eq!((focus(&seat).0, trays(&seat)), ("trays", 0), "{bad}");
    }
}

#[test]
fn a_full_room_says_so() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 5000);
    book.sow("RAD", lot, 24);
    let mut seat = Seat::at(book);
    seat.press("s rad Tab Tab 01r").sees("No place is free: cut or throw out trays first").press("C-s");
    assert_eq!(focus(&seat).0, "trays");
    assert_eq!(trays(&seat), 24);
}

#[test]
fn a_crop_without_seed_says_where_seed_comes_in() {
    let mut seat = Seat::at(Book::room());
    seat.press("s pea").sees("There is no pea seed to sow: receive a lot first, on the seed shelf.").press("C-s");
    assert_eq!(focus(&seat), ("crop", "There is no pea seed to sow: receive a lot first, on the seed shelf.".into()));
}

#[test]
fn a_room_without_format_or_crop_says_what_is_missing() {
    let mut seat = with_radish(&[1000]);
    seat.session.model.board.formats.clear();
    seat.press("s").sees("No tray format is known: add one in settings.").press("rad Tab Tab 01r Tab 27 C-s");
    assert_eq!(focus(&seat), ("format", "No tray format is known: add one in settings.".into()));
    seat.press("Esc");
    seat.session.model.board.crops.clear();
    seat.press("s").sees("No crop is grown here: add one in settings.");
    assert_eq!(trays(&seat), 0);
}

#[test]
fn a_mix_asks_its_name_and_wait_and_the_tray_shows_it() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab Tab 01r");
    go(&mut seat, "wet");
    seat.press("mix C-s");
    assert_eq!(focus(&seat), ("mix", "fill this in, it is needed.".into()));
    seat.type_in("dilute peroxide").press("C-s");
    assert_eq!(focus(&seat), ("wait", "fill this in, it is needed.".into()));
    seat.press("1,5 C-s").sees("1 waiting after a treatment");
    let now = seat.book().now;
    let tray = seat.session.store.board().unwrap().trays[0].clone();
    assert_eq!(tray.wait_until.unwrap().0, now.instant().0 + chrono::Duration::hours(36));
    assert!(tray.flags(now.day(), now.instant()).iter().any(|flag| flag.starts_with("sprayed: not to be cut before")));
    seat.press("Down Down o").sees("sprayed: not to be cut before");
}

#[test]
fn medium_its_lot_mats_and_place_are_kept() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab 2 Tab 01r");
    go(&mut seat, "place");
    seat.type_in("b 3-3");
    go(&mut seat, "mats");
    seat.press("9 C-s");
    assert_eq!(focus(&seat), ("mats", "it must be from 1 to 8; 9 is outside.".into()));
    seat.press("Backspace 2 Tab coco Tab").type_in("Coir 2026/4").press("C-s");
    let board = seat.session.store.board().unwrap();
    let at: Vec<String> = board.trays.iter().map(|t| t.place.label()).collect();
    assert_eq!(at, ["B 3-3", "B 3-4"]);
    let conn = Connection::open(&seat.book().path).unwrap();
    let kept: (Medium, String, i64) = conn
        .query_row(
            "SELECT s.medium, l.code, t.mats FROM sowing s JOIN material_lot l ON l.id = s.medium_lot_id
             JOIN tray t ON t.sowing_id = s.id LIMIT 1",
            [],
            |row| Ok((Medium::from_stored(&row.get::<_, String>(0)?).unwrap(), row.get(1)?, row.get(2)?)),
        )
        .unwrap();
    assert_eq!(kept, (Medium::Coco, "Coir 2026/4".to_string(), 2));
}

#[test]
fn yesterday_is_a_day_to_have_sown_and_tomorrow_is_not() {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    book.later(chrono::Duration::days(2));
    let mut seat = Seat::at(book);
    seat.press("s rad Tab Tab 01r");
    go(&mut seat, "day");
    seat.press("+1 C-s");
    assert_eq!(focus(&seat), ("day", "it cannot be after 2026-07-03; this is 2026-07-04.".into()));
    seat.key(Key::Ctrl('u'));
    seat.press("yesterday C-s");
    assert_eq!(seat.session.store.board().unwrap().trays[0].sown, seat.book().now.day().pred_opt().unwrap());
    // before the seed was there
    seat.press("s rad Tab Tab 01r");
    go(&mut seat, "day");
    seat.press("-5").sees("S0001-R stays out: received only on 2026-07-01.").press("C-s");
    assert_eq!((focus(&seat).0, trays(&seat)), ("crop", 1));
}

#[test]
fn a_refusal_of_the_book_keeps_everything_typed() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab 2 Tab 01r");
    // another terminal takes the seed meanwhile
    let mut other = rackwalk::store::Store::open(&seat.book().path, "other").unwrap();
    let count = Action::CountSeed { lot: SeedLotId(1), counted_mg: 40_000 };
    other.act(&count, crate::book::AK, seat.book().now).unwrap();
    seat.press("C-s");
    assert_eq!(focus(&seat), ("lot", "S0001-R holds 40 g and 58.6 g are wanted.".into()));
    assert_eq!((value(&seat, "trays"), value(&seat, "jar"), trays(&seat)), ("2".into(), "01r".into(), 0));
    assert_eq!(seat.session.model.form().unwrap().state, State::Editing);
    // what the other wrote arrives under the open form
    seat.session.look_around();
    assert!(
        lines(&seat).iter().any(|line| line.starts_with("18.6 g of radish seed are missing")),
        "{:?}",
        lines(&seat)
    );
    seat.press("BackTab BackTab BackTab Backspace 1 C-s");
    assert_eq!(trays(&seat), 1);
}

/// Common practice, no source: radish on a wet mat shows no roots on day 1, first ones on day 2, plenty on day 3;
/// it goes to the light about day 4 and is cut about day 7.
#[test]
fn the_starter_plan_of_radish_agrees_with_common_practice() {
    let mut seat = with_radish(&[1000]);
    seat.press("s rad Tab Tab 01r Tab 27 C-s");
    let board = seat.session.store.board().unwrap();
    let tray = &board.trays[0];
    let grades: Vec<Option<Roots>> = (1..=3).map(|day| tray.plan.roots_on(day)).collect();
    assert_eq!(grades, [Some(Roots::None), Some(Roots::Peeking), Some(Roots::Plenty)]);
    assert_eq!(tray.plan.cover_d, 4);
    assert!((tray.plan.cut_from_d..=tray.plan.cut_to_d).contains(&7));
    // seen so, day by day, it is neither early nor late
    let mut book = seat.again();
    for (day, grade) in (1..).zip([Roots::None, Roots::Peeking, Roots::Plenty]) {
        let now = book.book().now.plus(chrono::Duration::days(day));
        let tray = book.session.store.board().unwrap().trays[0].clone();
        book.session.store.act(&roots(tray.id, grade), crate::book::AK, now).unwrap();
        assert_eq!(tray.plan.lead(day, grade), 0, "day {day}");
    }
    let line = book.session.store.timeline(SowingId(1)).unwrap();
    assert_eq!(line.on(3).unwrap().roots_high, Some(Roots::Plenty));
}
