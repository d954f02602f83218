//! Text made to fit: widths in terminal columns, cuts between graphemes.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

pub(crate) use crate::domain::text::{columns, padded as pad};
use crate::ui::theme::Theme;

/// The text, or as much of it as fits before a mark that says more was there.
pub(crate) fn cut(text: &str, width: usize, theme: Theme) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let mark = if theme.wide_signs { "…" } else { ".." };
    let mark = head(mark, width);
    head(text, width - columns(&mark)) + &mark
}

/// The stretch of `text` that shows the caret, and the caret's column in it. `caret` is the column
/// in the whole text; the result is at most `width` wide and the caret stands below `width`.
pub(crate) fn around(text: &str, caret: usize, width: usize) -> (String, usize) {
    let mut hidden = 0;
    let mut rest = text;
    for grapheme in text.graphemes(true) {
        if caret < hidden + width {
            break;
        }
        hidden += grapheme.width();
        rest = rest.strip_prefix(grapheme).unwrap_or_default();
    }
    (head(rest, width), caret.saturating_sub(hidden))
}

/// Rows of whole words; a word wider than a row is cut. Nothing for an empty text.
pub(crate) fn wrap(text: &str, width: usize) -> Vec<String> {
    if text.is_empty() {
        return Vec::new();
    }
    let rows = wrap_from(text, width).into_iter();
    rows.map(|row| row.text.trim_end().to_owned()).collect()
}

/// One row of wrapped text and how many characters stand before it.
pub(crate) struct Row {
    pub start: usize,
    pub text: String,
}

/// Rows of at most `width` columns that together hold every character but the line breaks.
pub(crate) fn wrap_from(text: &str, width: usize) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut start = 0;
    for line in text.split('\n') {
        let mut row = Row { start, text: String::new() };
        for word in words(line) {
            let full = columns(&row.text) + columns(&word) > width;
            // A space may hang over the edge rather than begin a row.
            if full && !row.text.is_empty() && word != " " {
                row = turned(row, &mut rows);
            }
            for grapheme in word.graphemes(true) {
                let full = columns(&row.text) + grapheme.width() > width;
                if full && !row.text.is_empty() && word != " " {
                    row = turned(row, &mut rows);
                }
                row.text.push_str(grapheme);
            }
        }
        start += line.chars().count() + 1;
        rows.push(row);
    }
    rows
}

/// Words with the signs that belong to them, so that no row begins with a comma and no code is torn apart.
fn words(line: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for part in line.split_word_bounds() {
        let belongs = |before: &String| {
            let (Some(last), Some(first)) = (before.chars().last(), part.chars().next()) else { return false };
            let spaced = last.is_whitespace() || first.is_whitespace();
            !spaced && (first.is_ascii_punctuation() || (last.is_ascii() && first.is_ascii()))
        };
        match words.last_mut() {
            Some(before) if belongs(before) => before.push_str(part),
            _ => words.push(part.to_owned()),
        }
    }
    words
}

/// Phrases side by side on as many rows as they need; none is torn apart.
pub(crate) fn side_by_side(phrases: impl IntoIterator<Item = String>, gap: usize, width: usize) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for phrase in phrases {
        match rows.last_mut() {
            Some(row) if columns(row) + gap + columns(&phrase) <= width => {
                row.push_str(&" ".repeat(gap));
                row.push_str(&phrase);
            }
            _ => rows.push(phrase),
        }
    }
    rows
}

/// Puts a full row away and begins the next.
fn turned(row: Row, rows: &mut Vec<Row>) -> Row {
    let start = row.start + row.text.chars().count();
    rows.push(row);
    Row { start, text: String::new() }
}

/// As many graphemes as fit.
pub(crate) fn head(text: &str, width: usize) -> String {
    let mut used = 0;
    let fits = text.graphemes(true).take_while(|grapheme| {
        used += grapheme.width();
        used <= width
    });
    fits.collect()
}
