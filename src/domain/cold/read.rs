//! The cold stores as their screens show them, with the sums that countdowns are read from.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::clock::{Clock, clock, limit_dc};
use super::spell::Spell;
use super::{Limits, Measured, Rules};
use crate::domain::breach::Verdict;
use crate::domain::hold::Buyer;
use crate::domain::id::{CropId, LotId, SensorId, StoreId};
use crate::domain::keeping::{Figure, Left, Part, Place, Rates, Series, Sums, Way, shortest, used};

/// The newest reading of a store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandRead {
    pub at_s: i64,
    pub dc: i64,
    /// Of a reading by hand.
    pub measured: Option<Measured>,
    /// Sensor or thermometer.
    pub by: String,
}

/// A logger of a store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thermometer {
    pub id: SensorId,
    pub rev: i64,
    pub name: String,
}

/// A lot that a spell touched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    /// `12 packs`, or nothing where none is here any more.
    pub here: String,
    pub ways: Vec<Way>,
}

/// A spell with what it touched, and what was decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpellSeen {
    pub spell: Spell,
    /// The newest decision that covers it, and whose.
    pub decided: Option<(Verdict, String)>,
    pub touched: Vec<Touched>,
    pub buyers: Vec<Buyer>,
}

impl SpellSeen {
    /// Wants a decision yet: something lay there.
    pub fn open(&self) -> bool {
        !self.touched.is_empty() && !matches!(self.decided, Some((Verdict::Accepted | Verdict::Thrown, _)))
    }
}

/// A cold store as it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColdStore {
    pub id: StoreId,
    pub rev: i64,
    pub name: String,
    /// Lots of days gone by may have lain in one that is out of use.
    pub used: bool,
    pub limits: Limits,
    pub series: Arc<Series>,
    pub newest: Option<HandRead>,
    /// Loggers, without the readings by hand.
    pub sensors: Vec<Thermometer>,
    /// Those that want a decision, and those of the last fortnight, newest first.
    pub spells: Vec<SpellSeen>,
    /// Thermometers that were named here, the newest first.
    pub thermometers: Vec<String>,
}

/// Where a lot was since its greens were cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotWays {
    pub lot: LotId,
    pub ways: Vec<Way>,
    /// The store it lies in now.
    pub store: Option<StoreId>,
    /// Since when it lies where it lies.
    pub since_s: i64,
}

/// Everything the screens of the cold stores and the countdowns need.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cold {
    pub stores: Vec<ColdStore>,
    /// Lots of which something is here or on the way.
    pub lots: Vec<LotWays>,
    pub rules: Rules,
    pub rules_rev: i64,
    /// What it is planned for after it leaves us, tenths of °C.
    pub after_dc: i64,
    lives: BTreeMap<CropId, Arc<Rates>>,
    sums: BTreeMap<(StoreId, CropId), Sums>,
}

impl Cold {
    /// Works the sums out that the lots' ways need. `before`: those of a moment ago, of which what is the same is kept.
    pub fn new(
        stores: Vec<ColdStore>,
        lots: Vec<LotWays>,
        (rules, rules_rev): (Rules, i64),
        after_dc: i64,
        lives: BTreeMap<CropId, Arc<Rates>>,
        before: Option<Self>,
    ) -> Self {
        let mut cold = Self { stores, lots, rules, rules_rev, after_dc, lives: BTreeMap::new(), sums: BTreeMap::new() };
        cold.work_out(lives, before);
        cold
    }

    fn work_out(&mut self, lives: BTreeMap<CropId, Arc<Rates>>, before: Option<Self>) {
        let mut known = before.map_or_else(BTreeMap::new, |before| {
            // other anchors make another sum
            let same = |crop: &CropId| before.lives.get(crop) == lives.get(crop);
            before.sums.into_iter().filter(|((_, crop), _)| same(crop)).collect()
        });
        let touched = self.stores.iter().flat_map(|store| &store.spells).flat_map(|spell| &spell.touched);
        let ways = self.lots.iter().flat_map(|lot| &lot.ways).chain(touched.flat_map(|lot| &lot.ways));
        for way in ways {
            let Some(rates) = lives.get(&way.crop) else { continue };
            for leg in &way.legs {
                let Place::Store(store) = leg.place else { continue };
                let Some(of) = self.stores.iter().find(|known| known.id == store) else { continue };
                self.sums.entry((store, way.crop)).or_insert_with(|| match known.remove(&(store, way.crop)) {
                    Some(sums) => sums.over(Arc::clone(&of.series)),
                    None => Sums::new(Arc::clone(&of.series), Arc::clone(rates)),
                });
            }
        }
        self.lives = lives;
    }

    pub fn lives(&self) -> &BTreeMap<CropId, Arc<Rates>> {
        &self.lives
    }

    /// Stores in use, by name.
    pub fn in_use(&self) -> impl Iterator<Item = &ColdStore> {
        self.stores.iter().filter(|store| store.used)
    }

    pub fn store(&self, id: StoreId) -> Option<&ColdStore> {
        self.stores.iter().find(|store| store.id == id)
    }

