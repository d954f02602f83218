//! Holds: what someone holds from its story, and those that wait for a decision.

use super::forms::FormKind;
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::breach::Verdict;
use crate::domain::code::Code;
use crate::domain::history::Of;
use crate::domain::hold::{Cause, Hold, follows};
use crate::domain::id::HoldId;
use crate::domain::text::counted;
use crate::domain::trace::Start;

/// Trays of a hold that the list names; the rest is counted.
const NAMED: usize = 6;

/// The form that holds what a story is of.
pub fn form(of: Of, title: &str) -> Option<FormKind> {
    match of {
        Of::Tray(tray) => Some(FormKind::Hold(Start::Tray(tray), title.to_string())),
        Of::Sowing(sowing) => Some(FormKind::Hold(Start::Sowing(sowing), title.to_string())),
        Of::Lot(lot) => Some(FormKind::Hold(Start::Lot(lot), title.to_string())),
        _ => None,
    }
}

/// The lines of holds in the list of what is to be decided.
pub(super) fn items(model: &Model) -> impl Iterator<Item = Item<Pick>> {
    model.board.holds.iter().map(|hold| {
        let put_off = if hold.watched { ", watched" } else { "" };
        let hint = format!("{}{put_off}; {}", hold.cause.shown(), hold.by(model.now));
        Item::new(format!("hold of {}", hold.scope), Pick::Hold(hold.id)).hint(hint)
    })
}

/// One hold: all that is known of it, and the decisions.
fn one(model: &Model, id: HoldId) -> Option<Menu<Pick>> {
    let hold = model.board.hold(id)?;
    let gone = hold.gone() > 0 || !hold.buyers.is_empty();
    let decide = |(what, label): (Verdict, &str)| {
        let form = Pick::Form(FormKind::DecideHold(id, what));
        Item::new(label, form).hint(format!("then {}", follows(what, gone)))
    };
    // nothing is lifted by Enter on the first line
    let mut items: Vec<Item<Pick>> = vec![
        decide((Verdict::Watch, "decide another day")),
        decide((Verdict::Thrown, if gone { "it was called back and destroyed" } else { "throw it out" })),
        decide((Verdict::Accepted, "lift the hold")),
    ];
    items.extend(hold.trays.iter().take(NAMED).map(|held| {
        let code = Code::tray(held.tray.0);
        Item::new(format!("the story of {code}"), Pick::Story(Of::Tray(held.tray), format!("Tray {code}")))
            .hint(held.words(model.now))
    }));
    let menu = Menu::new(format!("Hold of {}", hold.scope), items).intro(said(hold, model));
    let menu = reached(menu, hold);
    let more = hold.trays.len().saturating_sub(NAMED);
    Some(if more > 0 { menu.intro(format!("And {more} more trays.")) } else { menu })
}

/// The lots it reaches, and who got any of them.
fn reached(menu: Menu<Pick>, hold: &Hold) -> Menu<Pick> {
    let mut menu = menu;
    if !hold.lots.is_empty() {
        let lots: Vec<String> =
            hold.lots.iter().map(|lot| format!("{} {} ({} here)", lot.code, lot.name, lot.here)).collect();
        menu = menu.intro(format!("It reaches {}.", lots.join(", ")));
    }
    for buyer in hold.buyers.iter().take(NAMED) {
        menu = menu.intro(format!("Went to {}.", buyer.words()));
    }
    match hold.buyers.len().saturating_sub(NAMED) {
        0 if hold.gone() > 0 && hold.buyers.is_empty() => {
            let gone = counted(hold.gone(), "tray");
            menu.intro(format!("{gone} had left the room. By the book nobody got any of it yet: stop it where it is."))
        }
        0 => menu,
        more => menu.intro(format!("And {more} more deliveries: the stories of the lots name them.")),
    }
}

/// Why it is held, by whom, and since when.
pub(super) fn said(hold: &Hold, model: &Model) -> String {
    let note = hold.note.as_deref().filter(|_| hold.cause == Cause::ByHand);
    let note = note.map_or_else(String::new, |note| format!(" Reason: {note}"));
    format!("Entry {} by {}: {}.{note}", hold.entry.0, hold.by(model.now), hold.cause.shown())
}

/// Opens one hold; another terminal may have decided it while the list lay open.
pub fn open(model: &mut Model, id: HoldId) {
    match one(model, id) {
        Some(menu) => model.open(Screen::Menu(menu)),
        None => model.refuse("This hold was decided meanwhile: the list shows what is left."),
    }
}
