//! The records of a period: every entry of its days in a section, and what an inspector asks first.

use std::collections::BTreeSet;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::check::{NewCheck, NewCheckKind};
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::hands::Seen;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{BreachId, CheckKindId, EntryId, PersonId, StoreId, TrayId, WalkId};
use rackwalk::domain::look::{Look, Roots, WaterFigures};
use rackwalk::domain::period::Period;
use rackwalk::domain::reading::{NewReadings, Reading, Spot};
use rackwalk::domain::records::{Part, Records, Row};
use rackwalk::domain::trace::Start;
use rackwalk::domain::treatment::{Listed, NewTreatment};
use rackwalk::domain::walk::Mode;
use rackwalk::domain::water::NewWater;

use super::reviews::sign;
use super::{assert_sound, number, person, raw};
use crate::book::{AK, Book, at, roots};

fn records(book: &Book, from: &str, to: &str) -> Records {
    let period = Period { from: from.parse().unwrap(), to: to.parse().unwrap() };
    book.store.records(period, book.now, &mut |_, _| true).unwrap().unwrap()
}

/// A cell by the name of its column.
fn cell<'r>(part: Part, row: &'r Row, column: &str) -> &'r str {
    let n = part.columns().iter().position(|name| *name == column).unwrap_or_else(|| panic!("no column {column}"));
    assert_eq!(row.cells.len(), part.columns().len(), "{part:?}: {:?}", row.cells);
    &row.cells[n]
}

fn column<'r>(records: &'r Records, part: Part, name: &str) -> Vec<&'r str> {
    records.section(part).iter().map(|row| cell(part, row, name)).collect()
}

fn entry(row: &Row) -> EntryId {
    row.stamp.as_ref().unwrap().entry
}

/// Four days in July: nobody looked on the third.
struct Story {
    book: Book,
    rm: PersonId,
    trays: Vec<TrayId>,
}

fn story() -> Story {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 4);
    let rm = person(&mut book, "RM", false);
    book.now = at("2026-07-02T06:10");
    let water = WaterFigures { ml: Some(400), ph_100: Some(610), temp_dc: Some(195), ec_us: None };
    book.act(&Action::Look(Box::new(Look { roots: Some(Roots::Peeking), watered: true, water, ..Look::of(trays[0]) })));
    book.act(&roots(trays[1], Roots::None));
    book.now = at("2026-07-04T08:00");
    Story { book, rm, trays }
}

/// Every entry of the days that some section names.
fn named(records: &Records) -> BTreeSet<i64> {
    records.sections.iter().flat_map(|s| &s.rows).filter_map(|row| Some(row.stamp.as_ref()?.entry.0)).collect()
}

fn check(day: &str) -> NewCheck {
    let kind = CheckKindId(1);
    let (result, remedy) = ("31 °C".to_string(), "turned down".to_string());
    NewCheck {
        kind,
        day: day.parse().unwrap(),
        result,
        ok: false,
        remedy,
        with: "glass one".into(),
        file: String::new(),
    }
}

