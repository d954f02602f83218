//! `tray_now`: what stands where, worked out from the facts of one tray, never patched.

use std::collections::BTreeSet;

use rusqlite::types::FromSql;
use rusqlite::{Connection, OptionalExtension, params};

use super::error::StoreError;
use super::hands::dated;
use super::ids::day_sql;
use super::room::known_place;
use super::{breach, fuzz, hold, suspect};
use crate::domain::hands::{Dated, as_happened};
use crate::domain::id::{EntryId, PlaceId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant};
use crate::domain::tray::Stage;

/// The derived row of a tray that is still in the room.
#[derive(Debug, Clone, PartialEq, Eq)]
struct TrayNow {
    /// `None`: missing.
    place: Option<PlaceId>,
    stage: Stage,
    mats_left: i64,
    last: Option<(Day, EntryId)>,
    watered_on: Option<Day>,
    due_at: Day,
    suspect: i64,
    /// A check named mould or rot, or part of it was lost to them: the rest is not for sale.
    bad: bool,
    wait_until: Option<Instant>,
    held: bool,
}

/// Writes the rows of several trays anew. All go first: one may take the place another leaves.
pub fn refresh_all(conn: &Connection, trays: &BTreeSet<TrayId>) -> Result<(), StoreError> {
    let mut stacks = BTreeSet::new();
    for tray in trays {
        let left: Option<PlaceId> = conn
            .prepare_cached("DELETE FROM tray_now WHERE tray_id = ? RETURNING (SELECT id FROM place WHERE id = place_id AND stack > 1)")?
            .query_row([tray], |row| row.get(0))
            .optional()?
            .flatten();
        stacks.extend(left);
    }
    for tray in trays {
        stacks.extend(write(conn, *tray)?);
    }
    stacks.into_iter().try_for_each(|place| stack(conn, place))
}

/// Writes the row of one tray that has none, unless it has left the room. Returns its place if trays may stand on each
/// other there: their order is then still to be worked out.
fn write(conn: &Connection, tray: TrayId) -> Result<Option<PlaceId>, StoreError> {
    let Some(now) = derive(conn, tray)? else { return Ok(None) };
    let stacked: bool = match now.place {
        Some(place) => {
            conn.prepare_cached("SELECT stack > 1 FROM place WHERE id = ?")?.query_row([place], |row| row.get(0))?
        }
        None => false,
    };
    conn.prepare_cached(
        "INSERT INTO tray_now (tray_id, place_id, layer, stage, mats_left, last_day, last_entry, watered_on, due_at, suspect, bad, wait_until, held)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
    )?
    .execute(params![
        tray,
        now.place,
        if stacked { -tray.0 } else { 0 },
        now.stage,
        now.mats_left,
        now.last.map(|(day, _)| day_sql(day)),
        now.last.map(|(_, entry)| entry),
        now.watered_on.map(day_sql),
        day_sql(now.due_at),
        now.suspect,
        now.bad,
        now.wait_until,
        now.held,
    ])?;
    Ok(now.place.filter(|_| stacked))
}

