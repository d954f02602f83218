//! The review in five plain sentences. What few trays cannot say is not said.

use super::crop::{CropReview, Money};
use super::differ::{Comparison, Found};
use super::drift::{Drift, Said};
use super::facts::{CropFigures, End, Outcome, Weighing, real};
use super::pages::{Line, Open, Part};
use super::past::By;
use super::review::{Margin, Review, Told};
use super::span;
use crate::domain::id::TrayId;
use crate::domain::proportion::Share;
use crate::domain::room::Units;
use crate::domain::stats::compare::Two;
use crate::domain::stats::spread::Spread;
pub(super) use crate::domain::stats::words::rounded;
use crate::domain::text::counted;

/// A weight, to the gram, or to a tenth of it below 20 g.
pub(super) fn grams(units: Units, grams: f64) -> String {
    let step = if grams.abs() < 20.0 { 100.0 } else { 1000.0 };
    #[expect(clippy::cast_possible_truncation, reason = "weights are far below 2^63 mg")]
    let mg = ((grams * 1000.0 / step).round() * step) as i64;
    units.weight(mg)
}

/// The same with its sign.
pub(super) fn signed(units: Units, of: f64) -> String {
    let sign = if of < 0.0 { "-" } else { "+" };
    format!("{sign}{}", grams(units, of.abs()))
}

pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// `412 g a tray (380 to 444 g, 9 weights)`; few weights are shown as they are.
pub(super) fn spread(units: Units, of: &Spread, values: &[f64]) -> String {
    let weights = counted(of.n, "weight");
    match of.mean_interval() {
        None => {
            let all: Vec<String> = values.iter().map(|value| grams(units, *value)).collect();
            format!("{} a tray ({weights}: too few for more)", all.join(" and "))
        }
        Some((low, high)) => {
            let wide = if of.n <= 5 { ", very wide" } else { "" };
            let (mean, low, high) = (grams(units, of.mean), grams(units, low.max(0.0)), grams(units, high));
            format!("{mean} a tray ({low} to {high}, {weights}{wide})")
        }
    }
}

/// The five sentences, each with what stands behind it.
pub fn sentences(told: &Told, units: Units) -> Vec<Line> {
    let review = &told.review;
    let begins = review.begins.filter(|begins| review.period.to < *begins);
    if let Some(begins) = begins {
        return vec![Line::said(format!("The book begins on {begins}: it knows nothing of these days."))];
    }
    if review.is_empty() {
        let days = span::words(review.period);
        return vec![Line::said(format!(
            "Nothing was sown, cut, lost, ordered or sold in {days}: not enough to say anything."
        ))];
    }
    let mut lines = vec![
        Line::opening(came(review, units), Open::Part(Part::Crops)),
        Line::opening(lost(review), Open::Part(Part::Losses)),
        Line::opening(unusual(told, units), Open::Part(Part::Drift)),
        Line::opening(differs(told, units), Open::Part(Part::Differ)),
        Line::opening(sold(told, units), Open::Part(Part::Sold)),
    ];
    if let Some(begins) = review.begins.filter(|begins| review.period.from < *begins) {
        lines.push(Line::said(format!("The book begins on {begins}: of the days before it knows nothing.")));
    }
    lines
}

fn came(review: &Review, units: Units) -> String {
    let again: usize = review.crops.iter().map(|crop| crop.grow_again().len()).sum();
    let (sown, cut, alive) = (review.sown(), review.count(End::Cut) + again, review.count(End::LeftAlive));
    let alive = if alive > 0 { format!(", {} sold alive", counted(alive, "tray")) } else { String::new() };
    let sown = if sown == 0 { "none sown".to_string() } else { format!("{} sown", counted(sown, "tray")) };
    if cut == 0 && review.grams() == 0 {
        return format!("Nothing was cut{alive}; {sown}.");
    }
    #[expect(clippy::cast_precision_loss, reason = "grams of a week")]
    let all = grams(units, review.grams() as f64);
    let most = review.crops.iter().filter(|crop| crop.grams > 0).max_by_key(|crop| crop.grams);
    let most = most.map(|crop| {
        let gave = crop.believed().map(|of| format!(": {}", spread(units, of, &crop.values())));
        format!(" Most came from {}{}{}.", crop.name, gave.unwrap_or_default(), with_marked(units, crop))
    });
    let grow = match again {
        0 => String::new(),
        1 => " (1 grows again)".to_string(),
        n => format!(" ({n} grow again)"),
    };
    format!("{} cut{grow} gave {all}{alive}; {sown}.{}", counted(cut, "tray"), most.unwrap_or_default())
}

