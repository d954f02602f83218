//! Sowing: the crop proposes the lot, the seed per tray, the places; the jar confirms the lot.

use super::seed::crop_options;
use super::{Wrong, milligrams, range, scaled, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::crop::{Crop, Medium, Soak};
use crate::domain::id::{CropId, FormatId, PlaceId, SeedLotId};
use crate::domain::room::{NOMINAL_AREA_CM2, Place, TrayFormat, Zone};
use crate::domain::seed_lot::SeedLot;
use crate::domain::seeding::{Seeding, odd_amount, scale_grams};
use crate::domain::sowing::{NewSowing, Part, TRAYS_MAX, Wetting, grams, part_lines, share_out};
use crate::domain::time::Day;

#[expect(clippy::cast_precision_loss, reason = "a few hundred trays")]
const MOST_TRAYS: f64 = TRAYS_MAX as f64;

pub(super) fn build(model: &Model) -> Form {
    let today = model.today();
    let formats: Vec<Opt> = model.board.formats.iter().map(|f| Opt::new(f.id.0.to_string(), f.name.clone())).collect();
    let media = Medium::ALL.iter().map(|m| Opt::new(m.stored(), m.shown())).collect();
    let first_format = formats.first().map_or_else(String::new, |opt| opt.value.clone());
    Form::new(
        "Sow",
        today,
        vec![
            Field::choice("crop", "crop", crop_options(model)).required(),
            Field::number("trays", "trays", range("", 1.0, MOST_TRAYS, 0)).required().starting("1"),
            Field::text("jar", "read off the jar", 40)
                .required()
                .help("Scan the jar, or type the last three characters of its code; two jars with a space between."),
            Field::number("grams", "seed per tray", range("g", 0.001, 5000.0, 3)).required(),
            Field::choice("lot", "first lot", vec![]).required(),
            Field::choice("place", "first place", vec![]).required().help("The trays fill free places from here on."),
            Field::number("soak_h", "hours soaked", range("h", 0.0, 48.0, 0)).starting("0"),
            Field::date("day", "sown on", None, Some(today)).required().starting("today"),
            Field::choice("format", "tray", formats).required().starting(&first_format),
            Field::number("mats", "mats per tray", range("", 1.0, 8.0, 0)).required().starting("1"),
            Field::choice("medium", "medium", media).required().starting("mat"),
            Field::text("medium_lot", "lot of the medium", 40),
            Field::choice("wet", "wetted with", vec![Opt::new("water", "water"), Opt::new("mix", "a mix")])
                .required()
                .starting("water"),
            Field::text("mix", "mix", 80).required().hidden().help("The label and local rules decide about any spray."),
            Field::number("wait", "wait before cutting", range("d", 0.0, 365.0, 1)).required().hidden(),
            Field::number("counted", "first jar holds", range("g", 0.0, 1_000_000.0, 3))
                .help("Only if it holds other than the book says."),
        ],
    )
}

/// What the form says so far, looked up.
struct Plan<'m> {
    crop: &'m Crop,
    format: &'m TrayFormat,
    /// Lots in the order of use, the chosen one first.
    lots: Vec<&'m SeedLot>,
    places: Vec<&'m Place>,
}

fn chosen<'m>(model: &'m Model, values: &Values) -> Option<Plan<'m>> {
    let crop = CropId(values.text("crop").parse().ok()?);
    let crop = model.crops.iter().find(|c| c.id == crop)?;
    let format = FormatId(values.text("format").parse().ok()?);
    let format = model.board.formats.iter().find(|f| f.id == format)?;
    let day = values.date("day").unwrap_or_else(|| model.today());
    let mut lots: Vec<&SeedLot> = model.lots.iter().filter(|l| l.crop == crop.id && l.bar(day).is_none()).collect();
    if let Some(first) = values.text("lot").parse().ok().map(SeedLotId) {
        lots.sort_by_key(|lot| lot.id != first);
    }
    let zone = if crop.plan.cover_d > 0 { Zone::Covered } else { Zone::Lit };
    let mut places = model.board.free_places();
    // the zone that fits first, isolation never by itself
    places.retain(|place| place.zone != Zone::Isolation);
    places.sort_by_key(|place| place.zone != zone);
    if let Some(first) = values.text("place").parse().ok().map(PlaceId)
        && let Some(at) = places.iter().position(|place| place.id == first)
    {
        places.rotate_left(at);
    }
    Some(Plan { crop, format, lots, places })
}

/// Milligrams of a lot for the form: what the jar was counted to hold, else what the book says.
fn left(lot: &SeedLot, first: bool, counted: Option<i64>) -> i64 {
    counted.filter(|_| first).unwrap_or(lot.left_mg)
}

