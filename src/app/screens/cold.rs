//! Cold stores as short lists: what wants someone first, then each store, what lies in it, its spells.

use super::countdown::{clock_words, now_s};
use super::forms::FormKind;
use super::forms::air::Of as AirOf;
use super::forms::cold::Of;
use super::pick::Pick;
use super::records::Page;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::app::update::reload;
use crate::domain::action::Action;
use crate::domain::breach::Verdict;
use crate::domain::cold::{CAUTION, Clock, ColdStore, Kind, SpellKey, SpellSeen, Touched};
use crate::domain::history::{Of as About, Record};
use crate::domain::id::{LotId, StoreId};
use crate::domain::power_cut::lasting;
use crate::domain::text::counted;

/// Lots and deliveries of a spell that are named; the rest is counted.
const NAMED: usize = 6;

/// A step through these lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    List,
    Store(StoreId),
    Spell(SpellKey),
    /// What lies in a store.
    Inside(StoreId),
    /// Spells of a store that are over, or were decided.
    Past(StoreId),
}

pub fn asked_for(model: &Model, ask: Ask) -> Menu<Pick> {
    match ask {
        Ask::List => list(model),
        Ask::Store(id) => model.cold.store(id).map_or_else(|| list(model), |store| one(model, store)),
        Ask::Spell(key) => spell(model, key).unwrap_or_else(|| list(model)),
        Ask::Inside(id) => model.cold.store(id).map_or_else(|| list(model), |store| inside(model, store)),
        Ask::Past(id) => model.cold.store(id).map_or_else(|| list(model), |store| past(model, store)),
    }
}

/// Opens the list of the stores.
pub fn open(model: &mut Model) {
    let menu = list(model);
    model.open(Screen::Menu(menu));
}

fn ask(ask: Ask) -> Pick {
    Pick::Record(Page::Cold(ask))
}

fn form(of: Of) -> Pick {
    Pick::Form(FormKind::Cold(of))
}

/// Whether an action may change where lots lie, what stores read, or how long anything keeps.
pub fn told_by(action: &Action) -> bool {
    match action {
        Action::Already { action, .. } => told_by(action),
        Action::Undo
        | Action::Correct { .. }
        | Action::AddSensor { .. }
        | Action::EditSensor { .. }
        | Action::ReadAir { .. }
        | Action::ImportAir(_)
        | Action::PowerCut { .. }
        | Action::AddStore(_)
        | Action::EditStore { .. }
        | Action::ReadCold(_)
        | Action::PutAway(_)
        | Action::DecideSpell { .. }
        | Action::EditColdRules { .. }
        | Action::EditCrop(_)
        | Action::RefitAnchors { .. }
        | Action::AddCrop(_)
        | Action::AddStarterCrop { .. }
        | Action::EditSender { .. }
        | Action::Harvest(_)
        | Action::Pack(_)
        | Action::Reissue { .. }
        | Action::LeaveAlive(_)
        | Action::MoveStock(_)
        | Action::CountStock { .. }
        | Action::Deliver(_)
        | Action::LoadRound(_)
        | Action::SettleRound(_)
        | Action::Return(_)
        | Action::DecideReturn { .. } => true,
        _ => false,
    }
}

/// Everything that may have changed, with the cold stores.
pub fn reload_all(model: &Model) -> Vec<Effect> {
    let mut effects = reload(model);
    effects.push(Effect::Load(Query::Cold));
    effects
}

/// For the line that leads here.
pub fn hint(model: &Model) -> String {
    let open = model.cold.open_spells().len();
    match (model.cold.in_use().count(), open) {
        (0, _) => "none is kept yet".into(),
        (n, 0) => counted(n, "store"),
        (n, open) => format!("{}, {} to decide", counted(n, "store"), counted(open, "spell")),
    }
}

/// The lines of spells that want a decision, for every list of what is to be decided.
pub(super) fn spell_items(model: &Model) -> Vec<Item<Pick>> {
    let open = model.cold.open_spells().into_iter();
    open.map(|(store, seen)| {
        Item::new(format!("{}: {}", store.name, begun(model, seen)), ask(Ask::Spell(seen.spell.key)))
            .hint(how_bad(model, seen))
    })
    .collect()
}

/// `6 lots held`, `3 lots`.
fn held(model: &Model, seen: &SpellSeen) -> String {
    let n = seen.touched.len();
    match (n, model.cold.rules.cold_food && seen.spell.key.kind.holds()) {
        (0, _) => "nothing lay there".into(),
        (n, true) => format!("{} held", counted(n, "lot")),
        (n, false) => counted(n, "lot"),
    }
}

/// `warm spell 12 Jul 22:10`.
fn begun(model: &Model, seen: &SpellSeen) -> String {
    format!("{} {}", seen.spell.key.kind.shown(), clock_words(model, seen.spell.key.from_s))
}

