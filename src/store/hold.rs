//! Holds: by hand, and by the entry that brings bad news of what was cut before it came.

mod bars;
mod reach;

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, ToSql, params};

use super::act::Wrote;
use super::breach::{decider, grounds};
use super::error::StoreError;
use super::facts::{HOLD, HOLD_DECISION, HOLD_ITEM};
use super::trace::{self, Found};
use super::writer::Writer;
use super::{complaint, derive, fuzz, lot, recall, suspect};
use crate::domain::breach::Verdict;
use crate::domain::code::Code;
use crate::domain::hold::{Cause, Held, Hold, NewHold, follows, phrase, words};
use crate::domain::id::{
    ComplaintId, EntryId, HoldId, LotId, MaterialLotId, MixId, PersonId, SeedLotId, SowingId, ToolId, TrayId,
};
use crate::domain::refusal::Refusal;
use crate::domain::time::Instant;
use crate::domain::trace::Start;
use crate::domain::tray::{Stage, named};
pub(super) use bars::{MATERIAL, MIX, SEED, TOOL, bars, held_material, held_seed};
pub(super) use reach::{buyers, lots_of, own_lots};

/// Someone holds anything, and with it everything that was made of it.
pub(super) fn by_hand(w: &mut Writer<'_>, new: &NewHold) -> Result<Wrote, StoreError> {
    let NewHold { what, complaint, with_seed, call, reason } = new;
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(Refusal::new("hold_reason", "Say in a sentence why it is held.").at("reason").into());
    }
    let mut found = trace::resolve(w.conn, what)?;
    let nothing = found.trays.is_empty() && found.lots.is_empty();
    if nothing
        && matches!(what, Start::Tool(..) | Start::Water(..) | Start::Place(..) | Start::Store(..) | Start::Person(..))
    {
        let why = format!("{}: no tray and no lot of the book, so nothing is to be held.", found.title);
        return Err(Refusal::new("hold_empty", why).into());
    }
    if let Some(complaint) = complaint {
        complaint::open(w.conn, *complaint)?;
    }
    if *with_seed {
        trace::add_seed(w.conn, &mut found)?;
    }
    w.note(Some(reason))?;
    let (hold, sentence) = found_held(w, &found, *complaint, false)?;
    if !call {
        return Ok(Wrote { sentence, made: Some(hold.0), trays: found.trays });
    }
    let called = recall::begin(w, hold)?;
    Ok(Wrote { sentence: format!("{sentence} {}", called.sentence), made: called.made, trays: found.trays })
}

/// Holds what a start is of, and says so. An exercise holds nothing back.
pub(super) fn found_held(
    w: &mut Writer<'_>,
    found: &Found,
    complaint: Option<ComplaintId>,
    exercise: bool,
) -> Result<(HoldId, String), StoreError> {
    let new = New { cause: Cause::ByHand, scope: &found.title, about: None, complaint, exercise };
    let hold = write(w, &new, &Items::of(found))?;
    let (title, also) = (
        &found.title,
        match () {
            () if !found.seed_lots.is_empty() => ", and none of it is sown",
            () if !found.mixes.is_empty() || !found.materials.is_empty() || !found.tools.is_empty() => {
                ", and it is not used again"
            }
            () => "",
        },
    );
    let sentence = format!(
        "{title} is held with all that was made of it{also}: not cut, packed, sold or given away until it is lifted by name."
    );
    Ok((hold, sentence))
}

/// What a hold says beside what it is of.
struct New<'a> {
    cause: Cause,
    scope: &'a str,
    about: Option<EntryId>,
    complaint: Option<ComplaintId>,
    exercise: bool,
}

impl<'a> New<'a> {
    /// News that came by itself.
    fn of(cause: Cause, scope: &'a str, about: Option<EntryId>) -> Self {
        Self { cause, scope, about, complaint: None, exercise: false }
    }
}

