//! The one table of keys. Footer, help, the lists of keys and the README's table are printed from it.

#[allow(clippy::enum_glob_use, reason = "the table below is read as a table")]
use super::command::Command::{self, *};
use super::command::Row;
use super::key::Key;
use crate::domain::cause::Of as Trouble;
use crate::domain::shelf_life::Only as Kinds;
use crate::domain::week::Part as Page_;

/// Where a key is pressed; computed from what is on top, never stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Context {
    Room,
    Walk,
    /// A short list to pick from.
    Menu,
    SeedShelf,
    /// Everything a seed lot gave.
    SeedPage,
    Suspects,
    /// What is there from the cut on.
    Stock,
    /// What runs out first, of everything.
    ShelfLife,
    /// Entries, one under the cursor.
    Story,
    /// A trace as a tree.
    Trace,
    /// The call sheet of a recall.
    Calls,
    /// Where trouble comes from.
    Cause,
    /// The week reviewed.
    Week,
    /// Text to read: help, why.
    Page,
    WalkEnd,
    /// Finding a command by its words; letters are typed.
    Find,
    /// A form; its own engine takes the keys.
    Form,
    /// The keyboard is being wiped.
    Locked,
}

impl Context {
    /// Every context, in the order help shows them.
    pub const ALL: &'static [Self] = &[
        Self::Room,
        Self::Walk,
        Self::SeedShelf,
        Self::SeedPage,
        Self::Suspects,
        Self::Stock,
        Self::ShelfLife,
        Self::Story,
        Self::Trace,
        Self::Calls,
        Self::Cause,
        Self::Week,
        Self::Menu,
        Self::Page,
        Self::WalkEnd,
        Self::Find,
        Self::Form,
        Self::Locked,
    ];

    /// Heading in help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Room => "The room",
            Self::Walk => "On the walk",
            Self::Menu => "In a short list",
            Self::SeedShelf => "The seed shelf",
            Self::SeedPage => "What a seed lot gave",
            Self::Suspects => "Suspect trays",
            Self::Stock => "Stock, from the cut on",
            Self::ShelfLife => "What runs out first",
            Self::Story => "In a story or the log",
            Self::Trace => "A trace",
            Self::Calls => "The call sheet of a recall",
            Self::Cause => "Where trouble comes from",
            Self::Week => "The week reviewed",
            Self::Page => "Reading",
            Self::WalkEnd => "The end of a walk",
            Self::Find => "Finding a command",
            Self::Form => "In a form",
            Self::Locked => "Locked for wiping",
        }
    }
}

/// A key, what it means where, and how that is said.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    pub context: Context,
    pub key: Key,
    pub command: Command,
    /// One or two words for the footer; empty keeps it out of there.
    pub hint: &'static str,
    /// What it does, for help.
    pub sentence: &'static str,
}

const fn b(context: Context, key: Key, command: Command, hint: &'static str, sentence: &'static str) -> Binding {
    Binding { context, key, command, hint, sentence }
}

const fn c(letter: char) -> Key {
    Key::Char(letter)
}

use Context::{
    Calls as Sheet, Cause as Causes, Find as Finding, Form, Locked, Menu, Page, Room, SeedPage as Gave,
    SeedShelf as Shelf, ShelfLife as Lasting, Stock as Goods, Story as Tale, Suspects as Doubts, Trace as Traced, Walk,
    WalkEnd as End, Week as Weekly,
};

