//! Germination tests: begun, counted, ended. None of their seed is taken from the jar.

use rusqlite::{Connection, OptionalExtension, Row};

use super::act::Wrote;
use super::error::StoreError;
use super::facts::{GERM_COUNT, GERM_END, GERM_TEST};
use super::ids::day_sql;
use super::room;
use super::writer::Writer;
use crate::domain::germ_test::{Bad, Counted, DayCount, GermEnd, GermTest, NewGermTest};
use crate::domain::id::{EntryId, GermTestId, SeedLotId};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

pub(super) fn begin(w: &mut Writer<'_>, new: &NewGermTest) -> Result<Wrote, StoreError> {
    new.check(w.now.day()).map_err(refuse)?;
    let lot: Option<(String, Day)> = w
        .conn
        .prepare_cached("SELECT code, received FROM seed_lot WHERE id = ? AND void_by IS NULL")?
        .query_row([new.lot], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((code, received)) = lot else {
        return Err(Refusal::new("seed_lot_unknown", "This seed lot is not in the book: choose another.").into());
    };
    if new.day < received {
        let why = format!("{code} came only on {received}: a test of it was laid out that day or later.");
        return Err(Refusal::new("germ_day", why).at("day").into());
    }
    let id = w.fact(
        GERM_TEST,
        &[
            ("seed_lot_id", &new.lot),
            ("day", &day_sql(new.day)),
            ("replicates", &new.replicates),
            ("seeds", &new.seeds),
            ("temp_dc", &new.temp_dc),
        ],
    )?;
    let test = add(w, find(w.conn, GermTestId(id))?, &new.counts, new.end)?;
    Ok(Wrote::said(format!("{code}: {}; {}{}.", test.words(), test.result(), next(&test))).made(id))
}

pub(super) fn count(
    w: &mut Writer<'_>,
    test: GermTestId,
    counts: &[DayCount],
    end: Option<GermEnd>,
) -> Result<Wrote, StoreError> {
    if counts.is_empty() {
        return Err(Refusal::new("germ_nothing", "Give what was counted on at least one day, 0 for none.")
            .at("counts")
            .into());
    }
    let test = find(w.conn, test)?;
    let test = add(w, test, counts, end)?;
    said(w.conn, &test)
}

pub(super) fn end(w: &mut Writer<'_>, test: GermTestId, end: &GermEnd) -> Result<Wrote, StoreError> {
    let test = find(w.conn, test)?;
    let test = add(w, test, &[], Some(*end))?;
    said(w.conn, &test)
}

fn said(conn: &Connection, test: &GermTest) -> Result<Wrote, StoreError> {
    let code = code(conn, test.lot)?;
    Ok(Wrote::said(format!("{code}: {}{}.", test.result(), next(test))).made(test.id.0))
}

/// What is to be done with it.
fn next(test: &GermTest) -> &'static str {
    if test.end.is_some() {
        "; the test is ended, g on the shelf shows it"
    } else {
        "; count again with g on the shelf"
    }
}

fn refuse((rule, field, why): Bad) -> Refusal {
    Refusal::new(rule, why).at(field)
}

