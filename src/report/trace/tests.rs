use std::collections::BTreeMap;

use serde_json::Value;

use super::{columns, csv, epcis, html, stem, text};
use crate::domain::answering::Country;
use crate::domain::chain::{Broken, Proof};
use crate::domain::id::{DeliveryId, LotId, RoundId, SeedLotId, SowingId, TrayId};
use crate::domain::seed_lot::Treated;
use crate::domain::trace::event::tests::{event, input, moment, stamp};
use crate::domain::trace::event::{Event, Input, Party, Quantity, Replaced, What};
use crate::domain::trace::touch::Section;
use crate::domain::trace::touch::tests::touch;
use crate::domain::trace::{Dossier, LOCAL, Link, Node, Public, Recipient, Start, Thing, Trace, UsList, Way};

const SEED: Node = Node::SeedLot(SeedLotId(1));
const BATCH: Node = Node::Sowing(SowingId(1));
const PEA: Node = Node::Lot(LotId(1));
const PACK: Node = Node::Lot(LotId(2));
const TABLE: Node = Node::Delivery(DeliveryId(7));
const STALL: Node = Node::Round(RoundId(3));
/// A name that would break a table, a page, a formula and a picture, if anything did.
const NASTY: &str = "=cmd|' /C calc'!A0, \"Bell\" & <b>Table</b>\nQuay";

fn thing(node: Node, code: &str, name: &str) -> (Node, Thing) {
    let (code, name) = (code.to_string(), name.to_string());
    let day = Some("2026-07-12".parse().unwrap());
    (node, Thing { node, code, name, day, words: "so said".into(), here: String::new(), held: node == PACK })
}

fn trace(way: Way, root: Node) -> Trace {
    let link = |from, to, amount: &str| Link { from, to, amount: amount.into() };
    let tray = |id| Node::Tray(TrayId(id));
    let public = Public {
        round: RoundId(3),
        place: "Quay market".into(),
        hours: "8 to 12".into(),
        day: "2026-07-12".parse().unwrap(),
        lot: LotId(2),
        code: "PEA-260712-A-V".into(),
        product: "pea 100 g".into(),
        packs: 2,
    };
    let got = Recipient {
        delivery: DeliveryId(7),
        name: NASTY.into(),
        address: "1 Quay".into(),
        phone: "+44 555".into(),
        day: "2026-07-12".parse().unwrap(),
        lot: LotId(2),
        code: "PEA-260712-A-V".into(),
        product: "pea 100 g".into(),
        packs: 6,
        returned: 1,
    };
    let forward = way == Way::Forward;
    Trace {
        start: Start::Lot(LotId(2)),
        way,
        title: "Lot PEA-260712-A-V".into(),
        roots: vec![root],
        things: [
            thing(SEED, "S0001-X", "pea"),
            thing(BATCH, "B0001-Q", "pea"),
            thing(tray(1), "T0001-W", "pea"),
            thing(tray(2), "T0002-U", "pea"),
            thing(PEA, "PEA-260711-A-Z", "pea"),
            thing(PACK, "PEA-260712-A-V", "pea 100 g"),
            thing(TABLE, "7", NASTY),
            thing(STALL, "3", "Quay market"),
        ]
        .into(),
        links: vec![
            link(SEED, BATCH, "400 g"),
            link(BATCH, tray(1), "2 mats"),
            link(BATCH, tray(2), "2 mats"),
            link(tray(1), PEA, "2 mats"),
            link(tray(2), PEA, "1 of 2 mats"),
            link(PEA, PACK, "900 g"),
            link(PACK, TABLE, "6 packs"),
            link(PACK, STALL, "2 packs"),
        ],
        recipients: if forward { vec![got] } else { vec![] },
        public: if forward { vec![public] } else { vec![] },
    }
}

fn sender() -> Party {
    Party { name: "North Bench".into(), address: "2 Kiln Yard".into(), phone: "555 0123".into() }
}

