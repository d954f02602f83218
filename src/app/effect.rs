//! What the outside is asked to do, and what it answers. Values only.

use std::time::Duration;

use crate::app::key::Key;
use crate::app::screens::score;
use crate::domain::action::{Action, Done};
use crate::domain::answering::Answers;
use crate::domain::beside::Beside;
use crate::domain::board::Board;
use crate::domain::cause::{Asked, Counted};
use crate::domain::chain::Proof;
use crate::domain::code::Code;
use crate::domain::cold::Cold;
use crate::domain::correction::Entry;
use crate::domain::crop::Crop;
use crate::domain::goods::Goods;
use crate::domain::hands::Seen;
use crate::domain::history::{EntryLine, Of, Record};
use crate::domain::id::{DeliveryId, EntryId, LotId, RecallId, SeedLotId, SensorId, SowingId, TrayId, WalkId};
use crate::domain::logger::{LoggerFile, Map, Parsed};
use crate::domain::lot::Lot;
use crate::domain::period::Period;
use crate::domain::reading::SensorAir;
use crate::domain::refusal::Refusal;
use crate::domain::score::Scores;
use crate::domain::seed_lot::SeedLot;
use crate::domain::seed_page::SeedPage;
use crate::domain::seed_shelf::Shelf;
use crate::domain::stock::Account;
use crate::domain::time::Day;
use crate::domain::timeline::Timeline;
use crate::domain::trace::{Start, Trace, Way};
use crate::domain::walk::Walk;
use crate::domain::week::Told;

/// Something for the runtime to carry out.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    Load(Query),
    Act(Box<Action>),
    /// The same for what was seen at another time or by other hands.
    ActSeen(Box<Action>, Seen),
    /// Ask what an action would change.
    Preview(Box<Action>),
    /// Keep what is typed but not saved.
    KeepDrafts,
    /// A page with the label of a tray, to print.
    PrintLabel(TrayId),
    /// A page with labels of lots: packs, or tubs of a harvest.
    PrintLots(Vec<LotId>),
    /// A page with today's lists, to print.
    PrintToday,
    /// A page with the note of a delivery, to print.
    PrintNote(DeliveryId),
    /// Long work, in steps: everything of some days as a page, to print.
    PrintRecords(Period),
    /// The review of some days as a page, to print.
    PrintWeek(Period),
    /// Long work, in steps: whether every entry of the log is as it was written.
    ProveChain,
    /// The lot of a code that was read, or the one that has another code now.
    FindLot(Code),
    /// What something was made of, or what was made of it.
    Trace(Start, Way),
    /// The same of a code as it was typed.
    TraceCode(String, Way),
    /// Everything that touched it, as a page.
    Touched(Start),
    /// Files for an authority, both ways.
    HandOver(Start),
    /// A pack lot that went out lately, drawn by lot, for an exercise.
    DrawExercise,
    /// The call sheet of a recall as a page to print.
    PrintCalls(RecallId),
    /// Make the second copy of this day in the folder.
    CopyBook(String),
    /// Open a logger's file for a sensor.
    OpenLogger(SensorId, String),
    /// Long work, in steps: read the opened file and write its readings.
    Import(SensorId, Map),
    Quit,
}

/// A read model to fetch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Query {
    Board,
    /// Seed lots and crops.
    Stock,
    /// What left the trays: lots, products, customers, orders, rounds.
    Goods,
    /// Tests of seed, suppliers, how long it lasts: as long as a screen of them is open.
    Shelf,
    /// Everything a seed lot gave.
    SeedPage(SeedLotId),
    /// Where everything of a lot is.
    Account(LotId),
    Timeline(SowingId),
    /// What stood beside a tray.
    Beside(TrayId),
    /// What went bad in some weeks, and what it belongs to.
    Cause(Asked),
    /// The review of some days.
    Week(Period),
    Walk(WalkId),
    /// Today's newest walk, and the newest paper sheet.
    NewestWalks,
    /// An entry with what can be put right about it.
    Entry(EntryId),
    /// Entries about something, older than one.
    History(Of, Option<EntryId>),
    /// Sensors with their newest readings.
    Air,
    /// Cold stores, where lots lay, and how long they keep.
    Cold,
    /// What was held back, for a step through its lists.
    Scores(score::Ask),
    /// Complaints, recalls, what went out lately.
    Answers,
    /// Who changed an editable record last.
    LastHands(Record, i64),
}

/// A read model that came.
#[derive(Debug, Clone, PartialEq)]
pub enum Loaded {
    Board(Box<Board>),
    Stock {
        lots: Vec<SeedLot>,
        crops: Vec<Crop>,
    },
    Shelf(Box<Shelf>),
    SeedPage(Box<SeedPage>),
    Goods(Box<Goods>),
    Account(LotId, Account),
    /// The lot of a code; whether the code is an old one of it.
    Lot(Code, Option<Box<(Lot, bool)>>),
    Timeline(Box<Timeline>),
    Beside(Vec<Beside>),
    Cause(Box<Counted>),
    Week(Box<Told>),
    Walk(Walk),
    NewestWalks(Vec<Walk>),
    Entry(Box<Entry>),
    Air(Vec<SensorAir>),
    Cold(Box<Cold>),
    Scores(score::Ask, Box<Scores>),
    Answers(Box<Answers>),
    /// Lines to read, under a title.
    Page(String, Vec<String>),
    /// A pack lot drawn by lot; none went out lately.
    Drawn(Option<LotId>),
    History {
        of: Of,
        older: bool,
        lines: Vec<EntryLine>,
    },
    LastHands {
        record: (Record, i64),
        who: Option<String>,
    },
}

/// Why an action or a query did not go through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// A rule of the trade.
    Rule(Refusal),
    /// The book, the disk, another terminal.
    Book(String),
}

impl Failure {
    pub fn sentence(&self) -> String {
        match self {
            Self::Rule(refusal) => refusal.sentence.clone(),
            Self::Book(sentence) => sentence.clone(),
        }
    }
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Msg {
    /// A key, and when it came: time since the program began, on a clock that nobody sets.
    Key(Key, Duration),
    Paste(String),
    Resize(u16, u16),
    /// Nothing came until the next known moment.
    Quiet,
    /// Another terminal wrote to the book.
    OthersWrote,
    Loaded(Loaded),
    LoadFailed(Failure),
    /// A trace was worked out, or not; of an old code with what stands in its place.
    Traced(Result<(Box<Trace>, Option<String>), Failure>),
    /// The page was written under this path, or not.
    Printed(Result<String, String>),
    /// The records of a period were written under this path, with the proof of the log; or not.
    RecordsPrinted(Result<(String, Proof), String>),
    /// What the proof of the log came to; `None`: it was stopped.
    Proved(Result<Option<Proof>, String>),
    /// The files for an authority were written, or not: where their page is, and what stands above it.
    HandedOver(Result<(String, Vec<String>), String>),
    Previewed(Result<Vec<String>, Failure>),
    Acted(Box<Action>, Result<Done, Failure>),
    /// A logger's file was opened, or a sentence why not.
    LoggerOpened(SensorId, Result<Box<LoggerFile>, String>),
    /// What a file came to, and what the book made of it.
    Imported(Parsed, Result<Done, Failure>),
    /// The second copy was made or not; the day of the newest there is.
    Copied {
        newest: Option<Day>,
        result: Result<(), Failure>,
    },
    /// Keep what is typed: the program is about to be suspended.
    Keep,
    /// The terminal or the system asks to stop.
    Stop,
}
