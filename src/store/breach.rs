//! Breaches: rules that were broken before anyone asked, what they hold, and what was decided about them.

use rusqlite::{Connection, OptionalExtension};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{BREACH, BREACH_DECISION, BREACH_TRAY};
use super::writer::Writer;
use super::{hold, room};
use crate::domain::breach::{Breach, Verdict, gravity, held, overridable, phrase, said};
use crate::domain::correction::Sown;
use crate::domain::id::{BreachId, EntryId, LotId, PersonId, SeedLotId, TrayId};
use crate::domain::refusal::Refusal;
use crate::domain::seed_lot::SeedLot;

/// The breaches an entry notes, and why the rules were broken.
pub(super) struct Already {
    reason: String,
    noted: Vec<(&'static str, BreachId)>,
}

impl Already {
    /// Refuses a breach without a reason.
    pub(super) fn because(reason: &str) -> Result<Self, StoreError> {
        let reason = reason.trim().to_string();
        if reason.is_empty() {
            let why = "Say in a sentence why it was done against the rule.";
            return Err(Refusal::new("breach_reason", why).at("reason").into());
        }
        Ok(Self { reason, noted: Vec::new() })
    }
}

/// Which entry a rule speaks of: a query for the newest, and its key.
pub(super) type About = (&'static str, i64);

/// The newest look that showed fuzz on a tray.
pub(super) const FUZZ_SEEN: &str = "SELECT max(entry_id) FROM look WHERE tray_id = ? AND fuzz AND void_by IS NULL";
/// The newest breach or hold that holds a tray.
pub(super) const HELD_BY: &str = "SELECT max(entry) FROM (
      SELECT b.entry_id AS entry FROM breach_tray t JOIN breach b ON b.id = t.breach_id
      WHERE t.tray_id = ?1 AND b.void_by IS NULL
      UNION ALL SELECT h.entry_id FROM blocked k JOIN hold h ON h.id = k.hold_id WHERE k.tray_id = ?1)";
/// The newest treatment of a tray.
pub(super) const TREATED_BY: &str =
    "SELECT max(m.entry_id) FROM treatment_tray t JOIN treatment m ON m.id = t.treatment_id
    WHERE t.tray_id = ? AND m.void_by IS NULL AND m.wait_h > 0";
/// The delivery of a seed lot.
pub(super) const RECEIVED_BY: &str = "SELECT entry_id FROM seed_lot WHERE id = ?";

/// A rule stands in the way: refused beforehand; of what has happened noted as a breach, one for each rule and entry.
/// The caller says with [`hold`] what it holds.
pub(super) fn against(w: &mut Writer<'_>, refusal: Refusal, about: Option<About>) -> Result<BreachId, StoreError> {
    let rule = refusal.rule;
    let Some(already) = w.already.as_ref().filter(|_| overridable(rule)) else { return Err(refusal.into()) };
    if let Some((_, noted)) = already.noted.iter().find(|(name, _)| *name == rule) {
        return Ok(*noted);
    }
    let reason = already.reason.clone();
    let about: Option<EntryId> = match about {
        Some((query, key)) => w.conn.prepare_cached(query)?.query_row([key], |row| row.get(0)).optional()?.flatten(),
        None => None,
    };
    let id = BreachId(w.fact(BREACH, &[("rule", &rule), ("about_entry", &about), ("reason", &reason)])?);
    if let Some(already) = &mut w.already {
        already.noted.push((rule, id));
    }
    Ok(id)
}

/// The rules that the seed of a batch put right speaks against: a lot that was not named before, or more of one.
pub(super) fn against_seed(
    w: &mut Writer<'_>,
    lots: &[SeedLot],
    old: &Sown,
    seed: &[(SeedLotId, i64)],
) -> Result<Vec<BreachId>, StoreError> {
    let units = room::units(w.conn)?;
    let mut broken = Vec::new();
    for (id, mg) in seed {
        let Some(lot) = lots.iter().find(|lot| lot.id == *id) else { continue };
        let before = old.seed.iter().find(|(lot, _)| lot == id).map(|(_, mg)| *mg);
        let about = Some((RECEIVED_BY, id.0));
        if let Some(bar) = lot.treated.bar().filter(|_| before.is_none()) {
            let refusal = Refusal::new("seed_treated", format!("{} is not sown: {bar}.", lot.code)).at("lot");
            broken.push(against(w, refusal, about)?);
        }
        // what was in it already stays there: its trays are held with it
        if lot.held && before.is_none() {
            broken.push(against(w, hold::held_seed(&lot.code).at("lot"), Some((hold::SEED, id.0)))?);
        }
        let had = lot.left_mg + before.unwrap_or(0);
        if before.is_none_or(|before| *mg > before) && *mg > had {
            let (had, wanted) = (units.weight(had), units.weight(*mg));
            let why = format!("{} held {had} and {wanted} are wanted: take less, or count the jar.", lot.code);
            broken.push(against(w, Refusal::new("seed_below_zero", why).at("grams"), about)?);
        }
    }
    Ok(broken)
}

/// Holds trays because of a breach of this entry.
pub(super) fn hold(w: &mut Writer<'_>, breach: BreachId, trays: &[TrayId]) -> Result<(), StoreError> {
    for tray in trays {
        let known: bool = w
            .conn
            .prepare_cached("SELECT EXISTS (SELECT 1 FROM breach_tray WHERE breach_id = ? AND tray_id = ?)")?
            .query_row((breach, tray), |row| row.get(0))?;
        if !known {
            w.fact(BREACH_TRAY, &[("breach_id", &breach), ("tray_id", tray)])?;
            w.touched.insert(*tray);
        }
    }
    Ok(())
}

/// What the entry says of its breaches; without any, the reason becomes its note.
pub(super) fn told(w: &mut Writer<'_>, sentence: &str) -> Result<String, StoreError> {
    let Some(already) = &w.already else { return Ok(sentence.to_string()) };
    if already.noted.is_empty() {
        let reason = already.reason.clone();
        let noted: bool = w
            .conn
            .prepare_cached("SELECT EXISTS (SELECT 1 FROM entry_note WHERE entry_id = ?)")?
            .query_row([w.entry], |row| row.get(0))?;
        // a correction has its reason already
        if !noted {
            w.note(Some(&reason))?;
        }
        return Ok(format!("{sentence} No rule was broken: it is an entry like any other."));
    }
    let broken = phrase(already.noted.iter().map(|(rule, _)| *rule));
    Ok(format!("{sentence} A breach, {broken}: held until someone who may decide has decided."))
}

/// Initials of a person, and whether they may decide.
pub(super) fn known_person(conn: &Connection, id: PersonId) -> Result<(String, bool), StoreError> {
    conn.prepare_cached("SELECT initials, may_decide AND NOT retired FROM person WHERE id = ?")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?
        .ok_or_else(|| Refusal::new("person_unknown", "Say who decides.").at("by").into())
}

/// Initials of a person who may decide about something.
pub(super) fn decider(conn: &Connection, id: PersonId, about: &str) -> Result<String, StoreError> {
    let (initials, may) = known_person(conn, id)?;
    if may {
        return Ok(initials);
    }
    let sentence = format!("{initials} may not decide about {about}: ask someone who may.");
    Err(Refusal::new("may_not_decide", sentence).at("by").into())
}

/// What a decision rests on; none is made without a word.
pub(super) fn grounds(reason: &str) -> Result<&str, StoreError> {
    let reason = reason.trim();
    if reason.is_empty() {
        let why = "Say in a sentence what the decision rests on.";
        return Err(Refusal::new("decision_reason", why).at("reason").into());
    }
    Ok(reason)
}

/// Someone who may decide says what becomes of a breach.
pub(super) fn decide(
    w: &mut Writer<'_>,
    breach: BreachId,
    what: Verdict,
    by: PersonId,
    reason: &str,
) -> Result<Wrote, StoreError> {
    let known: Option<(String, EntryId, bool)> = w
        .conn
        .prepare_cached(
            "SELECT rule, entry_id, EXISTS (SELECT 1 FROM breach_decision d WHERE d.breach_id = b.id
               AND d.void_by IS NULL AND d.what <> 'watch')
             FROM breach b WHERE id = ? AND void_by IS NULL",
        )?
        .query_row([breach], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let rule = match known {
        Some((rule, _, false)) => rule,
        Some((_, entry, true)) => {
            let sentence = format!("The breach of entry {} is decided already: its story says how.", entry.0);
            return Err(Refusal::new("breach_decided", sentence).into());
        }
        None => return Err(Refusal::new("breach_unknown", "This breach was taken back: nothing is to decide.").into()),
    };
    let initials = decider(w.conn, by, "a breach")?;
    let reason = grounds(reason)?;
    w.fact(BREACH_DECISION, &[("breach_id", &breach), ("what", &what), ("person_id", &by)])?;
    w.note(Some(reason))?;
    let trays = trays(w.conn, breach)?;
    w.touched.extend(trays.iter().copied());
    w.touched_lots.extend(lots(w.conn, breach)?);
    let sentence = format!("{initials} decided, {}: {}; {}.", said(&rule), what.shown(), what.follows());
    Ok(Wrote { sentence, made: None, trays })
}

pub(super) fn trays(conn: &Connection, breach: BreachId) -> Result<Vec<TrayId>, StoreError> {
    let trays = conn
        .prepare_cached("SELECT tray_id FROM breach_tray WHERE breach_id = ? ORDER BY tray_id")?
        .query_map([breach], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(trays)
}

/// Lots that a breach holds by themselves.
pub(super) fn lots(conn: &Connection, breach: BreachId) -> Result<Vec<LotId>, StoreError> {
    let lots = conn
        .prepare_cached("SELECT lot_id FROM breach_lot WHERE breach_id = ? ORDER BY lot_id")?
        .query_map([breach], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(lots)
}

/// Whether a breach holds a tray that nobody has accepted. Indexes: `breach_tray_tray`, `breach_decision_breach`.
pub(super) fn holds(conn: &Connection, tray: TrayId) -> Result<bool, StoreError> {
    let held = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM breach_tray t JOIN breach b ON b.id = t.breach_id
             WHERE t.tray_id = ? AND b.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM breach_decision d
               WHERE d.breach_id = b.id AND d.void_by IS NULL AND d.what = 'accepted'))",
        )?
        .query_row([tray], |row| row.get(0))?;
    Ok(held)
}

