//! Crops of the room, their growing plans and shelf-life anchors.

mod figures;

use std::collections::HashMap;

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{ANCHOR, ANCHOR_SET, GROW_PLAN, GROW_PLAN_DAY};
use super::product;
use super::revision::{self, fresh};
use super::writer::{Cell, Writer};
use crate::domain::action::{EditCrop, NewCrop};
use crate::domain::crop::{Crop, Plan, Soak};
use crate::domain::id::{CropId, PlanId};
use crate::domain::keeping::CHILLING_DC;
use crate::domain::look::Roots;
use crate::domain::refusal::Refusal;
use crate::domain::room::NOMINAL_AREA_CM2;
use crate::domain::starter;
use crate::domain::text::counted;
use figures::{from_starter, own_sources, round, sources};

pub(super) fn add_starter(w: &mut Writer<'_>, letters: &str) -> Result<Wrote, StoreError> {
    let crops = starter::starter_crops().map_err(|e| Refusal::new("starter_table", e.to_string()))?;
    let Some(crop) = crops.iter().find(|crop| crop.letters == letters) else {
        let sentence = format!("There is no starter crop {letters}: add it as a crop of your own.");
        return Err(Refusal::new("crop_unknown", sentence).at("crops").into());
    };
    let edit = from_starter(crop);
    let id = create(w, letters, &edit, &sources(crop))?;
    let plan_source = format!("cover: {}; cutting days: {}", crop.cover_d.source, crop.cut_d.source);
    plan(w, id, &Plan { source: plan_source, ..edit.plan })?;
    let life: Vec<String> = crop
        .anchors
        .iter()
        .map(|a| {
            format!("{} °C: {}{}", a.temp_c, a.source, a.mark.as_ref().map_or(String::new(), |m| format!(" ({m})")))
        })
        .collect();
    anchors(w, id, &edit.anchors, &life.join("; "))?;
    Ok(Wrote::said(format!("{} is in the room.", crop.name)).made(id.0))
}

pub(super) fn add_own(w: &mut Writer<'_>, new: &NewCrop) -> Result<Wrote, StoreError> {
    let letters = new.letters.trim().to_ascii_uppercase();
    if letters.len() != 3 || !letters.chars().all(|c| c.is_ascii_uppercase()) || letters == "MIX" {
        return Err(Refusal::new("letters", "A crop's letters are three from A to Z, other than MIX, such as RAD.")
            .at("letters")
            .into());
    }
    check(&new.edit)?;
    let id = create(w, &letters, &new.edit, "{}")?;
    plan(w, id, &Plan { source: "own figures".into(), ..new.edit.plan.clone() })?;
    anchors(w, id, &new.edit.anchors, "own figures")?;
    Ok(Wrote::said(format!("{} is in the room.", new.edit.name)).made(id.0))
}

fn check(edit: &EditCrop) -> Result<(), Refusal> {
    let name = edit.name.trim();
    if !(1..=40).contains(&name.chars().count()) {
        return Err(Refusal::new("crop_name", "A crop's name has 1 to 40 characters.").at("name"));
    }
    if !(1..=5_000_000).contains(&edit.tray_mg) {
        return Err(Refusal::new("crop_grams", "Seed per tray is more than 0 g and at most 5000 g.").at("grams"));
    }
    if edit.soak == Soak::Never && edit.plan.soak_h > 0 {
        return Err(
            Refusal::new("plan_soak", "This seed turns to slime in water: soaking hours must be 0.").at("soak_h")
        );
    }
    edit.plan.check().map_err(|why| Refusal::new("plan", why).at("cut_from"))?;
    let falling = edit.anchors.windows(2).all(|pair| matches!(pair, [a, b] if a.0 < b.0 && a.1 > b.1));
    if edit.anchors.is_empty() || !falling {
        return Err(Refusal::new(
            "anchors",
            "Shelf life needs at least one temperature, and warmer must keep shorter.",
        )
        .at("anchors"));
    }
    if edit.chilling && edit.anchors.iter().all(|(dc, _)| *dc < CHILLING_DC) {
        let why = "Cold harms this crop, so a life in the cold is no figure for it: say how long it keeps at 10 °C or warmer.";
        return Err(Refusal::new("crop_chilling", why).at("anchors"));
    }
    if edit.most_d.is_some_and(|days| !(1..=400).contains(&days)) {
        return Err(Refusal::new("crop_most", "Say 1 to 400 days from the cut, or none.").at("most"));
    }
    for (field, cents) in [("seed_price", edit.seed_kg_c), ("tray_price", edit.tray_c)] {
        if cents.is_some_and(|cents| !(0..=1_000_000).contains(&cents)) {
            return Err(Refusal::new("crop_price", "A price is 0 to 10000, or none.").at(field));
        }
    }
    Ok(())
}

