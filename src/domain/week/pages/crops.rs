//! What each crop gave: trays, losses, weights, seed, days.

use super::drift::drift_lines;
use super::sold::crop_money;
use super::{Line, Open, Part};
use crate::domain::code::Code;
use crate::domain::id::{CropId, TrayId};
use crate::domain::room::Units;
use crate::domain::text::{counted, sentence_case};
use crate::domain::week::crop::CropReview;
use crate::domain::week::facts::{End, Weighing, real};
use crate::domain::week::review::{Sowing, Told};
use crate::domain::week::words::{grams, money, percent, share, spread, trays, with_marked};

pub(super) fn crops(told: &Told, units: Units) -> Vec<Line> {
    if told.review.crops.is_empty() {
        return vec![Line::said("No crop was sown, cut or lost in these days.")];
    }
    told.review
        .crops
        .iter()
        .map(|crop| {
            let gave = match (crop.believed(), &crop.spread) {
                (Some(of), _) => spread(units, of, &crop.values()),
                (None, Some(_)) => "every weight is marked".to_string(),
                (None, None) => "nothing weighed".to_string(),
            };
            let lost =
                crop.lost.map_or_else(|| "none ended".to_string(), |lost| format!("lost {} of {}", lost.x, lost.n));
            let check = match crop.check.len() {
                0 => String::new(),
                n => format!(", CHECK {}", counted(n, "weight")),
            };
            let gave = format!("{gave}{}{check}", with_marked(units, crop));
            let text = format!("{}: {} sown, {} cut, {lost}; {gave}", crop.name, crop.sown.len(), crop.cut_at_all());
            Line::opening(text, Open::Part(Part::Crop(crop.crop)))
        })
        .collect()
}

pub(super) fn one_crop(told: &Told, id: CropId, units: Units) -> Vec<Line> {
    let Some(crop) = told.review.crops.iter().find(|crop| crop.crop == id) else {
        return vec![Line::said("Nothing of this crop in these days.")];
    };
    let ended = |wanted: fn(End) -> bool| -> Vec<TrayId> {
        crop.ended.iter().filter(|one| wanted(one.end)).map(|one| one.tray).collect()
    };
    let (cut, alive, spare) =
        (ended(|end| end == End::Cut), ended(|end| end == End::LeftAlive), ended(|end| end == End::NotNeeded));
    let again = crop.grow_again();
    let seed = units.weight(i64::try_from(crop.sown_mg).unwrap_or(i64::MAX));
    let mut lines = vec![
        match crop.sown.as_slice() {
            [] => Line::said("Sown: none"),
            sown => {
                Line::trays(format!("Sown: {} with {seed} of seed", trays(sown)), format!("{}, sown", crop.name), sown)
            }
        },
        match (cut.as_slice(), again.as_slice()) {
            ([], []) => Line::said("Cut: none"),
            (cut, again) => {
                let grow =
                    if again.is_empty() { String::new() } else { format!(", {} of them growing again", again.len()) };
                let all: Vec<TrayId> = cut.iter().chain(again).copied().collect();
                Line::trays(format!("Cut: {}{grow}", trays(&all)), format!("{}, cut", crop.name), &all)
            }
        },
    ];
    if !alive.is_empty() {
        lines.push(Line::trays(format!("Sold alive: {}", trays(&alive)), format!("{}, sold alive", crop.name), &alive));
    }
    if !spare.is_empty() {
        let text = format!("Not needed: {}, no loss of growing", trays(&spare));
        lines.push(Line::trays(text, format!("{}, not needed", crop.name), &spare));
    }
    lines.extend(crop_losses(crop));
    lines.push(Line::gap());
    lines.extend(crop_weights(crop, units));
    lines.push(Line::gap());
    lines.extend(crop_seed(crop).into_iter().map(Line::said));
    lines.extend(crop_days(crop));
    lines.extend(crop_money(crop, told).into_iter().map(Line::said));
    lines.push(Line::gap());
    // the page of the crop does not open itself
    lines.push(Line::said("Against before"));
    lines.extend(told.drift(id).into_iter().flat_map(|drift| drift_lines(drift, units)).skip(1));
    lines.extend(
        told.enough.iter().filter(|one| one.crop_name == crop.name).flat_map(|one| to_sow(one, told)).map(Line::said),
    );
    lines
}

