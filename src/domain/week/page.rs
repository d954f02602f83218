//! The review as tables and pictures, for paper and for other programs.

use super::crop::{CropReview, Money};
use super::differ::Found;
use super::drift::Drift;
use super::facts::{DueLine, Outcome, Weighing};
use super::pages::signatures;
use super::past::By;
use super::review::Told;
use super::words::{money, points, sentences, signed};
use super::{WEEKS_LEAST, label, span};
use crate::domain::board::Rack;
use crate::domain::picture::{Bars, DotRow, Dots, Heat, HeatRack, Picture, Runs, shown};
use crate::domain::room::Units;
use crate::domain::week_page::{Sheet, Table, WeekPage};

const CAUTIONS: [&str; 2] = [
    "No figure here clears a tray or a pack; people do, by name. Local codes and licensed practice decide.",
    "Few trays say little: every range holds the true value 95 times of a hundred, if trays were independent.",
];

/// Everything of a review.
pub fn page(told: &Told, units: Units, room: &str, racks: &[Rack]) -> WeekPage {
    let review = &told.review;
    WeekPage {
        sheet: match units {
            Units::Metric => Sheet::A4,
            Units::Us => Sheet::Letter,
        },
        title: span::whole(review.period).map_or_else(|| "Review".to_string(), |week| format!("Week {week}")),
        period: review.period.words(),
        room: room.to_string(),
        sentences: sentences(told, units).into_iter().map(|line| line.text).collect(),
        cautions: CAUTIONS.map(String::from).to_vec(),
        tables: vec![crops(told, units), losses(told), orders(told), differences(told, units), waste(told)],
        pictures: pictures(told, units, racks),
        signature: signatures(told),
        footer: format!("Compared are trays and weights of {}.", told.past.days().words()),
    }
}

fn table(title: &str, head: &[&str], rows: Vec<Vec<String>>, note: &str) -> Table {
    Table { title: title.into(), head: head.iter().map(ToString::to_string).collect(), rows, note: note.into() }
}

fn crops(told: &Told, units: Units) -> Table {
    let (unit, currency) = (unit(units), told.review.currency.as_str());
    let head = [
        "crop".to_string(),
        "sown".into(),
        "cut".into(),
        "lost".into(),
        "of".into(),
        "lost from, %".into(),
        "to, %".into(),
        "weights".into(),
        format!("a tray, {unit}"),
        format!("from, {unit}"),
        format!("to, {unit}"),
        format!("median, {unit}"),
        "g per g seed".into(),
        "with lost seed".into(),
        "days".into(),
        format!("sold, {currency}").trim_end_matches(", ").to_string(),
        format!("cost, {currency}").trim_end_matches(", ").to_string(),
    ];
    let row = |crop: &CropReview| -> Vec<String> {
        let of = crop.believed();
        let band = of.and_then(crate::domain::stats::spread::Spread::mean_interval);
        let lost = crop.lost;
        let text = |value: Option<f64>| value.map_or_else(String::new, |value| shown(scaled(units, value.max(0.0))));
        let ratio = |of: &Option<crate::domain::stats::spread::Ratio>| {
            of.as_ref().map_or_else(String::new, |of| format!("{:.2}", of.ratio))
        };
        let percent = |of: Option<f64>| of.map_or_else(String::new, |share| format!("{:.0}", share * 100.0));
        let (sold, cost) = (crop.money.as_ref().and_then(|of| of.income_c), crop.money.as_ref().map(Money::costs_c));
        vec![
            crop.name.clone(),
            crop.sown.len().to_string(),
            crop.cut_at_all().to_string(),
            lost.map_or_else(String::new, |lost| lost.x.to_string()),
            lost.map_or_else(String::new, |lost| lost.n.to_string()),
            percent(lost.map(|lost| lost.low)),
            percent(lost.map(|lost| lost.high)),
            match crop.marked().count() {
                0 => of.map_or(0, |of| of.n).to_string(),
                n => format!("{}, {n} more marked as not right", of.map_or(0, |of| of.n)),
            },
            text(of.map(|of| of.mean)),
            text(band.map(|band| band.0)),
            text(band.map(|band| band.1)),
            text(of.map(|of| of.median)),
            ratio(&crop.per_seed),
            ratio(&crop.per_seed_all),
            crop.days.as_ref().map_or_else(String::new, |days| format!("{:.1}", days.spread.mean)),
            sold.map_or_else(String::new, |sold| money(sold, "")),
            cost.map_or_else(String::new, |cost| money(cost, "")),
        ]
    };
    let note = "A weight is one tray, or several weighed together; ranges hold the true value 95 times of a hundred.";
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    table("Crops", &head, told.review.crops.iter().map(row).collect(), note)
}

