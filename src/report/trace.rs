//! A trace handed over: one table for every spreadsheet with its key, a page to read and print, events for other programs.

pub mod columns;
pub mod csv;
pub mod epcis;
pub mod html;
pub mod json;
mod picture;
pub mod text;
mod tree;

use crate::domain::text::clean_line;
use crate::domain::trace::Dossier;

/// One file of a hand-over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Behind the name of the hand-over: `trace.csv`.
    pub name: &'static str,
    pub data: Vec<u8>,
}

/// Every file of a hand-over: the table, its key, the page, and both forms for other programs.
pub fn parts(dossier: &Dossier) -> Vec<Part> {
    vec![
        Part { name: "trace.csv", data: csv::table(dossier) },
        Part { name: "columns.csv", data: csv::key() },
        Part { name: "report.html", data: html::page(dossier).into_bytes() },
        Part { name: "events.json", data: epcis::text(dossier).into_bytes() },
        Part { name: "trace.json", data: json::text(dossier).into_bytes() },
    ]
}

/// What the files of a hand-over are called, from what it is about: `PEA-260712-A-V`, or `trace` where that is no name.
pub fn stem(dossier: &Dossier) -> String {
    let codes = dossier.traces.iter().flat_map(|trace| trace.roots.iter().filter_map(|root| trace.things.get(root)));
    let mut codes: Vec<&str> = codes.map(|thing| thing.code.as_str()).collect();
    codes.dedup();
    let first = codes.first().copied().unwrap_or_default();
    let plain: String = first.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let more = if codes.iter().any(|code| *code != first) { "-and-others" } else { "" };
    let plain = plain.trim_matches('-');
    let exercise = if dossier.exercise { "EXERCISE-" } else { "" };
    if plain.is_empty() { format!("{exercise}trace") } else { format!("{exercise}{plain}{more}") }
}

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), 2000).text
}

#[cfg(test)]
mod tests;
