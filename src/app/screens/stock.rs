//! From the cut on: lots that are here, least life left first, and what is promised of what is not.

use super::forms::FormKind;
use super::forms::cold::Of as ColdOf;
use super::pick::Pick;
use super::sold::Ask;
use super::{cold, countdown, cut, form_page, score, shelf_life, sold, story};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::{Action, Done};
use crate::domain::code::Code;
use crate::domain::history::Of;
use crate::domain::id::{LotId, ProductId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::stock::Account;

/// A line of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    Lot(LotId),
    /// Promised, and none of it is here.
    Promised(ProductId),
}

/// Where the cursor is, and what was loaded about the lot there.
#[derive(Debug, Clone, Default)]
pub struct State {
    pub at: Option<Line>,
    pub account: Option<(LotId, Account)>,
}

/// The lines of the list: lots as they run out, then products that are promised and not here.
pub fn lines(model: &Model) -> Vec<Line> {
    let (goods, today) = (&model.goods, model.today());
    let none = goods.products.iter().filter(|product| goods.on_hand(product.id, today) == 0);
    let promised = none.filter(|product| goods.promised(product.id, today) > 0);
    let lots = goods.lots.iter().map(|lot| Line::Lot(lot.id));
    lots.chain(promised.map(|product| Line::Promised(product.id))).collect()
}

/// Where the cursor is in the list; on the first line when what it was on is gone.
pub fn position(state: &State, lines: &[Line]) -> usize {
    state.at.and_then(|at| lines.iter().position(|line| *line == at)).unwrap_or(0)
}

fn state(model: &Model) -> Option<&State> {
    model.screens.iter().rev().find_map(|screen| match screen {
        Screen::Stock(state) => Some(state),
        _ => None,
    })
}

fn state_mut(model: &mut Model) -> Option<&mut State> {
    model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Stock(state) => Some(state),
        _ => None,
    })
}

/// The lot under the cursor.
pub fn here(model: &Model) -> Option<&Lot> {
    let lines = lines(model);
    match lines.get(position(state(model)?, &lines))? {
        Line::Lot(id) => model.goods.lot(*id),
        Line::Promised(_) => None,
    }
}

/// Opens the list, on the lot that was made last.
pub fn open(model: &mut Model) -> Vec<Effect> {
    let at = model.lot_made.filter(|id| model.goods.lot(*id).is_some()).map(Line::Lot);
    model.open(Screen::Stock(State { at, account: None }));
    account(model).into_iter().collect()
}

fn account(model: &Model) -> Option<Effect> {
    here(model).map(|lot| Effect::Load(Query::Account(lot.id)))
}

/// Lots came: where everything of the one under the cursor is may have changed.
pub fn goods_came(model: &Model) -> Vec<Effect> {
    account(model).into_iter().collect()
}

pub fn account_came(model: &mut Model, lot: LotId, account: Account) {
    if let Some(state) = state_mut(model) {
        state.account = Some((lot, account));
    }
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let lines = lines(model);
    let Some(state) = state(model) else { return vec![] };
    let (at, last) = (position(state, &lines), lines.len().saturating_sub(1));
    let to = match command {
        Command::Up => at.saturating_sub(1),
        Command::Down => (at + 1).min(last),
        Command::PageUp => at.saturating_sub(10),
        Command::PageDown => (at + 10).min(last),
        _ => at,
    };
    let line = lines.get(to).copied();
    if let Some(state) = state_mut(model) {
        state.at = line;
    }
    match command {
        Command::Up | Command::Down | Command::PageUp | Command::PageDown => {
            return account(model).into_iter().collect();
        }
        Command::Back => model.back(),
        Command::Cut => cut::list(model),
        Command::Pack => pack(model),
        Command::Open => everything(model),
        Command::PrintLabel => return label(model),
        Command::Story => return lot_story(model),
        Command::NewOrder => sold::open_form(model, sold::new_order()),
        Command::Orders => return sold::open(model, Ask::Orders),
        Command::Deliver => return sold::open(model, Ask::Deliver(None)),
        Command::Rounds => return sold::open(model, Ask::Rounds),
        Command::Returned => return sold::open(model, Ask::Deliveries),
        Command::Away => return sold::open(model, Ask::Away),
        Command::TodaysLists => return sold::open(model, Ask::Lists),
        Command::Names => return sold::open(model, Ask::Names),
        Command::Cold => cold::open(model),
        Command::ShelfLife => shelf_life::open(model),
        Command::PutAway => put_away(model),
        Command::Why => why(model),
        _ => {}
    }
    vec![]
}

fn pack(model: &mut Model) {
    let lot = here(model).filter(|lot| lot.kind == Kind::Harvest).map(|lot| lot.id);
    form_page::open(model, FormKind::Pack(lot));
}

