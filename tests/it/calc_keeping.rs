//! Sums of shelf life and of mean temperatures on the command line.

use crate::cli::{json, near, refused, run};

/// Radish. P: J. Japanese Soc. Cold Preservation of Food 7(1):10; the 23 d include a move to 20 °C.
const RADISH: [&str; 6] = ["--anchor", "1=23", "--anchor", "6=10", "--anchor", "20=3"];

/// Arguments of `calc shelf-life` with these anchors, separated by spaces.
fn with<'a>(anchors: &[&'a str], more: &'a str) -> Vec<&'a str> {
    [&["calc", "shelf-life"], anchors, &more.split(' ').collect::<Vec<_>>()].concat()
}

fn radish(more: &str) -> serde_json::Value {
    json(&[with(&RADISH, more), vec!["--format", "json"]].concat())
}

fn one(more: &str) -> serde_json::Value {
    json(&[with(&["--reference", "5=10"], more), vec!["--format", "json"]].concat())
}

#[test]
fn life_at_a_temperature_is_derived_by_hand_from_the_anchors() {
    for (plan, days) in [("2", 19.47), ("4", 13.95), ("8", 8.42), ("10", 7.09), ("15", 4.61), ("0", 23.0)] {
        let found = radish(&format!("--plan {plan}"));
        near(&found["life_days_at_plan"], days, 0.01);
        near(&found["left_days"], days, 0.01);
        assert_eq!((found["used"].as_f64(), &found["marks"]["extrapolated"]), (Some(0.0), &false.into()), "{plan}");
    }
    // anchors may come in any order
    let turned = ["--anchor", "20=3", "--anchor", "1=23", "--anchor", "6=10"];
    near(&json(&[with(&turned, "--plan 4"), vec!["--format", "json"]].concat())["left_days"], 13.95, 0.01);
}

#[test]
fn what_is_left_is_derived_by_hand_from_the_anchors() {
    for spent in ["--spent 5d@4 --spent 6h@20 --plan 4", "--spent 6h@20 --spent 5d@4 --plan 4"] {
        let found = radish(spent);
        near(&found["used"], 0.4417, 0.0001);
        near(&found["left_days"], 7.79, 0.01);
        near(&found["low_days"], 7.79 * 0.6, 0.01);
        near(&found["high_days"], 7.79 * 1.4, 0.01);
    }
    // 2 h at 20 °C between cut and fridge cost 2.78 %
    near(&radish("--spent 2h@20 --plan 4")["used"], 0.0278, 0.00005);
    near(&radish("--spent 120m@20 --plan 4")["used"], 0.0278, 0.00005);
    // one anchor, by the rates: P: Saltveit, USDA Agriculture Handbook 66
    let found = one("--spent 3d@5 --spent 6h@20 --plan 5");
    near(&found["used"], 0.4083, 0.0001);
    near(&found["left_days"], 5.92, 0.01);
    assert_eq!(found["marks"]["extrapolated"], true);
    // half a day each at 4 and 8 °C are a day at 6.22 °C, not at their mean of 6 °C
    let used = one("--spent 12h@4 --spent 12h@8 --plan 5")["used"].as_f64().unwrap();
    near(&one("--spent 1d@6.2 --plan 5")["used"], used, 0.0003);
    assert!(used - one("--spent 1d@6 --plan 5")["used"].as_f64().unwrap() > 0.002);
    // more than a whole life leaves nothing, never less
    let found = radish("--spent 4d@20 --plan 4");
    assert_eq!((found["left_days"].as_f64(), found["low_days"].as_f64()), (Some(0.0), Some(0.0)));
    assert!(found["used"].as_f64().unwrap() > 1.3);
}

