//! Short lists about one tray: what is odd, skip, move, throw out.

use super::cleaning;
use super::pick::Pick;
use super::whereabouts::Ask;
use crate::app::command::Command;
use crate::app::key::Key;
use crate::app::keys::{self, Context};
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::id::{PlaceId, TrayId};
use crate::domain::look::{Fault, Faults, Roots, Skip};
use crate::domain::room::{Place, Zone};
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage, TrayCard};

pub fn odd(tray: &TrayCard, now: Faults) -> Menu<Pick> {
    let items = Fault::ALL
        .iter()
        .map(|f| {
            Item::new(f.shown(), Pick::Fault(*f)).hint(if now.has(*f) { "chosen; again takes it back" } else { "" })
        })
        .collect();
    Menu::new(format!("Odd on {}", tray.code()), items).intro("Then give the grade; Enter writes it without one.")
}

pub fn roots_too(tray: &TrayCard) -> Menu<Pick> {
    let items = Roots::ALL.iter().map(|r| Item::new(r.shown(), Pick::Roots(*r))).collect();
    Menu::new(format!("Roots of {}", tray.code()), items).intro("Written together with the stand you give next.")
}

/// Skip it, or throw it out: the two ways of not grading a tray. Throwing out asks once more.
pub fn skip(tray: &TrayCard) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = Skip::ALL
        .iter()
        .map(|why| match why {
            // no skip: the book then looks for it elsewhere
            Skip::NotHere => {
                Item::new("it is not here", Pick::Sight(vec![(tray.id, None)])).hint("missing, until it is found")
            }
            why => Item::new(format!("skip: {}", why.shown()), Pick::Skip(*why)),
        })
        .collect();
    items.push(Item::new("another tray stands here", Pick::Really(Ask::AnotherTray(tray.place.id))).letter('b'));
    items
        .extend(throw(tray).items.into_iter().map(|item| Item { label: format!("throw out: {}", item.label), ..item }));
    Menu::new(format!("Skip or throw out {}", tray.code()), items)
        .intro("A skipped tray stays due, and the end of the walk names it.")
}

/// Places with room, those of a zone first, then empty ones, then the nearest; places to clean come last of each zone.
pub(super) fn free<'m>(model: &'m Model, tray: &TrayCard, zone: Zone) -> Vec<&'m Place> {
    let here = tray.place.walk_order();
    let mut places = model.board.places_with_room();
    places.retain(|place| place.id != tray.place.id);
    let taken = |place: &Place| model.board.tray_at(place.id).is_some();
    places.sort_by_key(|p| {
        let apart = ((p.rack_sort - here.0).abs(), (p.shelf - here.1).abs(), (p.pos - here.2).abs());
        (p.zone != zone, model.board.to_clean(p.id).is_some(), taken(p), apart)
    });
    places
}

/// What a place is for, on how many trays it would be put, and whether it is clean.
pub(super) fn place_words(model: &Model, place: &Place) -> String {
    let words = match model.board.trays_at(place.id).count() {
        0 => place.zone.shown().to_string(),
        n => format!("{}, on top of {n}", place.zone.shown()),
    };
    if model.board.to_clean(place.id).is_some() { format!("{words}, {}", cleaning::FIRST) } else { words }
}

pub fn to_light(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let mut items = Vec::new();
    if tray.place.zone == Zone::Lit {
        items.push(Item::new("stays here, cover off", Pick::Go { tray: tray.id, to: None, stage: Some(Stage::Lit) }));
    }
    items.extend(free(model, tray, Zone::Lit).into_iter().filter(|p| p.zone == Zone::Lit).take(10).map(|place| {
        Item::new(
            format!("to {}", place.label()),
            Pick::Go { tray: tray.id, to: Some(place.id), stage: Some(Stage::Lit) },
        )
        .hint(place_words(model, place))
    }));
    if tray.place.zone != Zone::Lit {
        items.push(
            Item::new("stays here, cover off", Pick::Go { tray: tray.id, to: None, stage: Some(Stage::Lit) })
                .hint(tray.place.zone.shown()),
        );
    }
    // the tray in hand first, then all of its batch, then other places
    let together =
        [(false, "the whole batch"), (true, "all of it on this shelf")].into_iter().filter_map(|(shelf, what)| {
            let moves = to_light_together(model, tray, shelf);
            let words = together_words(model, &moves);
            let item = Item::new(format!("{what}: {} trays", moves.len()), Pick::GoMany(moves.clone(), Stage::Lit))
                .hint(words);
            (moves.len() > 1).then_some(item)
        });
    let after = 1.min(items.len());
    items.splice(after..after, together);
    let planned = format!("day {} today; the plan says day {}", tray.day(model.today()), tray.plan.cover_d);
    Menu::new(format!("{} to the light", tray.code()), items).intro(planned)
}

