//! Recipes and their ingredients: each change of what goes in is a new version, and what came in has a lot.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{MATERIAL_LOT, RECIPE_PART, RECIPE_VERSION};
use super::hold::{self, MATERIAL};
use super::ids::day_sql;
use super::person::saved;
use super::revision::{RECIPE, fresh};
use super::writer::Writer;
use crate::domain::id::{EntryId, MaterialId, MaterialLotId, RecipeId};
use crate::domain::measure::Amount;
use crate::domain::mix::{Material, MaterialLot, NewMaterialLot, NewRecipe, Part, Recipe, poison};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

pub(super) fn add(w: &mut Writer<'_>, new: &NewRecipe) -> Result<Wrote, StoreError> {
    checked(new)?;
    let name = new.name.trim();
    let id = RecipeId(w.make("recipe", 1, "1", &[("name", &name), ("ml", &new.ml), ("life_d", &new.life_d)])?);
    version(w, id, new)?;
    Ok(Wrote::said(format!("Recipe {name}: written down.")).made(id.0))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    id: RecipeId,
    new: &NewRecipe,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "recipe", id.0, rev)?;
    checked(new)?;
    let (_, old) = parts(w.conn, id)?;
    let ml: i64 = w.conn.query_row("SELECT ml FROM recipe WHERE id = ?", [id], |row| row.get(0))?;
    // shares are of the bottle, so another size is another version too
    let same = ml == new.ml && old.iter().map(|part| (part.name.as_str(), part.amount)).eq(trimmed(new));
    if !same {
        version(w, id, new)?;
    }
    let name = new.name.trim();
    let changed =
        w.edit("recipe", id.0, &[("name", &name), ("ml", &new.ml), ("life_d", &new.life_d), ("retired", &retired)])?;
    saved(changed || !same)?;
    Ok(Wrote::said(format!("Recipe {name}: saved. Bottles prepared before keep what went into them.")).made(id.0))
}

fn checked(new: &NewRecipe) -> Result<(), StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("recipe", why).at(field))?;
    match poison(new.parts.iter().map(|(name, _)| name.as_str())) {
        Some(why) => Err(Refusal::new("recipe_poison", why).at("part1").into()),
        None => Ok(()),
    }
}

fn trimmed(new: &NewRecipe) -> impl Iterator<Item = (&str, Amount)> {
    new.parts.iter().map(|(name, amount)| (name.trim(), *amount))
}

fn version(w: &mut Writer<'_>, recipe: RecipeId, new: &NewRecipe) -> Result<(), StoreError> {
    let next: i64 = w.conn.query_row(
        "SELECT coalesce(max(version), 0) + 1 FROM recipe_version WHERE recipe_id = ?",
        [recipe],
        |row| row.get(0),
    )?;
    let id = w.fact(RECIPE_VERSION, &[("recipe_id", &recipe), ("version", &next)])?;
    for (n, (name, amount)) in (0i64..).zip(trimmed(new)) {
        let material = material(w, name, amount.measure.stored())?;
        w.fact(
            RECIPE_PART,
            &[
                ("recipe_version_id", &id),
                ("n", &n),
                ("material_id", &material),
                ("amount", &amount.milli),
                ("measure", &amount.measure),
            ],
        )?;
    }
    Ok(())
}

/// The ingredient or medium of this name, found or made.
pub(super) fn material(w: &mut Writer<'_>, name: &str, measure: &str) -> Result<MaterialId, StoreError> {
    let known: Option<i64> =
        w.conn.query_row("SELECT id FROM material WHERE name = ?", [name], |row| row.get(0)).optional()?;
    let id = match known {
        Some(id) => {
            w.edit("material", id, &[("retired", &false)])?;
            id
        }
        None => w.create("material", &[("name", &name), ("measure", &measure)])?,
    };
    Ok(MaterialId(id))
}

/// A lot of a medium or of packaging by its printed code, found or made; and what stands against using it, if it is held.
pub(super) fn found_lot(
    w: &mut Writer<'_>,
    name: &str,
    code: &str,
    received: Day,
) -> Result<(MaterialLotId, Option<Refusal>), StoreError> {
    let material = material(w, name, "piece")?;
    let known: Option<MaterialLotId> = w
        .conn
        .prepare_cached("SELECT id FROM material_lot WHERE material_id = ? AND code = ? AND void_by IS NULL")?
        .query_row(params![material, code], |row| row.get(0))
        .optional()?;
    let lot = match known {
        Some(lot) => lot,
        None => MaterialLotId(
            w.fact(MATERIAL_LOT, &[("material_id", &material), ("code", &code), ("received", &day_sql(received))])?,
        ),
    };
    let held = hold::bars(w.conn, (MATERIAL, lot.0))?;
    Ok((lot, held.then(|| hold::held_material(name, code))))
}

