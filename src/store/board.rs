//! Read models of the screens: one query each, from the derived rows.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Slot;

use rusqlite::Connection;

use super::Store;
use super::crop::Plans;
use super::error::StoreError;
use super::{
    bands, breach, check, cleaning, copy, correct, crop, fuzz, history, hold, lot, mix, person, recipe, review,
    revision, room, seed_lot, sender, soak, stock, suspect, timeline, treatment, walk, water, week, whereabouts,
};
use crate::domain::board::{Board, CropName};
use crate::domain::correction::Entry;
use crate::domain::crop::Crop;
use crate::domain::forecast::Forecast;
use crate::domain::fuzz::{Signs, Verdict};
use crate::domain::harvest::usual_dg;
use crate::domain::history::{EntryLine, Of, Record};
use crate::domain::id::{EntryId, SowingId, WalkId};
use crate::domain::look::{Faults, Mist};
use crate::domain::mix::Mix;
use crate::domain::room::Units;
use crate::domain::seed_lot::SeedLot;
use crate::domain::shelf_life::{Kind, RunsOut};
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::timeline::Timeline;
use crate::domain::tray::{LastLook, TrayCard};
use crate::domain::walk::Walk;
use crate::domain::whereabouts::Missing;

impl Store {
    /// Whether no room was set up yet.
    pub fn is_empty(&self) -> Result<bool, StoreError> {
        room::is_empty(&self.conn)
    }

    /// The home screen: room, racks, people and every tray standing.
    pub fn board(&self) -> Result<Board, StoreError> {
        read(&self.conn)
    }

    /// An entry with what can be put right about it.
    pub fn entry(&self, id: EntryId) -> Result<Entry, StoreError> {
        correct::read(&self.conn, id)
    }

    /// Seed lots in the order of use.
    pub fn seed_lots(&self) -> Result<Vec<SeedLot>, StoreError> {
        seed_lot::lots(&self.conn)
    }

    /// Crops with their plans, those in use first.
    pub fn crops(&self) -> Result<Vec<Crop>, StoreError> {
        crop::all(&self.conn)
    }

    /// A batch day by day.
    pub fn timeline(&self, sowing: SowingId) -> Result<Timeline, StoreError> {
        timeline::read(&self.conn, sowing)
    }

    /// A walk as far as it got.
    pub fn walk(&self, id: WalkId) -> Result<Walk, StoreError> {
        walk::read(&self.conn, id)
    }

    /// The newest walk by the screen begun on a day.
    pub fn newest_walk(&self, day: Day) -> Result<Option<Walk>, StoreError> {
        walk::newest(&self.conn, day)
    }

    /// The paper sheet typed in last, whatever its day.
    pub fn newest_sheet(&self) -> Result<Option<Walk>, StoreError> {
        walk::newest_sheet(&self.conn)
    }

    /// Initials of whoever changed an editable record last.
    pub fn last_hands(&self, kind: Record, id: i64) -> Result<Option<String>, StoreError> {
        revision::last_hands(&self.conn, kind, id)
    }

    /// Entries about something, newest first, older than `before`.
    pub fn history(&self, of: Of, before: Option<EntryId>, most: u32) -> Result<Vec<EntryLine>, StoreError> {
        history::entries(&self.conn, of, before, most)
    }
}

/// The home screen's read model.
pub(super) fn read(conn: &Connection) -> Result<Board, StoreError> {
    let crops = conn
        .prepare_cached("SELECT id, letters, name FROM crop WHERE NOT retired ORDER BY name")?
        .query_map([], |row| Ok(CropName { id: row.get(0)?, letters: row.get(1)?, name: row.get(2)? }))?
        .collect::<Result<_, _>>()?;
    let (mut trays, mut missing) = trays(conn)?;
    let mut cards: Vec<&mut TrayCard> =
        trays.iter_mut().chain(missing.iter_mut().map(|missing| &mut missing.tray)).collect();
    let suspects = suspect::read(conn, &mut cards)?;
    let units = room::setting(conn, "units")?.and_then(|word| Units::from_stored(&word));
    let (bands, bands_rev) = bands::read(conn)?;
    let (sender, sender_rev) = sender::read(conn)?;
    let (currency, currency_rev) = week::currency(conn)?;
    let mixes = mix::all(conn)?;
    let runs_out = runs_out(conn, &trays, &mixes, units.unwrap_or(Units::Metric))?;
    Ok(Board {
        room_name: room::setting(conn, "room_name")?.unwrap_or_default(),
        room_code: room::setting(conn, "room_code")?.unwrap_or_default(),
        units,
        racks: room::racks(conn, true)?,
        idle: room::racks(conn, false)?,
        people: person::all(conn)?,
        formats: room::formats(conn)?,
        crops,
        trays,
        missing,
        suspects,
        runs_out,
        breaches: breach::open(conn)?,
        holds: hold::open(conn)?,
        checks: check::kinds(conn)?,
        to_clean: cleaning::to_clean(conn)?,
        recipes: recipe::all(conn)?,
        materials: recipe::materials(conn)?,
        mixes,
        keep_out: treatment::keep_out(conn)?,
        soaks: soak::recent(conn)?,
        water_sources: water::sources(conn)?,
        bands,
        bands_rev,
        sender,
        sender_rev,
        currency,
        currency_rev,
        fuzz_points: fuzz::points(conn)?,
        second_copy: room::setting(conn, copy::SETTING)?,
        walked: walk::days(conn)?,
        signed: review::signed(conn)?,
        room_rev: revision::room(conn)?,
        place_revs: revision::places(conn)?,
    })
}

