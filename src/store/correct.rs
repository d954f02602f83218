//! Corrections: an entry that replaces what an older one said, with the reason, by a copy of what still counts.

mod consequences;
mod hands;
mod never;
mod read;
mod sowing;

use rusqlite::Connection;

use super::act::Wrote;
use super::derive::{newest, placements};
use super::error::StoreError;
use super::facts::{CORRECTION, LOOK, PLACEMENT};
use super::look::{not_empty, write_look};
use super::writer::Writer;
use super::{fuzz, history, room, spell};
use crate::domain::correction::{Correction, Entry};
use crate::domain::fuzz::Verdict;
use crate::domain::id::{EntryId, PersonId, PlaceId, TrayId};
use crate::domain::look::{Basis, Look, Mist};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Instant, Now};
pub(super) use consequences::consequences;
pub(super) use hands::seen;
pub(super) use read::read;

pub(super) fn correct(
    w: &mut Writer<'_>,
    about: EntryId,
    correction: &Correction,
    reason: &str,
    second: Option<PersonId>,
) -> Result<Wrote, StoreError> {
    if reason.trim().is_empty() {
        return Err(Refusal::new("correct_reason", "Say why: the reason stands beside the old value.")
            .at("reason")
            .into());
    }
    let entry = read::entry(w.conn, about)?;
    if entry.gone {
        return Err(
            Refusal::new("correct_gone", "This entry no longer counts: correct the one that replaced it.").into()
        );
    }
    sowing::fresh(&entry, correction)?;
    let word = correction.stored();
    let by = match correction {
        Correction::Hands { by, .. } => Some(*by),
        _ => None,
    };
    w.fact(CORRECTION, &[("about_id", &about), ("what", &word), ("seen_by", &by)])?;
    let beside: Option<String> = match second {
        Some(id) => Some(w.conn.query_row("SELECT initials FROM person WHERE id = ?", [id], |row| row.get(0))?),
        None => None,
    };
    let reason = beside.map_or_else(|| reason.trim().to_string(), |who| format!("{} (with {who})", reason.trim()));
    w.note(Some(&reason))?;
    let trays = match correction {
        Correction::Never => never::never(w, &entry)?,
        Correction::Look(look) => looked(w, &entry, look)?,
        Correction::Sowing { sowing: batch, crop, day, seed, .. } => {
            sowing::sown(w, &entry, *batch, *crop, *day, seed)?
        }
        Correction::Place { tray, place } => placed(w, &entry, *tray, *place)?,
        Correction::Received { mg, .. } => sowing::received(w, &entry, *mg)?,
        Correction::Hands { at, by } => hands::hands(w, &entry, *at, *by)?,
    };
    Ok(Wrote { sentence: format!("Entry {} is put right: {reason}.", about.0), made: None, trays })
}

/// What an entry found of fuzz, or lost to mould or rot.
enum Finding {
    Fuzz {
        mist: Mist,
        verdict: Option<Verdict>,
        signs: Option<i64>,
    },
    Lost,
    /// A warm or freezing spell rests on it.
    Warm,
}

impl Finding {
    fn is_named(&self) -> bool {
        matches!(self, Self::Fuzz { verdict: Some(verdict), .. } if verdict.is_bad())
    }

    fn is_grave(&self) -> bool {
        self.is_named() || matches!(self, Self::Lost | Self::Warm | Self::Fuzz { mist: Mist::Stands, .. })
    }
}

fn findings(conn: &Connection, entry: EntryId) -> Result<Vec<Finding>, StoreError> {
    let mut found: Vec<Finding> = conn
        .prepare_cached("SELECT mist, verdict, signs FROM look WHERE entry_id = ? AND fuzz AND void_by IS NULL")?
        .query_map([entry], |row| Ok(Finding::Fuzz { mist: row.get(0)?, verdict: row.get(1)?, signs: row.get(2)? }))?
        .collect::<Result<_, _>>()?;
    let lost: bool = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM loss WHERE entry_id = ? AND void_by IS NULL AND reason IN ('mould', 'rot'))",
        )?
        .query_row([entry], |row| row.get(0))?;
    found.extend(lost.then_some(Finding::Lost));
    found.extend(spell::rests_on(conn, entry)?.then_some(Finding::Warm));
    Ok(found)
}

/// Whether an entry found mould, rot or fuzz that stood, or lost something to them.
fn is_grave(conn: &Connection, entry: EntryId) -> Result<bool, StoreError> {
    Ok(findings(conn, entry)?.iter().any(Finding::is_grave))
}

/// A slip of the hand is noticed within this time; after that a finding is taken back by two people.
const SLIP: chrono::Duration = chrono::Duration::minutes(5);

