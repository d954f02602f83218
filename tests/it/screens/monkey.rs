//! A monkey at the keyboard: whatever is pressed, pasted or resized, nothing panics and the book stays sound.

use std::collections::HashSet;

use chrono::Duration;
use fastrand::Rng;
use rackwalk::app::effect::Msg;
use rackwalk::app::form::State;
use rackwalk::app::key::Key;
use rackwalk::app::model::{Model, Notice, Screen};
use rackwalk::domain::history::Of;

use super::{MONO, PLAIN, Seat, twelve};

const KEYS: usize = 3000;
/// After so many keys the monkey comes back the next morning.
const DAY: usize = 500;

const SMALL: &str = "abcdefghijklmnopqrstuvwxyz";
const ODD: &str = "ABTS0123456789.,-+?!/ ()[]{}#~'\"\\|@é豆\u{1d}\u{7}\u{202e}";
const NAMED: &[Key] = &[
    Key::Left,
    Key::Right,
    Key::Up,
    Key::Down,
    Key::Home,
    Key::End,
    Key::PageUp,
    Key::PageDown,
    Key::Tab,
    Key::BackTab,
    Key::Backspace,
    Key::Delete,
    Key::F(1),
    Key::F(12),
    Key::Ctrl('s'),
    Key::Ctrl('u'),
    Key::Ctrl('w'),
    Key::Ctrl('t'),
    Key::Ctrl('j'),
    Key::Ctrl(']'),
];

/// What people and scanners do in one go.
const WHOLE: &[&str] = &[
    "T0004-Q",
    "T0001W",
    "T0007-K",
    "T9999-9",
    "T0001-X",
    "S0001-R",
    "S0003-N",
    "B0001-G",
    "radish",
    "001",
    "today",
    "-3",
    "2026-13-40",
    "12,5",
    "1e9",
    "999999999999999999999",
    "-1",
    "0",
    "5x4",
    "40x40",
    "RM",
    "half a note",
];
/// Work that a monkey would hardly ever get right by single keys; it starts from wherever the screen is.
const WORK: &[&str] = &[
    "Esc Esc s radish Enter 2 Enter 01R C-s",
    "Esc Esc e a pea Enter Fen Enter lot7 Enter 500 Enter no C-s",
    "Esc Esc e c 300 Enter",
    "Esc Esc w a f f d r r",
    "Esc Esc w a j s Enter u",
    "Esc Esc w d f f v",
    "Esc Esc a w s a f Space s",
    "Esc Esc n t a a u",
    "Esc Esc Enter c a u",
    "Esc Esc n n Enter c a s rush Enter",
    "Esc Esc c yyyy soap C-s 300 Enter Enter",
    "Esc Esc Space p C-s l i",
    "Esc Esc d a a Tab rush C-s",
    "Esc Esc w a j s n u",
    "Esc Esc p Enter i u",
    "Esc Esc p Enter w Tab rush C-s",
    "Esc Esc p o j a r o Enter Enter c Tab rush C-s",
    "Esc Esc p Enter t j a u",
    "Esc Esc x s a RM Enter Rita C-s Esc a",
];
const SIZES: &[(u16, u16)] = &[(0, 0), (10, 3), (40, 10), (60, 20), (80, 24), (80, 24), (80, 24), (120, 40)];

fn one_of(rng: &mut Rng, letters: &str) -> char {
    letters.chars().nth(rng.usize(0..letters.chars().count())).unwrap()
}

