//! `demo`: an invented room, on the screen or in a file.

use std::fs::DirBuilder;
use std::os::unix::fs::DirBuilderExt;
use std::path::PathBuf;

use super::exit::{CANNOT_CREATE, Exit, say};
use super::screen::{Screen, open_screen};
use super::{Common, progress, stamp};
use crate::demo::{Demo, TRAYS_MAX, WEEKS_MAX, build};
use crate::store::Store;
use crate::store::error::StoreError;

#[derive(Debug, clap::Args)]
pub struct Args {
    /// Weeks of history before today
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=i64::from(WEEKS_MAX)))]
    weeks: u32,
    /// Trays sown in a week
    #[arg(long, default_value_t = 40, value_parser = clap::value_parser!(u32).range(1..=i64::from(TRAYS_MAX)))]
    trays: u32,
    /// The same number makes the same room
    #[arg(long, default_value_t = 7)]
    seed: u64,
    /// Write the room to a new file instead of opening it
    #[arg(long, value_name = "FILE")]
    into: Option<PathBuf>,
}

pub fn demo(args: &Args, common: &Common) -> Result<u8, Exit> {
    if let Some(into) = args.into.as_ref().filter(|into| into.symlink_metadata().is_ok()) {
        let sentence = format!("{} is there already: choose another name, nothing was written.", into.display());
        return Err(Exit { code: CANNOT_CREATE, sentence });
    }
    let now = common.present();
    let folder = Folder::make()?;
    let book = folder.0.join("room.rackwalk");
    let mut store = Store::open(&book, &stamp(now))?;
    let bar = progress::bar("days lived", 0, false);
    build(&mut store, &Demo { weeks: args.weeks, trays: args.trays, seed: args.seed }, now, |done, total| {
        bar.set_length(total);
        bar.set_position(done);
    })?;
    bar.finish_and_clear();
    let Some(into) = &args.into else {
        // two connections of one process on one book would undo each other's locks
        drop(store);
        return open_screen(&Screen { book, now: common.clock(), who: common.who.clone() });
    };
    // the copy takes its name only when it is whole, and never a name in use
    store.backup(into, |_, _| true)?;
    say(&format!("The demo room is in {}: open it with --book.", into.display()));
    Ok(0)
}

/// A folder for one demo, for its owner alone, gone with this value.
struct Folder(PathBuf);

impl Folder {
    fn make() -> Result<Self, StoreError> {
        let path = std::env::temp_dir().join(format!("rackwalk-demo-{}", std::process::id()));
        // not recursive: a folder that someone else put there is not used
        let made = DirBuilder::new().mode(0o700).create(&path);
        made.map_err(|e| StoreError::CannotCreate(format!("Cannot create {} ({e})", path.display())))?;
        Ok(Self(path))
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // what cannot be removed is an invented room among temporary files
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
