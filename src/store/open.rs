//! Opening the book: look first, touch nothing that is not ours, then open it the one right way.

use std::fmt::Write as _;
use std::fs::{self, DirBuilder, File, OpenOptions, Permissions};
use std::io::{ErrorKind, Read};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::backup::beside;
use super::error::StoreError;
use super::header::{self, Header};
use super::migrate::{self, BookLock, Migrated, backups_beside, latest_of, migrate_with};
use super::share;

/// "RWLK" in ASCII, at offset 68 of every book.
pub const APPLICATION_ID: u32 = u32::from_be_bytes(*b"RWLK");

/// How long a statement waits for another terminal.
const BUSY_WAIT: Duration = Duration::from_secs(5);

/// What lies at the path of a book.
///
/// That another program holds the whole book can only be found by opening it:
/// [`StoreError::Locked`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing, or an empty file.
    New,
    Ours,
    /// A book of the earlier issue `from`.
    Upgrade {
        from: u32,
    },
    /// A book of a later issue than this program writes.
    Newer {
        book: u32,
        program: u32,
    },
    Foreign,
    /// A book, or what is left of one; the text says what is wrong.
    Damaged(String),
    /// Ours and of this issue, but its file or folder cannot be written.
    ReadOnly,
}

/// An open book.
#[derive(Debug)]
pub struct Opened {
    pub conn: Connection,
    /// What was found, before anything was done about it.
    pub verdict: Verdict,
    pub read_only: bool,
    /// The backup made before an upgrade.
    pub backup: Option<PathBuf>,
}

/// Reads the first bytes of the file at `path` and says what it is. Writes nothing.
///
/// Never call this, nor [`open`], while this process has a connection on that file: closing a
/// second descriptor drops the locks of the first (POSIX), and two writers would tear the book.
pub fn look(path: &Path) -> Result<Verdict, StoreError> {
    look_for(path, migrate::latest())
}

/// Opens the book at `path`, making it when nothing is there and upgrading an older one.
///
/// `now_stamp` goes into the name of the backup before an upgrade, so it should sort by time.
/// A newer or write-protected book is opened for reading; everything foreign or damaged is an
/// error and stays untouched. See [`look`] for when not to call this.
pub fn open(path: &Path, now_stamp: &str) -> Result<Opened, StoreError> {
    open_with(migrate::MIGRATIONS, path, now_stamp, BUSY_WAIT)
}

/// Opens an existing book for reading only, whatever its state: the way to look into a damaged
/// or a newer one.
pub fn open_read_only(path: &Path) -> Result<Connection, StoreError> {
    let book = real(path)?;
    reader(&book, BUSY_WAIT).map_err(|e| at_opening(e, &book))
}

fn look_for(path: &Path, program: u32) -> Result<Verdict, StoreError> {
    let meta = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == ErrorKind::NotFound => match fs::symlink_metadata(path) {
            Err(_) => return Ok(lost_or_new(path)),
            // made by another process between the two questions
            Ok(there) if !there.is_symlink() => return look_for(path, program),
            Ok(_) => return Err(no_book(path, &e.to_string())),
        },
        Err(e) => return Err(no_book(path, &e.to_string())),
    };
    if meta.is_dir() {
        return Err(no_book(path, "it is a folder"));
    }
    if !meta.is_file() {
        // Opening a pipe would wait for whoever fills it.
        return Err(no_book(path, "it is not a plain file"));
    }
    let book = real(path)?;
    let mut first = Vec::with_capacity(header::LEN);
    File::open(&book)
        .and_then(|file| file.take(header::LEN as u64).read_to_end(&mut first))
        .map_err(|e| no_book(path, &e.to_string()))?;
    Ok(match header::parse(&first, meta.len()) {
        Header::Empty => lost_or_new(&book),
        Header::Broken(why) => Verdict::Damaged(why),
        // Backups beside it show that a book of this name was here.
        Header::Other if !backups_beside(&book).is_empty() => {
            Verdict::Damaged("its first bytes are not those of a book".to_owned())
        }
        Header::Other => Verdict::Foreign,
        Header::Sqlite { application_id, .. } if application_id != APPLICATION_ID => Verdict::Foreign,
        // Pages may be missing that are still in the log, or that a making cut short never wrote.
        Header::Sqlite { whole: false, .. } if !has_log(&book) && !has_content(&beside(&book, "-journal")) => {
            Verdict::Damaged("its end is missing".to_owned())
        }
        Header::Sqlite { user_version, .. } if user_version > program => Verdict::Newer { book: user_version, program },
        Header::Sqlite { user_version, .. } if user_version < program => Verdict::Upgrade { from: user_version },
        Header::Sqlite { .. } if !writable(&book) => Verdict::ReadOnly,
        Header::Sqlite { .. } => Verdict::Ours,
    })
}

