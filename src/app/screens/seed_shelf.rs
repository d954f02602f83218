//! The seed shelf: lots in the order of use.

use super::forms::FormKind;
use super::{form_page, germ_test, meeting, seed_page, soaks, story};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::history::Of;
use crate::domain::id::SeedLotId;
use crate::domain::seed_shelf::Shelf;

/// Which line the cursor is on.
#[derive(Debug, Clone, Default)]
pub struct State {
    pub at: usize,
    /// A lot just received, to go to when the lots come.
    pub wanted: Option<SeedLotId>,
}

/// Opens it on a line, with what it tells beside its lots.
pub fn open(model: &mut Model, at: usize) -> Vec<Effect> {
    model.open(Screen::SeedShelf(State { at, wanted: None }));
    vec![Effect::Load(Query::Shelf)]
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let last = model.lots.len().saturating_sub(1);
    let Some(Screen::SeedShelf(state)) = model.screens.last_mut() else { return vec![] };
    state.at = match command {
        Command::Up => state.at.saturating_sub(1),
        Command::Down => (state.at + 1).min(last),
        Command::PageUp => state.at.saturating_sub(10),
        Command::PageDown => (state.at + 10).min(last),
        _ => state.at.min(last),
    };
    let at = state.at;
    let lot = model.lots.get(at).map(|lot| (lot.id, lot.code.clone(), lot.crop_name.clone()));
    match (command, lot) {
        (Command::Back, _) => model.back(),
        (Command::Add, _) => form_page::open(model, FormKind::ReceiveSeed),
        (Command::Sow, _) => form_page::open(model, FormKind::Sow),
        (Command::Count, Some((id, ..))) => form_page::open(model, FormKind::CountSeed(id)),
        (Command::Story, Some((id, code, crop))) => {
            return story::open(model, Of::SeedLot(id), &format!("Seed lot {code}: {crop}"));
        }
        (Command::Open, Some((id, ..))) => return seed_page::open(model, id),
        (Command::Soak, Some((id, ..))) => soaks::open(model, id),
        (Command::GermTests, Some((id, ..))) => germ_test::open(model, id),
        (Command::Supplier, Some(_)) => {
            if let Some(supplier) = model.lots.get(at).map(|lot| lot.supplier_id) {
                form_page::open(model, FormKind::Supplier(supplier));
            }
        }
        (
            Command::Count | Command::Story | Command::Open | Command::Soak | Command::GermTests | Command::Supplier,
            None,
        ) => {
            model.refuse("No lot is on the shelf yet: receive one.");
        }
        _ => {}
    }
    vec![]
}

/// What is told beside the lots came.
pub fn came(model: &mut Model, shelf: Shelf) -> Vec<Effect> {
    model.shelf = shelf;
    form_page::stock_came(model);
    meeting::book_came(model)
}

/// Other lots come: the cursor stays on its lot, also where the order changes.
pub fn keep(model: &mut Model) {
    let lots = &model.lots;
    for screen in &mut model.screens {
        if let Screen::SeedShelf(state) = screen {
            let here = lots.get(state.at).map(|lot| lot.id);
            state.wanted = state.wanted.or(here);
        }
    }
}

/// The lots came: to the one just received, or to where the one went that the cursor was on.
pub fn stock_came(model: &mut Model) {
    let lots = &model.lots;
    for screen in &mut model.screens {
        if let Screen::SeedShelf(state) = screen
            && let Some(at) = state.wanted.take().and_then(|id| lots.iter().position(|lot| lot.id == id))
        {
            state.at = at;
        }
    }
}

/// To a lot whose jar was scanned.
pub fn jump(model: &mut Model, code: &str) -> Vec<Effect> {
    let Some(at) = model.lots.iter().position(|lot| lot.code == code) else {
        model.refuse(format!("Seed lot {code} is not on the shelf: read another jar."));
        return vec![];
    };
    let mut effects = vec![];
    if let Some(Screen::SeedShelf(state)) = model.screens.last_mut() {
        state.at = at;
    } else {
        effects = open(model, at);
    }
    model.say(format!("Jar {code}."));
    effects
}
