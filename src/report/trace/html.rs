//! A hand-over as one page to read and print.

use maud::{Markup, html};

use super::super::document;
use super::{line, picture, tree};
use crate::domain::trace::event::{Event, Input, Quantity, Replaced, What};
use crate::domain::trace::touch::{Section, Touch, some};
use crate::domain::trace::{Dossier, Thing, Trace, Way};

const STYLE: &str = include_str!("report.css");
/// Codes named beside a line of what touched it.
const NAMED: usize = 8;

/// On every hand-over; no figure of it clears anything.
const CAUTION: &str = "This says what the book holds. It does not say that food is safe: people do, by name.";

pub fn page(dossier: &Dossier) -> String {
    let title = line(dossier.title());
    let body = html! {
        p.hint { "Print on A4 or Letter, landscape. Paper fails when wet." }
        @for mark in dossier.marks() { p.mark { (mark) } }
        h1 { "Trace of " (title) }
        p {
            "Handed over " (dossier.made_at.format("%Y-%m-%d %H:%M %:z")) " by " (line(&tree::whose(dossier))) ". Weights in grams, \
             times on the room's clock."
        }
        p { (dossier.proven()) " Last hash " span.head { (dossier.proof.head) } "." }
        p.caution { (CAUTION) }
        h2 { "What follows" }
        ul { @for said in &dossier.conclusions { li { (line(said)) } } }
        @if !dossier.gaps.is_empty() {
            h3 { "Not in the book" }
            ul { @for gap in &dossier.gaps { li { (line(gap)) } } }
        }
        h2 { "From seed to customer" }
        p { "What was asked for has a thick frame, what is held a broken one." }
        (picture::picture(&dossier.traces))
        @for trace in &dossier.traces { (in_words(trace)) }
        (recipients(&dossier.traces))
        (events(&dossier.events))
        (touches(&dossier.touches))
        (replaced(&dossier.replaced))
        (rules(dossier))
        @for mark in dossier.marks() { p.mark { (mark) } }
    };
    document(&format!("Trace of {title}"), STYLE, &body)
}

/// A table with a heading; nothing where it has no rows.
fn table(names: &[&str], rows: &[Markup]) -> Markup {
    html! {
        table {
            thead { tr { @for name in names { th { (name) } } } }
            tbody { @for row in rows { tr { (row) } } }
        }
    }
}

fn in_words(trace: &Trace) -> Markup {
    let (lines, cut) = tree::lines(trace);
    let lines: Vec<String> = lines.iter().map(|text| text.trim_end().to_string()).collect();
    let mut things: Vec<&Thing> = trace.things.values().collect();
    things.sort_by_key(|thing| thing.node);
    let rows: Vec<Markup> = things.into_iter().map(thing).collect();
    html! {
        h3 { (match trace.way { Way::Back => "What it was made of", Way::Forward => "What was made of it, and who has it" }) }
        pre { @for text in &lines { (indented(text)) "\n" } @if cut { "... and more: the tables have all of it\n" } }
        h3 { "Each thing" }
        (table(&["code", "what", "day", "", "still here", ""], &rows))
    }
}

/// Spaces before a line are kept.
fn indented(text: &str) -> String {
    let plain = text.trim_start_matches(' ');
    format!("{}{}", " ".repeat(text.len() - plain.len()), line(plain))
}

fn thing(thing: &Thing) -> Markup {
    html! {
        td.code { (line(&thing.code)) }
        td { (line(&thing.name)) }
        td { (thing.day.map_or_else(String::new, |day| day.to_string())) }
        td { (line(&thing.words)) }
        td { (line(&thing.here)) }
        td { @if thing.held { strong { "HELD" } } }
    }
}

fn recipients(traces: &[Trace]) -> Markup {
    let mut rows = Vec::new();
    for trace in traces {
        for got in &trace.recipients {
            rows.push(html! {
                td { (got.day) } td { strong { (line(&got.name)) } } td { (line(&got.address)) } td { (line(&got.phone)) }
                td.code { (line(&got.code)) } td { (line(&got.product)) } td { (got.packs) } td { (got.returned) }
                td { "delivery note " (got.delivery.0) }
            });
        }
        for sold in &trace.public {
            rows.push(html! {
                td { (sold.day) } td { strong { "the public" } } td { (line(&sold.place)) } td { (line(&sold.hours)) }
                td.code { (line(&sold.code)) } td { (line(&sold.product)) } td { (sold.packs) } td {}
                td { "round or stall " (sold.round.0) }
            });
        }
    }
    html! {
        @if traces.iter().any(|trace| trace.way == Way::Forward) {
            h2 { "Who got it" }
            @if rows.is_empty() { p { "Nobody outside got any of it." } }
            @else { (table(&["day", "who", "address", "phone or hours", "lot", "product", "packs", "came back", "document"], &rows)) }
        }
    }
}

