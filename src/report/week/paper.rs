//! What of a week fits on two printed pages: worked out beforehand with room to spare, so that printing never makes a third.
//!
//! What does not fit is on the page on the screen, and paper says how much that is.

use super::super::picture::{Svg, WIDE, svg};
use super::line;
use crate::domain::text::{columns, fit};
use crate::domain::week_page::{Sheet, Table, WeekPage};

/// Millimetres between the margins, of the narrower sheet.
const WIDE_MM: f64 = 190.0;
/// Of half a page, a picture.
pub(super) const PICTURE_MM: f64 = 92.0;
/// Below a picture.
const BELOW_MM: f64 = 4.0;
/// A line of sentences and of tables, and what a letter of each takes on average, rather too much.
const SENTENCE_MM: f64 = 4.6;
const ROW_MM: f64 = 4.5;
const CELL_LINE_MM: f64 = 3.6;
const SENTENCE_LETTER_MM: f64 = 1.75;
const CELL_LETTER_MM: f64 = 1.45;
/// Around a cell.
const PADDING_MM: f64 = 3.0;
/// A longer word is torn where it does not fit.
pub(super) const WORD: usize = 24;
/// A heading with what is around it; the head of a page; lines to sign.
const HEADING_MM: f64 = 8.5;
const HEAD_MM: f64 = 17.0;
const FOOT_MM: f64 = 10.0;

/// Tables that paper does not have are named up to so many, in so many letters.
const NAMED: usize = 6;
const TITLE: usize = 40;

/// How much of a table is on paper.
pub(super) struct Shown<'p> {
    pub table: &'p Table,
    pub rows: usize,
}

/// Pictures in two columns.
pub(super) struct Pair {
    pub left: Vec<Svg>,
    pub right: Vec<Svg>,
}

/// One page of paper.
#[derive(Default)]
pub(super) struct Leaf<'p> {
    pub tables: Vec<Shown<'p>>,
    pub pairs: Vec<Pair>,
}

pub(super) struct Paper<'p> {
    pub first: Leaf<'p>,
    pub second: Leaf<'p>,
    /// On the screen only.
    pub tables: Vec<&'p Table>,
    pub pictures: Vec<Svg>,
}

/// Millimetres between the upper and the lower margin: of 297 and of 279.
fn between_mm(sheet: Sheet) -> f64 {
    match sheet {
        Sheet::A4 => 273.0,
        Sheet::Letter => 256.0,
    }
}

impl<'p> Paper<'p> {
    pub(super) fn of(page: &'p WeekPage) -> Self {
        let mut pictures: Vec<Svg> = page.pictures.iter().map(svg).collect();
        let mut tables = page.tables.iter();
        let (mut first, mut second) = (Leaf::default(), Leaf::default());
        let said: f64 = page.sentences.iter().chain(&page.cautions).map(|text| said_mm(text)).sum();
        let mut room = between_mm(page.sheet) - HEAD_MM - said;
        if let Some(table) = tables.next() {
            room -= take(&mut first, table, room).unwrap_or(0.0);
        }
        room -= pairs(&mut first, &mut pictures, room);
        // what fits whole goes on the page that has room
        while let Some(table) = tables.as_slice().first().filter(|table| high_mm(table, table.rows.len()) <= room) {
            room -= take(&mut first, table, room).unwrap_or(0.0);
            tables.next();
        }
        let signed: f64 = page.signature.iter().map(|text| said_mm(text)).sum();
        // below the tables it may be said what paper does not have
        let mut room = between_mm(page.sheet) - signed - said_mm(&page.footer) - FOOT_MM - 3.0 * SENTENCE_MM;
        room -= pairs(&mut second, &mut pictures, room / 3.0);
        let left_out = fill(&mut second, tables.as_slice(), &mut room);
        pairs(&mut second, &mut pictures, room);
        Self { first, second, tables: left_out, pictures }
    }

    /// What paper does not have, in words; empty where it has everything.
    pub(super) fn missing(&self) -> String {
        let titles = self.tables.iter().take(NAMED).map(|table| fit(&line(&table.title), TITLE, false));
        let titles: Vec<String> = titles.collect();
        let mut missing = Vec::new();
        if !titles.is_empty() {
            missing.push(titles.join(", "));
        }
        match self.tables.len().saturating_sub(NAMED) {
            0 => {}
            1 => missing.push("1 more table".into()),
            n => missing.push(format!("{n} more tables")),
        }
        match self.pictures.len() {
            0 => {}
            1 => missing.push("1 more picture".into()),
            n => missing.push(format!("{n} more pictures")),
        }
        if missing.is_empty() {
            return String::new();
        }
        format!("Not on paper: {}. Open this file on a screen to see them.", missing.join("; "))
    }
}

/// Puts as many tables on a page as have room, each with as many rows as its share allows, and the first ones with more if
/// room is left. Those it has no room for.
fn fill<'p>(leaf: &mut Leaf<'p>, tables: &'p [Table], room: &mut f64) -> Vec<&'p Table> {
    let mut left_out = Vec::new();
    for (table, left) in tables.iter().zip((1..=tables.len()).rev()) {
        let share = *room / f64::from(u32::try_from(left).unwrap_or(u32::MAX));
        match take(leaf, table, share).or_else(|| take(leaf, table, least_mm(table).min(*room))) {
            Some(high) => *room -= high,
            None => left_out.push(table),
        }
    }
    for shown in &mut leaf.tables {
        let high = high_mm(shown.table, shown.rows);
        let rows = rows_in(shown.table, *room + high);
        *room -= high_mm(shown.table, rows) - high;
        shown.rows = rows;
    }
    left_out
}

