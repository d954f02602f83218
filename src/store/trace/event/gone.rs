//! Where a lot went: customers, the public, back again, the bin.

use rusqlite::Row;

use super::Events;
use crate::domain::id::{DeliveryId, EntryId, LotId};
use crate::domain::lot::{Kind, Lot};
use crate::domain::stock::{CameBack, Kind as Move};
use crate::domain::time::Day;
use crate::domain::trace::event::{Event, Party, Quantity, Replaced, What};
use crate::store::error::StoreError;
use crate::store::lot::counting;

/// One movement with whom it concerns.
struct Moved {
    entry: EntryId,
    void_by: Option<EntryId>,
    kind: Move,
    grams: Option<i64>,
    packs: Option<i64>,
    day: Day,
    became: Option<CameBack>,
    reason: Option<String>,
    delivery: Option<DeliveryId>,
    received_by: Option<String>,
    customer: Option<Party>,
    /// Name, place and hours of a round or stall.
    round: Option<(i64, String, String, String)>,
}

fn moved(row: &Row<'_>) -> rusqlite::Result<Moved> {
    let customer: Option<String> = row.get(10)?;
    let round: Option<i64> = row.get(13)?;
    Ok(Moved {
        entry: row.get(0)?,
        void_by: row.get(1)?,
        kind: row.get(2)?,
        grams: row.get(3)?,
        packs: row.get(4)?,
        day: row.get(5)?,
        became: row.get(6)?,
        reason: row.get(7)?,
        delivery: row.get(8)?,
        received_by: row.get(9)?,
        customer: customer
            .map(|name| Ok::<_, rusqlite::Error>(Party { name, address: row.get(11)?, phone: row.get(12)? }))
            .transpose()?,
        round: round.map(|id| Ok::<_, rusqlite::Error>((id, row.get(14)?, row.get(15)?, row.get(16)?))).transpose()?,
    })
}

impl Events<'_> {
    /// What became of a lot, and what of it was taken back. Index: `stock_move_lot`.
    pub(super) fn gone(&self, id: LotId) -> Result<(Vec<Event>, Vec<Replaced>), StoreError> {
        let Some(lot) = counting(self.conn, id)? else { return Ok((Vec::new(), Vec::new())) };
        let rows: Vec<Moved> = self
            .conn
            .prepare_cached(
                "SELECT m.entry_id, m.void_by, m.kind, m.grams, m.packs, m.day, m.what, m.reason, m.delivery_id, d.received_by,
                        c.name, c.address, c.phone, r.id, r.name, coalesce(r.place, ''), coalesce(r.hours, '')
                 FROM stock_move m LEFT JOIN delivery d ON d.id = m.delivery_id
                 LEFT JOIN customer c ON c.id = coalesce(d.customer_id, m.customer_id) LEFT JOIN round r ON r.id = m.round_id
                 WHERE m.lot_id = ? ORDER BY m.id",
            )?
            .query_map([id], moved)?
            .collect::<Result<_, _>>()?;
        let (mut events, mut replaced) = (Vec::new(), Vec::new());
        for row in rows {
            let Some(event) = self.went(&lot, &row)? else { continue };
            match row.void_by {
                None => events.push(event),
                Some(by) => replaced.push(Replaced { event, by: self.stamp(by)?, never: true }),
            }
        }
        Ok((events, replaced))
    }

    /// One movement; `None` of those that move nothing out of the room or back.
    fn went(&self, lot: &Lot, row: &Moved) -> Result<Option<Event>, StoreError> {
        let what = match (row.kind, row.became) {
            (Move::Delivered, _) => What::Shipped,
            (Move::SoldPublic, _) => What::Sold,
            (Move::Given, _) => What::Given,
            (Move::Returned, _) => What::Returned,
            (Move::Sample, _) | (Move::Decided, Some(CameBack::Sample)) => What::Sampled,
            (Move::Trim | Move::Waste, _) | (Move::Decided, Some(CameBack::Binned)) => What::Binned,
            (Move::Made | Move::Refused | Move::Loaded | Move::BroughtBack | Move::Count | Move::Decided, _) => {
                return Ok(None);
            }
        };
        let packs = |n| if lot.pack_g.is_some() { Quantity::Packs(n) } else { Quantity::Trays(n) };
        let quantity = row.packs.map(packs).or(row.grams.map(Quantity::grams));
        // nothing trimmed off is nothing binned
        if quantity == Some(Quantity::Mass(0)) {
            return Ok(None);
        }
        let crop_or_product = |kind| if lot.kind == kind { lot.name.clone() } else { String::new() };
        let mut event = Event {
            lot: lot.code.clone(),
            crop: crop_or_product(Kind::Harvest),
            product: crop_or_product(Kind::Pack),
            quantity,
            pack_g: lot.pack_g,
            best_before: lot.best_before,
            ..self.event(what, row.day, row.entry)?
        };
        let customer = row.customer.clone().unwrap_or_default();
        match what {
            What::Returned => (event.from, event.to) = (customer, self.own.clone()),
            What::Shipped => (event.from, event.to) = (self.own.clone(), customer),
            _ => event.from = self.own.clone(),
        }
        if let Some(id) = row.delivery {
            event.document = ("delivery note".into(), id.0.to_string());
        }
        if let Some((id, name, place, hours)) = row.round.as_ref().filter(|_| what != What::Shipped) {
            // whom nobody can call: the stall stands for them
            if matches!(what, What::Sold | What::Given) {
                event.to = Party { name: format!("the public: {name}"), address: place.clone(), phone: String::new() };
            }
            event.document = ("round or stall".into(), id.to_string());
            event.remark.clone_from(hours);
        }
        let told = match (row.kind, row.became) {
            (Move::Returned, Some(became)) => vec![became.shown().to_string()],
            (Move::Decided, _) => vec!["came back from a customer".to_string()],
            (Move::Trim, _) => vec!["trimmed off in packing".to_string()],
            (Move::Delivered, _) => row.received_by.iter().map(|by| format!("received by {by}")).collect(),
            _ => Vec::new(),
        };
        let words = [event.remark.clone()].into_iter().chain(told).chain(row.reason.clone());
        event.remark = words.filter(|word| !word.trim().is_empty()).collect::<Vec<_>>().join("; ");
        Ok(Some(event))
    }
}
