//! The one door: checks an action, writes it as one entry, refreshes the derived rows, closes the hash.

use std::cell::{Cell, RefCell};

use rusqlite::{Transaction, TransactionBehavior};

use super::Store;
use super::air::Staged;
use super::error::StoreError;
use super::writer::{Watch, Writer};
use super::{
    air, answering, bands, board, breach, check, cleaning, cold, complaint, copy, correct, crop, customer, delivery,
    derive, fuzz, germ_test, hands, harvest, hold, live, look, lot, mix, order, packing, person, power_cut, product,
    recall, recipe, review, room, round, score, seed_lot, sender, soak, sowing, spell, standing, stay, stock, supplier,
    suspect, tool, tray, treatment, undo, walk, water, week, whereabouts,
};
use crate::domain::action::{Action, Done};
use crate::domain::breach::can_have_happened;
use crate::domain::correction::Correction;
use crate::domain::hands::Seen;
use crate::domain::hold::{reached, reached_lots};
use crate::domain::id::{EntryId, PersonId, TrayId};
use crate::domain::period::Period;
use crate::domain::refusal::Refusal;
use crate::domain::time::Now;

/// What a noun's module reports of its part of an action.
#[derive(Default)]
pub(super) struct Wrote {
    pub sentence: String,
    pub made: Option<i64>,
    pub trays: Vec<TrayId>,
}

impl Wrote {
    pub fn said(sentence: impl Into<String>) -> Self {
        Self { sentence: sentence.into(), ..Self::default() }
    }

    pub fn made(self, row: i64) -> Self {
        Self { made: Some(row), ..self }
    }
}

/// The door while it stands open: several actions in one commit.
pub struct Door<'t> {
    tx: &'t Transaction<'t>,
    /// An action failed, whatever the caller made of its error.
    failed: Cell<bool>,
    /// Hears how far long work is, and says whether it goes on.
    watch: Option<Watch<'t>>,
    /// The readings of a file that were laid ready before the door was opened, and those that went in.
    staged: RefCell<Option<Staged>>,
}

impl Door<'_> {
    /// Checks and writes one action. After an error the whole commit is given up.
    pub fn act(&self, action: &Action, who: PersonId, now: Now) -> Result<Done, StoreError> {
        self.act_seen(action, who, &Seen::default(), now)
    }

    /// The same for what was seen at another time or by other hands.
    pub fn act_seen(&self, action: &Action, who: PersonId, seen: &Seen, now: Now) -> Result<Done, StoreError> {
        self.write(action, who, seen, now).map_err(|error| {
            self.failed.set(true);
            explain(error, turns_back(action))
        })
    }

    /// The readings of a file that went in.
    pub(super) fn staged(&self) -> Option<Staged> {
        self.staged.take()
    }

    fn write(&self, action: &Action, who: PersonId, seen: &Seen, now: Now) -> Result<Done, StoreError> {
        let (action, already) = match action {
            Action::Already { action, reason } => {
                if !can_have_happened(action) {
                    return Err(no_act());
                }
                (action.as_ref(), Some(breach::Already::because(reason)?))
            }
            action => (action, None),
        };
        match action {
            Action::SetUp(_) => {
                room::still_empty(self.tx)?;
                // the very first entry names a person that is part of the entry itself; asked for every entry,
                // this would have SQLite prepare each kept statement anew
                self.tx.pragma_update(None, "defer_foreign_keys", true)?;
            }
            _ => person::at_the_rack(self.tx, who)?,
        }
        let undoes = match action {
            Action::Undo => Some(undo::target(self.tx, who, now)?),
            _ => None,
        };
        hands::believable(self.tx, seen, now)?;
        let seen = match action {
            Action::Correct { entry, correction, .. } => correct::seen(self.tx, *entry, correction, *seen, now)?,
            Action::Undo => undo::seen(self.tx, undoes)?,
            Action::Treat(new) => treatment::seen(self.tx, new, *seen, now)?,
            _ => *seen,
        };
        let mut w = Writer::begin(self.tx, kind(action), who, &seen, now, undoes)?;
        w.already = already;
        w.watch = self.watch;
        w.staged = self.staged.take();
        let wrote = carry_out(&mut w, action, undoes)?;
        let sentence = breach::told(&mut w, &wrote.sentence)?;
        if claims(action) {
            hands::after_sowing(&w)?;
        }
        derive::refresh_all(self.tx, &w.touched)?;
        let sentence = sentence + &reached(&hold::reach_back(&mut w)?);
        let sentence = sentence + &reached_lots(&hold::reach_lots(&mut w)?);
        let spells = spell::refresh(&mut w)?;
        let sentence = sentence + &spell::opened(w.conn, &spells, now)?;
        lot::refresh(&w)?;
        week::refresh(&w)?;
        if turns_back(action) {
            undo::still_sound(self.tx, &w.touched)?;
        }
        self.staged.replace(w.staged.take());
        let entry = w.finish()?;
        Ok(Done { entry, sentence, made: wrote.made, trays: wrote.trays })
    }
}