/// Seeds per dm² behind the grams of a nominal tray, where a thousand-seed weight is known.
fn seeds_dm2(tsw_mg: Option<i64>, tray_mg: i64) -> Option<i64> {
    let tsw = tsw_mg.filter(|mg| *mg > 0)?;
    #[expect(clippy::cast_precision_loss, reason = "milligrams of seed are far below 2^53")]
    let seeds = tray_mg as f64 * 1000.0 / tsw as f64;
    Some(round(seeds / (NOMINAL_AREA_CM2 / 100.0)).max(1))
}

fn create(w: &mut Writer<'_>, letters: &str, edit: &EditCrop, sources: &str) -> Result<CropId, StoreError> {
    // a crop without a plan was taken back before
    let free = "NOT EXISTS (SELECT 1 FROM grow_plan g WHERE g.crop_id = crop.id AND g.void_by IS NULL)";
    let name = edit.name.trim();
    let mut cells: Vec<Cell<'_>> = vec![("letters", &letters), ("name", &name), ("sources", &sources)];
    cells.extend(figures(edit));
    Ok(CropId(w.make("crop", 1, free, &cells)?))
}

/// The columns of a crop that its form fills as they are.
fn figures(edit: &EditCrop) -> [Cell<'_>; 18] {
    [
        ("soak", &edit.soak),
        ("chilling", &edit.chilling),
        ("hairs_expected", &edit.hairs_expected),
        ("roots_hidden", &edit.roots_hidden),
        ("second_cut", &edit.second_cut),
        ("weighted", &edit.weighted),
        ("medium", &edit.medium),
        ("tsw_mg", &edit.tsw_mg),
        ("tray_mg", &edit.tray_mg),
        ("yield_g", &edit.yield_g),
        ("min_germ_pm", &edit.min_germ_pm),
        ("want_germ_pm", &edit.want_germ_pm),
        ("most_d", &edit.most_d),
        ("seed_kg_c", &edit.seed_kg_c),
        ("tray_c", &edit.tray_c),
        ("allergen", &edit.allergen),
        ("us_list", &edit.us_list),
        ("light_hours", &edit.light_hours),
    ]
}

/// The number of a crop's next version in a table of versions; numbers that were taken back are not used again.
fn next_version(w: &Writer<'_>, table: &str, crop: CropId) -> Result<i64, StoreError> {
    let text = format!("SELECT coalesce(max(version), 0) + 1 FROM {table} WHERE crop_id = ?");
    Ok(w.conn.prepare_cached(&text)?.query_row([crop], |row| row.get(0))?)
}