fn crop_losses(crop: &CropReview) -> Vec<Line> {
    let Some(lost) = &crop.lost else { return vec![Line::said("Lost: no tray ended, so nothing is known")] };
    let all: Vec<TrayId> = crop.reasons.iter().flat_map(|(_, trays)| trays.clone()).collect();
    let mut lines = vec![Line::trays(format!("Lost: {}", share(lost)), format!("{}, lost", crop.name), &all)];
    for (reason, of) in &crop.reasons {
        let title = format!("{}, lost: {}", crop.name, reason.shown());
        lines.push(Line::trays(format!("  {}: {}", reason.shown(), of.len()), title, of));
    }
    if !crop.parts.is_empty() {
        let text = format!("Of {} more a part was lost", trays(&crop.parts));
        lines.push(Line::trays(text, format!("{}, lost in part", crop.name), &crop.parts));
    }
    lines
}

fn crop_weights(crop: &CropReview, units: Units) -> Vec<Line> {
    if crop.weighings.is_empty() {
        return vec![Line::said("Weights: none in these days")];
    }
    let values: Vec<f64> = crop.weighings.iter().filter(|one| !one.regrown).map(Weighing::value).collect();
    let all = crop.spread.as_ref().map(|all| sentence_case(&spread(units, all, &values)));
    let mut lines = vec![Line::said(all.unwrap_or_else(|| "Weights: second cuts only".into()))];
    if let Some(of) = &crop.unmarked {
        lines.push(Line::said(format!("Without what is marked: {}", spread(units, of, &crop.values()))));
    }
    if let Some(of) = crop.believed() {
        let (median, lehmann, total) =
            (grams(units, of.median), grams(units, of.hodges_lehmann), grams(units, real(crop.grams)));
        // of so few the middle of the distances says nothing
        let mad = if of.n > 4 { format!(", spread about it {}", grams(units, of.mad)) } else { String::new() };
        let without = if crop.marked().next().is_some() { ", without what is marked" } else { "" };
        lines.push(Line::said(format!("Median {median}{mad}, middle of all pairs {lehmann}{without}; {total} in all")));
    }
    for (n, one) in crop.weighings.iter().enumerate() {
        let why = crop.check.iter().find(|(at, _)| *at == n).map(|(_, why)| format!(": CHECK, {why}"));
        let odd = if one.odd { ", marked as not right" } else { "" };
        let again = match (one.regrown, one.again) {
            (true, _) => " of a second cut, no value of its own",
            (false, true) => ", grows again",
            (false, false) => "",
        };
        let what = match (one.own, one.on.as_slice()) {
            (Some(tray), _) => Code::tray(tray.0).shown(),
            (None, [on]) => Code::tray(on.tray.0).shown(),
            (None, on) => format!("{} weighed together", counted(on.len(), "tray")),
        };
        let value = grams(units, one.value());
        let text = format!("  {} {}, {what}: {value} a tray{again}{odd}{}", one.day, one.code, why.unwrap_or_default());
        lines.push(Line::opening(text, Open::Weight(Box::new(one.clone()))));
    }
    lines
}

/// Weights that are far from the others, each opening what it is of.
pub(super) fn to_check(crop: &CropReview, units: Units) -> Vec<Line> {
    let line = |(at, why): &(usize, String)| {
        let one = crop.weighings.get(*at)?;
        let text = format!("  CHECK {} {}: {} a tray, {why}", one.day, one.code, grams(units, one.value()));
        Some(Line::opening(text, Open::Weight(Box::new(one.clone()))))
    };
    crop.check.iter().filter_map(line).collect()
}

