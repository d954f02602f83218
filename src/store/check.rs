//! Checks of the room: their kinds, and what came of them.

use rusqlite::Connection;

use super::act::Wrote;
use super::error::StoreError;
use super::facts::ROOM_CHECK;
use super::ids::day_sql;
use super::person::saved;
use super::revision::fresh;
use super::writer::Writer;
use crate::domain::check::{CheckKind, LastCheck, NewCheck, NewCheckKind};
use crate::domain::id::{CheckKindId, EntryId};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

pub(super) fn add(w: &mut Writer<'_>, new: &NewCheckKind) -> Result<Wrote, StoreError> {
    new.check().map_err(|(field, why)| Refusal::new("check_kind", why).at(field))?;
    let (name, limit, remedy) = (new.name.trim(), new.limit.trim(), new.remedy.trim());
    let id = w.make(
        "check_kind",
        1,
        "1",
        &[
            ("name", &name),
            ("every_d", &new.every_d),
            ("limit_text", &limit),
            ("remedy", &remedy),
            ("known", &day_sql(w.day())),
        ],
    )?;
    Ok(Wrote::said(format!("{name}: checked every {} d from now on.", new.every_d)).made(id))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    kind: CheckKindId,
    new: &NewCheckKind,
    retired: bool,
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "check_kind", kind.0, rev)?;
    new.check().map_err(|(field, why)| Refusal::new("check_kind", why).at(field))?;
    let (name, limit, remedy) = (new.name.trim(), new.limit.trim(), new.remedy.trim());
    saved(w.edit(
        "check_kind",
        kind.0,
        &[
            ("name", &name),
            ("every_d", &new.every_d),
            ("limit_text", &limit),
            ("remedy", &remedy),
            ("retired", &retired),
        ],
    )?)?;
    Ok(Wrote::said(format!("{name}: saved.")).made(kind.0))
}

pub(super) fn note(w: &mut Writer<'_>, new: &NewCheck) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(|(field, why)| Refusal::new("check", why).at(field))?;
    let kinds = kinds(w.conn)?;
    let Some(kind) = kinds.iter().find(|kind| kind.id == new.kind) else {
        return Err(Refusal::new("check_unknown", "This check is not kept here: open the list again.").into());
    };
    let text = |text: &str| Some(text.trim().to_string()).filter(|text| !text.is_empty());
    let (remedy, with, file) = (text(&new.remedy), text(&new.with), text(&new.file));
    w.fact(
        ROOM_CHECK,
        &[
            ("check_kind_id", &new.kind),
            ("day", &day_sql(new.day)),
            ("result", &new.result.trim()),
            ("ok", &new.ok),
            ("remedy", &remedy),
            ("with_what", &with),
            ("file_ref", &file),
        ],
    )?;
    let ok = if new.ok { "ok" } else { "failed" };
    Ok(Wrote::said(format!("{}: {ok}, {}.", kind.name, new.result.trim())))
}

/// Kinds in use with their newest check. Index: `room_check_kind`.
pub(super) fn kinds(conn: &Connection) -> Result<Vec<CheckKind>, StoreError> {
    let mut kinds: Vec<CheckKind> = conn
        .prepare_cached(
            "SELECT id, rev, name, every_d, limit_text, remedy, known FROM check_kind WHERE NOT retired ORDER BY id",
        )?
        .query_map([], |row| {
            Ok(CheckKind {
                id: row.get(0)?,
                rev: row.get(1)?,
                name: row.get(2)?,
                every_d: row.get(3)?,
                limit: row.get(4)?,
                remedy: row.get(5)?,
                known: row.get(6)?,
                last: None,
            })
        })?
        .collect::<Result<_, _>>()?;
    for kind in &mut kinds {
        let mut newest = conn.prepare_cached(
            "SELECT c.day, p.initials, c.result, c.ok FROM room_check c JOIN entry_hands h ON h.id = c.entry_id
             JOIN person p ON p.id = h.person_id
             WHERE c.check_kind_id = ? AND c.void_by IS NULL ORDER BY c.day DESC, c.id DESC LIMIT 1",
        )?;
        let mut rows = newest.query([kind.id])?;
        if let Some(row) = rows.next()? {
            let day: Day = row.get(0)?;
            kind.last = Some(LastCheck { day, who: row.get(1)?, result: row.get(2)?, ok: row.get(3)? });
        }
    }
    Ok(kinds)
}

/// What an entry says of a check.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (name, day, result, ok, more) = conn
        .prepare_cached(
            "SELECT k.name, c.day, c.result, c.ok, c.with_what, c.remedy, c.file_ref FROM room_check c
             JOIN check_kind k ON k.id = c.check_kind_id WHERE c.entry_id = ?",
        )?
        .query_row([entry], |row| {
            let (name, day, result): (String, Day, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
            let told = |at, words: &str| -> rusqlite::Result<Option<String>> {
                Ok(row.get::<_, Option<String>>(at)?.map(|text| format!("{words} {text}")))
            };
            let more = [told(4, "with")?, told(5, "done about it:")?, told(6, "paper:")?];
            Ok((name, day, result, row.get(3)?, more))
        })?;
    let ok = if ok { "ok" } else { "FAILED" };
    let all: Vec<String> =
        [format!("{name}, {day}: {ok}, {result}")].into_iter().chain(more.into_iter().flatten()).collect();
    Ok(all.join("; "))
}
