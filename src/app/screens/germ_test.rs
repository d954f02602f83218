//! Germination tests of a lot: those that go on, to be counted; those that ended, to be read; a new one.

use super::forms::FormKind;
use super::pick::Pick;
use super::text;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::germ_test::{GermTest, lines, why};
use crate::domain::id::{GermTestId, SeedLotId};

/// Opens the list of a lot's tests; where there is none yet, the form of the first.
pub fn open(model: &mut Model, lot: SeedLotId) {
    let Some(known) = model.lots.iter().find(|known| known.id == lot) else { return };
    let title = format!("Germination tests of {}: {}", known.code, known.crop_name);
    let mut items: Vec<Item<Pick>> = model.shelf.tests_of(lot).map(item).collect();
    items.push(Item::new("a new test", Pick::Form(FormKind::GermTest(lot))).letter('z').hint("also one that is over"));
    model.open(Screen::Menu(Menu::new(title, items).intro("One that goes on is counted, one that ended is read.")));
}

fn item(test: &GermTest) -> Item<Pick> {
    let meaning = match test.end {
        None => Pick::Form(FormKind::CountGerm(test.id)),
        Some(_) => Pick::GermTest(test.id),
    };
    Item::new(test.words(), meaning).hint(test.short())
}

/// What a test came to, and below it why.
pub fn read(model: &mut Model, id: GermTestId) {
    let Some(test) = model.shelf.test(id) else {
        model.refuse("This germination test was taken back: open the list again.");
        return;
    };
    let Some(lot) = model.lots.iter().find(|lot| lot.id == test.lot) else { return };
    let crop = model.crops.iter().find(|crop| crop.id == lot.crop);
    let mut all = lines(test, lot.germ_pm, crop.and_then(|c| c.min_germ_pm), crop.and_then(|c| c.want_germ_pm));
    all.push(String::new());
    all.extend(why(test, model.board.units()));
    let title = format!("Germination of {}: {}, {}", lot.code, lot.crop_name, test.words());
    text::open(model, title, all);
}
