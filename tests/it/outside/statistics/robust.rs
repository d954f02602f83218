//! Medians, fences, slopes, and the multipliers of few trays.

use rackwalk::domain::stats::drift::theil_sen;
use rackwalk::domain::stats::law::t_at;
use rackwalk::domain::stats::spread::{fences, huber, median_interval, median_rank, quartiles, trimmed};

use super::{LIMIT, PUBLISHED, TABLE, Table, alike, near, real, spread};

#[test]
fn copper_in_flour_with_one_wild_value() {
    // MASS chem, R 4.2.2 and scipy
    let values = Table::read("mass_chem").numbers("ppm");
    let found = spread(&values);
    assert_eq!(found.n, 24);
    near(found.mean, 4.2804, PUBLISHED);
    near(found.mean, 4.280_417, TABLE);
    near(found.sd.unwrap(), 5.2974, PUBLISHED);
    near(found.sd.unwrap(), 5.297_396, TABLE);
    near(found.median, 3.385, 1e-9);
    near(found.mad, 0.526_323, TABLE);
    near(found.mad / 1.4826, 0.355, 1e-9);
    near(huber(&values).unwrap(), 3.206_724, TABLE);
    near(found.hodges_lehmann, 3.225, 1e-9);
    near(trimmed(&values).unwrap(), 3.205, 1e-9);
    let outer = fences(&values).unwrap().outer;
    assert!(28.95 > outer.1, "the wild one is an entry to check");
}

#[test]
fn fences_as_in_the_handbook() {
    // e-Handbook 7.1.6
    let values = Table::read("nist_7_1_6_fences").numbers("y");
    assert_eq!(values.len(), 90);
    let (low, middle, high) = quartiles(&values).unwrap();
    for (found, right) in [(low, 429.75), (middle, 559.5), (high, 742.25)] {
        near(found, right, 1e-9);
    }
    let found = fences(&values).unwrap();
    for (found, right) in
        [(found.inner.0, -39.0), (found.inner.1, 1211.0), (found.outer.0, -507.75), (found.outer.1, 1679.75)]
    {
        near(found, right, 1e-9);
    }
    let beyond: Vec<&f64> = values.iter().filter(|y| **y > found.inner.1 || **y < found.inner.0).collect();
    assert_eq!(beyond, [&1441.0], "one to check, and not beyond the outer fence");
}

/// The trap: the (n−1)p kind, type 7, which most programs give unasked.
fn type_7(values: &[f64], p: f64) -> f64 {
    let mut order = values.to_vec();
    order.sort_by(f64::total_cmp);
    let place = p * real(order.len() - 1);
    let below = (0..order.len()).rev().find(|at| real(*at) <= place).unwrap();
    let next = order[(below + 1).min(order.len() - 1)];
    order[below] + (next - order[below]) * (place - real(below))
}

#[test]
fn trap_the_other_kind_of_quartile_gives_other_fences() {
    let values = Table::read("nist_7_1_6_fences").numbers("y");
    near(type_7(&values, 0.25), 436.25, 1e-9);
    near(type_7(&values, 0.75), 738.5, 1e-9);
    let (low, _, high) = quartiles(&values).unwrap();
    assert!((low - type_7(&values, 0.25)).abs() > 6.0 && (high - type_7(&values, 0.75)).abs() > 3.0);
}

#[test]
fn a_slope_by_the_median_of_pairs() {
    // Sen (1968), scipy
    let table = Table::read("sen1968_theilsen");
    let points: Vec<(f64, f64)> = table.numbers("x").into_iter().zip(table.numbers("y")).collect();
    let found = theil_sen(&points, 0.93).unwrap();
    near(found.slope, 4.0, 1e-9);
    near(found.intercept, 4.0, 1e-9);
    near(found.low, 3.71, 6e-3);
    near(found.high, 4.38, 6e-3);
    near(found.low, 3.714_286, TABLE);
    near(found.high, 4.375, TABLE);
    assert_eq!(found.n, 7);
}

#[test]
fn multipliers_of_few_trays() {
    // scipy
    let table = Table::read("small_sample_multipliers");
    let t = table.numbers("t975");
    let (next, mean) = (table.numbers("prediction_mult"), table.numbers("ci_mult"));
    let (ranks, sure) = (table.counts("median_ci_k"), table.cells("median_ci_coverage"));
    for (at, n) in table.counts("n").into_iter().enumerate() {
        let n = usize::try_from(n).unwrap();
        near(t_at(0.975, real(n - 1)).unwrap(), t[at], TABLE);
        let values: Vec<f64> = (0..n).map(real).collect();
        let found = spread(&values);
        let reach = |(low, high): (f64, f64)| (high - low) / 2.0 / found.sd.unwrap();
        near(reach(found.next_interval().unwrap()), next[at], TABLE);
        near(reach(found.mean_interval().unwrap()), mean[at], TABLE);
        match median_rank(n) {
            None => assert_eq!((ranks[at], median_interval(&values)), (0, None), "{n}"),
            Some((rank, found)) => {
                assert_eq!(u64::try_from(rank), Ok(ranks[at]), "{n}");
                near(found, sure[at].unwrap(), TABLE);
                let (low, high) = median_interval(&values).unwrap();
                near(low, real(rank - 1), 1e-12);
                near(high, real(n - rank), 1e-12);
            }
        }
    }
    assert_eq!(t.len(), 28);
}

#[test]
fn limits_of_student_to_eight_digits() {
    // printed to 13 digits and more in tables of Student's distribution: memory, 2.2621571627982 for 9 degrees of freedom and
    // 2.0452296421327 for 29; two have the closed form 0.95 / √(2 · 0.975 · 0.025)
    alike(t_at(0.975, 9.0).unwrap(), 2.262_157_162_798_2, LIMIT);
    alike(t_at(0.975, 29.0).unwrap(), 2.045_229_642_132_7, LIMIT);
    alike(t_at(0.975, 2.0).unwrap(), 0.95 / (2.0f64 * 0.975 * 0.025).sqrt(), LIMIT);
}
