//! Scores of packs that were held back, and what they come to for their crop.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rusqlite::{Connection, OptionalExtension};

use super::Store;
use super::act::Wrote;
use super::ask::ask;
use super::error::StoreError;
use super::facts::SCORE;
use super::revision::{self, fresh};
use super::writer::Writer;
use super::{cold, crop, lot, stay, stock};
use crate::domain::id::{CropId, EntryId, LotId, StoreId};
use crate::domain::keeping::{Place, Rates, Series, Sums, Way};
use crate::domain::power_cut::Span;
use crate::domain::refusal::Refusal;
use crate::domain::score::{
    AS_CUT, GONE, LAST_SOLD, LotSays, NewScore, Proposal, Sample, Says, Scored, Scores, Why, fell_s, says, scale,
};
use crate::domain::text::counted;
use crate::domain::time::{Day, Now};

impl Store {
    /// What was held back with its scores, and how long crops really kept by them.
    pub fn scores(&self, now: Now) -> Result<Scores, StoreError> {
        let samples = samples(&self.conn, now)?;
        let proposals = proposals(&self.conn, &samples)?;
        Ok(Scores { samples, proposals })
    }
}

fn packs(n: i64) -> String {
    counted(usize::try_from(n).unwrap_or(0), "pack")
}

pub(super) fn score(w: &mut Writer<'_>, new: &NewScore) -> Result<Wrote, StoreError> {
    let lot = lot::get(w.conn, new.lot)?;
    let code = &lot.code;
    let held = held_back(w.conn, new.lot)?;
    if held == 0 {
        let why = format!("No pack of {code} was held back: keep a sample first.");
        return Err(Refusal::new("score_sample", why).at("packs").into());
    }
    if !(GONE..=AS_CUT).contains(&new.score) {
        let why = "A score is from 9, as cut, to 1, gone: choose one.";
        return Err(Refusal::new("score_range", why).at("score").into());
    }
    if !(1..=held).contains(&new.packs) {
        let why = format!("Held back of {code}: {}. Say how many of them were looked at.", packs(held));
        return Err(Refusal::new("score_packs", why).at("packs").into());
    }
    if new.at > w.now.instant() {
        let why = "That is still to come: score it when it was looked at.";
        return Err(Refusal::new("score_future", why).at("time").into());
    }
    let (at_s, begun) = (new.at.0.timestamp(), stay::begun(w.conn, new.lot)?);
    let local = |at_s: i64| Ok::<_, StoreError>(w.now.local(cold::instant(at_s)?).format("%d %b %H:%M"));
    if at_s < begun {
        let why = format!("{code} is there since {}: give a later time.", local(begun)?);
        return Err(Refusal::new("score_order", why).at("time").into());
    }
    let before = scored(w.conn, new.lot)?;
    if let Some(last) = before.last() {
        if at_s <= last.at_s {
            let why = format!("{code} was looked at last on {}: give a later time.", local(last.at_s)?);
            return Err(Refusal::new("score_order", why).at("time").into());
        }
        if new.score > last.score {
            let why =
                format!("It was {} before, and what is limp does not get better: is it {}?", last.score, new.score);
            ask(w, &new.sure, Refusal::new("score_rises", why).at("score"))?;
        }
    }
    w.fact(SCORE, &[("lot_id", &new.lot), ("at_s", &at_s), ("packs", &new.packs), ("score", &new.score)])?;
    let fell = new.score < LAST_SOLD && before.iter().all(|scored| scored.score >= LAST_SOLD);
    let fell = if fell { " It tells now how long it kept." } else { "" };
    let sentence = format!("{code}: {} of {}, {}.{fell}", new.score, packs(new.packs), scale(new.score));
    Ok(Wrote::said(sentence).made(new.lot.0))
}

/// Takes a proposal that still stands as it was seen.
pub(super) fn refit(
    w: &mut Writer<'_>,
    id: CropId,
    anchors: &[(i64, i64)],
    (lots, of_packs): (usize, i64),
    rev: i64,
) -> Result<Wrote, StoreError> {
    fresh(w.conn, "crop", id.0, rev)?;
    let all = proposals(w.conn, &samples(w.conn, w.now)?)?;
    let now = all.into_iter().find(|proposal| proposal.crop == id);
    let fit = now.as_ref().and_then(|now| now.fit().ok());
    let same = |now: &Proposal| (now.used(), now.packs()) == (lots, of_packs);
    let Some((now, fit)) = now.zip(fit).filter(|(now, fit)| same(now) && fit.anchors == anchors) else {
        let why = "What was scored or read changed meanwhile: open it again to see what it comes to now.";
        return Err(Refusal::new("refit_stale", why).into());
    };
    if fit.anchors == now.old {
        return Err(Refusal::new("no_change", "It kept as the figures say: they stay as they are.").into());
    }
    let source = format!("own packs: {}, times {:.3}, {}", now.of(), fit.factor, w.day());
    crop::anchors(w, id, &fit.anchors, &source)?;
    let few = if now.few() { ", few" } else { "" };
    let sentence =
        format!("{}: shelf life times {:.2}, by {}{few}. Days on labels stay.", now.name, fit.factor, now.of());
    Ok(Wrote::said(sentence).made(id.0))
}

