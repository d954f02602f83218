//! The tree of a trace as a picture: seed at the left, customers at the right, what one step leads to joined by lines.
//!
//! A layout of our own: a thing stands one column behind everything that went into it; in its column it stands as near as it
//! can to what it was made of.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use super::line;
use crate::domain::text::{counted, fit};
use crate::domain::trace::{Link, Node, Thing, Trace};

const WIDE: usize = 136;
const HIGH: usize = 38;
/// Between columns, wide enough for an amount; and between boxes.
const GAP: usize = 72;
const ROW: usize = 12;
const EDGE: usize = 10;
/// Boxes of one column; what is beyond stands in the tables.
const MOST: usize = 60;
/// Signs that fit into a box, in letters of equal width and in others, and on a line between two.
const CODE: usize = 21;
const NAME: usize = 25;
const AMOUNT: usize = 15;

/// Things drawn as one box.
struct Box<'a> {
    things: Vec<&'a Thing>,
    column: usize,
    y: usize,
}

/// The ways of all traces in one picture, with the things they began with marked.
pub(super) fn picture(traces: &[Trace]) -> Markup {
    let things: BTreeMap<Node, &Thing> =
        traces.iter().flat_map(|trace| trace.things.iter().map(|(node, thing)| (*node, thing))).collect();
    let mut links: Vec<&Link> = traces.iter().flat_map(|trace| &trace.links).collect();
    links.sort_by_key(|link| (link.from, link.to));
    links.dedup_by_key(|link| (link.from, link.to));
    links.retain(|link| things.contains_key(&link.from) && things.contains_key(&link.to));
    let roots: BTreeSet<Node> = traces.iter().flat_map(|trace| trace.roots.iter().copied()).collect();
    let (boxes, of, hidden) = laid_out(&things, &links, &roots);
    if boxes.is_empty() {
        return html! { p { "Nothing is known of it." } };
    }
    let wide = 2 * EDGE + boxes.iter().map(|b| b.column).max().unwrap_or(0) * (WIDE + GAP) + WIDE;
    let high = 2 * EDGE + boxes.iter().map(|b| b.y + HIGH).max().unwrap_or(HIGH);
    let edges = edges(&links, &of);
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {wide} {high}")) width=(wide) height=(high)
            role="img" aria-label="The way from seed to customers" font-family="Liberation Sans, Arial, Helvetica, sans-serif" {
            @for ((from, to), amounts) in &edges { (edge(&boxes, &edges, (*from, *to), amounts)) }
            @for b in &boxes { (drawn(b, &roots)) }
        }
        @if hidden > 0 { p { "Not in the picture: " (counted(hidden, "box").replace("boxs", "boxes")) ". The tables have all of it." } }
    }
}

fn edges<'a>(links: &[&'a Link], of: &BTreeMap<Node, usize>) -> Edges<'a> {
    let mut edges = Edges::new();
    for link in links {
        if let (Some(from), Some(to)) = (of.get(&link.from), of.get(&link.to)) {
            edges.entry((*from, *to)).or_default().push(&link.amount);
        }
    }
    edges
}

/// What things of one box have in common: the column, and of trays the ways to and fro; else the thing itself.
type Alike = (usize, Option<(Vec<Node>, Vec<Node>)>, Option<Node>);

