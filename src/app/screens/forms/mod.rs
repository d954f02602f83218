//! The program's forms: each a list of fields, the lines worked out below them, and one way into an action.

pub mod air;
mod answering;
mod bands;
mod bench;
pub use bench::Sum;
mod breach;
pub mod calls;
mod check;
mod clean;
pub mod cold;
pub mod complaint;
pub mod correct;
mod crop;
mod germ;
mod hands;
mod harvest;
mod mix;
mod pack;
pub mod period;
mod places;
mod points;
pub(super) mod record;
mod room;
pub(super) use room::unit_options;
mod safe;
mod score;
mod seed;
mod soak;
pub mod sold;
mod sow;
pub mod start;
mod stop;
mod supplier;
mod suspect;
mod tool;
mod treat;
pub mod water;
pub mod week;

use crate::app::effect::Effect;
use crate::app::form::{Form, Measure, Range, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::breach::Verdict;
use crate::domain::hands::Seen;
use crate::domain::hold::NewHold;
use crate::domain::id::{
    BreachId, CheckKindId, ComplaintId, CropId, EntryId, FormatId, GermTestId, HoldId, LotId, PersonId, PlaceId,
    RackId, RecipeId, SeedLotId, SoakId, SupplierId, ToolId, TrayId,
};
use crate::domain::period::Period;
use crate::domain::power_cut::parse_moment;
use crate::domain::suspect::Decision;
use crate::domain::time::Instant;
use crate::domain::trace::Start;
use crate::domain::units::Quantity;

/// Which form.
#[derive(Debug, Clone, PartialEq)]
pub enum FormKind {
    ReceiveSeed,
    CountSeed(SeedLotId),
    /// Seeds of a lot are laid out to germinate.
    GermTest(SeedLotId),
    /// Seedlings of a test are counted.
    CountGerm(GermTestId),
    /// Who seed comes from.
    Supplier(SupplierId),
    /// Seed of a lot goes into water.
    Soak(SeedLotId),
    Drain(SoakId),
    Sow,
    Room,
    Person(Option<PersonId>),
    AddRack,
    /// Zones of one rack's shelves.
    Shelves(RackId),
    AddFormat,
    /// Another name for a rack.
    RenameRack(RackId),
    /// Name of a tray format, or out of use.
    Format(FormatId),
    SecondCopy,
    /// A sum of the bench calculator.
    Bench(Sum),
    /// A check of the room that was made.
    NoteCheck(CheckKindId),
    /// Places where something bad stood were cleaned.
    CleanPlaces(Vec<PlaceId>),
    /// What is checked how often.
    CheckKind(Option<CheckKindId>),
    /// A recipe: a new one, or another version of one.
    Recipe(Option<RecipeId>),
    /// A lot of an ingredient, by its name if that is known.
    ReceiveMaterial(String),
    /// A bottle by this version of a recipe.
    Prepare(RecipeId, i64),
    /// Trays that were treated.
    Treat(Vec<TrayId>),
    PowerCut,
    /// Sensors, readings, files of loggers.
    Air(air::Of),
    /// Water for some trays.
    Water(water::Where),
    /// What water and air should be.
    Bands,
    /// Points of fuzz signs, after this version.
    FuzzPoints(i64),
    Crop(Option<CropId>),
    /// Puts the entry right that was opened last.
    Correct(EntryId, correct::What),
    /// From the stock to the customer.
    Sold(sold::Of),
    /// Cold stores.
    Cold(cold::Of),
    /// Water figures for the stop of a walk.
    StopWater(TrayId),
    /// A note for the stop of a walk.
    StopNote(TrayId),
    /// Why an act was done against a rule that refused it.
    Already(Box<Action>, &'static str),
    Decide(BreachId, Verdict),
    /// What is held, and how its story is called.
    Hold(Start, String),
    DecideHold(HoldId, Verdict),
    /// Hold what a trace began with, with its seed or a call sheet.
    HoldAll {
        what: Start,
        title: String,
        complaint: Option<ComplaintId>,
        call: bool,
    },
    /// A customer calls, and what follows from it.
    Complaint(complaint::Of),
    /// A label that is typed to be traced.
    TraceCode,
    /// Hold or trace what has no label, with what is proposed.
    By(start::By, start::Then, Option<i64>),
    /// Name of a knife, a table or a scale, or out of use.
    Tool(ToolId),
    /// Whom to call, whose rules, how fast.
    Answering,
    /// A line of a call sheet; the end of an exercise.
    Calls(calls::Of),
    /// Clear or watch a suspect tray.
    Suspect(TrayId, Decision),
    /// Before these trays are cut.
    CheckCut(Vec<TrayId>),
    /// These trays are cut into a lot.
    Harvest(Vec<TrayId>),
    /// A packing run, from this lot or from what was cut last.
    Pack(Option<LotId>),
    /// Packs held back of a lot are looked at.
    Score(LotId),
    /// Another code for packs that are all here.
    Reissue(LotId),
    /// Whose paper sheet, and of when.
    PaperSheet,
    /// Days whose records are printed or signed.
    Period(period::Of),
    /// The week reviewed.
    Week(week::Of),
}

impl FormKind {
    /// Drafts are kept per form and record.
    pub fn draft_name(&self) -> String {
        match self {
            Self::Person(Some(id)) => format!("Person({})", id.0),
            Self::Crop(Some(id)) => format!("Crop({})", id.0),
            Self::Recipe(Some(id)) => format!("Recipe({})", id.0),
            Self::Sold(of) => format!("{of:?}"),
            other => format!("{other:?}"),
        }
    }

    /// Edits a record of the book, which others may change meanwhile.
    pub fn edits(&self) -> bool {
        if let Self::Sold(of) = self {
            return of.edits();
        }
        matches!(
            self,
            Self::Room
                | Self::Person(Some(_))
                | Self::Crop(Some(_))
                | Self::RenameRack(_)
                | Self::Format(_)
                | Self::CheckKind(Some(_))
                | Self::Tool(_)
                | Self::Supplier(_)
                | Self::Recipe(Some(_))
                | Self::Air(air::Of::Sensor(Some(_)))
                | Self::Bands
                | Self::Answering
                | Self::Week(week::Of::Currency)
                | Self::Cold(cold::Of::Store(Some(_)) | cold::Of::Rules)
                | Self::Shelves(_)
                | Self::Correct(_, correct::What::Sowing(_) | correct::What::Received)
        )
    }
}

/// What a submit comes to.
pub enum Submit {
    Act(Box<Action>),
    /// Seen by other hands, at another time.
    ActSeen(Box<Action>, Seen),
    /// Something is asked of the outside first; the form waits.
    Ask(Box<Effect>),
    /// Kept with the stop of the walk until its grade is given.
    Chosen,
    /// Nothing is written: the review of these days is shown.
    Show(Period),
}

/// Which field, and the sentence beside it.
pub type Wrong = (Option<&'static str>, String);

pub fn build(model: &Model, kind: &FormKind) -> Form {
    match kind {
        FormKind::ReceiveSeed => seed::receive(model),
        FormKind::CountSeed(lot) => seed::count(model, *lot),
        FormKind::GermTest(lot) => germ::begin(model, *lot),
        FormKind::CountGerm(id) => germ::count(model, *id),
        FormKind::Supplier(id) => supplier::build(model, *id),
        FormKind::Soak(lot) => soak::begin(model, *lot),
        FormKind::Drain(id) => soak::drain(model, *id),
        FormKind::Sow => sow::build(model),
        FormKind::Room => room::room(model),
        FormKind::Person(person) => room::person(model, *person),
        FormKind::AddRack => places::add_rack(model),
        FormKind::Shelves(rack) => places::shelves(model, *rack),
        FormKind::AddFormat => places::add_format(model),
        FormKind::RenameRack(rack) => places::rename_rack(model, *rack),
        FormKind::Format(format) => places::format(model, *format),
        FormKind::SecondCopy => safe::second_copy(model),
        FormKind::Bench(sum) => bench::build(model, *sum),
        FormKind::NoteCheck(id) => check::note(model, *id),
        FormKind::CleanPlaces(places) => clean::build(model, places),
        FormKind::CheckKind(id) => check::kind(model, *id),
        FormKind::Recipe(id) => mix::recipe(model, *id),
        FormKind::ReceiveMaterial(name) => mix::receive(model, name),
        FormKind::Prepare(id, _) => mix::prepare(model, *id),
        FormKind::Treat(trays) => treat::build(model, trays),
        FormKind::PowerCut => safe::power_cut(model),
        FormKind::Air(of) => air::build(model, *of),
        FormKind::Water(place) => water::build(model, *place),
        FormKind::Bands => bands::build(model),
        FormKind::FuzzPoints(_) => points::build(model),
        FormKind::Crop(crop) => crop::build(model, *crop),
        FormKind::Correct(_, what) => correct::build(model, *what),
        FormKind::StopWater(tray) => stop::water(model, *tray),
        FormKind::StopNote(tray) => stop::note(model, *tray),
        FormKind::Already(_, rule) => breach::already(model, rule),
        FormKind::Decide(id, what) => breach::decide(model, *id, *what),
        FormKind::Hold(what, title) => breach::hold(model, what, title),
        FormKind::DecideHold(id, what) => breach::decide_hold(model, *id, *what),
        FormKind::HoldAll { title, call, .. } => breach::hold_all(model, title, *call),
        FormKind::Complaint(of) => complaint::build(model, *of),
        FormKind::TraceCode => answering::code(model),
        FormKind::By(by, then, row) => start::build(model, *by, *then, *row),
        FormKind::Tool(id) => tool::build(model, *id),
        FormKind::Answering => answering::build(model),
        FormKind::Calls(of) => calls::build(model, *of),
        FormKind::Suspect(tray, what) => suspect::build(model, *tray, *what),
        FormKind::CheckCut(trays) => harvest::check(model, trays),
        FormKind::Harvest(trays) => harvest::build(model, trays),
        FormKind::Pack(lot) => pack::build(model, *lot),
        FormKind::Reissue(lot) => pack::reissue(model, *lot),
        FormKind::Score(lot) => score::build(model, *lot),
        FormKind::PaperSheet => hands::sheet(model),
        FormKind::Period(of) => period::build(model, *of),
        FormKind::Week(of) => week::build(model, *of),
        FormKind::Sold(of) => sold::build(model, of),
        FormKind::Cold(of) => cold::build(model, *of),
    }
}

/// Works the lines and proposals out again after a change.
pub fn changed(model: &Model, kind: &FormKind, form: &mut Form) {
    match kind {
        FormKind::Sow => sow::changed(model, form),
        FormKind::ReceiveSeed => seed::changed(model, form),
        FormKind::CountSeed(lot) => seed::count_changed(model, *lot, form),
        FormKind::GermTest(lot) => germ::begin_changed(model, *lot, form),
        FormKind::CountGerm(id) => germ::count_changed(model, *id, form),
        FormKind::Soak(lot) => soak::begin_changed(model, *lot, form),
        FormKind::Drain(id) => soak::drain_changed(model, *id, form),
        FormKind::PowerCut => safe::power_cut_changed(model, form),
        FormKind::Recipe(_) => mix::recipe_changed(form),
        FormKind::Prepare(id, _) => mix::prepare_changed(model, *id, form),
        FormKind::Treat(trays) => treat::changed(model, trays, form),
        FormKind::Air(of) => air::changed(model, *of, form),
        FormKind::Water(_) | FormKind::StopWater(_) => water::changed(model, form),
        FormKind::CheckCut(_) => harvest::check_changed(form),
        FormKind::Harvest(_) => harvest::changed(model, form),
        FormKind::Pack(_) => pack::changed(model, form),
        FormKind::Bench(sum) => bench::changed(model, *sum, form),
        FormKind::Score(lot) => score::changed(model, *lot, form),
        FormKind::Sold(of) => sold::changed(model, of, form),
        FormKind::Cold(of) => cold::changed(model, *of, form),
        FormKind::Complaint(of) => complaint::changed(model, *of, form),
        FormKind::Period(of) => period::changed(model, *of, form),
        FormKind::By(..) => start::changed(form),
        _ => {}
    }
}

/// `rev`: the revision of the record that is edited, as the person saw it.
pub fn submit(model: &mut Model, kind: &FormKind, rev: i64, values: &Values) -> Result<Submit, Wrong> {
    let act = |action: Action| Ok(Submit::Act(Box::new(action)));
    match kind {
        FormKind::ReceiveSeed => act(seed::receive_action(values)?),
        FormKind::CountSeed(lot) => act(seed::count_action(*lot, values)),
        FormKind::GermTest(lot) => act(germ::begin_action(*lot, values)?),
        FormKind::CountGerm(id) => act(germ::count_action(model, *id, values)?),
        FormKind::Supplier(id) => act(supplier::action(*id, rev, values)),
        FormKind::Soak(lot) => act(soak::begin_action(model, *lot, values)?),
        FormKind::Drain(id) => act(soak::drain_action(model, *id, values)?),
        FormKind::Sow => act(sow::action(model, values)?),
        FormKind::Room => act(room::room_action(values, rev)?),
        FormKind::Person(person) => act(room::person_action(model, *person, rev, values)?),
        FormKind::AddRack => act(places::rack_action(values)?),
        FormKind::Shelves(rack) => act(places::shelves_action(model, *rack, values)?),
        FormKind::AddFormat => act(places::format_action(values)?),
        FormKind::RenameRack(rack) => {
            act(Action::RenameRack { rack: *rack, name: values.text("name").trim().to_string(), rev })
        }
        FormKind::Format(format) => act(Action::EditFormat {
            format: *format,
            name: values.text("name").trim().to_string(),
            retired: !values.yes("used"),
            rev,
        }),
        FormKind::NoteCheck(id) => act(check::note_action(*id, values, model)),
        FormKind::CleanPlaces(places) => act(clean::action(places, values)),
        FormKind::CheckKind(id) => act(check::kind_action(*id, rev, values)?),
        FormKind::Bench(_) => Err(bench::submit()),
        FormKind::Recipe(id) => act(mix::recipe_action(*id, rev, values)?),
        FormKind::ReceiveMaterial(_) => act(mix::receive_action(model, values)?),
        FormKind::Prepare(id, version) => act(mix::prepare_action(model, *id, *version, values)),
        FormKind::Treat(trays) => act(treat::action(model, trays, values)?),
        FormKind::SecondCopy => act(safe::second_copy_action(values)),
        FormKind::PowerCut => act(safe::power_cut_action(model, values)?),
        FormKind::Air(of) => air::submit(model, *of, rev, values),
        FormKind::Water(place) => act(water::action(model, *place, values)?),
        FormKind::Bands => act(bands::action(values, rev)?),
        FormKind::FuzzPoints(version) => act(points::action(*version, values)?),
        FormKind::Crop(crop) => act(crop::action(model, *crop, rev, values)?),
        FormKind::Already(action, _) => act(breach::already_action(action, values)),
        FormKind::Decide(id, what) => act(breach::decide_action(*id, *what, values)?),
        FormKind::Hold(what, _) => {
            act(Action::Hold(Box::new(NewHold::of(what.clone(), None, values.text("reason").to_string()))))
        }
        FormKind::DecideHold(id, what) => act(breach::decide_hold_action(*id, *what, values)?),
        FormKind::HoldAll { what, complaint, .. } => act(breach::hold_all_action(what, *complaint, values)),
        FormKind::Complaint(of) => complaint::submit(model, *of, values),
        FormKind::TraceCode => Ok(Submit::Ask(Box::new(answering::code_effect(values)))),
        FormKind::By(by, ..) => start::submit(model, *by, values),
        FormKind::Tool(id) => act(tool::action(*id, rev, values)),
        FormKind::Answering => act(answering::action(values, rev)?),
        FormKind::Calls(of) => act(calls::action(*of, values)),
        FormKind::Suspect(tray, what) => act(suspect::action(model, *tray, *what, values)?),
        FormKind::CheckCut(_) => act(harvest::check_action(values)),
        FormKind::Harvest(_) => act(harvest::action(model, values)?),
        FormKind::Pack(_) => act(pack::action(model, values)?),
        FormKind::Reissue(lot) => act(pack::reissue_action(*lot, values)?),
        FormKind::Score(lot) => act(score::action(model, *lot, values)?),
        FormKind::PaperSheet => {
            let (action, seen) = hands::sheet_action(model, values)?;
            Ok(Submit::ActSeen(Box::new(action), seen))
        }
        FormKind::Correct(_, what) => act(correct::action(model, *what, values)?),
        FormKind::Sold(of) => sold::submit(model, of, rev, values),
        FormKind::Cold(of) => cold::submit(model, *of, rev, values),
        FormKind::Period(of) => period::submit(model, *of, values),
        FormKind::Week(of) => week::submit(model, *of, rev, values),
        FormKind::StopWater(tray) => {
            stop::keep_water(model, *tray, values)?;
            Ok(Submit::Chosen)
        }
        FormKind::StopNote(tray) => {
            stop::keep_note(model, *tray, values);
            Ok(Submit::Chosen)
        }
    }
}

/// The action whose consequences the form lists before it is saved.
pub fn preview(model: &Model, kind: &FormKind, values: &Values) -> Option<Action> {
    match kind {
        FormKind::Correct(_, what) => match correct::action(model, *what, values).ok()? {
            // why it is put right changes nothing about what it changes
            Action::Correct { entry, correction, reason, second } => {
                let reason = if reason.is_empty() { "-".into() } else { reason };
                Some(Action::Correct { entry, correction, reason, second })
            }
            other => Some(other),
        },
        _ => None,
    }
}

/// Limits of a number field.
pub(super) fn range(unit: &str, min: f64, max: f64, decimals: u8) -> Range {
    Range { unit: unit.into(), min, max, decimals }
}

/// An amount of the book: its limits and decimals there, typed in the units of the room.
pub(super) fn measure(model: &Model, quantity: Quantity, min: f64, max: f64, decimals: u8) -> Measure {
    Measure { quantity, units: model.board.units(), min, max, decimals }
}

/// Seed in grams, to the milligram.
pub(super) fn seed_weight(model: &Model, min: f64, max: f64) -> Measure {
    measure(model, Quantity::Weight, min, max, 3)
}

/// A value of the book for a field of a measure, which shows it in the units of the room; empty for none.
pub(super) fn amount(value: Option<i64>, factor: f64, quantity: Quantity) -> String {
    value.map_or_else(String::new, |value| format!("{} {}", shown(value, factor), quantity.kept_in().name()))
}

/// Grams typed, as milligrams.
pub(super) fn milligrams(values: &Values, id: &str) -> Option<i64> {
    scaled(values, id, 1000.0)
}

/// A typed number in units of `1 / factor`, rounded.
pub(super) fn scaled(values: &Values, id: &str, factor: f64) -> Option<i64> {
    #[expect(clippy::cast_possible_truncation, reason = "fields limit their numbers; the cast saturates")]
    values.number(id).map(|x| (x * factor).round() as i64)
}

/// Day and time of this moment, as a field of a moment takes them.
pub(super) fn minute(model: &Model) -> String {
    model.now.0.format("%Y-%m-%d %H:%M").to_string()
}

/// Day and time as typed, on the room's clock.
pub(super) fn moment(model: &Model, values: &Values, id: &'static str) -> Result<Instant, Wrong> {
    parse_moment(values.text(id), model.now).map_err(|why| (Some(id), why))
}

/// Text or nothing.
pub(super) fn some_text(values: &Values, id: &str) -> Option<String> {
    Some(values.text(id).trim().to_string()).filter(|text| !text.is_empty())
}

/// A number for a field, without needless decimals: per mille as per cent, milligrams as grams.
pub(super) fn shown(value: i64, factor: f64) -> String {
    #[expect(clippy::cast_precision_loss, reason = "field values are far below 2^53")]
    let x = value as f64 / factor;
    let text = format!("{x:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}
