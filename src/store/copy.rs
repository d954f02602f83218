//! The second copy: the book once a day, whole and proved, in a folder on another disk.
//!
//! Files are called `rackwalk-CODE-YYYY-MM-DD.rackwalk`. The newest [`KEPT`] stay. An older one is deleted only if its
//! name has that form with this room's code, it is a plain file, and it begins with the same entry as this book;
//! everything else in the folder is left alone, copies under an earlier code of the room included.

use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, OptionalExtension};

use super::Store;
use super::act::Wrote;
use super::backup::{backup, beside, marks};
use super::error::StoreError;
use super::open::APPLICATION_ID;
use super::person::saved;
use super::room;
use super::writer::Writer;
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;

/// The setting's key.
pub(super) const SETTING: &str = "second_copy";
/// Daily copies that stay.
pub const KEPT: usize = 30;
/// Notes beside the book, in a file of this ending, the day and folder of the newest copy: the stick may be in a drawer.
const NOTED: &str = ".copied";

impl Store {
    /// Copies the book to its file of this day in `folder`; if that is there already, nothing is to be done.
    ///
    /// Refuses a folder that is not there, a link, on the book's own disk, or not writable, each with its sentence, and
    /// one whose file of the day is of another book. [`StoreError::Full`] when the copy does not fit.
    pub fn second_copy(&self, folder: &Path, day: Day) -> Result<PathBuf, StoreError> {
        let book = file_of(&self.conn)?;
        usable(&book, folder)?;
        let code = room::setting(&self.conn, "room_code")?.unwrap_or_default();
        let to = folder.join(format!("{}{day}{ENDING}", beginning(&code)));
        if fs::symlink_metadata(&to).is_err()
            && let Err(why) = backup(&self.conn, &to, |_, _| true)
            // another terminal may have been faster
            && !same_book(&self.conn, &to)
        {
            return Err(why);
        }
        if !same_book(&self.conn, &to) {
            let sentence = format!("{} is of another book: give this one a folder of its own.", to.display());
            return Err(Refusal::new("copy_other_book", sentence).at("folder").into());
        }
        remember(&book, folder, day);
        self.thin_out(folder, &code, &to);
        Ok(to)
    }

    /// The day of the newest copy in the folder, none later than `today`; as it was last seen, while the folder is out
    /// of reach.
    pub fn newest_copy(&self, folder: &Path, today: Day) -> Option<Day> {
        let book = file_of(&self.conn).ok()?;
        // an empty mount point is a folder too, on the disk that it waits on
        if apart(&book, folder) {
            let code = room::setting(&self.conn, "room_code").ok()??;
            return copies(folder, &code).into_iter().map(|(day, _)| day).filter(|day| *day <= today).max();
        }
        let noted = fs::read_to_string(beside(&book, NOTED)).ok()?;
        let (day, of) = noted.trim_end_matches('\n').split_once(' ')?;
        let day = day.parse().ok().filter(|day| *day <= today);
        if Path::new(of) == folder { day } else { None }
    }

    /// Deletes this book's copies beyond the newest [`KEPT`], never the one just made.
    fn thin_out(&self, folder: &Path, code: &str, made: &Path) {
        let mut found = copies(folder, code);
        if found.len() <= KEPT {
            return;
        }
        found.retain(|(_, path)| same_book(&self.conn, path));
        found.sort();
        found.reverse();
        for (_, path) in found.into_iter().skip(KEPT).filter(|(_, path)| path != made) {
            // One that cannot be deleted is in nobody's way; the copy itself went well.
            let _ = fs::remove_file(&path);
        }
    }
}

/// Chooses the folder, or none.
pub(super) fn choose(w: &mut Writer<'_>, folder: Option<&str>) -> Result<Wrote, StoreError> {
    let known: Option<i64> =
        w.conn.query_row("SELECT id FROM setting WHERE key = ?", [SETTING], |row| row.get(0)).optional()?;
    let Some(folder) = folder else {
        let changed = known.map_or(Ok(false), |row| w.edit("setting", row, &[("retired", &true)]))?;
        return saved(changed).map(|_| Wrote::said("No second copy is made any more."));
    };
    usable(&file_of(w.conn)?, Path::new(folder))?;
    match known {
        Some(row) => {
            saved(w.edit("setting", row, &[("value", &folder), ("retired", &false)])?)?;
        }
        None => {
            w.create("setting", &[("key", &SETTING), ("value", &folder)])?;
        }
    }
    Ok(Wrote::said(format!("Once a day the book is copied to {folder}.")))
}

fn file_of(conn: &Connection) -> Result<PathBuf, StoreError> {
    conn.path()
        .filter(|path| !path.is_empty())
        .map(PathBuf::from)
        .ok_or_else(|| StoreError::NoBook("This book is not in a file".into()))
}

