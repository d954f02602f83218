//! What differs: seed lots, shelves, densities and plans of a crop against each other, in the weeks they share. Leads, no proofs.

use std::collections::{BTreeMap, BTreeSet};

use super::past::{By, Fate, Past, Value};
use crate::domain::id::{CropId, TrayId};
use crate::domain::proportion::{Share, corrected};
use crate::domain::stats::compare::{Two, two};
use crate::domain::stats::rank::{Rank, kruskal_wallis};
use crate::domain::stats::share::difference;
use crate::domain::stats::shrink;
use crate::domain::stats::spread::Spread;
use crate::domain::stats::strata::{self, levelled, more_than_expected};
use crate::domain::stats::{mean, real};
use crate::domain::time::Day;

/// Up to this corrected chance a difference is worth a planned trial.
pub const WORTH: f64 = 0.10;
/// All groups but one.
const OTHERS: &str = "the others";
/// A shelf with fewer weights or trays is not told apart.
pub const SHELF_LEAST: usize = 4;

/// What came out of one comparison.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// Grams a tray.
    Yield(Two),
    /// Trays lost of those that ended; how much more, in shares; and how many more than the crops and weeks of these trays lost
    /// on both sides would give.
    Loss { here: Share, there: Share, diff: (f64, f64, f64), excess: f64 },
}

/// One group against another, or against all the others.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Comparison {
    /// None: of all crops together.
    pub crop: Option<CropId>,
    pub crop_name: String,
    pub by: By,
    pub name: String,
    pub other: String,
    pub found: Found,
    /// Weeks of which both have some, of all weeks of either.
    pub weeks: (usize, usize),
    pub p: Option<f64>,
    /// Corrected for all comparisons of the review.
    pub q: Option<f64>,
    pub trays: Vec<TrayId>,
    pub other_trays: Vec<TrayId>,
    /// Groups that always went together with this one, so that they cannot be told apart.
    pub same: Vec<String>,
    /// Which of the two lots has no seed left, so that no trial can be sown.
    pub gone: Vec<String>,
}

impl Comparison {
    /// Clear enough for a planned trial.
    pub fn worth(&self) -> bool {
        // a range that holds no difference at all is no lead, whatever the test within crops and weeks says
        let apart = match &self.found {
            Found::Yield(_) => true,
            Found::Loss { diff: (_, low, high), .. } => *low > 0.0 || *high < 0.0,
        };
        apart && self.q.is_some_and(|q| q <= WORTH)
    }

    /// Neither side lost a tray, so that there is nothing to ask.
    pub fn nothing_lost(&self) -> bool {
        matches!(&self.found, Found::Loss { here, there, .. } if here.x + there.x == 0)
    }

    /// Whether the first one came out worse.
    pub fn worse(&self) -> bool {
        match &self.found {
            Found::Yield(two) => two.diff < 0.0,
            Found::Loss { excess, .. } => *excess > 0.0,
        }
    }
}

/// Groups that no week has both of.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Apart {
    pub crop_name: String,
    pub by: By,
    pub name: String,
    pub other: String,
}

/// A lot of a crop with its own mean and the one that is drawn towards the crop's.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Drawn {
    pub crop_name: String,
    pub lot: String,
    pub n: usize,
    pub mean: f64,
    pub expected: f64,
}

/// A lot of a crop with the trays it lost, and the share that is drawn towards the crop's.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct DrawnLoss {
    pub crop_name: String,
    pub lot: String,
    pub seen: Share,
    pub expected: f64,
}

/// How far the lots of a crop lie apart beyond chance.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Between {
    pub crop_name: String,
    pub lots: usize,
    /// Standard deviation between lots, grams a tray; 0 where chance explains all of it.
    pub sd: f64,
}