/// `, 1 weight marked as not right, with it 307 g`; nothing where none is.
pub(super) fn with_marked(units: Units, crop: &CropReview) -> String {
    match (crop.marked().count(), &crop.spread) {
        (0, _) | (_, None) => String::new(),
        (n, Some(all)) => format!(
            ", {} marked as not right, with {} {}",
            counted(n, "weight"),
            if n == 1 { "it" } else { "them" },
            grams(units, all.mean)
        ),
    }
}

/// `4 of 42, 10 % (4 to 22 %)`, and none is told with the most it may be.
pub(super) fn share(of: &Share) -> String {
    if of.x > 0 {
        return of.words();
    }
    format!("none of {}, though as many as {} would not be odd", of.n, percent(of.high))
}

fn lost(review: &Review) -> String {
    let Some(all) = review.lost() else {
        return "No tray ended, so nothing is known of losses.".into();
    };
    let trays = match (all.n, all.x) {
        (1, _) => "tray that ended was",
        (_, 1) => "trays that ended was",
        _ => "trays that ended were",
    };
    if all.x == 0 {
        let most = percent(all.high);
        return format!("None of {} {trays} lost; so many cannot rule out losses of up to {most}.", all.n);
    }
    let mut reasons: std::collections::BTreeMap<_, usize> = std::collections::BTreeMap::new();
    for (reason, trays) in review.crops.iter().flat_map(|crop| &crop.reasons) {
        *reasons.entry(*reason).or_default() += trays.len();
    }
    let mut reasons: Vec<_> = reasons.into_iter().collect();
    reasons.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    let reasons: Vec<String> = reasons.iter().map(|(reason, n)| format!("{n} {}", reason.shown())).collect();
    let worst = review
        .crops
        .iter()
        .filter_map(|crop| Some((crop, crop.lost?)))
        .max_by(|(_, a), (_, b)| a.x.cmp(&b.x).then(a.share.total_cmp(&b.share)));
    let worst =
        worst.map_or_else(String::new, |(crop, lost)| format!(" Most of {}: {} of {}.", crop.name, lost.x, lost.n));
    let (low, high) = (percent(all.low), percent(all.high));
    let few = if all.n < crate::domain::proportion::FEW { ", few" } else { "" };
    let share = percent(all.share);
    let spare = match review.count(End::NotNeeded) {
        0 => String::new(),
        n => format!(" {n} of them {} not needed, no loss.", if n == 1 { "was" } else { "were" }),
    };
    format!(
        "{} of {} {trays} lost, {share} ({low} to {high}{few}): {}.{worst}{spare}",
        all.x,
        all.n,
        reasons.join(", ")
    )
}

