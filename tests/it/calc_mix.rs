//! Dilutions and recipes on the command line.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::PathBuf;

use crate::cli::{json, near, refused, run};

#[test]
fn a_dilution_by_the_sources() {
    // growing.md G6: P: 600 mL of 0.5 % from 3 % = 100 mL + 500 mL
    let found = json(&["calc", "dilution", "--stock", "3", "--target", "0.5", "--make", "600", "--format", "json"]);
    near(&found["stock_ml"], 100.0, 1e-9);
    near(&found["water_ml"], 500.0, 1e-9);
    // growing.md G6: D: 100 mL of 3 % from 35 % = 8.571 mL
    let found = json(&["calc", "dilution", "--stock", "35", "--target", "3,0", "--make", "100", "--format", "json"]);
    near(&found["stock_ml"], 8.571, 0.0005);
    // growing.md G6: D: one part 35 % plus 11 parts water = 2.917 %
    let found = json(&["calc", "dilution", "--stock", "35", "--water-parts", "11", "--format", "json"]);
    near(&found["strength_pct"], 2.917, 0.0005);
    let (_, out, _) = run(&["calc", "dilution", "--stock", "3", "--target", "0.5", "--make", "600"]);
    assert!(out.starts_with("100 mL of stock and 500 mL of water\n"), "{out}");
    assert!(out.contains("goggles") && out.contains("Never mix bleach"), "{out}");
}

#[test]
fn a_dilution_that_cannot_be() {
    let why = refused(64, &["calc", "dilution", "--stock", "3", "--target", "5", "--make", "600"]);
    assert!(why.contains("5 % is stronger than the stock of 3 %"), "{why}");
    for (stock, target, make) in [("0", "0.5", "600"), ("3", "-1", "600"), ("3", "0.5", "0"), ("120", "0.5", "600")] {
        refused(64, &["calc", "dilution", "--stock", stock, "--target", target, "--make", make]);
    }
    refused(64, &["calc", "dilution", "--stock", "3", "--target", "0.5"]);
    refused(64, &["calc", "dilution", "--stock", "3"]);
    refused(64, &["calc", "dilution", "--stock", "35", "--water-parts", "0"]);
}

/// A recipe's file in a folder of its own.
fn file(text: &str) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("recipe.toml");
    std::fs::write(&path, text).unwrap();
    (dir, path)
}

// common practice, no source: measures to convert and to scale, never advice
const BOTTLE: &str = r#"
name = "test bottle"
ml = 1500
life_days = 7
[[part]]
name = "potassium bicarbonate"
amount = "3/4"
measure = "us_tsp"
[[part]]
name = "oil one"
amount = 20
measure = "drops"
"#;

#[test]
fn a_recipe_for_two_litres() {
    let (_dir, path) = file(BOTTLE);
    let path = path.to_str().unwrap();
    let found = json(&["calc", "mix", path, "--make", "2000", "--format", "json"]);
    let (salt, oil) = (&found["parts"][0], &found["parts"][1]);
    near(&salt["amount"], 1.0, 1e-9);
    // growing.md G6: the US teaspoon
    near(&salt["ml"], 4.928_921_593_75, 1e-9);
    assert_eq!((salt["measure"].as_str(), salt["estimate"].as_bool()), (Some("us_tsp"), Some(false)));
    near(&oil["amount"], 26.667, 1e-9);
    assert_eq!(oil["estimate"], true, "drops of an oil are no measure");
    let (_, out, _) = run(&["calc", "mix", path, "--make", "2000"]);
    assert!(
        out.starts_with("test bottle, 2000 mL, keeps 7 d\n  potassium bicarbonate: 4.93 mL = 1 tsp (US)\n"),
        "{out}"
    );
    assert!(out.contains("then water up to 2000 mL") && out.contains("local rules decide"), "{out}");
    assert!(out.contains("hot water and shake"), "{out}");
    // as written
    assert!(run(&["calc", "mix", path]).1.contains("3.70 mL = 3/4 tsp (US)"));
}

#[test]
fn a_recipe_with_a_mistake_names_it() {
    let (_dir, path) = file(&BOTTLE.replace("us_tsp", "tsp"));
    let why = refused(65, &["calc", "mix", path.to_str().unwrap(), "--make", "2000"]);
    assert!(why.contains("recipe.toml") && !why.contains("Recipe.toml"), "a file keeps its name: {why}");
    for kind in ["potassium bicarbonate", "tsp us", "tsp label", "tsp imperial"] {
        assert!(why.contains(kind), "{why}");
    }
    for (from, to, says) in [
        ("measure = \"us_tsp\"", "measure = \"cups\"", "no measure here"),
        ("amount = \"3/4\"", "amount = \"a pinch\"", "is no amount"),
        ("measure = \"us_tsp\"", "measure = \"us_tbsp\"", "tablespoon"),
        ("amount = 20", "amount = \"1,500\"", "1500 and as 1.500"),
        ("amount = 20\nmeasure = \"drops\"", "amount = 1600\nmeasure = \"mL\"", "the bottle holds 1500 mL"),
        (
            "potassium bicarbonate\"",
            "bleach\"\namount = 1\nmeasure = \"g\"\n[[part]]\nname = \"vinegar\"",
            "poisonous gas",
        ),
        ("ml = 1500", "ml = 0", "A bottle holds"),
        ("life_days = 7", "", "life_days"),
        ("life_days = 7", "life_days = 7\ndose = 3", "dose"),
        ("name = \"oil one\"", "name = \"potassium bicarbonate\"", "named twice"),
    ] {
        let (_dir, path) = file(&BOTTLE.replace(from, to));
        let why = refused(65, &["calc", "mix", path.to_str().unwrap()]);
        assert!(why.contains(says), "{why}");
    }
    refused(66, &["calc", "mix", "/nonexistent/recipe.toml"]);
    let (_dir, path) = file(BOTTLE);
    for make in ["0", "-5", "2000000"] {
        refused(64, &["calc", "mix", path.to_str().unwrap(), "--make", make]);
    }
}
