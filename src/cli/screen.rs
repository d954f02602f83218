//! The way from the command line to the screen.

use std::path::PathBuf;

use super::exit::{Exit, UNAVAILABLE, usage};
use super::show::Show;
use super::stamp;
use crate::domain::id::PersonId;
use crate::runtime;
use crate::runtime::clock::Clock;
use crate::store::Store;
use crate::store::error::StoreError;

/// What the screen is opened on.
#[derive(Debug)]
pub struct Screen {
    pub book: PathBuf,
    pub now: Clock,
    /// Initials of the person at the rack, if given.
    pub who: Option<String>,
}

/// Opens the screen and stays until it is left; the exit code.
pub fn open_screen(screen: &Screen) -> Result<u8, Exit> {
    let store = Store::open(&screen.book, &stamp(screen.now.now()))?;
    let who = match screen.who.as_deref().filter(|_| !store.is_empty().unwrap_or(true)) {
        Some(initials) => Some(person(&store, initials)?),
        None => None,
    };
    runtime::screen::run(store, &screen.book, screen.now, who).map_err(|why| match why.downcast::<StoreError>() {
        Ok(why) => why.into(),
        Err(why) => Exit { code: UNAVAILABLE, sentence: format!("The screen cannot be opened: {why:#}.") },
    })?;
    Ok(0)
}

/// The person with these initials, if they are at the rack.
pub fn person(store: &Store, initials: &str) -> Result<PersonId, Exit> {
    let people = store.board()?.people;
    people.iter().find(|person| person.initials == initials && !person.retired).map(|person| person.id).ok_or_else(
        || {
            let here: Vec<&str> = people.iter().filter(|p| !p.retired).map(|p| p.initials.as_str()).collect();
            usage(format!(
                "{initials} is not at this rack: take one of {}, or add the person in settings.",
                here.join(", ")
            ))
        },
    )
}

/// Prints the table of keys as `README.md` shows it.
pub fn keys(show: &mut Show) -> Result<u8, Exit> {
    let table = crate::app::keys::markdown();
    let lines: Vec<String> = table.lines().map(str::to_owned).collect();
    show.text_or_json(&lines, &lines)?;
    Ok(0)
}
