//! What never happened: every fact of an entry is void, also of a correction that stands in for what was done.

use rusqlite::Connection;

use crate::domain::correction::Entry;
use crate::domain::id::{BreachId, EntryId, TrayId};
use crate::domain::refusal::Refusal;
use crate::store::error::StoreError;
use crate::store::facts::BREACH;
use crate::store::writer::Writer;
use crate::store::{breach, history, hold, lot, undo};

/// Every fact of the entry is void, and what the act it stands in for was against.
pub(super) fn never(w: &mut Writer<'_>, entry: &Entry) -> Result<Vec<TrayId>, StoreError> {
    if let Some(why) = stays(w.conn, entry.id, &entry.kind)? {
        return Err(why.into());
    }
    let trays = undo::trays_of(w.conn, entry.id)?;
    w.touched_lots.extend(lot::of_entry(w.conn, entry.id)?);
    w.void_entry(entry.id)?;
    for act in replaced(w.conn, entry.id)? {
        if !counts(w.conn, act, entry.id)? {
            let text = "SELECT id FROM breach WHERE entry_id = ? AND void_by IS NULL ORDER BY id";
            let held: Vec<i64> =
                w.conn.prepare_cached(text)?.query_map([act], |row| row.get(0))?.collect::<Result<_, _>>()?;
            for id in held {
                w.touched.extend(held_by(w.conn, id)?);
                w.touched_lots.extend(breach::lots(w.conn, BreachId(id))?);
                w.void_row(BREACH, &[id])?;
            }
        }
    }
    w.touched.extend(trays.iter().copied());
    Ok(trays)
}

/// Why an entry cannot be said never to have happened.
pub(super) fn stays(conn: &Connection, id: EntryId, kind: &str) -> Result<Option<Refusal>, StoreError> {
    // a correction that says nothing of trays itself only changes what another entry says
    if ["setup", "undo"].contains(&kind) || (kind == "corrected" && !says(conn, id)?) {
        let sentence = "This kind of entry is not put right: take it back by undo, or write what should count.";
        return Ok(Some(Refusal::new("correct_kind", sentence)));
    }
    if let Some(why) = hold::stays(kind) {
        return Ok(Some(why));
    }
    if let Some(by) = undo::refers(conn, id)?.or(decided(conn, id)?) {
        let later = history::line(conn, by)?;
        let sentence = format!("Entry {} builds on it ({}): put that right first.", by.0, later.text);
        return Ok(Some(Refusal::new("undo_in_use", sentence)));
    }
    only_place(conn, id, kind)
}

/// A decision about a rule that the act was against, where the act would no longer count without this correction.
fn decided(conn: &Connection, id: EntryId) -> Result<Option<EntryId>, StoreError> {
    let text = "SELECT min(d.entry_id) FROM breach b JOIN breach_decision d ON d.breach_id = b.id AND d.void_by IS NULL
        WHERE b.entry_id = ? AND b.void_by IS NULL";
    for act in replaced(conn, id)? {
        let by: Option<EntryId> = conn.prepare_cached(text)?.query_row([act], |row| row.get(0))?;
        if by.is_some() && !counts(conn, act, id)? {
            return Ok(by);
        }
    }
    Ok(None)
}

/// A correction of the place a tray was first put at is the only one that says where it stands.
fn only_place(conn: &Connection, id: EntryId, kind: &str) -> Result<Option<Refusal>, StoreError> {
    if kind != "corrected" {
        return Ok(None);
    }
    let text = "SELECT EXISTS (SELECT 1 FROM placement p WHERE p.entry_id = ?1 AND p.void_by IS NULL
        AND NOT EXISTS (SELECT 1 FROM placement o
          WHERE o.tray_id = p.tray_id AND o.entry_id <> ?1 AND o.void_by IS NULL))";
    let only: bool = conn.prepare_cached(text)?.query_row([id], |row| row.get(0))?;
    let sentence = "Nothing else says where the tray stands: put the place right instead.";
    Ok(only.then(|| Refusal::new("undo_nowhere", sentence)))
}

fn says(conn: &Connection, id: EntryId) -> Result<bool, StoreError> {
    let text = "SELECT EXISTS (SELECT 1 FROM happening WHERE entry_id = ? AND void_by IS NULL)";
    Ok(conn.prepare_cached(text)?.query_row([id], |row| row.get(0))?)
}

/// The entries a correction stands in for, back to what was written first; of any other entry none.
fn replaced(conn: &Connection, id: EntryId) -> Result<Vec<EntryId>, StoreError> {
    let text = "WITH RECURSIVE chain (id) AS (
          SELECT ?1 UNION SELECT coalesce(e.undoes, (SELECT about_id FROM correction WHERE entry_id = e.id))
          FROM chain c JOIN entry e ON e.id = c.id)
        SELECT id FROM chain WHERE id < ?1 ORDER BY id DESC";
    Ok(conn.prepare_cached(text)?.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?)
}

/// Whether anything an entry said of trays counts, there or in what took its place, but for one of those.
fn counts(conn: &Connection, id: EntryId, without: EntryId) -> Result<bool, StoreError> {
    let text = "WITH RECURSIVE later (id) AS (
          SELECT ?1 UNION SELECT c.entry_id FROM later l JOIN correction c ON c.about_id = l.id
          UNION SELECT u.id FROM later l JOIN entry u ON u.undoes = l.id)
        SELECT EXISTS (SELECT 1 FROM later l JOIN happening h ON h.entry_id = l.id AND h.void_by IS NULL
          WHERE l.id <> ?2)";
    Ok(conn.prepare_cached(text)?.query_row([id, without], |row| row.get(0))?)
}

fn held_by(conn: &Connection, breach: i64) -> Result<Vec<TrayId>, StoreError> {
    let text = "SELECT tray_id FROM breach_tray WHERE breach_id = ?";
    Ok(conn.prepare_cached(text)?.query_map([breach], |row| row.get(0))?.collect::<Result<_, _>>()?)
}