/// Packs of a lot that were held back, here or of what came back. Index: `stock_move_lot`.
fn held_back(conn: &Connection, lot: LotId) -> Result<i64, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT coalesce(sum(packs), 0) FROM stock_move WHERE lot_id = ? AND void_by IS NULL
             AND (kind = 'sample' OR what = 'sample')",
        )?
        .query_row([lot], |row| row.get(0))?)
}

/// The scores of a lot, the oldest first. Index: `score_lot`.
fn scored(conn: &Connection, lot: LotId) -> Result<Vec<Scored>, StoreError> {
    Ok(conn
        .prepare_cached("SELECT at_s, packs, score FROM score WHERE lot_id = ? AND void_by IS NULL ORDER BY at_s, id")?
        .query_map([lot], |row| Ok(Scored { at_s: row.get(0)?, packs: row.get(1)?, score: row.get(2)? }))?
        .collect::<Result<_, _>>()?)
}

/// Samples that are kept, the first to go first, and lots that were scored once.
fn samples(conn: &Connection, now: Now) -> Result<Vec<Sample>, StoreError> {
    let mut ids: Vec<(LotId, Option<Day>)> = Vec::new();
    for kept in stock::samples(conn, now.day())? {
        if ids.iter().all(|(lot, _)| *lot != kept.lot) {
            ids.push((kept.lot, kept.until));
        }
    }
    let all: Vec<LotId> = conn
        .prepare_cached("SELECT DISTINCT lot_id FROM score WHERE void_by IS NULL ORDER BY lot_id")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for lot in all {
        if ids.iter().all(|(known, _)| *known != lot) {
            ids.push((lot, None));
        }
    }
    let now_s = now.instant().0.timestamp();
    let mut samples = Vec::new();
    for (id, until) in ids {
        let (lot, ways) = (lot::get(conn, id)?, stay::ways(conn, id, now_s)?);
        let mut crops: Vec<CropId> = Vec::new();
        for way in &ways {
            if !crops.contains(&way.crop) {
                crops.push(way.crop);
            }
        }
        let cut_s = match ways.iter().map(|way| way.cut_s).min() {
            Some(cut_s) => cut_s,
            None => stay::begun(conn, id)?,
        };
        samples.push(Sample {
            lot: id,
            code: lot.code,
            name: lot.name,
            packs: held_back(conn, id)?,
            until,
            crops,
            cut_s,
            scores: scored(conn, id)?,
        });
    }
    Ok(samples)
}

/// How long crops really kept, by name, of those of which something was scored.
fn proposals(conn: &Connection, samples: &[Sample]) -> Result<Vec<Proposal>, StoreError> {
    let scored: Vec<&Sample> = samples.iter().filter(|sample| !sample.scores.is_empty()).collect();
    let oldest = scored.iter().map(|sample| sample.cut_s).min();
    let mut known = Known { from_s: oldest.unwrap_or_default(), lives: cold::lives(conn)?, ..Known::default() };
    let mut told: BTreeMap<CropId, Vec<LotSays>> = BTreeMap::new();
    for sample in scored {
        let packs = sample.scores.iter().map(|scored| scored.packs).max().unwrap_or_default();
        let says = told_by(conn, sample, &mut known)?;
        for crop in &sample.crops {
            told.entry(*crop).or_default().push(LotSays { lot: sample.lot, code: sample.code.clone(), packs, says });
        }
    }
    let mut proposals = Vec::new();
    for (id, lots) in told {
        let (name, rev): (String, i64) = conn
            .prepare_cached(&format!("SELECT name, {} FROM crop WHERE id = ?", revision::CROP))?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        proposals.push(Proposal { crop: id, name, rev, old: crop::anchors_of(conn, id)?, lots });
    }
    proposals.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(proposals)
}

/// What was read of the cold stores so far, and the sums of it.
#[derive(Default)]
struct Known {
    from_s: i64,
    lives: BTreeMap<CropId, Arc<Rates>>,
    series: BTreeMap<StoreId, Arc<Series>>,
    sums: BTreeMap<(StoreId, CropId), Sums>,
}

