//! Undo: an entry that voids the newest entry of the person at the rack.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{
    ALL, Belongs, COMPLAINT, CORRECTION, HOLD, LOOK, LOSS, MATERIAL_LOT, PLACEMENT, SEED_MOVE, STAGE, Table, WATER,
    WATER_TRAY,
};
use super::look::part_of_walk;
use super::writer::{Cell, Writer};
use super::{correct, customer, hands, history, hold, lot, order, person};
use crate::domain::code::Code;
use crate::domain::hands::Seen;
use crate::domain::id::{EntryId, HoldId, PersonId, TrayId, WalkId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant, Now};

/// The entry an undo by this person takes back: their newest that still counts. An undo counts as long as something it
/// brought back does.
pub(super) fn target(conn: &Connection, who: PersonId, now: Now) -> Result<EntryId, StoreError> {
    // index: entry_who, newest first
    let newest: Option<(EntryId, String, Day, Option<Instant>)> = conn
        .prepare_cached(
            "SELECT e.id, e.kind, e.day, CASE WHEN e.seen_at IS NOT NULL THEN e.at END FROM entry e WHERE e.who = ?
             AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = e.id)
             AND CASE WHEN EXISTS (SELECT 1 FROM happening h WHERE h.entry_id = e.id)
               THEN EXISTS (SELECT 1 FROM happening h WHERE h.entry_id = e.id AND h.void_by IS NULL)
               ELSE e.kind <> 'undo' END
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
        Some((id, kind, _)) => hold::stays(&kind).map_or(Ok(id), |why| Err(why.into())),
        None => Err(Refusal::new("undo_nothing", "You have written nothing here that could be taken back.").into()),
    }
}

pub(super) fn undo(w: &mut Writer<'_>, target: Option<EntryId>) -> Result<Wrote, StoreError> {
    let Some(target) = target else {
        return Err(Refusal::new("undo_nothing", "There is nothing to take back.").into());
    };
    if let Some(by) = refers(w.conn, target)?.or(put_right_by(w.conn, target)?) {
        let later = history::line(w.conn, by)?;
        let sentence = format!("Entry {} builds on it ({}): take that back first.", by.0, later.text);
        return Err(Refusal::new("undo_in_use", sentence).into());
    }
    if correct::never_happened(w.conn, target)? {
        let sentence = "What was put right as \"never happened\" is not taken back: write it down again.";
        return Err(Refusal::new("undo_correction", sentence).into());
    }
    seed_as_written(w.conn, target)?;
    correct::no_slip(w.conn, target, w.now)?;
    let taken = history::line(w.conn, target)?;
    let trays = trays_of(w.conn, target)?;
    w.touched_lots.extend(lot::of_entry(w.conn, target)?);
    // an undo taken back takes its copies along; what it had taken back stays taken back
    w.void_entry(target)?;
    bring_back(w, target)?;
    w.touched.extend(trays.iter().copied());
    Ok(Wrote { sentence: format!("Taken back: {}", taken.words(w.now)), made: None, trays })
}

/// The first live correction of an entry.
fn put_right_by(conn: &Connection, entry: EntryId) -> Result<Option<EntryId>, StoreError> {
    let text = "SELECT min(entry_id) FROM correction WHERE about_id = ? AND void_by IS NULL";
    Ok(conn.prepare_cached(text)?.query_row([entry], |row| row.get(0))?)
}

/// Refuses to take back seed that was put right since, by whomever: the older amount would count beside the newer one.
fn seed_as_written(conn: &Connection, target: EntryId) -> Result<(), StoreError> {
    let text = "SELECT EXISTS (SELECT 1 FROM seed_move WHERE entry_id = ? AND void_by IS NOT NULL)";
    let replaced: bool = conn.prepare_cached(text)?.query_row([target], |row| row.get(0))?;
    if replaced {
        let sentence = format!("The seed of entry {} was put right since: put it right from the log.", target.0);
        return Err(Refusal::new("undo_in_use", sentence).into());
    }
    Ok(())
}

/// What an undo brings back of trays: the table and the column of its time.
const BROUGHT_BACK: [(&Table, Option<&str>); 4] =
    [(LOOK, Some("seen_at")), (PLACEMENT, Some("at")), (STAGE, Some("at")), (LOSS, None)];

