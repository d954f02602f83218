//! What a trace or a hold begins with: any start as the seed, trays and lots it is of.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, Params, params};

use crate::domain::code::Code;
use crate::domain::id::{LotId, MaterialLotId, MixId, PersonId, PlaceId, SeedLotId, SowingId, StoreId, ToolId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::trace::{Days, Hours, Start};
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::lot;
use crate::store::water::spellings;

/// What a start is of. Trays and lots are those it touches itself; what was made of them comes with the way forward.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::store) struct Found {
    /// What it is called: `Seed lot S0042-9 pea`.
    pub title: String,
    pub seed_lots: Vec<SeedLotId>,
    pub materials: Vec<MaterialLotId>,
    pub mixes: Vec<MixId>,
    pub tools: Vec<ToolId>,
    pub sowings: Vec<SowingId>,
    pub trays: Vec<TrayId>,
    pub lots: Vec<LotId>,
}

impl Found {
    fn titled(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }
}

/// Looks a start up. What the book does not have, or has taken back, is refused.
pub(in crate::store) fn resolve(conn: &Connection, start: &Start) -> Result<Found, StoreError> {
    match start {
        Start::SeedLot(id) => seed_lot(conn, *id),
        Start::Material(id) => material(conn, *id),
        Start::Mix(id) => mix(conn, *id),
        Start::Sowing(id) => sowing(conn, *id),
        Start::Tray(id) => tray(conn, *id),
        Start::Lot(id) => {
            let lot = lot::get(conn, lot::newest(conn, *id)?)?;
            Ok(Found { title: format!("Lot {}", lot.code), lots: vec![lot.id], ..Found::default() })
        }
        Start::Lots(ids) => some_lots(conn, ids),
        Start::Tool(id, days) => tool(conn, *id, *days),
        Start::Water(source, days) => water(conn, source, *days),
        Start::Place(id, days) => place(conn, *id, *days),
        Start::Store(id, hours) => store(conn, *id, *hours),
        Start::Person(id, hours) => person(conn, *id, *hours),
    }
}

fn gone(what: &str) -> StoreError {
    Refusal::new("hold_nothing", format!("The book has no such {what}: it was taken back, or never written.")).into()
}

fn ids<T: rusqlite::types::FromSql>(conn: &Connection, text: &str, params: impl Params) -> Result<Vec<T>, StoreError> {
    Ok(conn.prepare_cached(text)?.query_map(params, |row| row.get(0))?.collect::<Result<_, _>>()?)
}

fn named(conn: &Connection, text: &str, key: i64, what: &str) -> Result<String, StoreError> {
    conn.prepare_cached(text)?.query_row([key], |row| row.get(0)).optional()?.ok_or_else(|| gone(what))
}

/// Indexes: `seed_move_lot`, `sowing_before_lot`, `tray_sowing`.
fn seed_lot(conn: &Connection, id: SeedLotId) -> Result<Found, StoreError> {
    let name = named(
        conn,
        "SELECT l.code || ' ' || c.name FROM seed_lot l JOIN crop c ON c.id = l.crop_id WHERE l.id = ? AND l.void_by IS NULL",
        id.0,
        "seed lot",
    )?;
    let sowings: Vec<SowingId> = ids(
        conn,
        "SELECT sowing_id FROM seed_move WHERE seed_lot_id = ?1 AND void_by IS NULL AND sowing_id NOT NULL
         UNION SELECT id FROM sowing WHERE before_lot_id = ?1 AND void_by IS NULL ORDER BY 1",
        [id],
    )?;
    let trays = trays_of(conn, &sowings)?;
    Ok(Found { seed_lots: vec![id], sowings, trays, ..Found::titled(format!("Seed lot {name}")) })
}

fn trays_of(conn: &Connection, sowings: &[SowingId]) -> Result<Vec<TrayId>, StoreError> {
    let mut trays = Vec::new();
    for sowing in sowings {
        trays.extend(ids::<TrayId>(conn, "SELECT id FROM tray WHERE sowing_id = ? ORDER BY id", [sowing])?);
    }
    Ok(trays)
}