fn parts(plan: &Plan<'_>, values: &Values) -> Option<Result<Vec<Part>, String>> {
    let per_tray = milligrams(values, "grams")?;
    let trays = usize::try_from(scaled(values, "trays", 1.0)?).ok()?;
    let counted = milligrams(values, "counted");
    let supply: Vec<(SeedLotId, i64)> =
        plan.lots.iter().enumerate().map(|(n, lot)| (lot.id, left(lot, n == 0, counted))).collect();
    Some(share_out(&supply, per_tray, trays).map_err(|short| {
        format!(
            "{} g of {} seed are missing: sow fewer trays, receive a lot, or count the jar.",
            grams(short.missing_mg),
            plan.crop.name
        )
    }))
}

/// Works out proposals and the arithmetic after every change.
pub(super) fn changed(model: &Model, form: &mut Form) {
    propose(model, form);
    let values = form.values();
    let mix = values.text("wet") == "mix";
    form.show("mix", mix);
    form.show("wait", mix);
    let mut lines = Vec::new();
    if let Some(plan) = chosen(model, &values) {
        lines.extend(seed_lines(&plan, &values));
        match parts(&plan, &values) {
            Some(Ok(parts)) => {
                let code =
                    |id: SeedLotId| plan.lots.iter().find(|l| l.id == id).map_or_else(String::new, |l| l.code.clone());
                lines.extend(part_lines(&parts, code));
            }
            Some(Err(short)) => lines.push(short),
            None => {}
        }
        lines.extend(place_line(&plan, &values));
    }
    form.lines = lines;
}

/// Proposes what depends on the crop; what the person typed stays.
fn propose(model: &Model, form: &mut Form) {
    let values = form.values();
    let Some(crop) =
        values.text("crop").parse().ok().map(CropId).and_then(|id| model.crops.iter().find(|c| c.id == id))
    else {
        return;
    };
    let day = values.date("day").unwrap_or_else(|| model.today());
    form.set_options("lot", lot_options(model, crop.id, day));
    if let Some(first) = model.lots.iter().find(|l| l.crop == crop.id && l.bar(day).is_none()) {
        form.set_default("lot", &first.id.0.to_string());
    }
    let zone = if crop.plan.cover_d > 0 { Zone::Covered } else { Zone::Lit };
    let mut places = model.board.free_places();
    places.retain(|place| place.zone != Zone::Isolation);
    places.sort_by_key(|place| place.zone != zone);
    form.set_options(
        "place",
        places.iter().map(|p| Opt::new(p.id.0.to_string(), p.label()).hint(p.zone.shown())).collect(),
    );
    if let Some(first) = places.first() {
        form.set_default("place", &first.id.0.to_string());
    }
    form.set_default("medium", crop.medium.stored());
    form.set_default("soak_h", &crop.plan.soak_h.to_string());
    let values = form.values();
    if let Some(plan) = chosen(model, &values)
        && let Some(amount) = proposed_grams(&plan)
    {
        form.set_default("grams", &format!("{amount:.1}"));
    }
}

fn lot_options(model: &Model, crop: CropId, day: Day) -> Vec<Opt> {
    model
        .lots
        .iter()
        .filter(|lot| lot.crop == crop && lot.left_mg > 0)
        .map(|lot| {
            let until = lot.use_by.map_or_else(String::new, |d| format!(", use by {d}"));
            let opt = Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(format!("{} g{until}", grams(lot.left_mg)));
            match lot.bar(day) {
                Some(why) => opt.blocked(why),
                None => opt,
            }
        })
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "field values are far below 2^53")]
fn seeding(plan: &Plan<'_>) -> Option<Seeding> {
    let tsw_mg = plan.lots.first().and_then(|lot| lot.tsw_mg).or(plan.crop.tsw_mg)?;
    let area_cm2 = plan.format.area_cm2();
    let tsw_g = tsw_mg as f64 / 1000.0;
    // the crop's seeds per cm² stand for its usual seed; a lot with heavier seed gets more grams for as many seeds
    let usual_tsw = plan.crop.tsw_mg.unwrap_or(tsw_mg) as f64 / 1000.0;
    let seeds_per_cm2 = plan.crop.tray_mg as f64 / usual_tsw / NOMINAL_AREA_CM2;
    let pct = |pm: i64| pm as f64 / 10.0;
    let germination_pct = plan.lots.first().and_then(|lot| lot.germ_pm).map(pct);
    Some(Seeding { seeds_per_cm2, area_cm2, tsw_g, germination_pct, target_pct: plan.crop.want_germ_pm.map(pct) })
}

