//! Two real programs on one book at the same time.

use std::sync::Mutex;
use std::thread;
use std::time::{Duration, Instant};

use assert_cmd::Command;
use rackwalk::domain::action::Action;
use rackwalk::domain::code::Code;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, TrayId};
use rackwalk::domain::walk::Mode;

use super::{Home, Pty, cells};
use crate::book::{AK, Book};

#[test]
fn two_terminals_on_one_book_see_each_other() {
    let home = Home::with_trays();
    let mut one = home.start();
    let mut two = home.start();
    one.sees("1 suspect (p)   2 late   4 due");
    two.sees("1 suspect (p)   2 late   4 due")
        .send("w")
        .sees("looking and watering")
        .send("a")
        .sees("0 done")
        .send("f")
        .sees("1 done");
    one.sees("1 suspect (p)   2 late   3 due");
}

#[test]
fn a_rack_taken_at_one_terminal_leaves_the_walk_at_the_other() {
    let (home, ..) = crowded();
    let mut one = home.start_by(&["--who", "AK"], &[]);
    one.sees("Runs out first").send("w").sees("go on with the walk").send("a").sees("0 done, 10 to do");
    let mut two = home.start_by(&["--who", "RM"], &[]);
    two.sees("Runs out first").send("w").sees("share the walk").send("s").sees("Take a rack");
    two.send("\u{1b}[B\r").sees("rack B: 0 done, 5 to do");
    // without a key
    one.sees("all but rack B: 0 done, 5 to do").sees("Rack B is RM's now.");
    two.send("f").sees("rack B: 1 done, 4 to do").send("\u{1b}").sees("Not taken:");
}

/// How long the two write without a pause.
const WRITING: Duration = Duration::from_mins(1);
/// What a terminal says when the other holds the book for too long.
const BUSY: &str = "Another terminal is writing";

/// AK and RM, five radish trays on each of two racks, and the walk AK began.
fn crowded() -> (Home, PersonId, [Vec<TrayId>; 2]) {
    let mut book = Book::room();
    let add = Action::AddPerson { initials: "RM".into(), name: "Rui".into(), may_decide: false };
    let rm = PersonId(book.act(&add).made.unwrap());
    let lot = book.seed("RAD", 1000);
    let trays = ["A", "B"].map(|rack| {
        let labels = ["1-1", "1-2", "1-3", "1-4", "2-1"].map(|place| format!("{rack} {place}"));
        book.radish_at(lot, &labels.each_ref().map(String::as_str))
    });
    book.later(chrono::Duration::days(2));
    book.act(&Action::StartWalk { mode: Mode::Both, racks: None });
    (Home::with(book), rm, trays)
}

/// One pair of hands: keys as fast as the screen confirms what they wrote. Keeps what it was told is in the book.
struct Hands {
    pty: Pty,
    trays: Vec<TrayId>,
    /// What the log must say, entry by entry.
    written: Vec<String>,
}

impl Hands {
    fn at(home: &Home, who: &str, rack: &str, key: &str, trays: &[TrayId]) -> Self {
        let mut pty = home.start_by(&["--who", who], &[]);
        pty.sees("North Bench (NB)").sees(&format!("at the rack: {who}"));
        pty.send("w").sees("share the walk").send("s").sees("Take a rack of the walk").send(key);
        pty.sees(&format!("{who} takes rack {rack} of the walk")).sees(&format!("rack {rack}: 0 done, 5 to do"));
        let written = vec![format!("takes rack {rack} of the walk AK began")];
        Self { pty, trays: trays.to_vec(), written }
    }

    /// To a tray by its label.
    fn go(&mut self, n: usize) -> String {
        let code = Code::tray(self.trays[n].0).to_string();
        self.pty
            .send(&format!("{code}\r"))
            .sees(&format!("Label {code}: by the book"))
            .sees(&format!("{code}   batch"));
        code
    }

    fn grade(&mut self, code: &str, round: usize) {
        let (key, grade) = [("a", "none"), ("s", "peeking"), ("d", "plenty"), ("f", "full")][round % 4];
        let said = format!("{code}: roots {grade}, watered");
        self.pty.send(key).sees(&said);
        self.written.push(said);
    }

