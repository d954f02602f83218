//! Trays that were sown or that ended in a period, and what trays belong to: by their batch, and by what was done with each.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, params};

use super::{Groups, Names, grouped, list, pairs};
use crate::domain::cause::{Asked, By, Counted, Fate, Of, Only, Thing};
use crate::domain::code::Code;
use crate::domain::id::TrayId;
use crate::domain::period::Period;
use crate::domain::room::Place;
use crate::domain::time::{Day, Now};
use crate::domain::tray::LossReason;
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::room::place;
use crate::store::{sowing, suspect};

/// No tray stands longer than its plan, at most 90 days, and some weeks of patience.
const LONGEST_D: i64 = 120;

/// Trays that left the room for good on some days (?2, ?3), of batches sown since another (?1). Indexes: `sowing_day_crop`,
/// `tray_sowing`, `stage_tray`.
const ENDED: &str =
    "SELECT DISTINCT t.id FROM sowing s CROSS JOIN tray t ON t.sowing_id = s.id CROSS JOIN stage g ON g.tray_id = t.id
  JOIN entry e ON e.id = g.entry_id
  WHERE s.day >= ?1 AND s.void_by IS NULL AND g.void_by IS NULL AND g.stage IN ('cut', 'left_alive', 'thrown')
  AND e.day BETWEEN ?2 AND ?3 ORDER BY t.id";

/// Trays with something that may make them suspect. Indexes: `look_fuzz`, `loss_tray`.
const DOUBTED: &str = "SELECT j.value, 1 FROM json_each(?1) j
  WHERE EXISTS (SELECT 1 FROM look WHERE tray_id = j.value AND fuzz = 1 AND void_by IS NULL)
  OR EXISTS (SELECT 1 FROM loss WHERE tray_id = j.value AND reason IN ('mould', 'rot') AND void_by IS NULL)";

/// Why trays, or parts of them, were lost. Index: `loss_tray`.
const LOST: &str = "SELECT j.value, x.reason FROM json_each(?1) j CROSS JOIN loss x ON x.tray_id = j.value
  WHERE x.void_by IS NULL AND x.reason <> 'not_needed'";

/// The day before which nothing was the matter with a tray. Indexes: `look_fuzz`, `loss_tray`.
const FUZZ_OR_MOULD: &str = "SELECT j.value, min(
    coalesce((SELECT min(day) FROM look WHERE tray_id = j.value AND fuzz = 1 AND void_by IS NULL), '9999'),
    coalesce((SELECT min(day) FROM loss WHERE tray_id = j.value AND reason IN ('mould', 'rot') AND void_by IS NULL), '9999'))
  FROM json_each(?1) j";
const FUZZ_OR_LOSS: &str = "SELECT j.value, min(
    coalesce((SELECT min(day) FROM look WHERE tray_id = j.value AND fuzz = 1 AND void_by IS NULL), '9999'),
    coalesce((SELECT min(day) FROM loss WHERE tray_id = j.value AND void_by IS NULL), '9999')) FROM json_each(?1) j";

/// What batches belong to. Indexes: `seed_move_sowing`, `sowing_fix_sowing`; the rest by row number.
const BATCHES: &[(By, &str)] = &[
    (
        By::Lot,
        "SELECT j.value, l.code || ' ' || c.name FROM json_each(?1) j
         CROSS JOIN seed_move m ON m.sowing_id = j.value AND m.void_by IS NULL
         JOIN seed_lot l ON l.id = m.seed_lot_id JOIN crop c ON c.id = l.crop_id
         UNION SELECT j.value, l.code || ' ' || c.name FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         JOIN seed_lot l ON l.id = s.before_lot_id JOIN crop c ON c.id = l.crop_id",
    ),
    (
        By::Batch,
        "SELECT j.value, s.code || ' ' || c.name FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)
         JOIN crop c ON c.id = coalesce(f.crop_id, s.crop_id)",
    ),
    (
        By::Crop,
        "SELECT j.value, c.name FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)
         JOIN crop c ON c.id = coalesce(f.crop_id, s.crop_id)",
    ),
    (
        By::SownOn,
        "SELECT j.value, coalesce(f.day, s.day) FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         LEFT JOIN sowing_fix f ON f.id = (SELECT max(id) FROM sowing_fix WHERE sowing_id = s.id AND void_by IS NULL)",
    ),
    (
        By::Medium,
        "SELECT j.value, m.name || ', lot ' || l.code FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         JOIN material_lot l ON l.id = s.medium_lot_id JOIN material m ON m.id = l.material_id",
    ),
    // who wrote down what stood before the book did not sow it
    (
        By::SownBy,
        "SELECT j.value, p.initials FROM json_each(?1) j CROSS JOIN sowing s ON s.id = j.value
         JOIN entry_hands h ON h.id = s.entry_id JOIN person p ON p.id = h.person_id WHERE NOT s.before_book",
    ),
];

