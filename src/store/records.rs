//! The records of a period: everything the log holds about some days, section by section, and the proof of its chain.
//!
//! Nothing here is asked by a screen: entries of some days are found by reading the whole log, so that neither a clock that was
//! set back nor an entry typed a year late is missed.

mod cold;
mod growing;
mod room;
mod rules;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, Row as SqlRow, params};

use super::error::StoreError;
use super::ids::day_sql;
use super::{Store, chain, correct, history, review, room as of_room, sender, whereabouts};
use crate::domain::beside::Stay;
use crate::domain::code::Code;
use crate::domain::history::EntryLine;
use crate::domain::id::{EntryId, TrayId};
use crate::domain::period::Period;
use crate::domain::records::{Part, Records, Row, Section, Stamp};
use crate::domain::review::{Signature, changed_after};
use crate::domain::room::Units;
use crate::domain::time::{Day, Instant, Now};

impl Store {
    /// Everything about some days, as the book is at this moment. `watch` hears how many entries of how many were proved, and
    /// gives the whole up by saying no: then there are no records.
    pub fn records(
        &self,
        period: Period,
        now: Now,
        watch: &mut dyn FnMut(i64, i64) -> bool,
    ) -> Result<Option<Records>, StoreError> {
        // rows and hashes are of the same moment, while others go on writing
        let _view = chain::view(&self.conn)?;
        let Some(proof) = chain::proof(&self.conn, watch)? else { return Ok(None) };
        let mut gather = Gather::begin(&self.conn, period, now)?;
        let sections = gather.sections()?;
        let (sender, _) = sender::read(&self.conn)?;
        let setting = |key: &str| Ok::<_, StoreError>(of_room::setting(&self.conn, key)?.unwrap_or_default());
        let (room, code) = (setting("room_name")?, setting("room_code")?);
        Ok(Some(Records {
            name: if sender.name.is_empty() { room.clone() } else { sender.name },
            room,
            code,
            address: sender.address,
            phone: sender.phone,
            period,
            made: now,
            made_by: String::new(),
            since: review::since(&self.conn)?,
            entries: gather.ids.len(),
            sections,
            signatures: gather.signatures,
            proof,
        }))
    }
}

/// What is known while the sections are put together.
struct Gather<'c> {
    conn: &'c Connection,
    now: Now,
    period: Period,
    units: Units,
    /// Entries of these days.
    ids: Vec<EntryId>,
    /// All of them lie between these two.
    lo: EntryId,
    hi: EntryId,
    stamps: BTreeMap<EntryId, (Stamp, Option<String>)>,
    stays: BTreeMap<TrayId, Vec<Stay>>,
    /// Entries that stand in a section already.
    shown: BTreeSet<EntryId>,
    /// What entries of another day say of these.
    dated: BTreeMap<EntryId, Day>,
    signatures: Vec<Signature>,
}

/// An entry with its hands as it was told.
const STAMP: &str =
    "SELECT e.id, e.kind, e.day, coalesce(e.seen_at, e.at), s.initials, e.at, t.initials, e.paper, n.text
    FROM entry e JOIN entry_hands h ON h.id = e.id JOIN person s ON s.id = h.as_told JOIN person t ON t.id = e.who
    LEFT JOIN entry_note n ON n.entry_id = e.id";

fn stamp(row: &SqlRow<'_>) -> rusqlite::Result<(Stamp, Option<String>)> {
    let stamp = Stamp {
        entry: row.get(0)?,
        kind: row.get(1)?,
        day: row.get(2)?,
        seen: row.get(3)?,
        who: row.get(4)?,
        typed: row.get(5)?,
        typed_by: row.get(6)?,
        paper: row.get(7)?,
    };
    Ok((stamp, row.get(8)?))
}

