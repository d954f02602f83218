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

/// The files of a hand-over by what stands behind its name: the table, its key, the page, and both forms for other programs.
pub const PARTS: [&str; 5] = ["trace.csv", "columns.csv", "report.html", "events.json", "trace.json"];

/// What these files hold, in the same order.
pub fn parts(dossier: &Dossier) -> [Vec<u8>; 5] {
    [
        csv::table(dossier),
        csv::key(),
        html::page(dossier).into_bytes(),
        epcis::text(dossier).into_bytes(),
        json::text(dossier).into_bytes(),
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
