//! Moving, submitting, refusing, proposing and keeping drafts.

use proptest::prelude::*;

use super::*;

fn three() -> Form {
    let fields = vec![Field::text("lot", "Lot", 10).required(), grams().required(), Field::note("note", "Note", 50)];
    Form::new("Receive a seed lot", today(), fields)
}

fn focus(form: &Form) -> &'static str {
    form.focused().map_or("", |field| field.id)
}

#[test]
fn enter_goes_on_and_submits_on_the_last_field() {
    let mut form = three();
    write(&mut form, "NB1");
    assert_eq!(press(&mut form, &[Key::Enter]), Outcome::Stay);
    assert_eq!(focus(&form), "grams");
    write(&mut form, "12,5");
    press(&mut form, &[Key::Enter]);
    assert_eq!(focus(&form), "note");
    let Outcome::Submit(values) = press(&mut form, &[Key::Enter]) else {
        panic!("not submitted");
    };
    assert_eq!(values.text("lot"), "NB1");
    assert_eq!(values.number("grams"), Some(12.5));
    assert_eq!((values.text("note"), values.number("note")), ("", None));
}

#[test]
fn moving_stops_at_both_ends() {
    let mut form = three();
    press(&mut form, &[Key::Up]);
    assert_eq!(focus(&form), "lot");
    press(&mut form, &[Key::Tab, Key::Down, Key::Tab]);
    assert_eq!(focus(&form), "note");
    press(&mut form, &[Key::BackTab]);
    assert_eq!(focus(&form), "grams");
}

#[test]
fn submit_stops_at_the_first_bad_field() {
    let mut form = three();
    press(&mut form, &[Key::Down]);
    write(&mut form, "900");
    press(&mut form, &[Key::Down]);
    assert_eq!(press(&mut form, &[Key::Ctrl('s')]), Outcome::Stay);
    assert_eq!(focus(&form), "lot");
    assert_eq!(sentence(&form, "lot"), "fill this in, it is needed.");
    write(&mut form, "NB1");
    assert_eq!(sentence(&form, "lot"), "");
    assert_eq!(press(&mut form, &[Key::Ctrl('s')]), Outcome::Stay);
    assert_eq!(focus(&form), "grams");
    press(&mut form, &[Key::Backspace]);
    assert!(matches!(press(&mut form, &[Key::Ctrl('s')]), Outcome::Submit(_)));
}

#[test]
fn a_field_is_checked_when_it_is_left() {
    let mut form = three();
    write(&mut form, "NB1");
    press(&mut form, &[Key::Down]);
    write(&mut form, "900");
    assert_eq!(sentence(&form, "grams"), "");
    press(&mut form, &[Key::Down]);
    let limits = "it must be from 0.5 to 500 g; 900 is outside.";
    assert_eq!(sentence(&form, "grams"), limits);
    assert_eq!(sentence(&form, "lot"), "");
}

#[test]
fn the_owner_may_refuse_a_field_and_is_asked_again() {
    let mut form = three();
    write(&mut form, "NB1");
    press(&mut form, &[Key::Down]);
    write(&mut form, "12");
    form.refuse("grams", "the lot holds 10 g.");
    press(&mut form, &[Key::Down]);
    assert_eq!(sentence(&form, "grams"), "the lot holds 10 g.");
    assert!(matches!(press(&mut form, &[Key::Ctrl('s')]), Outcome::Submit(_)));
    form.refuse("grams", "the lot holds 10 g.");
    form.focus_on("grams");
    form.state = State::Refused("the book is busy.".to_owned());
    assert_eq!(press(&mut form, &[Key::Backspace]), Outcome::Changed);
    assert_eq!(sentence(&form, "grams"), "");
    assert_eq!(form.state, State::Editing);
    form.refuse("grams", "the lot holds 10 g.");
    form.accept("grams");
    assert_eq!(sentence(&form, "grams"), "");
}

#[test]
fn nothing_moves_while_it_is_saving() {
    let mut form = three();
    write(&mut form, "NB1");
    form.state = State::Saving;
    for key in [Key::Char('x'), Key::Esc, Key::Enter, Key::Ctrl('s')] {
        assert_eq!(press(&mut form, &[key]), Outcome::Stay);
    }
    assert_eq!(form.paste("x"), Outcome::Stay);
    assert_eq!((typed(&form, "lot"), focus(&form)), ("NB1".into(), "lot"));
    form.state = State::Editing;
    assert_eq!(press(&mut form, &[Key::Esc]), Outcome::Cancel);
    assert_eq!(typed(&form, "lot"), "NB1");
}

