//! A store's readings in the order of time, and prefix sums over them.

use std::sync::Arc;

use super::FREEZING_DC;
use super::count::Used;
use super::rates::{Marks, Rates};

/// One reading of a store.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Reading {
    pub at_s: i64,
    pub dc: i64,
}

/// Hours without power, and the warmest that was measured in them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Cut {
    pub from_s: i64,
    /// None while it lasts.
    pub to_s: Option<i64>,
    pub warmest_dc: Option<i64>,
}

impl Cut {
    fn overlaps(&self, from_s: i64, to_s: i64) -> bool {
        self.from_s < to_s && self.to_s.is_none_or(|to| to > from_s)
    }

    fn covers(&self, at_s: i64) -> bool {
        at_s >= self.from_s && self.to_s.is_none_or(|to| at_s <= to)
    }
}

/// From a reading to the next, and what counts for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Stretch {
    pub from_s: i64,
    pub to_s: i64,
    /// `None`: nobody knows.
    pub dc: Option<i64>,
    /// The warmer of its ends, also where nobody knows.
    pub ends_dc: i64,
    pub gap: bool,
    /// Its reading was at or below freezing, whatever counts.
    pub froze: bool,
}

/// The readings of several sensors as those of one place: at each moment the warmest of those that stand, each for as long as
/// readings may lie apart. A cold reading of one sensor never hides a warm one of another.
pub fn warmest_of(mut readings: Vec<(i64, Reading)>, gap_s: i64) -> Vec<Reading> {
    readings.sort_unstable_by_key(|(sensor, reading)| (reading.at_s, *sensor, reading.dc));
    let mut last: Vec<(i64, Reading)> = Vec::new();
    let mut all = Vec::with_capacity(readings.len());
    for (sensor, reading) in readings {
        let others = last.iter().filter(|(other, stood)| *other != sensor && reading.at_s - stood.at_s <= gap_s);
        let dc = others.map(|(_, stood)| stood.dc).fold(reading.dc, i64::max);
        all.push(Reading { dc, ..reading });
        match last.iter_mut().find(|(other, _)| *other == sensor) {
            // of equal instants the warmer counts
            Some((_, stood)) if stood.at_s == reading.at_s => stood.dc = stood.dc.max(reading.dc),
            Some((_, stood)) => *stood = reading,
            None => last.push((sensor, reading)),
        }
    }
    all
}

/// What one store read, oldest first; of equal instants the warmer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Series {
    readings: Vec<Reading>,
    /// Seconds between two readings beyond which there is a gap.
    gap_s: i64,
    cuts: Vec<Cut>,
    /// Stretches before each reading that are gaps, or that nobody knows: counted up.
    gaps: Vec<(u32, u32)>,
    /// Readings up to each that froze: counted up.
    frozen: Vec<u32>,
}

impl Series {
    /// Of readings in any order.
    pub fn new(mut readings: Vec<Reading>, gap_s: i64, cuts: Vec<Cut>) -> Self {
        // of equal instants the warmest stands first, and stays
        readings.sort_unstable_by(|a, b| (a.at_s, b.dc).cmp(&(b.at_s, a.dc)));
        readings.dedup_by_key(|reading| reading.at_s);
        let mut series = Self { readings, gap_s, cuts, gaps: Vec::new(), frozen: Vec::new() };
        let (mut gaps, mut unknown, mut frozen) = (0, 0, 0);
        for n in 0..series.readings.len() {
            if let Some(before) = n.checked_sub(1).and_then(|before| series.closed(before)) {
                gaps += u32::from(before.gap);
                unknown += u32::from(before.dc.is_none());
            }
            series.gaps.push((gaps, unknown));
            frozen += u32::from(series.readings.get(n).is_some_and(|reading| reading.dc <= FREEZING_DC));
            series.frozen.push(frozen);
        }
        series
    }

    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    pub fn gap_s(&self) -> i64 {
        self.gap_s
    }