/// An event of every kind, each with all that is asked for it.
fn events() -> Vec<Event> {
    let of = |what, lot, entry, at| Event { code_by: sender(), from: sender(), ..event(what, lot, entry, at) };
    let pack = |what, entry, at, n| Event {
        product: "pea 100 g".into(),
        quantity: Some(Quantity::Packs(n)),
        pack_g: Some(100),
        ..of(what, "PEA-260712-A-V", entry, at)
    };
    let table = Party { name: NASTY.into(), address: "1 Quay".into(), phone: "+44 555".into() };
    let mats = Input { quantity: Some(Quantity::Mats(3)), ..input("B0001-Q", 0, "2026-07-01") };
    let harvested = Event {
        crop: "pea".into(),
        quantity: Some(Quantity::grams(900)),
        batches: vec!["B0001-Q".into()],
        trays: vec!["T0001-W".into()],
        places: vec!["A 1-1".into()],
        inputs: vec![mats],
        ..of(What::Harvested, "PEA-260711-A-Z", 4, "2026-07-11T08:00")
    };
    let mut note = pack(What::Shipped, 8, "2026-07-12T11:00", 6);
    note.to = table.clone();
    note.document = ("delivery note".into(), "7".into());
    vec![
        Event {
            supplier_lot: "FS-77 b".into(),
            crop: "pea".into(),
            variety: "Tendril".into(),
            quantity: Some(Quantity::Mass(1_000_500_000)),
            from: Party { name: "Fen Seeds".into(), address: "1 Dyke Road".into(), phone: String::new() },
            to: sender(),
            treated: Some(Treated::No),
            certificate: "organic 12".into(),
            document: ("supplier's document".into(), "DN 4411".into()),
            ..event(What::Received, "S0001-X", 1, "2026-06-01T09:00")
        },
        Event {
            crop: "pea".into(),
            quantity: Some(Quantity::Mats(4)),
            inputs: vec![input("S0001-X", 400, "2026-06-01"), input("S0002-V", 50, "2026-06-01")],
            trays: vec!["T0001-W".into(), "T0002-U".into()],
            places: vec!["A 1-1".into(), "A 1-2".into()],
            ..of(What::Sown, "B0001-Q", 3, "2026-07-01T09:00")
        },
        Event {
            what: What::Cooled,
            at: Some(moment("2026-07-11T08:20")),
            places: vec!["walk-in".into()],
            inputs: vec![],
            ..harvested.clone()
        },
        harvested,
        Event {
            crop: "pea; radish".into(),
            places: vec!["packing room".into()],
            inputs: vec![input("PEA-260711-A-Z", 900, "2026-07-11"), input("RAD-260711-A-7", 300, "2026-07-11")],
            ..pack(What::Packed, 7, "2026-07-12T09:00", 12)
        },
        note,
        Event {
            to: Party { name: "the public: Quay market".into(), address: "Quay".into(), phone: String::new() },
            ..pack(What::Sold, 9, "2026-07-12T12:00", 2)
        },
        Event { from: table, to: sender(), ..pack(What::Returned, 10, "2026-07-13T12:00", 1) },
        pack(What::Given, 11, "2026-07-13T13:00", 1),
        pack(What::Sampled, 12, "2026-07-13T13:10", 1),
        pack(What::Binned, 13, "2026-07-13T13:20", 1),
        Event {
            inputs: vec![input("PEA-260711-B-X", 100, "2026-07-11")],
            ..pack(What::Relabelled, 14, "2026-07-13T14:00", 12)
        },
        // a batch of which no seed is known, typed in a day later
        Event { quantity: Some(Quantity::Mats(1)), at: None, ..of(What::Sown, "B0002-O", 2, "2026-06-30T09:00") },
    ]
}

fn dossier() -> Dossier {
    let events = events();
    let first = Event { inputs: vec![input("S0002-V", 450, "2026-06-01")], ..events[1].clone() };
    let wrong = Replaced { event: first, by: stamp(20, "2026-07-02T10:00"), never: false };
    let undone = Event { quantity: Some(Quantity::Packs(9)), ..events[5].clone() };
    let never = Replaced { event: undone, by: stamp(21, "2026-07-12T11:05"), never: true };
    let list = UsList { letters: "PEA".into(), crop: "pea".into(), listed: "not sure".into() };
    let mut look = touch(Section::Looks, "RM", 5, "2026-07-09T06:10", "T0001-W");
    look.words = format!("T0001-W: {NASTY}");
    look.note = Some("<script>alert(1)</script>".into());
    let traces = vec![trace(Way::Back, PACK), trace(Way::Forward, PACK)];
    let settled = Dossier {
        exercise: false,
        made_at: moment("2026-07-14T06:00"),
        room: "NB".into(),
        room_name: "North Bench".into(),
        sender: sender(),
        proof: Proof { entries: 21, head: "ab".repeat(32), broken: None },
        traces,
        conclusions: vec![],
        gaps: vec![],
        events,
        replaced: vec![wrong, never],
        touches: vec![look, touch(Section::Water, "AK", 6, "2026-07-09T06:10", "T0001-W")],
        us_list: vec![list],
        country: Country::Us,
        facts: Country::Us.facts(),
        local: LOCAL,
        gtins: BTreeMap::new(),
    };
    settled.settled()
}

