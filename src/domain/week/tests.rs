//! The review of days made by hand: what is said of few, and that nothing falls over whatever stands in the book.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;
use proptest::prelude::*;

use super::words::{grams, money, rounded, spread};
use super::*;
use crate::domain::id::{CropId, LotId, PlaceId, SowingId, TrayId};
use crate::domain::period::Period;
use crate::domain::room::Units;
use crate::domain::stats::spread::Spread;
use crate::domain::time::Day;
use crate::domain::tray::LossReason;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// One tray of a made-up book: crop, seed lot, shelf, weeks ago that it was sown, grams (none: lost), mats, marked.
type Made = (i64, usize, i64, i64, Option<u64>, u64, bool);

/// A review of the last week of these trays.
fn told(trays: &[Made]) -> Told {
    let first = day("2026-07-06");
    let period = of(first);
    let window = Past::window(period);
    let mut facts = Facts {
        begins: Some(day("2026-01-01")),
        crops: (1..=3)
            .map(|n| CropFigures {
                id: CropId(n),
                name: format!("crop {n}"),
                yield_g: (n == 1).then_some(200),
                seed_kg_c: Some(2000),
                tray_c: Some(100),
            })
            .collect(),
        ..Facts::of(window)
    };
    let (mut lots, mut shelves, mut seeded) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    for (n, (crop, lot, shelf, weeks, grams, mats, odd)) in (1..).zip(trays) {
        let (tray, sowing) = (TrayId(n), SowingId(n));
        let sown = first - Duration::weeks(weeks + 1);
        let ended = sown + Duration::days(8);
        facts.batches.push(Batch {
            sowing,
            code: format!("B{n}"),
            crop: CropId(*crop),
            day: sown,
            window: (7, 9),
            plan_version: 1,
            trays: 1,
            seed_mg: (*mats != 3).then_some(27_000),
        });
        facts.sown.push(Sown { tray, sowing });
        let end = if grams.is_some() { End::Cut } else { End::Lost(LossReason::Mould) };
        facts.ended.push(Ended { tray, sowing, day: ended, end });
        if let Some(grams) = grams {
            facts.weighings.push(Weighing {
                lot: LotId(n),
                code: format!("L{n}"),
                crop: CropId(*crop),
                day: ended,
                on: vec![OnScale { tray, sowing, mats: *mats, of: 4 }],
                grams: *grams,
                again: false,
                regrown: false,
                odd: *odd,
                own: Some(tray),
            });
        }
        lots.insert(sowing, vec![format!("S{lot}")]);
        shelves.insert(tray, (format!("A {shelf}"), PlaceId(*shelf)));
        seeded.insert(sowing, if *mats == 2 { 1.5 } else { 1.0 });
    }
    let rows = |week: Day, facts: &Facts| -> Vec<Weekly> {
        let mine = |one: Day| monday(one) == week;
        let mut part = facts.clone();
        part.sown.clear();
        part.ended.retain(|one| mine(one.day));
        part.weighings.retain(|one| mine(one.day));
        roll(&part).into_iter().map(|(crop, rolled)| Weekly { week, crop, rolled }).collect()
    };
    let weekly: Vec<Weekly> = mondays(window.from, window.to).flat_map(|week| rows(week, &facts)).collect();
    let baselines = facts.crops.iter().map(|crop| {
        let before = facts.weighings.iter().filter(|one| one.crop == crop.id && one.day < period.from && one.counts());
        let days = Period { from: window.from, to: period.from - Duration::days(1) };
        (crop.id, Baseline { days, set: None, values: before.map(Weighing::value).collect() })
    });
    let baselines = baselines.collect();
    let mut this = facts.clone();
    this.period = period;
    this.ended.retain(|one| period.holds(one.day));
    this.weighings.retain(|one| period.holds(one.day));
    this.sown.clear();
    let past = Past {
        today: period.to,
        period,
        window,
        facts,
        lots,
        gone: BTreeSet::new(),
        shelves,
        seeded,
        weekly,
        baselines,
    };
    Told::of(Review::of(&this), past)
}

fn text(told: &Told) -> String {
    let crops = (1..=4).map(|n| Part::Crop(CropId(n)));
    let parts = [Part::Plain, Part::Crops, Part::Losses, Part::Drift, Part::Differ, Part::Sold, Part::Why];
    let all = parts.into_iter().chain(crops).flat_map(|part| lines(told, part, Units::Metric));
    all.map(|line| line.text).collect::<Vec<_>>().join("\n")
}