#[test]
fn a_hidden_field_is_passed_over_and_not_submitted() {
    let mut form = three();
    write(&mut form, "NB1");
    press(&mut form, &[Key::Down]);
    write(&mut form, "900");
    form.show("grams", false);
    assert_eq!(focus(&form), "note");
    press(&mut form, &[Key::Up]);
    assert_eq!(focus(&form), "lot");
    let Outcome::Submit(values) = press(&mut form, &[Key::Ctrl('s')]) else {
        panic!("not submitted");
    };
    assert_eq!(values.number("grams"), None);
    form.show("grams", true);
    assert_eq!(typed(&form, "grams"), "900");
}

#[test]
fn an_entered_value_survives_a_new_default() {
    let mut form = three();
    form.set_default("grams", "120");
    form.set_default("grams", "130");
    assert_eq!(typed(&form, "grams"), "130");
    assert!(!form.touched());
    press(&mut form, &[Key::Down, Key::Backspace]);
    form.set_default("grams", "140");
    assert_eq!(typed(&form, "grams"), "13");
    form.set_value("lot", "NB7");
    form.set_default("lot", "NB8");
    assert_eq!(typed(&form, "lot"), "NB7");
}

#[test]
fn a_letter_replaces_a_proposal_and_other_keys_change_it() {
    let proposed = || {
        let mut form = three();
        form.set_default("lot", "NB1");
        form
    };
    let mut form = proposed();
    assert!(form.keys_hint().contains(&("letters", "replace")));
    write(&mut form, "XY");
    assert_eq!(typed(&form, "lot"), "XY");
    let mut form = proposed();
    form.paste("Z9");
    assert_eq!(typed(&form, "lot"), "Z9");
    // what cannot be taken replaces nothing
    form = proposed();
    form.paste("\u{202e}");
    assert_eq!(typed(&form, "lot"), "NB1");
    for key in [Key::Left, Key::Home, Key::End, Key::Backspace] {
        let mut form = proposed();
        press(&mut form, &[key]);
        write(&mut form, "7");
        assert_eq!(typed(&form, "lot").chars().count(), if key == Key::Backspace { 3 } else { 4 }, "{key:?}");
    }
    // a note that stands there is gone on with
    let mut form = three();
    form.set_default("note", "left corner");
    form.focus_on("note");
    write(&mut form, " dry");
    assert_eq!(typed(&form, "note"), "left corner dry");
}

#[test]
fn of_a_draft_only_what_was_entered_may_be_put_back() {
    let mut form = three();
    form.set_default("grams", "20");
    form.set_value("lot", "NB1");
    let draft = form.draft();
    let mut again = three();
    again.set_default("grams", "25");
    again.restore_entered(&draft);
    assert_eq!((typed(&again, "lot"), typed(&again, "grams")), ("NB1".into(), "25".into()));
}

#[test]
fn a_cleared_default_stays_cleared() {
    let fields = vec![Field::text("by", "Seen by", 5).starting("AK")];
    let mut form = Form::new("Note", today(), fields);
    press(&mut form, &[Key::Ctrl('u')]);
    let draft = form.draft();
    let mut again = one(Field::text("by", "Seen by", 5).starting("AK"));
    again.restore(&draft);
    assert_eq!(typed(&again, "by"), "");
}

#[test]
fn new_options_keep_the_choice_if_it_is_still_there() {
    let mut form = one(Field::choice("crop", "Crop", crops()));
    press(&mut form, &[Key::Char('r')]);
    form.set_options("crop", vec![Opt::new("xx", "Basil"), Opt::new("ra", "Red")]);
    assert_eq!(form.values().text("crop"), "ra");
    assert_eq!(sentence(&form, "crop"), "");
    // the same options leave the word that is being typed
    write(&mut form, "b");
    form.set_options("crop", vec![Opt::new("xx", "Basil"), Opt::new("ra", "Red")]);
    write(&mut form, "ax");
    assert_eq!(sentence(&form, "crop"), "nothing here matches \"bax\".");
    write(&mut form, "r");
    form.set_options("crop", vec![Opt::new("xx", "Basil")]);
    assert_eq!(form.values().text("crop"), "");
    let gone = "what was chosen before is no longer offered.";
    assert_eq!(sentence(&form, "crop"), gone);
}

