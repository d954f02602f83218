//! Settings as short lists that lead to forms.

use super::forms::FormKind;
use super::forms::sold::Of;
use super::pick::Pick;
use super::sold::Ask;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::history::{Of as About, Record};
use crate::domain::starter::starter_crops;

/// A part of the settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    People,
    Racks,
    Crops,
    StarterCrops,
    Formats,
    /// Knives, tables, scales.
    Tools,
    RackNames,
    /// Records of one kind, each leading to its story.
    Stories(Record),
}

pub fn menu(model: &Model) -> Menu<Pick> {
    let board = &model.board;
    let here = board.people.iter().filter(|p| !p.retired).count();
    Menu::new(
        "Settings",
        vec![
            Item::new("room: name, code, units", Pick::Form(FormKind::Room))
                .hint(format!("{} ({})", board.room_name, board.room_code)),
            Item::new("people", Pick::Section(Section::People)).hint(format!("{here} at the rack")),
            Item::new("racks, shelves, zones", Pick::Section(Section::Racks))
                .hint(format!("{} racks", board.racks.len())),
            Item::new("crops and growing plans", Pick::Section(Section::Crops))
                .hint(format!("{} grown here", board.crops.len())),
            Item::new("tray formats", Pick::Section(Section::Formats))
                .hint(board.formats.iter().map(|f| f.name.as_str()).collect::<Vec<_>>().join(", ")),
            Item::new(
                "what was changed about the room",
                Pick::Story(About::Record(Record::Room, 0), "The story of the room".into()),
            ),
            Item::new("second copy", Pick::Form(FormKind::SecondCopy)).hint(model.copy_hint()),
            Item::new("power cut", Pick::Form(FormKind::PowerCut)).hint("note hours without power"),
            Item::new("what is standing now", Pick::AskStanding).hint("trays sown before this book"),
            Item::new("breaches", Pick::Breaches)
                .hint(model.breaches_open().unwrap_or_else(|| "none to decide".into())),
            Item::new("points of fuzz signs", Pick::Form(FormKind::FuzzPoints(board.fuzz_points.version)))
                .hint("this program's own, not published"),
            Item::new("labels and notes", Pick::Form(FormKind::Sold(Of::Sender)))
                .hint(board.sender.missing().map_or_else(|| "complete".into(), |what| format!("{what} is missing"))),
            Item::new("products and customers", Pick::Sold(Ask::Names)),
            Item::new("currency of prices", Pick::Form(FormKind::Week(super::forms::week::Of::Currency)))
                .hint(if board.currency.is_empty() { "none is set".to_string() } else { board.currency.clone() }),
            Item::new("knives, tables, scales", Pick::Section(Section::Tools)).hint(tools_hint(model)),
        ],
    )
}

