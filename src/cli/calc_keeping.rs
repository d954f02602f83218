//! `calc shelf-life` and `calc mkt`: what is left of a life, and a mean temperature that says nothing of it.

use serde::Serialize;

use super::exit::{Exit, usage};
use super::show::Show;
use crate::domain::keeping::spent::{self, Spent};
use crate::domain::keeping::{Figure, Marks, Mean, NO_CLEARANCE, ONLY, SOURCE, typed};
use crate::domain::room::Units;
use crate::domain::units::Unit;

#[derive(Debug, clap::Args)]
pub struct ShelfLifeArgs {
    /// Days of life at a temperature in °C, such as 6=10; several, the warmer the shorter
    #[arg(long, value_name = "CELSIUS=DAYS", allow_hyphen_values = true)]
    anchor: Vec<String>,
    /// The only anchor: the rest by the rates of USDA Agriculture Handbook 66
    #[arg(long, value_name = "CELSIUS=DAYS", allow_hyphen_values = true)]
    reference: Option<String>,
    /// Time spent at a temperature in °C, such as 5d@4, 6h@20 or 30m@25; several, in order
    #[arg(long, value_name = "TIME@CELSIUS", allow_hyphen_values = true)]
    spent: Vec<String>,
    /// Temperature in °C at which the rest is to be kept
    #[arg(long, value_name = "CELSIUS", allow_hyphen_values = true)]
    plan: String,
    /// The crop is harmed by cold, as basil is: colder than 10 °C never lengthens its life
    #[arg(long)]
    chilling: bool,
}

#[derive(Debug, clap::Args)]
pub struct MktArgs {
    /// Readings at equal intervals in °C, such as 2,2,5,8
    #[arg(
        value_name = "CELSIUS",
        required_unless_present = "fahrenheit",
        conflicts_with = "fahrenheit",
        allow_hyphen_values = true
    )]
    readings: Option<String>,
    /// The same in °F
    #[arg(long, value_name = "FAHRENHEIT", allow_hyphen_values = true)]
    fahrenheit: Option<String>,
}

#[derive(Serialize)]
struct ShelfLife {
    /// Null if it froze.
    used: Option<f64>,
    /// Null where there is no number, as those below.
    left_days: Option<f64>,
    low_days: Option<f64>,
    high_days: Option<f64>,
    marks: Marks,
    life_days_at_plan: Option<f64>,
    note: &'static str,
}

pub fn shelf_life(args: &ShelfLifeArgs, show: &mut Show) -> Result<u8, Exit> {
    let units = Units::Metric;
    let typed = match (args.anchor.as_slice(), &args.reference) {
        ([], None) => return Err(usage("Give at least one --anchor such as 5=10, or a --reference.")),
        ([_, ..], Some(_)) => {
            return Err(usage("Give --anchor or --reference, not both: a reference is the only one."));
        }
        ([], Some(one)) => std::slice::from_ref(one),
        (several, None) => several,
    };
    let anchors = typed.iter().map(|text| spent::anchor(text, units)).collect::<Result<_, _>>().map_err(usage)?;
    let stays: Vec<_> =
        args.spent.iter().map(|text| spent::stay(text, units)).collect::<Result<_, _>>().map_err(usage)?;
    let plan_dc = spent::tenths(&args.plan, units).map_err(usage)?;
    let found = Spent::of(anchors, args.chilling, &stays, plan_dc, units).map_err(usage)?;
    let days = match found.figure {
        Figure::Hours { left, low, high } => [left, low, high].map(|hours| Some(hours / 24.0)),
        _ => [None; 3],
    };
    let [left_days, low_days, high_days] = days;
    let answer = ShelfLife {
        used: found.share(),
        left_days,
        low_days,
        high_days,
        marks: found.marks,
        life_days_at_plan: found.life_at_plan_d(),
        note: NO_CLEARANCE,
    };
    show.text_or_json(&found.lines(units), &answer)?;
    Ok(0)
}

#[derive(Serialize)]
struct MeanAnswer {
    readings: usize,
    mean_kinetic_c: f64,
    plain_mean_c: f64,
    source: &'static str,
    note: &'static str,
}

pub fn mkt(args: &MktArgs, show: &mut Show) -> Result<u8, Exit> {
    let (text, unit) = match (&args.fahrenheit, &args.readings) {
        (Some(text), _) => (text.as_str(), Unit::Fahrenheit),
        (None, text) => (text.as_deref().unwrap_or_default(), Unit::Celsius),
    };
    let readings = typed(text, unit).map_err(usage)?;
    let mean = Mean::of(&readings).ok_or_else(|| usage("Give at least one reading, such as 2,2,5,8."))?;
    let answer = MeanAnswer {
        readings: mean.readings,
        mean_kinetic_c: mean.kinetic_c,
        plain_mean_c: mean.plain_c,
        source: SOURCE,
        note: ONLY,
    };
    show.text_or_json(&mean.lines(Units::Metric), &answer)?;
    Ok(0)
}
