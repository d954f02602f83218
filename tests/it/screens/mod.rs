//! Screens by keys: the real session on a temporary book, drawn on a test terminal.

mod air;
mod answer;
mod bench;
mod breaches;
pub mod cause;
mod check;
mod checks;
mod cleaning;
pub mod cold;
mod crops;
mod dayone;
mod drafts;
mod find;
mod forecast;
mod form;
mod germination;
mod hands;
mod hints;
mod holds;
mod jars;
mod meeting;
mod mixes;
mod monkey;
mod period;
mod right;
mod room;
mod safe;
mod score;
mod seed;
mod settings;
mod setup;
mod share;
mod shown;
mod sizes;
mod snapshots;
mod soaks;
mod sold;
mod sowing;
pub mod stock;
mod stories;
mod suspects;
mod three_days;
pub mod twelve;
mod units;
mod walk;
mod week;
mod whereabouts;

use std::time::Duration;

use rackwalk::app::effect::Msg;
use rackwalk::app::key::Key;
use rackwalk::runtime::clock::Clock;
use rackwalk::runtime::session::{Flow, Session};
use rackwalk::ui;
use rackwalk::ui::theme::{Paint, Theme};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::book::Book;

/// Colours as in a usual terminal.
pub const PLAIN: Theme = Theme { paint: Paint::Plain, wide_signs: true };
/// No colour, ASCII signs.
pub const MONO: Theme = Theme { paint: Paint::Mono, wide_signs: false };

/// A running program without its terminal.
pub struct Seat {
    pub session: Session,
    pub keys: usize,
    pub flow: Flow,
    /// Time since the program began, as the terminal measures it.
    pub tick: Duration,
    /// Steps of long work before Esc is pressed.
    pub patience: usize,
    book: Book,
}

impl Seat {
    /// Sits down at a book.
    pub fn at(book: Book) -> Self {
        let store = rackwalk::store::Store::open(&book.path, "test").unwrap();
        let clock = Clock::Fixed(book.now);
        let session = Session::start(store, clock, None, None, std::collections::BTreeMap::new()).unwrap();
        let mut seat = Self { session, keys: 0, flow: Flow::GoOn, tick: Duration::ZERO, patience: usize::MAX, book };
        seat.size(80, 24);
        seat
    }

    pub fn book(&self) -> &Book {
        &self.book
    }

    /// Gets up for good; the book stays.
    pub fn into_book(self) -> Book {
        let mut book = self.book;
        drop(self.session);
        book.store = rackwalk::store::Store::open(&book.path, "again").unwrap();
        book
    }

    /// Another terminal on the same book. The first seat keeps the file.
    pub fn beside(&self) -> Self {
        Self::at(self.book.beside())
    }

    /// What happens at the latest two seconds after the last key.
    pub fn look_around(&mut self) -> &mut Self {
        self.flow = self.session.look_around();
        self
    }

    /// Gets up and sits down again: a new session on the reopened book.
    pub fn again(self) -> Self {
        self.next_morning(chrono::Duration::zero())
    }

    /// The same, later.
    pub fn next_morning(self, by: chrono::Duration) -> Self {
        let mut book = self.book;
        book.later(by);
        drop(self.session);
        book.store = rackwalk::store::Store::open(&book.path, "again").unwrap();
        Self::at(book)
    }

    /// Sits down again some time later.
    pub fn later(mut self, by: chrono::Duration) -> Self {
        self.book.later(by);
        self.again()
    }

    pub fn size(&mut self, width: u16, height: u16) {
        self.session.handle(Msg::Resize(width, height));
    }

    /// One key, a second after the one before.
    pub fn key(&mut self, key: Key) {
        self.key_after(Duration::from_secs(1), key);
    }

    /// One key so long after the one before.
    pub fn key_after(&mut self, wait: Duration, key: Key) {
        self.keys += 1;
        self.tick += wait;
        self.flow = self.session.handle(Msg::Key(key, self.tick));
        if self.session.busy() {
            let mut left = self.patience;
            self.flow = self.session.work(&mut |_| {
                left = left.saturating_sub(1);
                left > 0
            });
        }
    }

    /// Keys by name, separated by spaces: `w Enter f Down`; a word of several letters is typed letter by letter.
    pub fn press(&mut self, keys: &str) -> &mut Self {
        for word in keys.split(' ').filter(|w| !w.is_empty()) {
            match named(word) {
                Some(key) => self.key(key),
                None => word.chars().for_each(|letter| self.key(Key::Char(letter))),
            }
        }
        self
    }

    /// Text with its spaces.
    pub fn type_in(&mut self, text: &str) -> &mut Self {
        text.chars().for_each(|letter| self.key(Key::Char(letter)));
        self
    }

    /// Silence of a tenth of a second and more.
    pub fn silence(&mut self) {
        self.flow = self.session.handle(Msg::Quiet);
    }

    /// The screen as text, rows without trailing spaces.
    pub fn text(&self) -> String {
        let (width, height) = self.session.model.size;
        self.text_in(width, height, &PLAIN)
    }

    pub fn text_in(&self, width: u16, height: u16, theme: &Theme) -> String {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| ui::draw(&self.session.model, theme, frame)).unwrap();
        let buffer = terminal.backend().buffer().clone();
        let mut text = String::new();
        for y in 0..height {
            let row: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
            text.push_str(row.trim_end());
            text.push('\n');
        }
        text
    }

    /// Panics with the whole screen if the text is not on it.
    pub fn sees(&mut self, text: &str) -> &mut Self {
        let screen = self.text();
        assert!(screen.contains(text), "no {text:?} on:\n{screen}");
        self
    }
}

fn named(word: &str) -> Option<Key> {
    Some(match word {
        "Enter" => Key::Enter,
        "Esc" => Key::Esc,
        "Tab" => Key::Tab,
        "BackTab" => Key::BackTab,
        "Space" => Key::Char(' '),
        "Backspace" => Key::Backspace,
        "Left" => Key::Left,
        "Right" => Key::Right,
        "Up" => Key::Up,
        "Down" => Key::Down,
        "PageUp" => Key::PageUp,
        "PageDown" => Key::PageDown,
        "Home" => Key::Home,
        "End" => Key::End,
        "F1" => Key::F(1),
        "C-s" => Key::Ctrl('s'),
        "C-n" => Key::Ctrl('n'),
        "C-t" => Key::Ctrl('t'),
        "C-u" => Key::Ctrl('u'),
        "C-c" => Key::Ctrl('c'),
        _ => return None,
    })
}

/// Five radish trays on their third day, covered, and three on their first.
fn morning() -> Seat {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 5);
    book.later(chrono::Duration::days(2));
    book.sow("RAD", lot, 3);
    book.later(chrono::Duration::days(1));
    Seat::at(book)
}
