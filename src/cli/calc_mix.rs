//! `calc dilution` and `calc mix`: a weaker solution, and a recipe for another volume.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::exit::{DATA, Exit, NO_INPUT, sentence, usage};
use super::show::Show;
use crate::domain::dilution::{Dilution, STRONG, one_part_in};
use crate::domain::measure::{Amount, Measure};
use crate::domain::mix::{ML_MAX, NewRecipe, bench_lines, cautions, poison, scaled};
use crate::domain::units::trimmed;

#[derive(Debug, clap::Args)]
pub struct DilutionArgs {
    /// Strength of the stock in per cent
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    stock: f64,
    /// Strength wanted in per cent
    #[arg(long, value_name = "PERCENT", requires = "make", required_unless_present = "water_parts", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    target: Option<f64>,
    /// How much to make, in mL
    #[arg(long, value_name = "ML", requires = "target", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    make: Option<f64>,
    /// What one part of stock and so many parts of water come to
    #[arg(long, value_name = "PARTS", conflicts_with_all = ["target", "make"], allow_negative_numbers = true, value_parser = super::calc::decimal)]
    water_parts: Option<f64>,
}

#[derive(Debug, clap::Args)]
pub struct MixArgs {
    /// A recipe: `name`, `ml`, `life_days`, and for each ingredient a `[[part]]` with `name`, `amount`, `measure`
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How much to make, in mL; without it as much as the recipe is written for
    #[arg(long, value_name = "ML", allow_negative_numbers = true)]
    make: Option<i64>,
}

#[derive(Serialize)]
struct OnePart {
    stock_pct: f64,
    water_parts: f64,
    strength_pct: f64,
    cautions: [&'static str; 2],
}

#[derive(Serialize)]
struct Diluted {
    #[serde(flatten)]
    made: Dilution,
    cautions: [&'static str; 2],
}

pub fn dilution(args: &DilutionArgs, show: &mut Show) -> Result<u8, Exit> {
    let wrong = |why: crate::domain::dilution::DilutionError| usage(sentence(&why.to_string()));
    if let Some(water_parts) = args.water_parts {
        let strength_pct = one_part_in(args.stock, water_parts).map_err(wrong)?;
        let line = format!("{strength_pct:.3} %: one part of {} % and {water_parts} parts of water", args.stock);
        let found = OnePart { stock_pct: args.stock, water_parts, strength_pct, cautions: STRONG };
        show.text_or_json(&cautioned(vec![line], &STRONG), &found)?;
        return Ok(0);
    }
    let (target, make) = (args.target.unwrap_or(f64::NAN), args.make.unwrap_or(f64::NAN));
    let made = Dilution::new(args.stock, target, make).map_err(wrong)?;
    let lines = vec![
        format!("{} mL of stock and {} mL of water", trimmed(made.stock_ml, 3), trimmed(made.water_ml, 3)),
        format!("  {make} mL x {target} % / {} %", args.stock),
    ];
    show.text_or_json(&cautioned(lines, &STRONG), &Diluted { made, cautions: STRONG })?;
    Ok(0)
}

fn cautioned(lines: Vec<String>, cautions: &[&str]) -> Vec<String> {
    lines.into_iter().chain(cautions.iter().map(ToString::to_string)).collect()
}

/// A recipe as it stands in a file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sheet {
    name: String,
    ml: i64,
    life_days: i64,
    #[serde(default)]
    part: Vec<SheetPart>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SheetPart {
    name: String,
    amount: Figure,
    measure: String,
}

/// `0.75`, `20` or `"3/4"`.
#[derive(Deserialize)]
#[serde(untagged)]
enum Figure {
    Whole(i64),
    Decimal(f64),
    Text(String),
}

impl Figure {
    fn text(&self) -> String {
        match self {
            Self::Whole(n) => n.to_string(),
            Self::Decimal(x) => x.to_string(),
            Self::Text(text) => text.clone(),
        }
    }
}

#[derive(Serialize)]
struct MixedPart<'p> {
    name: &'p str,
    amount: f64,
    measure: Measure,
    /// Drops are an estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    ml: Option<f64>,
    estimate: bool,
}

#[derive(Serialize)]
struct Mixed<'p> {
    name: &'p str,
    make_ml: i64,
    life_days: i64,
    parts: Vec<MixedPart<'p>>,
    cautions: Vec<&'static str>,
}

fn read(file: &std::path::Path) -> Result<NewRecipe, Exit> {
    let text = std::fs::read_to_string(file).map_err(|why| Exit {
        code: NO_INPUT,
        sentence: format!("{} cannot be read ({why}): name a recipe's file.", file.display()),
    })?;
    let bad = |why: String| Exit { code: DATA, sentence: sentence(&format!("in {}: {why}", file.display())) };
    let sheet: Sheet = toml::from_str(&text).map_err(|why| bad(why.message().to_string()))?;
    let parts = sheet.part.into_iter().map(|part| {
        let amount = Amount::parse(&format!("{} {}", part.amount.text(), part.measure));
        amount.map(|amount| (part.name.clone(), amount)).map_err(|why| bad(format!("{}: {why}", part.name)))
    });
    let recipe =
        NewRecipe { name: sheet.name, ml: sheet.ml, life_d: sheet.life_days, parts: parts.collect::<Result<_, _>>()? };
    recipe.check().map_err(|(_, why)| bad(why))?;
    if let Some(why) = poison(recipe.parts.iter().map(|(name, _)| name.as_str())) {
        return Err(bad(why));
    }
    Ok(recipe)
}

pub fn mix(args: &MixArgs, show: &mut Show) -> Result<u8, Exit> {
    let recipe = read(&args.file)?;
    let make = args.make.unwrap_or(recipe.ml);
    if !(1..=ML_MAX).contains(&make) {
        return Err(usage("Make 1 mL to 1000 L: give --make in mL."));
    }
    let parts = scaled(recipe.parts.iter().map(|(name, amount)| (name.as_str(), *amount)), recipe.ml, make)
        .map_err(|why| usage(format!("For {make} mL {why}.")))?;
    let mut lines = vec![format!("{}, {make} mL, keeps {} d", recipe.name, recipe.life_d)];
    lines.extend(bench_lines(&parts, make).into_iter().map(|line| format!("  {line}")));
    let parts = parts.into_iter().map(|(name, amount)| MixedPart {
        name,
        amount: amount.number(),
        measure: amount.measure,
        ml: amount.ml(),
        estimate: amount.measure == Measure::Drop,
    });
    let said = cautions(recipe.parts.iter().map(|(name, _)| name.as_str()));
    let found = Mixed {
        name: &recipe.name,
        make_ml: make,
        life_days: recipe.life_d,
        parts: parts.collect(),
        cautions: said.clone(),
    };
    show.text_or_json(&cautioned(lines, &said), &found)?;
    Ok(0)
}