/// Puts the trays of one place on each other in the order in which they came there; refuses more than it holds.
fn stack(conn: &Connection, place: PlaceId) -> Result<(), StoreError> {
    let trays: Vec<TrayId> = conn
        .prepare_cached("SELECT tray_id FROM tray_now WHERE place_id = ?")?
        .query_map([place], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut came: Vec<(i64, TrayId)> = Vec::new();
    for tray in &trays {
        came.extend(newest(conn, *tray, 1, &placements("id"))?.map(|id| (id, *tray)));
    }
    came.sort_unstable();
    let mut written = Vec::new();
    for (id, tray) in came {
        written.push(
            conn.prepare_cached("SELECT e.at, p.at FROM placement p JOIN entry e ON e.id = p.entry_id WHERE p.id = ?")?
                .query_row([id], |row| Ok(Dated { row: tray, typed: row.get(0)?, seen: row.get(1)? }))?,
        );
    }
    conn.prepare_cached("UPDATE tray_now SET layer = -tray_id WHERE place_id = ?")?.execute([place])?;
    for (layer, tray) in (0i64..).zip(as_happened(written, 0)) {
        conn.prepare_cached("UPDATE tray_now SET layer = ? WHERE tray_id = ?")?.execute(params![layer, tray.row])?;
    }
    let holds: i64 =
        conn.prepare_cached("SELECT stack FROM place WHERE id = ?")?.query_row([place], |row| row.get(0))?;
    if i64::try_from(trays.len()).unwrap_or(i64::MAX) > holds {
        let (label, _) = known_place(conn, place)?;
        let sentence = format!(
            "{label} holds {} on each other: choose another place, or give it more in settings.",
            counted(usize::try_from(holds).unwrap_or(0), "tray")
        );
        return Err(Refusal::new("stack_full", sentence).at("places").into());
    }
    Ok(())
}

/// Works every tray out again; returns how many derived rows differed from what stood there.
pub fn rebuild(conn: &Connection) -> Result<usize, StoreError> {
    const ALL: &str = "SELECT tray_id || '|' || coalesce(place_id, '') || '|' || layer || '|' || stage || '|' || mats_left
        || '|' || coalesce(last_day, '') || '|' || coalesce(last_entry, '') || '|' || coalesce(watered_on, '') || '|' || due_at
        || '|' || suspect || '|' || bad || '|' || coalesce(wait_until, '') || '|' || held FROM tray_now ORDER BY tray_id";
    let rows = |conn: &Connection| -> Result<BTreeSet<String>, StoreError> {
        Ok(conn.prepare(ALL)?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
    };
    let before = rows(conn)?;
    conn.execute("DELETE FROM tray_now", [])?;
    let trays: Vec<TrayId> = conn
        .prepare(
            "SELECT t.id FROM tray t JOIN sowing_now s ON s.id = t.sowing_id WHERE s.void_by IS NULL ORDER BY t.id",
        )?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut stacks = BTreeSet::new();
    for tray in trays {
        stacks.extend(write(conn, tray)?);
    }
    stacks.into_iter().try_for_each(|place| stack(conn, place))?;
    Ok(rows(conn)?.symmetric_difference(&before).count())
}

fn derive(conn: &Connection, tray: TrayId) -> Result<Option<TrayNow>, StoreError> {
    let sown: Option<(String, i64)> = conn
        .prepare_cached(
            "SELECT s.day, t.mats - (SELECT coalesce(sum(mats), 0) FROM loss WHERE tray_id = t.id AND void_by IS NULL)
               - (SELECT coalesce(sum(mats), 0) FROM lot_input WHERE tray_id = t.id AND again IS NOT 1 AND void_by IS NULL)
             FROM tray t JOIN sowing_now s ON s.id = t.sowing_id WHERE t.id = ? AND s.void_by IS NULL",
        )?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((sown, mats_left)) = sown else { return Ok(None) };
    // index: placement_tray, stage_tray; the first row is that of the sowing, which nothing precedes
    let place: Option<Option<PlaceId>> = newest(conn, tray, 1, &placements("place_id"))?;
    let stage: Option<Stage> = newest(
        conn,
        tray,
        1,
        "SELECT s.stage, e.at, s.at FROM stage s JOIN entry e ON e.id = s.entry_id
         WHERE s.tray_id = ? AND s.void_by IS NULL ORDER BY s.id",
    )?;
    let (Some(place), Some(stage)) = (place, stage) else { return Ok(None) };
    if !stage.in_room() || mats_left <= 0 {
        return Ok(None);
    }
    // index: look_tray
    let last: Option<EntryId> = newest(
        conn,
        tray,
        0,
        "SELECT l.entry_id, e.at, l.seen_at FROM look l JOIN entry e ON e.id = l.entry_id
         WHERE l.tray_id = ?1 AND l.void_by IS NULL AND l.skip IS NULL
         AND (l.roots IS NOT NULL OR l.stand IS NOT NULL OR l.fuzz OR l.faults)
         AND l.day = (SELECT max(day) FROM look WHERE tray_id = ?1 AND void_by IS NULL AND skip IS NULL
                      AND (roots IS NOT NULL OR stand IS NOT NULL OR fuzz OR faults))
         ORDER BY l.entry_id",
    )?;
    // the figures of a look may be measured without watering: there the look says whether water was given
    let watered: Option<String> = conn
        .prepare_cached(
            "SELECT max(day) FROM (
               SELECT max(day) AS day FROM look WHERE tray_id = ?1 AND watered AND void_by IS NULL
               UNION ALL
               SELECT max(w.day) FROM water_tray wt JOIN water w ON w.id = wt.water_id
               WHERE wt.tray_id = ?1 AND w.void_by IS NULL
               AND NOT EXISTS (SELECT 1 FROM look l WHERE l.entry_id = w.entry_id AND l.tray_id = wt.tray_id))",
        )?
        .query_row([tray], |row| row.get(0))?;
    let wait_until: Option<Instant> = conn
        .prepare_cached(
            "SELECT max(strftime('%Y-%m-%dT%H:%M:%SZ', t.at, '+' || t.wait_h || ' hours'))
             FROM treatment_tray tt JOIN treatment t ON t.id = tt.treatment_id
             WHERE tt.tray_id = ? AND t.void_by IS NULL AND t.wait_h > 0",
        )?
        .query_row([tray], |row| row.get(0))?;
    let parse = |text: &str| text.parse::<Day>().map_err(|_| StoreError::unreadable("a day", text));
    let sown = parse(&sown)?;
    let last: Option<(Day, EntryId)> = match last {
        Some(entry) => Some(
            conn.prepare_cached("SELECT day, entry_id FROM look WHERE entry_id = ? AND tray_id = ?")?
                .query_row(params![entry, tray], |row| Ok((row.get(0)?, row.get(1)?)))?,
        ),
        None => None,
    };
    Ok(Some(TrayNow {
        place,
        stage,
        mats_left,
        last,
        watered_on: watered.as_deref().map(parse).transpose()?,
        due_at: last.map_or(sown, |(day, _)| day) + chrono::Duration::days(1),
        suspect: suspect::level(conn, tray)?,
        bad: lost(conn, tray)?.is_some() || fuzz::named(conn, tray)?.is_some(),
        wait_until,
        held: breach::holds(conn, tray)? || hold::holds(conn, tray)?,
    }))
}

/// The placements of a tray as written, for [`newest`]. The one of the sowing, also put right or brought back, is the first.
pub(super) fn placements(column: &str) -> String {
    format!(
        "SELECT p.{column}, e.at, p.at FROM placement p JOIN entry e ON e.id = p.entry_id JOIN tray t ON t.id = p.tray_id
         JOIN sowing s ON s.id = t.sowing_id JOIN entry b ON b.id = s.entry_id WHERE p.tray_id = ? AND p.void_by IS NULL
         ORDER BY coalesce(p.at, e.seen_at, e.at) IS NOT coalesce(b.seen_at, b.at), p.id"
    )
}

/// The newest of a tray's rows as they happened: those typed late stand where they belong by time.
pub(super) fn newest<T: FromSql>(
    conn: &Connection,
    tray: TrayId,
    fixed: usize,
    text: &str,
) -> Result<Option<T>, StoreError> {
    let written = conn.prepare_cached(text)?.query_map([tray], dated)?.collect::<Result<_, _>>()?;
    Ok(as_happened(written, fixed).pop().map(|dated| dated.row))
}

/// The newest entry by which a tray, or part of it, was lost to mould or rot. What is left may look sound and is not for sale.
pub(super) fn lost(conn: &Connection, tray: TrayId) -> Result<Option<EntryId>, StoreError> {
    // index: loss_tray
    Ok(conn
        .prepare_cached(
            "SELECT max(entry_id) FROM loss WHERE tray_id = ? AND void_by IS NULL AND reason IN ('mould', 'rot')",
        )?
        .query_row([tray], |row| row.get(0))?)
}