#[test]
fn a_look_stands_there_with_place_values_hands_and_times() {
    let Story { book, .. } = story();
    let found = records(&book, "2026-07-01", "2026-07-04");
    let looks = found.section(Part::Looks);
    assert_eq!(looks.len(), 2);
    let of = |name: &str| cell(Part::Looks, &looks[0], name);
    assert_eq!((of("crop"), of("places"), of("trays")), ("radish", "A 1-1", "T0001-W"));
    assert_eq!((of("looked"), of("roots"), of("stand"), of("watered")), ("tray lifted", "peeking", "", "yes"));
    let stamp = looks[0].stamp.as_ref().unwrap();
    assert_eq!(stamp.seen_words(book.now), "2026-07-02 06:10");
    assert_eq!((stamp.who.as_str(), stamp.typed_words(book.now).as_str()), ("AK", "at once"));
    assert!(looks[0].gone.is_none() && looks[0].remarks().is_empty());
    // the water that was measured with it; what was only given stands with the look
    let [sown, water] = found.section(Part::Waters) else { panic!("{:?}", found.section(Part::Waters)) };
    assert_eq!(cell(Part::Waters, sown, "source"), "at sowing");
    let of = |name: &str| cell(Part::Waters, water, name);
    assert_eq!((of("trays"), of("each"), of("pH"), of("temperature")), ("T0001-W", "400 mL", "6.10", "19.5 °C"));
    assert_eq!(column(&found, Part::Sown, "seed"), ["S0001-R 108 g"]);
    assert_eq!(column(&found, Part::Sown, "places"), ["A 1-1, A 1-2, A 1-3, A 1-4"]);
    assert_eq!(column(&found, Part::People, "initials"), ["AK", "RM"]);
    assert_eq!(column(&found, Part::People, "may decide"), ["yes", "no"]);
}

#[test]
fn a_glance_of_several_trays_is_one_row_and_a_tray_taken_out_of_it_another() {
    let Story { mut book, trays, .. } = story();
    let stage = rackwalk::domain::tray::Stage::Lit;
    book.act(&Action::MoveMany { moves: trays.iter().map(|tray| (*tray, None)).collect(), stage: Some(stage) });
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(WalkId);
    let basis = rackwalk::domain::look::Basis::Shelf;
    let glance = Look { walk, trays: trays[..3].to_vec(), basis, roots: Some(Roots::Plenty), ..Look::of(trays[0]) };
    let glance = book.act(&Action::Look(Box::new(glance))).entry;
    let lifted = Look { walk, roots: Some(Roots::Full), ..Look::of(trays[1]) };
    let lifted = book.act(&Action::Look(Box::new(lifted))).entry;
    let found = records(&book, "2026-07-04", "2026-07-04");
    let rows: Vec<(EntryId, &str, String)> =
        found.section(Part::Looks).iter().map(|r| (entry(r), cell(Part::Looks, r, "trays"), r.remarks())).collect();
    let replaced = format!("no longer counts: replaced by entry {}", lifted.0);
    // the tray in the middle was looked at by itself, so the glance comes in three pieces
    assert_eq!(
        rows,
        [
            (glance, "T0001-W", String::new()),
            (glance, "T0002-U", replaced),
            (glance, "T0003-S", String::new()),
            (lifted, "T0002-U", String::new()),
        ]
    );
}

#[test]
fn a_sheet_of_paper_typed_late_is_late_and_says_whose_it_was() {
    let Story { mut book, rm, trays } = story();
    let paper = Seen { by: Some(rm), at: Some(at("2026-07-02T07:00").instant()), paper: true };
    let walk = Action::StartWalk { mode: Mode::Both, racks: None };
    let walk = book.store.act_seen(&walk, AK, &paper, book.now).unwrap().made.map(WalkId);
    let look = Action::Look(Box::new(Look { walk, roots: Some(Roots::Full), ..Look::of(trays[2]) }));
    let look = book.store.act_seen(&look, AK, &paper, book.now).unwrap().entry;
    let found = records(&book, "2026-07-02", "2026-07-02");
    let row = found.section(Part::Looks).iter().find(|row| entry(row) == look).expect("a look of the second");
    let stamp = row.stamp.as_ref().unwrap();
    assert_eq!((stamp.who.as_str(), stamp.seen_words(book.now).as_str()), ("RM", "2026-07-02 07:00"));
    assert_eq!(stamp.typed_words(book.now), "2026-07-04 08:00 by AK, from paper");
    let late = found.section(Part::Late).iter().find(|row| entry(row) == look).expect("late");
    assert_eq!(cell(Part::Late, late, "how late"), "49 h later, from paper");
    assert_eq!(cell(Part::Late, late, "of"), "2026-07-02");
    assert!(records(&book, "2026-07-04", "2026-07-04").section(Part::Looks).is_empty(), "not of the day it was typed");
}

