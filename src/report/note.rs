//! A delivery note: everything one step forward of a lot asks for, as text and as one HTML file to print.
//!
//! P: 21 CFR 1.1340 lists what goes with a shipment: lot code, quantity and unit, product, who receives it and where, where
//! it was shipped from, the date, who assigned the lot code, and the document.

use maud::{Markup, html};

use super::document;
use crate::domain::board::Board;
use crate::domain::delivery::{Delivery, Line};
use crate::domain::room::Units;
use crate::domain::text::clean_line;

const STYLE: &str = include_str!("paper.css");

/// Who ships, and whose lot codes they are.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct From {
    pub room_code: String,
    pub name: String,
    pub address: String,
    pub phone: String,
}

impl From {
    /// The room as it stands in the book.
    pub fn of(board: &Board) -> Self {
        let sender = &board.sender;
        let name = if sender.name.is_empty() { &board.room_name } else { &sender.name };
        Self {
            room_code: board.room_code.clone(),
            name: name.clone(),
            address: sender.address.clone(),
            phone: sender.phone.clone(),
        }
    }
}

/// What is kept cold is kept cold at the door too.
const COLD: &str = "Keep refrigerated at 5 °C (41 °F) or below. Look at each pack; local food rules decide.";

fn line(text: &str) -> String {
    clean_line(text.trim(), 300).text
}

/// `3 packs of 100 g`, `2 trays`.
fn quantity(of: &Line, units: Units) -> String {
    let packs = of.packs;
    match of.pack_g {
        Some(grams) if packs == 1 => format!("1 pack of {}", units.weight(grams * 1000)),
        Some(grams) => format!("{packs} packs of {}", units.weight(grams * 1000)),
        None if packs == 1 => "1 tray".into(),
        None => format!("{packs} trays"),
    }
}

fn best_before(of: &Line) -> String {
    of.best_before.map_or_else(|| "-".into(), |day| day.to_string())
}

/// The note as lines of text.
pub fn text(delivery: &Delivery, from: &From, units: Units) -> Vec<String> {
    let mut lines = vec![
        format!("DELIVERY NOTE {} of {}", delivery.id.0, delivery.day),
        format!("from  {}, {}, {}", line(&from.name), line(&from.address), line(&from.phone)),
        format!("to    {}, {}, {}", line(&delivery.customer_name), line(&delivery.address), line(&delivery.phone)),
        String::new(),
    ];
    for of in &delivery.lines {
        let code = format!("{} {}", from.room_code, of.code);
        let until = best_before(of);
        lines.push(format!("LOT {code}  {}, {}; best before {until}", quantity(of, units), line(&of.product)));
    }
    lines.push(String::new());
    lines.push(format!("Lot codes assigned by {}, room {}.", line(&from.name), from.room_code));
    if let Some(by) = &delivery.received_by {
        lines.push(format!("Received by {}.", line(by)));
    }
    if let Some(dc) = delivery.temp_dc {
        lines.push(format!("{} at the drop.", units.temperature(dc)));
    }
    lines.push(COLD.into());
    lines
}

/// The note as a page.
pub fn page(delivery: &Delivery, from: &From, units: Units) -> String {
    let title = format!("Delivery note {} of {}", delivery.id.0, delivery.day);
    let body = html! {
        p.hint { "Print on A4 or Letter. Paper fails when wet." }
        h1 { (title) }
        div.two {
            (party("from", &[&from.name, &from.address, &from.phone]))
            (party("to", &[&delivery.customer_name, &delivery.address, &delivery.phone]))
        }
        h2 { "Packs" }
        table {
            thead { tr { @for name in ["lot", "quantity", "product", "best before"] { th { (name) } } } }
            tbody { @for of in &delivery.lines {
                tr {
                    td.code { (from.room_code) " " (of.code) }
                    td { (quantity(of, units)) }
                    td { (line(&of.product)) }
                    td { (best_before(of)) }
                }
            } }
        }
        p { "Lot codes assigned by " (line(&from.name)) ", room " (from.room_code) ". Document " (delivery.id.0) ", "
            (delivery.day) ", written by " (line(&delivery.who)) "." }
        p { "Received by " span.line { (line(delivery.received_by.as_deref().unwrap_or(""))) }
            "  at the drop " span.line { (delivery.temp_dc.map_or_else(String::new, |dc| units.temperature(dc))) } }
        p { (COLD) }
    };
    document(&title, STYLE, &body)
}

fn party(what: &str, lines: &[&str]) -> Markup {
    html! { p { (what) br; @for text in lines { strong { (line(text)) } br; } } }
}