#[test]
fn few_weights_are_shown_as_they_are_and_called_few() {
    let of = |values: &[f64]| spread(Units::Metric, &Spread::of(values).unwrap(), values);
    assert_eq!(of(&[240.0]), "240 g a tray (1 weight: too few for more)");
    assert_eq!(of(&[240.0, 210.4]), "240 g and 210 g a tray (2 weights: too few for more)");
    assert!(of(&[240.0, 210.0, 225.0]).ends_with("3 weights, very wide)"));
    assert!(of(&[240.0, 210.0, 225.0, 230.0, 228.0, 231.0]).ends_with("6 weights)"));
    assert_eq!((grams(Units::Metric, 19.94), grams(Units::Metric, 20.4)), ("19.9 g".into(), "20 g".into()));
}

#[test]
fn one_of_four_is_not_worse_than_nine_of_forty() {
    let mut trays: Vec<Made> = Vec::new();
    for n in 0..40 {
        trays.push((1, 1, 1, n % 4, (n >= 9).then_some(200), 4, false));
    }
    for n in 0..4 {
        trays.push((1, 1, 2, n % 4, (n > 0).then_some(200), 4, false));
    }
    let told = told(&trays);
    let shelf = told.differences.losing_shelf().unwrap();
    assert_eq!((shelf.name.as_str(), shelf.by), ("A 1", By::Shelf));
}

#[test]
fn a_weight_far_below_the_weeks_before_is_unusual_and_eight_below_are_a_shift() {
    let mut trays: Vec<Made> =
        (0_i64..24).map(|n| (1, 1, 1, 1 + n % 8, Some(u64::try_from(190 + n * 7 % 21).unwrap()), 4, false)).collect();
    trays.push((1, 1, 1, 0, Some(120), 4, false));
    let said = told(&trays);
    assert!(said.drifts[0].said().contains(&Said::Outside), "{:?}", said.drifts[0]);
    assert!(sentences(&said, Units::Metric)[2].text.contains("120 g a tray"));
    // the same, as it always was
    trays.pop();
    trays.push((1, 1, 1, 0, Some(200), 4, false));
    let said = told(&trays);
    let found = said.drifts[0].said();
    assert!(!found.contains(&Said::Outside) && !found.contains(&Said::Shifted), "{found:?}");
    // eight a little lower, each within the limits
    trays.pop();
    trays.extend((0..8).map(|_| (1, 1, 1, 0, Some(195), 4, false)));
    let said = told(&trays);
    let found = said.drifts[0].said();
    assert!(found.contains(&Said::Shifted) && !found.contains(&Said::Outside), "{found:?} {:?}", said.drifts[0].limits);
}

#[test]
fn an_uneven_canopy_is_no_figure_of_the_review() {
    // common practice, no source: it is looks, not yield; the review says so and counts no grade of the canopy
    let told = told(&[(1, 1, 1, 0, Some(200), 4, false)]);
    assert!(text(&told).contains("An uneven canopy is looks, not yield"));
}

#[test]
fn no_trays_to_sow_are_worked_out_of_no_record_and_more_of_a_short_one() {
    // derived from statistics.md section 7: 18 of 20 good, 10 needed: 15
    let trays: Vec<Made> = (0..20).map(|n| (1, 1, 1, n % 2, (n >= 2).then_some(200), 4, false)).collect();
    let short = told(&trays);
    let one = short.enough.iter().find(|one| one.crop_name == "crop 1").unwrap();
    assert_eq!((one.good, one.of, one.need), (18, 20, 9));
    assert!(one.enough.trays > one.enough.optimistic, "{one:?}");
    assert!(short.enough.iter().all(|one| one.crop_name != "crop 2"), "nothing is known of it");
}

