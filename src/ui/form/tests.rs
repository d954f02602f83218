//! The view on a drawing surface of cells; sizes, widths and the cursor as properties.

use chrono::NaiveDate;
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Modifier;
use unicode_width::UnicodeWidthStr;

use super::{draw, fit};
use crate::app::form::{Field, Form, Opt, Range, State};
use crate::app::key::Key;
use crate::ui::theme::{Paint, Theme};

const MONO: Theme = Theme { paint: Paint::Mono, wide_signs: true };
const ASCII: Theme = Theme { paint: Paint::Plain, wide_signs: false };

fn today() -> NaiveDate {
    "2026-03-10".parse().unwrap()
}

/// Ten fields, every kind among them, with more options than fit.
fn long() -> Form {
    let grams = Range { unit: "g".to_owned(), min: 0.5, max: 5000.0, decimals: 1 };
    let lots = || {
        let lot = |n| Opt::new(format!("{n}"), format!("Pea lot {n:02}")).hint("germinates 94 %");
        let mut lots: Vec<Opt> = (1..=12).map(lot).collect();
        lots.push(Opt::new("13", "Pea lot 13").blocked("past its use-by day"));
        lots
    };
    let fields = vec![
        Field::text("code", "Code of the lot", 20).required(),
        Field::number("grams", "Weight received", grams).help("Weigh it without the sack."),
        Field::date("day", "Received on", None, Some(today())).starting("today"),
        Field::choice("lot", "Seed lot", lots()).required(),
        Field::many("mixed", "Mixed with", lots()),
        Field::yes_no("treated", "Treated seed").required(),
        Field::text("supplier", "Supplier", 40).help("As printed on the sack."),
        Field::text("theirs", "Their lot number", 40),
        Field::note("note", "Note", 300),
        Field::text("by", "Received by", 5).required(),
    ];
    Form::new("Receive a seed lot", today(), fields).intro(["What came in at North Bench."])
}

/// What was drawn, and where the cursor was put.
fn drawn(form: &Form, theme: Theme, width: u16, height: u16) -> (Buffer, Option<Position>) {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    let frame = terminal.draw(|frame| draw(form, &theme, frame, frame.area()));
    let buffer = frame.unwrap().buffer.clone();
    let shown = terminal.backend().cursor_visible();
    let at = shown.then(|| terminal.backend().cursor_position());
    (buffer, at)
}

fn rows(buffer: &Buffer) -> Vec<String> {
    let width = usize::from(buffer.area.width.max(1));
    let rows = buffer.content.chunks(width);
    let row = |cells: &[ratatui::buffer::Cell]| {
        let text: String = cells.iter().map(ratatui::buffer::Cell::symbol).collect();
        text.trim_end().to_owned()
    };
    rows.map(row).collect()
}

fn screen(form: &Form, width: u16, height: u16) -> String {
    rows(&drawn(form, MONO, width, height).0).join("\n")
}

fn press(form: &mut Form, keys: &[Key]) {
    for key in keys {
        form.key(*key, today());
    }
}

#[test]
fn each_focused_field_is_marked_reversed_and_visible() {
    for (width, height) in [(80, 24), (40, 10), (30, 1), (40, 2)] {
        let mut form = long();
        for nth in 1..=10 {
            let label = form.focused().unwrap().label.clone();
            let (buffer, _) = drawn(&form, MONO, width, height);
            let marked: Vec<(usize, String)> =
                rows(&buffer).into_iter().enumerate().filter(|(_, row)| row.starts_with("> ")).collect();
            let [(y, row)] = marked.as_slice() else {
                panic!("{label} at {width}x{height}: {marked:?}");
            };
            let start: String = label.chars().take(9).collect();
            assert!(row.starts_with(&format!("> {start}")), "{row}");
            let y = u16::try_from(*y).unwrap();
            let reversed = |x| buffer[(x, y)].modifier.contains(Modifier::REVERSED);
            assert!((0..width).all(reversed), "{label}");
            if height > 3 {
                let count = format!("{nth} of 10");
                assert!(rows(&buffer)[0].ends_with(&count), "{:?}", rows(&buffer)[0]);
            }
            press(&mut form, &[Key::Tab]);
        }
    }
}

#[test]
fn a_whole_form_reads_from_the_top_down() {
    let mut form = long();
    press(&mut form, &[Key::Char('N'), Key::Char('B'), Key::Tab]);
    press(&mut form, &[Key::Char('2'), Key::Char(','), Key::Char('5')]);
    form.lines = vec!["2.5 g sow one small tray.".to_owned()];
    let expected = "\
Receive a seed lot                                                       2 of 10
What came in at North Bench.

  Code of the lot   NB
> Weight received   2,5 g
    That is 2.5 g.
    (0.5 to 5000 g, at most 1 decimal)
    Weigh it without the sack.
  Received on       2026-03-10  Tuesday, 10 March 2026
  Seed lot          (needed)
  Mixed with        -
  Treated seed      Yes / No
  Supplier          -
  Their lot number  -
  Note              -
  Received by       (needed)

2.5 g sow one small tray.
";
    let screen = screen(&form, 80, 24);
    assert_eq!(screen.trim_end(), expected.trim_end());
}

