//! Suspect trays, the most urgent first, and what a person decides about one.

use super::forms::FormKind;
use super::pick::Pick;
use super::{story, tray_menus, walk};
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::history::Of;
use crate::domain::id::{PlaceId, TrayId};
use crate::domain::room::{Place, Zone};
use crate::domain::suspect::{Choice, Decision, Suspect, by_urgency};
use crate::domain::tray::TrayCard;

/// Said wherever someone has such a tray in hand.
pub const CAUTION: &str = "Gloves and mask. Do not sniff or fan it. Bag what is bad where it stands.";

/// The tray the cursor is on; `None`: the most urgent one.
#[derive(Debug, Clone, Default)]
pub struct State {
    pub at: Option<TrayId>,
}

/// A step from the list of suspects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    Look(TrayId),
    /// Which place for isolation.
    Where(TrayId),
    Isolate(TrayId, PlaceId),
    Throw(TrayId),
}

impl Model {
    /// Suspect trays as the list shows them.
    pub fn suspects(&self) -> Vec<&Suspect> {
        by_urgency(&self.board.suspects, self.now)
    }

    /// What the line of facts says of looks that are overdue.
    pub fn relooks_overdue(&self) -> Option<String> {
        let overdue: Vec<&Suspect> = self.suspects().into_iter().filter(|s| s.next.overdue(self.now)).collect();
        match overdue.as_slice() {
            [] => None,
            [one] => Some(format!("1 re-look overdue: {}", crate::domain::code::Code::tray(one.tray.0))),
            many => Some(format!("{} re-looks overdue", many.len())),
        }
    }
}

/// Which line the cursor is on.
pub fn line_of(state: &State, suspects: &[&Suspect]) -> usize {
    suspects.iter().position(|suspect| Some(suspect.tray) == state.at).unwrap_or(0)
}

/// Opens the list, if there is anything on it.
pub fn open(model: &mut Model) {
    if model.board.suspects.is_empty() {
        model.say("No tray is suspect.");
    } else {
        model.open(Screen::Suspects(State::default()));
    }
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::Suspects(state)) = model.top() else { return vec![] };
    let suspects = model.suspects();
    let (at, last) = (line_of(state, &suspects), suspects.len().saturating_sub(1));
    let to = match command {
        Command::Up => at.saturating_sub(1),
        Command::Down => (at + 1).min(last),
        Command::PageUp => at.saturating_sub(10),
        Command::PageDown => (at + 10).min(last),
        _ => at,
    };
    let tray = suspects.get(to).map(|suspect| suspect.tray);
    if let Some(Screen::Suspects(state)) = model.screens.last_mut() {
        state.at = tray;
    }
    match (command, tray) {
        (Command::Back, _) => {
            model.back();
            vec![]
        }
        (Command::Open, Some(tray)) => {
            if let Some(menu) = decisions(model, tray) {
                model.open(Screen::Menu(menu));
            }
            vec![]
        }
        (Command::LookHere, Some(tray)) => asked(model, Ask::Look(tray)),
        (Command::Story, Some(tray)) => {
            let title = model.tray_card(tray).map(|card| format!("Tray {}: {}", card.code(), card.crop_name));
            story::open(model, Of::Tray(tray), &title.unwrap_or_default())
        }
        (Command::Open | Command::LookHere | Command::Story, None) => {
            model.refuse("No tray is suspect any more.");
            vec![]
        }
        _ => vec![],
    }
}

/// Takes a step.
pub fn asked(model: &mut Model, ask: Ask) -> Vec<Effect> {
    match ask {
        Ask::Look(tray) if model.board.tray(tray).is_none() => {
            model.refuse("It is missing by the book: say first where it was found.");
            vec![]
        }
        Ask::Look(tray) => {
            walk::look_at_one(model, tray);
            vec![]
        }
        Ask::Where(tray) => {
            if let Some(card) = model.tray_card(tray).cloned() {
                let menu = isolation_places(model, &card);
                model.open(Screen::Menu(menu));
            }
            vec![]
        }
        Ask::Throw(tray) => {
            if let Some(card) = model.tray_card(tray).cloned() {
                model.open(Screen::Menu(tray_menus::throw(&card)));
            }
            vec![]
        }
        Ask::Isolate(tray, to) => isolate(model, tray, to).into_iter().map(|a| Effect::Act(Box::new(a))).collect(),
    }
}

