//! The room's records beside its trays, as one short list.

use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;

/// What is mixed, measured, checked and counted in the room.
pub fn menu(_model: &Model) -> Menu<Pick> {
    let later = || Some("Not built yet: come back after the next update.".to_string());
    Menu::new(
        "Records of the room",
        vec![
            Item::new("mixes and treatments", Pick::Nothing).letter('m').bar(later()),
            Item::new("water and air", Pick::Nothing).letter('w').bar(later()),
            Item::new("checks of the room", Pick::Nothing).letter('c').bar(later()),
            Item::new("where trouble comes from", Pick::Rates).letter('t').hint("by lot, crop, shelf and place"),
            Item::new("bench calculator", Pick::Nothing).letter('b').bar(later()),
        ],
    )
}
