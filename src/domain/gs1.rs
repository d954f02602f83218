//! Numbers and texts of the GS1 General Specifications, used only with a licensed company prefix.

use std::fmt;
use std::str::FromStr;

/// The check digit of a number without it: weights 3 and 1 in turn from the right, up to the next ten.
pub fn check_digit(digits: &str) -> Option<u8> {
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let weights = [3u32, 1].into_iter().cycle();
    let sum: u32 = digits.bytes().rev().zip(weights).map(|(b, weight)| u32::from(b - b'0') * weight).sum();
    u8::try_from((10 - sum % 10) % 10).ok()
}

/// A trade item number with its right check digit, kept in fourteen digits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gtin(String);

/// Why a number is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum GtinError {
    #[error("A trade item number has 8, 12, 13 or 14 digits: read it again.")]
    Shape,
    #[error("The last digit of this number would have to be {expected}: read it again.")]
    Check { expected: u8 },
}

impl FromStr for Gtin {
    type Err = GtinError;

    fn from_str(text: &str) -> Result<Self, GtinError> {
        let digits: String = text.chars().filter(|c| !c.is_whitespace() && *c != '-').collect();
        if ![8, 12, 13, 14].contains(&digits.len()) {
            return Err(GtinError::Shape);
        }
        let (body, last) = digits.split_at_checked(digits.len() - 1).ok_or(GtinError::Shape)?;
        let expected = check_digit(body).ok_or(GtinError::Shape)?;
        match last.parse::<u8>() {
            Ok(given) if expected == given => Ok(Self(format!("{digits:0>14}"))),
            Ok(_) => Err(GtinError::Check { expected }),
            Err(_) => Err(GtinError::Shape),
        }
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
