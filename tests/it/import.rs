//! `import air`: a logger's file on the command line.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fs;
use std::path::Path;

use crate::cli::{NOW, copy, json, refused, run};

fn put(dir: &Path, name: &str, text: &[u8]) -> String {
    let path = dir.join(name);
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

const PLAIN: &str = "Time,Temp °C,RH %\n2026-07-14 06:00,20.1,82\n2026-07-14 06:05,20.2,0\n2026-07-14 06:10,20.3,88\n";

#[test]
fn a_file_is_proposed_confirmed_and_remembered() {
    let (dir, book) = copy();
    let book = book.to_str().unwrap();
    let file = put(dir.path(), "july.csv", PLAIN.as_bytes());
    let air = |file: &str, more: &[&str]| {
        let mut args: Vec<String> =
            ["import", "air", file, "--book", book, "--now", NOW, "--who", "RM", "--sensor", "by the door"]
                .map(String::from)
                .into();
        args.extend(more.iter().map(|arg| (*arg).to_string()));
        args
    };
    let strs = |args: &[String]| args.iter().map(String::clone).collect::<Vec<_>>();
    let call = |file: &str, more: &[&str]| {
        let args = strs(&air(file, more));
        run(&args.iter().map(String::as_str).collect::<Vec<_>>())
    };
    // no such sensor yet
    let (code, _, err) = call(&file, &[]);
    assert!(code == 64 && err.contains("add it with --zone"), "{err}");
    let (code, out, err) = call(&file, &["--zone", "lit"]);
    assert_eq!(code, 0);
    assert!(out.contains("temperature: Temp °C, °C") && out.contains("Tue 14 Jul 2026 06:00: 20.1 °C, 82 %"), "{out}");
    assert!(out.contains("\n1 line left out:\n  line 3: 0 % is"), "{out}");
    let confirm = err.split("If this is right: ").nth(1).unwrap().trim();
    assert!(confirm.contains("--zone lit --time-column 'Time' --temp-column 'Temp °C' --rh-column 'RH %' --unit c"));
    let columns = ["--time-column", "Time", "--temp-column", "Temp °C", "--rh-column", "RH %"];
    let said = [&columns[..], &["--unit", "c", "--time-format", "year", "--zone", "lit"]].concat();
    let (code, out, err) = call(&file, &said);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.starts_with("july.csv: 2 readings of by the door kept.\n1 line left out:\n  line 3: 0 %"), "{out}");
    let (code, _, err) = call(&file, &[]);
    assert_eq!((code, err.as_str()), (65, "july.csv was read already on 2026-07-15: it adds nothing.\n"));
    // remembered: the next file needs no columns
    let next = put(dir.path(), "august.csv", PLAIN.replace("06:05,20.2,0", "06:20,20.2,70").as_bytes());
    let (_, out, err) = call(&next, &["--preview"]);
    assert!(out.contains("06:20: 20.2 °C, 70 %") && err.contains("Nothing was written"), "{out}{err}");
    let (code, out, _) = call(&next, &[]);
    assert_eq!((code, out.as_str()), (0, "august.csv: 1 reading of by the door kept; 2 were there already.\n"));
    let other = put(dir.path(), "other.csv", PLAIN.replace("14 06", "13 06").as_bytes());
    let args = air(&other, &["--format", "json"]);
    let found = json(&args.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!((found["bad"][0]["line"].as_i64(), found["lines"].as_i64()), (Some(3), Some(3)));
}

#[test]
fn what_cannot_be_told_or_read_is_said_and_nothing_is_written() {
    let (dir, book) = copy();
    let book = book.to_str().unwrap();
    let head = || json(&["check", "--chain", "--book", book, "--format", "json"])["chain"]["head"].clone();
    let before = head();
    let go = |code: i32, text: &[u8], more: &[&str]| {
        let file = put(dir.path(), "a.csv", text);
        let args =
            ["import", "air", &file, "--book", book, "--now", NOW, "--who", "RM", "--sensor", "new", "--zone", "lit"];
        refused(code, &[&args[..], more].concat())
    };
    assert!(go(64, b"at,temp,rh\n2026-07-14 06:00,20,82\n", &[]).contains(
        "does not say whether the temperature is in °C or °F: add --unit c or --unit f. Nothing was written."
    ));
    let both = b"at,temp C,rh\n03/04/2026 06:00,20,82\n";
    assert!(go(64, both, &["--unit", "c"]).contains(
        "whether the day or the month comes first: add --time-format day or --time-format month. Nothing was written."
    ));
    assert!(
        go(64, both, &["--time-column", "when", "--time-format", "day", "--unit", "c"])
            .contains("has no column \"when\"")
    );
    assert!(go(66, b"\xff\xfea\0", &[]).contains("UTF-16"));
    assert!(go(66, b"at,temp,rh\n2026-07-14 06:00,20\xb0,82\n", &[]).contains("Line 2 is not in UTF-8"));
    assert!(go(66, b"", &[]).contains("empty"));
    // °F in a column that says °C: asked, in the proposal too
    let warm = put(dir.path(), "warm.csv", b"at,temp C,rh\n2026-07-14 06:00,70,82\n2026-07-14 07:00,71,82\n");
    let args =
        ["import", "air", &warm, "--book", book, "--now", NOW, "--who", "RM", "--sensor", "new", "--zone", "lit"];
    let (code, _, err) = run(&args);
    assert!(code == 0 && err.contains("looks like °F, not °C") && !err.contains('|'), "{err}");
    assert!(err.contains("If it is °C: rackwalk") && err.contains("--unit c "), "{err}");
    assert!(err.contains("If it is °F: rackwalk") && err.contains("--unit f "), "{err}");
    assert_eq!(head(), before);
    let columns = ["--time-column", "at", "--temp-column", "temp C", "--rh-column", "rh", "--time-format", "year"];
    let (code, out, _) = run(&[&args[..], &columns, &["--unit", "f"]].concat());
    assert_eq!((code, out.as_str()), (0, "warm.csv: 2 readings of new kept.\n"));
}

#[test]
fn a_hand_is_named_where_there_are_several_and_the_file_of_another_sensor_asked_about() {
    let (dir, book) = copy();
    let book = book.to_str().unwrap();
    let file = put(dir.path(), "july.csv", PLAIN.as_bytes());
    let columns = ["--time-column", "Time", "--temp-column", "Temp °C", "--rh-column", "RH %"];
    let rest = ["--unit", "c", "--time-format", "year", "--zone", "lit"];
    let args = |sensor: &'static str| {
        [&["import", "air", &file, "--book", book, "--now", NOW, "--sensor", sensor], &columns[..], &rest].concat()
    };
    let sentence = refused(64, &args("door"));
    assert!(sentence.contains("--who and one of AK, ") && sentence.contains("RM"), "{sentence}");
    let by_rm = [&args("door")[..], &["--who", "RM"]].concat();
    assert_eq!(run(&by_rm).0, 0);
    let other = [&args("lamps")[..], &["--who", "RM"]].concat();
    let sentence = refused(64, &other);
    assert!(
        sentence.contains(
            "july.csv was read on 2026-07-15 for another sensor, door. If it is of lamps too, add --same-file"
        )
    );
    assert_eq!(run(&[&other[..], &["--same-file"]].concat()).0, 0);
}

