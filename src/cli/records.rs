//! `records`: everything the book holds about some days, for whoever inspects the room.

use std::path::{Path, PathBuf};

use super::exit::{DATA, Exit, say, usage};
use super::screen::person;
use super::show::Show;
use super::{Asked, Common, out, progress};
use crate::domain::period::Period;
use crate::domain::records::Records;
use crate::report::records;
use crate::store::error::StoreError;

/// Which days, and where to.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The days, such as 2026-07-01..2026-07-14, or one day
    #[arg(value_name = "FROM..TO")]
    period: String,
    /// A file that does not exist yet; its ending says how it is written: .html, .csv, .json or .txt [default: standard output]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub fn records(args: &Args, common: &Common, show: &mut Show) -> Result<u8, Exit> {
    let now = common.present();
    let period = Period::parse(&args.period, now.day()).map_err(usage)?;
    let format = format_for(args.out.as_deref(), common.format)?;
    let store = common.open()?;
    // what cannot be written is said before the long work
    args.out.as_deref().map_or(Ok(()), out::refuse_taken)?;
    let made_by = match &common.who {
        Some(initials) => person(&store, initials).map(|_| initials.clone())?,
        None => String::new(),
    };
    let bar = progress::bar("entries proved", 0, true);
    let found = store.records(period, now, &mut |done, all| {
        bar.set_length(u64::try_from(all).unwrap_or(0));
        bar.set_position(u64::try_from(done).unwrap_or(0));
        true
    })?;
    bar.finish_and_clear();
    let found = Records { made_by, ..found.ok_or(StoreError::Stopped)? };
    let whole = found.proof.whole();
    match &args.out {
        None => print(&found, format, show)?,
        Some(file) => {
            out::new_file(file, &written(&found, format)?)?;
            let hint =
                if format == Asked::Html { ": open it in a browser and print; paper fails when wet." } else { "." };
            say(&format!("The records of {} are in {}{hint}", period.words(), file.display()));
        }
    }
    if whole {
        return Ok(0);
    }
    say(&found.proof.words(now));
    Ok(DATA)
}

/// How a page is written: as the ending of its name asks for, else as was given; never as events.
pub(super) fn format_for(out: Option<&Path>, given: Asked) -> Result<Asked, Exit> {
    match out.map_or(Ok(given), |file| format_of(file, given))? {
        Asked::Epcis => {
            Err(usage("Events for other programs are of a trace: choose --format html, csv, json or text."))
        }
        format => Ok(format),
    }
}

/// What the ending of a name asks for; a format that was given must be the same.
fn format_of(file: &Path, given: Asked) -> Result<Asked, Exit> {
    let ending = file.extension().map(|end| end.to_string_lossy().to_lowercase()).unwrap_or_default();
    let named = match ending.as_str() {
        "html" => Some(Asked::Html),
        "csv" => Some(Asked::Csv),
        "json" => Some(Asked::Json),
        "txt" => Some(Asked::Text),
        _ => None,
    };
    match named {
        // text is what stands for nothing given
        Some(named) if given == named || given == Asked::Text => Ok(named),
        Some(_) => Err(usage(format!(
            "--format {} does not go with the name {}: give one or the other.",
            given.name(),
            file.display()
        ))),
        None => Err(usage("The name of the file must end in .html, .csv, .json or .txt: give it such an ending.")),
    }
}

fn print(found: &Records, format: Asked, show: &mut Show) -> Result<(), Exit> {
    match format {
        Asked::Text => records::text(found).iter().try_for_each(|line| show.line(line)),
        Asked::Json => show.json(found),
        Asked::Csv | Asked::Html | Asked::Epcis => show.file(&written(found, format)?),
    }
}

fn written(found: &Records, format: Asked) -> Result<Vec<u8>, Exit> {
    Ok(match format {
        Asked::Html | Asked::Epcis => records::page(found).into_bytes(),
        Asked::Csv => records::csv(found)?,
        Asked::Json => {
            let mut text = serde_json::to_vec_pretty(found)?;
            text.push(b'\n');
            text
        }
        Asked::Text => {
            let lines: Vec<String> = records::text(found).iter().map(|line| clean(line)).collect();
            (lines.join("\n") + "\n").into_bytes()
        }
    })
}

fn clean(line: &str) -> String {
    crate::domain::text::clean_line(line, usize::MAX).text
}
