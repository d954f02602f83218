//! `week` from outside: text, table, JSON and page of a week; what is refused, and nothing overwritten.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fs;

use crate::cli::{NOW, demo, json, refused, run};

fn args<'a>(more: &[&'a str]) -> Vec<&'a str> {
    let book = demo().to_str().unwrap();
    [&["week", "--book", book, "--now", NOW][..], more].concat()
}

#[test]
fn the_last_week_that_is_over_is_reviewed_in_five_sentences() {
    let (code, out, err) = run(&args(&[]));
    assert_eq!((code, err.as_str()), (0, ""));
    // NOW is a day of July 2026, week 29
    assert!(out.starts_with("WEEK 2026-W28\n") && out.contains("2026-07-06 to 2026-07-12"), "{out}");
    for n in 1..=5 {
        assert!(out.contains(&format!("\n{n}. ")), "sentence {n} in\n{out}");
    }
    assert!(!out.contains("\n6. ") && out.contains("people do, by name"), "{out}");
    let data = json(&args(&["2026-W28", "--format", "json"]));
    assert_eq!(data["sentences"].as_array().unwrap().len(), 5);
    assert_eq!(data["review"]["period"]["from"], "2026-07-06");
    assert!(data["review"]["crops"].as_array().unwrap().len() > 3, "{data}");
}

#[test]
fn the_table_has_a_row_for_each_crop_and_adds_up_with_the_data() {
    let data = json(&args(&["--format", "json"]));
    let (code, out, err) = run(&args(&["--format", "csv"]));
    assert_eq!((code, err.as_str()), (0, ""));
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let heading: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    let at =
        |name: &str| heading.iter().position(|known| known == name).unwrap_or_else(|| panic!("{name}: {heading:?}"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let crops: Vec<&csv::StringRecord> =
        rows.iter().filter(|row| &row[at("section")] == "Crops" && row[at("text")].is_empty()).collect();
    let known = data["review"]["crops"].as_array().unwrap();
    assert_eq!(crops.len(), known.len());
    for (row, crop) in crops.iter().zip(known) {
        assert_eq!(row[at("crop")], *crop["name"].as_str().unwrap());
        assert_eq!(row[at("sown")].parse::<usize>().unwrap(), crop["sown"].as_array().unwrap().len());
        let lost: usize =
            crop["reasons"].as_array().unwrap().iter().map(|reason| reason[1].as_array().unwrap().len()).sum();
        if !crop["lost"].is_null() {
            assert_eq!(row[at("lost")].parse::<usize>().unwrap(), lost, "{row:?}");
        }
    }
}

#[test]
fn a_page_is_written_once_and_a_week_that_is_none_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("week.html");
    let out = file.to_str().unwrap();
    let (code, said, err) = run(&args(&["2026-W28", "--out", out]));
    assert_eq!((code, said.as_str()), (0, ""));
    assert!(err.contains("open it in a browser"), "{err}");
    let page = fs::read_to_string(&file).unwrap();
    assert!(page.contains("<svg") && page.contains("Week 2026-W28") && !page.contains("<script"));
    refused(73, &args(&["2026-W28", "--out", out]));
    for bad in ["2026-W99", "W31", "week", "2026-07-12..2026-07-06"] {
        refused(64, &args(&[bad]));
    }
    let (code, before, _) = run(&args(&["2026-05-04..2026-05-10"]));
    assert!(code == 0 && before.contains("it knows nothing of these days"), "{before}");
}
