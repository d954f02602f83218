//! Water outside of a walk: where, and whose is overdue.

use super::forms::FormKind;
use super::forms::water::Where;
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::text::counted;

/// Trays in the light whose water should have been changed before today.
pub fn overdue(model: &Model) -> usize {
    model.board.trays.iter().filter(|tray| model.board.bands.water_overdue(tray, model.today())).count()
}

pub fn hint(overdue: usize) -> String {
    match overdue {
        0 => "with what was measured; bands".into(),
        n => format!("overdue for {}", counted(n, "tray")),
    }
}

pub fn menu(model: &Model) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = Where::ALL
        .into_iter()
        .map(|place| {
            let trays = place.trays(model).len();
            Item::new(place.words(model), Pick::Form(FormKind::Water(place))).hint(counted(trays, "tray")).bar(
                (trays == 0).then(|| {
                    if place == Where::Overdue { "no water is overdue." } else { "no tray stands there." }.to_string()
                }),
            )
        })
        .collect();
    items.push(Item::new("bands of water and air", Pick::Form(FormKind::Bands)).letter('b'));
    let menu = Menu::new("Water for which trays?", items);
    match model.board.bands.water_words(model.board.units()) {
        words if words.is_empty() => menu.intro("No bands are set: a figure outside of one would be said."),
        words => menu.intro(format!("Wanted here: {words}.")),
    }
}