#[test]
fn a_day_on_which_nobody_looked_is_missed_and_today_is_not_over() {
    let Story { mut book, trays, .. } = story();
    let missed = |book: &Book| {
        let found = records(book, "2026-07-01", &book.now.day().to_string());
        let rows = found.section(Part::Missed).iter().map(|row| row.cells.join(" "));
        rows.collect::<Vec<_>>()
    };
    // the first is the day of the sowing, the second was walked, the fourth is today
    assert_eq!(missed(&book), ["2026-07-03 4"]);
    // what left on the third did not stand there on the third
    let left = Seen { at: Some(at("2026-07-03T05:00").instant()), ..Seen::default() };
    for tray in &trays[2..] {
        let reason = rackwalk::domain::tray::LossReason::DriedOut;
        let gear = rackwalk::domain::tray::Gear::Washed;
        let throw = Action::Throw { walk: None, tray: *tray, reason, gear, cleanup: None, note: None };
        book.store.act_seen(&throw, AK, &left, book.now).unwrap();
    }
    assert_eq!(missed(&book), ["2026-07-03 2"]);
    // passing by is no look; a look typed late is
    let late = Seen { at: Some(at("2026-07-03T06:00").instant()), ..Seen::default() };
    let skip = Some(rackwalk::domain::look::Skip::NoTime);
    let skip = Action::Look(Box::new(Look { skip, ..Look::of(trays[0]) }));
    book.store.act_seen(&skip, AK, &late, book.now).unwrap();
    assert_eq!(missed(&book), ["2026-07-03 2"]);
    book.store.act_seen(&roots(trays[0], Roots::Full), AK, &late, book.now).unwrap();
    assert_eq!(missed(&book), Vec::<String>::new());
    assert_eq!(records(&book, "2026-07-03", "2026-07-03").section(Part::Missed), []);
}

#[test]
fn a_correction_shows_the_old_value_the_new_one_and_that_it_came_after_the_signature() {
    let Story { mut book, trays, .. } = story();
    let before = records(&book, "2026-07-01", "2026-07-02");
    let look = entry(&before.section(Part::Looks)[0]);
    book.act(&sign("2026-07-01", "2026-07-02", AK));
    book.later(Duration::hours(3));
    let other = Look { roots: Some(Roots::Full), watered: true, ..Look::of(trays[0]) };
    let correction = Correction::Look(Box::new(other));
    let right = Action::Correct { entry: look, correction, reason: "held the wrong tray".into(), second: None };
    let right = book.act(&right).entry;
    let found = records(&book, "2026-07-01", "2026-07-02");
    let [row] = found.section(Part::Corrections) else { panic!("{:?}", found.section(Part::Corrections)) };
    let of = |name: &str| cell(Part::Corrections, row, name);
    assert_eq!(of("of entry"), format!("{} (look)", look.0));
    assert!(of("it said").starts_with("T0001-W: roots peeking, watered"), "{}", of("it said"));
    assert!(of("it says now").starts_with("T0001-W: roots full, watered"), "{}", of("it says now"));
    assert_eq!(of("reason"), "held the wrong tray");
    let stamp = row.stamp.as_ref().unwrap();
    assert_eq!((stamp.entry, stamp.seen_words(book.now).as_str()), (right, "2026-07-04 11:00"));
    let changed = "changed after it was signed (AK, 2026-07-04)";
    assert_eq!(row.remarks(), changed);
    let looks = found.section(Part::Looks);
    let said: Vec<(EntryId, &str, String)> =
        looks.iter().map(|row| (entry(row), cell(Part::Looks, row, "roots"), row.remarks())).collect();
    let gone = format!("no longer counts: put right by entry {}; {changed}", right.0);
    assert_eq!(said[0], (look, "peeking", gone));
    assert_eq!(said[1].2, "", "the other tray was not touched");
    assert_eq!(said[2], (right, "full", format!("as put right; {changed}")));
    let [signed] = found.section(Part::Signatures) else { panic!("{:?}", found.section(Part::Signatures)) };
    assert!(cell(Part::Signatures, signed, "since").starts_with("changed after it was signed: entry "), "{signed:?}");
    // on the day it was typed the correction stands as well
    assert_eq!(records(&book, "2026-07-04", "2026-07-04").section(Part::Corrections).len(), 1);
    assert!(records(&book, "2026-07-03", "2026-07-03").section(Part::Corrections).is_empty());
}