/// Writes the next version of the plan; `seeds_dm2` is worked out from the crop as it now stands.
fn plan(w: &mut Writer<'_>, crop: CropId, plan: &Plan) -> Result<(), StoreError> {
    let version = next_version(w, GROW_PLAN.name, crop)?;
    let (tsw_mg, tray_mg): (Option<i64>, i64) =
        w.conn
            .query_row("SELECT tsw_mg, tray_mg FROM crop WHERE id = ?", [crop], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let id = w.fact(
        GROW_PLAN,
        &[
            ("crop_id", &crop),
            ("version", &version),
            ("soak_h", &plan.soak_h),
            ("cover_d", &plan.cover_d),
            ("cut_from_d", &plan.cut_from_d),
            ("cut_to_d", &plan.cut_to_d),
            ("seeds_dm2", &seeds_dm2(tsw_mg, tray_mg)),
            ("source", &plan.source),
        ],
    )?;
    for (day, roots) in &plan.roots {
        w.fact(GROW_PLAN_DAY, &[("grow_plan_id", &id), ("day", day), ("roots", roots)])?;
    }
    Ok(())
}

/// Writes the next version of the shelf life.
pub(super) fn anchors(
    w: &mut Writer<'_>,
    crop: CropId,
    anchors: &[(i64, i64)],
    source: &str,
) -> Result<(), StoreError> {
    let version = next_version(w, ANCHOR_SET.name, crop)?;
    let set = w.fact(ANCHOR_SET, &[("crop_id", &crop), ("version", &version), ("source", &source)])?;
    for (temp_dc, life_h) in anchors {
        w.fact(ANCHOR, &[("anchor_set_id", &set), ("temp_dc", temp_dc), ("life_h", life_h)])?;
    }
    Ok(())
}

pub(super) fn edit(w: &mut Writer<'_>, edit: &EditCrop) -> Result<Wrote, StoreError> {
    fresh(w.conn, "crop", edit.crop.0, edit.rev)?;
    check(edit)?;
    if edit.retired {
        let standing: i64 = w.conn.query_row(
            "SELECT count(*) FROM tray_now n CROSS JOIN tray t ON t.id = n.tray_id JOIN sowing_now s ON s.id = t.sowing_id WHERE s.crop_id = ?",
            [edit.crop],
            |row| row.get(0),
        )?;
        if standing > 0 {
            return Err(Refusal::new(
                "crop_standing",
                format!(
                    "Still in the room: {} of it. Cut or throw them out first.",
                    counted(usize::try_from(standing).unwrap_or(0), "tray")
                ),
            )
            .into());
        }
    }
    let id = edit.crop.0;
    let old = all(w.conn)?.into_iter().find(|crop| crop.id == edit.crop);
    let old =
        old.ok_or_else(|| Refusal::new("crop_unknown", "This crop is not in the book: choose another.").at("crop"))?;
    let (name, sources) = (edit.name.trim(), own_sources(&old, edit));
    let mut cells: Vec<Cell<'_>> = vec![("name", &name), ("sources", &sources), ("retired", &edit.retired)];
    cells.extend(figures(edit));
    let changed = w.edit("crop", id, &cells)?;
    let was = old.plan;
    let new = Plan {
        id: was.id,
        version: was.version,
        source: was.source.clone(),
        seeds_dm2: was.seeds_dm2,
        ..edit.plan.clone()
    };
    let replanned = new != was;
    if replanned {
        plan(w, edit.crop, &Plan { source: "own figures".into(), ..new })?;
    }
    let rekept = old.anchors != edit.anchors;
    if rekept {
        anchors(w, edit.crop, &edit.anchors, "own figures")?;
    }
    if !(changed || replanned || rekept) {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    let plan_word = if replanned { " Trays sown from now on follow the new plan." } else { "" };
    let sold = if edit.retired { product::made_of(w.conn, edit.crop)? } else { vec![] };
    let sold_word = if sold.is_empty() {
        String::new()
    } else {
        format!(" Still sold as {}: put that out of use when the last of it is gone.", sold.join(", "))
    };
    Ok(Wrote::said(format!("{}: saved.{plan_word}{sold_word}", edit.name.trim())).made(id))
}

/// Name and soaking of a crop that is grown here.
pub(super) fn grown(conn: &Connection, crop: CropId) -> Result<(String, Soak), StoreError> {
    conn.prepare_cached("SELECT name, soak FROM crop WHERE id = ? AND NOT retired")?
        .query_row([crop], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?
        .ok_or_else(|| {
            Refusal::new("crop_unknown", "Choose one of the room's crops, or add it in settings.").at("crop").into()
        })
}

/// The newest plan of a crop.
pub(super) fn plan_of(conn: &Connection, crop: CropId) -> Result<Plan, StoreError> {
    let newest: Option<PlanId> = conn
        .prepare_cached("SELECT id FROM grow_plan WHERE crop_id = ? AND void_by IS NULL ORDER BY version DESC LIMIT 1")?
        .query_row([crop], |row| row.get(0))
        .optional()?;
    let Some(newest) = newest else {
        return Err(Refusal::new("no_plan", "This crop has no growing plan: give it one in settings.")
            .at("crop")
            .into());
    };
    plan_by_id(conn, newest)
}

fn plan_by_id(conn: &Connection, id: PlanId) -> Result<Plan, StoreError> {
    let roots: Vec<(i64, Roots)> = conn
        .prepare_cached("SELECT day, roots FROM grow_plan_day WHERE grow_plan_id = ? ORDER BY day")?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let plan = conn
        .prepare_cached(
            "SELECT version, soak_h, cover_d, cut_from_d, cut_to_d, seeds_dm2, source FROM grow_plan WHERE id = ?",
        )?
        .query_row([id], |row| {
            Ok(Plan {
                id,
                version: row.get(0)?,
                soak_h: row.get(1)?,
                cover_d: row.get(2)?,
                cut_from_d: row.get(3)?,
                cut_to_d: row.get(4)?,
                seeds_dm2: row.get(5)?,
                source: row.get(6)?,
                roots,
            })
        })?;
    Ok(plan)
}

/// Every plan that is asked for, read once.
#[derive(Default)]
pub(super) struct Plans(HashMap<PlanId, Plan>);

impl Plans {
    pub fn get(&mut self, conn: &Connection, id: PlanId) -> Result<Plan, StoreError> {
        if let Some(plan) = self.0.get(&id) {
            return Ok(plan.clone());
        }
        let plan = plan_by_id(conn, id)?;
        self.0.insert(id, plan.clone());
        Ok(plan)
    }
}

/// The newest shelf-life anchors of a crop, from cold to warm.
pub(super) fn anchors_of(conn: &Connection, crop: CropId) -> Result<Vec<(i64, i64)>, StoreError> {
    let newest: Option<i64> = conn
        .prepare_cached(
            "SELECT id FROM anchor_set WHERE crop_id = ? AND void_by IS NULL ORDER BY version DESC LIMIT 1",
        )?
        .query_row([crop], |row| row.get(0))
        .optional()?;
    let Some(set) = newest else { return Ok(Vec::new()) };
    let anchors = conn
        .prepare_cached("SELECT temp_dc, life_h FROM anchor WHERE anchor_set_id = ? ORDER BY temp_dc")?
        .query_map([set], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    Ok(anchors)
}

/// Crops by name, those in use first; without those whose making was taken back.
pub(super) fn all(conn: &Connection) -> Result<Vec<Crop>, StoreError> {
    let mut select = conn.prepare_cached(&format!(
        "SELECT id, {}, letters, name, soak, chilling, hairs_expected, roots_hidden, second_cut, weighted, medium, tsw_mg,
                tray_mg, yield_g, min_germ_pm, want_germ_pm, allergen, us_list, light_hours, sources, retired, most_d, seed_kg_c, tray_c
         FROM crop WHERE EXISTS (SELECT 1 FROM grow_plan g WHERE g.crop_id = crop.id AND g.void_by IS NULL)
         ORDER BY retired, name",
        revision::CROP
    ))?;
    let mut rows = select.query([])?;
    let mut crops = Vec::new();
    while let Some(row) = rows.next()? {
        let id: CropId = row.get(0)?;
        crops.push(Crop {
            id,
            rev: row.get(1)?,
            letters: row.get(2)?,
            name: row.get(3)?,
            soak: row.get(4)?,
            chilling: row.get(5)?,
            hairs_expected: row.get(6)?,
            roots_hidden: row.get(7)?,
            second_cut: row.get(8)?,
            weighted: row.get(9)?,
            medium: row.get(10)?,
            tsw_mg: row.get(11)?,
            tray_mg: row.get(12)?,
            yield_g: row.get(13)?,
            min_germ_pm: row.get(14)?,
            want_germ_pm: row.get(15)?,
            most_d: row.get(21)?,
            seed_kg_c: row.get(22)?,
            tray_c: row.get(23)?,
            allergen: row.get(16)?,
            us_list: row.get(17)?,
            light_hours: row.get(18)?,
            sources: row.get(19)?,
            retired: row.get(20)?,
            plan: plan_of(conn, id)?,
            anchors: anchors_of(conn, id)?,
        });
    }
    Ok(crops)
}
