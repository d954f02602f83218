//! A running program without its terminal: model, book and clock. The real loop and the tests drive the same one.

pub mod import;
mod work;

use std::collections::VecDeque;
use std::path::Path;

use super::clock::Clock;
use super::drafts::Drafts;
use super::{hand_over, new_file};
use crate::app::effect::{Effect, Failure, Loaded, Msg, Query};
use crate::app::model::{Drafts as Typed, Model};
use crate::app::screens::hands;
use crate::app::screens::story::PAGE;
use crate::app::update::update;
use crate::domain::action::{Action, Done};
use crate::domain::hands::{Seen, clock_doubt};
use crate::domain::id::{DeliveryId, LotId, PersonId, RecallId, TrayId};
use crate::domain::period::Period;
use crate::domain::timeline::Timeline;
use crate::domain::today;
use crate::domain::trace::{Start, Way, touch};
use crate::domain::week;
use crate::report::labels::{Gs1, Label, Printer, Roll, Sheet, page};
use crate::report::{calls, lists, note, week as week_report};
use crate::store::Store;
use crate::store::error::StoreError;

/// Deliveries of so many days back may be drawn for an exercise.
const EXERCISE_BACK: chrono::Duration = chrono::Duration::days(30);

/// Whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flow {
    GoOn,
    Quit,
}

/// Model, book and clock.
pub struct Session {
    pub model: Model,
    pub store: Store,
    clock: Clock,
    drafts: Option<Drafts>,
    /// The drafts as they are on the disk: a key that changed none costs no write.
    kept: Typed,
    seen_version: i64,
    /// Long work that waits to be done in steps.
    job: Option<work::Job>,
}

impl Session {
    /// Starts the program on an open book. `drafts`: where typed and unsaved text is kept, if anywhere.
    pub fn start(
        store: Store,
        clock: Clock,
        who: Option<PersonId>,
        drafts: Option<Drafts>,
        typed: Typed,
    ) -> Result<Self, StoreError> {
        let empty = store.is_empty()?;
        let kept = typed.clone();
        let (mut model, effects) = Model::new(clock.now(), who, empty, typed);
        model.read_only = store.read_only();
        if model.read_only {
            model.refuse("This book can only be read here: nothing can be written.");
        }
        let doubt = store.newest_entry()?.and_then(|newest| clock_doubt(newest, clock.now()));
        if let Some(doubt) = doubt.filter(|_| !model.read_only) {
            hands::ask_clock(&mut model, doubt);
        }
        let seen_version = store.data_version()?;
        let mut session = Self { model, store, clock, drafts, kept, seen_version, job: None };
        session.run(effects.into());
        Ok(session)
    }

    /// Takes one message and everything that follows from it.
    pub fn handle(&mut self, msg: Msg) -> Flow {
        let effects = update(&mut self.model, msg, self.clock.now());
        self.run(effects.into())
    }

    /// Asks whether another terminal wrote, and reloads if so.
    pub fn look_around(&mut self) -> Flow {
        match self.store.data_version() {
            Ok(version) if version != self.seen_version => {
                self.seen_version = version;
                self.handle(Msg::OthersWrote)
            }
            _ => Flow::GoOn,
        }
    }