/// A missing or empty file is a new book, unless a log with content is left of an old one:
/// `SQLite` would delete that.
fn lost_or_new(path: &Path) -> Verdict {
    if has_log(path) {
        Verdict::Damaged("its file is gone or empty, only its log (-wal) is left".to_owned())
    } else {
        Verdict::New
    }
}

fn has_log(book: &Path) -> bool {
    has_content(&beside(book, "-wal"))
}

fn has_content(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|m| m.len() > 0)
}

/// Whether the file and its folder may be written. Their permission bits count even for a user
/// whom the system would let through.
fn writable(book: &Path) -> bool {
    let allowed = |p: &Path| fs::metadata(p).is_ok_and(|m| !m.permissions().readonly());
    allowed(book) && book.parent().is_some_and(allowed) && OpenOptions::new().write(true).open(book).is_ok()
}

fn no_book(path: &Path, why: &str) -> StoreError {
    StoreError::NoBook(format!("{} cannot be opened, {why}", path.display()))
}

/// The path without links, so that every way to a book finds the same lock and sidecars. It is
/// absolute too: `SQLite` would take a name that begins with "file:" for a URI.
fn real(path: &Path) -> Result<PathBuf, StoreError> {
    fs::canonicalize(path).map_err(|e| no_book(path, &e.to_string()))
}

pub(super) fn open_with(list: &[&str], path: &Path, stamp: &str, wait: Duration) -> Result<Opened, StoreError> {
    share::refuse(path)?;
    let verdict = look_for(path, latest_of(list))?;
    match verdict {
        Verdict::Foreign => Err(StoreError::Foreign),
        Verdict::Damaged(why) => Err(damaged(why, path)),
        Verdict::Newer { .. } | Verdict::ReadOnly => {
            let book = real(path)?;
            let conn = reader(&book, wait).map_err(|e| at_opening(e, &book))?;
            Ok(read_only(conn, verdict))
        }
        Verdict::New | Verdict::Ours | Verdict::Upgrade { .. } => {
            if verdict == Verdict::New {
                create(path)?;
            }
            let book = real(path)?;
            if !writable(&book) {
                return Err(cannot_bring_up(&verdict, latest_of(list)));
            }
            writer(list, &book, stamp, wait).map_err(|e| at_opening(e, &book))
        }
    }
}

fn read_only(conn: Connection, verdict: Verdict) -> Opened {
    Opened { conn, verdict, read_only: true, backup: None }
}

/// A book that has to be written before it can be used, and cannot.
fn cannot_bring_up(verdict: &Verdict, program: u32) -> StoreError {
    match verdict {
        Verdict::Upgrade { from } => StoreError::Refused(format!(
            "The book is of issue {from} and cannot be written, so it cannot be brought to issue \
             {program}: copy it to a place where it can be written, and open the copy."
        )),
        _ => StoreError::ReadOnly,
    }
}

/// Makes the folder (0700) and an empty file (0600), so that `SQLite` never makes one that others
/// can read; its sidecars inherit the file's mode.
fn create(path: &Path) -> Result<(), StoreError> {
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        make_folder(folder)?;
    }
    let made = OpenOptions::new().write(true).create_new(true).mode(0o600).open(path);
    match made {
        Ok(_) => Ok(()),
        Err(e) if e.kind() == ErrorKind::AlreadyExists => Ok(()),
        Err(e) => Err(StoreError::create(path, &e)),
    }
}

/// The folder of a book (0700), with those above it, where it is not there.
pub(super) fn make_folder(folder: &Path) -> Result<(), StoreError> {
    DirBuilder::new().recursive(true).mode(0o700).create(folder).map_err(|e| StoreError::create(folder, &e))
}

