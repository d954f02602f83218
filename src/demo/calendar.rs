//! When the demo room sows what, and how many places that takes.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, Weekday};

use super::Demo;
use super::scenario::ScenarioCrop;
use crate::domain::room::{RackShape, Zone};
use crate::domain::setup::{ISOLATION_RACK, NewRack, lay_out};
use crate::domain::starter::StarterCrop;
use crate::domain::time::{Day, day_number};

/// Shelves of a demo rack.
const SHELVES: u32 = 5;
/// Places of a shelf: the narrowest that keeps the room to [`RACKS`] racks.
const WIDTHS: [u32; 5] = [4, 6, 10, 20, 40];
const RACKS: u32 = 24;
/// Days a batch may be cut after the first day of its window.
pub const CUT_SPREAD_D: i64 = 2;

/// Trays of each crop, by its number in the scenario, for every sowing day; and the room's first and last day.
pub struct Calendar {
    sowings: BTreeMap<Day, Vec<(usize, usize)>>,
    pub first: Day,
    pub yesterday: Day,
    /// A Sunday on which nobody came.
    pub missed: Option<Day>,
}

impl Calendar {
    pub fn new(crops: &[ScenarioCrop], demo: &Demo, today: Day) -> Self {
        let yesterday = today - Days::new(1);
        let first = today - Days::new(u64::from(demo.weeks) * 7);
        let ahead = brought_forward(crops, yesterday.weekday());
        let mut sowings: BTreeMap<Day, Vec<(usize, usize)>> = BTreeMap::new();
        for (crop, weekday, trays) in slots(crops, demo.trays) {
            let mut day = last_on(weekday, yesterday);
            for n in 0..demo.weeks {
                let forward = n == 0 && ahead == Some(weekday);
                sowings.entry(if forward { yesterday } else { day }).or_default().push((crop, trays));
                if !forward {
                    day = day - Days::new(7);
                }
            }
        }
        // two days back at the latest, so that yesterday's walk is there
        let missed = Some(last_on(Weekday::Sun, yesterday - Days::new(1))).filter(|day| *day > first);
        Self { sowings, first, yesterday, missed }
    }

    pub fn days(&self) -> impl Iterator<Item = Day> {
        let last = self.yesterday;
        self.first.iter_days().take_while(move |day| *day <= last)
    }

    /// Crops and trays to sow on a day.
    pub fn on(&self, day: Day) -> &[(usize, usize)] {
        self.sowings.get(&day).map_or(&[], Vec::as_slice)
    }

    /// Racks in which everything finds its place, the lowest shelves covered, with some room to spare.
    pub fn racks(&self, crops: &[&StarterCrop]) -> Vec<NewRack> {
        let (mut covered, mut lit) = (0, 0);
        for day in self.days() {
            let (mut c, mut l) = (0, 0);
            for (sown, crop, trays) in
                self.sowings.iter().flat_map(|(sown, all)| all.iter().map(move |(c, t)| (sown, *c, *t)))
            {
                let Some(crop) = crops.get(crop) else { continue };
                let age = day_number(*sown, day);
                let (cover, cut) = (i64::from(crop.cover_d.usual), i64::from(crop.cut_d.from) + CUT_SPREAD_D / 2);
                if (0..cover).contains(&age) {
                    c += trays;
                } else if (cover..=cut).contains(&age) {
                    l += trays;
                }
            }
            covered = covered.max(c);
            lit = lit.max(l);
        }
        racks_for(spare(covered), spare(lit))
    }
}

/// A twentieth more, and two: late batches, suspects, and what is sown today.
fn spare(trays: usize) -> u32 {
    u32::try_from(trays + trays / 20 + 2).unwrap_or(u32::MAX)
}

