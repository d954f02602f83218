//! What is drawn of a week: dots, weeks in a row, bars and racks, as plain data that the screen and paper both draw from.

use serde::Serialize;

use super::proportion::Share;
use super::text::{columns, counted};

mod draw;
mod scale;
#[cfg(test)]
pub mod tests;

pub use scale::{At, Scale, shown};

/// One picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Picture {
    Dots(Dots),
    Runs(Runs),
    Bars(Bars),
    Heat(Heat),
}

/// How far apart single values lie, a row each crop, seed lot or shelf.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Dots {
    pub title: String,
    pub unit: String,
    /// What a dot is: `tray`.
    pub each: String,
    pub rows: Vec<DotRow>,
}

#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct DotRow {
    pub label: String,
    pub values: Vec<f64>,
    pub mean: Option<f64>,
    pub interval: Option<(f64, f64)>,
    /// Which values are to be checked, in the order of the values; missing ones are not.
    pub odd: Vec<bool>,
}

/// One value after the other: medians by week, or single trays with their limits.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Runs {
    pub title: String,
    pub unit: String,
    /// What stands below a point (`W47`), and its value if there is one.
    pub points: Vec<(String, Option<f64>)>,
    pub centre: Option<f64>,
    /// `median`.
    pub centre_label: String,
    pub limits: Option<(f64, f64)>,
    /// Which points are out of the ordinary, in their order; missing ones are not.
    pub signal: Vec<bool>,
    /// A second line through smoothed values, or none.
    pub smoothed: Vec<Option<f64>>,
}

/// How many of each reason.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Bars {
    pub title: String,
    /// What is counted: `tray`.
    pub each: String,
    /// Reason, how many, and the same in words with what they are out of.
    pub bars: Vec<(String, u64, String)>,
}

/// x of n at each place of the racks.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Heat {
    pub title: String,
    /// What happened to x of the n: `lost`.
    pub what: String,
    pub racks: Vec<HeatRack>,
}

#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct HeatRack {
    pub name: String,
    /// From the top down: the name, and the places from the left.
    pub shelves: Vec<(String, Vec<Place>)>,
}

/// x of n at a place; none where nothing stood.
pub type Place = Option<(u64, u64)>;

impl Picture {
    pub fn title(&self) -> &str {
        match self {
            Self::Dots(dots) => &dots.title,
            Self::Runs(runs) => &runs.title,
            Self::Bars(bars) => &bars.title,
            Self::Heat(heat) => &heat.title,
        }
    }

    /// Everything the picture shows, for whoever cannot see it.
    pub fn words(&self) -> String {
        let told = match self {
            Self::Dots(dots) => dots.rows.iter().map(|row| row.words(dots)).collect::<Vec<_>>().join("; "),
            Self::Runs(runs) => runs.words(),
            Self::Bars(bars) => {
                bars.bars.iter().map(|(label, _, words)| format!("{label}: {words}")).collect::<Vec<_>>().join("; ")
            }
            Self::Heat(heat) => return heat.words(),
        };
        if told.is_empty() { NOTHING.into() } else { format!("{told}.") }
    }
}

/// Said instead of a picture.
pub const NOTHING: &str = "Nothing to draw yet.";

impl DotRow {
    /// The values that are numbers, from the least, each with whether it is to be checked.
    pub fn marks(&self) -> Vec<(f64, bool)> {
        let odd = self.odd.iter().copied().chain(std::iter::repeat(false));
        let mut marks: Vec<(f64, bool)> = self.values.iter().copied().zip(odd).filter(|(x, _)| x.is_finite()).collect();
        marks.sort_by(|a, b| a.0.total_cmp(&b.0));
        marks
    }

    pub fn mean(&self) -> Option<f64> {
        self.mean.filter(|mean| mean.is_finite())
    }

    pub fn interval(&self) -> Option<(f64, f64)> {
        self.interval.filter(|(low, high)| low.is_finite() && high.is_finite() && low <= high)
    }

