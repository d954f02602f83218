//! Control charts, run rules, EWMA, CUSUM and smoothing as in the e-Handbook.

use rackwalk::domain::stats::chart::{Rule, RunChart, constants, hits, individuals, shares, usual_runs};
use rackwalk::domain::stats::drift::{cusum, ewma, smooth, summed};
use rackwalk::domain::stats::law::normal_below;
use serde_json::Value;

use super::{PUBLISHED, TABLE, Table, near, real, spread};

#[test]
fn individuals_and_moving_range() {
    // e-Handbook 6.3.2.2, with 1.128
    let table = Table::read("nist_6_3_2_2_flowrate");
    let values = table.numbers("flow_rate");
    let limits = individuals(&values).unwrap();
    near(limits.centre, 50.81, 1e-9);
    near(limits.range_mean, 1.8778, PUBLISHED);
    near(limits.range_mean, 16.9 / 9.0, 1e-9);
    near(limits.high, 55.8041, 1e-4);
    near(limits.low, 45.8159, 1e-4);
    near(limits.range_high, 6.1347, 1e-4);
    let moves: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    for (found, listed) in moves.iter().zip(table.cells("moving_range").into_iter().skip(1)) {
        near(*found, listed.unwrap(), 1e-9);
    }
    assert!(values.iter().all(|x| (limits.low..=limits.high).contains(x)), "nothing outside");
    assert!(moves.iter().all(|x| *x <= limits.range_high));
    let sd = limits.range_mean / 1.128;
    let z: Vec<f64> = values.iter().map(|x| (x - limits.centre) / sd).collect();
    for rule in [Rule::Beyond3, Rule::TwoOfThree, Rule::FourOfFive, Rule::EightOneSide, Rule::SixTrend] {
        assert_eq!(hits(&z, rule), Vec::<usize>::new(), "{rule:?}");
    }
    // with the exact 2/√π the limits would be others
    near(50.81 + 3.0 * limits.range_mean / constants(2).unwrap().d2, 55.80241, 1e-5);
    near(50.81 - 3.0 * limits.range_mean / constants(2).unwrap().d2, 45.81759, 1e-5);
}

#[test]
fn shares_of_wafers() {
    // e-Handbook 6.3.3.2
    let table = Table::read("nist_6_3_3_2_wafers_pchart");
    let of: Vec<(u64, u64)> = table.counts("count").into_iter().zip(table.counts("n")).collect();
    let limits = shares(&of).unwrap();
    near(limits.centre, 0.231_333, TABLE);
    let mut outside = Vec::new();
    for (at, (low, high)) in limits.each.iter().enumerate() {
        near(*low, 0.052_428, TABLE);
        near(*high, 0.410_239, TABLE);
        let share = table.numbers("fraction_defective")[at];
        near(share, table.numbers("count")[at] / table.numbers("n")[at], 1e-12);
        if share < *low || share > *high {
            outside.push(at + 1);
        }
    }
    assert_eq!(outside, [15, 23]);
}

#[test]
fn a_moving_mean_with_its_limits() {
    // e-Handbook 6.3.2.4
    let table = Table::read("nist_6_3_2_4_ewma");
    let found = ewma(&table.numbers("x"), 0.3, 50.0, 2.0539, 3.0).unwrap();
    near(found.steady.1, 52.5884, 1e-3);
    near(found.steady.0, 47.4115, 1e-3);
    near(found.steady.1, 52.588_432, TABLE);
    near(found.steady.0, 47.411_568, TABLE);
    let (printed, full) = (table.numbers("ewma_published_2dp"), table.numbers("ewma_full"));
    assert_eq!(found.series.len(), 20);
    for (at, level) in found.series.iter().enumerate() {
        // the page cuts off or rounds; it is within a hundredth
        near(*level, printed[at], 6e-3);
        near(*level, full[at], 1e-9);
        let (low, high) = found.limits[at];
        assert!(*level > low && *level < high, "no signal");
        // the exact limits grow by 1 − 0.7^(2i)
        let grown = (1.0 - 0.7f64.powi(2 * (i32::try_from(at).unwrap() + 1))).sqrt();
        near(high - 50.0, (found.steady.1 - 50.0) * grown, 1e-9);
    }
}