    /// From reading `n` to the next one.
    fn closed(&self, n: usize) -> Option<Stretch> {
        let (a, b) = (self.readings.get(n)?, self.readings.get(n + 1)?);
        Some(self.stretch(*a, b.at_s, Some(*b)))
    }

    /// From a reading to a moment, which `next` ends if there is one. Without one, the reading itself is all that is known.
    fn stretch(&self, reading: Reading, to_s: i64, next: Option<Reading>) -> Stretch {
        let Reading { at_s: from_s, dc } = reading;
        let froze = dc <= FREEZING_DC;
        if to_s - from_s <= self.gap_s {
            return Stretch { from_s, to_s, dc: Some(dc), ends_dc: dc, gap: false, froze };
        }
        let ends = next.map_or(dc, |next| next.dc.max(dc));
        let mut dc = Some(ends);
        for cut in self.cuts.iter().filter(|cut| cut.overlaps(from_s, to_s)) {
            let inside = [Some(reading), next].into_iter().flatten().filter(|end| cut.covers(end.at_s));
            let known = inside.map(|end| end.dc).chain(cut.warmest_dc).max();
            // nothing was measured while the power was out: the ends say nothing of it
            dc = known.and_then(|known| dc.map(|dc| dc.max(known)));
        }
        Stretch { from_s, to_s, dc, ends_dc: ends, gap: true, froze }
    }

    /// The last reading at or before a moment.
    fn before(&self, at_s: i64) -> Option<usize> {
        self.readings.partition_point(|reading| reading.at_s <= at_s).checked_sub(1)
    }

    /// From one moment to another, stretch by stretch; those at both ends are cut.
    pub fn stretches(&self, from_s: i64, to_s: i64) -> Vec<Stretch> {
        let mut list = Vec::new();
        let mut n = if let Some(n) = self.before(from_s) {
            n
        } else {
            list.extend(self.leading(from_s, to_s));
            0
        };
        while let Some(reading) = self.readings.get(n).filter(|reading| reading.at_s < to_s) {
            let whole = self.after_reading(n, *reading, to_s);
            let cut = Stretch { from_s: whole.from_s.max(from_s), to_s: whole.to_s.min(to_s), ..whole };
            if cut.to_s > cut.from_s {
                list.push(cut);
            }
            n += 1;
        }
        list
    }

    /// The stretch that begins with a reading: to the next, or to the moment asked about.
    fn after_reading(&self, n: usize, reading: Reading, to_s: i64) -> Stretch {
        self.closed(n).unwrap_or_else(|| self.stretch(reading, to_s, None))
    }

    /// Before the first reading of all: that reading, if it came soon enough.
    fn leading(&self, from_s: i64, to_s: i64) -> Option<Stretch> {
        if to_s <= from_s {
            return None;
        }
        let Some(first) = self.readings.first() else {
            return Some(Stretch { from_s, to_s, dc: None, ends_dc: i64::MIN, gap: true, froze: false });
        };
        let end = to_s.min(first.at_s);
        let dc = (first.at_s - from_s <= self.gap_s).then_some(first.dc);
        (end > from_s).then_some(Stretch { from_s, to_s: end, dc, ends_dc: first.dc, gap: true, froze: false })
    }

    /// The first reading that another series has otherwise.
    fn first_other(&self, other: &Self) -> usize {
        if self.gap_s != other.gap_s || self.cuts != other.cuts {
            return 0;
        }
        self.readings.iter().zip(&other.readings).take_while(|(a, b)| a == b).count()
    }
}

/// Shares of life used up to each reading of a series, by one crop's rates.
#[derive(Debug, Clone, PartialEq)]
pub struct Sums {
    series: Arc<Series>,
    rates: Arc<Rates>,
    /// Used from the first reading to each, and of the stretches before it how many chill and are warmer than any anchor.
    upto: Vec<(f64, u32, u32)>,
}

