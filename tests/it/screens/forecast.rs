//! The forecast on the screens: what was seen moves the window, and says so.

use chrono::Duration;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::look::Roots;

use super::Seat;
use crate::book::{Book, roots};

/// Four radish trays of the first of July, graded on the days given; the plan says none, peeking, plenty, full on days 1
/// to 4 and a cut on days 6 to 10.
fn graded(days: &[(i64, [Roots; 4])]) -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays: Vec<TrayId> = book.sow("RAD", lot, 4);
    let mut today = 0;
    for (day, grades) in days {
        book.later(Duration::days(day - today));
        today = *day;
        for (tray, grade) in trays.iter().zip(grades) {
            book.act(&roots(*tray, *grade));
        }
    }
    Seat::at(book)
}

use Roots::{Full, None as No, Peeking, Plenty};

#[test]
fn late_roots_move_the_window_and_the_plan_stays_in_sight() {
    let mut seat = graded(&[(2, [No; 4]), (4, [Peeking, Full, Full, Full])]);
    seat.sees("2 d behind the plan: cut 09 Jul to 13 Jul ±3 d (plan 07 to 11); v says why");
    seat.sees("       |covered─── |lit─ |cut────────── |past");
    seat.sees("ahead                 |lit──── |cut──────────");
    seat.sees("Runs out first, trays by plan").sees("in 2-6 d   radish").sees("forecast in 4-8 d ±3 d");
    seat.press("v").sees("day 2: roots none, the plan says peeking: 1 d behind the plan");
    seat.sees("day 4: roots peeking, the plan says full: 2 d behind the plan").sees("The newest day counts");
    seat.sees("The plan's window: Tue 07 Jul to Sat 11 Jul, day 6 to 10.");
    seat.sees("The forecast: 2 d later, Thu 09 Jul to Mon 13 Jul, give or take 3 d");
    seat.sees("Days are no clearance").press("Esc").press("Enter c").sees("by forecast day 8 to 12, ±3 d");
    // it is an estimate: the tray is ready when the plan says so
    let board = seat.session.store.board().unwrap();
    assert_eq!(board.trays[0].cut_from().to_string(), "2026-07-07");
    assert_eq!(board.runs_out[0].from.to_string(), "2026-07-07");
}

#[test]
fn early_roots_move_it_forward() {
    let mut seat = graded(&[(1, [Peeking; 4]), (2, [Plenty; 4])]);
    seat.sees("1 d ahead of the plan: cut 06 Jul to 10 Jul ±2 d (plan 07 to 11)").sees("forecast in 3-7 d ±2 d");
}

#[test]
fn one_day_alone_counts_half_and_a_correction_counts_at_once() {
    let mut seat = graded(&[(3, [No; 4])]);
    seat.sees("2 d behind the plan: cut 08 Jul to 12 Jul ±2 d (plan 07 to 11)");
    seat.press("v").sees("Grades of one day only, 2 d behind the plan: half of it counts, 1 d.").press("Esc");
    // the newest entry, the fourth tray, is taken back: the other three still say so
    seat.press("u").sees("cut 08 Jul to 12 Jul ±2 d").press("u u u").sees("4 of 4 standing, cut 07 Jul to 11 Jul");
    seat.press("v").sees("No roots were graded since day 1, so nothing is forecast");
}

#[test]
fn an_empty_place_has_no_forecast_to_explain() {
    let mut seat = graded(&[(2, [Peeking; 4])]);
    seat.sees("4 of 4 standing, on plan, cut 07 Jul to 11 Jul");
    seat.press("Down v").sees("No tray stands here");
}

#[test]
fn narrow_and_wide_screens_say_both_windows() {
    let mut seat = graded(&[(2, [No; 4]), (4, [Peeking; 4])]);
    seat.size(58, 24);
    seat.sees("cut Tue 07 Jul to Sat 11 Jul").sees("by forecast in 4-8 d ±3 d");
    seat.size(140, 40);
    seat.sees("Runs out first, trays by plan").sees("forecast in 4-8 d ±3 d").sees("cut 09 Jul to 13 Jul ±3 d");
}
