//! `labels`: what stands on trays, seed jars and spray bottles, as one HTML file to print.

use std::path::PathBuf;

use clap::ValueEnum;

use super::Common;
use super::exit::{DATA, Exit, NO_INPUT, say, usage};
use super::out::{self, html_file};
use crate::domain::code::{Code, Kind, within_one_edit};
use crate::domain::goods::Goods;
use crate::domain::lot::{Kind as LotKind, Lot};
use crate::domain::seed_lot::SeedLot;
use crate::domain::text::{clean_line, counted};
use crate::domain::time::Day;
use crate::domain::tray::TrayCard;
use crate::report::labels::{Bottle, Gs1, Label, NAME_COLUMNS, Printer, Roll, Sheet, page};
use crate::store::Store;

/// What is labelled.
#[derive(Debug, clap::Subcommand)]
pub enum Labels {
    /// Labels of trays that stand in the room
    Trays {
        /// Codes of trays, such as T0001-W; a code given twice is printed twice
        #[arg(value_name = "CODE", required_unless_present = "today")]
        codes: Vec<String>,
        /// The trays sown today
        #[arg(long, conflicts_with = "codes")]
        today: bool,
        #[command(flatten)]
        paper: Paper,
    },
    /// Labels of seed jars
    Jars {
        /// Codes of seed lots, such as S0042-9; a code given twice is printed twice
        #[arg(value_name = "CODE", required_unless_present = "all")]
        codes: Vec<String>,
        /// Every lot of which something is left
        #[arg(long, conflicts_with = "codes")]
        all: bool,
        #[command(flatten)]
        paper: Paper,
    },
    /// Labels of packs, one for each pack that is there
    Packs {
        /// Codes of pack lots, such as PEA-260712-A-V
        #[arg(value_name = "CODE", required_unless_present = "today")]
        codes: Vec<String>,
        /// The lots packed today
        #[arg(long, conflicts_with = "codes")]
        today: bool,
        /// A web address instead of a matrix, where a company prefix is licensed
        #[arg(long)]
        link: bool,
        #[command(flatten)]
        paper: Paper,
    },
    /// Labels of tubs that harvest lots stand in
    Tubs {
        /// Codes of harvest lots, such as PEA-260712-A-V
        #[arg(value_name = "CODE", required_unless_present = "today")]
        codes: Vec<String>,
        /// The lots cut today
        #[arg(long, conflicts_with = "codes")]
        today: bool,
        #[command(flatten)]
        paper: Paper,
    },
    /// The label of a spray bottle; its product's label and local rules decide about its use
    Bottle {
        /// What is in it
        #[arg(long, value_name = "TEXT", value_parser = |text: &str| short(text, NAME_COLUMNS))]
        contents: String,
        /// The day it was mixed
        #[arg(long, value_name = "DATE", value_parser = day)]
        made: Day,
        /// The last day it may be used
        #[arg(long, value_name = "DATE", value_parser = day)]
        expires: Day,
        /// Said beside the caution that every bottle carries
        #[arg(long, value_name = "TEXT", value_parser = |text: &str| short(text, CAUTION))]
        caution: Option<String>,
        #[command(flatten)]
        paper: Paper,
    },
}

/// What is printed on, and where the page goes.
#[derive(Debug, clap::Args)]
pub struct Paper {
    /// Labels on a page [default: a4-24]
    #[arg(long, value_enum)]
    sheet: Option<SheetName>,
    /// Width x height of a label on a roll, in millimetres [default: 62x29]
    #[arg(long, value_name = "WxH", value_parser = str::parse::<Roll>)]
    roll: Option<Roll>,
    /// The page to print, a file that does not exist yet. Paper labels fail when wet: use film or sleeves
    #[arg(long, value_name = "FILE.html", value_parser = html_file)]
    out: PathBuf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SheetName {
    #[value(name = "a4-24")]
    A4x24,
    #[value(name = "a4-12")]
    A4x12,
    #[value(name = "letter-24")]
    Letter24,
    #[value(name = "letter-12")]
    Letter12,
    /// One label per page
    Roll,
}

impl Paper {
    /// Nothing was chosen.
    fn is_open(&self) -> bool {
        self.sheet.is_none() && self.roll.is_none()
    }

