//! A trace as lines of text, each a step further in.

use crate::domain::trace::event::Party;
use crate::domain::trace::{Branch, Dossier, Trace};

/// Lines at most: a tree goes over the same things again where ways meet.
const MOST: usize = 400;

/// The whole tree, and whether it was cut off.
pub(super) fn lines(trace: &Trace) -> (Vec<String>, bool) {
    let mut lines = Vec::new();
    let whole = grow(trace, trace.trunk(), 0, &mut lines);
    (lines, !whole)
}

fn grow(trace: &Trace, branches: Vec<Branch>, depth: usize, lines: &mut Vec<String>) -> bool {
    for branch in branches {
        if lines.len() == MOST {
            return false;
        }
        let amount = if branch.amount.is_empty() { String::new() } else { format!("{} · ", branch.amount) };
        let held = if trace.held(&branch) { "  HELD" } else { "" };
        let words = branch.nodes.first().and_then(|node| trace.things.get(node)).filter(|_| branch.nodes.len() == 1);
        let words = words.map_or("", |thing| thing.words.as_str());
        let words = if words.is_empty() { String::new() } else { format!("  ({words})") };
        lines.push(format!("{}{amount}{}{words}{held}", "  ".repeat(depth), trace.label(&branch)));
        if !grow(trace, trace.branches(&branch.nodes), depth + 1, lines) {
            return false;
        }
    }
    true
}

/// `North Bench, room NB, Quay 1, 555`.
pub(super) fn whose(dossier: &Dossier) -> String {
    let Party { name, address, phone } = &dossier.sender;
    let room = format!("room {}", dossier.room);
    let parts = [name, &room, address, phone];
    parts.into_iter().filter(|part| !part.trim().is_empty()).cloned().collect::<Vec<_>>().join(", ")
}