/// As much of a table as there is room for, and how high that is; nothing below three rows of a longer one.
fn take<'p>(leaf: &mut Leaf<'p>, table: &'p Table, room: f64) -> Option<f64> {
    if least_mm(table) > room {
        return None;
    }
    let rows = rows_in(table, room);
    leaf.tables.push(Shown { table, rows });
    Some(high_mm(table, rows))
}

fn least_mm(table: &Table) -> f64 {
    high_mm(table, table.rows.len().min(3))
}

/// A table with so many of its rows, its heading and its note.
fn high_mm(table: &Table, rows: usize) -> f64 {
    let columns = Columns::of(table);
    let around = HEADING_MM + columns.row_mm(table, &table.head) + said_mm(&table.note) + CELL_LINE_MM;
    around + table.rows.iter().take(rows).map(|row| columns.row_mm(table, row)).sum::<f64>()
}

/// How many rows of a table there is room for.
fn rows_in(table: &Table, room: f64) -> usize {
    let columns = Columns::of(table);
    let mut high = high_mm(table, 0);
    let fits = |row: &&Vec<String>| {
        high += columns.row_mm(table, row);
        // what was added one by one is a hair off
        high <= room + 1e-6
    };
    table.rows.iter().take_while(fits).count()
}

/// Pictures in their order, in two columns beside each other, the lower one filled up; one that is too high for what is left
/// lets the next go before it. How high they are together.
fn pairs(leaf: &mut Leaf<'_>, pictures: &mut Vec<Svg>, room: f64) -> f64 {
    let mut used = 0.0;
    while let Some(first) = next(pictures, room - used) {
        let mut pair = Pair { left: vec![first], right: next(pictures, room - used).into_iter().collect() };
        let high = column_mm(&pair.left).max(column_mm(&pair.right));
        for column in [&mut pair.left, &mut pair.right] {
            while let Some(more) = next(pictures, high - column_mm(column)) {
                column.push(more);
            }
        }
        used += high;
        leaf.pairs.push(pair);
    }
    used
}

/// The first picture that is no higher than this.
fn next(pictures: &mut Vec<Svg>, room: f64) -> Option<Svg> {
    let at = pictures.iter().position(|svg| picture_mm(svg) <= room)?;
    Some(pictures.remove(at))
}

fn column_mm(pictures: &[Svg]) -> f64 {
    pictures.iter().map(picture_mm).sum()
}

fn picture_mm(svg: &Svg) -> f64 {
    svg.high * PICTURE_MM / WIDE + BELOW_MM
}

#[expect(clippy::cast_precision_loss, reason = "a text is short")]
fn long_mm(text: &str, letter: f64) -> f64 {
    columns(text) as f64 * letter
}

/// How high a sentence is; a word is never torn, so a line is never quite full.
fn said_mm(text: &str) -> f64 {
    if text.is_empty() { 0.0 } else { (long_mm(text, SENTENCE_LETTER_MM) / WIDE_MM).ceil() * SENTENCE_MM + 0.6 }
}

/// How wide the columns of a table are: as their longest cells, or, where those have no room, shared out beyond the longest word.
struct Columns(Vec<f64>);

impl Columns {
    fn of(table: &Table) -> Self {
        let of = |column: usize| {
            let cells = table.rows.iter().map(move |row| table.cell(row, column));
            cells.chain(table.head.get(column).map(String::as_str))
        };
        let widest = |texts: &mut dyn Iterator<Item = &str>| {
            texts.map(|text| long_mm(text, CELL_LETTER_MM)).fold(0.0, f64::max) + PADDING_MM
        };
        let most: Vec<f64> = (0..table.columns()).map(|column| widest(&mut of(column))).collect();
        let torn = long_mm(&"-".repeat(WORD), CELL_LETTER_MM) + PADDING_MM;
        let least = |column: usize| widest(&mut of(column).flat_map(str::split_whitespace)).min(torn);
        let least: Vec<f64> = (0..table.columns()).map(least).collect();
        let (all_least, all_most): (f64, f64) = (least.iter().sum(), most.iter().sum());
        if all_most <= WIDE_MM {
            return Self(most);
        }
        if all_least >= WIDE_MM {
            return Self(least.iter().map(|wide| wide * WIDE_MM / all_least).collect());
        }
        let part = (WIDE_MM - all_least) / (all_most - all_least);
        Self(least.iter().zip(most).map(|(least, most)| least + part * (most - least)).collect())
    }

    fn row_mm(&self, table: &Table, row: &[String]) -> f64 {
        let lines = self.0.iter().enumerate().map(|(column, wide)| {
            let cell = long_mm(table.cell(row, column), CELL_LETTER_MM);
            // words do not fill their lines
            let lines = (1.2 * cell / (wide - PADDING_MM).max(4.0)).ceil();
            if cell + PADDING_MM <= wide + 1e-6 { 1.0 } else { lines.max(2.0) }
        });
        ROW_MM + (lines.fold(1.0, f64::max) - 1.0) * CELL_LINE_MM
    }
}
