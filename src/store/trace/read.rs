//! A trace: everything a start comes to, one way, with the links between.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

use super::out::gone_out;
use super::start::{Found, resolve};
use super::walk::{Walked, back, forward};
use super::{link, thing};
use crate::domain::id::{LotId, MaterialLotId};
use crate::domain::trace::{Node, Public, Recipient, Start, Trace, Way};
use crate::store::Store;
use crate::store::error::StoreError;

impl Store {
    /// Everything that was made of a start, or that it was made of.
    pub fn trace(&self, start: &Start, way: Way) -> Result<Trace, StoreError> {
        // two statements of one trace tell of the same book
        let tx = self.conn.unchecked_transaction()?;
        trace(&tx, start, way)
    }
}

pub(super) fn trace(conn: &Connection, start: &Start, way: Way) -> Result<Trace, StoreError> {
    let found = resolve(conn, start)?;
    let roots = roots(&found, start, way);
    let (mut nodes, lots) = nodes(conn, &found, &roots, way)?;
    let (recipients, public): (Vec<Recipient>, Vec<Public>) = match way {
        Way::Forward => gone_out(conn, &lots)?,
        Way::Back => (Vec::new(), Vec::new()),
    };
    nodes.extend(recipients.iter().map(|got| Node::Delivery(got.delivery)));
    nodes.extend(public.iter().map(|sold| Node::Round(sold.round)));
    let links = link::among(conn, &nodes)?;
    let reader = thing::Reader::new(conn)?;
    let mut things = BTreeMap::new();
    for node in nodes {
        things.insert(node, reader.thing(node)?);
    }
    Ok(Trace { start: start.clone(), way, title: found.title, roots, things, links, recipients, public })
}

/// Where the ways begin: the thing itself, or every tray and lot that was found.
fn roots(found: &Found, start: &Start, way: Way) -> Vec<Node> {
    let own = match start {
        Start::SeedLot(id) => Some(Node::SeedLot(*id)),
        Start::Material(id) => Some(Node::Material(*id)),
        Start::Mix(id) => Some(Node::Mix(*id)),
        Start::Sowing(id) => Some(Node::Sowing(*id)),
        // what a tool touched was not made into it
        Start::Tool(id, _) if way == Way::Forward => Some(Node::Tool(*id)),
        _ => None,
    };
    match own {
        Some(node) => vec![node],
        None => {
            found.trays.iter().map(|id| Node::Tray(*id)).chain(found.lots.iter().map(|id| Node::Lot(*id))).collect()
        }
    }
}

/// All things but customers, and the lots among them.
fn nodes(
    conn: &Connection,
    found: &Found,
    roots: &[Node],
    way: Way,
) -> Result<(BTreeSet<Node>, Vec<LotId>), StoreError> {
    let mut nodes: BTreeSet<Node> = roots.iter().copied().collect();
    let mut walked = match way {
        Way::Forward => {
            nodes.extend(found.sowings.iter().map(|id| Node::Sowing(*id)));
            nodes.extend(found.mixes.iter().map(|id| Node::Mix(*id)));
            forward(conn, &found.seed_lots, &found.trays, &found.lots)?
        }
        Way::Back => before(conn, found, roots)?,
    };
    if way == Way::Back {
        nodes.extend(materials(conn, &walked)?.into_iter().map(Node::Material));
    }
    let lots = std::mem::take(&mut walked.lots);
    nodes.extend(walked.seed_lots.into_iter().map(Node::SeedLot));
    nodes.extend(walked.sowings.into_iter().map(Node::Sowing));
    nodes.extend(walked.trays.into_iter().map(Node::Tray));
    nodes.extend(lots.iter().copied().map(Node::Lot));
    Ok((nodes, lots))
}

/// The way back begins with the roots: seed, a material or a bottle was made of nothing the book knows.
fn before(conn: &Connection, found: &Found, roots: &[Node]) -> Result<Walked, StoreError> {
    match roots {
        [Node::SeedLot(_) | Node::Material(_) | Node::Mix(_)] => Ok(Walked::default()),
        [Node::Sowing(id)] => back(conn, &[], &[], &[*id]),
        _ => back(conn, &found.lots, &found.trays, &[]),
    }
}

/// Media of sowings and packaging of lots. Index: `lot_use_lot`.
fn materials(conn: &Connection, walked: &Walked) -> Result<BTreeSet<MaterialLotId>, StoreError> {
    let mut materials = BTreeSet::new();
    let mut medium = conn.prepare_cached("SELECT medium_lot_id FROM sowing WHERE id = ? AND medium_lot_id NOT NULL")?;
    for sowing in &walked.sowings {
        for id in medium.query_map([sowing], |row| row.get(0))? {
            materials.insert(id?);
        }
    }
    let mut around = conn.prepare_cached(
        "SELECT material_lot_id FROM lot_use WHERE lot_id = ? AND material_lot_id NOT NULL AND void_by IS NULL",
    )?;
    for lot in &walked.lots {
        for id in around.query_map([lot], |row| row.get(0))? {
            materials.insert(id?);
        }
    }
    Ok(materials)
}
