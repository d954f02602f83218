use super::*;

/// P: germinationmetrics 0.1.10 vignette, 50 seeds.
const VIGNETTE: [u64; 14] = [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0];

#[test]
fn a_test_in_words() {
    let said = indices(&VIGNETTE, 50).unwrap().words();
    assert_eq!(said[0], "germinated: 40 of 50, 80 % (67 to 89 %)");
    assert_eq!(said[1], "From day 5 to day 11; half of them by day 5.9, on average after 6.7 days.");
    assert!(said[2].starts_with("So few as 50 seeds tell no closer than 67 to 89 %."), "{}", said[2]);
    assert_eq!(indices(&[0, 390], 400).unwrap().words().len(), 2, "400 seeds are enough");
}

#[test]
fn no_seed_germinated_is_none_and_never_0() {
    let none = indices(&[0, 0, 0], 20).unwrap();
    assert_eq!((none.germinated, none.percent), (0, 0.0));
    let times = [
        none.t50_coolbear,
        none.t50_farooq,
        none.mean_d,
        none.variance,
        none.se,
        none.cv,
        none.rate,
        none.rate_variance,
        none.rate_se,
        none.cvg,
        none.speed,
        none.accumulated,
        none.timson,
        none.labouriau,
        none.khan,
        none.index,
        none.weighted,
        none.uncertainty,
        none.synchrony,
        none.cug,
        none.percent_a_day,
        none.george,
    ];
    assert!(times.iter().all(Option::is_none), "{none:?}");
    assert_eq!((none.first_d, none.last_d), (None, None));
    let said = none.words();
    assert!(said[0].starts_with("germinated: 0 of 20, 0 % (0 to 16 %)"), "{said:?}");
    assert!(said[1].starts_with("No seed germinated"), "{said:?}");
}

#[test]
fn one_seed_has_a_day_but_no_variance() {
    let one = indices(&[0, 0, 1], 10).unwrap();
    assert_eq!((one.mean_d, one.t50_coolbear, one.first_d), (Some(3.0), Some(3.0), Some(3)));
    assert_eq!((one.variance, one.se, one.cv, one.synchrony, one.cug), (None, None, None, None, None));
    assert_eq!(one.uncertainty, Some(0.0));
    assert_eq!(one.words()[1], "All of them on day 3.");
}

#[test]
fn a_half_mark_on_a_count_is_that_day() {
    // derived by hand: 5 of 10 up on day 2 and none new until day 5: half of ten is five, which is day 2
    let found = indices(&[0, 5, 0, 0, 5], 10).unwrap();
    assert_eq!(found.t50_farooq, Some(2.0));
    // (10 + 1) / 2 is 5.5: a tenth of the way from day 4 to day 5
    assert!((found.t50_coolbear.unwrap() - 4.1).abs() < 1e-12);
    assert_eq!(indices(&[1], 1).unwrap().t50_coolbear, Some(1.0));
}

#[test]
fn counts_that_cannot_be() {
    assert_eq!(indices(&[1], 0), Err(GermError::NoSeeds));
    assert_eq!(indices(&[], 10), Err(GermError::NoDays));
    assert_eq!(indices(&[6, 5], 10), Err(GermError::MoreThanSown { germinated: 11, sown: 10 }));
    assert_eq!(indices(&[u64::MAX, 2], 10), Err(GermError::MoreThanSown { germinated: u64::MAX, sown: 10 }));
    assert_eq!(indices(&[1], MOST_SEEDS + 1), Err(GermError::TooMany(MOST_SEEDS + 1)));
    assert_eq!(agreement(&[90], 100), Err(GermError::OneReplicate));
    assert_eq!(agreement(&[], 100), Err(GermError::OneReplicate));
    assert_eq!(agreement(&[9, 11], 10), Err(GermError::MoreThanSown { germinated: 11, sown: 10 }));
    assert_eq!(agreement(&[9, 9], 0), Err(GermError::NoSeeds));
}

#[test]
fn replicates_that_agree_and_that_do_not() {
    // P: 7 CFR 201.55, mean 92 (91.5 rounded): 11
    let alike = agreement(&[92, 88, 95, 91], 100).unwrap();
    assert_eq!((alike.range, alike.allowed, alike.by, alike.agree()), (7, 11, "7 CFR 201.55", true));
    assert!(alike.words().starts_with("The replicates agree: best and worst are 7 seeds apart, and up to 11"));
    let apart = agreement(&[80, 92, 95, 96], 100).unwrap();
    assert_eq!((apart.range, apart.allowed, apart.agree()), (16, 11, false));
    assert!(apart.words().contains("repeat the test"), "{}", apart.words());
    for same in [[0u64, 0, 0, 0], [100, 100, 100, 100]] {
        let found = agreement(&same, 100).unwrap();
        assert_eq!((found.chi2, found.p, found.agree()), (0.0, 1.0, true));
    }
    assert_eq!(agreement(&[25, 25], 25).unwrap().allowed, 0);
    assert_eq!(agreement(&[24, 21, 25, 23], 25).unwrap().by, "exact binomial range, 2.5 %");
}

#[test]
fn low_shares_are_read_as_their_mirror() {
    for (low, high) in [(2, 99), (8, 93), (31, 70)] {
        assert_eq!(published_range(low, 4), published_range(high, 4));
    }
    assert_eq!((published_range(100, 4), published_range(0, 4), published_range(60, 4)), (Some(5), Some(5), None));
    assert_eq!((published_range(99, 2), published_range(95, 3)), (None, None));
}

#[test]
fn crops_are_known_by_the_kind_they_are_named_for() {
    // P: 7 CFR 201.31
    for (crop, percent) in [
        ("radish", 75),
        ("Red cabbage", 75),
        ("pea", 80),
        ("Pea shoots", 80),
        ("upland cress", 60),
        ("cress", 75),
        ("mustard, red", 75),
        ("Swiss chard", 65),
        ("beet", 65),
    ] {
        assert_eq!(standard(crop), Some(percent), "{crop}");
    }
    for unknown in ["sunflower", "amaranth", "basil", "peacock", "", "arugula"] {
        assert_eq!(standard(unknown), None, "{unknown}");
    }
}

#[test]
fn tolerances_by_the_mean() {
    // P: 7 CFR 201.63
    for (mean, points) in [(100.0, 5.0), (96.0, 5.0), (95.9, 6.0), (85.0, 7.0), (70.0, 8.0), (60.0, 9.0), (12.0, 10.0)]
    {
        assert_eq!((tolerance(mean, 400), tolerance(mean, 200)), (Some(points), Some(points + 2.0)));
    }
}
