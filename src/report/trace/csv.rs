//! The table of a hand-over, and the key to its columns: UTF-8, one heading, one row an event and lot.

use super::columns::COLUMNS;
use crate::domain::text::{clean_lines, harmless};
use crate::domain::trace::Dossier;
use crate::domain::trace::event::Event;

/// One cell: nothing hidden in it, and no formula.
fn cell(text: &str) -> String {
    harmless(clean_lines(text).trim().to_string())
}

/// Rows sort by their first columns as text. Writing to memory cannot fail.
pub fn table(dossier: &Dossier) -> Vec<u8> {
    let heading: Vec<String> = COLUMNS.iter().map(|column| column.name.to_string()).collect();
    let rows = dossier.events.iter().flat_map(Event::rows);
    let rows = rows.map(|row| COLUMNS.iter().map(|column| cell(&column.cell(row, dossier))).collect());
    written(std::iter::once(heading).chain(rows))
}

/// What each column means, and which question of an authority it answers.
pub fn key() -> Vec<u8> {
    let heading = ["column", "unit", "meaning", "asked_for_when"].map(String::from).to_vec();
    let rows = COLUMNS.iter().map(|column| [column.name, column.unit, column.meaning, column.asked].map(cell).to_vec());
    written(std::iter::once(heading).chain(rows))
}

fn written(rows: impl Iterator<Item = Vec<String>>) -> Vec<u8> {
    let mut csv = ::csv::Writer::from_writer(Vec::new());
    for row in rows {
        // into memory, rows of one length: nothing can go wrong
        let _ = csv.write_record(row);
    }
    csv.into_inner().unwrap_or_default()
}
