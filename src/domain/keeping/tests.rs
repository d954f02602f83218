use std::sync::Arc;

use proptest::prelude::*;

use super::*;
use crate::domain::id::{CropId, StoreId};

/// Radish: 1 °C 23 d, 6 °C 10 d, 20 °C 3 d. P: J. Japanese Soc. Cold Preservation of Food 7(1):10; the 23 d include a move
/// to 20 °C, so they are a vector here and in no table of the program.
const RADISH: [(i64, i64); 3] = [(10, 23 * 24), (60, 240), (200, 72)];

/// One anchor, 10 d at 5 °C: memory.
const GENERAL: [(i64, i64); 1] = [(50, 240)];

const H: i64 = 3600;
const D: i64 = 24 * H;

fn near(got: f64, expected: f64, within: f64) {
    assert!((got - expected).abs() <= within, "{got} is not {expected}");
}

fn of_anchors(anchors: &[(i64, i64)]) -> Rates {
    Rates::of(anchors, false).unwrap()
}

/// Time at temperatures, one after the other from moment 0, and the share of life it used.
fn spent(anchors: &[(i64, i64)], legs: &[(i64, i64)]) -> f64 {
    let mut at_s = 0;
    let mut readings = Vec::new();
    for (seconds, dc) in legs {
        readings.push(Reading { at_s, dc: *dc });
        at_s += seconds;
    }
    let sums = Sums::new(Arc::new(Series::new(readings, D * 9, vec![])), Arc::new(of_anchors(anchors)));
    sums.between(0, at_s).share
}

fn days_left(used: f64, anchors: &[(i64, i64)], plan_dc: i64) -> f64 {
    let used = Used { share: used, marks: Marks::default() };
    Left::of(used, &of_anchors(anchors), plan_dc, CropId(1)).hours().unwrap() / 24.0
}

#[test]
fn rates_are_those_of_the_handbook() {
    // P: the table of Handbook 66 at 0, 10, 20, 30, 40 °C; the others derived from its Q10 values
    for (temp, expected) in [
        (0.0, 1.0),
        (10.0, 3.0),
        (20.0, 7.5),
        (30.0, 15.0),
        (40.0, 22.5),
        (1.0, 1.1161),
        (2.0, 1.2457),
        (4.0, 1.5518),
        (5.0, 1.7321),
        (8.0, 2.4082),
        (12.0, 3.6034),
        (15.0, 4.7434),
        (25.0, 10.6066),
    ] {
        near(rate(temp), expected, 0.001);
    }
    // the same table's relative lives, rounded there to whole per cent
    for (temp, life) in [(0.0, 100.0), (10.0, 33.0), (20.0, 13.0), (30.0, 7.0), (40.0, 4.0)] {
        near(100.0 / rate(temp), life, 0.5);
    }
}

#[test]
fn life_is_worked_out_between_anchors() {
    // derived by hand from the anchors, in days
    for (temp, days) in [(2.0, 19.47), (4.0, 13.95), (8.0, 8.42), (10.0, 7.09), (15.0, 4.61), (0.0, 23.0)] {
        near(life_h(&RADISH, temp).unwrap() / 24.0, days, 0.01);
    }
    // at the published points themselves. P: mustard, Dayarathna et al. 2023, Life 13(2):393 (abstract)
    let mustard = [(50, 14 * 24), (100, 4 * 24), (150, 2 * 24), (200, 24)];
    for (temp, days) in [(5.0, 14.0), (10.0, 4.0), (15.0, 2.0), (20.0, 1.0)] {
        near(life_h(&mustard, temp).unwrap() / 24.0, days, 1e-9);
    }
    // one anchor: 10 d at 5 °C gives 3.65 d at 15 °C by the rates
    near(life_h(&GENERAL, 15.0).unwrap() / 24.0, 3.65, 0.01);
    assert_eq!(life_h(&[], 5.0), None);
    assert_eq!(Rates::of(&[], false), None);
}

