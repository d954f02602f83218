//! Codes on trays, seed lots, sowings and lots, with the check character of ISO/IEC 7064 MOD 37-36.
//!
//! The check character catches every single wrong character and nearly every swap of two
//! neighbours, so a misread label is refused instead of being taken for another tray.

use std::fmt;

use chrono::NaiveDate;

mod check;
mod near;

pub use check::check_char;
pub use near::{one_edit_from, within_one_edit};

use check::{closing, value};

/// How many digits a numbered code has at least.
const MIN_DIGITS: usize = 4;
/// Letters and date digits at the start of a lot's code.
const LETTERS: usize = 3;
const DATE: usize = 6;

/// What a code stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// `T0001`: one tray.
    Tray,
    /// `S0042`: one received seed lot.
    SeedLot,
    /// `B0107`: one sowing, "batch" on the screens.
    Sowing,
    /// `M0003`: one prepared mix.
    Mix,
    /// `PEA260712A`: a harvest or pack lot: three letters, the day as YYMMDD, the run A–Z or AA–ZZ.
    Lot,
}

/// A code of a known shape; the check character is worked out when it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Code {
    kind: Kind,
    body: String,
}

/// Why a typed or scanned code is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    #[error(
        "this is not a code of this book: type it as on the label, like T0001-W, with capitals and the last character"
    )]
    Shape,
    #[error("this code has a mistake in it, because it would have to end in {expected}: read it again from the label")]
    Check { expected: char },
}

impl Code {
    /// The code of a tray; `id` is its row number, 1 or more.
    pub fn tray(id: i64) -> Self {
        Self::numbered(Kind::Tray, 'T', id)
    }

    /// The code of a seed lot; `id` is its row number, 1 or more.
    pub fn seed_lot(id: i64) -> Self {
        Self::numbered(Kind::SeedLot, 'S', id)
    }

    /// The code of a sowing; `id` is its row number, 1 or more.
    pub fn sowing(id: i64) -> Self {
        Self::numbered(Kind::Sowing, 'B', id)
    }

    /// The code of a prepared mix; `id` is its row number, 1 or more.
    pub fn mix(id: i64) -> Self {
        Self::numbered(Kind::Mix, 'M', id)
    }

    /// The code of a lot: three capitals, the day, the run of that day counted from 0. `None` past run ZZ, and for letters
    /// or days no label has.
    pub fn lot(letters: &str, day: NaiveDate, run: u32) -> Option<Self> {
        Self::of_lot(&format!("{letters}{}{}", day.format("%y%m%d"), super::lot::run_letters(run)?))
    }

    /// The code of a lot as it is stored, without hyphens and check character.
    pub fn of_lot(body: &str) -> Option<Self> {
        is_lot(body).then(|| Self { kind: Kind::Lot, body: body.to_owned() })
    }

    fn numbered(kind: Kind, letter: char, id: i64) -> Self {
        debug_assert!(id > 0, "row numbers start at 1");
        let body = format!("{letter}{:0MIN_DIGITS$}", id.unsigned_abs());
        Self { kind, body }
    }

    /// Reads a typed or scanned code: hyphens and a scanner's symbology prefix (`]C0`) are
    /// skipped, the check character is required, only capitals count.
    pub fn parse(typed: &str) -> Result<Self, CodeError> {
        let mut body = plain(typed);
        let given = body.pop().ok_or(CodeError::Shape)?;
        let kind = kind_of(&body).ok_or(CodeError::Shape)?;
        let expected = check_char(&body).ok_or(CodeError::Shape)?;
        if given == expected {
            Ok(Self { kind, body })
        } else if value(given).is_some() {
            Err(CodeError::Check { expected })
        } else {
            Err(CodeError::Shape)
        }
    }

    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// The code without hyphens and check character, as a lot's is stored.
    pub fn body(&self) -> &str {
        &self.body
    }

    /// The row number in a tray's, seed lot's, sowing's or mix's code; a lot has none.
    pub fn number(&self) -> Option<i64> {
        match self.kind {
            Kind::Lot => None,
            Kind::Tray | Kind::SeedLot | Kind::Sowing | Kind::Mix => self.body.get(1..)?.parse().ok(),
        }
    }

