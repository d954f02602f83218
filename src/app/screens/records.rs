//! The room's records beside its trays, as one short list.

use super::forms::{FormKind, Sum};
use super::pick::Pick;
use super::{air, cause, checks, cleaning, cold, mixes, period, soaks, trial, water};
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::cause::Of;
use crate::domain::fuzz::Signs;
use crate::domain::text::counted;

/// What lies behind a line of the list, or of a list behind that.
#[derive(Debug, Clone, PartialEq)]
pub enum Page {
    /// Checks of the room.
    Check(checks::Ask),
    /// Places to clean.
    Cleaning,
    /// Seed in water.
    Soaks,
    /// Mixes, recipes, ingredients.
    Mix(mixes::Ask),
    /// Sensors and air.
    Air(air::Ask),
    /// Cold stores.
    Cold(cold::Ask),
    /// Water outside of a walk.
    Water,
    /// What an inspector asks for.
    Period(period::Ask),
    /// Where trouble comes from.
    Cause,
    /// Signs of fuzz ticked on trial.
    Trial(Signs),
}

/// Opens one, or carries out what a line of it says.
pub fn open(model: &mut Model, page: Page) -> Vec<Effect> {
    let menu: Result<Menu<Pick>, Action> = match page {
        Page::Check(ask) => checks::asked_for(model, ask),
        Page::Cleaning => Ok(cleaning::list(model)),
        Page::Soaks => Ok(soaks::list(model)),
        Page::Mix(ask) => mixes::asked_for(model, ask),
        Page::Air(ask) => Ok(air::asked_for(model, ask)),
        Page::Cold(ask) => Ok(cold::asked_for(model, ask)),
        Page::Water => Ok(water::menu(model)),
        Page::Cause => return cause::open(model, Of::Mould),
        Page::Period(ask) => return period::open(model, ask),
        Page::Trial(signs) => Ok(trial::menu(model, signs)),
    };
    match menu {
        Ok(menu) => model.open(Screen::Menu(menu)),
        Err(action) => return vec![Effect::Act(Box::new(action))],
    }
    vec![]
}

/// What is checked, counted and worked out in the room.
pub fn menu(model: &Model) -> Menu<Pick> {
    let checks = match (model.board.checks.len(), model.checks_due()) {
        (0, _) => "none is kept yet".to_string(),
        (_, 0) => "none is due".to_string(),
        (_, due) => format!("{due} due"),
    };
    let in_water = model.board.soaks.iter().filter(|soak| soak.running()).count();
    let soaks = match (in_water, model.soaks_due()) {
        (0, _) => "none is in water".to_string(),
        (n, 0) => format!("{n} in water"),
        (n, due) => format!("{n} in water, {due} to drain"),
    };
    let mixes = match (model.board.mixes.len(), model.mixes_expired()) {
        (0, _) => "recipes, ingredients, bottles".to_string(),
        (n, 0) => counted(n, "bottle"),
        (n, old) => format!("{}, {old} expired", counted(n, "bottle")),
    };
    let overdue = water::overdue(model);
    let mut items = vec![
        Item::new("checks of the room", Pick::Record(Page::Check(checks::Ask::List))).letter('c').hint(checks),
        Item::new("places to clean", Pick::Record(Page::Cleaning)).letter('z').hint(cleaning::hint(model)),
        Item::new("seed soaked or cleaned", Pick::Record(Page::Soaks)).letter('k').hint(soaks),
        Item::new("mixes and recipes", Pick::Record(Page::Mix(mixes::Ask::List))).letter('m').hint(mixes),
        Item::new("sensors and air", Pick::Record(Page::Air(air::Ask::List))).letter('s').hint(air::hint(model)),
        Item::new("cold stores", Pick::Record(Page::Cold(cold::Ask::List))).letter('o').hint(cold::hint(model)),
        Item::new("water", Pick::Record(Page::Water)).letter('w').hint(water::hint(overdue)),
        Item::new("where trouble comes from", Pick::Record(Page::Cause)).letter('t').hint("mould, losses, complaints"),
        Item::new("for an inspector", Pick::Record(Page::Period(period::Ask::List)))
            .letter('i')
            .hint(period::hint(model)),
    ];
    items.extend(
        Sum::ALL
            .into_iter()
            .zip("alpdxeng".chars())
            .map(|(sum, letter)| Item::new(sum.shown(), Pick::Form(FormKind::Bench(sum))).letter(letter).hint("a sum")),
    );
    let trial = Item::new("what signs of fuzz come to", Pick::Record(Page::Trial(Signs::default()))).letter('f');
    items.push(trial.hint("a trial of the points"));
    Menu::new("Records of the room", items)
}