/// What a hold is of.
#[derive(Default)]
struct Items<'a> {
    seed_lots: &'a [SeedLotId],
    materials: &'a [MaterialLotId],
    mixes: &'a [MixId],
    tools: &'a [ToolId],
    sowings: &'a [SowingId],
    trays: &'a [TrayId],
    lots: &'a [LotId],
}

impl<'a> Items<'a> {
    fn of(found: &'a Found) -> Self {
        let Found { seed_lots, materials, mixes, tools, sowings, trays, lots, .. } = found;
        Self { seed_lots, materials, mixes, tools, sowings, trays, lots }
    }
}

fn write(w: &mut Writer<'_>, new: &New<'_>, items: &Items<'_>) -> Result<HoldId, StoreError> {
    let exercise = new.exercise.then_some(1);
    let hold = w.fact(
        HOLD,
        &[
            ("cause", &new.cause),
            ("scope_text", &new.scope),
            ("about_entry", &new.about),
            ("complaint_id", &new.complaint),
            ("exercise", &exercise),
        ],
    )?;
    let mut n = 0i64;
    let mut item = |w: &mut Writer<'_>, column: &'static str, id: &dyn ToSql| {
        n += 1;
        w.fact(HOLD_ITEM, &[("hold_id", &hold), ("n", &n), (column, id)])
    };
    for id in items.seed_lots {
        item(w, "seed_lot_id", id)?;
    }
    for id in items.materials {
        item(w, "material_lot_id", id)?;
    }
    for id in items.mixes {
        item(w, "mix_id", id)?;
    }
    for id in items.tools {
        item(w, "tool_id", id)?;
    }
    for id in items.sowings {
        item(w, "sowing_id", id)?;
    }
    for tray in items.trays {
        item(w, "tray_id", tray)?;
        w.touched.insert(*tray);
    }
    for lot in items.lots {
        item(w, "lot_id", lot)?;
        w.touched_lots.insert(*lot);
    }
    Ok(HoldId(hold))
}

/// Holds the lots that mats of a tray which still stands were cut into before an entry brought bad news of it, and says
/// their codes.
pub(super) fn reach_lots(w: &mut Writer<'_>) -> Result<Vec<String>, StoreError> {
    let mut codes = Vec::new();
    for tray in w.touched.clone() {
        let Some(at) = part_cut_at(w.conn, tray)? else { continue };
        for (cause, about) in news(w.conn, tray, at)? {
            let mut late = Vec::new();
            for lot in lot::of_tray(w.conn, tray)? {
                if !knows(w.conn, lot, tray, cause, about)? {
                    late.push(lot);
                }
            }
            if late.is_empty() {
                continue;
            }
            let scope = format!("Lots of {}", Code::tray(tray.0));
            write(w, &New::of(cause, &scope, Some(about)), &Items { lots: &late, ..Items::default() })?;
            for lot in late {
                codes.push(lot::code(w.conn, lot)?);
            }
        }
    }
    codes.sort_unstable();
    codes.dedup();
    Ok(codes)
}

/// Holds the lots that a batch was cut into when it turns out to be of another crop.
pub(super) fn cut_under_another_crop(w: &mut Writer<'_>, batch: &str, trays: &[TrayId]) -> Result<(), StoreError> {
    let mut lots = BTreeSet::new();
    for tray in trays {
        lots.extend(lot::of_tray(w.conn, *tray)?);
    }
    if lots.is_empty() {
        return Ok(());
    }
    let lots: Vec<LotId> = lots.into_iter().collect();
    let scope = format!("Lots of batch {batch}, cut under another crop");
    write(w, &New::of(Cause::ByHand, &scope, None), &Items { lots: &lots, ..Items::default() })?;
    Ok(())
}

