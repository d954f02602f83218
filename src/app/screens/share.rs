//! A walk that two walk: whose racks are whose, and taking some.

use std::collections::BTreeMap;

use super::pick::Pick;
use super::walk;
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::key::Key;
use crate::app::keys::{self, Context};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Notice, Screen};
use crate::domain::board::Rack;
use crate::domain::id::{PersonId, RackId, WalkId};
use crate::domain::text::counted;
use crate::domain::walk::{Mode, Share, Walk, racks_named};

/// Racks of a walk with something to do or done, or that someone took, and how many stops are open there.
fn racks<'m>(model: &'m Model, walk: &Walk) -> Vec<(&'m Rack, usize)> {
    let open = |rack: RackId| {
        let trays = model.board.trays.iter().filter(|tray| tray.place.rack == rack);
        trays.filter(|tray| walk.is_open(tray, model.today())).count()
    };
    let seen = |rack: RackId| {
        model.board.trays.iter().any(|tray| tray.place.rack == rack && walk.covers(rack) && walk.visited(tray.id))
    };
    let racks = model.board.racks.iter().map(|rack| (rack, open(rack.id)));
    racks.filter(|(rack, open)| *open > 0 || walk.share(rack.id).is_some() || seen(rack.id)).collect()
}

/// The line of a list that leads to the racks, where there are two people and something to share.
pub fn line(model: &Model, walk: &Walk) -> Option<Item<Pick>> {
    let people = model.board.people.iter().filter(|person| !person.retired).count();
    let open = racks(model, walk).into_iter().filter(|(_, open)| *open > 0).count();
    let some = open > 1 || (open == 1 && !walk.shares.is_empty());
    let others = walk.shares.iter().filter(|share| Some(share.person) != model.who);
    let has = others.filter_map(|share| Some(format!("{} has {}", share.initials, model.board.rack(share.rack)?.name)));
    let hint = has.collect::<Vec<_>>().join(", ");
    (people > 1 && some && !walk.seen.paper)
        .then(|| Item::new("share the walk: take racks of your own", Pick::Share(Box::new(walk.clone()))).hint(hint))
}

/// The racks to take from, whoever has them.
pub fn open_list(model: &mut Model, walk: &Walk) {
    if line(model, walk).is_none() {
        model.refuse("There is no rack of this walk to take: begin a walk with the walk key in the room.");
        return;
    }
    let items = racks(model, walk).into_iter().map(|(rack, open)| {
        let share = walk.share(rack.id);
        let own = share.is_some_and(|share| Some(share.person) == model.who);
        let has = share.map_or_else(String::new, |share| format!("{} has it, ", share.initials));
        let bar = match open {
            _ if own => Some(format!("it is yours already, {open} to do")),
            0 => Some(format!("{has}nothing is left to do")),
            _ => None,
        };
        Item::new(format!("rack {}", rack.name), Pick::Take(walk.id, rack.id))
            .hint(format!("{has}{open} to do"))
            .bar(bar)
    });
    let began = model.now.local(walk.started).format("%H:%M");
    let mut menu = Menu::new(format!("Take a rack of the walk of {began}"), items.collect())
        .intro("Who takes racks walks only those, and the others leave them out.");
    menu.at = menu.items.iter().position(|item| item.bar.is_none()).unwrap_or(0);
    model.open(Screen::Menu(menu));
}

/// Racks were taken: on with the walk there.
pub fn took(model: &mut Model, id: WalkId, racks: &[RackId]) -> Vec<Effect> {
    if matches!(model.top(), Some(Screen::WalkEnd(_))) {
        model.back();
    }
    if model.walk_id() != Some(id) {
        return walk::open(model, id, Mode::Both);
    }
    let person = model.person().cloned();
    if let (Some(walk), Some(person)) = (model.walk_mut().and_then(|state| state.walk.as_mut()), person) {
        for rack in racks {
            walk.take(Share { rack: *rack, person: person.id, initials: person.initials.clone() });
        }
    }
    walk::go_to_own(model);
    vec![]
}