/// Boxes with their places, which box a thing is in, and how many boxes there was no room for.
fn laid_out<'a>(
    things: &BTreeMap<Node, &'a Thing>,
    links: &[&Link],
    roots: &BTreeSet<Node>,
) -> (Vec<Box<'a>>, BTreeMap<Node, usize>, usize) {
    let columns = columns(things, links);
    let mut groups: BTreeMap<Alike, Vec<Node>> = BTreeMap::new();
    for node in things.keys() {
        // trays with the same ways to and fro are one box, but one that was asked for stands alone
        let alike = (matches!(node, Node::Tray(_)) && !roots.contains(node)).then(|| {
            let ends = |of: fn(&Link) -> (Node, Node)| -> Vec<Node> {
                links.iter().map(|link| of(link)).filter(|(end, _)| end == node).map(|(_, other)| other).collect()
            };
            (ends(|link| (link.to, link.from)), ends(|link| (link.from, link.to)))
        });
        let own = alike.is_none().then_some(*node);
        groups.entry((columns.get(node).copied().unwrap_or(0), alike, own)).or_default().push(*node);
    }
    let mut by_column: BTreeMap<usize, Vec<Vec<Node>>> = BTreeMap::new();
    for ((column, ..), nodes) in groups {
        by_column.entry(column).or_default().push(nodes);
    }
    let (mut boxes, mut of, mut hidden): (Vec<Box<'a>>, BTreeMap<Node, usize>, usize) =
        (Vec::new(), BTreeMap::new(), 0);
    // columns nobody stands in take no room
    for (place, (_, mut groups)) in by_column.into_iter().enumerate() {
        groups.sort_by_key(|nodes| (near(nodes, links, &of, &boxes), nodes.first().copied()));
        hidden += groups.len().saturating_sub(MOST);
        for (n, nodes) in groups.into_iter().take(MOST).enumerate() {
            for node in &nodes {
                of.insert(*node, boxes.len());
            }
            let things = nodes.iter().filter_map(|node| things.get(node).copied()).collect();
            boxes.push(Box { things, column: place, y: n * (HIGH + ROW) });
        }
    }
    middle(&mut boxes);
    (boxes, of, hidden)
}

/// How far down the things stand that some were made of, on average; what was made of nothing keeps its order.
fn near(nodes: &[Node], links: &[&Link], of: &BTreeMap<Node, usize>, boxes: &[Box<'_>]) -> usize {
    let above: Vec<usize> = links
        .iter()
        .filter(|link| nodes.contains(&link.to))
        .filter_map(|link| boxes.get(*of.get(&link.from)?))
        .map(|b| b.y)
        .collect();
    above.iter().sum::<usize>().checked_div(above.len()).unwrap_or(0)
}

/// A short column stands in the middle of the longest.
fn middle(boxes: &mut [Box<'_>]) {
    let mut ends: BTreeMap<usize, usize> = BTreeMap::new();
    for b in boxes.iter() {
        let end = ends.entry(b.column).or_default();
        *end = (b.y + HIGH).max(*end);
    }
    let longest = ends.values().copied().max().unwrap_or(0);
    for b in boxes {
        b.y += (longest - ends.get(&b.column).copied().unwrap_or(longest)) / 2;
    }
}

/// The column of each thing: at least that of its kind, and one behind whatever went into it.
fn columns(things: &BTreeMap<Node, &Thing>, links: &[&Link]) -> BTreeMap<Node, usize> {
    let least = |node: &Node| match node {
        Node::SeedLot(_) | Node::Material(_) => 0,
        Node::Mix(_) | Node::Sowing(_) => 1,
        Node::Tray(_) | Node::Tool(_) => 2,
        Node::Lot(_) => 3,
        Node::Delivery(_) | Node::Round(_) => 4,
    };
    let mut columns: BTreeMap<Node, usize> = things.keys().map(|node| (*node, least(node))).collect();
    // the book has no circles; as many rounds as there are things are always enough
    for _ in 0..things.len() {
        let mut moved = false;
        for link in links {
            let behind = columns.get(&link.from).copied().unwrap_or(0) + 1;
            if let Some(column) = columns.get_mut(&link.to).filter(|column| **column < behind) {
                *column = behind;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    // customers stand below each other, whichever way their packs came
    let last = columns.values().copied().max().unwrap_or(0);
    for (node, column) in &mut columns {
        if matches!(node, Node::Delivery(_) | Node::Round(_)) {
            *column = last;
        }
    }
    columns
}

fn at(b: &Box<'_>) -> (usize, usize) {
    (EDGE + b.column * (WIDE + GAP), EDGE + b.y)
}

/// Pairs of boxes that are joined, each with the amounts that went over.
type Edges<'a> = BTreeMap<(usize, usize), Vec<&'a str>>;

fn edge(boxes: &[Box<'_>], all: &Edges<'_>, ends: (usize, usize), amounts: &[&str]) -> Markup {
    let (Some(from), Some(to)) = (boxes.get(ends.0), boxes.get(ends.1)) else { return html! {} };
    let ((left, top), (right, bottom)) = (at(from), at(to));
    let (x1, y1, x2, y2) = (left + WIDE, top + HIGH / 2, right, bottom + HIGH / 2);
    let bend = usize::midpoint(x1, x2);
    // several amounts into one box are no single amount
    let amount = match amounts {
        [one] => line(one),
        _ => String::new(),
    };
    // where no other line begins or ends an amount can be read
    let (alone, last) = (
        all.keys().filter(|(from, _)| *from == ends.0).count() == 1,
        all.keys().filter(|(_, to)| *to == ends.1).count() == 1,
    );
    let (x, y, anchor) = match (alone, last) {
        (_, true) => (x2 - 4, y2 - 3, "end"),
        (true, _) => (x1 + 4, y1 - 3, "start"),
        _ => (bend, usize::midpoint(y1, y2) - 2, "middle"),
    };
    html! {
        path d=(format!("M{x1} {y1}C{bend} {y1} {bend} {y2} {x2} {y2}")) fill="none" stroke="#777" stroke-width="1" {}
        @if !amount.is_empty() {
            text x=(x) y=(y) font-size="8" text-anchor=(anchor) fill="#000" stroke="#fff" stroke-width="2" paint-order="stroke" {
                title { (amount) }
                (fit(&amount, AMOUNT, false))
            }
        }
    }
}

fn drawn(b: &Box<'_>, roots: &BTreeSet<Node>) -> Markup {
    let Some(first) = b.things.first() else { return html! {} };
    let (x, y) = at(b);
    let root = b.things.iter().any(|thing| roots.contains(&thing.node));
    let held = b.things.iter().any(|thing| thing.held);
    let outside = matches!(first.node, Node::Delivery(_) | Node::Round(_));
    let (code, name) = match b.things.as_slice() {
        [_] if outside => (line(&first.name), first.day.map_or_else(String::new, |day| day.to_string())),
        [_] => (line(&first.code), line(&first.name)),
        several => {
            let codes: Vec<&str> = several.iter().map(|thing| thing.code.as_str()).collect();
            (counted(several.len(), "tray"), line(&codes.join(", ")))
        }
    };
    let (code, name) = (fit(&code, CODE, false), fit(&name, if held { NAME - 6 } else { NAME }, false));
    html! {
        rect x=(x) y=(y) width=(WIDE) height=(HIGH) rx=(if outside { 12 } else { 2 }) fill="#fff" stroke="#000"
            stroke-width=(if root { 3 } else { 1 }) stroke-dasharray=(if held { "5 3" } else { "none" }) {
            title { @for thing in &b.things { (line(&thing.label())) " " (line(&thing.words)) " " (line(&thing.here)) "\n" } }
        }
        text x=(x + 6) y=(y + 15) font-size="10" font-weight="bold" font-family="Liberation Mono, Courier New, monospace" { (code) }
        text x=(x + 6) y=(y + 30) font-size="9.5" { (name) }
        @if held { text x=(x + WIDE - 6) y=(y + 30) font-size="9.5" font-weight="bold" text-anchor="end" { "HELD" } }
    }
}
