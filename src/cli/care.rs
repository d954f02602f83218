//! Taking care of the book: a checked copy, and proof that it is sound.

use std::path::Path;

use serde::Serialize;

use super::exit::{DATA, Exit, say};
use super::show::Show;
use crate::domain::time::Now;
use crate::store::{Store, restore};

/// What to check beside SQLite's own look at the file.
#[derive(Debug, clap::Args)]
pub struct Check {
    /// Work the hash chain over all entries out again
    #[arg(long)]
    chain: bool,
    /// Work out again what stands where, and repair it
    #[arg(long)]
    rebuild: bool,
}

#[derive(Serialize)]
struct Found {
    sound: bool,
    file: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chain: Option<Chain>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rebuilt_rows: Option<usize>,
}

#[derive(Serialize)]
struct Chain {
    entries: i64,
    head: String,
    broken_at: Option<i64>,
    /// The first broken link in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    broken: Option<String>,
}

pub fn backup(store: &Store, to: &Path) -> Result<u8, Exit> {
    store.backup(to, |_, _| true)?;
    say(&format!("The book is copied to {} and the copy is sound.", to.display()));
    Ok(0)
}

pub fn restore(copy: &Path, to: &Path) -> Result<u8, Exit> {
    let chain = restore::restore(copy, to, |_, _| true)?;
    say(&format!("The book is back at {}: its chain of {} entries is whole.", to.display(), chain.entries));
    Ok(0)
}

pub fn check(store: &mut Store, what: &Check, now: Now, show: &mut Show) -> Result<u8, Exit> {
    let file = store.integrity()?;
    let chain = what.chain.then(|| store.proof(&mut |_, _| true)).transpose()?.flatten();
    let chain = chain.map(|proof| Chain {
        entries: proof.entries,
        head: proof.head,
        broken_at: proof.broken.as_ref().map(|broken| broken.entry),
        broken: proof.broken.map(|broken| broken.words(now)),
    });
    let rebuilt_rows = what.rebuild.then(|| store.rebuild()).transpose()?;
    let sound = file.is_empty()
        && chain.as_ref().is_none_or(|chain| chain.broken_at.is_none())
        && rebuilt_rows.is_none_or(|rows| rows == 0);
    let found = Found { sound, file, chain, rebuilt_rows };
    show.text_or_json(&lines(&found), &found)?;
    if !sound {
        say("The book is not as it was written: keep this file as it is, and compare it with a backup.");
    }
    Ok(if sound { 0 } else { DATA })
}

fn lines(found: &Found) -> Vec<String> {
    let mut lines: Vec<String> = found.file.iter().map(|line| format!("file: {line}")).collect();
    if lines.is_empty() {
        lines.push("file: sound".into());
    }
    if let Some(chain) = &found.chain {
        lines.push(match chain.broken_at {
            None => format!("chain: whole, {} entries", chain.entries),
            Some(entry) => format!("chain: broken at entry {entry} of {}", chain.entries),
        });
        lines.extend(chain.broken.as_ref().map(|broken| format!("first broken link: {broken}")));
        lines.push(format!("head: {}", chain.head));
    }
    lines.extend(found.rebuilt_rows.map(|rows| match rows {
        0 => "what stands where: as the entries say".into(),
        n => format!("what stands where: {n} rows differed from the entries and were put right"),
    }));
    lines
}
