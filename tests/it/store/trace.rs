//! Traces: the same as a walk over the raw rows, on a thousand random books.

mod books;
mod brute;
mod typed;

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::thread;

use brute::{Graph, N};
use rackwalk::domain::id::{LotId, SeedLotId, SowingId, TrayId};
use rackwalk::domain::trace::{Node, Start, Trace, Way};
use rackwalk::store::Store;
use rackwalk::store::error::StoreError;
use rusqlite::Connection;

use super::number;
pub(super) use typed::MET;

fn plain(node: Node) -> N {
    match node {
        Node::SeedLot(id) => ('S', id.0),
        Node::Material(id) => ('M', id.0),
        Node::Mix(id) => ('X', id.0),
        Node::Tool(id) => ('K', id.0),
        Node::Sowing(id) => ('B', id.0),
        Node::Tray(id) => ('T', id.0),
        Node::Lot(id) => ('L', id.0),
        Node::Delivery(id) => ('D', id.0),
        Node::Round(id) => ('R', id.0),
    }
}

/// A trace is what the raw rows say: the same things, the same links with the same amounts, and who got how much.
fn same(graph: &Graph, trace: &Trace, from: &[N]) {
    let (start, way) = (&trace.start, trace.way);
    let roots: Vec<N> = trace.roots.iter().map(|node| plain(*node)).collect();
    assert_eq!(roots, from, "{start:?} {way:?}");
    let expected = graph.closure(from, way == Way::Back);
    let things: BTreeSet<N> = trace.things.keys().map(|node| plain(*node)).collect();
    assert_eq!(things, expected, "{start:?} {way:?}");
    let links: BTreeMap<(N, N), &str> =
        trace.links.iter().map(|link| ((plain(link.from), plain(link.to)), link.amount.as_str())).collect();
    assert_eq!(links.len(), trace.links.len(), "a link twice: {:?}", trace.links);
    let inside = graph.edges.iter().filter(|((from, to), _)| expected.contains(from) && expected.contains(to));
    let inside: BTreeMap<(N, N), &str> = inside.map(|(edge, words)| (*edge, words.as_str())).collect();
    assert_eq!(links, inside, "{start:?} {way:?}");
    let forward = |lot: i64| way == Way::Forward && expected.contains(&('L', lot));
    let got: BTreeMap<(i64, i64), (i64, i64)> =
        trace.recipients.iter().map(|r| ((r.delivery.0, r.lot.0), (r.packs, r.returned))).collect();
    let delivered = graph.delivered.iter().filter(|((_, lot), _)| forward(*lot)).map(|(k, v)| (*k, *v));
    assert_eq!(got, delivered.collect(), "{start:?} {way:?}");
    let sold: BTreeMap<(i64, i64), i64> = trace.public.iter().map(|p| ((p.round.0, p.lot.0), p.packs)).collect();
    let public = graph.public.iter().filter(|((_, lot), _)| forward(*lot)).map(|(k, v)| (*k, *v));
    assert_eq!(sold, public.collect(), "{start:?} {way:?}");
}

/// Both ways from every seed lot, batch, tray and lot, and from all lots at once.
fn every_way(store: &Store, graph: &Graph) {
    let mut starts: Vec<(Start, Vec<N>)> = Vec::new();
    starts.extend(graph.seed_lots.iter().map(|id| (Start::SeedLot(SeedLotId(*id)), vec![('S', *id)])));
    starts.extend(graph.sowings.iter().map(|id| (Start::Sowing(SowingId(*id)), vec![('B', *id)])));
    starts.extend(graph.trays.iter().map(|id| (Start::Tray(TrayId(*id)), vec![('T', *id)])));
    starts.extend(graph.lots.iter().map(|id| (Start::Lot(LotId(*id)), vec![('L', *id)])));
    // an old label leads to the lot that stands in its place
    starts.extend(graph.renamed.iter().map(|(old, new)| (Start::Lot(LotId(*old)), vec![('L', *new)])));
    if !graph.lots.is_empty() {
        let lots = graph.lots.iter().map(|id| LotId(*id)).collect();
        starts.push((Start::Lots(lots), graph.lots.iter().map(|id| ('L', *id)).collect()));
    }
    for (start, from) in &starts {
        for way in [Way::Forward, Way::Back] {
            same(graph, &store.trace(start, way).unwrap(), from);
        }
    }
    for id in &graph.gone {
        let refused = store.trace(&Start::Lot(LotId(*id)), Way::Back);
        assert!(matches!(&refused, Err(StoreError::Rule(refusal)) if refusal.rule == "lot_unknown"), "{refused:?}");
    }
}

