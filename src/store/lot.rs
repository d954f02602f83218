//! Lots: their codes, what is there of them, and what holds them. `lot_now` is worked out anew for the touched ones.

mod read;

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, params};

use super::breach::About;
use super::error::StoreError;
use super::facts::{BREACH_LOT, LOT};
use super::ids::day_sql;
use super::writer::{Cell, Writer};
use super::{breach, hold, spell};
use crate::domain::code::Code;
use crate::domain::id::{BreachId, CropId, EntryId, LotId, ProductId, TrayId};
use crate::domain::keeping::{Left, Rates, Used, early_day};
use crate::domain::lot::{Kind, run_number};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, Instant, Now};
pub(super) use read::{account, bare, composition, counting, get, lots, lots_there, one};

/// A lot to be written: its code is made with it.
pub(super) struct New<'a> {
    pub kind: Kind,
    pub letters: &'a str,
    pub crop: Option<CropId>,
    pub product: Option<ProductId>,
    pub day: Day,
    pub cut_at: Option<Instant>,
    pub pack_g: Option<i64>,
    pub best_before: Option<Day>,
    pub instead_of: Option<LotId>,
}

/// Writes a lot under the next code of its letters and day, and says that code.
pub(super) fn write(w: &mut Writer<'_>, new: &New<'_>) -> Result<(LotId, Code), StoreError> {
    let code = next_code(w.conn, new.letters, new.day)?;
    let (body, day, best_before) = (code.body(), day_sql(new.day), new.best_before.map(day_sql));
    let cells: [Cell<'_>; 9] = [
        ("code", &body),
        ("kind", &new.kind),
        ("crop_id", &new.crop),
        ("product_id", &new.product),
        ("day", &day),
        ("cut_at", &new.cut_at),
        ("pack_g", &new.pack_g),
        ("best_before", &best_before),
        ("instead_of", &new.instead_of),
    ];
    let id = LotId(w.fact(LOT, &cells)?);
    w.touched_lots.insert(id);
    Ok((id, code))
}

