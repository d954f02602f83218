//! What was sown, looked at, watered and treated.

use super::{Gather, some, yes};
use crate::domain::code::Code;
use crate::domain::crop::Medium;
use crate::domain::fuzz::{Extent, Signs, Verdict};
use crate::domain::id::{EntryId, SowingId, TrayId};
use crate::domain::look::{Basis, Faults, Look, Mist, Roots, Skip, Stand, WaterFigures};
use crate::domain::measure::{Amount, Measure};
use crate::domain::records::Row;
use crate::domain::time::Instant;
use crate::domain::treatment::Listed;
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::{soak, water};

/// Batches by the day they were sown, as they count now.
pub(super) fn sown(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    type Found = (SowingId, EntryId, String, String, Option<EntryId>, Option<Medium>, Option<String>, bool);
    // also of another day by a correction: batches are few beside what is seen of them
    let sown: Vec<(Found, crate::domain::time::Day)> = g
        .conn
        .prepare_cached(
            "SELECT s.id, s.entry_id, s.code, c.name, s.void_by, s.medium, m.code, s.before_book, s.day FROM sowing_now s
             JOIN crop c ON c.id = s.crop_id LEFT JOIN material_lot m ON m.id = s.medium_lot_id
             WHERE s.day BETWEEN ? AND ? ORDER BY s.id",
        )?
        .query_map([day_sql(g.period.from), day_sql(g.period.to)], |row| {
            let found = (
                row.get(0)?,
                row.get(1)?,
                row.get(2)?,
                row.get(3)?,
                row.get(4)?,
                row.get(5)?,
                row.get(6)?,
                row.get(7)?,
            );
            Ok((found, row.get(8)?))
        })?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for ((id, entry, code, crop, void_by, medium, lot, before), day) in sown {
        let trays: Vec<TrayId> = g
            .conn
            .prepare_cached("SELECT id FROM tray WHERE sowing_id = ? ORDER BY id")?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let (stamp, _) = g.stamp(entry)?;
        let [places, trays] = g.places_and_trays(&trays, stamp.seen)?;
        let seed = if before { "stood here before the book".to_string() } else { seed(g, id, void_by.is_some())? };
        let medium = some(medium, |medium| medium.shown().to_string()) + &some(lot, |lot| format!(", lot {lot}"));
        let wetted = soak::sown_from(g.conn, entry)?.join("; ");
        let mut row = g.row(entry, vec![code, crop, places, trays, seed, medium, wetted])?;
        row.gone = g.gone(void_by)?;
        // what stood before the book is late by nature
        if !before && day != stamp.day {
            g.dated.insert(entry, day);
            row.marks.push(format!("sown {day}"));
        }
        rows.push(row);
    }
    Ok(rows)
}

