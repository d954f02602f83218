//! Against values that GS1 publishes (General Specifications; Digital Link standard), as our reference lists them.

use super::*;

#[test]
fn check_digits_are_those_published() {
    for (digits, expected) in [("629104150021", 3), ("730001100001", 7), ("0234567", 3), ("41600033610", 8)] {
        assert_eq!(check_digit(digits), Some(expected), "{digits}");
    }
    for none in ["", "62910415002x", " 1", "-1"] {
        assert_eq!(check_digit(none), None, "{none:?}");
    }
}

#[test]
fn a_number_is_taken_with_its_right_check_digit_only() {
    assert_eq!("6291041500213".parse::<Gtin>().unwrap().to_string(), "06291041500213");
    assert_eq!("629 1041-500213".parse::<Gtin>().unwrap().to_string(), "06291041500213");
    assert_eq!("6291041500214".parse::<Gtin>(), Err(GtinError::Check { expected: 3 }));
    for wrong in ["", "629104150021", "629104150021x", "123456789", "012345678901234"] {
        assert!(wrong.parse::<Gtin>().is_err(), "{wrong}");
    }
}

#[test]
fn a_number_belongs_to_the_prefix_it_begins_with() {
    let gtin: Gtin = "6291041500213".parse().unwrap();
    assert!(gtin.is_of("6291041") && !gtin.is_of("6291042") && !gtin.is_of("629") && !gtin.is_of(""));
}

#[test]
fn elements_follow_each_other_as_published() {
    // the first sign, FNC1, is the symbol's own
    let two = element_string(&[("01", "12345678901231"), ("10", "12345")]).unwrap();
    assert_eq!(two, "01123456789012311012345");
    let separated = element_string(&[("10", "12345"), ("11", "991225")]).unwrap();
    assert_eq!(separated, "1012345\u{1d}11991225");
    assert_eq!(element_string(&[("3103", "000195")]).unwrap(), "3103000195");
}

#[test]
fn what_the_system_does_not_allow_is_refused() {
    assert!(element_string(&[("17", "200229")]).is_ok(), "a leap day");
    for (element, why) in [
        (("17", "210229"), ElementError::Date),
        (("17", "210200"), ElementError::Date),
        (("10", ""), ElementError::Value),
        (("10", "A B"), ElementError::Value),
        (("10", "A#"), ElementError::Value),
        (("10", "A$"), ElementError::Value),
        (("10", "A@"), ElementError::Value),
        (("10", "A~"), ElementError::Value),
        (("10", "ABCDEFGHIJKLMNOPQRSTU"), ElementError::Value),
        (("01", "12345678901232"), ElementError::Check),
        (("99", "1"), ElementError::Unknown),
    ] {
        assert_eq!(element_string(&[element]), Err(why), "{element:?}");
    }
}

#[test]
fn a_link_is_the_published_one() {
    let gtin: Gtin = "09520123456788".parse().unwrap();
    let link = digital_link(&gtin, "ABC1", Some("12345"), Some("180426")).unwrap();
    assert_eq!(link, "https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426");
    assert_eq!(digital_link(&gtin, "A/1", None, None).unwrap(), "https://id.gs1.org/01/09520123456788/10/A%2F1");
}

#[test]
fn a_scan_gives_its_lot() {
    for scanned in [
        "]d201123456789012311012345",
        "01123456789012311012345",
        "\u{1d}1012345\u{1d}11991225",
        "11991225310300019501123456789012311012345",
        "(01)12345678901231(10)12345",
        "(10)12345(11)991225",
        "https://id.gs1.org/01/09520123456788/10/12345?17=180426",
        "https://shop.example/01/09520123456788/10/123%345",
    ] {
        assert_eq!(lot_in(scanned).as_deref(), Some("12345"), "{scanned:?}");
    }
    for none in ["", "T0001W", "]d20112345678901232", "(01)12345678901231", "https://id.gs1.org/01/09520123456788"] {
        assert_eq!(lot_in(none), None, "{none:?}");
    }
}