/// The entry whose facts an entry holds: its own, or those that an undo brought back.
fn stands_for(conn: &Connection, entry: EntryId) -> Result<Option<EntryId>, StoreError> {
    let undoes: Option<EntryId> =
        conn.prepare_cached("SELECT undoes FROM entry WHERE id = ?")?.query_row([entry], |row| row.get(0))?;
    let Some(undone) = undoes else { return Ok(Some(entry)) };
    let Some(by) = stands_for(conn, undone)? else { return Ok(None) };
    match newest_replaced(conn, Replaced { by, own: undone, undo: Some(entry) })? {
        Some(entry) => stands_for(conn, entry),
        None => Ok(None),
    }
}

/// Whose an undo is and of when: it stands in for what it brings back, where it brings something of trays back.
pub(super) fn seen(conn: &Connection, target: Option<EntryId>) -> Result<Seen, StoreError> {
    let Some(own) = target else { return Ok(Seen::default()) };
    let Some(by) = stands_for(conn, own)? else { return Ok(Seen::default()) };
    let of = newest_replaced(conn, Replaced { by, own, undo: None })?;
    let hands = of.map(|entry| hands::of_entry(conn, entry, Some(by))).transpose()?.flatten();
    Ok(hands.map_or_else(Seen::default, |h| Seen { by: Some(h.by), at: Some(h.at), paper: h.paper }))
}

fn newest_replaced(conn: &Connection, which: Replaced) -> Result<Option<EntryId>, StoreError> {
    let mut newest = None;
    for (table, time) in BROUGHT_BACK {
        newest = newest.max(replaced(conn, table, time, which)?.iter().map(|row| row.entry).max());
    }
    Ok(newest)
}

/// What the undone entry had replaced counts again, as copies that keep the time they had: a void is never lifted.
fn bring_back(w: &mut Writer<'_>, target: EntryId) -> Result<(), StoreError> {
    // what an undo had brought back may have replaced something in its turn
    let Some(by) = stands_for(w.conn, target)? else { return Ok(()) };
    let which = Replaced { by, own: target, undo: Some(w.entry) };
    let mut walk: Option<WalkId> = None;
    for (table, time) in BROUGHT_BACK {
        for row in replaced(w.conn, table, time, which)? {
            let instead: Vec<Cell<'_>> = time.map(|column| -> Cell<'_> { (column, &row.at) }).into_iter().collect();
            w.copy(table, &row.key, &instead)?;
            walk = w
                .conn
                .query_row("SELECT walk_id FROM walk_stop WHERE entry_id = ?", [row.entry], |row| row.get(0))
                .optional()?
                .or(walk);
        }
    }
    if by == target {
        for id in voided(w.conn, "seed_move", target)? {
            w.copy(SEED_MOVE, &[id], &[])?;
        }
    } else {
        void_correction(w, by)?;
    }
    for id in voided(w.conn, "water", by)? {
        let water = w.copy(WATER, &[id], &[])?;
        let trays: Vec<TrayId> = w
            .conn
            .prepare_cached("SELECT tray_id FROM water_tray WHERE water_id = ? ORDER BY tray_id")?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for tray in trays {
            w.fact(WATER_TRAY, &[("water_id", &water), ("tray_id", &tray)])?;
        }
    }
    part_of_walk(w, walk)
}

