//! Where the book and the program's own files are, by the XDG base directory specification.

use std::path::PathBuf;

use anyhow::{Context, Result};
use etcetera::base_strategy::{BaseStrategy, Xdg};

const FOLDER: &str = "rackwalk";

/// The book if none is named: `$XDG_DATA_HOME/rackwalk/room.rackwalk`. Fails without a home folder.
pub fn default_book() -> Result<PathBuf> {
    Ok(base()?.data_dir().join(FOLDER).join("room.rackwalk"))
}

/// The folder for drafts: `$XDG_STATE_HOME/rackwalk`. Fails without a home folder.
pub fn state_dir() -> Result<PathBuf> {
    let state = base()?.state_dir().context("No folder for unfinished forms is known.")?;
    Ok(state.join(FOLDER))
}

fn base() -> Result<Xdg> {
    Xdg::new().context("No home folder is known, so there is no usual place for the book. Set HOME, or name the book.")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the specification says, read from the environment a second time.
    fn expected(variable: &str, below_home: &str) -> PathBuf {
        std::env::var_os(variable)
            .map(PathBuf::from)
            .filter(|folder| folder.is_absolute())
            .unwrap_or_else(|| std::env::home_dir().unwrap().join(below_home))
    }

    #[test]
    fn the_book_and_the_drafts_are_in_folders_of_their_own() {
        assert_eq!(default_book().unwrap(), expected("XDG_DATA_HOME", ".local/share").join("rackwalk/room.rackwalk"));
        assert_eq!(state_dir().unwrap(), expected("XDG_STATE_HOME", ".local/state").join("rackwalk"));
    }
}