/// When mats of a tray that still stands were cut last. Index: `lot_input_of_tray`.
fn part_cut_at(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(l.cut_at) FROM lot_input i JOIN lot l ON l.id = i.lot_id
             WHERE i.tray_id = ?1 AND i.void_by IS NULL AND EXISTS (SELECT 1 FROM tray_now WHERE tray_id = ?1)",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// The same as [`known`], of a lot.
fn knows(conn: &Connection, lot: LotId, tray: TrayId, cause: Cause, about: EntryId) -> Result<bool, StoreError> {
    let rule = rule_of(cause);
    // indexes: breach_tray_tray, hold_item_lot
    Ok(conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM breach_tray t JOIN breach b ON b.id = t.breach_id
                      WHERE t.tray_id = ?5 AND b.void_by IS NULL AND b.entry_id >= ?2 AND b.rule = ?4)
                 OR EXISTS (SELECT 1 FROM hold_item i JOIN hold h ON h.id = i.hold_id
                      WHERE i.lot_id = ?1 AND h.void_by IS NULL AND h.cause = ?3 AND (h.entry_id >= ?2
                      OR i.hold_id IN (SELECT hold_id FROM blocked WHERE lot_id = ?1)))",
        )?
        .query_row(params![lot, about, cause, rule, tray], |row| row.get(0))?)
}

fn rule_of(cause: Cause) -> &'static str {
    if cause == Cause::Treated { "cut_waiting" } else { "cut_suspect" }
}

/// Holds what had been cut before an entry brought bad news of it, and says which trays.
///
/// Called of every entry, after the rows of the trays it touched were worked out: so it does not matter by which way the
/// news came, a late look, a correction, an undo, a treatment.
pub(super) fn reach_back(w: &mut Writer<'_>) -> Result<Vec<TrayId>, StoreError> {
    let mut late: Vec<(Cause, EntryId, Vec<TrayId>)> = Vec::new();
    for tray in &w.touched {
        let Some(at) = cut_at(w.conn, *tray)? else { continue };
        for (cause, about) in news(w.conn, *tray, at)? {
            if known(w.conn, *tray, cause, about)? {
                continue;
            }
            match late.iter_mut().find(|(c, a, _)| (*c, *a) == (cause, about)) {
                Some((.., trays)) => trays.push(*tray),
                None => late.push((cause, about, vec![*tray])),
            }
        }
    }
    let mut reached = Vec::new();
    for (cause, about, trays) in late {
        let scope = named(&trays);
        write(w, &New::of(cause, &scope, Some(about)), &Items { trays: &trays, ..Items::default() })?;
        reached.extend(trays);
    }
    reached.sort_unstable();
    reached.dedup();
    Ok(reached)
}

/// When a tray left the room cut or alive; `None` of one in the room or thrown out. Index: `stage_tray`.
fn cut_at(conn: &Connection, tray: TrayId) -> Result<Option<Instant>, StoreError> {
    let left = left(conn, tray)?;
    Ok(left.filter(|(stage, _)| *stage != Stage::Thrown).map(|(_, at)| at))
}

fn left(conn: &Connection, tray: TrayId) -> Result<Option<(Stage, Instant)>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT s.stage, coalesce(s.at, e.at) FROM stage s JOIN entry e ON e.id = s.entry_id
             WHERE s.tray_id = ? AND s.void_by IS NULL AND s.stage IN ('cut', 'left_alive', 'thrown')
             ORDER BY s.id DESC LIMIT 1",
        )?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?)
}

/// What the book says against a tray that was cut, each with the newest entry that says so.
fn news(conn: &Connection, tray: TrayId, cut: Instant) -> Result<Vec<(Cause, EntryId)>, StoreError> {
    let mut found = Vec::new();
    if let Some(about) = fuzz::named(conn, tray)?.max(derive::lost(conn, tray)?) {
        found.push((Cause::Mould, about));
    } else if suspect::level(conn, tray)? != 0 {
        found.extend(doubted(conn, tray)?.map(|about| (Cause::Fuzz, about)));
    }
    // index: treatment_tray_tray
    let waiting: Option<EntryId> = conn
        .prepare_cached(
            "SELECT max(m.entry_id) FROM treatment_tray t JOIN treatment m ON m.id = t.treatment_id
             WHERE t.tray_id = ?1 AND m.void_by IS NULL
             AND strftime('%Y-%m-%dT%H:%M:%SZ', m.at, '+' || m.wait_h || ' hours') > ?2",
        )?
        .query_row(params![tray, cut], |row| row.get(0))?;
    found.extend(waiting.map(|about| (Cause::Treated, about)));
    Ok(found)
}

