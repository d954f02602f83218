//! What stands behind the sentences, line by line: each figure with its count, and what it opens.

use super::crop::CropReview;
use super::differ::Found;
use super::drift::{Against, Drift};
use super::facts::{End, Outcome, Weighing, real};
use super::past::{BASELINE_ENOUGH, By, WINDOW_WEEKS};
use super::review::{Sowing, Told};
use super::words::{apart, compared, drifted, grams, money, percent, sentences, share, signed, spread, trays};
use super::{WEEKS_LEAST, WORTH, span};
use crate::domain::code::Code;
use crate::domain::id::{CropId, LotId, TrayId};
use crate::domain::room::Units;
use crate::domain::text::{counted, sentence_case};

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
        Part::Crops => crops(told, units),
        Part::Crop(crop) => one_crop(told, crop, units),
        Part::Losses => losses(told),
        Part::Drift => told.drifts.iter().flat_map(|drift| drift_lines(drift, units)).collect(),
        Part::Differ => differ(told, units),
        Part::Sold => sold(told),
        Part::Why => why(told).into_iter().map(Line::said).collect(),
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

fn crops(told: &Told, units: Units) -> Vec<Line> {
    if told.review.crops.is_empty() {
        return vec![Line::said("No crop was sown, cut or lost in these days.")];
    }
    told.review
        .crops
        .iter()
        .map(|crop| {
            let gave =
                crop.believed().map_or_else(|| "nothing weighed".to_string(), |of| spread(units, of, &crop.values()));
            let lost =
                crop.lost.map_or_else(|| "none ended".to_string(), |lost| format!("lost {} of {}", lost.x, lost.n));
            let gave = match crop.weighings.iter().filter(|one| one.odd).count() {
                0 => gave,
                n => format!("{gave}, without {n} marked as not right"),
            };
            let text = format!("{}: {} sown, {} cut, {lost}; {gave}", crop.name, crop.sown.len(), crop.cut());
            Line::opening(text, Open::Part(Part::Crop(crop.crop)))
        })
        .collect()
}

