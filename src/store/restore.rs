//! A copy becomes the book again.

use std::fs;
use std::path::Path;

use super::backup::{backup, beside};
use super::chain::{self, Chain};
use super::error::StoreError;
use super::{integrity, open, share};

/// Puts a copy in place as the book `to`, after proving it: `SQLite`'s own check, references, and the hash chain.
///
/// Never overwrites: a book that is there, or the log of one, has to be moved aside by hand. The new file has mode 0600
/// and is on the disk when this returns. `progress(remaining, total)` as in [`backup`].
pub fn restore(copy: &Path, to: &Path, progress: impl FnMut(i32, i32) -> bool) -> Result<Chain, StoreError> {
    share::refuse(to)?;
    for suffix in ["", "-wal", "-shm", "-journal"] {
        let there = beside(to, suffix);
        if fs::symlink_metadata(&there).is_ok() {
            return Err(StoreError::Refused(format!(
                "{} is there already: move it aside first, with its -wal and -shm if there are any, then restore.",
                there.display()
            )));
        }
    }
    match open::look(copy)? {
        open::Verdict::New => return Err(StoreError::NoBook(format!("There is no copy at {}", copy.display()))),
        open::Verdict::Foreign => return Err(StoreError::Foreign),
        open::Verdict::Damaged(why) => return Err(unsound(&why)),
        open::Verdict::Newer { book, program } => return Err(StoreError::Newer { book, program }),
        open::Verdict::Ours | open::Verdict::Upgrade { .. } | open::Verdict::ReadOnly => {}
    }
    let conn = open::open_read_only(copy)?;
    if let Some(fault) = integrity(&conn)?.into_iter().next() {
        return Err(unsound(&fault));
    }
    let chain = chain::verify(&conn, |_| ())?;
    if let Some(entry) = chain.broken_at {
        return Err(unsound(&format!("its chain breaks at entry {entry}")));
    }
    if let Some(folder) = to.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        open::make_folder(folder)?;
    }
    backup(&conn, to, progress)?;
    Ok(chain)
}

fn unsound(why: &str) -> StoreError {
    StoreError::Refused(format!("This copy is not sound ({why}), so nothing was restored: take another copy."))
}