fn losses(told: &Told) -> Table {
    let rows = told.review.crops.iter().flat_map(|crop| {
        let of = crop.lost.map_or(0, |lost| lost.n);
        crop.reasons.iter().map(move |(reason, trays)| (crop.name.clone(), reason.shown(), trays.len(), of))
    });
    // the most first: paper may have no room for all
    let mut rows: Vec<(String, &str, usize, u64)> = rows.collect();
    rows.sort_by_key(|(_, _, trays, _)| std::cmp::Reverse(*trays));
    let rows =
        rows.into_iter().map(|(crop, reason, trays, of)| vec![crop, reason.into(), trays.to_string(), of.to_string()]);
    let note = "Of the trays that ended. Trays of one shelf fail together.";
    table("Losses", &["crop", "reason", "trays", "of ended"], rows.collect(), note)
}

fn differences(told: &Told, units: Units) -> Table {
    let head = ["crop", "by", "name", "against", "what", "n", "n there", "difference", "from", "to", "q", "called"];
    let row = |one: &super::differ::Comparison| -> Vec<String> {
        let (what, n, there, values) = match &one.found {
            Found::Yield(two) => {
                let band = two.interval;
                let text = |value: f64| signed(units, value);
                let values = [Some(two.diff), band.map(|band| band.0), band.map(|band| band.1)].map(|v| v.map(text));
                ("grams a tray", two.n.0.to_string(), two.n.1.to_string(), values)
            }
            Found::Loss { here, there, diff, .. } => {
                let values = [diff.0, diff.1, diff.2].map(|value| Some(points(value)));
                ("lost", format!("{} of {}", here.x, here.n), format!("{} of {}", there.x, there.n), values)
            }
        };
        let [diff, low, high] = values.map(Option::unwrap_or_default);
        vec![
            one.crop_name.clone(),
            one.by.shown().to_string(),
            one.name.clone(),
            one.other.clone(),
            what.to_string(),
            n,
            there,
            diff,
            low,
            high,
            one.q.map_or_else(String::new, |q| format!("{q:.3}")),
            match one.worth() {
                false => String::new(),
                true if one.gone.is_empty() => "worth a trial".into(),
                true => "a lead, no seed left".into(),
            },
        ]
    };
    // losses on shelves have a picture of their own
    let all = &told.differences;
    let shown = all.comparisons.iter().filter(|one| !one.nothing_lost());
    let shown = shown.filter(|one| one.by != By::Shelf || one.q.is_some_and(|q| q < 1.0));
    let note = format!(
        "{} questions at once, corrected together; q up to 0.10 is worth a planned trial, never a proof.",
        all.asked
    );
    table("What differs", &head, shown.map(row).collect(), &note)
}

fn orders(told: &Told) -> Table {
    let word = |outcome| match outcome {
        Outcome::Met => "met",
        Outcome::Late => "late",
        Outcome::Short => "short",
        Outcome::Open => "open",
    };
    let rows = told.review.due.iter().map(|due| {
        let sum = |of: fn(&DueLine) -> u64| due.lines.iter().map(of).sum::<u64>().to_string();
        let short = due.lines.iter().filter(|line| line.brought < line.packs);
        let missing: Vec<String> =
            short.map(|line| format!("{} {}", line.packs - line.brought, line.product)).collect();
        vec![
            due.day.to_string(),
            due.customer.clone(),
            sum(|line| line.packs),
            sum(|line| line.brought),
            word(due.outcome).to_string(),
            missing.join(", "),
        ]
    });
    table("Orders", &["day", "customer", "ordered", "brought", "outcome", "not brought"], rows.collect(), "")
}

fn waste(told: &Told) -> Table {
    let rows = told.review.wasted.iter().map(|one| {
        vec![one.code.clone(), one.what.clone(), one.grams.to_string(), one.packs.to_string(), one.reason.clone()]
    });
    table("Thrown away after the cut", &["lot", "what", "g", "packs", "reason"], rows.collect(), "")
}

/// Grams as the pictures count them: in the unit of the room.
fn scaled(units: Units, value: f64) -> f64 {
    match units {
        Units::Metric => value,
        Units::Us => value / 28.349_523_125,
    }
}

fn unit(units: Units) -> &'static str {
    match units {
        Units::Metric => "g",
        Units::Us => "oz",
    }
}

