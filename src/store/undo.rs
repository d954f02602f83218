//! Undo: an entry that voids the newest entry of the person at the rack.

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{ALL, Belongs, LOOK, PLACEMENT, SEED_MOVE, Table};
use super::look::part_of_walk;
use super::writer::{Cell, Writer};
use super::{correct, history, person};
use crate::domain::id::{EntryId, PersonId, TrayId, WalkId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant, Now};

/// The entry an undo by this person takes back: their newest that still counts. An undo counts as long as a look it
/// brought back does.
pub(super) fn target(conn: &Connection, who: PersonId, now: Now) -> Result<EntryId, StoreError> {
    // index: entry_who, newest first
    let newest: Option<(EntryId, String, Day, Option<Instant>)> = conn
        .prepare_cached(
            "SELECT e.id, e.kind, e.day, CASE WHEN e.seen_at IS NOT NULL THEN e.at END FROM entry e WHERE e.who = ?
             AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = e.id)
             AND (e.kind NOT IN ('look', 'undo') OR EXISTS (SELECT 1 FROM look l WHERE l.entry_id = e.id AND l.void_by IS NULL))
             ORDER BY e.id DESC LIMIT 1",
        )?
        .query_row([who], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    // the day of an entry is that of what was seen; a slip is one of the day it was typed on
    let newest = newest.map(|(id, kind, day, typed)| (id, kind, typed.map_or(day, |at| now.local(at).date_naive())));
    match newest {
        Some((_, kind, _)) if kind == "setup" => {
            Err(Refusal::new("undo_setup", "Setting up the room is not taken back: change it in settings.").into())
        }
        // undo is for slips of the hand; what a day has slept over is put right with a reason
        Some((id, _, day)) if day < now.day() => {
            let sentence =
                format!("Your newest entry ({}) is of {day}: put it right from the log, with a reason.", id.0);
            Err(Refusal::new("undo_older", sentence).into())
        }
        Some((id, ..)) => Ok(id),
        None => Err(Refusal::new("undo_nothing", "You have written nothing here that could be taken back.").into()),
    }
}

pub(super) fn undo(w: &mut Writer<'_>, target: Option<EntryId>) -> Result<Wrote, StoreError> {
    let Some(target) = target else {
        return Err(Refusal::new("undo_nothing", "There is nothing to take back.").into());
    };
    if let Some(by) = refers(w.conn, target)? {
        let later = history::line(w.conn, by)?;
        let sentence = format!("Entry {} builds on it ({}): take that back first.", by.0, later.text);
        return Err(Refusal::new("undo_in_use", sentence).into());
    }
    if correct::never_happened(w.conn, target)? {
        let sentence = "What was put right as \"never happened\" is not taken back: write it down again.";
        return Err(Refusal::new("undo_correction", sentence).into());
    }
    let taken = history::line(w.conn, target)?;
    let trays = trays_of(w.conn, target)?;
    w.void_entry(target)?;
    // an undo taken back takes its copies along; what it had taken back stays taken back
    if taken.kind != "undo" {
        bring_back(w, target)?;
    }
    w.touched.extend(trays.iter().copied());
    Ok(Wrote { sentence: format!("Taken back: {}", taken.words(w.now)), made: None, trays })
}

/// What the undone entry had replaced counts again, as copies: a void is never lifted.
fn bring_back(w: &mut Writer<'_>, target: EntryId) -> Result<(), StoreError> {
    // index: look_tray, by the trays the undone entry looked at; placement_void, seed_move_void
    let looks = "tray_id IN (SELECT tray_id FROM look WHERE entry_id = ?1) AND void_by = ?1";
    let mut walk: Option<WalkId> = None;
    for (table, which) in [(LOOK, looks), (PLACEMENT, "void_by = ?1"), (SEED_MOVE, "void_by = ?1")] {
        for (entry, cells) in replaced(w, table, which, target)? {
            let named: Vec<Cell<'_>> =
                own_columns(table).zip(cells.iter().map(|c| c as &dyn rusqlite::ToSql)).collect();
            w.fact(table, &named)?;
            walk = w
                .conn
                .query_row("SELECT walk_id FROM walk_stop WHERE entry_id = ?", [entry], |row| row.get(0))
                .optional()?
                .or(walk);
        }
    }
    part_of_walk(w, walk)
}

