//! Whose hands are at the rack, and whether the clock can be believed: two questions nobody asked for.

use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::hands::{IDLE, Seen};
use crate::domain::id::PersonId;

/// Asked when a walk lay idle: the hands of before first.
fn menu(model: &Model) -> Menu<Pick> {
    let people = model.board.people.iter().filter(|person| !person.retired);
    let (same, others): (Vec<_>, Vec<_>) = people.partition(|person| Some(person.id) == model.who);
    let item = |still: bool| {
        move |person: &&crate::domain::person::Person| {
            let label = if still { format!("still {}", person.initials) } else { person.initials.clone() };
            Item::new(label, Pick::Hands(person.id)).hint(person.name.clone())
        }
    };
    let items = same.iter().map(item(true)).chain(others.iter().map(item(false))).collect();
    let minutes = IDLE.num_minutes();
    Menu::new("Who is at the rack?", items).intro(format!("No key came for {minutes} minutes."))
}

/// Asks if a walk lay idle for long, and says whether it did: then the key that came is not taken. `pressed`: a person
/// pressed it; otherwise only time has passed.
pub fn ask(model: &mut Model, pressed: bool) -> bool {
    let idle = model.now.0 - model.last_key.0 >= IDLE;
    let on_walk = model.walk().is_some_and(|state| state.walk.is_some());
    let free = match model.top() {
        Some(Screen::Walk(_)) => true,
        // the question itself is not asked over again
        Some(Screen::Menu(menu)) => !menu.items.iter().any(|item| matches!(item.value, Pick::Hands(_))),
        _ => false,
    };
    // a form keeps its keys; the question waits below it for the next one on the walk
    if pressed && !(idle && on_walk && !free) {
        model.last_key = model.now;
    }
    if !(idle && on_walk && free) {
        return false;
    }
    model.last_key = model.now;
    let menu = menu(model);
    model.open(Screen::Menu(menu));
    if pressed {
        model.refuse("the key that came was not taken: say first whose hands these are.");
    }
    true
}

/// The keyboard belongs to this person from here on.
pub fn take(model: &mut Model, who: PersonId) {
    model.who = Some(who);
    super::walk::go_to_own(model);
    if let Some(initials) = model.person().map(|person| person.initials.clone()) {
        model.say(format!("At the rack: {initials}. Every entry carries these initials now."));
    }
}

/// Asked once, at the start.
pub fn ask_clock(model: &mut Model, doubt: String) {
    let items = vec![
        Item::new("the clock is right", Pick::Nothing).hint("entries carry its time"),
        Item::new("quit and set it", Pick::Quit).hint("nothing was written"),
    ];
    let menu = Menu::new("Is the clock right?", items).intro(doubt);
    model.open(Screen::Menu(menu));
}

/// Whose and when an action is: on a walk that types in a paper sheet, the sheet's.
pub fn seen(model: &Model, action: &Action) -> Seen {
    let walk = model.walk().and_then(|state| state.walk.as_ref()).filter(|walk| walk.seen.paper);
    match (walk, action) {
        // taking back is done now, by the hands at the keyboard
        (None, _) | (_, Action::Undo) => Seen::default(),
        (Some(walk), _) => walk.seen,
    }
}