/// The newest entry by which a tray is suspect: its fuzz, or what took back the check or the clear that answered it.
/// Indexes: `look_tray`, `decision_tray`.
fn doubted(conn: &Connection, tray: TrayId) -> Result<Option<EntryId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT max(entry) FROM (SELECT max(CASE WHEN void_by IS NULL THEN entry_id ELSE void_by END) AS entry
                                     FROM look WHERE tray_id = ?1 AND fuzz
                UNION ALL SELECT max(void_by) FROM decision WHERE tray_id = ?1 AND what = 'clear')",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// Whether someone has been told of this very news: a breach of its rule or a hold of its cause as new as it is, or such a
/// hold that nobody lifted.
fn known(conn: &Connection, tray: TrayId, cause: Cause, about: EntryId) -> Result<bool, StoreError> {
    let rule = rule_of(cause);
    // indexes: breach_tray_tray, hold_item_tray
    Ok(conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM breach_tray t JOIN breach b ON b.id = t.breach_id
                      WHERE t.tray_id = ?1 AND b.void_by IS NULL AND b.entry_id >= ?2
                      AND b.rule = ?4)
                 OR EXISTS (SELECT 1 FROM hold_item i JOIN hold h ON h.id = i.hold_id
                      WHERE i.tray_id = ?1 AND h.void_by IS NULL AND h.cause = ?3 AND (h.entry_id >= ?2
                      OR i.hold_id IN (SELECT hold_id FROM blocked WHERE tray_id = ?1)))",
        )?
        .query_row(params![tray, about, cause, rule], |row| row.get(0))?)
}

/// Whether a hold that nobody lifted holds a tray: itself, seed or a medium it grew from, or what it was treated with, also
/// where a correction or a late entry brought that in. Indexes: `hold_item_tray`, `hold_item_seed_lot`, `hold_item_material`,
/// `hold_item_mix`, `seed_move_sowing`, `treatment_tray_tray`.
pub(super) fn holds(conn: &Connection, tray: TrayId) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM blocked WHERE tray_id = ?1)
                 OR EXISTS (SELECT 1 FROM tray t JOIN seed_move m ON m.sowing_id = t.sowing_id AND m.void_by IS NULL
                      JOIN blocked b ON b.seed_lot_id = m.seed_lot_id WHERE t.id = ?1)
                 OR EXISTS (SELECT 1 FROM tray t JOIN sowing s ON s.id = t.sowing_id
                      JOIN blocked b ON b.seed_lot_id = s.before_lot_id WHERE t.id = ?1)
                 OR EXISTS (SELECT 1 FROM tray t JOIN sowing s ON s.id = t.sowing_id
                      JOIN blocked b ON b.material_lot_id = s.medium_lot_id WHERE t.id = ?1)
                 OR EXISTS (SELECT 1 FROM treatment_tray x CROSS JOIN treatment m ON m.id = x.treatment_id AND m.void_by IS NULL
                      CROSS JOIN blocked b ON b.mix_id = m.mix_id WHERE x.tray_id = ?1)
                 OR EXISTS (SELECT 1 FROM treatment_tray x CROSS JOIN treatment m ON m.id = x.treatment_id AND m.void_by IS NULL
                      CROSS JOIN mix_part p ON p.mix_id = m.mix_id
                      CROSS JOIN blocked b ON b.material_lot_id = p.material_lot_id WHERE x.tray_id = ?1)",
        )?
        .query_row([tray], |row| row.get(0))?)
}

