//! Which trays were treated: the one under the cursor, or those around it.

use super::forms::FormKind;
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::id::TrayId;
use crate::domain::text::counted;
use crate::domain::tray::TrayCard;
use crate::domain::treatment::CAUTIONS;

/// This tray, its shelf, its batch, its rack; sets that come to the same are offered once.
pub fn menu(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let standing = |which: &dyn Fn(&TrayCard) -> bool| -> Vec<TrayId> {
        model.board.trays.iter().filter(|other| which(other)).map(|other| other.id).collect()
    };
    let (place, sowing) = (&tray.place, tray.sowing);
    let sets = [
        (format!("tray {}", tray.code()), vec![tray.id]),
        (
            format!("shelf {} {}", place.rack_name, place.shelf),
            standing(&|other| other.place.rack == place.rack && other.place.shelf == place.shelf),
        ),
        (format!("batch {}", tray.sowing_code), standing(&|other| other.sowing == sowing)),
        (format!("rack {}", place.rack_name), standing(&|other| other.place.rack == place.rack)),
    ];
    let mut items: Vec<Item<Pick>> = Vec::new();
    let mut known: Vec<Vec<TrayId>> = Vec::new();
    for (label, trays) in sets {
        if known.contains(&trays) {
            continue;
        }
        let hint = counted(trays.len(), "tray");
        items.push(Item::new(label, Pick::Form(FormKind::Treat(trays.clone()))).hint(hint));
        known.push(trays);
    }
    Menu::new("What was treated?", items).intro(CAUTIONS[0])
}
