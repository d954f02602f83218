//! Bottles prepared by a recipe: what went into them, what is left, what became of them.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::breach::against;
use super::error::StoreError;
use super::facts::{MIX, MIX_END, MIX_PART};
use super::hold::{self, MATERIAL, MIX as HELD_BY};
use super::ids::day_sql;
use super::recipe;
use super::writer::Writer;
use crate::domain::code::Code;
use crate::domain::id::{EntryId, MaterialId, MaterialLotId, MixId};
use crate::domain::measure::Amount;
use crate::domain::mix::{ML_MAX, Mix, MixEnd, NewMix};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant};

pub(super) fn prepare(w: &mut Writer<'_>, new: &NewMix) -> Result<Wrote, StoreError> {
    if !(1..=ML_MAX).contains(&new.ml) {
        return Err(Refusal::new("mix_ml", "A bottle holds 1 mL to 1000 L.").at("ml").into());
    }
    let Some(recipe) = recipe::all(w.conn)?.into_iter().find(|recipe| recipe.id == new.recipe) else {
        return Err(Refusal::new("recipe_unknown", "This recipe is not in use: open the list again.").into());
    };
    if recipe.version != new.version || recipe.parts.len() != new.lots.len() {
        let why = "Someone changed what goes into this recipe: open it again before you mix.";
        return Err(Refusal::new("recipe_meanwhile", why).into());
    }
    let amounts = recipe.scaled(new.ml).map_err(|why| too_little(&why))?;
    let version: i64 = w.conn.query_row(
        "SELECT id FROM recipe_version WHERE recipe_id = ? AND version = ? AND void_by IS NULL",
        params![recipe.id, recipe.version],
        |row| row.get(0),
    )?;
    let expires = Instant(w.at().0 + chrono::Duration::days(recipe.life_d));
    let use_by = w.now.local(expires).date_naive();
    let next: i64 = w.conn.query_row("SELECT coalesce(max(id), 0) + 1 FROM mix", [], |row| row.get(0))?;
    let code = Code::mix(next).to_string();
    let id = w.fact(
        MIX,
        &[
            ("code", &code),
            ("recipe_id", &recipe.id),
            ("ml", &new.ml),
            ("expires_at", &expires),
            ("recipe_version_id", &version),
            ("use_by", &day_sql(use_by)),
        ],
    )?;
    let mut old = Vec::new();
    for (n, ((part, (_, amount)), lot)) in (0i64..).zip(recipe.parts.iter().zip(&amounts).zip(&new.lots)) {
        if let Some(lot) = lot {
            old.extend(lot_of(w, *lot, part.material, &part.name)?);
        }
        w.fact(
            MIX_PART,
            &[
                ("mix_id", &id),
                ("n", &n),
                ("material_id", &part.material),
                ("material_lot_id", lot),
                ("amount", &amount.milli),
                ("measure", &amount.measure),
            ],
        )?;
    }
    let keeps = w.now.local(expires).format("%d %b %H:%M");
    let past = if old.is_empty() { String::new() } else { format!(" Past its day: {}.", old.join(", ")) };
    let sentence =
        format!("{} {}, {} mL: write {code} on the bottle, keeps until {keeps}.{past}", recipe.name, code, new.ml);
    Ok(Wrote::said(sentence).made(id))
}

fn too_little(why: &crate::domain::mix::ScaleError) -> StoreError {
    let text = why.to_string();
    Refusal::new("mix_amounts", format!("For that volume {text}.")).at("ml").into()
}

