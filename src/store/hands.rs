//! Seen at another time or by other hands than typed: what the book accepts of it, and how it tells it.

use rusqlite::{Connection, OptionalExtension, params};

use super::Store;
use super::error::StoreError;
use super::ids::day_sql;
use super::writer::Writer;
use crate::domain::code::Code;
use crate::domain::hands::{Dated, Seen, SeenAs};
use crate::domain::id::{EntryId, PersonId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant, Now};

impl Store {
    /// When the newest entry was typed.
    pub fn newest_entry(&self) -> Result<Option<Instant>, StoreError> {
        Ok(self
            .conn
            .prepare_cached("SELECT at FROM entry ORDER BY id DESC LIMIT 1")?
            .query_row([], |row| row.get(0))
            .optional()?)
    }
}

/// Whose an entry is and of when, as it counts now.
pub(super) struct Hands {
    pub by: PersonId,
    pub at: Instant,
    pub paper: bool,
}

/// The hands of an entry, if there is such an entry. What its facts say of the time counts before what it says itself.
/// `without`: a correction that is about to be taken back.
pub(super) fn of_entry(
    conn: &Connection,
    entry: EntryId,
    without: Option<EntryId>,
) -> Result<Option<Hands>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT coalesce((SELECT c.seen_by FROM correction c WHERE c.about_id = e.id AND c.void_by IS NULL
                 AND c.seen_by IS NOT NULL AND c.entry_id IS NOT ?2 ORDER BY c.id DESC LIMIT 1), e.seen_by, e.who),
               e.paper, coalesce((SELECT min(seen_at) FROM look WHERE entry_id = e.id),
               (SELECT min(at) FROM placement WHERE entry_id = e.id),
               (SELECT min(at) FROM stage WHERE entry_id = e.id), e.seen_at, e.at)
             FROM entry e WHERE e.id = ?1",
        )?
        .query_row(params![entry, without], |row| Ok(Hands { by: row.get(0)?, paper: row.get(1)?, at: row.get(2)? }))
        .optional()?)
}

/// Refuses hands nobody knows and a time that is still to come.
pub(super) fn believable(conn: &Connection, seen: &Seen, now: Now) -> Result<(), StoreError> {
    if seen.at.is_some_and(|at| at > now.instant()) {
        return Err(Refusal::new("seen_future", "That time is still to come: give the time it was seen.")
            .at("from")
            .into());
    }
    let Some(by) = seen.by else { return Ok(()) };
    let known: bool =
        conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM person WHERE id = ?)")?.query_row([by], |row| row.get(0))?;
    if known {
        Ok(())
    } else {
        Err(Refusal::new("seen_by_unknown", "Nobody of that name is on the list: add the person in settings first.")
            .at("by")
            .into())
    }
}

/// Refuses what is said to have been seen before the tray was sown.
pub(super) fn after_sowing(w: &Writer<'_>) -> Result<(), StoreError> {
    if w.seen.at.is_none() {
        return Ok(());
    }
    for tray in &w.touched {
        let sown: Day = w
            .conn
            .prepare_cached("SELECT s.day FROM tray t JOIN sowing_now s ON s.id = t.sowing_id WHERE t.id = ?")?
            .query_row([tray], |row| row.get(0))?;
        if w.day() < sown {
            let sentence = format!("{} was sown on {sown}: nothing was seen of it before.", Code::tray(tray.0));
            return Err(Refusal::new("seen_before_sowing", sentence).at("day").into());
        }
    }
    Ok(())
}

/// Refuses that a tray left the racks before something else was done with it.
pub(super) fn nothing_after(w: &Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    let Some(at) = w.seen.at else { return Ok(()) };
    // index: placement_tray, stage_tray, look_tray; the sowing itself may have been typed late
    let later: Option<EntryId> = w
        .conn
        .prepare_cached(
            "SELECT max(e.id) FROM (SELECT entry_id, at FROM placement WHERE tray_id = ?1 AND void_by IS NULL
               UNION ALL SELECT entry_id, at FROM stage WHERE tray_id = ?1 AND void_by IS NULL
               UNION ALL SELECT entry_id, seen_at FROM look WHERE tray_id = ?1 AND void_by IS NULL AND skip IS NULL) f
             JOIN entry e ON e.id = f.entry_id
             WHERE e.kind NOT IN ('sown', 'standing') AND coalesce(f.at, e.at) > ?2",
        )?
        .query_row(params![tray, at], |row| row.get(0))?;
    match later {
        Some(entry) => {
            let sentence = format!(
                "Entry {} is of a later time, so {} still stood then: give the time it left.",
                entry.0,
                Code::tray(tray.0)
            );
            Err(Refusal::new("left_earlier", sentence).at("from").into())
        }
        None => Ok(()),
    }
}