#[test]
fn an_error_begins_with_a_word_and_stays_with_its_field() {
    let mut form = long();
    press(&mut form, &[Key::Tab, Key::Char('0'), Key::Tab]);
    let screen = screen(&form, 80, 24);
    let rows: Vec<&str> = screen.lines().collect();
    let at = rows.iter().position(|row| row.contains("Weight")).unwrap();
    let limits = "    Not yet: it must be from 0.5 to 5000 g; 0 is outside.";
    assert_eq!(rows[at + 1], limits);
    let at = rows.iter().position(|row| row.contains("Code")).unwrap();
    let needed = "    Not yet: fill this in, it is needed.";
    assert_eq!(rows[at + 1], needed);
}

#[test]
fn a_choice_shows_its_neighbours_and_why_one_is_blocked() {
    let mut form = long();
    form.focus_on("lot");
    press(&mut form, &[Key::End, Key::Left]);
    let screen = screen(&form, 80, 24);
    assert!(screen.contains("> Seed lot          Pea lot 12\n"));
    let list = "
    (needed; 12 of 13)
      Pea lot 08  germinates 94 %
      Pea lot 09  germinates 94 %
      Pea lot 10  germinates 94 %
      Pea lot 11  germinates 94 %
    * Pea lot 12  germinates 94 %
      Pea lot 13  not now: past its use-by day
";
    assert!(screen.contains(list), "{screen}");
    assert!(!screen.contains("Pea lot 07"));
}

#[test]
fn ticks_and_the_cursor_among_them_are_signs_not_colours() {
    let mut form = long();
    form.focus_on("mixed");
    press(&mut form, &[Key::Char(' '), Key::Right, Key::Char('p')]);
    let screen = screen(&form, 80, 24);
    assert!(screen.contains("> Mixed with        [x] Pea lot 01\n"));
    assert!(screen.contains("    * [x] Pea lot 01"), "{screen}");
    assert!(screen.contains("      [ ] Pea lot 02"), "{screen}");
    assert!(screen.contains("(1 of 13, 1 ticked; typed: p)"), "{screen}");
}

#[test]
fn a_refusal_and_saving_are_said_even_when_the_form_scrolls() {
    let mut form = long();
    form.lines = (1..=9).map(|n| format!("Line {n}")).collect();
    form.focus_on("by");
    form.state = State::Refused("the book is busy.".to_owned());
    let refused = screen(&form, 40, 10);
    assert!(refused.ends_with("Not saved: the book is busy."));
    assert!(refused.contains("> Received by"), "{refused}");
    form.state = State::Saving;
    assert!(screen(&form, 40, 10).ends_with("Saving ..."));
    assert_eq!(drawn(&form, MONO, 40, 10).1, None);
}

#[test]
fn the_cursor_stands_where_the_next_letter_goes() {
    let mut form = long();
    // Two wide signs and one with an accent of its own: five columns.
    form.paste("豆苗e\u{301}");
    let (_, cursor) = drawn(&form, MONO, 80, 24);
    let column = u16::try_from("> Code of the lot   ".len()).unwrap() + 5;
    assert_eq!(cursor, Some(Position::new(column, 3)));
    press(&mut form, &[Key::Left, Key::Left]);
    let (_, cursor) = drawn(&form, MONO, 80, 24);
    assert_eq!(cursor, Some(Position::new(column - 3, 3)));
    form.focus_on("lot");
    assert_eq!(drawn(&form, MONO, 80, 24).1, None);
}

#[test]
fn a_long_note_wraps_and_its_caret_stays_in_sight() {
    let mut form = long();
    form.focus_on("note");
    form.paste(&"white threads on peas ".repeat(12));
    form.paste("END");
    let (buffer, cursor) = drawn(&form, MONO, 40, 10);
    let cursor = cursor.unwrap();
    let row = &rows(&buffer)[usize::from(cursor.y)];
    assert!(row.ends_with("END"), "{row}");
    assert_eq!(usize::from(cursor.x), row.len());
    press(&mut form, &[Key::Home]);
    let screen = screen(&form, 40, 10);
    assert!(screen.contains("> Note"), "{screen}");
}

#[test]
fn the_cursor_of_a_note_never_covers_its_last_letter() {
    let mut form = long();
    form.focus_on("note");
    for length in 1..60 {
        press(&mut form, &[Key::Char('x')]);
        let (buffer, cursor) = drawn(&form, MONO, 40, 24);
        assert_eq!(buffer[cursor.unwrap()].symbol(), " ", "{length}");
    }
}

