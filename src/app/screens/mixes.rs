//! Bottles prepared, recipes and ingredients, as short lists.

use super::forms::FormKind;
use super::pick::Pick;
use super::records::Page;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::history::{Of, Record};
use crate::domain::id::{MixId, RecipeId};
use crate::domain::mix::{CAUTIONS, MaterialLot, Mix, MixEnd, Recipe};
use crate::domain::text::counted;
use crate::domain::time::Now;

/// A step through the lists of mixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    List,
    Mix(MixId),
    End(MixId, MixEnd),
    /// By which recipe?
    Prepare,
    Recipes,
    Recipe(RecipeId),
    Ingredients,
    /// Every lot of a medium, an ingredient or packaging, to its story.
    Lots,
}

impl Model {
    /// How many bottles are past their life.
    pub fn mixes_expired(&self) -> usize {
        self.board.mixes.iter().filter(|mix| mix.expired(self.now)).count()
    }
}

/// The list a step leads to, or what it writes.
pub fn asked_for(model: &Model, ask: Ask) -> Result<Menu<Pick>, Action> {
    Ok(match ask {
        Ask::List => list(model),
        Ask::Mix(id) => model.board.mix(id).map_or_else(|| list(model), |mix| one(mix, model.now)),
        Ask::End(mix, what) => return Err(Action::EndMix { mix, what }),
        Ask::Prepare => prepare(model),
        Ask::Recipes => recipes(model),
        Ask::Recipe(id) => model.board.recipe(id).map_or_else(|| recipes(model), recipe),
        Ask::Ingredients => ingredients(model),
        Ask::Lots => lots(model),
    })
}

fn list(model: &Model) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = model
        .board
        .mixes
        .iter()
        .map(|mix| {
            Item::new(format!("{} {}", mix.code, mix.name), Pick::Record(Page::Mix(Ask::Mix(mix.id))))
                .hint(mix.words(model.now))
        })
        .collect();
    items.extend([
        Item::new("prepare a mix", Pick::Record(Page::Mix(Ask::Prepare))).letter('z'),
        Item::new("recipes", Pick::Record(Page::Mix(Ask::Recipes)))
            .letter('x')
            .hint(counted(model.board.recipes.len(), "recipe")),
        Item::new("ingredients", Pick::Record(Page::Mix(Ask::Ingredients))).letter('c').hint("their lots"),
    ]);
    Menu::new("Mixes", items).intro(CAUTIONS[0])
}

fn one(mix: &Mix, now: Now) -> Menu<Pick> {
    let title = format!("{} {}", mix.code, mix.name);
    let items = vec![
        Item::new("it is used up", Pick::Record(Page::Mix(Ask::End(mix.id, MixEnd::UsedUp))))
            .hint("the bottle is empty"),
        Item::new("it was binned", Pick::Record(Page::Mix(Ask::End(mix.id, MixEnd::Binned))))
            .hint("what was left is gone"),
        Item::new("its story", Pick::Story(Of::Mix(mix.id), format!("Mix {title}"))).hint("ingredients, lots, trays"),
    ];
    Menu::new(title, items).intro(format!("{}.", mix.words(now)))
}

fn write_down() -> Item<Pick> {
    Item::new("write a recipe down", Pick::Form(FormKind::Recipe(None))).letter('x')
}

fn prepare(model: &Model) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = model
        .board
        .recipes
        .iter()
        .map(|recipe| {
            Item::new(recipe.name.clone(), Pick::Form(FormKind::Prepare(recipe.id, recipe.version)))
                .hint(recipe.words())
        })
        .collect();
    items.push(write_down());
    Menu::new("Prepare by which recipe?", items).intro(CAUTIONS[0])
}

fn recipes(model: &Model) -> Menu<Pick> {
    let mut items: Vec<Item<Pick>> = model
        .board
        .recipes
        .iter()
        .map(|recipe| {
            Item::new(recipe.name.clone(), Pick::Record(Page::Mix(Ask::Recipe(recipe.id)))).hint(recipe.words())
        })
        .collect();
    items.push(write_down());
    Menu::new("Recipes", items)
        .intro("Yours: the program comes with none. Labels and local rules decide about any spray.")
}

fn recipe(recipe: &Recipe) -> Menu<Pick> {
    let story = Pick::Story(Of::Record(Record::Recipe, recipe.id.0), format!("Recipe: {}", recipe.name));
    let items = vec![
        Item::new("prepare it", Pick::Form(FormKind::Prepare(recipe.id, recipe.version))),
        Item::new("change it", Pick::Form(FormKind::Recipe(Some(recipe.id))))
            .hint("a new version; bottles keep theirs"),
        Item::new("its story", story),
    ];
    Menu::new(recipe.name.clone(), items).intro(format!("{}.", recipe.words()))
}

fn ingredients(model: &Model) -> Menu<Pick> {
    let receive = |name: &str| Pick::Form(FormKind::ReceiveMaterial(name.to_string()));
    let mut items: Vec<Item<Pick>> = model
        .board
        .materials
        .iter()
        .map(|material| {
            let newest = material.lots.first().map_or_else(|| "no lot yet".to_string(), MaterialLot::words);
            Item::new(material.name.clone(), receive(&material.name)).hint(newest)
        })
        .collect();
    items.push(Item::new("something new", receive("")).letter('z'));
    let held = model.board.materials.iter().flat_map(|material| &material.lots).filter(|lot| lot.held).count();
    let hint = if held > 0 { format!("{held} HELD") } else { "what they went into; o there holds one".into() };
    items.push(Item::new("their lots", Pick::Record(Page::Mix(Ask::Lots))).letter('x').hint(hint));
    Menu::new("A lot of which ingredient came in?", items)
}

/// Lots of media, ingredients and packaging, the newest of each first.
fn lots(model: &Model) -> Menu<Pick> {
    let all = model.board.materials.iter().flat_map(|material| material.lots.iter().map(move |lot| (material, lot)));
    let items: Vec<Item<Pick>> = all
        .map(|(material, lot)| {
            let title = format!("{}, lot {}", material.name, lot.code);
            let state = if lot.held { "HELD, " } else { "" };
            let hint = format!("{state}received {}", lot.received);
            Item::new(title.clone(), Pick::Story(Of::Material(lot.id), title)).hint(hint)
        })
        .collect();
    let menu = Menu::new("The story of which lot?", items);
    if menu.items.is_empty() { menu.intro("No lot of an ingredient, a medium or packaging came in yet.") } else { menu }
}
