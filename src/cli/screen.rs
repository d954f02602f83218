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
    let what = format!("The screen of {}{of} at {}", screen.book.display(), screen.now.now().0);
    Err(Exit { code: UNAVAILABLE, sentence: format!("{what} is not built in yet: use the verbs, see --help.") })
}

/// Prints the table of keys as `README.md` shows it.
pub fn keys(show: &mut Show) -> Result<u8, Exit> {
    let table = crate::app::keys::markdown();
    let lines: Vec<String> = table.lines().map(str::to_owned).collect();
    show.text_or_json(&lines, &lines)?;
    Ok(0)
}
