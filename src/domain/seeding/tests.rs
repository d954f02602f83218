use proptest::prelude::*;

use super::*;

const NOMINAL_CM2: f64 = 1290.32;
/// Square centimetres in a square inch, exactly (1 in = 2.54 cm).
const CM2_PER_IN2: f64 = 6.4516;

/// Derived in our reference: 4 seeds/cm² of 3.6 g seed on a nominal 10 × 20 inch tray.
fn reference() -> Seeding {
    Seeding { seeds_per_cm2: 4.0, area_cm2: NOMINAL_CM2, tsw_g: 3.6, germination_pct: None, target_pct: None }
}

fn with_germination(lot: f64, target: f64) -> Seeding {
    Seeding { germination_pct: Some(lot), target_pct: Some(target), ..reference() }
}

#[track_caller]
fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value}, wanted {wanted} ± {within}");
}

#[test]
fn the_formula_gives_the_reference_grams() {
    // Derived: 5161.28 seeds, 18.58 g; at 82 % aimed at 95 % 21.53 g.
    let plain = reference().grams().unwrap();
    near(plain.seeds, 5161.28, 1e-9);
    near(plain.grams, 18.58, 0.005);
    let corrected = with_germination(82.0, 95.0).grams().unwrap();
    near(corrected.factor, 1.1585, 0.00005);
    near(corrected.grams, 21.53, 0.005);
    assert_eq!(with_germination(82.0, 95.0).grams_to_sow(), Ok(corrected), "under the cap");
}

#[test]
fn the_formula_gives_the_published_field_rate() {
    // Published (Plant Science Consulting): 40 g × 150 plants/m² / 80 % = 75 kg/ha.
    let field = Seeding {
        seeds_per_cm2: 150.0 / 10_000.0,
        area_cm2: 1e8,
        tsw_g: 40.0,
        germination_pct: Some(80.0),
        target_pct: Some(100.0),
    };
    near(field.grams().unwrap().grams, 75_000.0, 1e-6);
    let sown = field.grams_to_sow().unwrap();
    near(sown.grams, 72_000.0, 1e-6);
    assert!(sown.capped);
}

#[test]
fn the_form_adds_at_most_a_fifth() {
    let weak = with_germination(50.0, 95.0);
    near(weak.grams().unwrap().factor, 1.9, 1e-12);
    let sown = weak.grams_to_sow().unwrap();
    near(sown.factor, 1.2, 0.0);
    near(sown.grams, sown.plain_g * 1.2, 1e-12);
    assert!(sown.capped && !weak.grams().unwrap().capped);
    assert!(!with_germination(75.0, 90.0).grams_to_sow().unwrap().capped, "exactly 1.2");
    near(with_germination(98.0, 90.0).grams_to_sow().unwrap().factor, 90.0 / 98.0, 1e-12);
}

#[test]
fn lines_show_every_step() {
    assert_eq!(
        with_germination(82.0, 95.0).grams_to_sow().unwrap().lines(Units::Metric),
        [
            "4.00 seeds/cm² × 1290.32 cm² = 5161 seeds",
            "5161 seeds × 3.60 g / 1000 = 18.58 g",
            "95 % aimed at / 82 % in this lot = 1.1585",
            "18.58 g × 1.1585 = 21.53 g",
        ]
    );
    assert_eq!(
        with_germination(50.0, 95.0).grams_to_sow().unwrap().lines(Units::Metric)[2..],
        [
            "95 % aimed at / 50 % in this lot = 1.9000",
            "held at 1.2000, because extra dead seed feeds mould",
            "18.58 g × 1.2000 = 22.30 g",
        ]
    );
    assert_eq!(
        reference().grams().unwrap().lines(Units::Metric)[2..],
        ["not corrected for germination, because it is not known"]
    );
}

#[test]
fn figures_that_make_no_sense_are_refused() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let density = Seeding { seeds_per_cm2: bad, ..reference() };
        assert_eq!(density.grams(), Err(SeedingError::NotPositive("density")));
        let area = Seeding { area_cm2: bad, ..reference() };
        assert_eq!(area.grams(), Err(SeedingError::NotPositive("area")));
        let weight = Seeding { tsw_g: bad, ..reference() };
        assert_eq!(weight.grams(), Err(SeedingError::NotPositive("thousand-seed weight")));
        assert!(scale_grams(30.0, bad, 1.0).is_err() && scale_grams(30.0, 1.0, bad).is_err());
        assert!(scale_grams(bad, 1.0, 1.0).is_err());
        assert!(density_from_grams(bad, 1.0, 1.0).is_err());
        assert_eq!(odd_amount(bad, 30.0), None);
    }
    for bad in [0.0, -1.0, 100.1, f64::NAN] {
        let lot = with_germination(bad, 95.0).grams();
        assert_eq!(lot, Err(SeedingError::NotPercent("germination of the lot")));
        let target = with_germination(82.0, bad).grams();
        assert_eq!(target, Err(SeedingError::NotPercent("germination aimed at")));
    }
    assert!(with_germination(100.0, 100.0).grams().is_ok());
}

#[test]
fn seed_scales_with_area() {
    // A quarter mat is 127 × 254 mm, so it takes a quarter of the tray's seed.
    near(scale_grams(30.0, NOMINAL_CM2, 12.7 * 25.4).unwrap(), 7.5, 1e-12);
}

#[test]
fn a_density_in_the_wrong_unit_is_odd() {
    let default = reference().grams().unwrap().grams;
    let in_inches = Seeding { seeds_per_cm2: 4.0 * CM2_PER_IN2, ..reference() };
    let odd = odd_amount(in_inches.grams().unwrap().grams, default).unwrap();
    assert!(matches!(odd, Odd::Over(ratio) if (ratio - 6.4516).abs() < 1e-9));
    assert!(odd.to_string().starts_with("this is 6.45 times"));
}

#[test]
fn double_and_half_are_still_usual() {
    assert_eq!(odd_amount(60.0, 30.0), None);
    assert_eq!(odd_amount(15.0, 30.0), None);
    assert!(matches!(odd_amount(60.1, 30.0), Some(Odd::Over(_))));
    assert!(matches!(odd_amount(14.9, 30.0), Some(Odd::Under(_))));
}

proptest! {
    #[test]
    fn density_and_grams_undo_each_other(
        density in 0.01..50.0_f64, area in 1.0..1e4_f64, tsw in 0.1..500.0_f64,
    ) {
        let seeding = Seeding { seeds_per_cm2: density, area_cm2: area, tsw_g: tsw, ..reference() };
        let back = density_from_grams(seeding.grams().unwrap().grams, area, tsw).unwrap();
        prop_assert!((back / density - 1.0).abs() < 1e-12);
    }
}
