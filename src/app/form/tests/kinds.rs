//! Each kind of field with good, bad and boundary input.

use super::*;

#[test]
fn numbers_take_comma_and_point_and_both_limits() {
    for (text, exact) in [
        ("12", "12"),
        ("12,5", "12.5"),
        ("12.5", "12.5"),
        (" 7 ", "7"),
        (",5", "0.5"),
        ("0.5", "0.5"),
        ("500", "500"),
        ("500,0", "500"),
        ("007", "7"),
    ] {
        assert_eq!(submitted(grams(), text), Ok(exact.to_owned()), "{text}");
    }
}

#[test]
fn numbers_outside_their_limits_are_told_the_limits() {
    for text in ["0,4", "500.1", "-1", "0", "999999999999999999999999"] {
        let limits = format!("it must be from 0.5 to 500 g; {text} is outside.");
        assert_eq!(submitted(grams(), text), Err(limits));
    }
}

#[test]
fn what_is_no_number_is_refused() {
    let digits = "write a number in digits, such as 12 or 12.5.";
    for text in ["abc", "1e2", "inf", "NaN", "-", ".", "5.", "1.2.3", "1,2.3", "1 2", "+5", "0x5", "१२"] {
        assert_eq!(submitted(grams(), text), Err(digits.to_owned()), "{text}");
    }
}

#[test]
fn a_thousands_comma_is_not_read_as_a_decimal_comma() {
    let one_digit = "write at most 1 digit after the comma or point.";
    assert_eq!(submitted(grams(), "1,500"), Err(one_digit.to_owned()));
    let trays = Range { unit: String::new(), min: -3.0, max: 40.0, decimals: 0 };
    let trays = Field::number("trays", "Trays", trays);
    let whole = "write a whole number, without comma or point.";
    assert_eq!(submitted(trays.clone(), "1,0"), Err(whole.to_owned()));
    assert_eq!(submitted(trays.clone(), "-0"), Ok("0".to_owned()));
    assert_eq!(submitted(trays, "-3"), Ok("-3".to_owned()));
}

#[test]
fn days_are_read_by_date_by_word_and_by_distance() {
    for (text, exact) in [
        ("2026-03-01", "2026-03-01"),
        ("2026-3-1", "2026-03-01"),
        ("2024-02-29", "2024-02-29"),
        ("today", "2026-03-10"),
        (" Yesterday", "2026-03-09"),
        ("-3", "2026-03-07"),
        ("-10", "2026-02-28"),
        ("+30", "2026-04-09"),
        ("+0", "2026-03-10"),
    ] {
        let field = Field::date("day", "Day", None, None);
        assert_eq!(submitted(field, text), Ok(exact.to_owned()), "{text}");
    }
}

#[test]
fn what_is_no_day_is_refused() {
    for text in [
        "2026-02-29",
        "2026-13-01",
        "26-03-01",
        "2026-03",
        "2026-03-01-1",
        "01.03.2026",
        "-",
        "+-3",
        "--3",
        "-12345",
        "3",
        "+2026-03-01",
        "soon",
    ] {
        let field = Field::date("day", "Day", None, None);
        let forms = "write a day as YYYY-MM-DD, today, yesterday, -3 or +30.";
        assert_eq!(submitted(field, text), Err(forms.to_owned()), "{text}");
    }
}

#[test]
fn days_keep_their_limits_both_included() {
    let field = Field::date("day", "Day", Some(day("2026-03-01")), Some(today()));
    let tried = |text| submitted(field.clone(), text);
    assert_eq!(tried("2026-03-01"), Ok("2026-03-01".to_owned()));
    assert_eq!(tried("today"), Ok("2026-03-10".to_owned()));
    let late = "it cannot be after 2026-03-10; this is 2026-03-11.";
    assert_eq!(tried("+1"), Err(late.to_owned()));
    let early = "it cannot be before 2026-03-01; this is 2026-02-28.";
    assert_eq!(tried("2026-02-28"), Err(early.to_owned()));
}

#[test]
fn a_day_says_its_weekday_and_means_the_same_after_midnight() {
    let mut form = one(Field::date("day", "Day", None, None));
    write(&mut form, "yesterday");
    // 9 March 2026 is a Monday: 1 January 2026 was a Thursday, 67 days before.
    let understood = form.field("day").unwrap().understood();
    assert_eq!(understood.as_deref(), Some("Monday, 9 March 2026"));
    assert_eq!(form.draft().get("day").unwrap(), "2026-03-09");
    let Outcome::Submit(values) = form.key(Key::Enter, day("2026-03-11")) else {
        panic!("not submitted");
    };
    assert_eq!(values.date("day"), Some(day("2026-03-09")));
    assert_eq!(typed(&form, "day"), "2026-03-09");
}

