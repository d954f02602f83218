//! The records of a period to hand over: one HTML file to print, one table for spreadsheets, lines of text.

use std::collections::BTreeSet;

use maud::{Markup, html};

use super::document;
use crate::domain::chain::MEANING;
use crate::domain::records::{CODES, Part, Records, Row, Section, key, moment};
use crate::domain::text::{clean_line, harmless};
use crate::domain::time::Now;

const STYLE: &str = include_str!("records.css");

/// Graphemes of one cell: the longest note, and its sentence.
const CELL: usize = 4000;

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), CELL).text
}

/// What a table has left of its cells once the columns nobody filled are gone.
struct Table<'r> {
    section: &'r Section,
    /// Which of the section's columns are shown.
    filled: Vec<usize>,
    notes: bool,
}

impl<'r> Table<'r> {
    fn of(section: &'r Section) -> Self {
        let columns = 0..section.part.columns().len();
        let said = |n: &usize| section.rows.iter().any(|row| row.cells.get(*n).is_some_and(|cell| !cell.is_empty()));
        let notes = section.rows.iter().any(|row| !notes(row).is_empty());
        Self { section, filled: columns.filter(said).collect(), notes }
    }

    fn heading(&self) -> Vec<&'static str> {
        let part = self.section.part;
        let own = self.filled.iter().filter_map(|n| part.columns().get(*n).copied());
        let stamp: &[&str] = if part.stamped() { &["entry", "when", "who", "typed"] } else { &[] };
        stamp.iter().copied().chain(own).chain(self.notes.then_some("notes")).collect()
    }

    fn cells(&self, row: &'r Row) -> impl Iterator<Item = &'r str> {
        self.filled.clone().into_iter().map(|n| row.cells.get(n).map_or("", String::as_str))
    }
}

/// What is said beside a row: its note, and whether it counts.
fn notes(row: &Row) -> String {
    let parts = [row.note.clone().unwrap_or_default(), row.remarks()];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" / ")
}

fn title(records: &Records) -> String {
    format!("Records of {}", records.period.words())
}

/// Who grows, where, which days, when and by whom it was made.
fn head(records: &Records) -> Vec<String> {
    let Records { room, code, name, address, phone, made, made_by, .. } = records;
    let who =
        [name, address, phone].into_iter().filter(|text| !text.is_empty()).cloned().collect::<Vec<_>>().join(", ");
    let by = if made_by.is_empty() { String::new() } else { format!(" by {made_by}") };
    let zone = made.0.format("%:z");
    let mut lines = vec![
        who,
        format!("Room {room} ({code}); {} about these days.", entries(records.entries)),
        format!(
            "Made {}{by} with rackwalk. All times are of the room's clock, UTC{zone}.",
            made.0.format("%Y-%m-%d %H:%M")
        ),
    ];
    if address.is_empty() {
        lines.push("No address is set: it belongs on the records of a farm (settings, labels and notes).".into());
    }
    lines.extend(records.beginning());
    lines
}

fn entries(n: usize) -> String {
    if n == 1 { "1 entry".into() } else { format!("{n} entries") }
}

/// The page to print.
pub fn page(records: &Records) -> String {
    let now = records.made;
    let title = format!("{}: {}", line(&records.name), title(records));
    let proof = records.proof.words(now);
    let body = html! {
        p.hint { "Print on A4 or Letter, landscape. Paper fails when wet. Columns nobody filled are left out." }
        h1 { (title) }
        @for text in head(records) { p { (line(&text)) } }
        p class=[(!records.proof.whole()).then_some("caution")] { (line(&proof)) }
        p { "Last hash of the log: " span.code { (records.proof.head) } }
        p { (CODES) }
        h2 { "Contents" }
        ul.contents {
            @for section in &records.sections {
                li { a href={ "#" (section.part.stored()) } { (section.part.shown()) } ": " (section.rows.len()) }
            }
        }
        @for section in &records.sections { (part(section, now)) }
        h2 { "Read and signed" }
        p { "name " span.line {} "  signature " span.line {} "  date " span.line {} }
        p.about { (MEANING) }
        p { (entries(usize::try_from(records.proof.entries).unwrap_or(0))) " in the log. Last hash: "
            span.code { (records.proof.head) } }
    };
    document(&title, STYLE, &body)
}

fn part(section: &Section, now: Now) -> Markup {
    let table = Table::of(section);
    let about = section.part.about();
    html! {
        section id=(section.part.stored()) {
            h2 { (section.part.shown()) }
            @if !about.is_empty() { p.about { (about) } }
            @if section.rows.is_empty() {
                p { (section.part.none()) }
            } @else {
                table {
                    thead { tr { @for name in table.heading() { th { (name) } } } }
                    tbody { @for row in &section.rows { (tr(&table, row, now)) } }
                }
            }
        }
    }
}

