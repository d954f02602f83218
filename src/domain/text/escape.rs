//! Terminal escape sequences (ECMA-48), skipped whole.

use std::iter::{Peekable, from_fn};
use std::ops::RangeInclusive;
use std::str::Chars;

pub(super) const ESCAPE: char = '\u{1b}';

/// Skips what follows ESC (or stands for ESC and a letter, 0x90–0x9F) up to the end of its
/// sequence as ECMA-48 defines it, and says how many characters that were.
pub(super) fn skip_sequence(start: char, rest: &mut Peekable<Chars<'_>>) -> usize {
    let (kind, introducer) = match start {
        ESCAPE => match rest.next_if(|c| ('\u{20}'..='\u{7e}').contains(c)) {
            Some(c) => (c, 1),
            None => return 0,
        },
        // The 8-bit form of ESC and the character 0x40 below.
        c => (char::from_u32(u32::from(c) - 0x40).unwrap_or(c), 0),
    };
    introducer
        + match kind {
            '[' => skip_control_sequence(rest),
            'P' | 'X' | ']' | '^' | '_' => skip_string(rest),
            ' '..='/' => skip_while(rest, ' '..='/') + skip_one(rest, '0'..='~'),
            _ => 0,
        }
}

fn skip_control_sequence(rest: &mut Peekable<Chars<'_>>) -> usize {
    skip_while(rest, '0'..='?') + skip_while(rest, ' '..='/') + skip_one(rest, '@'..='~')
}

/// A command string runs up to its terminator. Where another control character or the end comes
/// first nothing is skipped: what follows is the person's text, harmless without its introducer.
fn skip_string(rest: &mut Peekable<Chars<'_>>) -> usize {
    let mut ahead = rest.clone();
    let mut skipped = 1;
    let mut end = ahead.next();
    while end.is_some_and(|c| !c.is_control()) {
        skipped += 1;
        end = ahead.next();
    }
    match end {
        // BEL and ST end it, CAN and SUB break it off.
        Some('\u{7}' | '\u{9c}' | '\u{18}' | '\u{1a}') => {}
        Some(ESCAPE) if ahead.next_if_eq(&'\\').is_some() => skipped += 1,
        _ => return 0,
    }
    *rest = ahead;
    skipped
}

fn skip_while(rest: &mut Peekable<Chars<'_>>, range: RangeInclusive<char>) -> usize {
    from_fn(|| rest.next_if(|c| range.contains(c))).count()
}

fn skip_one(rest: &mut Peekable<Chars<'_>>, range: RangeInclusive<char>) -> usize {
    usize::from(rest.next_if(|c| range.contains(c)).is_some())
}

#[cfg(test)]
mod tests {
    use crate::domain::text::visible;

    #[test]
    fn escape_sequences_go_whole() {
        for (raw, text, removed) in [
            ("\u{1b}[31mred\u{1b}[0m", "red", 9),
            ("a\u{1b}[2 qb", "ab", 5),
            ("a\u{1b}[?1049hb", "ab", 8),
            ("\u{1b}]0;title\u{7}text", "text", 10),
            ("\u{1b}]8;;http://example.org\u{1b}\\link", "link", 25),
            ("\u{1b}P1$qm\u{1b}\\x", "x", 8),
            ("\u{1b}(Bx", "x", 3),
            ("\u{1b}cx", "x", 2),
            ("\u{9b}31mx", "x", 4),
            ("\u{9d}0;t\u{9c}x", "x", 5),
            ("x\u{1b}", "x", 1),
            ("x\u{1b}é", "xé", 1),
            ("x\u{1b}[31", "x", 4),
            ("\u{1b}]0;t\u{18}x", "x", 6),
        ] {
            assert_eq!(visible(raw), (text.to_owned(), removed), "{raw:?}");
        }
    }

    #[test]
    fn an_unfinished_command_string_swallows_no_text() {
        assert_eq!(visible("\u{1b}]0;mist the pea"), ("0;mist the pea".to_owned(), 2));
        assert_eq!(visible("\u{9d}a\nb\u{7}"), ("a\nb".to_owned(), 2));
        assert_eq!(visible("\u{1b}]a\u{1b}[31mb"), ("ab".to_owned(), 7));
    }
}
