//! The book's issues: the steps from one to the next, run once, by one process, on a proved backup.

use std::fs::{self, File, OpenOptions};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use rusqlite_migration::{HookResult, M, Migrations};

use super::backup::{backup, beside, marks};
use super::error::StoreError;
use super::open::APPLICATION_ID;

/// One step an issue, in order; a step that was issued is never edited.
pub const MIGRATIONS: &[&str] = &[
    include_str!("../../migrations/0001_room.sql"),
    include_str!("../../migrations/0002_honest.sql"),
    include_str!("../../migrations/0003_suspect.sql"),
    include_str!("../../migrations/0004_sold.sql"),
    include_str!("../../migrations/0005_cold.sql"),
    include_str!("../../migrations/0006_trace.sql"),
    include_str!("../../migrations/0007_week.sql"),
];

/// The issue this program writes.
pub fn latest() -> u32 {
    latest_of(MIGRATIONS)
}

pub(super) fn latest_of(list: &[&str]) -> u32 {
    u32::try_from(list.len()).unwrap_or(u32::MAX)
}

/// Keeps other processes from migrating the same book while it lives.
///
/// A lock on a file of its own (`BOOK.lock`, which stays): `SQLite`'s locks would not do, because
/// the version is read before the transaction begins, and processes that start together would run
/// a step twice.
pub(super) struct BookLock {
    /// Closing the file lets the lock go.
    _held: File,
}

impl BookLock {
    /// Waits until no other process has the lock.
    pub(super) fn take(book: &Path) -> Result<Self, StoreError> {
        let path = beside(book, ".lock");
        let file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o600)
            .open(&path)
            .map_err(|e| StoreError::create(&path, &e))?;
        file.lock().map_err(|e| StoreError::file("Cannot lock", &path, &e))?;
        Ok(Self { _held: file })
    }
}

/// What [`migrate_with`] found and did.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Migrated {
    /// The book was empty and has its tables now.
    Made,
    /// Nothing was to be done.
    Current,
    Upgraded {
        from: u32,
        backup: PathBuf,
    },
}

/// Brings the book of `conn`, whose file is `book`, to the end of `list`.
///
/// An older book is first backed up beside itself under a name with `stamp` and its version; if
/// that fails, or any step does, the book stays as it was. A newer book is an error and untouched.
pub(super) fn migrate_with(
    list: &[&str],
    _lock: &BookLock,
    conn: &mut Connection,
    book: &Path,
    stamp: &str,
) -> Result<Migrated, StoreError> {
    let program = latest_of(list);
    let tables: u32 = conn.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0))?;
    match marks(conn)? {
        (0, 0) if tables == 0 => {
            run(list, conn)?;
            Ok(Migrated::Made)
        }
        (APPLICATION_ID, version) if version > program => Err(StoreError::Newer { book: version, program }),
        (APPLICATION_ID, version) if version == program => Ok(Migrated::Current),
        (APPLICATION_ID, from) => {
            let kept = free_name(book, stamp, from)?;
            backup(conn, &kept, |_, _| true)?;
            run(list, conn)?;
            Ok(Migrated::Upgraded { from, backup: kept })
        }
        _ => Err(StoreError::Foreign),
    }
}

/// All missing steps in one transaction.
fn run(list: &[&str], conn: &mut Connection) -> Result<(), StoreError> {
    let steps: Vec<M<'_>> = list
        .iter()
        .enumerate()
        .map(|(n, sql)| match n {
            0 => M::up_with_hook(sql, claim),
            _ => M::up(sql),
        })
        .map(M::foreign_key_check)
        .collect();
    // Rebuilding a table drops it, which the keys that point to it would refuse; SQLite takes
    // this only outside a transaction. The check before the commit makes up for it.
    conn.pragma_update(None, "foreign_keys", false)?;
    let ran = Migrations::new(steps).to_latest(conn);
    conn.pragma_update(None, "foreign_keys", true)?;
    Ok(ran?)
}

/// Marks the file as a book in the same transaction as its first tables.
fn claim(tx: &rusqlite::Transaction<'_>) -> HookResult {
    Ok(tx.pragma_update(None, "application_id", APPLICATION_ID)?)
}

/// `BOOK.STAMP-vN.bak`, or with a number when a try in the same moment left one behind.
fn free_name(book: &Path, stamp: &str, from: u32) -> Result<PathBuf, StoreError> {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || c == '-' { c } else { '-' }
    };
    let stamp: String = stamp.chars().map(plain).collect();
    (1..100)
        .map(|n| match n {
            1 => beside(book, &format!(".{stamp}-v{from}.bak")),
            _ => beside(book, &format!(".{stamp}-v{from}-{n}.bak")),
        })
        .find(|name| fs::symlink_metadata(name).is_err())
        .ok_or_else(|| {
            StoreError::Refused(format!(
                "{} has 99 backups of this moment: move some away, then start again.",
                book.display()
            ))
        })
}

/// The backups that upgrades left beside the book, newest first.
pub(super) fn backups_beside(book: &Path) -> Vec<PathBuf> {
    let (Some(folder), Some(name)) = (book.parent(), book.file_name()) else {
        return Vec::new();
    };
    let begin = format!("{}.", name.to_string_lossy());
    // A folder that cannot be read has no backups to offer.
    let Ok(files) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut found: Vec<PathBuf> = files
        .filter_map(|file| Some(file.ok()?.path()))
        .filter(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with(&begin) && name.ends_with(".bak")
        })
        .collect();
    found.sort();
    found.reverse();
    found
}

#[cfg(test)]
mod tests;
