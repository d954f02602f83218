//! A week as it is read and printed: sentences, tables and pictures, with no word left to be made up on the way.

use serde::Serialize;

use super::picture::Picture;

/// The paper a room prints on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Sheet {
    #[default]
    A4,
    Letter,
}

/// Everything that stands on the page of a week or another span, in the order it is read.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WeekPage {
    pub sheet: Sheet,
    pub title: String,
    pub period: String,
    pub room: String,
    /// What a person should know, most important first.
    pub sentences: Vec<String>,
    /// What no figure clears.
    pub cautions: Vec<String>,
    /// The first one is the main one.
    pub tables: Vec<Table>,
    /// The first ones stand beside the sentences.
    pub pictures: Vec<Picture>,
    /// Who signed what, or that nobody did.
    pub signature: Vec<String>,
    pub footer: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Table {
    pub title: String,
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
    /// What the figures do not say.
    pub note: String,
}

impl Table {
    pub fn cell<'t>(&self, row: &'t [String], column: usize) -> &'t str {
        row.get(column).map_or("", String::as_str)
    }

    /// Columns as many as the longest row has.
    pub fn columns(&self) -> usize {
        self.rows.iter().map(Vec::len).chain([self.head.len()]).max().unwrap_or(0)
    }

    /// Whether a column holds figures only, which stand below each other by their last digit.
    pub fn figures(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().map(|row| self.cell(row, column)).filter(|cell| !cell.is_empty()).peekable();
        cells.peek().is_some() && cells.all(is_figure)
    }
}

/// `239`, `-3.5`, `239 g`, `12 %`: not `3 of 12` or a day.
fn is_figure(cell: &str) -> bool {
    let (number, unit) = cell.split_once(' ').unwrap_or((cell, ""));
    number.parse::<f64>().is_ok_and(f64::is_finite) && unit.chars().count() <= 3 && !unit.contains(char::is_numeric)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_of_figures_is_known_by_every_cell() {
        let rows = [["239", "3 of 12", "2026-07-01", ""], ["-3.5 g", "", "12 %", ""]];
        let rows = rows.iter().map(|row| row.iter().map(ToString::to_string).collect()).collect();
        let table = Table { rows, ..Table::default() };
        assert_eq!([0, 1, 2, 3, 4].map(|n| table.figures(n)), [true, false, false, false, false]);
        assert_eq!(table.columns(), 4);
    }

    #[test]
    fn a_word_that_reads_as_a_number_is_none() {
        for (cell, figure) in [("inf", false), ("NaN", false), ("3 of", true), ("3 of 12", false), ("1e3", true)] {
            assert_eq!(is_figure(cell), figure, "{cell}");
        }
    }
}
