//! The one door through which typed, pasted and restored text comes into a form.

use crate::domain::text;

/// Cleaned text and how many characters were dropped; line ends stay, fields limit the length.
pub(super) fn clean(text: &str) -> (String, usize) {
    let mut removed = 0;
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| {
            let cleaned = text::clean_line(line, usize::MAX);
            removed += cleaned.removed;
            cleaned.text
        })
        .collect();
    (lines.join("\n"), removed)
}