#[test]
fn a_late_entry_about_a_signed_day_is_marked_and_one_in_time_is_not() {
    let Story { mut book, trays, .. } = story();
    book.act(&sign("2026-07-02", "2026-07-03", AK));
    let late = Seen { at: Some(at("2026-07-03T06:00").instant()), ..Seen::default() };
    let entry_of = book.store.act_seen(&roots(trays[3], Roots::Full), AK, &late, book.now).unwrap().entry;
    book.act(&roots(trays[3], Roots::Full));
    let found = records(&book, "2026-07-02", "2026-07-04");
    let marked: Vec<EntryId> =
        found.section(Part::Looks).iter().filter(|row| row.remarks().contains("signed")).map(entry).collect();
    assert_eq!(marked, [entry_of]);
    assert_eq!(found.section(Part::Late).len(), 1);
    assert_eq!(found.signatures[0].since, [entry_of]);
}

#[test]
fn breaches_holds_and_who_decided_stand_there_with_the_reasons() {
    let Story { mut book, trays, .. } = story();
    let reason = "the van was waiting".to_string();
    let cut = Action::Already { action: Box::new(Action::Cut { trays: vec![trays[2]] }), reason };
    book.act(&cut);
    book.act(&Action::Hold(Box::new(NewHold::of(Start::Tray(trays[1]), None, "a smell".into()))));
    let open = records(&book, "2026-07-04", "2026-07-04");
    assert_eq!(column(&open, Part::Breaches, "decision"), ["NONE YET"]);
    assert_eq!(column(&open, Part::Breaches, "rule"), ["cut although it was still covered"]);
    assert_eq!(column(&open, Part::Breaches, "reason"), ["the van was waiting"]);
    assert_eq!(column(&open, Part::Holds, "said"), ["Tray T0002-U: held by hand; decision: NONE YET"]);
    assert_eq!(open.section(Part::Holds)[0].note.as_deref(), Some("a smell"));
    book.now = at("2026-07-05T07:00");
    let breach: BreachId = book.board().breaches[0].id;
    book.act(&Action::Decide { breach, what: Verdict::Accepted, by: AK, reason: "tasted and smelt".into() });
    let hold = book.board().holds[0].id;
    book.act(&Action::DecideHold { hold, what: Verdict::Accepted, by: AK, reason: "aired".into() });
    let decided = records(&book, "2026-07-04", "2026-07-04");
    let said = column(&decided, Part::Breaches, "decision")[0];
    assert!(
        said.starts_with("accepted by AK, 2026-07-05 07:00, entry ") && said.ends_with(": tasted and smelt"),
        "{said}"
    );
    assert!(column(&decided, Part::Holds, "said")[0].contains("decision: lifted by AK, 2026-07-05 07:00"));
    // and of the day of the decisions alone they are not lost
    let later = records(&book, "2026-07-05", "2026-07-05");
    assert_eq!(later.section(Part::Breaches).len(), 1);
    assert_eq!(cell(Part::Breaches, &later.section(Part::Breaches)[0], "rule"), "decision");
    assert_eq!(later.section(Part::Holds).len(), 1);
    assert!(later.section(Part::Holds)[0].remarks().is_empty());
}

