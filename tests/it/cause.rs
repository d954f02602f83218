//! `cause`: what the bad ones of some weeks share, on the command line.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::collections::BTreeMap;

use crate::cli::{NOW, demo, json, refused, run};

fn args<'a>(of: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let book = demo().to_str().unwrap();
    [&["cause", "--book", book, "--now", NOW, "--of", of][..], more].concat()
}

#[test]
fn every_question_is_answered_in_words_and_figures() {
    for (of, first) in [
        ("mould", "trays sown in the last 8 weeks"),
        ("suspects", "suspect at some time."),
        ("losses", "cut or thrown out in the last 8 weeks"),
        ("complaints", "went out in the last 8 weeks"),
    ] {
        let (code, out, err) = run(&args(of, &[]));
        assert_eq!((code, err.as_str()), (0, ""), "{of}");
        assert!(out.lines().next().unwrap().contains(first), "{out}");
        assert!(!out.contains("Fisher"), "{out}");
        let (code, why, _) = run(&args(of, &["--why"]));
        assert!(code == 0 && why.contains("Fisher's exact test") && why.contains("Benjamini and Hochberg"), "{why}");
    }
    let (_, short, _) = run(&args("mould", &["--weeks", "1"]));
    assert!(short.contains("trays sown in the last 1 week "), "{short}");
}

/// Trays have one crop and one first place each: what the groups of a kind come to is what there is, in both formats.
#[test]
fn the_table_has_every_group_and_adds_up() {
    let data = json(&args("losses", &["--format", "json"]));
    let (all, bad) = (data["all"].as_u64().unwrap(), data["bad"].as_u64().unwrap());
    assert!(all > 5, "{data}");
    assert_eq!(data["asked"]["of"], "losses");
    let (code, out, err) = run(&args("losses", &["--format", "csv"]));
    assert_eq!((code, err.as_str()), (0, ""));
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let heading: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    let at = |name: &str| heading.iter().position(|known| known == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), data["groups"].as_array().unwrap().len());
    let number = |row: &csv::StringRecord, name: &str| row[at(name)].parse::<u64>().unwrap();
    let mut sums: BTreeMap<String, (u64, u64)> = BTreeMap::new();
    for row in &rows {
        assert_eq!(number(row, "bad") + number(row, "others_bad"), bad, "{row:?}");
        assert_eq!(number(row, "of") + number(row, "others_of"), all, "{row:?}");
        let sum = sums.entry(row[at("by")].to_string()).or_default();
        *sum = (sum.0 + number(row, "bad"), sum.1 + number(row, "of"));
        let p = &row[at("p")];
        assert!(p.is_empty() || (0.0..=1.0).contains(&p.parse::<f64>().unwrap()), "{row:?}");
    }
    for by in ["crop", "batch", "place", "shelf", "zone", "sown_on"] {
        assert_eq!(sums.get(by), Some(&(bad, all)), "{by}");
    }
}

#[test]
fn what_cannot_be_asked_is_refused_in_words() {
    let said = refused(64, &args("weeds", &[]));
    assert!(said.contains("say one of mould, suspects, losses, complaints"), "{said}");
    let said = refused(64, &args("losses", &["--only", "slime"]));
    assert!(said.contains("slime is no kind of losses: say one of mould, rot,"), "{said}");
    let said = refused(64, &args("mould", &["--only", "rot"]));
    assert!(said.contains("mould and rot have no kinds: leave --only rot out."), "{said}");
    refused(64, &args("mould", &["--weeks", "0"]));
}
