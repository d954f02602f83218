//! The links between the things of a trace, each with how much went over it.

use std::collections::BTreeSet;

use rusqlite::Connection;

use crate::domain::id::{DeliveryId, LotId, MaterialLotId, MixId, RoundId, SeedLotId, SowingId, ToolId, TrayId};
use crate::domain::lot::Kind;
use crate::domain::measure::Amount;
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::trace::{Link, Node};
use crate::store::error::StoreError;
use crate::store::{room, stock};

/// Every link of which both ends are among these things, from the seed to the customer.
pub(super) fn among(conn: &Connection, nodes: &BTreeSet<Node>) -> Result<Vec<Link>, StoreError> {
    let into = Into { conn, units: room::units(conn)?, nodes };
    let mut links = Vec::new();
    for node in nodes {
        links.extend(match *node {
            Node::SeedLot(_) | Node::Material(_) | Node::Tool(_) => Vec::new(),
            Node::Mix(id) => into.mix(id)?,
            Node::Sowing(id) => into.sowing(id)?,
            Node::Tray(id) => into.tray(id)?,
            Node::Lot(id) => into.lot(id)?,
            Node::Delivery(id) => into.delivery(id)?,
            Node::Round(id) => into.round(id)?,
        });
    }
    links.sort_by_key(|link| (link.from, link.to));
    Ok(links)
}

/// What went into a thing.
struct Into<'a> {
    conn: &'a Connection,
    units: Units,
    nodes: &'a BTreeSet<Node>,
}