/// Writes counts, and the end if it is one; what the test is then.
fn add(w: &mut Writer<'_>, test: GermTest, counts: &[DayCount], end: Option<GermEnd>) -> Result<GermTest, StoreError> {
    let today = w.now.day();
    if !counts.is_empty() {
        test.check_counts(counts, today).map_err(refuse)?;
    }
    let id = test.id;
    for count in counts {
        for (replicate, normal) in (1i64..).zip(&count.normal) {
            let day = day_sql(count.day);
            let cells: [super::writer::Cell<'_>; 4] =
                [("germ_test_id", &id), ("replicate", &replicate), ("day", &day), ("normal", normal)];
            w.fact(GERM_COUNT, &cells)?;
        }
    }
    let test = test.with(counts, None);
    let Some(end) = end else { return Ok(test) };
    test.check_end(&end, today).map_err(refuse)?;
    let day = day_sql(end.day);
    let cells: [super::writer::Cell<'_>; 5] =
        [("germ_test_id", &id), ("day", &day), ("abnormal", &end.abnormal), ("hard", &end.hard), ("dead", &end.dead)];
    w.fact(GERM_END, &cells)?;
    Ok(test.with(&[], Some(end)))
}

const SELECT: &str =
    "SELECT t.id, t.seed_lot_id, t.day, t.replicates, t.seeds, t.temp_dc, n.day, n.abnormal, n.hard, n.dead
    FROM germ_test t LEFT JOIN germ_end n ON n.germ_test_id = t.id AND n.void_by IS NULL WHERE t.void_by IS NULL";

const COUNTS: &str = "SELECT germ_test_id, replicate, day, normal FROM germ_count WHERE void_by IS NULL";

fn read(row: &Row<'_>) -> rusqlite::Result<GermTest> {
    let ended: Option<Day> = row.get(6)?;
    let end = match ended {
        Some(day) => Some(GermEnd { day, abnormal: row.get(7)?, hard: row.get(8)?, dead: row.get(9)? }),
        None => None,
    };
    Ok(GermTest {
        id: row.get(0)?,
        lot: row.get(1)?,
        day: row.get(2)?,
        replicates: row.get(3)?,
        seeds: row.get(4)?,
        temp_dc: row.get(5)?,
        counts: vec![],
        end,
    })
}

fn counted(row: &Row<'_>) -> rusqlite::Result<(GermTestId, Counted)> {
    Ok((row.get(0)?, Counted { replicate: row.get(1)?, day: row.get(2)?, normal: row.get(3)? }))
}

/// A test that counts. Index: `germ_count_test`.
fn find(conn: &Connection, id: GermTestId) -> Result<GermTest, StoreError> {
    let test = conn.prepare_cached(&format!("{SELECT} AND t.id = ?"))?.query_row([id], read).optional()?;
    let Some(mut test) = test else {
        return Err(Refusal::new("germ_unknown", "This germination test was taken back: open the list again.").into());
    };
    let text = format!("{COUNTS} AND germ_test_id = ? ORDER BY day, replicate, id");
    let counts: Vec<(GermTestId, Counted)> =
        conn.prepare_cached(&text)?.query_map([id], counted)?.collect::<Result<_, _>>()?;
    test.counts = counts.into_iter().map(|(_, count)| count).collect();
    Ok(test)
}

/// All of them, the newest first: some tens a year. Two statements, whatever there is.
pub(super) fn all(conn: &Connection) -> Result<Vec<GermTest>, StoreError> {
    Ok(filled(
        conn.prepare_cached(&format!("{SELECT} ORDER BY t.day DESC, t.id DESC"))?
            .query_map([], read)?
            .collect::<Result<_, _>>()?,
        conn.prepare_cached(&format!("{COUNTS} ORDER BY day, replicate, id"))?
            .query_map([], counted)?
            .collect::<Result<_, _>>()?,
    ))
}

/// Those of a lot. Indexes: `germ_test_lot`, `germ_count_test`.
pub(super) fn of_lot(conn: &Connection, lot: SeedLotId) -> Result<Vec<GermTest>, StoreError> {
    Ok(filled(
        conn.prepare_cached(&format!("{SELECT} AND t.seed_lot_id = ? ORDER BY t.day DESC, t.id DESC"))?
            .query_map([lot], read)?
            .collect::<Result<_, _>>()?,
        conn.prepare_cached(&format!(
            "{COUNTS} AND germ_test_id IN (SELECT id FROM germ_test WHERE seed_lot_id = ?) ORDER BY day, replicate, id"
        ))?
        .query_map([lot], counted)?
        .collect::<Result<_, _>>()?,
    ))
}

fn filled(mut tests: Vec<GermTest>, counts: Vec<(GermTestId, Counted)>) -> Vec<GermTest> {
    let mut of: std::collections::BTreeMap<GermTestId, Vec<Counted>> = std::collections::BTreeMap::new();
    for (test, count) in counts {
        of.entry(test).or_default().push(count);
    }
    for test in &mut tests {
        test.counts = of.remove(&test.id).unwrap_or_default();
    }
    tests
}

fn code(conn: &Connection, lot: SeedLotId) -> Result<String, StoreError> {
    Ok(conn.prepare_cached("SELECT code FROM seed_lot WHERE id = ?")?.query_row([lot], |row| row.get(0))?)
}

/// What an entry says of a test, whether it still counts or not. Indexes: `germ_test_entry`, `germ_count_entry`, `germ_end_entry`.
pub(super) fn line(conn: &Connection, id: EntryId) -> Result<String, StoreError> {
    let of: SeedLotId = conn
        .prepare_cached(
            "SELECT seed_lot_id FROM germ_test WHERE entry_id = ?1
             UNION ALL SELECT t.seed_lot_id FROM germ_count c JOIN germ_test t ON t.id = c.germ_test_id WHERE c.entry_id = ?1
             UNION ALL SELECT t.seed_lot_id FROM germ_end n JOIN germ_test t ON t.id = n.germ_test_id WHERE n.entry_id = ?1
             LIMIT 1",
        )?
        .query_row([id], |row| row.get(0))?;
    let mut words = Vec::new();
    let begun: Option<(Day, i64, i64, Option<i64>)> = conn
        .prepare_cached("SELECT day, replicates, seeds, temp_dc FROM germ_test WHERE entry_id = ?")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    if let Some((day, replicates, seeds, temp)) = begun {
        let units = room::units(conn)?;
        let at = temp.map_or_else(String::new, |dc| format!(" at {}", units.temperature(dc)));
        words.push(format!("{replicates} x {seeds} seeds laid out {day}{at}"));
    }
    let counts: Vec<(Day, String)> = conn
        .prepare_cached(
            "SELECT day, group_concat(normal, ', ') FROM (SELECT day, normal FROM germ_count WHERE entry_id = ? ORDER BY day, replicate)
             GROUP BY day ORDER BY day",
        )?
        .query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    words.extend(counts.into_iter().map(|(day, normal)| format!("normal seedlings on {day}: {normal}")));
    let ended: Option<[Option<i64>; 3]> = conn
        .prepare_cached("SELECT abnormal, hard, dead FROM germ_end WHERE entry_id = ?")?
        .query_row([id], |row| Ok([row.get(0)?, row.get(1)?, row.get(2)?]))
        .optional()?;
    if let Some(rest) = ended {
        let told = ["abnormal", "hard", "dead"].into_iter().zip(rest);
        let told: Vec<String> = told.filter_map(|(word, n)| Some(format!("{} {word}", n?))).collect();
        words.push(if told.is_empty() { "ended".into() } else { format!("ended, {}", told.join(", ")) });
    }
    Ok(format!("germination test of {}: {}", code(conn, of)?, words.join("; ")))
}
