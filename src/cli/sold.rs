//! `lists` and `note`: what is cut, packed and brought today, and the paper that goes with a delivery.

use std::path::PathBuf;

use super::exit::{Exit, NO_INPUT, say};
use super::out::{self, html_file};
use super::show::Show;
use crate::domain::id::DeliveryId;
use crate::domain::time::{Day, Now};
use crate::domain::today;
use crate::report::{lists, note};
use crate::store::Store;

/// Which day's lists, and where to.
#[derive(Debug, clap::Args)]
pub struct Lists {
    /// The day [default: today]
    #[arg(long, value_name = "DATE", value_parser = |text: &str| text.parse::<Day>().map_err(|_| "write the day like 2026-07-15"))]
    day: Option<Day>,
    /// A page to print, a file that does not exist yet
    #[arg(long, value_name = "FILE.html", value_parser = html_file)]
    out: Option<PathBuf>,
}

/// Which delivery's note, and where to.
#[derive(Debug, clap::Args)]
pub struct Note {
    /// The number of the delivery, as the screen tells it
    #[arg(value_name = "DELIVERY")]
    delivery: i64,
    /// A page to print, a file that does not exist yet
    #[arg(long, value_name = "FILE.html", value_parser = html_file)]
    out: Option<PathBuf>,
}

pub fn lists(args: &Lists, store: &Store, now: Now, show: &mut Show) -> Result<u8, Exit> {
    let day = args.day.unwrap_or(now.day());
    let (board, goods) = (store.board()?, store.goods(day)?);
    let lists = today::lists(&board, &goods, day);
    if let Some(file) = &args.out {
        return page(file, &lists::page(&lists, &board.room_name, board.units()));
    }
    show.text_or_json(&lists.lines(board.units()), &lists)?;
    Ok(0)
}

pub fn note(args: &Note, store: &Store, show: &mut Show) -> Result<u8, Exit> {
    let Some(delivery) = store.delivery(DeliveryId(args.delivery))? else {
        let sentence = format!("There is no delivery {} in the book: its number stands in the log.", args.delivery);
        return Err(Exit { code: NO_INPUT, sentence });
    };
    let board = store.board()?;
    let from = note::From::of(&board);
    if let Some(file) = &args.out {
        return page(file, &note::page(&delivery, &from, board.units()));
    }
    show.text_or_json(&note::text(&delivery, &from, board.units()), &(&delivery, &from))?;
    Ok(0)
}

fn page(file: &std::path::Path, page: &str) -> Result<u8, Exit> {
    out::new_file(file, page.as_bytes())?;
    say(&format!("The page is in {}: open it in a browser and print; paper fails when wet.", file.display()));
    Ok(0)
}
