//! Text from outside (typed, pasted, scanned, imported) made safe to store and to print.
//!
//! What is left out cannot be seen: control characters and whole escape sequences, which would
//! steer the terminal, and characters that reorder or hide what is read.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

mod escape;

use escape::{ESCAPE, skip_sequence};

/// The longest note, in graphemes.
pub const NOTE_GRAPHEMES: usize = 2000;

const JOINER: char = '\u{200d}';

/// Text that is safe to keep, and what was done to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleaned {
    pub text: String,
    /// Characters left out because they cannot be seen; an escape sequence counts whole.
    pub removed: usize,
    /// Whether the end was cut off because the text was too long.
    pub cut: bool,
}

/// `1 tray`, `3 trays`.
pub fn counted(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// One line: line ends at its end go, those within it and tabs become spaces.
pub fn clean_line(raw: &str, max_graphemes: usize) -> Cleaned {
    let (text, removed) = visible(raw);
    let text = text.trim_end_matches('\n').replace('\n', " ");
    shortened(&text, removed, max_graphemes)
}

/// Several lines, each cleaned like one.
pub fn clean_lines(raw: &str) -> String {
    visible(raw).0
}

/// Words with a capital at their beginning.
pub fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A spreadsheet takes a cell that begins like this for a formula (P: OWASP, CSV injection).
pub fn harmless(cell: String) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell }
}

/// `text` in at most `width` columns: cut between graphemes and ended with "…", or with "~" where
/// only ASCII can be printed.
pub fn fit(text: &str, width: usize, ascii: bool) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let mut room = width;
    let mut fitted = String::new();
    for grapheme in text.graphemes(true) {
        // The sign needs a column too.
        if grapheme.width() >= room {
            break;
        }
        room -= grapheme.width();
        fitted.push_str(grapheme);
    }
    if room > 0 {
        fitted.push(if ascii { '~' } else { '…' });
    }
    fitted
}

/// Columns on screen or paper, grapheme by grapheme as they are drawn.
pub fn columns(text: &str) -> usize {
    text.graphemes(true).map(UnicodeWidthStr::width).sum()
}

/// Rows of whole words, at most `width` columns each; a word wider than a row is torn, and `%` and `g` stay at their number.
pub fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let unit = word.starts_with('%') || word.trim_matches(|c: char| c.is_ascii_punctuation()) == "g";
        match words.last_mut() {
            Some(number) if unit && number.ends_with(|c: char| c.is_ascii_digit()) => {
                *number = format!("{number} {word}");
            }
            _ => words.push(word.to_owned()),
        }
    }
    let mut rows: Vec<String> = Vec::new();
    for word in words.iter().flat_map(|word| torn(word, width)) {
        match rows.last_mut() {
            Some(row) if columns(row) + 1 + columns(&word) <= width => *row = format!("{row} {word}"),
            _ => rows.push(word),
        }
    }
    rows
}

/// A word in pieces of at most `width` columns; a sign wider than that goes.
fn torn(word: &str, width: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for grapheme in word.graphemes(true).filter(|grapheme| grapheme.width() <= width) {
        match pieces.last_mut() {
            Some(piece) if columns(piece) + grapheme.width() <= width => piece.push_str(grapheme),
            _ => pieces.push(grapheme.to_owned()),
        }
    }
    pieces
}

/// The text with spaces behind it up to `width` columns.
pub fn padded(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(columns(text))))
}

/// Text where only ASCII can be printed: units and dashes as near as it comes, anything else as `?`, and nothing moves.
pub fn plain(text: &str) -> String {
    let sign =
        |sign: &str| if sign.is_ascii() { sign.to_string() } else { nearest(sign).to_string().repeat(columns(sign)) };
    text.graphemes(true).map(sign).collect()
}

/// The degree sign goes: `19.5  C` is read, `19.5 ?C` is not.
pub fn nearest(symbol: &str) -> char {
    match symbol {
        "°" | "\u{a0}" => ' ',
        "×" => 'x',
        "²" => '2',
        "³" => '3',
        "–" | "—" | "−" => '-',
        "…" => '~',
        "’" | "‘" => '\'',
        _ => '?',
    }
}

fn shortened(text: &str, removed: usize, max_graphemes: usize) -> Cleaned {
    let end = text.grapheme_indices(true).nth(max_graphemes).map(|(at, _)| at);
    let kept = end.and_then(|end| text.get(..end)).unwrap_or(text);
    Cleaned { text: kept.to_owned(), removed, cut: end.is_some() }
}

