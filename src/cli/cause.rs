//! `cause`: what the bad ones of a period share more than the rest, as the screen tells it or as a table of every group.

use super::Format;
use super::exit::{Exit, usage};
use super::show::Show;
use crate::domain::cause::{self, Asked, Findings, Group, Of, Only};
use crate::domain::time::Now;
use crate::store::Store;

/// What is asked.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What is bad: mould, suspects, losses or complaints
    #[arg(long, value_name = "WHAT", default_value = "mould", value_parser = of)]
    of: Of,
    /// One reason of losses or kind of complaints alone, such as mould
    #[arg(long, value_name = "KIND")]
    only: Option<String>,
    /// How many weeks back from today
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(i64).range(1..=520))]
    weeks: i64,
    /// How it was counted and compared, with the figures
    #[arg(long)]
    why: bool,
}

fn of(word: &str) -> Result<Of, String> {
    let words = || Of::ALL.iter().map(|of| of.stored()).collect::<Vec<_>>().join(", ");
    Of::from_stored(word).ok_or_else(|| format!("say one of {}", words()))
}

const HEADING: [&str; 14] = [
    "by",
    "name",
    "bad",
    "of",
    "share",
    "low",
    "high",
    "others_bad",
    "others_of",
    "in_doubt",
    "p",
    "q",
    "called",
    "same_as",
];

pub fn cause(args: &Args, store: &Store, now: Now, show: &mut Show) -> Result<u8, Exit> {
    let only = match &args.only {
        Some(word) => Some(Only::from_stored(args.of, word).ok_or_else(|| no_kind(args.of, word))?),
        None => None,
    };
    let asked = Asked { of: args.of, only, weeks: args.weeks };
    let found = Findings::of(store.cause(&asked, now)?);
    match show.format {
        Format::Json => show.json(&found)?,
        Format::Csv => show.csv(&HEADING, found.groups.iter().map(|group| cells(group, &found)))?,
        Format::Text if args.why => cause::why(&found).iter().try_for_each(|line| show.line(line))?,
        Format::Text => cause::lines(&found).iter().try_for_each(|line| show.line(line))?,
    }
    Ok(0)
}

fn no_kind(of: Of, word: &str) -> Exit {
    match Only::words(of).join(", ").as_str() {
        "" => usage(format!("{} have no kinds: leave --only {word} out.", of.shown())),
        words => usage(format!("{word} is no kind of {}: say one of {words}.", of.shown())),
    }
}

/// In the order of [`HEADING`].
fn cells(group: &Group, found: &Findings) -> [String; 14] {
    let share = |share: f64| format!("{share:.4}");
    // as exact as it is worked out: tiny ones too
    let chance = |chance: Option<f64>| chance.map_or_else(String::new, |chance| format!("{chance:.4e}"));
    let called = match (group.called, group.worse) {
        (true, true) => "more",
        (true, false) => "less",
        (false, _) => "",
    };
    let same = found
        .groups
        .iter()
        .filter(|other| other.set == group.set && (other.by, &other.name) != (group.by, &group.name));
    let same = same.map(|other| format!("{} {}", other.by.stored(), other.name)).collect::<Vec<_>>().join("; ");
    let (rest_x, rest_n) = group.rest.map_or((0, 0), |rest| (rest.x, rest.n));
    [
        group.by.stored().into(),
        group.name.clone(),
        group.share.x.to_string(),
        group.share.n.to_string(),
        share(group.share.share),
        share(group.share.low),
        share(group.share.high),
        rest_x.to_string(),
        rest_n.to_string(),
        group.doubts.to_string(),
        chance(group.p),
        chance(group.q),
        called.into(),
        same,
    ]
}