/// A medium by the batches on it, an ingredient by the bottles it went into, packaging by the lots in it. Indexes:
/// `sowing_medium_lot`, `mix_part_lot`, `treatment_mix`, `lot_use_material`.
fn material(conn: &Connection, id: MaterialLotId) -> Result<Found, StoreError> {
    let name = named(
        conn,
        "SELECT m.name || ', lot ' || l.code FROM material_lot l JOIN material m ON m.id = l.material_id
         WHERE l.id = ? AND l.void_by IS NULL",
        id.0,
        "lot of a material",
    )?;
    let sowings: Vec<SowingId> =
        ids(conn, "SELECT id FROM sowing WHERE medium_lot_id = ? AND void_by IS NULL ORDER BY id", [id])?;
    let mixes: Vec<MixId> = ids(
        conn,
        "SELECT DISTINCT p.mix_id FROM mix_part p JOIN mix m ON m.id = p.mix_id
         WHERE p.material_lot_id = ? AND m.void_by IS NULL ORDER BY 1",
        [id],
    )?;
    let mut trays: BTreeSet<TrayId> = trays_of(conn, &sowings)?.into_iter().collect();
    for mix in &mixes {
        trays.extend(treated(conn, *mix)?);
    }
    let lots = ids(
        conn,
        "SELECT DISTINCT lot_id FROM lot_use WHERE material_lot_id = ? AND void_by IS NULL ORDER BY 1",
        [id],
    )?;
    let trays = trays.into_iter().collect();
    Ok(Found { materials: vec![id], mixes, sowings, trays, lots, ..Found::titled(name) })
}

fn treated(conn: &Connection, mix: MixId) -> Result<Vec<TrayId>, StoreError> {
    ids(
        conn,
        "SELECT DISTINCT tt.tray_id FROM treatment t JOIN treatment_tray tt ON tt.treatment_id = t.id
         WHERE t.mix_id = ? AND t.void_by IS NULL ORDER BY 1",
        [mix],
    )
}

fn mix(conn: &Connection, id: MixId) -> Result<Found, StoreError> {
    let name = named(
        conn,
        "SELECT m.code || coalesce(' ' || r.name, '') FROM mix m LEFT JOIN recipe r ON r.id = m.recipe_id
         WHERE m.id = ? AND m.void_by IS NULL",
        id.0,
        "mix",
    )?;
    Ok(Found { mixes: vec![id], trays: treated(conn, id)?, ..Found::titled(format!("Mix {name}")) })
}

fn sowing(conn: &Connection, id: SowingId) -> Result<Found, StoreError> {
    let code = named(conn, "SELECT code FROM sowing WHERE id = ? AND void_by IS NULL", id.0, "batch")?;
    Ok(Found { sowings: vec![id], trays: trays_of(conn, &[id])?, ..Found::titled(format!("Batch {code}")) })
}

fn tray(conn: &Connection, id: TrayId) -> Result<Found, StoreError> {
    let known: bool = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE t.id = ? AND s.void_by IS NULL)",
        )?
        .query_row([id], |row| row.get(0))?;
    if !known {
        return Err(gone("tray"));
    }
    Ok(Found { trays: vec![id], ..Found::titled(format!("Tray {}", Code::tray(id.0))) })
}

fn some_lots(conn: &Connection, lots: &[LotId]) -> Result<Found, StoreError> {
    let (mut codes, mut found) = (Vec::new(), Vec::new());
    for id in lots {
        let lot = lot::get(conn, lot::newest(conn, *id)?)?;
        if !found.contains(&lot.id) {
            found.push(lot.id);
            codes.push(lot.code);
        }
    }
    if codes.is_empty() {
        return Err(Refusal::new("hold_nothing", "No lot is named yet: say first which it may be.").into());
    }
    let noun = if codes.len() == 1 { "Lot" } else { "Lots" };
    Ok(Found { lots: found, ..Found::titled(format!("{noun} {}", codes.join(", "))) })
}

fn tool(conn: &Connection, id: ToolId, days: Days) -> Result<Found, StoreError> {
    let name = named(conn, "SELECT name FROM tool WHERE id = ?", id.0, "tool")?;
    // index: lot_use_tool
    let lots = ids(
        conn,
        "SELECT DISTINCT u.lot_id FROM lot_use u JOIN lot l ON l.id = u.lot_id
         WHERE u.tool_id = ?1 AND u.void_by IS NULL AND l.void_by IS NULL AND l.day BETWEEN ?2 AND ?3 ORDER BY 1",
        params![id, day_sql(days.from), day_sql(days.to)],
    )?;
    Ok(Found { tools: vec![id], lots, ..Found::titled(format!("{name}, {}", days.words())) })
}

fn water(conn: &Connection, source: &str, days: Days) -> Result<Found, StoreError> {
    let mut trays: BTreeSet<TrayId> = BTreeSet::new();
    for spelling in spellings(conn, source)? {
        // index: water_source
        trays.extend(ids::<TrayId>(
            conn,
            "SELECT DISTINCT t.tray_id FROM water w JOIN water_tray t ON t.water_id = w.id
             WHERE w.source = ?1 AND w.void_by IS NULL AND w.day BETWEEN ?2 AND ?3",
            params![spelling, day_sql(days.from), day_sql(days.to)],
        )?);
    }
    let trays = trays.into_iter().collect();
    Ok(Found { trays, ..Found::titled(format!("Water from {source}, {}", days.words())) })
}