/// The text without what cannot be seen, and how many characters that were.
fn visible(raw: &str) -> (String, usize) {
    let mut text = String::with_capacity(raw.len());
    let mut removed = 0;
    let mut rest = raw.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            ESCAPE | '\u{90}'..='\u{9f}' => removed += 1 + skip_sequence(c, &mut rest),
            '\r' => {
                rest.next_if_eq(&'\n');
                text.push('\n');
            }
            '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' => text.push('\n'),
            '\t' => text.push(' '),
            _ if c.is_control() || is_hidden(c) => removed += 1,
            _ if c.is_whitespace() => text.push(' '),
            _ => text.push(c),
        }
    }
    let (text, joiners) = without_loose_joiners(&text);
    (text, removed + joiners)
}

/// Marks that reorder the line, take no room, or are no characters at all.
fn is_hidden(c: char) -> bool {
    matches!(
        c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' // bidirectional marks, overrides
        | '\u{200b}' | '\u{feff}' | '\u{2060}'..='\u{206f}'           // no width, isolates
        | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}'         // annotations, tags
    )
}

/// Keeps a zero-width joiner only where it makes one sign of two, as in an emoji of a person with a tool.
fn without_loose_joiners(text: &str) -> (String, usize) {
    let mut kept = String::with_capacity(text.len());
    let mut removed = 0;
    for grapheme in text.graphemes(true) {
        let mut rest = grapheme.chars().peekable();
        while let Some(c) = rest.next() {
            let joins = rest.peek().and_then(|next| next.width()).is_some_and(|width| width > 0);
            if c == JOINER && !joins {
                removed += 1;
            } else {
                kept.push(c);
            }
        }
    }
    (kept, removed)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn line(raw: &str) -> (String, usize) {
        let cleaned = clean_line(raw, 100);
        (cleaned.text, cleaned.removed)
    }

    #[test]
    fn ordinary_text_is_left_alone() {
        for text in
            ["", "Pea, tray 12: 8 °C", "Grüne Erbse – naïve", "豌豆苗", "मटर", "👩\u{200d}🌾 sowed 🌱", "e\u{301}"]
        {
            assert_eq!(line(text), (text.to_owned(), 0));
            assert_eq!((clean_line(text, 100).removed, clean_line(text, 100).cut), (0, false));
        }
    }

    #[test]
    fn hidden_characters_go() {
        for c in "\u{0}\u{8}\u{1c}\u{7f}\u{80}\u{61c}\u{200b}\u{200e}\u{200f}\u{202a}\u{202e}\u{2066}\u{2069}\u{feff}\u{e0041}".chars() {
            assert_eq!(line(&format!("a{c}b")), ("ab".to_owned(), 1), "{c:?}");
        }
        assert_eq!(line("pea\u{202e}toor"), ("peatoor".to_owned(), 1));
    }

    #[test]
    fn joiners_stay_only_where_they_join() {
        assert_eq!(line("a\u{200d}b"), ("ab".to_owned(), 1));
        assert_eq!(line("\u{200d}a"), ("a".to_owned(), 1));
        assert_eq!(line("👩\u{200d}"), ("👩".to_owned(), 1));
        assert_eq!(line("👩\u{200d}\u{200d}🌾"), ("👩🌾".to_owned(), 2));
    }

    #[test]
    fn odd_spaces_become_spaces() {
        assert_eq!(line("1\u{a0}000\u{2009}g\u{3000}x\ty"), ("1 000 g x y".to_owned(), 0));
    }

    #[test]
    fn a_line_has_no_line_ends() {
        assert_eq!(line("one\r\ntwo\rthree\u{2028}four\n\r\n"), ("one two three four".to_owned(), 0));
    }

    #[test]
    fn long_text_is_cut_between_graphemes() {
        let cut = clean_line("e\u{301}e\u{301}👩\u{200d}🌾x", 3);
        assert_eq!((cut.text.as_str(), cut.cut), ("e\u{301}e\u{301}👩\u{200d}🌾", true));
        assert!(!clean_line("abc", 3).cut);
    }

    #[test]
    fn no_cell_becomes_a_formula() {
        for formula in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"] {
            assert_eq!(harmless(formula.into()), format!("'{formula}"));
        }
        assert_eq!(harmless("pea = good".into()), "pea = good");
    }

    #[test]
    fn several_lines_keep_their_ends_and_nothing_hidden() {
        assert_eq!(clean_lines("one\r\ntwo\u{1b}[31m\tred\u{202e}"), "one\ntwo red");
    }

    #[test]
    fn one_thing_and_several() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "tray")), ["0 trays", "1 tray", "2 trays"]);
    }

    #[test]
    fn units_stay_at_their_number_and_long_words_are_torn() {
        assert_eq!(wrapped("3 of 12, 25 % (9 to", 11), ["3 of 12,", "25 % (9 to"]);
        assert_eq!(wrapped("a mean of 239 g, now", 14), ["a mean of", "239 g, now"]);
        assert_eq!(wrapped("hash abcdefgh", 5), ["hash", "abcde", "fgh"]);
        assert!(wrapped(" ", 10).is_empty());
    }

    #[test]
    fn text_is_fitted_to_columns() {
        for (text, width, fitted) in [
            ("radish", 6, "radish"),
            ("radish", 5, "radi…"),
            ("radish", 1, "…"),
            ("radish", 0, ""),
            ("豌豆苗", 6, "豌豆苗"),
            ("豌豆苗", 5, "豌豆…"),
            ("豌豆苗", 4, "豌…"),
            ("e\u{301}e\u{301}e\u{301}", 2, "e\u{301}…"),
        ] {
            assert_eq!(fit(text, width, false), fitted, "{text} in {width}");
        }
        assert_eq!(fit("radish", 5, true), "radi~");
    }

    /// Ordinary text mixed with what must not come through.
    fn messy() -> impl Strategy<Value = String> {
        let piece = prop_oneof![
            any::<char>().prop_map(String::from),
            "[a-z0-9;\\[\\]()\\\\P _-]{1,4}",
            prop::sample::select(vec![
                "\u{1b}",
                "\u{1b}[",
                "\u{1b}]",
                "\u{7}",
                "\u{9b}",
                "\u{9d}",
                "\u{9c}",
                "\u{200d}",
                "👩",
                "🌾",
                "\u{fe0f}",
                "क",
                "\u{94d}",
                "ष",
                "\u{301}",
                "\u{202e}",
                "\u{200b}",
                "\r",
                "\n",
                "\u{85}",
                "\u{a0}",
                "🇨",
                "\u{e0067}",
            ])
            .prop_map(str::to_owned),
        ];
        prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
    }

    proptest! {
        #[test]
        fn nothing_hidden_is_left(raw in messy(), max in 0..30_usize) {
            let cleaned = clean_line(&raw, max);
            // Named again by their Unicode ranges, on purpose not through `is_hidden`.
            let forbidden = |c: char| c.is_control()
                || "\u{61c}\u{200b}\u{200e}\u{200f}\u{feff}\u{2028}\u{2029}".contains(c)
                || (0x202a..=0x202e).contains(&u32::from(c))
                || (0x2066..=0x2069).contains(&u32::from(c))
                || (0xe0000..=0xe007f).contains(&u32::from(c));
            prop_assert_eq!(cleaned.text.chars().find(|&c| forbidden(c)), None);
            prop_assert!(cleaned.text.graphemes(true).count() <= max);
        }

        #[test]
        fn cleaning_twice_changes_nothing(raw in messy(), max in 0..30_usize) {
            let once = clean_line(&raw, max).text;
            prop_assert_eq!(clean_line(&once, max), Cleaned { text: once.clone(), removed: 0, cut: false });
        }

        #[test]
        fn wrapped_text_is_whole_and_fits(raw in messy(), width in 2..40_usize) {
            let text = clean_line(&raw, 100).text;
            let rows = wrapped(&text, width);
            prop_assert!(rows.iter().all(|row| columns(row) <= width), "{rows:?}");
            let without_spaces = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(without_spaces(&rows.concat()), without_spaces(&text));
        }

        #[test]
        fn plain_text_is_ascii_and_as_wide(raw in messy()) {
            let text = clean_line(&raw, 100).text;
            let ascii = plain(&text);
            prop_assert!(ascii.is_ascii());
            prop_assert_eq!(ascii.len(), columns(&text));
        }

        #[test]
        fn fitted_text_fits(raw in messy(), width in 0..12_usize, ascii: bool) {
            let text = clean_line(&raw, 100).text;
            let fitted = fit(&text, width, ascii);
            prop_assert!(columns(&fitted) <= width, "{fitted:?}");
            prop_assert_eq!(fitted == text, columns(&text) <= width);
        }
    }
}