fn crop_seed(crop: &CropReview) -> Vec<String> {
    let weights = crop.per_seed.as_ref().map_or(0, |of| of.n);
    let told = |what: &str, of: &Option<crate::domain::stats::spread::Ratio>| {
        of.as_ref().map(|of| {
            let lost = match of.n.saturating_sub(weights) {
                0 => String::new(),
                n => format!(" and {} lost", counted(n, "tray")),
            };
            let count = format!("{}{lost}", counted(weights, "weight"));
            let sure = match (of.low, of.high) {
                (Some(low), Some(high)) => format!(" ({:.2} to {high:.2}, {count})", low.max(0.0)),
                _ => format!(" ({count}: too few to say how sure)"),
            };
            format!("{:.2} g for a gram of seed, {what}{sure}", of.ratio)
        })
    };
    let lines: Vec<String> = [
        told("of the trays that were cut", &crop.per_seed),
        told("with the seed of the lost ones", &crop.per_seed_all),
    ]
    .into_iter()
    .flatten()
    .collect();
    if lines.is_empty() { vec!["Grams for a gram of seed: nothing weighed whose seed is known".into()] } else { lines }
}

fn crop_days(crop: &CropReview) -> Vec<Line> {
    let Some(days) = &crop.days else { return vec![] };
    let of = &days.spread;
    let window = days.window.map_or_else(String::new, |(from, to)| format!(", the plan says {from} to {to}"));
    let range = if of.least < of.most {
        format!("{:.0} to {:.0}, median {:.0}", of.least, of.most, of.median)
    } else {
        format!("{:.0}", of.median)
    };
    let mut lines = vec![Line::said(format!("Days to the cut: {range} ({}){window}", counted(of.n, "tray")))];
    for (word, of) in [("before", &days.early), ("after", &days.late)] {
        if !of.is_empty() {
            let text = format!("  {} cut {word} the window", trays(of));
            lines.push(Line::trays(text, format!("{}, cut {word} the window", crop.name), of));
        }
    }
    lines
}

fn to_sow(one: &Sowing, told: &Told) -> Vec<String> {
    let Sowing { need, good, of, enough, .. } = one;
    let (sow, chance) = (enough.trays, percent(enough.chance));
    let optimistic = if enough.optimistic < sow {
        format!("; {} would do if that share were certain", enough.optimistic)
    } else {
        String::new()
    };
    let first = format!(
        "Sow {sow} to have {} with {chance} to be sure: {good} of {of} came good, of {}{optimistic}",
        counted(usize::try_from(*need).unwrap_or(0), "good tray"),
        told.past.of_when(),
    );
    let by_cost = one.by_cost.as_ref().map(|by| {
        let currency = &told.review.currency;
        let (few, many) = (money(by.too_few_c, currency), money(by.too_many_c, currency));
        let (sure, sow) = (percent(by.assurance), by.enough.trays);
        format!("  by money alone {sow}: one too few loses {few}, one too many {many}, so {sure} sure is enough")
    });
    std::iter::once(first).chain(by_cost).collect()
}

pub(super) fn losses(told: &Told) -> Vec<Line> {
    let review = &told.review;
    let Some(all) = review.lost() else {
        return vec![Line::said("No tray ended in these days: nothing to say of losses.")];
    };
    let mut lines = vec![Line::trays(format!("All crops: {}", share(&all)), "Lost", &review.lost_trays()), Line::gap()];
    for crop in review.crops.iter().filter(|crop| crop.lost.is_some()) {
        lines.push(Line::opening(crop.name.clone(), Open::Part(Part::Crop(crop.crop))));
        lines.extend(crop_losses(crop).into_iter().map(|line| Line { text: format!("  {}", line.text), ..line }));
    }
    lines.push(Line::gap());
    lines.push(Line::said(
        "Trays of one shelf fail together, so that the true uncertainty is larger than these ranges.",
    ));
    lines
}
