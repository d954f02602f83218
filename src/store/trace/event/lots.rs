//! Harvests, how they were cooled, packing runs, and codes that were given anew.

use std::collections::BTreeMap;

use rusqlite::{OptionalExtension, params};

use super::{Events, once};
use crate::domain::code::Code;
use crate::domain::id::{EntryId, LotId, SowingId, StoreId, TrayId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::time::{Day, Instant};
use crate::domain::trace::event::{Event, Input, Quantity, What};
use crate::store::error::StoreError;
use crate::store::lot::{above, code, composition, counting};
use crate::store::{cold, stay};

/// A tray that went into a lot.
struct Cut {
    tray: TrayId,
    mats: i64,
}

/// A lot that was drawn from: its kind, day and name, grams and packs.
type Drawn = (LotId, Kind, Day, String, Option<i64>, Option<i64>);

impl Events<'_> {
    /// How a lot came about, and where it lay before anything was made of it.
    pub(super) fn lot(&self, id: LotId) -> Result<Vec<Event>, StoreError> {
        let Some(lot) = counting(self.conn, id)? else { return Ok(Vec::new()) };
        match lot.kind {
            Kind::Harvest => {
                let harvest = self.harvested(&lot)?;
                let mut events = self.cooled(&lot, &harvest)?;
                events.push(harvest);
                Ok(events)
            }
            Kind::Pack => {
                let mut events = self.relabelled(&lot)?;
                events.push(self.packed(&lot)?);
                Ok(events)
            }
        }
    }

    /// The entry that wrote a lot, under whatever code it did.
    fn written(&self, lot: LotId) -> Result<EntryId, StoreError> {
        let first = stay::first_code(self.conn, lot)?;
        Ok(self.conn.prepare_cached("SELECT entry_id FROM lot WHERE id = ?")?.query_row([first], |row| row.get(0))?)
    }

    /// Trays whose mats went into a lot. Index: `lot_input_lot`.
    fn cuts(&self, lot: LotId) -> Result<Vec<Cut>, StoreError> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT tray_id, sum(mats) FROM lot_input WHERE lot_id = ? AND void_by IS NULL AND tray_id NOT NULL
                 GROUP BY tray_id ORDER BY tray_id",
            )?
            .query_map([lot], |row| Ok(Cut { tray: row.get(0)?, mats: row.get(1)? }))?
            .collect::<Result<_, _>>()?)
    }

    /// The batches of trays that were cut, with their mats, as what went in.
    fn grown(&self, event: &mut Event, cuts: &[Cut], at: Option<Instant>) -> Result<(), StoreError> {
        let mut batches: BTreeMap<SowingId, Input> = BTreeMap::new();
        let mut places = Vec::new();
        for cut in cuts {
            let (id, code, crop, sown) = self.batch(cut.tray)?;
            let batch = batches.entry(id).or_insert_with(|| Input {
                lot: code,
                name: crop,
                quantity: Some(Quantity::Mats(0)),
                day: Some(sown),
                cut: Vec::new(),
            });
            if let Some(Quantity::Mats(mats)) = &mut batch.quantity {
                *mats += cut.mats;
            }
            places.extend(self.stood(cut.tray, at)?);
        }
        event.inputs = batches.into_values().collect();
        event.batches = event.inputs.iter().map(|input| input.lot.clone()).collect();
        event.trays = cuts.iter().map(|cut| Code::tray(cut.tray.0).to_string()).collect();
        event.places = once(places);
        Ok(())
    }

    /// What was made of a lot, in its own unit. Index: `stock_move_lot`.
    fn made(&self, lot: LotId, amount: &str) -> Result<Option<i64>, StoreError> {
        let text =
            format!("SELECT sum({amount}) FROM stock_move WHERE lot_id = ? AND kind = 'made' AND void_by IS NULL");
        Ok(self.conn.prepare_cached(&text)?.query_row([lot], |row| row.get(0))?)
    }

    fn harvested(&self, lot: &Lot) -> Result<Event, StoreError> {
        let mut event = Event {
            lot: lot.code.clone(),
            crop: lot.name.clone(),
            quantity: self.made(lot.id, "grams")?.map(Quantity::grams),
            best_before: lot.best_before,
            from: self.own.clone(),
            ..self.event(What::Harvested, lot.day, self.written(lot.id)?)?
        };
        event.at = lot.cut_at.map(|at| self.local(at)).filter(|at| at.date_naive() == lot.day).or(event.at);
        self.grown(&mut event, &self.cuts(lot.id)?, lot.cut_at)?;
        Ok(event)
    }

    /// Each stay of a harvest lot in a cold store. Index: `stay_lot`.
    fn cooled(&self, lot: &Lot, harvest: &Event) -> Result<Vec<Event>, StoreError> {
        let stays: Vec<(EntryId, Option<StoreId>, i64)> = self
            .conn
            .prepare_cached(
                "SELECT entry_id, store_id, at_s FROM stay WHERE lot_id = ? AND void_by IS NULL ORDER BY at_s, id",
            )?
            .query_map([lot.id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        let gone = stay::gone(self.conn, lot.id)?;
        let ends = stays.iter().skip(1).map(|(_, _, at_s)| Some(*at_s)).chain([gone]);
        let mut events = Vec::new();
        for ((entry, store, at_s), end) in stays.iter().zip(ends) {
            let Some(store) = store else { continue };
            let at = self.local(cold::instant(*at_s)?);
            let until = end.map(|end| cold::instant(end).map(|end| self.local(end))).transpose()?;
            events.push(Event {
                at: Some(at),
                until,
                lot: lot.code.clone(),
                crop: lot.name.clone(),
                quantity: harvest.quantity,
                batches: harvest.batches.clone(),
                places: vec![cold::name(self.conn, Some(store.0))],
                from: self.own.clone(),
                ..self.event(What::Cooled, at.date_naive(), *entry)?
            });
        }
        Ok(events)
    }

    /// A packing run, or trays that left the room alive.
    fn packed(&self, lot: &Lot) -> Result<Event, StoreError> {
        let packs = self.made(lot.id, "packs")?;
        let quantity = packs.map(|n| if lot.pack_g.is_some() { Quantity::Packs(n) } else { Quantity::Trays(n) });
        let crops: Vec<String> = composition(self.conn, lot.id)?.into_iter().map(|part| part.name).collect();
        let mut event = Event {
            lot: lot.code.clone(),
            crop: crops.join("; "),
            product: lot.name.clone(),
            quantity,
            pack_g: lot.pack_g,
            best_before: lot.best_before,
            from: self.own.clone(),
            ..self.event(What::Packed, lot.day, self.written(lot.id)?)?
        };
        let cuts = self.cuts(lot.id)?;
        if cuts.is_empty() {
            event.inputs = self.drawn(lot.id)?;
            event.places = vec!["packing room".into()];
        } else {
            self.grown(&mut event, &cuts, None)?;
            event.remark = "left the room alive".into();
        }
        Ok(event)
    }

    /// What a run drew from. Index: `lot_input_lot`.
    fn drawn(&self, lot: LotId) -> Result<Vec<Input>, StoreError> {
        let drawn: Vec<Drawn> = self
            .conn
            .prepare_cached(
                "SELECT l.id, l.kind, l.day, coalesce(c.name, p.name), sum(i.grams), sum(i.packs) FROM lot_input i
                 JOIN lot l ON l.id = i.from_lot_id LEFT JOIN crop c ON c.id = l.crop_id LEFT JOIN product p ON p.id = l.product_id
                 WHERE i.lot_id = ? AND i.void_by IS NULL GROUP BY l.id ORDER BY l.id",
            )?
            .query_map([lot], |row| {
                Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?))
            })?
            .collect::<Result<_, _>>()?;
        let mut inputs = Vec::new();
        for (id, kind, day, name, grams, packs) in drawn {
            let quantity = match kind {
                Kind::Harvest => grams.map(Quantity::grams),
                Kind::Pack => packs.map(Quantity::Packs),
            };
            let cut = self.cut_days(id)?;
            inputs.push(Input { lot: code(self.conn, id)?, name, quantity, day: Some(day), cut });
        }
        Ok(inputs)
    }

    /// Days on which what is in a lot was cut.
    fn cut_days(&self, lot: LotId) -> Result<Vec<Day>, StoreError> {
        let mut days = Vec::new();
        for id in above(self.conn, lot)? {
            let day: Option<Day> = self
                .conn
                .prepare_cached("SELECT day FROM lot WHERE id = ? AND kind = 'harvest'")?
                .query_row([id], |row| row.get(0))
                .optional()?;
            days.extend(day);
        }
        days.sort_unstable();
        days.dedup();
        Ok(days)
    }

    /// Codes that a lot had before: the old one stands as what went in.
    fn relabelled(&self, lot: &Lot) -> Result<Vec<Event>, StoreError> {
        let mut events = Vec::new();
        let mut new = lot.id;
        loop {
            let old: Option<(LotId, EntryId, Day, String)> = self
                .conn
                .prepare_cached(
                    "SELECT o.id, n.entry_id, e.day, p.name FROM lot n JOIN lot o ON o.id = n.instead_of JOIN entry e ON e.id = n.entry_id
                     JOIN product p ON p.id = o.product_id WHERE n.id = ?",
                )?
                .query_row(params![new], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
                .optional()?;
            let Some((id, entry, day, product)) = old else { return Ok(events) };
            let quantity = self.made(lot.id, "packs")?.map(Quantity::Packs);
            let input =
                Input { lot: code(self.conn, id)?, name: product, quantity, day: Some(lot.day), cut: Vec::new() };
            let mut event = Event {
                lot: code(self.conn, new)?,
                product: lot.name.clone(),
                quantity,
                pack_g: lot.pack_g,
                inputs: vec![input],
                from: self.own.clone(),
                ..self.event(What::Relabelled, day, entry)?
            };
            event.remark = event.stamp.note.clone().unwrap_or_default();
            events.push(event);
            new = id;
        }
    }
}