/// A correction of which nothing counts any more says nothing of the hands either.
fn void_correction(w: &mut Writer<'_>, correction: EntryId) -> Result<(), StoreError> {
    let live: Vec<i64> = w
        .conn
        .prepare_cached(
            "SELECT id FROM correction c WHERE entry_id = ? AND void_by IS NULL
             AND NOT EXISTS (SELECT 1 FROM happening h WHERE h.entry_id = c.entry_id AND h.void_by IS NULL)",
        )?
        .query_map([correction], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for id in live {
        w.void_row(CORRECTION, &[id])?;
    }
    Ok(())
}

/// Rows of other entries that an entry made void. Index: `seed_move_void`, `water_void`.
fn voided(conn: &Connection, table: &str, by: EntryId) -> Result<Vec<i64>, StoreError> {
    let text = format!("SELECT id FROM {table} WHERE void_by = ?1 AND entry_id <> ?1 ORDER BY id");
    Ok(conn.prepare_cached(&text)?.query_map([by], |row| row.get(0))?.collect::<Result<_, _>>()?)
}

/// Rows that `by` made void, unless what took their place in `own` was replaced as well, by other than this `undo`.
#[derive(Clone, Copy)]
struct Replaced {
    by: EntryId,
    own: EntryId,
    undo: Option<EntryId>,
}

/// A row that comes back: its entry, when it happened, its key.
struct Back {
    entry: EntryId,
    at: Instant,
    key: Vec<i64>,
}

/// Such rows. Indexes: `look_tray`, by the trays of `own`; `placement_void`, `stage_void`, `loss_void`.
fn replaced(
    conn: &Connection,
    table: &'static Table,
    time: Option<&str>,
    which: Replaced,
) -> Result<Vec<Back>, StoreError> {
    let (name, keys) = (table.name, table.key.join(", x."));
    let own = time.map_or_else(|| "NULL".to_string(), |column| format!("x.{column}"));
    let trays = if name == LOOK.name { "x.tray_id IN (SELECT tray_id FROM look WHERE entry_id = ?2) AND" } else { "" };
    let text = format!(
        "SELECT x.entry_id, coalesce({own}, e.seen_at, e.at), x.{keys} FROM {name} x JOIN entry e ON e.id = x.entry_id
         WHERE {trays} x.void_by = ?1 AND x.entry_id <> ?1 AND NOT EXISTS (SELECT 1 FROM {name} o
           WHERE o.entry_id = ?2 AND o.tray_id = x.tray_id AND o.void_by IS NOT NULL AND o.void_by IS NOT ?3)
         ORDER BY x.{keys}"
    );
    let rows = conn
        .prepare_cached(&text)?
        .query_map(params![which.by, which.own, which.undo], |row| {
            let key = (0..table.key.len()).map(|n| row.get(n + 2)).collect::<Result<_, _>>()?;
            Ok(Back { entry: row.get(0)?, at: row.get(1)?, key })
        })?
        .collect::<Result<_, _>>()?;
    Ok(rows)
}

/// The trays whose state an entry bears on.
pub(super) fn trays_of(conn: &Connection, entry: EntryId) -> Result<Vec<TrayId>, StoreError> {
    let mut trays: Vec<TrayId> = conn
        .prepare_cached(
            "SELECT tray_id FROM look WHERE entry_id = ?1
             UNION SELECT tray_id FROM placement WHERE entry_id = ?1
             UNION SELECT tray_id FROM stage WHERE entry_id = ?1
             UNION SELECT tray_id FROM loss WHERE entry_id = ?1
             UNION SELECT wt.tray_id FROM water_tray wt JOIN water w ON w.id = wt.water_id WHERE w.entry_id = ?1
             UNION SELECT tt.tray_id FROM treatment_tray tt JOIN treatment t ON t.id = tt.treatment_id WHERE t.entry_id = ?1
             UNION SELECT t.id FROM tray t JOIN sowing s ON s.id = t.sowing_id WHERE s.entry_id = ?1
             UNION SELECT t.id FROM tray t JOIN sowing_fix f ON f.sowing_id = t.sowing_id WHERE f.entry_id = ?1
             UNION SELECT bt.tray_id FROM breach_tray bt JOIN breach b ON b.id = bt.breach_id WHERE b.entry_id = ?1
             UNION SELECT tray_id FROM decision WHERE entry_id = ?1
             UNION SELECT bt.tray_id FROM breach_tray bt JOIN breach_decision d ON d.breach_id = bt.breach_id WHERE d.entry_id = ?1
             UNION SELECT i.tray_id FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE h.entry_id = ?1 AND i.tray_id NOT NULL
             UNION SELECT tray_id FROM lot_input WHERE entry_id = ?1 AND tray_id NOT NULL",
        )?
        .query_map([entry], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    // of a decision all that its hold has come to hold by now
    let decided: Option<HoldId> = conn
        .prepare_cached("SELECT hold_id FROM hold_decision WHERE entry_id = ?")?
        .query_row([entry], |row| row.get(0))
        .optional()?;
    if let Some(hold) = decided {
        trays.extend(hold::trays(conn, hold)?);
        trays.sort_unstable();
        trays.dedup();
    }
    Ok(trays)
}

/// Refuses that a tray of a batch that counts would never have stood anywhere.
fn nowhere(conn: &Connection, tray: TrayId) -> Result<(), StoreError> {
    let lost: bool = conn
        .prepare_cached(
            "SELECT NOT EXISTS (SELECT 1 FROM placement WHERE tray_id = t.id AND void_by IS NULL)
             FROM tray t JOIN sowing s ON s.id = t.sowing_id AND s.void_by IS NULL WHERE t.id = ?",
        )?
        .query_row([tray], |row| row.get(0))
        .optional()?
        .unwrap_or(false);
    if lost {
        let sentence = format!("{} would stand nowhere: put its place right from the log.", Code::tray(tray.0));
        return Err(Refusal::new("undo_nowhere", sentence).into());
    }
    Ok(())
}

/// What must hold after an undo as after any other entry.
pub(super) fn still_sound(conn: &Connection, touched: &BTreeSet<TrayId>) -> Result<(), StoreError> {
    for tray in touched {
        nowhere(conn, *tray)?;
    }
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
    customer::trays_went_there(conn)?;
    person::someone_decides(conn)
}

/// The first live entry that builds on rows of `target`, if any.
pub(super) fn refers(conn: &Connection, target: EntryId) -> Result<Option<EntryId>, StoreError> {
    let by_the_way = makes_by_the_way(conn, target)?;
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
            // a hold stays whatever becomes of the complaint it was written for
            let stays = child.name == HOLD.name && parent.name == COMPLAINT.name;
            let passing = by_the_way && parent.name == MATERIAL_LOT.name;
            if !stays && !passing {
                note(reference(conn, child, &column, parent, target)?);
            }
        }
    }
    // an editable record made or changed by the target and changed again since
    note(
        conn.query_row(
            "SELECT min(later.entry_id) FROM change c JOIN change later ON later.noun = c.noun AND later.row_id = c.row_id
             AND later.entry_id > c.entry_id JOIN entry e ON e.id = later.entry_id
             WHERE c.entry_id = ?1 AND e.kind <> 'undo' AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = later.entry_id)
             AND NOT (?2 AND c.noun IN ('tool', 'material'))",
            params![target, by_the_way],
            |row| row.get(0),
        )
        .optional()?
        .flatten(),
    );
    note(used_record(conn, target, by_the_way)?);
    Ok(found)
}