    /// `14 trays, 239 g` and `225 to 254 g`; one or two values are said as they are.
    pub fn figures(&self, dots: &Dots) -> (String, String) {
        let marks = self.marks();
        let unit = &dots.unit;
        let count = counted(marks.len(), &dots.each);
        match (marks.as_slice(), self.mean()) {
            ([], _) => (count, String::new()),
            ([(one, _)], _) => (format!("{count}, {} {unit}", shown(*one)), String::new()),
            ([(less, _), (more, _)], _) => (count, format!("{} and {} {unit}", shown(*less), shown(*more))),
            (_, Some(mean)) => {
                let between = self.interval().map(|(low, high)| format!("{} to {} {unit}", shown(low), shown(high)));
                (format!("{count}, {} {unit}", shown(mean)), between.unwrap_or_default())
            }
            (_, None) => (count, String::new()),
        }
    }

    fn words(&self, dots: &Dots) -> String {
        let (first, second) = self.figures(dots);
        let check: Vec<String> = self.marks().iter().filter(|(_, odd)| *odd).map(|(x, _)| shown(*x)).collect();
        let check =
            if check.is_empty() { String::new() } else { format!(", check {} {}", check.join(" and "), dots.unit) };
        let second = if second.is_empty() { second } else { format!(" ({second})") };
        format!("{}: {first}{second}{check}", self.label)
    }
}

impl Dots {
    pub fn scale(&self) -> Option<Scale> {
        let groups: Vec<Vec<(f64, bool)>> = self.rows.iter().map(DotRow::marks).collect();
        let lines: Vec<f64> =
            self.rows.iter().filter_map(DotRow::interval).flat_map(|(low, high)| [low, high]).collect();
        Scale::of(&groups, &lines, 0.5)
    }

    /// What lies beyond the scale, in words.
    pub fn beyond(&self, scale: &Scale) -> Vec<String> {
        let off = |x: f64| !matches!(scale.at(x), At::On(_));
        let said = |row: &DotRow| {
            let marks = row.marks().into_iter().filter(|(x, _)| off(*x));
            marks.map(|(x, _)| format!("{} {} {}", row.label, shown(x), self.unit)).collect::<Vec<_>>()
        };
        self.rows.iter().flat_map(said).collect()
    }
}

impl Runs {
    /// The points from the `from`th on: label, value if it is a number, whether it is out of the ordinary, smoothed value.
    pub fn marks(&self) -> Vec<RunMark<'_>> {
        let signal = self.signal.iter().copied().chain(std::iter::repeat(false));
        let smoothed = self.smoothed.iter().copied().chain(std::iter::repeat(None));
        let number = |x: Option<f64>| x.filter(|x| x.is_finite());
        let points = self.points.iter().zip(signal.zip(smoothed));
        points
            .map(|((label, value), (signal, smoothed))| RunMark {
                label,
                value: number(*value),
                signal,
                smoothed: number(smoothed),
            })
            .collect()
    }

    pub fn centre(&self) -> Option<f64> {
        self.centre.filter(|centre| centre.is_finite())
    }

    pub fn limits(&self) -> Option<(f64, f64)> {
        self.limits.filter(|(low, high)| low.is_finite() && high.is_finite() && low <= high)
    }

    /// None where no point has a value.
    pub fn scale(&self, marks: &[RunMark<'_>]) -> Option<Scale> {
        let values: Vec<(f64, bool)> = marks.iter().filter_map(|mark| mark.value).map(|x| (x, false)).collect();
        let smoothed = marks.iter().filter_map(|mark| mark.smoothed);
        let limits = self.limits().into_iter().flat_map(|(low, high)| [low, high]);
        let lines: Vec<f64> = limits.chain(self.centre()).chain(smoothed).collect();
        Scale::of(&[values], &lines, 1.5)
    }

    fn words(&self) -> String {
        let mut told: Vec<String> = Vec::new();
        for mark in self.marks() {
            let value = mark.value.map_or_else(|| "no value".into(), |x| format!("{} {}", shown(x), self.unit));
            told.push(format!("{} {value}{}", mark.label, if mark.signal { ", look here" } else { "" }));
        }
        if !told.is_empty() {
            told.extend(self.centre().map(|x| format!("{} {} {}", self.centre_label, shown(x), self.unit)));
            told.extend(
                self.limits().map(|(low, high)| format!("limits {} to {} {}", shown(low), shown(high), self.unit)),
            );
        }
        told.join("; ")
    }
}

