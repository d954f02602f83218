//! The README says what the program says.

use rackwalk::app::keys;

const README: &str = include_str!("../../README.md");

#[test]
fn the_table_of_keys_is_the_programs_own() {
    let (_, after) = README.split_once("compared by a test -->\n").unwrap();
    let (table, _) = after.split_once("<!-- /keys -->").unwrap();
    assert_eq!(table.trim(), keys::markdown().trim(), "print it again with `rackwalk keys`");
}

#[test]
fn pictures_that_are_shown_are_there() {
    for line in README.lines().filter(|line| line.starts_with("![")) {
        let (_, path) = line.split_once("](").unwrap();
        let path = path.trim_end_matches(')');
        assert!(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path).is_file(), "{path}");
    }
}
