//! What each screen looks like: its text, and below it a letter for the style of every cell.

use rackwalk::ui;
use rackwalk::ui::theme::Theme;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

use super::shown::{self, MAIN, Shown};
use super::{MONO, PLAIN, Seat};

fn drawn(seat: &mut Seat, width: u16, height: u16, theme: &Theme) -> Buffer {
    seat.size(width, height);
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| ui::draw(&seat.session.model, theme, frame)).unwrap();
    terminal.backend().buffer().clone()
}

/// One letter per role in the plain theme: quiet and lines, title, key, cursor, good, soon, alarm.
fn letter(style: Style) -> char {
    let bold = style.add_modifier.contains(Modifier::BOLD);
    let reversed = style.add_modifier.contains(Modifier::REVERSED);
    match (style.fg.unwrap_or(Color::Reset), bold, reversed) {
        (Color::Reset, false, true) => 'c',
        (Color::Reset, false, false) => '.',
        (Color::Reset, true, false) => 't',
        (Color::DarkGray, false, false) => 'q',
        (Color::Cyan, true, false) => 'k',
        (Color::Green, false, false) => 'g',
        (Color::Yellow, true, false) => 's',
        (Color::Red, true, false) => 'a',
        other => panic!("a style of no role: {other:?}"),
    }
}

/// Rows without what is blank at their end.
fn rows(buffer: &Buffer, cell: impl Fn(&ratatui::buffer::Cell) -> String, blank: char) -> String {
    let mut text = String::new();
    for y in 0..buffer.area.height {
        let row: String = (0..buffer.area.width).map(|x| cell(&buffer[(x, y)])).collect();
        text.push_str(row.trim_end_matches(blank));
        text.push('\n');
    }
    text
}

fn text(buffer: &Buffer) -> String {
    rows(buffer, |cell| cell.symbol().to_string(), ' ')
}

fn with_styles(buffer: &Buffer) -> String {
    let styles = rows(buffer, |cell| letter(cell.style()).to_string(), '.');
    format!("{}{:=<80}\n{styles}", text(buffer), "")
}

/// A frame around each picture, so that blank rows at its ends count.
fn check(name: &str, picture: &str) {
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, format!("{:-<80}\n{picture}{:-<80}", "", ""));
    });
}

fn each(shown: impl Iterator<Item = &'static Shown>, picture: impl Fn(&Shown, &mut Seat)) {
    for shown in shown {
        picture(shown, &mut shown.seat());
    }
}

#[test]
fn every_screen_at_80_by_24_with_its_styles() {
    each(shown::all(), |shown, seat| {
        check(shown.name, &with_styles(&drawn(seat, 80, 24, &PLAIN)));
    });
}

#[test]
fn the_main_four_narrow_and_wide() {
    each(MAIN.iter(), |shown, seat| {
        check(&format!("{}_60x20", shown.name), &text(&drawn(seat, 60, 20, &PLAIN)));
        check(&format!("{}_120x30", shown.name), &text(&drawn(seat, 120, 30, &PLAIN)));
    });
}

#[test]
fn room_and_walk_without_colour_and_signs() {
    each(MAIN.iter().take(2), |shown, seat| {
        check(&format!("{}_ascii", shown.name), &text(&drawn(seat, 80, 24, &MONO)));
    });
}
