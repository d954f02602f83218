//! A hand-over as lines of text.

use super::tree;
use crate::domain::text::clean_line;
use crate::domain::trace::event::{Event, Replaced, Row, What};
use crate::domain::trace::{Dossier, Trace, touch};

/// Everything but what only a table holds.
pub fn lines(dossier: &Dossier) -> Vec<String> {
    let mut lines = dossier.marks();
    lines.push(format!("{}, handed over {}", dossier.title(), dossier.made_at.format("%Y-%m-%d %H:%M %:z")));
    lines.push(tree::whose(dossier));
    lines.push(format!("{} Last hash {}.", dossier.proven(), dossier.proof.head));
    part(&mut lines, "What follows", &dossier.conclusions);
    for trace in &dossier.traces {
        let (mut told, cut) = tree::lines(trace);
        told.extend(cut.then(|| "... and more: the table has all of it".to_string()));
        part(&mut lines, trace.way.shown(), &told);
    }
    part(&mut lines, "Who got it", &went(&dossier.traces));
    let events: Vec<String> = dossier.events.iter().flat_map(Event::rows).map(row).collect();
    part(&mut lines, "Events", &events);
    part(&mut lines, "What touched it", &touch::lines(&dossier.touches));
    let replaced: Vec<String> = dossier.replaced.iter().flat_map(first).collect();
    part(&mut lines, "As it was written first", &replaced);
    part(&mut lines, "Not in the book", &dossier.gaps);
    let listed: Vec<String> = dossier.us_list.iter().map(|crop| format!("{}: {}", crop.crop, crop.listed)).collect();
    part(&mut lines, "On the US list of foods (21 CFR 1 subpart S), as the room has set it", &listed);
    lines.push(String::new());
    lines.push(format!("Rules of: {}. {}", dossier.country.shown(), dossier.facts));
    lines.push(dossier.local.to_string());
    lines.iter().map(|text| clean_line(text, 4000).text).collect()
}

fn part(lines: &mut Vec<String>, title: &str, told: &[String]) {
    if told.is_empty() {
        return;
    }
    lines.push(String::new());
    lines.push(title.to_uppercase());
    lines.extend(told.iter().map(|text| if text.is_empty() { String::new() } else { format!("  {text}") }));
}

/// Recipients and stalls of the ways forward.
fn went(traces: &[Trace]) -> Vec<String> {
    let mut told = Vec::new();
    for trace in traces {
        for got in &trace.recipients {
            let back = if got.returned > 0 { format!(", {} came back", got.returned) } else { String::new() };
            told.push(format!(
                "{}  {}, {}, {}: {} of {} {}{back} (delivery {})",
                got.day, got.name, got.address, got.phone, got.packs, got.code, got.product, got.delivery.0
            ));
        }
        for sold in &trace.public {
            told.push(format!(
                "{}  THE PUBLIC, {}, {}: {} of {} {}",
                sold.day, sold.place, sold.hours, sold.packs, sold.code, sold.product
            ));
        }
    }
    told
}

/// What no longer counts, with the entry that says so.
fn first(old: &Replaced) -> Vec<String> {
    let what = if old.never { "taken back" } else { "put right" };
    let by = format!("{what} by entry {} of {}", old.by.entry.0, old.by.saw);
    old.event.rows().into_iter().map(|one| format!("{}; {by}", row(one))).collect()
}

/// `2026-07-12  packed  PEA-260712-A-V pea 100 g: 12 packs`.
fn of(event: &Event) -> String {
    let name = if event.product.is_empty() { &event.crop } else { &event.product };
    let quantity = event.quantity.map_or_else(String::new, |quantity| format!(": {}", quantity.words()));
    let of = format!("{} {name}", event.lot);
    format!("{}  {}  {}{quantity}", event.day, event.what.shown(), of.trim())
}

/// The same with what went in, from whom and to whom.
fn row(row: Row<'_>) -> String {
    let event = row.event;
    let mut text = of(event);
    if let Some(input) = row.input {
        let amount = input.quantity.map_or_else(String::new, |quantity| format!("{} of ", quantity.words()));
        text = format!("{}  {}  {}: {amount}{} {}", event.day, row.what.shown(), event.lot, input.lot, input.name);
        if let Some(quantity) = event.quantity {
            text.extend([" -> ".to_string(), quantity.words()]);
        }
    }
    match event.what {
        What::Received => {
            text.extend([" from ", event.from.name.as_str(), ", their lot ", event.supplier_lot.as_str()]);
        }
        What::Returned => text.extend([" from ", event.from.name.as_str()]),
        _ if !event.to.name.is_empty() => text.extend([" to ", event.to.name.as_str()]),
        _ => {}
    }
    format!("{text}  [entry {}, {}]", event.stamp.entry.0, event.stamp.saw)
}