#[test]
fn a_number_says_how_it_was_understood_only_if_that_differs() {
    let mut form = one(grams());
    write(&mut form, "12");
    assert_eq!(form.field("grams").unwrap().understood(), None);
    write(&mut form, ",5");
    let understood = form.field("grams").unwrap().understood();
    assert_eq!(understood.as_deref(), Some("12.5 g"));
}

#[test]
fn text_is_trimmed_and_holds_its_length_in_graphemes() {
    let field = || Field::text("lot", "Lot", 4);
    assert_eq!(submitted(field(), " ab "), Ok("ab".to_owned()));
    // Four graphemes of six characters: the accents are characters of their own.
    let accents = "e\u{301}e\u{301}ab";
    assert_eq!(submitted(field(), accents), Ok(accents.to_owned()));
    // The accent of the last grapheme still fits when there is no room for another.
    let last = "abce\u{301}";
    assert_eq!(submitted(field(), last), Ok(last.to_owned()));
    assert_eq!(submitted(field(), "abcde"), Ok("abcd".to_owned()));
    let mut form = one(field());
    write(&mut form, "abcd");
    assert_eq!(form.key(Key::Char('e'), today()), Outcome::Stay);
    let full = "only 4 characters fit, 1 was left out.";
    assert_eq!(sentence(&form, "lot"), full);
}

#[test]
fn the_caret_moves_and_deletes_by_grapheme() {
    let mut form = one(Field::text("lot", "Lot", 20));
    write(&mut form, "ae\u{301}c");
    press(&mut form, &[Key::Left, Key::Backspace]);
    assert_eq!(typed(&form, "lot"), "ac");
    press(&mut form, &[Key::Home, Key::Char('x'), Key::End]);
    write(&mut form, " last");
    assert_eq!(typed(&form, "lot"), "xac last");
    press(&mut form, &[Key::Ctrl('w')]);
    assert_eq!(typed(&form, "lot"), "xac ");
    press(&mut form, &[Key::Ctrl('u')]);
    assert_eq!(typed(&form, "lot"), "");
}

#[test]
fn controls_and_direction_marks_are_dropped_at_every_door() {
    let bad = "a\u{202e}b\u{7}\u{2066}c\u{feff}\u{7f}\u{1b}";
    let mut form = one(Field::text("lot", "Lot", 20));
    assert_eq!(form.paste(bad), Outcome::Changed);
    assert_eq!(typed(&form, "lot"), "abc");
    let dropped = "6 characters that cannot be printed were left out.";
    assert_eq!(sentence(&form, "lot"), dropped);
    assert_eq!(form.key(Key::Char('\u{202e}'), today()), Outcome::Stay);
    assert_eq!(typed(&form, "lot"), "abc");
    form.set_value("lot", bad);
    assert_eq!(typed(&form, "lot"), "abc");
    form.restore(&BTreeMap::from([("lot".to_owned(), bad.to_owned())]));
    assert_eq!(typed(&form, "lot"), "abc");
}

#[test]
fn a_paste_with_line_breaks_stays_in_its_field_and_never_submits() {
    let mut form = one(Field::text("lot", "Lot", 20));
    assert_eq!(form.paste("NB 1\r\nsecond\tx\n"), Outcome::Changed);
    assert_eq!(typed(&form, "lot"), "NB 1 second x");
    let mut form = one(Field::note("note", "Note", 40));
    assert_eq!(form.paste("first\r\nsecond\rthird\n"), Outcome::Changed);
    assert_eq!(form.key(Key::Char('\n'), today()), Outcome::Stay);
    assert_eq!(typed(&form, "note"), "first\nsecond\nthird");
}

#[test]
fn a_paste_goes_to_the_caret_and_is_cut_to_the_room_left() {
    let mut form = one(Field::text("lot", "Lot", 6));
    write(&mut form, "ad");
    press(&mut form, &[Key::Left]);
    form.paste("bc1234");
    assert_eq!(typed(&form, "lot"), "abc12d");
    let full = "only 6 characters fit, 2 were left out.";
    assert_eq!(sentence(&form, "lot"), full);
    press(&mut form, &[Key::Backspace]);
    assert_eq!(typed(&form, "lot"), "abc1d");
}