/// Grams a tray should get: by density, seed weight and germination, or the crop's own grams scaled by area.
#[expect(clippy::cast_precision_loss, reason = "field values are far below 2^53")]
fn proposed_grams(plan: &Plan<'_>) -> Option<f64> {
    match seeding(plan) {
        Some(seeding) => seeding.grams_to_sow().ok().map(|worked| worked.grams),
        None => scale_grams(plan.crop.tray_mg as f64 / 1000.0, NOMINAL_AREA_CM2, plan.format.area_cm2()).ok(),
    }
}

fn seed_lines(plan: &Plan<'_>, values: &Values) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(worked) = seeding(plan).and_then(|seeding| seeding.grams_to_sow().ok()) {
        lines.extend(worked.lines());
    }
    if let (Some(typed), Some(proposed)) = (values.number("grams"), proposed_grams(plan)) {
        let off = (typed - proposed) / proposed * 100.0;
        if off.abs() >= 1.0 {
            lines.push(format!("You sow {typed} g: {off:+.0} % against {proposed:.1} g."));
        }
        if let Some(odd) = odd_amount(typed, proposed) {
            lines.push(format!("Check this: {odd}."));
        }
    }
    if plan.lots.is_empty() {
        lines.push(format!("There is no {} seed that may be sown: receive a lot first (seed shelf).", plan.crop.name));
    }
    lines
}

fn place_line(plan: &Plan<'_>, values: &Values) -> Option<String> {
    let trays = usize::try_from(scaled(values, "trays", 1.0)?).ok()?;
    if trays > plan.places.len() {
        return Some(format!("{trays} trays and only {} free places.", plan.places.len()));
    }
    let (first, last) = (plan.places.first()?, plan.places.get(trays.checked_sub(1)?)?);
    let zone = first.zone.shown();
    Some(if trays == 1 {
        format!("Stands at {} ({zone}).", first.label())
    } else {
        format!("Stand at {} to {} ({zone} first).", first.label(), last.label())
    })
}

/// Each lot that is used must have been read off its jar.
fn confirmed(plan: &Plan<'_>, parts: &[Part], jar: &str) -> Result<(), Wrong> {
    let tokens: Vec<String> = jar
        .split([' ', ',', ';'])
        .map(|t| t.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase())
        .filter(|t| !t.is_empty())
        .collect();
    let matches = |lot: &SeedLot| {
        let code: String = lot.code.chars().filter(char::is_ascii_alphanumeric).collect();
        tokens.iter().any(|token| token.len() >= 3 && code.ends_with(token.as_str()))
    };
    for lot in plan.lots.iter().filter(|lot| parts.iter().flat_map(|p| &p.seed).any(|(id, _)| *id == lot.id)) {
        if !matches(lot) {
            let other = plan.lots.iter().find(|l| matches(l)).map_or_else(String::new, |l| {
                format!(" That jar is {}: choose it as the first lot, or take the other jar.", l.code)
            });
            return Err((Some("jar"), format!("Read the last three characters off the jar of {}.{other}", lot.code)));
        }
    }
    Ok(())
}

pub(super) fn action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let plan = chosen(model, values).ok_or((Some("crop"), "Choose the crop.".to_string()))?;
    let soak_h = scaled(values, "soak_h", 1.0).unwrap_or(0);
    if plan.crop.soak == Soak::Never && soak_h > 0 {
        return Err((
            Some("soak_h"),
            format!("{} seed turns to slime in water and clumps: sow it dry.", plan.crop.name),
        ));
    }
    let parts = parts(&plan, values)
        .ok_or((Some("grams"), "Say how much seed a tray gets.".to_string()))?
        .map_err(|why| (Some("trays"), why))?;
    confirmed(&plan, &parts, values.text("jar"))?;
    let trays: usize = parts.iter().map(|part| part.trays).sum();
    if trays > plan.places.len() {
        return Err((Some("trays"), format!("Only {} places are free: sow fewer, or free some.", plan.places.len())));
    }
    let counts = match (milligrams(values, "counted"), plan.lots.first()) {
        (Some(counted), Some(lot)) if counted != lot.left_mg => vec![(lot.id, counted)],
        _ => vec![],
    };
    let wetting = if values.text("wet") == "mix" {
        Wetting::Mix { name: values.text("mix").to_string(), wait_h: scaled(values, "wait", 24.0).unwrap_or(0) }
    } else {
        Wetting::Water
    };
    Ok(Action::Sow(Box::new(NewSowing {
        crop: plan.crop.id,
        day: values.date("day").unwrap_or_else(|| model.today()),
        format: plan.format.id,
        mats: scaled(values, "mats", 1.0).unwrap_or(1),
        medium: Medium::from_stored(values.text("medium")).unwrap_or(Medium::Mat),
        medium_lot: some_text(values, "medium_lot"),
        wetting,
        soak_h,
        parts,
        places: plan.places.iter().take(trays).map(|place| place.id).collect(),
        counts,
    })))
}
