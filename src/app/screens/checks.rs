//! Checks of the room: what is due, what was found, and which kinds are kept.

use super::forms::FormKind;
use super::pick::Pick;
use super::records::Page;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::check::{CheckKind, NewCheckKind, starters};
use crate::domain::history::{Of, Record};
use crate::domain::id::CheckKindId;

/// A step through the lists of checks.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    List,
    Kind(CheckKindId),
    Add,
    Start(NewCheckKind),
}

const CODES: &str = "Local codes say which checks are asked for, how often, and how long papers are kept.";

impl Model {
    /// How many checks are due.
    pub fn checks_due(&self) -> usize {
        self.board.checks.iter().filter(|kind| kind.due(self.today())).count()
    }
}

fn kind(model: &Model, id: CheckKindId) -> Option<&CheckKind> {
    model.board.checks.iter().find(|kind| kind.id == id)
}

/// The list a step leads to, or what it writes.
pub fn asked_for(model: &Model, ask: Ask) -> Result<Menu<Pick>, Action> {
    match ask {
        Ask::List => Ok(list(model)),
        Ask::Kind(id) => Ok(kind(model, id).map_or_else(|| list(model), one)),
        Ask::Add => Ok(add(model)),
        Ask::Start(new) => Err(Action::AddCheckKind(new)),
    }
}

/// Kinds, the due ones first.
fn list(model: &Model) -> Menu<Pick> {
    let today = model.today();
    let mut kinds: Vec<&CheckKind> = model.board.checks.iter().collect();
    kinds.sort_by_key(|kind| kind.due_on());
    let mut items: Vec<Item<Pick>> = kinds
        .into_iter()
        .map(|kind| Item::new(kind.name.clone(), Pick::Record(Page::Check(Ask::Kind(kind.id)))).hint(kind.words(today)))
        .collect();
    items.push(Item::new("keep another check", Pick::Record(Page::Check(Ask::Add))).letter('z'));
    Menu::new("Checks of the room", items).intro(CODES)
}

fn one(kind: &CheckKind) -> Menu<Pick> {
    let story = Pick::Story(Of::Record(Record::Check, kind.id.0), format!("Check: {}", kind.name));
    let items = vec![
        Item::new("it was done", Pick::Form(FormKind::NoteCheck(kind.id))),
        Item::new("its story", story),
        Item::new("how often, limit, remedy", Pick::Form(FormKind::CheckKind(Some(kind.id)))),
    ];
    let menu = Menu::new(kind.name.clone(), items);
    if kind.limit.is_empty() { menu } else { menu.intro(format!("Good enough: {}.", kind.limit)) }
}

/// Kinds most rooms keep that are not kept here, and one's own.
fn add(model: &Model) -> Menu<Pick> {
    let kept = |name: &str| model.board.checks.iter().any(|kind| kind.name == name);
    let mut items: Vec<Item<Pick>> = starters()
        .into_iter()
        .filter(|new| !kept(&new.name))
        .map(|new| {
            let hint = format!("every {} d", new.every_d);
            Item::new(new.name.clone(), Pick::Record(Page::Check(Ask::Start(new)))).hint(hint)
        })
        .collect();
    items.push(Item::new("one of your own", Pick::Form(FormKind::CheckKind(None))).letter('z'));
    Menu::new("Which check is kept from now on?", items)
        .intro("Usual ones to begin with: no source, change what you like.")
}
