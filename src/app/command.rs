//! What a key can mean.

use crate::domain::cause::Of;
use crate::domain::shelf_life::Only;
use crate::domain::week::Part;

/// Whom a grade key writes for: three rows of keys, one above the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Row {
    /// Upper row: this tray and its sowing on the rest of the shelf.
    Shelf,
    /// Home row: the tray in hand.
    Tray,
    /// Lower row: the tray in hand, without water.
    NotWatered,
}

/// One meaning, independent of the key that carries it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Command {
    Left,
    Right,
    Up,
    Down,
    PageUp,
    PageDown,
    First,
    Last,
    /// Take what is under the cursor.
    Open,
    /// One screen back.
    Back,
    Help,
    Quit,
    StartWalk,
    LookHere,
    Sow,
    SeedShelf,
    Settings,
    /// Hand the keyboard to the next person.
    NextPerson,
    Story,
    /// What was done against a rule and waits for a decision.
    Breaches,
    /// Suspect trays, and what becomes of them.
    Suspects,
    Log,
    NextRack,
    PreviousRack,
    /// A grade: row and column, counted from the left.
    Grade(Row, usize),
    Hairs,
    Fuzz,
    Odd,
    Water,
    Skip,
    ToLight,
    Move,
    Note,
    Ready,
    Cut,
    /// Cut without a lot: never sold.
    OwnUse,
    /// What is there from the cut on.
    Stock,
    /// A packing run.
    Pack,
    NewOrder,
    Orders,
    Deliver,
    Rounds,
    /// Packs or trays that a customer gave back.
    Returned,
    /// Bin, keep a sample, give away, count.
    Away,
    TodaysLists,
    /// Products and customers.
    Names,
    /// Cold stores: what wants someone, readings, spells.
    Cold,
    /// Put lots into a cold store, or take them out.
    PutAway,
    /// What runs out first, as a whole screen.
    ShelfLife,
    /// That list narrowed to one kind.
    Only(Only),
    /// Where which trouble comes from.
    Of(Of),
    /// The same over another period.
    Weeks,
    PrintLabel,
    ThrowOut,
    /// Something was sprayed or watered onto trays.
    Treat,
    Undo,
    /// Write what was chosen, without a grade.
    WriteChosen,
    /// Everything that can be done with the tray, as a list.
    More,
    /// Receive, or add.
    Add,
    Count,
    /// Soak or clean seed of a lot, or drain it.
    Soak,
    /// Germination tests of a lot.
    GermTests,
    /// Who a lot came from.
    Supplier,
    /// Lock the keyboard, so that it can be wiped.
    Lock,
    /// To the next tray that wants someone.
    NextWanting,
    /// Find a command by its words.
    Find,
    /// One letter less.
    Erase,
    /// Why the forecast says what it says.
    Why,
    /// What is mixed, measured and checked in the room.
    Records,
    /// What really stands at a place.
    Whereabouts,
    /// Hold what a story is of until someone has decided.
    Hold,
    /// Put a past entry right.
    Correct,
    /// Complaints, traces, recalls.
    Answer,
    /// The same trace the other way.
    OtherWay,
    /// A trace that begins with what is under the cursor.
    TraceFrom,
    /// Everything that touched what is under the cursor.
    Touched,
    /// Files for an authority.
    HandOver,
    /// Hold it and call everybody who has it.
    Recall,
    /// They were reached; they were not.
    Reached,
    NotReached,
    /// Where everything of the lots is.
    Balance,
    /// The week reviewed.
    Week,
    /// A page of it.
    Part(Part),
    /// Someone who may decide signs it.
    Sign,
    /// It as a page to print.
    PrintPage,
    /// A weight is not right, or is after all.
    MarkWeight,
    /// What a crop is held against.
    Baseline,
    /// An exercise is over.
    EndExercise,
    /// The book's version of a field that someone else changed too, or one's own again.
    Other,
}