/// One shelf, of all crops: weights as shares of their crop's mean of the same week.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Shelf {
    pub name: String,
    /// Per cent above or below.
    pub spread: Spread,
    pub trays: Vec<TrayId>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Differences {
    pub comparisons: Vec<Comparison>,
    pub apart: Vec<Apart>,
    pub drawn: Vec<Drawn>,
    pub drawn_losses: Vec<DrawnLoss>,
    pub between: Vec<Between>,
    pub shelves: Vec<Shelf>,
    /// Whether shelves differ at all in what trays give; with its corrected chance.
    pub shelf_rank: Option<(Rank, f64)>,
    /// How many questions were asked at once.
    pub asked: usize,
}

impl Differences {
    pub fn of(past: &Past) -> Self {
        let mut comparisons = Vec::new();
        let mut apart = Vec::new();
        let (mut drawn, mut drawn_losses, mut between) = (Vec::new(), Vec::new(), Vec::new());
        for crop in &past.facts.crops {
            for by in By::ALL {
                let values = past.values(crop.id, by);
                if by != By::Shelf {
                    yields((Some(crop.id), &crop.name), by, &values, &mut comparisons, &mut apart);
                }
                if by == By::SeedLot {
                    if let Some((of, all)) = draw(&crop.name, &values) {
                        drawn.extend(of);
                        between.push(all);
                    }
                    let fates = past.fates(Some(crop.id), by);
                    drawn_losses.extend(draw_losses(&crop.name, &fates));
                    losses(Some(crop.id), &crop.name, by, &fates, &mut comparisons);
                }
            }
        }
        losses(None, "all crops", By::Shelf, &past.fates(None, By::Shelf), &mut comparisons);
        comparisons = once(comparisons);
        for one in &mut comparisons {
            one.same = inseparable(past, one);
            one.gone = gone(past, one);
        }
        let shelves = shelves(past);
        let groups: Vec<Vec<f64>> = shelves.values().map(|values| values.iter().map(|(v, _)| *v).collect()).collect();
        let rank = if groups.len() > 1 { kruskal_wallis(&groups) } else { None };
        let mut chances: Vec<f64> = comparisons.iter().filter_map(|one| one.p).collect();
        chances.extend(rank.as_ref().map(|rank| rank.p));
        let mut q = corrected(&chances).into_iter();
        for one in comparisons.iter_mut().filter(|one| one.p.is_some()) {
            one.q = q.next();
        }
        let shelf_rank = rank.zip(q.next());
        comparisons.sort_by(|a, b| a.q.unwrap_or(2.0).total_cmp(&b.q.unwrap_or(2.0)));
        let shelves = shelves
            .into_iter()
            .filter_map(|(name, values)| {
                let of: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
                let trays = values.into_iter().flat_map(|(_, trays)| trays).collect();
                Some(Shelf { name, spread: Spread::of(&of)?, trays })
            })
            .collect();
        Self { comparisons, apart, drawn, drawn_losses, between, shelves, shelf_rank, asked: chances.len() }
    }

    /// The clearest that came out worse: of seed lots, or of shelves.
    pub fn worst(&self, by: By) -> Option<&Comparison> {
        self.comparisons.iter().find(|one| one.by == by && one.worse() && one.p.is_some())
    }

    /// The shelf that surely lost most: by the lower end of its share, so that one of four is not worse than nine of forty.
    pub fn losing_shelf(&self) -> Option<&Comparison> {
        let share = |one: &Comparison| match &one.found {
            Found::Loss { here, .. } if here.x > 0 => Some(here.low),
            _ => None,
        };
        let shelves = self.comparisons.iter().filter(|one| one.by == By::Shelf && share(one).is_some());
        shelves.max_by(|a, b| share(a).unwrap_or(0.0).total_cmp(&share(b).unwrap_or(0.0)))
    }
}

/// Two groups of one kind, in the weeks that both have.
struct Pair<T> {
    name: String,
    other: String,
    mine: Vec<T>,
    theirs: Vec<T>,
    /// How many such weeks there are, of all weeks of either.
    weeks: (usize, usize),
}

