//! Pictures for paper: drawn by hand in SVG, black on white, every value a mark of its own.
//!
//! Each stands alone, says what it shows in a title and a description, and needs nothing from elsewhere.

use maud::{Markup, html};

use crate::domain::picture::{NOTHING, Picture};
use crate::domain::text::{clean_line, columns, fit, wrapped};

mod bars;
mod dots;
mod heat;
mod runs;
#[cfg(test)]
mod tests;

/// How wide every picture is, in its own measure; two of them stand side by side on paper.
pub const WIDE: f64 = 360.0;
/// Below the title.
const TOP: f64 = 24.0;
/// From one line of words to the next.
const LINE: f64 = 11.5;
/// About as wide as a letter of the size of most words.
const LETTER: f64 = 4.9;

/// A picture and how high it is in its own measure.
pub struct Svg {
    pub markup: Markup,
    pub high: f64,
}

/// What is drawn below the title, how far down it goes, and the words below it.
struct Drawn {
    body: Markup,
    end: f64,
    notes: Vec<String>,
}

pub fn svg(picture: &Picture) -> Svg {
    let drawn = match picture {
        Picture::Dots(dots) => dots::drawn(dots),
        Picture::Runs(runs) => runs::drawn(runs),
        Picture::Bars(bars) => bars::drawn(bars),
        Picture::Heat(heat) => heat::drawn(heat),
    };
    let nothing = || Drawn { body: html! {}, end: TOP - 4.0, notes: vec![NOTHING.into()] };
    let Drawn { body, end, notes } = drawn.unwrap_or_else(nothing);
    let rows: Vec<String> = notes.iter().flat_map(|note| wrapped(&line(note), letters(WIDE))).collect();
    let below: Vec<(f64, &String)> = steps(end + LINE, LINE).zip(&rows).collect();
    let high = below.last().map_or(end, |(y, _)| *y) + 5.0;
    let title = line(picture.title());
    let markup = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDE} {high}")) width=(WIDE) height=(high)
            role="img" aria-label=(title) font-family="Liberation Sans, Arial, Helvetica, sans-serif" font-size="9.5" fill="#000" {
            title { (title) }
            desc { (line(&picture.words())) }
            rect x="0" y="0" width=(WIDE) height=(high) fill="#fff" {}
            text x="0" y="12" font-size="11.5" font-weight="bold" { (fit(&title, 60, false)) }
            (body)
            @for (y, row) in &below { text x="0" y=(n(*y)) { (row) } }
        }
    };
    Svg { markup, high }
}

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), 4000).text
}

/// What fits of a text into so much room.
fn label(text: &str, room: f64) -> String {
    fit(&line(text), letters(room), false)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a width on paper is small and not negative"
)]
fn letters(room: f64) -> usize {
    (room / LETTER).max(0.0) as usize
}

/// About how wide a text is.
#[expect(clippy::cast_precision_loss, reason = "a text is short")]
fn wide(text: &str) -> f64 {
    columns(text) as f64 * LETTER
}

/// Evenly from one place on.
fn steps(from: f64, by: f64) -> impl Iterator<Item = f64> {
    (0u32..).map(move |n| from + f64::from(n) * by)
}

/// A place, to a tenth.
fn n(x: f64) -> String {
    let text = format!("{x:.1}");
    text.strip_suffix(".0").map_or(text.clone(), ToString::to_string)
}

/// A line from one place to another.
fn stroke(from: (f64, f64), to: (f64, f64), width: &str, ink: &str) -> Markup {
    html! { line x1=(n(from.0)) y1=(n(from.1)) x2=(n(to.0)) y2=(n(to.1)) stroke=(ink) stroke-width=(width) {} }
}

/// Words that begin at, end at or lie about a place.
fn text(at: (f64, f64), anchor: &str, words: &str) -> Markup {
    html! { text x=(n(at.0)) y=(n(at.1)) text-anchor=(anchor) { (words) } }
}