/// Refuses that undo takes back mould, rot or fuzz that stood, when it is no slip of the hand any more.
pub(super) fn no_slip(conn: &Connection, entry: EntryId, now: Now) -> Result<(), StoreError> {
    if !is_grave(conn, entry)? {
        return Ok(());
    }
    let typed: Instant = conn.query_row("SELECT at FROM entry WHERE id = ?", [entry], |row| row.get(0))?;
    if now.instant().0 - typed.0 <= SLIP {
        return Ok(());
    }
    let sentence = format!(
        "Entry {} found mould, rot, fuzz that stood or a warm spell more than five minutes ago: it is taken back from the log, by two people.",
        entry.0
    );
    Err(Refusal::new("undo_finding", sentence).into())
}

/// A finding of mould, rot, or fuzz that stood is not taken back by one person alone.
pub(super) fn finding_stands(
    conn: &Connection,
    about: EntryId,
    correction: &Correction,
    who: PersonId,
    second: Option<PersonId>,
) -> Result<(), StoreError> {
    let found = findings(conn, about)?;
    let taken_back = match correction {
        Correction::Never => found.iter().any(Finding::is_grave),
        Correction::Look(look) => found.iter().any(|found| match found {
            Finding::Fuzz { signs, .. } if found.is_named() => Some(look.signs.0) != *signs,
            Finding::Fuzz { mist, .. } => *mist == Mist::Stands && look.mist() != Some(Mist::Stands),
            Finding::Lost | Finding::Warm => false,
        }),
        _ => false,
    };
    if !taken_back {
        return Ok(());
    }
    let here: bool = conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM person WHERE id = ? AND NOT retired)",
        [second.map_or(0, |id| id.0)],
        |row| row.get(0),
    )?;
    if here && second != Some(who) {
        return Ok(());
    }
    let sentence = "Fuzz that stood, mould, rot and spells of warmth or frost are taken back by two people only: name a second one who looked.";
    Err(Refusal::new("correct_finding", sentence).at("second").into())
}

fn wrong_kind<T>(what: &str) -> Result<T, StoreError> {
    Err(Refusal::new("correct_kind", format!("This entry has no {what} to put right.")).into())
}

/// Another grade, fuzz, fault or watering for some of the trays, on the day it was seen.
fn looked(w: &mut Writer<'_>, entry: &Entry, look: &Look) -> Result<Vec<TrayId>, StoreError> {
    let Some(old) = &entry.look else { return wrong_kind("look") };
    if look.trays.is_empty() || !look.trays.iter().all(|tray| old.trays.contains(tray)) {
        return wrong_kind("look of these trays");
    }
    not_empty(look)?;
    fuzz::may_be(look)?;
    for tray in &look.trays {
        w.void_row(LOOK, &[entry.id.0, tray.0])?;
    }
    // a glance that turns out odd was of the tray after all, as far as the book can say
    let basis = if look.mist().is_some() || !look.faults.is_empty() { Basis::Tray } else { old.basis };
    write_look(w, &Look { basis, walk: old.walk, ..look.clone() }, entry.day, Some(entry.at), Some(entry.id))?;
    Ok(look.trays.clone())
}

/// Another place, unless the tray was moved on since: then the later move counts anyway.
fn placed(w: &mut Writer<'_>, entry: &Entry, tray: TrayId, place: PlaceId) -> Result<Vec<TrayId>, StoreError> {
    let Some((_, old)) = entry.placed.iter().find(|(t, _)| *t == tray) else { return wrong_kind("place of this tray") };
    if *old == place {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    room::usable_place(w, place, tray)?;
    let Some(newest) = newest::<i64>(w.conn, tray, 1, &placements("id"))? else {
        return wrong_kind("place of this tray");
    };
    let by: EntryId = w.conn.query_row("SELECT entry_id FROM placement WHERE id = ?", [newest], |row| row.get(0))?;
    if by != entry.id {
        let later = history::line(w.conn, by)?;
        let sentence = format!("It was moved on since (entry {}, {}): put that right.", by.0, later.text);
        return Err(Refusal::new("correct_later_move", sentence).into());
    }
    w.void_row(PLACEMENT, &[newest])?;
    // since when it may have stood there stays as it was noticed
    w.copy(PLACEMENT, &[newest], &[("place_id", &place), ("at", &entry.at)])?;
    w.touched.insert(tray);
    Ok(vec![tray])
}

/// Whether an entry put another right as never having happened.
pub(super) fn never_happened(conn: &Connection, correction: EntryId) -> Result<bool, StoreError> {
    Ok(conn.query_row(
        "SELECT EXISTS (SELECT 1 FROM correction WHERE entry_id = ? AND what = 'never')",
        [correction],
        |row| row.get(0),
    )?)
}