/// The code after the last one of these letters and day, also of lots that were taken back: none is used twice.
fn next_code(conn: &Connection, letters: &str, day: Day) -> Result<Code, StoreError> {
    let prefix = format!("{letters}{}", day.format("%y%m%d"));
    // index: lot_code
    let runs: Vec<String> = conn
        .prepare_cached("SELECT substr(code, 10) FROM lot WHERE code > ?1 AND code < ?1 || 'a'")?
        .query_map([&prefix], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let next = runs.iter().filter_map(|run| run_number(run)).max().map_or(0, |last| last + 1);
    Code::lot(letters, day, next).ok_or_else(|| {
        let sentence = format!("No run letters are left after ZZ for {letters} on {day}: weigh more trays together.");
        Refusal::new("lot_runs", sentence).into()
    })
}

/// Lots an entry made, drew from or moved.
pub(super) fn of_entry(conn: &Connection, entry: EntryId) -> Result<BTreeSet<LotId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT id FROM lot WHERE entry_id = ?1
             UNION SELECT lot_id FROM lot_input WHERE entry_id = ?1
             UNION SELECT from_lot_id FROM lot_input WHERE entry_id = ?1 AND from_lot_id NOT NULL
             UNION SELECT lot_id FROM stock_move WHERE entry_id = ?1
             UNION SELECT lot_id FROM stay WHERE entry_id = ?1
             UNION SELECT bl.lot_id FROM breach_lot bl JOIN breach b ON b.id = bl.breach_id WHERE b.entry_id = ?1
             UNION SELECT lot_id FROM lot_use WHERE entry_id = ?1
             UNION SELECT bl.lot_id FROM breach_lot bl JOIN breach_decision d ON d.breach_id = bl.breach_id WHERE d.entry_id = ?1
             UNION SELECT i.lot_id FROM hold_item i JOIN hold_decision d ON d.hold_id = i.hold_id
               WHERE d.entry_id = ?1 AND i.lot_id NOT NULL
             UNION SELECT u.lot_id FROM hold_decision d JOIN hold_item i ON i.hold_id = d.hold_id
               JOIN lot_use u ON u.material_lot_id = i.material_lot_id AND u.void_by IS NULL WHERE d.entry_id = ?1",
        )?
        .query_map([entry], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// Works the touched lots out again, and what was made of them or of the touched trays.
pub(super) fn refresh(w: &Writer<'_>) -> Result<(), StoreError> {
    let mut lots = w.touched_lots.clone();
    for tray in &w.touched {
        lots.extend(of_tray(w.conn, *tray)?);
    }
    for lot in lots.clone() {
        lots.extend(below(w.conn, lot)?);
    }
    lots.iter().try_for_each(|lot| write_now(w.conn, *lot))
}

/// Works every lot out again; returns how many derived rows differed from what stood there.
pub(super) fn rebuild(conn: &Connection) -> Result<usize, StoreError> {
    const ALL: &str = "SELECT lot_id || '|' || grams || '|' || packs || '|' || out_packs || '|' || held FROM lot_now";
    let rows = |conn: &Connection| -> Result<BTreeSet<String>, StoreError> {
        Ok(conn.prepare(ALL)?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
    };
    let before = rows(conn)?;
    conn.execute("DELETE FROM lot_now", [])?;
    let lots: Vec<LotId> =
        conn.prepare("SELECT id FROM lot ORDER BY id")?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    lots.into_iter().try_for_each(|lot| write_now(conn, lot))?;
    Ok(rows(conn)?.symmetric_difference(&before).count())
}

fn write_now(conn: &Connection, lot: LotId) -> Result<(), StoreError> {
    conn.prepare_cached("DELETE FROM lot_now WHERE lot_id = ?")?.execute([lot])?;
    let held = held(conn, lot)?;
    conn.prepare_cached(
        "INSERT INTO lot_now (lot_id, grams, packs, out_packs, held)
         SELECT s.lot_id, s.grams, s.packs, s.out_packs, ?2 FROM lot_stock s JOIN lot l ON l.id = s.lot_id
         WHERE s.lot_id = ?1 AND l.void_by IS NULL AND (s.grams > 0 OR s.packs > 0 OR s.out_packs > 0)",
    )?
    .execute(params![lot, held])?;
    Ok(())
}

/// Whether something holds a lot: itself, its packaging, a lot it was drawn from, or a tray that was cut into one of them.
/// Indexes: `hold_item_lot`, `lot_use_lot`, `hold_item_material`, `breach_lot_lot`.
fn held(conn: &Connection, lot: LotId) -> Result<bool, StoreError> {
    for above in above(conn, lot)? {
        let by_itself: bool = conn
            .prepare_cached(
                "SELECT EXISTS (SELECT 1 FROM blocked WHERE lot_id = ?1)
                   OR EXISTS (SELECT 1 FROM lot_use u CROSS JOIN blocked b ON b.material_lot_id = u.material_lot_id
                        WHERE u.lot_id = ?1 AND u.void_by IS NULL)
                   OR EXISTS (SELECT 1 FROM breach_lot t JOIN breach b ON b.id = t.breach_id
                        WHERE t.lot_id = ?1 AND b.void_by IS NULL AND NOT EXISTS (SELECT 1 FROM breach_decision d
                          WHERE d.breach_id = b.id AND d.void_by IS NULL AND d.what = 'accepted'))",
            )?
            .query_row([above], |row| row.get(0))?;
        if by_itself {
            return Ok(true);
        }
        let trays: Vec<TrayId> = conn
            .prepare_cached("SELECT tray_id FROM lot_input WHERE lot_id = ? AND tray_id NOT NULL AND void_by IS NULL")?
            .query_map([above], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for tray in trays {
            if breach::holds(conn, tray)? || hold::holds(conn, tray)? {
                return Ok(true);
            }
        }
    }
    spell::holds(conn, lot)
}

/// A lot and everything that went into it; what had another code before is the same lot. Index: `lot_input_lot`.
pub(super) fn above(conn: &Connection, lot: LotId) -> Result<BTreeSet<LotId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE up (id) AS (SELECT ?1 UNION SELECT i.from_lot_id FROM up JOIN lot_input i ON i.lot_id = up.id
               WHERE i.from_lot_id NOT NULL AND i.void_by IS NULL
               UNION SELECT l.instead_of FROM up JOIN lot l ON l.id = up.id WHERE l.instead_of NOT NULL) SELECT id FROM up",
        )?
        .query_map([lot], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// A lot and everything that was made of it, also under another code. Indexes: `lot_input_from`, `lot_instead_of`.
pub(super) fn below(conn: &Connection, lot: LotId) -> Result<BTreeSet<LotId>, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE down (id) AS (SELECT ?1 UNION SELECT i.lot_id FROM down JOIN lot_input i
               ON i.from_lot_id = down.id WHERE i.void_by IS NULL
               UNION SELECT l.id FROM down JOIN lot l ON l.instead_of = down.id) SELECT id FROM down",
        )?
        .query_map([lot], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// The lot that stands in a lot's place now: itself, or the newest that took its code over. Index: `lot_instead_of`.
pub(super) fn newest(conn: &Connection, lot: LotId) -> Result<LotId, StoreError> {
    Ok(conn
        .prepare_cached(
            "WITH RECURSIVE next (id) AS (SELECT ?1 UNION SELECT l.id FROM next JOIN lot l ON l.instead_of = next.id)
             SELECT max(id) FROM next",
        )?
        .query_row([lot], |row| row.get(0))?)
}

/// Lots that mats of a tray were cut into. Index: `lot_input_of_tray`.
pub(super) fn of_tray(conn: &Connection, tray: TrayId) -> Result<Vec<LotId>, StoreError> {
    Ok(conn
        .prepare_cached("SELECT DISTINCT lot_id FROM lot_input WHERE tray_id = ? AND void_by IS NULL ORDER BY lot_id")?
        .query_map([tray], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// The newest breach or hold that holds a lot, for the rule that speaks of it.
pub(super) const HELD_LOT: &str = "SELECT max(entry) FROM (
      SELECT b.entry_id AS entry FROM breach_lot t JOIN breach b ON b.id = t.breach_id
      WHERE t.lot_id = ?1 AND b.void_by IS NULL
      UNION ALL SELECT h.entry_id FROM blocked k JOIN hold h ON h.id = k.hold_id WHERE k.lot_id = ?1)";

/// Refuses what is to be done with a lot that is held or past its last day, or notes it as a breach that holds the lot.
pub(super) fn may_go(w: &mut Writer<'_>, lot: LotId, doing: Doing) -> Result<(), StoreError> {
    let known: Option<(String, Option<Day>, bool)> = w
        .conn
        .prepare_cached(
            "SELECT l.code, l.best_before, coalesce(n.held, 0) FROM lot l LEFT JOIN lot_now n ON n.lot_id = l.id
             WHERE l.id = ? AND l.void_by IS NULL",
        )?
        .query_row([lot], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .optional()?;
    let Some((body, best_before, held)) = known else { return Err(unknown()) };
    let code = shown(&body)?;
    let mut against = |refusal: Refusal, about: Option<About>| -> Result<(), StoreError> {
        let breach = breach::against(w, refusal.at("lots"), about)?;
        hold_lot(w, breach, lot)
    };
    if held {
        let why = format!("{code} is held: {} until the hold is lifted.", doing.barred());
        against(Refusal::new(doing.held(), why), Some((HELD_LOT, lot.0)))?;
    }
    let day = best_before.filter(|last| *last < w.day());
    let mut against = |refusal: Refusal| -> Result<(), StoreError> {
        let breach = breach::against(w, refusal.at("lots"), None)?;
        hold_lot(w, breach, lot)
    };
    if let Some(last) = day {
        let why = format!("{code} was best before {last}: {} any more. Bin it, or keep a sample.", doing.barred());
        against(Refusal::new(doing.past(), why))?;
    }
    Ok(())
}

/// What is to be done with a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doing {
    Pack,
    GiveOut,
}

impl Doing {
    fn barred(self) -> &'static str {
        match self {
            Self::Pack => "it is not packed",
            Self::GiveOut => "it is not given out",
        }
    }

    fn held(self) -> &'static str {
        match self {
            Self::Pack => "pack_held",
            Self::GiveOut => "deliver_held",
        }
    }

    fn past(self) -> &'static str {
        match self {
            Self::Pack => "pack_past",
            Self::GiveOut => "deliver_past",
        }
    }
}

/// Holds a lot because of a breach of this entry.
pub(super) fn hold_lot(w: &mut Writer<'_>, breach: BreachId, lot: LotId) -> Result<(), StoreError> {
    let known: bool = w
        .conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM breach_lot WHERE breach_id = ? AND lot_id = ?)")?
        .query_row((breach, lot), |row| row.get(0))?;
    if !known {
        w.fact(BREACH_LOT, &[("breach_id", &breach), ("lot_id", &lot)])?;
    }
    w.touched_lots.insert(lot);
    Ok(())
}

pub(super) fn unknown() -> StoreError {
    Refusal::new("lot_unknown", "The book has no such lot, or it was taken back: look at its label again.")
        .at("lots")
        .into()
}

/// A code as it stands in the book, as it is shown.
pub(super) fn shown(body: &str) -> Result<String, StoreError> {
    Code::of_lot(body).map(|code| code.shown()).ok_or_else(|| StoreError::unreadable("a lot code", body))
}

/// A lot's code as it is shown.
pub(super) fn code(conn: &Connection, lot: LotId) -> Result<String, StoreError> {
    let body: Option<String> =
        conn.prepare_cached("SELECT code FROM lot WHERE id = ?")?.query_row([lot], |row| row.get(0)).optional()?;
    shown(&body.ok_or_else(unknown)?)
}

/// The last day greens of a crop are sold that were cut at a moment: the early end of how long they keep at the temperature they
/// have after they leave us, and never later than the grower's own limit.
pub(super) fn limit(conn: &Connection, crop: CropId, cut: Now) -> Result<Option<Day>, StoreError> {
    let (chilling, most_d): (bool, Option<i64>) = conn
        .prepare_cached("SELECT chilling, most_d FROM crop WHERE id = ?")?
        .query_row([crop], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let after_dc = super::sender::read(conn)?.0.after_dc;
    let early = Rates::of(&super::crop::anchors_of(conn, crop)?, chilling)
        .and_then(|rates| early_day(&Left::of(Used::default(), &rates, after_dc, crop), cut));
    let own = most_d.map(|days| cut.day() + chrono::Duration::days(days));
    Ok(early.into_iter().chain(own).min())
}