impl<T> Pair<T> {
    /// The other way round, unless one is all the others.
    fn turned_if(self, turn: bool) -> Self {
        if !turn || self.other == OTHERS {
            return self;
        }
        Self { name: self.other, other: self.name, mine: self.theirs, theirs: self.mine, weeks: self.weeks }
    }
}

/// Each pair of up to three groups, or each against all the others.
fn pairs<T: Clone>(of: &BTreeMap<String, Vec<T>>, week: impl Fn(&T) -> Day) -> Vec<Pair<T>> {
    let groups: Vec<(&String, &Vec<T>)> = of.iter().collect();
    let mut all = Vec::new();
    for (n, (name, mine)) in groups.iter().enumerate() {
        if groups.len() <= 3 {
            all.extend(groups.iter().skip(n + 1).map(|other| together((*name, *mine), &[*other], &week)));
        } else {
            let others: Vec<_> = groups.iter().copied().filter(|(other, _)| other != name).collect();
            all.push(together((*name, *mine), &others, &week));
        }
    }
    all
}

/// Of a group and others what is of weeks that both have; the other one is named where it is one alone in these weeks.
fn together<T: Clone>(
    (name, mine): (&String, &Vec<T>),
    others: &[(&String, &Vec<T>)],
    week: impl Fn(&T) -> Day,
) -> Pair<T> {
    let weeks = |of: &[T]| of.iter().map(&week).collect::<BTreeSet<Day>>();
    let (a, b) = (weeks(mine), others.iter().flat_map(|(_, values)| weeks(values)).collect::<BTreeSet<Day>>());
    let both = |of: &[T]| -> Vec<T> {
        of.iter().filter(|one| a.contains(&week(one)) && b.contains(&week(one))).cloned().collect()
    };
    let theirs: Vec<(&String, Vec<T>)> =
        others.iter().map(|(other, values)| (*other, both(values))).filter(|(_, of)| !of.is_empty()).collect();
    let other = match (others, theirs.as_slice()) {
        ([(one, _)], _) | (_, [(one, _)]) => (*one).clone(),
        _ => OTHERS.into(),
    };
    Pair {
        name: name.clone(),
        other,
        mine: both(mine),
        theirs: theirs.into_iter().flat_map(|(_, of)| of).collect(),
        weeks: (a.intersection(&b).count(), a.union(&b).count()),
    }
}

/// Every question once: of more than three lots two may be the others of each other.
fn once(all: Vec<Comparison>) -> Vec<Comparison> {
    let mut asked = BTreeSet::new();
    let key = |one: &Comparison| {
        let (mut names, yields) = ([one.name.clone(), one.other.clone()], matches!(one.found, Found::Yield(_)));
        names.sort();
        (one.crop, one.by, names, yields)
    };
    all.into_iter().filter(|one| one.other == OTHERS || asked.insert(key(one))).collect()
}

/// Grams a tray of groups, in the weeks that both have.
fn yields(
    (crop, crop_name): (Option<CropId>, &str),
    by: By,
    of: &BTreeMap<String, Vec<Value>>,
    into: &mut Vec<Comparison>,
    apart: &mut Vec<Apart>,
) {
    for pair in pairs(of, |value| value.week) {
        if pair.weeks.0 == 0 {
            apart.push(Apart { crop_name: crop_name.into(), by, name: pair.name, other: pair.other });
            continue;
        }
        // what a week gave to all is taken off, so that nobody is better for having had more of a good one
        let of_week = |values: &[Value]| values.iter().map(|value| (value.week, value.grams)).collect::<Vec<_>>();
        let Some((ours, others)) = levelled(&of_week(&pair.mine), &of_week(&pair.theirs)) else { continue };
        // of two, the one that gave less is told of
        let turn = pair.other != OTHERS && mean(&ours) > mean(&others);
        let (ours, others) = if turn { (others, ours) } else { (ours, others) };
        let Some(found) = two(&ours, &others) else { continue };
        let Pair { name, other, mine, theirs, weeks } = pair.turned_if(turn);
        let trays = |values: &[Value]| values.iter().flat_map(|value| value.trays.clone()).collect::<Vec<TrayId>>();
        into.push(Comparison {
            crop,
            crop_name: crop_name.into(),
            by,
            name,
            other,
            weeks,
            p: found.p,
            q: None,
            trays: trays(&mine),
            other_trays: trays(&theirs),
            same: vec![],
            gone: vec![],
            found: Found::Yield(found),
        });
    }
}