#[test]
fn a_treatment_names_product_registration_mix_lots_and_wait() {
    let Story { mut book, trays, .. } = story();
    let mix = super::mixes::bottle(&mut book);
    let new = NewTreatment {
        trays: trays[..2].to_vec(),
        mix: Some(mix),
        product: String::new(),
        reg_no: Some("123-45".into()),
        at: book.now.instant(),
        ml: Some(40),
        purpose: "fuzz".into(),
        listed: Listed::Yes,
        wait_h: 24,
        reentry_h: 4,
    };
    book.act(&Action::Treat(Box::new(new)));
    let water = NewWater { trays: vec![trays[0]], source: "rain barrel".into(), ..NewWater::default() };
    book.act(&Action::Water(Box::new(water)));
    let found = records(&book, "2026-07-04", "2026-07-04");
    let [row] = found.section(Part::Treatments) else { panic!("{:?}", found.section(Part::Treatments)) };
    let of = |name: &str| cell(Part::Treatments, row, name);
    assert_eq!((of("trays"), of("places")), ("T0001-W, T0002-U", "A 1-1, A 1-2"));
    assert_eq!((of("registration"), of("amount"), of("purpose")), ("123-45", "40 mL", "fuzz"));
    assert_eq!((of("on the label"), of("no cutting for"), of("nobody in for")), ("yes", "24 h", "4 h"));
    assert!(of("mix").starts_with("M0001") && of("made of").contains("(lot "), "{row:?}");
    assert_eq!(column(&found, Part::Waters, "source"), ["rain barrel"]);
}

#[test]
fn a_check_stands_on_its_own_day_and_is_late_if_typed_later() {
    let Story { mut book, .. } = story();
    let (name, limit, remedy) = ("boiler".to_string(), "at most 25 °C".to_string(), String::new());
    book.act(&Action::AddCheckKind(NewCheckKind { name, every_d: 7, limit, remedy }));
    let made = book.act(&Action::NoteCheck(check("2026-07-02"))).entry;
    let found = records(&book, "2026-07-02", "2026-07-02");
    let [row] = found.section(Part::Checks) else { panic!("{:?}", found.section(Part::Checks)) };
    let of = |name: &str| cell(Part::Checks, row, name);
    assert_eq!((of("check"), of("result"), of("good enough")), ("boiler", "31 °C", "NO"));
    assert_eq!((of("limit"), of("done about it"), of("with")), ("at most 25 °C", "turned down", "glass one"));
    let [late] = found.section(Part::Late) else { panic!("{:?}", found.section(Part::Late)) };
    assert_eq!((entry(late), cell(Part::Late, late, "how late")), (made, "2 days later"));
    // its entry is of the fourth, where it stands among everything else
    let typed = records(&book, "2026-07-04", "2026-07-04");
    assert!(typed.section(Part::Checks).is_empty());
    assert!(typed.section(Part::Others).iter().any(|row| entry(row) == made));
}