#[test]
fn warmer_than_the_warmest_the_faster_way_counts_and_is_marked() {
    let last_slope = rates::between((6.0, 240.0), (20.0, 72.0), 30.0);
    let life = life_h(&RADISH, 30.0).unwrap();
    assert!(life <= last_slope && life <= 72.0 * 7.5 / 15.0 + 0.001, "{life}");
    assert!(of_anchors(&RADISH).marks(201).extrapolated && !of_anchors(&RADISH).marks(200).extrapolated);
}

#[test]
fn shares_add_up_whatever_came_first() {
    // derived by hand, ±0.01 d
    let used = spent(&RADISH, &[(5 * D, 40), (6 * H, 200)]);
    near(used, 0.4417, 0.0001);
    near(days_left(used, &RADISH, 40), 7.79, 0.01);
    near(spent(&RADISH, &[(6 * H, 200), (5 * D, 40)]), used, 1e-12);
    // 2 h at 20 °C between cut and fridge
    near(spent(&RADISH, &[(2 * H, 200)]), 0.0278, 0.00005);
    // one anchor
    let used = spent(&GENERAL, &[(3 * D, 50), (6 * H, 200)]);
    near(used, 0.4083, 0.0001);
    near(days_left(used, &GENERAL, 50), 5.92, 0.01);
    // 12 h at 4 °C and 12 h at 8 °C act like 6.22 °C, not like their mean
    let used = spent(&GENERAL, &[(12 * H, 40), (12 * H, 80)]);
    let acts_like = (0..400).map(f64::from).map(|hundredths| 4.0 + hundredths / 100.0).min_by(|a, b| {
        let off = |c: f64| (24.0 / life_h(&GENERAL, c).unwrap() - used).abs();
        off(*a).total_cmp(&off(*b))
    });
    near(acts_like.unwrap(), 6.22, 0.01);
    // six hours without power: at 4 °C against 25 °C
    near(spent(&GENERAL, &[(6 * H, 40)]) * 100.0, 2.2, 0.05);
    near(spent(&GENERAL, &[(6 * H, 250)]) * 100.0, 15.3, 0.05);
}

#[test]
fn nothing_is_left_of_what_is_used_up_and_never_less_than_nothing() {
    near(days_left(1.0, &RADISH, 40), 0.0, 0.0);
    near(days_left(1.7, &RADISH, 40), 0.0, 0.0);
}

#[test]
fn the_mean_kinetic_temperature_is_the_pharmacopoeias() {
    // P: USP <1160>, equal intervals; the second derived with the same ΔH/R
    near(mean_kinetic_c(&[2.0, 2.0, 5.0, 8.0, 8.0, 8.0, 8.0]).unwrap(), 6.25, 0.01);
    let day: Vec<f64> = [vec![4.0; 20], vec![12.0; 4]].concat();
    near(mean_kinetic_c(&day).unwrap(), 5.98, 0.01);
    assert_eq!(mean_kinetic_c(&[]), None);
}

#[test]
fn freezing_leaves_no_number_and_cold_never_helps_what_cold_harms() {
    assert!(of_anchors(&RADISH).marks(-3).freezing && !of_anchors(&RADISH).marks(-2).freezing);
    let basil = Rates::of(&[(120, 240)], true).unwrap();
    near(basil.life_h(40), basil.life_h(100), 1e-12);
    assert!(basil.marks(99).chilling && !basil.marks(100).chilling);
    let froze = Used { share: 0.1, marks: Marks { freezing: true, ..Marks::default() } };
    let left = Left::of(froze, &of_anchors(&RADISH), 40, CropId(1));
    assert_eq!((left.hours(), left.words().as_str()), (None, "freezing, inspect"));
}

fn series(readings: &[(i64, i64)], cuts: Vec<Cut>) -> Arc<Series> {
    let readings = readings.iter().map(|(at_s, dc)| Reading { at_s: *at_s, dc: *dc }).collect();
    Arc::new(Series::new(readings, H, cuts))
}