impl Store {
    /// Checks an action, writes it as one entry in one transaction, and says what it did.
    ///
    /// Everything a person changes goes through here: screens, command line, demo and tests alike.
    pub fn act(&mut self, action: &Action, who: PersonId, now: Now) -> Result<Done, StoreError> {
        self.act_seen(action, who, &Seen::default(), now)
    }

    /// The same for what was seen at another time or by other hands than those that type.
    pub fn act_seen(&mut self, action: &Action, who: PersonId, seen: &Seen, now: Now) -> Result<Done, StoreError> {
        let staged = self.stage_of(action, now, None)?;
        let done = self.through(None, staged, |door| door.act_seen(action, who, seen, now))?;
        if matches!(action, Action::Blank { .. }) {
            complaint::forget(&self.conn);
        }
        Ok(done)
    }

    /// What an action would change, a sentence each, without writing it.
    pub fn preview(&mut self, action: &Action, who: PersonId, now: Now) -> Result<Vec<String>, StoreError> {
        let before = (self.board()?, self.seed_lots()?);
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let door = Door { tx: &tx, failed: Cell::new(false), watch: None, staged: RefCell::default() };
        door.act(action, who, now)?;
        let after = (board::read(&tx)?, seed_lot::lots(&tx)?);
        tx.rollback()?;
        Ok(correct::consequences((&before.0, &before.1), (&after.0, &after.1)))
    }

    /// The same for long work: `watch` hears the rows done and all of them, and gives the whole up by saying no.
    pub fn act_watched(
        &mut self,
        action: &Action,
        who: PersonId,
        now: Now,
        watch: Watch<'_>,
    ) -> Result<Done, StoreError> {
        let staged = self.stage_of(action, now, Some(watch))?;
        self.through(Some(watch), staged, |door| door.act(action, who, now))
    }

    /// What of an action can be done before others have to wait.
    fn stage_of(&self, action: &Action, now: Now, watch: Option<Watch<'_>>) -> Result<Option<Staged>, StoreError> {
        match action {
            Action::ImportAir(new) => Ok(Some(self.stage(new, None, now, watch)?)),
            _ => Ok(None),
        }
    }

