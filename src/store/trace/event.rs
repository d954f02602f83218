//! The events of a trace, read from what the book has of its seed lots, batches and lots.

mod gone;
mod lots;
mod seed;

use std::collections::BTreeSet;

use rusqlite::Connection;

use crate::domain::id::{EntryId, LotId, SowingId, TrayId};
use crate::domain::time::{Day, Instant, Now};
use crate::domain::trace::Node;
use crate::domain::trace::event::{Event, Party, Replaced, Stamp, What};
use crate::store::error::StoreError;
use crate::store::{room, sender, whereabouts};

/// Who ships, and whose lot codes they are: the room as it stands in the book.
pub(super) fn party(conn: &Connection) -> Result<Party, StoreError> {
    let sender = sender::read(conn)?.0;
    let name = match sender.name.trim() {
        "" => room::setting(conn, "room_name")?.unwrap_or_default(),
        name => name.to_string(),
    };
    Ok(Party { name, address: sender.address, phone: sender.phone })
}

/// Reads events of one book at one moment.
pub(super) struct Events<'a> {
    conn: &'a Connection,
    now: Now,
    /// Its two letters.
    room: String,
    own: Party,
}

impl<'a> Events<'a> {
    pub fn new(conn: &'a Connection, now: Now) -> Result<Self, StoreError> {
        Ok(Self { conn, now, room: room::setting(conn, "room_code")?.unwrap_or_default(), own: party(conn)? })
    }

    /// Events of these things, and what of them no longer counts. `sold`: lots of which it is told where they went.
    pub fn of(
        &self,
        nodes: &BTreeSet<Node>,
        sold: &BTreeSet<LotId>,
    ) -> Result<(Vec<Event>, Vec<Replaced>), StoreError> {
        let (mut events, mut replaced) = (Vec::new(), Vec::new());
        for node in nodes {
            match node {
                Node::SeedLot(id) => {
                    events.extend(self.received(*id)?);
                    replaced.extend(self.received_before(*id)?);
                }
                Node::Sowing(id) => {
                    events.push(self.sown(*id)?);
                    replaced.extend(self.sown_before(*id)?);
                }
                Node::Lot(id) => {
                    events.extend(self.lot(*id)?);
                    if sold.contains(id) {
                        let (went, taken_back) = self.gone(*id)?;
                        events.extend(went);
                        replaced.extend(taken_back);
                    }
                }
                _ => {}
            }
        }
        Ok((events, replaced))
    }

    /// Whose hands, when seen, when typed.
    fn stamp(&self, entry: EntryId) -> Result<Stamp, StoreError> {
        stamp(self.conn, self.now, entry)
    }

    /// An event of an entry, on a day of the room.
    fn event(&self, what: What, day: Day, entry: EntryId) -> Result<Event, StoreError> {
        let code_by = self.own.clone();
        Ok(Event { code_by, ..Event::of(what, day, &self.room, self.stamp(entry)?) })
    }

    fn local(&self, at: Instant) -> chrono::DateTime<chrono::FixedOffset> {
        self.now.local(at)
    }

    /// Where a tray stood at a moment; at the end of its life where it stood last.
    fn stood(&self, tray: TrayId, at: Option<Instant>) -> Result<Option<String>, StoreError> {
        let stays = whereabouts::stays(self.conn, tray)?;
        let there = stays.iter().rfind(|stay| at.is_none_or(|at| stay.from <= at)).or(stays.first());
        Ok(there.map(|stay| stay.place.label()))
    }

    /// The batch a tray is of.
    fn batch(&self, tray: TrayId) -> Result<(SowingId, String, String, Day), StoreError> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT s.id, s.code, c.name, s.day FROM tray t JOIN sowing_now s ON s.id = t.sowing_id
                 JOIN crop c ON c.id = s.crop_id WHERE t.id = ?",
            )?
            .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?)
    }
}

/// Whose hands an entry is of, when it was seen and typed, and what put it right.
pub(super) fn stamp(conn: &Connection, now: Now, entry: EntryId) -> Result<Stamp, StoreError> {
    // index: correction_about
    Ok(conn
        .prepare_cached(
            "SELECT s.initials, coalesce(e.seen_at, e.at), t.initials, e.at, e.paper,
                    (SELECT max(entry_id) FROM correction WHERE about_id = e.id AND void_by IS NULL), n.text
             FROM entry e JOIN entry_hands h ON h.id = e.id JOIN person s ON s.id = h.person_id JOIN person t ON t.id = e.who
             LEFT JOIN entry_note n ON n.entry_id = e.id WHERE e.id = ?",
        )?
        .query_row([entry], |row| {
            let (seen, typed): (Instant, Instant) = (row.get(1)?, row.get(3)?);
            Ok(Stamp {
                entry,
                saw: row.get(0)?,
                seen_at: now.local(seen),
                typed: row.get(2)?,
                typed_at: now.local(typed),
                late: seen != typed,
                paper: row.get(4)?,
                put_right_by: row.get(5)?,
                note: row.get(6)?,
            })
        })?)
}

/// Each word once, in the order they came.
fn once(words: impl IntoIterator<Item = String>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for word in words {
        if !word.is_empty() && !all.contains(&word) {
            all.push(word);
        }
    }
    all
}
