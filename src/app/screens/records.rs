//! The room's records beside its trays, as one short list.

use super::checks::Ask;
use super::forms::{FormKind, Sum};
use super::pick::Pick;
use super::{air, water};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;

/// What is checked, counted and worked out in the room.
pub fn menu(model: &Model) -> Menu<Pick> {
    let checks = match (model.board.checks.len(), model.checks_due()) {
        (0, _) => "none is kept yet".to_string(),
        (_, 0) => "none is due".to_string(),
        (_, due) => format!("{due} due"),
    };
    let overdue = water::overdue(model);
    let mut items = vec![
        Item::new("checks of the room", Pick::RoomCheck(Ask::List)).letter('c').hint(checks),
        Item::new("sensors and air", Pick::Air(air::Ask::List)).letter('s').hint(air::hint(model)),
        Item::new("water", Pick::Water).letter('w').hint(water::hint(overdue)),
        Item::new("where trouble comes from", Pick::Rates).letter('t').hint("by lot, crop, shelf and place"),
    ];
    items.extend(
        Sum::ALL
            .into_iter()
            .zip("alp".chars())
            .map(|(sum, letter)| Item::new(sum.shown(), Pick::Form(FormKind::Bench(sum))).letter(letter).hint("a sum")),
    );
    Menu::new("Records of the room", items)
}
