//! The days against which a crop's later weights are held: frozen until someone moves them.

use rusqlite::{Connection, OptionalExtension};

use super::grown;
use crate::domain::id::{CropId, EntryId};
use crate::domain::period::Period;
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::week::BASELINE_LEAST;
use crate::store::act::Wrote;
use crate::store::error::StoreError;
use crate::store::facts::BASELINE;
use crate::store::ids::day_sql;
use crate::store::writer::Writer;

/// Sets the days.
pub(in crate::store) fn set(w: &mut Writer<'_>, crop: CropId, period: Period, why: &str) -> Result<Wrote, StoreError> {
    let Period { from, to } = period;
    Period::new(from, to, w.now.day()).map_err(|(field, why)| Refusal::new("baseline_days", why).at(field))?;
    let name: Option<String> =
        w.conn.prepare_cached("SELECT name FROM crop WHERE id = ?")?.query_row([crop], |row| row.get(0)).optional()?;
    let Some(name) = name else {
        return Err(Refusal::new("crop_unknown", "This crop is not grown here: open the review again.").into());
    };
    let weights = grown(w.conn, period)?.weighings.iter().filter(|one| one.crop == crop && one.counts()).count();
    if weights < BASELINE_LEAST {
        let has = counted(weights, "weight");
        let why = format!("{name} has {has} in these days: choose days with {BASELINE_LEAST} at least.");
        return Err(Refusal::new("baseline_few", why).at("from").into());
    }
    let why = why.trim();
    if why.is_empty() {
        let ask = "Say in a few words why these days are the ones to go by: what is unusual hangs on them.";
        return Err(Refusal::new("baseline_why", ask).at("why").into());
    }
    let days = period.words();
    w.note(Some(why))?;
    let id = w.fact(BASELINE, &[("crop_id", &crop), ("from_day", &day_sql(from)), ("to_day", &day_sql(to))])?;
    Ok(Wrote::said(format!("{name} is held against {} of {days} from now on.", counted(weights, "weight"))).made(id))
}

/// The days that count for a crop, where someone set some, with who, when and why. Index: `baseline_crop`.
pub(super) fn of(conn: &Connection, crop: CropId) -> Result<Option<(Period, String)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT b.from_day, b.to_day, p.initials || ' on ' || e.day || coalesce(': ' || n.text, '') FROM baseline b
               JOIN entry e ON e.id = b.entry_id JOIN entry_hands h ON h.id = e.id JOIN person p ON p.id = h.person_id
               LEFT JOIN entry_note n ON n.entry_id = e.id
             WHERE b.crop_id = ? AND b.void_by IS NULL ORDER BY b.id DESC LIMIT 1",
        )?
        .query_row([crop], |row| Ok((Period { from: row.get(0)?, to: row.get(1)? }, row.get(2)?)))
        .optional()?)
}

/// What an entry set.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let found: Option<(String, Period)> = conn
        .prepare_cached(
            "SELECT c.name, b.from_day, b.to_day FROM baseline b JOIN crop c ON c.id = b.crop_id WHERE b.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, Period { from: row.get(1)?, to: row.get(2)? })))
        .optional()?;
    Ok(found.map(|(name, period)| format!("{name}: later weights are held against those of {}", period.words())))
}