#[test]
fn cold_stores_are_told_day_by_day_with_their_gaps_and_spells_with_their_decisions() {
    let Story { mut book, .. } = story();
    let limits = Limits { over_min: 30, ..Limits::default() };
    let new = NewStore { name: "Walk-in".into(), limits };
    let store = StoreId(book.act(&Action::AddStore(Box::new(new))).made.unwrap());
    let door = Action::AddSensor { name: "door".into(), at: Spot::Store(store) };
    let sensor = rackwalk::domain::id::SensorId(book.act(&door).made.unwrap());
    // every 30 minutes on the second, warm from 10:00 to 12:00; nothing after 18:00
    let readings: Vec<Reading> = (0..37)
        .map(|n| {
            let at = at("2026-07-02T00:00").plus(Duration::minutes(30 * n)).instant();
            Reading { at, temp_dc: if (20..=24).contains(&n) { 98 } else { 38 }, rh_pm: None }
        })
        .collect();
    let file = "door.csv".to_string();
    book.act(&Action::ImportAir(Box::new(NewReadings {
        sensor,
        file,
        sha256: "a".repeat(64),
        part: None,
        readings,
        map: None,
    })));
    let new = HandReading {
        store,
        at: at("2026-07-03T09:00").instant(),
        temp_dc: 41,
        thermometer: "blue".into(),
        measured: Measured::Product,
    };
    book.act(&Action::ReadCold(Box::new(new)));
    let found = records(&book, "2026-07-01", "2026-07-03");
    let rows: Vec<String> = found
        .section(Part::Cold)
        .iter()
        .map(|row| format!("{}; {}", row.cells[1..6].join(" | "), row.remarks()))
        .collect();
    assert_eq!(
        rows,
        [
            "2026-07-02 | 37 | 3.8 °C | 9.8 °C | 6 h; warmer than allowed; readings are to be 1 h apart at most",
            "2026-07-03 | 0 |  |  | 24 h; nothing was read",
        ]
    );
    let [hand] = found.section(Part::ByHand) else { panic!("{:?}", found.section(Part::ByHand)) };
    assert_eq!(hand.cells, ["Walk-in", "4.1 °C", "the greens", "blue"]);
    assert_eq!(hand.stamp.as_ref().unwrap().seen_words(book.now), "2026-07-03 09:00");
    assert!(column(&found, Part::Late, "how late").contains(&"23 h later"), "typed the next morning");
    let [spell] = found.section(Part::Spells) else { panic!("{:?}", found.section(Part::Spells)) };
    let of = |name: &str| cell(Part::Spells, spell, name);
    assert_eq!((of("spell"), of("from"), of("worst")), ("warm spell", "2026-07-02 10:00", "9.8 °C"));
    assert_eq!((of("lots"), of("decision")), ("", "nothing lay there"));
}

#[test]
fn what_was_taken_back_stands_there_as_taken_back() {
    let Story { mut book, trays, .. } = story();
    let slip = book.act(&roots(trays[0], Roots::None)).entry;
    let undo = book.act(&Action::Undo).entry;
    let found = records(&book, "2026-07-04", "2026-07-04");
    let [look] = found.section(Part::Looks) else { panic!("{:?}", found.section(Part::Looks)) };
    assert_eq!((entry(look), look.remarks()), (slip, format!("no longer counts: taken back by entry {}", undo.0)));
    let [right] = found.section(Part::Corrections) else { panic!("{:?}", found.section(Part::Corrections)) };
    assert_eq!((entry(right), cell(Part::Corrections, right, "it says now")), (undo, "taken back"));
}

#[test]
fn every_entry_of_the_days_stands_somewhere_and_the_last_hash_is_that_of_the_chain() {
    let mut world = super::refusals::world();
    world.book.act(&roots(world.peas, Roots::Full));
    world.book.act(&sign("2026-07-01", "2026-07-01", AK));
    let found = records(&world.book, "2026-07-01", "2026-07-01");
    let all: BTreeSet<i64> = (1..=number(&raw(&world.book.path), "SELECT max(id) FROM entry")).collect();
    assert_eq!(named(&found), all);
    assert_eq!(found.entries, all.len());
    let chain = world.book.store.verify_chain(|_| ()).unwrap();
    assert_eq!((found.proof.entries, &found.proof.head), (chain.entries, &chain.head));
    assert!(found.proof.whole() && found.beginning().is_none());
    for section in &found.sections {
        for row in &section.rows {
            assert_eq!(row.cells.len(), section.part.columns().len(), "{:?}: {:?}", section.part, row.cells);
            assert_eq!(row.stamp.is_some(), section.part.stamped(), "{:?}: {:?}", section.part, row.cells);
        }
    }
    assert_sound(&mut world.book);
}

