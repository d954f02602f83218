//! Where a verb puts the file it makes.

use std::path::{Path, PathBuf};

use super::exit::{CANNOT_CREATE, Exit};
use crate::runtime::new_file;

/// Refuses a name that is taken; a link counts, wherever it points.
pub fn refuse_taken(to: &Path) -> Result<(), Exit> {
    new_file::refuse_taken(to).map_err(cannot)
}

/// Writes a new file, whole or not at all.
pub fn new_file(to: &Path, data: &[u8]) -> Result<(), Exit> {
    new_file::write(to, data).map_err(cannot)
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
