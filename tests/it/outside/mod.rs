//! What others published or worked out (`statistics`), and independent readers: Python recomputes the chain, the `sqlite3` shell
//! reads the book and an export.
//!
//! The readers are ignored by default; `.ci/run` installs the tools and runs them.

mod statistics;
mod table;

use std::fmt::Write as _;
use std::process::Command;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::id::{PersonId, SensorId};
use rackwalk::domain::look::{Roots, WaterFigures};
use rackwalk::domain::power_cut::{Out, Span};
use rackwalk::domain::reading::{NewReadings, Reading, Spot};
use rackwalk::domain::room::Zone;
use rackwalk::domain::water::NewWater;
use rackwalk::store::facts::{ALL, Belongs};

use crate::book::{AK, Book, roots};

fn run(command: &mut Command) -> String {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Three batches, looks, a move, a loss, corrections and undos.
fn lived_in() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    book.later(Duration::days(2));
    book.act(&roots(trays[0], Roots::Peeking));
    book.act(&Action::Undo);
    book.act(&roots(trays[0], Roots::Plenty));
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rui Matos".into(), may_decide: false });
    book.act(&Action::CountSeed { lot, counted_mg: 900_000 });
    let span = Span { from: book.now.plus(-Duration::hours(5)).instant(), to: Some(book.now.instant()) };
    book.act(&Action::PowerCut { span, place: Out::Zone(Zone::Covered), warmest_dc: None });
    book.act(&Action::Undo);
    book.act(&Action::PowerCut { span: Span { to: None, ..span }, place: Out::Room, warmest_dc: None });
    // two files of one sensor, and water with all its figures
    let sensor =
        SensorId(book.act(&Action::AddSensor { name: "door".into(), at: Spot::Zone(Zone::Lit) }).made.unwrap());
    for n in 1..3 {
        let at = |hours: i64| book.now.plus(-Duration::hours(hours)).instant();
        let readings = (n..9).map(|hours| Reading::new(at(2 * hours + n), 20.5, 81.5).unwrap()).collect();
        let file = NewReadings {
            sensor,
            file: "a.csv".into(),
            sha256: n.to_string().repeat(64),
            part: None,
            readings,
            map: None,
        };
        book.act(&Action::ImportAir(Box::new(file)));
    }
    let water = NewWater {
        trays: vec![trays[1], trays[2]],
        figures: WaterFigures { ec_us: Some(820), ..WaterFigures::default() },
        source: "tap".into(),
    };
    book.act(&Action::Water(Box::new(water)));
    // a look of another hour and hands, and that taken back
    let look = book.act(&roots(trays[1], Roots::Plenty)).entry;
    let at = Some(book.now.plus(-Duration::hours(3)).instant());
    for (at, entry) in [(None, look), (at, look)] {
        let by = if at.is_some() { AK } else { PersonId(2) };
        let correction = Correction::Hands { at, by };
        book.act(&Action::Correct { entry, correction, reason: "late".into(), second: None });
    }
    book.act(&Action::Undo);
    // cut while still covered, decided, and the decision taken back
    let cut = Action::Cut { trays: vec![trays[0]] };
    book.act(&Action::Already { action: Box::new(cut), reason: "the van was waiting".into() });
    let breach = book.board().breaches[0].id;
    book.act(&Action::Decide { breach, what: Verdict::Thrown, by: AK, reason: "too wet".into() });
    book.act(&Action::Undo);
    book
}

#[test]
#[ignore = "needs python3"]
fn python_recomputes_the_chain() {
    let book = lived_in();
    let tables = book.path.with_extension("tables");
    let mut text = String::new();
    for table in ALL {
        let (kind, parent, column) = match table.belongs {
            Belongs::Fact => ("fact", "", ""),
            Belongs::Log => ("log", "", ""),
            Belongs::Child { parent, column } => ("child", parent, column),
        };
        let (key, columns) = (table.key.join(","), table.columns.join(","));
        writeln!(text, "{}|{kind}|{parent}|{column}|{key}|{columns}", table.name).unwrap();
    }
    std::fs::write(&tables, text).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/outside/chain.py");
    let said = run(Command::new("python3").arg(script).arg(&book.path).arg(&tables));
    let ours = book.store.verify_chain(|_| ()).unwrap();
    assert_eq!(said.trim(), format!("{} {}", ours.entries, ours.head));
}

#[test]
#[ignore = "needs sqlite3"]
fn the_sqlite3_shell_finds_the_book_sound_and_counts_the_same() {
    let book = lived_in();
    let said = run(Command::new("sqlite3").arg("-readonly").arg(&book.path).arg(
        "PRAGMA integrity_check; SELECT count(*) FROM entry; SELECT sum(mg) FROM seed_move WHERE void_by IS NULL;",
    ));
    let left: i64 = book.store.seed_lots().unwrap().iter().map(|lot| lot.left_mg).sum();
    let entries = book.store.verify_chain(|_| ()).unwrap().entries;
    assert_eq!(said.lines().collect::<Vec<_>>(), ["ok".to_string(), entries.to_string(), left.to_string()]);
}
