//! `today`: what wants someone, as one walks.

use std::path::PathBuf;

use serde::Serialize;

use super::Format;
use super::exit::{Exit, say};
use super::out::{self, html_file};
use super::show::Show;
use crate::domain::text::{columns, counted};
use crate::domain::time::{Day, Now};
use crate::domain::tray::{Sign, TrayCard};
use crate::report::sheet;
use crate::store::Store;
use crate::ui::fit::pad;

/// One tray that wants someone.
#[derive(Debug, Serialize)]
struct Row {
    room: String,
    place: String,
    tray: String,
    batch: String,
    crop: String,
    /// Days since sowing.
    day: i64,
    stage: &'static str,
    /// Words of all its signs, the most pressing first.
    what: String,
    expected: String,
    last_seen: String,
}

const HEADING: [&str; 10] = ["room", "place", "tray", "batch", "crop", "day", "stage", "what", "expected", "last_seen"];

impl Row {
    /// In the order of [`HEADING`].
    fn cells(self) -> [String; 10] {
        let Self { room, place, tray, batch, crop, day, stage, what, expected, last_seen } = self;
        [room, place, tray, batch, crop, day.to_string(), stage.into(), what, expected, last_seen]
    }
}

#[derive(Serialize)]
struct Sheet {
    room: String,
    today: Day,
    /// Racks nobody enters after a treatment, and until when.
    keep_out: Vec<String>,
    trays: Vec<Row>,
    /// Codes of trays nobody can find.
    missing: Vec<String>,
}

/// How the day is printed.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A blank walk sheet to print and fill in by hand, as HTML
    #[arg(long)]
    sheet: bool,
    /// The sheet's file, which does not exist yet [default: standard output]
    #[arg(long, value_name = "FILE.html", value_parser = html_file, requires = "sheet")]
    out: Option<PathBuf>,
}

pub fn today(args: &Args, store: &Store, now: Now, show: &mut Show) -> Result<u8, Exit> {
    let board = store.board()?;
    let today = now.day();
    if args.sheet {
        let page = sheet::page(&board, now);
        match &args.out {
            Some(out) => {
                out::new_file(out, page.as_bytes())?;
                say(&format!(
                    "The sheet is in {}: open it in a browser and print; paper fails when wet.",
                    out.display()
                ));
            }
            None => show.file(page.as_bytes())?,
        }
        return Ok(0);
    }
    let row = |tray: &TrayCard| {
        let mut what: Vec<String> = what(tray, now).into_iter().map(String::from).collect();
        // above the table of the text stands the same
        let out = board.kept_out_of(tray, now).filter(|_| !what.is_empty() && show.format != Format::Text);
        what.splice(0..0, out);
        (!what.is_empty()).then(|| Row {
            room: board.room_code.clone(),
            place: tray.stands(),
            tray: tray.code(),
            batch: tray.sowing_code.clone(),
            crop: tray.crop_name.clone(),
            day: tray.day(today),
            stage: tray.stage_words(now),
            what: what.join(", "),
            expected: tray.plan.words_on(tray.day(today)),
            last_seen: tray.last.as_ref().map_or_else(String::new, |last| format!("{}: {}", last.day, last.words())),
        })
    };
    let rows: Vec<Row> = board.trays.iter().filter_map(row).collect();
    let keep_out: Vec<String> = board.kept_out(now).map(|out| out.words(now)).collect();
    let missing = board.missing.iter().map(|missing| missing.tray.code()).collect();
    match show.format {
        Format::Csv => show.csv(&HEADING, rows.into_iter().map(Row::cells))?,
        Format::Json => show.json(&Sheet { room: board.room_name, today, keep_out, trays: rows, missing })?,
        Format::Text => {
            for out in keep_out {
                show.line(&format!("STOP: {out}"))?;
            }
            text(&board.room_name, today, &rows, show)?;
            for missing in &board.missing {
                let (code, crop) = (missing.tray.code(), &missing.tray.crop_name);
                show.line(&format!("missing  {code}  {crop}  {}", missing.words(now)))?;
            }
        }
    }
    Ok(0)
}

/// Everything a tray wants today.
fn what(tray: &TrayCard, now: Now) -> Vec<&'static str> {
    let today = now.day();
    let late = tray.look_late(today);
    let wants = [
        (tray.held, Sign::Held),
        (tray.doubtful(), Sign::Suspect),
        (late, Sign::Late),
        (tray.look_due(today) && !late, Sign::Due),
        (tray.ready(today) && tray.waits(now), Sign::Waiting),
        (tray.may_be_cut(now), Sign::Ready),
    ];
    wants.into_iter().filter(|(so, _)| *so).map(|(_, sign)| sign.shown()).collect()
}

fn text(room: &str, today: Day, rows: &[Row], show: &mut Show) -> Result<(), Exit> {
    if rows.is_empty() {
        return show.line(&format!("{room}, {today}: nothing is due."));
    }
    show.line(&format!("{room}, {today}: {}", counted(rows.len(), "tray")))?;
    // columns as wide as what stands in them
    let wide = |of: fn(&Row) -> &str| rows.iter().map(|row| columns(of(row))).max().unwrap_or(0);
    let (places, crops, whats) = (wide(|r| &r.place), wide(|r| &r.crop), wide(|r| &r.what));
    for row in rows {
        show.line(&format!(
            "{}  {}  {}  day {:>2}  {}  {}",
            pad(&row.place, places),
            row.tray,
            pad(&row.crop, crops),
            row.day,
            pad(&row.what, whats),
            row.expected
        ))?;
    }
    Ok(())
}
