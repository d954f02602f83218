//! Sums of few counts and values on the command line.

use crate::cli::{json, near, refused, run};

#[test]
fn a_germination_test_by_its_days() {
    // P: germinationmetrics 0.1.10 vignette
    let args = ["calc", "germination", "--counts", "0,0,0,0,4,17,10,7,1,0,1,0,0,0", "--sown", "50"];
    let found = json(&[&args[..], &["--format", "json"]].concat());
    for (name, right) in [
        ("percent", 80.0),
        ("t50_coolbear", 5.970_588),
        ("t50_farooq", 5.941_176),
        ("mean_d", 6.7),
        ("speed", 6.138_925),
    ] {
        near(&found[name], right, 1e-6);
    }
    near(&found["share"]["low"], 0.6696, 6e-4);
    let (code, out, _) = run(&args);
    assert_eq!(code, 0);
    assert!(out.starts_with("Germinated: 40 of 50, 80 % (67 to 89 %).\n"), "{out}");
    assert!(out.contains("5.94 (Farooq), 5.97 (Coolbear)"), "{out}");
    // no seed: no day, in words and as null
    let none = json(&["calc", "germination", "--counts", "0,0,0", "--sown", "20", "--format", "json"]);
    assert!(none["mean_d"].is_null() && none["t50_farooq"].is_null() && none["speed"].is_null(), "{none}");
    let (_, out, _) = run(&["calc", "germination", "--counts", "0,0,0", "--sown", "20"]);
    assert!(out.starts_with("Germinated: 0 of 20, 0 % (0 to 16 %).\n") && out.contains("no time to tell"), "{out}");
    for (counts, sown, why) in [
        ("6,5", "10", "11 germinated are more than the 10"),
        ("1,2", "0", "of no seeds"),
        ("1,x", "10", "is no count"),
        ("1,-2", "10", "is no count"),
        ("1,2.5", "10", "is no count"),
        ("", "10", "is no count"),
        ("1", "200000", "at most 100000"),
    ] {
        let said = refused(64, &["calc", "germination", "--counts", counts, "--sown", sown]).to_lowercase();
        assert!(said.contains(why), "{counts} {sown}: {said}");
    }
}

#[test]
fn replicates_that_agree() {
    // P: 7 CFR 201.55 for a mean of 92; R for the dispersion
    let args = ["calc", "spread", "--replicates", "92,88,95,91", "--seeds", "100"];
    let found = json(&[&args[..], &["--format", "json"]].concat());
    assert_eq!(
        (found["agree"].as_bool(), found["allowed"].as_u64(), found["range"].as_u64()),
        (Some(true), Some(11), Some(7))
    );
    near(&found["chi2"], 3.2144, 6e-5);
    near(&found["p"], 0.3597, 6e-5);
    let (_, out, _) = run(&args);
    assert!(out.starts_with("The replicates agree: ") && out.contains("366 of 400, 92 % (88 to 94 %)"), "{out}");
    let (code, out, _) = run(&["calc", "spread", "--replicates", "80,92,95,96", "--seeds", "100"]);
    assert!(code == 0 && out.starts_with("The replicates do not agree: ") && out.contains("repeat the test"), "{out}");
    for (counts, seeds, why) in [
        ("92", "100", "two or more"),
        ("92,101", "100", "more than the 100"),
        ("9,9", "0", "of no seeds"),
        ("a,b", "9", "no count"),
    ] {
        let said = refused(64, &["calc", "spread", "--replicates", counts, "--seeds", seeds]).to_lowercase();
        assert!(said.contains(why), "{counts}: {said}");
    }
}

#[test]
fn two_groups_in_plain_words() {
    // derived by hand: −1 ± 2.776445 · √(2/3)
    let args = ["calc", "compare", "--a", "1,2,3", "--b", "2,3,4"];
    let found = json(&[&args[..], &["--format", "json"]].concat());
    assert_eq!(found["clear"], false);
    near(&found["interval"][0], -3.266_96, 1e-4);
    near(&found["interval"][1], 1.266_96, 1e-4);
    let (_, out, _) = run(&args);
    assert!(out.starts_with("No clear difference; could be from -3.3 to +1.3"), "{out}");
    assert!(!out.to_lowercase().contains("no difference"), "{out}");
    // statistics.md section 9, radish R-101 against R-117
    let lots = [
        "calc",
        "compare",
        "--a",
        "259.8,218.2,283.5,269.6,253.0,261.7,232.5",
        "--b",
        "252.4;246,9;205,7 207,2 213,5 217 225,8",
    ];
    let found = json(&[&lots[..], &["--format", "json"]].concat());
    near(&found["diff"], 29.971_43, 1e-5);
    near(&found["interval"][0], 5.978_35, 1e-5);
    near(&found["rank_p"], 0.011_07, 1e-5);
    let (_, out, _) = run(&lots);
    assert!(out.starts_with("The first is 30 more than the second; could be from +6 to +54.\n"), "{out}");
    assert!(out.contains("of 7 and"), "each mean with its count: {out}");
    let few = json(&["calc", "compare", "--a", "1", "--b", "5,6", "--format", "json"]);
    assert!(
        few["clear"].is_null()
            && few["interval"].is_null()
            && few["said"].as_str().unwrap().contains("ot enough to say")
    );
    for (a, b) in [("", "1"), ("1,x", "2"), ("nan", "2"), ("inf", "2")] {
        assert!(refused(64, &["calc", "compare", "--a", a, "--b", b]).contains("is no number"), "{a}");
    }
    assert!(refused(64, &["calc", "compare", "--a", "1e308,1e308", "--b", "2"]).contains("too large"));
}

