//! Every change a person can make, as a value. One door takes them all: `Store::act`.

use super::correction::Correction;
use super::crop::{Medium, Plan, Soak};
use super::id::{CropId, EntryId, FormatId, PersonId, PlaceId, RackId, SeedLotId, TrayId, WalkId};
use super::look::Look;
use super::power_cut::Span;
use super::room::Zone;
use super::seed_lot::NewSeedLot;
use super::setup::{NewFormat, NewRack, NewRoom};
use super::sowing::NewSowing;
use super::standing::NewStanding;
use super::tray::{Gear, LossReason, Stage};
use super::walk::Mode;

/// One user action: one entry, one transaction.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub enum Action {
    SetUp(Box<NewRoom>),
    ReceiveSeedLot(Box<NewSeedLot>),
    /// The jar holds other than the book says.
    CountSeed {
        lot: SeedLotId,
        counted_mg: i64,
    },
    Sow(Box<NewSowing>),
    StartWalk {
        mode: Mode,
        racks: Option<Vec<RackId>>,
    },
    Look(Box<Look>),
    /// To another place, to the next stage, or both.
    Move {
        walk: Option<WalkId>,
        tray: TrayId,
        to: Option<PlaceId>,
        stage: Option<Stage>,
    },
    /// Several trays at once, each to a place of its own or none, to the next stage or none.
    MoveMany {
        moves: Vec<(TrayId, Option<PlaceId>)>,
        stage: Option<Stage>,
    },
    /// Trays that stood here before the book.
    Standing(Box<NewStanding>),
    /// Some mats of a tray; the rest goes on.
    LosePart {
        walk: Option<WalkId>,
        tray: TrayId,
        mats: i64,
        reason: LossReason,
    },
    /// Cut and taken off the rack.
    Cut {
        trays: Vec<TrayId>,
    },
    Throw {
        walk: Option<WalkId>,
        tray: TrayId,
        reason: LossReason,
        gear: Gear,
        note: Option<String>,
    },
    /// Puts a past entry right, with the reason. Where it takes back a finding of fuzz that stood, a second person
    /// stands by it.
    Correct {
        entry: EntryId,
        correction: Correction,
        reason: String,
        second: Option<PersonId>,
    },
    /// Takes back the newest entry of the person at the rack.
    Undo,
    AddPerson {
        initials: String,
        name: String,
        may_decide: bool,
    },
    EditPerson {
        person: PersonId,
        rev: i64,
        name: String,
        may_decide: bool,
        retired: bool,
    },
    EditRoom {
        name: String,
        code: String,
        units: super::room::Units,
    },
    AddRack(NewRack),
    RenameRack {
        rack: RackId,
        name: String,
    },
    /// Zone of some places, or places taken out of use.
    EditPlaces {
        places: Vec<PlaceId>,
        zone: Zone,
        retired: bool,
    },
    AddFormat(NewFormat),
    /// Another name, or out of use; a changed size is a new format, since trays keep theirs.
    EditFormat {
        format: FormatId,
        name: String,
        retired: bool,
    },
    EditCrop(Box<EditCrop>),
    AddStarterCrop {
        letters: String,
    },
    AddCrop(Box<NewCrop>),
    /// Where the daily second copy goes; `None` for nowhere.
    SetSecondCopy {
        folder: Option<String>,
    },
    /// Hours without power, in one zone or the whole room.
    PowerCut {
        span: Span,
        zone: Option<Zone>,
    },
}

/// A crop of one's own.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct NewCrop {
    pub letters: String,
    pub edit: EditCrop,
}

/// The editable figures of a crop; a changed plan becomes a new version.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct EditCrop {
    pub crop: CropId,
    pub rev: i64,
    pub name: String,
    pub soak: Soak,
    pub hairs_expected: bool,
    pub roots_hidden: bool,
    pub second_cut: bool,
    pub chilling: bool,
    pub weighted: bool,
    pub medium: Medium,
    pub tsw_mg: Option<i64>,
    pub tray_mg: i64,
    pub yield_g: Option<i64>,
    pub min_germ_pm: Option<i64>,
    pub want_germ_pm: Option<i64>,
    pub allergen: String,
    pub us_list: String,
    pub light_hours: String,
    pub plan: Plan,
    /// Shelf life at temperatures: tenths of °C, hours.
    pub anchors: Vec<(i64, i64)>,
    pub retired: bool,
}

/// What an action did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    pub entry: EntryId,
    /// One sentence for the person at the screen.
    pub sentence: String,
    /// The row it made, where one stands for the action: person, walk, lot, rack, format.
    pub made: Option<i64>,
    /// Trays it touched or made.
    pub trays: Vec<TrayId>,
}