#[test]
fn sums_that_grow_when_a_mean_has_moved() {
    // e-Handbook 6.3.2.3
    let table = Table::read("nist_6_3_2_3_cusum");
    let values = table.numbers("x");
    let (found, plain) = (cusum(&values, 325.0, 0.3175, 4.1959), summed(&values, 325.0));
    let (highs, lows, sums) = (table.numbers("s_hi"), table.numbers("s_lo"), table.numbers("cusum"));
    let signals = table.counts("signal");
    for (at, (high, low, signal)) in found.iter().enumerate() {
        near(*high, highs[at], TABLE);
        near(*low, lows[at], TABLE);
        near(plain[at], sums[at], TABLE);
        assert_eq!(u64::from(*signal), signals[at], "group {}", at + 1);
        assert_eq!(*signal, at + 1 >= 14);
    }
    near(found[19].0, 19.035, TABLE);
    near(plain[19], 19.075, TABLE);
}

#[test]
fn constants_worked_out_are_those_in_print() {
    let table = Table::read("control_chart_constants");
    let all: Vec<_> = table.counts("n").into_iter().map(|n| constants(usize::try_from(n).unwrap()).unwrap()).collect();
    assert_eq!(all.len(), 9);
    for (at, found) in all.iter().enumerate() {
        for (name, value) in [
            ("d2", found.d2),
            ("d3", found.d3),
            ("c4", found.c4),
            ("A2", found.mean_by_range),
            ("A3", found.mean_by_sd),
            ("D3", found.range.0),
            ("D4", found.range.1),
            ("B3", found.sd.0),
            ("B4", found.sd.1),
        ] {
            near(value, table.numbers(name)[at], PUBLISHED);
        }
    }
    // printed in tables; the chart's own 1.128 and 3.267 are these, rounded
    for (found, printed) in all.iter().zip([1.128, 1.693, 2.059, 2.326, 2.534, 2.704, 2.847, 2.970, 3.078]) {
        near(found.d2, printed, 6e-4);
    }
    for (found, printed) in all.iter().zip([0.853, 0.888, 0.880, 0.864, 0.848, 0.833, 0.820, 0.808, 0.797]) {
        near(found.d3, printed, 6e-4);
    }
    near(all[0].range.1, 3.267, 6e-4);
}

/// The rules by the names of the sequences.
const RULES: [(&str, Rule); 9] = [
    ("1_beyond_3s", Rule::Beyond3),
    ("2of3_beyond_2s", Rule::TwoOfThree),
    ("4of5_beyond_1s", Rule::FourOfFive),
    ("run8_WECO", Rule::EightOneSide),
    ("run9_Nelson", Rule::NineOneSide),
    ("trend6_Nelson", Rule::SixTrend),
    ("alt14_Nelson", Rule::Fourteen),
    ("15_within_1s", Rule::FifteenWithin),
    ("8_outside_1s_both_sides", Rule::EightOutside),
];

#[test]
fn every_rule_fires_where_it_should_and_nowhere_else() {
    let table = Table::read("rule_sequences");
    let mut met = Vec::new();
    for (at, z) in table.texts("z").into_iter().enumerate() {
        let z: Vec<f64> = z.split(' ').map(|one| one.parse().unwrap()).collect();
        let expected: Value = serde_json::from_str(table.texts("expected_hits_json")[at]).unwrap();
        for (name, rule) in RULES {
            let from_one: Vec<u64> = hits(&z, rule).iter().map(|at| *at as u64 + 1).collect();
            let right: Vec<u64> = expected[name]
                .as_array()
                .map(|all| all.iter().map(|n| n.as_u64().unwrap()).collect())
                .unwrap_or_default();
            assert_eq!(from_one, right, "{} {name}", table.texts("seq")[at]);
            if !right.is_empty() {
                met.push(name);
            }
        }
        let known = expected.as_object().unwrap().keys().all(|name| RULES.iter().any(|(known, _)| known == name));
        assert!(known, "{expected}");
    }
    assert!(RULES.iter().all(|(name, _)| met.contains(name)), "each fires somewhere: {met:?}");
}