#[test]
fn a_gap_takes_its_warmer_end_and_is_marked() {
    let read = series(&[(0, 40), (H, 40), (5 * H, 60), (6 * H, 40)], vec![]);
    let sums = Sums::new(Arc::clone(&read), Arc::new(of_anchors(&RADISH)));
    let used = sums.between(0, 6 * H);
    assert!(used.marks.gap && !used.marks.unknown);
    near(used.share, spent(&RADISH, &[(H, 40), (5 * H, 60)]), 1e-12);
    assert!(!sums.between(0, H).marks.gap);
    // after the last reading it holds, and from an hour on that is a gap
    assert!(!sums.between(6 * H, 7 * H).marks.gap && sums.between(6 * H, 7 * H + 1).marks.gap);
    // before the first one: what was read soon after, or nothing
    let late = Sums::new(series(&[(3 * H, 40)], vec![]), Arc::new(of_anchors(&RADISH)));
    assert!(late.between(2 * H, 4 * H).marks.gap && late.between(H, 4 * H).marks.unknown);
    assert!(Sums::new(series(&[], vec![]), Arc::new(of_anchors(&RADISH))).between(0, H).marks.unknown);
}

#[test]
fn a_gap_with_the_power_out_is_unknown_unless_somebody_measured() {
    let readings = [(0, 40), (H, 40), (7 * H, 60), (8 * H, 40)];
    let out = |warmest_dc, to_s| vec![Cut { from_s: 2 * H, to_s, warmest_dc }];
    let used = |cuts| Sums::new(series(&readings, cuts), Arc::new(of_anchors(&GENERAL))).between(0, 8 * H);
    assert!(used(out(None, Some(6 * H))).marks.unknown);
    // the reading at its end was taken while it was out
    assert!(!used(out(None, Some(7 * H))).marks.unknown);
    let entered = used(out(Some(250), Some(6 * H)));
    assert!(!entered.marks.unknown && entered.marks.gap);
    near(entered.share, spent(&GENERAL, &[(H, 40), (6 * H, 250), (H, 60)]), 1e-12);
    // where the logger went on there is no gap, and its readings count
    let through: Vec<(i64, i64)> = (0..=8).map(|hour| (hour * H, 40)).collect();
    let sums = Sums::new(series(&through, out(None, None)), Arc::new(of_anchors(&GENERAL)));
    assert!(!sums.between(0, 8 * H).marks.unknown);
}

#[test]
fn of_equal_instants_the_warmer_counts_in_any_order() {
    for order in [[(0, 40), (0, 90), (H, 40)], [(H, 40), (0, 90), (0, 40)]] {
        let sums = Sums::new(series(&order, vec![]), Arc::new(of_anchors(&RADISH)));
        near(sums.between(0, H).share, spent(&RADISH, &[(H, 90)]), 1e-15);
    }
}

#[test]
fn a_frozen_reading_is_not_hidden_by_a_warmer_end_of_its_gap() {
    let sums = Sums::new(series(&[(0, 20), (H, -10), (4 * H, 30)], vec![]), Arc::new(of_anchors(&RADISH)));
    assert!(sums.between(0, 5 * H).marks.freezing && sums.between(2 * H, 3 * H).marks.freezing);
    assert!(!sums.between(0, H).marks.freezing && !sums.between(4 * H, 5 * H).marks.freezing);
}

#[test]
fn a_blend_takes_its_shortest_part_and_what_is_to_be_said_of_any() {
    let of =
        |used, crop| Left::of(Used { share: used, marks: Marks::default() }, &of_anchors(&RADISH), 40, CropId(crop));
    let mut gap = of(0.2, 2);
    gap.marks.gap = true;
    let both = shortest(vec![of(0.5, 1), gap]);
    assert_eq!((both.crop, both.marks.gap), (Some(CropId(1)), true));
    let frozen = Left::none(Figure::Freezing, Some(CropId(3)));
    assert_eq!(shortest(vec![of(0.99, 1), frozen.clone()]).figure, Figure::Freezing);
    let nothing = Left::none(Figure::NoAnchors, Some(CropId(4)));
    assert_eq!(
        shortest(vec![of(0.1, 1), nothing]).figure,
        Figure::NoAnchors,
        "a part without figures has none to give"
    );
}

