//! Every change a person can make, as a value. One door takes them all: `Store::act`.

use super::answering::Answering;
use super::bands::Bands;
use super::breach::Verdict;
use super::check::{NewCheck, NewCheckKind};
use super::cold::{HandReading, NewStore, PutAway, Rules, SpellKey};
use super::complaint::{Named, NewComplaint, Told};
use super::correction::Correction;
use super::crop::{Crop, Medium, Plan, Soak};
use super::customer::NewCustomer;
use super::delivery::{NewDelivery, NewReturn};
use super::germ_test::{DayCount, GermEnd, NewGermTest};
use super::harvest::{NewCutCheck, NewHarvest};
use super::hold::NewHold;
use super::id::{
    BreachId, CheckKindId, ComplaintId, CropId, CustomerId, DeliveryId, EntryId, FormatId, GermTestId, HoldId, LotId,
    MixId, OrderId, PersonId, PlaceId, ProductId, RackId, RecallId, RecipeId, SeedLotId, SensorId, SoakId, StoreId,
    SupplierId, ToolId, TrayId, WalkId,
};
use super::look::Look;
use super::mix::{MixEnd, NewMaterialLot, NewMix, NewRecipe};
use super::order::NewOrder;
use super::packing::{NewLive, NewRun};
use super::power_cut::{Out, Span};
use super::product::NewProduct;
use super::reading::{NewReadings, Reading, Spot};
use super::recall::Line;
use super::room::Zone;
use super::round::{NewRound, Settling};
use super::score::NewScore;
use super::seed_lot::NewSeedLot;
use super::sender::Sender;
use super::setup::{NewFormat, NewRack, NewRoom};
use super::soak::NewSoak;
use super::sowing::NewSowing;
use super::standing::NewStanding;
use super::stock::{CameBack, NewMove};
use super::suspect::Choice;
use super::time::{Day, Instant};
use super::tray::{Cleanup, Gear, LossReason, Stage};
use super::treatment::NewTreatment;
use super::walk::Mode;
use super::water::NewWater;
use super::whereabouts::Sighting;

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
    /// Seeds of a lot are laid out to germinate; who has the numbers already gives them at once. None is taken from the jar.
    BeginGermTest(Box<NewGermTest>),
    /// Normal seedlings of some days, and the end of the test where it was the last count.
    CountGerm {
        test: GermTestId,
        counts: Vec<DayCount>,
        end: Option<GermEnd>,
    },
    /// The test is over.
    EndGermTest {
        test: GermTestId,
        end: GermEnd,
    },
    /// Name, address and lead time of who supplies seed, or out of use. They are made by a delivery.
    EditSupplier {
        supplier: SupplierId,
        name: String,
        address: String,
        lead_d: Option<i64>,
        retired: bool,
        rev: i64,
    },
    Sow(Box<NewSowing>),
    StartWalk {
        mode: Mode,
        racks: Option<Vec<RackId>>,
    },
    /// Racks of a walk that this person walks, and the others leave out.
    TakeRacks {
        walk: WalkId,
        racks: Vec<RackId>,
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
    /// Trays that stand elsewhere than the book says, since some time nobody knows, or cannot be found.
    Sight {
        walk: Option<WalkId>,
        trays: Vec<Sighting>,
    },
    /// Another order of the trays on each other, from the top.
    Restack {
        place: PlaceId,
        trays: Vec<TrayId>,
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
        /// Asked of what is bad only.
        cleanup: Option<Cleanup>,
        note: Option<String>,
    },
    /// What becomes of a suspect tray.
    DecideSuspect {
        walk: Option<WalkId>,
        tray: TrayId,
        what: Choice,
        by: PersonId,
        reason: String,
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
        rev: i64,
    },
    AddRack(NewRack),
    RenameRack {
        rack: RackId,
        name: String,
        rev: i64,
    },
    /// What some places are for, how many trays stand on each other there, or places taken out of use.
    EditPlaces {
        places: Vec<PlaceId>,
        zone: Zone,
        retired: bool,
        /// `None`: as many as before.
        stack: Option<i64>,
        /// Of all of them together: see `Board::places_rev`.
        rev: i64,
    },
    AddFormat(NewFormat),
    /// Another name, or out of use; a changed size is a new format, since trays keep theirs.
    EditFormat {
        format: FormatId,
        name: String,
        retired: bool,
        rev: i64,
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
    /// An act that was over before it was refused: broken rules are noted, not refused.
    Already {
        action: Box<Action>,
        reason: String,
    },
    /// Someone who may decide says what becomes of a breach.
    Decide {
        breach: BreachId,
        what: Verdict,
        by: PersonId,
        reason: String,
    },
    /// Not to be cut, packed or sold until someone who may decide has decided, with everything that was made of it, and at once;
    /// also with the seed it was grown from, or with a call sheet.
    Hold(Box<NewHold>),
    /// Someone who may decide says what becomes of a hold.
    DecideHold {
        hold: HoldId,
        what: Verdict,
        by: PersonId,
        reason: String,
    },
    /// A customer calls.
    Complain(Box<NewComplaint>),
    /// And calls again, or is called.
    TellMore {
        complaint: ComplaintId,
        told: Box<Told>,
    },
    /// Which lots a complaint may be about.
    NameLots {
        complaint: ComplaintId,
        lots: Vec<Named>,
    },
    /// The customer was answered: what was found.
    CloseComplaint {
        complaint: ComplaintId,
        by: PersonId,
        found: String,
    },
    /// What was told of people is taken out for good; the complaint and its lots stay.
    Blank {
        complaint: ComplaintId,
        reason: String,
    },
    /// What a hold reaches becomes a call sheet.
    Recall {
        hold: HoldId,
    },
    /// Someone was called, or a notice posted.
    Contact {
        recall: RecallId,
        line: Line,
        reached: bool,
        destroyed: Option<i64>,
        note: Option<String>,
    },
    /// A mock recall of a pack lot that went out: a call sheet that holds nothing back.
    Exercise {
        lot: LotId,
    },
    /// And its end, with the gaps it showed.
    EndExercise {
        recall: RecallId,
        gaps: String,
    },
    /// Someone who may decide signs that they read the records of these days, up to what stands in the log now.
    Sign {
        from: Day,
        to: Day,
        by: PersonId,
        remark: Option<String>,
    },
    /// A crop's later weights are held against those of these days.
    SetBaseline {
        crop: CropId,
        from: Day,
        to: Day,
        why: String,
    },
    /// A weight of a harvest lot is not right, or is after all: of one tray, or of those weighed together.
    MarkWeight {
        lot: LotId,
        tray: Option<TrayId>,
        odd: bool,
        why: String,
    },
    /// What figures of money are followed by.
    EditCurrency {
        currency: String,
        rev: i64,
    },
    /// Whom to call, whose rules, which targets.
    EditAnswering {
        answering: Box<Answering>,
        rev: i64,
    },
    /// Another name of a knife, a table or a scale, or out of use. They are made by being named at a cut.
    EditTool {
        tool: ToolId,
        name: String,
        retired: bool,
        rev: i64,
    },
    AddCheckKind(NewCheckKind),
    /// Other figures of a check of the room, or out of use.
    EditCheckKind {
        kind: CheckKindId,
        new: NewCheckKind,
        retired: bool,
        rev: i64,
    },
    NoteCheck(NewCheck),
    /// Places where something bad stood were cleaned.
    CleanPlaces {
        places: Vec<PlaceId>,
        with: String,
    },
    /// Seed goes into water or a sanitiser.
    Soak(NewSoak),
    /// And comes out of it.
    Drain {
        soak: SoakId,
        at: Instant,
        rinses: i64,
    },
    /// Points of the signs of fuzz, as a new version after this one.
    EditFuzzPoints(Box<super::fuzz::Points>),
    AddRecipe(Box<NewRecipe>),
    /// Other ingredients, as a new version, or another name, bottle or life; or out of use.
    EditRecipe {
        recipe: RecipeId,
        new: Box<NewRecipe>,
        retired: bool,
        rev: i64,
    },
    /// A lot of an ingredient came in.
    ReceiveMaterial(NewMaterialLot),
    PrepareMix(NewMix),
    /// The bottle is empty, or what was left in it is gone.
    EndMix {
        mix: MixId,
        what: MixEnd,
    },
    /// Something was sprayed or watered onto trays.
    Treat(Box<NewTreatment>),
    /// Something that measures the air of a zone, or a cold store.
    AddSensor {
        name: String,
        at: Spot,
    },
    /// Another name, or out of use. One that goes elsewhere is a new sensor, since readings keep their zone or store.
    EditSensor {
        sensor: SensorId,
        name: String,
        retired: bool,
        rev: i64,
    },
    /// A reading by hand.
    ReadAir {
        sensor: SensorId,
        reading: Reading,
    },
    /// The readings of a logger's file.
    ImportAir(Box<NewReadings>),
    /// A place that is kept cold.
    AddStore(Box<NewStore>),
    /// Other limits or another name, or out of use.
    EditStore {
        store: StoreId,
        new: Box<NewStore>,
        retired: bool,
        rev: i64,
    },
    /// A reading by hand in a cold store.
    ReadCold(Box<HandReading>),
    /// Lots go into a cold store, or out of every one.
    PutAway(Box<PutAway>),
    /// Someone who may decide says what becomes of what a warm or cold spell touched.
    DecideSpell {
        spell: SpellKey,
        what: Verdict,
        by: PersonId,
        reason: String,
    },
    /// Packs that were held back are looked at.
    Score(Box<NewScore>),
    /// A crop keeps as its own packs did, from now on: takes a proposal as it was seen.
    RefitAnchors {
        crop: CropId,
        /// The new figures, tenths of °C and hours.
        anchors: Vec<(i64, i64)>,
        /// What they come of.
        lots: usize,
        packs: i64,
        rev: i64,
    },
    /// What the room keeps to between cut and customer.
    EditColdRules {
        rules: Box<Rules>,
        rev: i64,
    },
    /// What water and air should be here.
    EditBands {
        bands: Box<Bands>,
        rev: i64,
    },
    /// What labels and notes say of the room.
    EditSender {
        sender: Box<Sender>,
        rev: i64,
    },
    /// Water given outside of a walk.
    Water(Box<NewWater>),
    /// Hours without power, and the warmest that was measured in them.
    PowerCut {
        span: Span,
        place: Out,
        warmest_dc: Option<i64>,
    },
    AddProduct(Box<NewProduct>),
    /// Other parts, as a new version, or another name or pack; or out of use.
    EditProduct {
        product: ProductId,
        new: Box<NewProduct>,
        retired: bool,
        rev: i64,
    },
    AddCustomer(Box<NewCustomer>),
    EditCustomer {
        customer: CustomerId,
        new: Box<NewCustomer>,
        retired: bool,
        rev: i64,
    },
    Order(Box<NewOrder>),
    /// Another day or other amounts, or called off.
    EditOrder {
        order: OrderId,
        new: Box<NewOrder>,
        off: bool,
        rev: i64,
    },
    /// Before the knife is taken up.
    CheckCut(Box<NewCutCheck>),
    /// Trays of one crop are cut into one harvest lot.
    Harvest(Box<NewHarvest>),
    /// A packing run: one pack lot.
    Pack(Box<NewRun>),
    /// Live trays leave the room as one pack lot.
    LeaveAlive(Box<NewLive>),
    /// A pack lot of which everything is here gets another code, as another product or of today.
    Reissue {
        lot: LotId,
        product: ProductId,
        reason: String,
    },
    /// Something of a lot is binned, kept as a sample or given away.
    MoveStock(Box<NewMove>),
    /// There is more or less of a lot than the book says.
    CountStock {
        lot: LotId,
        counted: i64,
        reason: String,
    },
    Deliver(Box<NewDelivery>),
    /// Packs go out on a round or to a stall.
    LoadRound(Box<NewRound>),
    /// And are accounted for.
    SettleRound(Box<Settling>),
    /// Packs come back from a customer.
    Return(Box<NewReturn>),
    /// What becomes of packs that came back and were not decided about.
    DecideReturn {
        delivery: DeliveryId,
        lot: LotId,
        packs: i64,
        what: CameBack,
    },
    /// Trays that were sold alive come back empty.
    Empties {
        customer: CustomerId,
        trays: i64,
        washed_with: String,
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
    /// Days from the cut after which it is never sold.
    pub most_d: Option<i64>,
    /// A kilogram of seed, and all else that a tray costs, in hundredths.
    pub seed_kg_c: Option<i64>,
    pub tray_c: Option<i64>,
    pub allergen: String,
    pub us_list: String,
    pub light_hours: String,
    pub plan: Plan,
    /// Shelf life at temperatures: tenths of °C, hours.
    pub anchors: Vec<(i64, i64)>,
    pub retired: bool,
}

impl EditCrop {
    /// The figures as they stand, nothing changed yet.
    pub fn of(crop: Crop) -> Self {
        Self {
            crop: crop.id,
            rev: crop.rev,
            name: crop.name,
            soak: crop.soak,
            hairs_expected: crop.hairs_expected,
            roots_hidden: crop.roots_hidden,
            second_cut: crop.second_cut,
            chilling: crop.chilling,
            weighted: crop.weighted,
            medium: crop.medium,
            tsw_mg: crop.tsw_mg,
            tray_mg: crop.tray_mg,
            yield_g: crop.yield_g,
            min_germ_pm: crop.min_germ_pm,
            want_germ_pm: crop.want_germ_pm,
            most_d: crop.most_d,
            seed_kg_c: crop.seed_kg_c,
            tray_c: crop.tray_c,
            allergen: crop.allergen,
            us_list: crop.us_list,
            light_hours: crop.light_hours,
            plan: crop.plan,
            anchors: crop.anchors,
            retired: crop.retired,
        }
    }
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
