//! Seed in water: begun, drained, and what of it was sown. None of it moves seed: the sowing takes it from the jar.

use rusqlite::{Connection, Row};

use super::act::Wrote;
use super::breach::{RECEIVED_BY, against};
use super::error::StoreError;
use super::facts::{SOAK, SOAK_DRAIN, SOAK_SOWN};
use super::hold::{SEED, held_seed};
use super::writer::Writer;
use super::{crop, room, seed_lot};
use crate::domain::crop::Soak;
use crate::domain::id::{BreachId, EntryId, SeedLotId, SoakId};
use crate::domain::power_cut::{Span, lasting};
use crate::domain::refusal::Refusal;
use crate::domain::soak::{NewSoak, RINSES_MAX, Sanitiser, Soaking, taken};
use crate::domain::sowing::{NewSowing, SOAK_H};
use crate::domain::text::counted;
use crate::domain::time::Instant;

pub(super) fn begin(w: &mut Writer<'_>, new: &NewSoak) -> Result<Wrote, StoreError> {
    new.check(w.now.instant()).map_err(|(field, why)| Refusal::new("soak", why).at(field))?;
    let lots = seed_lot::lots(w.conn)?;
    let Some(lot) = lots.iter().find(|lot| lot.id == new.lot) else {
        return Err(Refusal::new("seed_lot_unknown", "This seed lot is not in the book: choose another.").into());
    };
    if let Some(bar) = lot.treated.bar() {
        return Err(Refusal::new("soak_treated", format!("{} is not soaked for sowing: {bar}.", lot.code)).into());
    }
    if lot.held {
        against(w, held_seed(&lot.code), Some((SEED, lot.id.0)))?;
    }
    if let Some(bar) = lot.not_here(w.now.local(new.start).date_naive()) {
        return Err(Refusal::new("soak", format!("{} was not here then: {bar}.", lot.code)).at("start").into());
    }
    let units = room::units(w.conn)?;
    let others = recent(w.conn)?.into_iter().filter(|soak| {
        soak.lot == new.lot && soak.at_hand(w.now.instant()) && soak.with.is_some() == new.with.is_some()
    });
    let wet: i64 = others.map(|soak| soak.left_mg()).sum();
    if new.mg > lot.left_mg - wet {
        let already =
            if wet > 0 { format!(", {} of it soaked or cleaned already", units.weight(wet)) } else { String::new() };
        let sentence =
            format!("{} holds {}{already}: take less, or count the jar.", lot.code, units.weight(lot.left_mg));
        return Err(Refusal::new("soak_grams", sentence).at("grams").into());
    }
    let (name, soak) = crop::grown(w.conn, lot.crop)?;
    if soak == Soak::Never {
        let sentence = format!("{name} seed turns to slime in water and clumps: sow it dry.");
        against(w, Refusal::new("soak_never", sentence).at("what"), Some((RECEIVED_BY, lot.id.0)))?;
    }
    let (product, strength) = match &new.with {
        Some(with) => (Some(with.product.trim()), Some(with.strength.trim())),
        None => (None, None),
    };
    let id = w.fact(
        SOAK,
        &[
            ("seed_lot_id", &new.lot),
            ("mg", &new.mg),
            ("start", &new.start),
            ("product", &product),
            ("strength", &strength),
            ("minutes", &new.minutes),
        ],
    )?;
    let (weight, now) = (units.weight(new.mg), w.now);
    let words = find(w.conn, SoakId(id))?.map_or_else(String::new, |soak| soak.words(now));
    Ok(Wrote::said(format!("{weight} of {} {words}.", lot.code)).made(id))
}

pub(super) fn drain(w: &mut Writer<'_>, soak: SoakId, at: Instant, rinses: i64) -> Result<Wrote, StoreError> {
    let Some(known) = find(w.conn, soak)? else {
        return Err(Refusal::new("soak_unknown", "This soak was taken back: open the list again.").into());
    };
    if let Some(drained) = known.drained {
        let words = Soaking { drained: Some(drained), ..known }.words(w.now);
        return Err(Refusal::new("soak_drained", format!("It is drained already: {words}.")).into());
    }
    if at > w.now.instant() {
        return Err(Refusal::new("soak", "That time is still to come: give the time it was drained.").at("at").into());
    }
    if at < known.start {
        return Err(Refusal::new("soak", "It went in only later than that: give the time it was drained.")
            .at("at")
            .into());
    }
    if !(0..=RINSES_MAX).contains(&rinses) {
        return Err(Refusal::new("soak", format!("Seed is rinsed 0 to {RINSES_MAX} times.")).at("rinses").into());
    }
    let known = Soaking { drained: Some(at), ..known };
    if known.too_long(at) {
        against(w, too_long(&known, at).at("at"), None)?;
    }
    w.fact(SOAK_DRAIN, &[("soak_id", &soak), ("at", &at), ("rinses", &rinses)])?;
    Ok(Wrote::said(format!("{}: {}.", known.lot_code, known.words(w.now))).made(soak.0))
}

