//! When something happened and whose hands it was, put right.

use rusqlite::Connection;

use super::read::{entry, root};
use crate::domain::correction::{Correction, Entry};
use crate::domain::hands::Seen;
use crate::domain::id::{EntryId, PersonId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Instant, Now};
use crate::store::error::StoreError;
use crate::store::facts::{LOOK, LOSS, PLACEMENT, STAGE, Table, WATER, WATER_TRAY};
use crate::store::hands::{believable, nothing_after, still_there};
use crate::store::ids::day_sql;
use crate::store::look::part_of_walk;
use crate::store::undo;
use crate::store::writer::{Cell, Writer};

/// What an entry says of trays: the tables, and the columns in which they keep time and day.
const KEPT: [(&Table, Option<&str>, Option<&str>); 4] = [
    (LOOK, Some("seen_at"), Some("day")),
    (PLACEMENT, Some("at"), None),
    (STAGE, Some("at"), None),
    (LOSS, None, Some("day")),
];

/// Whose a correction is, and of when: it stands in for what it replaces.
pub(in crate::store) fn seen(
    conn: &Connection,
    about: EntryId,
    correction: &Correction,
    given: Seen,
    now: Now,
) -> Result<Seen, StoreError> {
    match correction {
        Correction::Look(_) | Correction::Place { .. } => {
            let old = entry(conn, about)?;
            Ok(Seen { by: Some(old.by), at: Some(old.at), paper: old.paper })
        }
        Correction::Hands { at, by } => {
            let old = entry(conn, about)?;
            let seen = match at.filter(|at| *at != old.at) {
                Some(at) => Seen { by: Some(*by), at: Some(at), paper: old.paper },
                None => Seen::default(),
            };
            believable(conn, &Seen { by: Some(*by), ..seen }, now)?;
            Ok(seen)
        }
        _ => Ok(given),
    }
}

/// Other hands, and another time where one is given.
pub(super) fn hands(
    w: &mut Writer<'_>,
    entry: &Entry,
    at: Option<Instant>,
    by: PersonId,
) -> Result<Vec<TrayId>, StoreError> {
    if !entry.signed {
        let sentence = "Whose hands this was is not put right: choose the entry that says what was done.";
        return Err(Refusal::new("correct_kind", sentence).into());
    }
    match at.filter(|at| *at != entry.at) {
        Some(at) => another_time(w, entry, at),
        None if by == entry.by => Err(Refusal::new("no_change", "Nothing was changed.").into()),
        None => undo::trays_of(w.conn, entry.id),
    }
}

/// What the entry says of trays is void; copies of it with the new time count.
fn another_time(w: &mut Writer<'_>, entry: &Entry, at: Instant) -> Result<Vec<TrayId>, StoreError> {
    if !entry.timed {
        return Err(no_time(&root(w.conn, entry.id)?));
    }
    let trays: Vec<TrayId> = w
        .conn
        .prepare_cached("SELECT DISTINCT tray_id FROM happening WHERE entry_id = ? AND void_by IS NULL ORDER BY 1")?
        .query_map([entry.id], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut moved = Vec::new();
    for (table, time, day) in KEPT {
        for key in live_keys(w, table, entry.id)? {
            w.void_row(table, &key)?;
            moved.push((table, key, time, day));
        }
    }
    for tray in &trays {
        if left_by(w, *tray, entry.id)? { nothing_after(w, *tray)? } else { still_there(w, *tray, at)? }
    }
    let on = day_sql(w.day());
    for (table, key, time, day) in moved {
        let mut instead: Vec<Cell<'_>> = Vec::new();
        // a tray noticed elsewhere at that time was moved before it, not after
        let since: Option<Instant> = match (table.name, key.as_slice()) {
            ("placement", [id]) => {
                w.conn.query_row("SELECT since FROM placement WHERE id = ?", [id], |row| row.get(0))?
            }
            _ => None,
        };
        let since = since.map(|since| since.min(at));
        instead.extend(since.as_ref().map(|since| -> Cell<'_> { ("since", since) }));
        instead.extend(time.map(|column| -> Cell<'_> { (column, &at) }));
        instead.extend(day.map(|column| -> Cell<'_> { (column, &on) }));
        w.copy(table, &key, &instead)?;
    }
    figures(w, entry.id, &trays, &on)?;
    let walk = w
        .conn
        .prepare_cached("SELECT max(walk_id) FROM walk_stop WHERE entry_id = ? AND void_by IS NULL")?
        .query_row([entry.id], |row| row.get(0))?;
    part_of_walk(w, walk)?;
    w.touched.extend(trays.iter().copied());
    Ok(trays)
}

fn live_keys(w: &Writer<'_>, table: &Table, entry: EntryId) -> Result<Vec<Vec<i64>>, StoreError> {
    let key = table.key.join(", ");
    let text = format!("SELECT {key} FROM {} WHERE entry_id = ? AND void_by IS NULL ORDER BY {key}", table.name);
    let keys = w
        .conn
        .prepare_cached(&text)?
        .query_map([entry], |row| (0..table.key.len()).map(|n| row.get(n)).collect())?
        .collect::<Result<_, _>>()?;
    Ok(keys)
}

/// Whether the entry took a tray off its rack.
fn left_by(w: &Writer<'_>, tray: TrayId, entry: EntryId) -> Result<bool, StoreError> {
    Ok(w.conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM stage WHERE entry_id = ? AND tray_id = ? AND stage IN ('cut', 'thrown'))",
        )?
        .query_row((entry, tray), |row| row.get(0))?)
}

/// Water measured with the look goes with it, unless it was measured of more trays than still stand in the entry.
fn figures(w: &mut Writer<'_>, entry: EntryId, trays: &[TrayId], day: &str) -> Result<(), StoreError> {
    for key in live_keys(w, WATER, entry)? {
        let of: Vec<TrayId> = w
            .conn
            .prepare_cached("SELECT tray_id FROM water_tray WHERE water_id = ? ORDER BY tray_id")?
            .query_map([key.first().copied()], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        if !of.iter().all(|tray| trays.contains(tray)) {
            continue;
        }
        w.void_row(WATER, &key)?;
        let water = w.copy(WATER, &key, &[("day", &day)])?;
        for tray in of {
            w.fact(WATER_TRAY, &[("water_id", &water), ("tray_id", &tray)])?;
        }
    }
    Ok(())
}

fn no_time(kind: &str) -> StoreError {
    let sentence = match kind {
        "sown" | "standing" => {
            "The day of a batch is put right with its crop and seed: choose \"crop, day or seed\" instead."
        }
        _ => "The time of such an entry is not put right, only who it was: say the true time in the reason.",
    };
    Refusal::new("correct_time", sentence).at("from").into()
}

#[cfg(test)]
mod tests {
    use super::KEPT;

    #[test]
    fn every_column_of_a_time_is_one_of_its_table() {
        for (table, time, day) in KEPT {
            assert!([time, day].into_iter().flatten().all(|column| table.columns.contains(&column)), "{}", table.name);
        }
    }
}
