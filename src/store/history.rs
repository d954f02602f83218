//! The log as sentences, newest first.

mod corrected;
mod sold;

use rusqlite::{Connection, OptionalExtension, params};

use super::error::StoreError;
use super::{
    air, answering, bands, breach, check, cleaning, cold, fuzz, germ_test, hands, hold, mix, power_cut, product,
    recipe, review, room, score, sender, soak, spell, stay, suspect, treatment, water, week, whereabouts,
};
use crate::domain::fuzz::{Extent, Signs, Verdict};
use crate::domain::history::{EntryLine, Of, Record};
use crate::domain::id::{EntryId, TrayId};
use crate::domain::look::{Basis, Faults, Look, Mist, Roots, Skip, Stand};
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage, named};
use crate::domain::walk::racks_named;

/// Entries about something, newest first, from before `before` on.
pub(super) fn entries(
    conn: &Connection,
    of: Of,
    before: Option<EntryId>,
    most: u32,
) -> Result<Vec<EntryLine>, StoreError> {
    let about = |which: &str| {
        format!(
            "SELECT id FROM entry WHERE id IN ({which}
               UNION SELECT u.id FROM entry u WHERE u.undoes IN ({which})
               UNION SELECT c.entry_id FROM correction c WHERE c.about_id IN ({which})) AND id < ?2 ORDER BY id DESC LIMIT ?3"
        )
    };
    let (text, key) = match of {
        Of::Everything => ("SELECT id FROM entry WHERE ?1 = 0 AND id < ?2 ORDER BY id DESC LIMIT ?3".into(), 0),
        // index: entry_who; an undo is of the same hands as what it takes back
        Of::Person(person) => {
            ("SELECT id FROM entry WHERE who = ?1 AND id < ?2 ORDER BY id DESC LIMIT ?3".into(), person.0)
        }
        Of::Tray(tray) => (about(TRAY), tray.0),
        Of::Sowing(sowing) => (about(SOWING), sowing.0),
        Of::SeedLot(lot) => (about(SEED_LOT), lot.0),
        Of::Place(place) => (about(PLACE), place.0),
        // settings belong to the one room, whatever the row
        Of::Record(Record::Room, _) => (about(ROOM), 0),
        Of::Record(Record::Person, id) => {
            (about("SELECT entry_id FROM change WHERE noun = 'person' AND row_id = ?1"), id)
        }
        Of::Record(Record::Format, id) => {
            (about("SELECT entry_id FROM change WHERE noun = 'tray_format' AND row_id = ?1"), id)
        }
        Of::Record(Record::Crop, id) => (about(CROP), id),
        Of::Record(Record::Check, id) => (about(CHECK), id),
        Of::Record(Record::Recipe, id) => (about(RECIPE), id),
        Of::Mix(mix) => (about(MIX), mix.0),
        Of::Record(Record::Rack, id) => (about(RACK), id),
        Of::Record(Record::Sensor, id) => (about(SENSOR), id),
        Of::Record(Record::Store, id) => (about(STORE), id),
        Of::Record(Record::Product, id) => (about(sold::PRODUCT), id),
        Of::Record(Record::Customer, id) => (about(sold::CUSTOMER), id),
        Of::Record(Record::Order, id) => (about(sold::ORDER), id),
        Of::Lot(lot) => (about(sold::LOT), lot.0),
        Of::Delivery(id) => (about(sold::DELIVERY), id.0),
        Of::Round(id) => (about(sold::ROUND), id.0),
        Of::Material(id) => (about(MATERIAL), id.0),
        Of::Complaint(id) => (about(sold::COMPLAINT), id.0),
        Of::Record(Record::Tool, id) => (about(TOOL), id),
        Of::Record(Record::Supplier, id) => (about(SUPPLIER), id),
    };
    let mut lines = conn
        .prepare_cached(&text)?
        .query_map(params![key, before.map_or(i64::MAX, |e| e.0), most], |row| row.get(0))?
        .collect::<Result<Vec<EntryId>, _>>()?
        .into_iter()
        .map(|id| line(conn, id))
        .collect::<Result<Vec<_>, _>>()?;
    if let Of::Tray(tray) = of {
        // of a glance over a shelf one tray's look may have been replaced, and the others still count
        let mut replaced = conn.prepare_cached("SELECT void_by FROM look WHERE entry_id = ? AND tray_id = ?")?;
        for line in lines.iter_mut().filter(|line| line.undone_by.is_none()) {
            line.undone_by = replaced.query_row(params![line.id, tray], |row| row.get(0)).optional()?.flatten();
        }
    }
    Ok(lines)
}