/// Breaches without a decision, or put off, the gravest first and then the oldest.
pub(super) fn open(conn: &Connection) -> Result<Vec<Breach>, StoreError> {
    let mut breaches: Vec<Breach> = conn
        .prepare_cached(
            "SELECT b.id, b.rule, b.reason, b.entry_id, e.at, p.initials, b.about_entry,
                    EXISTS (SELECT 1 FROM breach_decision d WHERE d.breach_id = b.id AND d.void_by IS NULL)
             FROM breach b JOIN entry e ON e.id = b.entry_id JOIN person p ON p.id = (SELECT person_id FROM entry_hands WHERE id = e.id)
             WHERE b.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM breach_decision d
               WHERE d.breach_id = b.id AND d.void_by IS NULL AND d.what <> 'watch') ORDER BY b.id",
        )?
        .query_map([], |row| {
            Ok(Breach {
                id: row.get(0)?,
                rule: row.get(1)?,
                reason: row.get(2)?,
                entry: row.get(3)?,
                at: row.get(4)?,
                who: row.get(5)?,
                about: row.get(6)?,
                trays: Vec::new(),
                lots: Vec::new(),
                watched: row.get(7)?,
            })
        })?
        .collect::<Result<_, _>>()?;
    for breach in &mut breaches {
        breach.trays = trays(conn, breach.id)?;
        breach.lots = hold::lots_of(conn, &lots(conn, breach.id)?, &breach.trays)?;
    }
    breaches.sort_by_key(|breach| gravity(&breach.rule));
    Ok(breaches)
}

/// What an entry says of the rules it broke; empty if it broke none.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let broken: Vec<(String, String)> = conn
        .prepare_cached("SELECT rule, reason FROM breach WHERE entry_id = ? ORDER BY id")?
        .query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    Ok(match broken.first() {
        Some((_, reason)) => {
            format!("; a breach, {}. Reason: {reason}", phrase(broken.iter().map(|(rule, _)| rule.as_str())))
        }
        None => String::new(),
    })
}

/// What an entry decided.
pub(super) fn decided(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (breach, what, by, rule, of): (BreachId, Verdict, String, String, EntryId) = conn
        .prepare_cached(
            "SELECT b.id, d.what, p.initials, b.rule, b.entry_id FROM breach_decision d
             JOIN breach b ON b.id = d.breach_id JOIN person p ON p.id = d.person_id WHERE d.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let held = held(trays(conn, breach)?.len(), lots(conn, breach)?.len());
    Ok(format!("{by} decided about {held} of entry {}, {}: {}; {}", of.0, said(&rule), what.shown(), what.follows()))
}
