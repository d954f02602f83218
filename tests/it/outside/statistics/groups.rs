//! Two and more groups: Welch, rank sum, permutation, analysis of variance, many looks.

use rackwalk::domain::proportion::corrected;
use rackwalk::domain::stats::compare::{detectable, permutation, pooled, two};
use rackwalk::domain::stats::groups::{anova, bartlett, between_variance, welch_anova};
use rackwalk::domain::stats::range::{studentized_above, studentized_at};
use rackwalk::domain::stats::rank::{at_least, kruskal_wallis};
use rackwalk::domain::stats::resample::{difference_se, mean_se};

use super::{PUBLISHED, TABLE, Table, near, real, spread};

#[test]
fn cars_by_welch_and_pooled() {
    // e-Handbook 1.3.5.3
    let groups = Table::read("nist_auto83b").values("group", "mpg");
    let found = two(&groups[0], &groups[1]).unwrap();
    assert_eq!(found.n, (249, 79));
    for (at, (mean, sd)) in [(20.14458, 6.41470), (30.48101, 6.10771)].into_iter().enumerate() {
        near(spread(&groups[at]).mean, mean, 6e-6);
        near(spread(&groups[at]).sd.unwrap(), sd, 6e-6);
    }
    near(found.t.unwrap(), -12.94627, 6e-6);
    near(found.df.unwrap(), 136.87499, PUBLISHED);
    let alike = pooled(&groups[0], &groups[1]).unwrap();
    near(alike.t, -12.62059, 6e-6);
    near(alike.df, 326.0, 1e-12);
    assert!(found.p.unwrap() < 1e-20 && alike.p < 1e-20 && found.p.unwrap() > 0.0);
    assert!(!found.exact && found.rank_p < 1e-15, "too many for counting, and tied");
}

#[test]
fn permeability_by_the_order_of_the_values() {
    // Hollander & Wolfe (1973), R 4.2.2
    let groups = Table::read("permeability_mannwhitney").values("group", "value");
    let found = two(&groups[0], &groups[1]).unwrap();
    near(found.w, 35.0, 1e-12);
    assert!(found.exact);
    near(at_least(35, 10, 5).unwrap(), 0.1272, PUBLISHED);
    near(at_least(35, 10, 5).unwrap(), 0.127_206_1, 1e-7);
    near(found.rank_p, 0.2544, PUBLISHED);
    near(found.rank_p, 0.254_412_3, 1e-7);
    near(found.shift, 0.305, 1e-9);
    let (low, high) = found.shift_interval.unwrap();
    near(low, -0.15, 1e-9);
    near(high, 0.76, 1e-9);
}

#[test]
fn fifteen_looks_corrected() {
    let table = Table::read("benjamini_hochberg_1995");
    let p = table.numbers("p");
    let found = corrected(&p);
    for (at, q) in found.iter().enumerate() {
        near(*q, table.numbers("bh_q")[at], TABLE);
        assert_eq!(u64::from(*q <= 0.05), table.counts("bh_reject_05")[at]);
    }
    assert_eq!(found.iter().filter(|q| **q <= 0.05).count(), 4);
    // three by Bonferroni and by Holm: those corrections are not offered, only their counts are on the page
    let n = real(p.len());
    for (at, p) in p.iter().enumerate() {
        near((p * n).min(1.0), table.numbers("bonf_adj")[at], TABLE);
    }
    let holm = p.iter().enumerate().scan(0.0f64, |most, (at, p)| {
        *most = most.max((n - real(at)) * p).min(1.0);
        Some(*most)
    });
    for (found, right) in holm.zip(table.numbers("holm_adj")) {
        near(found, right, TABLE);
    }
    assert_eq!(table.numbers("holm_adj").iter().filter(|p| **p <= 0.05).count(), 3);
    assert_eq!(table.numbers("bonf_adj").iter().filter(|p| **p <= 0.05).count(), 3);
}