fn writer(list: &[&str], book: &Path, stamp: &str, wait: Duration) -> Result<Opened, StoreError> {
    close_to_others(book);
    let lock = BookLock::take(book)?;
    let mut conn = connect(book, OpenFlags::SQLITE_OPEN_READ_WRITE, wait)?;
    // A new book's tables are written before there is a log, so that its header says from the
    // first moment whose it is: other processes read it without the log.
    let (verdict, backup) = match migrate_with(list, &lock, &mut conn, book, stamp) {
        Ok(Migrated::Made) => (Verdict::New, None),
        Ok(Migrated::Current) => (Verdict::Ours, None),
        Ok(Migrated::Upgraded { from, backup }) => (Verdict::Upgrade { from }, Some(backup)),
        // A newer program came first, and its version is still only in the log.
        Err(StoreError::Newer { book: v, program }) => {
            drop(conn);
            let verdict = Verdict::Newer { book: v, program };
            return Ok(read_only(reader(book, wait)?, verdict));
        }
        Err(e) => return Err(e),
    };
    start_log(&conn)?;
    Ok(Opened { conn, verdict, read_only: false, backup })
}

/// Takes away what others may do with a book that was copied here with wider permissions.
fn close_to_others(book: &Path) {
    for suffix in ["", "-wal", "-shm", "-journal"] {
        let path = beside(book, suffix);
        if fs::metadata(&path).is_ok_and(|m| m.permissions().mode() & 0o077 != 0) {
            // Only the owner can; for anyone else the book still opens.
            let _ = fs::set_permissions(&path, Permissions::from_mode(0o600));
        }
    }
}

fn reader(book: &Path, wait: Duration) -> Result<Connection, StoreError> {
    if writable(book) || has_log(book) {
        return connect(book, OpenFlags::SQLITE_OPEN_READ_ONLY, wait);
    }
    // Even a reader of a book with a log makes sidecars, which cannot be, or must not be, made
    // beside a book that is write-protected. So SQLite is told that nobody changes it.
    let mut uri = String::from("file:");
    for byte in book.as_os_str().as_bytes() {
        match byte {
            b'/' | b'-' | b'_' | b'.' => uri.push(char::from(*byte)),
            _ if byte.is_ascii_alphanumeric() => uri.push(char::from(*byte)),
            // Writing to a String cannot fail.
            _ => drop(write!(uri, "%{byte:02X}")),
        }
    }
    uri.push_str("?immutable=1");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    connect(Path::new(&uri), flags, wait)
}

/// A connection with every setting that writes nothing, proved by reading the list of tables.
fn connect(path: &Path, access: OpenFlags, wait: Duration) -> Result<Connection, StoreError> {
    let flags = access | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = Connection::open_with_flags(path, flags)?;
    conn.busy_timeout(wait)?;
    conn.set_transaction_behavior(TransactionBehavior::Immediate);
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DML, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DDL, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "mmap_size", 0)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    match probe(&conn) {
        Ok(()) => Ok(conn),
        Err(StoreError::Damaged { why, backups }) => Err(StoreError::Damaged {
            // The whole file is only read when the cheap look failed, to say what is wrong.
            why: quick_check(&conn).unwrap_or(why),
            backups,
        }),
        Err(e) => Err(e),
    }
}

fn probe(conn: &Connection) -> Result<(), StoreError> {
    conn.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
    Ok(())
}

/// The first fault `PRAGMA quick_check` finds, when it runs at all and finds one.
fn quick_check(conn: &Connection) -> Option<String> {
    conn.query_row("PRAGMA quick_check(1)", [], |row| row.get::<_, String>(0)).ok().filter(|said| said != "ok")
}

/// Switches to write-ahead logging, which `SQLite` answers with the mode it could have.
fn start_log(conn: &Connection) -> Result<(), StoreError> {
    let mode: String = conn.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if mode == "wal" { Ok(()) } else { Err(StoreError::NetworkShare) }
}

/// Errors of `SQLite` in the words that hold while a book is being opened.
fn at_opening(err: StoreError, book: &Path) -> StoreError {
    match err {
        StoreError::Busy => StoreError::Locked,
        StoreError::Damaged { why, .. } => damaged(why, book),
        other => other,
    }
}

fn damaged(why: String, path: &Path) -> StoreError {
    let book = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    StoreError::Damaged { why, backups: backups_beside(&book) }
}

#[cfg(test)]
mod tests;