/// What one crop shows against what it gave before.
pub(super) fn drifted(drift: &Drift, units: Units) -> Vec<String> {
    let mut said = Vec::new();
    for one in drift.said() {
        let name = &drift.name;
        said.push(match one {
            Said::Outside => {
                let outside = drift.outside();
                let centre = drift.limits.map_or(0.0, |limits| limits.centre());
                let far = |one: &&Weighing| (one.value() - centre).abs();
                let farthest = outside.iter().copied().max_by(|a, b| far(a).total_cmp(&far(b)));
                let first = farthest.map(|one| grams(units, one.value())).unwrap_or_default();
                let (low, high) = drift.limits.map_or((0.0, 0.0), |limits| limits.band());
                let more = if outside.len() > 1 { " the farthest" } else { "" };
                let (low, high) = (grams(units, low.max(0.0)), grams(units, high));
                let of = counted(drift.weights.len(), "weight");
                let lie = if outside.len() == 1 { "lies" } else { "lie" };
                format!("{} of {of} of {name} {lie} outside of the {low} to {high} to be expected by those before: {first} a tray{more}", outside.len())
            }
            Said::Shifted => {
                let centre = drift.limits.map_or(0.0, |limits| limits.centre());
                let last = drift.since.last().copied().unwrap_or(centre);
                let side = if last < centre { "below" } else { "above" };
                let same = |value: &&f64| (**value < centre) == (last < centre);
                let run = drift.since.iter().rev().take_while(same).count();
                format!("the last {run} weights of {name} all lie {side} the {} of before", grams(units, centre))
            }
            Said::Runs => format!("the weeks of {name} keep to one side, or swing across too seldom, as they seldom do by chance"),
            Said::Drifting => format!("the weekly mean of {name} has drifted out of its limits"),
            Said::Slope => {
                let slope = drift.slope.as_ref().map_or(0.0, |slope| slope.slope);
                let way = if slope < 0.0 { "falls" } else { "rises" };
                format!("{name} {way} by {} a tray each week", grams(units, slope.abs()))
            }
            Said::Losses => {
                let (x, n) = drift.lost_more.unwrap_or((0, 0));
                format!("{x} of {n} trays of {name} lost in a week is more than the weeks before explain")
            }
        });
    }
    said
}

fn unusual(told: &Told, units: Units) -> String {
    let found: Vec<String> = told.drifts.iter().flat_map(|drift| drifted(drift, units)).collect();
    // only what was weighed in these days can be unusual or not
    let here: Vec<&Drift> = told.drifts.iter().filter(|drift| !drift.weights.is_empty()).collect();
    let few = here.iter().filter(|drift| drift.limits.is_none()).count();
    let of = here.len() - few;
    let too_few = match few {
        0 => String::new(),
        n => {
            let have = if n == 1 { "has" } else { "have" };
            format!(" {} {have} too few weights before, or all alike, to judge by.", counted(n, "crop"))
        }
    };
    let check: usize = told.review.crops.iter().map(|crop| crop.check.len()).sum();
    let check = match check {
        0 => String::new(),
        n => {
            let first = told.review.crops.iter().find_map(|crop| {
                let (at, _) = crop.check.first()?;
                Some(format!("{} of {}", grams(units, crop.weighings.get(*at)?.value()), crop.name))
            });
            let more = if n > 1 { format!(" and {} more", n - 1) } else { String::new() };
            format!(" Check {}{more}: far from the others.", first.unwrap_or_default())
        }
    };
    // of losses nothing is said here before there are weeks enough; the sentence above has them
    let judged = told.drifts.iter().any(|drift| drift.lost_limits.is_some());
    let losses = if judged { "" } else { " Whether losses are unusual is told from 8 weeks on." };
    let marked: usize = told.review.crops.iter().map(|crop| crop.marked().count()).sum();
    let marked = match marked {
        0 => String::new(),
        n => format!(" {} marked as not right {} not judged.", counted(n, "weight"), if n == 1 { "is" } else { "are" }),
    };
    let sentence = match found.as_slice() {
        [] if here.is_empty() => "Nothing was weighed that could be called unusual.".to_string(),
        [] if of == 0 => "Nothing can be called unusual yet.".to_string(),
        [] => format!("No weight is unusual: {} weighed about as before.", counted(of, "crop")),
        [one] => format!("Unusual: {one}."),
        [one, two] => format!("Unusual: {one}; {two}."),
        [one, two, rest @ ..] => format!("Unusual: {one}; {two}; and {} more.", rest.len()),
    };
    format!("{sentence}{too_few}{losses}{check}{marked}")
}