impl Sums {
    pub fn new(series: Arc<Series>, rates: Arc<Rates>) -> Self {
        let mut sums = Self { series, rates, upto: Vec::new() };
        sums.go_on();
        sums
    }

    /// The same rates over a series that changed: worked out again from the first reading that is another.
    #[must_use]
    pub fn over(mut self, series: Arc<Series>) -> Self {
        // the stretch before the first other reading ends at it
        let same = self.series.first_other(&series);
        self.upto.truncate(same);
        self.series = series;
        self.go_on();
        self
    }

    fn go_on(&mut self) {
        let (mut used, mut chilling, mut extrapolated) = self.upto.last().copied().unwrap_or_default();
        self.upto.reserve(self.series.readings.len().saturating_sub(self.upto.len()));
        for n in self.upto.len()..self.series.readings.len() {
            if let Some(stretch) = n.checked_sub(1).and_then(|before| self.series.closed(before))
                && let Some(dc) = stretch.dc
            {
                used += self.share(&stretch);
                let marks = self.rates.marks(dc);
                chilling += u32::from(marks.chilling);
                extrapolated += u32::from(marks.extrapolated);
            }
            self.upto.push((used, chilling, extrapolated));
        }
    }

    pub fn series(&self) -> &Series {
        &self.series
    }

    /// The share of life that a stretch uses; nothing is counted where nobody knows.
    fn share(&self, stretch: &Stretch) -> f64 {
        stretch.dc.map_or(0.0, |dc| self.rates.share(stretch.to_s - stretch.from_s, dc))
    }

    fn one(&self, stretch: &Stretch) -> Used {
        let marks = stretch.dc.map_or(Marks::UNKNOWN, |dc| self.rates.marks(dc));
        let freezing = marks.freezing || stretch.froze;
        Used { share: self.share(stretch), marks: Marks { gap: stretch.gap, freezing, ..marks } }
    }

    /// What was used from one moment to another. In logarithmic time, however many readings lie between.
    pub fn between(&self, from_s: i64, to_s: i64) -> Used {
        let mut used = Used::default();
        if to_s <= from_s {
            return used;
        }
        let first = if let Some(n) = self.series.before(from_s) {
            n
        } else {
            used = self.series.leading(from_s, to_s).map_or(used, |stretch| self.one(&stretch));
            0
        };
        let Some(last) = self.series.before(to_s - 1).filter(|last| *last >= first) else { return used };
        let ends = |n: usize| {
            let reading = *self.series.readings.get(n)?;
            let whole = self.series.after_reading(n, reading, to_s);
            Some(Stretch { from_s: whole.from_s.max(from_s), to_s: whole.to_s.min(to_s), ..whole })
        };
        used = used.and(ends(first).map_or(Used::default(), |stretch| self.one(&stretch)));
        if last > first {
            used = used.and(self.whole(first + 1, last));
            used = used.and(ends(last).map_or(Used::default(), |stretch| self.one(&stretch)));
        }
        used
    }

    /// From reading `a` to reading `b`, both whole.
    fn whole(&self, a: usize, b: usize) -> Used {
        let at = |n: usize| self.upto.get(n).copied().unwrap_or_default();
        let (gaps, frozen) = (&self.series.gaps, &self.series.frozen);
        let ((to, chills, warms), (from, chilled, warmed)) = (at(b), at(a));
        let counts = |n: usize| gaps.get(n).copied().unwrap_or_default();
        let froze = |n: usize| n.checked_sub(1).and_then(|n| frozen.get(n)).copied().unwrap_or_default();
        let marks = Marks {
            freezing: froze(b) > froze(a),
            chilling: chills > chilled,
            extrapolated: warms > warmed,
            gap: counts(b).0 > counts(a).0,
            unknown: counts(b).1 > counts(a).1,
        };
        Used { share: to - from, marks }
    }
}
