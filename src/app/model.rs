//! Everything the program knows while it runs.

use std::collections::BTreeMap;

use super::effect::{Effect, Failure, Query};
use super::form::Form;
use super::hold::Hold;
use super::keys::Context;
use super::menu::Menu;
use super::scan::Scan;
use super::screens::form_page::FormPage;
use super::screens::pick::Pick;
use super::screens::{
    answer, beside, calls, cause, find, help, lock, room, seed_page, seed_shelf, setup, shelf_life, stock, story,
    suspects, text, trace, walk, walk_end, week, why,
};
use super::second_copy;
use crate::domain::answering::Answers;
use crate::domain::board::Board;
use crate::domain::cold::Cold;
use crate::domain::correction::Entry;
use crate::domain::crop::Crop;
use crate::domain::goods::Goods;
use crate::domain::id::{LotId, PersonId, WalkId};
use crate::domain::logger::LoggerFile;
use crate::domain::person::Person;
use crate::domain::reading::SensorAir;
use crate::domain::refusal::Refusal;
use crate::domain::score::Scores;
use crate::domain::seed_lot::SeedLot;
use crate::domain::seed_shelf::Shelf;
use crate::domain::time::{Day, Now};

/// One screen, or something that lies over the one below it.
#[derive(Debug, Clone)]
pub enum Screen {
    Setup(Box<setup::State>),
    Room(room::State),
    Walk(Box<walk::State>),
    WalkEnd(walk_end::State),
    SeedShelf(seed_shelf::State),
    /// Everything a seed lot gave.
    SeedPage(Box<seed_page::State>),
    Suspects(suspects::State),
    Stock(stock::State),
    ShelfLife(shelf_life::State),
    Story(story::State),
    /// What something was made of, or what was made of it, as a tree.
    Trace(Box<trace::State>),
    /// The call sheet of a recall.
    Calls(calls::State),
    Help(help::State),
    /// No key does anything; nothing shows through.
    Locked(lock::State),
    Why(why::State),
    Beside(beside::State),
    Cause(cause::State),
    Week(week::State),
    /// Lines to read.
    Text(text::State),
    Find(find::State),
    /// Lies over the screen below.
    Menu(Menu<Pick>),
    /// Lies over the screen below.
    Form(Box<FormPage>),
}

/// The last word to the person at the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    Said(String),
    Refused(String),
}

/// Typed and unsaved, by form.
pub type Drafts = BTreeMap<String, BTreeMap<String, String>>;

/// Columns and rows below which the screen says one sentence and keys write nothing.
pub const SMALLEST: (u16, u16) = (40, 10);

/// The whole state; changed only by `update`.
#[derive(Debug, Clone)]
pub struct Model {
    pub now: Now,
    pub board: Board,
    pub lots: Vec<SeedLot>,
    pub crops: Vec<Crop>,
    /// Tests of seed, suppliers, how long the seed lasts, as they were when the seed shelf was open last.
    pub shelf: Shelf,
    pub goods: Goods,
    /// Complaints and recalls, as they were when a screen of them was opened last.
    pub answers: Answers,
    /// What opens as soon as they come.
    pub answer_next: Option<answer::Next>,
    /// The lot that was cut or packed last here.
    pub lot_made: Option<LotId>,
    /// Cold stores, where lots lay, and how long they keep.
    pub cold: Cold,
    /// What was held back and scored, as it was when a list of it was opened last.
    pub scores: Scores,
    /// Sensors in use, with their newest readings.
    pub air: Vec<SensorAir>,
    /// When they were read from the book.
    pub air_at: Now,
    /// The logger's file opened last.
    pub logger: Option<Box<LoggerFile>>,
    /// The past entry opened last, to be put right.
    pub entry: Option<Entry>,
    /// Whose hands are at the rack; unknown only before the room is set up.
    pub who: Option<PersonId>,
    /// Never empty; the last is on top.
    pub screens: Vec<Screen>,
    pub notice: Option<Notice>,
    pub scan: Scan,
    pub hold: Hold,
    /// When a person last pressed a key.
    pub last_key: Now,
    /// Columns and rows of the terminal.
    pub size: (u16, u16),
    pub drafts: Drafts,
    pub read_only: bool,
    pub second_copy: second_copy::State,
}