fn too_long(soak: &Soaking, now: Instant) -> Refusal {
    let length = lasting(soak.lasted(now));
    Refusal::new(
        "soak_hours",
        format!("{} was in water for {length}; longer than {SOAK_H} h drowns the seed.", soak.lot_code),
    )
}

/// The soaks that seed of a sowing comes from. What is still in water comes out with it.
pub(super) fn pool(w: &mut Writer<'_>, new: &NewSowing) -> Result<Vec<Soaking>, StoreError> {
    let mut pool = Vec::new();
    for id in &new.soaks {
        let used = |lot: SeedLotId| new.parts.iter().any(|part| part.of(lot));
        let here = w.now.instant();
        let Some(mut soak) = find(w.conn, *id)?.filter(|soak| soak.at_hand(here) && used(soak.lot)) else {
            let sentence = "A soak it was to come from was taken back or sown meanwhile: open the form again.";
            return Err(Refusal::new("soak_gone", sentence).at("from_soak").into());
        };
        if soak.running() {
            let at = w.at().max(soak.start);
            w.fact(SOAK_DRAIN, &[("soak_id", id), ("at", &at)])?;
            soak.drained = Some(at);
        }
        pool.push(soak);
    }
    Ok(pool)
}

/// Rules these soaks are against, unless someone has accepted that, and the lot each is about.
pub(super) fn broken(
    w: &mut Writer<'_>,
    pool: &[Soaking],
    crop: &str,
    never: bool,
) -> Result<Vec<(BreachId, Option<SeedLotId>)>, StoreError> {
    let (mut broken, now) = (Vec::new(), w.now.instant());
    for soak in pool {
        let slime =
            never.then(|| Refusal::new("soak_never", format!("{crop} seed turns to slime in water: sow it dry.")));
        let long = soak.too_long(now).then(|| too_long(soak, now));
        for refusal in slime.into_iter().chain(long) {
            if !accepted(w.conn, soak.id, refusal.rule)? {
                broken.push((against(w, refusal.at("from_soak"), None)?, Some(soak.lot)));
            }
        }
    }
    Ok(broken)
}

/// Whether someone who may decide accepted that a soak broke a rule. Indexes: `soak_drain_live`, `breach_entry`.
fn accepted(conn: &Connection, soak: SoakId, rule: &str) -> Result<bool, StoreError> {
    let text =
        "SELECT EXISTS (SELECT 1 FROM breach b JOIN breach_decision d ON d.breach_id = b.id AND d.void_by IS NULL
          AND d.what = 'accepted'
        WHERE b.entry_id IN (SELECT entry_id FROM soak WHERE id = ?1
          UNION SELECT entry_id FROM soak_drain WHERE soak_id = ?1 AND void_by IS NULL)
        AND b.rule = ?2 AND b.void_by IS NULL)";
    Ok(conn.prepare_cached(text)?.query_row((soak, rule), |row| row.get(0))?)
}

/// Seed of a lot goes into a batch; how much of it was soaked. What is taken is gone from the pool.
pub(super) fn sow(
    w: &mut Writer<'_>,
    pool: &mut [Soaking],
    lot: SeedLotId,
    mg: i64,
    sowing: i64,
) -> Result<i64, StoreError> {
    let mut soaked = 0;
    for (id, part) in taken(pool, lot, mg) {
        w.fact(SOAK_SOWN, &[("soak_id", &id), ("sowing_id", &sowing), ("mg", &part)])?;
        for soak in pool.iter_mut().filter(|soak| soak.id == id) {
            soak.sown_mg += part;
            soaked += if soak.with.is_none() { part } else { 0 };
        }
    }
    Ok(soaked)
}