fn broken(mut dossier: Dossier) -> Dossier {
    dossier.proof.broken = Some(Broken { entry: 12, told: None });
    dossier
}

/// Rows of a table by the csv crate, without their heading.
fn rows(bytes: &[u8]) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = ::csv::Reader::from_reader(bytes);
    let heading = reader.headers().unwrap().iter().map(String::from).collect();
    (heading, reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect())
}

#[test]
fn a_row_an_event_and_lot_sorts_by_its_day() {
    let (heading, rows) = rows(&csv::table(&dossier()));
    assert_eq!(heading[..5], ["day", "time", "event", "room", "lot"]);
    let at = |name: &str| heading.iter().position(|column| column == name).unwrap();
    let told: Vec<[&str; 4]> = rows
        .iter()
        .map(|row| [row[0].as_str(), row[2].as_str(), row[4].as_str(), row[at("input_lot")].as_str()])
        .collect();
    assert_eq!(
        told,
        [
            ["2026-06-01", "seed received", "S0001-X", ""],
            ["2026-06-30", "sown", "B0002-O", ""],
            ["2026-07-01", "sown", "B0001-Q", "S0001-X"],
            ["2026-07-01", "sown", "B0001-Q", "S0002-V"],
            ["2026-07-11", "harvested", "PEA-260711-A-Z", ""],
            ["2026-07-11", "cooled", "PEA-260711-A-Z", ""],
            ["2026-07-12", "packed", "PEA-260712-A-V", ""],
            ["2026-07-12", "blended", "PEA-260712-A-V", "PEA-260711-A-Z"],
            ["2026-07-12", "blended", "PEA-260712-A-V", "RAD-260711-A-7"],
            ["2026-07-12", "shipped", "PEA-260712-A-V", ""],
            ["2026-07-12", "sold to the public", "PEA-260712-A-V", ""],
            ["2026-07-13", "returned", "PEA-260712-A-V", ""],
            ["2026-07-13", "given away", "PEA-260712-A-V", ""],
            ["2026-07-13", "kept as a sample", "PEA-260712-A-V", ""],
            ["2026-07-13", "binned", "PEA-260712-A-V", ""],
            ["2026-07-13", "new code", "PEA-260712-A-V", "PEA-260711-B-X"],
        ]
    );
    let days: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
    assert!(days.is_sorted(), "{days:?}");
    assert_eq!(rows[1][1], "", "nobody knows at what time");
    assert_eq!(rows[0][1], "2026-06-01T09:00:00+02:00");
    assert_eq!((rows[0][at("quantity")].as_str(), rows[0][at("unit")].as_str()), ("1000500", "g"));
    // what was taken back is no row: who sums up the table sums up what counts
    assert!(rows.iter().all(|row| row[at("quantity")] != "9"));
}

#[test]
fn every_question_of_t1_is_answered_in_its_rows() {
    // P: tracing.md T1, least data of each event; the column that holds it here
    const ASKED: &[(&str, &[&str])] = &[
        (
            "seed received",
            &[
                "from_name",
                "from_address",
                "supplier_lot",
                "lot",
                "crop",
                "variety",
                "quantity",
                "unit",
                "day",
                "treated",
                "certificate",
                "document_type",
                "document",
            ],
        ),
        ("sown", &["batch", "input_lot", "input_quantity", "input_unit", "trays", "places", "day"]),
        ("harvested", &["crop", "quantity", "unit", "places", "day", "saw", "document_type", "document"]),
        ("cooled", &["crop", "quantity", "unit", "places", "day", "saw", "document_type", "document"]),
        (
            "packed",
            &[
                "crop",
                "harvest_days",
                "lot",
                "product",
                "pack_size",
                "quantity",
                "places",
                "day",
                "document_type",
                "document",
            ],
        ),
        // the quantity received and its date: of a run with one lot they stand in its own row
        ("blended", &["input_lot", "input", "input_quantity", "input_unit", "input_day"]),
        ("blended", &["lot", "places", "day", "product", "quantity", "unit", "document_type", "document"]),
        (
            "shipped",
            &[
                "lot",
                "quantity",
                "unit",
                "product",
                "to_name",
                "to_address",
                "from_name",
                "from_address",
                "day",
                "lot_code_by",
                "document_type",
                "document",
            ],
        ),
    ];
    let (heading, rows) = rows(&csv::table(&dossier()));
    for (event, names) in ASKED {
        let of: Vec<&Vec<String>> = rows.iter().filter(|row| row[2] == *event && row[4] != "B0002-O").collect();
        assert!(!of.is_empty(), "{event}");
        for name in *names {
            let at = heading.iter().position(|column| column == name).unwrap_or_else(|| panic!("no column {name}"));
            assert!(of.iter().all(|row| !row[at].is_empty()), "{event}: {name}");
            // the key says so as well
            let column = columns::COLUMNS.iter().find(|column| column.name == *name).unwrap();
            let own = *event == "blended" && ["input_day", "unit", "quantity"].contains(name);
            assert!(column.asked.contains(event) || own || ["saw", "input_unit"].contains(name), "{event}: {name}");
        }
    }
}

