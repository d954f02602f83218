//! After the walk: cutting, losses, what is ready tomorrow, and covered trays to the light.

use std::collections::{BTreeMap, HashSet};

use chrono::Duration;
use fastrand::Rng;

use super::calendar::CUT_SPREAD_D;
use super::{Notebook, luck, vigour};
use crate::domain::action::Action;
use crate::domain::board::Board;
use crate::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use crate::domain::id::{CropId, PlaceId, SowingId, TrayId};
use crate::domain::room::{Place, Zone};
use crate::domain::time::Day;
use crate::domain::tray::{Gear, LossReason, Stage, TrayCard};

/// The shelf whose fan blows too hard, and how many trays of a hundred dry out on it.
const DRY_SHELF: (&str, i64) = ("A", 1);
const DRY_LOSES: u8 = 60;

/// What is known before the knife is taken up.
pub struct Harvest<'a> {
    pub board: &'a Board,
    pub day: Day,
    pub seed: u64,
    pub weak: &'a HashSet<TrayId>,
    /// The last day before today: one batch is left for today.
    pub last: bool,
    /// Crops that are allergens.
    pub allergens: &'a [CropId],
}

/// Cuts, throws out, marks ready and moves to the light.
pub fn harvest(today: &Harvest<'_>, book: &mut Notebook, rng: &mut Rng) {
    let mut freed = cut(today, book, rng);
    for tray in today.board.trays.iter().filter(|tray| clean(tray) && tray.stage == Stage::Lit) {
        if cut_on(today.seed, tray) == today.day + Duration::days(1) && tray.cut_from() <= today.day {
            book.write(6, Action::Move { walk: None, tray: tray.id, to: None, stage: Some(Stage::Ready) });
        }
    }
    let mut free: Vec<Place> = today.board.free_places().into_iter().cloned().collect();
    free.append(&mut freed);
    free.retain(|place| place.zone == Zone::Lit);
    free.sort_by_key(Place::walk_order);
    let covered = by_batch(today.board.trays.iter().filter(|tray| clean(tray) && tray.stage == Stage::Covered));
    for (sowing, trays) in covered {
        let slow = i64::from(vigour(today.seed, sowing) < 0);
        let ripe: Vec<&TrayCard> =
            trays.into_iter().filter(|tray| tray.day(today.day) >= tray.plan.cover_d + slow).collect();
        let places = side_by_side(&mut free, ripe.len());
        for (tray, to) in ripe.iter().zip(places) {
            book.write(15, Action::Move { walk: None, tray: tray.id, to: Some(to), stage: Some(Stage::Lit) });
        }
    }
}

/// Cuts batches on their day; returns the places that became free.
fn cut(today: &Harvest<'_>, book: &mut Notebook, rng: &mut Rng) -> Vec<Place> {
    let grown = |tray: &&TrayCard| {
        clean(tray) && matches!(tray.stage, Stage::Lit | Stage::Ready) && cut_on(today.seed, tray) <= today.day
    };
    let mut batches = by_batch(today.board.trays.iter().filter(grown));
    if today.last {
        batches.pop_last();
    }
    let mut freed = Vec::new();
    let (mut washed, mut before) = (false, None);
    for trays in batches.into_values() {
        let (mut good, mut lost) = (Vec::new(), Vec::new());
        for tray in trays {
            freed.push(tray.place.clone());
            let weak = today.weak.contains(&tray.id) && rng.u8(..100) < WEAK_LOSES;
            let parched = DRY_SHELF == (tray.place.rack_name.as_str(), tray.place.shelf)
                && luck(today.seed ^ tray.id.0.unsigned_abs(), tray.sowing, 2).u8(..100) < DRY_LOSES;
            match rng.u8(..100) {
                _ if parched => lost.push((tray.id, LossReason::DriedOut)),
                _ if weak => lost.push((tray.id, LossReason::PoorGermination)),
                0 => lost.push((tray.id, LossReason::FellOver)),
                1 => lost.push((tray.id, LossReason::DriedOut)),
                2 => lost.push((tray.id, LossReason::NotNeeded)),
                3 => lost.push((tray.id, LossReason::Accident)),
                _ => good.push(tray.id),
            }
        }
        for (tray, reason) in lost {
            book.write(40, Action::Throw { walk: None, tray, reason, gear: Gear::ToWash, cleanup: None, note: None });
        }
        let good: Vec<&TrayCard> = trays_of(&good, today.board);
        if let Some(first) = good.first() {
            washed = check(book, washed, before, first.crop);
            book.write(90, Action::Harvest(Box::new(weighed(&good, today.weak, rng))));
            before = Some(first.crop).filter(|crop| today.allergens.contains(crop));
        }
    }
    freed
}