    /// As printed on a label: `T0001-W`, `PEA-260712-A-V`.
    pub fn shown(&self) -> String {
        self.to_string()
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, c) in self.body.chars().enumerate() {
            if self.kind == Kind::Lot && (at == LETTERS || at == LETTERS + DATE) {
                f.write_str("-")?;
            }
            write!(f, "{c}")?;
        }
        write!(f, "-{}", closing(self.body.chars().filter_map(value)))
    }
}

/// What was typed without the spaces around it, the symbology prefix and the hyphens.
fn plain(typed: &str) -> String {
    let typed = typed.trim();
    without_symbology(typed).unwrap_or(typed).chars().filter(|&c| c != '-').collect()
}

/// Scanners can be set to send `]`, a letter and a digit or letter before the code
/// (the symbology identifier of ISO/IEC 15424, "AIM identifier").
fn without_symbology(typed: &str) -> Option<&str> {
    typed
        .strip_prefix(']')?
        .strip_prefix(|c: char| c.is_ascii_alphabetic())?
        .strip_prefix(|c: char| c.is_ascii_alphanumeric())
}

/// The kind of a body without its check character, if its shape is one of ours.
fn kind_of(body: &str) -> Option<Kind> {
    if is_lot(body) {
        return Some(Kind::Lot);
    }
    let mut rest = body.chars();
    let kind = match rest.next()? {
        'T' => Kind::Tray,
        'S' => Kind::SeedLot,
        'B' => Kind::Sowing,
        'M' => Kind::Mix,
        _ => return None,
    };
    is_number(rest.as_str()).then_some(kind)
}

/// At least four digits, no zero that only makes it longer, from 1 to the largest row number.
fn is_number(digits: &str) -> bool {
    digits.len() >= MIN_DIGITS
        && digits.bytes().all(|b| b.is_ascii_digit())
        && (digits.len() == MIN_DIGITS || !digits.starts_with('0'))
        && digits.parse::<i64>().is_ok_and(|id| id > 0)
}

fn is_lot(body: &str) -> bool {
    let part = |from, to| body.get(from..to).unwrap_or("");
    let capitals = |s: &str| s.bytes().all(|b| b.is_ascii_uppercase());
    let (letters, date) = (part(0, LETTERS), part(LETTERS, LETTERS + DATE));
    let run = part(LETTERS + DATE, body.len());
    letters.len() == LETTERS && capitals(letters) && is_date(date) && (1..=2).contains(&run.len()) && capitals(run)
}