/// Someone who may decide says what becomes of a hold.
pub(super) fn decide(
    w: &mut Writer<'_>,
    hold: HoldId,
    what: Verdict,
    by: PersonId,
    reason: &str,
) -> Result<Wrote, StoreError> {
    let known: Option<(String, bool)> = w
        .conn
        .prepare_cached(
            "SELECT scope_text, EXISTS (SELECT 1 FROM hold_decision d WHERE d.hold_id = h.id
               AND d.void_by IS NULL AND d.what <> 'watch')
             FROM hold h WHERE id = ? AND void_by IS NULL AND exercise IS NOT 1",
        )?
        .query_row([hold], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let scope = match known {
        Some((scope, false)) => scope,
        Some((scope, true)) => {
            let sentence = format!("The hold of {scope} is decided already: its story says how.");
            return Err(Refusal::new("hold_decided", sentence).into());
        }
        None => return Err(Refusal::new("hold_unknown", "The book has no such hold.").into()),
    };
    let initials = decider(w.conn, by, "a hold")?;
    let reason = grounds(reason)?;
    w.fact(HOLD_DECISION, &[("hold_id", &hold), ("what", &what), ("person_id", &by)])?;
    w.note(Some(reason))?;
    let trays = trays(w.conn, hold)?;
    w.touched.extend(trays.iter().copied());
    w.touched_lots.extend(own_lots(w.conn, hold)?);
    let sentence = format!("{initials} decided about the hold of {scope}: {}.", decided_words(w.conn, what, &trays)?);
    Ok(Wrote { sentence, made: None, trays })
}

/// A decision and what follows from it; of trays that have left, throwing out is calling back.
fn decided_words(conn: &Connection, what: Verdict, trays: &[TrayId]) -> Result<String, StoreError> {
    let mut gone = false;
    for tray in trays {
        gone |= left(conn, *tray)?.is_some();
    }
    Ok(format!("{}; {}", words(what, gone), follows(what, gone)))
}