/// One thing the monkey does.
fn act(seat: &mut Seat, rng: &mut Rng) {
    // nobody wipes for long
    if matches!(seat.session.model.top(), Some(Screen::Locked(_))) && rng.u8(0..5) == 0 {
        seat.press("Enter Enter Enter");
    }
    match rng.u8(0..100) {
        0..=54 => seat.key(Key::Char(one_of(rng, SMALL))),
        55..=59 => seat.key(Key::Char(one_of(rng, ODD))),
        60..=74 => seat.key(Key::Enter),
        75..=81 => seat.key(Key::Esc),
        82..=92 => seat.key(*rng.choice(NAMED).unwrap()),
        93 => {
            seat.press(rng.choice(WORK).unwrap());
        }
        94..=95 => {
            let word = *rng.choice(WHOLE).unwrap();
            seat.type_in(word);
            if rng.bool() {
                seat.key(Key::Enter);
            } else {
                seat.silence();
            }
        }
        96 => {
            let text = match rng.u8(0..4) {
                0 => "x".repeat(10_000),
                1 => "\u{1b}[31mred\u{7}\r\n\u{202e}evil\0\u{9b}2J\tend".to_string(),
                2 => "👩\u{200d}🌾e\u{301}\u{301}豆\n".repeat(20),
                _ => (*rng.choice(WHOLE).unwrap()).to_string(),
            };
            seat.flow = seat.session.handle(Msg::Paste(text));
        }
        97 => {
            let (width, height) = *rng.choice(SIZES).unwrap();
            seat.size(width, height);
        }
        98 => seat.silence(),
        _ => seat.flow = seat.session.handle(Msg::OthersWrote),
    }
}

/// Sentences that only a fault in the program brings up: a rule of the trade should have spoken before.
fn is_fault(sentence: &str) -> bool {
    ["The book's rule", "SQLite refused", "cannot be understood", "refers to"]
        .iter()
        .any(|sign| sentence.contains(sign))
}

fn said(model: &Model) -> String {
    let notice = match &model.notice {
        Some(Notice::Said(text) | Notice::Refused(text)) => text.clone(),
        None => String::new(),
    };
    match model.form().map(|form| &form.state) {
        Some(State::Refused(sentence)) => format!("{notice} {sentence}"),
        _ => notice,
    }
}

/// The screen shows what the book holds, and what holds always.
fn check(seat: &Seat, about: &str) {
    let model = &seat.session.model;
    let store = &seat.session.store;
    assert!(matches!(model.screens.first(), Some(Screen::Room(_))), "{about}: {:?}", model.screens.first());
    assert!(model.screens.len() < 12, "{about}: screens pile up");
    let board = store.board().unwrap();
    assert_eq!(model.board, board, "{about}: the room on the screen is not the room in the book");
    let lots = store.seed_lots().unwrap();
    assert!(lots.iter().all(|lot| lot.left_mg >= 0), "{about}: {lots:?}");
    let places: HashSet<_> = board.trays.iter().map(|tray| tray.place.id).collect();
    assert_eq!(places.len(), board.trays.len(), "{about}: two trays in one place");
    if let Some(walk) = model.walk()
        && let Some(at) = walk.at
    {
        assert!(walk.route.contains(&at), "{about}: the walk stands beside its route");
    }
}

fn run(seed: u64) {
    let mut rng = Rng::with_seed(seed);
    let mut seat = Seat::at(twelve::book());
    for n in 0..KEYS {
        if n > 0 && n % DAY == 0 {
            seat = seat.next_morning(Duration::days(1));
        }
        act(&mut seat, &mut rng);
        let about = format!("seed {seed}, step {n}");
        assert!(!seat.session.model.screens.is_empty(), "{about}");
        let words = said(&seat.session.model);
        assert!(!is_fault(&words), "{about}: {words}");
        if n % 7 == 0 {
            let (width, height) = seat.session.model.size;
            seat.text_in(width, height, if n % 2 == 0 { &PLAIN } else { &MONO });
            check(&seat, &about);
        }
    }
    let store = &mut seat.session.store;
    let broken = store.verify_chain(|_| ()).unwrap().broken_at;
    let told = store
        .history(Of::Everything, None, 900)
        .unwrap()
        .into_iter()
        .find(|line| Some(line.id) == broken.map(rackwalk::domain::id::EntryId));
    assert_eq!(broken, None, "seed {seed}: {told:?}");
    assert_eq!(store.rebuild().unwrap(), 0, "seed {seed}");
    assert_eq!(store.integrity().unwrap(), [] as [String; 0], "seed {seed}");
    let newest = store.history(Of::Everything, None, 1).unwrap();
    assert!(newest[0].id.0 > 90, "seed {seed}: the monkey wrote hardly anything: {newest:?}");
}

#[test]
fn monkey_one() {
    run(1);
}

#[test]
fn monkey_two() {
    run(2);
}

#[test]
fn monkey_three() {
    run(3);
}
