//! All tables of a week as one: each value in a column of its own name, the section it is from in front.

use std::collections::BTreeSet;

use super::line;
use crate::domain::records::key;
use crate::domain::text::harmless;
use crate::domain::week_page::{Table, WeekPage};

/// What a column without a heading is called: by its place.
fn name(table: &Table, column: usize) -> String {
    let head = table.head.get(column).map(|head| key(&line(head))).filter(|head| !head.is_empty());
    head.unwrap_or_else(|| format!("column_{}", column + 1))
}

/// Columns before those of the tables; a sentence stands in `text`.
const BEFORE: [&str; 4] = ["room", "period", "section", "text"];

/// A number is no formula, also below nothing: it stays one that can be added up.
fn plain_or_harmless(cell: String) -> String {
    if cell.parse::<f64>().is_ok() { cell } else { harmless(cell) }
}

/// One heading, then sentences, cautions, every row of every table, signatures.
///
/// Cells that a spreadsheet would take for a formula are made harmless.
pub fn table(page: &WeekPage) -> Result<Vec<u8>, csv::Error> {
    let mut own: Vec<String> = Vec::new();
    let mut known: BTreeSet<String> = BTreeSet::new();
    for table in &page.tables {
        for column in 0..table.columns() {
            let name = name(table, column);
            if known.insert(name.clone()) {
                own.push(name);
            }
        }
    }
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(BEFORE.iter().copied().chain(own.iter().map(String::as_str)))?;
    let mut write = |section: &str, text: &str, cell: &dyn Fn(&String) -> String| {
        let mut cells = vec![page.room.clone(), page.period.clone(), section.to_string(), text.to_string()];
        cells.extend(own.iter().map(cell));
        csv.write_record(cells.into_iter().map(|cell| plain_or_harmless(line(&cell))))
    };
    let none = |_: &String| String::new();
    for (section, texts) in [("sentence", &page.sentences), ("caution", &page.cautions)] {
        for text in texts {
            write(section, text, &none)?;
        }
    }
    for table in &page.tables {
        let names: Vec<String> = (0..table.columns()).map(|column| name(table, column)).collect();
        for row in &table.rows {
            write(&table.title, "", &|wanted| {
                // two columns of one name keep both their values
                let cells = names.iter().enumerate().filter(|(_, name)| *name == wanted);
                let cells = cells.map(|(column, _)| table.cell(row, column)).filter(|cell| !cell.is_empty());
                cells.collect::<Vec<_>>().join("; ")
            })?;
        }
        if !table.note.is_empty() {
            write(&table.title, &table.note, &none)?;
        }
    }
    for text in &page.signature {
        write("signature", text, &none)?;
    }
    csv.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}