#[test]
fn a_period_without_entries_and_one_before_the_book_say_so() {
    let Story { mut book, .. } = story();
    let empty = records(&book, "2026-07-03", "2026-07-03");
    assert_eq!((empty.entries, empty.beginning()), (0, None));
    let rows = |found: &Records, but: &[Part]| {
        found.sections.iter().filter(|s| !but.contains(&s.part)).map(|s| s.rows.len()).sum::<usize>()
    };
    assert_eq!(rows(&empty, &[Part::People, Part::Missed]), 0);
    assert_eq!(empty.section(Part::Missed).len(), 1);
    let before = records(&book, "2026-06-01", "2026-06-30");
    assert_eq!(before.beginning().unwrap(), "This book begins on 2026-07-01: it knows nothing of these days.");
    assert_eq!(rows(&before, &[Part::People]), 0, "no day is missed before there is a book");
    let half = records(&book, "2026-06-30", "2026-07-01");
    assert_eq!(half.beginning().unwrap(), "This book begins on 2026-07-01: it knows nothing of the days before.");
    let new = Book::empty();
    let none = records(&new, "2026-07-01", "2026-07-01");
    assert_eq!((none.beginning().unwrap().as_str(), none.proof.entries), ("This book has no entries yet.", 0));
    assert_sound(&mut book);
}

#[test]
fn a_clock_that_was_set_back_hides_no_entry() {
    let Story { mut book, trays, .. } = story();
    // typed by a clock that stood on the first of the month, in between
    let astray = book.store.act(&roots(trays[2], Roots::None), AK, at("2026-07-01T03:00")).unwrap().entry;
    book.act(&roots(trays[3], Roots::Full));
    assert!(named(&records(&book, "2026-07-01", "2026-07-01")).contains(&astray.0));
    assert!(!named(&records(&book, "2026-07-04", "2026-07-04")).contains(&astray.0));
}

#[test]
fn a_broken_link_is_named_in_the_records_and_they_are_given_all_the_same() {
    let Story { book, .. } = story();
    let conn = raw(&book.path);
    conn.execute_batch("DROP TRIGGER look_frozen; UPDATE look SET roots = 'full' WHERE entry_id = 5").unwrap();
    let found = records(&book, "2026-07-02", "2026-07-02");
    let words = found.proof.words(book.now);
    assert!(!found.proof.whole());
    assert!(words.contains("first at entry 5, look, typed 2026-07-02 06:10 by AK (\"T0001-W: roots full"), "{words}");
    assert_eq!(found.section(Part::Looks).len(), 2);
    let proof = book.store.proof(&mut |_, _| true).unwrap().unwrap();
    assert_eq!(proof, found.proof);
    conn.execute_batch("DROP TRIGGER stage_frozen; DROP TRIGGER stage_kept").unwrap();
    conn.pragma_update(None, "foreign_keys", false).unwrap();
    conn.execute_batch("UPDATE look SET roots = 'peeking' WHERE entry_id = 5").unwrap();
    assert!(book.store.proof(&mut |_, _| true).unwrap().unwrap().whole());
    conn.execute_batch("INSERT INTO stage (entry_id, tray_id, stage) VALUES (99, 2, 'lit')").unwrap();
    let words = book.store.proof(&mut |_, _| true).unwrap().unwrap().words(book.now);
    assert!(words.contains("entry 99, which is not in the log"), "{words}");
}

#[test]
fn long_work_can_be_stopped_and_hears_how_far_it_is() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let tray = book.sow("RAD", lot, 1)[0];
    let now = book.now;
    book.store
        .act_many(|door| (0..1500).try_for_each(|_| door.act(&roots(tray, Roots::None), AK, now).map(drop)))
        .unwrap();
    let mut heard = Vec::new();
    let period = Period { from: book.now.day(), to: book.now.day() };
    let stopped = book.store.records(period, book.now, &mut |done, all| {
        heard.push((done, all));
        false
    });
    assert_eq!((stopped.unwrap(), heard), (None, vec![(1000, 1503)]));
    assert_eq!(book.store.proof(&mut |_, _| false).unwrap(), None);
    // nothing is left open: the book is written again
    book.act(&roots(tray, Roots::Full));
}
