//! Pack lots that went out in a period, what each was made of, and which of them complaints are about.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, params};

use super::trays::grown;
use super::{Groups, Names, grouped, list};
use crate::domain::cause::{Asked, By, Case, Counted, Fate, Only, Thing};
use crate::domain::cold::Spell;
use crate::domain::complaint::{Complaint, ComplaintLot, Standing};
use crate::domain::id::{LotId, StoreId};
use crate::domain::time::Now;
use crate::store::error::StoreError;
use crate::store::ids::day_sql;
use crate::store::trace::{Walked, back};
use crate::store::{cold, lot, spell};

/// Pack lots of which something reached a customer, or the public, on some days. Index: `stock_move_day`.
const GONE_OUT: &str = "SELECT DISTINCT l.id, l.code, p.name FROM stock_move m CROSS JOIN lot l ON l.id = m.lot_id
  JOIN product p ON p.id = l.product_id
  WHERE m.day BETWEEN ?1 AND ?2 AND m.kind IN ('delivered', 'sold_public', 'given') AND m.void_by IS NULL
  AND l.kind = 'pack' AND l.void_by IS NULL ORDER BY l.id";

/// What lots belong to, of a pack lot and of everything that went into it. A lot with another code is the one packed first.
/// Indexes: `lot_use_lot`; the rest by row number.
const LOTS: &[(By, &str)] = &[
    (
        By::CutOn,
        "SELECT j.value, l.day FROM json_each(?1) j CROSS JOIN lot l ON l.id = j.value WHERE l.kind = 'harvest'",
    ),
    (
        By::PackedOn,
        "SELECT j.value, l.day FROM json_each(?1) j CROSS JOIN lot l ON l.id = j.value WHERE l.kind = 'pack'",
    ),
    (
        By::CutBy,
        "SELECT j.value, p.initials FROM json_each(?1) j CROSS JOIN lot l ON l.id = j.value
         JOIN entry_hands h ON h.id = l.entry_id JOIN person p ON p.id = h.person_id WHERE l.kind = 'harvest'",
    ),
    (
        By::PackedBy,
        "WITH RECURSIVE old (id, is_now) AS (SELECT value, value FROM json_each(?1)
           UNION SELECT l.instead_of, old.is_now FROM old CROSS JOIN lot l ON l.id = old.id WHERE l.instead_of NOT NULL)
         SELECT old.is_now, p.initials FROM old CROSS JOIN lot l ON l.id = old.id
         JOIN entry_hands h ON h.id = l.entry_id JOIN person p ON p.id = h.person_id
         WHERE l.kind = 'pack' AND l.instead_of IS NULL",
    ),
    (
        By::Tool,
        "SELECT j.value, t.name FROM json_each(?1) j CROSS JOIN lot_use u ON u.lot_id = j.value AND u.void_by IS NULL
         JOIN tool t ON t.id = u.tool_id",
    ),
    (
        By::Packaging,
        "SELECT j.value, m.name || ', lot ' || l.code FROM json_each(?1) j
         CROSS JOIN lot_use u ON u.lot_id = j.value AND u.void_by IS NULL
         JOIN material_lot l ON l.id = u.material_lot_id JOIN material m ON m.id = l.material_id",
    ),
];

/// A pack lot that went out.
struct Gone {
    id: LotId,
    code: String,
    product: String,
}

pub(super) fn gone_out(
    conn: &Connection,
    asked: &Asked,
    complaints: Vec<Complaint>,
    now: Now,
) -> Result<Counted, StoreError> {
    let since = asked.since(now.day());
    let gone: Vec<Gone> = conn
        .prepare_cached(GONE_OUT)?
        .query_map(params![day_sql(since), day_sql(now.day())], |row| {
            Ok(Gone { id: row.get(0)?, code: row.get(1)?, product: row.get(2)? })
        })?
        .collect::<Result<_, _>>()?;
    let mut names = Names::default();
    let groups = groups(conn, &gone, now, &mut names)?;
    // nobody complains before they got it
    let told: Vec<Complaint> =
        complaints.into_iter().filter(|complaint| (since..=now.day()).contains(&complaint.day)).collect();
    let mut kinds = BTreeMap::new();
    for complaint in &told {
        *kinds.entry(complaint.what).or_insert(0) += 1;
    }
    let wanted = |complaint: &&Complaint| asked.only.is_none_or(|only| only == Only::Complaint(complaint.what));
    let told: Vec<&Complaint> = told.iter().filter(wanted).collect();
    let at: BTreeMap<LotId, usize> = gone.iter().enumerate().map(|(n, gone)| (gone.id, n)).collect();
    let cases: Vec<Case> = told.iter().filter_map(|complaint| case(complaint, &at)).collect();
    let named: BTreeMap<LotId, Fate> = fates(&told);
    let mut things = Vec::new();
    for (gone, groups) in gone.iter().zip(groups) {
        things.push(Thing {
            code: lot::shown(&gone.code)?,
            fate: named.get(&gone.id).copied().unwrap_or(Fate::Good),
            place: None,
            groups: groups.into_iter().collect(),
        });
    }
    Ok(Counted {
        asked: *asked,
        things,
        names: names.list,
        unnamed: told.len() - cases.len(),
        cases: Some(cases),
        kinds: kinds.into_iter().map(|(what, n)| (Only::Complaint(what), n)).collect(),
    })
}