impl<'c> Gather<'c> {
    fn begin(conn: &'c Connection, period: Period, now: Now) -> Result<Self, StoreError> {
        let days = [day_sql(period.from), day_sql(period.to)];
        // one look at every entry: no index keeps the log by day, for it would cost every entry that is written
        let ids: Vec<EntryId> = conn
            .prepare("SELECT id FROM entry WHERE day BETWEEN ? AND ? ORDER BY id")?
            .query_map(days, |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let (lo, hi) = (ids.first().copied().unwrap_or(EntryId(1)), ids.last().copied().unwrap_or(EntryId(0)));
        let mut gather = Self {
            conn,
            now,
            period,
            units: of_room::units(conn)?,
            ids,
            lo,
            hi,
            stamps: BTreeMap::new(),
            stays: BTreeMap::new(),
            shown: BTreeSet::new(),
            dated: BTreeMap::new(),
            signatures: review::signatures(conn, period, now)?,
        };
        gather.stamps = gather
            .of_days(STAMP, "e.id", stamp)?
            .into_iter()
            .map(|(stamp, note)| (stamp.entry, (stamp, note)))
            .collect();
        Ok(gather)
    }

    /// What a query finds of the entries of these days, which it calls `e`, in some order.
    fn of_days<T>(
        &self,
        text: &str,
        order: &str,
        read: impl FnMut(&SqlRow<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, StoreError> {
        let text = format!("{text} WHERE e.id BETWEEN ?1 AND ?2 AND e.day BETWEEN ?3 AND ?4 ORDER BY {order}");
        let (from, to) = (day_sql(self.period.from), day_sql(self.period.to));
        Ok(self
            .conn
            .prepare_cached(&text)?
            .query_map(params![self.lo, self.hi, from, to], read)?
            .collect::<Result<_, _>>()?)
    }

    /// An entry of any day, and its note.
    fn stamp(&mut self, id: EntryId) -> Result<(Stamp, Option<String>), StoreError> {
        if let Some(known) = self.stamps.get(&id) {
            return Ok(known.clone());
        }
        let found = self.conn.prepare_cached(&format!("{STAMP} WHERE e.id = ?"))?.query_row([id], stamp)?;
        self.stamps.insert(id, found.clone());
        Ok(found)
    }

    /// A row of an entry, with its note. It stands in a section now.
    fn row(&mut self, id: EntryId, cells: Vec<String>) -> Result<Row, StoreError> {
        let (stamp, note) = self.stamp(id)?;
        self.shown.insert(id);
        let mut row = Row { note, ..Row::of(Some(stamp), cells) };
        row.gone = self.undone(id)?;
        Ok(row)
    }

    /// The entry that took all of an entry back.
    fn undone(&self, id: EntryId) -> Result<Option<(EntryId, &'static str)>, StoreError> {
        let by: Option<EntryId> = self
            .conn
            .prepare_cached("SELECT id FROM entry WHERE undoes = ?")?
            .query_row([id], |row| row.get(0))
            .optional()?;
        Ok(by.map(|by| (by, TAKEN_BACK)))
    }

    /// How a row was replaced or taken back.
    fn gone(&self, void_by: Option<EntryId>) -> Result<Option<(EntryId, &'static str)>, StoreError> {
        let Some(by) = void_by else { return Ok(None) };
        let kind: String =
            self.conn.prepare_cached("SELECT kind FROM entry WHERE id = ?")?.query_row([by], |row| row.get(0))?;
        let what = match kind.as_str() {
            "undo" => TAKEN_BACK,
            "corrected" if correct::never_happened(self.conn, by)? => "said never to have happened",
            "corrected" => "put right",
            _ => "replaced",
        };
        Ok(Some((by, what)))
    }

    /// The sentence of an entry, without its time and hands, which stand beside it.
    fn said(&self, id: EntryId) -> Result<(EntryLine, String), StoreError> {
        let line = EntryLine { seen: None, ..history::line(self.conn, id)? };
        let words = line.words(self.now);
        Ok((line, words))
    }

    /// Entries of these days of some kinds, a sentence each.
    fn sentences(&mut self, kinds: &[&str]) -> Result<Vec<Row>, StoreError> {
        let of_kind = |id: &EntryId| self.stamps.get(id).is_some_and(|(stamp, _)| kinds.contains(&stamp.kind.as_str()));
        let ids: Vec<EntryId> = self.ids.iter().copied().filter(of_kind).collect();
        ids.into_iter().map(|id| self.sentence(id)).collect()
    }

    fn sentence(&mut self, id: EntryId) -> Result<Row, StoreError> {
        let (line, said) = self.said(id)?;
        let mut row = self.row(id, vec![plain(&line.kind), said])?;
        if row.gone.is_none() {
            row.gone = self.gone(line.undone_by)?;
        }
        Ok(row)
    }

    /// Where a tray stood at a moment; empty where nobody knows.
    fn place(&mut self, tray: TrayId, at: Instant) -> Result<String, StoreError> {
        if !self.stays.contains_key(&tray) {
            self.stays.insert(tray, whereabouts::stays(self.conn, tray)?);
        }
        let stays = self.stays.get(&tray).map_or(&[][..], Vec::as_slice);
        let stay = stays.iter().rev().find(|stay| stay.from <= at).or(stays.first());
        Ok(stay.filter(|stay| stay.to.is_none_or(|to| to >= at)).map_or_else(String::new, |stay| stay.place.label()))
    }

    /// Places and codes of some trays at a moment, in the same order; a place of several is named once.
    fn places_and_trays(&mut self, trays: &[TrayId], at: Instant) -> Result<[String; 2], StoreError> {
        let (mut places, mut codes): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
        for tray in trays {
            let place = self.place(*tray, at)?;
            if !place.is_empty() && places.last() != Some(&place) {
                places.push(place);
            }
            codes.push(Code::tray(tray.0).to_string());
        }
        Ok([places.join(", "), codes.join(", ")])
    }

    fn sections(&mut self) -> Result<Vec<Section>, StoreError> {
        let mut sections = Vec::new();
        for part in Part::ALL {
            let mut rows = match part {
                Part::People => room::people(self)?,
                Part::Received => self.sentences(RECEIVED)?,
                Part::Sown => growing::sown(self)?,
                Part::Looks => growing::looks(self)?,
                Part::Waters => growing::waters(self)?,
                Part::Treatments => growing::treatments(self)?,
                Part::Suspects => self.sentences(SUSPECTS)?,
                Part::Cold => cold::by_day(self)?,
                Part::ByHand => cold::by_hand(self)?,
                Part::Spells => cold::spells(self)?,
                Part::Checks => room::checks(self)?,
                Part::Cut => room::cut(self)?,
                Part::Breaches => rules::breaches(self)?,
                Part::Holds => rules::holds(self)?,
                Part::Exercises => rules::exercises(self)?,
                Part::Corrections => rules::corrections(self)?,
                Part::Late => rules::late(self)?,
                Part::Missed => rules::missed(self)?,
                Part::Signatures => rules::signatures(self)?,
                // the last: whatever stands nowhere yet
                Part::Others => {
                    let left: Vec<EntryId> = self.ids.iter().copied().filter(|id| !self.shown.contains(id)).collect();
                    left.into_iter().map(|id| self.sentence(id)).collect::<Result<_, _>>()?
                }
            };
            self.mark(*part, &mut rows);
            rows.sort_by_key(|row| row.stamp.as_ref().map(|stamp| (stamp.seen, stamp.entry)));
            sections.push(Section { part: *part, rows });
        }
        Ok(sections)
    }

    /// Says beside a row that it was written or changed after someone had signed its day.
    fn mark(&self, part: Part, rows: &mut [Row]) {
        if matches!(part, Part::Signatures | Part::Exercises) {
            return;
        }
        for row in rows {
            let Some(stamp) = &row.stamp else { continue };
            let day = self.dated.get(&stamp.entry).copied().unwrap_or(stamp.day);
            let by = row.gone.map_or(stamp.entry, |(by, _)| by.max(stamp.entry));
            row.marks.extend(changed_after(&self.signatures, by, day, self.now));
        }
    }
}

const TAKEN_BACK: &str = "taken back";

/// Kinds of entries that are told in a sentence each.
const RECEIVED: &[&str] =
    &["seed_received", "seed_counted", "material_received", "recipe", "mixed", "mix_ended", "soaked", "drained"];
const SUSPECTS: &[&str] = &["suspect_decided", "thrown", "part_lost"];

/// `seed_received` as `seed received`.
fn plain(kind: &str) -> String {
    kind.replace('_', " ")
}

/// A number with its words, or nothing.
fn some<T>(value: Option<T>, words: impl FnOnce(T) -> String) -> String {
    value.map_or_else(String::new, words)
}

fn yes(answer: bool) -> String {
    if answer { "yes" } else { "no" }.to_string()
}
