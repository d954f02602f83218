//! A copy of the book in one file: made in steps, proved, then put in place whole.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
use std::path::{self, Path, PathBuf};
use std::thread;
use std::time::Duration;

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};

use super::error::StoreError;

/// Pages copied between two questions to `progress`: 1 MiB at 4,096 bytes a page.
const PAGES_A_STEP: i32 = 256;

/// How long to leave another writer alone, and how often before giving up: 5 s in all.
const PAUSE: Duration = Duration::from_millis(50);
const PAUSES: u32 = 100;

/// Copies the book of `conn` to the new file `to`.
///
/// `progress(remaining, total)` hears of the pages after every step and answers whether to go on;
/// a no leaves nothing behind and returns [`StoreError::Stopped`]. The copy is checked with
/// `PRAGMA integrity_check` and on the disk before it gets its name. It never takes a name that
/// is in use.
pub fn backup(conn: &Connection, to: &Path, progress: impl FnMut(i32, i32) -> bool) -> Result<(), StoreError> {
    // Absolute, because SQLite would take a name that begins with "file:" for a URI.
    let to = path::absolute(to).map_err(|e| StoreError::create(to, &e))?;
    refuse_target(conn, &to)?;
    let part = Part::create(&to)?;
    copy(conn, &part.0, progress)?;
    verify(conn, &part.0)?;
    sync(&part.0)?;
    part.put_in_place(&to)
}

/// The path with something added to its last name.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(suffix);
    PathBuf::from(name)
}

/// Says why `to` cannot become a backup, when it cannot.
fn refuse_target(conn: &Connection, to: &Path) -> Result<(), StoreError> {
    let refuse = |why: &str| {
        let said = format!("{} {why}: choose another name for the backup.", to.display());
        Err(StoreError::Refused(said))
    };
    let book = conn.path().map(Path::new);
    if let Ok(there) = fs::symlink_metadata(to) {
        let is_book =
            book.and_then(|b| fs::metadata(b).ok()).is_some_and(|b| (b.dev(), b.ino()) == (there.dev(), there.ino()));
        return match there.file_type() {
            _ if is_book => refuse("is the book itself"),
            kind if kind.is_symlink() => refuse("is a link"),
            kind if kind.is_dir() => refuse("is a folder"),
            _ => refuse("is there already"),
        };
    }
    // A file of such a name would be taken for the book's own log and played back into it.
    let is_sidecar = book.is_some_and(|b| ["-journal", "-wal", "-shm"].iter().any(|s| same_place(&beside(b, s), to)));
    if is_sidecar {
        return refuse("is a name the book needs for itself");
    }
    Ok(())
}

/// Whether two paths, of files that need not be there, mean the same name in the same folder.
fn same_place(a: &Path, b: &Path) -> bool {
    let folder = |p: &Path| p.parent().and_then(|f| fs::canonicalize(f).ok());
    a.file_name() == b.file_name() && folder(a).is_some() && folder(a) == folder(b)
}

/// The unfinished copy; whatever of it is left when this is dropped is removed.
struct Part(PathBuf);

impl Part {
    /// An empty file that only its owner may read, beside the target.
    fn create(to: &Path) -> Result<Self, StoreError> {
        let path = beside(to, &format!(".{}.part", std::process::id()));
        create_new(&path).map_err(|e| StoreError::create(&path, &e))?;
        Ok(Self(path))
    }

    fn put_in_place(self, to: &Path) -> Result<(), StoreError> {
        // Renaming overwrites, so the name is taken first: that fails if anything has it by now.
        // A hard link would do the same in one step, but memory sticks seldom know hard links.
        create_new(to).map_err(|e| StoreError::create(to, &e))?;
        if let Err(e) = fs::rename(&self.0, to) {
            // Only our own empty file bears the name; the error to tell of is the first.
            let _ = fs::remove_file(to);
            return Err(StoreError::create(to, &e));
        }
        to.parent().map_or(Ok(()), sync)
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        for suffix in ["", "-journal", "-wal", "-shm"] {
            // Most of these were never made, and a leftover harms nothing.
            let _ = fs::remove_file(beside(&self.0, suffix));
        }
    }
}

fn create_new(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).mode(0o600).open(path)
}

/// Waits until a file or folder is on the disk.
fn sync(path: &Path) -> Result<(), StoreError> {
    File::open(path).and_then(|f| f.sync_all()).map_err(|e| StoreError::file("Cannot finish writing", path, &e))
}

fn copy(from: &Connection, part: &Path, mut progress: impl FnMut(i32, i32) -> bool) -> Result<(), StoreError> {
    let mut into = Connection::open_with_flags(part, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    // The part is worthless until it is whole, so nothing protects the steps; one sync at the end.
    into.execute_batch("PRAGMA journal_mode = MEMORY; PRAGMA synchronous = OFF;")?;
    let steps = Backup::new(from, &mut into)?;
    let mut waited = 0;
    loop {
        let step = steps.step(PAGES_A_STEP)?;
        let at = steps.progress();
        if !progress(at.remaining, at.pagecount) {
            return Err(StoreError::Stopped);
        }
        match step {
            StepResult::Done => break,
            StepResult::More => waited = 0,
            _ if waited == PAUSES => return Err(StoreError::Busy),
            _ => {
                waited += 1;
                thread::sleep(PAUSE);
            }
        }
    }
    drop(steps);
    // Without a log beside it a backup is one file, and opens on a medium that cannot be written.
    into.execute_batch("PRAGMA journal_mode = DELETE")?;
    Ok(())
}

/// Reads the whole copy through a connection of its own.
fn verify(from: &Connection, part: &Path) -> Result<(), StoreError> {
    let copy = Connection::open_with_flags(part, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    let said: String = copy.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if said != "ok" {
        return Err(StoreError::Damaged { why: said, backups: Vec::new() });
    }
    // An empty file passes the check above.
    if marks(&copy)? != marks(from)? {
        return Err(StoreError::Refused(
            "The copy is not of the book's issue: close other terminals, then back up again.".to_owned(),
        ));
    }
    Ok(())
}

/// Application id and schema version.
pub(super) fn marks(conn: &Connection) -> Result<(u32, u32), StoreError> {
    let read = |name| conn.pragma_query_value(None, name, |row| row.get::<_, i32>(0));
    Ok((read("application_id")?.cast_unsigned(), read("user_version")?.cast_unsigned()))
}

#[cfg(test)]
mod tests;
