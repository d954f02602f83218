//! The command line: verbs in, an exit code of `sysexits.h` out. Data goes to stdout, messages to stderr.

mod calc;
mod calc_keeping;
mod calc_mix;
mod calc_room;
mod calc_statistics;
mod care;
mod cause;
mod demo;
mod exit;
mod import;
mod labels;
mod manual;
mod out;
mod progress;
mod records;
mod screen;
mod show;
mod sold;
mod today;
mod trace;
mod week;

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

use self::exit::{Exit, NO_INPUT, usage};
use self::screen::{Screen, open_screen};
use self::show::Show;
use crate::domain::person::parse_initials;
use crate::domain::time::Now;
use crate::runtime::clock::{Clock, parse_now};
use crate::runtime::paths;
use crate::store::Store;
use crate::store::open::{Verdict, look};

/// A logbook for a small microgreens room. Without a verb it opens the room's screen.
#[derive(Debug, Parser)]
#[command(name = "rackwalk", version, max_term_width = 100)]
struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    verb: Option<Verb>,
}

/// What every verb takes.
#[derive(Debug, clap::Args)]
struct Common {
    /// The book's file [default: room.rackwalk in the folder for data]
    #[arg(long, global = true, value_name = "FILE")]
    book: Option<PathBuf>,
    /// Take this for the present, such as 2026-07-12T06:00
    #[arg(long, global = true, value_name = "WHEN", value_parser = parse_now)]
    now: Option<Now>,
    /// Initials of the person at the rack
    #[arg(long, global = true, value_name = "INITIALS", value_parser = parse_initials)]
    who: Option<String>,
    /// How data is printed
    #[arg(long, global = true, value_enum, default_value_t = Asked::Text)]
    format: Asked,
}

/// How data is asked for; only what is handed over is a page, or events for other programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Asked {
    Text,
    Json,
    Csv,
    /// A page to print: week, records, trace
    Html,
    /// Events for other programs: trace
    Epcis,
}

/// How data is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    Text,
    Json,
    Csv,
}

impl Asked {
    /// The word on the command line.
    fn name(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Json => "json",
            Self::Csv => "csv",
            Self::Html => "html",
            Self::Epcis => "epcis",
        }
    }

    /// For verbs that hand nothing over.
    fn plain(self) -> Result<Format, Exit> {
        match self {
            Self::Text => Ok(Format::Text),
            Self::Json => Ok(Format::Json),
            Self::Csv => Ok(Format::Csv),
            Self::Html | Self::Epcis => {
                Err(usage("Only what is handed over is written like this: choose --format text, json or csv."))
            }
        }
    }
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Try it on an invented room
    Demo(demo::Args),
    /// Print what is due today, as one walks
    Today(today::Args),
    /// Print today's lists: what to cut, to pack, to bring
    Lists(sold::Lists),
    /// Print the note of a delivery
    Note(sold::Note),
    /// Print what the bad trays, losses or complaints of some weeks share more than the rest: leads, never proofs
    Cause(cause::Args),
    /// Review a week: what each crop gave, what was lost and why, what differs, orders and money
    Week(week::Args),
    /// Hand over everything of some days: looks, waters, treatments, cold readings, checks, corrections, signatures
    Records(records::Args),
    /// Hand over where something came from and where it went, with everything that touched it
    Trace(trace::Args),
    /// Work something out without a book
    #[command(subcommand)]
    Calc(calc::Calc),
    /// Print the table of keys
    Keys,
    /// Copy the book, checked, to a new file
    Backup {
        /// A file that does not exist yet
        #[arg(value_name = "FILE")]
        to: PathBuf,
    },
    /// Make a copy the book again, after proving it
    Restore {
        /// A backup or a second copy
        #[arg(value_name = "COPY")]
        copy: PathBuf,
        /// Where to, if not where the book belongs; nothing may be there
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Read what other machines wrote into the book
    #[command(subcommand)]
    Import(import::Import),
    /// Check that the book is sound
    Check(care::Check),
    /// Make labels to print; paper labels fail when wet: use film or sleeves
    #[command(subcommand)]
    Labels(labels::Labels),
    /// Print what completes the arguments in a shell
    Completions { shell: manual::Shell },
    /// Print the manual page, or that of a verb
    Man {
        /// A verb, such as labels trays
        #[arg(value_name = "VERB")]
        verb: Vec<String>,
    },
}