/// Every key of the program.
pub const BINDINGS: &[Binding] = &[
    b(Room, c('w'), StartWalk, "walk", "Start the walk, or go on with it"),
    b(Room, c('s'), Sow, "sow", "Sow trays"),
    b(Room, c('c'), Cut, "cut", "Cut: the tray under the cursor, with its batch where that is ready too"),
    b(Room, c(' '), Stock, "stock", "Stock from the cut on: pack, label, orders, deliveries"),
    b(Room, c('-'), Week, "week", "The week reviewed: what each crop gave, losses, what differs, orders, money"),
    b(Room, c('m'), Move, "move", "Move the tray under the cursor, or bring it to the light"),
    b(Room, c('o'), LookHere, "look", "Look at the tray under the cursor, outside a walk"),
    b(Room, c('e'), SeedShelf, "seed", "Open the seed shelf: receive, count, look up lots"),
    b(Room, c('i'), Story, "story", "The story of the tray under the cursor, entry by entry"),
    b(Room, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Room, c('t'), ThrowOut, "throw out", "Throw out the tray under the cursor, with the reason"),
    b(Room, c('n'), NextRack, "next rack", "Show the next rack"),
    b(Room, c('a'), NextPerson, "who", "Hand the keyboard to the next person"),
    b(Room, c('x'), Settings, "settings", "Settings: room, people, racks, crops, tray formats"),
    b(Room, c('j'), NextWanting, "", "To the next tray that wants someone: held, suspect, late or odd"),
    b(Room, c('f'), Find, "find", "Find a command by its words"),
    b(Room, c('v'), Why, "", "Why the forecast: roots seen, the plan, the cutting window"),
    b(Room, c('g'), Whereabouts, "", "What really stands here: another tray, or none; a new label"),
    b(Room, c('r'), Records, "", "Records: checks, soaked seed, mixes, where trouble comes from, sums"),
    b(Room, c('z'), Treat, "", "Write down a treatment: of this tray, or of those around it"),
    b(Room, c('y'), Ready, "", "Mark the tray under the cursor ready to cut"),
    b(Room, c('d'), Breaches, "", "Decide: what was done against a rule, and what is held"),
    b(Room, c('p'), Suspects, "", "Suspect trays: next looks, what is at risk, decisions by name"),
    b(Room, c('l'), Log, "", "The whole log, newest first"),
    b(
        Room,
        c('.'),
        Answer,
        "complaint",
        "A customer complains: find the lot, trace it, hold it, call everybody who has it",
    ),
    b(Room, c('b'), PreviousRack, "", "Show the rack before"),
    b(Room, Key::Left, Left, "", "One place to the left"),
    b(Room, Key::Right, Right, "", "One place to the right"),
    b(Room, Key::Up, Up, "", "One shelf up"),
    b(Room, Key::Down, Down, "", "One shelf down"),
    b(Room, c(','), ShelfLife, "", "What runs out first, of everything, with what is promised of it"),
    b(Room, Key::PageDown, PageDown, "", "Further down in what runs out"),
    b(Room, Key::PageUp, PageUp, "", "Back up in what runs out"),
    b(Room, Key::Enter, Open, "", "Stories of what is under the cursor: tray, batch, place"),
    b(Room, c('k'), Lock, "", "Lock the keyboard for wiping"),
    b(Room, c('?'), Help, "keys", "All keys"),
    b(Room, Key::F(1), Help, "", "All keys"),
    b(Room, c('q'), Quit, "quit", "Leave; everything is saved already"),
    b(Walk, c('a'), Grade(Row::Tray, 0), "", "This tray, first grade from the left"),
    b(Walk, c('s'), Grade(Row::Tray, 1), "", "This tray, second grade"),
    b(Walk, c('d'), Grade(Row::Tray, 2), "", "This tray, third grade"),
    b(Walk, c('f'), Grade(Row::Tray, 3), "", "This tray, fourth grade: full roots, a good stand, or watered"),
    b(Walk, c('g'), Grade(Row::Tray, 4), "", "This tray, fifth grade: roots not visible, or fallen"),
    b(Walk, c('q'), Grade(Row::Shelf, 0), "", "The same row of grades for the rest of the shelf: first"),
    b(Walk, c('w'), Grade(Row::Shelf, 1), "", "Rest of the shelf, second grade"),
    b(Walk, c('e'), Grade(Row::Shelf, 2), "", "Rest of the shelf, third grade"),
    b(Walk, c('r'), Grade(Row::Shelf, 3), "", "Rest of the shelf, fourth grade"),
    b(Walk, c('t'), Grade(Row::Shelf, 4), "", "Rest of the shelf, fifth grade"),
    b(Walk, c('z'), Grade(Row::NotWatered, 0), "", "As seen, but not watered: first grade"),
    b(Walk, c('x'), Grade(Row::NotWatered, 1), "", "Not watered, second grade"),
    b(Walk, c('c'), Grade(Row::NotWatered, 2), "", "Not watered, third grade"),
    b(Walk, c('v'), Grade(Row::NotWatered, 3), "", "Not watered, fourth grade"),
    b(Walk, c('b'), Grade(Row::NotWatered, 4), "", "Not watered, fifth grade"),
    b(Walk, c('j'), Fuzz, "fuzz", "Fuzz: the misting test, then what tells hairs from mould"),
    b(Walk, c('o'), Odd, "odd", "Something odd: brown roots, dry, uneven, thin, standing water"),
    b(Walk, c('k'), Skip, "skip, throw", "Skip it or throw it out, with the reason"),
    b(Walk, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Walk, c('l'), ToLight, "to light", "Bring it to the light"),
    b(Walk, c('m'), Move, "move", "Move it elsewhere"),
    b(Walk, c('n'), Note, "note", "Write a note"),
    b(Walk, c('p'), Water, "water", "Water in figures: mL, pH, degrees"),
    b(Walk, c('y'), Ready, "ready", "Mark it ready to cut"),
    b(Walk, c('i'), Hairs, "", "Where root hairs are expected: misted, lies down, only on the roots"),
    b(Walk, Key::Enter, WriteChosen, "", "Write what was chosen, without a grade"),
    b(Walk, Key::Left, Left, "", "Back to the tray before"),
    b(Walk, Key::Up, Left, "", "Back to the tray before"),
    b(Walk, Key::Right, Right, "", "On to the next tray without writing"),
    b(Walk, Key::Down, Right, "", "On to the next tray without writing"),
    b(Walk, c(' '), More, "everything", "Everything that can be done with this tray, as a list"),
    b(Walk, Key::Esc, Back, "room", "Back to the room; the walk goes on where it stopped"),
    b(Shelf, c('a'), Add, "receive", "Receive a seed lot"),
    b(Shelf, c('c'), Count, "count", "The jar holds more or less than the book"),
    b(Shelf, Key::Enter, Open, "all", "Everything this lot gave: sown, cut, lost, tested, where it went"),
    b(Shelf, c('g'), GermTests, "test", "Germination tests of this lot: lay out, count, read"),
    b(Shelf, c('s'), Sow, "sow", "Sow trays"),
    b(Shelf, c('k'), Soak, "soak", "Soak or clean seed of this lot, or drain what is in water"),
    b(Shelf, c('i'), Story, "story", "Everything this lot went through"),
    b(Shelf, c('p'), Supplier, "", "Who it came from: address, and days from order to delivery"),
    b(Shelf, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Shelf, Key::Up, Up, "", "One lot up"),
    b(Shelf, Key::Down, Down, "", "One lot down"),
    b(Shelf, Key::PageUp, PageUp, "", "Ten lots up"),
    b(Shelf, Key::PageDown, PageDown, "", "Ten lots down"),
    b(Shelf, c('?'), Help, "keys", "All keys"),
    b(Shelf, Key::F(1), Help, "", "All keys"),
    b(Shelf, Key::Esc, Back, "room", "Back to the room"),
    b(Gave, Key::Enter, Open, "stories", "Stories of its batches, of lots cut of it, of complaints"),
    b(Gave, c('g'), GermTests, "test", "Germination tests of this lot: lay out, count, read"),
    b(Gave, c('t'), TraceFrom, "trace", "Who has what was made of it: the trace of this lot"),
    b(Gave, c('i'), Story, "story", "Everything this lot went through"),
    b(Gave, c('u'), Undo, "", "Take back your newest entry"),
    b(Gave, Key::Up, Up, "", "One line up"),
    b(Gave, Key::Down, Down, "", "One line down"),
    b(Gave, Key::PageUp, PageUp, "", "One page up"),
    b(Gave, Key::PageDown, PageDown, "", "One page down"),
    b(Gave, c(' '), PageDown, "more", "One page down"),
    b(Gave, Key::Home, First, "", "To the beginning"),
    b(Gave, Key::End, Last, "", "To the end"),
    b(Gave, c('?'), Help, "keys", "All keys"),
    b(Gave, Key::F(1), Help, "", "All keys"),
    b(Gave, Key::Esc, Back, "back", "Back"),
    b(Doubts, Key::Enter, Open, "decide", "Clear, watch, isolate or throw out the tray under the cursor"),
    b(Doubts, c('o'), LookHere, "look", "Look at it now, outside a walk"),
    b(Doubts, c('i'), Story, "story", "Its story, entry by entry"),
    b(Doubts, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Doubts, Key::Up, Up, "", "One tray up"),
    b(Doubts, Key::Down, Down, "", "One tray down"),
    b(Doubts, Key::PageUp, PageUp, "", "Ten trays up"),
    b(Doubts, Key::PageDown, PageDown, "", "Ten trays down"),
    b(Doubts, c('?'), Help, "keys", "All keys"),
    b(Doubts, Key::F(1), Help, "", "All keys"),
    b(Doubts, Key::Esc, Back, "room", "Back to the room"),
    b(Goods, c('c'), Cut, "cut", "Cut a batch that is ready"),
    b(Goods, c('p'), Pack, "pack", "Pack: a run from the lot under the cursor, or from what was cut last"),
    b(Goods, c('l'), PrintLabel, "label", "A page with labels of the lot under the cursor"),
    b(Goods, c('o'), NewOrder, "order", "Write an order down"),
    b(Goods, c('d'), Deliver, "deliver", "Deliver to a customer"),
    b(Goods, c('r'), Rounds, "rounds", "Rounds and stalls: load, sell, bring back"),
    b(Goods, c('b'), Away, "bin", "Bin, keep a sample, give away, count"),
    b(Goods, c('g'), Returned, "", "Packs or trays that a customer gave back"),
    b(Goods, c('t'), TodaysLists, "", "Today's lists: what to cut, to pack, to bring"),
    b(Goods, c('e'), Orders, "", "Open orders"),
    b(Goods, c('n'), Names, "", "Products and customers"),
    b(Goods, c('k'), PutAway, "cold", "Put lots into a cold store, or take them out"),
    b(Goods, c('s'), Cold, "", "Cold stores: readings, spells, what lies where"),
    b(Goods, c(','), ShelfLife, "", "What runs out first, of everything, with what is promised of it"),
    b(Goods, c('v'), Why, "", "Why it keeps that long: the sum, reading by reading"),
    b(Goods, c('i'), Story, "story", "Everything this lot went through"),
    b(Goods, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Goods, Key::Enter, Open, "", "Everything that can be done with the lot under the cursor"),
    b(Goods, Key::Up, Up, "", "One line up"),
    b(Goods, Key::Down, Down, "", "One line down"),
    b(Goods, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Goods, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Goods, c('?'), Help, "keys", "All keys"),
    b(Goods, Key::F(1), Help, "", "All keys"),
    b(Goods, Key::Esc, Back, "room", "Back to the room"),
    b(Lasting, c('a'), Only(Kinds::All), "all", "Everything"),
    b(Lasting, c('p'), Only(Kinds::Packs), "packs", "Packs only"),
    b(Lasting, c('c'), Only(Kinds::Cut), "cut", "Cut greens only"),
    b(Lasting, c('t'), Only(Kinds::Trays), "trays", "Trays only"),
    b(Lasting, c('m'), Only(Kinds::Mixes), "mixes", "Mixes only"),
    b(Lasting, c('s'), Only(Kinds::Seed), "seed", "Seed only"),
    b(Lasting, Key::Enter, Open, "why", "Why it keeps that long, reading by reading; of a batch, to its place"),
    b(Lasting, c('v'), Why, "", "The same"),
    b(Lasting, Key::Up, Up, "", "One line up"),
    b(Lasting, Key::Down, Down, "", "One line down"),
    b(Lasting, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Lasting, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Lasting, c('?'), Help, "keys", "All keys"),
    b(Lasting, Key::F(1), Help, "", "All keys"),
    b(Lasting, Key::Esc, Back, "back", "Back"),
    b(Menu, Key::Up, Up, "", "One line up"),
    b(Menu, Key::Down, Down, "", "One line down"),
    b(Menu, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Menu, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Menu, Key::Enter, Open, "take", "Take the marked line; its letter does the same"),
    b(Menu, Key::Esc, Back, "back", "Back without changing anything"),
    b(Tale, c('c'), Correct, "put right", "Put the entry under the cursor right, with the reason"),
    b(
        Tale,
        c('o'),
        Hold,
        "hold",
        "Hold the tray or batch of this story, also what was cut of it, until someone has decided",
    ),
    b(Tale, Key::Enter, Correct, "", "Put the entry under the cursor right, with the reason"),
    b(Tale, Key::Up, Up, "", "One entry up"),
    b(Tale, Key::Down, Down, "", "One entry down"),
    b(Tale, Key::PageUp, PageUp, "", "One page up"),
    b(Tale, Key::PageDown, PageDown, "", "One page down"),
    b(Tale, c(' '), PageDown, "more", "One page down"),
    b(Tale, Key::Home, First, "", "To the newest entry"),
    b(Tale, Key::End, Last, "", "To the oldest entry shown"),
    b(Tale, Key::Esc, Back, "back", "Back"),
    b(Traced, Key::Enter, Open, "open", "Open the line under the cursor, or shut it"),
    b(Traced, c('w'), OtherWay, "other way", "The other way: what it was made of, or who has what was made of it"),
    b(Traced, c('v'), Touched, "touched", "Everything that touched it: looks, water, sprays, places, hands, cold"),
    b(Traced, c('o'), Hold, "hold", "Hold what the trace began with, and everything made of it"),
    b(Traced, c('r'), Recall, "call all", "Call everybody who has it: the sheet of the hold"),
    b(Traced, c('p'), HandOver, "files", "Files for an authority, beside the book"),
    b(Traced, c('t'), TraceFrom, "", "A new trace that begins with the line under the cursor"),
    b(Traced, c('i'), Story, "story", "The story of the line under the cursor"),
    b(Traced, Key::Right, Right, "", "Open the line, or go into it"),
    b(Traced, Key::Left, Left, "", "Shut the line, or go out of it"),
    b(Traced, Key::Up, Up, "", "One line up"),
    b(Traced, Key::Down, Down, "", "One line down"),
    b(Traced, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Traced, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Traced, c('?'), Help, "keys", "All keys"),
    b(Traced, Key::F(1), Help, "", "All keys"),
    b(Traced, Key::Esc, Back, "back", "Back"),
    b(Sheet, c('y'), Reached, "reached", "They were reached and know; or the notice is posted"),
    b(Sheet, c('n'), NotReached, "not reached", "Nobody answered; or the notice is not posted yet"),
    b(Sheet, Key::Enter, Open, "more", "What they said, and packs they destroyed"),
    b(Sheet, c('v'), Balance, "balance", "Where everything of the lots is, and how long it took"),
    b(Sheet, c('p'), PrintLabel, "print", "The sheet as a page, beside the book"),
    b(Sheet, c('g'), Returned, "", "Packs that came back from the customer under the cursor"),
    b(Sheet, c('e'), EndExercise, "", "The exercise is over: score it, with its gaps"),
    b(Sheet, c('i'), Story, "", "The story of the delivery under the cursor"),
    b(Sheet, c('u'), Undo, "undo", "Take back your newest entry"),
    b(Sheet, Key::Up, Up, "", "One line up"),
    b(Sheet, Key::Down, Down, "", "One line down"),
    b(Sheet, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Sheet, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Sheet, c('?'), Help, "keys", "All keys"),
    b(Sheet, Key::F(1), Help, "", "All keys"),
    b(Sheet, Key::Esc, Back, "back", "Back"),
    b(Causes, c('m'), Of(Trouble::Mould), "mould", "Mould and rot, of the trays sown in these weeks"),
    b(Causes, c('s'), Of(Trouble::Suspects), "suspects", "Suspect trays, of those sown in these weeks"),
    b(
        Causes,
        c('l'),
        Of(Trouble::Losses),
        "losses",
        "Losses, of the trays cut or thrown out in these weeks; again: one reason after the other",
    ),
    b(
        Causes,
        c('c'),
        Of(Trouble::Complaints),
        "complaints",
        "Complaints, of the pack lots that went out in these weeks; again: one kind after the other",
    ),
    b(Causes, c('w'), Weeks, "weeks", "Another period: the last 2, 4, 8 or 26 weeks"),
    b(Causes, c('v'), Why, "why", "How it was counted and compared, with the figures"),
    b(Causes, Key::Up, Up, "", "One line up"),
    b(Causes, Key::Down, Down, "", "One line down"),
    b(Causes, Key::PageUp, PageUp, "", "One page up"),
    b(Causes, Key::PageDown, PageDown, "", "One page down"),
    b(Causes, c(' '), PageDown, "", "One page down"),
    b(Causes, Key::Home, First, "", "To the beginning"),
    b(Causes, Key::End, Last, "", "To the end"),
    b(Causes, c('?'), Help, "keys", "All keys"),
    b(Causes, Key::F(1), Help, "", "All keys"),
    b(Causes, Key::Enter, Back, "", "Back"),
    b(Causes, Key::Esc, Back, "back", "Back"),
    b(Weekly, Key::Enter, Open, "open", "What lies behind the line under the cursor, down to the trays"),
    b(Weekly, c('c'), Part(Page_::Crops), "", "Crop by crop: sown, cut, lost, grams a tray, seed, days, money"),
    b(Weekly, c('l'), Part(Page_::Losses), "", "Losses by crop and reason"),
    b(Weekly, c('s'), Part(Page_::Differ), "", "What differs: seed lots, shelves, densities, plans against each other"),
    b(Weekly, c('t'), Part(Page_::Drift), "", "Each crop against what it gave before, and where it drifts"),
    b(Weekly, c('o'), Part(Page_::Sold), "", "Orders met, short and late, what was thrown away, money"),
    b(Weekly, c('p'), Part(Page_::Pictures), "pictures", "Pictures: spread, weeks, limits, losses, racks"),
    b(Weekly, c('v'), Why, "why", "How it was counted and compared, with the figures"),
    b(Weekly, Key::Left, Left, "", "The week before, or as many days before"),
    b(Weekly, Key::Right, Right, "", "The week after"),
    b(Weekly, c('w'), Weeks, "days", "Another week, or days of your own"),
    b(Weekly, c('x'), Sign, "sign", "Sign these days, by someone who may decide"),
    b(Weekly, c('z'), PrintPage, "page", "The review as a page beside the book, to print on two sheets"),
    b(Weekly, c('m'), MarkWeight, "", "The weight under the cursor is not right, or is after all"),
    b(Weekly, c('b'), Baseline, "", "Move what the crop under the cursor is held against"),
    b(Weekly, c('u'), Undo, "", "Take back your newest entry"),
    b(Weekly, Key::Up, Up, "", "One line up"),
    b(Weekly, Key::Down, Down, "", "One line down"),
    b(Weekly, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Weekly, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Weekly, Key::Home, First, "", "To the beginning"),
    b(Weekly, Key::End, Last, "", "To the end"),
    b(Weekly, c('?'), Help, "keys", "All keys"),
    b(Weekly, Key::F(1), Help, "", "All keys"),
    b(Weekly, Key::Esc, Back, "back", "Back"),
    b(Page, Key::Up, Up, "", "One line up"),
    b(Page, Key::Down, Down, "", "One line down"),
    b(Page, Key::PageUp, PageUp, "", "One page up"),
    b(Page, Key::PageDown, PageDown, "", "One page down"),
    b(Page, c(' '), PageDown, "more", "One page down"),
    b(Page, Key::Home, First, "", "To the beginning"),
    b(Page, Key::End, Last, "", "To the end"),
    b(Page, Key::Enter, Back, "", "Back"),
    b(Page, Key::Esc, Back, "back", "Back"),
    b(End, c('w'), StartWalk, "", "Take a rack of the walk that someone else has still to do"),
    b(End, Key::Up, Up, "", "One line up"),
    b(End, Key::Down, Down, "", "One line down"),
    b(End, Key::PageUp, PageUp, "", "One page up"),
    b(End, Key::PageDown, PageDown, "", "One page down"),
    b(End, c(' '), PageDown, "more", "One page down"),
    b(End, Key::Home, First, "", "To the beginning"),
    b(End, Key::End, Last, "", "To the end"),
    b(End, Key::Enter, Back, "", "Back to the room"),
    b(End, Key::Esc, Back, "room", "Back to the room"),
    b(Finding, Key::Enter, Open, "do it", "Carry out the marked command"),
    b(Finding, Key::Up, Up, "", "One line up"),
    b(Finding, Key::Down, Down, "", "One line down"),
    b(Finding, Key::PageUp, PageUp, "", "Ten lines up"),
    b(Finding, Key::PageDown, PageDown, "", "Ten lines down"),
    b(Finding, Key::Backspace, Erase, "wider", "One letter less, so more commands"),
    b(Finding, Key::Esc, Back, "back", "Back without doing anything"),
    b(Form, Key::Enter, Open, "next", "Next field; in the last one, save"),
    b(Form, Key::Ctrl('s'), Open, "save", "Save from any field"),
    b(Form, Key::Tab, Down, "", "Next field"),
    b(Form, Key::BackTab, Up, "", "Field before"),
    b(Form, Key::Down, Down, "", "Next field"),
    b(Form, Key::Up, Up, "", "Field before"),
    b(Form, Key::Left, Left, "", "Caret, or the choice before"),
    b(Form, Key::Right, Right, "", "Caret, or the next choice"),
    b(Form, Key::Ctrl('n'), First, "", "Begin the form afresh; again brings back what stood in it"),
    b(
        Form,
        Key::Ctrl('t'),
        Other,
        "",
        "Where someone else changed a field too: take the book's version; again takes yours",
    ),
    b(Form, Key::Esc, Back, "back", "Back; what you typed is kept for the next time"),
    b(Locked, Key::Enter, Open, "unlock", "Three times, slowly: unlock the keyboard"),
];