const SEED_LOT: &str = "SELECT entry_id FROM seed_lot WHERE id = ?1
    UNION SELECT entry_id FROM seed_move WHERE seed_lot_id = ?1
    UNION SELECT entry_id FROM soak WHERE seed_lot_id = ?1
    UNION SELECT d.entry_id FROM soak s JOIN soak_drain d ON d.soak_id = s.id WHERE s.seed_lot_id = ?1
    UNION SELECT entry_id FROM germ_test WHERE seed_lot_id = ?1
    UNION SELECT c.entry_id FROM germ_test t JOIN germ_count c ON c.germ_test_id = t.id WHERE t.seed_lot_id = ?1
    UNION SELECT n.entry_id FROM germ_test t JOIN germ_end n ON n.germ_test_id = t.id WHERE t.seed_lot_id = ?1
    UNION SELECT entry_id FROM sowing WHERE before_lot_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.seed_lot_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.seed_lot_id = ?1";

const CROP: &str = "SELECT entry_id FROM change WHERE noun = 'crop' AND row_id = ?1
    UNION SELECT entry_id FROM grow_plan WHERE crop_id = ?1
    UNION SELECT entry_id FROM anchor_set WHERE crop_id = ?1";

const CHECK: &str = "SELECT entry_id FROM change WHERE noun = 'check_kind' AND row_id = ?1
    UNION SELECT entry_id FROM room_check WHERE check_kind_id = ?1";

const RECIPE: &str = "SELECT entry_id FROM change WHERE noun = 'recipe' AND row_id = ?1
    UNION SELECT entry_id FROM recipe_version WHERE recipe_id = ?1
    UNION SELECT entry_id FROM mix WHERE recipe_id = ?1";

const MIX: &str = "SELECT entry_id FROM mix WHERE id = ?1
    UNION SELECT entry_id FROM treatment WHERE mix_id = ?1
    UNION SELECT entry_id FROM mix_end WHERE mix_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.mix_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.mix_id = ?1";

const MATERIAL: &str = "SELECT entry_id FROM material_lot WHERE id = ?1
    UNION SELECT entry_id FROM sowing WHERE medium_lot_id = ?1
    UNION SELECT m.entry_id FROM mix_part p JOIN mix m ON m.id = p.mix_id WHERE p.material_lot_id = ?1
    UNION SELECT entry_id FROM lot_use WHERE material_lot_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.material_lot_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.material_lot_id = ?1";

const SUPPLIER: &str = "SELECT entry_id FROM change WHERE noun = 'supplier' AND row_id = ?1";

const TOOL: &str = "SELECT entry_id FROM change WHERE noun = 'tool' AND row_id = ?1
    UNION SELECT entry_id FROM lot_use WHERE tool_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.tool_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.tool_id = ?1";

const SENSOR: &str = "SELECT entry_id FROM change WHERE noun = 'sensor' AND row_id = ?1
    UNION SELECT entry_id FROM reading_file WHERE sensor_id = ?1";

const STORE: &str = "SELECT entry_id FROM change WHERE noun = 'store' AND row_id = ?1
    UNION SELECT f.entry_id FROM sensor s JOIN reading_file f ON f.sensor_id = s.id WHERE s.store_id = ?1
    UNION SELECT entry_id FROM stay WHERE store_id = ?1
    UNION SELECT entry_id FROM spell_decision WHERE store_id = ?1
    UNION SELECT entry_id FROM power_cut WHERE store_id = ?1";

const ROOM: &str = "SELECT entry_id FROM change WHERE noun = 'setting' AND ?1 IS NOT NULL
    UNION SELECT entry_id FROM power_cut UNION SELECT entry_id FROM fuzz_points";

const RACK: &str = "SELECT entry_id FROM change WHERE noun = 'rack' AND row_id = ?1
    UNION SELECT c.entry_id FROM place p JOIN change c ON c.noun = 'place' AND c.row_id = p.id WHERE p.rack_id = ?1";

const PLACE: &str = "SELECT entry_id FROM placement WHERE place_id = ?1
    UNION SELECT entry_id FROM place_cleaned WHERE place_id = ?1
    UNION SELECT entry_id FROM change WHERE noun = 'place' AND row_id = ?1";

