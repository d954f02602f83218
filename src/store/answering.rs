//! Whom to call, whose rules, which targets: one setting.

use rusqlite::Connection;

use super::Store;
use super::act::Wrote;
use super::error::StoreError;
use super::person::saved;
use super::revision::same;
use super::setting;
use super::writer::Writer;
use crate::domain::answering::{Answering, Answers};
use crate::domain::id::EntryId;
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

const KEY: &str = "answering";

impl Store {
    /// Complaints, recalls, what went out lately, whom to call.
    pub fn answers(&self, today: Day) -> Result<Answers, StoreError> {
        let (answering, answering_rev) = read(&self.conn)?;
        Ok(Answers {
            complaints: self.complaints()?,
            recalls: self.recalls()?,
            sold: self.sold(today)?,
            answering,
            answering_rev,
        })
    }
}

/// The setting, and how often it was changed.
pub(super) fn read(conn: &Connection) -> Result<(Answering, i64), StoreError> {
    setting::read(conn, KEY)
}

pub(super) fn edit(w: &mut Writer<'_>, answering: &Answering, rev: i64) -> Result<Wrote, StoreError> {
    let (before, now) = read(w.conn)?;
    same(now, rev)?;
    answering.check().map_err(|(field, why)| Refusal::new("answering", why).at(field))?;
    saved(before != *answering)?;
    setting::write(w, KEY, answering)?;
    Ok(Wrote::said("Whom to call and how fast: saved."))
}

/// What an entry says of it, if it changed it.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    let Some(answering) = setting::after::<Answering>(conn, entry, KEY)? else { return Ok(None) };
    let Answering { authority, laboratory, insurer, country, trace_min, ceiling_min, authority_min } = answering;
    let said = |text: String| if text.is_empty() { "nobody".to_string() } else { text };
    Ok(Some(format!(
        "to call: authority {}, laboratory {}, insurer {}; rules of {}; a trace in {trace_min} min, at most {ceiling_min}, for an \
         authority {authority_min}",
        said(authority),
        said(laboratory),
        said(insurer),
        country.shown()
    )))
}