#[test]
fn the_sum_is_told_line_by_line() {
    let (code, out, err) = run(&with(&RADISH, "--spent 5d@4 --spent 6h@20 --plan 4"));
    let told = "\
7.79 d left at 4.0 °C (4.67 to 10.91, ±40 %)
  5 d of 13.95 d at 4.0 °C: 35.83 % used
  6 h of 3.00 d at 20.0 °C: 8.33 % used
  together 44.17 % used
  planned: 13.95 d at 4.0 °C
  anchors: 23.00 d at 1.0 °C, 10.00 d at 6.0 °C, 3.00 d at 20.0 °C
An estimate of quality. It never clears a safety flag: people do, by name.
";
    assert_eq!((code, out.as_str(), err.as_str()), (0, told, ""));
    let (_, out, _) = run(&with(&["--reference", "5=10"], "--spent 6h@20 --plan 5"));
    assert!(out.contains("by the rates of USDA Agriculture Handbook 66"), "{out}");
    assert!(out.contains("extrapolated: warmer than the warmest anchor, 5.0 °C"), "{out}");
    let (_, out, _) = run(&with(&RADISH, "--spent 4d@20 --plan 4"));
    assert!(out.starts_with("nothing left at 4.0 °C: its life is used up\n"), "{out}");
    assert!(refused(64, &with(&RADISH, "--plan 4 --format csv")).contains("no table"));
}

#[test]
fn what_froze_has_no_number() {
    for (spent, used) in [("--spent 1h@-0.3 --plan 4", None), ("--spent 1d@20 --plan -1", Some(1.0 / 3.0))] {
        let found = radish(spent);
        assert_eq!(found["marks"]["freezing"], true);
        for number in ["left_days", "low_days", "high_days"] {
            assert!(found[number].is_null(), "{number} of {found}");
        }
        match used {
            None => assert!(found["used"].is_null() && found["life_days_at_plan"].is_f64(), "{found}"),
            Some(share) => {
                near(&found["used"], share, 1e-9);
                assert!(found["life_days_at_plan"].is_null(), "{found}");
            }
        }
    }
    let (code, out, _) = run(&with(&RADISH, "--spent 1h@-0.3 --plan 4"));
    assert_eq!(code, 0);
    assert!(out.starts_with("freezing, inspect: no number"), "{out}");
    assert!(out.contains("1 h at -0.3 °C freezing, inspect") && !out.contains("% used"), "{out}");
    assert_eq!(radish("--spent 1h@-0.2 --plan 4")["marks"]["freezing"], false);
}

#[test]
fn cold_never_lengthens_the_life_of_what_cold_harms() {
    let basil = |more: &str| json(&[with(&["--reference", "12=10"], more), vec!["--format", "json"]].concat());
    let (cold, bears) = (basil("--chilling --spent 2d@4 --plan 12"), basil("--chilling --spent 2d@10 --plan 12"));
    assert_eq!(cold["used"], bears["used"]);
    assert_eq!((&cold["marks"]["chilling"], &bears["marks"]["chilling"]), (&true.into(), &false.into()));
    assert!(basil("--spent 2d@4 --plan 12")["used"].as_f64() < cold["used"].as_f64());
    assert_eq!(basil("--chilling --plan 9.9")["marks"]["chilling"], true);
    let (_, out, _) = run(&with(&["--reference", "12=10"], "--chilling --spent 2d@4 --plan 12"));
    assert!(out.contains("chilling: colder than 10.0 °C harms this crop"), "{out}");
}

