//! The clock from the cut until it is cold.

use crate::domain::delivery::COLD_DC;
use crate::domain::id::StoreId;
use crate::domain::keeping::{Place, Series, Way};

/// Minutes from the cut at which it is flagged, and at which it is an alarm. P: Food Code 3-501.14 for the four hours.
pub const FLAG_MIN: i64 = 120;
pub const ALARM_MIN: i64 = 240;

/// How long it took from the cut until a store's reading was cold enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Clock {
    /// It took so many minutes.
    Cold(i64),
    /// It is not cold yet, after so many minutes.
    Running(i64),
}

impl Clock {
    pub fn minutes(self) -> i64 {
        match self {
            Self::Cold(minutes) | Self::Running(minutes) => minutes,
        }
    }

    pub fn flagged(self) -> bool {
        self.minutes() >= FLAG_MIN
    }

    pub fn alarm(self) -> bool {
        self.minutes() >= ALARM_MIN
    }

    /// Not cold yet, and already flagged.
    pub fn urgent(self) -> bool {
        matches!(self, Self::Running(_)) && self.flagged()
    }

    /// `cold after 1 h 10 min`, `NOT COLD for 2 h 20 min`.
    pub fn words(self) -> String {
        let lasting = crate::domain::power_cut::lasting(self.minutes());
        match self {
            Self::Cold(_) if self.alarm() => format!("COLD ONLY AFTER {lasting}"),
            Self::Cold(_) => format!("cold after {lasting}"),
            Self::Running(_) if self.flagged() => format!("NOT COLD for {lasting}"),
            Self::Running(_) => format!("not cold yet, {lasting}"),
        }
    }
}

/// What counts as cold in a store: for what cold harms, as that store is meant to be.
pub fn limit_dc(harmed: bool, max_dc: i64) -> i64 {
    if harmed { COLD_DC.max(max_dc) } else { COLD_DC }
}

/// Until the first reading of its store at or below the limit, taken since it lies there.
///
/// `stores` finds what a store read, and the limit that counts there.
pub fn clock<'s>(way: &Way, now_s: i64, stores: impl Fn(StoreId) -> Option<(&'s Series, i64)>) -> Clock {
    let cold = way.legs.iter().find_map(|leg| {
        let Place::Store(store) = leg.place else { return None };
        let (series, limit_dc) = stores(store)?;
        let readings = series.readings();
        let first = readings.partition_point(|reading| reading.at_s < leg.from_s);
        let cold = readings.iter().skip(first).take_while(|reading| reading.at_s <= leg.until(now_s));
        cold.into_iter().find(|reading| reading.dc <= limit_dc).map(|reading| reading.at_s)
    });
    match cold {
        Some(at_s) => Clock::Cold((at_s - way.cut_s) / 60),
        None => Clock::Running((now_s - way.cut_s).max(0) / 60),
    }
}
