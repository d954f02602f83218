//! `calc fuzz`: what signs come to, with their points.

use serde::Serialize;

use super::super::exit::{Exit, usage};
use super::super::show::Show;
use crate::domain::fuzz::{Judgement, OURS, Points, Sign, Signs, Verdict, Weight, judge, open_questions};

#[derive(Debug, clap::Args)]
pub struct Fuzz {
    /// A sign that is seen; once for each
    #[arg(long = "sign", value_name = "SIGN", required = true, long_help = listed())]
    signs: Vec<String>,
}

fn listed() -> String {
    let lines = Sign::ALL.iter().map(|sign| format!("{}: {}", word(*sign), sign.shown()));
    format!("A sign that is seen; once for each\n\n{}", lines.collect::<Vec<_>>().join("\n"))
}

/// The word on the command line.
fn word(sign: Sign) -> String {
    sign.stored().replace('_', "-")
}

#[derive(Serialize)]
struct Weighed {
    sign: Sign,
    #[serde(flatten)]
    weight: Weight,
}

#[derive(Serialize)]
struct Answer {
    #[serde(flatten)]
    judgement: Judgement,
    suspect: bool,
    signs: Vec<Weighed>,
    /// Signs that could still change it.
    still_open: Vec<Sign>,
    points_from: &'static str,
}

pub fn fuzz(args: &Fuzz, show: &mut Show) -> Result<u8, Exit> {
    let mut signs = Signs::default();
    for typed in &args.signs {
        signs = signs.with(sign(typed)?);
    }
    let points = Points::default();
    let judgement = judge(signs, &points).map_err(|refusal| usage(refusal.sentence))?;
    let found = Answer {
        suspect: judgement.verdict.is_suspect(),
        judgement,
        signs: signs.iter().map(|sign| Weighed { sign, weight: points.of(sign) }).collect(),
        still_open: open_questions(signs, &points),
        points_from: OURS,
    };
    show.text_or_json(&lines(&found), &found)?;
    Ok(0)
}

fn sign(typed: &str) -> Result<Sign, Exit> {
    Sign::from_stored(&typed.to_lowercase().replace('-', "_")).ok_or_else(|| {
        let known: Vec<String> = Sign::ALL.iter().map(|sign| word(*sign)).collect();
        usage(format!("There is no sign {typed:?}: choose of {}.", known.join(", ")))
    })
}

fn lines(found: &Answer) -> Vec<String> {
    let judgement = &found.judgement;
    let suspect = match judgement.verdict {
        Verdict::Hairs => "",
        verdict if verdict.is_bad() => ": suspect, not for sale",
        _ => ": suspect until it is known",
    };
    let mut lines = vec![format!("{}{suspect}", judgement.verdict.shown()), format!("  {}", judgement.why)];
    lines.push(format!("  {}", judgement.points()));
    lines.extend(found.signs.iter().map(|Weighed { sign, weight }| {
        format!("    {:+3} {:+3} {:+3}  {}", weight.hair, weight.mould, weight.rot, sign.shown())
    }));
    let open: Vec<String> = found.still_open.iter().take(4).map(|sign| word(*sign)).collect();
    if !open.is_empty() {
        lines.push(format!("  could still change it: {}", open.join(", ")));
    }
    lines.push(format!("  {OURS}"));
    lines
}