/// Refuses that something was done with a tray at a time when it had left the room.
pub(super) fn still_there(w: &Writer<'_>, tray: TrayId, at: Instant) -> Result<(), StoreError> {
    // index: stage_tray
    let left: Option<(EntryId, Instant)> = w
        .conn
        .prepare_cached(
            "SELECT e.id, coalesce(s.at, e.at) AS left_at FROM stage s JOIN entry e ON e.id = s.entry_id
             WHERE s.tray_id = ?1 AND s.void_by IS NULL AND s.stage IN ('cut', 'thrown') AND left_at < ?2",
        )?
        .query_row(params![tray, at], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    match left {
        Some((entry, left)) => {
            let (code, left) = (Code::tray(tray.0), w.now.local(left).format("%d %b %H:%M"));
            let sentence =
                format!("{code} had left the room by then (entry {}, {left}): give an earlier time.", entry.0);
            Err(Refusal::new("seen_after_leaving", sentence).at("from").into())
        }
        None => Ok(()),
    }
}

/// Refuses a paper sheet that was typed in before: of these hands, of this day, with looks that count.
pub(super) fn sheet_is_new(w: &Writer<'_>) -> Result<(), StoreError> {
    if !w.seen.paper {
        return Ok(());
    }
    // walks are few; index: walk_stop_walk
    let before: Option<(Instant, i64)> = w
        .conn
        .prepare_cached(
            "SELECT e.at, (SELECT count(*) FROM walk_stop s JOIN look l ON l.entry_id = s.entry_id
                           WHERE s.walk_id = k.id AND s.void_by IS NULL AND l.void_by IS NULL) AS looks
             FROM walk k CROSS JOIN entry e ON e.id = k.entry_id
             WHERE k.void_by IS NULL AND e.paper = 1 AND e.day = ?1 AND e.id <> ?3 AND looks > 0
             AND (SELECT person_id FROM entry_hands WHERE id = e.id) = ?2
             ORDER BY e.id DESC LIMIT 1",
        )?
        .query_row(params![day_sql(w.day()), w.seen.by.unwrap_or(w.who), w.entry], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    match before {
        Some((typed, looks)) => Err(twice(w, w.now.local(typed).format("%d %b %H:%M"), looks)),
        None => Ok(()),
    }
}

/// The same for one tray: a second sheet of the same hands and day says nothing new of it.
pub(super) fn on_paper_once(w: &Writer<'_>, tray: TrayId) -> Result<(), StoreError> {
    // index: look_tray; what this walk wrote before was voided by then
    let before: Option<(Instant, i64)> = w
        .conn
        .prepare_cached(
            "SELECT e.at, 1 FROM look l JOIN entry e ON e.id = l.entry_id
             WHERE l.tray_id = ?1 AND l.day = ?2 AND l.void_by IS NULL AND l.skip IS NULL AND e.paper = 1
             AND (SELECT person_id FROM entry_hands WHERE id = e.id) = ?3 LIMIT 1",
        )?
        .query_row(params![tray, day_sql(w.day()), w.seen.by.unwrap_or(w.who)], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    match before {
        Some((typed, looks)) => Err(twice(w, w.now.local(typed).format("%d %b %H:%M"), looks)),
        None => Ok(()),
    }
}

fn twice(w: &Writer<'_>, typed: impl std::fmt::Display, looks: i64) -> StoreError {
    let sentence = format!(
        "This person's sheet of {} is in the book already ({}, typed {typed}): go on with it from the list of walks.",
        w.day(),
        counted(usize::try_from(looks).unwrap_or(0), "tray"),
    );
    Refusal::new("sheet_twice", sentence).at("day").into()
}

/// Columns `typed` and `seen` of a row of a tray's past, the row itself before them.
pub(super) fn dated<T: rusqlite::types::FromSql>(row: &rusqlite::Row<'_>) -> rusqlite::Result<Dated<T>> {
    Ok(Dated { row: row.get(0)?, typed: row.get(1)?, seen: row.get(2)? })
}

/// What an entry says of it, where seen and typed differ.
pub(super) fn seen_as(conn: &Connection, entry: EntryId) -> Result<Option<SeenAs>, StoreError> {
    let found = conn
        .prepare_cached(
            "SELECT s.initials, coalesce(e.seen_at, e.at), t.initials, e.at, e.paper
             FROM entry e JOIN person t ON t.id = e.who JOIN entry_hands h ON h.id = e.id JOIN person s ON s.id = h.as_told
             WHERE e.id = ? AND e.kind <> 'undo' AND (e.paper OR e.seen_at <> e.at OR h.as_told <> e.who)",
        )?
        .query_row([entry], |row| {
            Ok(SeenAs {
                by: row.get(0)?,
                at: row.get(1)?,
                typed_by: row.get(2)?,
                typed_at: row.get(3)?,
                paper: row.get(4)?,
            })
        })
        .optional()?;
    Ok(found)
}

/// Whose hands the entry of a walk names, as the walk's later entries take them over.
pub(super) fn seen_of(row: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<Seen> {
    let by: Option<PersonId> = row.get(at)?;
    Ok(Seen { by, at: row.get(at + 1)?, paper: row.get(at + 2)? })
}
