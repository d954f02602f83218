//! People: the hands behind every entry.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::ids::day_sql;
use super::revision::fresh;
use super::writer::{Cell, Writer};
use crate::domain::id::PersonId;
use crate::domain::person::{Person, parse_initials};
use crate::domain::refusal::Refusal;

/// Refuses an entry by someone unknown or no longer here.
pub(super) fn at_the_rack(conn: &Connection, who: PersonId) -> Result<(), StoreError> {
    let here: Option<bool> = conn
        .prepare_cached("SELECT NOT retired FROM person WHERE id = ?")?
        .query_row([who], |row| row.get(0))
        .optional()?;
    match here {
        Some(true) => Ok(()),
        Some(false) => {
            Err(Refusal::new("person_left", "This person has left the room: choose who is at the rack.").into())
        }
        None => Err(Refusal::new("person_unknown", "Choose who is at the rack first.").into()),
    }
}

pub(super) fn add(w: &mut Writer<'_>, initials: &str, name: &str, may_decide: bool) -> Result<Wrote, StoreError> {
    let initials = parse_initials(initials).map_err(|why| Refusal::new("initials", why).at("initials"))?;
    // initials that signed anything stay that person's; those taken back before are free again
    let unused = "NOT EXISTS (SELECT 1 FROM entry WHERE who = person.id)";
    let (from, to): (String, Option<String>) = (day_sql(w.day()), None);
    let cells: [Cell<'_>; 5] =
        [("initials", &initials), ("name", &name), ("may_decide", &may_decide), ("from_day", &from), ("to_day", &to)];
    let id = w.make("person", 1, unused, &cells)?;
    Ok(Wrote::said(format!("{initials} is on the list.")).made(id))
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    id: PersonId,
    rev: i64,
    name: &str,
    may_decide: bool,
    retired: bool,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "person", id.0, rev)?;
    let left: Option<String> = retired.then(|| day_sql(w.day()));
    let was: bool = w.conn.query_row("SELECT retired FROM person WHERE id = ?", [id], |row| row.get(0))?;
    let mut cells: Vec<Cell<'_>> = vec![("name", &name), ("may_decide", &may_decide), ("retired", &retired)];
    if retired != was {
        cells.push(("to_day", &left));
    }
    let changed = w.edit("person", id.0, &cells)?;
    someone_decides(w.conn)?;
    saved(changed)
}

/// The answer to an edit; one that changes nothing is no entry.
pub(super) fn saved(changed: bool) -> Result<Wrote, StoreError> {
    if changed { Ok(Wrote::said("Saved.")) } else { Err(Refusal::new("no_change", "Nothing was changed.").into()) }
}

/// Refuses what would leave nobody who may clear, lift and sign.
pub(super) fn someone_decides(conn: &Connection) -> Result<(), StoreError> {
    let some: bool = conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM person WHERE NOT retired AND may_decide)")?
        .query_row([], |row| row.get(0))?;
    if some {
        Ok(())
    } else {
        Err(Refusal::new("last_decider", "Someone must be left who may decide: name another person first.").into())
    }
}

/// Everyone, the active first, by initials.
pub(super) fn all(conn: &Connection) -> Result<Vec<Person>, StoreError> {
    let people = conn
        .prepare_cached("SELECT id, rev, initials, name, may_decide, retired, from_day, to_day FROM person ORDER BY retired, initials")?
        .query_map([], |row| {
            Ok(Person {
                id: row.get(0)?,
                rev: row.get(1)?,
                initials: row.get(2)?,
                name: row.get(3)?,
                may_decide: row.get(4)?,
                retired: row.get(5)?,
                from: row.get(6)?,
                to: row.get(7)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    Ok(people)
}