    /// Several actions that share one commit; an error gives all of them up.
    pub fn act_many<T>(&mut self, work: impl FnOnce(&Door<'_>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        self.through(None, None, work)
    }

    pub(super) fn through<T>(
        &mut self,
        watch: Option<Watch<'_>>,
        staged: Option<Staged>,
        work: impl FnOnce(&Door<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        if self.read_only {
            return Err(StoreError::ReadOnly);
        }
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let door = Door { tx: &tx, failed: Cell::new(false), watch, staged: RefCell::new(staged) };
        let done = work(&door)?;
        if door.failed.get() {
            // half of the failed action may be written already
            return Err(StoreError::Refused("One of these entries was refused, so none of them was saved.".into()));
        }
        tx.commit()?;
        Ok(done)
    }
}

/// The part of the action's own noun.
fn carry_out(w: &mut Writer<'_>, action: &Action, undoes: Option<EntryId>) -> Result<Wrote, StoreError> {
    Ok(match action {
        Action::SetUp(new) => room::set_up(w, new)?,
        Action::ReceiveSeedLot(new) => seed_lot::receive(w, new)?,
        Action::CountSeed { lot, counted_mg } => seed_lot::count(w, *lot, *counted_mg)?,
        Action::Sow(new) => sowing::sow(w, new)?,
        Action::StartWalk { mode, racks } => walk::start(w, *mode, racks.as_deref())?,
        Action::TakeRacks { walk, racks } => walk::take_racks(w, *walk, racks)?,
        Action::Look(new) => look::look(w, new)?,
        Action::Move { walk, tray, to, stage } => tray::go(w, *walk, *tray, *to, *stage)?,
        Action::MoveMany { moves, stage } => tray::go_many(w, moves, *stage)?,
        Action::Sight { walk, trays } => whereabouts::sight(w, *walk, trays)?,
        Action::Restack { place, trays } => whereabouts::restack(w, *place, trays)?,
        Action::Standing(new) => standing::stand(w, new)?,
        Action::LosePart { walk, tray, mats, reason } => tray::lose_part(w, *walk, *tray, *mats, *reason)?,
        Action::Cut { trays } => tray::cut(w, trays)?,
        Action::Throw { walk, tray, reason, gear, cleanup, note } => {
            w.note(note.as_deref())?;
            tray::throw(w, *walk, *tray, *reason, *gear, *cleanup)?
        }
        Action::DecideSuspect { walk, tray, what, by, reason } => suspect::decide(w, *walk, *tray, *what, *by, reason)?,
        Action::Correct { entry, correction, reason, second } => {
            correct::finding_stands(w.conn, *entry, correction, w.who, *second)?;
            correct::correct(w, *entry, correction, reason, *second)?
        }
        Action::Undo => undo::undo(w, undoes)?,
        Action::Already { .. } => return Err(no_act()),
        Action::Decide { breach, what, by, reason } => breach::decide(w, *breach, *what, *by, reason)?,
        Action::Hold(new) => hold::by_hand(w, new)?,
        Action::DecideHold { hold, what, by, reason } => hold::decide(w, *hold, *what, *by, reason)?,
        Action::AddPerson { initials, name, may_decide } => person::add(w, initials, name, *may_decide)?,
        Action::EditPerson { person, rev, name, may_decide, retired } => {
            person::edit(w, *person, *rev, name, *may_decide, *retired)?
        }
        Action::EditRoom { name, code, units, rev } => room::edit(w, name, code, *units, *rev)?,
        Action::AddRack(new) => room::add_rack(w, new)?,
        Action::RenameRack { rack, name, rev } => room::rename_rack(w, *rack, name, *rev)?,
        Action::EditPlaces { places, zone, retired, rev, stack } => {
            room::edit_places(w, places, *zone, *retired, *rev, *stack)?
        }
        Action::AddFormat(new) => room::add_format(w, new)?,
        Action::EditFormat { format, name, retired, rev } => room::edit_format(w, *format, name, *retired, *rev)?,
        Action::EditCrop(edit) => crop::edit(w, edit)?,
        Action::AddStarterCrop { letters } => crop::add_starter(w, letters)?,
        Action::AddCrop(new) => crop::add_own(w, new)?,
        Action::SetSecondCopy { folder } => copy::choose(w, folder.as_deref())?,
        Action::BeginGermTest(new) => germ_test::begin(w, new)?,
        Action::CountGerm { test, counts, end } => germ_test::count(w, *test, counts, *end)?,
        Action::EndGermTest { test, end } => germ_test::end(w, *test, end)?,
        Action::EditSupplier { supplier, name, address, lead_d, retired, rev } => {
            supplier::edit(w, *supplier, (name, address, *lead_d), *retired, *rev)?
        }
        Action::EditTool { tool, name, retired, rev } => tool::edit(w, *tool, name, *retired, *rev)?,
        Action::AddCheckKind(new) => check::add(w, new)?,
        Action::EditCheckKind { kind, new, retired, rev } => check::edit(w, *kind, new, *retired, *rev)?,
        Action::NoteCheck(new) => check::note(w, new)?,
        Action::CleanPlaces { places, with } => cleaning::clean(w, places, with)?,
        Action::Soak(new) => soak::begin(w, new)?,
        Action::Drain { soak, at, rinses } => soak::drain(w, *soak, *at, *rinses)?,
        Action::EditFuzzPoints(points) => fuzz::edit_points(w, points)?,
        Action::AddRecipe(new) => recipe::add(w, new)?,
        Action::EditRecipe { recipe, new, retired, rev } => recipe::edit(w, *recipe, new, *retired, *rev)?,
        Action::ReceiveMaterial(new) => recipe::receive(w, new)?,
        Action::PrepareMix(new) => mix::prepare(w, new)?,
        Action::EndMix { mix, what } => mix::end(w, *mix, *what)?,
        Action::Treat(new) => treatment::treat(w, new)?,
        Action::AddSensor { name, at } => air::add(w, name, *at)?,
        Action::EditSensor { sensor, name, retired, rev } => air::edit(w, *sensor, name, *retired, *rev)?,
        Action::ReadAir { sensor, reading } => air::read_by_hand(w, *sensor, *reading)?,
        Action::ImportAir(new) => air::import(w, new)?,
        Action::EditBands { bands, rev } => bands::edit(w, bands, *rev)?,
        Action::EditSender { sender, rev } => sender::edit(w, sender, *rev)?,
        Action::AddStore(new) => cold::add(w, new)?,
        Action::EditStore { store, new, retired, rev } => cold::edit(w, *store, new, *retired, *rev)?,
        Action::ReadCold(new) => cold::read_by_hand(w, new)?,
        Action::PutAway(new) => stay::put_away(w, new)?,
        Action::DecideSpell { spell, what, by, reason } => spell::decide(w, *spell, *what, *by, reason)?,
        Action::EditColdRules { rules, rev } => cold::edit_rules(w, rules, *rev)?,
        Action::Score(new) => score::score(w, new)?,
        Action::RefitAnchors { crop, anchors, lots, packs, rev } => {
            score::refit(w, *crop, anchors, (*lots, *packs), *rev)?
        }
        Action::Water(new) => water::give(w, new)?,
        Action::PowerCut { span, place, warmest_dc } => power_cut::note(w, *span, *place, *warmest_dc)?,
        Action::EditAnswering { answering, rev } => answering::edit(w, answering, *rev)?,
        after_the_cut => return sold(w, after_the_cut),
    })
}

/// The same of what is answered and reviewed: complaints, recalls, exercises, signatures, the week.
fn answer(w: &mut Writer<'_>, action: &Action) -> Result<Wrote, StoreError> {
    Ok(match action {
        Action::SetBaseline { crop, from, to, why } => {
            week::set_baseline(w, *crop, Period { from: *from, to: *to }, why)?
        }
        Action::MarkWeight { lot, tray, odd, why } => week::mark_odd(w, *lot, *tray, *odd, why)?,
        Action::EditCurrency { currency, rev } => week::edit_currency(w, currency, *rev)?,
        Action::Complain(new) => complaint::complain(w, new)?,
        Action::TellMore { complaint, told } => complaint::tell_more(w, *complaint, told)?,
        Action::NameLots { complaint, lots } => complaint::name_lots(w, *complaint, lots)?,
        Action::CloseComplaint { complaint, by, found } => complaint::close(w, *complaint, *by, found)?,
        Action::Blank { complaint, reason } => complaint::blank(w, *complaint, reason)?,
        Action::Recall { hold } => recall::begin(w, *hold)?,
        Action::Contact { recall, line, reached, destroyed, note } => {
            recall::contact(w, *recall, *line, *reached, *destroyed, note.as_deref())?
        }
        Action::Exercise { lot } => recall::exercise(w, *lot)?,
        Action::EndExercise { recall, gaps } => recall::end_exercise(w, *recall, gaps)?,
        Action::Sign { from, to, by, remark } => review::sign(w, (*from, *to), *by, remark.as_deref())?,
        _ => return Err(no_act()),
    })
}

/// The same of what happens from the cut on.
fn sold(w: &mut Writer<'_>, action: &Action) -> Result<Wrote, StoreError> {
    Ok(match action {
        Action::AddProduct(new) => product::add(w, new)?,
        Action::EditProduct { product, new, retired, rev } => product::edit(w, *product, new, *retired, *rev)?,
        Action::AddCustomer(new) => customer::add(w, new)?,
        Action::EditCustomer { customer, new, retired, rev } => customer::edit(w, *customer, new, *retired, *rev)?,
        Action::Order(new) => order::order(w, new)?,
        Action::EditOrder { order, new, off, rev } => order::edit(w, *order, new, *off, *rev)?,
        Action::CheckCut(new) => harvest::check(w, new)?,
        Action::Harvest(new) => harvest::harvest(w, new)?,
        Action::Pack(new) => packing::pack(w, new)?,
        Action::Reissue { lot, product, reason } => packing::reissue(w, *lot, *product, reason)?,
        Action::LeaveAlive(new) => live::leave(w, new)?,
        Action::MoveStock(new) => stock::go(w, new)?,
        Action::CountStock { lot, counted, reason } => stock::count(w, *lot, *counted, reason)?,
        Action::Deliver(new) => delivery::deliver(w, new)?,
        Action::LoadRound(new) => round::load(w, new)?,
        Action::SettleRound(new) => round::settle(w, new)?,
        Action::Return(new) => delivery::take_back(w, new)?,
        Action::DecideReturn { delivery, lot, packs, what } => {
            delivery::decide_return(w, *delivery, *lot, *packs, *what)?
        }
        Action::Empties { customer, trays, washed_with } => live::empties(w, *customer, *trays, washed_with)?,
        answered => return answer(w, answered),
    })
}

/// Whether the time of an action is said now, not taken over from what it replaces or brings back.
fn claims(action: &Action) -> bool {
    match action {
        Action::Undo => false,
        Action::Correct { correction, .. } => !matches!(correction, Correction::Look(_) | Correction::Place { .. }),
        _ => true,
    }
}

/// Whether older facts come to count again, or in another order.
fn turns_back(action: &Action) -> bool {
    matches!(action, Action::Undo | Action::Correct { correction: Correction::Hands { .. } | Correction::Never, .. })
}

/// What is no act of hands cannot be over before it is written.
fn no_act() -> StoreError {
    Refusal::new("already_what", "Only an act in the room can have happened already: write this one as it is.").into()
}

fn kind(action: &Action) -> &'static str {
    match action {
        Action::SetUp(_) => "setup",
        Action::ReceiveSeedLot(_) => "seed_received",
        Action::CountSeed { .. } => "seed_counted",
        Action::Sow(_) => "sown",
        Action::StartWalk { .. } => "walk_started",
        Action::TakeRacks { .. } => "walk_shared",
        Action::Look(_) => "look",
        Action::Move { .. } | Action::MoveMany { .. } => "moved",
        Action::Sight { .. } => "sighted",
        Action::Restack { .. } => "restacked",
        Action::Standing(_) => "standing",
        Action::LosePart { .. } => "part_lost",
        Action::Cut { .. } => "cut",
        Action::Throw { .. } => "thrown",
        Action::DecideSuspect { .. } => "suspect_decided",
        Action::Correct { .. } => "corrected",
        Action::Undo => "undo",
        Action::AddPerson { .. } | Action::EditPerson { .. } => "person",
        Action::EditRoom { .. }
        | Action::SetSecondCopy { .. }
        | Action::EditAnswering { .. }
        | Action::EditCurrency { .. }
        | Action::EditBands { .. }
        | Action::EditColdRules { .. }
        | Action::EditSender { .. } => "setting",
        Action::AddStore(_) | Action::EditStore { .. } => "store",
        Action::PutAway(_) => "put_away",
        Action::DecideSpell { .. } => "spell_decided",
        Action::Score(_) => "scored",
        Action::RefitAnchors { .. } => "refitted",
        Action::Complain(_) => "complaint",
        Action::TellMore { .. } => "complaint_more",
        Action::NameLots { .. } => "complaint_lots",
        Action::CloseComplaint { .. } => "complaint_closed",
        Action::Blank { .. } => "blanked",
        Action::Recall { .. } | Action::Exercise { .. } => "recalled",
        Action::Contact { .. } => "contacted",
        Action::EndExercise { .. } => "exercised",
        Action::Sign { .. } => "reviewed",
        Action::SetBaseline { .. } => "baseline",
        Action::MarkWeight { .. } => "odd_weight",
        Action::BeginGermTest(_) => "germ_begun",
        Action::CountGerm { .. } => "germ_counted",
        Action::EndGermTest { .. } => "germ_ended",
        Action::EditSupplier { .. } => "supplier",
        Action::EditTool { .. } => "tool",
        Action::AddCheckKind(_) | Action::EditCheckKind { .. } => "check_kind",
        Action::NoteCheck(_) => "room_checked",
        Action::CleanPlaces { .. } => "place_cleaned",
        Action::Soak(_) => "soaked",
        Action::Drain { .. } => "drained",
        Action::EditFuzzPoints(_) => "fuzz_points",
        Action::AddRecipe(_) | Action::EditRecipe { .. } => "recipe",
        Action::ReceiveMaterial(_) => "material_received",
        Action::PrepareMix(_) => "mixed",
        Action::EndMix { .. } => "mix_ended",
        Action::Treat(_) => "treated",
        Action::AddSensor { .. } | Action::EditSensor { .. } => "sensor",
        Action::ReadAir { .. } | Action::ReadCold(_) => "air_read",
        Action::ImportAir(_) => "air_imported",
        Action::Water(_) => "watered",
        Action::PowerCut { .. } => "power_cut",
        Action::Already { action, .. } => kind(action),
        Action::Decide { .. } => "decided",
        Action::Hold(_) => "held",
        Action::DecideHold { .. } => "hold_decided",
        Action::AddRack(_) | Action::RenameRack { .. } => "rack",
        Action::EditPlaces { .. } => "place",
        Action::AddFormat(_) | Action::EditFormat { .. } => "format",
        Action::EditCrop(_) | Action::AddStarterCrop { .. } | Action::AddCrop(_) => "crop",
        Action::AddProduct(_) | Action::EditProduct { .. } => "product",
        Action::AddCustomer(_) | Action::EditCustomer { .. } => "customer",
        Action::Order(_) | Action::EditOrder { .. } => "ordered",
        Action::CheckCut(_) => "cut_checked",
        Action::Harvest(_) => "harvested",
        Action::Pack(_) => "packed",
        Action::LeaveAlive(_) => "left_alive",
        Action::Reissue { .. } => "reissued",
        Action::MoveStock(_) => "stock_moved",
        Action::CountStock { .. } => "stock_counted",
        Action::Deliver(_) => "delivered",
        Action::LoadRound(_) => "round_out",
        Action::SettleRound(_) => "round_back",
        Action::Return(_) | Action::DecideReturn { .. } => "returned",
        Action::Empties { .. } => "empties",
    }
}

/// The database's own guards, said as the rule they keep.
fn explain(error: StoreError, turned_back: bool) -> StoreError {
    let StoreError::Constraint { name } = &error else { return error };
    let (rule, sentence) = match name.as_str() {
        "seed_below_zero" if turned_back => {
            ("seed_below_zero", "Seed it brought has been used since: count the jar, or take the use back first.")
        }
        "tray_now.place_id, tray_now.layer" if turned_back => {
            ("place_taken", "Another tray stands in its place meanwhile: move that one first.")
        }
        "seed_below_zero" => {
            ("seed_below_zero", "The lot does not hold that much seed: take less, or count the jar first.")
        }
        "seed_treated" => {
            ("seed_treated", "Treated seed, or seed not stated untreated, is never sown: choose another lot.")
        }
        "sow_held" | "soak_held" => {
            ("seed_held", "This seed lot is held: it is not sown until someone who may decide lifts the hold.")
        }
        "tool.name" => ("tool_taken", "A tool of that name is there already: choose another name."),
        "sow_blocked" => ("sow_blocked", "This seed lot was taken back: choose another."),
        "lot_below_zero" if turned_back => {
            ("lot_below_zero", "Some of it has gone on since: take that back first, or count the lot.")
        }
        "lot_below_zero" => ("lot_below_zero", "The lot does not hold that much: take less, or count it first."),
        "returned_over" => ("returned_over", "Not more comes back than was delivered: look at the delivery."),
        "tray_mats_over" => ("tray_mats_over", "The tray does not have that many mats left: say fewer."),
        "tray_now.place_id, tray_now.layer" => ("place_taken", "That place is taken: choose a free one."),
        "person.initials" => ("initials_taken", "These initials are taken: add a letter."),
        "rack.name" => ("rack_taken", "A rack of that name stands already: choose another name."),
        "tray_format.name" => ("format_taken", "A tray format of that name is there already: choose another name."),
        "check_kind.name" => ("check_taken", "A check of that name is kept already: choose another name."),
        "recipe.name" => ("recipe_taken", "A recipe of that name is there already: choose another name."),
        "sensor.name" => (
            "sensor_taken",
            "A sensor of that name is there, or was elsewhere: choose another name, readings keep their zone or store.",
        ),
        "store.name" => ("store_taken", "A cold store of that name is there already: choose another name."),
        "product.name" => ("product_taken", "A product of that name is there already: choose another name."),
        "germ_over" => (
            "germ_over",
            "Not more seedlings than seeds, and only of the replicates laid out: give the new ones of each day.",
        ),
        "germ_end.germ_test_id" => ("germ_ended", "This test is ended already: take the end back to put it right."),
        "supplier.name" => ("supplier_taken", "A supplier of that name is there already: choose another name."),
        "customer.name" => ("customer_taken", "A customer of that name is there already: add a word."),
        "crop.letters" => {
            ("crop_taken", "A crop with these letters is there already: edit it, or choose other letters.")
        }
        _ => return error,
    };
    StoreError::Rule(Refusal::new(rule, sentence))
}
