//! What holds for every screen at every size and in both themes.

use rackwalk::app::keys;
use rackwalk::app::model::SMALLEST;
use rackwalk::ui;
use rackwalk::ui::theme::{Paint, Theme};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{MONO, PLAIN, Seat, shown};

const SIZES: &[(u16, u16)] = &[
    (0, 0),
    (1, 1),
    (10, 3),
    (39, 9),
    (39, 24),
    (40, 9),
    (40, 10),
    (40, 24),
    (59, 20),
    (60, 20),
    (61, 18),
    (80, 24),
    (100, 30),
    (120, 50),
    (250, 80),
];

struct Drawn {
    buffer: Buffer,
    /// Where the cursor shows.
    cursor: Option<(u16, u16)>,
}

fn draw(seat: &Seat, width: u16, height: u16, theme: &Theme) -> Drawn {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| ui::draw(&seat.session.model, theme, frame)).unwrap();
    let backend = terminal.backend();
    let cursor = backend.cursor_visible().then(|| (backend.cursor_position().x, backend.cursor_position().y));
    Drawn { buffer: backend.buffer().clone(), cursor }
}

fn row(buffer: &Buffer, y: u16) -> String {
    (0..buffer.area.width).map(|x| buffer[(x, y)].symbol()).collect()
}

/// Every screen at every size in a theme.
fn everywhere(theme: &Theme, check: impl Fn(&Seat, &Drawn, &str)) {
    for shown in shown::all() {
        let mut seat = shown.seat();
        for (width, height) in SIZES {
            seat.size(*width, *height);
            let drawn = draw(&seat, *width, *height, theme);
            check(&seat, &drawn, &format!("{} at {width} x {height}", shown.name));
        }
    }
}

/// The keys that may stand in the footer now, in their order.
fn keys_now(seat: &Seat) -> Vec<String> {
    let model = &seat.session.model;
    match model.form() {
        Some(form) => form.keys_hint().into_iter().map(|(key, hint)| format!("{key} {hint}")).collect(),
        None => keys::footer(model.context()).into_iter().map(|(key, hint)| format!("{key} {hint}")).collect(),
    }
}

fn keys_are_whole(seat: &Seat, drawn: &Drawn, about: &str) {
    let area = drawn.buffer.area;
    if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        return;
    }
    let footer = row(&drawn.buffer, area.height - 1);
    let known = keys_now(seat);
    let mut from = 0;
    for shown in footer.trim_end().split("  ") {
        let at = known.iter().skip(from).position(|key| key == shown);
        from += 1 + at.unwrap_or_else(|| panic!("{shown:?} is no key of {known:?}: {about}\n{footer}"));
    }
    assert_eq!(from, known.len(), "the way out is missing: {about}\n{footer}");
}

#[test]
fn keys_stand_whole_in_the_footer_and_the_cursor_inside() {
    for theme in [PLAIN, Theme { paint: Paint::Mono, ..PLAIN }, Theme { wide_signs: false, ..PLAIN }] {
        everywhere(&theme, |seat, drawn, about| {
            keys_are_whole(seat, drawn, about);
            if let Some((x, y)) = drawn.cursor {
                let area = drawn.buffer.area;
                assert!(x < area.width && y < area.height, "the cursor stands at {x},{y}: {about}");
            }
        });
    }
}

#[test]
fn a_terminal_that_is_not_utf_8_gets_ascii() {
    everywhere(&MONO, |_, drawn, about| {
        for y in 0..drawn.buffer.area.height {
            let row = row(&drawn.buffer, y);
            assert!(row.is_ascii(), "{about}: {row}");
        }
    });
}

#[test]
fn a_form_shows_its_cursor_wherever_there_is_room_for_it() {
    for shown in shown::all() {
        let mut seat = shown.seat();
        let text = seat.session.model.form().is_some_and(rackwalk::app::form::Form::wants_text);
        for (width, height) in SIZES.iter().filter(|(width, height)| *width >= SMALLEST.0 && *height >= SMALLEST.1) {
            seat.size(*width, *height);
            let drawn = draw(&seat, *width, *height, &PLAIN);
            assert_eq!(drawn.cursor.is_some(), text, "{} at {width} x {height}", shown.name);
        }
    }
}

#[test]
fn a_window_that_is_too_small_says_so() {
    for shown in shown::all() {
        let seat = shown.seat();
        for (width, height) in [(39, 24), (40, 9), (20, 5)] {
            let drawn = draw(&seat, width, height, &PLAIN);
            let rows: Vec<String> = (0..height).map(|y| row(&drawn.buffer, y).trim().to_owned()).collect();
            assert_eq!(rows.join(" ").trim(), "Please make the window 40 x 10 or larger.", "{}", shown.name);
        }
    }
}

/// No size in between breaks anything either: nothing panics, which a drawing beyond the screen would.
#[test]
fn sizes_in_between_can_be_drawn() {
    for shown in shown::all() {
        let mut seat = shown.seat();
        let widths = (0..130).step_by(3).map(|width| (width, 24));
        let heights = (0..50).step_by(2).map(|height| (80, height));
        for (width, height) in widths.chain(heights) {
            seat.size(width, height);
            let drawn = draw(&seat, width, height, &PLAIN);
            assert_eq!(drawn.buffer.area, Rect::new(0, 0, width, height));
            keys_are_whole(&seat, &drawn, &format!("{} at {width} x {height}", shown.name));
        }
    }
}