#[test]
fn best_before_is_the_early_end_rounded_down() {
    let now = crate::domain::time::Now(chrono::DateTime::parse_from_rfc3339("2026-07-12T10:00:00+02:00").unwrap());
    // 10 d at 5 °C, 40 % off: 6 d, at ten in the morning
    let left = Left::of(Used::default(), &of_anchors(&GENERAL), 50, CropId(1));
    assert_eq!(early_day(&left, now), Some("2026-07-18".parse().unwrap()));
    // 13.95 d at 4 °C, 40 % off: 8.37 d, 18:54
    let left = Left::of(Used::default(), &of_anchors(&RADISH), 40, CropId(1));
    assert_eq!(early_day(&left, now), Some("2026-07-20".parse().unwrap()));
    assert_eq!(early_day(&Left::none(Figure::Unknown, None), now), None);
}

/// Degrees at one moment, by looking through all readings: the rules of gaps and cuts once more, without any sum.
fn at(readings: &[(i64, i64)], cuts: &[Cut], gap_s: i64, (from_s, to_s): (i64, i64), t: i64) -> Option<i64> {
    let warmest = |at_s: i64| readings.iter().filter(|r| r.0 == at_s).map(|r| r.1).max();
    let before = readings.iter().map(|r| r.0).filter(|at_s| *at_s <= t).max();
    let after = readings.iter().map(|r| r.0).filter(|at_s| *at_s > t).min();
    let Some(before) = before else {
        let after = after?;
        return if after - from_s <= gap_s { warmest(after) } else { None };
    };
    let end = after.unwrap_or(to_s);
    if end - before <= gap_s {
        return warmest(before);
    }
    let mut ends = vec![(before, warmest(before)?)];
    ends.extend(after.and_then(|after| Some((after, warmest(after)?))));
    let mut dc = ends.iter().map(|end| end.1).max()?;
    for cut in cuts.iter().filter(|cut| cut.from_s < end && cut.to_s.is_none_or(|to| to > before)) {
        let inside = ends.iter().filter(|e| e.0 >= cut.from_s && cut.to_s.is_none_or(|to| e.0 <= to)).map(|e| e.1);
        dc = dc.max(inside.chain(cut.warmest_dc).max()?);
    }
    Some(dc)
}

const MINUTE: i64 = 60;

fn some_readings() -> impl Strategy<Value = Vec<(i64, i64)>> {
    proptest::collection::vec((0i64..2000, -20i64..300), 0..60)
        .prop_map(|list| list.into_iter().map(|(minute, dc)| (minute * MINUTE, dc)).collect())
}