/// `6 h 30 min, 11.2 °C, 6 lots held`.
fn how_bad(model: &Model, seen: &SpellSeen) -> String {
    let spell = &seen.spell;
    let going = if spell.going_on { " and going on" } else { "" };
    let worst = model.board.units().temperature(spell.worst_dc);
    format!("{}{going}, {worst}, {}", lasting(spell.minutes()), held(model, seen))
}

fn list(model: &Model) -> Menu<Pick> {
    let now = now_s(model);
    let mut items = spell_items(model);
    items.extend(model.cold.not_cold(now).into_iter().filter_map(|(id, clock)| {
        let lot = model.goods.lot(id)?;
        let (then, hint) = match clock {
            Clock::Running(_) => (form(Of::PutAway(Some(id))), "put it away now"),
            Clock::Cold(_) => (Pick::Countdown(id), "look at it, and decide by local rules"),
        };
        Some(Item::new(format!("{} {}: {}", lot.code, lot.name, clock.words()), then).hint(hint))
    }));
    items.extend(
        model
            .cold
            .in_use()
            .map(|store| Item::new(store.name.clone(), ask(Ask::Store(store.id))).hint(newest(model, store))),
    );
    items.push(Item::new("put lots away, or take them out", form(Of::PutAway(None))).letter('p'));
    items.push(Item::new("add a cold store", form(Of::Store(None))).letter('z'));
    items.push(Item::new("cold rules", form(Of::Rules)).letter('x').hint(model.cold.rules.words(model.board.units())));
    Menu::new("Cold stores", items).intro(CAUTION)
}

/// `4.1 °C 13 Jul 06:15 by logger; 9 lots`.
fn newest(model: &Model, store: &ColdStore) -> String {
    let lots = lots_in(model, store.id).len();
    let lots = if lots == 0 { "empty".to_string() } else { counted(lots, "lot") };
    let Some(newest) = &store.newest else { return format!("NO READINGS; {lots}") };
    let warm = if newest.dc > store.limits.max_dc { "WARM, " } else { "" };
    format!(
        "{warm}{} {} by {}; {lots}",
        model.board.units().temperature(newest.dc),
        clock_words(model, newest.at_s),
        newest.by
    )
}

fn lots_in(model: &Model, store: StoreId) -> Vec<LotId> {
    model.cold.lots.iter().filter(|lot| lot.store == Some(store)).map(|lot| lot.lot).collect()
}

fn one(model: &Model, store: &ColdStore) -> Menu<Pick> {
    let units = model.board.units();
    let mut items: Vec<Item<Pick>> = store
        .spells
        .iter()
        .filter(|seen| seen.open())
        .map(|seen| Item::new(begun(model, seen), ask(Ask::Spell(seen.spell.key))).hint(how_bad(model, seen)))
        .collect();
    items.push(Item::new("a reading by hand", form(Of::Read(store.id))).letter('r').hint("thermometer, air or greens"));
    items.extend(store.sensors.iter().map(|sensor| {
        Item::new(format!("read the file of {}", sensor.name), Pick::Form(FormKind::Air(AirOf::File(sensor.id))))
            .hint("CSV; the columns are asked once")
    }));
    items.push(Item::new("add a logger", form(Of::Logger(store.id))).letter('l'));
    items.push(
        Item::new("what lies in it", ask(Ask::Inside(store.id)))
            .letter('w')
            .hint(counted(lots_in(model, store.id).len(), "lot")),
    );
    items.push(Item::new("put lots away, or take them out", form(Of::PutAway(None))).letter('p'));
    items.push(Item::new("spells of the last days", ask(Ask::Past(store.id))).letter('t'));
    items.push(
        Item::new("its story", Pick::Story(About::Record(Record::Store, store.id.0), format!("Store: {}", store.name)))
            .letter('i'),
    );
    items.push(Item::new("its limits and name, or out of use", form(Of::Store(Some(store.id)))).letter('x'));
    let limits = &store.limits;
    Menu::new(store.name.clone(), items).intro(format!("{}.", newest(model, store))).intro(format!(
        "Warm above {}, cold below {}, for more than {} min; a gap after {} min; kept at {}.",
        units.temperature(limits.max_dc),
        units.temperature(limits.min_dc),
        limits.over_min,
        limits.gap_min,
        units.temperature(limits.plan_dc)
    ))
}

