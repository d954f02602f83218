//! Everything a seed lot gave, as a page.

use super::pick::Pick;
use super::{germ_test, help, story, trace};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::history::Of;
use crate::domain::id::SeedLotId;
use crate::domain::seed_lot::SeedLot;
use crate::domain::seed_page::{self, SeedPage};
use crate::domain::text::counted;
use crate::domain::trace::{Start, Way};

/// Which lot, what it came to, and the first line shown.
#[derive(Debug, Clone)]
pub struct State {
    pub lot: SeedLotId,
    /// Unknown until it is loaded.
    pub page: Option<SeedPage>,
    pub from: usize,
}

pub fn open(model: &mut Model, lot: SeedLotId) -> Vec<Effect> {
    model.open(Screen::SeedPage(Box::new(State { lot, page: None, from: 0 })));
    vec![Effect::Load(Query::SeedPage(lot))]
}

pub fn loaded(model: &mut Model, page: SeedPage) -> Vec<Effect> {
    let state = model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::SeedPage(state) if state.lot == page.lot => Some(state),
        _ => None,
    });
    if let Some(state) = state {
        state.page = Some(page);
    }
    vec![]
}

fn of<'m>(model: &'m Model, state: &State) -> Option<&'m SeedLot> {
    model.lots.iter().find(|lot| lot.id == state.lot)
}

/// `Seed lot S0001-R: radish, Fen Seeds`.
pub fn title(model: &Model, state: &State) -> String {
    of(model, state).map_or_else(
        || "Seed lot".to_string(),
        |lot| {
            let variety = if lot.variety.is_empty() { String::new() } else { format!(" {}", lot.variety) };
            format!("Seed lot {}: {}{variety}", lot.code, lot.crop_name)
        },
    )
}

/// The page, a line each.
pub fn lines(model: &Model, state: &State) -> Vec<String> {
    let Some(lot) = of(model, state) else { return vec!["This seed lot was taken back: choose another.".into()] };
    let Some(page) = &state.page else { return vec!["Reading ...".into()] };
    seed_page::lines(page, lot, model.shelf.of_crop(lot.crop), model.board.units(), model.today())
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::SeedPage(state)) = model.top() else { return vec![] };
    let lot = state.lot;
    match command {
        Command::Open => batches(model),
        Command::GermTests => germ_test::open(model, lot),
        Command::TraceFrom => return trace::open(model, Start::SeedLot(lot), Way::Forward, None),
        Command::Story => {
            let title = title(model, &State { lot, page: None, from: 0 });
            return story::open(model, Of::SeedLot(lot), &title);
        }
        _ => help::command(model, command),
    }
    vec![]
}

/// What there is behind the page: batches, lots cut of them, complaints.
fn batches(model: &mut Model) {
    let Some(Screen::SeedPage(state)) = model.top() else { return };
    let Some(page) = &state.page else { return };
    let mut items: Vec<Item<Pick>> = Vec::new();
    for batch in page.batches.iter().rev() {
        let story = Pick::Story(Of::Sowing(batch.sowing), format!("Batch {}", batch.code));
        let hint = format!("sown {}, {}", batch.day, counted(batch.trays, "tray"));
        items.push(Item::new(format!("batch {}", batch.code), story).hint(hint));
    }
    for weighing in page.weighings.iter().rev() {
        let story = Pick::Story(Of::Lot(weighing.lot), format!("Lot {}", weighing.code));
        let weight = model.board.units().weight(weighing.grams.saturating_mul(1000));
        let hint = format!("cut {}, {weight} of {}", weighing.day, counted(weighing.trays.len(), "tray"));
        items.push(Item::new(format!("lot {}", weighing.code), story).hint(hint));
    }
    for call in &page.complaints {
        let story = Pick::Story(Of::Complaint(call.id), format!("Complaint of {}", call.day));
        items.push(Item::new(format!("complaint of {}", call.day), story).hint(call.what.shown()));
    }
    if items.is_empty() {
        model.refuse("Nothing was sown of this lot yet: there is nothing behind its page.");
        return;
    }
    model.open(Screen::Menu(Menu::new("What it went into: their stories", items)));
}
