//! Seed in water: what runs, what is to be drained, and what was sown of it.

use super::form_page;
use super::forms::FormKind;
use super::pick::Pick;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::history::Of;
use crate::domain::id::SeedLotId;
use crate::domain::soak::Soaking;

impl Model {
    /// How many soaks are to be drained.
    pub fn soaks_due(&self) -> usize {
        self.board.soaks.iter().filter(|soak| soak.due(self.now.instant())).count()
    }

    /// Seed of a lot that is in water, or was so lately that it may still be sown.
    pub fn soaks_of(&self, lot: SeedLotId) -> impl Iterator<Item = &Soaking> {
        let now = self.now.instant();
        self.board.soaks.iter().filter(move |soak| soak.lot == lot && soak.at_hand(now))
    }
}

/// Soaks or cleans seed of a lot; what of it is in water comes first, to be drained.
pub fn open(model: &mut Model, lot: SeedLotId) {
    let running: Vec<&Soaking> = model.soaks_of(lot).filter(|soak| soak.running()).collect();
    if running.is_empty() {
        form_page::open(model, FormKind::Soak(lot));
        return;
    }
    let mut items: Vec<Item<Pick>> = running.into_iter().map(|soak| drain(model, soak)).collect();
    items.push(Item::new("soak or clean more", Pick::Form(FormKind::Soak(lot))).letter('z'));
    model.open(Screen::Menu(Menu::new("Seed in water: which is drained?", items)));
}

fn drain(model: &Model, soak: &Soaking) -> Item<Pick> {
    let label = format!("drain {}", model.board.units().weight(soak.mg));
    Item::new(label, Pick::Form(FormKind::Drain(soak.id))).hint(soak.words_in_short(model.now))
}

/// Running soaks, the one to be drained first on top, then what was drained lately.
pub fn list(model: &Model) -> Menu<Pick> {
    let mut soaks: Vec<&Soaking> = model.board.soaks.iter().collect();
    soaks.sort_by_key(|soak| {
        let due = if soak.running() { Some(soak.due_at()) } else { None };
        (due.is_none(), due, std::cmp::Reverse(soak.drained))
    });
    let items = soaks
        .into_iter()
        .map(|soak| {
            let label = format!("{} {}, {}", soak.crop_name, soak.lot_code, model.board.units().weight(soak.mg));
            if soak.running() {
                return Item::new(label, Pick::Form(FormKind::Drain(soak.id))).hint(soak.words_in_short(model.now));
            }
            let story = Pick::Story(Of::SeedLot(soak.lot), format!("Seed lot {}: {}", soak.lot_code, soak.crop_name));
            Item::new(label, story).hint(format!("{}; {}", sown(model, soak), soak.words(model.now)))
        })
        .collect();
    Menu::new("Seed in water", items)
        .intro("A running one is drained; of the others the lot's story. The seed shelf begins one (k).")
}

fn sown(model: &Model, soak: &Soaking) -> String {
    match soak.left_mg() {
        _ if soak.all_sown() => "sown".into(),
        left if left == soak.mg => "not sown".into(),
        left => format!("{} not sown", model.board.units().weight(left)),
    }
}
