//! A new file for what is to be handed on: whole or not at all, and never over something that is there.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

/// Refuses a name that is taken; a link counts, wherever it points.
pub fn refuse_taken(to: &Path) -> Result<(), String> {
    let Ok(there) = to.symlink_metadata() else { return Ok(()) };
    let what = if there.is_symlink() { "is a link" } else { "is there already" };
    Err(format!("{} {what}: choose another name, nothing was written.", to.display()))
}

/// Writes the file under a name of its own beside `to`, then gives it its name. Only its owner may read it.
pub fn write(to: &Path, data: &[u8]) -> Result<(), String> {
    refuse_taken(to)?;
    let failed = |err: io::Error| format!("{} cannot be written ({err}): choose another place.", to.display());
    let part = Part::create(to).map_err(failed)?;
    part.write(data).map_err(failed)?;
    part.put_in_place(to).map_err(failed)
}

/// Several files of one folder, all of them or none.
pub fn write_all(folder: &Path, files: &[(String, &[u8])]) -> Result<Vec<PathBuf>, String> {
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    paths.iter().try_for_each(|path| refuse_taken(path))?;
    let failed = |err: io::Error, to: &Path| {
        format!("{} cannot be written ({err}): choose another place, nothing was written.", to.display())
    };
    let mut parts = Vec::new();
    for (path, (_, data)) in paths.iter().zip(files) {
        let part = Part::create(path).map_err(|err| failed(err, path))?;
        part.write(data).map_err(|err| failed(err, path))?;
        parts.push(part);
    }
    let mut placed = Placed(Vec::new());
    for (path, part) in paths.iter().zip(parts) {
        part.put_in_place(path).map_err(|err| failed(err, path))?;
        placed.0.push(path.clone());
    }
    Ok(std::mem::take(&mut placed.0))
}

/// Files that have their names already; taken away again when this is dropped before all of them have.
struct Placed(Vec<PathBuf>);

impl Drop for Placed {
    fn drop(&mut self) {
        for path in &self.0 {
            // Only what was just written here bears the name; the error to tell of is the first.
            let _ = fs::remove_file(path);
        }
    }
}

/// The same under the first name that is free: `label.html`, `label-2.html`, and so on.
pub fn write_beside(folder: &Path, name: &str, ending: &str, data: &[u8]) -> Result<PathBuf, String> {
    let numbered = (2..1000).map(|n| format!("{name}-{n}.{ending}"));
    let free = std::iter::once(format!("{name}.{ending}"))
        .chain(numbered)
        .map(|name| folder.join(name))
        .find(|path| refuse_taken(path).is_ok())
        .ok_or_else(|| format!("{} is full of such files: remove old ones.", folder.display()))?;
    write(&free, data)?;
    Ok(free)
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