/// Trays lost of groups, in the weeks that both have.
fn losses(crop: Option<CropId>, crop_name: &str, by: By, of: &BTreeMap<String, Vec<Fate>>, into: &mut Vec<Comparison>) {
    let mut of = of.clone();
    if by == By::Shelf {
        // shelves with few trays are not told apart, and are among the others all the same
        let few: Vec<Fate> = of.values().filter(|fates| fates.len() < SHELF_LEAST).flatten().copied().collect();
        of.retain(|_, fates| fates.len() >= SHELF_LEAST);
        if !few.is_empty() {
            of.insert(OTHERS.into(), few);
        }
    }
    for pair in pairs(&of, |fate| fate.week).into_iter().filter(|pair| pair.name != OTHERS) {
        let share =
            |fates: &[Fate]| Share::of(fates.iter().filter(|fate| fate.lost).count() as u64, fates.len() as u64).ok();
        // of two, the one that surely lost more is told of: one of four is not worse than nine of forty
        let lost = |fates: &[Fate]| share(fates).map_or(0.0, |share| share.low);
        let less = lost(&pair.mine) < lost(&pair.theirs);
        let Pair { name, other, mine, theirs, weeks } = pair.turned_if(less);
        let Some((here, there)) = share(&mine).zip(share(&theirs)) else { continue };
        let Ok(apart) = difference((here.x, here.n), (there.x, there.n)) else { continue };
        let tables = tables(&mine, &theirs);
        into.push(Comparison {
            crop,
            crop_name: crop_name.into(),
            by,
            name,
            other,
            weeks,
            // where nothing at all was lost there is nothing to ask
            p: strata::shares(&tables).filter(|_| here.x + there.x > 0),
            q: None,
            trays: mine.iter().filter(|fate| fate.lost).map(|fate| fate.tray).collect(),
            other_trays: theirs.iter().filter(|fate| fate.lost).map(|fate| fate.tray).collect(),
            same: vec![],
            gone: vec![],
            found: Found::Loss {
                here,
                there,
                diff: (apart.diff, apart.low, apart.high),
                excess: more_than_expected(&tables),
            },
        });
    }
}

/// Lost and not lost of both, within each crop and week: a crop that is lost everywhere makes no shelf a bad one.
fn tables(mine: &[Fate], theirs: &[Fate]) -> Vec<(u64, u64, u64, u64)> {
    let mut of: BTreeMap<(CropId, Day), (u64, u64, u64, u64)> = BTreeMap::new();
    for fate in mine {
        let (a, b, ..) = of.entry((fate.crop, fate.week)).or_default();
        *(if fate.lost { a } else { b }) += 1;
    }
    for fate in theirs {
        let (.., c, d) = of.entry((fate.crop, fate.week)).or_default();
        *(if fate.lost { c } else { d }) += 1;
    }
    of.into_values().collect()
}

/// Groups of another kind with just the same trays.
fn inseparable(past: &Past, one: &Comparison) -> Vec<String> {
    let Some(crop) = one.crop else { return vec![] };
    let mine: BTreeSet<TrayId> = one.trays.iter().copied().collect();
    if mine.is_empty() || matches!(one.found, Found::Loss { .. }) {
        return vec![];
    }
    let theirs: BTreeSet<TrayId> = one.other_trays.iter().copied().collect();
    let mut same = Vec::new();
    for by in By::ALL.into_iter().filter(|by| *by != one.by) {
        for (name, values) in past.values(crop, by) {
            let of: BTreeSet<TrayId> = values.into_iter().flat_map(|value| value.trays).collect();
            if mine.is_subset(&of) && theirs.is_disjoint(&of) {
                same.push(format!("{} {name}", by.shown()));
            }
        }
    }
    same
}