/// What was done with trays, each with its day. Indexes: `treatment_tray_tray`, `water_tray_tray`, `sowing_entry`, `look_tray`.
const DONE: &[(By, &str)] = &[
    (
        By::Mix,
        "SELECT j.value, coalesce(r.name, m.product), e.day FROM json_each(?1) j
         CROSS JOIN treatment_tray x ON x.tray_id = j.value JOIN treatment m ON m.id = x.treatment_id
         JOIN entry e ON e.id = m.entry_id LEFT JOIN mix k ON k.id = m.mix_id LEFT JOIN recipe r ON r.id = k.recipe_id
         WHERE m.void_by IS NULL",
    ),
    // the water of the sowing itself says nothing of where it came from
    (
        By::Water,
        "SELECT j.value, w.source, w.day FROM json_each(?1) j CROSS JOIN water_tray x ON x.tray_id = j.value
         JOIN water w ON w.id = x.water_id WHERE w.source NOT NULL AND w.void_by IS NULL
         AND NOT EXISTS (SELECT 1 FROM sowing s WHERE s.entry_id = w.entry_id)",
    ),
    (
        By::LookedBy,
        "SELECT j.value, p.initials, x.day FROM json_each(?1) j CROSS JOIN look x ON x.tray_id = j.value
         JOIN entry_hands h ON h.id = x.entry_id JOIN person p ON p.id = h.person_id
         WHERE x.void_by IS NULL AND x.skip IS NULL
         AND (x.roots IS NOT NULL OR x.stand IS NOT NULL OR x.fuzz OR x.faults)",
    ),
];

/// Where trays were put first: the place of the sowing, also put right, precedes every move. Index: `placement_tray`.
const BEGAN: &str = "SELECT p.id, r.id, r.name, r.sort, p.shelf, p.pos, z.kind, p.stack, j.value
  FROM json_each(?1) j CROSS JOIN tray t ON t.id = j.value JOIN sowing s ON s.id = t.sowing_id JOIN entry b ON b.id = s.entry_id
  JOIN placement m ON m.id = (SELECT x.id FROM placement x JOIN entry e ON e.id = x.entry_id
    WHERE x.tray_id = j.value AND x.void_by IS NULL AND x.place_id NOT NULL
    ORDER BY coalesce(x.at, e.seen_at, e.at) IS NOT coalesce(b.seen_at, b.at), x.id LIMIT 1)
  JOIN place p ON p.id = m.place_id JOIN rack r ON r.id = p.rack_id JOIN zone z ON z.id = p.zone_id";

/// What trays belong to, and where each began.
pub(super) struct Grown {
    pub groups: Groups,
    pub began: BTreeMap<i64, Place>,
}

