//! The home screen: rack, timeline and shelf life, live with each other.

use super::forms::FormKind;
use super::pick::Pick;
use super::{
    answer, breach, cut, form_page, pick, records, seed_shelf, settings, shelf_life, stock, story, suspects,
    tray_menus, treat, walk, week, whereabouts, why,
};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::board::Rack;
use crate::domain::history::Of;
use crate::domain::id::{PlaceId, TrayId};
use crate::domain::room::Place;
use crate::domain::timeline::Timeline;
use crate::domain::tray::{Flag, Sign, TrayCard};

/// Where the cursor stands and what it opened.
#[derive(Debug, Clone, Default)]
pub struct State {
    pub cursor: Option<PlaceId>,
    pub timeline: Option<Timeline>,
    /// First line shown of what runs out.
    pub life_from: usize,
}

impl Model {
    /// The place under the cursor of the room.
    pub fn cursor_place(&self) -> Option<&Place> {
        self.board.place(self.room()?.cursor?)
    }

    /// The tray under the cursor of the room.
    pub fn cursor_tray(&self) -> Option<&TrayCard> {
        self.board.tray_at(self.room()?.cursor?)
    }

    /// All trays under the cursor of the room, from the top.
    fn cursor_stack(&self) -> Vec<&TrayCard> {
        self.cursor_place().map(|place| self.board.trays_at(place.id).collect()).unwrap_or_default()
    }

    /// The rack under the cursor.
    pub fn cursor_rack(&self) -> Option<&Rack> {
        self.board.rack(self.cursor_place()?.rack)
    }
}

/// Puts the cursor somewhere sensible and fetches the timeline under it.
pub fn refresh(model: &mut Model) -> Vec<Effect> {
    if model.room().is_none() {
        return vec![];
    }
    if model.cursor_place().is_none() {
        let today = model.today();
        let first = model
            .board
            .trays
            .iter()
            .find(|tray| tray.look_due(today))
            .or(model.board.trays.first())
            .map(|tray| tray.place.id)
            .or_else(|| model.board.places().next().map(|place| place.id));
        if let Some(room) = model.room_mut() {
            room.cursor = first;
        }
    }
    timeline(model)
}

fn timeline(model: &mut Model) -> Vec<Effect> {
    if let Some(sowing) = model.cursor_tray().map(|tray| tray.sowing) {
        return vec![Effect::Load(Query::Timeline(sowing))];
    }
    if let Some(room) = model.room_mut() {
        room.timeline = None;
    }
    vec![]
}

fn put(model: &mut Model, place: Option<PlaceId>) -> Vec<Effect> {
    if let (Some(place), Some(room)) = (place, model.room_mut()) {
        room.cursor = Some(place);
    }
    timeline(model)
}

/// To a tray whose label was read.
pub fn jump(model: &mut Model, tray: TrayId) -> Vec<Effect> {
    let place = model.board.tray(tray).map(|tray| tray.place.id);
    put(model, place)
}

/// The place one step away, within the rack.
fn step(model: &Model, command: Command) -> Option<PlaceId> {
    let here = model.cursor_place()?;
    let rack = model.cursor_rack()?;
    let shelves = rack.shelves();
    let row = shelves.iter().position(|shelf| *shelf == here.shelf)?;
    let shelf = match command {
        Command::Up => *shelves.get(row.checked_sub(1)?)?,
        Command::Down => *shelves.get(row + 1)?,
        _ => here.shelf,
    };
    let places: Vec<&Place> = rack.on_shelf(shelf).collect();
    let nearest = |pos: i64| places.iter().min_by_key(|p| (p.pos - pos).abs()).map(|p| p.id);
    match command {
        Command::Left => places.iter().rev().find(|p| p.pos < here.pos).map(|p| p.id),
        Command::Right => places.iter().find(|p| p.pos > here.pos).map(|p| p.id),
        _ => nearest(here.pos),
    }
}

/// The next tray after the cursor, as one walks and round again, that is held, suspect, late or odd.
fn next_wanting(model: &Model) -> Option<PlaceId> {
    let wants = |tray: &&TrayCard| matches!(tray.sign(model.now), Sign::Held | Sign::Suspect | Sign::Late | Sign::Odd);
    let here = model.cursor_place().map(Place::walk_order);
    let after = model.board.trays.iter().filter(wants).find(|tray| Some(tray.place.walk_order()) > here);
    after.or(model.board.trays.iter().find(wants)).map(|tray| tray.place.id)
}