/// Spread, losses, racks, and for each crop its weeks and its limits.
pub fn pictures(told: &Told, units: Units, racks: &[Rack]) -> Vec<Picture> {
    let mut all =
        vec![Picture::Dots(spread(told, units)), Picture::Bars(reasons(told)), Picture::Heat(heat(told, racks))];
    // what is unusual first: paper may have no room for all
    let mut drifts: Vec<&Drift> = told.drifts.iter().collect();
    drifts.sort_by_key(|drift| drift.said().is_empty());
    for drift in drifts {
        all.extend(weights(told, drift, units).map(Picture::Runs));
        all.extend(medians(drift, units).map(Picture::Runs));
    }
    all
}

fn spread(told: &Told, units: Units) -> Dots {
    let row = |crop: &CropReview| {
        let of = crop.believed()?;
        let first: Vec<(usize, &Weighing)> =
            crop.weighings.iter().enumerate().filter(|(_, one)| !one.regrown).collect();
        Some(DotRow {
            label: crop.name.clone(),
            values: first.iter().map(|(_, one)| scaled(units, one.value())).collect(),
            mean: Some(scaled(units, of.mean)),
            interval: of.mean_interval().map(|(low, high)| (scaled(units, low.max(0.0)), scaled(units, high))),
            odd: first.iter().map(|(n, one)| one.odd || crop.check.iter().any(|(at, _)| at == n)).collect(),
        })
    };
    Dots {
        title: "Grams a tray, by crop".into(),
        unit: unit(units).into(),
        each: "weight".into(),
        rows: told.review.crops.iter().filter_map(row).collect(),
    }
}

fn reasons(told: &Told) -> Bars {
    let mut of: std::collections::BTreeMap<_, u64> = std::collections::BTreeMap::new();
    for (reason, trays) in told.review.crops.iter().flat_map(|crop| &crop.reasons) {
        *of.entry(*reason).or_default() += trays.len() as u64;
    }
    let n = told.review.lost().map_or(0, |lost| lost.n);
    let mut bars: Vec<(String, u64, String)> =
        of.into_iter().map(|(reason, x)| (reason.shown().to_string(), x, format!("{x} of {n}"))).collect();
    bars.sort_by_key(|(_, x, _)| std::cmp::Reverse(*x));
    Bars { title: "Losses by reason".into(), each: "tray".into(), bars }
}

fn heat(told: &Told, racks: &[Rack]) -> Heat {
    let of = told.past.by_place();
    let rack = |rack: &Rack| HeatRack {
        name: rack.name.clone(),
        shelves: rack
            .shelves()
            .into_iter()
            .map(|shelf| (shelf.to_string(), rack.on_shelf(shelf).map(|place| of.get(&place.id).copied()).collect()))
            .collect(),
    };
    let used = racks.iter().filter(|rack| rack.places.iter().any(|place| of.contains_key(&place.id)));
    Heat {
        title: format!("Lost by place, {}", told.past.days().words()),
        what: "lost".into(),
        racks: used.map(rack).collect(),
    }
}

/// Every weight since the baseline against its limits.
fn weights(told: &Told, drift: &Drift, units: Units) -> Option<Runs> {
    let limits = drift.limits?;
    let mine: Vec<&Weighing> = told.past.weighings(drift.crop).collect();
    let (low, high) = limits.band();
    if mine.is_empty() {
        return None;
    }
    let outside = |one: &Weighing| one.value() < low || one.value() > high;
    Some(Runs {
        title: format!("{}: each weight against its limits", drift.name),
        unit: unit(units).into(),
        points: mine
            .iter()
            .map(|one| (one.day.format("%m-%d").to_string(), Some(scaled(units, one.value()))))
            .collect(),
        centre: Some(scaled(units, limits.centre())),
        centre_label: "before".into(),
        limits: Some((scaled(units, low.max(0.0)), scaled(units, high))),
        signal: mine.iter().map(|one| outside(one)).collect(),
        smoothed: vec![],
    })
}

/// Weekly medians, with the weighted mean of the weeks.
fn medians(drift: &Drift, units: Units) -> Option<Runs> {
    const MOST: usize = 52;
    if drift.medians.len() < WEEKS_LEAST {
        return None;
    }
    let skip = drift.medians.len().saturating_sub(MOST);
    let smoothed = drift
        .ewma
        .as_ref()
        .map_or_else(Vec::new, |ewma| ewma.series.iter().skip(skip).map(|value| Some(scaled(units, *value))).collect());
    Some(Runs {
        title: format!("{}: weekly median", drift.name),
        unit: unit(units).into(),
        points: drift
            .medians
            .iter()
            .skip(skip)
            .map(|(week, median)| (label(*week).split_off(5), Some(scaled(units, *median))))
            .collect(),
        centre: drift.runs.as_ref().map(|runs| scaled(units, runs.median)),
        centre_label: "median".into(),
        limits: None,
        signal: vec![],
        smoothed,
    })
}
