//! What went against a rule, what is held, what was put right, what was typed late, and days nobody looked.

use std::collections::BTreeMap;

use chrono::Duration;
use rusqlite::params;

use super::growing::codes;
use super::{Gather, TAKEN_BACK, plain};
use crate::domain::breach::{Verdict, said};
use crate::domain::hold::{self, Cause};
use crate::domain::id::{BreachId, EntryId, HoldId, TrayId};
use crate::domain::power_cut::lasting;
use crate::domain::records::{EXERCISES_D, Row, moment};
use crate::domain::seed_lot::percent;
use crate::domain::time::{Day, Instant};
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::{breach, correct, hold as holding};

/// `accepted by RM, 2026-07-15 06:20: the reason`, and its entry.
pub(super) fn decision(g: &mut Gather<'_>, entry: EntryId, what: &str, by: &str) -> Result<String, StoreError> {
    let (stamp, note) = g.stamp(entry)?;
    g.shown.insert(entry);
    let reason = note.map_or_else(String::new, |reason| format!(": {reason}"));
    Ok(format!("{what} by {by}, {}, entry {}{reason}", moment(stamp.seen, g.now), entry.0))
}

/// Every decision about a breach or hold, or that there is none.
fn decisions(
    g: &mut Gather<'_>,
    found: Vec<(EntryId, Verdict, String)>,
    words: impl Fn(Verdict) -> &'static str,
) -> Result<String, StoreError> {
    if found.is_empty() {
        return Ok("NONE YET".into());
    }
    let mut all = Vec::new();
    for (entry, what, by) in found {
        all.push(decision(g, entry, words(what), &by)?);
    }
    Ok(all.join("; "))
}

/// Codes of several trays; of one the sentence itself tells.
pub(super) fn of_several(trays: &[TrayId]) -> String {
    if trays.len() > 1 { format!(" ({})", codes(trays)) } else { String::new() }
}

type Decided = Vec<(EntryId, Verdict, String)>;

/// Rules that were broken by what happened on these days.
pub(super) fn breaches(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let found: Vec<(BreachId, EntryId, String, String, Option<EntryId>)> = g.of_days(
        "SELECT b.id, b.entry_id, b.rule, b.reason, b.void_by FROM entry e CROSS JOIN breach b ON b.entry_id = e.id",
        "b.id",
        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)),
    )?;
    let mut rows = Vec::new();
    for (id, entry, rule, reason, void_by) in found {
        let decided: Decided = g
            .conn
            .prepare_cached(
                "SELECT d.entry_id, d.what, p.initials FROM breach_decision d JOIN person p ON p.id = d.person_id
                 WHERE d.breach_id = ? AND d.void_by IS NULL ORDER BY d.id",
            )?
            .query_map([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        let decided = decisions(g, decided, Verdict::shown)?;
        let trays = breach::trays(g.conn, id)?;
        let (_, happened) = g.said(entry)?;
        // the reason has a column of its own
        let happened = happened.split("; a breach, ").next().unwrap_or_default().to_string();
        let of = of_several(&trays);
        let mut row = g.row(entry, vec![said(&rule).to_string(), happened + &of, reason, decided])?;
        row.gone = g.gone(void_by)?;
        rows.push(row);
    }
    // decided on these days about what was done before them
    for mut decided in unshown(g, "decided")? {
        decided.cells = vec!["decision".into(), decided.cells.pop().unwrap_or_default(), String::new(), String::new()];
        rows.push(decided);
    }
    Ok(rows)
}

/// Entries of a kind that stand nowhere yet.
fn unshown(g: &mut Gather<'_>, kind: &str) -> Result<Vec<Row>, StoreError> {
    let new = |id: &EntryId| !g.shown.contains(id) && g.stamps.get(id).is_some_and(|(stamp, _)| stamp.kind == kind);
    let ids: Vec<EntryId> = g.ids.iter().copied().filter(new).collect();
    ids.into_iter().map(|id| g.sentence(id)).collect()
}

/// Holds by hand and by bad news, complaints, recalls and mock recalls.
pub(super) fn holds(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let found: Vec<(HoldId, EntryId, Cause, String, bool)> = g.of_days(
        "SELECT h.id, h.entry_id, h.cause, h.scope_text, coalesce(h.exercise, 0) FROM entry e CROSS JOIN hold h ON h.entry_id = e.id",
        "h.id",
        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)),
    )?;
    let mut rows = Vec::new();
    for (id, entry, cause, scope, exercise) in found {
        let decided: Decided = g
            .conn
            .prepare_cached(
                "SELECT d.entry_id, d.what, p.initials FROM hold_decision d JOIN person p ON p.id = d.person_id
                 WHERE d.hold_id = ? AND d.void_by IS NULL ORDER BY d.id",
            )?
            .query_map([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        let trays = holding::trays(g.conn, id)?;
        let of = of_several(&trays);
        let (what, decided) = if exercise {
            ("mock recall", "nothing is held by an exercise".to_string())
        } else {
            ("held", format!("decision: {}", decisions(g, decided, |what| hold::words(what, false))?))
        };
        rows.push(g.row(entry, vec![what.into(), format!("{scope}{of}: {}; {decided}", cause.shown())])?);
    }
    rows.extend(unshown(g, "hold_decided")?);
    rows.extend(g.sentences(&[
        "complaint",
        "complaint_more",
        "complaint_lots",
        "complaint_closed",
        "blanked",
        "recalled",
        "contacted",
    ])?);
    Ok(rows)
}

/// Exercises that ended in the two years up to the last of these days.
pub(super) fn exercises(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    type Found = (EntryId, String, i64, Option<i64>, i64, Option<EntryId>);
    let from = g.period.to - Duration::days(EXERCISES_D);
    let found: Vec<Found> = g
        .conn
        .prepare_cached(
            "SELECT x.entry_id, h.scope_text, x.found_pm, x.balance_pm, x.minutes, x.void_by FROM exercise x
             JOIN entry e ON e.id = x.entry_id JOIN recall r ON r.id = x.recall_id JOIN hold h ON h.id = r.hold_id
             WHERE e.day BETWEEN ? AND ? ORDER BY x.id",
        )?
        .query_map([day_sql(from.min(g.period.from)), day_sql(g.period.to)], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?))
        })?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for (entry, scope, found, balance, minutes, void_by) in found {
        let gaps = g.stamp(entry)?.1.unwrap_or_default();
        let balance = balance.map_or_else(|| "nothing to balance".into(), percent);
        let mut row = g.row(entry, vec![scope, percent(found), balance, lasting(minutes), gaps])?;
        // its gaps are its note
        row.note = None;
        row.gone = g.gone(void_by)?;
        rows.push(row);
    }
    Ok(rows)
}