/// A point of `Runs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunMark<'r> {
    pub label: &'r str,
    pub value: Option<f64>,
    pub signal: bool,
    pub smoothed: Option<f64>,
}

impl Bars {
    pub fn most(&self) -> u64 {
        self.bars.iter().map(|(_, n, _)| *n).max().unwrap_or(0)
    }

    /// How many one block stands for, so that the longest bar has at most `blocks`: 1, 2, 5, 10 …
    pub fn per_block(&self, blocks: u64) -> u64 {
        let most = self.most();
        let (mut ten, blocks) = (1u64, blocks.max(1));
        loop {
            for step in [1, 2, 5].map(|n| ten.saturating_mul(n)) {
                if most.div_ceil(step) <= blocks {
                    return step;
                }
            }
            ten = ten.saturating_mul(10);
        }
    }

    /// `One block is 5 trays or a part of them.`
    pub fn key(&self, block: &str, per: u64) -> String {
        match per {
            1 => format!("One {block} is one {}.", self.each),
            n => format!("One {block} is {n} {}s or a part of them.", self.each),
        }
    }
}

impl Heat {
    /// Each shelf as one place: what is said of a room too large to draw.
    #[must_use]
    pub fn shelves(&self) -> Self {
        let sum = |places: &[Place]| {
            let known = places.iter().flatten();
            known.fold(None, |sum: Option<(u64, u64)>, (x, n)| {
                let (all_x, all_n) = sum.unwrap_or_default();
                Some((all_x.saturating_add(*x), all_n.saturating_add(*n)))
            })
        };
        let racks = self.racks.iter().map(|rack| HeatRack {
            name: rack.name.clone(),
            shelves: rack.shelves.iter().map(|(name, places)| (name.clone(), vec![sum(places)])).collect(),
        });
        Self { racks: racks.collect(), title: self.title.clone(), what: self.what.clone() }
    }

    /// Every place that had something, by its name (`A 2-3`), the worst first: the one whose share is high for sure.
    pub fn worst(&self, of_shelves: bool) -> Vec<(String, Share)> {
        let mut found: Vec<(String, Share)> = Vec::new();
        for rack in &self.racks {
            for (shelf, places) in &rack.shelves {
                for (place, counted) in (1usize..).zip(places) {
                    let share = counted.and_then(|(x, n)| Share::of(x.min(n), n).ok());
                    let name = if of_shelves { String::new() } else { format!("-{place}") };
                    found.extend(share.map(|share| (format!("{} {shelf}{name}", rack.name), share)));
                }
            }
        }
        let order =
            |a: &Share, b: &Share| b.low.total_cmp(&a.low).then(b.share.total_cmp(&a.share)).then(b.n.cmp(&a.n));
        found.sort_by(|a, b| order(&a.1, &b.1));
        found
    }

    /// The worst shelf and the worst place, each with its counts.
    pub fn words(&self) -> String {
        let (places, shelves) = (self.worst(false), self.shelves().worst(true));
        let what = &self.what;
        let (Some((place, at)), Some((shelf, on))) = (places.first(), shelves.first()) else {
            return NOTHING.into();
        };
        if at.x == 0 {
            return format!("None {what} at any of {}.", counted(places.len(), "place"));
        }
        let mut told = format!("Most {what} on shelf {shelf}: {}", on.words());
        // a shelf of one place would be said twice
        if self.racks.iter().any(|rack| rack.shelves.iter().any(|(_, places)| places.len() > 1)) {
            told = format!("{told}; at place {place}: {}", at.words());
        }
        format!("{told}.")
    }

    /// Columns that the widest `x/n` takes.
    pub fn widest(&self) -> usize {
        let places = self.racks.iter().flat_map(|rack| &rack.shelves).flat_map(|(_, places)| places).flatten();
        places.map(|(x, n)| columns(&format!("{x}/{n}"))).max().unwrap_or(1)
    }

    /// How dark x of n is drawn: 0 for none, then up to a tenth, a quarter, a half, and more.
    pub fn shade(x: u64, n: u64) -> usize {
        let x = u128::from(x);
        let at_most = |part: u128| x * part <= u128::from(n);
        match () {
            () if x == 0 => 0,
            () if at_most(10) => 1,
            () if at_most(4) => 2,
            () if at_most(2) => 3,
            () => 4,
        }
    }
}