#[test]
fn a_sum_that_cannot_be_is_refused_in_one_sentence() {
    for (typed, why) in [
        ("--plan 4", "Give at least one --anchor"),
        ("--anchor 5=10 --reference 5=10 --plan 4", "not both"),
        ("--anchor 5=10 --anchor 20=11 --plan 4", "10 d at 5.0 °C and 11 d at 20.0 °C: a warmer anchor must have a"),
        ("--anchor 5=10 --anchor 20=10 --plan 4", "must have a shorter life"),
        ("--anchor 5=10 --anchor 5,0=9 --plan 4", "two lives at 5.0 °C"),
        ("--anchor x=10 --plan 4", "\"x\" is no temperature"),
        ("--anchor 5 --plan 4", "\"5\" is no anchor"),
        ("--anchor 5=nan --plan 4", "is no anchor"),
        ("--anchor 5=0 --plan 4", "a life is an hour to 400 days"),
        ("--anchor 5=-2 --plan 4", "a life is an hour to 400 days"),
        ("--anchor 5=401 --plan 4", "a life is an hour to 400 days"),
        ("--anchor 60.1=2 --plan 4", "60.1 °C is no reading: -20 to 60 °C can be"),
        ("--anchor -20.1=2 --plan 4", "-20.1 °C is no reading"),
        ("--anchor 5=10 --spent 5d --plan 4", "no time at a temperature"),
        ("--anchor 5=10 --spent 0d@4 --plan 4", "a time is a minute to 400 days"),
        ("--anchor 5=10 --spent -5d@4 --plan 4", "a time is a minute to 400 days"),
        ("--anchor 5=10 --spent 401d@4 --plan 4", "a time is a minute to 400 days"),
        ("--anchor 5=10 --spent 5w@4 --plan 4", "\"5w\" is no time"),
        ("--anchor 5=10 --spent infd@4 --plan 4", "\"infd\" is no time"),
        ("--anchor 5=10 --spent 5d@ --plan 4", "\"\" is no temperature"),
        ("--anchor 5=10 --spent 5d@60.1 --plan 4", "60.1 °C is no reading"),
        ("--anchor 5=10 --plan warm", "\"warm\" is no temperature"),
        ("--anchor 5=10 --plan -21", "-21 °C is no reading"),
    ] {
        let said = refused(64, &with(&[], typed));
        assert!(said.contains(why) && said.lines().count() == 1, "{typed}: {said}");
    }
    refused(64, &with(&RADISH, "--spent 5d@4"));
}

#[test]
fn the_mean_kinetic_temperature_stands_beside_the_plain_one() {
    // P: USP <1160>, equal intervals: 6.25 °C; the plain mean is 41 / 7
    let found = json(&["calc", "mkt", "2,2,5,8,8,8,8", "--format", "json"]);
    near(&found["mean_kinetic_c"], 6.25, 0.005);
    near(&found["plain_mean_c"], 5.857, 0.0005);
    assert_eq!(found["readings"], 7);
    let (code, out, _) = run(&["calc", "mkt", "2 2 5 8 8 8 8"]);
    let told = "\
mean kinetic temperature 6.25 °C
  plain mean 5.86 °C
  7 readings at equal intervals, by USP <1160>, 83.144 kJ/mol
As information only: life is never worked out from a mean.
";
    assert_eq!((code, out.as_str()), (0, told));
    // derived with the same ΔH/R: 20 h at 4 °C and 4 h at 12 °C
    let day = [vec!["4"; 20], vec!["12"; 4]].concat().join(", ");
    near(&json(&["calc", "mkt", &day, "--format", "json"])["mean_kinetic_c"], 5.98, 0.01);
    // the same in °F, with decimal commas
    let found = json(&["calc", "mkt", "--fahrenheit", "35,6; 35,6; 41; 46,4; 46,4; 46,4; 46,4", "--format", "json"]);
    near(&found["mean_kinetic_c"], 6.25, 0.005);
    // alike readings are their own mean, also below nought
    near(&json(&["calc", "mkt", "-2,-2", "--format", "json"])["mean_kinetic_c"], -2.0, 1e-9);
    for (typed, why) in [
        ("", "at least one reading"),
        (",", "at least one reading"),
        ("2,warm", "\"warm\" is no temperature"),
        ("2,61", "61 °C is no reading: -20 to 60 °C can be"),
        ("4,5 6,2", "Is that comma a decimal one?"),
    ] {
        assert!(refused(64, &["calc", "mkt", typed]).contains(why), "{typed}");
    }
    assert!(refused(64, &["calc", "mkt", "--fahrenheit", "141"]).contains("-4 to 140 °F can be"));
    refused(64, &["calc", "mkt"]);
    refused(64, &["calc", "mkt", "4", "--fahrenheit", "40"]);
}