/// Whether an entry only made tools, materials and their lots by the way, by naming them: what others came to use of them
/// stays when it is taken back.
fn makes_by_the_way(conn: &Connection, entry: EntryId) -> Result<bool, StoreError> {
    let text = "SELECT kind IN ('sown', 'harvested', 'packed') FROM entry WHERE id = ?";
    Ok(conn.prepare_cached(text)?.query_row([entry], |row| row.get(0))?)
}

/// Whether a lot of a material that an entry made by the way is used by another that counts.
pub(super) fn lot_stays(conn: &Connection, lot: i64, target: EntryId) -> Result<bool, StoreError> {
    // indexes: sowing_medium_lot, mix_part_lot, lot_use_material, hold_item_material
    let text = "SELECT EXISTS (SELECT 1 FROM sowing WHERE medium_lot_id = ?1 AND void_by IS NULL AND entry_id <> ?2)
        OR EXISTS (SELECT 1 FROM mix_part p JOIN mix m ON m.id = p.mix_id
          WHERE p.material_lot_id = ?1 AND m.void_by IS NULL AND m.entry_id <> ?2)
        OR EXISTS (SELECT 1 FROM lot_use WHERE material_lot_id = ?1 AND void_by IS NULL AND entry_id <> ?2)
        OR EXISTS (SELECT 1 FROM hold_item WHERE material_lot_id = ?1)";
    Ok(makes_by_the_way(conn, target)?
        && conn.prepare_cached(text)?.query_row(params![lot, target], |row| row.get(0))?)
}

/// The same of a tool or a material; asked after the facts of the entry are void.
pub(super) fn record_stays(conn: &Connection, noun: &str, row: i64, target: EntryId) -> Result<bool, StoreError> {
    let text = match noun {
        // index: lot_use_tool
        "tool" => {
            "SELECT EXISTS (SELECT 1 FROM lot_use WHERE tool_id = ?1 AND void_by IS NULL AND entry_id > ?2)
             OR EXISTS (SELECT 1 FROM hold_item WHERE tool_id = ?1)"
        }
        "material" => {
            "SELECT EXISTS (SELECT 1 FROM material_lot WHERE material_id = ?1 AND void_by IS NULL AND entry_id >= ?2)
             OR EXISTS (SELECT 1 FROM recipe_part WHERE material_id = ?1)"
        }
        _ => return Ok(false),
    };
    Ok(makes_by_the_way(conn, target)?
        && conn.prepare_cached(text)?.query_row(params![row, target], |row| row.get(0))?)
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
fn used_record(conn: &Connection, target: EntryId, by_the_way: bool) -> Result<Option<EntryId>, StoreError> {
    let made: Vec<(String, i64)> = conn
        .prepare_cached(
            "SELECT noun, row_id FROM change WHERE entry_id = ? AND after IS NOT NULL
             AND (before IS NULL OR json_extract(before, '$.retired') = 1)",
        )?
        .query_map([target], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut found: Option<EntryId> = None;
    for (noun, row) in made {
        if by_the_way && ["tool", "material"].contains(&noun.as_str()) {
            continue;
        }
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
        if let Some(by) = order::used(conn, &noun, row, target)? {
            found = Some(found.map_or(by, |f| f.min(by)));
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