const TRAY: &str = "SELECT entry_id FROM look WHERE tray_id = ?1
    UNION SELECT entry_id FROM placement WHERE tray_id = ?1
    UNION SELECT entry_id FROM stage WHERE tray_id = ?1
    UNION SELECT entry_id FROM loss WHERE tray_id = ?1
    UNION SELECT entry_id FROM lot_input WHERE tray_id = ?1
    UNION SELECT w.entry_id FROM water_tray t JOIN water w ON w.id = t.water_id WHERE t.tray_id = ?1
    UNION SELECT m.entry_id FROM treatment_tray t JOIN treatment m ON m.id = t.treatment_id WHERE t.tray_id = ?1
    UNION SELECT s.entry_id FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE t.id = ?1
    UNION SELECT entry_id FROM decision WHERE tray_id = ?1
    UNION SELECT d.entry_id FROM breach_tray t JOIN breach_decision d ON d.breach_id = t.breach_id WHERE t.tray_id = ?1
    UNION SELECT h.entry_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.tray_id = ?1
    UNION SELECT d.entry_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id WHERE i.tray_id = ?1";

const SOWING: &str = "SELECT entry_id FROM sowing WHERE id = ?1
    UNION SELECT l.entry_id FROM tray t JOIN look l ON l.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT l.entry_id FROM tray t JOIN placement l ON l.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT l.entry_id FROM tray t JOIN stage l ON l.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT l.entry_id FROM tray t JOIN loss l ON l.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT l.entry_id FROM tray t CROSS JOIN lot_input l ON l.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT d.entry_id FROM tray t JOIN decision d ON d.tray_id = t.id WHERE t.sowing_id = ?1
    UNION SELECT w.entry_id FROM tray t JOIN water_tray x ON x.tray_id = t.id JOIN water w ON w.id = x.water_id WHERE t.sowing_id = ?1
    UNION SELECT m.entry_id FROM tray t JOIN treatment_tray x ON x.tray_id = t.id JOIN treatment m ON m.id = x.treatment_id
      WHERE t.sowing_id = ?1
    UNION SELECT d.entry_id FROM tray t JOIN breach_tray b ON b.tray_id = t.id JOIN breach_decision d ON d.breach_id = b.breach_id
      WHERE t.sowing_id = ?1
    UNION SELECT h.entry_id FROM tray t JOIN hold_item i ON i.tray_id = t.id JOIN hold h ON h.id = i.hold_id WHERE t.sowing_id = ?1
    UNION SELECT d.entry_id FROM tray t JOIN hold_item i ON i.tray_id = t.id JOIN hold_decision d ON d.hold_id = i.hold_id
      WHERE t.sowing_id = ?1";