/// `gave 31 g a tray less than S0012; could be 10 g to 52 g less (9 and 14 weights)`. `sure`: among all that was asked at once.
pub(super) fn apart(two: &Two, other: &str, units: Units, sure: bool) -> String {
    let weights = format!("{} and {} weights", two.n.0, two.n.1);
    let by = grams(units, two.diff.abs());
    let way = if two.diff < 0.0 { "less" } else { "more" };
    match two.interval {
        Some((low, high)) => {
            let (low_words, high_words) = (signed(units, low), signed(units, high));
            if low <= 0.0 && high >= 0.0 {
                return format!(
                    "against {other}: no clear difference; could be from {low_words} to {high_words} a tray ({weights})"
                );
            }
            let (least, most) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
            let (least, most) = (grams(units, least), grams(units, most));
            let chance = if sure { "" } else { ", though among so many questions that may be chance" };
            format!("gave {by} a tray {way} than {other}; could be {least} to {most} {way}{chance} ({weights})")
        }
        None => format!("gave {by} a tray {way} than {other}, of too few weights to say how sure ({weights})"),
    }
}

/// A comparison in one clause, with what to make of it.
pub(super) fn compared(one: &Comparison, units: Units) -> String {
    let about = match one.by {
        By::SeedLot => format!("Seed lot {}", one.name),
        By::Shelf => format!("Shelf {}", one.name),
        By::Density => format!("Sown {}", one.name),
        By::Plan => format!("Growing {}", one.name),
    };
    let found = match &one.found {
        Found::Yield(two) => {
            format!("{about} of {} {}", one.crop_name, apart(two, &one.other, units, one.worth()))
        }
        Found::Loss { here, there, diff, excess } => {
            let (_, low, high) = diff;
            let clear = if one.worth() {
                let (way, by) = if *excess > 0.0 { ("more", *excess) } else { ("fewer", -excess) };
                format!("{by:.1} trays {way} than crops and weeks alone would give")
            } else if *low <= 0.0 && *high >= 0.0 {
                format!("no clear difference; could be from {} to {}", points(*low), points(*high))
            } else {
                "too few to be sure".into()
            };
            let (here, there) = (here.words(), format!("{} of {}", there.x, there.n));
            format!("{about} of {} lost {here}; {}: {there}; {clear}", one.crop_name, one.other)
        }
    };
    let (both, _) = one.weeks;
    let found = if both == 1 {
        format!("{found}; in the 1 week in which both were sown")
    } else {
        format!("{found}; in the {both} weeks in which both were sown")
    };
    let same = if one.same.is_empty() { String::new() } else { format!(" (always with {})", one.same.join(", ")) };
    let worth = match one.gone.as_slice() {
        _ if !one.worth() => String::new(),
        [] => "; worth a planned trial".into(),
        gone => format!("; think of it at the next order: no seed of {} is left to try", gone.join(" and ")),
    };
    format!("{found}{worth}{same}")
}

