//! A crop against what it gave before.

use super::{Line, Open, Part};
use crate::domain::room::Units;
use crate::domain::text::{counted, sentence_case};
use crate::domain::week::drift::{Against, Drift, WEEKS_LEAST};
use crate::domain::week::words::{drifted, grams, signed};

pub(super) fn drift_lines(drift: &Drift, units: Units) -> Vec<Line> {
    let mut lines = vec![Line::opening(sentence_case(&drift.name), Open::Part(Part::Crop(drift.crop)))];
    let base = match (&drift.baseline, drift.limits) {
        (Some(base), Some(limits)) => {
            let (low, high) = limits.band();
            let (low, high) = (grams(units, low.max(0.0)), grams(units, high));
            let chosen = base.set.as_ref().map_or_else(|| "its first weeks".into(), |by| format!("chosen by {by}"));
            let kind = match limits {
                Against::Next { .. } => format!("wide, by {} weights only,", base.values.len()),
                Against::Chart(_) => format!("limits of {} weights", base.values.len()),
            };
            format!("  before: {low} to {high}, {kind} of {}, {chosen}", base.days.words())
        }
        (Some(base), None) => {
            format!("  before: {}, too few, or all alike, to judge by", counted(base.values.len(), "weight"))
        }
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
