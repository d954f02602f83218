//! The countdown of a lot: shares of life used along its way, and what is left.

use std::sync::Arc;

use super::rates::{Marks, Rates};
use super::series::{Series, Sums};
use crate::domain::id::{CropId, StoreId};
use crate::domain::time::{Day, Instant, Now};

/// How wide a figure is, either way. M: published lives at 10 °C run from 4 to 14 days.
pub const BAND: f64 = 0.4;

/// A share of life used, and what is to be said about it.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
pub struct Used {
    pub share: f64,
    pub marks: Marks,
}

impl Used {
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { share: self.share + other.share, marks: self.marks.and(other.marks) }
    }
}

/// Where a lot was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Place {
    Store(StoreId),
    /// In no store; how warm at most, where that is known.
    Outside(Option<i64>),
}

/// A part of a lot's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Leg {
    pub from_s: i64,
    /// None: it is there still.
    pub to_s: Option<i64>,
    pub place: Place,
}

impl Leg {
    /// Where it ends, seen from a moment.
    pub fn until(&self, now_s: i64) -> i64 {
        self.to_s.map_or(now_s, |to| to.min(now_s))
    }
}

/// One crop's way from the cut to where it lies.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Way {
    pub crop: CropId,
    pub name: String,
    pub cut_s: i64,
    pub legs: Vec<Leg>,
}

/// What was used on a way until now. `sums` finds the sums of a store for the way's crop.
pub fn used<'s>(way: &Way, rates: &Rates, now_s: i64, sums: impl Fn(StoreId) -> Option<&'s Sums>) -> Used {
    let unknown = Used { share: 0.0, marks: Marks::UNKNOWN };
    let legs = way.legs.iter().map(|leg| {
        let until = leg.until(now_s);
        if until <= leg.from_s {
            return Used::default();
        }
        match leg.place {
            Place::Store(store) => sums(store).map_or(unknown, |sums| sums.between(leg.from_s, until)),
            Place::Outside(Some(dc)) => Used { share: rates.share(until - leg.from_s, dc), marks: rates.marks(dc) },
            Place::Outside(None) => unknown,
        }
    });
    legs.fold(Used::default(), Used::and)
}

/// What is left, in hours at the temperature it is planned for.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub enum Figure {
    Hours {
        left: f64,
        low: f64,
        high: f64,
    },
    /// No number: it froze, or began to.
    Freezing,
    /// No number: for some of the time nobody knows how warm it was.
    Unknown,
    /// No number: its store has no readings.
    NoRecord,
    /// No number: the crop has no anchors.
    NoAnchors,
}

impl Figure {
    /// `max(0, 1 - f) · SL(plan)`, with its band. The marks are those of what was used, and of the plan.
    pub fn of(used: Used, rates: &Rates, plan_dc: i64) -> (Self, Marks) {
        let marks = used.marks.and(rates.marks(plan_dc));
        let left = (1.0 - used.share).max(0.0) * rates.life_h(plan_dc);
        let figure = match marks {
            Marks { freezing: true, .. } => Self::Freezing,
            Marks { unknown: true, .. } => Self::Unknown,
            _ => Self::Hours { left, low: left * (1.0 - BAND), high: left * (1.0 + BAND) },
        };
        (figure, marks)
    }
}

/// The countdown of a lot.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Left {
    pub figure: Figure,
    pub marks: Marks,
    /// Share used by the part that runs out first.
    pub used: f64,
    /// That part's crop.
    pub crop: Option<CropId>,
}

impl Left {
    /// Of one crop's share.
    pub fn of(used: Used, rates: &Rates, plan_dc: i64, crop: CropId) -> Self {
        let (figure, marks) = Figure::of(used, rates, plan_dc);
        Self { figure, marks, used: used.share, crop: Some(crop) }
    }

    /// No number at all.
    pub fn none(figure: Figure, crop: Option<CropId>) -> Self {
        Self { figure, marks: Marks::default(), used: 0.0, crop }
    }

    pub fn hours(&self) -> Option<f64> {
        match self.figure {
            Figure::Hours { left, .. } => Some(left),
            _ => None,
        }
    }

    /// `3.2 d (1.9-4.5)`, under two days in hours; else why there is no number.
    pub fn words(&self) -> String {
        match self.figure {
            Figure::Hours { left, low, high } if left < 48.0 => {
                format!("{:.0} h ({:.0}-{:.0})", left.floor(), low.floor(), high.floor())
            }
            Figure::Hours { left, low, high } => format!("{:.1} d ({:.1}-{:.1})", left / 24.0, low / 24.0, high / 24.0),
            Figure::Freezing => "freezing, inspect".into(),
            Figure::Unknown => "temperature unknown, decide by name".into(),
            Figure::NoRecord => "no temperature record".into(),
            Figure::NoAnchors => "no shelf life set for the crop".into(),
        }
    }

    /// What wants someone comes first, then the least left.
    pub fn urgency(&self) -> f64 {
        match self.figure {
            Figure::Hours { left, .. } => left,
            Figure::Freezing => -3.0,
            Figure::Unknown => -2.0,
            Figure::NoRecord => -1.0,
            Figure::NoAnchors => f64::MAX,
        }
    }
}

/// A blend takes its shortest part, and says what is to be said of any.
pub fn shortest(parts: Vec<Left>) -> Left {
    let marks = parts.iter().fold(Marks::default(), |marks, part| marks.and(part.marks));
    let grave = |left: &Left| match left.figure {
        // a part without figures leaves the whole without one, but hides nothing graver
        Figure::NoAnchors => -0.5,
        _ => left.urgency(),
    };
    let first = parts.into_iter().min_by(|a, b| grave(a).total_cmp(&grave(b)));
    first.map_or_else(|| Left::none(Figure::NoRecord, None), |left| Left { marks, ..left })
}

/// The day of the early end of the band, counted from now.
pub fn early_day(left: &Left, now: Now) -> Option<Day> {
    let Figure::Hours { low, .. } = left.figure else { return None };
    #[expect(clippy::cast_possible_truncation, reason = "hours of some weeks")]
    let minutes = (low * 60.0).floor() as i64;
    let at = now.instant().0.checked_add_signed(chrono::Duration::minutes(minutes))?;
    Some(now.local(Instant(at)).date_naive())
}

/// One row of a sum as it is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    pub from_s: i64,
    pub to_s: i64,
    pub place: Place,
    pub dc: Option<i64>,
    pub gap: bool,
    pub share: f64,
}

impl Way {
    /// The sum reading by reading: the same rules, counted one stretch after the other.
    pub fn parts<'s>(
        &self,
        rates: &Rates,
        now_s: i64,
        series: impl Fn(StoreId) -> Option<&'s Arc<Series>>,
    ) -> Vec<Part> {
        let mut parts = Vec::new();
        for leg in &self.legs {
            let (from_s, to_s) = (leg.from_s, leg.until(now_s));
            if to_s <= from_s {
                continue;
            }
            let mut add = |from_s: i64, to_s: i64, dc: Option<i64>, gap: bool| {
                let share = dc.map_or(0.0, |dc| rates.share(to_s - from_s, dc));
                parts.push(Part { from_s, to_s, place: leg.place, dc, gap, share });
            };
            match leg.place {
                Place::Outside(dc) => add(from_s, to_s, dc, false),
                Place::Store(store) => match series(store) {
                    Some(series) => series
                        .stretches(from_s, to_s)
                        .into_iter()
                        .for_each(|stretch| add(stretch.from_s, stretch.to_s, stretch.dc, stretch.gap)),
                    None => add(from_s, to_s, None, true),
                },
            }
        }
        parts
    }
}