impl Model {
    /// The program at its start: the questions of the first start, or the room.
    pub fn new(now: Now, who: Option<PersonId>, empty_book: bool, drafts: Drafts) -> (Self, Vec<Effect>) {
        let mut again = None;
        let first = if empty_book {
            let mut state = setup::State::new(now.day());
            let typed = drafts.get("setup");
            if let Some(typed) = typed {
                state.form.restore(typed);
            }
            again = typed.map(|_| Notice::Said("Your answers from last time are back.".into()));
            Screen::Setup(Box::new(state))
        } else {
            Screen::Room(room::State::default())
        };
        let model = Self {
            now,
            board: Board::default(),
            lots: Vec::new(),
            crops: Vec::new(),
            shelf: Shelf::default(),
            goods: Goods::default(),
            answers: Answers::default(),
            answer_next: None,
            lot_made: None,
            cold: Cold::default(),
            scores: Scores::default(),
            air: Vec::new(),
            air_at: now,
            logger: None,
            entry: None,
            who,
            screens: vec![first],
            notice: again,
            scan: Scan::default(),
            hold: Hold::default(),
            last_key: now,
            size: (80, 24),
            drafts,
            read_only: false,
            second_copy: second_copy::State::default(),
        };
        let effects = if empty_book {
            vec![]
        } else {
            [Query::Board, Query::Stock, Query::Goods, Query::Air, Query::Cold].map(Effect::Load).to_vec()
        };
        (model, effects)
    }

    pub fn today(&self) -> Day {
        self.now.day()
    }

    pub fn top(&self) -> Option<&Screen> {
        self.screens.last()
    }

    /// Where a key is pressed now.
    pub fn context(&self) -> Context {
        match self.top() {
            Some(Screen::Setup(_) | Screen::Form(_)) => Context::Form,
            Some(Screen::Room(_)) | None => Context::Room,
            Some(Screen::Walk(_)) => Context::Walk,
            Some(Screen::SeedShelf(_)) => Context::SeedShelf,
            Some(Screen::SeedPage(_)) => Context::SeedPage,
            Some(Screen::Suspects(_)) => Context::Suspects,
            Some(Screen::Stock(_)) => Context::Stock,
            Some(Screen::ShelfLife(_)) => Context::ShelfLife,
            Some(Screen::Menu(_)) => Context::Menu,
            Some(Screen::Locked(_)) => Context::Locked,
            Some(Screen::Story(_)) => Context::Story,
            Some(Screen::Trace(_)) => Context::Trace,
            Some(Screen::Calls(_)) => Context::Calls,
            Some(Screen::WalkEnd(_)) => Context::WalkEnd,
            Some(Screen::Cause(_)) => Context::Cause,
            Some(Screen::Week(_)) => Context::Week,
            Some(Screen::Help(_) | Screen::Why(_) | Screen::Beside(_) | Screen::Text(_)) => Context::Page,
            Some(Screen::Find(_)) => Context::Find,
        }
    }

    /// Text has the focus, so letters are letters.
    pub fn typing(&self) -> bool {
        matches!(self.top(), Some(Screen::Setup(_) | Screen::Form(_) | Screen::Find(_)))
    }

    /// The form on top, if one is.
    pub fn form(&self) -> Option<&Form> {
        match self.top() {
            Some(Screen::Form(page)) => Some(&page.form),
            Some(Screen::Setup(state)) => Some(&state.form),
            _ => None,
        }
    }

    /// One screen back; the bottom one stays.
    pub fn back(&mut self) {
        if self.screens.len() > 1 {
            self.screens.pop();
        }
    }

    pub fn open(&mut self, screen: Screen) {
        self.screens.push(screen);
    }

    /// The walk below any list or form that lies over it.
    pub fn walk(&self) -> Option<&walk::State> {
        self.screens.iter().rev().find_map(|screen| match screen {
            Screen::Walk(walk) => Some(walk.as_ref()),
            _ => None,
        })
    }

    /// The walk that entries are part of; none outside a walk, or in a look at one tray.
    pub fn walk_id(&self) -> Option<WalkId> {
        Some(self.walk()?.walk.as_ref()?.id)
    }

    pub fn walk_mut(&mut self) -> Option<&mut walk::State> {
        self.screens.iter_mut().rev().find_map(|screen| match screen {
            Screen::Walk(walk) => Some(walk.as_mut()),
            _ => None,
        })
    }

    pub fn room(&self) -> Option<&room::State> {
        match self.screens.first() {
            Some(Screen::Room(room)) => Some(room),
            _ => None,
        }
    }

    pub fn room_mut(&mut self) -> Option<&mut room::State> {
        match self.screens.first_mut() {
            Some(Screen::Room(room)) => Some(room),
            _ => None,
        }
    }

    pub fn person(&self) -> Option<&Person> {
        self.board.people.iter().find(|person| Some(person.id) == self.who)
    }

    pub fn say(&mut self, sentence: impl Into<String>) {
        self.notice = Some(Notice::Said(sentence.into()));
    }

    pub fn refuse(&mut self, sentence: impl Into<String>) {
        self.notice = Some(Notice::Refused(sentence.into()));
    }

    pub fn refuse_for(&mut self, refusal: &Refusal) {
        self.refuse(refusal.sentence.clone());
    }

    pub fn fail(&mut self, failure: &Failure) {
        self.refuse(failure.sentence());
    }
}
