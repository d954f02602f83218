//! The arrows between the layers point inward, and files stay short: read off every path in `src`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// What a layer may not name, beside the outermost modules.
const OUTWARD: &[(&str, &[&str])] = &[
    ("domain", &["app", "store", "ui", "runtime"]),
    ("store", &["app", "ui", "runtime"]),
    ("app", &["store", "ui", "runtime"]),
    ("ui", &["store", "runtime"]),
    ("runtime", &[]),
];

/// Modules that everything inside the layers must do without.
const OUTERMOST: &[&str] = &["cli", "demo", "main"];

/// Crates that belong to one side of a border.
const CRATES: &[(&str, &[&str])] = &[
    ("rusqlite", &["store"]),
    ("rusqlite_migration", &["store"]),
    ("ratatui", &["ui", "runtime"]),
    ("crossterm", &["runtime"]),
];

/// Types that tell the present when asked for `now`; only the clock may ask.
const CLOCKS: &[&str] = &["Utc", "Local", "SystemTime"];
const CLOCK: &str = "runtime/clock.rs";

/// A longer file must be split.
const MOST_LINES: usize = 600;

#[test]
fn every_arrow_points_inward_and_no_file_is_too_long() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let files = sources(&root);
    assert!(files.len() > 50, "the walk over {} found only {} files", root.display(), files.len());
    let mut faults = Vec::new();
    for file in files {
        let name = file.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
        faults.extend(faults_in(&name, &fs::read_to_string(&file).unwrap()));
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
    found
}

/// What is wrong with one file; `name` is its path below `src`.
fn faults_in(name: &str, text: &str) -> Vec<String> {
    let mut faults = BTreeSet::new();
    let lines = text.lines().count();
    if lines > MOST_LINES {
        faults.insert(format!("{name}: {lines} lines, at most {MOST_LINES}"));
    }
    let tokens = tokens(&code_of(text));
    let (layer, _) = name.split_once('/').unwrap_or((name.trim_end_matches(".rs"), ""));
    let word = |at: usize| tokens.get(at).map_or("", String::as_str);
    for (at, token) in tokens.iter().enumerate() {
        if let Some((_, homes)) = CRATES.iter().find(|(krate, _)| krate == token)
            && !homes.contains(&layer)
        {
            faults.insert(format!("{name}: {token}"));
        }
        if CLOCKS.contains(&token.as_str()) && word(at + 1) == "::" && word(at + 2) == "now" && name != CLOCK {
            faults.insert(format!("{name}: {token}::now"));
        }
    }
    if let Some((_, outward)) = OUTWARD.iter().find(|(named, _)| *named == layer) {
        for module in modules_named(name, &tokens) {
            if outward.contains(&module.as_str()) || OUTERMOST.contains(&module.as_str()) {
                faults.insert(format!("{name}: {layer} must not know {module}"));
            }
        }
    }
    faults.into_iter().collect()
}

/// Every top-level module named through `crate::` or a chain of `super::`, groups in braces included.
fn modules_named(name: &str, tokens: &[String]) -> Vec<String> {
    let depth_of_file = module_depth(name);
    let word = |at: usize| tokens.get(at).map_or("", String::as_str);
    let mut named = Vec::new();
    let mut braces = 0;
    let mut inline: Vec<usize> = Vec::new();
    for at in 0..tokens.len() {
        match word(at) {
            "{" => {
                braces += 1;
                if at >= 2 && word(at - 2) == "mod" {
                    inline.push(braces);
                }
            }
            "}" => {
                inline.retain(|opened| *opened != braces);
                braces -= 1;
            }
            "crate" if word(at + 1) == "::" => named.extend(heads(tokens, at + 2)),
            "super" if at == 0 || word(at - 1) != "::" => {
                let mut after = at;
                let mut ups = 0;
                while word(after) == "super" && word(after + 1) == "::" {
                    ups += 1;
                    after += 2;
                }
                if ups >= depth_of_file + inline.len() {
                    named.extend(heads(tokens, after));
                }
            }
            _ => {}
        }
    }
    named
}

/// How many modules a file lies below the crate's root.
fn module_depth(name: &str) -> usize {
    let parts = name.trim_end_matches(".rs").split('/').count();
    if name.ends_with("/mod.rs") || name == "lib.rs" || name == "main.rs" { parts - 1 } else { parts }
}

/// The first word of a path that begins here, or of each path of a group.
fn heads(tokens: &[String], from: usize) -> Vec<String> {
    let word = |at: usize| tokens.get(at).map_or("", String::as_str);
    if word(from) != "{" {
        return vec![word(from).to_string()];
    }
    let mut found = Vec::new();
    let mut depth = 0;
    for at in from..tokens.len() {
        match word(at) {
            "{" => depth += 1,
            "}" => depth -= 1,
            other if depth == 1 && matches!(word(at - 1), "{" | ",") => found.push(other.to_string()),
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    found
}

/// Words, `::` and single signs.
fn tokens(code: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut word = String::new();
    for c in code.chars() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
            continue;
        }
        if !word.is_empty() {
            found.push(std::mem::take(&mut word));
        }
        match (c, found.last_mut()) {
            (':', Some(last)) if last == ":" => last.push(':'),
            (c, _) if !c.is_whitespace() => found.push(c.to_string()),
            _ => {}
        }
    }
    if !word.is_empty() {
        found.push(word);
    }
    found
}