/// The rack before or after this one, wrapping round.
fn other_rack(model: &Model, forward: bool) -> Option<PlaceId> {
    let racks = &model.board.racks;
    let here = model.cursor_place().map(|p| p.rack);
    let at = racks.iter().position(|rack| Some(rack.id) == here).unwrap_or(0);
    let last = racks.len().checked_sub(1)?;
    let to = match (forward, at) {
        (true, at) if at < last => at + 1,
        (true, _) => 0,
        (false, 0) => last,
        (false, at) => at - 1,
    };
    let rack = racks.get(to)?;
    let first_tray = rack.places.iter().find(|place| model.board.tray_at(place.id).is_some());
    first_tray.or(rack.places.first()).map(|place| place.id)
}

/// What a command does on the home screen.
pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    match command {
        Command::Left | Command::Right | Command::Up | Command::Down => {
            let to = step(model, command);
            put(model, to)
        }
        Command::NextRack => {
            let to = other_rack(model, true);
            put(model, to)
        }
        Command::PreviousRack => {
            let to = other_rack(model, false);
            put(model, to)
        }
        Command::NextWanting => {
            let to = next_wanting(model);
            if to.is_none() {
                model.say("No tray is held, suspect, late or odd.");
            }
            put(model, to)
        }
        Command::PageDown | Command::PageUp => {
            let last = model.board.runs_out.len().saturating_sub(1);
            if let Some(room) = model.room_mut() {
                let from = room.life_from;
                room.life_from =
                    if command == Command::PageDown { (from + 5).min(last) } else { from.saturating_sub(5) };
            }
            vec![]
        }
        Command::StartWalk => vec![Effect::Load(Query::NewestWalks)],
        Command::Sow => {
            form_page::open(model, FormKind::Sow);
            vec![]
        }
        Command::SeedShelf => {
            let mut effects = vec![Effect::Load(Query::Stock)];
            effects.extend(seed_shelf::open(model, 0));
            effects
        }
        Command::Settings => {
            let menu = settings::menu(model);
            model.open(Screen::Menu(menu));
            vec![]
        }
        Command::NextPerson => {
            next_person(model);
            vec![]
        }
        Command::Open => {
            let menu = stories(model);
            model.open(Screen::Menu(menu));
            vec![]
        }
        Command::Breaches => {
            breach::open_list(model);
            vec![]
        }
        Command::Suspects => {
            suspects::open(model);
            vec![]
        }
        Command::Stock => stock::open(model),
        Command::ShelfLife => {
            shelf_life::open(model);
            vec![]
        }
        Command::Answer => answer::open(model, answer::Ask::List),
        Command::Week => week::open(model),
        Command::Records => {
            let menu = records::menu(model);
            model.open(Screen::Menu(menu));
            vec![]
        }
        Command::Whereabouts => {
            match whereabouts::here(model) {
                Some(place) => whereabouts::open(model, place),
                None => model.refuse("No rack stands here yet: add one in settings."),
            }
            vec![]
        }
        Command::Log => story::open(model, Of::Everything, "The log"),
        Command::Quit => vec![Effect::KeepDrafts, Effect::Quit],
        Command::LookHere
        | Command::Cut
        | Command::Move
        | Command::ThrowOut
        | Command::Treat
        | Command::Ready
        | Command::Story
        | Command::Why => with_tray(model, command),
        _ => vec![],
    }
}

/// A command for the tray under the cursor; of a stack it asks for which.
fn with_tray(model: &mut Model, command: Command) -> Vec<Effect> {
    let stack = model.cursor_stack();
    match stack.as_slice() {
        [] => {
            model.refuse("No tray stands here: move the cursor to one.");
            vec![]
        }
        [one] => {
            let one = one.id;
            on_tray(model, command, one)
        }
        [top, ..] => {
            let items = stack.iter().map(|tray| {
                let words =
                    format!("{}, day {}, {}", tray.crop_name, tray.day(model.today()), tray.sign(model.now).shown());
                Item::new(tray.code(), Pick::On(command, tray.id)).hint(words)
            });
            let menu = Menu::new(format!("Which tray at {}, from the top?", top.place.label()), items.collect());
            model.open(Screen::Menu(menu));
            vec![]
        }
    }
}

/// A command for one tray.
pub(super) fn on_tray(model: &mut Model, command: Command, tray: TrayId) -> Vec<Effect> {
    let Some(tray) = model.board.tray(tray).cloned() else { return vec![] };
    match command {
        Command::LookHere => walk::look_at_one(model, tray.id),
        Command::Story => {
            return story::open(model, Of::Tray(tray.id), &format!("Tray {}: {}", tray.code(), tray.crop_name));
        }
        Command::Cut => cut::of_tray(model, &tray),
        Command::OwnUse => {
            let menu = cut_menu(model, &tray);
            model.open(Screen::Menu(menu));
        }
        Command::Ready => return pick::ready(&tray),
        Command::Why => why::open(model, tray.sowing),
        Command::ThrowOut => model.open(Screen::Menu(tray_menus::throw(&tray))),
        Command::Treat => {
            let menu = treat::menu(model, &tray);
            model.open(Screen::Menu(menu));
        }
        _ => {
            let menu = tray_menus::go(model, &tray);
            model.open(Screen::Menu(menu));
        }
    }
    vec![]
}