/// Trays of a hold: those it named, and those that grow from its seed or on its medium, or were treated with what it holds, by
/// now.
pub(super) fn trays(conn: &Connection, hold: HoldId) -> Result<Vec<TrayId>, StoreError> {
    let trays = conn
        .prepare_cached(
            "SELECT tray_id FROM hold_item WHERE hold_id = ?1 AND tray_id NOT NULL
             UNION SELECT t.id FROM hold_item i JOIN seed_move m ON m.seed_lot_id = i.seed_lot_id AND m.void_by IS NULL
               JOIN tray t ON t.sowing_id = m.sowing_id WHERE i.hold_id = ?1
             UNION SELECT t.id FROM hold_item i JOIN sowing s ON s.before_lot_id = i.seed_lot_id AND s.void_by IS NULL
               JOIN tray t ON t.sowing_id = s.id WHERE i.hold_id = ?1
             UNION SELECT t.id FROM hold_item i JOIN sowing s ON s.medium_lot_id = i.material_lot_id AND s.void_by IS NULL
               JOIN tray t ON t.sowing_id = s.id WHERE i.hold_id = ?1
             UNION SELECT x.tray_id FROM hold_item i JOIN treatment m ON m.mix_id = i.mix_id AND m.void_by IS NULL
               JOIN treatment_tray x ON x.treatment_id = m.id WHERE i.hold_id = ?1
             UNION SELECT x.tray_id FROM hold_item i JOIN mix_part p ON p.material_lot_id = i.material_lot_id
               JOIN treatment m ON m.mix_id = p.mix_id AND m.void_by IS NULL
               JOIN treatment_tray x ON x.treatment_id = m.id WHERE i.hold_id = ?1 ORDER BY 1",
        )?
        .query_map([hold], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(trays)
}

/// Holds without a decision, or put off, the oldest first.
pub(super) fn open(conn: &Connection) -> Result<Vec<Hold>, StoreError> {
    let mut holds: Vec<Hold> = conn
        .prepare_cached(
            "SELECT h.id, h.cause, h.scope_text, h.entry_id, e.at, p.initials, h.about_entry, n.text,
                    EXISTS (SELECT 1 FROM hold_decision d WHERE d.hold_id = h.id AND d.void_by IS NULL),
                    (SELECT id FROM complaint WHERE id = h.complaint_id AND void_by IS NULL)
             FROM hold h JOIN entry e ON e.id = h.entry_id
             JOIN person p ON p.id = e.who
             LEFT JOIN entry_note n ON n.entry_id = e.id
             WHERE h.void_by IS NULL AND h.exercise IS NOT 1 AND NOT EXISTS (SELECT 1 FROM hold_decision d
               WHERE d.hold_id = h.id AND d.void_by IS NULL AND d.what <> 'watch') ORDER BY h.id",
        )?
        .query_map([], |row| {
            Ok(Hold {
                id: row.get(0)?,
                cause: row.get(1)?,
                scope: row.get(2)?,
                entry: row.get(3)?,
                at: row.get(4)?,
                who: row.get(5)?,
                about: row.get(6)?,
                note: row.get(7)?,
                of: Vec::new(),
                trays: Vec::new(),
                lots: Vec::new(),
                buyers: Vec::new(),
                watched: row.get(8)?,
                complaint: row.get(9)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    for hold in &mut holds {
        for tray in trays(conn, hold.id)? {
            let crop: String = conn
                .prepare_cached(
                    "SELECT c.name FROM tray t JOIN sowing_now s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id
                     WHERE t.id = ?",
                )?
                .query_row([tray], |row| row.get(0))?;
            hold.trays.push(Held { tray, crop, left: left(conn, tray)? });
        }
    }
    for hold in &mut holds {
        hold.of = bars::named(conn, hold.id)?;
        reach::reach(conn, hold)?;
    }
    Ok(holds)
}

/// Why an entry of this kind cannot be taken back: a hold is lifted by a decision, and a code is given once.
pub(super) fn stays(kind: &str) -> Option<Refusal> {
    let (rule, sentence) = match kind {
        "held" => {
            ("hold_stays", "A hold is not taken back: someone who may decide lifts it, with a reason (d in the room).")
        }
        // its old code is void for good: none is used twice
        "reissued" => {
            ("reissue_stays", "Another label is not taken back, codes are never used twice: give it one more.")
        }
        "blanked" => {
            ("blank_stays", "What was taken out is gone: nothing brings it back. Write it down again if it is needed.")
        }
        _ => return None,
    };
    Some(Refusal::new(rule, sentence))
}

/// What an entry held beside what else it says; empty if nothing.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let held: Vec<(HoldId, Cause)> = conn
        .prepare_cached("SELECT id, cause FROM hold WHERE entry_id = ? ORDER BY id")?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut text = String::new();
    for (hold, cause) in held.into_iter().filter(|(_, cause)| *cause != Cause::ByHand) {
        text.push_str("; ");
        text.push_str(&phrase(cause, &trays(conn, hold)?));
    }
    Ok(text)
}

/// What was held by hand.
pub(super) fn held(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let scope: String = conn
        .prepare_cached("SELECT scope_text FROM hold WHERE entry_id = ? ORDER BY id LIMIT 1")?
        .query_row([entry], |row| row.get(0))?;
    Ok(format!("{scope} held"))
}

/// What an entry decided.
pub(super) fn decided(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (what, by, scope, of, hold): (Verdict, String, String, EntryId, HoldId) = conn
        .prepare_cached(
            "SELECT d.what, p.initials, h.scope_text, h.entry_id, h.id FROM hold_decision d
             JOIN hold h ON h.id = d.hold_id JOIN person p ON p.id = d.person_id WHERE d.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let words = decided_words(conn, what, &trays(conn, hold)?)?;
    Ok(format!("{by} decided about the hold of {scope}, entry {}: {words}", of.0))
}
