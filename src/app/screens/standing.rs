//! What stands on the racks when the book is begun: shelf by shelf, four short lists each.

use super::pick::Pick;
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::id::{CropId, PlaceId, SeedLotId};
use crate::domain::room::{Place, Zone};
use crate::domain::standing::NewStanding;
use crate::domain::text::counted;
use crate::domain::tray::Stage;

/// The answers so far: the first free place of the shelf, then crop, days since sowing, trays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answers {
    pub shelf: PlaceId,
    pub crop: Option<CropId>,
    pub ago: Option<i64>,
    pub trays: Option<usize>,
}

/// Days that have a letter: today and the 24 before.
const DAYS: i64 = 25;

/// The free places on the shelf of a place, in order.
fn free(model: &Model, shelf: PlaceId) -> Vec<&Place> {
    let Some(of) = model.board.place(shelf) else { return vec![] };
    model.board.room_left().into_iter().filter(|p| p.rack == of.rack && p.shelf == of.shelf).collect()
}

/// The question for the first shelf with free places, or for the next one after a place.
pub fn ask(model: &mut Model, after: Option<PlaceId>) {
    let places = model.board.places();
    let shelf = after.and_then(|id| model.board.place(id)).map(|p| (p.rack_sort, p.shelf));
    let free: Vec<PlaceId> = model.board.room_left().iter().map(|p| p.id).collect();
    let next = places
        .filter(|p| free.contains(&p.id) && shelf.is_none_or(|done| (p.rack_sort, p.shelf) > done))
        .map(|p| p.id)
        .next();
    match next {
        Some(shelf) => {
            let menu = crops(model, shelf);
            model.open(Screen::Menu(menu));
        }
        None => model.say("Every shelf is entered. What is missing can be added from settings."),
    }
}

fn crops(model: &Model, shelf: PlaceId) -> Menu<Pick> {
    let free = free(model, shelf);
    let (name, zone) = free
        .first()
        .map_or((String::new(), ""), |p| (format!("Rack {}, shelf {}", p.rack_name, p.shelf), p.zone.shown()));
    let answer = |crop| Pick::Standing(Answers { shelf, crop, ago: None, trays: None });
    let mut items = vec![Item::new("nothing more on this shelf", answer(None))];
    items.extend(model.board.crops.iter().map(|crop| Item::new(crop.name.clone(), answer(Some(crop.id)))));
    Menu::new(format!("{name} ({zone}): what stands here?"), items).intro("Esc ends; settings leads back here.")
}

fn days(model: &Model, answers: Answers) -> Menu<Pick> {
    let items = (0..DAYS)
        .map(|ago| {
            let day = model.today() - chrono::Duration::days(ago);
            let word = if ago == 0 { "sown today".to_string() } else { format!("day {ago}") };
            Item::new(word, Pick::Standing(Answers { ago: Some(ago), ..answers }))
                .hint(day.format("%a %d %b").to_string())
        })
        .collect();
    Menu::new("Sown on which day?", items)
}

fn counts(model: &Model, answers: Answers) -> Menu<Pick> {
    let most = free(model, answers.shelf).len();
    let items = (1..=most)
        .rev()
        .map(|n| Item::new(counted(n, "tray"), Pick::Standing(Answers { trays: Some(n), ..answers })))
        .collect();
    Menu::new("How many, from the left?", items)
}

fn lots(model: &Model, answers: Answers) -> Menu<Pick> {
    let mut items = vec![Item::new("not recorded", Pick::Stand(answers, None)).hint("a trace will end there")];
    items.extend(
        model
            .lots
            .iter()
            .filter(|lot| Some(lot.crop) == answers.crop)
            .map(|lot| Item::new(lot.code.clone(), Pick::Stand(answers, Some(lot.id))).hint(lot.supplier.clone())),
    );
    Menu::new("From which seed lot?", items)
}

/// The next question, or the next shelf.
pub fn answered(model: &mut Model, answers: Answers) {
    let menu = match answers {
        Answers { crop: None, shelf, .. } => return ask(model, Some(shelf)),
        Answers { ago: None, .. } => days(model, answers),
        Answers { trays: None, .. } => counts(model, answers),
        _ => lots(model, answers),
    };
    model.open(Screen::Menu(menu));
}

/// All answers are there: the entry.
pub fn action(model: &mut Model, answers: Answers, lot: Option<SeedLotId>) -> Vec<Effect> {
    let places: Vec<Place> = free(model, answers.shelf).into_iter().cloned().collect();
    let zone = places.first().map_or(Zone::Lit, |place| place.zone);
    let (Some(crop), Some(ago), Some(trays), Some(format)) =
        (answers.crop, answers.ago, answers.trays, model.board.formats.first())
    else {
        return vec![];
    };
    if places.len() < trays {
        model.refuse("Someone else put trays on this shelf meanwhile: say again how many stand here.");
        ask(model, None);
        return vec![];
    }
    vec![Effect::Act(Box::new(Action::Standing(Box::new(NewStanding {
        crop,
        sown: model.today() - chrono::Duration::days(ago),
        format: format.id,
        lot,
        stage: if zone == Zone::Covered { Stage::Covered } else { Stage::Lit },
        places: places.iter().take(trays).map(|place| place.id).collect(),
    }))))]
}

/// One entry was saved: the same shelf again while it has free places, else the next.
pub fn saved(model: &mut Model, new: &NewStanding) {
    let Some(last) = new.places.last().copied() else { return };
    // the board still shows the room before
    let mut rest: Vec<PlaceId> = free(model, last).iter().map(|p| p.id).collect();
    for taken in &new.places {
        if let Some(at) = rest.iter().position(|place| place == taken) {
            rest.remove(at);
        }
    }
    match rest.first().copied() {
        Some(place) => {
            let menu = crops(model, place);
            model.open(Screen::Menu(menu));
        }
        None => ask(model, Some(last)),
    }
}
