//! `trace`: what a lot was made of, who has it, and everything that touched it, as an authority asks for it.

use std::path::{Path, PathBuf};

use super::exit::{CANNOT_CREATE, DATA, Exit, NO_INPUT, say, usage};
use super::out;
use super::show::Show;
use super::{Asked, Common};
use crate::domain::complaint::Complaint;
use crate::domain::id::ComplaintId;
use crate::domain::trace::{Dossier, Start, Way};
use crate::report::trace::{csv, epcis, html, json, text};
use crate::runtime::hand_over;
use crate::store::Store;

/// What is traced, which way, and where to.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The code on the label of a pack, a lot, a tray, a batch, a mix or a seed jar, such as PEA-260712-A-V
    #[arg(value_name = "CODE", required_unless_present = "complaint")]
    code: Option<String>,
    /// Instead of a code: every lot that a complaint may still be about, by its number
    #[arg(long, value_name = "NUMBER", conflicts_with = "code")]
    complaint: Option<i64>,
    /// Only what it was made of
    #[arg(long, conflicts_with = "forward")]
    back: bool,
    /// Only what was made of it, and who has it
    #[arg(long)]
    forward: bool,
    /// A folder for all five files, or one file that does not exist yet [default: standard output]; besides text, json and csv
    /// --format takes html, a page to read and print, and epcis, events for other programs; without --format a file is written
    /// as its ending says
    #[arg(long, value_name = "FOLDER|FILE")]
    out: Option<PathBuf>,
    /// Mark everything as an exercise
    #[arg(long)]
    exercise: bool,
}

impl Args {
    fn ways(&self) -> &'static [Way] {
        match (self.back, self.forward) {
            (true, _) => &[Way::Back],
            (_, true) => &[Way::Forward],
            _ => &[Way::Back, Way::Forward],
        }
    }

    /// The folder that all files go to, if it is one.
    fn folder(&self) -> Option<&Path> {
        let out = self.out.as_deref()?;
        // a link is none, wherever it points
        out.symlink_metadata().is_ok_and(|there| there.is_dir()).then_some(out)
    }
}

pub fn trace(args: &Args, common: &Common, show: &mut Show) -> Result<u8, Exit> {
    let folder = args.folder();
    if let Some(file) = args.out.as_deref().filter(|_| folder.is_none()) {
        out::refuse_taken(file)?;
    }
    let store = common.open()?;
    let start = start(args, &store)?;
    let found = store.dossier(&start, args.ways(), common.present())?;
    let dossier = Dossier { exercise: args.exercise, ..found };
    match (folder, &args.out) {
        (Some(folder), _) => {
            let files = hand_over::write(folder, &dossier).map_err(cannot)?;
            let names: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
            say(&format!("Handed over in {}. Paper fails when wet; local codes decide.", names.join(", ")));
        }
        (None, Some(file)) => {
            out::new_file(file, &written(&dossier, format_of(common.format, file)))?;
            say(&format!("Handed over in {}. Local codes decide.", file.display()));
        }
        (None, None) => shown(&dossier, common.format, show)?,
    }
    if dossier.proof.whole() {
        return Ok(0);
    }
    say(&format!("{} It was handed over all the same, and says so.", dossier.proven()));
    Ok(DATA)
}

fn cannot(sentence: String) -> Exit {
    Exit { code: CANNOT_CREATE, sentence }
}

/// What the ways begin with. A label of before is told with the one of now.
fn start(args: &Args, store: &Store) -> Result<Start, Exit> {
    if let Some(code) = &args.code {
        let found = store.find_start(code)?;
        if let Some(note) = found.note {
            say(&note);
        }
        return Ok(found.start);
    }
    let Some(number) = args.complaint else { return Err(usage("Give a code, or a --complaint.")) };
    let id = ComplaintId(number);
    let Some(complaint) = store.complaints()?.into_iter().find(|complaint| complaint.id == id) else {
        let sentence = format!("There is no complaint {number} in the book: its number stands in the log.");
        return Err(Exit { code: NO_INPUT, sentence });
    };
    match Complaint::open_lots(&complaint) {
        lots if lots.is_empty() => {
            let sentence =
                format!("Complaint {number} names no lot that it may be about: name one on its screen first.");
            Err(Exit { code: NO_INPUT, sentence })
        }
        lots => Ok(Start::Lots(lots)),
    }
}

/// As it was asked for, else as the file's ending says.
fn format_of(asked: Asked, file: &Path) -> Asked {
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match (asked, ending.as_deref()) {
        (Asked::Text, Some("csv")) => Asked::Csv,
        (Asked::Text, Some("json")) => Asked::Json,
        (Asked::Text, Some("html")) => Asked::Html,
        (asked, _) => asked,
    }
}

fn written(dossier: &Dossier, format: Asked) -> Vec<u8> {
    match format {
        Asked::Text => {
            let mut text = text::lines(dossier).join("\n");
            text.push('\n');
            text.into_bytes()
        }
        Asked::Json => json::text(dossier).into_bytes(),
        Asked::Csv => csv::table(dossier),
        Asked::Html => html::page(dossier).into_bytes(),
        Asked::Epcis => epcis::text(dossier).into_bytes(),
    }
}

fn shown(dossier: &Dossier, format: Asked, show: &mut Show) -> Result<(), Exit> {
    match format {
        Asked::Text => text::lines(dossier).iter().try_for_each(|line| show.line(line)),
        other => show.file(&written(dossier, other)),
    }
}
