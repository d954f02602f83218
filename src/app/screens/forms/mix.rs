//! Recipes, lots of ingredients, and a bottle prepared.

use super::{Wrong, amount, measure, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{MaterialLotId, RecipeId};
use crate::domain::measure::Amount;
use crate::domain::mix::{
    CAUTIONS, NewMaterialLot, NewMix, NewRecipe, PARTS_MAX, Recipe, bench_lines, cautions, poison,
};
use crate::domain::units::Quantity::Volume;

/// Fields of an ingredient: its name, its amount, and the lot when it is mixed.
const PARTS: [(&str, &str, &str); PARTS_MAX] = [
    ("part1", "amount1", "lot1"),
    ("part2", "amount2", "lot2"),
    ("part3", "amount3", "lot3"),
    ("part4", "amount4", "lot4"),
    ("part5", "amount5", "lot5"),
    ("part6", "amount6", "lot6"),
];

/// A lot nobody read.
const UNREAD: &str = "unread";

const ML_MOST: f64 = 1_000_000.0;

pub(super) fn recipe(model: &Model, id: Option<RecipeId>) -> Form {
    let known = id.and_then(|id| model.board.recipe(id));
    let mut fields = vec![
        Field::text("name", "name", 60).required().starting(known.map_or("", |recipe| &recipe.name)),
        Field::measure("ml", "bottle", measure(model, Volume, 1.0, ML_MOST, 0)).required().starting(&amount(
            known.map(|recipe| recipe.ml),
            1.0,
            Volume,
        )),
        Field::number("life", "keeps", range("d", 1.0, 3650.0, 0))
            .required()
            .starting(&known.map_or_else(String::new, |recipe| recipe.life_d.to_string())),
    ];
    for (n, (part, how_much, _)) in PARTS.into_iter().enumerate() {
        let of = known.and_then(|recipe| recipe.parts.get(n));
        let name = Field::text(part, &format!("ingredient {}", n + 1), 60).starting(of.map_or("", |of| &of.name));
        let much = Field::text(how_much, "its amount", 40)
            .starting(&of.map_or_else(String::new, |of| of.amount.typed()))
            .help("Such as 2.5 g, 10 mL, 20 drops, 3/4 tsp us; tsp label has 5 mL, tsp imperial 5.92.");
        let first = n == 0;
        fields.extend(if first { [name.required(), much.required()] } else { [name, much] });
    }
    if known.is_some() {
        fields.push(Field::yes_no("used", "still used").starting("yes"));
    }
    Form::new("A recipe", model.today(), fields).intro([
        CAUTIONS[0],
        CAUTIONS[1],
        "Water fills it up; Ctrl-S saves from any field.",
    ])
}

/// The ingredients typed; an amount without a name, or a name without an amount, is asked for.
fn parts(values: &Values) -> Result<Vec<(String, Amount)>, Wrong> {
    let mut parts = Vec::new();
    for (name, much, _) in PARTS {
        let (part, text) = (values.text(name).trim(), values.text(much));
        match (part.is_empty(), text.is_empty()) {
            (true, true) => {}
            (true, false) => return Err((Some(name), "Name the ingredient of this amount.".into())),
            (false, true) => return Err((Some(much), format!("Say how much {part}."))),
            (false, false) => {
                let amount = Amount::parse(text).map_err(|why| (Some(much), format!("{why}.")))?;
                parts.push((part.to_string(), amount));
            }
        }
    }
    Ok(parts)
}

/// How each amount is understood, below the fields.
pub(super) fn recipe_changed(form: &mut Form) {
    let values = form.values();
    form.lines = PARTS
        .into_iter()
        .filter(|(_, much, _)| !values.text(much).is_empty())
        .map(|(name, much, _)| {
            let said = Amount::parse(values.text(much)).map_or_else(|why| format!("{why}."), Amount::words);
            format!("{}: {said}", values.text(name))
        })
        .collect();
}

pub(super) fn recipe_action(id: Option<RecipeId>, rev: i64, values: &Values) -> Result<Action, Wrong> {
    let new = NewRecipe {
        name: values.text("name").trim().to_string(),
        ml: scaled(values, "ml", 1.0).unwrap_or(0),
        life_d: scaled(values, "life", 1.0).unwrap_or(0),
        parts: parts(values)?,
    };
    new.check().map_err(|(field, why)| (Some(field), why))?;
    if let Some(why) = poison(new.parts.iter().map(|(name, _)| name.as_str())) {
        return Err((Some("part1"), why));
    }
    let new = Box::new(new);
    Ok(match id {
        None => Action::AddRecipe(new),
        Some(recipe) => Action::EditRecipe { recipe, new, retired: !values.yes("used"), rev },
    })
}

pub(super) fn receive(model: &Model, name: &str) -> Form {
    let today = model.today();
    Form::new(
        "An ingredient came in",
        today,
        vec![
            Field::text("name", "ingredient", 60).required().starting(name).help("As it is called in the recipes."),
            Field::text("code", "its lot", 40).required().help("Letter for letter from the bottle or bag."),
            Field::date("received", "received", None, Some(today)).required().starting("today"),
            Field::date("use_by", "use by", None, None).help("As printed, where it is."),
        ],
    )
}

pub(super) fn receive_action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let new = NewMaterialLot {
        name: values.text("name").trim().to_string(),
        code: values.text("code").trim().to_string(),
        received: values.date("received").unwrap_or_else(|| model.today()),
        use_by: values.date("use_by"),
    };
    new.check(model.today()).map_err(|(field, why)| (Some(field), why))?;
    Ok(Action::ReceiveMaterial(new))
}