/// The command of a key in a context.
pub fn command(context: Context, key: Key) -> Option<Command> {
    BINDINGS.iter().find(|b| b.context == context && b.key == key).map(|b| b.command)
}

/// The key of a command in a context, the first one listed.
pub fn key_of(context: Context, command: Command) -> Option<Key> {
    BINDINGS.iter().find(|b| b.context == context && b.command == command).map(|b| b.key)
}

/// Keys and hints for the footer.
pub fn footer(context: Context) -> Vec<(String, &'static str)> {
    BINDINGS.iter().filter(|b| b.context == context && !b.hint.is_empty()).map(|b| (b.key.name(), b.hint)).collect()
}

/// A command with all keys that carry it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    pub command: Command,
    pub keys: String,
    pub sentence: &'static str,
}

/// All commands of a context with their sentences, keys of one sentence together.
pub fn entries(context: Context) -> Vec<Entry> {
    let mut rows: Vec<Entry> = Vec::new();
    for Binding { key, command, sentence, .. } in BINDINGS.iter().filter(|b| b.context == context) {
        match rows.iter_mut().find(|entry| (entry.command, entry.sentence) == (*command, *sentence)) {
            Some(entry) => entry.keys = format!("{}, {}", entry.keys, key.name()),
            None => rows.push(Entry { command: *command, keys: key.name(), sentence }),
        }
    }
    rows
}

