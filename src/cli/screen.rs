//! The way from the command line to the screen.

use std::path::PathBuf;

use super::exit::{Exit, UNAVAILABLE};
use super::show::Show;
use crate::runtime::clock::Clock;

/// What the screen is opened on.
#[derive(Debug)]
pub struct Screen {
    pub book: PathBuf,
    pub now: Clock,
    /// Initials of the person at the rack, if given.
    pub who: Option<String>,
}

/// Opens the screen and stays until it is left; the exit code.
///
/// MAIN SESSION: replace the body by the one call of `crate::runtime::run`.
pub fn open_screen(screen: &Screen) -> Result<u8, Exit> {
    let of = screen.who.as_deref().map_or(String::new(), |who| format!(" for {who}"));
    Err(not_built_in(&format!("The screen of {}{of} at {} is", screen.book.display(), screen.now.now().0)))
}

/// Prints the table of keys.
///
/// MAIN SESSION: replace the body by `show.line(&crate::app::keys::table_text())`.
pub fn keys(_show: &mut Show) -> Result<u8, Exit> {
    Err(not_built_in("The table of keys is"))
}

fn not_built_in(what: &str) -> Exit {
    Exit { code: UNAVAILABLE, sentence: format!("{what} not built in yet: use the other verbs, see --help.") }
}