/// A soak with its lot. What a batch got of it counts while the batch has seed of the lot. Indexes: `soak_drain_live`,
/// `soak_sown_soak`, `seed_move_sowing`.
const SELECT: &str =
    "SELECT s.id, s.seed_lot_id, l.code, c.name, s.mg, s.start, s.minutes, s.product, s.strength, d.at, d.rinses,
      (SELECT coalesce(sum(x.mg), 0) FROM soak_sown x WHERE x.soak_id = s.id AND x.void_by IS NULL
        AND EXISTS (SELECT 1 FROM seed_move m WHERE m.sowing_id = x.sowing_id AND m.seed_lot_id = s.seed_lot_id
          AND m.void_by IS NULL))
    FROM soak s JOIN seed_lot l ON l.id = s.seed_lot_id JOIN crop c ON c.id = l.crop_id
    LEFT JOIN soak_drain d ON d.soak_id = s.id AND d.void_by IS NULL
    WHERE s.drained IS NULL";

fn read(row: &Row<'_>) -> rusqlite::Result<Soaking> {
    let (product, strength): (Option<String>, Option<String>) = (row.get(7)?, row.get(8)?);
    Ok(Soaking {
        id: row.get(0)?,
        lot: row.get(1)?,
        lot_code: row.get(2)?,
        crop_name: row.get(3)?,
        mg: row.get(4)?,
        start: row.get(5)?,
        minutes: row.get(6)?,
        with: product.zip(strength).map(|(product, strength)| Sanitiser { product, strength }),
        drained: row.get(9)?,
        rinses: row.get(10)?,
        sown_mg: row.get(11)?,
    })
}

fn find(conn: &Connection, id: SoakId) -> Result<Option<Soaking>, StoreError> {
    let text = format!("{SELECT} AND s.void_by IS NULL AND s.id = ?");
    let mut select = conn.prepare_cached(&text)?;
    let found = select.query_map([id], read)?.next().transpose()?;
    Ok(found)
}

/// What is in water, whenever it began, and of the rest the newest fifty. Index: `soak_begun`.
pub(super) fn recent(conn: &Connection) -> Result<Vec<Soaking>, StoreError> {
    let text = format!(
        "{SELECT} AND s.void_by IS NULL AND (d.id IS NULL OR s.id >= coalesce((SELECT n.id FROM soak n
           WHERE n.drained IS NULL AND n.void_by IS NULL ORDER BY n.id DESC LIMIT 1 OFFSET 49), 0)) ORDER BY s.id DESC"
    );
    Ok(conn.prepare_cached(&text)?.query_map([], read)?.collect::<Result<_, _>>()?)
}

/// What an entry says of a soak, and from when to when.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<(String, Span), StoreError> {
    // taken back or not: the entry said so
    let text = format!("{SELECT} AND (s.entry_id = ?1 OR s.id = (SELECT soak_id FROM soak_drain WHERE entry_id = ?1))");
    let soak = conn.prepare_cached(&text)?.query_row([entry], read)?;
    let mut told = conn.prepare_cached("SELECT at, rinses FROM soak_drain WHERE entry_id = ?")?;
    let drained: Option<(Instant, Option<i64>)> =
        told.query_map([entry], |row| Ok((row.get(0)?, row.get(1)?)))?.next().transpose()?;
    let seed = format!("{} of {} ({})", room::units(conn)?.weight(soak.mg), soak.lot_code, soak.crop_name);
    let with = soak.with_words().map_or_else(String::new, |with| format!(" {with}"));
    let done = if soak.with.is_some() { "cleaned" } else { "soaked" };
    let span = Span { from: soak.start, to: drained.map(|(at, _)| at) };
    Ok(match drained {
        Some((_, rinses)) => {
            let rinsed =
                rinses.map_or_else(String::new, |n| format!(", {}", counted(usize::try_from(n).unwrap_or(0), "rinse")));
            (format!("{seed} {done}{with} and drained{rinsed}"), span)
        }
        None => (format!("{seed} to be {done}{with} for {}", lasting(soak.minutes)), span),
    })
}

/// The soaks a sowing's seed came from, in the words of its entry.
pub(super) fn sown_from(conn: &Connection, entry: EntryId) -> Result<Vec<String>, StoreError> {
    let text = format!("{SELECT} AND s.id IN (SELECT soak_id FROM soak_sown WHERE entry_id = ?) ORDER BY s.id");
    let mut select = conn.prepare_cached(&text)?;
    let soaks: Vec<Soaking> = select.query_map([entry], read)?.collect::<Result<_, _>>()?;
    Ok(soaks
        .into_iter()
        .filter_map(|soak| {
            let done = if soak.with.is_some() { "cleaned" } else { "soaked" };
            Some(format!("{} {done} {}", soak.lot_code, lasting(soak.lasted(soak.drained?))))
        })
        .collect())
}