/// Says that there is a cold store; makes it with the program's own library.
fn with_store(book: &Path) {
    use rackwalk::domain::action::Action;
    use rackwalk::domain::cold::{Limits, NewStore};
    use rackwalk::domain::id::PersonId;
    use rackwalk::domain::time::Now;
    let mut store = rackwalk::store::Store::open(book, "test").unwrap();
    let now = Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T06:10:00Z").unwrap());
    let new = NewStore { name: "the fridge".into(), limits: Limits::default() };
    store.act(&Action::AddStore(Box::new(new)), PersonId(1), now).unwrap();
}

const COLD: &str = "Time,Temp °C\n2026-07-14 06:10,4.1\n2026-07-14 06:00,3.9\n2026-07-14 06:00,3.9\n\
                    2026-07-16 06:00,4.0\n2026-07-14 06:15,4.";

#[test]
fn a_file_of_temperatures_alone_is_read_for_a_cold_store() {
    let (dir, path) = copy();
    with_store(&path);
    let book = path.to_str().unwrap();
    let file = put(dir.path(), "cold.csv", COLD.as_bytes());
    let args = |kind, file, more: &[&'static str]| {
        let args = vec!["import", kind, file, "--book", book, "--now", NOW, "--who", "RM", "--sensor", "probe"];
        [&args[..], more].concat()
    };
    let said = ["--time-column", "Time", "--temp-column", "Temp °C", "--unit", "c", "--time-format", "year"];
    let all = [
        "--time-column",
        "Time",
        "--temp-column",
        "Temp °C",
        "--unit",
        "c",
        "--time-format",
        "year",
        "--store",
        "the fridge",
    ];
    let sentence = refused(64, &args("cold", &file, &said));
    assert!(sentence.starts_with("There is no sensor probe: take one of "), "{sentence}");
    assert!(sentence.ends_with("or add it with --store and the cold store's name.\n"), "{sentence}");
    assert!(!sentence.contains("by the lamps"), "no sensor of the air: {sentence}");
    let sentence = refused(64, &args("cold", &file, &["--store", "cellar"]));
    assert!(sentence.contains("There is no cold store cellar: take ") && sentence.contains("the fridge"), "{sentence}");
    let sentence = refused(64, &args("air", &file, &["--zone", "lit"]));
    assert!(sentence.contains("does not say which column is the humidity: add --rh-column"), "{sentence}");
    let (code, out, err) = run(&args("cold", &file, &["--store", "the fridge"]));
    assert!(code == 0 && out.contains("humidity: none") && out.contains("06:00: 3.9 °C\n"), "{out}{err}");
    assert!(
        err.contains("rackwalk import cold ") && err.contains(" --store 'the fridge' --time-column 'Time'"),
        "{err}"
    );
    assert!(!err.contains("--rh-column"), "{err}");
    let (code, out, err) = run(&args("cold", &file, &all));
    assert_eq!((code, err.as_str()), (0, ""));
    assert_eq!(
        out,
        "cold.csv: 2 readings of probe kept.\n1 line written twice.\n2 lines left out:\n  \
         line 5: 2026-07-16 06:00 is still to come\n  line 6: the file breaks off here, perhaps inside of a number\n"
    );
    let again = refused(65, &args("cold", &file, &all));
    assert_eq!(again, "cold.csv was read already on 2026-07-15: it adds nothing.\n");
    // remembered, and no sensor of the air
    let next = put(dir.path(), "next.csv", COLD.replace("07-14", "07-13").as_bytes());
    assert_eq!(run(&args("cold", &next, &[])).1.lines().next(), Some("next.csv: 2 readings of probe kept."));
    assert_eq!(
        refused(64, &args("air", &next, &[])),
        "probe measures in a cold store: say import cold. Nothing was written.\n"
    );
}

