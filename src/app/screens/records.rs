//! The room's records beside its trays, as one short list.

use super::checks::Ask;
use super::forms::{FormKind, Sum};
use super::mixes;
use super::pick::Pick;
use super::{air, water};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::fuzz::Signs;
use crate::domain::text::counted;

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
        Item::new("checks of the room", Pick::RoomCheck(Ask::List)).letter('c').hint(checks),
        Item::new("seed soaked or cleaned", Pick::Soaks).letter('k').hint(soaks),
        Item::new("mixes and recipes", Pick::Mix(mixes::Ask::List)).letter('m').hint(mixes),
        Item::new("sensors and air", Pick::Air(air::Ask::List)).letter('s').hint(air::hint(model)),
        Item::new("water", Pick::Water).letter('w').hint(water::hint(overdue)),
        Item::new("where trouble comes from", Pick::Rates).letter('t').hint("by lot, crop, shelf and place"),
    ];
    items.extend(
        Sum::ALL
            .into_iter()
            .zip("alpdx".chars())
            .map(|(sum, letter)| Item::new(sum.shown(), Pick::Form(FormKind::Bench(sum))).letter(letter).hint("a sum")),
    );
    let trial = Item::new("what signs of fuzz come to", Pick::Trial(Signs::default())).letter('f');
    items.push(trial.hint("a trial of the points"));
    Menu::new("Records of the room", items)
}