pub fn section(model: &Model, section: Section) -> Menu<Pick> {
    match section {
        Section::People => {
            let mut items = vec![Item::new("add a person", Pick::Form(FormKind::Person(None)))];
            items.extend(model.board.people.iter().map(|p| {
                let state = [
                    p.from.map(|day| format!("here from {day}")),
                    p.to.map(|day| format!("left on {day}")),
                    (p.retired && p.to.is_none()).then(|| "left".to_string()),
                    (p.may_decide && !p.retired).then(|| "may decide".to_string()),
                ];
                let state: Vec<String> = state.into_iter().flatten().collect();
                Item::new(format!("{}  {}", p.initials, p.name), Pick::Form(FormKind::Person(Some(p.id))))
                    .hint(state.join(", "))
            }));
            items.push(stories("what was changed about whom", Record::Person));
            Menu::new("People", items)
        }
        Section::Racks => {
            let mut items = vec![Item::new("add a rack", Pick::Form(FormKind::AddRack))];
            items.extend(model.board.racks.iter().map(|rack| {
                Item::new(format!("rack {}", rack.name), Pick::Form(FormKind::Shelves(rack.id))).hint(format!(
                    "{} shelves, {} places",
                    rack.shelves().len(),
                    rack.places.len()
                ))
            }));
            let idle = model.board.idle.iter().filter(|rack| model.board.rack(rack.id).is_none());
            items.extend(idle.map(|rack| {
                Item::new(format!("rack {}", rack.name), Pick::Form(FormKind::Shelves(rack.id))).hint("out of use")
            }));
            items.push(Item::new("give a rack another name", Pick::Section(Section::RackNames)));
            items.push(stories("what was changed on which rack", Record::Rack));
            Menu::new("Racks", items)
        }
        Section::Crops => {
            let mut items = vec![
                Item::new("add a starter crop", Pick::Section(Section::StarterCrops)),
                Item::new("add a crop of your own", Pick::Form(FormKind::Crop(None))),
            ];
            items.extend(model.crops.iter().map(|crop| {
                let plan = &crop.plan;
                let hint = format!("covered {} d, cut day {} to {}", plan.cover_d, plan.cut_from_d, plan.cut_to_d);
                let hint = if crop.retired { "not grown any more".into() } else { hint };
                Item::new(format!("{}  {}", crop.letters, crop.name), Pick::Form(FormKind::Crop(Some(crop.id))))
                    .hint(hint)
            }));
            items.push(stories("what was changed about which crop", Record::Crop));
            Menu::new("Crops", items)
        }
        Section::StarterCrops => {
            let known: Vec<&str> = model.crops.iter().map(|c| c.letters.as_str()).collect();
            let items = starter_crops()
                .unwrap_or_default()
                .into_iter()
                .filter(|crop| !known.contains(&crop.letters.as_str()))
                .map(|crop| Item::new(format!("{}  {}", crop.letters, crop.name), Pick::AddStarter(crop.letters)))
                .collect();
            Menu::new("Starter crops", items)
        }
        Section::Formats => {
            let mut items = vec![Item::new("add a tray format", Pick::Form(FormKind::AddFormat))];
            items.extend(model.board.formats.iter().map(|format| {
                Item::new(format.name.clone(), Pick::Form(FormKind::Format(format.id)))
                    .hint(format!("{} x {} mm inside", format.length_mm, format.width_mm))
            }));
            items.push(stories("what was changed about which format", Record::Format));
            Menu::new("Tray formats", items)
        }
        Section::Tools => {
            let mut items: Vec<Item<Pick>> = model
                .goods
                .tools
                .iter()
                .map(|tool| {
                    let state = [tool.held.then_some("HELD"), tool.retired.then_some("out of use")];
                    let state: Vec<&str> = state.into_iter().flatten().collect();
                    Item::new(tool.name.clone(), Pick::Form(FormKind::Tool(tool.id))).hint(state.join(", "))
                })
                .collect();
            items.push(stories("what each cut and packed", Record::Tool));
            Menu::new("Knives, tables, scales", items)
                .intro("They come onto the list by being named at a cut or a run.")
        }
        Section::RackNames => {
            let racks = model.board.racks.iter();
            let items = racks
                .map(|rack| Item::new(format!("rack {}", rack.name), Pick::Form(FormKind::RenameRack(rack.id))))
                .collect();
            Menu::new("Which rack?", items)
        }
        Section::Stories(kind) => {
            let items = records(model, kind)
                .into_iter()
                .map(|(id, name)| {
                    Item::new(name.clone(), Pick::Story(About::Record(kind, id), format!("The story of {name}")))
                })
                .collect();
            Menu::new("Whose story?", items)
        }
    }
}

fn tools_hint(model: &Model) -> String {
    let used = model.goods.tools.iter().filter(|tool| !tool.retired);
    let held = model.goods.tools.iter().filter(|tool| tool.held).count();
    match (used.count(), held) {
        (0, _) => "none is named yet".into(),
        (n, 0) => format!("{n} in use"),
        (n, held) => format!("{n} in use, {held} HELD"),
    }
}

fn stories(label: &str, kind: Record) -> Item<Pick> {
    Item::new(label, Pick::Section(Section::Stories(kind)))
}

/// Rows and names of the records of a kind.
fn records(model: &Model, kind: Record) -> Vec<(i64, String)> {
    let board = &model.board;
    match kind {
        Record::Person => board.people.iter().map(|p| (p.id.0, format!("{} {}", p.initials, p.name))).collect(),
        Record::Crop => model.crops.iter().map(|c| (c.id.0, c.name.clone())).collect(),
        Record::Rack => board.racks.iter().map(|r| (r.id.0, format!("rack {}", r.name))).collect(),
        Record::Check => board.checks.iter().map(|kind| (kind.id.0, kind.name.clone())).collect(),
        Record::Recipe => board.recipes.iter().map(|recipe| (recipe.id.0, recipe.name.clone())).collect(),
        Record::Format => board.formats.iter().map(|f| (f.id.0, f.name.clone())).collect(),
        Record::Sensor => model.air.iter().map(|sensor| (sensor.id.0, sensor.name.clone())).collect(),
        Record::Store => model.cold.in_use().map(|store| (store.id.0, store.name.clone())).collect(),
        Record::Product => model.goods.products.iter().map(|p| (p.id.0, p.name.clone())).collect(),
        Record::Customer => model.goods.customers.iter().map(|c| (c.id.0, c.name.clone())).collect(),
        Record::Tool => model.goods.tools.iter().map(|tool| (tool.id.0, tool.name.clone())).collect(),
        Record::Supplier => model.shelf.suppliers.iter().map(|s| (s.id.0, s.name.clone())).collect(),
        Record::Order => vec![],
        Record::Room => vec![(0, board.room_name.clone())],
    }
}