    pub fn lot(&self, id: LotId) -> Option<&LotWays> {
        self.lots.iter().find(|lot| lot.lot == id)
    }

    /// What it is counted on at: in its store as that is kept, elsewhere as after it leaves us.
    pub fn plan_dc(&self, lot: &LotWays) -> i64 {
        lot.store.and_then(|store| self.store(store)).map_or(self.after_dc, |store| store.limits.plan_dc)
    }

    fn one(&self, way: &Way, plan_dc: i64, now_s: i64) -> Left {
        let Some(rates) = self.lives.get(&way.crop) else { return Left::none(Figure::NoAnchors, Some(way.crop)) };
        let silent = |place: Place| match place {
            Place::Store(store) => self.store(store).is_none_or(|store| store.series.readings().is_empty()),
            Place::Outside(_) => false,
        };
        if way.legs.iter().any(|leg| silent(leg.place)) {
            return Left::none(Figure::NoRecord, Some(way.crop));
        }
        let used = used(way, rates, now_s, |store| self.sums.get(&(store, way.crop)));
        Left::of(used, rates, plan_dc, way.crop)
    }

    /// How long a lot still keeps at a temperature; of what went into it the shortest.
    pub fn left_at(&self, lot: &LotWays, plan_dc: i64, now_s: i64) -> Left {
        shortest(lot.ways.iter().map(|way| self.one(way, plan_dc, now_s)).collect())
    }

    /// The countdown of a lot; `None` of what was never cut.
    pub fn left(&self, id: LotId, now_s: i64) -> Option<Left> {
        let lot = self.lot(id).filter(|lot| !lot.ways.is_empty())?;
        Some(self.left_at(lot, self.plan_dc(lot), now_s))
    }

    /// The slowest of what went into a lot, from the cut until it was cold.
    pub fn clock(&self, id: LotId, now_s: i64) -> Option<Clock> {
        let ways = &self.lot(id)?.ways;
        ways.iter().map(|way| self.clock_of(way, now_s)).max_by_key(|clock| clock.minutes())
    }

    fn clock_of(&self, way: &Way, now_s: i64) -> Clock {
        // what cold harms is kept as its store is meant to be
        let harmed = self.lives.get(&way.crop).is_some_and(|rates| rates.chilling());
        clock(way, now_s, |store| {
            let store = self.store(store)?;
            Some((&*store.series, limit_dc(harmed, store.limits.max_dc)))
        })
    }

    /// The sum of one way, reading by reading.
    pub fn parts(&self, way: &Way, now_s: i64) -> Vec<Part> {
        let Some(rates) = self.lives.get(&way.crop) else { return vec![] };
        way.parts(rates, now_s, |store| self.store(store).map(|store| &store.series))
    }

    /// Hours of life, at its store's plan, that a spell cost a lot beyond the time that passed; the most any part lost.
    #[expect(clippy::cast_precision_loss, reason = "seconds of some weeks")]
    pub fn lost_h(&self, spell: &Spell, touched: &Touched) -> Option<f64> {
        let plan_dc = self.store(spell.key.store)?.limits.plan_dc;
        let lost = touched.ways.iter().filter_map(|way| {
            let rates = self.lives.get(&way.crop)?;
            let sums = self.sums.get(&(spell.key.store, way.crop))?;
            let legs = way.legs.iter().filter(|leg| leg.place == Place::Store(spell.key.store));
            let spans = legs.map(|leg| (leg.from_s.max(spell.key.from_s), leg.until(spell.to_s)));
            let of = |(from, to): (i64, i64)| {
                let share = sums.between(from, to).share;
                share * rates.life_h(plan_dc) - (to - from) as f64 / 3600.0
            };
            Some(spans.filter(|(from, to)| to > from).map(of).sum::<f64>().max(0.0))
        });
        lost.max_by(f64::total_cmp)
    }

    /// Whether a spell fell into the second half of a lot's life, where it does more harm than the sum says.
    pub fn late(&self, spell: &Spell, touched: &Touched) -> bool {
        touched.ways.iter().any(|way| {
            let Some(rates) = self.lives.get(&way.crop) else { return false };
            used(way, rates, spell.key.from_s, |store| self.sums.get(&(store, way.crop))).share >= 0.5
        })
    }

    /// Spells that want a decision, with their stores, the oldest first.
    pub fn open_spells(&self) -> Vec<(&ColdStore, &SpellSeen)> {
        let spells = self.stores.iter().flat_map(|store| store.spells.iter().map(move |spell| (store, spell)));
        let mut open: Vec<_> = spells.filter(|(_, spell)| spell.open()).collect();
        open.sort_by_key(|(_, spell)| spell.spell.key.from_s);
        open
    }

    /// Lots that are not cold although they were cut a while ago, or took too long. Where no store is kept, nobody knows.
    pub fn not_cold(&self, now_s: i64) -> Vec<(LotId, Clock)> {
        if self.in_use().next().is_none() || !self.rules.cold_food {
            return Vec::new();
        }
        let clocks = self.lots.iter().filter_map(|lot| Some((lot.lot, self.clock(lot.lot, now_s)?)));
        clocks.filter(|(_, clock)| clock.urgent() || clock.alarm()).collect()
    }
}
