//! Sums about air, light and shares on the command line.

use crate::cli::{json, near, refused, run};

#[test]
fn air_by_the_fao() {
    // derived by FAO-56: 24 °C and 80 % have a dew point of 20.33 °C and a deficit of 0.597 kPa
    let found = json(&["calc", "air", "--temp", "24", "--rh", "80", "--format", "json"]);
    near(&found["dew_point_c"], 20.33, 0.006);
    near(&found["vpd_kpa"], 0.597, 0.0006);
    assert_eq!(found["mould_weather"], false);
    let fahrenheit = json(&["calc", "air", "--fahrenheit", "75,2", "--rh", "90", "--format", "json"]);
    near(&fahrenheit["temp_c"], 24.0, 1e-9);
    assert_eq!(fahrenheit["mould_weather"], true);
    let (_, out, _) = run(&["calc", "air", "--temp", "30", "--rh", "40"]);
    assert!(out.contains("clears no tray"), "{out}");
    for (temp, rh, why) in
        [("24", "0", "more than 0"), ("24", "101", "at most 100"), ("76", "50", "Fahrenheit as such")]
    {
        assert!(refused(64, &["calc", "air", "--temp", temp, "--rh", rh]).contains(why), "{temp} {rh}");
    }
    refused(64, &["calc", "air", "--rh", "50"]);
    refused(64, &["calc", "air", "--temp", "24", "--fahrenheit", "75", "--rh", "50"]);
}

#[test]
fn light_of_a_day() {
    // P: Jones-Baumgardt et al. 2020: 304 µmol for 16 h are 17.5 mol
    near(&json(&["calc", "light", "--ppfd", "304", "--hours", "16", "--format", "json"])["daily_mol"], 17.5, 0.05);
    assert!(refused(64, &["calc", "light", "--ppfd", "304", "--hours", "25"]).contains("0 to 24"));
}

#[test]
fn a_share_with_its_interval() {
    // P: Newcombe 1998, table I, method 3: 81/263 has .2553 to .3662
    let found = json(&["calc", "proportion", "81/263", "--format", "json"]);
    near(&found["low"], 0.2553, 6e-5);
    near(&found["high"], 0.3662, 6e-5);
    assert!(run(&["calc", "proportion", "3/8"]).1.starts_with("3 of 8, 38 % (14 to 69 %, few)\n"));
    for (typed, why) in
        [("5/0", "n above 0"), ("7/3", "more than all"), ("half", "such as 3/12"), ("1/x", "such as 3/12")]
    {
        assert!(refused(64, &["calc", "proportion", typed]).contains(why), "{typed}");
    }
}

#[test]
fn a_check_digit_is_worked_out_or_refused() {
    // GS1 General Specifications, check digit calculation, as our reference lists the values
    for (number, digit) in [("629104150021", 3), ("730001100001", 7), ("0234567", 3), ("41600033610", 8)] {
        let data = json(&["calc", "checkdigit", number, "--format", "json"]);
        assert_eq!(
            (data["check_digit"].as_i64(), data["whole"].as_str()),
            (Some(digit), Some(&*format!("{number}{digit}")))
        );
    }
    for wrong in ["", "62910415002x", "123456789012345678"] {
        assert!(refused(64, &["calc", "checkdigit", wrong]).contains("Give 1 to 17 digits"), "{wrong}");
    }
}