impl Into<'_> {
    /// Adds a link if its beginning belongs to the trace as well.
    fn add(&self, links: &mut Vec<Link>, (from, to): (Node, Node), amount: String) {
        if self.nodes.contains(&from) {
            links.push(Link { from, to, amount });
        }
    }

    /// Ingredients.
    fn mix(&self, id: MixId) -> Result<Vec<Link>, StoreError> {
        let mut links = Vec::new();
        let mut select = self.conn.prepare_cached(
            "SELECT material_lot_id, amount, measure FROM mix_part WHERE mix_id = ? AND material_lot_id NOT NULL ORDER BY n",
        )?;
        let mut rows = select.query([id])?;
        while let Some(row) = rows.next()? {
            let from = Node::Material(row.get(0)?);
            let amount = Amount { milli: row.get(1)?, measure: row.get(2)? };
            self.add(&mut links, (from, Node::Mix(id)), amount.short());
        }
        links.dedup_by_key(|link| (link.from, link.to));
        Ok(links)
    }

    /// Seed and medium. Index: `seed_move_sowing`.
    fn sowing(&self, id: SowingId) -> Result<Vec<Link>, StoreError> {
        let (to, mut links) = (Node::Sowing(id), Vec::new());
        let mut select = self.conn.prepare_cached(
            "SELECT seed_lot_id, -sum(mg) FROM seed_move WHERE sowing_id = ? AND void_by IS NULL GROUP BY seed_lot_id",
        )?;
        let seed: Vec<(SeedLotId, i64)> =
            select.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        for (lot, mg) in &seed {
            self.add(&mut links, (Node::SeedLot(*lot), to), self.units.weight(*mg));
        }
        let (before, medium): (Option<SeedLotId>, Option<MaterialLotId>) = self
            .conn
            .prepare_cached("SELECT before_lot_id, medium_lot_id FROM sowing WHERE id = ?")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        // a tray that stood before the book: nobody weighed its seed
        if let Some(lot) = before.filter(|before| !seed.iter().any(|(lot, _)| lot == before)) {
            self.add(&mut links, (Node::SeedLot(lot), to), String::new());
        }
        if let Some(lot) = medium {
            self.add(&mut links, (Node::Material(lot), to), String::new());
        }
        Ok(links)
    }

    /// Its batch, and the bottles it was treated from. Index: `treatment_tray_tray`.
    fn tray(&self, id: TrayId) -> Result<Vec<Link>, StoreError> {
        let (to, mut links) = (Node::Tray(id), Vec::new());
        let (sowing, mats): (SowingId, i64) = self
            .conn
            .prepare_cached("SELECT sowing_id, mats FROM tray WHERE id = ?")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        self.add(&mut links, (Node::Sowing(sowing), to), self::mats(mats));
        if self.nodes.iter().any(|node| matches!(node, Node::Mix(_))) {
            let mut select = self.conn.prepare_cached(
                "SELECT m.mix_id, count(*) FROM treatment_tray t JOIN treatment m ON m.id = t.treatment_id
                 WHERE t.tray_id = ? AND m.void_by IS NULL AND m.mix_id NOT NULL GROUP BY m.mix_id",
            )?;
            let mut rows = select.query([id])?;
            while let Some(row) = rows.next()? {
                let (mix, n): (MixId, i64) = (row.get(0)?, row.get(1)?);
                let amount = if n > 1 { format!("{n} times") } else { String::new() };
                self.add(&mut links, (Node::Mix(mix), to), amount);
            }
        }
        Ok(links)
    }

    /// Mats of trays, what was drawn from other lots, packaging, tools. Indexes: `lot_input_lot`, `lot_use_lot`.
    fn lot(&self, id: LotId) -> Result<Vec<Link>, StoreError> {
        let (to, mut links) = (Node::Lot(id), Vec::new());
        let mut select = self.conn.prepare_cached(
            "SELECT i.tray_id, i.from_lot_id, sum(i.mats), t.mats, l.kind, sum(i.grams), sum(i.packs) FROM lot_input i
             LEFT JOIN tray t ON t.id = i.tray_id LEFT JOIN lot l ON l.id = i.from_lot_id
             WHERE i.lot_id = ? AND i.void_by IS NULL GROUP BY i.tray_id, i.from_lot_id",
        )?;
        let mut rows = select.query([id])?;
        while let Some(row) = rows.next()? {
            let (tray, from): (Option<TrayId>, Option<LotId>) = (row.get(0)?, row.get(1)?);
            let (grams, packs): (Option<i64>, Option<i64>) = (row.get(5)?, row.get(6)?);
            if let Some(tray) = tray {
                let (part, whole): (i64, i64) = (row.get(2)?, row.get(3)?);
                let weighed = grams.map_or_else(String::new, |g| format!(", {}", self.units.weight(g * 1000)));
                self.add(&mut links, (Node::Tray(tray), to), format!("{part} of {}{weighed}", mats(whole)));
            }
            if let Some(from) = from {
                let kind: Kind = row.get(4)?;
                let amount = match kind {
                    Kind::Harvest => grams,
                    Kind::Pack => packs,
                };
                let words = amount.map_or_else(String::new, |n| stock::amount(kind, n, self.units));
                self.add(&mut links, (Node::Lot(from), to), words);
            }
        }
        let mut select = self.conn.prepare_cached(
            "SELECT DISTINCT tool_id, material_lot_id FROM lot_use WHERE lot_id = ? AND void_by IS NULL ORDER BY 1, 2",
        )?;
        let mut rows = select.query([id])?;
        while let Some(row) = rows.next()? {
            let (tool, material): (Option<ToolId>, Option<MaterialLotId>) = (row.get(0)?, row.get(1)?);
            for from in tool.map(Node::Tool).into_iter().chain(material.map(Node::Material)) {
                self.add(&mut links, (from, to), String::new());
            }
        }
        Ok(links)
    }

    /// Packs a customer got. Index: `stock_move_delivery`.
    fn delivery(&self, id: DeliveryId) -> Result<Vec<Link>, StoreError> {
        let mut links = Vec::new();
        let mut select = self.conn.prepare_cached(
            "SELECT lot_id, sum(CASE kind WHEN 'delivered' THEN packs END), sum(CASE kind WHEN 'returned' THEN packs END)
             FROM stock_move WHERE delivery_id = ? AND void_by IS NULL AND kind IN ('delivered', 'returned') GROUP BY lot_id",
        )?;
        let mut rows = select.query([id])?;
        while let Some(row) = rows.next()? {
            let (lot, packs, back): (LotId, Option<i64>, Option<i64>) = (row.get(0)?, row.get(1)?, row.get(2)?);
            let back = back.map_or_else(String::new, |n| format!(", {n} came back"));
            let amount = format!("{}{back}", stock::amount(Kind::Pack, packs.unwrap_or(0), self.units));
            self.add(&mut links, (Node::Lot(lot), Node::Delivery(id)), amount);
        }
        Ok(links)
    }

    /// Packs the public got at a stall or on a round. Index: `stock_move_round`.
    fn round(&self, id: RoundId) -> Result<Vec<Link>, StoreError> {
        let mut links = Vec::new();
        let mut select = self.conn.prepare_cached(
            "SELECT lot_id, sum(packs) FROM stock_move WHERE round_id = ? AND void_by IS NULL
             AND kind IN ('sold_public', 'given') GROUP BY lot_id",
        )?;
        let mut rows = select.query([id])?;
        while let Some(row) = rows.next()? {
            let amount = stock::amount(Kind::Pack, row.get(1)?, self.units);
            self.add(&mut links, (Node::Lot(row.get(0)?), Node::Round(id)), amount);
        }
        Ok(links)
    }
}

/// `1 mat`, `4 mats`.
fn mats(n: i64) -> String {
    counted(usize::try_from(n).unwrap_or(0), "mat")
}
