//! A week as one page to read on the screen and to print on two sheets of A4 or Letter.

use maud::{Markup, html};

use super::super::document;
use super::super::picture::Svg;
use super::line;
use super::paper::{Leaf, Pair, Paper, Shown, WORD};
use crate::domain::text::columns;
use crate::domain::week_page::{Sheet, Table, WeekPage};

const STYLE: &str = include_str!("week.css");

pub fn page(page: &WeekPage) -> String {
    let paper = Paper::of(page);
    let title = format!("{}: {}", line(&page.room), line(&page.title));
    let missing = paper.missing();
    let body = html! {
        p.hint { "Print on " (sheet(page.sheet).1) ", upright: two pages. Paper fails when wet." }
        section {
            header { h1 { (line(&page.title)) } p { (line(&page.room)) ", " (line(&page.period)) } }
            @if !page.sentences.is_empty() { ol.said { @for text in &page.sentences { li { (line(text)) } } } }
            @for text in &page.cautions { p.caution { (line(text)) } }
            (leaf(&paper.first))
        }
        section.second {
            (leaf(&paper.second))
            @if !missing.is_empty() { p.paper { (missing) } }
            div.more {
                @for table in &paper.tables { (whole(table, table.rows.len())) }
                @for pair in paper.pictures.chunks(2) { @let (left, right) = pair.split_at(1); (side_by_side(left, right)) }
            }
            footer {
                @for text in &page.signature { p.signed { (line(text)) } }
                @if !page.footer.is_empty() { p.foot { (line(&page.footer)) } }
            }
        }
    };
    let (name, _) = sheet(page.sheet);
    document(&title, &format!("@page {{ size: {name} portrait }}\n{STYLE}"), &body)
}

/// What a browser and what a person calls it.
fn sheet(sheet: Sheet) -> (&'static str, &'static str) {
    match sheet {
        Sheet::A4 => ("A4", "A4"),
        Sheet::Letter => ("letter", "Letter"),
    }
}

fn leaf(leaf: &Leaf<'_>) -> Markup {
    html! {
        @for Shown { table, rows } in &leaf.tables { (whole(table, *rows)) }
        @for Pair { left, right } in &leaf.pairs { (side_by_side(left, right)) }
    }
}

fn side_by_side(left: &[Svg], right: &[Svg]) -> Markup {
    html! {
        div.pair {
            @for column in [left, right] { div.column { @for svg in column { figure { (svg.markup) } } } }
        }
    }
}

/// A table of which so many rows are on paper; the screen has all.
fn whole(table: &Table, on_paper: usize) -> Markup {
    let figures: Vec<bool> = (0..table.columns()).map(|column| table.figures(column)).collect();
    let class = |column: usize| figures.get(column).copied().unwrap_or(false).then_some("n");
    let left_out = table.rows.len().saturating_sub(on_paper);
    html! {
        h2 { (line(&table.title)) }
        table {
            @if !table.head.is_empty() {
                thead { tr { @for (n, name) in table.head.iter().enumerate() { th class=[class(n)] { (line(name)) } } } }
            }
            tbody {
                @for (at, row) in table.rows.iter().enumerate() {
                    tr class=[(at >= on_paper).then_some("more")] {
                        @for n in 0..figures.len() { (cell(table.cell(row, n), class(n))) }
                    }
                }
            }
        }
        @if left_out > 0 { p.paper { "and " (left_out) " more: open this file on a screen." } }
        @if !table.note.is_empty() { p.note { (line(&table.note)) } }
    }
}

fn cell(text: &str, class: Option<&str>) -> Markup {
    let torn = text.split_whitespace().any(|word| columns(word) > WORD).then_some("torn");
    html! { td class=[torn.or(class)] { (line(text)) } }
}