#[test]
fn plant_growth_in_every_way() {
    // R 4.2.2
    let groups = Table::read("plantgrowth").values("group", "weight");
    let found = anova(&groups).unwrap();
    near(found.f, 4.8461, PUBLISHED);
    near(found.f, 4.846_088, TABLE);
    near(found.p, 0.015_909_96, 1e-8);
    assert_eq!((found.df_between, found.df_within), (2.0, 27.0));
    let (f, df1, df2, p) = welch_anova(&groups).unwrap();
    near(f, 5.180_972_4, 1e-7);
    near(df1, 2.0, 1e-12);
    near(df2, 17.128_419, TABLE);
    near(p, 0.017_392_82, 1e-8);
    let rank = kruskal_wallis(&groups).unwrap();
    near(rank.h, 7.988_228_7, 1e-7);
    near(rank.df, 2.0, 1e-12);
    near(rank.p, 0.018_423_76, 1e-8);
    let (chi2, df, p) = bartlett(&groups).unwrap();
    near(chi2, 2.878_573_8, 1e-7);
    near(df, 2.0, 1e-12);
    near(p, 0.237_096_8, 1e-7);
}

#[test]
fn plant_growth_all_with_all() {
    // Tukey's honest limits, R 4.2.2
    let groups = Table::read("plantgrowth").values("group", "weight");
    let found = anova(&groups).unwrap();
    let se = found.residual_sd / 10f64.sqrt();
    let reach = studentized_at(0.05, 3, 27.0).unwrap() * se;
    for (one, other, diff, low, high, p) in [
        (1, 0, -0.371, -1.062_216_1, 0.320_216_1, 0.390_871_1),
        (2, 0, 0.494, -0.197_216_1, 1.185_216_1, 0.197_996_0),
        (2, 1, 0.865, 0.173_783_9, 1.556_216_1, 0.012_006_4),
    ] {
        let apart = spread(&groups[one]).mean - spread(&groups[other]).mean;
        near(apart, diff, 1e-9);
        near(apart - reach, low, TABLE);
        near(apart + reach, high, TABLE);
        near(studentized_above(apart.abs() / se, 3, 27.0), p, TABLE);
    }
}

#[test]
fn dyestuff_lots_differ_by_so_much() {
    // lme4 on R 4.2.2
    let found = between_variance(&Table::read("dyestuff").values("batch", "yield")).unwrap();
    near(found.mean, 1527.5, 1e-9);
    near(found.between_square, 11_271.5, 1e-6);
    near(found.within_square, 2451.25, 1e-6);
    near(found.variance, 1764.05, 1e-6);
    near(found.variance.sqrt(), 42.001, 6e-4);
    near(found.within_square.sqrt(), 49.510, 6e-4);
}

#[test]
fn mice_drawn_again_and_split_in_every_way() {
    // Efron & Tibshirani (1993)
    let groups = Table::read("efron_tibshirani_mouse").values("group", "days");
    let (treated, control) = (&groups[0], &groups[1]);
    let found = two(treated, control).unwrap();
    near(found.means.0, 86.857, 6e-4);
    near(found.means.1, 56.222, 6e-4);
    near(found.diff, 30.635, 6e-4);
    near(mean_se(treated).unwrap(), 23.363_523, TABLE);
    near(mean_se(control).unwrap(), 13.348_859, TABLE);
    let ideal = mean_se(treated).unwrap().hypot(mean_se(control).unwrap());
    near(ideal, 26.908_108, TABLE);
    let draws = 4000;
    let drawn = difference_se(treated, control, draws, 8).unwrap();
    near(drawn, ideal, 3.0 * ideal / (2.0 * real(draws)).sqrt());
    let splits = permutation(treated, control).unwrap();
    assert_eq!((splits.all, splits.as_large), (11_440, 1613));
    near(splits.p_above, 0.140_997, TABLE);
    near(splits.p, 0.278_322, TABLE);
}

#[test]
fn what_so_many_trays_can_see() {
    // statsmodels
    let table = Table::read("detectable_difference");
    for (at, n) in table.counts("n_per_group").into_iter().enumerate() {
        let found = detectable(usize::try_from(n).unwrap()).unwrap();
        near(found, table.numbers("d")[at], PUBLISHED);
        for (name, cv) in [("pct_cv8", 8.0), ("pct_cv12", 12.0), ("pct_cv18", 18.0)] {
            near(found * cv, table.numbers(name)[at], 6e-3);
        }
    }
}
