//! What runs out first, of everything: packs, cut greens, trays, mixes, seed; with what is promised of it.

use super::countdown::now_s;
use super::{countdown, room};
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::model::{Model, Screen};
use crate::domain::forecast::Window;
use crate::domain::id::{LotId, ProductId};
use crate::domain::keeping::{Figure, Left};
use crate::domain::lot::{Kind as LotKind, Lot};
use crate::domain::shelf_life::{Kind, Only, RunsOut};
use crate::domain::time::Day;

/// Where the cursor is, and what the list is narrowed to.
#[derive(Debug, Clone, Copy, Default)]
pub struct State {
    pub at: usize,
    pub only: Option<Only>,
}

/// What a row is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Lot(LotId),
    /// The line of the board with this number.
    Other(usize),
}

/// One row: what it is, how long it keeps, and what is promised of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub what: What,
    pub only: Only,
    pub code: String,
    /// HELD before it where it is.
    pub name: String,
    /// What is to be said beside its figure.
    pub marks: Vec<&'static str>,
    pub amount: String,
    /// The last day of it, by its label, plan or papers.
    pub until: Option<Day>,
    /// Hours until it runs out; what wants someone stands before all of them.
    pub hours: f64,
    /// `3.2 d`, `40 h`, `PAST`, `FREEZING`.
    pub left: String,
    /// `1.9-4.5 d`, or nothing.
    pub band: String,
    /// Of lots: how much of the product is promised, and whether the promise outlasts it.
    pub promised: Option<(i64, bool)>,
    /// When trays will probably be ready instead.
    pub forecast: Option<Window>,
    /// Share of its time used, of ten.
    pub tenths: i64,
    /// Someone has to look at it.
    pub grave: bool,
}

/// Hours from now to the end of a day.
fn hours_to(model: &Model, until: Day) -> f64 {
    let end = until + chrono::Duration::days(1);
    #[expect(clippy::cast_precision_loss, reason = "minutes of some years")]
    let minutes = end.and_hms_opt(0, 0, 0).map_or(0, |end| (end - model.now.0.naive_local()).num_minutes()) as f64;
    minutes / 60.0
}

/// Every row, the most urgent first.
pub fn rows(model: &Model, only: Option<Only>) -> Vec<Row> {
    let mut rows: Vec<Row> = model.goods.lots.iter().map(|lot| of_lot(model, lot)).collect();
    let others = model.board.runs_out.iter().enumerate().filter(|(_, line)| line.kind != Kind::Lot);
    rows.extend(others.map(|(n, line)| of_line(model, n, line)));
    rows.retain(|row| only.is_none_or(|only| only == Only::All || row.only == only));
    rows.sort_by(|a, b| (a.hours, &a.code).partial_cmp(&(b.hours, &b.code)).unwrap_or(std::cmp::Ordering::Equal));
    rows
}

/// The later day an order wants a product for, and how much all of them want of it.
fn promised(model: &Model, product: ProductId) -> (i64, Option<Day>) {
    let today = model.today();
    let orders = model.goods.orders.iter().filter(|order| order.day >= today);
    let open = orders.filter(|order| order.lines.iter().any(|line| line.product == product && line.open() > 0));
    (model.goods.promised(product, today), open.map(|order| order.day).max())
}

fn of_lot(model: &Model, lot: &Lot) -> Row {
    let today = model.today();
    let left = model.cold.left(lot.id, now_s(model));
    let by_day = lot.best_before.map(|day| hours_to(model, day));
    let mut hours = by_day.unwrap_or(f64::MAX);
    let (mut words, mut band) =
        (lot.best_before.map_or_else(|| "no day".to_string(), |_| lot.life(today)), String::new());
    let mut early = by_day;
    let mut used = None;
    if let Some(left) = &left {
        used = Some(left.used);
        // it goes out by what it still keeps; without anchors only the day on the label is known
        if left.figure != Figure::NoAnchors {
            hours = left.urgency();
            (words, band) = (short(left), band_words(left));
            // on the last day of its label it has to go, whatever it keeps
            if let Some(by_day) = by_day.filter(|by_day| *by_day < hours && *by_day < 48.0) {
                (hours, words) = (by_day, lot.life(today));
            }
        }
        if let Figure::Hours { low, .. } = left.figure {
            early = early.map_or(Some(low), |by_day| Some(by_day.min(low)));
        }
    }
    if lot.past(today) {
        (words, hours) = ("PAST".into(), hours.min(-4.0));
    }
    let (amount, only) = match lot.kind {
        LotKind::Harvest => (model.board.units().weight(lot.grams * 1000), Only::Cut),
        LotKind::Pack if lot.packs == 0 => (format!("{} out", lot.out_packs), Only::Packs),
        LotKind::Pack => (if lot.packs == 1 { "1 pack".into() } else { format!("{} packs", lot.packs) }, Only::Packs),
    };
    let promised = lot.product.map(|product| promised(model, product)).filter(|(n, _)| *n > 0).map(|(n, last)| {
        let outlasts = last.zip(early).is_some_and(|(day, early)| early < hours_to(model, day) - 24.0);
        (n, outlasts)
    });
    let silent =
        !matches!(left.as_ref().map(|left| &left.figure), Some(Figure::Hours { .. } | Figure::NoAnchors) | None);
    #[expect(clippy::cast_possible_truncation, reason = "a share of ten")]
    let tenths = (used.unwrap_or(0.0) * 10.0).clamp(0.0, 10.0) as i64;
    Row {
        what: What::Lot(lot.id),
        only,
        code: lot.code.clone(),
        name: called(&lot.name, lot.held),
        marks: left.as_ref().map_or_else(Vec::new, |left| left.marks.words()),
        amount,
        until: lot.best_before,
        hours,
        left: words,
        band,
        promised,
        forecast: None,
        tenths,
        grave: lot.past(today) || lot.held || silent,
    }
}