/// One entry in one sentence.
pub(super) fn line(conn: &Connection, id: EntryId) -> Result<EntryLine, StoreError> {
    let mut line = conn
        .prepare_cached(
            "SELECT e.at, p.initials, e.kind, n.text,
                    coalesce(u.id, (SELECT min(entry_id) FROM correction WHERE about_id = e.id AND void_by IS NULL AND what = 'never'),
                    CASE WHEN NOT EXISTS (SELECT 1 FROM happening WHERE entry_id = e.id AND void_by IS NULL) THEN
                      coalesce((SELECT min(void_by) FROM look WHERE entry_id = e.id),
                               (SELECT min(void_by) FROM placement WHERE entry_id = e.id),
                               (SELECT min(void_by) FROM stage WHERE entry_id = e.id),
                               (SELECT min(void_by) FROM loss WHERE entry_id = e.id)) END),
                    (SELECT max(entry_id) FROM correction WHERE about_id = e.id AND void_by IS NULL)
             FROM entry e JOIN entry_hands h ON h.id = e.id
             JOIN person p ON p.id = CASE e.kind WHEN 'undo' THEN e.who ELSE h.as_told END
             LEFT JOIN entry_note n ON n.entry_id = e.id LEFT JOIN entry u ON u.undoes = e.id WHERE e.id = ?",
        )?
        .query_row([id], |row| {
            Ok(EntryLine {
                id,
                at: row.get(0)?,
                who: row.get(1)?,
                kind: row.get(2)?,
                text: String::new(),
                span: None,
                seen: None,
                note: row.get(3)?,
                undone_by: row.get(4)?,
                put_right_by: row.get(5)?,
            })
        })?;
    line.seen = hands::seen_as(conn, id)?;
    line.text = match line.kind.as_str() {
        "look" => look(conn, id)?,
        "sown" => sown(conn, id)?,
        "moved" | "cut" => moved(conn, id)?,
        "sighted" => {
            let (text, span) = whereabouts::line(conn, id)?;
            line.span = Some(span);
            text
        }
        "room_checked" => check::line(conn, id)?,
        "place_cleaned" => cleaning::line(conn, id)?,
        "recipe" => {
            let parts = [Some(edited(conn, id)?), recipe::line(conn, id)?];
            parts.into_iter().flatten().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ")
        }
        "material_received" => recipe::received(conn, id)?,
        "mixed" => mix::line(conn, id)?,
        "mix_ended" => mix::ended(conn, id)?,
        "treated" => treatment::line(conn, id, &trays(conn, id)?)?,
        "soaked" | "drained" | "scored" => {
            let (text, span) = if line.kind == "scored" { score::line(conn, id)? } else { soak::line(conn, id)? };
            line.span = Some(span);
            text
        }
        "air_read" | "air_imported" => match cold::line(conn, id)? {
            Some(text) => text,
            None => air::line(conn, id)?,
        },
        "germ_begun" | "germ_counted" | "germ_ended" => germ_test::line(conn, id)?,
        "watered" => water::line(conn, id)?,
        "put_away" => stay::line(conn, id)?,
        "spell_decided" => spell::line(conn, id)?,
        "setting" => setting(conn, id)?,
        "restacked" => whereabouts::restacked(conn, id)?,
        "thrown" => thrown(conn, id)?,
        "part_lost" => part_lost(conn, id)?,
        "standing" => standing(conn, id)?,
        "seed_received" | "seed_counted" => seed(conn, id)?,
        "walk_started" => conn
            .query_row("SELECT mode FROM walk WHERE entry_id = ?", [id], |row| {
                row.get::<_, crate::domain::walk::Mode>(0)
            })
            .map(|mode| format!("a walk began: {}", mode.shown()))?,
        "walk_shared" => taken(conn, id)?,
        "undo" => {
            let undone: EntryId = conn.query_row("SELECT undoes FROM entry WHERE id = ?", [id], |row| row.get(0))?;
            format!("took back entry {}", undone.0)
        }
        "power_cut" => {
            let (text, span) = power_cut::line(conn, id)?;
            line.span = span;
            text
        }
        "decided" => breach::decided(conn, id)?,
        "held" => hold::held(conn, id)?,
        "hold_decided" => hold::decided(conn, id)?,
        "suspect_decided" => suspect::line(conn, id)?,
        "corrected" => corrected::corrected(conn, id)?,
        "product" => {
            let parts = [Some(edited(conn, id)?), product::line(conn, id)?];
            parts.into_iter().flatten().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ")
        }
        kind if let Some(text) = sold::line(conn, kind, id)? => text,
        "reviewed" => review::line(conn, id)?,
        "baseline" | "odd_weight" => week::line(conn, id)?,
        "setup" => "the room was set up".into(),
        _ => edited(conn, id)?,
    };
    line.text.push_str(&breach::line(conn, id)?);
    line.text.push_str(&hold::line(conn, id)?);
    Ok(line)
}

/// A setting that is told in words of its own, else by its columns.
fn setting(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let told = bands::line(conn, id)?.or(sender::line(conn, id)?).or(cold::rules_line(conn, id)?);
    let told = told.or(answering::line(conn, id)?).or(week::currency_line(conn, id)?);
    told.map_or_else(|| edited(conn, id), Ok)
}

fn trays(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    Ok(named(&super::undo::trays_of(conn, id)?))
}

fn look(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let mut look = Look::of(TrayId(0));
    let (basis, verdict): (Basis, Option<Verdict>) = conn
        .prepare_cached("SELECT basis, roots, stand, mist, faults, watered, skip, signs, extent, verdict FROM look WHERE entry_id = ? LIMIT 1")?
        .query_row([id], |row| {
            look.roots = row.get::<_, Option<Roots>>(1)?;
            look.stand = row.get::<_, Option<Stand>>(2)?;
            look.fuzz = row.get::<_, Option<Mist>>(3)?;
            look.faults = Faults(row.get(4)?);
            look.watered = row.get(5)?;
            look.skip = row.get::<_, Option<Skip>>(6)?;
            look.signs = Signs(row.get::<_, Option<i64>>(7)?.unwrap_or_default());
            look.extent = row.get::<_, Option<Extent>>(8)?;
            Ok((row.get(0)?, row.get(9)?))
        })?;
    let mut select = conn.prepare_cached("SELECT ml, ph_100, temp_dc, ec_us FROM water WHERE entry_id = ?")?;
    let mut rows = select.query([id])?;
    if let Some(row) = rows.next()? {
        look.water = water::figures(row)?;
    }
    let glance = match basis {
        Basis::Tray => "",
        Basis::Shelf => ", seen in one glance along the shelf",
        Basis::Sowing => ", seen in one glance over the batch",
    };
    let words = look.words(room::units(conn)?);
    let words = if words.is_empty() { "a note".to_string() } else { words };
    let suspect = verdict.map_or(look.fuzz.is_some_and(Mist::is_suspect), Verdict::is_suspect);
    let suspect = if suspect { "; suspect from then on" } else { "" };
    let verdict = verdict.map_or_else(String::new, |verdict| format!("; {}", verdict.shown()));
    Ok(format!("{}{glance}: {words}{verdict}{suspect}", trays(conn, id)?))
}

