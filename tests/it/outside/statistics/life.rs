//! How long seed keeps: the viability equation, and what was seen in stores.

use rackwalk::domain::seed_life::{SPECIES, Species, harrington};

use super::{PUBLISHED, Table, near};

const RICE: Species = Species { name: "Oryza sativa", ke: 8.242, cw: 4.345, ch: 0.0307, cq: 0.000_501 };

#[test]
fn rice_as_published() {
    // documentation of viabilitymetrics; Ellis et al. 2007
    let table = Table::read("viability_rice_example");
    let (from, to) = (table.numbers("initial_pct"), table.cells("final_pct"));
    let (moisture, celsius, days) = (table.cells("mc_pct_fwb"), table.cells("temp_c"), table.cells("days"));
    for (at, quantity) in table.texts("quantity").into_iter().enumerate() {
        let (start, end) = (from[at], to[at].unwrap_or_default());
        let (m, t, d) =
            (moisture[at].unwrap_or_default(), celsius[at].unwrap_or_default(), days[at].unwrap_or_default());
        let (found, by) = match quantity {
            "final_viability" => (RICE.after(start, m, t, d), 6e-6),
            "storage_period_days" => (RICE.days(start, end, m, t), 6e-4),
            "storage_period_years(365d)" => (RICE.days(start, end, m, t).map(|days| days / 365.0), 6e-6),
            "storage_mc" => (RICE.moisture(start, end, t, d), 1e-6),
            "storage_temp_c" => (RICE.celsius(start, end, m, d), 6e-4),
            other => panic!("{other}"),
        };
        near(found.unwrap(), table.numbers("published")[at], by);
    }
    assert_eq!(table.rows.len(), 5);
}

#[test]
fn constants_of_the_species_on_a_bench() {
    let table = Table::read("viability_constants");
    let names = table.texts("species");
    let (ke, cw, ch, cq) = (table.numbers("KE"), table.numbers("CW"), table.numbers("CH"), table.numbers("CQ"));
    let listed = |species: &Species| {
        (0..names.len()).any(|at| {
            names[at].trim_end_matches('*') == species.name
                && [(ke[at], species.ke), (cw[at], species.cw), (ch[at], species.ch), (cq[at], species.cq)]
                    .iter()
                    .all(|(listed, ours)| (listed - ours).abs() < 1e-12)
        })
    };
    for species in SPECIES {
        // radish is of another paper than the list
        assert_eq!(listed(species), !species.name.starts_with("Raphanus"), "{}", species.name);
    }
    // every set of the list: dry seed keeps longer than moist seed, and what days are worked out lead back to the same share
    for at in 0..names.len() {
        let species = Species { name: "listed", ke: ke[at], cw: cw[at], ch: ch[at], cq: cq[at] };
        let days = species.days(95.0, 80.0, 8.0, 20.0).unwrap();
        assert!(species.days(95.0, 80.0, 6.0, 20.0).unwrap() > days, "{}", names[at]);
        near(species.after(95.0, 8.0, 20.0, days).unwrap(), 80.0, 1e-6);
        near(species.moisture(95.0, 80.0, 20.0, days).unwrap(), 8.0, 1e-6);
    }
    assert_eq!(names.len(), 41);
}

/// Columns of the table of 110 and 250 days: cool and dry to cool and humid, warm and dry to warm and humid.
#[test]
fn warm_and_humid_kills_as_was_seen() {
    // USDA Agriculture Handbook 506, table 13: evidence for advice, not figures of ours
    let table = Table::read("usda_ah506_table13");
    let seen = |name: &str| table.numbers(name);
    let (cool_humid, warm_humid) = (seen("c10_rh81"), seen("c26.7_rh78"));
    for (at, crop) in table.texts("crop").into_iter().enumerate() {
        assert!(warm_humid[at] < cool_humid[at], "{crop}: warmth shortens life where it is humid");
        assert!(warm_humid[at] < seen("c26.7_rh44")[at], "{crop}: moisture shortens life where it is warm");
    }
    let (days, crops) = (table.numbers("days"), table.texts("crop"));
    let row = |crop: &str| (0..crops.len()).find(|at| crops[*at] == crop && days[*at] > 200.0).unwrap();
    let of = |at: usize, names: [&str; 3]| names.map(|name| seen(name)[at]);
    let (cool, warm) = (["c10_rh51", "c10_rh66", "c10_rh81"], ["c26.7_rh44", "c26.7_rh66", "c26.7_rh78"]);
    assert_eq!((of(row("Cabbage"), cool), of(row("Cabbage"), warm)), ([92.0, 92.0, 88.0], [91.0, 89.0, 1.0]));
    assert_eq!((of(row("Onion"), cool), of(row("Onion"), warm)), ([75.0, 76.0, 64.0], [73.0, 37.0, 0.0]));
    // Harrington's rule goes the same way
    assert!(
        harrington((8.0, 26.7), (8.0, 10.0)).unwrap() > 1.0 && harrington((12.0, 26.7), (8.0, 26.7)).unwrap() > 1.0
    );
    near(harrington((8.0, 26.7), (8.0, 10.0)).unwrap(), (16.7f64 / 5.0).exp2(), PUBLISHED);
}

#[test]
fn the_freezer_held_what_the_room_lost() {
    // the same handbook, table 15, after eight years in sealed cans
    let table = Table::read("usda_ah506_table15_excerpt");
    let (celsius, moisture) = (table.numbers("temp_c"), table.numbers("moisture_pct"));
    let (before, sealed) = (table.numbers("initial_pct"), table.numbers("sealed_air_8y_pct"));
    for at in 0..table.rows.len() {
        if celsius[at] < 0.0 {
            assert!((94.0..=98.0).contains(&sealed[at]) && (sealed[at] - before[at]).abs() <= 1.0);
        } else if moisture[at] >= 7.0 {
            near(sealed[at], 0.0, 1e-12);
        } else {
            assert!(sealed[at] < before[at]);
        }
        // and yet the rule is not stretched below 0 °C
        assert_eq!(
            harrington((moisture[at].max(5.0), 21.0), (moisture[at].max(5.0), celsius[at])).is_err(),
            celsius[at] < 0.0
        );
    }
    assert_eq!(table.rows.len(), 6);
}
