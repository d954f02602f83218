//! `calc germination`, `spread`, `compare`, `chart`, `trays`, `storage`: what few counts and values allow to be said.

use serde::Serialize;

use super::exit::{Exit, sentence, usage};
use super::show::Show;
use crate::domain::germination::{self, Agreement, Indices};
use crate::domain::proportion::Share;
use crate::domain::seed_life;
use crate::domain::stats::compare::{self, Two};
use crate::domain::stats::sow::{self, Enough};
use crate::domain::stats::unusual::Unusual;

#[derive(Debug, clap::Args)]
pub struct GerminationArgs {
    /// New seedlings on day 1, day 2 and so on, such as 0,0,0,0,4,17,10
    #[arg(long, value_name = "COUNTS", allow_hyphen_values = true)]
    counts: String,
    /// Seeds laid out
    #[arg(long, value_name = "SEEDS")]
    sown: u64,
}

#[derive(Debug, clap::Args)]
pub struct SpreadArgs {
    /// Normal seedlings of each replicate, such as 92,88,95,91
    #[arg(long, value_name = "COUNTS", allow_hyphen_values = true)]
    replicates: String,
    /// Seeds of each replicate
    #[arg(long, value_name = "SEEDS")]
    seeds: u64,
}

#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// Values of the first group, such as 212,198,205
    #[arg(long, value_name = "VALUES", allow_hyphen_values = true)]
    a: String,
    /// Values of the second group
    #[arg(long, value_name = "VALUES", allow_hyphen_values = true)]
    b: String,
}

#[derive(Debug, clap::Args)]
pub struct ChartArgs {
    /// Values in their order, such as 212,198,205,220
    #[arg(long, value_name = "VALUES", allow_hyphen_values = true)]
    values: String,
}

#[derive(Debug, clap::Args)]
pub struct TraysArgs {
    /// Trays that are needed
    #[arg(long, value_name = "TRAYS")]
    need: u64,
    /// A record of what came of trays so far, such as 18/20
    #[arg(long, value_name = "X/N", required_unless_present = "rate", conflicts_with = "rate")]
    success: Option<String>,
    /// The rate of success if it is known for sure, such as 0.9
    #[arg(long, value_name = "RATE", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    rate: Option<f64>,
    /// How sure it shall be, in per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 95.0, allow_negative_numbers = true, value_parser = super::calc::decimal)]
    assurance: f64,
}

#[derive(Debug, clap::Args)]
pub struct StorageArgs {
    /// Where the seed is: °C and moisture of the seed in per cent, such as 20,8
    #[arg(long, value_name = "CELSIUS,PERCENT", allow_hyphen_values = true)]
    from: String,
    /// Where it may go, the same way
    #[arg(long, value_name = "CELSIUS,PERCENT", allow_hyphen_values = true)]
    to: String,
}

#[derive(Serialize)]
struct Answer<'a, T> {
    /// The plain sentence.
    said: &'a str,
    #[serde(flatten)]
    figures: T,
}

/// The plain sentence first, what stands behind it below.
fn tell(show: &mut Show, said: &str, below: &[String], figures: impl Serialize) -> Result<u8, Exit> {
    let said = sentence(said);
    let mut lines = vec![said.clone()];
    lines.extend(below.iter().map(|line| format!("  {line}")));
    show.text_or_json(&lines, &Answer { said: &said, figures })?;
    Ok(0)
}

#[derive(Serialize)]
struct Germination {
    share: Share,
    #[serde(flatten)]
    indices: Indices,
}

pub fn germination(args: &GerminationArgs, show: &mut Show) -> Result<u8, Exit> {
    let counts = whole(&args.counts, "0,0,4,17,10")?;
    let indices = germination::indices(&counts, args.sown).map_err(|why| usage(sentence(&why.to_string())))?;
    let share = share(indices.germinated, indices.seeds)?;
    let words = indices.words();
    let (said, rest) = words.split_first().map_or(("", &[][..]), |(said, rest)| (said.as_str(), rest));
    let below: Vec<String> = rest.iter().cloned().chain(indices.figures()).collect();
    tell(show, said, &below, Germination { share, indices: indices.clone() })
}

#[derive(Serialize)]
struct Replicates {
    share: Share,
    agree: bool,
    #[serde(flatten)]
    agreement: Agreement,
}

pub fn spread(args: &SpreadArgs, show: &mut Show) -> Result<u8, Exit> {
    let normal = whole(&args.replicates, "92,88,95,91")?;
    let agreement = germination::agreement(&normal, args.seeds).map_err(|why| usage(sentence(&why.to_string())))?;
    let replicates = u64::try_from(normal.len()).unwrap_or(u64::MAX);
    let share = share(normal.iter().sum(), replicates.saturating_mul(args.seeds))?;
    let below = [share.words(), agreement.figures()];
    tell(show, &agreement.words(), &below, Replicates { share, agree: agreement.agree(), agreement: agreement.clone() })
}

#[derive(Serialize)]
struct Compared {
    /// Null where there is not enough to say.
    clear: Option<bool>,
    #[serde(flatten)]
    two: Two,
}