/// YYMMDD of a day the calendar of 2000–2099 has.
fn is_date(yymmdd: &str) -> bool {
    let number = |from, to| {
        let digits = yymmdd.get(from..to)?;
        digits.bytes().all(|b| b.is_ascii_digit()).then(|| digits.parse::<u16>().ok())?
    };
    let (Some(year), Some(month), Some(day)) = (number(0, 2), number(2, 4), number(4, DATE)) else {
        return false;
    };
    NaiveDate::from_ymd_opt(2000 + i32::from(year), month.into(), day.into()).is_some()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ALPHABET: &str = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";

    #[test]
    fn numbered_codes_are_shown_as_on_the_label() {
        assert_eq!(Code::tray(1).shown(), "T0001-W");
        assert_eq!(Code::seed_lot(42).shown(), "S0042-9");
        assert_eq!(Code::sowing(107).body(), "B0107");
        assert_eq!(Code::tray(123_456).body(), "T123456");
        assert_eq!(Code::tray(123_456).number(), Some(123_456));
    }

    #[test]
    fn a_code_is_read_with_hyphens_spaces_and_scanner_prefix() {
        for typed in ["T0001-W", "T0001W", "  T0001W\r\n", "]C0T0001W", "]Q1T0001-W", "]d2T0001W"] {
            assert_eq!(Code::parse(typed), Ok(Code::tray(1)), "{typed:?}");
        }
        for typed in ["PEA-260712-A-V", "PEA260712AV", "]C0PEA260712AV"] {
            let code = Code::parse(typed).unwrap();
            assert_eq!((code.kind(), code.number()), (Kind::Lot, None));
            assert_eq!((code.body(), code.shown().as_str()), ("PEA260712A", "PEA-260712-A-V"));
        }
        let late = format!("PEA260712AB{}", check_char("PEA260712AB").unwrap());
        assert_eq!(Code::parse(&late).unwrap().body(), "PEA260712AB");
    }

    #[test]
    fn a_wrong_check_character_names_the_right_one() {
        let refused = Code::parse("T0001-X").unwrap_err();
        assert_eq!(refused, CodeError::Check { expected: 'W' });
        assert!(refused.to_string().contains("end in W"));
    }

    #[test]
    fn other_shapes_are_refused_even_with_a_right_check_character() {
        let bodies = [
            "T001",
            "T00001",
            "T0000",
            "X0001",
            "T99999999999999999999",
            "PE260712A",
            "PEA260230A",
            "PEA261301A",
            "PEA260700A",
            "PEA2607121",
            "PEA260712ABC",
            "P3A260712A",
        ];
        for body in bodies {
            let typed = format!("{body}{}", check_char(body).unwrap());
            assert_eq!(Code::parse(&typed), Err(CodeError::Shape), "{typed}");
        }
        for typed in ["", "-", "]C0", "T0001", "t0001w", "T0001w", "T0001-é", "T0001 W", "PEA260712A"] {
            assert_eq!(Code::parse(typed), Err(CodeError::Shape), "{typed:?}");
        }
    }

    #[test]
    fn leap_days_follow_the_calendar() {
        assert!(is_date("280229") && is_date("000229"));
        assert!(!is_date("260229"));
    }

    #[test]
    fn misread_lots_are_refused() {
        for typed in ["PEA260721AV", "PAE260712AV", "PEA26O712AV", "PEA260712BV"] {
            assert!(Code::parse(typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn every_one_character_change_and_neighbour_swap_of_a_lot_code_fails() {
        let right: Vec<char> = "PEA260712AV".chars().collect();
        let (mut changes, mut swaps) = (0, 0);
        for at in 0..right.len() {
            for c in ALPHABET.chars().filter(|&c| c != right[at]) {
                let mut wrong = right.clone();
                wrong[at] = c;
                let wrong: String = wrong.into_iter().collect();
                let (body, check) = wrong.split_at(right.len() - 1);
                assert_ne!(check_char(body), check.chars().next(), "{wrong}");
                assert!(Code::parse(&wrong).is_err(), "{wrong}");
                changes += 1;
            }
        }
        for at in 1..right.len() {
            let mut wrong = right.clone();
            wrong.swap(at - 1, at);
            let wrong: String = wrong.into_iter().collect();
            let (body, check) = wrong.split_at(right.len() - 1);
            assert_ne!(check_char(body), check.chars().next(), "{wrong}");
            assert!(Code::parse(&wrong).is_err(), "{wrong}");
            swaps += 1;
        }
        assert_eq!((changes, swaps), (385, 10));
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(id in 1..=i64::MAX, kind in 0..4) {
            let code = [Code::tray, Code::seed_lot, Code::sowing, Code::mix][usize::try_from(kind).unwrap()](id);
            prop_assert_eq!(code.number(), Some(id));
            prop_assert_eq!(Code::parse(&code.shown()), Ok(code));
        }

        #[test]
        fn a_shown_lot_reads_back(
            letters in "[A-Z]{3}", year in 0..100, month in 1..=12, day in 1..=28, run in "[A-Z]{1,2}",
        ) {
            let body = format!("{letters}{year:02}{month:02}{day:02}{run}");
            let typed = format!("{body}{}", check_char(&body).unwrap());
            let code = Code::parse(&typed).unwrap();
            prop_assert_eq!(code.body(), body);
            prop_assert_eq!(Code::parse(&code.shown()), Ok(code));
        }
    }
}
