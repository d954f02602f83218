//! Everything that is handed over about a trace, read in one view of the book, the chain first.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

use super::event::{Events, party};
use super::read::trace;
use super::touch::touches;
use crate::domain::gs1::Gtin;
use crate::domain::id::LotId;
use crate::domain::time::Now;
use crate::domain::trace::touch::Touch;
use crate::domain::trace::{Dossier, LOCAL, Node, Start, Trace, UsList, Way};
use crate::store::error::StoreError;
use crate::store::{Store, answering, chain, lot, room, sender};

impl Store {
    /// A trace the ways that are asked for, with its events, everything that touched it, and what the chain says.
    pub fn dossier(&self, start: &Start, ways: &[Way], now: Now) -> Result<Dossier, StoreError> {
        read(&*chain::view(&self.conn)?, start, ways, now)
    }

    /// Everything that touched what a start is, and what it was made of, beside the line from seed to pack.
    pub fn touches(&self, start: &Start, now: Now) -> Result<Vec<Touch>, StoreError> {
        let view = chain::view(&self.conn)?;
        let back = trace(&view, start, Way::Back)?;
        touches(&view, &back.things.keys().copied().collect(), &back.roots.iter().copied().collect(), now)
    }
}

fn read(conn: &Connection, start: &Start, ways: &[Way], now: Now) -> Result<Dossier, StoreError> {
    // never given up
    let proof = chain::proof(conn, &mut |_, _| true)?.unwrap_or_default();
    let traces = ways.iter().map(|way| trace(conn, start, *way)).collect::<Result<Vec<_>, _>>()?;
    let nodes: BTreeSet<Node> = traces.iter().flat_map(|trace| trace.things.keys().copied()).collect();
    let sold: BTreeSet<LotId> = traces.iter().filter(|trace| trace.way == Way::Forward).flat_map(lots_of).collect();
    let (events, replaced) = Events::new(conn, now)?.of(&nodes, &sold)?;
    let roots: BTreeSet<Node> = traces.iter().flat_map(|trace| trace.roots.iter().copied()).collect();
    // what lies before it is told whole; what was made of it has its own hand-over
    let back = traces.iter().filter(|trace| trace.way == Way::Back).flat_map(|trace| trace.things.keys().copied());
    let touched: BTreeSet<Node> = roots.iter().copied().chain(back).collect();
    let country = answering::read(conn)?.0.country;
    let dossier = Dossier {
        exercise: false,
        made_at: now.0,
        room: room::setting(conn, "room_code")?.unwrap_or_default(),
        room_name: room::setting(conn, "room_name")?.unwrap_or_default(),
        sender: party(conn)?,
        proof,
        conclusions: Vec::new(),
        gaps: Vec::new(),
        events,
        replaced,
        touches: touches(conn, &touched, &roots, now)?,
        us_list: us_list(conn, &nodes)?,
        country,
        facts: country.facts(),
        local: LOCAL,
        gtins: gtins(conn, &nodes)?,
        traces,
    };
    Ok(dossier.settled())
}

fn lots_of(trace: &Trace) -> impl Iterator<Item = LotId> {
    trace.things.keys().filter_map(|node| match node {
        Node::Lot(id) => Some(*id),
        _ => None,
    })
}

/// What the room has set of each crop in it.
fn us_list(conn: &Connection, nodes: &BTreeSet<Node>) -> Result<Vec<UsList>, StoreError> {
    let mut crops: BTreeMap<String, UsList> = BTreeMap::new();
    for node in nodes {
        let (text, key) = match node {
            Node::SeedLot(id) => (
                "SELECT c.letters, c.name, c.us_list FROM seed_lot l JOIN crop c ON c.id = l.crop_id WHERE l.id = ?",
                id.0,
            ),
            Node::Sowing(id) => (
                "SELECT c.letters, c.name, c.us_list FROM sowing_now s JOIN crop c ON c.id = s.crop_id WHERE s.id = ?",
                id.0,
            ),
            // also of a blend that is all there is of a trace
            Node::Lot(id) => {
                for part in lot::composition(conn, *id)? {
                    let of = listed(conn, "SELECT letters, name, us_list FROM crop WHERE id = ?", part.crop.0)?;
                    crops.insert(of.letters.clone(), of);
                }
                continue;
            }
            _ => continue,
        };
        let of = listed(conn, text, key)?;
        crops.insert(of.letters.clone(), of);
    }
    Ok(crops.into_values().collect())
}

fn listed(conn: &Connection, text: &str, key: i64) -> Result<UsList, StoreError> {
    Ok(conn
        .prepare_cached(text)?
        .query_row([key], |row| Ok(UsList { letters: row.get(0)?, crop: row.get(1)?, listed: row.get(2)? }))?)
}

/// Trade item numbers of pack lots, where the room has a licence for their prefix.
fn gtins(conn: &Connection, nodes: &BTreeSet<Node>) -> Result<BTreeMap<String, String>, StoreError> {
    let mut numbers = BTreeMap::new();
    let Some(prefix) = sender::read(conn)?.0.gs1_prefix else { return Ok(numbers) };
    for node in nodes {
        let Node::Lot(id) = node else { continue };
        let gtin: Option<String> = conn
            .prepare_cached("SELECT p.gtin FROM lot l LEFT JOIN product p ON p.id = l.product_id WHERE l.id = ?")?
            .query_row([id], |row| row.get(0))?;
        if let Some(gtin) = gtin.filter(|text| text.parse::<Gtin>().is_ok_and(|gtin| gtin.is_of(&prefix))) {
            numbers.insert(lot::code(conn, *id)?, gtin);
        }
    }
    Ok(numbers)
}