/// Trays that stood at a place on any of the days. One that was moved at an unknown time counts from the earliest it may have
/// been there. A moment has no day of the room in the book, so it counts for every day that it is somewhere. Indexes: `placement_place`, `placement_tray`, `stage_tray`.
fn place(conn: &Connection, id: PlaceId, days: Days) -> Result<Found, StoreError> {
    let name = named(
        conn,
        "SELECT r.name || ' ' || p.shelf || '-' || p.pos FROM place p JOIN rack r ON r.id = p.rack_id WHERE p.id = ?",
        id.0,
        "place",
    )?;
    let trays = ids(
        conn,
        "WITH stood AS (
           SELECT p.tray_id, coalesce(date(coalesce(p.since, p.at), '-12 hours'), e.day) AS from_day,
             (SELECT min(coalesce(date(n.at, '+14 hours'), x.day)) FROM placement n JOIN entry x ON x.id = n.entry_id
              WHERE n.tray_id = p.tray_id AND n.void_by IS NULL
              AND coalesce(n.at, x.seen_at, x.at) > coalesce(p.at, e.seen_at, e.at)) AS next_day,
             (SELECT min(coalesce(date(s.at, '+14 hours'), x.day)) FROM stage s JOIN entry x ON x.id = s.entry_id
              WHERE s.tray_id = p.tray_id AND s.void_by IS NULL AND s.stage IN ('cut', 'left_alive', 'thrown')) AS left_day
           FROM placement p JOIN entry e ON e.id = p.entry_id WHERE p.place_id = ?1 AND p.void_by IS NULL)
         SELECT DISTINCT tray_id FROM stood WHERE from_day <= ?3 AND coalesce(next_day, ?2) >= ?2
         AND coalesce(left_day, ?2) >= ?2 ORDER BY 1",
        params![id, day_sql(days.from), day_sql(days.to)],
    )?;
    Ok(Found { trays, ..Found::titled(format!("Place {name}, {}", days.words())) })
}

/// Index: `stay_store`.
fn store(conn: &Connection, id: StoreId, hours: Hours) -> Result<Found, StoreError> {
    let name = named(conn, "SELECT name FROM store WHERE id = ?", id.0, "cold store")?;
    let (from, to) = (hours.from.0.timestamp(), hours.to.0.timestamp());
    let lots = ids(
        conn,
        "SELECT DISTINCT y.lot_id FROM stay y JOIN lot l ON l.id = y.lot_id
         WHERE y.store_id = ?1 AND y.void_by IS NULL AND l.void_by IS NULL AND y.at_s <= ?3
         AND coalesce((SELECT min(n.at_s) FROM stay n WHERE n.lot_id = y.lot_id AND n.void_by IS NULL AND n.at_s > y.at_s), ?3)
             >= ?2 ORDER BY 1",
        params![id, from, to],
    )?;
    Ok(Found { lots, ..Found::titled(format!("{name}, {}", hours.words())) })
}

/// What someone looked at, watered, treated, moved, sowed, cut, packed or handed over.
fn person(conn: &Connection, id: PersonId, hours: Hours) -> Result<Found, StoreError> {
    let name = named(conn, "SELECT initials FROM person WHERE id = ?", id.0, "person")?;
    let entries: Vec<i64> = ids(
        conn,
        "SELECT e.id FROM entry e JOIN entry_hands h ON h.id = e.id
         WHERE h.person_id = ?1 AND coalesce(e.seen_at, e.at) BETWEEN ?2 AND ?3 ORDER BY 1",
        params![id, hours.from, hours.to],
    )?;
    let (mut trays, mut lots) = (BTreeSet::new(), BTreeSet::new());
    for entry in entries {
        trays.extend(ids::<TrayId>(
            conn,
            "SELECT tray_id FROM happening WHERE entry_id = ?1 AND void_by IS NULL
             UNION SELECT t.tray_id FROM water w JOIN water_tray t ON t.water_id = w.id WHERE w.entry_id = ?1 AND w.void_by IS NULL
             UNION SELECT t.tray_id FROM treatment m JOIN treatment_tray t ON t.treatment_id = m.id
               WHERE m.entry_id = ?1 AND m.void_by IS NULL
             UNION SELECT tray_id FROM lot_input WHERE entry_id = ?1 AND tray_id NOT NULL AND void_by IS NULL",
            [entry],
        )?);
        lots.extend(ids::<LotId>(
            conn,
            "SELECT id FROM lot WHERE entry_id = ?1 AND void_by IS NULL
             UNION SELECT lot_id FROM lot_input WHERE entry_id = ?1 AND void_by IS NULL
             UNION SELECT lot_id FROM stock_move WHERE entry_id = ?1 AND void_by IS NULL",
            [entry],
        )?);
    }
    let (trays, lots) = (trays.into_iter().collect(), lots.into_iter().collect());
    Ok(Found { trays, lots, ..Found::titled(format!("{name}, {}", hours.words())) })
}
