//! `calc air`, `calc light`, `calc proportion`: sums about the room and its counts.

use serde::Serialize;

use super::exit::{Exit, sentence, usage};
use super::show::Show;
use crate::domain::air::Air;
use crate::domain::light::daily_mol;
use crate::domain::proportion::Share;

#[derive(Debug, clap::Args)]
pub struct AirArgs {
    /// Temperature of the air in °C
    #[arg(long, value_name = "CELSIUS", required_unless_present = "fahrenheit", conflicts_with = "fahrenheit", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    temp: Option<f64>,
    /// The same in °F
    #[arg(long, value_name = "FAHRENHEIT", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    fahrenheit: Option<f64>,
    /// Relative humidity in per cent
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    rh: f64,
}

#[derive(Debug, clap::Args)]
pub struct LightArgs {
    /// Light on the tray in µmol per m² and second
    #[arg(long, value_name = "UMOL", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    ppfd: f64,
    /// Hours of light a day
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true, value_parser = super::calc::decimal)]
    hours: f64,
}

#[derive(Debug, clap::Args)]
pub struct ProportionArgs {
    /// Such as 3/12: three of twelve
    #[arg(value_name = "X/N")]
    share: String,
}

#[derive(Serialize)]
struct AirAnswer {
    temp_c: f64,
    rh_pct: f64,
    dew_point_c: f64,
    vapour_kpa: f64,
    vpd_kpa: f64,
    mould_weather: bool,
    source: &'static str,
}

pub fn air(args: &AirArgs, show: &mut Show) -> Result<u8, Exit> {
    let temp_c = args.temp.or(args.fahrenheit.map(|f| (f - 32.0) / 1.8)).unwrap_or(f64::NAN);
    let air = Air::new(temp_c, args.rh).map_err(|why| usage(sentence(&why.to_string())))?;
    let answer = AirAnswer {
        temp_c,
        rh_pct: args.rh,
        dew_point_c: air.dew_point_c(),
        vapour_kpa: air.vapour_kpa(),
        vpd_kpa: air.deficit_kpa(),
        mould_weather: air.mould_weather(),
        source: "FAO-56 (1998), equations 11, 12, 14",
    };
    let weather = if answer.mould_weather {
        "Grey mould likes this air: 85 % and more at 13 to 24 °C (UMass Extension)."
    } else {
        "Not the air of grey mould; that clears no tray."
    };
    let lines = [
        format!("dew point {:.2} °C: a lid colder than that drips", answer.dew_point_c),
        format!("drying power {:.3} kPa (vapour pressure deficit)", answer.vpd_kpa),
        format!("water in the air {:.3} kPa", answer.vapour_kpa),
        weather.to_string(),
        format!("By {}. It is the air of the room, not that under a cover.", answer.source),
    ];
    show.text_or_json(&lines, &answer)?;
    Ok(0)
}

#[derive(Serialize)]
struct LightAnswer {
    ppfd_umol: f64,
    hours: f64,
    daily_mol: f64,
}

pub fn light(args: &LightArgs, show: &mut Show) -> Result<u8, Exit> {
    let daily_mol = daily_mol(args.ppfd, args.hours).map_err(|why| usage(sentence(&why.to_string())))?;
    let answer = LightAnswer { ppfd_umol: args.ppfd, hours: args.hours, daily_mol };
    let lines = [
        format!("{daily_mol:.2} mol per m² and day"),
        format!("  {} µmol x {} h x 0.0036; covered days add none", args.ppfd, args.hours),
    ];
    show.text_or_json(&lines, &answer)?;
    Ok(0)
}

pub fn proportion(args: &ProportionArgs, show: &mut Show) -> Result<u8, Exit> {
    let shape = || usage(format!("{:?} is no x of n: write it such as 3/12.", args.share));
    let (x, n) = args.share.split_once('/').ok_or_else(shape)?;
    let number = |text: &str| text.trim().parse::<u64>().map_err(|_| shape());
    let share = Share::of(number(x)?, number(n)?).map_err(|why| usage(sentence(&why.to_string())))?;
    let lines = [share.words(), "  95 % interval by Wilson's score, without correction".to_string()];
    show.text_or_json(&lines, &share)?;
    Ok(0)
}