#[test]
fn an_area_beyond_the_screen_is_drawn_as_far_as_it_reaches() {
    let form = long();
    let mut terminal = Terminal::new(TestBackend::new(40, 20)).unwrap();
    let beyond = Rect::new(30, 12, 60, 40);
    let done = terminal.draw(|frame| draw(&form, &MONO, frame, beyond));
    let buffer = done.unwrap().buffer.clone();
    // Cut to the ten columns that are there, the title leaves room for the count.
    assert_eq!(rows(&buffer)[12].trim(), "…  1 of 10");
}

#[test]
fn a_long_text_scrolls_sideways_to_its_caret() {
    let mut form = long();
    form.focus_on("theirs");
    form.paste("0123456789012345678901234567890123456789");
    let (buffer, cursor) = drawn(&form, MONO, 40, 10);
    let cursor = cursor.unwrap();
    assert_eq!(cursor.x, 39);
    let row = &rows(&buffer)[usize::from(cursor.y)];
    assert!(row.ends_with("456789"), "{row}");
    press(&mut form, &[Key::Home]);
    let screen = screen(&form, 40, 10);
    assert!(screen.contains("  01234567890"), "{screen}");
}

#[test]
fn an_ascii_terminal_gets_ascii() {
    let mut form = long();
    form.focus_on("supplier");
    form.paste("a supplier with a rather long name");
    form.focus_on("by");
    let (buffer, _) = drawn(&form, ASCII, 40, 24);
    let screen = rows(&buffer).join("\n");
    assert!(screen.is_ascii(), "{screen}");
    assert!(screen.contains(".."), "{screen}");
}

#[test]
fn no_size_panics_and_the_cursor_stays_inside() {
    let mut form = long();
    form.lines = vec!["Enough for 12 trays.".to_owned()];
    form.state = State::Refused("the book is busy.".to_owned());
    form.paste("豆苗豆苗豆苗豆苗豆苗豆苗");
    form.focus_on("note");
    form.paste("white 豆苗 threads\nbelow");
    for _ in 0..10 {
        for width in 0..=30 {
            for height in 0..=12 {
                stays_inside(&form, Rect::new(3, 2, width, height));
            }
        }
        let last = form.focused().unwrap().id == "by";
        press(&mut form, &[Key::Tab]);
        if last {
            form.focus_on("code");
        }
    }
}

/// Draws into a part of a bigger screen: nothing outside it may change.
fn stays_inside(form: &Form, area: Rect) {
    let mut terminal = Terminal::new(TestBackend::new(40, 20)).unwrap();
    let done = terminal.draw(|frame| {
        for cell in &mut frame.buffer_mut().content {
            cell.set_symbol("~");
        }
        draw(form, &MONO, frame, area);
    });
    let buffer = done.unwrap().buffer.clone();
    for y in 0..20 {
        for x in 0..40 {
            let outside = !area.contains(Position::new(x, y));
            assert!(!outside || buffer[(x, y)].symbol() == "~", "{x},{y} {area}");
        }
    }
    if terminal.backend().cursor_visible() {
        let at = terminal.backend().cursor_position();
        assert!(area.contains(at), "{at} outside {area}");
    }
}

proptest! {
    #[test]
    fn the_cursor_is_inside_whatever_is_typed(
        field in 0_usize..10,
        text in any::<String>(),
        back in 0_usize..40,
        width in 0_u16..=37,
        height in 0_u16..=18,
    ) {
        let mut form = long();
        press(&mut form, &vec![Key::Tab; field]);
        form.paste(&text);
        press(&mut form, &vec![Key::Left; back]);
        stays_inside(&form, Rect::new(3, 2, width, height));
    }

    #[test]
    fn wrapped_rows_hold_every_character_within_their_width(
        text in "[a-z 豆é\n]{0,80}",
        width in 2_usize..20,
    ) {
        let rows = fit::wrap_from(&text, width);
        let whole: String = rows.iter().map(|row| row.text.as_str()).collect();
        prop_assert_eq!(whole, text.replace('\n', ""));
        for row in &rows {
            // One space may hang over the edge.
            prop_assert!(row.text.width() <= width + 1);
            prop_assert!(row.text.trim_end().width() <= width);
            let from: String = text.chars().skip(row.start).collect();
            prop_assert!(from.starts_with(&row.text));
        }
    }

    #[test]
    fn a_cut_text_never_exceeds_its_width(text in "\\PC{0,40}", width in 0_usize..12) {
        for theme in [MONO, ASCII] {
            let cut = fit::cut(&text, width, theme);
            prop_assert!(fit::columns(&cut) <= width);
            prop_assert_eq!(cut == text, fit::columns(&text) <= width);
        }
    }
}
