//! Shared by the tests of the store: issues to migrate through, folders compared, second processes.

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStderr, Command, Stdio};

/// Issue 1 counts how often it ran; nothing in it would fail a second time.
pub const FIRST: &str = "
    CREATE TABLE IF NOT EXISTS ran (step INTEGER NOT NULL) STRICT;
    INSERT INTO ran VALUES (1);
    CREATE TABLE IF NOT EXISTS rack (
        id INTEGER PRIMARY KEY, name TEXT NOT NULL CONSTRAINT rack_name UNIQUE) STRICT;
    CREATE TABLE IF NOT EXISTS place (
        rack_id INTEGER NOT NULL REFERENCES rack ON DELETE RESTRICT, shelf INTEGER NOT NULL
    ) STRICT;";
/// Rebuilds a table that another one points to.
pub const SECOND: &str = "
    INSERT INTO ran VALUES (2);
    CREATE TABLE rack_new (
        id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, sort INTEGER NOT NULL) STRICT;
    INSERT INTO rack_new SELECT id, name, id FROM rack;
    DROP TABLE rack;
    ALTER TABLE rack_new RENAME TO rack;";
pub const V1: &[&str] = &[FIRST];
pub const V2: &[&str] = &[FIRST, SECOND];

pub fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

pub fn chmod(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

/// Every file of a folder with its bytes.
pub fn snapshot(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.clone(), fs::read(&path).unwrap()))
        .collect()
}

const BOOK: &str = "RACKWALK_TEST_BOOK";

/// The book this process is to play its part with, when it is a [`Second`].
pub fn part() -> Option<PathBuf> {
    env::var_os(BOOK).map(PathBuf::from)
}

/// Told by a second process to the first.
pub fn say(word: &str) {
    eprintln!(">>{word}");
}

/// Keeps a second process where it is until the first lets it go.
pub fn stay() {
    std::io::stdin().read_to_end(&mut Vec::new()).unwrap();
}

/// The same test in another process, where [`part`] is some.
pub struct Second {
    child: Child,
    said: BufReader<ChildStderr>,
}

impl Second {
    pub fn start(test: &str, book: &Path) -> Self {
        let mut child = Command::new(env::current_exe().unwrap())
            .args([test, "--exact", "--nocapture"])
            .env(BOOK, book)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let said = BufReader::new(child.stderr.take().unwrap());
        Self { child, said }
    }

    /// The next word it says; its whole noise when it ends instead.
    pub fn hear(&mut self) -> String {
        let mut noise = String::new();
        loop {
            let mut line = String::new();
            assert!(self.said.read_line(&mut line).unwrap() > 0, "it ended: {noise}");
            if let Some(word) = line.strip_prefix(">>") {
                return word.trim_end().to_owned();
            }
            noise.push_str(&line);
        }
    }

    pub fn finish(mut self) {
        drop(self.child.stdin.take());
        assert!(self.child.wait().unwrap().success());
    }
}

impl Drop for Second {
    fn drop(&mut self) {
        // After `finish` both only say that it is gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
