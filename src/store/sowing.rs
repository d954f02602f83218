//! Sowing: one form, one entry; a change of seed lot makes a further sowing, so that a recall takes only its trays.

use rusqlite::{Connection, params};

use super::act::Wrote;
use super::breach::{RECEIVED_BY, against, hold};
use super::error::StoreError;
use super::facts::{PLACEMENT, SEED_MOVE, SOAK, SOWING, STAGE, TRAY, WATER, WATER_TRAY};
use super::hold::{MATERIAL, SEED, held_seed};
use super::ids::day_sql;
use super::writer::Writer;
use super::{crop, recipe, room, seed_lot, soak, treatment};
use crate::domain::code::Code;
use crate::domain::crop::Soak;
use crate::domain::id::{BreachId, FormatId, MaterialLotId, PlaceId, SeedLotId, SowingId, TrayId};
use crate::domain::period::Period;
use crate::domain::refusal::Refusal;
use crate::domain::soak::Soaking;
use crate::domain::sowing::{NewSowing, Part, SOAK_H, SOAK_MAX_H, Wetting};
use crate::domain::text::counted;
use crate::domain::time::Instant;
use crate::domain::tray::Stage;
use crate::domain::treatment::{Listed, NewTreatment};

/// A rule the sowing broke, and the lot it is about if it is about one.
type Broken = (BreachId, Option<SeedLotId>);

/// Trays sown on some days, as the sowing counts now; ?3: also those that stood there before the book. Indexes: `sowing_day_crop`,
/// `sowing_fix_day`, `sowing_fix_sowing`, `tray_sowing`.
const OF_DAYS: &str = "SELECT t.id, t.sowing_id
  FROM (SELECT id FROM sowing WHERE day BETWEEN ?1 AND ?2
        UNION SELECT sowing_id FROM sowing_fix WHERE day BETWEEN ?1 AND ?2 AND void_by IS NULL) x
  CROSS JOIN sowing s ON s.id = x.id
  LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)
  CROSS JOIN tray t ON t.sowing_id = s.id
  WHERE s.void_by IS NULL AND (?3 OR NOT s.before_book) AND coalesce(f.day, s.day) BETWEEN ?1 AND ?2";