/// Every tray standing as one walks, those of a stack from the top, and every tray missing.
fn trays(conn: &Connection) -> Result<(Vec<TrayCard>, Vec<Missing>), StoreError> {
    let mut plans = Plans::default();
    let mut past = fuzz::past(conn)?;
    let mut treated = treatment::of_trays(conn)?;
    let mut forecasts: BTreeMap<SowingId, Option<Forecast>> = BTreeMap::new();
    // CROSS JOIN: from the few trays that stand to their rows, never through all trays there ever were
    let mut select = conn.prepare_cached(
        "SELECT n.tray_id, s.id, s.code, c.id, c.letters, c.name, c.roots_hidden, c.hairs_expected, s.day, s.grow_plan_id,
                n.stage, p.id, r.id, r.name, r.sort, p.shelf, p.pos, z.kind, p.stack, n.mats_left, n.watered_on, n.suspect, n.bad,
                n.wait_until, n.held, l.day, l.basis, l.roots, l.stand, l.mist, l.faults, w.initials, b.day, n.place_id IS NULL,
                l.signs, l.extent, l.verdict, c.yield_g, f.length_mm, f.width_mm, t.mats
         FROM tray_now n
         CROSS JOIN tray t ON t.id = n.tray_id JOIN sowing_now s ON s.id = t.sowing_id JOIN crop c ON c.id = s.crop_id
         JOIN entry b ON b.id = s.entry_id JOIN tray_format f ON f.id = t.format_id
         JOIN place p ON p.id = coalesce(n.place_id, (SELECT x.place_id FROM placement x
           WHERE x.tray_id = n.tray_id AND x.void_by IS NULL AND x.place_id IS NOT NULL ORDER BY x.id DESC LIMIT 1))
         JOIN rack r ON r.id = p.rack_id JOIN zone z ON z.id = p.zone_id
         LEFT JOIN look l ON l.entry_id = n.last_entry AND l.tray_id = n.tray_id
         LEFT JOIN person w ON w.id = (SELECT person_id FROM entry_hands WHERE id = n.last_entry)
         ORDER BY r.sort, r.id, p.shelf, p.pos, n.layer DESC",
    )?;
    let mut rows = select.query([])?;
    let (mut trays, mut missing): (Vec<TrayCard>, Vec<Missing>) = (Vec::new(), Vec::new());
    while let Some(row) = rows.next()? {
        let looked: Option<Day> = row.get(25)?;
        let mut last = looked
            .map(|day| -> rusqlite::Result<LastLook> {
                Ok(LastLook {
                    day,
                    basis: row.get(26)?,
                    roots: row.get(27)?,
                    stand: row.get(28)?,
                    fuzz: row.get::<_, Option<Mist>>(29)?,
                    signs: Signs(row.get::<_, Option<i64>>(34)?.unwrap_or_default()),
                    extent: row.get(35)?,
                    verdict: row.get(36)?,
                    faults: Faults(row.get(30)?),
                    who: row.get(31)?,
                })
            })
            .transpose()?;
        let (sowing, sown, roots_hidden): (SowingId, Day, bool) = (row.get(1)?, row.get(8)?, row.get(6)?);
        let plan = plans.get(conn, row.get(9)?)?;
        let forecast = match forecasts.entry(sowing) {
            Slot::Occupied(known) => known.get().clone(),
            Slot::Vacant(_) if roots_hidden => None,
            Slot::Vacant(new) => new.insert(Forecast::of(&plan, timeline::roots(conn, sowing, sown)?)).clone(),
        };
        let (checks, fuzz_since) = past.remove(&row.get(0)?).unwrap_or_default();
        if let Some(last) = &mut last {
            let that_day = checks.iter().filter(|check| check.day == last.day).map(|check| check.verdict);
            last.verdict = last.verdict.map(|verdict| that_day.fold(verdict, Verdict::beside));
        }
        let (size, row_mats, of) = ((row.get(38)?, row.get(39)?), row.get(19)?, row.get(40)?);
        let card = TrayCard {
            id: row.get(0)?,
            sowing,
            sowing_code: row.get(2)?,
            crop: row.get(3)?,
            letters: row.get(4)?,
            crop_name: row.get(5)?,
            roots_hidden,
            hairs_expected: row.get(7)?,
            sown,
            known: row.get(32)?,
            plan,
            forecast,
            stage: row.get(10)?,
            place: room::place(row, 11)?,
            from_top: 1,
            stacked: 1,
            mats_left: row.get(19)?,
            usual_g: row.get::<_, Option<i64>>(37)?.map(|grams| usual_dg(grams, size, (row_mats, of)) / 10),
            last,
            watered_on: row.get(20)?,
            fuzz_since,
            checks,
            suspect: row.get::<_, i64>(21)? > 0,
            stood: row.get::<_, i64>(21)? == 2,
            bad: row.get(22)?,
            next_look: None,
            doubt: None,
            close_look: None,
            wait_until: row.get(23)?,
            treated: treated.remove(&row.get(0)?).unwrap_or_default(),
            held: row.get(24)?,
        };
        if row.get(33)? {
            missing.push(whereabouts::missing(conn, card)?);
        } else {
            trays.push(card);
        }
    }
    stacks(&mut trays);
    Ok((trays, missing))
}

