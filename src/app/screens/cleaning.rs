//! Places to clean: where something bad stood, and nobody has said yet that the place was cleaned.

use super::forms::FormKind;
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::id::PlaceId;

/// Said where such a place is to be used.
pub const FIRST: &str = "to clean first";

pub(super) fn hint(model: &Model) -> String {
    match model.board.to_clean.len() {
        0 => "none".into(),
        n => format!("{n} to clean"),
    }
}

/// All of them at once, and each by itself.
pub fn list(model: &Model) -> Menu<Pick> {
    let dirty = &model.board.to_clean;
    let form = |places: Vec<PlaceId>| Pick::Form(FormKind::CleanPlaces(places));
    let mut items: Vec<Item<Pick>> = dirty
        .iter()
        .map(|dirty| {
            Item::new(dirty.place.label(), form(vec![dirty.place.id])).hint(format!(
                "{}, {}",
                dirty.place.zone.shown(),
                dirty.words(model.now)
            ))
        })
        .collect();
    if items.is_empty() {
        return Menu::new("Places to clean", vec![Item::new("none is left to clean", Pick::Nothing)]);
    }
    if items.len() > 1 {
        let all = dirty.iter().map(|dirty| dirty.place.id).collect();
        items.push(Item::new(format!("all {} were cleaned", items.len()), form(all)).letter('z'));
    }
    Menu::new("Places to clean: which was cleaned?", items)
        .intro("Something bad stood there. Nothing is put there by itself until it was cleaned.")
}
