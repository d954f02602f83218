//! The call sheet of a recall as one HTML file to phone from: who, where, which lots, and room to write.

use maud::html;

use super::document;
use crate::domain::answering::Answering;
use crate::domain::recall::{Call, Line, Recall};
use crate::domain::seed_lot::percent;
use crate::domain::text::clean_line;
use crate::domain::time::Now;

const STYLE: &str = include_str!("paper.css");

fn line(text: &str) -> String {
    clean_line(text.trim(), 300).text
}

/// The whole sheet. An exercise says so in every heading.
pub fn page(recall: &Recall, answering: &Answering, room: &str, now: Now) -> String {
    let mark = if recall.exercise { "EXERCISE " } else { "" };
    let title = format!("{mark}{}: call sheet of {}", line(room), line(&recall.scope));
    let (calls, notices): (Vec<&Call>, Vec<&Call>) =
        recall.calls.iter().partition(|call| matches!(call.line, Line::Delivery(_)));
    let body = html! {
        p.hint { "Made " (now.0.format("%Y-%m-%d %H:%M")) ". Print on A4 or Letter. Local codes decide what is reported to whom." }
        h1 { (title) }
        @if recall.exercise { p.caution { "EXERCISE: nobody is called and nothing is held." } }
        p { "To call first: authority " (line(&answering.authority)) "; laboratory " (line(&answering.laboratory)) "; insurer "
            (line(&answering.insurer)) "." }
        @for text in recall.clock(answering, now.instant()) { p { (line(&text)) } }
        table {
            thead { tr { @for name in ["customer", "address", "phone", "delivery", "lots and packs", "reached, when, who", "came back",
                "destroyed"] { th { (name) } } } }
            tbody { @for call in calls { tr {
                td { (line(&call.name)) }
                td { (line(&call.address)) }
                td { (line(&call.phone)) }
                td { @if let Line::Delivery(id) = call.line { (id.0) ", " } (call.day) }
                td { @for lot in &call.lots { (lot.packs) " x " (line(&lot.product)) " " (lot.code) br; } }
                td { (tried(call, now)) @if let Some(note) = &call.note { br; (line(note)) } }
                td { (call.returned()) }
                td { (call.destroyed) }
            } } }
        }
        @if !notices.is_empty() {
            h2 { (mark) "Notice to the public" }
            @for call in notices { p {
                "Sold at " (line(&call.name)) " on " (call.day) ", " (line(&call.address)) ": "
                @for lot in &call.lots { (lot.packs) " x " (line(&lot.product)) ", lot " (lot.code) ". " }
                "Do not eat it; bring it back or throw it away. " (tried(call, now))
            } }
        }
        @if recall.given() > 0 {
            p.caution { (recall.given()) " packs were given away. Those by hand are on no line here: the stories of the lots say to whom." }
        }
        h2 { (mark) "Where everything is" }
        @for balance in &recall.balances { p {
            (balance.code) " " (line(&balance.name)) ": made " (balance.account.made) " " (balance.unit) "; "
            (balance.account.places(|n| n.to_string()).join(", "))
            @if let Some(pm) = balance.account.accounted_pm() { "; accounted for " (percent(pm)) }
            "."
        } }
    };
    document(&title, STYLE, &body)
}

/// Whether and when, or a line to write on.
fn tried(call: &Call, now: Now) -> String {
    match &call.tried {
        Some((true, at, who)) => format!("yes, {}, {who}", now.local(*at).format("%d %b %H:%M")),
        Some((false, at, who)) => format!("not yet; tried {}, {who}", now.local(*at).format("%d %b %H:%M")),
        None => "____________".into(),
    }
}
