//! The room itself: its people, its checks, and what was cut and packed in it.

use super::rules::of_several;
use super::{Gather, plain, yes};
use crate::domain::id::{EntryId, TrayId};
use crate::domain::records::Row;
use crate::domain::time::Day;
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::{lot, undo};

/// Everyone who ever stood on the list: initials stay theirs.
pub(super) fn people(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let found: Vec<[String; 5]> = g
        .conn
        .prepare_cached("SELECT initials, name, may_decide, from_day, to_day, retired FROM person ORDER BY initials")?
        .query_map([], |row| {
            let day = |n| Ok::<_, rusqlite::Error>(row.get::<_, Option<Day>>(n)?.map(|day| day.to_string()));
            let to = match (day(4)?, row.get::<_, bool>(5)?) {
                (Some(to), _) => to,
                (None, true) => "out of the list".into(),
                (None, false) => String::new(),
            };
            Ok([row.get(0)?, row.get(1)?, yes(row.get(2)?), day(3)?.unwrap_or_default(), to])
        })?
        .collect::<Result<_, _>>()?;
    Ok(found.into_iter().map(|cells| Row::of(None, cells.to_vec())).collect())
}

/// Checks by the day they were made, and places that were cleaned.
pub(super) fn checks(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    type Found = (EntryId, Option<EntryId>, Day, Vec<String>);
    // checks are few beside what is looked at; index of one kind each: `room_check_kind`
    let found: Vec<Found> = g
        .conn
        .prepare_cached(
            "SELECT c.entry_id, c.void_by, c.day, k.name, c.result, c.ok, k.limit_text, c.remedy, c.with_what, c.file_ref
             FROM check_kind k CROSS JOIN room_check c ON c.check_kind_id = k.id AND c.day BETWEEN ? AND ? ORDER BY c.day, c.id",
        )?
        .query_map([day_sql(g.period.from), day_sql(g.period.to)], |row| {
            let text = |n| Ok::<_, rusqlite::Error>(row.get::<_, Option<String>>(n)?.unwrap_or_default());
            let ok = if row.get(5)? { "yes" } else { "NO" };
            let day: Day = row.get(2)?;
            let cells =
                vec![text(3)?, day.to_string(), text(4)?, ok.to_string(), text(6)?, text(7)?, text(8)?, text(9)?];
            Ok((row.get(0)?, row.get(1)?, day, cells))
        })?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for (entry, void_by, day, cells) in found {
        let mut row = g.row(entry, cells)?;
        row.gone = g.gone(void_by)?;
        g.dated.insert(entry, day);
        rows.push(row);
    }
    for mut cleaned in g.sentences(&["place_cleaned"])? {
        let said = cleaned.cells.pop().unwrap_or_default();
        let day = cleaned.stamp.as_ref().map_or_else(String::new, |stamp| stamp.day.to_string());
        let none = String::new;
        cleaned.cells = vec!["places cleaned".into(), day, said, none(), none(), none(), none(), none()];
        rows.push(cleaned);
    }
    Ok(rows)
}

/// Before the cut, the cut, and packing.
pub(super) fn cut(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let mut rows = g.sentences(&["cut_checked", "harvested", "cut", "packed", "left_alive", "reissued"])?;
    for row in &mut rows {
        let Some(stamp) = &row.stamp else { continue };
        let (entry, seen) = (stamp.entry, stamp.seen);
        let lots: Vec<String> = g
            .conn
            .prepare_cached("SELECT code FROM lot WHERE entry_id = ? ORDER BY id")?
            .query_map([entry], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let lots = lots.iter().map(|body| lot::shown(body)).collect::<Result<Vec<_>, _>>()?;
        let trays: Vec<TrayId> = undo::trays_of(g.conn, entry)?;
        let [places, _] = g.places_and_trays(&trays, seen)?;
        let said = row.cells.pop().unwrap_or_default();
        row.cells = vec![plain(&stamp.kind), lots.join(", "), places, said + &of_several(&trays)];
    }
    Ok(rows)
}