    fn sheet(&self) -> Result<Sheet, Exit> {
        match (self.sheet, self.roll) {
            (None | Some(SheetName::Roll), Some(roll)) => Ok(Sheet::roll(roll)),
            (Some(_), Some(_)) => Err(usage("--roll is the size of labels on a roll: leave --sheet out, or roll.")),
            (Some(SheetName::Roll), None) => Ok(Sheet::roll(Roll::default())),
            (None | Some(SheetName::A4x24), None) => Ok(Sheet::A4_24),
            (Some(SheetName::A4x12), None) => Ok(Sheet::A4_12),
            (Some(SheetName::Letter24), None) => Ok(Sheet::LETTER_24),
            (Some(SheetName::Letter12), None) => Ok(Sheet::LETTER_12),
        }
    }
}

pub fn labels(what: &Labels, common: &Common) -> Result<u8, Exit> {
    let (Labels::Trays { paper, .. }
    | Labels::Jars { paper, .. }
    | Labels::Packs { paper, .. }
    | Labels::Tubs { paper, .. }
    | Labels::Bottle { paper, .. }) = what;
    let dense = matches!(what, Labels::Packs { .. } | Labels::Tubs { .. });
    // packs have much to say: unless something else is chosen, on the larger labels
    let sheet = if dense && paper.is_open() { Sheet::A4_12 } else { paper.sheet()? };
    out::refuse_taken(&paper.out)?;
    let (title, labels) = match what {
        Labels::Trays { codes, .. } => ("Tray labels", trays(codes, common)?),
        Labels::Jars { codes, .. } => ("Seed jar labels", jars(codes, common)?),
        Labels::Packs { codes, link, .. } => ("Pack labels", lots(codes, LotKind::Pack, *link, common)?),
        Labels::Tubs { codes, .. } => ("Tub labels", lots(codes, LotKind::Harvest, false, common)?),
        Labels::Bottle { contents, made, expires, caution, .. } => {
            if expires < made {
                return Err(usage("A bottle cannot expire before it was made: look at both dates."));
            }
            let caution = caution.clone().unwrap_or_default();
            let bottle = Bottle { contents: contents.clone(), made: *made, expires: *expires, caution };
            ("Spray bottle label", vec![Label::bottle(&bottle)])
        }
    };
    out::new_file(&paper.out, page(title, &labels, &sheet).as_bytes())?;
    let n = counted(labels.len(), "label");
    say(&format!("{n} in {}: open it in a browser and print; paper fails when wet.", paper.out.display()));
    Ok(0)
}

/// The trays of the codes, or without codes those sown today, in walking order.
fn trays(codes: &[String], common: &Common) -> Result<Vec<Label>, Exit> {
    let board = common.open()?.board()?;
    let label = |tray: &TrayCard| Label::tray(tray, &board.room_code);
    if codes.is_empty() {
        let today = common.present().day();
        let labels: Vec<Label> = board.trays.iter().filter(|tray| tray.sown == today).map(label).collect();
        return some(labels, || format!("No tray in the room was sown on {today}: give codes of trays instead."));
    }
    let known: Vec<(Code, &TrayCard)> = board.in_room().map(|tray| (Code::tray(tray.id.0), tray)).collect();
    codes.iter().map(|typed| find(typed, Kind::Tray, &known).map(&label)).collect()
}

/// The lots of the codes, or without codes all of which something is left, in the order of use.
fn jars(codes: &[String], common: &Common) -> Result<Vec<Label>, Exit> {
    let store = common.open()?;
    let (lots, room_code) = (store.seed_lots()?, store.board()?.room_code);
    let label = |lot: &SeedLot| Label::jar(lot, &room_code);
    if codes.is_empty() {
        let labels: Vec<Label> = lots.iter().filter(|lot| lot.left_mg > 0).map(label).collect();
        return some(labels, || "No seed is left: give codes of seed lots instead.".into());
    }
    let known: Vec<(Code, &SeedLot)> = lots.iter().map(|lot| (Code::seed_lot(lot.id.0), lot)).collect();
    codes.iter().map(|typed| find(typed, Kind::SeedLot, &known).map(&label)).collect()
}

/// Lots of the codes, or without codes those of today; of packs one label each.
fn lots(codes: &[String], kind: LotKind, link: bool, common: &Common) -> Result<Vec<Label>, Exit> {
    let (store, today) = (common.open()?, common.present().day());
    let (board, goods) = (store.board()?, store.goods(today)?);
    let mut found = if codes.is_empty() { store.lots_of(kind, today)? } else { vec![] };
    for typed in codes {
        found.push(lot(typed, kind, &store, &goods)?);
    }
    let gs1 = if link { Gs1::Link } else { Gs1::Matrix };
    let printer = Printer { sender: &board.sender, room_code: &board.room_code, units: board.units(), gs1 };
    let mut labels = Vec::new();
    for lot in &found {
        let all = printer.all(lot, lot.product.and_then(|id| goods.product(id)));
        let wrong = |why: String| Exit { code: DATA, sentence: format!("{}: {why} Nothing was written.", lot.code) };
        labels.extend(all.map_err(wrong)?);
    }
    some(labels, || format!("No {} was made on {today}: give codes of lots instead.", kind.shown()))
}

/// The lot of a typed code; an old code gives the lot that took it over.
fn lot(typed: &str, kind: LotKind, store: &Store, goods: &Goods) -> Result<Lot, Exit> {
    let shown = clean_line(typed, 40).text;
    let near = || {
        let near = within_one_edit(typed, goods.lots.iter().map(|lot| lot.code.as_str()));
        if near.is_empty() { String::new() } else { format!(" Is it {}?", near.join(" or ")) }
    };
    let code = Code::parse(typed).map_err(|why| usage(format!("{shown}: {why}.{} Nothing was written.", near())))?;
    let found = if code.kind() == Kind::Lot { store.lot_of_code(code.body())? } else { None };
    match found {
        Some((lot, _)) if lot.kind == kind => Ok(lot),
        Some((lot, _)) => {
            Err(usage(format!("{shown} is a {}, and a {} is wanted here.", lot.kind.shown(), kind.shown())))
        }
        None => Err(usage(format!("{shown}: no such lot is in the book.{} Nothing was written.", near()))),
    }
}

fn some(labels: Vec<Label>, none: impl FnOnce() -> String) -> Result<Vec<Label>, Exit> {
    if labels.is_empty() { Err(Exit { code: NO_INPUT, sentence: none() }) } else { Ok(labels) }
}

/// What a typed code stands for; a refusal offers the codes one edit away and takes none of them by itself.
fn find<'a, T>(typed: &str, kind: Kind, known: &[(Code, &'a T)]) -> Result<&'a T, Exit> {
    let shown = clean_line(typed, 40).text;
    let why = match Code::parse(typed) {
        Ok(code) if code.kind() != kind => {
            return Err(usage(format!("{shown} is a {}, and a {} is wanted here.", noun(code.kind()), noun(kind))));
        }
        Ok(code) => match known.iter().find(|(known, _)| *known == code) {
            Some((_, found)) => return Ok(found),
            None => {
                format!("no such {} is in the {}", noun(kind), if kind == Kind::Tray { "room now" } else { "book" })
            }
        },
        Err(why) => why.to_string(),
    };
    let codes: Vec<String> = known.iter().map(|(code, _)| code.shown()).collect();
    let near = within_one_edit(typed, codes.iter().map(String::as_str));
    let near = if near.is_empty() { String::new() } else { format!(" Is it {}?", near.join(" or ")) };
    Err(usage(format!("{shown}: {why}.{near} Nothing was written.")))
}

fn noun(kind: Kind) -> &'static str {
    match kind {
        Kind::Tray => "tray",
        Kind::SeedLot => "seed lot",
        Kind::Sowing => "batch",
        Kind::Mix => "mix",
        Kind::Lot => "harvest or pack lot",
    }
}

fn day(text: &str) -> Result<Day, String> {
    text.parse().map_err(|_| "write the day like 2026-07-15".into())
}

/// Graphemes of a bottle's own caution; more would push the dates off a small label.
const CAUTION: usize = 60;

/// A text that fits its place on a bottle's label.
fn short(text: &str, most: usize) -> Result<String, String> {
    let cleaned = clean_line(text.trim(), most);
    if cleaned.cut {
        Err(format!("at most {most} characters fit on the label"))
    } else if cleaned.text.is_empty() {
        Err("say something".into())
    } else {
        Ok(cleaned.text)
    }
}