fn sown(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let mut select = conn.prepare_cached(
        "SELECT s.code, c.name, (SELECT count(*) FROM tray WHERE sowing_id = s.id),
                (SELECT group_concat(printf('%s %s', l.code, -m.mg), ';') FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id WHERE m.sowing_id = s.id AND m.entry_id = s.entry_id)
         FROM sowing s JOIN crop c ON c.id = s.crop_id WHERE s.entry_id = ? ORDER BY s.id",
    )?;
    let parts: Vec<(String, String, i64, Option<String>)> = select
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let units = room::units(conn)?;
    let sown = parts.into_iter().map(|(code, crop, trays, seed)| {
        let seed: Vec<String> = seed
            .unwrap_or_default()
            .split(';')
            .filter_map(|part| part.split_once(' '))
            .map(|(lot, mg)| format!("{} of seed lot {lot}", units.weight(mg.parse().unwrap_or(0))))
            .collect();
        let trays = counted(usize::try_from(trays).unwrap_or(0), "tray");
        format!("{trays} of {crop} sown as batch {code} with {}", seed.join(" and "))
    });
    // jars that were counted on the same form
    let mut counts = conn.prepare_cached(
        "SELECT l.code, m.mg FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id WHERE m.entry_id = ? AND m.why = 'counted'",
    )?;
    let jars: Vec<(String, i64)> =
        counts.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let jars = jars.iter().map(|(code, mg)| jar_counted(code, *mg, units));
    let words: Vec<String> = jars.chain(sown).chain(soak::sown_from(conn, id)?).collect();
    Ok(words.join("; "))
}

fn moved(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let mut parts = Vec::new();
    let mut places = conn.prepare_cached(
        "SELECT r.name || ' ' || p.shelf || '-' || p.pos FROM placement m JOIN place p ON p.id = m.place_id
         JOIN rack r ON r.id = p.rack_id WHERE m.entry_id = ?",
    )?;
    let to: Vec<String> = places.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?;
    if !to.is_empty() {
        parts.push(format!("moved to {}", to.join(", ")));
    }
    let mut stages = conn.prepare_cached("SELECT DISTINCT stage FROM stage WHERE entry_id = ?")?;
    let to: Vec<Stage> = stages.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?;
    parts.extend(to.iter().map(|stage| stage.shown().to_string()));
    Ok(format!("{}: {}", trays(conn, id)?, parts.join(", ")))
}

