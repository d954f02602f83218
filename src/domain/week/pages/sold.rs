//! Orders, waste and money.

use super::{Line, Open, Part};
use crate::domain::text::{counted, sentence_case};
use crate::domain::week::crop::{CropReview, Income};
use crate::domain::week::facts::{DueLine, Outcome, real};
use crate::domain::week::review::Told;
use crate::domain::week::words::money;

pub(super) fn sold(told: &Told) -> Vec<Line> {
    let review = &told.review;
    let mut lines = Vec::new();
    for due in &review.due {
        let word = match due.outcome {
            Outcome::Met => "met",
            Outcome::Late => "LATE",
            Outcome::Short => "SHORT",
            Outcome::Open => "still open",
        };
        let of = |line: &DueLine| format!("{} of {} {}", line.brought, line.packs, line.product);
        let brought: Vec<String> = due.lines.iter().map(of).collect();
        let text = format!("{} {}: {word}, brought {}", due.day, due.customer, brought.join(", "));
        lines.push(Line::opening(text, Open::Order(due.order, format!("Order of {}, {}", due.customer, due.day))));
    }
    if review.due.is_empty() {
        lines.push(Line::said("No order was due."));
    }
    lines.push(Line::gap());
    for one in &review.wasted {
        let amount = if one.packs > 0 {
            counted(usize::try_from(one.packs).unwrap_or(0), "pack")
        } else {
            format!("{} g", one.grams)
        };
        let reason = if one.reason.is_empty() { String::new() } else { format!(": {}", one.reason) };
        let text = format!("Thrown away: {amount} of {}, {}{reason}", one.what, one.code);
        lines.push(Line::opening(text, Open::Lot(one.lot, one.code.clone())));
    }
    for one in &review.sold {
        let price =
            one.price_c.map_or_else(|| "no price set".to_string(), |price| money(real(price), &review.currency));
        lines.push(Line::said(format!(
            "Sold: {} of {}, {price} each",
            counted(usize::try_from(one.packs).unwrap_or(0), "pack"),
            one.product
        )));
    }
    lines.push(Line::gap());
    for crop in &review.crops {
        let name = sentence_case(&crop.name);
        match crop_money(crop, &review.currency).as_slice() {
            [] => lines.push(Line::said(format!("{name}: what seed and a tray cost is not set (settings, crops)"))),
            [first, parts @ ..] => {
                lines.push(Line::opening(format!("{name}: {first}"), Open::Part(Part::Crop(crop.crop))));
                lines.extend(parts.iter().map(Line::said));
            }
        }
    }
    lines
}

/// What a tray cost and brought, and below it from which products.
pub(super) fn crop_money(crop: &CropReview, currency: &str) -> Vec<String> {
    let Some(of) = &crop.money else { return vec![] };
    let say = |cents: f64| money(cents, currency);
    let trays = counted(usize::try_from(of.trays).unwrap_or(0), "tray");
    let cost = format!("A tray cost {} ({} of seed, {} all else)", say(of.cost_c()), say(of.seed_c), say(of.tray_c));
    let first = match (of.income_c, of.margin_c()) {
        (Some(income), Some(margin)) => {
            let (income, margin) = (say(income), say(margin));
            format!("{cost} and what was sold in these days brought {income}: {margin} ({trays} that ended)")
        }
        _ => format!("{cost} ({trays} that ended); a product that was sold has no price yet"),
    };
    let part = |income: &Income| {
        let packs = counted(usize::try_from(income.packs).unwrap_or(0), "pack");
        let share = match income.share_pm {
            1000 => String::new(),
            pm => format!(", {:.1} % of them this crop", real(pm) / 10.0).replace(".0 %", " %"),
        };
        let came = income.cents().map_or_else(|| "no price set".to_string(), say);
        format!("  from {packs} of {}{share}: {came}", income.product)
    };
    std::iter::once(first).chain(of.incomes.iter().map(part)).collect()
}
