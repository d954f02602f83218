//! "It already happened": the offer after a refusal, and the breaches someone has to decide about.

use super::forms::FormKind;
use super::pick::Pick;
use super::{cold, hold};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::breach::{Verdict, can_have_happened, held, overridable, said};
use crate::domain::code::Code;
use crate::domain::history::Of;
use crate::domain::id::{BreachId, TrayId};
use crate::domain::refusal::Refusal;

/// Trays and lots of a breach that the list names; the rest is counted.
const NAMED: usize = 6;

/// After a refusal: leave it, or say that it is done already. Only where that can be.
pub fn offer(model: &mut Model, action: &Action, refusal: &Refusal) {
    if !overridable(refusal.rule) || !can_have_happened(action) {
        return;
    }
    let items = vec![
        Item::new("leave it", Pick::Nothing).hint("nothing is written"),
        Item::new("it already happened", Pick::Form(FormKind::Already(Box::new(action.clone()), refusal.rule)))
            .hint("a breach, with your reason"),
    ];
    // the list says it: below it, it would stand twice
    model.notice = None;
    model.open(Screen::Menu(Menu::new("Against the rule", items).intro(format!("Not done: {}", refusal.sentence))));
}

/// Breaches nobody has decided yet, the gravest first.
fn list(model: &Model) -> Menu<Pick> {
    let items = model
        .board
        .breaches
        .iter()
        .map(|breach| {
            let put_off = if breach.watched { ", watched" } else { "" };
            // of seed that is in water nothing is held
            let what = match (breach.trays.len(), breach.lots.len()) {
                (0, 0) => String::new(),
                (trays, lots) => format!("{}, ", held(trays, lots)),
            };
            let hint = format!("{what}{}{put_off}", breach.by(model.now));
            Item::new(said(&breach.rule), Pick::Breach(breach.id)).hint(hint)
        })
        .chain(hold::items(model))
        .chain(cold::spell_items(model))
        .chain([hold::something_else()])
        .collect();
    let menu = Menu::new("To decide", items);
    if waiting(model) {
        menu.intro("What was done against a rule, and what is held, waits until someone who may decide has decided.")
    } else {
        menu.intro("No breach, no hold and no spell waits for a decision.")
    }
}

fn waiting(model: &Model) -> bool {
    !(model.board.breaches.is_empty() && model.board.holds.is_empty() && model.cold.open_spells().is_empty())
}

/// One breach: all that is known of it, and the decisions.
fn one(model: &Model, id: BreachId) -> Option<Menu<Pick>> {
    let breach = model.board.breach(id)?;
    let decide = |what: Verdict, label: &str| {
        Item::new(label, Pick::Form(FormKind::Decide(id, what))).hint(format!("then {}", what.follows()))
    };
    let mut items = vec![
        decide(Verdict::Accepted, "accept it"),
        decide(Verdict::Watch, "watch it"),
        decide(Verdict::Thrown, "throw it out"),
    ];
    items.extend(breach.trays.iter().take(NAMED).map(|tray| {
        let code = Code::tray(tray.0);
        Item::new(format!("the story of {code}"), Pick::Story(Of::Tray(*tray), format!("Tray {code}")))
            .hint(where_it_is(model, *tray))
    }));
    items.extend(breach.lots.iter().take(NAMED).map(|lot| {
        Item::new(format!("the story of {}", lot.code), Pick::Story(Of::Lot(lot.lot), format!("Lot {}", lot.code)))
            .hint(format!("{}, {} here", lot.name, lot.here))
    }));
    let mut menu = Menu::new(said(&breach.rule), items).intro(format!(
        "Entry {} by {}. Reason: {}",
        breach.entry.0,
        breach.by(model.now),
        breach.reason
    ));
    if let Some(about) = breach.about {
        menu = menu.intro(format!("The rule speaks of entry {}.", about.0));
    }
    for (all, what) in [(breach.trays.len(), "trays"), (breach.lots.len(), "lots")] {
        let more = all.saturating_sub(NAMED);
        if more > 0 {
            menu = menu.intro(format!("And {more} more {what}."));
        }
    }
    Some(menu)
}

/// Opens one breach; another terminal may have decided it while the list lay open.
pub fn open(model: &mut Model, id: BreachId) {
    match one(model, id) {
        Some(menu) => model.open(Screen::Menu(menu)),
        None => model.refuse("This breach was decided or taken back meanwhile: the list shows what is left."),
    }
}

/// Opens the list.
pub fn open_list(model: &mut Model) {
    let menu = list(model);
    model.open(Screen::Menu(menu));
}

fn where_it_is(model: &Model, tray: TrayId) -> String {
    model
        .board
        .tray(tray)
        .map_or_else(|| "not in the room any more".into(), |card| format!("{}, {}", card.crop_name, card.place.label()))
}

impl Model {
    /// What the line of facts says of open breaches and holds.
    pub fn breaches_open(&self) -> Option<String> {
        let named = |n: usize, one: &str, many: &str| match n {
            0 => None,
            1 => Some(format!("1 {one}")),
            n => Some(format!("{n} {many}")),
        };
        let breaches = named(self.board.breaches.len(), "breach", "breaches");
        let holds = named(self.board.holds.len(), "hold", "holds");
        let open: Vec<String> = breaches.into_iter().chain(holds).collect();
        (!open.is_empty()).then(|| format!("{} to decide", open.join(", ")))
    }
}