/// Trays sown on some days with their batch, by number; `before_book`: also those that the book did not see sown.
pub(super) fn of_days(
    conn: &Connection,
    period: Period,
    before_book: bool,
) -> Result<Vec<(TrayId, SowingId)>, StoreError> {
    let mut trays: Vec<(TrayId, SowingId)> = conn
        .prepare_cached(OF_DAYS)?
        .query_map(params![day_sql(period.from), day_sql(period.to), before_book], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?
        .collect::<Result<_, _>>()?;
    trays.sort_unstable();
    Ok(trays)
}

pub(super) fn sow(w: &mut Writer<'_>, new: &NewSowing) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("sowing", why).at(field))?;
    let (name, soaking) = crop::grown(w.conn, new.crop)?;
    room::usable_format(w.conn, new.format)?;
    if !(0..=SOAK_MAX_H).contains(&new.soak_h) {
        return Err(Refusal::new("soak_range", "Seed is soaked for 0 hours to a week.").at("soak_h").into());
    }
    let mut broken: Vec<Broken> = Vec::new();
    if soaking == Soak::Never && new.soak_h > 0 {
        let sentence = format!("{name} seed turns to slime in water and clumps: sow it dry.");
        broken.push((against(w, Refusal::new("soak_never", sentence).at("soak_h"), None)?, None));
    }
    if new.soak_h > SOAK_H {
        let sentence = format!("Soaking takes 0 to {SOAK_H} hours; longer drowns the seed.");
        broken.push((against(w, Refusal::new("soak_hours", sentence).at("soak_h"), None)?, None));
    }
    let mut pool = soak::pool(w, new)?;
    broken.extend(soak::broken(w, &pool, &name, soaking == Soak::Never)?);
    let plan = crop::plan_of(w.conn, new.crop)?;
    for (lot, counted) in &new.counts {
        seed_lot::count(w, *lot, *counted)?;
    }
    check_lots(w, new, &mut broken)?;
    let medium_lot = medium_lot(w, new, &mut broken)?;
    let mut places = new.places.iter();
    let stage = if plan.cover_d > 0 { Stage::Covered } else { Stage::Lit };
    let mut codes = Vec::new();
    let mut trays: Vec<TrayId> = Vec::new();
    for part in &new.parts {
        let code = next_code(w.conn)?;
        let sowing = w.fact(
            SOWING,
            &[
                ("code", &code),
                ("crop_id", &new.crop),
                ("grow_plan_id", &plan.id),
                ("day", &day_sql(new.day)),
                ("medium", &new.medium),
                ("medium_lot_id", &medium_lot),
                ("before_book", &0i64),
            ],
        )?;
        codes.push(code);
        seed(w, new, part, sowing, &mut pool)?;
        let before = trays.len();
        for place in places.by_ref().take(part.trays) {
            trays.push(tray(w, sowing, new.format, new.mats, *place, stage)?);
        }
        // a rule about a lot holds the trays that got seed of it, any other rule all of them
        let made = trays.get(before..).unwrap_or_default();
        for (breach, lot) in &broken {
            if lot.is_none_or(|lot| part.seed.iter().any(|(used, _)| *used == lot)) {
                hold(w, *breach, made)?;
            }
        }
    }
    wet(w, new, &trays)?;
    let first = trays.first().map_or_else(String::new, |t| Code::tray(t.0).to_string());
    let last = trays.last().map_or_else(String::new, |t| Code::tray(t.0).to_string());
    let span = if trays.len() == 1 { first } else { format!("{first} to {last}") };
    let (batch, label) =
        (if codes.len() == 1 { "batch" } else { "batches" }, if trays.len() == 1 { "label" } else { "labels" });
    let sown = counted(trays.len(), "tray");
    let sentence = format!("{sown} of {name} sown: {batch} {}, {label} {span}.", codes.join(", "));
    Ok(Wrote { sentence, made: None, trays })
}

/// A tray of a batch, in its first place.
pub(super) fn tray(
    w: &mut Writer<'_>,
    sowing: i64,
    format: FormatId,
    mats: i64,
    place: PlaceId,
    stage: Stage,
) -> Result<TrayId, StoreError> {
    let tray = TrayId(w.fact(TRAY, &[("sowing_id", &sowing), ("format_id", &format), ("mats", &mats)])?);
    room::usable_place(w, place, tray)?;
    w.fact(PLACEMENT, &[("tray_id", &tray), ("place_id", &place)])?;
    w.fact(STAGE, &[("tray_id", &tray), ("stage", &stage)])?;
    w.touched.insert(tray);
    Ok(tray)
}

/// The code of the sowing that is written next.
pub(super) fn next_code(conn: &Connection) -> Result<String, StoreError> {
    let next = conn.query_row("SELECT coalesce(max(id), 0) + 1 FROM sowing", [], |row| row.get(0))?;
    Ok(Code::sowing(next).to_string())
}

/// Every lot must be of this crop, untreated, and here on the day of sowing.
fn check_lots(w: &mut Writer<'_>, new: &NewSowing, broken: &mut Vec<Broken>) -> Result<(), StoreError> {
    let (lots, units) = (seed_lot::lots(w.conn)?, room::units(w.conn)?);
    for (id, _) in new.parts.iter().flat_map(|part| &part.seed) {
        let Some(lot) = lots.iter().find(|lot| lot.id == *id) else {
            return Err(Refusal::new("seed_lot_unknown", "This seed lot is not in the book: choose another.")
                .at("lot")
                .into());
        };
        if lot.crop != new.crop {
            let sentence = format!("{} is {} seed: choose a lot of the crop you sow.", lot.code, lot.crop_name);
            return Err(Refusal::new("seed_other_crop", sentence).at("lot").into());
        }
        let mut refuse = |refusal: Refusal, about: &'static str| -> Result<(), StoreError> {
            let breach = against(w, refusal.at("lot"), Some((about, id.0)))?;
            broken.push((breach, Some(*id)));
            Ok(())
        };
        if let Some(bar) = lot.treated.bar() {
            refuse(Refusal::new("seed_treated", format!("{} is not sown: {bar}.", lot.code)), RECEIVED_BY)?;
        }
        if lot.held {
            refuse(held_seed(&lot.code), SEED)?;
        }
        if let Some(bar) = lot.not_here(new.day) {
            refuse(Refusal::new("seed_barred", format!("{} is not sown: {bar}.", lot.code)), RECEIVED_BY)?;
        }
        let wanted: i64 = new.parts.iter().flat_map(|p| &p.seed).filter(|(l, _)| l == id).map(|(_, mg)| mg).sum();
        if wanted > lot.left_mg {
            let (left, wanted) = (units.weight(lot.left_mg), units.weight(wanted));
            let sentence = format!("{} holds {left} and {wanted} are wanted: take less, or count the jar.", lot.code);
            refuse(Refusal::new("seed_below_zero", sentence), RECEIVED_BY)?;
        }
    }
    Ok(())
}