/// Seed lots of a batch with what went into it. Index: `seed_move_sowing`.
fn seed(g: &Gather<'_>, batch: SowingId, void: bool) -> Result<String, StoreError> {
    let lots: Vec<(String, i64)> = g
        .conn
        .prepare_cached(
            "SELECT l.code, -sum(m.mg) FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
             WHERE m.sowing_id = ? AND (m.void_by IS NULL OR ?) GROUP BY l.id ORDER BY l.id",
        )?
        .query_map((batch, void), |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let lots: Vec<String> = lots.iter().map(|(code, mg)| format!("{code} {}", g.units.weight(*mg))).collect();
    Ok(lots.join(", "))
}

/// One look at a tray as it stands in the book.
struct Looked {
    entry: EntryId,
    tray: TrayId,
    void_by: Option<EntryId>,
    seen: Option<Instant>,
    /// All of its row but places and trays.
    cells: Vec<String>,
}

/// Looks, those of one entry that say the same in one row.
pub(super) fn looks(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let looked = g.of_days(
        "SELECT l.entry_id, l.tray_id, l.void_by, l.seen_at, c.name, l.basis, l.roots, l.stand, l.mist, l.signs, l.extent, l.verdict,
           l.faults, l.skip, l.watered
         FROM entry e CROSS JOIN look l ON l.entry_id = e.id JOIN tray t ON t.id = l.tray_id
         JOIN sowing_now s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id",
        "l.entry_id, l.tray_id",
        |row| {
            let (basis, roots, stand): (Basis, Option<Roots>, Option<Stand>) =
                (row.get(5)?, row.get(6)?, row.get(7)?);
            let signs = Signs(row.get::<_, Option<i64>>(9)?.unwrap_or_default());
            let fuzz = Look {
                fuzz: row.get::<_, Option<Mist>>(8)?,
                signs,
                extent: row.get::<_, Option<Extent>>(10)?,
                ..Look::of(TrayId(0))
            };
            let (verdict, skip): (Option<Verdict>, Option<Skip>) = (row.get(11)?, row.get(13)?);
            Ok(Looked {
                entry: row.get(0)?,
                tray: row.get(1)?,
                void_by: row.get(2)?,
                seen: row.get(3)?,
                cells: vec![
                    row.get(4)?,
                    basis.shown().to_string(),
                    some(roots, |roots| roots.shown().to_string()),
                    some(stand, |stand| stand.shown().to_string()),
                    // the same words as on the walk, without what stands in columns of its own
                    fuzz.words(crate::domain::room::Units::Metric),
                    some(verdict, |verdict| verdict.shown().to_string()),
                    Faults(row.get(12)?).words(),
                    some(skip, |skip| skip.shown().to_string()),
                    yes(row.get(14)?),
                ],
            })
        },
    )?;
    let mut rows = Vec::new();
    let mut left = looked.into_iter().peekable();
    while let Some(first) = left.next() {
        let mut trays = vec![first.tray];
        while let Some(more) =
            left.next_if(|next| (next.entry, next.void_by, &next.cells) == (first.entry, first.void_by, &first.cells))
        {
            trays.push(more.tray);
        }
        let seen = match first.seen {
            Some(seen) => seen,
            None => g.stamp(first.entry)?.0.seen,
        };
        let [places, codes] = g.places_and_trays(&trays, seen)?;
        let mut cells = first.cells;
        cells.splice(1..1, [places, codes]);
        let mut row = g.row(first.entry, cells)?;
        if let Some(stamp) = &mut row.stamp {
            stamp.seen = seen;
            row.marks.extend(stands_for(&stamp.kind));
        }
        row.gone = g.gone(first.void_by)?;
        rows.push(row);
    }
    Ok(rows)
}

/// What a row of another entry than a look says of itself.
fn stands_for(kind: &str) -> Option<String> {
    match kind {
        "corrected" => Some("as put right".into()),
        "undo" => Some("brought back".into()),
        _ => None,
    }
}

/// Water that was measured, or given outside of a walk.
pub(super) fn waters(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    type Found = (EntryId, i64, WaterFigures, Option<String>, Option<EntryId>);
    let found: Vec<Found> = g.of_days(
        "SELECT w.ml, w.ph_100, w.temp_dc, w.ec_us, w.source, w.id, w.entry_id, w.void_by
         FROM entry e CROSS JOIN water w ON w.entry_id = e.id",
        "w.id",
        |row| Ok((row.get(6)?, row.get(5)?, water::figures(row)?, row.get(4)?, row.get(7)?)),
    )?;
    let mut rows = Vec::new();
    for (entry, id, figures, source, void_by) in found {
        let trays: Vec<TrayId> = g
            .conn
            .prepare_cached("SELECT tray_id FROM water_tray WHERE water_id = ? ORDER BY tray_id")?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let (stamp, _) = g.stamp(entry)?;
        let [places, codes] = g.places_and_trays(&trays, stamp.seen)?;
        let units = g.units;
        let cells = vec![
            places,
            codes,
            some(figures.ml, |ml| units.volume(ml)),
            some(figures.ph_100, |ph| format!("{}.{:02}", ph / 100, ph % 100)),
            some(figures.temp_dc, |dc| units.temperature(dc)),
            some(figures.ec_us, |ec| format!("{ec} µS/cm")),
            source.unwrap_or_default(),
        ];
        let mut row = g.row(entry, cells)?;
        row.marks.extend(stands_for(&stamp.kind));
        row.gone = g.gone(void_by)?;
        rows.push(row);
    }
    Ok(rows)
}

/// What was sprayed or watered onto trays.
pub(super) fn treatments(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    struct Found {
        id: i64,
        entry: EntryId,
        at: Instant,
        mix: Option<i64>,
        void_by: Option<EntryId>,
        /// All of its row but places, trays and what the mix was made of.
        cells: [String; 8],
    }
    let units = g.units;
    let found = g.of_days(
        "SELECT m.id, m.entry_id, m.at, m.product, m.reg_no, m.mix_id, x.code, m.ml, m.purpose, m.listed, m.wait_h, m.reentry_h,
           m.void_by FROM entry e CROSS JOIN treatment m ON m.entry_id = e.id LEFT JOIN mix x ON x.id = m.mix_id",
        "m.id",
        |row| {
            let hours = |n| Ok::<_, rusqlite::Error>(format!("{} h", row.get::<_, i64>(n)?));
            let text = |n| Ok::<_, rusqlite::Error>(row.get::<_, Option<String>>(n)?.unwrap_or_default());
            Ok(Found {
                id: row.get(0)?,
                entry: row.get(1)?,
                at: row.get(2)?,
                mix: row.get(5)?,
                void_by: row.get(12)?,
                cells: [
                    row.get(3)?,
                    text(4)?,
                    text(6)?,
                    some(row.get::<_, Option<i64>>(7)?, |ml| units.volume(ml)),
                    row.get(8)?,
                    row.get::<_, Listed>(9)?.shown().to_string(),
                    hours(10)?,
                    hours(11)?,
                ],
            })
        },
    )?;
    let mut rows = Vec::new();
    for one in found {
        let trays: Vec<TrayId> = g
            .conn
            .prepare_cached("SELECT tray_id FROM treatment_tray WHERE treatment_id = ? ORDER BY tray_id")?
            .query_map([one.id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let [places, codes] = g.places_and_trays(&trays, one.at)?;
        let made_of = made_of(g, one.mix)?;
        let [product, registration, mix, amount, purpose, listed, wait, out] = one.cells;
        let cells = vec![places, codes, product, registration, mix, made_of, amount, purpose, listed, wait, out];
        let mut row = g.row(one.entry, cells)?;
        if let Some(stamp) = &mut row.stamp {
            stamp.seen = one.at;
        }
        row.gone = g.gone(one.void_by)?;
        rows.push(row);
    }
    Ok(rows)
}

/// What went into a bottle, each with its lot.
fn made_of(g: &Gather<'_>, mix: Option<i64>) -> Result<String, StoreError> {
    let parts: Vec<(String, i64, Measure, Option<String>)> = g
        .conn
        .prepare_cached(
            "SELECT m.name, p.amount, p.measure, l.code FROM mix_part p JOIN material m ON m.id = p.material_id
             LEFT JOIN material_lot l ON l.id = p.material_lot_id WHERE p.mix_id = ? ORDER BY p.n",
        )?
        .query_map([mix], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let parts = parts.into_iter().map(|(name, milli, measure, lot)| {
        let lot = lot.map_or_else(|| "lot not read".to_string(), |lot| format!("lot {lot}"));
        format!("{name} {} ({lot})", Amount { milli, measure }.short())
    });
    Ok(parts.collect::<Vec<_>>().join(", "))
}

/// Codes of trays that are no more than named.
pub(super) fn codes(trays: &[TrayId]) -> String {
    trays.iter().map(|tray| Code::tray(tray.0).to_string()).collect::<Vec<_>>().join(", ")
}
