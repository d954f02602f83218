//! Revisions: every editable record has a number that grows with each change, so that a form knows what it was opened on.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, ToSql};

use super::error::StoreError;
use crate::domain::history::Record;
use crate::domain::id::PlaceId;
use crate::domain::refusal::Refusal;

/// The settings behind the room's form count as one record.
const ROOM: &str = "key IN ('room_name', 'room_code', 'units')";

/// A crop's growing plans and shelf lives are facts of their own: each that came or was taken back counts as a change.
pub(super) const CROP: &str = "rev
    + (SELECT count(*) + count(void_by) FROM grow_plan g WHERE g.crop_id = crop.id)
    + (SELECT count(*) + count(void_by) FROM anchor_set a WHERE a.crop_id = crop.id)";

/// What goes into a recipe likewise.
pub(super) const RECIPE: &str =
    "rev + (SELECT count(*) + count(void_by) FROM recipe_version v WHERE v.recipe_id = recipe.id)";

/// And into a product.
pub(super) const PRODUCT: &str =
    "rev + (SELECT count(*) + count(void_by) FROM product_version v WHERE v.product_id = product.id)";

/// The lines of an order are records of their own.
pub(super) const ORDER: &str =
    "rev + (SELECT count(*) + coalesce(sum(l.rev), 0) FROM order_line l WHERE l.order_id = sale_order.id)";

/// Refuses an edit of a record that changed since the form was opened.
pub(super) fn fresh(conn: &Connection, noun: &str, id: i64, rev: i64) -> Result<(), StoreError> {
    let number = match noun {
        "crop" => CROP,
        "recipe" => RECIPE,
        "product" => PRODUCT,
        "sale_order" => ORDER,
        _ => "rev",
    };
    let now: Option<i64> =
        conn.query_row(&format!("SELECT {number} FROM {noun} WHERE id = ?"), [id], |row| row.get(0)).optional()?;
    match now {
        Some(now) => same(now, rev),
        None => Err(Refusal::new("unknown", "This record is not in the book: open the list again.").into()),
    }
}

/// Refuses where the revision now is not the one that was seen.
pub(super) fn same<T: PartialEq + Copy>(now: T, seen: T) -> Result<(), StoreError> {
    if now == seen {
        Ok(())
    } else {
        Err(Refusal::new("stale", "Someone else changed this meanwhile: open it again to see the new values.").into())
    }
}

/// The revision of the room's name, code and units together.
pub(super) fn room(conn: &Connection) -> Result<i64, StoreError> {
    let text = format!("SELECT coalesce(sum(rev), 0) FROM setting WHERE {ROOM}");
    Ok(conn.prepare_cached(&text)?.query_row([], |row| row.get(0))?)
}

/// The revision of every place, in use or not.
pub(super) fn places(conn: &Connection) -> Result<BTreeMap<PlaceId, i64>, StoreError> {
    let revs = conn
        .prepare_cached("SELECT id, rev FROM place")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    Ok(revs)
}

/// Initials of whoever changed a record last.
pub(super) fn last_hands(conn: &Connection, kind: Record, id: i64) -> Result<Option<String>, StoreError> {
    let mut which = match kind {
        Record::Room => format!("noun = 'setting' AND row_id IN (SELECT id FROM setting WHERE {ROOM})"),
        other => format!("noun = '{}' AND row_id = ?1", other.stored()),
    };
    let versions: &[(&str, &str)] = match kind {
        Record::Crop => &[("grow_plan", "crop_id"), ("anchor_set", "crop_id")],
        Record::Recipe => &[("recipe_version", "recipe_id")],
        Record::Product => &[("product_version", "product_id")],
        _ => &[],
    };
    for (facts, of) in versions {
        for entry in ["entry_id", "void_by"] {
            which = format!("{which} UNION ALL SELECT {entry} FROM {facts} WHERE {of} = ?1");
        }
    }
    let text = format!(
        "SELECT p.initials FROM entry e JOIN person p ON p.id = e.who
         WHERE e.id = (SELECT max(entry_id) FROM (SELECT entry_id FROM change WHERE {which}))"
    );
    let key: &[&dyn ToSql] = if kind == Record::Room { &[] } else { &[&id] };
    Ok(conn.prepare_cached(&text)?.query_row(key, |row| row.get(0)).optional()?)
}