pub(super) fn receive(w: &mut Writer<'_>, new: &NewMaterialLot) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("material_lot", why).at(field))?;
    let (name, code) = (new.name.trim(), new.code.trim());
    let material = material(w, name, "g")?;
    let known: bool = w.conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM material_lot WHERE material_id = ? AND code = ? AND void_by IS NULL)",
        params![material, code],
        |row| row.get(0),
    )?;
    if known {
        let sentence = format!("Lot {code} of {name} is in the book already: look at what is printed on it.");
        return Err(Refusal::new("material_lot_taken", sentence).at("code").into());
    }
    let id = w.fact(
        MATERIAL_LOT,
        &[
            ("material_id", &material),
            ("code", &code),
            ("received", &day_sql(new.received)),
            ("use_by", &new.use_by.map(day_sql)),
        ],
    )?;
    Ok(Wrote::said(format!("{name}: lot {code} is on the shelf.")).made(id))
}

/// The newest version of a recipe's ingredients; 0 where it has none.
fn parts(conn: &Connection, recipe: RecipeId) -> Result<(i64, Vec<Part>), StoreError> {
    let newest: Option<(i64, i64)> = conn
        .prepare_cached(
            "SELECT id, version FROM recipe_version WHERE recipe_id = ? AND void_by IS NULL ORDER BY version DESC LIMIT 1",
        )?
        .query_row([recipe], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((id, version)) = newest else { return Ok((0, Vec::new())) };
    Ok((version, parts_of(conn, id)?))
}

fn parts_of(conn: &Connection, version: i64) -> Result<Vec<Part>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT p.material_id, m.name, p.amount, p.measure FROM recipe_part p JOIN material m ON m.id = p.material_id
             WHERE p.recipe_version_id = ? ORDER BY p.n",
        )?
        .query_map([version], |row| {
            let amount = Amount { milli: row.get(2)?, measure: row.get(3)? };
            Ok(Part { material: row.get(0)?, name: row.get(1)?, amount })
        })?
        .collect::<Result<_, _>>()?)
}

/// Recipes in use, by name.
pub(super) fn all(conn: &Connection) -> Result<Vec<Recipe>, StoreError> {
    let mut recipes: Vec<Recipe> = conn
        .prepare_cached(&format!("SELECT id, {RECIPE}, name, ml, life_d FROM recipe WHERE NOT retired ORDER BY name"))?
        .query_map([], |row| {
            Ok(Recipe {
                id: row.get(0)?,
                rev: row.get(1)?,
                name: row.get(2)?,
                ml: row.get(3)?,
                life_d: row.get(4)?,
                version: 0,
                parts: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    for recipe in &mut recipes {
        (recipe.version, recipe.parts) = parts(conn, recipe.id)?;
    }
    Ok(recipes)
}

/// What came in beside seed, with its lots. Index: `material_lot_code`.
pub(super) fn materials(conn: &Connection) -> Result<Vec<Material>, StoreError> {
    let mut materials: Vec<Material> = conn
        .prepare_cached("SELECT id, name FROM material WHERE NOT retired ORDER BY name")?
        .query_map([], |row| Ok(Material { id: row.get(0)?, name: row.get(1)?, lots: Vec::new() }))?
        .collect::<Result<_, _>>()?;
    for material in &mut materials {
        material.lots = conn
            .prepare_cached(
                "SELECT id, code, received, use_by, EXISTS (SELECT 1 FROM blocked WHERE material_lot_id = l.id)
                 FROM material_lot l WHERE material_id = ? AND void_by IS NULL ORDER BY received DESC, id DESC",
            )?
            .query_map([material.id], |row| {
                Ok(MaterialLot {
                    id: row.get(0)?,
                    code: row.get(1)?,
                    received: row.get(2)?,
                    use_by: row.get(3)?,
                    held: row.get(4)?,
                })
            })?
            .collect::<Result<_, _>>()?;
    }
    Ok(materials)
}

/// What an entry says of ingredients; `None` where it left them as they were.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let made: Option<(i64, i64, String)> = conn
        .prepare_cached(
            "SELECT v.id, v.version, r.name FROM recipe_version v JOIN recipe r ON r.id = v.recipe_id WHERE v.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((id, version, name)) = made else { return Ok(None) };
    let parts: Vec<String> =
        parts_of(conn, id)?.iter().map(|part| format!("{} {}", part.name, part.amount.short())).collect();
    Ok(Some(format!("ingredients of {name}, version {version}: {}", parts.join(", "))))
}

/// What an entry says of a lot that came in.
pub(super) fn received(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (name, code, use_by): (String, String, Option<String>) = conn
        .prepare_cached(
            "SELECT m.name, l.code, l.use_by FROM material_lot l JOIN material m ON m.id = l.material_id WHERE l.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let until = use_by.map_or_else(String::new, |day| format!(", use by {day}"));
    Ok(format!("{name} received, lot {code}{until}"))
}