/// To the light or to another place.
pub fn go(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let covered = matches!(tray.stage, Stage::Covered | Stage::Soaked);
    let zone = if tray.doubtful() { Zone::Isolation } else { tray.place.zone };
    let mut items = Vec::new();
    if covered {
        items.push(Item::new("to the light", Pick::ToLight(tray.id)));
    }
    items.extend(free(model, tray, zone).into_iter().take(12).map(|place| {
        Item::new(format!("to {}", place.label()), Pick::Go { tray: tray.id, to: Some(place.id), stage: None })
            .hint(place_words(model, place))
    }));
    items.extend(restack(model, tray));
    Menu::new(format!("Move {} from {}", tray.code(), tray.stands()), items)
}

/// Other orders of the stack a tray stands in.
fn restack(model: &Model, tray: &TrayCard) -> Vec<Item<Pick>> {
    let place = tray.place.id;
    let stack: Vec<TrayId> = model.board.trays_at(place).map(|tray| tray.id).collect();
    let mut items = Vec::new();
    if tray.from_top > 1 {
        let first = std::iter::once(tray.id).chain(stack.iter().copied().filter(|id| *id != tray.id)).collect();
        items.push(Item::new("on top of its stack", Pick::Restack(place, first)));
    }
    if stack.len() > 1 {
        let turned = stack.into_iter().rev().collect();
        items.push(Item::new("its stack the other way round", Pick::Restack(place, turned)).hint("the lowest on top"));
    }
    items
}

const MOULD_CAUTION: &str = "Mould: gloves and mask on, bag it where it stands, then clean the place.";

/// The same letters for the reasons wherever they are asked for: behind those of the reasons to skip.
const THROW_LETTERS: &str = "jklqwert";

pub fn throw(tray: &TrayCard) -> Menu<Pick> {
    let items = LossReason::ALL
        .iter()
        .zip(THROW_LETTERS.chars())
        .map(|(r, letter)| Item::new(r.shown(), Pick::ThrowFor(tray.id, *r)).letter(letter))
        .collect();
    Menu::new(format!("Throw out {} ({})", tray.code(), tray.crop_name), items).intro(MOULD_CAUTION)
}

/// All of a tray, or some of its mats; a tray of one mat goes whole.
pub fn how_much(tray: &TrayCard, reason: LossReason) -> Menu<Pick> {
    if tray.mats_left <= 1 {
        return gear(tray, reason);
    }
    let mut items = vec![Item::new("the whole tray", Pick::GearFor(tray.id, reason))];
    items.extend((1..tray.mats_left).map(|mats| {
        Item::new(format!("{mats} of its {} mats", tray.mats_left), Pick::LosePart(tray.id, reason, mats))
            .hint("the rest stays on the rack")
    }));
    Menu::new(format!("How much of {}?", tray.code()), items)
}