fn events(events: &[Event]) -> Markup {
    let rows: Vec<Markup> = events.iter().map(event).collect();
    html! {
        h2 { "Events" }
        (table(&["when", "what", "lot", "crop or product", "quantity", "made of", "where, from whom, to whom", "document", "hands"], &rows))
    }
}

fn event(event: &Event) -> Markup {
    let name = if event.product.is_empty() { &event.crop } else { &event.product };
    let size = event.pack_g.map_or_else(String::new, |grams| format!(" of {grams} g"));
    let quantity = event.quantity.map_or_else(String::new, Quantity::words);
    let stamp = &event.stamp;
    html! {
        td { (event.day) @if let Some(at) = event.at { " " (at.format("%H:%M")) }
            @if let Some(until) = event.until { " to " (until.format("%Y-%m-%d %H:%M")) } }
        td { (event.what.shown()) }
        td.code { (line(&event.room)) " " (line(&event.lot))
            @if !event.supplier_lot.is_empty() { br; "their lot " (line(&event.supplier_lot)) } }
        td { (line(name)) @if !event.variety.is_empty() { ", " (line(&event.variety)) } }
        td { (quantity) @if matches!(event.quantity, Some(Quantity::Packs(_))) { (size) }
            @if let Some(day) = event.best_before { br; "best before " (day) } }
        td { @for input in &event.inputs { (made_of(input)) br; } }
        td {
            @if !event.places.is_empty() { (line(&event.places.join(", "))) br; }
            @if !event.trays.is_empty() { (line(&event.trays.join(", "))) br; }
            @if event.what == What::Received || event.what == What::Returned { "from " (line(&event.from.words())) br; }
            @if matches!(event.what, What::Shipped | What::Sold | What::Given) && !event.to.words().is_empty() {
                "to " (line(&event.to.words())) br;
            }
            @if let Some(treated) = event.treated { "treated: " (treated.shown()) br; }
            @if !event.certificate.is_empty() { "certificate " (line(&event.certificate)) br; }
            (line(&event.remark))
        }
        td { (line(&event.document.0)) " " (line(&event.document.1)) }
        td {
            (line(&stamp.saw)) ", entry " (stamp.entry.0)
            @if stamp.late || stamp.typed != stamp.saw {
                br; "typed by " (line(&stamp.typed)) " " (stamp.typed_at.format("%Y-%m-%d %H:%M"))
                @if stamp.paper { ", from paper" }
            }
            @if let Some(by) = stamp.put_right_by { br; "put right by entry " (by.0) }
        }
    }
}

fn made_of(input: &Input) -> Markup {
    let amount = input.quantity.map_or_else(String::new, |quantity| format!("{} of ", quantity.words()));
    html! { (amount) span.code { (line(&input.lot)) } " " (line(&input.name)) }
}

fn touches(touches: &[Touch]) -> Markup {
    html! {
        h2 { "What touched it" }
        @for section in Section::ALL {
            @let rows: Vec<Markup> = touches.iter().filter(|touch| touch.section == *section).map(touch).collect();
            @if !rows.is_empty() {
                h3 { (section.shown()) }
                (table(&["when", "who", "of", "what", "entry"], &rows))
            }
        }
    }
}

fn touch(touch: &Touch) -> Markup {
    let since = touch.since();
    html! {
        td { (touch.at.format("%Y-%m-%d %H:%M")) @if let Some(until) = touch.until { " to " (until.format("%Y-%m-%d %H:%M")) } }
        td { (line(&touch.who)) }
        td { (line(&some(&touch.of, NAMED))) }
        td { (line(&touch.words)) @if let Some(note) = &touch.note { br; "“" (line(note)) "”" }
            @if !since.is_empty() { br; strong { (since) } } }
        td { @if let Some(entry) = touch.entry { (entry.0) } }
    }
}

fn replaced(all: &[Replaced]) -> Markup {
    let rows: Vec<Markup> = all
        .iter()
        .map(|old| {
            html! {
                (event(&old.event))
                td { strong { (if old.never { "taken back" } else { "put right" }) } " by entry " (old.by.entry.0) ", " (line(&old.by.saw))
                    @if let Some(note) = &old.by.note { ": " (line(note)) } }
            }
        })
        .collect();
    let names = [
        "when",
        "what",
        "lot",
        "crop or product",
        "quantity",
        "made of",
        "where, from whom, to whom",
        "document",
        "hands",
        "since",
    ];
    html! {
        @if !rows.is_empty() {
            h2 { "As it was written first" }
            p { "These no longer count; nothing is deleted." }
            (table(&names, &rows))
        }
    }
}

fn rules(dossier: &Dossier) -> Markup {
    html! {
        h2 { "Rules" }
        p { strong { (dossier.local) } " Rules of: " (dossier.country.shown()) ". " (dossier.facts) }
        h3 { "On the US list of foods (21 CFR 1 subpart S), as the room has set it" }
        ul { @for crop in &dossier.us_list { li { (line(&crop.crop)) " (" (line(&crop.letters)) "): " strong { (line(&crop.listed)) } } } }
    }
}