/// Takes the seed of a batch from its jars. What no soak of the book says of it says the hours of the form.
fn seed(w: &mut Writer<'_>, new: &NewSowing, part: &Part, sowing: i64, pool: &mut [Soaking]) -> Result<(), StoreError> {
    let start = Instant(w.at().0 - chrono::Duration::hours(new.soak_h));
    for (lot, mg) in &part.seed {
        w.fact(SEED_MOVE, &[("seed_lot_id", lot), ("sowing_id", &sowing), ("mg", &-mg), ("why", &"sown")])?;
        let rest = mg - soak::sow(w, pool, *lot, *mg, sowing)?;
        if new.soak_h > 0 && rest > 0 {
            w.fact(SOAK, &[("seed_lot_id", lot), ("mg", &rest), ("start", &start), ("drained", &w.at())])?;
        }
    }
    Ok(())
}

/// The lot of mats, soil or coco, found or made by its printed code; one that is held is not used.
fn medium_lot(
    w: &mut Writer<'_>,
    new: &NewSowing,
    broken: &mut Vec<Broken>,
) -> Result<Option<MaterialLotId>, StoreError> {
    let Some(code) = new.medium_lot.as_deref().map(str::trim).filter(|code| !code.is_empty()) else { return Ok(None) };
    let (lot, held) = recipe::found_lot(w, new.medium.shown(), code, new.day)?;
    if let Some(refusal) = held {
        broken.push((against(w, refusal.at("medium_lot"), Some((MATERIAL, lot.0)))?, None));
    }
    Ok(Some(lot))
}

fn wet(w: &mut Writer<'_>, new: &NewSowing, trays: &[TrayId]) -> Result<(), StoreError> {
    match &new.wetting {
        Wetting::Water => {
            let water = w.fact(WATER, &[("day", &day_sql(new.day)), ("source", &"at sowing")])?;
            for tray in trays {
                w.fact(WATER_TRAY, &[("water_id", &water), ("tray_id", tray)])?;
            }
        }
        Wetting::Mix { name, wait_h } => {
            if name.trim().is_empty() {
                return Err(Refusal::new("mix_name", "Say what the trays were wetted with.").at("mix").into());
            }
            if !(0..=8760).contains(wait_h) {
                return Err(Refusal::new("mix_wait", "The wait before cutting is 0 to 365 days.").at("wait").into());
            }
            let wetted = NewTreatment {
                trays: trays.to_vec(),
                mix: None,
                product: name.trim().to_string(),
                reg_no: None,
                at: w.at(),
                ml: None,
                purpose: "wetting at sowing".into(),
                listed: Listed::Unknown,
                wait_h: *wait_h,
                reentry_h: 0,
            };
            treatment::write(w, &wetted)?;
        }
    }
    Ok(())
}
