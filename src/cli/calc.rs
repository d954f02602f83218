//! `calc`: arithmetic without a book.

mod fuzz;

use clap::Subcommand;
use serde::Serialize;

use super::exit::{DATA, Exit, USAGE, sentence, usage};
use super::show::Show;
use super::{calc_keeping, calc_mix, calc_room, calc_statistics};
use crate::domain::code::{Code, CodeError, Kind, check_char};
use crate::domain::gs1::check_digit;
use crate::domain::room::{NOMINAL_AREA_CM2, Units};
use crate::domain::seeding::{Seeding, SeedingError, density_from_grams, odd_amount, scale_grams};
use crate::domain::starter::{StarterCrop, starter_crops};

/// `calc code --verify` found a code that is not right.
const NOT_OK: u8 = 1;

#[derive(Debug, Subcommand)]
pub enum Calc {
    /// Grams of seed for a tray
    Sowing(Sowing),
    /// The check character of a code
    Code(CodeArgs),
    /// The check digit of a GS1 number
    Checkdigit {
        /// The number without its last digit, such as 629104150021
        number: String,
    },
    /// Dew point and drying power of the air
    Air(calc_room::AirArgs),
    /// Light of a day
    Light(calc_room::LightArgs),
    /// How sure a share is, such as 3/12
    Proportion(calc_room::ProportionArgs),
    /// Stock and water for a weaker solution
    Dilution(calc_mix::DilutionArgs),
    /// A recipe for another volume
    Mix(calc_mix::MixArgs),
    /// What is left of a shelf life after some time at some temperatures
    ShelfLife(calc_keeping::ShelfLifeArgs),
    /// The mean kinetic temperature of readings
    Mkt(calc_keeping::MktArgs),
    /// What the daily counts of a germination test come to
    Germination(calc_statistics::GerminationArgs),
    /// Whether the replicates of a germination test agree
    Spread(calc_statistics::SpreadArgs),
    /// Two groups of values side by side
    Compare(calc_statistics::CompareArgs),
    /// What is unusual among values in their order
    Chart(calc_statistics::ChartArgs),
    /// How many trays to sow so that enough come of them
    Trays(calc_statistics::TraysArgs),
    /// How much longer seed keeps elsewhere, by Harrington's rule
    Storage(calc_statistics::StorageArgs),
    /// Root hairs, mould or rot, from what is seen
    Fuzz(fuzz::Fuzz),
}

#[derive(Debug, clap::Args)]
pub struct Sowing {
    /// Seeds per cm²
    #[arg(long, value_name = "SEEDS", required_unless_present = "crop", allow_negative_numbers = true, value_parser = decimal)]
    density: Option<f64>,
    /// Weight of a thousand seeds in grams
    #[arg(long, value_name = "GRAMS", required_unless_present = "crop", allow_negative_numbers = true, value_parser = decimal)]
    tsw: Option<f64>,
    /// Surface of the tray in cm²; a 10 x 20 in tray has 1290.32
    #[arg(long, value_name = "CM2", default_value_t = NOMINAL_AREA_CM2, allow_negative_numbers = true, value_parser = decimal)]
    area: f64,
    /// Germination of the lot in per cent
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, value_parser = decimal)]
    germination: Option<f64>,
    /// Germination the density was meant for, in per cent
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, value_parser = decimal)]
    target: Option<f64>,
    /// Start from a crop of the starter table, by name or letters
    #[arg(long)]
    crop: Option<String>,
}

#[derive(Debug, clap::Args)]
pub struct CodeArgs {
    /// The code without its check character, such as PEA260712A
    #[arg(required_unless_present = "verify", conflicts_with = "verify")]
    body: Option<String>,
    /// A whole code, such as PEA-260712-A-V
    #[arg(long, value_name = "CODE")]
    verify: Option<String>,
}

