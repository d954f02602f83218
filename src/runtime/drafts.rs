//! Forms that were being filled in, kept in a file of the state folder so that nothing typed is lost.
//!
//! Each running program has a seat at its book, and a file per seat: two people at two terminals never
//! write over each other's drafts.

use std::collections::BTreeMap;
use std::fs::{self, DirBuilder, File, OpenOptions, Permissions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use sha2::{Digest, Sha256};

/// Unfinished forms by name, each with its fields by name.
pub type Forms = BTreeMap<String, BTreeMap<String, String>>;

/// Programs that can have a book open with drafts of their own.
const SEATS: u8 = 16;

/// The drafts of this program at one book.
#[derive(Debug)]
pub struct Drafts {
    dir: PathBuf,
    /// The book in file names.
    stem: String,
    seat: u8,
    /// Held while the program runs: the system lets go of it however the program ends.
    _taken: File,
}

/// What was found at the start.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Loaded {
    pub forms: Forms,
    /// A file that could not be understood, under the name it was kept as.
    pub set_aside: Option<PathBuf>,
}

impl Drafts {
    /// Takes a seat at `book`, with files in `dir`, which is made if need be (0700).
    pub fn at(dir: PathBuf, book: &Path) -> Result<Self> {
        let about = || format!("Unfinished forms cannot be kept in {}.", dir.display());
        make_private(&dir).with_context(about)?;
        let stem = stem(book);
        for seat in 1..=SEATS {
            if let Some(taken) = take(&dir, &stem, seat).with_context(about)? {
                return Ok(Self { dir, stem, seat, _taken: taken });
            }
        }
        bail!("{SEATS} programs have this book open, so unfinished forms are not kept here.")
    }

    /// The drafts left behind: those of this seat, else those of a seat whose program has ended.
    ///
    /// A file that cannot be understood is renamed and kept; one that cannot be read is an error.
    pub fn load(&self) -> Result<Loaded> {
        let file = self.file();
        self.adopt().with_context(|| format!("Unfinished forms in {} cannot be taken over.", self.dir.display()))?;
        let bytes = match fs::read(&file) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Loaded::default()),
            Err(e) => return Err(e).with_context(|| format!("{} cannot be read.", file.display())),
        };
        if let Ok(forms) = serde_json::from_slice(&bytes) {
            return Ok(Loaded { forms, set_aside: None });
        }
        let kept = set_aside(&file).with_context(|| format!("{} cannot be renamed.", file.display()))?;
        Ok(Loaded { forms: Forms::new(), set_aside: Some(kept) })
    }

    /// Replaces the drafts, on disk when it returns; with nothing in them the file goes.
    pub fn save(&self, forms: &Forms) -> Result<()> {
        let file = self.file();
        let saved = if forms.values().all(BTreeMap::is_empty) { remove(&file) } else { replace(&file, forms) };
        saved.and_then(|()| sync(&self.dir)).with_context(|| format!("{} cannot be written.", file.display()))
    }

    fn file(&self) -> PathBuf {
        json(&self.dir, &self.stem, self.seat)
    }

    /// If this seat has no drafts, those of the first other free seat that has become this seat's.
    fn adopt(&self) -> io::Result<()> {
        if self.file().try_exists()? {
            return Ok(());
        }
        for seat in (1..=SEATS).filter(|seat| *seat != self.seat) {
            let left = json(&self.dir, &self.stem, seat);
            // The other seat is held while its file moves, so that nobody sits down in between.
            if left.try_exists()?
                && let Some(_held) = take(&self.dir, &self.stem, seat)?
            {
                return fs::rename(left, self.file());
            }
        }
        Ok(())
    }
}

/// The book's name in file names: the start of the hash of where it really is.
fn stem(book: &Path) -> String {
    let whole = fs::canonicalize(book).or_else(|_| {
        // Not made yet, so only its folder can be followed.
        let folder = book.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        fs::canonicalize(folder).map(|folder| folder.join(book.file_name().unwrap_or_default()))
    });
    let whole = whole.unwrap_or_else(|_| book.to_owned());
    let hash = Sha256::digest(whole.as_os_str().as_bytes());
    hash.iter().take(8).fold("drafts-".to_owned(), |stem, byte| format!("{stem}{byte:02x}"))
}

fn json(dir: &Path, stem: &str, seat: u8) -> PathBuf {
    dir.join(format!("{stem}-{seat}.json"))
}

/// The seat, if no running program has it.
fn take(dir: &Path, stem: &str, seat: u8) -> io::Result<Option<File>> {
    let lock = dir.join(format!("{stem}-{seat}.lock"));
    let file = OpenOptions::new().write(true).create(true).truncate(false).mode(0o600).open(lock)?;
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Ok(None),
        // A file system without locks: one program at a time is what can be had there.
        Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => Ok(Some(file)),
        Err(TryLockError::Error(e)) => Err(e),
    }
}

fn make_private(dir: &Path) -> io::Result<()> {
    DirBuilder::new().recursive(true).mode(0o700).create(dir)?;
    if fs::metadata(dir)?.permissions().mode() & 0o077 != 0 {
        fs::set_permissions(dir, Permissions::from_mode(0o700))?;
    }
    Ok(())
}

fn replace(file: &Path, forms: &Forms) -> io::Result<()> {
    let text = serde_json::to_vec_pretty(forms)?;
    let fresh = file.with_extension("new");
    // Left by a program that was killed while it wrote, perhaps half.
    remove(&fresh)?;
    let written = write_private(&fresh, &text).and_then(|()| fs::rename(&fresh, file));
    if written.is_err() {
        // On a full disk the half file would only take up room; the old drafts are untouched.
        let _ = remove(&fresh);
    }
    written
}

fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).mode(0o600).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}

/// Makes a rename or removal in the folder last.
fn sync(dir: &Path) -> io::Result<()> {
    File::open(dir)?.sync_all()
}

/// Renames the file to a name that nothing has yet.
fn set_aside(file: &Path) -> io::Result<PathBuf> {
    let mut number = 1_u32;
    loop {
        let kept = file.with_extension(format!("broken-{number}"));
        if !kept.try_exists()? {
            fs::rename(file, &kept)?;
            return Ok(kept);
        }
        number += 1;
    }
}

#[cfg(test)]
mod tests;