pub(super) fn prepare(model: &Model, id: RecipeId) -> Form {
    let recipe = model.board.recipe(id);
    let mut fields =
        vec![Field::measure("ml", "make", measure(model, Volume, 1.0, ML_MOST, 0)).required().starting(&amount(
            recipe.map(|recipe| recipe.ml),
            1.0,
            Volume,
        ))];
    for (part, (_, _, lot)) in recipe.into_iter().flat_map(|recipe| &recipe.parts).zip(PARTS) {
        let lots = model.board.materials.iter().find(|material| material.id == part.material);
        let mut options: Vec<Opt> = lots
            .into_iter()
            .flat_map(|material| &material.lots)
            .map(|lot| {
                let past = lot.use_by.is_some_and(|day| day < model.today());
                let hint = if past && !lot.held { format!("PAST ITS DAY, {}", lot.words()) } else { lot.words() };
                Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(hint)
            })
            .collect();
        options.push(Opt::new(UNREAD, "not recorded").hint("nobody read it off the bottle"));
        fields.push(Field::choice(lot, &format!("lot of {}", part.name), options).required());
    }
    let name = recipe.map_or("", |recipe| recipe.name.as_str());
    let form = Form::new(format!("Prepare {name}"), model.today(), fields);
    form.intro(cautions(recipe.into_iter().flat_map(|recipe| &recipe.parts).map(|part| part.name.as_str())))
}

/// What to weigh and measure for this volume.
pub(super) fn prepare_changed(model: &Model, id: RecipeId, form: &mut Form) {
    let made = scaled(&form.values(), "ml", 1.0);
    form.lines = match (model.board.recipe(id), made) {
        (Some(recipe), Some(ml)) => {
            let mut lines = amounts(recipe, ml);
            let until = model.now.plus(chrono::Duration::days(recipe.life_d));
            lines.push(format!("Keeps until {}.", until.0.format("%a %d %b %H:%M")));
            lines
        }
        (None, _) => vec!["This recipe is not in use any more: Esc leaves.".into()],
        (_, None) => vec![],
    };
}

/// The amounts of a recipe for a volume, or why there are none.
pub(super) fn amounts(recipe: &Recipe, ml: i64) -> Vec<String> {
    match recipe.scaled(ml) {
        Ok(parts) => bench_lines(&parts, ml),
        Err(why) => vec![format!("For that volume {why}.")],
    }
}

pub(super) fn prepare_action(model: &Model, id: RecipeId, version: i64, values: &Values) -> Action {
    let parts = model.board.recipe(id).map_or(0, |recipe| recipe.parts.len());
    let lots = PARTS.iter().take(parts).map(|(_, _, lot)| values.text(lot).parse().ok().map(MaterialLotId)).collect();
    Action::PrepareMix(NewMix { recipe: id, version, ml: scaled(values, "ml", 1.0).unwrap_or(0), lots })
}
