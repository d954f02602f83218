use std::sync::Arc;

use proptest::prelude::*;

use super::*;
use crate::domain::keeping::{Leg, Reading, Series};

const H: i64 = 3600;
const D: i64 = 24 * H;
const STORE: StoreId = StoreId(1);

/// Scores at days since the cut, of one pack.
fn scores(list: &[(i64, i64)]) -> Vec<Scored> {
    list.iter().map(|(day, score)| Scored { at_s: day * D, packs: 1, score: *score }).collect()
}

fn way(crop: i64, cut_s: i64, place: Place) -> Way {
    Way { crop: CropId(crop), name: "pea".into(), cut_s, legs: vec![Leg { from_s: cut_s, to_s: None, place }] }
}

fn rates(anchors: &[(i64, i64)]) -> Rates {
    Rates::of(anchors, false).unwrap()
}

fn none<'s>(_: StoreId) -> Option<&'s Sums> {
    None
}

fn proposal(old: &[(i64, i64)], says: &[Says]) -> Proposal {
    let lot = |says: &Says| LotSays { lot: LotId(1), code: "PEA".into(), packs: 2, says: *says };
    Proposal { crop: CropId(1), name: "pea".into(), rev: 0, old: old.to_vec(), lots: says.iter().map(lot).collect() }
}

fn shares(list: &[f64]) -> Vec<Says> {
    list.iter().map(|share| Says::Share { share: *share, gap: false }).collect()
}

#[test]
fn the_scale_goes_from_nine_to_one_and_each_has_a_word() {
    assert_eq!(SCALE.map(|(n, _)| n), [9, 8, 7, 6, 5, 4, 3, 2, 1]);
    let mut words: Vec<&str> = SCALE.map(|(n, _)| scale(n)).to_vec();
    assert!(words.iter().all(|word| !word.is_empty()) && scale(0).is_empty());
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), 9, "no two are called the same");
}

#[test]
fn a_score_falls_on_a_straight_line_between_two() {
    // 7 on day 4, 4 on day 6: two of three points down at two thirds of 48 h, 96 h + 32 h
    assert_eq!(fell_s(0, &scores(&[(2, 8), (4, 7), (6, 4)])), Some(128 * H));
    // alone below 5: from 9 at the cut, four of six points down at two thirds of 6 d
    assert_eq!(fell_s(0, &scores(&[(6, 3)])), Some(4 * D));
    // the same from a cut on day 2: 2 d + 4 · 4 / 6 d, 112 h
    assert_eq!(fell_s(2 * D, &scores(&[(6, 3)])), Some(112 * H));
    // from the last 5 on
    assert_eq!(fell_s(0, &scores(&[(2, 5), (4, 5), (6, 3)])), Some(4 * D));
    // for the first time
    assert_eq!(fell_s(0, &scores(&[(4, 6), (5, 4), (6, 8), (9, 1)])), Some(4 * D + 12 * H));
    // it never fell
    assert_eq!(fell_s(0, &scores(&[(2, 9), (4, 9), (8, 5)])), None);
    assert_eq!(fell_s(0, &[]), None);
    // gone when it was cut
    assert_eq!(fell_s(D, &[Scored { at_s: D, packs: 1, score: 1 }]), Some(D));
}

#[test]
fn a_lot_tells_the_share_it_had_used_by_the_temperatures_it_had() {
    let rates = rates(&[(50, 240)]);
    // 60 h of 240 h at 5 °C
    let at_5 = Place::Outside(Some(50));
    assert_eq!(says(&[way(1, 0, at_5)], Some(&rates), 60 * H, none), Says::Share { share: 0.25, gap: false });
    // of two cuts the older: 84 h
    let two = [way(1, 24 * H, at_5), way(1, 0, at_5)];
    let Says::Share { share, .. } = says(&two, Some(&rates), 84 * H, none) else { panic!("no share") };
    assert!((share - 0.35).abs() < 1e-12, "{share}");
    // in a store: 24 h at 5 °C and as long at 15 °C, whose life by the handbook's rates is 240 · 1.7321 / 4.7434 = 87.64 h
    let readings =
        vec![Reading { at_s: 0, dc: 50 }, Reading { at_s: 24 * H, dc: 150 }, Reading { at_s: 48 * H, dc: 50 }];
    let sums = Sums::new(Arc::new(Series::new(readings, 9 * D, vec![])), Arc::new(rates.clone()));
    let lay = [way(1, 0, Place::Store(STORE))];
    let Says::Share { share, gap } = says(&lay, Some(&rates), 48 * H, |_| Some(&sums)) else { panic!("no share") };
    assert!((share - (24.0 / 240.0 + 24.0 / 87.64)).abs() < 1e-4 && !gap, "{share}");
}

#[test]
fn a_lot_without_a_figure_says_why() {
    let rates = rates(&[(50, 240)]);
    let of = |ways: &[Way]| says(ways, Some(&rates), 60 * H, none);
    let at = |dc| Place::Outside(dc);
    assert_eq!(of(&[]), Says::Nothing(Why::Uncut));
    assert_eq!(of(&[way(1, 0, at(Some(50))), way(2, 0, at(Some(50)))]), Says::Nothing(Why::Several));
    assert_eq!(says(&[way(1, 0, at(Some(50)))], None, 60 * H, none), Says::Nothing(Why::NoAnchors));
    assert_eq!(of(&[way(1, 0, Place::Store(STORE))]), Says::Nothing(Why::NoRecord));
    assert_eq!(of(&[way(1, 0, at(None))]), Says::Nothing(Why::Unknown));
    assert_eq!(of(&[way(1, 0, at(Some(-3)))]), Says::Nothing(Why::Freezing));
    assert_eq!(of(&[way(1, 60 * H, at(Some(50)))]), Says::Nothing(Why::AtOnce));
    // where it went afterwards says nothing against it
    let legs = vec![
        Leg { from_s: 0, to_s: Some(70 * H), place: at(Some(50)) },
        Leg { from_s: 70 * H, to_s: None, place: Place::Store(STORE) },
    ];
    assert_eq!(of(&[Way { legs, ..way(1, 0, at(None)) }]), Says::Share { share: 0.25, gap: false });
}

