//! A new file for what a verb makes: whole or not at all, and never over something that is there.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use super::exit::{CANNOT_CREATE, Exit};

/// Refuses a name that is taken; a link counts, wherever it points.
pub fn refuse_taken(to: &Path) -> Result<(), Exit> {
    let Ok(there) = to.symlink_metadata() else { return Ok(()) };
    let what = if there.is_symlink() { "is a link" } else { "is there already" };
    Err(cannot(format!("{} {what}: choose another name, nothing was written.", to.display())))
}

/// Writes the file under a name of its own beside `to`, then gives it its name. Only its owner may read it.
pub fn new_file(to: &Path, data: &[u8]) -> Result<(), Exit> {
    refuse_taken(to)?;
    let failed = |err: io::Error| cannot(format!("{} cannot be written ({err}): choose another place.", to.display()));
    let part = Part::create(to).map_err(failed)?;
    part.write(data).map_err(failed)?;
    part.put_in_place(to).map_err(failed)
}

/// A browser opens it by its ending, and no file of the book has it.
pub fn html_file(name: &str) -> Result<PathBuf, String> {
    let path = Path::new(name);
    let right = path.extension().is_some_and(|end| end.eq_ignore_ascii_case("html"));
    if right { Ok(path.to_path_buf()) } else { Err("the name of the page must end in .html".into()) }
}

fn cannot(sentence: String) -> Exit {
    Exit { code: CANNOT_CREATE, sentence }
}

/// The unfinished file; removed when this is dropped before it has its name.
struct Part(PathBuf, File);

impl Part {
    fn create(to: &Path) -> io::Result<Self> {
        let mut name = to.as_os_str().to_owned();
        name.push(format!(".{}.part", std::process::id()));
        let path = PathBuf::from(name);
        let file = create_new(&path)?;
        Ok(Self(path, file))
    }

    fn write(&self, data: &[u8]) -> io::Result<()> {
        (&self.1).write_all(data)?;
        self.1.sync_all()
    }

    fn put_in_place(self, to: &Path) -> io::Result<()> {
        // Renaming overwrites, so the name is taken first: that fails if anything has it by now.
        create_new(to)?;
        fs::rename(&self.0, to).inspect_err(|_| {
            // Only our own empty file bears the name; the error to tell of is the first.
            let _ = fs::remove_file(to);
        })
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        // Gone already when it got its name.
        let _ = fs::remove_file(&self.0);
    }
}

fn create_new(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).create_new(true).mode(0o600).open(path)
}
