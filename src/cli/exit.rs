//! Leaving with a code of `sysexits.h` and one sentence.

use std::io;
use std::process::ExitCode;

use clap::error::ErrorKind;

use crate::store::error::StoreError;

/// `EX_USAGE`: the arguments cannot be used.
pub const USAGE: u8 = 64;
/// `EX_DATAERR`: something in the book is not as it must be.
pub const DATA: u8 = 65;
/// `EX_UNAVAILABLE`: a part of the program is missing.
pub const UNAVAILABLE: u8 = 69;
/// `EX_NOINPUT`: there is no such book, or nothing in it that was asked for.
pub const NO_INPUT: u8 = 66;
/// `EX_CANTCREAT`: the file cannot be made.
pub const CANNOT_CREATE: u8 = 73;
/// `EX_IOERR`: the output cannot be written.
const IO: u8 = 74;

/// Why the program leaves without having done what was asked.
#[derive(Debug)]
pub struct Exit {
    pub code: u8,
    /// Says what to do. Empty: leave without a word.
    pub sentence: String,
}

/// Refuses the arguments.
pub fn usage(sentence: impl Into<String>) -> Exit {
    Exit { code: USAGE, sentence: sentence.into() }
}

impl Exit {
    pub fn leave(self) -> ExitCode {
        if !self.sentence.is_empty() {
            say(&self.sentence);
        }
        ExitCode::from(self.code)
    }
}

/// A message to the person, beside the data; lost without harm when stderr is closed.
pub fn say(sentence: &str) {
    use io::Write;
    let _ = writeln!(io::stderr().lock(), "{sentence}");
}

impl From<StoreError> for Exit {
    fn from(err: StoreError) -> Self {
        Self { code: err.exit_code(), sentence: err.to_string() }
    }
}

impl From<io::Error> for Exit {
    /// Whoever read our output has seen enough when the pipe breaks: no error, no word.
    fn from(err: io::Error) -> Self {
        if err.kind() == io::ErrorKind::BrokenPipe {
            Self { code: 0, sentence: String::new() }
        } else {
            Self { code: IO, sentence: format!("The output could not be written ({err}): check where it goes.") }
        }
    }
}

impl From<csv::Error> for Exit {
    fn from(err: csv::Error) -> Self {
        io::Error::from(err).into()
    }
}

impl From<serde_json::Error> for Exit {
    fn from(err: serde_json::Error) -> Self {
        io::Error::from(err).into()
    }
}

/// What `clap` has to say: help and version are data, the rest is a refusal.
pub fn parsing(said: &clap::Error) -> ExitCode {
    // Fails only when nobody reads it.
    let _ = said.print();
    match said.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => ExitCode::SUCCESS,
        _ => ExitCode::from(USAGE),
    }
}

/// The first letter as a capital and a full stop at the end.
pub fn sentence(text: &str) -> String {
    let mut rest = text.chars();
    let first: String = rest.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if text.ends_with('.') { "" } else { "." };
    format!("{first}{}{stop}", rest.as_str())
}