fn inside(model: &Model, store: &ColdStore) -> Menu<Pick> {
    let now = now_s(model);
    let items: Vec<Item<Pick>> = lots_in(model, store.id)
        .into_iter()
        .filter_map(|id| {
            let lot = model.goods.lot(id)?;
            let left = model.cold.left(id, now).map_or_else(
                || "never cut: no sum".to_string(),
                |left| {
                    left.marks.words().into_iter().fold(left.words(), |said, mark| {
                        if said.contains(mark) { said } else { format!("{said}, {mark}") }
                    })
                },
            );
            let since = model.cold.lot(id).map_or_else(String::new, |lot| clock_words(model, lot.since_s));
            let item = Item::new(format!("{} {}", lot.code, lot.name), Pick::Countdown(id));
            Some(item.hint(format!("{left}; since {since}")))
        })
        .collect();
    let none = items.is_empty();
    let menu = Menu::new(format!("In {}", store.name), items);
    if none { menu.intro("Nothing lies in it.") } else { menu.intro("A line opens the sum, reading by reading.") }
}

fn past(model: &Model, store: &ColdStore) -> Menu<Pick> {
    let items: Vec<Item<Pick>> = store
        .spells
        .iter()
        .map(|seen| {
            let decided = seen
                .decided
                .as_ref()
                .map_or_else(|| "not decided yet".to_string(), |(what, by)| format!("{by}: {}", what.shown()));
            Item::new(begun(model, seen), ask(Ask::Spell(seen.spell.key)))
                .hint(format!("{decided}; {}", how_bad(model, seen)))
        })
        .collect();
    let none = items.is_empty();
    let menu = Menu::new(format!("Spells in {}", store.name), items);
    if none { menu.intro("None in the last fortnight, and none to decide.") } else { menu }
}

/// What a spell cost one lot, in words.
fn cost(model: &Model, seen: &SpellSeen, lot: &Touched) -> String {
    let here = if lot.here.is_empty() { "none here any more".to_string() } else { format!("{} here", lot.here) };
    let lost = match (seen.spell.key.kind, model.cold.lost_h(&seen.spell, lot)) {
        (Kind::Freezing, _) => "inspect: it may be frozen".into(),
        (Kind::Chilling, _) => "harm of cold is in no figure: look at it".into(),
        (Kind::Cold, _) => "colder than it is kept: look at it".into(),
        (_, Some(hours)) => format!("cost {hours:.1} h of life"),
        (_, None) => "no figure".to_string(),
    };
    let late = if model.cold.late(&seen.spell, lot) { ", late in its life: more harm than that" } else { "" };
    format!("{lost}{late}; {here}")
}

fn spell(model: &Model, key: SpellKey) -> Option<Menu<Pick>> {
    let store = model.cold.store(key.store)?;
    let seen = store.spells.iter().find(|seen| seen.spell.key == key)?;
    let decide = |what: Verdict, label: &str, then: &str| {
        Item::new(label, form(Of::Decide(key, what))).hint(format!("then {then}"))
    };
    let mut items: Vec<Item<Pick>> = Vec::new();
    if seen.open() {
        // nothing is let go by Enter on the first line
        items.push(decide(Verdict::Watch, "decide another day", "what it touched stays as it is"));
        items.push(decide(Verdict::Thrown, "throw out what it touched", "it stays held, and is binned in the stock"));
        items.push(decide(Verdict::Accepted, "accept it", "what it touched goes on"));
    }
    items.extend(seen.touched.iter().take(NAMED).map(|lot| {
        Item::new(format!("{} {}", lot.code, lot.name), Pick::Countdown(lot.lot)).hint(cost(model, seen, lot))
    }));
    let mut menu = Menu::new(format!("{}: {}", store.name, key.kind.shown()), items).intro(format!(
        "{}: {}.",
        begun(model, seen),
        how_bad(model, seen)
    ));
    if let Some((what, by)) = &seen.decided {
        menu = menu.intro(format!("{by}: {}.", what.shown()));
    }
    let more = seen.touched.len().saturating_sub(NAMED);
    if more > 0 {
        menu = menu.intro(format!("And {more} more lots."));
    }
    for buyer in seen.buyers.iter().take(NAMED) {
        menu = menu.intro(format!("Went to {}.", buyer.words()));
    }
    let more = seen.buyers.len().saturating_sub(NAMED);
    if more > 0 {
        menu = menu.intro(format!("And {more} more deliveries: the stories of the lots name them."));
    }
    Some(menu.intro(CAUTION))
}

impl Model {
    /// What the line of facts says of spells and of lots that are not cold.
    pub fn cold_facts(&self) -> Vec<(String, bool)> {
        let open = self.cold.open_spells().len();
        let mut warm = self.cold.not_cold(now_s(self));
        warm.retain(|(_, clock)| clock.urgent());
        let alarm = warm.iter().any(|(_, clock)| clock.alarm());
        let spells = (open > 0).then(|| (format!("{} to decide (d)", counted(open, "spell")), true));
        let warm =
            (!warm.is_empty()).then(|| (format!("{} not cold yet (Space s)", counted(warm.len(), "lot")), alarm));
        spells.into_iter().chain(warm).collect()
    }
}
