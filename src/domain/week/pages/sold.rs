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
        match crop_money(crop, told).as_slice() {
            [] => lines.push(Line::said(format!("{name}: what seed and a tray cost is not set (settings, crops)"))),
            [first, parts @ ..] => {
                lines.push(Line::opening(format!("{name}: {first}"), Open::Part(Part::Crop(crop.crop))));
                lines.extend(parts.iter().map(Line::said));
            }
        }
    }
    lines
}

/// What trays of a crop cost in these days and what was sold of it, from which products; and over all the weeks what a tray brought.
pub(super) fn crop_money(crop: &CropReview, told: &Told) -> Vec<String> {
    let currency = told.review.currency.as_str();
    let say = |cents: f64| money(cents, currency);
    let of = |trays: u64| counted(usize::try_from(trays).unwrap_or(0), "tray");
    let mut lines = Vec::new();
    if let Some(here) = &crop.money {
        let each = format!("{} each: {} of seed, {} all else", say(here.cost_c()), say(here.seed_c), say(here.tray_c));
        let sold = match here.income_c {
            Some(_) if here.incomes.is_empty() => "nothing of it was sold in these days".to_string(),
            Some(income) => format!("sold of it in these days: {}", say(income)),
            None => "a product that was sold has no price yet".into(),
        };
        lines.push(format!("{} that ended cost {} ({each}); {sold}", of(here.trays), say(here.costs_c())));
        let part = |income: &Income| {
            let packs = counted(usize::try_from(income.packs).unwrap_or(0), "pack");
            let share = match income.share_pm {
                1000 => String::new(),
                pm => format!(", {:.1} % of them this crop", real(pm) / 10.0).replace(".0 %", " %"),
            };
            let came = income.cents().map_or_else(|| "no price set".to_string(), say);
            format!("  from {packs} of {}{share}: {came}", income.product)
        };
        lines.extend(here.incomes.iter().map(part));
    }
    let all = told.margins.iter().find(|one| one.crop == crop.crop).map(|one| &one.money);
    if let Some((all, margin)) = all.and_then(|all| Some((all, all.margin_c()?))) {
        let (way, by) = if margin < 0.0 { ("less", -margin) } else { ("more", margin) };
        lines.push(format!(
            "Of {} a tray brought {} {way} than it cost ({}, lost ones too)",
            told.past.of_when(),
            say(by),
            of(all.trays)
        ));
    }
    lines
}