fn every_kind() -> Form {
    let fields = vec![
        Field::text("lot", "Lot", 10).required(),
        grams().starting("20"),
        Field::date("day", "Day", None, None).starting("today"),
        Field::choice("crop", "Crop", crops()),
        Field::many("crops", "Crops", crops()),
        Field::yes_no("wet", "Wet"),
        Field::note("note", "Note", 50),
    ];
    Form::new("All", today(), fields)
}

#[test]
fn a_draft_brings_every_kind_back_even_on_another_day() {
    let mut form = every_kind();
    form.set_value("lot", "NB1");
    form.set_value("crop", "ro");
    form.set_value("crops", "pe\nra");
    form.set_value("wet", "no");
    form.focus_on("note");
    form.paste("two\nlines");
    let draft = form.draft();

    let mut again = every_kind();
    again.today = day("2026-03-20");
    again.restore(&draft);
    assert_eq!(again.draft(), draft);
    assert_eq!(again.values(), form.values());
    assert_eq!(again.values().date("day"), Some(today()));
    again.set_default("grams", "25");
    assert_eq!(typed(&again, "grams"), "25");
    again.set_default("lot", "NB2");
    assert_eq!(typed(&again, "lot"), "NB1");
}

#[test]
fn a_draft_waits_for_options_that_arrive_later() {
    let draft = BTreeMap::from([("crop".to_owned(), "ra".to_owned()), ("gone".to_owned(), "x".to_owned())]);
    let mut form = one(Field::choice("crop", "Crop", Vec::new()));
    form.restore(&draft);
    assert_eq!(form.values().text("crop"), "");
    form.set_options("crop", crops());
    assert_eq!(form.values().text("crop"), "ra");
}

#[test]
fn text_fields_want_text_and_options_do_not() {
    let mut form = every_kind();
    let mut wants = Vec::new();
    for _ in 0..7 {
        wants.push(form.wants_text());
        press(&mut form, &[Key::Tab]);
    }
    assert_eq!(wants, [true, true, true, false, false, false, true]);
}

#[test]
fn the_last_field_says_that_enter_saves() {
    let mut form = three();
    assert!(form.keys_hint().contains(&("Enter", "next")));
    press(&mut form, &[Key::Tab, Key::Tab]);
    assert!(form.keys_hint().contains(&("Enter", "save")));
    form.state = State::Saving;
    assert!(form.keys_hint().is_empty());
}

#[test]
fn a_form_without_fields_can_be_agreed_to() {
    let mut form = Form::new("Agree", today(), Vec::new());
    assert_eq!(press(&mut form, &[Key::Char('x'), Key::Down]), Outcome::Stay);
    let outcome = press(&mut form, &[Key::Enter]);
    assert_eq!(outcome, Outcome::Submit(Values::default()));
}

fn any_key() -> impl Strategy<Value = Key> {
    prop_oneof![
        6 => any::<char>().prop_map(Key::Char),
        6 => "[ -~]".prop_map(|text| Key::Char(text.chars().next().unwrap())),
        1 => Just(Key::Ctrl('w')),
        1 => Just(Key::Enter),
        1 => Just(Key::Tab),
        1 => Just(Key::BackTab),
        1 => Just(Key::Backspace),
        1 => Just(Key::Delete),
        1 => Just(Key::Left),
        1 => Just(Key::Right),
        1 => Just(Key::Home),
        1 => Just(Key::PageDown),
        1 => Just(Key::Ctrl('s')),
    ]
}

proptest! {
    #[test]
    fn whatever_is_typed_is_clean_and_comes_back(
        keys in prop::collection::vec(any_key(), 0..80),
        paste in any::<String>(),
    ) {
        let mut form = every_kind();
        for key in keys {
            form.key(key, today());
        }
        form.paste(&paste);
        let draft = form.draft();
        for (id, text) in &draft {
            let bad = text.chars().any(|c| c != '\n' && c.is_control());
            prop_assert!(!bad, "{id}: {text:?}");
            let turned = text.contains(['\u{202e}', '\u{2066}', '\u{200f}']);
            prop_assert!(!turned, "{id}: {text:?}");
        }
        let mut again = every_kind();
        again.restore(&draft);
        prop_assert_eq!(again.draft(), draft);
        prop_assert_eq!(again.values(), form.values());
    }
}
