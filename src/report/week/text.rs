//! A week as lines of text: sentences, tables with their columns below each other, pictures of signs.

use super::line;
use crate::domain::text::{columns, padded, plain, wrapped};
use crate::domain::week_page::{Table, WeekPage};

/// Narrower than this nothing is laid out.
const LEAST: usize = 40;
/// Between columns.
const GAP: usize = 2;
/// A column is not made narrower than this to keep a table together.
const COLUMN: usize = 7;

/// At most `width` columns; `ascii` where nothing else can be printed.
pub fn lines(page: &WeekPage, width: usize, ascii: bool) -> Vec<String> {
    let width = width.max(LEAST);
    let mut lines = wrapped(&line(&page.title).to_uppercase(), width);
    lines.extend(wrapped(&format!("{}, {}", line(&page.room), line(&page.period)), width));
    lines.push(String::new());
    for (n, text) in (1usize..).zip(&page.sentences) {
        lines.extend(hanging(&format!("{n}. "), text, width));
    }
    for text in &page.cautions {
        lines.extend(hanging("! ", text, width));
    }
    for table in &page.tables {
        lines.push(String::new());
        lines.extend(wrapped(&line(&table.title).to_uppercase(), width));
        lines.extend(laid_out(table, width, ascii));
        lines.extend(wrapped(&line(&table.note), width));
    }
    for picture in &page.pictures {
        lines.push(String::new());
        lines.extend(picture.lines(width, ascii));
    }
    lines.push(String::new());
    for text in page.signature.iter().chain([&page.footer]) {
        lines.extend(wrapped(&line(text), width));
    }
    lines.into_iter().map(|text| if ascii { plain(&text) } else { text }).collect()
}

/// A text that begins with a mark, its other lines standing below its first word.
fn hanging(mark: &str, text: &str, width: usize) -> Vec<String> {
    let rows = wrapped(&line(text), width.saturating_sub(mark.len()));
    let before = |n: usize| if n == 0 { mark.to_string() } else { " ".repeat(mark.len()) };
    rows.into_iter().enumerate().map(|(n, row)| before(n) + &row).collect()
}

/// Columns below each other, the widest wrapped first; a table too wide for that as one entry after the other.
fn laid_out(table: &Table, width: usize, ascii: bool) -> Vec<String> {
    if table.rows.is_empty() {
        return vec!["nothing".into()];
    }
    let Some(wide) = shares(table, width) else { return entries(table, width) };
    let figures: Vec<bool> = (0..wide.len()).map(|column| table.figures(column)).collect();
    let head = (!table.head.is_empty()).then_some(&table.head);
    let mut lines = Vec::new();
    for row in head.into_iter().chain(&table.rows) {
        let cells: Vec<Vec<String>> =
            wide.iter().enumerate().map(|(n, wide)| wrapped(&line(table.cell(row, n)), *wide)).collect();
        for at in 0..cells.iter().map(Vec::len).max().unwrap_or(0) {
            let cells = cells.iter().zip(&wide).zip(&figures).map(|((cell, wide), figure)| {
                let text = cell.get(at).map_or("", String::as_str);
                let before = if *figure { wide.saturating_sub(columns(text)) } else { 0 };
                padded(&format!("{}{text}", " ".repeat(before)), *wide)
            });
            lines.push(cells.collect::<Vec<_>>().join(&" ".repeat(GAP)).trim_end().to_string());
        }
        if head.is_some_and(|head| std::ptr::eq(head, row)) {
            let rule = if ascii { "-" } else { "─" };
            let rules = wide.iter().map(|wide| rule.repeat(*wide));
            lines.push(rules.collect::<Vec<_>>().join(&" ".repeat(GAP)));
        }
    }
    lines
}

/// How wide each column may be; none if there are too many.
fn shares(table: &Table, width: usize) -> Option<Vec<usize>> {
    let of = |column: usize| {
        let cells =
            table.rows.iter().map(|row| table.cell(row, column)).chain(table.head.get(column).map(String::as_str));
        cells.map(|cell| columns(&line(cell))).max().unwrap_or(0)
    };
    let mut wide: Vec<usize> = (0..table.columns()).map(of).collect();
    let gaps = GAP * wide.len().saturating_sub(1);
    while wide.iter().sum::<usize>() + gaps > width {
        let widest = wide.iter_mut().max().filter(|widest| **widest > COLUMN)?;
        *widest -= 1;
    }
    Some(wide)
}

/// `radish: trays 14; mean 239 g; …`
fn entries(table: &Table, width: usize) -> Vec<String> {
    let entry = |row: &Vec<String>| {
        let cells = row.iter().enumerate().skip(1).filter(|(_, cell)| !cell.is_empty());
        let cells = cells.map(|(n, cell)| format!("{} {cell}", table.head.get(n).map_or("", String::as_str)));
        let text = format!("{}: {}", table.cell(row, 0), cells.collect::<Vec<_>>().join("; "));
        hanging("- ", &text, width)
    };
    table.rows.iter().flat_map(entry).collect()
}