/// Columns of a table that are copied: all but its number and its entry.
fn own_columns(table: &'static Table) -> impl Iterator<Item = &'static str> {
    table.columns.iter().copied().filter(|column| !["id", "entry_id"].contains(column))
}

/// Rows of other entries that an entry made void, with the entry each was of.
fn replaced(
    w: &Writer<'_>,
    table: &'static Table,
    which: &str,
    target: EntryId,
) -> Result<Vec<(i64, Vec<Value>)>, StoreError> {
    let columns: Vec<&str> = own_columns(table).collect();
    let key = table.key.join(", ");
    let text = format!(
        "SELECT entry_id, {} FROM {} WHERE {which} AND entry_id <> ?1 ORDER BY {key}",
        columns.join(", "),
        table.name
    );
    let rows = w
        .conn
        .prepare_cached(&text)?
        .query_map([target], |row| {
            let cells = (1..=columns.len()).map(|n| row.get(n)).collect::<Result<_, _>>()?;
            Ok((row.get(0)?, cells))
        })?
        .collect::<Result<_, _>>()?;
    Ok(rows)
}

/// The trays whose state an entry bears on.
pub(super) fn trays_of(conn: &Connection, entry: EntryId) -> Result<Vec<TrayId>, StoreError> {
    let trays = conn
        .prepare_cached(
            "SELECT tray_id FROM look WHERE entry_id = ?1
             UNION SELECT tray_id FROM placement WHERE entry_id = ?1
             UNION SELECT tray_id FROM stage WHERE entry_id = ?1
             UNION SELECT tray_id FROM loss WHERE entry_id = ?1
             UNION SELECT wt.tray_id FROM water_tray wt JOIN water w ON w.id = wt.water_id WHERE w.entry_id = ?1
             UNION SELECT tt.tray_id FROM treatment_tray tt JOIN treatment t ON t.id = tt.treatment_id WHERE t.entry_id = ?1
             UNION SELECT t.id FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE s.entry_id = ?1
             UNION SELECT bt.tray_id FROM breach_tray bt JOIN breach b ON b.id = bt.breach_id WHERE b.entry_id = ?1
             UNION SELECT bt.tray_id FROM breach_tray bt JOIN breach_decision d ON d.breach_id = bt.breach_id WHERE d.entry_id = ?1",
        )?
        .query_map([entry], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(trays)
}

/// What must hold after an undo as after any other entry.
pub(super) fn still_sound(conn: &Connection) -> Result<(), StoreError> {
    let place: Option<String> = conn
        .prepare_cached(
            "SELECT r.name || ' ' || p.shelf || '-' || p.pos FROM tray_now n JOIN place p ON p.id = n.place_id
             JOIN rack r ON r.id = p.rack_id WHERE p.retired OR r.retired LIMIT 1",
        )?
        .query_row([], |row| row.get(0))
        .optional()?;
    if let Some(place) = place {
        let sentence = format!("A tray would stand in {place}, which is out of use: put the place to use first.");
        return Err(Refusal::new("place_retired", sentence).into());
    }
    let full: Option<String> = conn
        .prepare_cached(
            "SELECT r.name || ' ' || p.shelf || '-' || p.pos FROM tray_now n JOIN place p ON p.id = n.place_id
             JOIN rack r ON r.id = p.rack_id WHERE n.layer >= p.stack LIMIT 1",
        )?
        .query_row([], |row| row.get(0))
        .optional()?;
    if let Some(place) = full {
        let sentence = format!("More trays stand on each other at {place} than it would hold: unstack them first.");
        return Err(Refusal::new("stack_standing", sentence).into());
    }
    let crop: Option<String> = conn
        .prepare_cached(
            "SELECT c.name FROM tray_now n CROSS JOIN tray t ON t.id = n.tray_id JOIN sowing_now s ON s.id = t.sowing_id
             JOIN crop c ON c.id = s.crop_id WHERE c.retired LIMIT 1",
        )?
        .query_row([], |row| row.get(0))
        .optional()?;
    if let Some(crop) = crop {
        let sentence =
            format!("Trays of {crop} would stand in the room, a crop out of use: put the crop to use first.");
        return Err(Refusal::new("crop_standing", sentence).into());
    }
    person::someone_decides(conn)
}

/// The first live entry that builds on rows of `target`, if any.
pub(super) fn refers(conn: &Connection, target: EntryId) -> Result<Option<EntryId>, StoreError> {
    let mut found: Option<EntryId> = None;
    let mut note = |entry: Option<EntryId>| {
        if let Some(entry) = entry {
            found = Some(found.map_or(entry, |f| f.min(entry)));
        }
    };
    for child in ALL {
        let mut keys = conn.prepare_cached("SELECT \"table\", \"from\" FROM pragma_foreign_key_list(?)")?;
        let keys: Vec<(String, String)> =
            keys.query_map([child.name], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        for (parent, column) in keys {
            let Some(parent) = ALL.iter().find(|t| t.name == parent) else { continue };
            note(reference(conn, child, &column, parent, target)?);
        }
    }
    // an editable record made or changed by the target and changed again since
    note(
        conn.query_row(
            "SELECT min(later.entry_id) FROM change c JOIN change later ON later.noun = c.noun AND later.row_id = c.row_id
             AND later.entry_id > c.entry_id JOIN entry e ON e.id = later.entry_id
             WHERE c.entry_id = ? AND e.kind <> 'undo' AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = later.entry_id)",
            [target],
            |row| row.get(0),
        )
        .optional()?
        .flatten(),
    );
    note(used_record(conn, target)?);
    Ok(found)
}

/// Where a table says which entry a row is of, and whether it is live: an SQL source with both.
fn live(table: &Table) -> (String, String) {
    match table.belongs {
        Belongs::Fact => ("x.entry_id".into(), "x.void_by IS NULL".into()),
        Belongs::Log => ("x.entry_id".into(), "1".into()),
        Belongs::Child { parent, column } => (
            format!("(SELECT entry_id FROM {parent} WHERE id = x.{column})"),
            format!("(SELECT void_by IS NULL FROM {parent} WHERE id = x.{column})"),
        ),
    }
}

fn reference(
    conn: &Connection,
    child: &Table,
    column: &str,
    parent: &Table,
    target: EntryId,
) -> Result<Option<EntryId>, StoreError> {
    let (entry, alive) = live(child);
    let owned = match parent.belongs {
        Belongs::Fact | Belongs::Log => format!("SELECT id FROM {} WHERE entry_id = ?1", parent.name),
        Belongs::Child { parent: grand, column } => {
            format!("SELECT id FROM {} WHERE {column} IN (SELECT id FROM {grand} WHERE entry_id = ?1)", parent.name)
        }
    };
    let text = format!(
        "SELECT min({entry}) FROM {} x WHERE x.{column} IN ({owned}) AND {alive} AND {entry} <> ?1",
        child.name
    );
    Ok(conn.prepare_cached(&text)?.query_row([target], |row| row.get(0))?)
}

/// A later live fact that uses an editable record the target made or put back to use.
fn used_record(conn: &Connection, target: EntryId) -> Result<Option<EntryId>, StoreError> {
    let made: Vec<(String, i64)> = conn
        .prepare_cached(
            "SELECT noun, row_id FROM change WHERE entry_id = ? AND after IS NOT NULL
             AND (before IS NULL OR json_extract(before, '$.retired') = 1)",
        )?
        .query_map([target], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut found: Option<EntryId> = None;
    for (noun, row) in made {
        for table in ALL {
            let columns: Vec<String> = conn
                .prepare_cached("SELECT \"from\" FROM pragma_foreign_key_list(?) WHERE \"table\" = ?")?
                .query_map([table.name, &noun], |row| row.get(0))?
                .collect::<Result<_, _>>()?;
            for column in columns {
                let (entry, alive) = live(table);
                let text = format!(
                    "SELECT min({entry}) FROM {} x WHERE x.{column} = ?1 AND {alive} AND {entry} > ?2",
                    table.name
                );
                let by: Option<EntryId> =
                    conn.prepare_cached(&text)?.query_row(rusqlite::params![row, target], |r| r.get(0))?;
                if let Some(by) = by {
                    found = Some(found.map_or(by, |f| f.min(by)));
                }
            }
        }
        if noun == "person" {
            let by: Option<EntryId> = conn
                .prepare_cached("SELECT min(id) FROM entry WHERE who = ?1 AND id > ?2")?
                .query_row(rusqlite::params![row, target], |r| r.get(0))?;
            found = found.or(by);
        }
    }
    Ok(found)
}