/// Checks once before the first cut of a day, and anew after an allergen; says that the day's check was made.
fn check(book: &mut Notebook, done: bool, before: Option<CropId>, crop: CropId) -> bool {
    let wash = before.filter(|before| *before != crop).map(|_| true);
    if !done || wash.is_some() {
        let with = "hot water and food-safe cleaner, rinsed".to_string();
        let check = NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed: wash };
        book.write(75, Action::CheckCut(Box::new(check)));
    }
    true
}

fn trays_of<'a>(ids: &[TrayId], board: &'a Board) -> Vec<&'a TrayCard> {
    ids.iter().filter_map(|id| board.tray(*id)).collect()
}

/// Of a hundred trays of poor seed, those that are not worth cutting.
const WEAK_LOSES: u8 = 20;
/// What the others of it give, per cent of good ones.
const WEAK_GIVES: i64 = 74;

/// Small batches are weighed tray by tray mostly, large ones together. Thin stands weigh less.
fn weighed(trays: &[&TrayCard], weak: &HashSet<TrayId>, rng: &mut Rng) -> NewHarvest {
    let share = |tray: &TrayCard| if weak.contains(&tray.id) { WEAK_GIVES } else { 100 };
    let grams: Vec<i64> =
        trays.iter().map(|tray| tray.usual_g.unwrap_or(100) * rng.i64(86..=112) * share(tray) / 10_000).collect();
    let each = trays.len() <= 5 && rng.u8(..6) > 0;
    let cuts = trays.iter().zip(&grams).map(|(tray, grams)| CutTray {
        tray: tray.id,
        mats: None,
        grams: each.then_some(*grams),
    });
    NewHarvest {
        cuts: cuts.collect(),
        grams: (!each).then(|| grams.iter().sum()),
        again: false,
        tools: vec!["knife 1".into(), "table 1".into()],
        sure: Vec::new(),
    }
}

/// The day on which a batch is cut: in the first days of its window.
fn cut_on(seed: u64, tray: &TrayCard) -> Day {
    let spread = luck(seed, tray.sowing, 1).i64(0..=CUT_SPREAD_D);
    (tray.cut_from() + Duration::days(spread)).min(tray.cut_to())
}

fn clean(tray: &TrayCard) -> bool {
    !tray.suspect && !tray.bad && !tray.held
}

fn by_batch<'a>(trays: impl Iterator<Item = &'a TrayCard>) -> BTreeMap<SowingId, Vec<&'a TrayCard>> {
    let mut batches: BTreeMap<SowingId, Vec<&TrayCard>> = BTreeMap::new();
    for tray in trays {
        batches.entry(tray.sowing).or_default().push(tray);
    }
    batches
}

/// Takes places for a batch out of `free`, which is in walking order: on the shelf it fills best, else on the
/// emptiest shelf and for the rest anew. Fewer than asked if the room is full.
pub fn side_by_side(free: &mut Vec<Place>, trays: usize) -> Vec<PlaceId> {
    let mut taken: Vec<PlaceId> = Vec::new();
    while taken.len() < trays && !free.is_empty() {
        let open = trays - taken.len();
        let shelves = free.chunk_by(|a, b| (a.rack, a.shelf) == (b.rack, b.shelf));
        // of the shelves that hold all, the fullest; of those that do not, the emptiest
        let best = shelves.min_by_key(|shelf| (shelf.len() < open, shelf.len().abs_diff(open)));
        let some: Vec<PlaceId> = best.unwrap_or_default().iter().take(open).map(|place| place.id).collect();
        free.retain(|place| !some.contains(&place.id));
        taken.extend(some);
    }
    taken
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::id::RackId;

    fn places(shelves: &[(i64, i64)]) -> Vec<Place> {
        let place = |(n, (shelf, pos)): (i64, &(i64, i64))| Place {
            id: PlaceId(n),
            rack: RackId(1),
            rack_name: "A".into(),
            rack_sort: 1,
            shelf: *shelf,
            pos: *pos,
            zone: Zone::Lit,
            stack: 1,
        };
        (1..).zip(shelves).map(place).collect()
    }

    #[test]
    fn a_batch_stands_together_where_it_can() {
        let mut free = places(&[(1, 1), (2, 1), (2, 2), (2, 3), (3, 1), (3, 2)]);
        assert_eq!(side_by_side(&mut free, 2), [PlaceId(5), PlaceId(6)]);
        assert_eq!(side_by_side(&mut free, 5), [PlaceId(2), PlaceId(3), PlaceId(4), PlaceId(1)], "one too many");
        assert_eq!(side_by_side(&mut free, 1), []);
    }
}
