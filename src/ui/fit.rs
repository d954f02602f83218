//! Text made to fit: widths in terminal columns, cuts between graphemes.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

use crate::ui::theme::Theme;

/// Columns on screen, grapheme by grapheme as they are drawn.
pub(crate) fn columns(text: &str) -> usize {
    text.graphemes(true).map(UnicodeWidthStr::width).sum()
}

/// The text, or as much of it as fits before a mark that says more was there.
pub(crate) fn cut(text: &str, width: usize, theme: Theme) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let mark = if theme.wide_signs { "…" } else { ".." };
    let mark = head(mark, width);
    head(text, width - columns(&mark)) + &mark
}

/// The text with spaces up to `width`.
pub(crate) fn pad(text: &str, width: usize) -> String {
    let spaces = width.saturating_sub(columns(text));
    format!("{text}{}", " ".repeat(spaces))
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
        for word in line.split_word_bounds() {
            let full = columns(&row.text) + columns(word) > width;
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

/// Puts a full row away and begins the next.
fn turned(row: Row, rows: &mut Vec<Row>) -> Row {
    let start = row.start + row.text.chars().count();
    rows.push(row);
    Row { start, text: String::new() }
}

/// As many graphemes as fit.
fn head(text: &str, width: usize) -> String {
    let mut used = 0;
    let fits = text.graphemes(true).take_while(|grapheme| {
        used += grapheme.width();
        used <= width
    });
    fits.collect()
}
