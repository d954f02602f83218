//! The cold of the demo: two fridges with a logger each, what is put where, and a night on which the small one failed.

use chrono::Duration;

use super::{Notebook, Room};
use crate::domain::action::Action;
use crate::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway, Rules};
use crate::domain::id::{LotId, SensorId, StoreId};
use crate::domain::lot::Kind;
use crate::domain::reading::{NewReadings, Reading, Spot};
use crate::domain::time::{Day, Instant, Now};
use crate::store::air::digest;
use crate::store::error::StoreError;

/// The fridges, and their loggers.
const STORES: [(&str, &str); 3] =
    [("walk-in", "walk-in logger"), ("small fridge", "fridge logger"), ("herb cupboard", "cupboard logger")];

/// What each of them keeps, on an average.
const KEPT_C: [f64; 3] = [3.7, 3.9, 12.0];

/// Which crops lie in the small fridge, and which in the cupboard, since cold harms them.
const SMALL: [&str; 2] = ["RAD", "MUS"];
const HERBS: [&str; 1] = ["BAS"];

/// Which of the stores a crop lies in.
fn place(letters: &str) -> usize {
    match letters {
        letters if SMALL.contains(&letters) => 1,
        letters if HERBS.contains(&letters) => 2,
        _ => 0,
    }
}

/// Readings come every quarter of an hour.
const STEP_MIN: i64 = 15;

/// The night before today the small fridge warmed up for so many hours, from ten in the evening on.
const FAILED_H: i64 = 6;

#[derive(Default)]
pub(super) struct Fridges {
    stores: Vec<StoreId>,
    loggers: Vec<SensorId>,
}

impl Fridges {
    pub(super) fn of(&self, letters: &str) -> Option<StoreId> {
        self.stores.get(place(letters)).copied()
    }
}

impl Room<'_> {
    pub(super) fn fridges(&mut self) -> Result<Fridges, StoreError> {
        let mut book = self.notebook(self.calendar.first, 7 * 60 + 15);
        for (n, (name, _)) in STORES.into_iter().enumerate() {
            let herbs = Limits { min_dc: 100, max_dc: 150, plan_dc: 120, ..Limits::default() };
            let limits = if n == 2 { herbs } else { Limits::default() };
            book.write(60, Action::AddStore(Box::new(NewStore { name: name.into(), limits })));
        }
        let rules = Rules { bench_dc: Some(230), ..Rules::default() };
        book.write(30, Action::EditColdRules { rules: Box::new(rules), rev: 0 });
        let made = self.commit(&book)?;
        let stores: Vec<StoreId> = made.iter().take(STORES.len()).filter_map(|done| done.made.map(StoreId)).collect();
        book.steps.clear();
        for (store, (_, logger)) in stores.iter().zip(STORES) {
            book.write(30, Action::AddSensor { name: logger.into(), at: Spot::Store(*store) });
        }
        let made = self.commit(&book)?;
        Ok(Fridges { stores, loggers: made.iter().filter_map(|done| done.made.map(SensorId)).collect() })
    }

    /// A look at the thermometers in the morning.
    pub(super) fn thermometers(&mut self, day: Day) -> Result<(), StoreError> {
        let mut book = self.notebook(day, 6 * 60 + 40);
        for (n, store) in self.fridges.stores.clone().into_iter().enumerate() {
            let temp_dc = if n == 2 { 118 } else { 36 } + self.rng.i64(0..8);
            let (thermometer, measured) = ("probe 2".to_string(), Measured::Product);
            let at = book.at.instant();
            let new = HandReading { store, at, temp_dc, thermometer, measured };
            book.write(20, Action::ReadCold(Box::new(new)));
        }
        self.commit(&book)?;
        Ok(())
    }

    /// What was cut goes into the cold before it is packed.
    pub(super) fn put_tubs_away(&mut self, day: Day) -> Result<(), StoreError> {
        let (goods, cold) = (self.store.goods(day)?, self.store.cold(self.now, None)?);
        let lies = |lot: LotId| cold.lot(lot).and_then(|lot| lot.store).is_some();
        let mut book = self.notebook(day, 8 * 60 + 20);
        for (n, store) in self.fridges.stores.clone().into_iter().enumerate() {
            let tubs = goods.lots.iter().filter(|lot| lot.kind == Kind::Harvest && lot.here() > 0 && !lies(lot.id));
            let here = |code: &str| code.split('-').next().is_some_and(|letters| place(letters) == n);
            let lots: Vec<LotId> = tubs.filter(|lot| here(&lot.code)).map(|lot| lot.id).collect();
            Self::put(&mut book, store, lots);
        }
        self.commit(&book)?;
        Ok(())
    }

    fn put(book: &mut Notebook, store: StoreId, lots: Vec<LotId>) {
        if !lots.is_empty() {
            let at = book.at.plus(Duration::seconds(60)).instant();
            book.write(60, Action::PutAway(Box::new(PutAway { lots, store: Some(store), at, out_dc: Some(210) })));
        }
    }

    /// This morning the loggers' files are read: all they wrote since the book began.
    pub(super) fn loggers(&mut self) -> Result<(), StoreError> {
        let mut book = self.notebook(self.now.day(), 0);
        for (n, sensor) in self.fridges.loggers.clone().into_iter().enumerate() {
            let begun = super::moment(self.now, self.calendar.first, 0).instant();
            let readings = readings(begun, book.at, n);
            let Some((_, logger)) = STORES.get(n) else { continue };
            let file = format!("{logger}.csv");
            let sha256 = digest(format!("{file} {readings:?}").as_bytes());
            let new = NewReadings { sensor, file, sha256, part: None, readings, map: None };
            book.write(0, Action::ImportAir(Box::new(new)));
        }
        self.commit(&book)?;
        Ok(())
    }
}

/// A store that defrosts twice a day; the small fridge failed last night.
fn readings(begun: Instant, until: Now, n: usize) -> Vec<Reading> {
    let (kept, failed) = (KEPT_C.get(n).copied().unwrap_or_default(), n == 1);
    let night = super::moment(until, until.day() - Duration::days(1), 22 * 60).instant();
    let mut all = Vec::new();
    let mut at = begun;
    while at < until.instant() {
        let hour = (at.0.timestamp() / 3600).rem_euclid(24);
        let defrost = if hour % 12 == 3 && (at.0.timestamp() / 60) % 60 < STEP_MIN { 0.8 } else { 0.0 };
        let mut temp = kept + super::air::turn(at, 2.0) * 0.4 + defrost;
        let since = (at.0 - night.0).num_minutes();
        if failed && (0..FAILED_H * 60).contains(&since) {
            // it warms for three hours and cools again
            #[expect(clippy::cast_precision_loss, reason = "minutes of one night")]
            let away = (since - FAILED_H * 30).abs() as f64;
            temp = 12.6 - away * 0.045;
        }
        all.extend(Reading::new(at, temp, None).ok());
        at = Instant(at.0 + Duration::minutes(STEP_MIN));
    }
    all
}