/// What was put right or taken back: of these days, or on them.
pub(super) fn corrections(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let (from, to) = (day_sql(g.period.from), day_sql(g.period.to));
    let (from_s, to_s) = g.period.seconds(g.now);
    let found: Vec<(EntryId, EntryId, Option<EntryId>, Day)> = g
        .conn
        .prepare_cached(
            "SELECT c.entry_id, c.about_id, c.void_by, a.day FROM correction c JOIN entry a ON a.id = c.about_id
             JOIN entry e ON e.id = c.entry_id WHERE a.day BETWEEN ?1 AND ?2 OR e.day BETWEEN ?1 AND ?2
               OR unixepoch(e.at) >= ?3 AND unixepoch(e.at) < ?4
             UNION ALL
             SELECT u.id, a.id, NULL, a.day FROM entry u JOIN entry a ON a.id = u.undoes
             WHERE u.undoes > 0 AND (a.day BETWEEN ?1 AND ?2 OR u.day BETWEEN ?1 AND ?2
               OR unixepoch(u.at) >= ?3 AND unixepoch(u.at) < ?4) ORDER BY 1",
        )?
        .query_map(params![from, to, from_s, to_s], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let mut rows = Vec::new();
    for (entry, about, void_by, day) in found {
        let (of, before) = g.said(about)?;
        let undo = g.stamp(entry)?.0.kind == "undo";
        let (after, reason) = if undo {
            (TAKEN_BACK.to_string(), String::new())
        } else if correct::never_happened(g.conn, entry)? {
            ("it never happened".to_string(), g.stamp(entry)?.1.unwrap_or_default())
        } else {
            let (_, words) = g.said(entry)?;
            let now = words.split_once(" put right: ").map_or(words.clone(), |(_, now)| now.to_string());
            (now, g.stamp(entry)?.1.unwrap_or_default())
        };
        let mut row = g.row(entry, vec![format!("{} ({})", about.0, plain(&of.kind)), before, after, reason])?;
        row.note = None;
        // here it is whoever put it right, and when: not whose hands the entry stands for
        if let Some(stamp) = &mut row.stamp {
            (stamp.seen, stamp.who) = (stamp.typed, stamp.typed_by.clone());
            stamp.paper = false;
        }
        g.dated.entry(entry).or_insert(day);
        if row.gone.is_none() {
            row.gone = g.gone(void_by)?;
        }
        rows.push(row);
    }
    Ok(rows)
}

/// Entries of these days that were typed late.
pub(super) fn late(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let dated = g.dated.clone();
    let mut ids: Vec<EntryId> = g.ids.iter().copied().chain(dated.keys().copied()).collect();
    ids.sort_unstable();
    ids.dedup();
    let mut rows = Vec::new();
    for id in ids {
        let (mut stamp, _) = g.stamp(id)?;
        // these stand for the time of another entry, and say so themselves
        if matches!(stamp.kind.as_str(), "corrected" | "undo") {
            continue;
        }
        // a reading by hand is of its own minute, not of that of its entry
        if let Some(at) = read_at(g, id)? {
            stamp.seen = at;
        }
        let of = dated.get(&id).copied().unwrap_or(stamp.day);
        let Some(how) = stamp.late(of, g.now) else { continue };
        let (line, said) = g.said(id)?;
        let mut row = g.row(id, vec![plain(&line.kind), said, of.to_string(), how])?;
        row.stamp = Some(stamp);
        rows.push(row);
    }
    Ok(rows)
}

/// The moment of a reading by hand in a cold store.
fn read_at(g: &Gather<'_>, entry: EntryId) -> Result<Option<Instant>, StoreError> {
    let at_s: Option<i64> = g
        .conn
        .prepare_cached(
            "SELECT min(r.at_s) FROM reading_file f JOIN sensor s ON s.id = f.sensor_id AND s.by_hand
             CROSS JOIN reading r ON r.sensor_id = s.id AND r.file_id = f.id WHERE f.entry_id = ?",
        )?
        .query_row([entry], |row| row.get(0))?;
    at_s.map(crate::store::cold::instant).transpose()
}

/// Days that are over on which trays stood, and nobody looked at any.
pub(super) fn missed(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let (from, to) = (day_sql(g.period.from), day_sql(g.period.to));
    // from the day after its sowing, or after the book heard of it, until the day before it left
    let standing: Vec<(TrayId, Day)> = g
        .conn
        .prepare_cached(
            "SELECT t.id, date(CASE WHEN s.before_book THEN max(s.day, e.day) ELSE s.day END, '+1 day')
             FROM sowing_now s JOIN entry e ON e.id = s.entry_id JOIN tray t ON t.sowing_id = s.id
             WHERE s.void_by IS NULL AND s.day < ?1",
        )?
        .query_map([&to], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let left: BTreeMap<TrayId, Day> = g
        .conn
        .prepare_cached(
            "SELECT g.tray_id, e.day FROM stage g JOIN entry e ON e.id = g.entry_id
             WHERE g.void_by IS NULL AND g.stage IN ('cut', 'left_alive', 'thrown')",
        )?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    // index: look_day
    let looked: Vec<Day> = g
        .conn
        .prepare_cached(
            "SELECT DISTINCT day FROM look WHERE day BETWEEN ? AND ? AND void_by IS NULL AND skip IS NULL ORDER BY day",
        )?
        .query_map([&from, &to], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut steps: BTreeMap<Day, i64> = BTreeMap::new();
    for (tray, since) in standing {
        let until = left.get(&tray).copied();
        if until.is_none_or(|until| until > since) {
            *steps.entry(since.max(g.period.from)).or_default() += 1;
            if let Some(until) = until {
                *steps.entry(until.max(g.period.from)).or_default() -= 1;
            }
        }
    }
    let mut rows = Vec::new();
    let mut trays = 0;
    for day in g.period.days() {
        trays += steps.get(&day).copied().unwrap_or(0);
        // today is not over yet
        if trays > 0 && day < g.now.day() && looked.binary_search(&day).is_err() {
            rows.push(Row::of(None, vec![day.to_string(), trays.to_string()]));
        }
    }
    Ok(rows)
}

/// Who signed which days.
pub(super) fn signatures(g: &mut Gather<'_>) -> Result<Vec<Row>, StoreError> {
    let mut rows = Vec::new();
    for sign in g.signatures.clone() {
        let cells = vec![
            sign.period.words(),
            sign.by.clone(),
            sign.name.clone(),
            sign.upto.0.to_string(),
            sign.head.clone(),
            if sign.void_by.is_some() { String::new() } else { sign.since_words() },
        ];
        let mut row = g.row(sign.entry, cells)?;
        row.gone = g.gone(sign.void_by)?;
        rows.push(row);
    }
    Ok(rows)
}