/// Counts trays on each other, which come one after the other from the top.
fn stacks(trays: &mut [TrayCard]) {
    for stack in trays.chunk_by_mut(|a, b| a.place.id == b.place.id) {
        let stacked = i64::try_from(stack.len()).unwrap_or(1);
        for (from_top, tray) in (1i64..).zip(stack) {
            (tray.from_top, tray.stacked) = (from_top, stacked);
        }
    }
}

/// Batches by the end of their cutting window, seed lots by their use-by day, mixes by the day they expire, harvest and pack
/// lots by their last day: soonest first.
fn runs_out(conn: &Connection, trays: &[TrayCard], mixes: &[Mix], units: Units) -> Result<Vec<RunsOut>, StoreError> {
    let mut lines: Vec<RunsOut> = Vec::new();
    let mut counts: Vec<(SowingId, usize)> = Vec::new();
    for tray in trays {
        if let Some((_, n)) = counts.iter_mut().find(|(sowing, _)| *sowing == tray.sowing) {
            *n += 1;
        } else {
            counts.push((tray.sowing, 1));
            lines.push(RunsOut {
                kind: Kind::Trays,
                code: tray.sowing_code.clone(),
                name: tray.crop_name.clone(),
                amount: String::new(),
                from: tray.cut_from(),
                until: tray.cut_to(),
                forecast: tray.moved_forecast().map(|forecast| forecast.window(tray.sown)),
                held: trays.iter().filter(|other| other.sowing == tray.sowing).all(|other| other.held),
            });
        }
    }
    for (line, (_, n)) in lines.iter_mut().zip(&counts) {
        line.amount = counted(*n, "tray");
    }
    for lot in seed_lot::lots(conn)? {
        if let Some(use_by) = lot.use_by.filter(|_| lot.left_mg > 0) {
            lines.push(RunsOut {
                kind: Kind::Seed,
                code: lot.code,
                name: format!("{} seed", lot.crop_name),
                amount: units.stock(lot.left_mg),
                from: lot.received,
                until: use_by,
                forecast: None,
                held: lot.held,
            });
        }
    }
    for mix in mixes {
        lines.extend(mix.use_by.map(|until| RunsOut {
            kind: Kind::Mix,
            code: mix.code.clone(),
            name: mix.name.clone(),
            amount: units.volume(mix.left_ml.max(0)),
            from: mix.prepared,
            until,
            forecast: None,
            held: mix.held,
        }));
    }
    for lot in lot::bare(conn)? {
        let amount = stock::amount(lot.kind, lot.here() + lot.out_packs, units);
        let (code, name, from, held) = (lot::shown(&lot.code)?, lot.name, lot.day, lot.held);
        let of = |until| RunsOut { kind: Kind::Lot, code, name, amount, from, until, forecast: None, held };
        lines.extend(lot.best_before.map(of));
    }
    lines.sort_by(|a, b| (a.until, &a.code).cmp(&(b.until, &b.code)));
    Ok(lines)
}