#[test]
fn a_file_in_doubt_about_its_unit_writes_nothing_into_a_cold_store() {
    let (dir, path) = copy();
    with_store(&path);
    let book = path.to_str().unwrap();
    let head = || json(&["check", "--chain", "--book", book, "--format", "json"])["chain"]["head"].clone();
    let before = head();
    let file = put(dir.path(), "f.csv", b"at,temp C\n2026-07-14 06:00,38.2\n2026-07-14 06:05,37.9\n");
    let args = [
        "import",
        "cold",
        &file,
        "--book",
        book,
        "--now",
        NOW,
        "--who",
        "RM",
        "--sensor",
        "new",
        "--store",
        "the fridge",
    ];
    let (code, _, err) = run(&args);
    assert!(code == 0 && err.contains("between 25 and 110: that looks like °F, not °C."), "{err}");
    assert!(
        err.contains("If it is °C: rackwalk import cold") && err.contains("If it is °F: rackwalk import cold"),
        "{err}"
    );
    assert_eq!(head(), before);
    let columns = ["--time-column", "at", "--temp-column", "temp C", "--time-format", "year", "--unit", "f"];
    let (code, out, _) = run(&[&args[..], &columns].concat());
    assert_eq!((code, out.as_str()), (0, "f.csv: 2 readings of new kept.\n"));
}
