//! The one door through which typed, pasted and restored text comes into a form.

/// Text without control and direction-changing characters, and how many were dropped.
pub(super) fn clean(text: &str) -> (String, usize) {
    let kept: String = text.chars().filter(|c| !is_unwanted(*c)).collect();
    let dropped = text.chars().count() - kept.chars().count();
    (kept, dropped)
}

/// Controls (escape among them), and the characters of the Unicode bidirectional algorithm
/// (UAX #9, section 2: LRM, RLM, ALM, embeddings, overrides, isolates), line separators and the
/// byte order mark.
fn is_unwanted(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{61c}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}'
                | '\u{feff}'
        )
}