/// Runs the program on the arguments, the program's own name first.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(said) => return exit::parsing(&said),
    };
    match act(cli) {
        Ok(code) => ExitCode::from(code),
        Err(exit) => exit.leave(),
    }
}

/// The exit code of what ran through.
fn act(Cli { common, verb }: Cli) -> Result<u8, Exit> {
    let plain = match verb {
        // they have formats of their own
        Some(Verb::Trace(_) | Verb::Records(_) | Verb::Week(_)) => Format::Text,
        _ => common.format.plain()?,
    };
    let mut show = Show::new(plain);
    match verb {
        None => open_screen(&Screen { book: common.book()?, now: common.clock(), who: common.who }),
        Some(Verb::Demo(args)) => demo::demo(&args, &common),
        Some(Verb::Today(args)) => today::today(&args, &common.open()?, common.present(), &mut show),
        Some(Verb::Lists(args)) => sold::lists(&args, &common.open()?, common.present(), &mut show),
        Some(Verb::Trace(args)) => trace::trace(&args, &common, &mut show),
        Some(Verb::Note(args)) => sold::note(&args, &common.open()?, &mut show),
        Some(Verb::Cause(args)) => cause::cause(&args, &common.open()?, common.present(), &mut show),
        Some(Verb::Week(args)) => week::week(&args, &common, &mut show),
        Some(Verb::Records(args)) => records::records(&args, &common, &mut show),
        Some(Verb::Calc(what)) => calc::calc(&what, &mut show),
        Some(Verb::Keys) => screen::keys(&mut show),
        Some(Verb::Backup { to }) => care::backup(&common.open()?, &to),
        Some(Verb::Restore { copy, to }) => care::restore(&copy, &to.map_or_else(|| common.book(), Ok)?),
        Some(Verb::Check(what)) => care::check(&mut common.open()?, &what, common.present(), &mut show),
        Some(Verb::Import(what)) => import::import(&what, &common, &mut show),
        Some(Verb::Labels(what)) => labels::labels(&what, &common),
        Some(Verb::Completions { shell }) => manual::completions(shell, &mut show),
        Some(Verb::Man { verb }) => manual::man(&verb, &mut show),
    }
}

impl Common {
    fn clock(&self) -> Clock {
        self.now.map_or(Clock::System, Clock::Fixed)
    }

    fn present(&self) -> Now {
        self.clock().now()
    }

    fn book(&self) -> Result<PathBuf, Exit> {
        match &self.book {
            Some(book) => Ok(book.clone()),
            None => paths::default_book().map_err(|e| usage(e.to_string())),
        }
    }

    /// Opens a book that is there: only the screen makes new ones.
    fn open(&self) -> Result<Store, Exit> {
        let book = self.book()?;
        if look(&book)? == Verdict::New {
            return Err(no_book(&book));
        }
        Ok(Store::open(&book, &stamp(self.present()))?)
    }
}

fn no_book(book: &Path) -> Exit {
    let sentence = format!(
        "There is no book at {} yet: name yours with --book, or start rackwalk without a verb to make it.",
        book.display()
    );
    Exit { code: NO_INPUT, sentence }
}

/// Goes into the name of a backup before an upgrade; sorts by time.
fn stamp(now: Now) -> String {
    now.0.format("%Y%m%dT%H%M%S").to_string()
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_verbs_and_flags_do_not_contradict_each_other() {
        Cli::command().debug_assert();
    }
}
