//! From the tray to the knife: the check first where it is due, then the harvest.

use super::form_page;
use super::forms::FormKind;
use super::forms::sold::Of;
use super::pick::Pick;
use crate::app::command::Command;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::harvest::Needs;
use crate::domain::id::{CropId, SowingId, TrayId};
use crate::domain::text::counted;
use crate::domain::tray::TrayCard;

/// Opens the harvest of some trays of one crop; before it the check, if this person still owes one.
pub fn open(model: &mut Model, trays: Vec<TrayId>) {
    let Some(crop) = trays.first().and_then(|id| model.board.tray(*id)).map(|tray| tray.crop) else {
        model.refuse("This tray does not stand in the room any more: choose another.");
        return;
    };
    let kind = if owes(model, crop) { FormKind::CheckCut(trays) } else { FormKind::Harvest(trays) };
    form_page::open(model, kind);
}

/// The person at the rack has to check before this crop is cut.
fn owes(model: &Model, crop: CropId) -> bool {
    model.who.is_some_and(|who| model.goods.knife.needs(who, crop) != Needs::Nothing)
}

/// The crop that is an allergen and was cut before this one, if nobody has washed since.
pub fn unwashed(model: &Model, trays: &[TrayId]) -> Option<String> {
    let crop = model.board.tray(*trays.first()?)?.crop;
    let knife = &model.goods.knife;
    let (last, name, at) = knife.allergen.as_ref()?;
    let washed = knife.checks.iter().any(|check| check.at >= *at && check.check.washed == Some(true));
    (*last != crop && !washed).then(|| name.clone())
}

/// From a tray: with it all of its batch that may be cut, if it may be cut itself and its window is open.
pub fn of_tray(model: &mut Model, tray: &TrayCard) {
    let trays = if in_window(model, tray) { of_batch(model, tray.sowing) } else { vec![tray.id] };
    open(model, trays);
}

fn in_window(model: &Model, tray: &TrayCard) -> bool {
    let day = tray.day(model.today());
    tray.may_be_cut(model.now) && (tray.plan.cut_from_d..=tray.plan.cut_to_d).contains(&day)
}

/// Trays of a batch that are ready and in their window.
fn of_batch(model: &Model, sowing: SowingId) -> Vec<TrayId> {
    let batch = model.board.trays.iter().filter(|tray| tray.sowing == sowing && in_window(model, tray));
    batch.map(|tray| tray.id).collect()
}

/// Batches that may be cut today, the one whose window closes first on top.
pub fn list(model: &mut Model) {
    let mut ready: Vec<&TrayCard> = model.board.trays.iter().filter(|tray| tray.may_be_cut(model.now)).collect();
    ready.sort_by_key(|tray| (tray.cut_to(), tray.sowing, tray.id));
    let items: Vec<Item<Pick>> = ready
        .chunk_by(|a, b| a.sowing == b.sowing)
        .filter_map(|batch| {
            let first = batch.first()?;
            let trays: Vec<TrayId> = batch.iter().map(|tray| tray.id).collect();
            let label = format!("{} {}: {}", first.crop_name, first.sowing_code, counted(trays.len(), "tray"));
            let (day, plan) = (first.day(model.today()), &first.plan);
            let hint = format!("day {day}, window day {} to {}{}", plan.cut_from_d, plan.cut_to_d, usual(model, batch));
            Some(Item::new(label, Pick::Harvest(trays)).hint(hint))
        })
        .collect();
    if items.is_empty() {
        model.refuse("No batch is ready to cut: in the room c cuts the tray under the cursor all the same.");
        return;
    }
    model.open(Screen::Menu(Menu::new("Cut which batch?", items)));
}

fn usual(model: &Model, trays: &[&TrayCard]) -> String {
    let grams: Option<i64> = trays.iter().map(|tray| tray.usual_g).sum();
    grams.map_or_else(String::new, |grams| format!(", about {}", model.board.units().weight(grams * 1000)))
}

/// The check in the form on top was written down: the trays to go on with, if nothing speaks against it.
pub fn checked(model: &Model, action: &Action) -> Option<Vec<TrayId>> {
    match (action, model.top()) {
        (Action::CheckCut(new), Some(Screen::Form(page))) if new.good() => match &page.kind {
            FormKind::CheckCut(trays) => Some(trays.clone()),
            _ => None,
        },
        _ => None,
    }
}

/// For the house: cut without a lot, never for sale.
pub fn own_use(tray: &TrayCard) -> Item<Pick> {
    Item::new(format!("cut {} for own use", tray.code()), Pick::On(Command::OwnUse, tray.id))
        .letter('c')
        .hint("without a lot, so nothing of it is sold")
}

/// As a live tray, with a lot code of its own.
pub fn alive(tray: &TrayCard) -> Item<Pick> {
    Item::new(format!("sell {} alive", tray.code()), Pick::Form(FormKind::Sold(Of::Live(tray.id))))
        .letter('v')
        .hint("it leaves the room as a lot of its own")
}