/// All keys with their sentences.
pub fn table(context: Context) -> Vec<(String, &'static str)> {
    entries(context).into_iter().map(|entry| (entry.keys, entry.sentence)).collect()
}

/// The whole table as Markdown, for the README.
pub fn markdown() -> String {
    let part = |context: &Context| {
        let rows = table(*context).into_iter().map(|(keys, sentence)| format!("| {keys} | {sentence} |\n"));
        format!("**{}**\n\n| key | what it does |\n|---|---|\n{}", context.title(), rows.collect::<String>())
    };
    Context::ALL.iter().map(part).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn no_key_twice_in_a_context() {
        let mut seen = HashSet::new();
        for binding in BINDINGS {
            assert!(seen.insert((binding.context, binding.key)), "{binding:?}");
        }
    }

    #[test]
    fn the_scanner_owns_capitals_digits_and_its_prefixes() {
        for binding in BINDINGS {
            if let Key::Char(letter) = binding.key {
                let scanners = letter.is_uppercase() || letter.is_ascii_digit() || ['h', ']', '('].contains(&letter);
                assert!(!scanners, "{binding:?}");
            }
            assert_ne!(binding.key, Key::Ctrl(']'));
        }
    }

    #[test]
    fn the_walk_needs_only_small_letters_arrows_space_enter_and_escape() {
        for binding in BINDINGS.iter().filter(|b| b.context == Walk || b.context == Menu) {
            let plain = match binding.key {
                Key::Char(letter) => letter.is_ascii_lowercase() || letter == ' ',
                Key::Enter | Key::Esc | Key::Left | Key::Right | Key::Up | Key::Down => true,
                // a long list may also be paged through; every line has its letter or the arrows
                Key::PageUp | Key::PageDown => binding.context == Menu,
                _ => false,
            };
            assert!(plain, "{binding:?}");
        }
    }

    #[test]
    fn no_key_that_a_terminal_multiplexer_or_flow_control_takes() {
        for binding in BINDINGS {
            // tmux and screen take C-b and C-a; C-q, C-z, C-c, C-d, C-\ belong to the terminal
            assert!(!matches!(binding.key, Key::Ctrl('b' | 'a' | 'q' | 'z' | 'c' | 'd' | '\\')), "{binding:?}");
        }
    }

    #[test]
    fn no_letter_that_needs_altgr_on_common_layouts() {
        for binding in BINDINGS {
            assert!(
                !matches!(binding.key, Key::Char('@' | '[' | ']' | '{' | '}' | '\\' | '|' | '~' | '#')),
                "{binding:?}"
            );
        }
    }

    #[test]
    fn every_binding_says_what_it_does() {
        for binding in BINDINGS {
            assert!(!binding.sentence.is_empty(), "{binding:?}");
        }
    }
}