/// Racks of a walk that became one person's.
fn taken(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let racks: Vec<(String, String)> = conn
        .prepare_cached(
            "SELECT r.name, p.initials FROM walk_share s JOIN rack r ON r.id = s.rack_id JOIN walk w ON w.id = s.walk_id
             JOIN entry e ON e.id = w.entry_id JOIN person p ON p.id = coalesce(e.seen_by, e.who)
             WHERE s.entry_id = ? ORDER BY s.id",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let names: Vec<&str> = racks.iter().map(|(name, _)| name.as_str()).collect();
    let begun = racks.first().map_or("", |(_, begun)| begun);
    Ok(format!("takes {} of the walk {begun} began", racks_named(&names)))
}

fn thrown(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (reason, gear, cleanup): (LossReason, Gear, Option<Cleanup>) = conn
        .prepare_cached("SELECT reason, gear, cleanup FROM loss WHERE entry_id = ? LIMIT 1")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let clean = cleanup.map_or_else(String::new, |cleanup| format!("; {}", cleanup.shown()));
    let (trays, reason, gear) = (trays(conn, id)?, reason.shown(), gear.shown());
    Ok(format!("{trays} thrown out: {reason}; tray and cover {gear}{clean}"))
}

fn part_lost(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (mats, reason): (i64, LossReason) = conn
        .prepare_cached("SELECT mats, reason FROM loss WHERE entry_id = ? LIMIT 1")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(format!("{}: {mats} of its mats thrown out, {}", trays(conn, id)?, reason.shown()))
}

fn standing(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (code, crop, day, n, lot): (String, String, String, i64, Option<String>) = conn
        .prepare_cached(
            "SELECT s.code, c.name, s.day, (SELECT count(*) FROM tray WHERE sowing_id = s.id), l.code FROM sowing s
             JOIN crop c ON c.id = s.crop_id LEFT JOIN seed_lot l ON l.id = s.before_lot_id WHERE s.entry_id = ?",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let trays = counted(usize::try_from(n).unwrap_or(0), "tray");
    let seed = lot.map_or_else(|| "seed lot not recorded".to_string(), |lot| format!("seed from {lot}"));
    Ok(format!("{trays} of {crop} stood here before this book, batch {code}, sown {day}; {seed}"))
}

fn seed(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let (code, crop, mg, why): (String, String, i64, String) = conn
        .prepare_cached(
            "SELECT l.code, c.name, m.mg, m.why FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
             JOIN crop c ON c.id = l.crop_id WHERE m.entry_id = ? LIMIT 1",
        )?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let units = room::units(conn)?;
    Ok(match why.as_str() {
        "received" => format!("{} of {crop} seed received as {code}", units.weight(mg)),
        _ => jar_counted(&code, mg, units),
    })
}

fn jar_counted(code: &str, mg: i64, units: Units) -> String {
    let sign = if mg < 0 { "-" } else { "+" };
    format!("{code} counted: {sign}{} against the book", units.weight(mg.abs()))
}

/// Records of one entry that are told one by one; a rack of 40 places would fill the screen.
const CHANGES_TOLD: i64 = 3;

/// An edit of records: what changed from what to what, and new versions.
fn edited(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let more: i64 = conn
        .prepare_cached("SELECT max(count(*) - ?2, 0) FROM change WHERE entry_id = ?1")?
        .query_row(params![id, CHANGES_TOLD], |row| row.get(0))?;
    let mut select =
        conn.prepare_cached("SELECT noun, before, after FROM change WHERE entry_id = ?1 ORDER BY n LIMIT ?2")?;
    let changes: Vec<(String, Option<String>, Option<String>)> = select
        .query_map(params![id, CHANGES_TOLD], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let mut words: Vec<String> = changes
        .into_iter()
        .map(|(noun, before, after)| {
            let noun = noun.replace('_', " ");
            match (before, after) {
                (None, Some(after)) => format!("{noun} made: {}", plain(conn, &after)),
                (Some(before), Some(after)) => {
                    format!("{noun} changed from {} to {}", plain(conn, &before), plain(conn, &after))
                }
                _ => noun,
            }
        })
        .collect();
    if more > 0 {
        words.push(format!("and {more} more"));
    }
    // a crop's plan and shelf life are facts of their own, not columns that change
    let mut versions = conn.prepare_cached(
        "SELECT 'plan ' || g.version || ' of ' || c.name FROM grow_plan g JOIN crop c ON c.id = g.crop_id WHERE g.entry_id = ?1
         UNION ALL
         SELECT 'shelf life ' || a.version || ' of ' || c.name FROM anchor_set a JOIN crop c ON c.id = a.crop_id WHERE a.entry_id = ?1",
    )?;
    for version in versions.query_map([id], |row| row.get(0))? {
        words.push(version?);
    }
    words.extend(fuzz::points_line(conn, id)?);
    Ok(words.join("; "))
}

/// `{"name":"A","sort":1}` as `name A, sort 1`.
fn plain(conn: &Connection, json: &str) -> String {
    match serde_json::from_str::<serde_json::Map<String, serde_json::Value>>(json) {
        Ok(map) => map
            .iter()
            // where the figures come from is read in the crop's form
            .filter(|(name, _)| *name != "sources")
            .map(|(name, value)| match value {
                serde_json::Value::String(text) => format!("{} {text}", name.replace('_', " ")),
                serde_json::Value::Null => format!("{} none", name.replace('_', " ")),
                other if name == "zone_id" => format!("zone {}", room::zone_word(conn, other.as_i64())),
                other if name == "store_id" => format!("store {}", cold::name(conn, other.as_i64())),
                other => format!("{} {other}", name.replace('_', " ")),
            })
            .collect::<Vec<_>>()
            .join(", "),
        Err(_) => json.to_string(),
    }
}
