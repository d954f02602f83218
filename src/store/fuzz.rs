//! Fuzz checks: signs become a verdict when they are written, by the points of that time.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::breach;
use super::error::StoreError;
use super::facts::{FUZZ_POINT, FUZZ_POINTS};
use super::ids::day_sql;
use super::writer::Writer;
use crate::domain::fuzz::{Judgement, Points, Sign, Signs, Verdict, Weight, judge};
use crate::domain::id::{EntryId, TrayId};
use crate::domain::look::{Basis, Look};
use crate::domain::refusal::Refusal;
use crate::domain::time::{Day, day_number};
use crate::domain::tray::Check;

/// The signs as they are written, and what they came to.
pub(super) struct Weighed {
    pub signs: Signs,
    pub judgement: Judgement,
    pub version: i64,
}

/// Refuses signs that cannot be of one spot of one lifted tray.
pub(super) fn may_be(new: &Look) -> Result<(), StoreError> {
    if new.signs.is_empty() {
        return Ok(());
    }
    if new.trays.len() != 1 || new.basis != Basis::Tray {
        let why = "A fuzz check is of one lifted tray: check each by itself.";
        return Err(Refusal::new("signs_one_tray", why).into());
    }
    Ok(new.signs.check()?)
}

/// What the signs of a look come to on a day, with what the tray itself says; `None` where no check was made. A look that
/// puts another right counts by the points of that time (`of`).
pub(super) fn weigh(
    conn: &Connection,
    new: &Look,
    tray: TrayId,
    day: Day,
    of: Option<EntryId>,
) -> Result<Option<Weighed>, StoreError> {
    if new.signs.is_empty() {
        return Ok(None);
    }
    let (sown, since): (Day, Option<Day>) = conn
        .prepare_cached(
            "SELECT s.day, (SELECT min(day) FROM look WHERE tray_id = t.id AND fuzz = 1 AND void_by IS NULL)
             FROM tray t JOIN sowing_now s ON s.id = t.sowing_id WHERE t.id = ?",
        )?
        .query_row([tray], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let since = since.map_or(day, |since| since.min(day));
    let signs = new.signs.on_day(day_number(sown, day), day_number(sown, since));
    let points = match of {
        Some(of) => points_then(conn, of, tray)?,
        None => points(conn)?,
    };
    let judgement = judge(signs, &points)?;
    Ok(Some(Weighed { signs, judgement, version: points.version }))
}

/// A verdict with the other checks of a tray on that day: two spots that differ. Each check keeps its own in the book.
pub(super) fn with_others(conn: &Connection, tray: TrayId, day: Day, verdict: Verdict) -> Result<Verdict, StoreError> {
    let others: Vec<Verdict> = conn
        .prepare_cached(
            "SELECT verdict FROM look WHERE tray_id = ? AND day = ? AND verdict IS NOT NULL AND void_by IS NULL",
        )?
        .query_map(params![tray, day_sql(day)], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(others.into_iter().fold(verdict, Verdict::beside))
}

/// The newest points of the room, or the program's own.
pub(super) fn points(conn: &Connection) -> Result<Points, StoreError> {
    let newest = conn
        .prepare_cached("SELECT id, version FROM fuzz_points WHERE void_by IS NULL ORDER BY version DESC LIMIT 1")?
        .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    read_points(conn, newest)
}

/// The points an entry's check of a tray was judged by; the newest where it was none.
fn points_then(conn: &Connection, entry: EntryId, tray: TrayId) -> Result<Points, StoreError> {
    let version: Option<i64> = conn
        .prepare_cached("SELECT points_version FROM look WHERE entry_id = ? AND tray_id = ?")?
        .query_row(params![entry, tray], |row| row.get(0))
        .optional()?
        .flatten();
    let Some(version) = version else { return points(conn) };
    // also points that were taken back since
    let then = conn
        .prepare_cached("SELECT id, version FROM fuzz_points WHERE version = ?")?
        .query_row([version], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    read_points(conn, then)
}

/// The weights of one version; the program's own where there is none.
fn read_points(conn: &Connection, of: Option<(i64, i64)>) -> Result<Points, StoreError> {
    let mut points = Points::default();
    let Some((id, version)) = of else { return Ok(points) };
    points.version = version;
    let mut select =
        conn.prepare_cached("SELECT sign, hair, mould, rot FROM fuzz_point WHERE fuzz_points_id = ? ORDER BY n")?;
    let mut rows = select.query([id])?;
    while let Some(row) = rows.next()? {
        let weight = Weight { hair: row.get(1)?, mould: row.get(2)?, rot: row.get(3)? };
        if let Some(sign) = Sign::from_stored(&row.get::<_, String>(0)?) {
            points.set(sign, weight);
        }
    }
    Ok(points)
}

/// Other points: a new version, and what was judged before keeps its own.
pub(super) fn edit_points(w: &mut Writer<'_>, new: &Points) -> Result<Wrote, StoreError> {
    let now = points(w.conn)?;
    if new.version != now.version {
        let why = "Someone changed the points meanwhile: look at theirs and change them again.";
        return Err(Refusal::new("points_meanwhile", why).into());
    }
    if new.weights == now.weights {
        return Err(Refusal::new("no_change", "Nothing was changed.").into());
    }
    new.check()?;
    let _ = breach::decider(w.conn, w.who, "the points of fuzz")?;
    let version: i64 =
        w.conn.query_row("SELECT coalesce(max(version), 0) + 1 FROM fuzz_points", [], |row| row.get(0))?;
    let id = w.fact(FUZZ_POINTS, &[("version", &version)])?;
    for (n, sign) in (0i64..).zip(Sign::ALL) {
        let Weight { hair, mould, rot } = new.of(*sign);
        w.fact(
            FUZZ_POINT,
            &[("fuzz_points_id", &id), ("n", &n), ("sign", sign), ("hair", &hair), ("mould", &mould), ("rot", &rot)],
        )?;
    }
    Ok(Wrote::said(format!("Points of fuzz signs, version {version}: checks count by these from now on.")))
}

/// What an entry changed of the points: which sign, from what to what.
pub(super) fn points_line(conn: &Connection, entry: EntryId) -> Result<Option<String>, StoreError> {
    // index: fuzz_points_entry
    let made: Option<(i64, i64)> = conn
        .prepare_cached("SELECT id, version FROM fuzz_points WHERE entry_id = ?")?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((id, version)) = made else { return Ok(None) };
    let before: Option<(i64, i64)> = conn
        .prepare_cached(
            "SELECT id, version FROM fuzz_points WHERE version < ?1 AND (void_by IS NULL OR void_by > ?2) ORDER BY version DESC LIMIT 1",
        )?
        .query_row(params![version, entry], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let (old, new) = (read_points(conn, before)?, read_points(conn, Some((id, version)))?);
    let told = |weight: Weight| format!("hair {}, mould {}, rot {}", weight.hair, weight.mould, weight.rot);
    let changed = Sign::ALL
        .iter()
        .filter(|sign| old.of(**sign) != new.of(**sign))
        .map(|sign| format!("{} from {} to {}", sign.shown(), told(old.of(*sign)), told(new.of(*sign))));
    let changed: Vec<String> = changed.collect();
    Ok(Some(format!("points of fuzz signs, version {version}: {}", changed.join("; "))))
}

/// The newest check that named mould or rot on a tray: what is left is not for sale. Index: `look_verdict`.
pub(super) fn named(conn: &Connection, tray: TrayId) -> Result<Option<EntryId>, StoreError> {
    let checks: Vec<(EntryId, Verdict)> = conn
        .prepare_cached(
            "SELECT entry_id, verdict FROM look WHERE tray_id = ? AND verdict IS NOT NULL AND void_by IS NULL",
        )?
        .query_map([tray], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    Ok(checks.into_iter().filter(|(_, verdict)| verdict.is_bad()).map(|(entry, _)| entry).max())
}

/// Checks of a tray, the newest first, and since when it shows fuzz.
pub(super) type Past = (Vec<Check>, Option<Day>);

/// The same of every tray in the room that showed any. Index: `look_fuzz`.
pub(super) fn past(conn: &Connection) -> Result<BTreeMap<TrayId, Past>, StoreError> {
    let mut found: BTreeMap<TrayId, Past> = BTreeMap::new();
    let mut select = conn.prepare_cached(
        "SELECT l.tray_id, l.day, l.verdict, l.signs, p.initials FROM tray_now n
         CROSS JOIN look l ON l.tray_id = n.tray_id AND l.fuzz = 1 AND l.void_by IS NULL
         JOIN entry_hands h ON h.id = l.entry_id JOIN person p ON p.id = h.person_id ORDER BY l.day DESC, l.entry_id DESC",
    )?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let (checks, since) = found.entry(row.get(0)?).or_default();
        let day: Day = row.get(1)?;
        *since = Some(day);
        if let Some(verdict) = row.get::<_, Option<Verdict>>(2)? {
            checks.push(Check { day, verdict, signs: Signs(row.get(3)?), who: row.get(4)? });
        }
    }
    Ok(found)
}

/// Whether an entry holds a check of a tray.
pub(super) fn is_check(conn: &Connection, entry: EntryId, tray: TrayId) -> Result<bool, StoreError> {
    Ok(conn
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM look WHERE entry_id = ? AND tray_id = ? AND signs IS NOT NULL)")?
        .query_row(params![entry, tray], |row| row.get(0))?)
}