impl Known {
    /// Works out the sums that ways need, each once.
    fn of(&mut self, conn: &Connection, ways: &[Way]) -> Result<(), StoreError> {
        for way in ways {
            let Some(rates) = self.lives.get(&way.crop) else { continue };
            let stores = way.legs.iter().filter_map(|leg| match leg.place {
                Place::Store(store) => Some(store),
                Place::Outside(_) => None,
            });
            for store in stores.collect::<BTreeSet<_>>() {
                if self.sums.contains_key(&(store, way.crop)) {
                    continue;
                }
                let series = match self.series.get(&store) {
                    Some(series) => Arc::clone(series),
                    None => Arc::new(cold::series(conn, store, self.from_s)?),
                };
                self.series.insert(store, Arc::clone(&series));
                self.sums.insert((store, way.crop), Sums::new(series, Arc::clone(rates)));
            }
        }
        Ok(())
    }
}

fn told_by(conn: &Connection, sample: &Sample, known: &mut Known) -> Result<Says, StoreError> {
    if sample.crops.len() > 1 {
        return Ok(Says::Nothing(Why::Several));
    }
    if sample.packs == 0 {
        return Ok(Says::Nothing(Why::NoSample));
    }
    let Some(fell) = fell_s(sample.cut_s, &sample.scores) else { return Ok(Says::Still) };
    if let Some(why) = strayed(conn, sample.lot, fell)? {
        return Ok(Says::Nothing(why));
    }
    // what came after it fell says nothing of how it kept
    let ways = stay::ways(conn, sample.lot, fell)?;
    known.of(conn, &ways)?;
    let crop = ways.first().map(|way| way.crop);
    let rates = crop.and_then(|crop| known.lives.get(&crop));
    Ok(says(&ways, rates.map(|rates| &**rates), fell, |store| known.sums.get(&(store, crop?))))
}

/// Packs of a lot that were out of our hands, or out on a round before a moment: which of them were looked at nobody knows.
fn strayed(conn: &Connection, lot: LotId, before_s: i64) -> Result<Option<Why>, StoreError> {
    // index: stock_move_lot
    let (came_back, brought_back): (bool, bool) = conn
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM stock_move WHERE lot_id = ?1 AND void_by IS NULL AND what = 'sample'),
                    EXISTS (SELECT 1 FROM stock_move m JOIN entry e ON e.id = m.entry_id WHERE m.lot_id = ?1
                      AND m.void_by IS NULL AND m.kind = 'brought_back'
                      AND unixepoch(coalesce(e.seen_at, e.at)) - coalesce(m.out_min, 0) * 60 < ?2)",
        )?
        .query_row((lot, before_s), |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(match (came_back, brought_back) {
        (true, _) => Some(Why::CameBack),
        (_, true) => Some(Why::BroughtBack),
        _ => None,
    })
}

/// What an entry scored, and when it was looked at.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<(String, Span), StoreError> {
    let (lot, at_s, n, score): (LotId, i64, i64, i64) = conn
        .prepare_cached("SELECT lot_id, at_s, packs, score FROM score WHERE entry_id = ?")?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let at = cold::instant(at_s)?;
    let text = format!("{}: {} held back, {score} of 9, {}", lot::code(conn, lot)?, packs(n), scale(score));
    Ok((text, Span { from: at, to: Some(at) }))
}

/// The other figures that an entry gave a crop, beside those before.
pub(super) fn refitted(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (set, crop, version, source, name): (i64, CropId, i64, String, String) = conn
        .prepare_cached(
            "SELECT a.id, a.crop_id, a.version, a.source, c.name FROM anchor_set a JOIN crop c ON c.id = a.crop_id
             WHERE a.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
    let units = super::room::units(conn)?;
    // the version it followed is the newest that counted then
    let before: Option<i64> = conn
        .prepare_cached(
            "SELECT id FROM anchor_set WHERE crop_id = ?1 AND version < ?2 AND (void_by IS NULL OR void_by > ?3)
             ORDER BY version DESC LIMIT 1",
        )?
        .query_row((crop, version, entry), |row| row.get(0))
        .optional()?;
    let told = |set: i64| -> Result<Vec<String>, StoreError> {
        let anchors: Vec<(i64, i64)> = conn
            .prepare_cached("SELECT temp_dc, life_h FROM anchor WHERE anchor_set_id = ? ORDER BY temp_dc")?
            .query_map([set], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        Ok(anchors.into_iter().map(|(dc, hours)| format!("{hours} h at {}", units.temperature(dc))).collect())
    };
    let was = match before {
        Some(before) => format!(" instead of {}", told(before)?.join(", ")),
        None => String::new(),
    };
    Ok(format!("{name} keeps {}{was}, by {source}", told(set)?.join(", ")))
}