#[test]
fn the_rules_are_those_of_the_list() {
    // the definitions in words, each against a sequence of its own that just completes it and one that just does not
    let table = Table::read("control_chart_rules");
    let defined = table.texts("id");
    for id in [
        "WECO1 / Nelson1",
        "WECO2 / Nelson5",
        "WECO3 / Nelson6",
        "WECO4",
        "Nelson2",
        "Nelson3",
        "Nelson4",
        "Nelson7",
        "Nelson8",
    ] {
        assert!(defined.contains(&id), "{id}");
    }
    let level = |n: usize, z: f64| vec![z; n];
    let rising = |n: usize| (0..n).map(|at| real(at) / 100.0).collect::<Vec<_>>();
    let turning = |n: usize| (0..n).map(|at| if at % 2 == 0 { 0.2 } else { -0.2 }).collect::<Vec<_>>();
    let mut mixed = level(7, 1.5);
    mixed.push(-1.5);
    for (rule, whole) in [
        (Rule::EightOneSide, level(8, 0.5)),
        (Rule::NineOneSide, level(9, -0.5)),
        (Rule::SixTrend, rising(6)),
        (Rule::Fourteen, turning(14)),
        (Rule::FifteenWithin, level(15, 0.9)),
        (Rule::EightOutside, mixed),
    ] {
        assert_eq!(hits(&whole, rule), [whole.len() - 1], "{rule:?}");
        assert_eq!(hits(&whole[1..], rule), Vec::<usize>::new(), "{rule:?} one short");
    }
    // edge rules: a point on the line is not beyond it, one on the centre breaks a run, equal neighbours break a trend
    assert!(hits(&[3.0, -3.0], Rule::Beyond3).is_empty());
    assert!(hits(&[0.5, 0.5, 0.5, 0.0, 0.5, 0.5, 0.5, 0.5, 0.5], Rule::EightOneSide).is_empty());
    assert!(hits(&[0.1, 0.2, 0.2, 0.3, 0.4, 0.5], Rule::SixTrend).is_empty());
    assert!(hits(&level(8, 1.5), Rule::EightOutside).is_empty(), "both sides must be seen");
    assert!(defined.contains(&"Anhoej-run") && defined.contains(&"Anhoej-cross"));
}