fn one_crop(told: &Told, id: CropId, units: Units) -> Vec<Line> {
    let Some(crop) = told.review.crops.iter().find(|crop| crop.crop == id) else {
        return vec![Line::said("Nothing of this crop in these days.")];
    };
    let ended = |wanted: fn(End) -> bool| -> Vec<TrayId> {
        crop.ended.iter().filter(|one| wanted(one.end)).map(|one| one.tray).collect()
    };
    let (cut, alive, spare) =
        (ended(|end| end == End::Cut), ended(|end| end == End::LeftAlive), ended(|end| end == End::NotNeeded));
    let seed = units.weight(i64::try_from(crop.sown_mg).unwrap_or(i64::MAX));
    let mut lines = vec![
        match crop.sown.as_slice() {
            [] => Line::said("Sown: none"),
            sown => {
                Line::trays(format!("Sown: {} with {seed} of seed", trays(sown)), format!("{}, sown", crop.name), sown)
            }
        },
        match cut.as_slice() {
            [] => Line::said("Cut: none"),
            cut => Line::trays(format!("Cut: {}", trays(cut)), format!("{}, cut", crop.name), cut),
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
    lines.extend(crop_money(crop, &told.review.currency).map(Line::said));
    lines.push(Line::gap());
    lines.extend(told.drift(id).into_iter().flat_map(|drift| drift_lines(drift, units)));
    lines.extend(told.enough.iter().filter(|one| one.crop_name == crop.name).map(|one| Line::said(to_sow(one))));
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
    let Some(all) = &crop.spread else { return vec![Line::said("Weights: none in these days")] };
    let values: Vec<f64> = crop.weighings.iter().map(Weighing::value).collect();
    let mut lines = vec![Line::said(sentence_case(&spread(units, all, &values)))];
    if let Some(of) = &crop.unmarked {
        lines.push(Line::said(format!("Without what is marked: {}", spread(units, of, &crop.values()))));
    }
    if let Some(of) = crop.believed() {
        let (median, lehmann, total) =
            (grams(units, of.median), grams(units, of.hodges_lehmann), grams(units, real(crop.grams)));
        let mad = if of.n > 2 { format!(", spread about it {}", grams(units, of.mad)) } else { String::new() };
        lines.push(Line::said(format!("Median {median}{mad}, middle of all pairs {lehmann}; {total} in all")));
    }
    for (n, one) in crop.weighings.iter().enumerate() {
        let why = crop.check.iter().find(|(at, _)| *at == n).map(|(_, why)| format!(": CHECK, {why}"));
        let odd = if one.odd { ", marked as not right" } else { "" };
        let again = if one.again { ", grows again" } else { "" };
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

fn crop_money(crop: &CropReview, currency: &str) -> Option<String> {
    let of = crop.money?;
    let cost = money(of.cost_c, currency);
    let trays = counted(usize::try_from(of.trays).unwrap_or(0), "tray");
    Some(match (of.income_c, of.margin_c()) {
        (Some(income), Some(margin)) => {
            let (income, margin) = (money(income, currency), money(margin, currency));
            format!(
                "A tray cost {cost} and what was sold in these days brought {income}: {margin} ({trays} that ended)"
            )
        }
        _ => format!("A tray cost {cost} ({trays} that ended); a product that was sold has no price yet"),
    })
}

fn to_sow(one: &Sowing) -> String {
    let Sowing { need, good, of, enough, .. } = one;
    let (sow, chance) = (enough.trays, percent(enough.chance));
    format!(
        "To have {need} good trays sow {sow}: {good} of {of} came good in {WINDOW_WEEKS} weeks; then {chance} sure. {} would do if that share were certain",
        enough.optimistic
    )
}

fn losses(told: &Told) -> Vec<Line> {
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

fn drift_lines(drift: &Drift, units: Units) -> Vec<Line> {
    let mut lines = vec![Line::opening(sentence_case(&drift.name), Open::Part(Part::Crop(drift.crop)))];
    let base = match (&drift.baseline, drift.limits) {
        (Some(base), Some(limits)) => {
            let (low, high) = limits.band();
            let (low, high) = (grams(units, low.max(0.0)), grams(units, high));
            let chosen = if base.set { "chosen" } else { "its first weeks" };
            let kind = match limits {
                Against::Next { .. } => {
                    format!("one new tray in 95 of 100 ({} weights, fewer than {BASELINE_ENOUGH})", base.values.len())
                }
                Against::Chart(_) => format!("limits of {} weights", base.values.len()),
            };
            format!("  before: {low} to {high}, {kind} of {}, {chosen}", base.days.words())
        }
        (Some(base), None) => format!("  before: {}, too few to say", counted(base.values.len(), "weight")),
        (None, _) => "  before: nothing was weighed".into(),
    };
    lines.push(Line::said(base));
    let said = drifted(drift, units);
    let now = drift.weights.len();
    if said.is_empty() && now > 0 && drift.limits.is_some() {
        lines.push(Line::said(format!("  nothing unusual in {} of these days", counted(now, "weight"))));
    }
    lines.extend(said.into_iter().map(|text| Line::said(format!("  UNUSUAL: {text}"))));
    for one in drift.outside() {
        let text = format!("  {} {}: {} a tray", one.day, one.code, grams(units, one.value()));
        lines.push(Line::opening(text, Open::Weight(Box::new(one.clone()))));
    }
    if drift.medians.len() < WEEKS_LEAST {
        let weeks = counted(drift.medians.len(), "week");
        lines.push(Line::said(format!("  {weeks} with weights: a course is told from {WEEKS_LEAST} on")));
    } else if let Some(slope) = &drift.slope {
        let (low, high) = (signed(units, slope.low), signed(units, slope.high));
        let flat = if slope.low <= 0.0 && slope.high >= 0.0 { "no clear course; could be" } else { "course" };
        lines.push(Line::said(format!("  {flat} {low} to {high} a tray each week ({} weeks)", slope.n)));
    }
    if let Some(next) = &drift.next {
        let error = next.error.map_or_else(String::new, |error| format!(", off by {} so far", grams(units, error)));
        lines.push(Line::said(format!("  next week about {} a tray{error}", grams(units, next.next))));
    }
    let year = match drift.year_before {
        Some(before) => format!("  the same week a year ago {} a tray", grams(units, before)),
        None => "  no week a year ago to set beside it".into(),
    };
    lines.push(Line::said(year));
    lines
}

fn differ(told: &Told, units: Units) -> Vec<Line> {
    let all = &told.differences;
    let (weeks, from) = (WINDOW_WEEKS, told.window.words());
    let mut lines = vec![Line::said(format!(
        "{} at once, of {weeks} weeks ({from}). What stands out after correcting for that is a lead, no proof.",
        counted(all.asked, "question")
    ))];
    if all.comparisons.is_empty() {
        lines.push(Line::said("Not enough to say: no two groups have weights of the same week."));
    }
    for by in By::ALL {
        let of: Vec<_> = all.comparisons.iter().filter(|one| one.by == by).collect();
        if of.is_empty() {
            continue;
        }
        lines.push(Line::gap());
        lines.push(Line::said(format!("By {}", by.shown())));
        for one in of {
            let mark = if one.worth() { "> " } else { "  " };
            let title = format!("{} {}", one.by.shown(), one.name);
            lines.push(Line::trays(format!("{mark}{}", compared(one, units)), title, &one.trays));
        }
    }
    if !all.shelves.is_empty() {
        lines.push(Line::gap());
        let rank = all.shelf_rank.as_ref().map_or_else(String::new, |(_, q)| {
            let word = if *q <= WORTH { "they differ" } else { "no clear difference" };
            format!(": {word} in what trays give, taken together")
        });
        lines.push(Line::said(format!("Shelves, against the mean of crop and week{rank}")));
        for shelf in &all.shelves {
            let of = &shelf.spread;
            let range =
                of.mean_interval().map_or_else(String::new, |(low, high)| format!(" ({low:+.0} to {high:+.0} %)"));
            let text = format!("  {}: {:+.0} %{range}, {}", shelf.name, of.mean, counted(of.n, "weight"));
            lines.push(Line::trays(text, format!("Shelf {}", shelf.name), &shelf.trays));
        }
    }
    if !all.drawn.is_empty() {
        lines.push(Line::gap());
        lines.push(Line::said("Small lots, drawn towards their crop: what to expect of them next"));
        for one in &all.drawn {
            let (mean, drawn) = (grams(units, one.mean), grams(units, one.expected));
            lines.push(Line::said(format!(
                "  {} of {}: {mean} seen, {drawn} to expect ({})",
                one.lot,
                one.crop_name,
                counted(one.n, "weight")
            )));
        }
    }
    if !all.apart.is_empty() {
        lines.push(Line::gap());
        lines.push(Line::said("Never grown in the same week, so nothing can be said"));
        for one in &all.apart {
            lines.push(Line::said(format!(
                "  {} of {}: {} and {}",
                one.by.shown(),
                one.crop_name,
                one.name,
                one.other
            )));
        }
    }
    lines
}

fn sold(told: &Told) -> Vec<Line> {
    let review = &told.review;
    let mut lines = Vec::new();
    for due in &review.due {
        let word = match due.outcome {
            Outcome::Met => "met",
            Outcome::Late => "LATE",
            Outcome::Short => "SHORT",
            Outcome::Open => "still open",
        };
        lines.push(Line::said(format!(
            "{} {}: {} of {} brought, {word}",
            due.day, due.customer, due.brought, due.packs
        )));
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
        match crop_money(crop, &review.currency) {
            Some(text) => lines.push(Line::opening(
                format!("{}: {text}", sentence_case(&crop.name)),
                Open::Part(Part::Crop(crop.crop)),
            )),
            None => lines.push(Line::said(format!(
                "{}: what seed and a tray cost is not set (settings, crops)",
                sentence_case(&crop.name)
            ))),
        }
    }
    lines
}

/// How it was counted and compared.
fn why(told: &Told) -> Vec<String> {
    let days = span::words(told.review.period);
    let mut lines: Vec<String> = [
        format!("Counted are trays and weights of {days}; compared are those of {WINDOW_WEEKS} weeks up to its end."),
        "Grams a tray: every weighing is one value. Several trays weighed together are one value too, their mean, since nobody knows how they differ. Parts of trays count by their mats; trays of different formats count alike.".into(),
        "Mean with the range that holds the true one 95 times of a hundred (t distribution); below 3 weights the values alone, up to 5 \"very wide\". The median stands beside it, and the middle of all pairs (Hodges-Lehmann).".into(),
        "Check: from 8 weights on what lies outside of 1.5 times the middle half (Tukey's fences, quartiles at (n+1)p), else half or double of the crop's own figure. Nothing is dropped; a weight that somebody marks is shown with and without.".into(),
        "Grams for a gram of seed: all grams by all seed, not a mean of ratios; the range by linearisation. Once of the trays that were cut, once with the seed of the lost ones.".into(),
        "Lost: of the trays that ended in these days, with Wilson's range. Trays that nobody needed are no loss. Trays of one shelf fail together, so that the true range is wider.".into(),
        format!("Unusual: against a baseline that stands still, the crop's first weeks with {BASELINE_ENOUGH} weights together, or the days that somebody chose. Fewer than {BASELINE_ENOUGH}: the 95 % range of one new tray. From there on mean and moving range (limits mean +- 3 x MR / 1.128), and eight in a row on one side. No other run rules: they cry wolf."),
        format!("Weeks, from {WEEKS_LEAST} on: medians as a run chart (longest run, crossings of the median), the weighted mean of weekly means (0.2, exact limits, of the first {WEEKS_LEAST} weeks), and the course by Theil and Sen. Losses by week against the limits of a share chart."),
        "Seed lots, densities, plans: only in weeks that both have. Welch's range; with few weights the exact rank test, its shift beside it. Shelves: within a crop and week, the mean taken off; Kruskal and Wallis over shelves with 4 or more.".into(),
        format!("All {} questions of this review are corrected together (Benjamini and Hochberg); q up to {WORTH:.2} is worth a planned trial, never a proof. Nothing was drawn by lot here, so that a better lot may have had the better week.", told.differences.asked),
        "Few trays see little: two groups of 10 show a difference of 16 % with 80 % power where trays vary by 12 %, two of 5 only 24 % (worked out, two-sided 5 %).".into(),
        "An uneven canopy is looks, not yield; sowing too densely leaves no room and does not pay (common practice, no source).".into(),
        "No figure here clears a tray or a pack; people do, by name.".into(),
    ]
    .into();
    lines.push(String::new());
    for one in &told.differences.comparisons {
        if let Found::Yield(two) = &one.found {
            let number = |value: Option<f64>| value.map_or_else(|| "-".to_string(), |value| format!("{value:.4}"));
            let shift = two.shift_interval.map_or_else(String::new, |(low, high)| format!(" ({low:.1} to {high:.1})"));
            lines.push(format!(
                "{} {} of {} {}; t {}, df {}, rank p {:.4}{}, shift {:.1}{shift}, q {}, {} of {} weeks",
                one.by.shown(),
                one.name,
                one.crop_name,
                apart(two, &one.other, Units::Metric),
                number(two.t),
                number(two.df),
                two.rank_p,
                if two.exact { " exact" } else { "" },
                two.shift,
                number(one.q),
                one.weeks.0,
                one.weeks.1,
            ));
        }
    }
    lines
}