#[test]
fn a_choice_moves_jumps_and_counts() {
    let mut form = one(Field::choice("crop", "Crop", crops()).required());
    let limits = |form: &Form| form.field("crop").unwrap().limits();
    assert_eq!(limits(&form), "4 to choose from");
    assert_eq!(press(&mut form, &[Key::Right]), Outcome::Changed);
    assert_eq!(limits(&form), "1 of 4");
    assert_eq!(press(&mut form, &[Key::Left]), Outcome::Stay);
    press(&mut form, &[Key::Right, Key::Right]);
    assert_eq!(limits(&form), "3 of 4");
    press(&mut form, &[Key::PageUp]);
    assert_eq!(limits(&form), "1 of 4");
    press(&mut form, &[Key::PageDown]);
    assert_eq!(limits(&form), "4 of 4");
    // "r" finds Radish first, "ro" goes on to Rocket, "red" begins a word inside a label.
    press(&mut form, &[Key::Char('r')]);
    assert_eq!(limits(&form), "2 of 4");
    press(&mut form, &[Key::Char('o')]);
    assert_eq!(limits(&form), "3 of 4");
    press(&mut form, &[Key::Home]);
    write(&mut form, "red");
    assert_eq!(limits(&form), "2 of 4");
    press(&mut form, &[Key::Char('z')]);
    assert_eq!(sentence(&form, "crop"), "nothing here matches \"redz\".");
    assert_eq!(limits(&form), "2 of 4");
    let Outcome::Submit(values) = press(&mut form, &[Key::Enter]) else {
        panic!("not submitted");
    };
    assert_eq!(values.text("crop"), "ra");
}

#[test]
fn a_blocked_option_says_why() {
    let mut form = one(Field::choice("crop", "Crop", crops()));
    let outcome = press(&mut form, &[Key::End, Key::Enter]);
    assert_eq!(outcome, Outcome::Stay);
    let why = "Sunflower cannot be chosen: no seed left";
    assert_eq!(sentence(&form, "crop"), why);
    press(&mut form, &[Key::Delete]);
    let outcome = press(&mut form, &[Key::Enter]);
    assert_eq!(outcome, Outcome::Submit(Values::default()));
}

#[test]
fn a_pasted_code_finds_its_option() {
    let mut form = one(Field::choice("crop", "Crop", crops()));
    assert_eq!(form.paste("rocket\n"), Outcome::Changed);
    assert_eq!(form.field("crop").unwrap().limits(), "3 of 4");
    assert_eq!(form.paste("basil"), Outcome::Stay);
    assert_eq!(form.field("crop").unwrap().limits(), "3 of 4");
}

#[test]
fn many_options_are_ticked_with_space() {
    let mut form = one(Field::many("crop", "Crop", crops()).required());
    assert_eq!(press(&mut form, &[Key::Enter]), Outcome::Stay);
    assert_eq!(sentence(&form, "crop"), "tick at least one.");
    let keys = [Key::Char('r'), Key::Char('o'), Key::Char(' '), Key::Home, Key::Char(' ')];
    assert_eq!(press(&mut form, &keys), Outcome::Changed);
    let outcome = press(&mut form, &[Key::End, Key::Char(' ')]);
    assert_eq!(outcome, Outcome::Stay);
    let why = "Sunflower cannot be chosen: no seed left";
    assert_eq!(sentence(&form, "crop"), why);
    let Outcome::Submit(values) = press(&mut form, &[Key::Enter]) else {
        panic!("not submitted");
    };
    assert_eq!(values.many("crop"), ["pe", "ro"]);
    press(&mut form, &[Key::Home, Key::Char(' ')]);
    let Outcome::Submit(values) = press(&mut form, &[Key::Enter]) else {
        panic!("not submitted");
    };
    assert_eq!(values.many("crop"), ["ro"]);
}

#[test]
fn yes_and_no_are_answered_or_asked_for() {
    let mut form = one(Field::yes_no("wet", "Wet").required());
    assert_eq!(press(&mut form, &[Key::Enter]), Outcome::Stay);
    assert_eq!(sentence(&form, "wet"), "answer yes or no.");
    for (key, yes) in [(Key::Char('y'), true), (Key::Char(' '), false), (Key::Left, true), (Key::Right, false)] {
        assert_eq!(press(&mut form, &[key]), Outcome::Changed);
        let Outcome::Submit(values) = press(&mut form, &[Key::Enter]) else {
            panic!("not submitted");
        };
        assert_eq!(values.yes("wet"), yes);
    }
}