/// Lots of the two that are used up.
fn gone(past: &Past, one: &Comparison) -> Vec<String> {
    let lots = [&one.name, &one.other].into_iter().filter(|_| one.by == By::SeedLot);
    lots.filter(|lot| past.gone.contains(*lot)).cloned().collect()
}

/// Lots of a crop drawn towards the crop's mean: few trays of a lot say little of it.
fn draw(crop_name: &str, of: &BTreeMap<String, Vec<Value>>) -> Option<(Vec<Drawn>, Between)> {
    let spreads: Vec<(&String, Spread)> = of
        .iter()
        .filter_map(|(lot, values)| Some((lot, Spread::of(&values.iter().map(|v| v.grams).collect::<Vec<_>>())?)))
        .collect();
    // few trays of one lot do not tell how trays of a lot differ: all lots together do
    let squares = spreads.iter().filter_map(|(_, spread)| Some(spread.sd?.powi(2) * real(spread.n - 1)));
    let (squares, free) = (squares.sum::<f64>(), spreads.iter().map(|(_, spread)| spread.n - 1).sum::<usize>());
    if free == 0 {
        return None;
    }
    let within = squares / real(free);
    let input: Vec<(f64, f64)> = spreads.iter().map(|(_, spread)| (spread.mean, within / real(spread.n))).collect();
    let shrunk = shrink::means(&input)?;
    let between = Between { crop_name: crop_name.into(), lots: input.len(), sd: shrunk.tau2.sqrt() };
    let drawn = spreads
        .iter()
        .zip(shrunk.each)
        .map(|((lot, spread), expected)| Drawn {
            crop_name: crop_name.into(),
            lot: (*lot).clone(),
            n: spread.n,
            mean: spread.mean,
            expected,
        })
        .collect();
    Some((drawn, between))
}

/// Shares lost of the lots of a crop, drawn towards the crop's; none where nothing was lost of any.
fn draw_losses(crop_name: &str, of: &BTreeMap<String, Vec<Fate>>) -> Vec<DrawnLoss> {
    let counts: Vec<(u64, u64)> =
        of.values().map(|fates| (fates.iter().filter(|fate| fate.lost).count() as u64, fates.len() as u64)).collect();
    if counts.len() < 2 || counts.iter().all(|(lost, _)| *lost == 0) {
        return vec![];
    }
    let expected = shrink::shares(&counts).unwrap_or_default();
    let each = of.keys().zip(counts).zip(expected);
    let drawn = each.filter_map(|((lot, (x, n)), expected)| {
        Some(DrawnLoss { crop_name: crop_name.into(), lot: lot.clone(), seen: Share::of(x, n).ok()?, expected })
    });
    drawn.collect()
}

/// One value in per cent of the mean of its crop and week, and the trays it is of.
type Off = (f64, Vec<TrayId>);

/// Values of each shelf with enough, in per cent of the mean of crop and week; a week with one value of a crop says nothing.
fn shelves(past: &Past) -> BTreeMap<String, Vec<Off>> {
    let mut of: BTreeMap<String, Vec<Off>> = BTreeMap::new();
    for crop in &past.facts.crops {
        let mut weeks: BTreeMap<Day, Vec<f64>> = BTreeMap::new();
        for one in past.weighings(crop.id) {
            weeks.entry(past.sown_week(one)).or_default().push(one.value());
        }
        for (shelf, values) in past.values(crop.id, By::Shelf) {
            for value in values {
                let Some(all) = weeks.get(&value.week).filter(|all| all.len() > 1) else { continue };
                let Some(mean) = Spread::of(all).map(|spread| spread.mean).filter(|mean| *mean > 0.0) else { continue };
                of.entry(shelf.clone()).or_default().push(((value.grams / mean - 1.0) * 100.0, value.trays));
            }
        }
    }
    of.retain(|_, values| values.len() >= SHELF_LEAST);
    of
}
