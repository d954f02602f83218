//! Sowing by keys.

use rackwalk::app::form::State;
use rackwalk::app::key::Key;
use rackwalk::domain::action::Action;
use rackwalk::domain::crop::Medium;
use rackwalk::domain::id::{SeedLotId, SowingId};
use rackwalk::domain::look::Roots;
use rackwalk::domain::tray::Stage;
use rusqlite::Connection;

use super::form::{elsewhere, focus, go, value};
use super::jars::{left, trays, with_radish};
use super::{MONO, PLAIN, Seat};
use crate::book::{Book, roots};

fn lines(seat: &Seat) -> Vec<String> {
    seat.session.model.form().unwrap().lines.clone()
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
fn a_refused_field_is_seen_in_every_size_and_without_colour() {
    let mut seat = with_radish(&[390, 1000]);
    seat.press("s rad Tab 20 Tab 01r Tab 27 C-s");
    for (width, height) in [(40, 10), (60, 20), (80, 24), (120, 40)] {
        for theme in [PLAIN, MONO] {
            let screen = seat.text_in(width, height, &theme);
            assert!(
                screen.contains("01r") && screen.contains("Not yet: Read the last three"),
                "{width} x {height}:\n{screen}"
            );
        }
    }
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
    assert!(tray.flags(now).iter().any(|flag| flag.text.starts_with("TREATED: not to be cut before Thu 02 Jul 18:00")));
    seat.press("Down Down o").sees("TREATED: not to be cut before Thu 02 Jul 18:00");
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
    elsewhere(&seat, &Action::CountSeed { lot: SeedLotId(1), counted_mg: 40_000 });
    seat.press("C-s");
    assert_eq!(focus(&seat), ("lot", "S0001-R holds 40 g and 58.6 g are wanted: take less, or count the jar.".into()));
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
