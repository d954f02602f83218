//! What stands behind the sentences, line by line: each figure with its count, and what it opens.

mod crops;
mod differ;
mod drift;
mod sold;
mod why;

use super::facts::{End, Weighing};
use super::review::Told;
use super::words::{grams, sentences};
use crate::domain::id::{CropId, LotId, OrderId, TrayId};
use crate::domain::review::Signature;
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

/// What is known of a tray of these weeks: its crop, what it gave or why it was lost, and where it stood last.
pub fn about_tray(told: &Told, tray: TrayId, units: Units) -> String {
    let facts = &told.past.facts;
    let ended = facts.ended.iter().find(|one| one.tray == tray);
    let mut weights = facts.weighings.iter().filter(|one| !one.regrown);
    let weighed = weights.find_map(|one| Some((one, one.on.iter().find(|on| on.tray == tray)?)));
    let sown = facts.sown.iter().find(|one| one.tray == tray).map(|one| one.sowing);
    let sowing = ended.map(|one| one.sowing).or(weighed.map(|(_, on)| on.sowing)).or(sown);
    let crop = sowing.and_then(|sowing| facts.crop_of(sowing));
    let crop = crop.and_then(|id| facts.crops.iter().find(|crop| crop.id == id)).map(|crop| crop.name.clone());
    let what = match (ended.map(|one| one.end), weighed) {
        (Some(End::Lost(reason)), _) => Some(format!("lost: {}", reason.shown())),
        (Some(End::NotNeeded), _) => Some("not needed".into()),
        (_, Some((one, _))) if one.on.len() > 1 => Some(format!("{}, with others", grams(units, one.value()))),
        (_, Some((one, _))) => Some(grams(units, one.value())),
        _ => None,
    };
    let shelf = told.past.shelves.get(&tray).map(|(shelf, _)| shelf.clone());
    [crop, what, shelf].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A page, a line each.
pub fn lines(told: &Told, part: Part, units: Units) -> Vec<Line> {
    match part {
        Part::Plain => plain(told, units),
        Part::Crops => crops::crops(told, units),
        Part::Crop(crop) => crops::one_crop(told, crop, units),
        Part::Losses => crops::losses(told),
        Part::Drift if told.drifts.is_empty() => vec![Line::said("No crop was weighed or lost in these weeks.")],
        Part::Drift => {
            let crop = |id| told.review.crops.iter().find(|crop| crop.crop == id);
            let check = |id| crop(id).map_or_else(Vec::new, |crop| crops::to_check(crop, units));
            let each = told.drifts.iter().flat_map(|drift| {
                drift::drift_lines(drift, units).into_iter().chain(check(drift.crop)).chain([Line::gap()])
            });
            each.collect()
        }
        Part::Differ => differ::differ(told, units),
        Part::Sold => sold::sold(told),
        Part::Why => why::why(told).into_iter().map(Line::said).collect(),
        Part::Pictures => vec![],
    }
}

fn plain(told: &Told, units: Units) -> Vec<Line> {
    let mut lines = Vec::new();
    // what was signed, and whether it changed since, is read first
    let signed = is_signed(told);
    if signed {
        lines.extend(signatures(told).into_iter().map(Line::said));
        lines.push(Line::gap());
    }
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
    if !signed {
        lines.push(Line::gap());
        lines.extend(signatures(told).into_iter().map(Line::said));
    }
    lines
}

/// Signatures under all of these days.
fn under(told: &Told) -> impl Iterator<Item = &Signature> {
    // of days that are not over, up to today
    let to = told.review.period.to.min(told.past.today);
    let of = told.review.signed.iter().filter(|sign| sign.void_by.is_none());
    of.filter(move |sign| sign.period.from <= told.review.period.from && sign.period.to >= to)
}

fn is_signed(told: &Told) -> bool {
    under(told).next().is_some()
}

/// Who signed these days, and what was written since.
pub fn signatures(told: &Told) -> Vec<String> {
    let mut lines: Vec<String> = under(told)
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