/// Good values, one after the other.
fn normal(random: &mut fastrand::Rng) -> f64 {
    // Box and Muller
    let (u, v) = (1.0 - random.f64(), random.f64());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

#[test]
fn how_often_good_values_are_called_unusual() {
    // e-Handbook 6.3.2: one beyond 3 about once in 371 values, the four rules together about once in 91.75
    near(1.0 / (2.0 * normal_below(-3.0)), 371.0, 1.0);
    let rules = [Rule::Beyond3, Rule::TwoOfThree, Rule::FourOfFive, Rule::EightOneSide];
    let mut random = fastrand::Rng::with_seed(9175);
    let first = |random: &mut fastrand::Rng| {
        let mut z: Vec<f64> = Vec::new();
        loop {
            z.push(normal(random));
            let last = z.split_off(z.len().saturating_sub(8));
            let hit = rules.iter().any(|rule| hits(&last, *rule).contains(&(last.len() - 1)));
            z.extend(last);
            if hit {
                return real(z.len());
            }
        }
    };
    let runs: Vec<f64> = (0..1500).map(|_| first(&mut random)).collect();
    let found = spread(&runs);
    near(found.mean, 91.75, 3.0 * found.sd.unwrap() / real(found.n).sqrt());
}

#[test]
fn usual_runs_of_a_run_chart() {
    let table = Table::read("run_chart_anhoej_limits");
    let (longest, crossings) = (table.counts("longest_run_max"), table.counts("crossings_min"));
    for (at, n) in table.counts("n_useful").into_iter().enumerate() {
        let found = usual_runs(usize::try_from(n).unwrap()).unwrap();
        assert_eq!((found.0 as u64, found.1 as u64), (longest[at], crossings[at]), "{n}");
    }
    // a run chart of ten useful values by these limits: a run of seven is too long
    let values = [1.0, 1.0, 1.0, 1.0, 1.0, 9.0, 9.0, 9.0, 9.0, 9.0];
    let chart = RunChart::of(&values).unwrap();
    assert_eq!(
        (chart.useful, chart.longest, chart.longest_most, chart.crossings, chart.crossings_least),
        (10, 5, 6, 1, 2)
    );
    assert!(chart.shift(), "one crossing is too few");
}

#[test]
fn smoothing_and_what_is_next() {
    // e-Handbook 6.4.3.1; a slip in the copy numbers the ninth value 10 as well, so the rows count
    let table = Table::read("nist_6_4_3_1_ses");
    let y = table.numbers("y");
    let points: Vec<(f64, f64)> = y.iter().enumerate().map(|(at, y)| (real(at), *y)).collect();
    let found = smooth(&points, 0.1).unwrap();
    let printed = [71.0, 70.9, 70.71, 70.44, 69.80, 69.32, 69.58, 70.43, 70.88, 71.29, 71.67];
    let listed: Vec<f64> = table.cells("S_forecast_for_t").into_iter().flatten().collect();
    assert_eq!((found.series.len(), listed.len()), (11, 11));
    for (at, expected) in found.series.iter().enumerate() {
        near(*expected, printed[at], 6e-3);
        near(*expected, listed[at], TABLE);
    }
    near(found.next, 71.50, 6e-3);
    near(found.next, 71.498_754, TABLE);
    let squares = |series: &[f64]| series.iter().zip(&y[1..]).map(|(s, y)| (y - s).powi(2)).sum::<f64>();
    near(squares(&found.series), 208.818_410, TABLE);
    near(squares(&found.series) / 11.0, 19.0, 0.06);
    near(squares(&found.series) / 11.0, 18.983_492, TABLE);
    near(squares(&smooth(&points, 0.5).unwrap().series) / 11.0, 16.4965, PUBLISHED);
    let distances = found.series.iter().zip(&y[1..]).map(|(s, y)| (y - s).abs()).sum::<f64>() / 11.0;
    near(found.error.unwrap(), distances, 1e-12);
}

#[test]
fn limits_from_few_values_alarm_too_often_and_student_does_not() {
    let table = Table::read("false_alarm_small_baseline");
    let columns = [table.numbers("ichart_MR"), table.numbers("three_s"), table.numbers("t_prediction")];
    let mut random = fastrand::Rng::with_seed(20_261);
    let mut normal = || normal(&mut random);
    let runs = 4_000;
    for (at, m) in table.counts("m_baseline").into_iter().enumerate() {
        let mut alarms = [0u32; 3];
        for _ in 0..runs {
            let baseline: Vec<f64> = (0..m).map(|_| normal()).collect();
            let (new, limits, known) = (normal(), individuals(&baseline).unwrap(), spread(&baseline));
            let inside = [
                (limits.low, limits.high),
                (known.mean - 3.0 * known.sd.unwrap(), known.mean + 3.0 * known.sd.unwrap()),
                known.next_within(1.0 - 0.0027).unwrap(),
            ];
            for (alarm, (low, high)) in alarms.iter_mut().zip(inside) {
                *alarm += u32::from(new < low || new > high);
            }
        }
        for (alarm, column) in alarms.iter().zip(&columns) {
            let (found, right) = (f64::from(*alarm) / f64::from(runs), column[at]);
            // ours and that of 200,000 runs
            let error = (right * (1.0 - right) * (1.0 / f64::from(runs) + 1.0 / 200_000.0)).sqrt();
            assert!((found - right).abs() <= 3.0 * error, "{m}: {found} {right} {error}");
        }
        // the last is the nominal chance throughout
        near(columns[2][at], 0.0027, 0.0006);
    }
}