/// Sets a tray apart, by the hands at the rack.
pub fn isolate(model: &Model, tray: TrayId, to: PlaceId) -> Option<Action> {
    let (walk, what) = (model.walk_id(), Choice::Isolate { to });
    Some(Action::DecideSuspect { walk, tray, what, by: model.who?, reason: String::new() })
}

/// Places for isolation with room for a tray, the empty ones first, then the nearest.
pub fn apart<'m>(model: &'m Model, tray: &TrayCard) -> Vec<&'m Place> {
    tray_menus::free(model, tray, Zone::Isolation).into_iter().filter(|place| place.zone == Zone::Isolation).collect()
}

/// Said where a tray cannot be set apart.
pub const NO_PLACE: &str = "no place apart is free: make one in settings";

/// All that can be decided about a tray.
fn decisions(model: &Model, id: TrayId) -> Option<Menu<Pick>> {
    let (suspect, tray) = (model.board.suspect(id)?, model.tray_card(id)?);
    let missing = model.board.tray(id).is_none().then(|| "it is missing; say first where it was found".to_string());
    let form = |what| Pick::Form(FormKind::Suspect(id, what));
    let mut items = vec![
        Item::new("look at it now", Pick::Suspect(Ask::Look(id)))
            .letter('l')
            .hint("mist it, check what can tell")
            .bar(missing.clone()),
    ];
    items.extend(isolations(model, tray, missing.as_ref()));
    items.push(
        Item::new("watch it", form(Decision::Watch))
            .letter('w')
            .hint("stays suspect, next look within a day; with your reason")
            .bar(missing.clone()),
    );
    items.push(Item::new("throw it out", Pick::Suspect(Ask::Throw(id))).letter('t'));
    items.push(
        Item::new("clear it", form(Decision::Clear))
            .letter('c')
            .hint("on its newest check, by name and with the reason")
            .bar(missing.or_else(|| suspect.bar.clone())),
    );
    let title = format!("Tray {}: {}", tray.code(), tray.crop_name);
    items.push(Item::new("its story", Pick::Story(Of::Tray(id), title)).letter('i'));
    let menu = Menu::new(format!("{} at {}: {}", tray.code(), tray.stands(), suspect.reason.words()), items);
    Some(menu.intro(CAUTION))
}

/// To the nearest place for isolation, or to another.
fn isolations(model: &Model, tray: &TrayCard, missing: Option<&String>) -> Vec<Item<Pick>> {
    let there = (tray.place.zone == Zone::Isolation).then(|| format!("it stands apart at {} already", tray.stands()));
    let bar = missing.cloned().or(there);
    match apart(model, tray).as_slice() {
        [] => {
            let why = bar.unwrap_or_else(|| NO_PLACE.into());
            vec![Item::new("isolate it", Pick::Nothing).letter('n').bar(Some(why))]
        }
        [first, rest @ ..] => {
            let label = format!("isolate it: to {}", first.label());
            let mut items = vec![
                Item::new(label, Pick::Suspect(Ask::Isolate(tray.id, first.id)))
                    .letter('n')
                    .hint("stays suspect")
                    .bar(bar.clone()),
            ];
            if !rest.is_empty() && bar.is_none() {
                items.push(Item::new("isolate it elsewhere", Pick::Suspect(Ask::Where(tray.id))).letter('e'));
            }
            items
        }
    }
}

fn isolation_places(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let places = apart(model, tray);
    let item = |place: &&Place| {
        let words = tray_menus::place_words(model, place);
        Item::new(format!("to {}", place.label()), Pick::Suspect(Ask::Isolate(tray.id, place.id))).hint(words)
    };
    Menu::new(format!("Isolate {} where?", tray.code()), places.iter().take(20).map(item).collect())
}