pub fn compare(args: &CompareArgs, show: &mut Show) -> Result<u8, Exit> {
    let (first, second) = (numbers(&args.a)?, numbers(&args.b)?);
    let two = compare::two(&first, &second).ok_or_else(|| usage(TOO_LARGE))?;
    tell(show, &two.words(""), &two.figures(), Compared { clear: two.clear(), two: two.clone() })
}

pub fn chart(args: &ChartArgs, show: &mut Show) -> Result<u8, Exit> {
    let found = Unusual::of(&numbers(&args.values)?).ok_or_else(|| usage(TOO_LARGE))?;
    tell(show, &found.words(), &found.figures(), &found)
}

pub fn trays(args: &TraysArgs, show: &mut Show) -> Result<u8, Exit> {
    let assurance = args.assurance / 100.0;
    if !(0.5..=0.9999).contains(&assurance) {
        return Err(usage("Give an assurance from 50 to 99.99 per cent, such as 95."));
    }
    if args.need == 0 {
        return Err(usage("Give how many trays are needed, 1 or more."));
    }
    let none = || usage("It would take more than 100000 trays: ask for fewer, or look for why so many fail.");
    let said = |enough: &Enough, words: String, show: &mut Show| tell(show, &words, &[sow::TOGETHER.into()], enough);
    if let Some(rate) = args.rate {
        if !(rate > 0.0 && rate <= 1.0) {
            return Err(usage("Give a rate above 0 and at most 1, such as 0.9."));
        }
        let enough = sow::trays_at(args.need, rate, assurance).ok_or_else(none)?;
        return said(&enough, enough.words_at(args.need), show);
    }
    let text = args.success.as_deref().unwrap_or_default();
    let shape = || usage(format!("{text:?} is no record: write it such as 18/20, 18 good trays of 20."));
    let (good, of) = text.split_once('/').ok_or_else(shape)?;
    let number = |text: &str| text.trim().parse::<u64>().map_err(|_| shape());
    let share = share(number(good)?, number(of)?)?;
    if share.x == 0 {
        let given = format!("{} good trays of {}", share.x, share.n);
        return Err(usage(format!("From {given} nothing can be said: sow a few more and see what comes of them.")));
    }
    let enough = sow::trays(args.need, share.x, share.n, assurance).ok_or_else(none)?;
    said(&enough, enough.words(args.need, share.x, share.n), show)
}

#[derive(Serialize)]
struct Storage {
    times: f64,
    source: &'static str,
}

pub fn storage(args: &StorageArgs, show: &mut Show) -> Result<u8, Exit> {
    let (from, to) = (place(&args.from)?, place(&args.to)?);
    let times = seed_life::harrington(from, to).map_err(|why| usage(sentence(&why.to_string())))?;
    let below = [seed_life::ONLY.to_string(), format!("{}.", seed_life::SOURCE)];
    tell(show, &seed_life::words(times), &below, Storage { times, source: seed_life::SOURCE })
}

/// Moisture and °C of `20,8`, which is typed the other way round as a room is thought of.
fn place(text: &str) -> Result<(f64, f64), Exit> {
    match numbers(text)?.as_slice() {
        [celsius, moisture] => Ok((*moisture, *celsius)),
        _ => Err(usage(format!("{text:?} is no place: write °C and moisture in per cent, such as 20,8."))),
    }
}

fn share(x: u64, n: u64) -> Result<Share, Exit> {
    Share::of(x, n).map_err(|why| usage(sentence(&why.to_string())))
}

const TOO_LARGE: &str = "The values are too large to reckon with: give them in a larger unit.";

/// More values than anyone types.
const MOST_VALUES: usize = 10_000;

/// Parts of a list: apart by commas, or by semicolons or spaces, and then with commas in the numbers.
fn parts(text: &str) -> Result<Vec<String>, Exit> {
    let text = text.trim();
    let by_commas = !text.contains([';', ' ']) || text.contains(", ");
    let split: Vec<String> = if by_commas {
        text.split(',').map(|part| part.trim().to_string()).collect()
    } else {
        text.split([';', ' ']).filter(|part| !part.is_empty()).map(|part| part.trim().replace(',', ".")).collect()
    };
    if split.len() > MOST_VALUES {
        return Err(usage(format!("{} values are too many: give at most {MOST_VALUES}.", split.len())));
    }
    Ok(split)
}

fn numbers(text: &str) -> Result<Vec<f64>, Exit> {
    let number = |part: String| {
        let wrong = || usage(format!("{part:?} is no number: write values such as 212,198.5,205."));
        part.parse::<f64>().ok().filter(|x| x.is_finite()).ok_or_else(wrong)
    };
    parts(text)?.into_iter().map(number).collect()
}

fn whole(text: &str, like: &str) -> Result<Vec<u64>, Exit> {
    let number = |part: String| {
        part.parse::<u64>().map_err(|_| usage(format!("{part:?} is no count: write whole numbers such as {like}.")))
    };
    parts(text)?.into_iter().map(number).collect()
}