/// Says why a folder cannot take the second copy, when it cannot.
fn usable(book: &Path, folder: &Path) -> Result<(), StoreError> {
    let shown = folder.display();
    if !folder.is_absolute() {
        return Err(Refusal::new("copy_whole_path", "Give the whole path from / on, such as /media/stick.")
            .at("folder")
            .into());
    }
    // a slash at the end would be read as whatever a link points to
    let meta = match fs::symlink_metadata(folder.components().collect::<PathBuf>()) {
        Ok(meta) => meta,
        Err(e) if e.kind() == ErrorKind::NotFound => {
            let sentence = format!("{shown} is not there: plug the stick in, or choose another folder.");
            return Err(Refusal::new("copy_absent", sentence).at("folder").into());
        }
        Err(e) => return Err(StoreError::file("Cannot look at", folder, &e)),
    };
    if meta.is_symlink() {
        return Err(Refusal::new("copy_link", format!("{shown} is a link: give the folder it leads to."))
            .at("folder")
            .into());
    }
    if !meta.is_dir() {
        return Err(Refusal::new("copy_no_folder", format!("{shown} is a file: give a folder.")).at("folder").into());
    }
    if !apart(book, folder) {
        let sentence = format!(
            "{shown} is on the same disk as the book, and would be lost with it: plug the stick in, or choose a folder on another disk."
        );
        return Err(Refusal::new("copy_same_disk", sentence).at("folder").into());
    }
    match probe(folder) {
        Ok(()) if !meta.permissions().readonly() => Ok(()),
        Err(e) if matches!(e.kind(), ErrorKind::StorageFull | ErrorKind::QuotaExceeded) => Err(StoreError::Full),
        _ => {
            let sentence = format!("{shown} cannot be written: allow it, or choose another folder.");
            Err(Refusal::new("copy_read_only", sentence).at("folder").into())
        }
    }
}

/// Whether a file can be made there: permission bits do not tell of a medium that is write-protected.
fn probe(folder: &Path) -> std::io::Result<()> {
    let path = folder.join(format!(".rackwalk-{}.try", std::process::id()));
    OpenOptions::new().write(true).create_new(true).mode(0o600).open(&path)?;
    fs::remove_file(&path)
}

/// Whether the folder is there and on another disk, or another partition, than the book.
fn apart(book: &Path, folder: &Path) -> bool {
    match (fs::metadata(book), fs::metadata(folder)) {
        (Ok(book), Ok(folder)) => book.dev() != folder.dev(),
        _ => false,
    }
}

const ENDING: &str = ".rackwalk";

fn beginning(code: &str) -> String {
    format!("rackwalk-{code}-")
}

/// Files in the folder that are called like this room's copies, with their days.
fn copies(folder: &Path, code: &str) -> Vec<(Day, PathBuf)> {
    // A folder that cannot be read has no copies to show.
    let Ok(files) = fs::read_dir(folder) else { return Vec::new() };
    files
        .filter_map(|file| {
            let path = file.ok()?.path();
            let name = path.file_name()?.to_str()?;
            let day = name.strip_prefix(&beginning(code))?.strip_suffix(ENDING)?;
            let read: Day = day.parse().ok()?;
            // chrono reads more ways of writing a day than the one in our names
            (read.to_string() == day).then_some((read, path))
        })
        .collect()
}

/// Whether a file is a copy of this book: a plain file, a book, and begun with the same entry.
fn same_book(conn: &Connection, path: &Path) -> bool {
    let first =
        |conn: &Connection| conn.query_row("SELECT hash FROM entry WHERE id = 1", [], |row| row.get::<_, Vec<u8>>(0));
    if !fs::symlink_metadata(path).is_ok_and(|meta| meta.is_file()) {
        return false;
    }
    let Ok(copy) = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY) else { return false };
    let ours = marks(&copy).is_ok_and(|(application, _)| application == APPLICATION_ID);
    ours && matches!((first(&copy), first(conn)), (Ok(there), Ok(here)) if there == here)
}

/// Notes beside the book when and where it was copied.
fn remember(book: &Path, folder: &Path, day: Day) {
    let made = OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(beside(book, NOTED));
    // Beside a book that cannot be written there is no note; then the folder alone tells.
    let _ = made.and_then(|mut file| writeln!(file, "{day} {}", folder.display()));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_the_exact_form_are_copies_of_the_room() {
        let dir = tempfile::tempdir().unwrap();
        for name in [
            "rackwalk-NB-2026-07-11.rackwalk",
            "rackwalk-NB-2026-07-12.rackwalk",
            "rackwalk-SB-2026-07-13.rackwalk",
            "rackwalk-NB-2026-7-14.rackwalk",
            "rackwalk-NB-2026-02-30.rackwalk",
            "rackwalk-NB-2026-07-15.rackwalk.99.part",
            "my rackwalk-NB-2026-07-16.rackwalk",
            "rackwalk-NB-.rackwalk",
        ] {
            fs::write(dir.path().join(name), "").unwrap();
        }
        let mut days: Vec<String> = copies(dir.path(), "NB").into_iter().map(|(day, _)| day.to_string()).collect();
        days.sort();
        assert_eq!(days, ["2026-07-11", "2026-07-12"]);
        assert_eq!(copies(&dir.path().join("gone"), "NB"), []);
    }
}
