//! Shares with their limits.

use rackwalk::domain::proportion::Share;
use rackwalk::domain::stats::share::{at_least, difference, exact, most_of_none};

use super::{LIMIT, PUBLISHED, Table, alike, near};

#[test]
fn wilson_as_newcombe_has_it() {
    let table = Table::read("newcombe1998_wilson");
    for (at, (x, n)) in table.counts("x").into_iter().zip(table.counts("n")).enumerate() {
        let found = Share::of(x, n).unwrap();
        near(found.low, table.numbers("lo_published")[at], PUBLISHED);
        near(found.high, table.numbers("hi_published")[at], PUBLISHED);
        near(found.low, table.numbers("lo_full")[at], 1e-8);
        near(found.high, table.numbers("hi_full")[at], 1e-8);
    }
    assert_eq!(table.rows.len(), 4);
}

#[test]
fn differences_as_newcombe_has_them() {
    let table = Table::read("newcombe1998_difference");
    let of = |x: &str, n: &str| table.counts(x).into_iter().zip(table.counts(n)).collect::<Vec<_>>();
    for (at, (one, other)) in of("x1", "n1").into_iter().zip(of("x2", "n2")).enumerate() {
        let found = difference(one, other).unwrap();
        near(found.low, table.numbers("lo_published")[at], PUBLISHED);
        near(found.high, table.numbers("hi_published")[at], PUBLISHED);
        for (value, name) in [(found.diff, "d"), (found.low, "lo_full"), (found.high, "hi_full")] {
            near(value, table.numbers(name)[at], 1e-8);
        }
    }
    assert_eq!(table.rows.len(), 3);
}

#[test]
fn one_sided_and_exact_as_in_the_handbook() {
    // e-Handbook 7.2.4.1
    let table = Table::read("nist_7_2_4_1_proportion_ci");
    let (lows, highs) = (table.cells("lo"), table.cells("hi"));
    assert_eq!(table.texts("method"), ["wilson", "clopper_pearson"]);
    let wilson = at_least(26, 200, 0.95).unwrap();
    near(wilson, 0.09577, 6e-6);
    near(wilson, lows[0].unwrap(), 1e-8);
    let (low, high) = exact(4, 20, 0.9).unwrap();
    near(low, 0.071_354, 1e-6);
    near(high, 0.401_029, 2e-6);
    alike(low, lows[1].unwrap(), LIMIT);
    alike(high, highs[1].unwrap(), LIMIT);
    // the handbook's own listing has 0.07134838 and 0.4010294, of a root that was not followed to its end
    assert!((low - 0.071_348_38).abs() > 5e-6 && (high - 0.401_029_4).abs() > 1e-6);
}

#[test]
fn trap_none_of_fourteen_is_not_never() {
    // exact, one-sided 95 %
    let most = most_of_none(14, 0.95).unwrap();
    near(most, 0.1926, PUBLISHED);
    // the rule of three gives more, and the plain interval of x of n nothing at all: 0 ± 0
    near(3.0 / 14.0, 0.214, 6e-4);
    assert!(most < 3.0 / 14.0);
    let plain = 1.96 * (0.0f64 * 1.0 / 14.0).sqrt();
    assert!(plain.abs() < 1e-15, "the trap: no loss seen, none possible");
    let share = Share::of(0, 14).unwrap();
    near(share.high, 0.2153, PUBLISHED);
    assert!(share.words().contains("0 of 14, 0 % (0 to 22 %)"), "{}", share.words());
    let (low, high) = exact(0, 14, 0.9).unwrap();
    near(low, 0.0, 1e-15);
    near(high, most, 1e-10);
}