fn some_cuts() -> impl Strategy<Value = Vec<Cut>> {
    let cut = (0i64..2000, 1i64..300, proptest::option::of(0i64..300), proptest::bool::ANY);
    proptest::collection::vec(cut, 0..3).prop_map(|list| {
        let cut = |(from, long, warmest_dc, ends): (i64, i64, Option<i64>, bool)| Cut {
            from_s: from * MINUTE,
            to_s: ends.then_some((from + long) * MINUTE),
            warmest_dc,
        };
        list.into_iter().map(cut).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn the_sums_are_those_of_minute_after_minute(readings in some_readings(), cuts in some_cuts(), from in 0i64..2000, long in 0i64..900) {
        let (from_s, to_s) = (from * MINUTE, (from + long) * MINUTE);
        let rates = of_anchors(&RADISH);
        let series = series(&readings, cuts.clone());
        let sums = Sums::new(Arc::clone(&series), Arc::new(rates.clone()));
        let used = sums.between(from_s, to_s);
        let (mut share, mut unknown) = (0.0, false);
        for minute in from..from + long {
            match at(&readings, &cuts, H, (from_s, to_s), minute * MINUTE) {
                Some(dc) => share += 60.0 * rates.per_s(dc),
                None => unknown = true,
            }
        }
        prop_assert!((used.share - share).abs() < 1e-9, "{} {share}", used.share);
        prop_assert_eq!(used.marks.unknown, unknown);
        // and so is the sum that is told reading by reading
        let way = Way {
            crop: CropId(1),
            name: String::new(),
            cut_s: from_s,
            legs: vec![Leg { from_s, to_s: None, place: Place::Store(StoreId(1)) }],
        };
        let told: f64 = way.parts(&rates, to_s, |_| Some(&series)).iter().map(|part| part.share).sum();
        prop_assert!((told - used.share).abs() < 1e-9);
    }

    #[test]
    fn life_left_never_grows_while_time_passes(readings in some_readings(), cuts in some_cuts(), from in 0i64..2000, steps in proptest::collection::vec(1i64..200, 1..12)) {
        let sums = Sums::new(series(&readings, cuts), Arc::new(of_anchors(&RADISH)));
        let rates = of_anchors(&RADISH);
        let (mut now, mut before) = (from * MINUTE, f64::MAX);
        for step in steps {
            now += step * MINUTE;
            // a figure, once it is gone, does not come back by waiting
            let left = Left::of(sums.between(from * MINUTE, now), &rates, 40, CropId(1)).hours();
            if let Some(left) = left {
                prop_assert!(left <= before + 1e-9, "{left} after {before}");
            }
            before = left.unwrap_or(-1.0).min(before);
        }
    }

    #[test]
    fn a_change_anywhere_is_worked_out_from_there(first in some_readings(), second in some_readings(), cuts in some_cuts()) {
        let rates = Arc::new(of_anchors(&RADISH));
        // a late reading, and readings that are no longer there
        for other in [second.clone(), [first.clone(), second.clone()].concat(), vec![]] {
            let (one, two) = (series(&first, cuts.clone()), series(&other, cuts.clone()));
            let again = Sums::new(Arc::clone(&one), Arc::clone(&rates)).over(Arc::clone(&two));
            prop_assert_eq!(&again, &Sums::new(Arc::clone(&two), Arc::clone(&rates)));
            // and taking it back comes to the same figure
            prop_assert_eq!(again.over(Arc::clone(&one)), Sums::new(one, Arc::clone(&rates)));
        }
    }
}

/// A year of readings every five minutes, with a gap here and there, and where 500 lots lay in it.
#[test]
fn five_hundred_lots_against_a_year_come_to_what_each_stretch_adds_up_to() {
    const YEAR: i64 = 105_120;
    let mut rng = fastrand::Rng::with_seed(20_261_126);
    let readings: Vec<Reading> = (0..YEAR)
        .filter(|n| n % 997 > 40)
        .map(|n| Reading { at_s: n * 300, dc: 35 + rng.i64(0..12) + if n % 4000 < 30 { 80 } else { 0 } })
        .collect();
    let series = Arc::new(Series::new(readings, H, vec![]));
    let rates = of_anchors(&RADISH);
    let sums = Sums::new(Arc::clone(&series), Arc::new(rates.clone()));
    for _ in 0..500 {
        let from_s = rng.i64(0..YEAR * 300);
        let to_s = (from_s + rng.i64(0..20 * D)).min(YEAR * 300);
        let used = sums.between(from_s, to_s);
        #[expect(clippy::cast_precision_loss, reason = "seconds of a year")]
        let each = |stretch: &Stretch| (stretch.to_s - stretch.from_s) as f64 * rates.per_s(stretch.dc.unwrap());
        let direct: f64 = series.stretches(from_s, to_s).iter().map(each).sum();
        assert!((used.share - direct).abs() < 1e-9, "{} {direct}", used.share);
    }
}

#[test]
fn a_cold_reading_of_one_sensor_hides_no_warm_one_of_another() {
    let at = |minute: i64, dc| Reading { at_s: minute * MINUTE, dc };
    let two = vec![(1, at(0, 90)), (2, at(2, 40)), (1, at(5, 90)), (2, at(7, 40)), (1, at(70, 40)), (2, at(72, 40))];
    let merged: Vec<i64> = warmest_of(two, H).iter().map(|reading| reading.dc).collect();
    // the warm one stands for an hour, and no longer
    assert_eq!(merged, [90, 90, 90, 90, 40, 40]);
    // one sensor alone reads what it reads
    let one: Vec<(i64, Reading)> = (0..20).map(|n| (1, at(n * 5, 30 + n * 7 % 40))).collect();
    assert_eq!(warmest_of(one.clone(), H), one.into_iter().map(|(_, reading)| reading).collect::<Vec<_>>());
}