    /// Four of the five stops, so that the walk never ends: grades, a note, a move, and one entry taken back.
    fn round(&mut self, round: usize) {
        for n in 0..3 {
            let code = self.go(n);
            if n == round % 7 {
                let note = format!("round {round}");
                self.pty.send("n").sees(&format!("Note on {code}")).send(&format!("{note}\r"));
                self.pty.sees("chosen       note");
            }
            self.grade(&code, round + n);
        }
        let code = self.go(3);
        self.pty.send("m").sees(&format!("Move {code} from")).send("s").sees(&format!("{code}: to "));
        self.written.push(format!("{code}: moved to "));
        if round.is_multiple_of(3) {
            self.pty.send("u").sees(&format!("Taken back: {code}: moved to "));
            self.written.push("took back entry ".into());
        }
    }

    fn leave(mut self) -> (Pty, Vec<String>) {
        self.pty.send("\u{1b}").sees("still to do").send("q");
        assert!(self.pty.ends().success());
        (self.pty, self.written)
    }
}

/// Every picture the program drew, one after the other, as a person could have seen it.
fn pictures(pty: &Pty) -> Vec<String> {
    let screen = pty.screen.0.lock().unwrap();
    let mut parser = vt100::Parser::new(cells(24), cells(80), 0);
    let mut pictures = Vec::new();
    // every drawing ends by hiding the cursor or putting it somewhere
    for part in String::from_utf8_lossy(&screen.raw).split_inclusive("\u{1b}[?25") {
        parser.process(part.as_bytes());
        pictures.push(parser.screen().contents());
    }
    pictures
}

#[test]
#[ignore = "takes a minute; .ci/run runs it"]
fn two_programs_write_for_a_minute_and_nothing_is_lost() {
    let (home, rm, trays) = crowded();
    let before = {
        let store = home.store();
        [AK, rm].map(|who| store.history(Of::Person(who), None, 1000).unwrap().len())
    };
    let hands = [
        Mutex::new(Hands::at(&home, "AK", "A", "a", &trays[0])),
        Mutex::new(Hands::at(&home, "RM", "B", "\u{1b}[B\r", &trays[1])),
    ];
    let begun = Instant::now();
    thread::scope(|scope| {
        for hands in &hands {
            scope.spawn(move || {
                let mut hands = hands.lock().unwrap();
                for round in 0.. {
                    if begun.elapsed() >= WRITING {
                        return;
                    }
                    hands.round(round);
                }
            });
        }
    });
    let left = hands.map(|hands| hands.into_inner().unwrap().leave());
    let mut check = Command::new(env!("CARGO_BIN_EXE_rackwalk"));
    let check = check.arg("--book").arg(home.book()).args(["check", "--chain", "--rebuild"]).assert().success();
    let said = String::from_utf8_lossy(&check.get_output().stdout).into_owned();
    assert!(said.contains("chain: whole") && said.contains("as the entries say"), "{said}");
    let store = home.store();
    for ((who, before), (pty, written)) in [AK, rm].into_iter().zip(before).zip(left) {
        let mut log = store.history(Of::Person(who), None, u32::MAX).unwrap();
        log.reverse();
        let log: Vec<&str> = log.iter().skip(before).map(|line| line.text.as_str()).collect();
        assert_eq!(log.len(), written.len(), "{who:?}: as many entries as were confirmed");
        let other = written.iter().zip(&log).find(|(told, line)| !line.starts_with(told.as_str()));
        assert_eq!(other, None, "{who:?}: told and in the book");
        let pictures = pictures(&pty);
        assert!(pictures.len() >= written.len(), "{} pictures of {} entries", pictures.len(), written.len());
        // a sentence that stood for one entry only is found
        assert!(pictures.iter().any(|picture| picture.contains("Taken back: ")));
        let busy = pictures.iter().find(|picture| picture.contains(BUSY));
        assert_eq!(busy, None);
        assert!(written.len() > 100, "{who:?} wrote hardly anything: {}", written.len());
    }
}