/// The lot under the cursor, or everything that lies in no store.
fn put_away(model: &mut Model) {
    let lies = here(model).and_then(|lot| Some((lot.id, model.cold.lot(lot.id)?.store)));
    let lot = lies.filter(|(_, store)| store.is_some()).map(|(id, _)| id);
    form_page::open(model, FormKind::Cold(ColdOf::PutAway(lot)));
}

/// Why the lot under the cursor keeps as long as it says.
fn why(model: &mut Model) {
    match here(model).map(|lot| lot.id) {
        Some(lot) => countdown::open(model, lot),
        None => {
            nothing(model);
        }
    }
}

fn label(model: &mut Model) -> Vec<Effect> {
    match here(model) {
        Some(lot) => vec![Effect::PrintLots(vec![lot.id])],
        None => nothing(model),
    }
}

fn lot_story(model: &mut Model) -> Vec<Effect> {
    match here(model).map(|lot| (lot.id, format!("Lot {}: {}", lot.code, lot.name))) {
        Some((id, title)) => story::open(model, Of::Lot(id), &title),
        None => nothing(model),
    }
}

fn nothing(model: &mut Model) -> Vec<Effect> {
    model.refuse("No lot is under the cursor: cut or pack first.");
    vec![]
}

/// Everything that can be done with the lot under the cursor.
fn everything(model: &mut Model) {
    let Some(lot) = here(model) else {
        nothing(model);
        return;
    };
    let held = lot.held.then(|| "it is held until someone who may decide has decided".to_string());
    let mut items = Vec::new();
    if lot.kind == Kind::Harvest {
        items.push(Item::new("pack from it", Pick::Form(FormKind::Pack(Some(lot.id)))).letter('p').bar(held));
    }
    items.extend([
        Item::new("its label", Pick::Do(Command::PrintLabel)).letter('l'),
        Item::new("bin, keep a sample, give away, count", Pick::Do(Command::Away)).letter('b'),
    ]);
    if model.goods.samples.iter().any(|sample| sample.lot == lot.id) {
        items.push(score::line(model, lot.id));
    }
    if lot.kind == Kind::Pack {
        let again = Item::new("another label: another product or today's code", Pick::Form(FormKind::Reissue(lot.id)));
        items.push(again.letter('r').hint("as long as all of it is here"));
    }
    items.push(
        Item::new("put it into a cold store, or out", Pick::Form(FormKind::Cold(ColdOf::PutAway(Some(lot.id)))))
            .letter('k'),
    );
    items.push(Item::new("why it keeps that long", Pick::Countdown(lot.id)).letter('v'));
    items.push(Item::new("its story", Pick::Do(Command::Story)).letter('i'));
    let title = format!("{} {}", lot.code, lot.name);
    model.open(Screen::Menu(Menu::new(title, items)));
}

/// The book took an action that made a lot: the cursor goes there.
pub fn acted(model: &mut Model, action: &Action, done: &Done) {
    if !matches!(action, Action::Harvest(_) | Action::Pack(_) | Action::Reissue { .. } | Action::LeaveAlive(_)) {
        return;
    }
    model.lot_made = done.made.map(LotId);
    let at = model.lot_made.map(Line::Lot);
    if let Some(state) = state_mut(model) {
        state.at = at;
    }
}

/// A lot's label was read: to its line, or to its story if nothing of it is here any more.
pub fn scanned(model: &mut Model, code: &Code) -> Vec<Effect> {
    let shown = code.shown();
    match model.goods.lots.iter().find(|lot| lot.code == shown).map(|lot| lot.id) {
        Some(id) => go(model, id),
        None => vec![Effect::FindLot(code.clone())],
    }
}

fn go(model: &mut Model, id: LotId) -> Vec<Effect> {
    while !matches!(model.top(), Some(Screen::Room(_) | Screen::Walk(_) | Screen::Stock(_)) | None) {
        model.back();
    }
    if !matches!(model.top(), Some(Screen::Stock(_))) {
        model.open(Screen::Stock(State::default()));
    }
    if let Some(state) = state_mut(model) {
        state.at = Some(Line::Lot(id));
    }
    account(model).into_iter().collect()
}

/// What the book knows of a code that no lot in stock carries.
pub fn found(model: &mut Model, code: &Code, found: Option<(Lot, bool)>) -> Vec<Effect> {
    let Some((lot, old)) = found else {
        model.refuse(format!("The book has no lot {code}: read the label again."));
        return vec![];
    };
    let now = if old { format!("{code} is {} now.", lot.code) } else { String::new() };
    let here = model.goods.lot(lot.id).is_some();
    let effects = if here {
        go(model, lot.id)
    } else {
        while matches!(model.top(), Some(Screen::Menu(_) | Screen::Story(_))) {
            model.back();
        }
        story::open(model, Of::Lot(lot.id), &format!("Lot {}: {}", lot.code, lot.name))
    };
    let gone = if here { "" } else { "Nothing of it is here any more: what the book knows of it." };
    let said = [now.as_str(), gone].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(" ");
    if !said.is_empty() {
        model.say(said);
    }
    effects
}