pub fn calc(what: &Calc, show: &mut Show) -> Result<u8, Exit> {
    match what {
        Calc::Sowing(args) => sowing(args, show),
        Calc::Fuzz(args) => fuzz::fuzz(args, show),
        Calc::Dilution(args) => calc_mix::dilution(args, show),
        Calc::Mix(args) => calc_mix::mix(args, show),
        Calc::Code(CodeArgs { verify: Some(code), .. }) => verify(code, show),
        Calc::Checkdigit { number } => checkdigit(number, show),
        Calc::Air(args) => calc_room::air(args, show),
        Calc::Light(args) => calc_room::light(args, show),
        Calc::Proportion(args) => calc_room::proportion(args, show),
        Calc::Germination(args) => calc_statistics::germination(args, show),
        Calc::Spread(args) => calc_statistics::spread(args, show),
        Calc::Compare(args) => calc_statistics::compare(args, show),
        Calc::Chart(args) => calc_statistics::chart(args, show),
        Calc::Trays(args) => calc_statistics::trays(args, show),
        Calc::Storage(args) => calc_statistics::storage(args, show),
        Calc::ShelfLife(args) => calc_keeping::shelf_life(args, show),
        Calc::Mkt(args) => calc_keeping::mkt(args, show),
        Calc::Code(CodeArgs { body, .. }) => code(body.as_deref().unwrap_or_default(), show),
    }
}

#[derive(Serialize)]
struct WithDigit {
    number: String,
    check_digit: u8,
    whole: String,
}

/// Of numbers of 1 to 17 digits: a serial shipping container code is the longest.
fn checkdigit(number: &str, show: &mut Show) -> Result<u8, Exit> {
    let digits = number.trim();
    let found = check_digit(digits).filter(|_| digits.len() <= 17);
    let check_digit = found.ok_or_else(|| usage("Give 1 to 17 digits and nothing else, such as 629104150021."))?;
    let whole = format!("{digits}{check_digit}");
    let text = [format!("check digit {check_digit}: {whole}")];
    show.text_or_json(&text, &WithDigit { number: digits.to_owned(), check_digit, whole })?;
    Ok(0)
}

/// A number with decimal comma or point.
pub(super) fn decimal(text: &str) -> Result<f64, std::num::ParseFloatError> {
    text.replace(',', ".").parse()
}

/// Grams and how they came about.
#[derive(Serialize)]
struct Answer {
    #[serde(skip_serializing_if = "Option::is_none")]
    crop: Option<String>,
    grams: f64,
    /// Before the correction for germination.
    plain_grams: f64,
    seeds: f64,
    seeds_per_cm2: f64,
    area_cm2: f64,
    thousand_seed_weight_g: f64,
    germination_factor: f64,
    /// Whether the correction was held at its limit.
    held: bool,
    steps: Vec<String>,
    /// Where the crop's figures come from.
    sources: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    warning: Option<String>,
}

impl From<SeedingError> for Exit {
    fn from(err: SeedingError) -> Self {
        Self { code: USAGE, sentence: sentence(&err.to_string()) }
    }
}

fn sowing(args: &Sowing, show: &mut Show) -> Result<u8, Exit> {
    let crop = args.crop.as_deref().map(starter).transpose()?;
    let mut sources = Vec::new();
    let tsw = match (args.tsw, &crop) {
        (Some(tsw), _) => tsw,
        (None, Some(crop)) => {
            let span = &crop.tsw_g;
            sources.push(format!("thousand-seed weight {} to {} g, {}", span.from, span.to, from(&span.source)));
            f64::midpoint(span.from, span.to)
        }
        (None, None) => return Err(usage("Give --tsw, or a --crop of the starter table.")),
    };
    let usual = crop.as_ref().map(|crop| scale_grams(crop.grams.value, NOMINAL_AREA_CM2, args.area)).transpose()?;
    let density = match (args.density, &crop, usual) {
        (Some(density), _, _) => density,
        (None, Some(crop), Some(usual)) => {
            let grams = &crop.grams;
            sources.push(format!("{} g for a 10 x 20 in tray, {}", grams.value, from(&grams.source)));
            density_from_grams(usual, args.area, tsw)?
        }
        _ => return Err(usage("Give --density, or a --crop of the starter table.")),
    };
    let target = match (args.germination, args.target, &crop) {
        (Some(_), None, Some(crop)) => {
            let want = &crop.want_germ_pct;
            sources.push(format!("{} % germination aimed at, {}", want.value, from(&want.source)));
            Some(want.value)
        }
        (Some(_), None, None) => return Err(usage("Give the --target that the --germination falls short of.")),
        (None, Some(_), _) => return Err(usage("Give the --germination of the lot beside the --target.")),
        (_, target, _) => target,
    };
    let seeding = Seeding {
        seeds_per_cm2: density,
        area_cm2: args.area,
        tsw_g: tsw,
        germination_pct: args.germination,
        target_pct: target,
    };
    let worked = seeding.grams_to_sow()?;
    let found = Answer {
        crop: crop.map(|crop| crop.name),
        grams: worked.grams,
        plain_grams: worked.plain_g,
        seeds: worked.seeds,
        seeds_per_cm2: density,
        area_cm2: args.area,
        thousand_seed_weight_g: tsw,
        germination_factor: worked.factor,
        held: worked.capped,
        steps: worked.lines(Units::Metric),
        sources,
        warning: usual.and_then(|usual| odd_amount(worked.plain_g, usual)).map(|odd| sentence(&odd.to_string())),
    };
    show.text_or_json(&lines(&found), &found)?;
    Ok(0)
}

