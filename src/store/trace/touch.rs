//! What touched the things of a trace: the log's own sentences, each once, and what is worked out beside them.

mod around;
mod cold;
mod used;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

use crate::domain::code::Code;
use crate::domain::history::{EntryLine, Of};
use crate::domain::id::{EntryId, LotId, SowingId, TrayId};
use crate::domain::time::Now;
use crate::domain::trace::Node;
use crate::domain::trace::touch::{Section, Touch, hands, in_order, section};
use crate::store::error::StoreError;
use crate::store::{history, lot};

/// Everything that touched these things. `roots`: those the question was about, of which it is also told where they went.
pub(super) fn touches(
    conn: &Connection,
    nodes: &BTreeSet<Node>,
    roots: &BTreeSet<Node>,
    now: Now,
) -> Result<Vec<Touch>, StoreError> {
    let mut log = Log { conn, now, nodes, roots, found: BTreeMap::new() };
    let whole: BTreeSet<SowingId> = whole_batches(conn, nodes)?;
    for node in nodes {
        match node {
            Node::SeedLot(id) => {
                log.add(Of::SeedLot(*id), &Code::seed_lot(id.0).to_string(), |s| s != Section::Stock)?;
            }
            Node::Material(id) => log.add(Of::Material(*id), &used::material(conn, *id)?, is_of_material)?,
            Node::Mix(id) => log.add(Of::Mix(*id), &Code::mix(id.0).to_string(), |_| true)?,
            Node::Sowing(id) if whole.contains(id) => {
                log.add(Of::Sowing(*id), &Code::sowing(id.0).to_string(), |_| true)?;
            }
            Node::Tray(id) => log.add(Of::Tray(*id), &Code::tray(id.0).to_string(), |_| true)?,
            // of a lot on the way, where else it went is told elsewhere
            Node::Lot(id) if roots.contains(node) => log.add(Of::Lot(*id), &lot::code(conn, *id)?, |_| true)?,
            Node::Lot(id) => log.add(Of::Lot(*id), &lot::code(conn, *id)?, |s| s != Section::Stock)?,
            Node::Tool(_) | Node::Sowing(_) | Node::Delivery(_) | Node::Round(_) => {}
        }
    }
    let (trays, lots) = (trays_of(conn, nodes, &whole)?, lots_of(nodes));
    log.used(&trays, &lots)?;
    let mut touches = log.told()?;
    touches.extend(used::materials(conn, now, &log.materials(&trays, &lots)?)?);
    touches.extend(used::tools(conn, now, &lots)?);
    touches.extend(around::places(conn, now, &trays)?);
    touches.extend(around::neighbours(conn, now, &trays)?);
    touches.extend(around::air(conn, now, &trays)?);
    touches.extend(cold::stays(conn, now, &lots_of(roots))?);
    touches.extend(hands(&touches));
    in_order(&mut touches);
    Ok(touches)
}

fn is_of_material(section: Section) -> bool {
    matches!(section, Section::Holds | Section::Corrections)
}

/// Batches that are told as a whole: no tray of them is among the things.
fn whole_batches(conn: &Connection, nodes: &BTreeSet<Node>) -> Result<BTreeSet<SowingId>, StoreError> {
    let mut of_trays = BTreeSet::new();
    for node in nodes {
        if let Node::Tray(id) = node {
            let text = "SELECT sowing_id FROM tray WHERE id = ?";
            of_trays.insert(conn.prepare_cached(text)?.query_row([id], |row| row.get::<_, SowingId>(0))?);
        }
    }
    let batches = nodes.iter().filter_map(|node| match node {
        Node::Sowing(id) if !of_trays.contains(id) => Some(*id),
        _ => None,
    });
    Ok(batches.collect())
}

/// Trays among the things, and those of whole batches.
fn trays_of(conn: &Connection, nodes: &BTreeSet<Node>, whole: &BTreeSet<SowingId>) -> Result<Vec<TrayId>, StoreError> {
    let mut trays: BTreeSet<TrayId> = nodes
        .iter()
        .filter_map(|node| match node {
            Node::Tray(id) => Some(*id),
            _ => None,
        })
        .collect();
    for sowing in whole {
        let mut select = conn.prepare_cached("SELECT id FROM tray WHERE sowing_id = ?")?;
        for id in select.query_map([sowing], |row| row.get(0))? {
            trays.insert(id?);
        }
    }
    Ok(trays.into_iter().collect())
}

fn lots_of(nodes: &BTreeSet<Node>) -> Vec<LotId> {
    let lots = nodes.iter().filter_map(|node| match node {
        Node::Lot(id) => Some(*id),
        _ => None,
    });
    lots.collect()
}