/// The covered trays of a batch, each with a free lit place as long as there are any, the nearest first. One that is
/// suspect, held or set apart is never moved among the others by the way.
fn to_light_together(model: &Model, tray: &TrayCard, shelf_only: bool) -> Vec<(TrayId, Option<PlaceId>)> {
    let clean = |place: &&Place| model.board.to_clean(place.id).is_none();
    let lit = free(model, tray, Zone::Lit).into_iter().filter(|p| p.zone == Zone::Lit);
    let mut places = lit.filter(clean).map(|p| p.id);
    model
        .board
        .trays
        .iter()
        .filter(|t| t.sowing == tray.sowing && matches!(t.stage, Stage::Covered | Stage::Soaked))
        .filter(|t| !t.doubtful() && !t.held && t.place.zone != Zone::Isolation)
        .filter(|t| !shelf_only || (t.place.rack, t.place.shelf) == (tray.place.rack, tray.place.shelf))
        .map(|t| (t.id, if t.place.zone == Zone::Lit { None } else { places.next() }))
        .collect()
}

/// What moving them together comes to, in words.
fn together_words(model: &Model, moves: &[(TrayId, Option<PlaceId>)]) -> String {
    let label = |id: PlaceId| model.board.place(id).map_or_else(String::new, Place::label);
    let to: Vec<PlaceId> = moves.iter().filter_map(|(_, to)| *to).collect();
    let stay = moves.len() - to.len();
    let mut parts = Vec::new();
    match to.as_slice() {
        [] => {}
        [one] => parts.push(format!("to {}", label(*one))),
        [first, .., last] => parts.push(format!("{} to {} .. {}", to.len(), label(*first), label(*last))),
    }
    if stay > 0 {
        parts.push(format!("{stay} stay, cover off"));
    }
    parts.join(", ")
}

pub fn gear(tray: &TrayCard, reason: LossReason) -> Menu<Pick> {
    let bad = matches!(reason, LossReason::Mould | LossReason::Rot);
    let title = "What becomes of tray, cover and weight?";
    let goes = format!("{} goes out: {}.", tray.code(), reason.shown());
    if !bad && !tray.doubtful() {
        let items = Gear::ALL.iter().map(|g| Item::new(g.shown(), Pick::Throw(tray.id, reason, *g, None))).collect();
        return Menu::new(title, items).intro(goes);
    }
    // of a bad tray bag and place are part of the record
    let item = |gear: Gear, cleanup: Cleanup| {
        Item::new(gear.shown(), Pick::Throw(tray.id, reason, gear, Some(cleanup))).hint(cleanup.shown())
    };
    let items = Cleanup::ALL.iter().flat_map(|cleanup| Gear::ALL.iter().map(|gear| item(*gear, *cleanup))).collect();
    Menu::new(title, items).intro(goes).intro(MOULD_CAUTION)
}

/// All that can be done at a stop, each by the letter that does it without the list.
pub fn everything(tray: &TrayCard, roots_too: bool) -> Menu<Pick> {
    let commands = [
        (Command::Fuzz, "fuzz"),
        (Command::Hairs, "root hairs: misted, lies down, only on the roots"),
        (Command::Odd, "something odd"),
        (Command::Note, "a note"),
        (Command::Water, "water in figures"),
        (Command::ToLight, "to the light"),
        (Command::Move, "move it"),
        (Command::Ready, "ready to cut"),
        (Command::Skip, "skip it, or throw it out"),
        (Command::Undo, "take back what was chosen, or the newest entry"),
    ];
    let mut items: Vec<Item<Pick>> = commands
        .into_iter()
        .filter_map(|(command, label)| match keys::key_of(Context::Walk, command)? {
            Key::Char(letter) => Some(Item::new(label, Pick::Do(command)).letter(letter)),
            _ => None,
        })
        .collect();
    if roots_too {
        items.push(Item::new("roots as well as the stand", Pick::RootsMenu(tray.id)).letter('r'));
    }
    let here = "what really stands here, or a new label";
    items.push(Item::new(here, Pick::Do(Command::Whereabouts)).letter('g'));
    items.push(Item::new("hand the keyboard to the next person", Pick::Do(Command::NextPerson)).letter('a'));
    items.push(Item::new("lock the keyboard for wiping", Pick::Do(Command::Lock)).letter('w'));
    items.push(Item::new("every key", Pick::Do(Command::Help)).letter('e'));
    Menu::new(format!("{} at {}", tray.code(), tray.stands()), items)
}
