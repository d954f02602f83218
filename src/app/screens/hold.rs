//! Holds: what someone holds from its story, and those that wait for a decision.

use super::forms::FormKind;
use super::forms::start::{By, Then};
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::breach::Verdict;
use crate::domain::code::Code;
use crate::domain::history::{Of, Record};
use crate::domain::hold::{Cause, Hold, follows};
use crate::domain::id::HoldId;
use crate::domain::text::{counted, sentence_case};
use crate::domain::trace::Start;

/// Trays of a hold that the list names; the rest is counted.
const NAMED: usize = 6;

/// The form that holds what a story is of.
pub fn form(of: Of, title: &str) -> Option<FormKind> {
    match of {
        Of::Tray(tray) => Some(FormKind::Hold(Start::Tray(tray), title.to_string())),
        Of::Sowing(sowing) => Some(FormKind::Hold(Start::Sowing(sowing), title.to_string())),
        Of::Lot(lot) => Some(FormKind::Hold(Start::Lot(lot), title.to_string())),
        Of::SeedLot(lot) => Some(FormKind::Hold(Start::SeedLot(lot), title.to_string())),
        Of::Mix(mix) => Some(FormKind::Hold(Start::Mix(mix), title.to_string())),
        Of::Material(lot) => Some(FormKind::Hold(Start::Material(lot), title.to_string())),
        // of these only what they touched in some time is held
        Of::Place(place) => Some(FormKind::By(By::Place, Then::Hold, Some(place.0))),
        Of::Person(person) => Some(FormKind::By(By::Person, Then::Hold, Some(person.0))),
        Of::Record(Record::Store, id) => Some(FormKind::By(By::Store, Then::Hold, Some(id))),
        Of::Record(Record::Tool, id) => Some(FormKind::By(By::Tool, Then::Hold, Some(id))),
        _ => None,
    }
}

/// By what something is held or traced that has no label of its own.
pub fn by(model: &Model, then: Then) -> Menu<Pick> {
    let item = |(by, letter): (By, char)| {
        let form = Pick::Form(FormKind::By(by, then, None));
        Item::new(by.shown(), form).letter(letter).hint(by.hint()).bar(by.none(model))
    };
    let title = if then == Then::Hold { "Hold by what?" } else { "Trace by what?" };
    let menu = Menu::new(title, By::ALL.into_iter().zip("wpcit".chars()).map(item).collect());
    match then {
        Then::Hold => {
            menu.intro("A tray, a batch, seed, a mix or a lot is held from its own story: o there, or in its trace.")
        }
        Then::Trace => menu.intro("A tray, a batch, seed, a mix or a lot is traced by its label."),
    }
}

/// The last line of the list of what is to be decided.
pub(super) fn something_else() -> Item<Pick> {
    Item::new("hold something else", Pick::By(Then::Hold))
        .letter('o')
        .hint("by water, place, cold store, hands or knife")
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
    let own = hold.of.iter().take(NAMED).map(|(of, name)| {
        let title = sentence_case(name);
        Item::new(format!("the story of {name}"), Pick::Story(*of, title)).hint(hold.bars().unwrap_or_default())
    });
    items.splice(3..3, own);
    let mut menu = Menu::new(format!("Hold of {}", hold.scope), items).intro(said(hold, model));
    if let Some(bars) = hold.bars() {
        let names: Vec<&str> = hold.of.iter().map(|(_, name)| name.as_str()).collect();
        menu = menu.intro(format!("It is of {}: {bars} until it is lifted.", names.join(", ")));
    }
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
