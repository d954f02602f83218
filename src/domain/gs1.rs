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

/// A company prefix as it is licensed.
pub fn is_prefix(text: &str) -> bool {
    (4..=12).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit())
}

impl Gtin {
    /// Whether the number begins with a company prefix, behind the digit that says how things are bundled.
    pub fn is_of(&self, prefix: &str) -> bool {
        let behind = self.0.get(1..).unwrap_or("");
        is_prefix(prefix)
            && (behind.starts_with(prefix) || behind.strip_prefix('0').is_some_and(|rest| rest.starts_with(prefix)))
    }
}

/// The separator behind an element of no fixed length.
pub const GS: char = '\u{1d}';

/// An element: its application identifier and its value.
pub type Element<'a> = (&'a str, &'a str);

/// Why elements cannot be written or read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ElementError {
    #[error("this application identifier is not one the program knows")]
    Unknown,
    #[error("a value has the wrong length, or a character this system does not allow")]
    Value,
    #[error("a date in it is not in the calendar")]
    Date,
    #[error("the check digit in it does not fit")]
    Check,
}

/// Digits of an identifier of fixed length; `None`: up to 20 characters of set 82. P: GS1 General Specifications.
fn fixed(ai: &str) -> Result<Option<usize>, ElementError> {
    Ok(match ai {
        "01" => Some(14),
        "11" | "13" | "15" | "17" => Some(6),
        "10" | "21" => None,
        ai if ai.len() == 4 && ai.starts_with("310") => Some(6),
        _ => return Err(ElementError::Unknown),
    })
}

/// Character set 82: letters, digits and these signs; no space, `#`, `$`, `@` or `~`.
fn in_set_82(c: char) -> bool {
    c.is_ascii_alphanumeric() || "!\"%&'()*+,-./_:;<=>?".contains(c)
}

fn check_value(ai: &str, value: &str) -> Result<(), ElementError> {
    match fixed(ai)? {
        Some(length) if value.len() != length || !value.bytes().all(|b| b.is_ascii_digit()) => Err(ElementError::Value),
        Some(_) if ai == "01" => value.parse::<Gtin>().map(|_| ()).map_err(|_| ElementError::Check),
        Some(_) if ["11", "13", "15", "17"].contains(&ai) => date(value),
        Some(_) => Ok(()),
        None if (1..=20).contains(&value.chars().count()) && value.chars().all(in_set_82) => Ok(()),
        None => Err(ElementError::Value),
    }
}

/// YYMMDD with a day; day 00 is never written, and not read as any day.
fn date(value: &str) -> Result<(), ElementError> {
    chrono::NaiveDate::parse_from_str(&format!("20{value}"), "%Y%m%d").map(|_| ()).map_err(|_| ElementError::Date)
}

/// Elements one after the other, as a symbol holds them behind its first sign; a separator behind what has no fixed length,
/// unless it is the last.
pub fn element_string(elements: &[Element<'_>]) -> Result<String, ElementError> {
    let mut text = String::new();
    for (n, (ai, value)) in elements.iter().enumerate() {
        check_value(ai, value)?;
        text.push_str(ai);
        text.push_str(value);
        if fixed(ai)?.is_none() && n + 1 < elements.len() {
            text.push(GS);
        }
    }
    Ok(text)
}

/// The address of a product's lot on the web, in the form of the GS1 Digital Link standard.
pub fn digital_link(
    gtin: &Gtin,
    lot: &str,
    serial: Option<&str>,
    expiry: Option<&str>,
) -> Result<String, ElementError> {
    check_value("10", lot)?;
    let mut link = format!("https://id.gs1.org/01/{gtin}/10/{}", escaped(lot));
    if let Some(serial) = serial {
        check_value("21", serial)?;
        link.push_str("/21/");
        link.push_str(&escaped(serial));
    }
    if let Some(expiry) = expiry {
        check_value("17", expiry)?;
        link.push_str("?17=");
        link.push_str(expiry);
    }
    Ok(link)
}

/// Percent-encoded but for what RFC 3986 leaves unreserved.
fn escaped(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let one = |byte: u8| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(one).collect()
}

/// The lot in what a scanner sent: elements with separators or in brackets, or a Digital Link.
pub fn lot_in(scanned: &str) -> Option<String> {
    let text = scanned.trim().trim_start_matches(GS);
    if let Some((_, rest)) = text.split_once("/10/") {
        let end = rest.find(['/', '?']).unwrap_or(rest.len());
        return unescaped(rest.get(..end)?);
    }
    let text = ["]d2", "]C1", "]Q3", "]e0"].iter().find_map(|mark| text.strip_prefix(mark)).unwrap_or(text);
    if text.starts_with('(') {
        let (_, rest) = text.split_once("(10)")?;
        return Some(rest.split('(').next()?.to_owned()).filter(|lot| !lot.is_empty());
    }
    let mut rest = text.trim_start_matches(GS);
    while !rest.is_empty() {
        let ai = [2, 4].into_iter().find_map(|n| rest.get(..n).filter(|ai| fixed(ai).is_ok()))?;
        let after = rest.get(ai.len()..)?;
        let end = fixed(ai).ok()?.unwrap_or_else(|| after.find(GS).unwrap_or(after.len()));
        let value = after.get(..end)?;
        check_value(ai, value).ok()?;
        if ai == "10" {
            return Some(value.to_owned());
        }
        rest = after.get(end..)?.trim_start_matches(GS);
    }
    None
}

fn unescaped(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        if *first == b'%' {
            let hex = std::str::from_utf8(after.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(hex, 16).ok()?);
            rest = after.get(2..)?;
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok().filter(|lot| !lot.is_empty())
}

#[cfg(test)]
mod tests;
