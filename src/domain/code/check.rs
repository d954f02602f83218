//! The check character of ISO/IEC 7064, hybrid system MOD 37-36.

/// The check character for `body`, over 0–9 and A–Z; hyphens are skipped.
/// `None` if the body is empty or holds anything else.
pub fn check_char(body: &str) -> Option<char> {
    let values: Vec<u8> = body.chars().filter(|&c| c != '-').map(value).collect::<Option<_>>()?;
    (!values.is_empty()).then(|| closing(values.into_iter()))
}

/// ISO/IEC 7064 hybrid system MOD 37-36 over character values 0–35.
pub(super) fn closing(values: impl Iterator<Item = u8>) -> char {
    let product = values.fold(36, |product, value| {
        let sum = match (product + value) % 36 {
            0 => 36,
            sum => sum,
        };
        2 * sum % 37
    });
    match (37 - product) % 36 {
        digit @ 0..=9 => char::from(b'0' + digit),
        letter => char::from(b'A' + letter - 10),
    }
}

pub(super) fn value(c: char) -> Option<u8> {
    match u8::try_from(c).ok()? {
        digit @ b'0'..=b'9' => Some(digit - b'0'),
        letter @ b'A'..=b'Z' => Some(letter - b'A' + 10),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_characters_are_the_published_and_derived_ones() {
        for (body, check, source) in [
            ("A12425GABC1234002", 'M', "published: test of an open check-digit library"),
            ("PEA260712A", 'V', "derived"),
            ("PEA260712B", 'T', "derived"),
            ("RAD260712A", '5', "derived"),
            ("SUN260712A", 'S', "derived"),
            ("MIX260712A", 'H', "derived"),
            ("S0042", '9', "derived"),
            ("T0001", 'W', "derived"),
            ("PEA-260712-A", 'V', "derived; hyphens are skipped"),
        ] {
            assert_eq!(check_char(body), Some(check), "{body} ({source})");
        }
    }

    #[test]
    fn a_body_with_other_characters_has_no_check_character() {
        for body in ["", "-", "pea260712A", "T 0001", "T0001Ä"] {
            assert_eq!(check_char(body), None, "{body:?}");
        }
    }
}