/// The stories that meet at the place under the cursor.
fn stories(model: &Model) -> Menu<Pick> {
    let mut items = Vec::new();
    let stack = model.cursor_stack();
    for tray in &stack {
        let (code, crop) = (tray.code(), &tray.crop_name);
        items.push(Item::new(format!("tray {code}"), Pick::Story(Of::Tray(tray.id), format!("Tray {code}: {crop}"))));
    }
    for batch in stack.chunk_by(|a, b| a.sowing == b.sowing) {
        if let [tray, ..] = batch {
            let (batch, crop) = (&tray.sowing_code, &tray.crop_name);
            let title = format!("Batch {batch}: {crop}");
            items.push(Item::new(format!("batch {batch}"), Pick::Story(Of::Sowing(tray.sowing), title)));
        }
    }
    if let Some(place) = model.cursor_place() {
        let label = place.label();
        items.push(Item::new(format!("place {label}"), Pick::Story(Of::Place(place.id), format!("Place {label}"))));
    }
    if let Some(person) = model.person() {
        let (id, initials) = (person.id, &person.initials);
        items.push(Item::new(format!("all by {initials}"), Pick::Story(Of::Person(id), format!("All by {initials}"))));
    }
    for tray in &stack {
        items.push(
            Item::new(format!("beside {}", tray.code()), Pick::Beside(tray.id)).hint("what stood next to it, and when"),
        );
    }
    items.extend(stack.iter().take(1).flat_map(|tray| [cut::own_use(tray), cut::alive(tray)]));
    Menu::new("Whose story?", items)
}

/// Cutting asks once: this tray, or all of its batch on this shelf.
fn cut_menu(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let day = tray.day(model.today());
    let window = format!("day {day}, cutting window day {} to {}", tray.plan.cut_from_d, tray.plan.cut_to_d);
    let shelf: Vec<TrayId> = model
        .board
        .trays
        .iter()
        .filter(|t| t.sowing == tray.sowing && t.place.rack == tray.place.rack && t.place.shelf == tray.place.shelf)
        .map(|t| t.id)
        .collect();
    let bar = tray.cut_bar(model.now);
    let mut items = vec![Item::new(format!("cut {}", tray.code()), Pick::Cut(vec![tray.id])).bar(bar.clone())];
    if bar.is_some() {
        // the book refuses it and asks how that came about
        let already = Item::new("it was cut already", Pick::Cut(vec![tray.id]));
        items.insert(0, already.hint("someone has to decide it"));
    }
    if shelf.len() > 1 {
        let barred = shelf
            .iter()
            .filter_map(|id| model.board.tray(*id))
            .find_map(|other| other.cut_bar(model.now).map(|why| format!("{}: {why}", other.code())));
        let label = format!("cut all {} of {} on this shelf", shelf.len(), tray.sowing_code);
        items.push(Item::new(label, Pick::Cut(shelf)).bar(barred));
    }
    let mut menu = Menu::new(format!("Cut {}: {}", tray.crop_name, tray.code()), items).intro(window);
    if let Some(ahead) = tray.moved_forecast() {
        menu = menu.intro(format!("by forecast day {} to {}, ±{} d", ahead.from, ahead.to, ahead.band));
    }
    // also what was sprayed and may be cut by now
    let counts = |flag: &Flag| flag.grave || flag.text.starts_with("treated ");
    for flag in tray.flags(model.now).into_iter().filter(counts) {
        menu = menu.intro(flag.text);
    }
    if day < tray.plan.cut_from_d { menu.intro("This is earlier than the plan says.") } else { menu }
}

/// One key hands the keyboard on.
pub(super) fn next_person(model: &mut Model) {
    let here: Vec<_> = model.board.people.iter().filter(|p| !p.retired).collect();
    let at = here.iter().position(|p| Some(p.id) == model.who);
    let next = at.map_or(0, |at| at + 1);
    let next = here.get(next).or(here.first()).map(|p| (p.id, p.initials.clone(), p.name.clone()));
    match next {
        Some((id, _, _)) if Some(id) == model.who => {
            model.refuse("Only one person is on the list: add others in settings.");
        }
        Some((id, initials, name)) => {
            model.who = Some(id);
            walk::go_to_own(model);
            model.say(format!("At the rack: {initials} ({name}). Every entry carries these initials now."));
        }
        None => model.refuse("Nobody is on the list: add a person in settings."),
    }
}
