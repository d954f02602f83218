//! The table of a hand-over as others read it: the `sqlite3` shell's import and Python's csv module, row by row.

use std::path::Path;
use std::process::Command;

use rackwalk::domain::action::Action;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::{NewDelivery, Packs};
use rackwalk::domain::id::CustomerId;
use rackwalk::domain::trace::{Dossier, Start, Way};
use rackwalk::report::trace::csv::table;

use super::run;
use crate::screens::stock::unsigned;

/// Names that would break a table that is not quoted with care.
const NAMES: [&str; 4] = ["=cmd|' /C calc'!A0", "Bell, \"Table\"", "'quoted'", "Grüne Küche; 豌豆 | x"];

/// Packs that went to customers of such names. A line end cannot be typed into a name, so it stands in an address as an older or
/// foreign book may have it.
fn handed() -> Dossier {
    let mut book = unsigned();
    let goods = book.store.goods(book.now.day()).unwrap();
    let lot = goods.lots.iter().find(|lot| lot.product.is_some() && lot.packs >= 4).unwrap().id;
    for name in NAMES {
        let new = NewCustomer {
            name: name.into(),
            address: "1 Quay".into(),
            phone: "+44 555".into(),
            ..NewCustomer::default()
        };
        let customer = CustomerId(book.act(&Action::AddCustomer(Box::new(new))).made.unwrap());
        let new = NewDelivery {
            customer,
            order: None,
            round: None,
            lines: vec![Packs { lot, packs: 1 }],
            received_by: None,
            temp_dc: None,
            sure: vec![],
        };
        book.act(&Action::Deliver(Box::new(new)));
    }
    let mut dossier = book.store.dossier(&Start::Lot(lot), &[Way::Back, Way::Forward], book.now).unwrap();
    for event in &mut dossier.events {
        if event.to.address == "1 Quay" {
            event.to.address = "1 Quay\n\"behind\", the gate".into();
        }
    }
    dossier
}

/// Cells of each row, heading first, by the csv crate.
fn ours(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect()
}

fn written() -> (tempfile::TempDir, std::path::PathBuf, Vec<Vec<String>>) {
    let bytes = table(&handed());
    let rows = ours(&bytes);
    assert!(rows.len() > NAMES.len() + 3, "{} rows", rows.len());
    let all = rows.concat();
    assert!(all.iter().any(|cell| cell.contains('\n')) && all.iter().any(|cell| cell.starts_with("'=cmd")));
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("trace.csv");
    std::fs::write(&file, bytes).unwrap();
    (dir, file, rows)
}

fn parsed(json: &str) -> Vec<Vec<String>> {
    serde_json::from_str(json).unwrap()
}

#[test]
#[ignore = "needs python3"]
fn pythons_csv_module_reads_the_same_rows() {
    let (_dir, file, rows) = written();
    let script = "import csv, json, sys
with open(sys.argv[1], encoding='utf-8', newline='') as f: print(json.dumps(list(csv.reader(f, strict=True))))";
    assert_eq!(parsed(&run(Command::new("python3").args(["-c", script]).arg(&file))), rows);
}

#[test]
#[ignore = "needs sqlite3"]
fn the_sqlite3_shell_imports_the_same_rows() {
    let (_dir, file, rows) = written();
    let (heading, rest) = rows.split_first().unwrap();
    let quoted = |name: &String| format!("\"{name}\"");
    let columns = heading.iter().map(quoted).collect::<Vec<_>>().join(", ");
    let import = format!(".import --csv {} handed", spelled(&file));
    let select = format!("SELECT json_group_array(json_array({columns})) FROM (SELECT * FROM handed ORDER BY rowid)");
    let said = run(Command::new("sqlite3").args([":memory:", &import, &select]));
    assert_eq!(parsed(&said), rest);
    // the heading became the names of the columns, in their order
    let names =
        "SELECT json_array(json_group_array(name)) FROM (SELECT name FROM pragma_table_info('handed') ORDER BY cid)";
    let said = run(Command::new("sqlite3").args([":memory:", &import, names]));
    assert_eq!(parsed(&said), vec![heading.clone()]);
    // the first column sorts as it stands
    let sorted =
        "SELECT count(*) FROM (SELECT day, lag(day) OVER (ORDER BY rowid) AS before FROM handed) WHERE before > day";
    let said = run(Command::new("sqlite3").args([":memory:", &import, sorted]));
    assert_eq!(said.trim(), "0");
}

fn spelled(path: &Path) -> String {
    format!("'{}'", path.display())
}