/// Reads it. `sound`: what was done after something was the matter does not count, by one of the statements above.
pub(super) fn grown(
    conn: &Connection,
    trays: &[i64],
    sound: Option<&str>,
    names: &mut Names,
) -> Result<Grown, StoreError> {
    let ids = list(trays.iter().copied());
    let batch_of: Vec<(i64, i64)> =
        pairs(conn, "SELECT j.value, t.sowing_id FROM json_each(?1) j CROSS JOIN tray t ON t.id = j.value", &ids)?;
    let batches: BTreeSet<i64> = batch_of.iter().map(|(_, batch)| *batch).collect();
    let batches = list(batches);
    let mut of_batch = Groups::new();
    for (by, text) in BATCHES {
        grouped(conn, *by, text, &batches, names, &mut of_batch)?;
    }
    let mut groups: Groups =
        batch_of.into_iter().map(|(tray, batch)| (tray, of_batch.get(&batch).cloned().unwrap_or_default())).collect();
    let until: BTreeMap<i64, String> = match sound {
        Some(text) => pairs(conn, text, &ids)?.into_iter().collect(),
        None => BTreeMap::new(),
    };
    for (by, text) in DONE {
        let mut select = conn.prepare_cached(text)?;
        let mut rows = select.query(params![ids])?;
        while let Some(row) = rows.next()? {
            let (tray, day): (i64, String) = (row.get(0)?, row.get(2)?);
            if until.get(&tray).is_none_or(|until| day < *until) {
                groups.entry(tray).or_default().insert(names.number(*by, row.get(1)?));
            }
        }
    }
    let began: BTreeMap<i64, Place> = conn
        .prepare_cached(BEGAN)?
        .query_map(params![ids], |row| Ok((row.get(8)?, place(row, 0)?)))?
        .collect::<Result<_, _>>()?;
    for (tray, place) in &began {
        let of = groups.entry(*tray).or_default();
        of.insert(names.number(By::Zone, place.zone.shown().to_string()));
        of.insert(names.number(By::Shelf, format!("{} {}", place.rack_name, place.shelf)));
        of.insert(names.number(By::Place, place.label()));
    }
    Ok(Grown { groups, began })
}

/// Trays sown in the period, suspect or bad at some time.
pub(super) fn sown(conn: &Connection, asked: &Asked, now: Now) -> Result<Counted, StoreError> {
    let period = Period { from: asked.since(now.day()), to: now.day() };
    let trays: Vec<i64> = sowing::of_days(conn, period, true)?.into_iter().map(|(tray, _)| tray.0).collect();
    let mut fates = BTreeMap::new();
    for (tray, _) in pairs::<i64>(conn, DOUBTED, &list(trays.iter().copied()))? {
        let fate = match (suspect::ever(conn, TrayId(tray))?, asked.of) {
            ((true, _), _) | ((_, true), Of::Suspects) => Fate::Bad,
            ((_, true), _) => Fate::Doubt,
            _ => Fate::Good,
        };
        fates.insert(tray, fate);
    }
    told(conn, asked, &trays, &fates, FUZZ_OR_MOULD, vec![])
}

/// Trays that ended in the period, lost or not.
pub(super) fn ended(conn: &Connection, asked: &Asked, now: Now) -> Result<Counted, StoreError> {
    let [from, to] = days(asked, now);
    let sown = day_sql(asked.since(now.day()) - chrono::Duration::days(LONGEST_D));
    let trays: Vec<i64> =
        conn.prepare_cached(ENDED)?.query_map([sown, from, to], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let mut reasons: BTreeSet<(LossReason, i64)> = BTreeSet::new();
    for (tray, reason) in pairs::<LossReason>(conn, LOST, &list(trays.iter().copied()))? {
        reasons.insert((reason, tray));
    }
    let mut kinds: BTreeMap<LossReason, usize> = BTreeMap::new();
    let mut fates = BTreeMap::new();
    for (reason, tray) in reasons {
        *kinds.entry(reason).or_default() += 1;
        if asked.only.is_none_or(|only| only == Only::Loss(reason)) {
            fates.insert(tray, Fate::Bad);
        }
    }
    let kinds = kinds.into_iter().map(|(reason, n)| (Only::Loss(reason), n)).collect();
    told(conn, asked, &trays, &fates, FUZZ_OR_LOSS, kinds)
}

fn days(asked: &Asked, now: Now) -> [String; 2] {
    let today: Day = now.day();
    [day_sql(asked.since(today)), day_sql(today)]
}

fn told(
    conn: &Connection,
    asked: &Asked,
    trays: &[i64],
    fates: &BTreeMap<i64, Fate>,
    sound: &str,
    kinds: Vec<(Only, usize)>,
) -> Result<Counted, StoreError> {
    let mut names = Names::default();
    let mut grown = grown(conn, trays, Some(sound), &mut names)?;
    let things = trays
        .iter()
        .map(|tray| Thing {
            code: Code::tray(*tray).shown(),
            fate: fates.get(tray).copied().unwrap_or(Fate::Good),
            place: grown.began.remove(tray),
            groups: grown.groups.remove(tray).unwrap_or_default().into_iter().collect(),
        })
        .collect();
    Ok(Counted { asked: *asked, things, names: names.list, cases: None, unnamed: 0, kinds })
}