/// The text without comments, strings and characters in quotes.
fn code_of(text: &str) -> String {
    let all: Vec<char> = text.chars().collect();
    let is = |at: usize, c: char| all.get(at) == Some(&c);
    let mut code = String::new();
    let mut at = 0;
    while at < all.len() {
        if is(at, '/') && is(at + 1, '/') {
            while at < all.len() && !is(at, '\n') {
                at += 1;
            }
        } else if is(at, '/') && is(at + 1, '*') {
            at = after_block(&all, at);
        } else if is(at, '"') {
            at = after_string(&all, at, raw_marks(&all, at));
            code.push(' ');
        } else if is(at, '\'') && (is(at + 1, '\\') || is(at + 2, '\'')) {
            at += if is(at + 1, '\\') { 3 } else { 2 };
            while at < all.len() && !is(at, '\'') {
                at += 1;
            }
            at += 1;
            code.push(' ');
        } else {
            code.push(all[at]);
            at += 1;
        }
    }
    code
}

/// Past a block comment, which may hold others.
fn after_block(all: &[char], mut at: usize) -> usize {
    let pair = |at: usize, one: char, two: char| all.get(at) == Some(&one) && all.get(at + 1) == Some(&two);
    let mut depth = 0;
    while at < all.len() {
        if pair(at, '/', '*') {
            depth += 1;
            at += 2;
        } else if pair(at, '*', '/') {
            depth -= 1;
            at += 2;
            if depth == 0 {
                break;
            }
        } else {
            at += 1;
        }
    }
    at
}

/// For a raw string, how many `#` stand before its quote.
fn raw_marks(all: &[char], quote: usize) -> Option<usize> {
    let marks = all[..quote].iter().rev().take_while(|c| **c == '#').count();
    let before = quote.checked_sub(marks + 1)?;
    (all[before] == 'r').then_some(marks)
}

fn after_string(all: &[char], quote: usize, raw: Option<usize>) -> usize {
    let mut at = quote + 1;
    while at < all.len() {
        match (all[at], raw) {
            ('\\', None) => at += 2,
            ('"', None) => return at + 1,
            ('"', Some(marks)) if all.iter().skip(at + 1).take(marks).filter(|c| **c == '#').count() == marks => {
                return at + 1 + marks;
            }
            _ => at += 1,
        }
    }
    at
}

#[test]
fn each_kind_of_fault_is_found() {
    for (name, text, fault) in [
        ("domain/crop.rs", "use crate::store::Store;", "domain must not know store"),
        ("domain/crop.rs", "fn f() { crate::app::model::f() }", "domain must not know app"),
        ("domain/crop.rs", "use crate::{domain::id::{A, B}, ui::draw};", "domain must not know ui"),
        ("domain/crop.rs", "use super::super::runtime::clock;", "domain must not know runtime"),
        ("domain/crop.rs", "mod tests { use super::super::super::app::x; }", "domain must not know app"),
        ("domain/mod.rs", "use super::store;", "domain must not know store"),
        ("store/board.rs", "use crate :: runtime;", "store must not know runtime"),
        ("app/screens/walk.rs", "use crate::cli::x;", "app must not know cli"),
        ("app/update.rs", "use crate::store::Store;", "app must not know store"),
        ("ui/page.rs", "use crate::{app, store};", "ui must not know store"),
        ("runtime/session.rs", "use crate::demo;", "runtime must not know demo"),
        ("app/update.rs", "use rusqlite::Connection;", "rusqlite"),
        ("cli/mod.rs", "rusqlite::x();", "rusqlite"),
        ("app/update.rs", "use ratatui::Frame;", "ratatui"),
        ("ui/page.rs", "use ratatui::crossterm;", "crossterm"),
        ("runtime/session.rs", "let x = chrono::Utc::now();", "Utc::now"),
        ("main.rs", "let x = chrono::Local::now();", "Local::now"),
        ("demo.rs", "std::time::SystemTime::now()", "SystemTime::now"),
    ] {
        assert_eq!(faults_in(name, text), [format!("{name}: {fault}")], "{text}");
    }
    assert_eq!(faults_in("ui/page.rs", &"\n".repeat(601)), ["ui/page.rs: 601 lines, at most 600"]);
}

#[test]
fn what_is_allowed_or_not_code_is_let_pass() {
    for (name, text) in [
        ("domain/crop.rs", "// crate::store\n/* crate::ui /* crate::app */ crate::cli */ use crate::domain::id;"),
        ("domain/crop.rs", r##"let x = "crate::store \" crate::ui"; let y = r#"a " crate::app"#; let z = '"';"##),
        ("domain/crop.rs", "fn f<'a>(x: &'a str) -> &'a str { x } // rusqlite"),
        ("domain/crop.rs", "mod tests { use super::super::id::X; } use super::id::Y;"),
        ("store/board.rs", "use rusqlite::Connection; use crate::domain::board;"),
        ("app/screens/forms/sow.rs", "use super::super::pick; use super::super::super::model;"),
        ("ui/page.rs", "use crate::app::model::Model; use ratatui::Frame;"),
        ("runtime/clock.rs", "Local::now()"),
        ("runtime/terminal.rs", "use crossterm::x; use crate::ui::theme;"),
        ("cli/mod.rs", "use crate::{runtime, store, ui};"),
        ("ui/page.rs", &"\n".repeat(600)),
    ] {
        assert_eq!(faults_in(name, text), [] as [String; 0], "{text}");
    }
}