    fn run(&mut self, mut todo: VecDeque<Effect>) -> Flow {
        while let Some(effect) = todo.pop_front() {
            let msg = match effect {
                Effect::Quit => return Flow::Quit,
                Effect::KeepDrafts => {
                    self.keep_drafts();
                    continue;
                }
                Effect::Load(query) => match self.load(query) {
                    Ok(loaded) => Msg::Loaded(loaded),
                    Err(why) => Msg::LoadFailed(failure(why)),
                },
                Effect::CopyBook(folder) => {
                    let (folder, today) = (Path::new(&folder), self.clock.now().day());
                    let result = self.store.second_copy(folder, today).map(drop).map_err(failure);
                    Msg::Copied { newest: self.store.newest_copy(folder, today), result }
                }
                Effect::PrintLabel(tray) => Msg::Printed(self.print_label(tray)),
                Effect::PrintWeek(period) => Msg::Printed(self.print_week(period)),
                Effect::PrintToday => Msg::Printed(self.print_today()),
                Effect::PrintNote(id) => Msg::Printed(self.print_note(id)),
                Effect::PrintLots(lots) => Msg::Printed(self.print_lots(&lots)),
                Effect::FindLot(code) => match self.store.lot_of_code(code.body()) {
                    Ok(found) => Msg::Loaded(Loaded::Lot(code, found.map(Box::new))),
                    Err(why) => Msg::LoadFailed(failure(why)),
                },
                Effect::Trace(start, way) => {
                    let found = self.store.trace(&start, way);
                    Msg::Traced(found.map(|found| (Box::new(found), None)).map_err(failure))
                }
                Effect::TraceCode(code, way) => {
                    let found = self.store.find_start(&code).and_then(|typed| {
                        let found = self.store.trace(&typed.start, way)?;
                        Ok((Box::new(found), typed.note))
                    });
                    Msg::Traced(found.map_err(failure))
                }
                Effect::Touched(start) => match self.store.touches(&start, self.clock.now()) {
                    Ok(touches) => {
                        let lines = if touches.is_empty() {
                            vec!["Nothing in the book touched it.".to_string()]
                        } else {
                            touch::lines(&touches)
                        };
                        Msg::Loaded(Loaded::Page("Everything that touched it".into(), lines))
                    }
                    Err(why) => Msg::LoadFailed(failure(why)),
                },
                Effect::HandOver(start) => Msg::HandedOver(self.hand_over(&start)),
                Effect::DrawExercise => match self.store.delivered_lots(self.clock.now().day() - EXERCISE_BACK) {
                    Ok(lots) => Msg::Loaded(Loaded::Drawn(fastrand::choice(lots))),
                    Err(why) => Msg::LoadFailed(failure(why)),
                },
                Effect::PrintCalls(id) => Msg::Printed(self.print_calls(id)),
                Effect::OpenLogger(sensor, path) => {
                    let file = import::open_logger_for(&self.store, sensor, &import::whole_path(&path));
                    Msg::LoggerOpened(sensor, file.map(Box::new))
                }
                Effect::Import(sensor, map) => {
                    self.job = Some(work::Job::Import(sensor, map));
                    continue;
                }
                Effect::PrintRecords(period) => {
                    self.job = Some(work::Job::Records(period));
                    continue;
                }
                Effect::ProveChain => {
                    self.job = Some(work::Job::Proof);
                    continue;
                }
                Effect::Preview(action) => {
                    let who = self.model.who.unwrap_or(PersonId(1));
                    Msg::Previewed(self.store.preview(&action, who, self.clock.now()).map_err(failure))
                }
                Effect::Act(action) => {
                    let seen = hands::seen(&self.model, &action);
                    let result = self.act(&action, &seen);
                    Msg::Acted(action, result)
                }
                Effect::ActSeen(action, seen) => {
                    let result = self.act(&action, &seen);
                    Msg::Acted(action, result)
                }
            };
            todo.extend(update(&mut self.model, msg, self.clock.now()));
        }
        Flow::GoOn
    }

    fn keep_drafts(&mut self) {
        let Some(drafts) = self.drafts.as_ref().filter(|_| self.kept != self.model.drafts) else { return };
        match drafts.save(&self.model.drafts) {
            Ok(()) => self.kept.clone_from(&self.model.drafts),
            Err(why) => self.model.refuse(format!("What you typed could not be kept aside: {why:#}.")),
        }
    }

    /// The label of one tray as a page beside the book.
    fn print_label(&self, tray: TrayId) -> Result<String, String> {
        let card = self.model.tray_card(tray).ok_or("The tray is not in the room any more: look again.")?;
        let folder = self.store.folder().ok_or("The book has no folder: print with the labels verb.")?;
        let page = page("Tray label", &[Label::tray(card, &self.model.board.room_code)], &Sheet::roll(Roll::default()));
        let path = new_file::write_beside(&folder, &format!("label-{}", card.code()), "html", page.as_bytes())?;
        Ok(path.display().to_string())
    }

    /// Labels of lots, one for each pack that is there, on sheets of twelve.
    fn print_lots(&self, lots: &[LotId]) -> Result<String, String> {
        let (board, goods) = (&self.model.board, &self.model.goods);
        let printer =
            Printer { sender: &board.sender, room_code: &board.room_code, units: board.units(), gs1: Gs1::Matrix };
        let mut labels = Vec::new();
        let mut name = String::new();
        for lot in lots.iter().filter_map(|id| goods.lot(*id)) {
            name.clone_from(&lot.code);
            labels.extend(printer.all(lot, lot.product.and_then(|id| goods.product(id)))?);
        }
        if labels.is_empty() {
            return Err("Nothing of this lot is here any more: print with the labels verb.".into());
        }
        self.print(&format!("labels-{name}"), &page("Labels of a lot", &labels, &Sheet::A4_12))
    }

    fn print_today(&self) -> Result<String, String> {
        let (board, day) = (&self.model.board, self.clock.now().day());
        let page = lists::page(&today::lists(board, &self.model.goods, day), &board.room_name, board.units());
        self.print(&format!("lists-{day}"), &page)
    }