#[test]
fn of_a_run_with_one_lot_what_was_received_stands_in_its_own_row() {
    let mut dossier = dossier();
    let run = dossier.events.iter_mut().find(|event| event.what == What::Packed).unwrap();
    run.inputs.pop();
    let (heading, rows) = rows(&csv::table(&dossier));
    let row = rows.iter().find(|row| row[2] == "packed").unwrap();
    let cell = |name: &str| row[heading.iter().position(|column| column == name).unwrap()].as_str();
    assert_eq!(
        (cell("input_lot"), cell("input_quantity"), cell("input_unit"), cell("input_day"), cell("harvest_days")),
        ("PEA-260711-A-Z", "900", "g", "2026-07-11", "2026-07-11")
    );
    assert!(rows.iter().all(|row| row[2] != "blended"));
}

#[test]
fn the_key_explains_every_column_once() {
    let (heading, key) = rows(&csv::key());
    assert_eq!(heading, ["column", "unit", "meaning", "asked_for_when"]);
    let (columns, _) = rows(&csv::table(&dossier()));
    assert_eq!(key.iter().map(|row| row[0].clone()).collect::<Vec<_>>(), columns);
    assert!(key.iter().all(|row| row[2].len() > 5), "{key:?}");
    let mut names = columns.clone();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), columns.len());
}

#[test]
fn no_cell_is_a_formula_and_nothing_of_a_name_is_lost() {
    let (heading, rows) = rows(&csv::table(&dossier()));
    let at = |name: &str| heading.iter().position(|column| column == name).unwrap();
    let shipped = rows.iter().find(|row| row[2] == "shipped").unwrap();
    assert_eq!(shipped[at("to_name")], format!("'{NASTY}"));
    assert_eq!(shipped[at("to_phone")], "'+44 555");
    for cell in rows.iter().flatten() {
        assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell}");
    }
}

#[test]
fn an_exercise_and_a_broken_chain_stand_at_the_top_of_everything_and_in_every_row() {
    let clean = dossier();
    assert!(clean.marks().is_empty());
    let (heading, told) = rows(&csv::table(&clean));
    let marks = heading.iter().position(|column| column == "marks").unwrap();
    assert!(told.iter().all(|row| row[marks].is_empty()));
    let marked = Dossier { exercise: true, ..broken(clean) };
    let says = ["EXERCISE", "THE CHAIN OF THE LOG IS BROKEN AT ENTRY 12"];
    let (_, told) = rows(&csv::table(&marked));
    let page = html::page(&marked);
    let head = page.split_once("<h1>").unwrap().0;
    let lines = text::lines(&marked);
    let json: Value = serde_json::from_str(&epcis::text(&marked)).unwrap();
    for says in says {
        assert!(told.iter().all(|row| row[marks].contains(says)));
        assert!(head.contains(says), "{head}");
        assert!(lines[..2].iter().any(|line| line.contains(says)), "{lines:?}");
        assert!(json["rackwalk:marks"].to_string().contains(says));
    }
    assert_eq!(stem(&marked), "EXERCISE-PEA-260712-A-V");
    assert_eq!(stem(&dossier()), "PEA-260712-A-V");
}

#[test]
fn a_name_of_a_file_is_of_letters_digits_and_hyphens() {
    let mut dossier = dossier();
    let first = dossier.traces[0].roots[0];
    dossier.traces[0].things.get_mut(&first).unwrap().code = "../a b/=\u{202e}".into();
    dossier.traces.truncate(1);
    assert_eq!(stem(&dossier), "a-b");
    dossier.traces[0].roots.push(PEA);
    assert_eq!(stem(&dossier), "a-b-and-others");
    dossier.traces[0].roots.clear();
    assert_eq!(stem(&dossier), "trace");
}

mod outside;
mod page;