fn tr(table: &Table<'_>, row: &Row, now: Now) -> Markup {
    let notes = notes(row);
    let class = match (row.gone.is_some(), notes.contains("after it was signed")) {
        (true, true) => Some("gone changed"),
        (true, false) => Some("gone"),
        (false, true) => Some("changed"),
        (false, false) => None,
    };
    html! {
        tr class=[class] {
            @if let Some(stamp) = &row.stamp {
                td { (stamp.entry.0) }
                td.when { (stamp.seen_words(now)) }
                td { (line(&stamp.who)) }
                td { (line(&stamp.typed_words(now))) }
            }
            @for cell in table.cells(row) { td { (line(cell)) } }
            @if table.notes { td.notes { (line(&notes)) } }
        }
    }
}

/// The records as lines of text.
pub fn text(records: &Records) -> Vec<String> {
    let now = records.made;
    let mut lines = vec![title(records).to_uppercase()];
    lines.extend(head(records));
    lines.push(records.proof.words(now));
    lines.push(format!("last hash  {}", records.proof.head));
    lines.push(CODES.into());
    for section in &records.sections {
        lines.extend([String::new(), format!("{} ({})", section.part.shown().to_uppercase(), section.rows.len())]);
        if section.rows.is_empty() {
            lines.push(format!("  {}", section.part.none()));
        }
        let table = Table::of(section);
        for row in &section.rows {
            let stamp = row.stamp.as_ref().map_or_else(String::new, |stamp| {
                format!("{:>6}  {}  {}, {}: ", stamp.entry.0, stamp.seen_words(now), stamp.who, stamp.typed_words(now))
            });
            let names = table.filled.iter().filter_map(|n| section.part.columns().get(*n));
            // a sentence says what it is about by itself
            let cells =
                names.zip(table.cells(row)).filter(|(_, cell)| !cell.is_empty()).map(|(name, cell)| match *name {
                    "said" | "what" => cell.to_string(),
                    name => format!("{name} {cell}"),
                });
            let cells = cells.collect::<Vec<_>>().join("; ");
            let notes = notes(row);
            let notes = if notes.is_empty() { String::new() } else { format!("  [{notes}]") };
            lines.push(format!("  {stamp}{cells}{notes}"));
        }
    }
    lines
}

/// Columns of every row of the table, before and after those of the sections.
const BEFORE: [&str; 10] =
    ["room", "section", "entry", "kind", "day_of_entry", "seen", "who", "typed", "typed_by", "paper"];
const AFTER: [&str; 3] = ["note", "counts", "remarks"];

/// All rows of all sections as one table: each value in a column of its own name, the section in front.
///
/// Cells that a spreadsheet would take for a formula are made harmless. The last row carries the proof of the chain.
pub fn csv(records: &Records) -> Result<Vec<u8>, csv::Error> {
    let now = records.made;
    let mut own: Vec<String> = Vec::new();
    let mut known: BTreeSet<String> = BTreeSet::new();
    for column in Part::ALL.iter().flat_map(|part| part.columns()) {
        if known.insert(key(column)) {
            own.push(key(column));
        }
    }
    own.push("last_hash".into());
    let mut csv = csv::Writer::from_writer(Vec::new());
    let names = BEFORE.iter().copied().chain(own.iter().map(String::as_str)).chain(AFTER);
    csv.write_record(names)?;
    for section in &records.sections {
        for row in &section.rows {
            let mut cells = vec![records.code.clone(), section.part.stored().to_string()];
            match &row.stamp {
                Some(stamp) => cells.extend([
                    stamp.entry.0.to_string(),
                    stamp.kind.clone(),
                    stamp.day.to_string(),
                    moment(stamp.seen, now),
                    stamp.who.clone(),
                    moment(stamp.typed, now),
                    stamp.typed_by.clone(),
                    if stamp.paper { "yes" } else { "no" }.to_string(),
                ]),
                None => cells.extend(std::iter::repeat_n(String::new(), BEFORE.len() - 2)),
            }
            let columns: Vec<String> = section.part.columns().iter().map(|column| key(column)).collect();
            let cell = |name: &String| columns.iter().position(|column| column == name).and_then(|n| row.cells.get(n));
            cells.extend(own.iter().map(|name| cell(name).cloned().unwrap_or_default()));
            cells.extend([
                row.note.clone().unwrap_or_default(),
                if row.gone.is_none() { "yes" } else { "no" }.to_string(),
                row.remarks(),
            ]);
            csv.write_record(cells.into_iter().map(|cell| harmless(line(&cell))))?;
        }
    }
    let mut cells = vec![records.code.clone(), "chain".to_string()];
    cells.extend(std::iter::repeat_n(String::new(), BEFORE.len() - 2));
    cells.extend(own.iter().map(|name| if name == "last_hash" { records.proof.head.clone() } else { String::new() }));
    cells.extend([counted_entries(records), String::new(), records.proof.words(now)]);
    csv.write_record(cells.into_iter().map(|cell| harmless(line(&cell))))?;
    csv.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn counted_entries(records: &Records) -> String {
    entries(usize::try_from(records.proof.entries).unwrap_or(0))
}