fn differs(told: &Told, units: Units) -> String {
    let all = &told.differences;
    let lot = match all.worst(By::SeedLot) {
        None => "Of seed lots too little is known to set one against another.".to_string(),
        Some(one) if one.worth() => format!("{}.", compared(one, units)),
        Some(one) => format!("Of seed lots none stands out; {}.", lower(&compared(one, units))),
    };
    let shelf = all.losing_shelf().map_or_else(
        || "No shelf lost more than another.".to_string(),
        |one| match &one.found {
            Found::Loss { here, there, .. } => {
                let sure = if one.worth() { "worth a planned trial" } else { "no clear difference yet" };
                let others = if one.other.starts_with("the others") { "elsewhere" } else { &one.other };
                let rest = format!("{others} {} of {}", there.x, there.n);
                format!("Shelf {} loses most: {} of {} trays, {rest}; {sure}.", one.name, here.x, here.n)
            }
            Found::Yield(_) => String::new(),
        },
    );
    format!("{lot} {shelf} (Of {}.)", told.past.of_when())
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

fn sold(told: &Told, units: Units) -> String {
    let review = &told.review;
    let (met, late, short, open) = (
        review.orders(Outcome::Met),
        review.orders(Outcome::Late),
        review.orders(Outcome::Short),
        review.orders(Outcome::Open),
    );
    let orders = if review.due.is_empty() {
        "No order was due.".to_string()
    } else {
        let open = if open > 0 { format!(", {open} still open") } else { String::new() };
        format!("Of {} {met} met, {short} short, {late} late{open}.", counted(review.due.len(), "order"))
    };
    let (waste, packs) = review.wasted.iter().fold((0, 0), |(g, p), one| (g + one.grams, p + one.packs));
    #[expect(clippy::cast_precision_loss, reason = "grams of a week")]
    let waste = match (waste, packs) {
        (0, 0) => "Nothing was thrown away after the cut.".to_string(),
        (g, 0) => format!("Thrown away after the cut: {}.", grams(units, g as f64)),
        (0, p) => format!("Thrown away after the cut: {}.", packs_words(p)),
        (g, p) => format!("Thrown away after the cut: {} and {}.", grams(units, g as f64), packs_words(p)),
    };
    format!("{orders} {waste} {}", paid(told))
}

fn packs_words(packs: u64) -> String {
    counted(usize::try_from(packs).unwrap_or(usize::MAX), "pack")
}

/// Shares apart, in points of a hundred.
pub(super) fn points(share: f64) -> String {
    format!("{:+.0} points", rounded(share * 100.0))
}

/// Hundredths as money.
pub(super) fn money(cents: f64, currency: &str) -> String {
    format!("{:.2} {currency}", rounded(cents) / 100.0).trim_end().to_string()
}

/// What came in and what it cost in these days, and over all the weeks which crop paid most and least.
fn paid(told: &Told) -> String {
    let (review, currency) = (&told.review, told.review.currency.as_str());
    let priced = review.sold.iter().filter_map(|one| Some(real(one.packs) * real(one.price_c?)));
    let (income, without) = (priced.sum::<f64>(), review.sold.iter().filter(|one| one.price_c.is_none()).count());
    let costs: Vec<&Money> = review.crops.iter().filter_map(|crop| crop.money.as_ref()).collect();
    let prices = |one: &CropFigures| one.seed_kg_c.is_some() && one.tray_c.is_some();
    if without == review.sold.len() && !told.past.facts.crops.iter().any(prices) {
        return "No prices are set, so nothing is said of money.".into();
    }
    let without =
        if without > 0 { format!(" (and {} without a price)", counted(without, "product")) } else { String::new() };
    let trays: u64 = costs.iter().map(|one| one.trays).sum();
    let cost = if trays > 0 {
        let cost = money(costs.iter().map(|one| one.costs_c()).sum(), currency);
        format!("; the {} that ended cost {cost}", counted(usize::try_from(trays).unwrap_or(0), "tray"))
    } else {
        String::new()
    };
    let mut known: Vec<(&Margin, f64)> =
        told.margins.iter().filter_map(|one| Some((one, one.money.margin_c()?))).collect();
    known.sort_by(|a, b| b.1.total_cmp(&a.1));
    let say = |(one, margin): &(&Margin, f64)| {
        let (way, by) = if *margin < 0.0 { ("less", -margin) } else { ("more", *margin) };
        let trays = counted(usize::try_from(one.money.trays).unwrap_or(0), "tray");
        format!("{} {} a tray {way} than it cost ({trays})", one.crop_name, money(by, currency))
    };
    let of = match known.as_slice() {
        [] => String::new(),
        [one] => format!(" Of {}: {}.", told.past.of_when(), say(one)),
        [first, .., last] => format!(" Of {}: {}, {}.", told.past.of_when(), say(first), say(last)),
    };
    let sold = if review.sold.is_empty() {
        "Nothing was sold".to_string()
    } else {
        format!("Sold for {}{without}", money(income, currency))
    };
    format!("{sold}{cost}.{of}")
}

/// How many, with the noun for trays.
pub(super) fn trays(of: &[TrayId]) -> String {
    counted(of.len(), "tray")
}
