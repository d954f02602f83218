//! Seed lots, shelves, densities and plans against each other.

use super::Line;
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::week::WORTH;
use crate::domain::week::past::By;
use crate::domain::week::review::Told;
use crate::domain::week::words::{compared, grams, percent, rounded};

pub(super) fn differ(told: &Told, units: Units) -> Vec<Line> {
    let all = &told.differences;
    let mut lines = vec![Line::said(format!(
        "{} at once, of {} ({}). What stands out after correcting for that is a lead, no proof.",
        counted(all.asked, "question"),
        told.past.of_when(),
        told.past.days().words()
    ))];
    if all.comparisons.is_empty() {
        lines.push(Line::said("Not enough to say: no two groups have weights of the same week."));
    }
    for by in By::ALL {
        let of: Vec<_> = all.comparisons.iter().filter(|one| one.by == by && !one.nothing_lost()).collect();
        let quiet = all.comparisons.iter().filter(|one| one.by == by && one.nothing_lost()).count();
        if of.is_empty() && quiet == 0 {
            continue;
        }
        lines.push(Line::gap());
        lines.push(Line::said(format!("By {}", by.shown())));
        for one in of {
            let mark = if one.worth() { "LEAD: " } else { "" };
            let title = format!("{} {}", one.by.shown(), one.name);
            lines.push(Line::trays(format!("  {mark}{}", compared(one, units)), title, &one.trays));
        }
        if quiet > 0 {
            lines.push(Line::said(format!("  in {} neither side lost a tray", counted(quiet, "comparison"))));
        }
    }
    if !all.shelves.is_empty() {
        lines.push(Line::gap());
        let rank = all.shelf_rank.as_ref().map_or_else(String::new, |(_, q)| {
            let word = if *q <= WORTH { "worth a planned trial" } else { "no clear difference" };
            format!(": {word} in what trays give, taken together")
        });
        lines.push(Line::said(format!("Shelves, against the mean of crop and week{rank}")));
        for shelf in &all.shelves {
            let of = &shelf.spread;
            let range = of
                .mean_interval()
                .map_or_else(String::new, |(low, high)| format!(" ({:+.0} to {:+.0} %)", rounded(low), rounded(high)));
            let text = format!("  {}: {:+.0} %{range}, {}", shelf.name, rounded(of.mean), counted(of.n, "weight"));
            lines.push(Line::trays(text, format!("Shelf {}", shelf.name), &shelf.trays));
        }
    }
    if !all.drawn.is_empty() || !all.drawn_losses.is_empty() {
        lines.push(Line::gap());
        lines.push(Line::said("Small lots, drawn towards their crop: what to expect of them next"));
        for one in &all.between {
            let apart = if one.sd > 0.0 {
                format!("lie apart by about {} a tray beyond chance", grams(units, one.sd))
            } else {
                "lie no further apart than chance alone would put them".into()
            };
            lines.push(Line::said(format!("  {} lots of {} {apart}", one.lots, one.crop_name)));
        }
        for one in &all.drawn {
            let (mean, drawn) = (grams(units, one.mean), grams(units, one.expected));
            lines.push(Line::said(format!(
                "  {} of {}: {mean} seen, {drawn} to expect ({})",
                one.lot,
                one.crop_name,
                counted(one.n, "weight")
            )));
        }
        for one in &all.drawn_losses {
            let (x, n, expected) = (one.seen.x, one.seen.n, percent(one.expected));
            lines
                .push(Line::said(format!("  {} of {}: {x} of {n} lost, {expected} to expect", one.lot, one.crop_name)));
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
