//! What really stands at a place: a tray that is not there, one that is there instead, one nobody finds.

use super::pick::Pick;
use super::tray_menus;
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::history::Of;
use crate::domain::id::{CropId, PlaceId, TrayId};
use crate::domain::room::Place;
use crate::domain::tray::TrayCard;
use crate::domain::whereabouts::{Sighting, candidates};

/// A question about where trays are, one leading to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    /// A tray stands there that the book has elsewhere: of which crop?
    AnotherTray(PlaceId),
    Candidates(PlaceId, CropId),
    StandsHere(TrayId, PlaceId),
    /// What became of a missing tray; perhaps it stands at the place.
    Missing(TrayId, PlaceId),
    /// It was thrown out: for which reason?
    ThrownOut(TrayId),
}

const SCAN: &str = "Scan its label, or choose what is most like it.";

impl Model {
    /// A tray that stands in the room or is missing in it.
    pub fn tray_card(&self, id: TrayId) -> Option<&TrayCard> {
        self.board.in_room().find(|tray| tray.id == id)
    }
}

/// The place in question: where the walk stands, else under the cursor.
pub fn here(model: &Model) -> Option<PlaceId> {
    match model.walk_tray() {
        Some(tray) => Some(tray.place.id),
        None => model.cursor_place().map(|place| place.id),
    }
}

/// What really stands at a place.
pub fn open(model: &mut Model, at: PlaceId) {
    let Some(place) = model.board.place(at).cloned() else { return };
    let mut items = Vec::new();
    for tray in model.board.trays_at(at) {
        items.push(
            Item::new(format!("{} is not here", tray.code()), Pick::Sight(vec![(tray.id, None)]))
                .hint("missing, until it is found"),
        );
    }
    items.push(
        Item::new("another tray stands here", Pick::Really(Ask::AnotherTray(at))).hint("also one without a label"),
    );
    for tray in model.board.trays_at(at) {
        items.push(
            Item::new(format!("a new label for {}", tray.code()), Pick::PrintLabel(tray.id)).hint("one to print"),
        );
    }
    for missing in &model.board.missing {
        items.push(
            Item::new(format!("missing: {}", name(&missing.tray)), Pick::Really(Ask::Missing(missing.tray.id, at)))
                .hint(missing.words(model.now)),
        );
    }
    model.open(Screen::Menu(Menu::new(format!("What really stands at {}?", place.label()), items)));
}

fn name(tray: &TrayCard) -> String {
    format!("{}, {}", tray.code(), tray.crop_name)
}

/// Of which crop is the tray that stands here instead? Crops without a tray that it could be are left out.
fn crops(model: &Model, at: PlaceId) -> Option<Menu<Pick>> {
    let place = model.board.place(at)?;
    let expected = model.board.tray_at(at).map(|tray| tray.crop);
    let mut crops: Vec<_> = model.board.crops.iter().collect();
    crops.sort_by_key(|crop| Some(crop.id) != expected);
    let items: Vec<Item<Pick>> = crops
        .into_iter()
        .map(|crop| (crop, candidates(&model.board, place, crop.id, model.now).len()))
        .filter(|(_, n)| *n > 0)
        .map(|(crop, n)| {
            Item::new(crop.name.clone(), Pick::Really(Ask::Candidates(at, crop.id)))
                .hint(format!("{n} that it could be"))
        })
        .collect();
    let menu = Menu::new(format!("Another tray at {}: of which crop?", place.label()), items).intro(SCAN);
    Some(if menu.items.is_empty() { menu.intro("No other tray stands in the room by the book.") } else { menu })
}

/// The trays of a crop it could be, the likeliest first, each with the reason.
fn list(model: &Model, at: PlaceId, crop: CropId) -> Option<Menu<Pick>> {
    let place = model.board.place(at)?;
    let items = candidates(&model.board, place, crop, model.now)
        .into_iter()
        .map(|candidate| {
            Item::new(candidate.tray.code(), Pick::Really(Ask::StandsHere(candidate.tray.id, at))).hint(candidate.why)
        })
        .collect();
    Some(Menu::new(format!("Which one stands at {}?", place.label()), items).intro(SCAN))
}