/// Entries that were found, each with the things it is of.
struct Log<'a> {
    conn: &'a Connection,
    now: Now,
    nodes: &'a BTreeSet<Node>,
    roots: &'a BTreeSet<Node>,
    found: BTreeMap<EntryId, (EntryLine, BTreeSet<String>)>,
}

impl Log<'_> {
    /// The history of one thing, as far as its sections are asked for.
    fn add(&mut self, of: Of, code: &str, wanted: impl Fn(Section) -> bool) -> Result<(), StoreError> {
        for line in history::entries(self.conn, of, None, u32::MAX)? {
            let Some(section) = section(&line.kind, false).filter(|section| wanted(*section)) else { continue };
            // another run of a lot that was drawn from more than once is none of this trace
            if section == Section::Packing && !self.made_here(line.id)? {
                continue;
            }
            // nor are other batches of a seed lot on the way
            if section == Section::Seed && !self.sown_here(line.id, &of)? {
                continue;
            }
            // another bottle's trays
            if section == Section::Treatments && line.kind == "treated" && !self.treated_here(line.id)? {
                continue;
            }
            self.put(&line, code.to_string());
        }
        Ok(())
    }

    fn put(&mut self, line: &EntryLine, code: String) {
        let (known, codes) = self.found.entry(line.id).or_insert_with(|| (line.clone(), BTreeSet::new()));
        // a glance of which one tray's look was replaced still counts for the others
        if known.undone_by != line.undone_by {
            known.undone_by = None;
        }
        codes.insert(code);
    }

    /// One entry, for a thing.
    fn entry(&mut self, id: EntryId, code: String) -> Result<(), StoreError> {
        let line = history::line(self.conn, id)?;
        self.put(&line, code);
        Ok(())
    }

    /// Whether an entry made one of the lots of the trace.
    fn made_here(&self, entry: EntryId) -> Result<bool, StoreError> {
        let made: Vec<LotId> = self
            .conn
            .prepare_cached(
                "SELECT id FROM lot WHERE entry_id = ?1 UNION SELECT lot_id FROM lot_input WHERE entry_id = ?1",
            )?
            .query_map([entry], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for id in made {
            // under its first code it is the same lot
            if lot::below(self.conn, id)?.into_iter().any(|id| self.nodes.contains(&Node::Lot(id))) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether an entry sowed one of the batches of the trace, or none at all; of seed that was asked about every one counts.
    fn sown_here(&self, entry: EntryId, of: &Of) -> Result<bool, StoreError> {
        if matches!(of, Of::SeedLot(id) if self.roots.contains(&Node::SeedLot(*id))) {
            return Ok(true);
        }
        let sown: Vec<SowingId> = self
            .conn
            .prepare_cached("SELECT id FROM sowing WHERE entry_id = ?")?
            .query_map([entry], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        Ok(sown.is_empty() || sown.iter().any(|id| self.nodes.contains(&Node::Sowing(*id))))
    }

    /// Whether an entry treated a tray of the trace; where the trace has no trays, any counts.
    fn treated_here(&self, entry: EntryId) -> Result<bool, StoreError> {
        if !self.nodes.iter().any(|node| matches!(node, Node::Tray(_) | Node::Sowing(_))) {
            return Ok(true);
        }
        let trays: Vec<(TrayId, SowingId)> = self
            .conn
            .prepare_cached(
                "SELECT x.tray_id, t.sowing_id FROM treatment m JOIN treatment_tray x ON x.treatment_id = m.id
                 JOIN tray t ON t.id = x.tray_id WHERE m.entry_id = ?",
            )?
            .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        let here = |(tray, sowing): &(TrayId, SowingId)| {
            self.nodes.contains(&Node::Tray(*tray)) || self.nodes.contains(&Node::Sowing(*sowing))
        };
        Ok(trays.iter().any(here))
    }

    /// Everything that was found, in sentences.
    fn told(&self) -> Result<Vec<Touch>, StoreError> {
        let mut fuzzy =
            self.conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM look WHERE entry_id = ? AND fuzz = 1)")?;
        let mut touches = Vec::new();
        for (line, of) in self.found.values() {
            let fuzz = line.kind == "look" && fuzzy.query_row([line.id], |row| row.get(0))?;
            let Some(section) = section(&line.kind, fuzz) else { continue };
            let at = line.seen.as_ref().map_or(line.at, |seen| seen.at);
            touches.push(Touch {
                who: line.who.clone(),
                of: of.clone(),
                note: line.note.clone(),
                entry: Some(line.id),
                undone_by: line.undone_by,
                put_right_by: line.put_right_by,
                ..Touch::worked_out(section, self.now.local(at), line.words(self.now))
            });
        }
        Ok(touches)
    }
}
