//! One view per screen. Lists and forms lie over the screen below them.

mod calls;
mod find;
mod help;
mod lock;
mod menu;
mod rack;
mod room;
mod seed_shelf;
mod sentences;
mod shelf_life;
mod stock;
mod story;
mod suspects;
mod timeline;
mod trace;
mod walk;
mod walk_end;
mod week;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::widgets::Clear;

use self::sentences::Page;
use super::fit;
use super::form;
use super::page::{frame_rows, header, keys_line, put, put_notice};
use super::theme::{Role, Theme};
use crate::app::form::Form;
use crate::app::keys::Context;
use crate::app::model::{Model, SMALLEST, Screen};
use crate::app::screens::{beside, cause, seed_page, why};

/// Draws the whole screen.
pub fn draw(model: &Model, theme: &Theme, frame: &mut Frame) {
    let area = frame.area();
    if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        let sentence = format!("Please make the window {} x {} or larger.", SMALLEST.0, SMALLEST.1);
        let lines = fit::wrap(&sentence, usize::from(area.width));
        put(frame, area, lines.into_iter().map(|text| ratatui::text::Line::styled(text, theme.style(Role::Title))));
        return;
    }
    // the newest full screen, then whatever lies over it
    let covers = |screen: &Screen| matches!(screen, Screen::Menu(_) | Screen::Form(_));
    let base = model.screens.iter().rposition(|screen| !covers(screen)).unwrap_or(0);
    for screen in model.screens.iter().skip(base) {
        match screen {
            Screen::Setup(state) => full_form(&state.form, model, theme, frame, area),
            Screen::Room(_) => room::draw(model, theme, frame, area),
            Screen::Walk(state) => walk::draw(model, state, theme, frame, area),
            Screen::WalkEnd(state) => walk_end::draw(model, state, theme, frame, area),
            Screen::SeedShelf(state) => seed_shelf::draw(model, state, theme, frame, area),
            Screen::Suspects(state) => suspects::draw(model, state, theme, frame, area),
            Screen::Stock(state) => stock::draw(model, state, theme, frame, area),
            Screen::ShelfLife(state) => shelf_life::draw(model, *state, theme, frame, area),
            Screen::Trace(state) => trace::draw(model, state, theme, frame, area),
            Screen::Calls(state) => calls::draw(model, state, theme, frame, area),
            Screen::Story(state) => story::draw(model, state, theme, frame, area),
            Screen::Help(state) => help::draw(model, state, theme, frame, area),
            Screen::Locked(state) => lock::draw(state, theme, frame, area),
            Screen::Why(state) => {
                let (title, lines) = (why::title(model, state), why::lines(model, state));
                Page::of(title, lines, state.from).draw(model, theme, frame, area);
            }
            Screen::Week(state) => week::draw(model, state, theme, frame, area),
            Screen::Cause(state) => {
                let page = Page::of(cause::title(state), cause::lines(model, state), state.from);
                page.in_context(Context::Cause).draw(model, theme, frame, area);
            }
            Screen::SeedPage(state) => {
                let page = Page::of(seed_page::title(model, state), seed_page::lines(model, state), state.from);
                page.in_context(Context::SeedPage).draw(model, theme, frame, area);
            }
            Screen::Text(state) => {
                Page::of(state.title.clone(), state.lines.clone(), state.from).draw(model, theme, frame, area);
            }
            Screen::Beside(state) => {
                let (title, lines) = (beside::title(state), beside::lines(model, state));
                Page::of(title, lines, state.from).draw(model, theme, frame, area);
            }
            Screen::Find(state) => find::draw(state, theme, frame, area),
            Screen::Menu(state) => menu::draw(state, theme, frame, area),
            Screen::Form(page) => full_form(&page.form, model, theme, frame, area),
        }
    }
    put_notice(model, theme, frame, frame_rows(area).2);
    if !theme.wide_signs {
        super::ascii::only(frame.buffer_mut());
    }
}

/// A form takes the whole screen: big words, nothing beside it.
fn full_form(shown: &Form, model: &Model, theme: &Theme, frame: &mut Frame, area: Rect) {
    frame.render_widget(Clear, area);
    let (head, body, _, foot) = frame_rows(area);
    let name = if model.board.room_name.is_empty() { "rackwalk" } else { &model.board.room_name };
    put(frame, head, [header(name, model, Role::Quiet, theme, head.width)]);
    let inner = Rect::new(body.x + 1, body.y, body.width.saturating_sub(2), body.height);
    form::draw(shown, theme, frame, inner);
    put(frame, foot, [keys_line(shown.keys_hint().into_iter(), theme, foot.width)]);
}