#[test]
fn values_in_their_order() {
    // P: e-Handbook 6.3.2.2
    let args = ["calc", "chart", "--values", "49.6,47.6,49.9,51.3,47.8,51.2,52.6,52.4,53.6,52.1"];
    let found = json(&[&args[..], &["--format", "json"]].concat());
    near(&found["limits"]["high"], 55.8041, 1e-4);
    near(&found["limits"]["low"], 45.8159, 1e-4);
    assert_eq!(found["outside"].as_array().unwrap().len(), 0);
    let (_, out, _) = run(&args);
    assert!(out.starts_with("The next value lies from ") && out.contains("too early"), "{out}");
    let mut many = "50,52,51,".repeat(8);
    many.push_str("90");
    let (_, out, _) = run(&["calc", "chart", "--values", &many]);
    assert!(out.starts_with("The 25th of 25 values is unusual"), "{out}");
    let (_, out, _) = run(&["calc", "chart", "--values", "5"]);
    assert!(out.starts_with("Not enough to say"), "{out}");
    let (_, out, _) = run(&["calc", "chart", "--values", "5,5,5,5"]);
    assert!(out.starts_with("Not enough to say: all 4 values are alike"), "{out}");
    assert!(refused(64, &["calc", "chart", "--values", "1,,2"]).contains("is no number"));
    assert!(refused(64, &["calc", "chart", "--values", &"1,".repeat(10_001)]).contains("too many"));
}

#[test]
fn trays_to_sow() {
    // statistics.md section 7
    let found = json(&["calc", "trays", "--need", "10", "--success", "18/20", "--assurance", "95", "--format", "json"]);
    assert_eq!((found["trays"].as_u64(), found["optimistic"].as_u64()), (Some(15), Some(13)));
    near(&found["chance"], 0.971_65, 6e-6);
    let found = json(&["calc", "trays", "--need", "10", "--rate", "0,9", "--format", "json"]);
    assert_eq!(found["trays"].as_u64(), Some(13));
    near(&found["chance"], 0.965_839, 1e-6);
    near(&found["one_fewer"], 0.889_130, 1e-6);
    let (_, out, _) = run(&["calc", "trays", "--need", "10", "--success", "18/20"]);
    assert!(
        out.starts_with("Sow 15 to have 10 ") && out.contains("90 % (18 of 20)") && out.contains("fail together"),
        "{out}"
    );
    for (args, why) in [
        (&["--need", "10"][..], "--help"),
        (&["--need", "10", "--success", "18/20", "--rate", "0.9"], "--help"),
        (&["--need", "0", "--rate", "0.9"], "1 or more"),
        (&["--need", "10", "--rate", "0"], "above 0"),
        (&["--need", "10", "--rate", "90"], "at most 1"),
        (&["--need", "10", "--rate", "0.9", "--assurance", "100"], "from 50 to 99.99"),
        (&["--need", "10", "--rate", "0.9", "--assurance", "0.95"], "from 50 to 99.99"),
        (&["--need", "10", "--success", "21/20"], "more than all"),
        (&["--need", "10", "--success", "0/0"], "above 0"),
        (&["--need", "10", "--success", "0/20"], "nothing can be said"),
        (&["--need", "10", "--success", "most"], "is no record"),
        (&["--need", "90000", "--rate", "0.01"], "look for why"),
    ] {
        let said = refused(64, &[&["calc", "trays"], args].concat());
        assert!(said.contains(why), "{args:?}: {said}");
    }
}

#[test]
fn seed_in_another_place() {
    // P: Harrington's rule: three halvings by 15 °C
    let args = ["calc", "storage", "--from", "20,8", "--to", "5,8"];
    near(&json(&[&args[..], &["--format", "json"]].concat())["times"], 8.0, 1e-9);
    let (_, out, _) = run(&args);
    assert!(out.starts_with("It keeps about 8 times as long there.\n") && out.contains("no date"), "{out}");
    for (from, to, why) in [
        ("20,8", "-18,8", "-18 °C lies outside of 0 to 50"),
        ("20,8", "5,3", "3 % moisture lies outside of 5 to 14"),
        ("20", "5,8", "is no place"),
        ("20,8,1", "5,8", "is no place"),
        ("warm,8", "5,8", "is no number"),
    ] {
        let said = refused(64, &["calc", "storage", "--from", from, "--to", to]);
        assert!(said.contains(why), "{from} {to}: {said}");
    }
}
