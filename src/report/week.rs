//! A week on paper and for other programs: two printed pages, one table for spreadsheets, lines of text.

pub mod csv;
pub mod html;
mod paper;
pub mod text;

use crate::domain::text::clean_line;

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), 4000).text
}

#[cfg(test)]
mod tests;
