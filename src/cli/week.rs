//! `week`: what the trays of a week or some days gave, what was lost, what differs.

use std::path::PathBuf;

use super::exit::{Exit, say, usage};
use super::records::format_for;
use super::show::Show;
use super::{Asked, Common, out};
use crate::domain::week::{self, Told};
use crate::domain::week_page::WeekPage;
use crate::report::week as report;

/// Columns of a page of text.
const WIDTH: usize = 110;

/// Which days, and where to.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A week such as 2026-W47, or days such as 2026-11-02..2026-11-22 [default: the last week that is over]
    #[arg(value_name = "WEEK")]
    period: Option<String>,
    /// A file that does not exist yet; its ending says how it is written: .html, .csv, .json or .txt [default: standard output]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub fn week(args: &Args, common: &Common, show: &mut Show) -> Result<u8, Exit> {
    let now = common.present();
    let period = match &args.period {
        Some(text) => week::parse(text, now.day()).map_err(usage)?,
        None => week::last(now.day()),
    };
    let format = format_for(args.out.as_deref(), common.format)?;
    let store = common.open()?;
    args.out.as_deref().map_or(Ok(()), out::refuse_taken)?;
    let board = store.board()?;
    let told = store.told(period, now)?;
    let page = week::page(&told, board.units(), &board.room_name, &board.racks);
    let data = written(&told, &page, format)?;
    match &args.out {
        None => show.file(&data)?,
        Some(file) => {
            out::new_file(file, &data)?;
            let hint =
                if format == Asked::Html { ": open it in a browser and print; paper fails when wet." } else { "." };
            say(&format!("The review of {} is in {}{hint}", week::span_words(period), file.display()));
        }
    }
    Ok(0)
}

fn written(told: &Told, page: &WeekPage, format: Asked) -> Result<Vec<u8>, Exit> {
    Ok(match format {
        Asked::Html | Asked::Epcis => report::html::page(page).into_bytes(),
        Asked::Csv => report::csv::table(page)?,
        Asked::Json => {
            #[derive(serde::Serialize)]
            struct All<'a> {
                sentences: &'a [String],
                #[serde(flatten)]
                told: &'a Told,
            }
            let mut text = serde_json::to_vec_pretty(&All { sentences: &page.sentences, told })?;
            text.push(b'\n');
            text
        }
        Asked::Text => (report::text::lines(page, WIDTH, false).join("\n") + "\n").into_bytes(),
    })
}
