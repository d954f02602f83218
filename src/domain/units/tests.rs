//! Published factors: NIST Handbook 44 (2024), Appendix C, General Tables of Units of Measurement, gives as exact
//! 1 ounce avoirdupois = 28.349 523 125 g, 1 pound = 453.592 37 g, 1 US gallon = 3.785 411 784 L of 128 fluid ounces,
//! and 1 in = 2.54 cm; NIST SP 811, B.8, t/°C = (t/°F - 32)/1.8. All from memory, not looked up for this test.

use proptest::prelude::*;

use super::Quantity::{Temperature, Volume, Weight};
use super::*;

fn near(found: f64, expected: f64, off: f64) {
    assert!((found - expected).abs() <= off, "{found} is not {expected}");
}

#[test]
fn the_factors_agree_with_each_other() {
    near(G_PER_OZ * 16.0, G_PER_LB, 1e-12);
    near(ML_PER_FL_OZ * 128.0, 3_785.411_784, 1e-9);
    near(CM2_PER_IN2, 2.54 * 2.54, 1e-12);
}

#[test]
fn fixed_points_of_the_two_scales() {
    // water freezes and boils, and the one point where both scales read alike
    for (celsius, fahrenheit) in [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0), (20.0, 68.0), (5.0, 41.0)] {
        near(Celsius.from_kept(celsius), celsius, 0.0);
        near(Fahrenheit.from_kept(celsius), fahrenheit, 1e-9);
        near(Fahrenheit.to_kept(fahrenheit), celsius, 1e-9);
    }
}

#[test]
fn weights_as_they_are_shown() {
    let (metric, us) = (Units::Metric, Units::Us);
    assert_eq!([metric.weight(58_600), metric.weight(5), metric.stock(811_400)], ["58.6 g", "0.005 g", "811 g"]);
    // 58.6 / 28.349523125 = 2.06705; 16 oz = 453.59237 g
    assert_eq!([us.weight(58_600), us.weight(453_592), us.weight(453_593)], ["2.07 oz", "16 oz", "1 lb"]);
    assert_eq!(
        [us.weight(907_185), us.weight(14_175), us.weight(1), us.weight(0)],
        ["2 lb", "0.5 oz", "0.00004 oz", "0 oz"]
    );
    // 811.4 g = 1.78883 lb
    assert_eq!([us.weight(811_400), us.stock(811_400)], ["1.79 lb", "1.78 lb"]);
    assert_eq!(metric.part_of(811_000, 1_000_000), "811 of 1000 g");
    assert_eq!(us.part_of(811_000, 1_000_000), "1.79 lb of 2.2 lb");
    assert_eq!([metric.step(30.0), us.step(30.0)], ["30.00 g", "1.058 oz"]);
}

#[test]
fn water_warmth_and_areas_as_they_are_shown() {
    let (metric, us) = (Units::Metric, Units::Us);
    assert_eq!([metric.volume(400), us.volume(400), us.volume(30)], ["400 mL", "13.53 fl oz", "1.01 fl oz"]);
    assert_eq!([metric.temperature(195), us.temperature(195), us.temperature(-5)], ["19.5 °C", "67.1 °F", "31.1 °F"]);
    assert_eq!([metric.area(1290.32), us.area(1290.32)], ["1290.32 cm²", "200.00 in²"]);
    assert_eq!([metric.density(2.0), us.density(2.0)], ["2.00 seeds/cm²", "12.90 seeds/in²"]);
}

#[test]
fn a_unit_is_read_as_people_write_it() {
    for (text, number, word) in [
        ("2 oz", "2", "oz"),
        ("30g", "30", "g"),
        ("68 °F", "68", "°F"),
        ("-1,5 C", "-1,5", "C"),
        ("12", "12", ""),
        ("x", "", "x"),
    ] {
        assert_eq!(split_unit(text), (number, word));
    }
    assert_eq!(["g", "KG", "Oz", "lbs"].map(|w| Weight.spelled(w)), [Gram, Kilogram, Ounce, Pound].map(Some));
    assert_eq!(["ml", "L", "fl. oz"].map(|w| Volume.spelled(w)), [Millilitre, Litre, FluidOunce].map(Some));
    assert_eq!(["C", "°f"].map(|w| Temperature.spelled(w)), [Celsius, Fahrenheit].map(Some));
    // an ounce of water could be either, so it is neither
    assert_eq!([Volume.spelled("oz"), Weight.spelled("ml"), Weight.spelled(""), Weight.spelled("000")], [None; 4]);
}

proptest! {
    #[test]
    fn an_amount_comes_back_whatever_it_was_shown_in(x in -1e6..1e6_f64) {
        for unit in [Gram, Kilogram, Ounce, Pound, Millilitre, Litre, FluidOunce, Celsius, Fahrenheit] {
            prop_assert!((unit.to_kept(unit.from_kept(x)) - x).abs() < 1e-6, "{unit:?}");
        }
    }

    #[test]
    fn what_a_jar_holds_is_never_shown_as_more(mg in 0..1_000_000_000_i64) {
        let text = Units::Us.stock(mg);
        let (number, word) = split_unit(&text);
        let unit = Weight.spelled(word).unwrap();
        let shown = unit.to_kept(number.parse::<f64>().unwrap());
        #[expect(clippy::cast_precision_loss, reason = "a tonne of milligrams is far below 2^53")]
        let held = mg as f64 / 1000.0;
        prop_assert!(shown <= held + 1e-5, "{text} of {held} g");
    }
}