/// Says which racks changed hands since the walk was loaded last.
pub fn tell(model: &mut Model, new: &Walk) {
    let Some(old) = model.walk().and_then(|state| state.walk.as_ref()) else { return };
    let news = new.shares.iter().filter(|share| Some(share.person) != model.who);
    let news = news.filter(|share| old.share(share.rack).map(|before| before.person) != Some(share.person));
    let news: Vec<String> = news
        .filter_map(|share| Some(format!("Rack {} is {}'s now.", model.board.rack(share.rack)?.name, share.initials)))
        .collect();
    if news.is_empty() {
        return;
    }
    let before = match model.notice.take() {
        Some(Notice::Said(text)) => format!("{text} "),
        _ => String::new(),
    };
    model.say(format!("{before}{}", news.join(" ")));
}

/// What the walk of the person at the keyboard is, in the fewest words: how they walk, or where.
pub fn whose(model: &Model, walk: &Walk) -> String {
    let named = |own: bool| {
        let shares = walk.shares.iter().filter(|share| (Some(share.person) == model.who) == own);
        let mut racks: Vec<RackId> = shares.map(|share| share.rack).collect();
        racks.sort_unstable();
        let names: Vec<&str> = racks.iter().filter_map(|rack| Some(model.board.rack(*rack)?.name.as_str())).collect();
        (!names.is_empty()).then(|| racks_named(&names))
    };
    match (named(true), named(false)) {
        (Some(own), _) => own,
        (None, Some(others)) => format!("all but {others}"),
        (None, None) => walk.mode.shown().to_string(),
    }
}

/// What is written of a walk, for the list that goes on with it: of a shared one, in one's own racks.
pub fn done(model: &Model, walk: &Walk) -> String {
    if walk.shares.is_empty() {
        return format!("{} done", walk.visited.len());
    }
    let trays = walk.visited.iter().filter_map(|visit| model.board.tray(visit.tray));
    let own = trays.filter(|tray| walk.is_for(tray.place.rack, model.who)).count();
    format!("{own} done")
}

/// Who did how much of it.
pub fn done_by(model: &Model, walk: &Walk) -> String {
    let mut hands: BTreeMap<PersonId, usize> = BTreeMap::new();
    for visit in walk.visited.iter().filter(|visit| visit.skip.is_none()) {
        *hands.entry(visit.by).or_default() += 1;
    }
    let name = |id: PersonId| {
        let person = model.board.people.iter().find(|person| person.id == id);
        person.map_or(walk.who.as_str(), |person| person.initials.as_str())
    };
    let all = counted(walk.done(), "tray");
    let hands: Vec<(PersonId, usize)> = hands.into_iter().collect();
    match hands.as_slice() {
        [] => format!("{all} done by {}", walk.who),
        [(only, _)] => format!("{all} done by {}", name(*only)),
        several => {
            let each: Vec<String> = several.iter().map(|(id, n)| format!("{n} by {}", name(*id))).collect();
            format!("{all} done, {}", each.join(" and "))
        }
    }
}

/// Where something is left to do on the walk, a sentence each; and whether it is for the person at the keyboard.
pub fn left(model: &Model, walk: &Walk) -> Vec<(bool, String)> {
    let mut lines = Vec::new();
    let (mut free, mut free_open) = (Vec::new(), 0);
    for (rack, open) in racks(model, walk).into_iter().filter(|(_, open)| *open > 0) {
        match walk.share(rack.id) {
            _ if walk.is_for(rack.id, model.who) => lines.push((true, format!("Rack {}: {open} to do.", rack.name))),
            Some(share) => lines.push((false, format!("Rack {} is {}'s: {open} to do.", rack.name, share.initials))),
            None => {
                free.push(rack.name.as_str());
                free_open += open;
            }
        }
    }
    // whoever took none walks them
    if free_open > 0 {
        lines.push((false, format!("Not taken: {}, {free_open} to do.", racks_named(&free))));
    }
    lines
}

/// The same for a page: those of others with the key that takes one over.
pub fn left_lines(model: &Model, walk: &Walk) -> Vec<String> {
    let left = left(model, walk);
    let key = keys::key_of(Context::WalkEnd, Command::StartWalk).map_or_else(String::new, Key::name);
    let offer = left.iter().any(|(own, _)| !own).then(|| format!("{key} takes one of them over."));
    left.into_iter().map(|(_, sentence)| sentence).chain(offer).collect()
}
