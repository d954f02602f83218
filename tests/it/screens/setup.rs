//! The first start by keys: seven questions on an empty book, then a room that can be used.

use rackwalk::domain::room::{Units, Zone};
use rackwalk::runtime::session::Flow;

use super::Seat;
use crate::book::Book;

/// The questions on the screen, in order.
const QUESTIONS: [&str; 7] = [
    "What is the room called?",
    "Two letters for it?",
    "Your initials?",
    "Units?",
    "How are the racks built?",
    "Which tray?",
    "Which crops?",
];

/// At question `n`, counted from 1, with the proposals taken and the initials AK.
fn at_question(n: usize) -> Seat {
    let mut seat = Seat::at(Book::empty());
    for question in 1..n {
        seat.press(if question == 3 { "AK Enter" } else { "Enter" });
    }
    seat.sees(&format!("question {n} of 7"));
    seat
}

fn is_empty(seat: &Seat) -> bool {
    seat.session.store.is_empty().unwrap()
}

#[test]
fn nine_keys_make_a_room_with_what_is_proposed() {
    let mut seat = Seat::at(Book::empty());
    for (n, question) in QUESTIONS.iter().enumerate() {
        seat.sees(question).sees(&format!("question {} of 7", n + 1));
        seat.press(if n == 2 { "AK Enter" } else { "Enter" });
    }
    assert_eq!(seat.keys, 9);
    seat.sees("Grow room is ready").sees("at the rack: AK").sees("Rack A");
    let board = seat.session.store.board().unwrap();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("Grow room", "GR"));
    assert_eq!(board.units, Some(Units::Metric));
    let racks: Vec<(&str, usize, usize)> =
        board.racks.iter().map(|r| (r.name.as_str(), r.shelves().len(), r.places.len())).collect();
    assert_eq!(racks, [("A", 5, 20), ("B", 5, 20), ("ISO", 1, 2)]);
    for place in board.places() {
        let zone = match (place.rack_name.as_str(), place.shelf) {
            ("ISO", _) => Zone::Isolation,
            (_, 5) => Zone::Covered,
            _ => Zone::Lit,
        };
        assert_eq!(place.zone, zone, "{}", place.label());
    }
    assert_eq!(board.formats.len(), 1);
    assert_eq!((board.formats[0].length_mm, board.formats[0].width_mm), (508, 254));
    let people: Vec<(&str, bool)> = board.people.iter().map(|p| (p.initials.as_str(), p.may_decide)).collect();
    assert_eq!(people, [("AK", true)]);
    let crops = seat.session.store.crops().unwrap();
    let letters: Vec<&str> = crops.iter().map(|c| c.letters.as_str()).collect();
    assert_eq!(letters, ["BRO", "PEA", "RAD", "SUN"]);
    for crop in &crops {
        assert_eq!(crop.plan.version, 1, "{}", crop.name);
        assert!(crop.plan.cut_from_d > crop.plan.cover_d && !crop.anchors.is_empty(), "{}", crop.name);
    }
}

#[test]
fn a_room_of_ones_own_words() {
    let mut seat = Seat::at(Book::empty());
    seat.type_in("North Bench").press("Enter nb Enter rm Enter").press("Right Enter");
    seat.type_in("5x4, 4x6").press("Enter Right Right Enter");
    // take off broccoli, put on mustard
    seat.press("br Space mus Space Enter").sees("North Bench is ready");
    let board = seat.session.store.board().unwrap();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("North Bench", "NB"));
    assert_eq!(board.units, Some(Units::Us));
    let racks: Vec<(usize, usize)> = board.racks.iter().map(|r| (r.shelves().len(), r.places.len())).collect();
    assert_eq!(racks, [(5, 20), (4, 24), (1, 2)]);
    assert_eq!((board.formats[0].length_mm, board.formats[0].width_mm), (600, 400));
    let letters: Vec<&str> = board.crops.iter().map(|c| c.letters.as_str()).collect();
    assert_eq!(letters, ["MUS", "PEA", "RAD", "SUN"]);
    assert_eq!(board.people[0].initials, "RM");
}

#[test]
fn escape_goes_back_and_every_answer_stays() {
    let mut seat = Seat::at(Book::empty());
    seat.type_in("North Bench")
        .press("Enter NB Enter AK Enter Right Enter")
        .type_in("1x2x3")
        .press("Enter Right Enter");
    seat.press("mus Space");
    let answers = ["mustard", "10 x 10 in", "1x2x3", "ounces", "AK", "NB", "North Bench"];
    for (back, answer) in answers.iter().enumerate() {
        seat.sees(&format!("question {} of 7", 7 - back)).sees(answer);
        if back < 6 {
            seat.sees("Esc back").press("Esc");
        }
    }
    seat.sees("Esc quit").press("Enter Enter Enter Enter Enter Enter");
    seat.sees("[x] mustard").press("Enter").sees("North Bench is ready: 1 rack and an isolation shelf, 5 crops.");
}

#[test]
fn leaving_at_the_first_question_keeps_what_was_typed() {
    let mut seat = at_question(3);
    seat.press("Esc Esc").sees("question 1 of 7").press("Home");
    seat.type_in("My ").press("Esc");
    assert_eq!(seat.flow, Flow::Quit);
    assert_eq!(seat.session.model.drafts["setup"]["name"], "My Grow room");
    assert!(is_empty(&seat));
}

/// A bad answer is refused with the limits and stays to be mended.
fn refuses(question: usize, bad: &str, sentence: &str) {
    let mut seat = at_question(question);
    seat.type_in(bad).press("Enter");
    seat.sees(&format!("question {question} of 7")).sees(&format!("Not yet: {sentence}")).sees(bad.trim());
    assert!(is_empty(&seat));
    seat.press("Enter").sees(&format!("question {question} of 7"));
}

#[test]
fn bad_answers_are_told_their_limits() {
    refuses(1, " ", "fill this in, it is needed.");
    for code in ["X1", "A", "é"] {
        refuses(2, code, "The room's code is two letters from A to Z, such as NB.");
    }
    for initials in ["A", "A1"] {
        refuses(3, initials, "Initials are two to four letters, such as AK.");
    }
    refuses(5, "axb", "Write racks x shelves x places, such as 2 x 5 x 4;");
    refuses(5, "7", "Write racks x shelves x places, such as 2 x 5 x 4;");
    for side in ["0x4", "99x99"] {
        refuses(5, side, "A rack has 1 to 40 shelves of 1 to 40 places.");
    }
    refuses(5, "61x1x1", "A room has 1 to 60 racks.");
}

#[test]
fn a_refused_answer_is_mended_and_goes_on() {
    let mut seat = at_question(2);
    seat.press("X1 Enter").sees("Not yet:").press("Backspace Y Enter").sees("question 3 of 7");
}

#[test]
fn no_crop_marked_is_refused() {
    let mut seat = at_question(7);
    seat.press("rad Space bro Space pea Space sun Space Enter").sees("Not yet: tick at least one.");
    assert!(is_empty(&seat));
    seat.press("Home Space Enter").sees("is ready: 2 racks and an isolation shelf, 1 crop.");
}

#[test]
fn the_choice_of_units_says_what_the_book_keeps() {
    at_question(4).sees("ounces, °F").sees("and pounds, fl oz, in²; the book keeps grams and °C");
}