/// What the books hold, so that none of it drops out of the test unseen.
const WANTED: &[(&str, i64, &str)] = &[
    (
        "a blend drawn from a blend",
        100,
        "SELECT count(DISTINCT i.lot_id) FROM lot_input i JOIN lot_input o ON o.lot_id = i.from_lot_id AND o.from_lot_id NOT NULL WHERE i.void_by IS NULL AND o.void_by IS NULL",
    ),
    (
        "mats that stayed",
        300,
        "SELECT count(*) FROM lot_input i JOIN tray t ON t.id = i.tray_id WHERE i.void_by IS NULL AND i.mats < t.mats",
    ),
    (
        "several seed lots in a tray",
        500,
        "SELECT count(*) FROM (SELECT 1 FROM seed_move WHERE sowing_id NOT NULL AND void_by IS NULL GROUP BY sowing_id HAVING count(*) > 1)",
    ),
    ("trays from before the book", 100, "SELECT count(*) FROM sowing WHERE before_lot_id NOT NULL AND void_by IS NULL"),
    ("packs that came back", 30, "SELECT count(*) FROM stock_move WHERE kind = 'returned' AND void_by IS NULL"),
    (
        "packs sold to the public",
        20,
        "SELECT count(*) FROM stock_move WHERE kind IN ('sold_public', 'given') AND round_id NOT NULL AND void_by IS NULL",
    ),
    (
        "lots taken back",
        100,
        "SELECT count(*) FROM lot WHERE void_by NOT NULL AND id NOT IN (SELECT instead_of FROM lot WHERE instead_of NOT NULL)",
    ),
    ("batches taken back", 30, "SELECT count(*) FROM sowing WHERE void_by NOT NULL"),
    ("other labels", 100, "SELECT count(*) FROM lot WHERE instead_of NOT NULL AND void_by IS NULL"),
    (
        "seed put right",
        30,
        "SELECT count(*) FROM seed_move m JOIN entry e ON e.id = m.entry_id WHERE m.sowing_id NOT NULL AND m.void_by IS NULL AND e.kind = 'corrected'",
    ),
    (
        "seed put right, and that taken back",
        3,
        "SELECT count(*) FROM seed_move m JOIN entry e ON e.id = m.entry_id WHERE m.sowing_id NOT NULL AND m.void_by IS NULL AND e.kind = 'undo'",
    ),
    ("second cuts", 30, "SELECT count(*) FROM lot_input WHERE again AND void_by IS NULL"),
    (
        "live trays",
        30,
        "SELECT count(*) FROM lot_input i JOIN lot l ON l.id = i.lot_id WHERE i.tray_id NOT NULL AND l.kind = 'pack' AND i.void_by IS NULL",
    ),
];

fn counted(conn: &Connection) -> Vec<i64> {
    WANTED.iter().map(|(_, _, text)| number(conn, text)).collect()
}

#[test]
fn a_trace_is_a_walk_over_the_raw_rows_on_a_thousand_books() {
    const BOOKS: u64 = 1000;
    let next = Mutex::new(0..BOOKS);
    let sums = Mutex::new(vec![0; WANTED.len()]);
    let threads = thread::available_parallelism().unwrap().get();
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let Some(seed) = next.lock().unwrap().next() else { return };
                    let made = books::book(seed);
                    let graph = Graph::of(&made.raw);
                    let fine = catch_unwind(AssertUnwindSafe(|| every_way(&made.book.store, &graph)));
                    assert!(fine.is_ok(), "the book of seed {seed}:\n{}", made.done.join("\n"));
                    sums.lock().unwrap().iter_mut().zip(counted(&made.raw)).for_each(|(sum, n)| *sum += n);
                }
            });
        }
    });
    let sums = sums.into_inner().unwrap();
    let told: Vec<String> =
        WANTED.iter().zip(&sums).map(|((what, least, _), n)| format!("{n} of {least}: {what}")).collect();
    let enough = WANTED.iter().zip(&sums).all(|((_, least, _), n)| n >= least);
    assert!(enough, "{told:#?}");
    println!("{told:#?}");
}