#[test]
fn prices_say_how_sure_it_pays_to_be() {
    let trays: Vec<Made> = (0..20).map(|n| (1, 1, 1, 0, (n >= 2).then_some(200), 4, false)).collect();
    let bare = told(&trays);
    assert!(bare.enough[0].by_cost.is_none(), "nothing was sold, so that a tray too few loses nothing");
    let mut facts = bare.past.facts.clone();
    let parts = vec![(CropId(1), 500), (CropId(2), 500)];
    facts.sold = vec![Sold { product: "half".into(), packs: 40, price_c: Some(400), parts }];
    let past = Past { facts: facts.clone(), ..bare.past };
    let sold = Told::of(Review::of(&facts), past);
    let money = sold.review.crops[0].money.as_ref().unwrap();
    // derived by hand: half of 40 packs at 4.00 is 80.00, 4.00 for each of 20 trays; costs 1.00 and 27 g of seed at 20.00 a kilogram
    assert_eq!((money.income_c, money.incomes[0].cents()), (Some(8000.0), Some(8000.0)));
    assert!((money.cost_c() - 154.0).abs() < 1e-9 && (money.costs_c() - 3080.0).abs() < 1e-9, "{money:?}");
    assert!((money.margin_c().unwrap() - 246.0).abs() < 1e-9);
    let by = sold.enough[0].by_cost.as_ref().unwrap();
    // one good tray of 18 more would have brought 80.00 / 18
    let earned = 8000.0 / 18.0 - 154.0;
    assert!((by.assurance - earned / (earned + 154.0)).abs() < 1e-12, "{by:?}");
    assert!(by.enough.trays < sold.enough[0].enough.trays, "65 % sure takes fewer than 95 %");
    let text = text(&sold);
    assert!(text.contains("one too few loses 2.90, one too many 1.54, so 65 % sure is enough"), "{text}");
    assert!(text.contains("from 40 packs of half, 50 % of them this crop: 80.00"), "{text}");
    assert!(text.contains("a tray brought 2.46 more than it cost (20 trays, lost ones too)"), "{text}");
}

#[test]
fn lots_without_seed_are_a_lead_for_the_next_order() {
    let lot =
        |lot, grams: u64| (0_i64..8).map(move |n| (1, lot, 1, n % 3, Some(grams + 3 * n.unsigned_abs()), 4, false));
    let trays: Vec<Made> = lot(1, 220).chain(lot(2, 160)).collect();
    let left = told(&trays);
    let said = |told: &Told| sentences(told, Units::Metric)[3].text.clone();
    assert!(said(&left).contains("worth a planned trial"), "{}", said(&left));
    let gone = Past { gone: BTreeSet::from(["S2".to_string()]), ..left.past };
    let gone = Told::of(left.review, gone);
    let told = said(&gone);
    assert!(told.contains("think of it at the next order: no seed of S2 is left to try"), "{told}");
    let between = &gone.differences.between[0];
    assert!(between.lots == 2 && between.sd > 20.0, "{between:?}");
    assert!(text(&gone).contains("2 lots of crop 1 lie apart by about"));
    assert!(gone.differences.drawn_losses.is_empty(), "nothing was lost");
}

#[test]
fn losses_of_small_lots_are_drawn_towards_their_crop() {
    let lot = |lot, lost, n| (0..n).map(move |at| (1, lot, 1, at % 3, (at >= lost).then_some(200), 4, false));
    let trays: Vec<Made> = lot(1, 2, 30).chain(lot(2, 12, 24)).chain(lot(3, 2, 2)).collect();
    let told = told(&trays);
    let [_, _, small] = &told.differences.drawn_losses[..] else { panic!("{:?}", told.differences.drawn_losses) };
    assert_eq!((small.seen.x, small.seen.n), (2, 2));
    assert!(small.expected > 16.0 / 56.0 && small.expected < 0.9, "{small:?}");
    assert!(text(&told).contains("S3 of crop 1: 2 of 2 lost, "));
}

#[test]
fn where_every_weight_is_marked_none_is_believed() {
    let told = told(&[(1, 1, 1, 0, Some(200), 4, true), (1, 1, 1, 0, Some(210), 4, true)]);
    let crop = &told.review.crops[0];
    assert!(crop.believed().is_none() && crop.spread.is_some() && crop.values().is_empty());
    let first = &sentences(&told, Units::Metric)[0].text;
    assert!(first.ends_with("Most came from crop 1, 2 weights marked as not right, with them 205 g."), "{first}");
    let third = &sentences(&told, Units::Metric)[2].text;
    assert!(third.contains("2 weights marked as not right are not judged"), "{third}");
}

