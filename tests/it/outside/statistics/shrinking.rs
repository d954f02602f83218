//! Small lots drawn toward all.

use rackwalk::domain::stats::law::chi2_above;
use rackwalk::domain::stats::shrink::{james_stein, means, shares};

use super::{PUBLISHED, TABLE, Table, near};

#[test]
fn eight_schools_are_all_the_same() {
    // Rubin (1981), metafor
    let table = Table::read("eight_schools_dl");
    let of: Vec<(f64, f64)> =
        table.numbers("y").into_iter().zip(table.numbers("se")).map(|(y, se)| (y, se * se)).collect();
    let found = means(&of).unwrap();
    near(found.q, 4.7071, PUBLISHED);
    near(found.tau2, 0.0, 1e-15);
    near(found.mean, 7.6856, PUBLISHED);
    near(found.se, 4.0719, PUBLISHED);
    near(chi2_above(found.q, 7.0).unwrap(), 0.6957, PUBLISHED);
    assert_eq!(found.each.len(), 8);
    for one in &found.each {
        near(*one, found.mean, 1e-12);
    }
}

#[test]
fn batters_drawn_toward_all_foretell_the_season() {
    // Efron & Morris (1975, 1977)
    let table = Table::read("efron_morris_baseball");
    let hits: Vec<(u64, u64)> = table.counts("hits").into_iter().zip(table.counts("n")).collect();
    let y: Vec<f64> = table.numbers("hits").into_iter().zip(table.numbers("n")).map(|(x, n)| x / n).collect();
    let middle = y.iter().sum::<f64>() / 18.0;
    let found = james_stein(&y, middle * (1.0 - middle) / 45.0).unwrap();
    near(found.mean, 0.2654, PUBLISHED);
    near(found.keeps, 0.2117, PUBLISHED);
    near(found.keeps, 0.211_653, TABLE);
    near(found.keeps, 0.212, 6e-4);
    for (at, one) in found.each.iter().enumerate() {
        near(*one, table.numbers("james_stein_1977")[at], TABLE);
        near(y[at], table.numbers("y")[at], TABLE);
    }
    near(found.each[0], 0.294, 6e-4);
    near(found.each[17], 0.242, 6e-4);
    // the averages of three decimals that were printed then give .2124
    let printed: Vec<f64> = y.iter().map(|y| (y * 1000.0).round() / 1000.0).collect();
    let middle = printed.iter().sum::<f64>() / 18.0;
    near(james_stein(&printed, middle * (1.0 - middle) / 45.0).unwrap().keeps, 0.2124, PUBLISHED);
    let season = table.numbers("remainder_avg");
    let off = |guess: &[f64]| guess.iter().zip(&season).map(|(y, s)| (y - s).powi(2)).sum::<f64>();
    near(off(&y), 0.075_317, TABLE);
    near(off(&found.each), 0.021_307, TABLE);
    near(off(&y) / off(&found.each), 3.5, 0.06);
    // the same by counts: every share lies between its own and that of all, and foretells better than its own
    let drawn = shares(&hits).unwrap();
    for (own, drawn) in y.iter().zip(&drawn) {
        assert!((drawn - 0.2654).abs() <= (own - 0.2654).abs() + 1e-4);
    }
    assert!(off(&drawn) < 0.5 * off(&y), "{}", off(&drawn));
}