    fn print_week(&self, period: Period) -> Result<String, String> {
        let told = self.store.told(period, self.clock.now()).map_err(|error| error.to_string())?;
        let board = &self.model.board;
        let page = week::page(&told, board.units(), &board.room_name, &board.racks);
        let name = week::whole(period).unwrap_or_else(|| format!("{}-{}", period.from, period.to));
        self.print(&format!("week-{name}"), &week_report::html::page(&page))
    }

    fn print_note(&self, id: DeliveryId) -> Result<String, String> {
        let found = self.store.delivery(id).map_err(|error| error.to_string())?;
        let delivery = found.ok_or("This delivery was taken back: choose another.")?;
        let board = &self.model.board;
        self.print(&format!("note-{}", id.0), &note::page(&delivery, &note::From::of(board), board.units()))
    }

    /// The call sheet of a recall, to phone from.
    fn print_calls(&self, id: RecallId) -> Result<String, String> {
        let model = &self.model;
        let recall = model.answers.recall(id).ok_or("This recall was taken back: look again.")?;
        let page = calls::page(recall, &model.answers.answering, &model.board.room_name, model.now);
        self.print(&format!("calls-{}", id.0), &page)
    }

    /// Files for an authority beside the book, both ways; where the page is, and what stands above it.
    fn hand_over(&self, start: &Start) -> Result<(String, Vec<String>), String> {
        let folder = self.store.folder().ok_or("The book has no folder: hand over with the trace verb.")?;
        let ways = [Way::Back, Way::Forward];
        let dossier = self.store.dossier(start, &ways, self.clock.now()).map_err(|error| error.to_string())?;
        let files = hand_over::write_beside(&folder, &dossier)?;
        let page = files.iter().find(|file| file.extension().is_some_and(|end| end == "html"));
        Ok((page.map_or_else(String::new, |page| page.display().to_string()), dossier.marks()))
    }

    /// Writes a page beside the book and says where.
    fn print(&self, name: &str, page: &str) -> Result<String, String> {
        let folder = self.store.folder().ok_or("The book has no folder: print with the verbs of the command line.")?;
        let path = new_file::write_beside(&folder, name, "html", page.as_bytes())?;
        Ok(path.display().to_string())
    }

    fn act(&mut self, action: &Action, seen: &Seen) -> Result<Done, Failure> {
        let who = self.model.who.unwrap_or(PersonId(1));
        self.store.act_seen(action, who, seen, self.clock.now()).map_err(failure)
    }

    fn load(&self, query: Query) -> Result<Loaded, StoreError> {
        let store = &self.store;
        Ok(match query {
            Query::Board => Loaded::Board(Box::new(store.board()?)),
            Query::Goods => Loaded::Goods(Box::new(store.goods(self.clock.now().day())?)),
            Query::Account(lot) => Loaded::Account(lot, store.account(lot)?),
            Query::Stock => Loaded::Stock { lots: store.seed_lots()?, crops: store.crops()? },
            Query::Shelf => Loaded::Shelf(Box::new(store.seed_shelf(&self.model.lots, self.clock.now().day())?)),
            Query::SeedPage(lot) => Loaded::SeedPage(Box::new(store.seed_page(lot)?)),
            Query::Timeline(sowing) => {
                let damp = store.damp_days(sowing, self.clock.now())?;
                Loaded::Timeline(Box::new(Timeline { damp, ..store.timeline(sowing)? }))
            }
            Query::Air => Loaded::Air(store.sensors(self.clock.now())?),
            Query::Cold => Loaded::Cold(Box::new(store.cold(self.clock.now(), Some(self.model.cold.clone()))?)),
            Query::Answers => Loaded::Answers(Box::new(store.answers(self.clock.now().day())?)),
            Query::Scores(ask) => Loaded::Scores(ask, Box::new(store.scores(self.clock.now())?)),
            Query::Cause(asked) => Loaded::Cause(Box::new(store.cause(&asked, self.clock.now())?)),
            Query::Week(period) => Loaded::Week(Box::new(store.told(period, self.clock.now())?)),
            Query::Beside(tray) => Loaded::Beside(store.beside(tray)?),
            Query::Walk(walk) => Loaded::Walk(store.walk(walk)?),
            Query::NewestWalks => {
                let walk = store.newest_walk(self.clock.now().day())?;
                Loaded::NewestWalks(walk.into_iter().chain(store.newest_sheet()?).collect())
            }
            Query::LastHands(kind, id) => Loaded::LastHands { record: (kind, id), who: store.last_hands(kind, id)? },
            Query::Entry(id) => Loaded::Entry(Box::new(store.entry(id)?)),
            Query::History(of, before) => {
                Loaded::History { of, older: before.is_some(), lines: store.history(of, before, PAGE)? }
            }
        })
    }
}

fn failure(error: StoreError) -> Failure {
    match error {
        StoreError::Rule(refusal) => Failure::Rule(refusal),
        other => Failure::Book(other.to_string()),
    }
}
