//! What stands behind the sentences, line by line: each figure with its count, and what it opens.

mod crops;
mod differ;
mod drift;
mod sold;
mod why;

use super::facts::Weighing;
use super::review::Told;
use super::words::sentences;
use crate::domain::id::{CropId, LotId, OrderId, TrayId};
use crate::domain::room::Units;

/// A page of the review.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// The five sentences.
    Plain,
    Crops,
    Crop(CropId),
    Losses,
    Drift,
    Differ,
    Sold,
    /// How it was counted and compared.
    Why,
    Pictures,
}

/// What a line opens.
#[derive(Debug, Clone, PartialEq)]
pub enum Open {
    Part(Part),
    /// Trays, each with its story.
    Trays(String, Vec<TrayId>),
    /// One weight of a harvest lot.
    Weight(Box<Weighing>),
    Lot(LotId, String),
    /// An order, by whom and when it is wanted.
    Order(OrderId, String),
}

impl Open {
    /// Whether both open one thing, though it may count otherwise by now.
    pub fn same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Weight(one), Self::Weight(other)) => (one.lot, one.own) == (other.lot, other.own),
            (Self::Trays(one, _), Self::Trays(other, _)) => one == other,
            _ => self == other,
        }
    }
}

/// A line of a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub text: String,
    pub opens: Option<Open>,
}

impl Line {
    pub fn said(text: impl Into<String>) -> Self {
        Self { text: text.into(), opens: None }
    }

    pub fn opening(text: impl Into<String>, opens: Open) -> Self {
        Self { text: text.into(), opens: Some(opens) }
    }

    fn trays(text: impl Into<String>, title: impl Into<String>, trays: &[TrayId]) -> Self {
        if trays.is_empty() { Self::said(text) } else { Self::opening(text, Open::Trays(title.into(), trays.to_vec())) }
    }

    fn gap() -> Self {
        Self::said("")
    }
}

/// A page, a line each.
pub fn lines(told: &Told, part: Part, units: Units) -> Vec<Line> {
    match part {
        Part::Plain => plain(told, units),
        Part::Crops => crops::crops(told, units),
        Part::Crop(crop) => crops::one_crop(told, crop, units),
        Part::Losses => crops::losses(told),
        Part::Drift if told.drifts.is_empty() => vec![Line::said("No crop was weighed or lost in these weeks.")],
        Part::Drift => told.drifts.iter().flat_map(|drift| drift::drift_lines(drift, units)).collect(),
        Part::Differ => differ::differ(told, units),
        Part::Sold => sold::sold(told),
        Part::Why => why::why(told).into_iter().map(Line::said).collect(),
        Part::Pictures => vec![],
    }
}

fn plain(told: &Told, units: Units) -> Vec<Line> {
    let mut lines = Vec::new();
    if told.review.period.to >= told.past.today {
        let to = told.review.period.to;
        lines.extend([
            Line::said(format!("Not over yet: these days end on {to}, so every figure may still change.")),
            Line::gap(),
        ]);
    }
    for (n, line) in sentences(told, units).into_iter().enumerate() {
        if n > 0 {
            lines.push(Line::gap());
        }
        lines.push(line);
    }
    lines.push(Line::gap());
    lines.extend(signatures(told).into_iter().map(Line::said));
    lines
}

/// Who signed these days, and what was written since.
pub fn signatures(told: &Told) -> Vec<String> {
    let of = told.review.signed.iter().filter(|sign| sign.void_by.is_none());
    // of days that are not over, up to today
    let to = told.review.period.to.min(told.past.today);
    let whole = of.filter(|sign| sign.period.from <= told.review.period.from && sign.period.to >= to);
    let mut lines: Vec<String> = whole
        .map(|sign| {
            let hash: String = sign.head.chars().take(16).collect();
            format!("Signed by {} up to entry {}, hash {hash}: {}.", sign.by, sign.upto.0, sign.since_words())
        })
        .collect();
    if lines.is_empty() {
        lines.push("Nobody who may decide has signed these days yet.".into());
    }
    lines
}
