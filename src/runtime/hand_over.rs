//! A hand-over as files: five of them side by side, named after what they are about, all or none.

use std::path::{Path, PathBuf};

use super::new_file;
use crate::domain::trace::Dossier;
use crate::report::trace::{PARTS, parts, stem};

/// Writes the files into a folder under their own names; one that is taken is refused.
pub fn write(folder: &Path, dossier: &Dossier) -> Result<Vec<PathBuf>, String> {
    named(folder, dossier, &stem(dossier))
}

/// The same under the first name that is free: `PEA-260712-A-V`, `PEA-260712-A-V-2`, and so on.
pub fn write_beside(folder: &Path, dossier: &Dossier) -> Result<Vec<PathBuf>, String> {
    let stem = stem(dossier);
    let free = |name: &String| PARTS.iter().all(|part| new_file::refuse_taken(&folder.join(of(name, part))).is_ok());
    let name = std::iter::once(stem.clone()).chain((2..1000).map(|n| format!("{stem}-{n}"))).find(free);
    let name = name.ok_or_else(|| format!("{} is full of such files: remove old ones.", folder.display()))?;
    named(folder, dossier, &name)
}

/// `PEA-260712-A-V-report.html`.
fn of(name: &str, part: &str) -> String {
    format!("{name}-{part}")
}

fn named(folder: &Path, dossier: &Dossier, name: &str) -> Result<Vec<PathBuf>, String> {
    let parts = parts(dossier);
    let files: Vec<(String, &[u8])> =
        PARTS.iter().zip(&parts).map(|(part, data)| (of(name, part), data.as_slice())).collect();
    new_file::write_all(folder, &files)
}