fn lines(found: &Answer) -> Vec<String> {
    let of = found.crop.as_ref().map_or(String::new(), |crop| format!(" of {crop}"));
    let mut lines = vec![format!("{:.2} g{of}", found.grams)];
    lines.extend(found.steps.iter().map(|step| format!("  {step}")));
    lines.extend(found.sources.iter().map(|source| format!("  {source}")));
    lines.extend(found.warning.iter().cloned());
    lines
}

/// Where a figure comes from, in words that fit behind it.
fn from(source: &crate::domain::starter::Source) -> String {
    match source.to_string().strip_prefix("P: ") {
        Some(published) => format!("published: {published}"),
        None => format!("not published: {source}"),
    }
}

fn starter(wanted: &str) -> Result<StarterCrop, Exit> {
    let crops = starter_crops().map_err(|e| Exit { code: DATA, sentence: sentence(&e.to_string()) })?;
    let names: Vec<&str> = crops.iter().map(|crop| crop.name.as_str()).collect();
    let unknown = usage(format!("There is no starter crop {wanted:?}: choose one of {}.", names.join(", ")));
    let is = |crop: &StarterCrop| crop.name.eq_ignore_ascii_case(wanted) || crop.letters.eq_ignore_ascii_case(wanted);
    crops.iter().find(|crop| is(crop)).cloned().ok_or(unknown)
}

#[derive(Serialize)]
struct Made {
    check: char,
    code: String,
    kind: &'static str,
}

fn code(body: &str, show: &mut Show) -> Result<u8, Exit> {
    let shape = || {
        let like =
            "such as PEA260712A for a lot, T0001 for a tray, S0042 for seed, B0107 for a batch or M0003 for a mix";
        usage(format!("{body:?} is no code of a book: write it without its check character, {like}."))
    };
    let check = check_char(body).ok_or_else(shape)?;
    let code = Code::parse(&format!("{body}{check}")).map_err(|_| shape())?;
    let made = Made { check, code: code.shown(), kind: kind(&code) };
    show.text_or_json(&[format!("check character {check}"), format!("code {}", made.code)], &made)?;
    Ok(0)
}

#[derive(Serialize)]
struct Verified {
    ok: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    code: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<&'static str>,
    /// The check character it would have to end in.
    #[serde(skip_serializing_if = "Option::is_none")]
    expected: Option<char>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<String>,
}

fn verify(typed: &str, show: &mut Show) -> Result<u8, Exit> {
    let found = match Code::parse(typed) {
        Ok(code) => Verified { ok: true, code: Some(code.shown()), kind: Some(kind(&code)), expected: None, why: None },
        Err(err) => {
            let expected = match err {
                CodeError::Check { expected } => Some(expected),
                CodeError::Shape => None,
            };
            Verified { ok: false, code: None, kind: None, expected, why: Some(sentence(&err.to_string())) }
        }
    };
    let line = match (&found.code, &found.why) {
        (Some(code), _) => format!("ok {code}"),
        (None, why) => format!("not ok: {}", why.as_deref().unwrap_or_default()),
    };
    show.text_or_json(&[line], &found)?;
    Ok(if found.ok { 0 } else { NOT_OK })
}

fn kind(code: &Code) -> &'static str {
    match code.kind() {
        Kind::Tray => "tray",
        Kind::SeedLot => "seed lot",
        Kind::Sowing => "batch",
        Kind::Mix => "mix",
        Kind::Lot => "lot",
    }
}
