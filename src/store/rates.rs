//! What became of the trays of the last weeks.

use rusqlite::{Connection, OptionalExtension};

use super::Store;
use super::error::StoreError;
use super::ids::day_sql;
use super::room::place;
use super::{suspect, treatment};
use crate::domain::id::{SowingId, TrayId};
use crate::domain::rates::Outcome;
use crate::domain::room::Place;
use crate::domain::time::Day;

impl Store {
    /// The trays sown since a day: what was mouldy, rotten or suspect, and what each was sown from and where.
    pub fn outcomes(&self, since: Day) -> Result<Vec<Outcome>, StoreError> {
        let sowings: Vec<(SowingId, String)> = self
            .conn
            .prepare_cached(
                "SELECT s.id, c.name FROM sowing_now s JOIN crop c ON c.id = s.crop_id
                 WHERE s.day >= ? AND s.void_by IS NULL ORDER BY s.id",
            )?
            .query_map([day_sql(since)], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        let mut outcomes = Vec::new();
        for (sowing, crop) in sowings {
            let lots = lots(&self.conn, sowing)?;
            for tray in trays(&self.conn, sowing)? {
                let (bad, suspect) = suspect::ever(&self.conn, tray)?;
                let place = first_place(&self.conn, tray)?;
                let mixes = treatment::products(&self.conn, tray)?;
                outcomes.push(Outcome { tray, crop: crop.clone(), lots: lots.clone(), mixes, place, bad, suspect });
            }
        }
        Ok(outcomes)
    }
}

/// Index: `seed_move_sowing`.
fn lots(conn: &Connection, sowing: SowingId) -> Result<Vec<String>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT DISTINCT l.code || ' ' || c.name FROM seed_move m JOIN seed_lot l ON l.id = m.seed_lot_id
             JOIN crop c ON c.id = l.crop_id WHERE m.sowing_id = ?1 AND m.void_by IS NULL
             UNION SELECT l.code || ' ' || c.name FROM sowing s JOIN seed_lot l ON l.id = s.before_lot_id
             JOIN crop c ON c.id = l.crop_id WHERE s.id = ?1 ORDER BY 1",
        )?
        .query_map([sowing], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// Index: `tray_sowing`.
fn trays(conn: &Connection, sowing: SowingId) -> Result<Vec<TrayId>, StoreError> {
    Ok(conn
        .prepare_cached("SELECT id FROM tray WHERE sowing_id = ? ORDER BY id")?
        .query_map([sowing], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// Index: `placement_tray`.
fn first_place(conn: &Connection, tray: TrayId) -> Result<Option<Place>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT p.id, r.id, r.name, r.sort, p.shelf, p.pos, z.kind, p.stack FROM placement m
             JOIN place p ON p.id = m.place_id JOIN rack r ON r.id = p.rack_id JOIN zone z ON z.id = p.zone_id
             WHERE m.tray_id = ? AND m.void_by IS NULL ORDER BY m.id LIMIT 1",
        )?
        .query_row([tray], |row| place(row, 0))
        .optional()?)
}