fn racks_for(covered: u32, lit: u32) -> Vec<NewRack> {
    let count = |width: u32, low: u32| covered.div_ceil(width * low).max(lit.div_ceil(width * (SHELVES - low)));
    let mut best = (u32::MAX, 1, 1);
    for width in WIDTHS {
        best = (1..SHELVES).map(|low| (count(width, low), low, width)).min().unwrap_or(best);
        if best.0 <= RACKS {
            break;
        }
    }
    let (racks, low, places) = best;
    let mut racks = lay_out(&vec![RackShape { shelves: SHELVES, places }; racks as usize]);
    for rack in racks.iter_mut().filter(|rack| rack.name != ISOLATION_RACK) {
        rack.zones.iter_mut().rev().take(low as usize).for_each(|zone| *zone = Zone::Covered);
    }
    racks
}

/// Crop, weekday and trays; a week's trays shared out so that none is lost to rounding.
fn slots(crops: &[ScenarioCrop], week: u32) -> Vec<(usize, Weekday, usize)> {
    let total: u32 = crops.iter().map(|c| c.share * u32::try_from(c.sow.len()).unwrap_or(0)).sum();
    let upto = |share: u32| week as usize * share as usize / total.max(1) as usize;
    let mut share = 0;
    let mut slots = Vec::new();
    for (n, crop) in crops.iter().enumerate() {
        for weekday in &crop.sow {
            let trays = upto(share + crop.share) - upto(share);
            share += crop.share;
            if trays > 0 {
                slots.push((n, *weekday, trays));
            }
        }
    }
    slots
}

/// The last such weekday up to a day.
fn last_on(weekday: Weekday, until: Day) -> Day {
    let back = (7 + until.weekday().num_days_from_monday() - weekday.num_days_from_monday()) % 7;
    until - Days::new(u64::from(back))
}

/// Where nothing is sown on yesterday's weekday, the next sowing was done a little early, so that the demo shows one.
fn brought_forward(crops: &[ScenarioCrop], yesterday: Weekday) -> Option<Weekday> {
    let sown_on = |weekday: &Weekday| crops.iter().any(|crop| crop.sow.contains(weekday));
    let next = std::iter::successors(Some(yesterday), |day| Some(day.succ())).take(7).find(sown_on)?;
    (next != yesterday).then_some(next)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::scenario::Scenario;

    fn calendar(trays: u32, today: &str) -> Calendar {
        Calendar::new(&Scenario::read().unwrap().crops, &Demo { weeks: 3, trays, seed: 1 }, today.parse().unwrap())
    }

    #[test]
    fn every_week_sows_what_was_asked_whatever_the_weekday() {
        for trays in [1, 7, 40, 41, 333] {
            for today in
                ["2026-07-13", "2026-07-14", "2026-07-15", "2026-07-16", "2026-07-17", "2026-07-18", "2026-07-19"]
            {
                let calendar = calendar(trays, today);
                let sown: usize = calendar.days().flat_map(|d| calendar.on(d).to_vec()).map(|(_, n)| n).sum();
                assert_eq!(sown, trays as usize * 3, "{trays} a week, {today}");
                if trays >= 40 {
                    assert!(!calendar.on(calendar.yesterday).is_empty(), "{today}");
                }
            }
        }
    }

    #[test]
    fn the_missed_day_lies_before_yesterday() {
        // 2026-07-13 is a Monday
        assert_eq!(calendar(40, "2026-07-13").missed.unwrap().to_string(), "2026-07-05");
        assert_eq!(calendar(40, "2026-07-14").missed.unwrap().to_string(), "2026-07-12");
    }

    #[test]
    fn racks_hold_what_is_asked_and_stay_few() {
        let places = |racks: &[NewRack], zone: Zone| -> u32 {
            racks
                .iter()
                .map(|r| r.places * u32::try_from(r.zones.iter().filter(|z| **z == zone).count()).unwrap())
                .sum()
        };
        for (covered, lit) in [(3, 3), (30, 50), (120, 100), (1500, 2500)] {
            let racks = racks_for(covered, lit);
            assert!(places(&racks, Zone::Covered) >= covered && places(&racks, Zone::Lit) >= lit, "{covered} {lit}");
            assert!(racks.len() <= RACKS as usize + 1);
            assert_eq!(racks.first().unwrap().zones.last(), Some(&Zone::Covered));
        }
    }
}
