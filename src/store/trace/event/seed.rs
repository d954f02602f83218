//! Seed received and sown, and what was put right about either.

use std::collections::BTreeSet;

use rusqlite::{OptionalExtension, params};

use super::{Events, once};
use crate::domain::code::Code;
use crate::domain::id::{EntryId, SeedLotId, SowingId, TrayId};
use crate::domain::seed_lot::Treated;
use crate::domain::time::Day;
use crate::domain::trace::event::{Event, Input, Party, Quantity, Replaced, What};
use crate::store::error::StoreError;

/// Rows that counted before an entry: written before it, and not void by then.
const COUNTED: &str = "entry_id < ?2 AND (void_by IS NULL OR void_by >= ?2)";

impl Events<'_> {
    /// Seed as it came. Index: `seed_move_lot`.
    pub(super) fn received(&self, id: SeedLotId) -> Result<Option<Event>, StoreError> {
        self.delivery_of_seed(id, EntryId(i64::MAX))
    }

    /// What was written of it first, where another amount stands by now.
    pub(super) fn received_before(&self, id: SeedLotId) -> Result<Vec<Replaced>, StoreError> {
        let by: Vec<EntryId> = self
            .conn
            .prepare_cached(
                "SELECT DISTINCT void_by FROM seed_move WHERE seed_lot_id = ? AND why = 'received' AND void_by NOT NULL ORDER BY 1",
            )?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let mut replaced = Vec::new();
        for entry in by {
            if let Some(event) = self.delivery_of_seed(id, entry)? {
                replaced.push(Replaced { event, by: self.stamp(entry)?, never: false });
            }
        }
        Ok(replaced)
    }

    /// As it stood before an entry.
    fn delivery_of_seed(&self, id: SeedLotId, before: EntryId) -> Result<Option<Event>, StoreError> {
        type Row =
            (EntryId, String, String, Option<String>, String, Day, Treated, Option<String>, Option<String>, Party);
        let (entry, code, crop, variety, theirs, day, treated, cert, document, from): Row = self
            .conn
            .prepare_cached(
                "SELECT l.entry_id, l.code, c.name, l.variety, l.supplier_lot, l.received, l.treated, l.cert, l.document,
                        s.name, s.address
                 FROM seed_lot l JOIN crop c ON c.id = l.crop_id JOIN supplier s ON s.id = l.supplier_id WHERE l.id = ?",
            )?
            .query_row([id], |row| {
                let from = Party { name: row.get(9)?, address: row.get(10)?, phone: String::new() };
                Ok((
                    row.get(0)?,
                    row.get(1)?,
                    row.get(2)?,
                    row.get(3)?,
                    row.get(4)?,
                    row.get(5)?,
                    row.get(6)?,
                    row.get(7)?,
                    row.get(8)?,
                    from,
                ))
            })?;
        let text = format!("SELECT sum(mg) FROM seed_move WHERE seed_lot_id = ?1 AND why = 'received' AND {COUNTED}");
        let mg: Option<i64> = self.conn.prepare_cached(&text)?.query_row(params![id, before], |row| row.get(0))?;
        let Some(mg) = mg else { return Ok(None) };
        let document = document.filter(|text| !text.trim().is_empty());
        Ok(Some(Event {
            lot: code,
            supplier_lot: theirs,
            crop,
            variety: variety.unwrap_or_default(),
            quantity: Some(Quantity::Mass(mg)),
            from,
            to: self.own.clone(),
            treated: Some(treated),
            certificate: cert.unwrap_or_default(),
            document: document.map_or_else(Default::default, |number| ("supplier's document".into(), number)),
            ..self.event(What::Received, day, entry)?
        }))
    }

    /// A batch as it counts now.
    pub(super) fn sown(&self, id: SowingId) -> Result<Event, StoreError> {
        self.batch_before(id, EntryId(i64::MAX))
    }

    /// What was written of a batch first, where another crop, day or seed stands by now. Indexes: `seed_move_sowing`,
    /// `sowing_fix_sowing`.
    pub(super) fn sown_before(&self, id: SowingId) -> Result<Vec<Replaced>, StoreError> {
        let by: BTreeSet<EntryId> = self
            .conn
            .prepare_cached(
                "SELECT void_by FROM seed_move WHERE sowing_id = ?1 AND void_by NOT NULL
                 UNION SELECT entry_id FROM sowing_fix WHERE sowing_id = ?1
                 UNION SELECT void_by FROM sowing_fix WHERE sowing_id = ?1 AND void_by NOT NULL",
            )?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        by.into_iter()
            .map(|entry| Ok(Replaced { event: self.batch_before(id, entry)?, by: self.stamp(entry)?, never: false }))
            .collect()
    }

    /// A batch as it stood before an entry.
    fn batch_before(&self, id: SowingId, before: EntryId) -> Result<Event, StoreError> {
        let fix = format!(
            "SELECT x.day, c.name FROM sowing_fix x JOIN crop c ON c.id = x.crop_id
             WHERE x.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = ?1 AND {COUNTED})"
        );
        let fix: Option<(Day, String)> = self
            .conn
            .prepare_cached(&fix)?
            .query_row(params![id, before], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let (entry, code, day, crop, before_lot): (EntryId, String, Day, String, Option<SeedLotId>) = self
            .conn
            .prepare_cached(
                "SELECT s.entry_id, s.code, s.day, c.name, s.before_lot_id FROM sowing s JOIN crop c ON c.id = s.crop_id
                 WHERE s.id = ?",
            )?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
        let (day, crop) = fix.unwrap_or((day, crop));
        let text = format!(
            "SELECT seed_lot_id, -sum(mg) FROM seed_move WHERE sowing_id = ?1 AND {COUNTED} GROUP BY seed_lot_id ORDER BY 1"
        );
        let seed: Vec<(SeedLotId, i64)> = self
            .conn
            .prepare_cached(&text)?
            .query_map(params![id, before], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        let mut inputs = Vec::new();
        for (lot, mg) in &seed {
            inputs.push(Input { quantity: Some(Quantity::Mass(*mg)), ..self.seed(*lot)? });
        }
        // a tray that stood before the book: nobody weighed its seed
        if let Some(lot) = before_lot.filter(|_| seed.is_empty()) {
            inputs.push(self.seed(lot)?);
        }
        let trays: Vec<(TrayId, i64)> = self
            .conn
            .prepare_cached("SELECT id, mats FROM tray WHERE sowing_id = ? ORDER BY id")?
            .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        let mut places = Vec::new();
        for (tray, _) in &trays {
            places.extend(self.first_place(*tray)?);
        }
        Ok(Event {
            lot: code,
            crop,
            quantity: Some(Quantity::Mats(trays.iter().map(|(_, mats)| mats).sum())),
            inputs,
            trays: trays.iter().map(|(tray, _)| Code::tray(tray.0).to_string()).collect(),
            places: once(places),
            ..self.event(What::Sown, day, entry)?
        })
    }

    fn first_place(&self, tray: TrayId) -> Result<Option<String>, StoreError> {
        let stays = crate::store::whereabouts::stays(self.conn, tray)?;
        Ok(stays.first().map(|stay| stay.place.label()))
    }

    /// A seed lot as something that went in.
    fn seed(&self, id: SeedLotId) -> Result<Input, StoreError> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT l.code, c.name || coalesce(' ' || nullif(l.variety, ''), ''), l.received FROM seed_lot l
                 JOIN crop c ON c.id = l.crop_id WHERE l.id = ?",
            )?
            .query_row([id], |row| {
                Ok(Input { lot: row.get(0)?, name: row.get(1)?, quantity: None, day: row.get(2)?, cut: Vec::new() })
            })?)
    }
}