#[test]
fn one_factor_comes_of_all_lots() {
    // shares 0.5 and 0.8: √0.4 = 0.63246; 552 h, 240 h, 72 h become 349.1, 151.8, 45.5
    let old = [(10, 552), (60, 240), (200, 72)];
    let both = proposal(&old, &shares(&[0.5, 0.8]));
    let fit = both.fit().unwrap();
    assert!((fit.factor - 0.632_455_532).abs() < 1e-9);
    assert_eq!((fit.range, fit.anchors), ((0.5, 0.8), vec![(10, 349), (60, 152), (200, 46)]));
    assert_eq!((both.used(), both.packs(), both.few(), both.of().as_str()), (2, 4, true, "4 packs of 2 lots"));
    // half and twice as long
    assert_eq!(proposal(&old, &shares(&[0.5, 2.0])).fit().unwrap().anchors, old);
    // five alike
    let alike = proposal(&old, &shares(&[1.25; 5]));
    assert_eq!(alike.fit().unwrap().anchors, [(10, 690), (60, 300), (200, 90)]);
    assert!(!alike.few());
}

#[test]
fn what_is_not_used_is_counted_and_moves_nothing() {
    let old = [(50, 240)];
    let mut all = shares(&[0.9]);
    all.extend([Says::Still, Says::Still, Says::Nothing(Why::Freezing), Says::Share { share: 0.9, gap: true }]);
    let mixed = proposal(&old, &all);
    assert_eq!((mixed.used(), mixed.still(), mixed.gaps()), (2, 2, 1));
    assert_eq!(mixed.left_out().collect::<Vec<_>>(), [("PEA", Why::Freezing)]);
    assert_eq!(mixed.fit().unwrap().anchors, [(50, 216)]);
    assert!(proposal(&old, &[Says::Still, Says::Still]).fit().unwrap_err().contains("go on scoring"));
    assert!(proposal(&old, &[]).fit().unwrap_err().contains("go on scoring"));
    assert!(proposal(&[], &shares(&[0.9])).fit().unwrap_err().contains("no figures"));
}

#[test]
fn figures_stay_within_the_table_and_shorter_when_warmer() {
    assert!(proposal(&[(50, 240)], &shares(&[0.001])).fit().unwrap_err().contains("less than an hour"));
    assert!(proposal(&[(50, 9600)], &shares(&[1.1])).fit().unwrap_err().contains("400 days"));
    // 3 h and 2 h at a half are 2 h, rounded up from 1.5, and 1 h
    assert_eq!(proposal(&[(50, 3), (90, 2)], &shares(&[0.5])).fit().unwrap().anchors, [(50, 2), (90, 1)]);
    // 11 h and 10 h at 0.4 are both 4 h
    assert!(proposal(&[(50, 11), (90, 10)], &shares(&[0.4])).fit().unwrap_err().contains("as long warm as cold"));
}

fn any_anchors() -> impl Strategy<Value = Vec<(i64, i64)>> {
    (1i64..=3, 0i64..=100, 300i64..2000)
        .prop_map(|(n, cold, hours)| (0..n).map(|k| (cold + 60 * k, hours / (k + 1) - k)).collect())
}

proptest! {
    #[test]
    fn a_lot_that_kept_as_figured_leaves_the_figures_as_they_are(
        anchors in any_anchors(), dc in 0i64..=250, lots in 1usize..7,
    ) {
        let rates = rates(&anchors);
        // all of its life at one temperature, to the second
        #[expect(clippy::cast_possible_truncation, reason = "hours of some weeks")]
        let fell = (rates.life_h(dc) * 3600.0).round() as i64;
        let lot = says(&[way(1, 0, Place::Outside(Some(dc)))], Some(&rates), fell, none);
        let fit = proposal(&anchors, &vec![lot; lots]).fit().unwrap();
        prop_assert!((fit.factor - 1.0).abs() < 1e-4);
        prop_assert_eq!(fit.anchors, anchors);
    }

    #[test]
    fn figures_that_were_taken_over_are_proposed_again(
        anchors in any_anchors(), dc in 0i64..=250, factor in 0.5f64..2.0,
    ) {
        // scored when it had used `factor` of its life: the figures taken, it used all of it, up to whole hours
        let of = |anchors: &[(i64, i64)], fell: i64| {
            let rates = rates(anchors);
            proposal(anchors, &[says(&[way(1, 0, Place::Outside(Some(dc)))], Some(&rates), fell, none)]).fit()
        };
        #[expect(clippy::cast_possible_truncation, reason = "hours of some weeks")]
        let fell = (rates(&anchors).life_h(dc) * 3600.0 * factor).round() as i64;
        let first = of(&anchors, fell);
        prop_assume!(first.is_ok());
        let second = of(&first.unwrap().anchors, fell).unwrap();
        prop_assert!((second.factor - 1.0).abs() < 0.02, "{}", second.factor);
    }
}