/// Goes on to what was asked for.
pub fn asked_for(model: &mut Model, ask: Ask) -> Vec<Effect> {
    let menu = match ask {
        Ask::AnotherTray(at) => crops(model, at),
        Ask::Candidates(at, crop) => list(model, at, crop),
        Ask::StandsHere(tray, at) => return stands_here(model, tray, at),
        Ask::Missing(tray, at) => missing(model, tray, Some(at)),
        Ask::ThrownOut(tray) => model.tray_card(tray).map(tray_menus::throw),
    };
    if let Some(menu) = menu {
        model.open(Screen::Menu(menu));
    }
    vec![]
}

/// The place that the list on top asks about, for a label that is read meanwhile.
pub fn asked(model: &Model) -> Option<PlaceId> {
    let Some(Screen::Menu(menu)) = model.top() else { return None };
    menu.items.iter().find_map(|item| match item.value {
        Pick::Really(Ask::AnotherTray(at) | Ask::Candidates(at, _) | Ask::StandsHere(_, at)) => Some(at),
        _ => None,
    })
}

/// It is this tray: what becomes of the one the book has here, if there is no room for both.
pub fn stands_here(model: &mut Model, tray: TrayId, at: PlaceId) -> Vec<Effect> {
    let Some((place, found)) = model.board.place(at).cloned().zip(model.tray_card(tray).cloned()) else {
        return vec![];
    };
    let there: Vec<&TrayCard> = model.board.trays_at(at).filter(|other| other.id != tray).collect();
    if i64::try_from(there.len()).unwrap_or(i64::MAX) < place.stack {
        return sight(model, vec![(tray, Some(at))]);
    }
    let from = model.board.tray(tray).map(|tray| &tray.place);
    let menu = also(&place, &found, from, &there);
    model.open(Screen::Menu(menu));
    vec![]
}

/// Whether the trays the book has at a place are lost, or changed places with the one found there.
fn also(place: &Place, found: &TrayCard, from: Option<&Place>, there: &[&TrayCard]) -> Menu<Pick> {
    let here = (found.id, Some(place.id));
    let mut items = Vec::new();
    for other in there {
        items.push(
            Item::new(format!("{} is not here", other.code()), Pick::Sight(vec![here, (other.id, None)]))
                .hint("missing, until it is found"),
        );
        if let Some(from) = from.filter(|from| from.id != place.id) {
            items.push(
                Item::new(
                    format!("{} stands at {} instead", other.code(), from.label()),
                    Pick::Sight(vec![here, (other.id, Some(from.id))]),
                )
                .hint("they changed places"),
            );
        }
    }
    Menu::new(format!("{} stands at {}. And the other one?", found.code(), place.label()), items)
}

/// Writes where trays are.
pub fn sight(model: &Model, trays: Vec<Sighting>) -> Vec<Effect> {
    vec![Effect::Act(Box::new(Action::Sight { walk: model.walk_id(), trays }))]
}

/// What became of a missing tray.
pub fn missing(model: &Model, id: TrayId, at: Option<PlaceId>) -> Option<Menu<Pick>> {
    let missing = model.board.missing(id)?;
    let tray = &missing.tray;
    let mut items = Vec::new();
    if let Some(place) = at.and_then(|at| model.board.place(at)) {
        items.push(Item::new(
            format!("it stands here, at {}", place.label()),
            Pick::Really(Ask::StandsHere(id, place.id)),
        ));
    }
    items.push(Item::new("it was thrown out", Pick::Really(Ask::ThrownOut(id))));
    items.push(Item::new("it was cut", Pick::Cut(vec![id])));
    items.push(Item::new("its story", Pick::Story(Of::Tray(id), format!("Tray {}", name(tray)))));
    Some(Menu::new(format!("{} is missing", name(tray)), items).intro(missing.words(model.now)))
}