/// Days over which a bar runs: trays within a fortnight, a mix within a month, seed within a year.
fn span(kind: Kind) -> i64 {
    match kind {
        Kind::Trays | Kind::Lot => 14,
        Kind::Seed => 365,
        Kind::Mix => 30,
    }
}

fn called(name: &str, held: bool) -> String {
    if held { format!("HELD {name}") } else { name.to_owned() }
}

fn of_line(model: &Model, n: usize, line: &RunsOut) -> Row {
    let today = model.today();
    Row {
        what: What::Other(n),
        only: match line.kind {
            Kind::Trays => Only::Trays,
            Kind::Seed => Only::Seed,
            Kind::Mix => Only::Mixes,
            Kind::Lot => Only::Packs,
        },
        code: line.code.clone(),
        name: called(&line.name, line.held),
        marks: Vec::new(),
        amount: line.amount.clone(),
        until: Some(line.until),
        hours: hours_to(model, line.until),
        left: line.words(today),
        band: String::new(),
        promised: None,
        forecast: line.forecast,
        tenths: line.tenths_used(today, span(line.kind)),
        grave: line.days_left(today) < 0,
    }
}

fn short(left: &Left) -> String {
    match left.figure {
        Figure::Hours { left, .. } if left < 48.0 => format!("{:.0} h", left.floor()),
        Figure::Hours { left, .. } => format!("{:.1} d", left / 24.0),
        Figure::Freezing => "FREEZING".into(),
        Figure::Unknown => "UNKNOWN".into(),
        Figure::NoRecord => "NO RECORD".into(),
        Figure::NoAnchors => String::new(),
    }
}

fn band_words(left: &Left) -> String {
    match left.figure {
        Figure::Hours { left, low, high } if left < 48.0 => format!("{:.0}-{:.0} h", low.floor(), high.floor()),
        Figure::Hours { low, high, .. } if high >= 240.0 => format!("{:.0}-{:.0} d", low / 24.0, high / 24.0),
        Figure::Hours { low, high, .. } => format!("{:.1}-{:.1} d", low / 24.0, high / 24.0),
        _ => String::new(),
    }
}

fn state_mut(model: &mut Model) -> Option<&mut State> {
    match model.screens.last_mut() {
        Some(Screen::ShelfLife(state)) => Some(state),
        _ => None,
    }
}

pub fn open(model: &mut Model) {
    model.open(Screen::ShelfLife(State::default()));
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::ShelfLife(state)) = model.top().cloned() else { return vec![] };
    let all = rows(model, state.only);
    let last = all.len().saturating_sub(1);
    let at = state.at.min(last);
    let to = match command {
        Command::Up => at.saturating_sub(1),
        Command::Down => (at + 1).min(last),
        Command::PageUp => at.saturating_sub(10),
        Command::PageDown => (at + 10).min(last),
        _ => at,
    };
    if let Some(state) = state_mut(model) {
        state.at = to;
    }
    match command {
        Command::Only(only) => {
            if let Some(state) = state_mut(model) {
                *state = State { at: 0, only: Some(only) };
            }
        }
        Command::Back => model.back(),
        Command::Open | Command::Why => return about(model, all.get(at)),
        _ => {}
    }
    vec![]
}

/// The sum behind a lot's figure, or the batch on its rack.
fn about(model: &mut Model, row: Option<&Row>) -> Vec<Effect> {
    match row.map(|row| row.what) {
        Some(What::Lot(lot)) => countdown::open(model, lot),
        Some(What::Other(n)) => {
            let Some(line) = model.board.runs_out.get(n).cloned() else { return vec![] };
            let tray = model.board.trays.iter().find(|tray| tray.sowing_code == line.code).map(|tray| tray.id);
            if let (Kind::Trays, Some(tray)) = (line.kind, tray) {
                model.back();
                return room::jump(model, tray);
            }
            model.say(format!("{} {}: {} until {}.", line.code, line.name, line.amount, line.until));
        }
        None => {}
    }
    vec![]
}