#[test]
fn more_losses_are_called_so_where_the_weeks_before_seldom_give_as_many() {
    let weeks = |lost: i64| -> Told {
        let mut trays: Vec<Made> = Vec::new();
        for week in 0..10 {
            let of = |n: i64| if week == 0 { n < lost } else { week == 5 && n == 0 };
            trays.extend((0..4).map(|n| (1, 1, 1, week, (!of(n)).then_some(195 + n.unsigned_abs()), 4, false)));
        }
        told(&trays)
    };
    // 1 of 36 before: one of 4 is to be expected once in ten weeks or so
    assert!(!weeks(1).drifts[0].said().contains(&Said::Losses));
    let three = weeks(3);
    assert_eq!(three.drifts[0].lost_more, Some((3, 4)));
    let text = sentences(&three, Units::Metric)[2].text.clone();
    assert!(text.contains("3 of 4 trays of crop 1 lost in a week is more than the weeks before explain"), "{text}");
}

#[test]
fn equal_weeks_never_drift() {
    let trays: Vec<Made> = (0..40).map(|n| (1, 1, 1, n % 10, Some(107), 4, false)).collect();
    let told = told(&trays);
    assert!(told.drifts[0].said().is_empty(), "{:?}", told.drifts[0]);
    assert!(told.drifts[0].limits.is_none() && told.drifts[0].ewma.is_none(), "nothing tells how far weights may lie");
}

#[test]
fn two_lots_that_are_the_others_of_each_other_are_one_question() {
    // four lots, of which only 1 and 2 share weeks, and only 3 and 4
    let lot =
        |lot, week| (0..6).map(move |n| (1, lot, 1, week, Some(180 + 7 * n * u64::try_from(lot).unwrap()), 4, false));
    let trays: Vec<Made> = lot(1, 0).chain(lot(2, 0)).chain(lot(3, 3)).chain(lot(4, 3)).collect();
    let told = told(&trays);
    let lots: Vec<&Comparison> = told
        .differences
        .comparisons
        .iter()
        .filter(|one| one.by == By::SeedLot && matches!(one.found, Found::Yield(_)))
        .collect();
    assert_eq!(lots.len(), 2, "{lots:?}");
    assert!(lots.iter().all(|one| one.other.starts_with('S')), "the other one is named: {lots:?}");
}

#[test]
fn a_crop_that_is_lost_everywhere_makes_no_shelf_a_bad_one() {
    let mut trays: Vec<Made> = (0..40).map(|n| (1, 1, 1, n % 4, (n % 3 > 0).then_some(200), 4, false)).collect();
    trays.extend((0..40).map(|n| (2, 1, 2, n % 4, (n > 0).then_some(200), 4, false)));
    let told = told(&trays);
    let shelf = told.differences.losing_shelf().unwrap();
    assert_eq!(shelf.name, "A 1");
    assert!(!shelf.worth() && shelf.p.is_some_and(|p| p > 0.9), "{shelf:?}");
}

#[test]
fn nothing_is_less_than_nothing() {
    assert_eq!((money(-0.4, "EUR"), money(-0.6, "")), ("0.00 EUR".into(), "-0.01".into()));
    assert_eq!(format!("{:+.0}", rounded(-0.3)), "+0");
}

fn made() -> impl Strategy<Value = Made> {
    let grams = prop_oneof![
        3 => (150_u64..260).prop_map(Some),
        1 => Just(None),
        1 => prop_oneof![Just(Some(0)), Just(Some(41)), Just(Some(200)), Just(Some(10_000_000))],
    ];
    (1_i64..4, 1_usize..4, 1_i64..4, 0_i64..11, grams, 1_u64..5, prop::bool::weighted(0.1))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn whatever_was_weighed_every_page_can_be_read_and_every_share_has_its_count(
        trays in prop::collection::vec(made(), 0..90)
    ) {
        let told = told(&trays);
        let text = text(&told);
        prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
        for line in sentences(&told, Units::Us) {
            // a share is never without what it is of
            prop_assert!(!line.text.contains('%') || line.text.contains(" of "), "{}", line.text);
        }
        for picture in pictures(&told, Units::Metric, &[]) {
            for row in picture.lines(60, false) {
                prop_assert!(row.chars().count() <= 60, "{row}");
            }
        }
        // every tray that ended is in just one crop, and lost or not
        let ended: usize = told.review.crops.iter().map(|crop| crop.ended.len()).sum();
        let lost: u64 = told.review.crops.iter().filter_map(|crop| crop.lost).map(|lost| lost.x).sum();
        let mine = trays.iter().filter(|one| one.3 == 0);
        prop_assert_eq!(ended, mine.clone().count());
        prop_assert_eq!(lost, mine.filter(|one| one.4.is_none()).count() as u64);
    }
}