/// Refuses a lot that is not of this ingredient, came in later or is held; names one that is past its day.
fn lot_of(
    w: &mut Writer<'_>,
    lot: MaterialLotId,
    material: MaterialId,
    name: &str,
) -> Result<Option<String>, StoreError> {
    let known: Option<(String, Day, Option<Day>)> = w
        .conn
        .prepare_cached(
            "SELECT code, received, use_by FROM material_lot WHERE id = ? AND material_id = ? AND void_by IS NULL",
        )?
        .query_row(params![lot, material], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    match known {
        Some((code, received, use_by)) if received <= w.day() => {
            // a breach of it holds nothing by itself: the bottle is held as long as the lot is
            if hold::bars(w.conn, (MATERIAL, lot.0))? {
                against(w, hold::held_material(name, &code), Some((MATERIAL, lot.0)))?;
            }
            Ok(use_by.filter(|day| *day < w.day()).map(|_| format!("{name} {code}")))
        }
        _ => {
            let sentence = format!("This is no lot of {name} that was here then: choose another.");
            Err(Refusal::new("mix_lot", sentence).into())
        }
    }
}

/// A bottle as it was at some moment.
pub(super) struct Bottle {
    pub code: String,
    pub name: String,
    pub left_ml: i64,
    pub prepared: Instant,
    pub expires: Option<Instant>,
    pub ended: Option<Instant>,
    pub held: bool,
}

/// A bottle by its row.
pub(super) fn bottle(conn: &Connection, id: MixId) -> Result<Bottle, StoreError> {
    let held = hold::bars(conn, (HELD_BY, id.0))?;
    conn.prepare_cached(
        "SELECT m.code, coalesce(r.name, ''),
                m.ml - (SELECT coalesce(sum(ml), 0) FROM treatment WHERE mix_id = m.id AND void_by IS NULL),
                coalesce(e.seen_at, e.at), m.expires_at,
                (SELECT coalesce(o.seen_at, o.at) FROM mix_end x JOIN entry o ON o.id = x.entry_id
                 WHERE x.mix_id = m.id AND x.void_by IS NULL)
         FROM mix m JOIN entry e ON e.id = m.entry_id LEFT JOIN recipe r ON r.id = m.recipe_id
         WHERE m.id = ? AND m.void_by IS NULL",
    )?
    .query_row([id], |row| {
        Ok(Bottle {
            code: row.get(0)?,
            name: row.get(1)?,
            left_ml: row.get(2)?,
            prepared: row.get(3)?,
            expires: row.get(4)?,
            ended: row.get(5)?,
            held,
        })
    })
    .optional()?
    .ok_or_else(|| Refusal::new("mix_unknown", "This mix is not in the book: open the list again.").at("what").into())
}

pub(super) fn end(w: &mut Writer<'_>, id: MixId, what: MixEnd) -> Result<Wrote, StoreError> {
    let bottle = bottle(w.conn, id)?;
    if bottle.ended.is_some() {
        let sentence = format!("{} is gone by the book already: its story says how.", bottle.code);
        return Err(Refusal::new("mix_ended", sentence).into());
    }
    w.fact(MIX_END, &[("mix_id", &id), ("what", &what)])?;
    Ok(Wrote::said(format!("{} {}: {}.", bottle.name, bottle.code, what.shown())))
}

/// Bottles that are still there, the soonest to expire first. Indexes: `treatment_mix`, `mix_end_mix`.
pub(super) fn all(conn: &Connection) -> Result<Vec<Mix>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT m.id, m.code, coalesce(r.name, ''), m.ml,
                    m.ml - (SELECT coalesce(sum(ml), 0) FROM treatment WHERE mix_id = m.id AND void_by IS NULL),
                    e.day, m.expires_at, m.use_by, EXISTS (SELECT 1 FROM blocked WHERE mix_id = m.id)
                    OR EXISTS (SELECT 1 FROM mix_part p CROSS JOIN blocked b ON b.material_lot_id = p.material_lot_id
                      WHERE p.mix_id = m.id)
             FROM mix m JOIN entry e ON e.id = m.entry_id LEFT JOIN recipe r ON r.id = m.recipe_id
             WHERE m.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM mix_end x WHERE x.mix_id = m.id AND x.void_by IS NULL)
             ORDER BY m.expires_at, m.id",
        )?
        .query_map([], |row| {
            Ok(Mix {
                id: row.get(0)?,
                code: row.get(1)?,
                name: row.get(2)?,
                made_ml: row.get(3)?,
                left_ml: row.get(4)?,
                prepared: row.get(5)?,
                expires: row.get(6)?,
                use_by: row.get(7)?,
                held: row.get(8)?,
            })
        })?
        .collect::<Result<_, _>>()?)
}

/// What an entry says of a bottle prepared.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (id, code, name, ml, use_by): (MixId, String, String, i64, String) = conn
        .prepare_cached(
            "SELECT m.id, m.code, coalesce(r.name, ''), m.ml, coalesce(m.use_by, '') FROM mix m
             LEFT JOIN recipe r ON r.id = m.recipe_id WHERE m.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let parts: Vec<String> = conn
        .prepare_cached(
            "SELECT a.name, p.amount, p.measure, l.code FROM mix_part p JOIN material a ON a.id = p.material_id
             LEFT JOIN material_lot l ON l.id = p.material_lot_id WHERE p.mix_id = ? ORDER BY p.n",
        )?
        .query_map([id], |row| {
            let amount = Amount { milli: row.get(1)?, measure: row.get(2)? };
            let lot: Option<String> = row.get(3)?;
            let lot = lot.map_or_else(|| "lot not recorded".to_string(), |code| format!("lot {code}"));
            Ok(format!("{} {} ({lot})", row.get::<_, String>(0)?, amount.short()))
        })?
        .collect::<Result<_, _>>()?;
    Ok(format!("{name} prepared, {ml} mL in {code}, keeps until {use_by}: {}", parts.join(", ")))
}

/// What an entry says of a bottle that is gone.
pub(super) fn ended(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT coalesce(r.name, ''), m.code, x.what FROM mix_end x JOIN mix m ON m.id = x.mix_id
             LEFT JOIN recipe r ON r.id = m.recipe_id WHERE x.entry_id = ?",
        )?
        .query_row([entry], |row| {
            let what: MixEnd = row.get(2)?;
            Ok(format!("{} {}: {}", row.get::<_, String>(0)?, row.get::<_, String>(1)?, what.shown()))
        })?)
}