/// What each of them belongs to: itself, what it was drawn from, and the trays and batches behind that.
fn groups(conn: &Connection, gone: &[Gone], now: Now, names: &mut Names) -> Result<Vec<BTreeSet<usize>>, StoreError> {
    let mut behind: Vec<Walked> = Vec::new();
    let (mut trays, mut lots) = (BTreeSet::new(), BTreeSet::new());
    for one in gone {
        let walked = back(conn, &[one.id], &[], &[])?;
        trays.extend(walked.trays.iter().map(|tray| tray.0));
        lots.extend(walked.lots.iter().map(|lot| lot.0));
        behind.push(walked);
    }
    let trays: Vec<i64> = trays.into_iter().collect();
    let of_trays = grown(conn, &trays, None, names)?.groups;
    let mut of_lots = Groups::new();
    let ids = list(lots);
    for (by, text) in LOTS {
        grouped(conn, *by, text, &ids, names, &mut of_lots)?;
    }
    let stores: BTreeMap<StoreId, String> = conn
        .prepare_cached("SELECT id, name FROM store")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let mut found = Vec::new();
    for (one, walked) in gone.iter().zip(behind) {
        let mut groups = BTreeSet::from([names.number(By::Product, one.product.clone())]);
        groups.extend(walked.trays.iter().filter_map(|tray| of_trays.get(&tray.0)).flatten());
        groups.extend(walked.lots.iter().filter_map(|lot| of_lots.get(&lot.0)).flatten());
        let (lay, through) = spell::behind(conn, one.id)?;
        let name = |store: StoreId| stores.get(&store).cloned().unwrap_or_default();
        groups.extend(lay.into_iter().map(|store| names.number(By::Store, name(store))));
        for spell in through.values() {
            groups.insert(names.number(By::Spell, spell_name(&name(spell.key.store), spell, now)?));
        }
        found.push(groups);
    }
    Ok(found)
}

/// `Fridge 1, warm spell 12 Jul 22:10`.
fn spell_name(store: &str, spell: &Spell, now: Now) -> Result<String, StoreError> {
    let from = now.local(cold::instant(spell.key.from_s)?).format("%d %b %H:%M");
    Ok(format!("{store}, {} {from}", spell.key.kind.shown()))
}

/// What a complaint may be about: the lots it surely is about, or else all that are not ruled out.
fn meant(complaint: &Complaint) -> Vec<&ComplaintLot> {
    let of = |standing| complaint.lots.iter().filter(move |lot| lot.standing == standing);
    let sure: Vec<&ComplaintLot> = of(Standing::Sure).collect();
    if sure.is_empty() { of(Standing::Open).collect() } else { sure }
}

/// A complaint about something that went out in the period.
fn case(complaint: &Complaint, at: &BTreeMap<LotId, usize>) -> Option<Case> {
    let meant = meant(complaint);
    let things: Vec<usize> = meant.iter().filter_map(|lot| at.get(&lot.lot).copied()).collect();
    let codes = meant.iter().map(|lot| lot.code.as_str()).collect::<Vec<_>>();
    let may = if meant.iter().all(|lot| lot.standing == Standing::Sure) { "" } else { "may be " };
    let words = format!("complaint {}, {}: {may}{}", complaint.id.0, complaint.words(), codes.join(" or "));
    let whole = things.len() == meant.len();
    (!things.is_empty()).then_some(Case { words, things, whole })
}

/// A lot that one complaint surely is about is bad, whatever others leave open.
fn fates(complaints: &[&Complaint]) -> BTreeMap<LotId, Fate> {
    let mut fates = BTreeMap::new();
    for lot in complaints.iter().flat_map(|complaint| &complaint.lots) {
        match lot.standing {
            Standing::Sure => {
                fates.insert(lot.lot, Fate::Bad);
            }
            Standing::Open => {
                fates.entry(lot.lot).or_insert(Fate::Doubt);
            }
            Standing::RuledOut => {}
        }
    }
    fates
}
