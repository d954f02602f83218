//! What can go wrong with the book, in words that say what to do next.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ffi;

use crate::domain::refusal::Refusal;

/// Everything the store answers with instead of a result.
///
/// Codes of `SQLite` are from <https://www.sqlite.org/rescode.html>.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    #[error("Another terminal is writing in the book just now: try again in a moment.")]
    Busy,
    #[error("The disk is full: free some space, nothing was half saved.")]
    Full,
    #[error("The book cannot be written: allow writing to its file and folder, or work on a copy.")]
    ReadOnly,
    #[error("{}", damaged_sentence(why, backups))]
    Damaged {
        /// The first thing found wrong.
        why: String,
        /// Backups lying beside the book, newest first; none when only `SQLite`'s own word is known.
        backups: Vec<PathBuf>,
    },
    #[error("This file is not a rackwalk book: give another path, the file was not touched.")]
    Foreign,
    #[error(
        "The book is of issue {book} and this program knows issues up to {program}: \
         update the program to write in it."
    )]
    Newer { book: u32, program: u32 },
    #[error("Another program holds the whole book: close that program, then open the book again.")]
    Locked,
    #[error(
        "The book lies on a network share, or on a disk that cannot hold its log: \
         keep it on a disk of one computer, and let the others log in to that one."
    )]
    NetworkShare,
    #[error("The book's rule \"{name}\" does not allow this: change the entry, nothing was saved.")]
    Constraint {
        /// The name of the CHECK or the unique index, `table.column` (several with `, `),
        /// or the text a trigger raised.
        name: String,
    },
    #[error(
        "Something this names is not in the book, or something in the book still needs it: \
         look up what belongs together, nothing was saved."
    )]
    ForeignKey,
    #[error("{0}: give the path of a book's file.")]
    NoBook(String),
    #[error("{0}: choose another folder, or make room for the file there.")]
    CannotCreate(String),
    #[error("{0}: check the disk and its connection, then try again.")]
    Io(String),
    #[error("Stopped as asked: nothing was left behind.")]
    Stopped,
    #[error("{0}")]
    Refused(String),
    /// A rule of the trade stands in the way.
    #[error(transparent)]
    Rule(#[from] Refusal),
    #[error("SQLite refused unexpectedly ({0}): please report this, nothing was half saved.")]
    Sqlite(rusqlite::Error),
}

impl StoreError {
    /// The exit code of the command line: those of BSD's `sysexits.h`.
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::Damaged { .. }
            | Self::Foreign
            | Self::Constraint { .. }
            | Self::ForeignKey
            | Self::Refused(_)
            | Self::Rule(_) => 65, // EX_DATAERR
            Self::NoBook(_) => 66,                           // EX_NOINPUT
            Self::Sqlite(_) => 70,                           // EX_SOFTWARE
            Self::CannotCreate(_) => 73,                     // EX_CANTCREAT
            Self::Full | Self::Io(_) => 74,                  // EX_IOERR
            Self::Busy | Self::Locked | Self::Stopped => 75, // EX_TEMPFAIL
            Self::ReadOnly => 77,                            // EX_NOPERM
            Self::Newer { .. } | Self::NetworkShare => 78,   // EX_CONFIG
        }
    }

    /// A value the program itself wrote cannot be read back.
    pub(super) fn unreadable(what: &str, text: &str) -> Self {
        Self::Damaged { why: format!("{what} reads \"{text}\""), backups: Vec::new() }
    }

    /// A file operation that failed: `doing` is a phrase such as "Cannot read".
    pub(super) fn file(doing: &str, path: &Path, err: &io::Error) -> Self {
        match err.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full,
            _ => Self::Io(format!("{doing} {} ({err})", path.display())),
        }
    }

    /// A file or folder that could not be made.
    pub(super) fn create(path: &Path, err: &io::Error) -> Self {
        match err.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full,
            _ => Self::CannotCreate(format!("Cannot create {} ({err})", path.display())),
        }
    }
}

fn damaged_sentence(why: &str, backups: &[PathBuf]) -> String {
    if backups.is_empty() {
        return format!("The book is damaged ({why}) and was left as it is: copy it away, then open a backup.");
    }
    let names: Vec<String> = backups.iter().map(|b| b.display().to_string()).collect();
    format!(
        "The book is damaged ({why}) and was left as it is: copy it away, then open a backup: {}.",
        names.join(", ")
    )
}

impl From<rusqlite::Error> for StoreError {
    fn from(err: rusqlite::Error) -> Self {
        match err {
            rusqlite::Error::SqliteFailure(code, ref message) => {
                let message = message.as_deref().unwrap_or_default();
                from_code(code.extended_code, message).unwrap_or(Self::Sqlite(err))
            }
            other => Self::Sqlite(other),
        }
    }
}

impl From<rusqlite_migration::Error> for StoreError {
    fn from(err: rusqlite_migration::Error) -> Self {
        match err {
            rusqlite_migration::Error::RusqliteError { err, .. } => err.into(),
            rusqlite_migration::Error::ForeignKeyCheck(_) => Self::ForeignKey,
            other => {
                Self::Refused(format!("The book cannot be brought to this issue ({other}): keep it, and report this."))
            }
        }
    }
}

/// Full codes where they say more, else their lowest byte, the primary code.
fn from_code(extended: i32, message: &str) -> Option<StoreError> {
    if extended == ffi::SQLITE_READONLY_DBMOVED {
        return Some(StoreError::Io("The book's file was moved or deleted while it was open".to_owned()));
    }
    Some(match extended & 0xff {
        ffi::SQLITE_BUSY | ffi::SQLITE_LOCKED => StoreError::Busy,
        ffi::SQLITE_FULL => StoreError::Full,
        ffi::SQLITE_READONLY | ffi::SQLITE_PERM => StoreError::ReadOnly,
        ffi::SQLITE_CORRUPT | ffi::SQLITE_NOTADB => {
            StoreError::Damaged { why: message.to_owned(), backups: Vec::new() }
        }
        ffi::SQLITE_CONSTRAINT => from_constraint(message),
        ffi::SQLITE_CANTOPEN => StoreError::Io(format!("Cannot open the book ({message})")),
        ffi::SQLITE_IOERR => StoreError::Io(format!("Reading or writing the book failed ({message}, code {extended})")),
        _ => return None,
    })
}

/// The broken rule's name out of `SQLite`'s message.
///
/// Read from the message, not the code: `ON DELETE RESTRICT` is a trigger inside `SQLite` and comes
/// with a trigger's code but the text of a foreign key.
fn from_constraint(message: &str) -> StoreError {
    if message == "FOREIGN KEY constraint failed" {
        return StoreError::ForeignKey;
    }
    let name = message
        .split_once(" constraint failed: ")
        // A STRICT table: "cannot store TEXT value in INTEGER column table.column".
        .or_else(|| message.strip_prefix("cannot store ")?.split_once(" column "))
        .map_or(message, |(_, name)| name);
    // A unique index on an expression has no columns to name: "index 'its_name'".
    let name = name.strip_prefix("index '").and_then(|n| n.strip_suffix('\'')).unwrap_or(name);
    StoreError::Constraint { name: name.to_owned() }
}

#[cfg(test)]
mod tests;
