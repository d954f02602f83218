//! What SQLite itself refuses when someone writes past the program.

mod told;

use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::check::{NewCheck, starters};
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway};
use rackwalk::domain::complaint::{Named, NewComplaint, Severity, Standing, Told, What};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::{NewDelivery, Packs};
use rackwalk::domain::germ_test::{DayCount, GermEnd, NewGermTest};
use rackwalk::domain::harvest::NewHarvest;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{
    CheckKindId, ComplaintId, CustomerId, GermTestId, LotId, ProductId, RecallId, RoundId, SeedLotId, SoakId, SowingId,
    StoreId,
};
use rackwalk::domain::look::{Look, WaterFigures};
use rackwalk::domain::mix::MixEnd;
use rackwalk::domain::order::{NewOrder, Wanted};
use rackwalk::domain::packing::{Draw, NewLive, NewRun};
use rackwalk::domain::power_cut::{Out, Span};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::room::Zone;
use rackwalk::domain::round::{Kind as RoundKind, NewRound};
use rackwalk::domain::score::NewScore;
use rackwalk::domain::seed_lot::{NewSeedLot, Treated};
use rackwalk::domain::soak::NewSoak;
use rackwalk::domain::sowing::{NewSowing, Wetting};
use rackwalk::domain::stock::{Away, NewMove};
use rackwalk::domain::trace::Start;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::domain::walk::Mode;
use rackwalk::store::facts::{ALL, Belongs, EDITABLE};
use rusqlite::Connection;

use super::{mixes, number, raw};
use crate::book::{AK, Book};

/// A book with at least one row in nearly every table.
fn full() -> Book {
    let mut book = written();
    the_week(&mut book);
    book
}

/// All of it through the one door.
fn written() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let sowing = book.sowing("RAD", lot, 2);
    let sowing = NewSowing { soak_h: 4, medium_lot: Some("M-5".into()), ..sowing };
    let sown = book.act(&Action::Sow(Box::new(sowing)));
    let (entry, trays) = (sown.entry, sown.trays);
    let mixed =
        NewSowing { wetting: Wetting::Mix { name: "peroxide".into(), wait_h: 2 }, ..book.sowing("RAD", lot, 1) };
    book.act(&Action::Sow(Box::new(mixed)));
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    let water = WaterFigures { ml: Some(300), ..WaterFigures::default() };
    let mut points = rackwalk::domain::fuzz::Points::default();
    points.set(rackwalk::domain::fuzz::Sign::Web, rackwalk::domain::fuzz::Weight::default());
    book.act(&Action::EditFuzzPoints(Box::new(points)));
    let look = Look { walk, watered: true, water, note: Some("by the door".into()), ..Look::of(trays[0]) };
    book.act(&Action::Look(Box::new(look)));
    let span = Span { from: book.now.plus(-chrono::Duration::hours(3)).instant(), to: Some(book.now.instant()) };
    book.act(&Action::PowerCut { span, place: Out::Zone(Zone::Lit), warmest_dc: None });
    let (crop, day) = (book.board().crops.iter().find(|c| c.letters == "RAD").unwrap().id, book.now.day());
    let correction = Correction::Sowing {
        sowing: SowingId(1),
        crop,
        day: day.pred_opt().unwrap(),
        seed: vec![(lot, 50_000)],
        after: None,
    };
    book.act(&Action::Correct { entry, correction, reason: "the day was misread".into(), second: None });
    let (reason, gear) = (LossReason::Rot, Gear::Binned);
    // a covered tray that was marked ready, and what became of that
    let ready = Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Ready) };
    book.act(&Action::Already { action: Box::new(ready), reason: "a rush".into() });
    let breach = book.board().breaches[0].id;
    book.act(&Action::Decide { breach, what: Verdict::Watch, by: AK, reason: "kept for ourselves".into() });
    book.act(&Action::Hold(Box::new(NewHold::of(Start::Sowing(SowingId(1)), None, "a smell".into()))));
    let hold = book.board().holds[0].id;
    book.act(&Action::DecideHold { hold, what: Verdict::Watch, by: AK, reason: "look again".into() });
    let kind = book.act(&Action::AddCheckKind(starters().remove(0))).made.map(CheckKindId).unwrap();
    let (result, file) = ("none in 100 mL".to_string(), String::new());
    let check = NewCheck { kind, day, result, ok: true, remedy: file.clone(), with: "the tap".into(), file };
    book.act(&Action::NoteCheck(check));
    book.act(&Action::CleanPlaces { places: vec![book.board().racks[0].places[0].id], with: "soap".into() });
    let new = NewSoak { lot, mg: 60_000, start: book.now.instant(), minutes: 60, with: None };
    let soak = SoakId(book.act(&Action::Soak(new)).made.unwrap());
    book.act(&Action::Drain { soak, at: book.now.instant(), rinses: 2 });
    let soaked = NewSowing { soaks: vec![soak], ..book.sowing("RAD", lot, 1) };
    book.act(&Action::Sow(Box::new(soaked)));
    let door = super::air::sensor(&mut book, "door", Zone::Lit);
    let reading = super::air::reading(&book, -5, 70.0);
    book.act(&Action::ReadAir { sensor: door, reading });
    book.act(&Action::TakeRacks { walk: walk.unwrap(), racks: vec![book.board().racks[0].id] });
    let mix = mixes::bottle(&mut book);
    book.act(&Action::Treat(Box::new(mixes::spray(&book, &trays[..1], Some(mix)))));
    book.act(&Action::EndMix { mix, what: MixEnd::Binned });
    let stood = Look { fuzz: Some(rackwalk::domain::look::Mist::Stands), ..Look::of(trays[0]) };
    book.act(&Action::Look(Box::new(stood)));
    let (tray, what) = (trays[0], rackwalk::domain::suspect::Choice::Watch);
    book.act(&Action::DecideSuspect { walk, tray, what, by: AK, reason: "until noon".into() });
    sold(&mut book, lot);
    told::answered(&mut book);
    germinated(&mut book, lot);
    let (tray, odd, why) = (None, true, "the scale stood askew".into());
    book.act(&Action::MarkWeight { lot: LotId(1), tray, odd, why });
    book.act(&Action::EditCurrency { currency: "EUR".into(), rev: 0 });
    book.act(&Action::Throw { walk, tray: trays[1], reason, gear, cleanup: None, note: None });
    book
}

/// A germination test with all its numbers.
fn germinated(book: &mut Book, lot: SeedLotId) {
    let day = book.now.day();
    book.act(&Action::BeginGermTest(Box::new(NewGermTest::of(lot, day, 2, 50))));
    book.later(chrono::Duration::days(1));
    let (test, day) = (GermTestId(1), book.now.day());
    book.act(&Action::CountGerm { test, counts: vec![DayCount { day, normal: vec![40, 45] }], end: None });
    book.act(&Action::EndGermTest { test, end: GermEnd { day, abnormal: Some(2), hard: None, dead: Some(3) } });
}

/// Rows of the week, past the program.
fn the_week(book: &mut Book) {
    let text = "INSERT INTO baseline (entry_id, crop_id, from_day, to_day) VALUES (2, 1, '2026-06-01', '2026-06-30')";
    raw(&book.path).execute_batch(text).unwrap();
}

/// And everything from the cut to the customer.
fn sold(book: &mut Book, seed: SeedLotId) {
    super::sold::checked(book);
    let parts = vec![(super::crop(book, "RAD").id, 1000)];
    let product = |name: &str, kind, pack_g| {
        let new = NewProduct { name: name.into(), kind, pack_g, gtin: None, price_c: None, parts: parts.clone() };
        Action::AddProduct(Box::new(new))
    };
    let packs = ProductId(book.act(&product("radish", Kind::Crop, Some(50))).made.unwrap());
    let live = ProductId(book.act(&product("radish, alive", Kind::Live, None)).made.unwrap());
    let new = NewCustomer { name: "Table".into(), address: "1 Quay".into(), ..NewCustomer::default() };
    let customer = CustomerId(book.act(&Action::AddCustomer(Box::new(new))).made.unwrap());
    let lines = vec![Wanted { product: packs, packs: 1 }];
    let day = book.now.day();
    book.act(&Action::Order(Box::new(NewOrder { customer, day, lines })));
    let trays = book.sow("RAD", seed, 2);
    // covered as they are: both are breaches
    let already = |action: Action| Action::Already { action: Box::new(action), reason: "a rush".into() };
    let tools = vec!["knife 2".into()];
    let harvest = Action::Harvest(Box::new(NewHarvest { tools, ..NewHarvest::whole(&trays[..1], 120) }));
    let cut = LotId(book.act(&already(harvest)).made.unwrap());
    let draws = vec![Draw { lot: cut, grams: 100, packs: None }];
    let (pack_g, sure) = (50, vec![]);
    let run = NewRun {
        product: packs,
        draws,
        packs: 2,
        pack_g,
        trim_g: 0,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec![],
        packaging: None,
        sure,
    };
    let packed = LotId(book.act(&already(Action::Pack(Box::new(run)))).made.unwrap());
    let alive = Action::LeaveAlive(Box::new(NewLive { product: live, trays: trays[1..].to_vec(), best_before: None }));
    let alive = LotId(book.act(&already(alive)).made.unwrap());
    let load = [packed, alive].map(|lot| Packs { lot, packs: 1 }).to_vec();
    let out_at = book.now.instant();
    let new = NewRound {
        kind: RoundKind::Round,
        name: "north".into(),
        out_at,
        temp_dc: None,
        place: None,
        hours: None,
        load,
        sure: vec![],
    };
    let round = book.act(&already(Action::LoadRound(Box::new(new)))).made.map(RoundId);
    let lines = vec![Packs { lot: alive, packs: 1 }];
    let new = NewDelivery { customer, order: None, round, lines, received_by: None, temp_dc: None, sure: vec![] };
    book.act(&already(Action::Deliver(Box::new(new))));
    book.act(&Action::Empties { customer, trays: 1, washed_with: "soap".into() });
    lies_cold(book, packed);
    answered(book, customer, alive);
}

/// A call about what was delivered, and what came of it.
fn answered(book: &mut Book, customer: CustomerId, lot: LotId) {
    let new = NewComplaint {
        customer: Some(customer),
        product: None,
        day: book.now.day(),
        delivered: None,
        code: None,
        what: What::Slime,
        severity: Severity::Small,
        told: Told::default(),
        lots: vec![Named { lot, standing: Standing::Sure, why: "the label was read".into() }],
        hold: false,
    };
    let complaint = ComplaintId(book.act(&Action::Complain(Box::new(new))).made.unwrap());
    book.act(&Action::Hold(Box::new(NewHold::of(Start::Lot(lot), Some(complaint), "a call".into()))));
    let hold = book.board().holds.last().unwrap().id;
    let recall = RecallId(book.act(&Action::Recall { hold }).made.unwrap());
    let line = book.store.recalls().unwrap()[0].calls[0].line;
    book.act(&Action::Contact { recall, line, reached: true, destroyed: None, note: None });
    book.act(&Action::CloseComplaint { complaint, by: AK, found: "it stood in the sun".into() });
    let recall = RecallId(book.act(&Action::Exercise { lot }).made.unwrap());
    book.act(&Action::EndExercise { recall, gaps: "none".into() });
}

/// Where it lay, and how warm that was.
fn lies_cold(book: &mut Book, lot: LotId) {
    let new = NewStore { name: "Walk-in".into(), limits: Limits::default() };
    let store = StoreId(book.act(&Action::AddStore(Box::new(new))).made.unwrap());
    let at = book.now.instant();
    book.act(&Action::PutAway(Box::new(PutAway { lots: vec![lot], store: Some(store), at, out_dc: Some(200) })));
    for temp_dc in [90, 90] {
        let (thermometer, measured) = ("probe".into(), Measured::Air);
        let new = HandReading { store, at: book.now.instant(), temp_dc, thermometer, measured };
        book.act(&Action::ReadCold(Box::new(new)));
        book.later(chrono::Duration::minutes(40));
    }
    score(book);
    let spell = book.store.cold(book.now, None).unwrap().open_spells()[0].1.spell.key;
    book.act(&Action::DecideSpell { spell, what: Verdict::Watch, by: AK, reason: "look at noon".into() });
}

/// A pack held back and looked at.
fn score(book: &mut Book) {
    let packed = LotId(2);
    let (away, reason) = (Away::Sample, String::new());
    book.act(&Action::MoveStock(Box::new(NewMove { lot: packed, away, amount: 1, reason })));
    let new = NewScore { lot: packed, packs: 1, score: 8, at: book.now.instant(), sure: vec![] };
    book.act(&Action::Score(Box::new(new)));
}

/// SQLite's own word for a statement it does not take.
fn refusal(conn: &Connection, sql: &str) -> String {
    match conn.execute_batch(sql) {
        Err(rusqlite::Error::SqliteFailure(_, Some(message))) => message,
        other => panic!("{sql}: {other:?}"),
    }
}

#[test]
fn facts_are_frozen_column_by_column_and_kept() {
    let book = full();
    let conn = raw(&book.path);
    told::past_the_program(&conn);
    let mut empty = Vec::new();
    for table in ALL {
        let name = table.name;
        if number(&conn, &format!("SELECT count(*) FROM {name}")) == 0 {
            empty.push(name);
            continue;
        }
        let frozen = format!("{name}_frozen");
        for column in table.columns {
            assert_eq!(refusal(&conn, &format!("UPDATE {name} SET {column} = {column}")), frozen, "{name}.{column}");
        }
        assert_eq!(refusal(&conn, &format!("DELETE FROM {name}")), frozen);
    }
    assert_eq!(empty, Vec::<&str>::new());
}

#[test]
fn a_fact_is_voided_once_and_for_good() {
    let mut book = full();
    book.act(&Action::Undo);
    let conn = raw(&book.path);
    let undo = number(&conn, "SELECT max(id) FROM entry");
    for table in ["loss", "stage", "placement", "walk_stop"] {
        assert!(number(&conn, &format!("SELECT count(*) FROM {table} WHERE void_by = {undo}")) > 0, "{table}");
        let frozen = format!("{table}_frozen");
        let again = format!("UPDATE {table} SET void_by = 1 WHERE void_by IS NOT NULL");
        assert_eq!(refusal(&conn, &again), frozen);
        assert_eq!(refusal(&conn, &format!("UPDATE {table} SET void_by = NULL WHERE void_by IS NOT NULL")), frozen);
    }
    assert_eq!(refusal(&conn, "UPDATE look SET void_by = 999"), "FOREIGN KEY constraint failed");
    for table in ALL.iter().filter(|table| table.belongs != Belongs::Fact) {
        let text = format!("SELECT count(*) FROM pragma_table_info('{}') WHERE name = 'void_by'", table.name);
        assert_eq!(number(&conn, &text), 0, "{}", table.name);
    }
}

#[test]
fn records_are_kept_and_the_log_is_shut() {
    let book = full();
    let conn = raw(&book.path);
    told::past_the_program(&conn);
    for (noun, _) in EDITABLE {
        if number(&conn, &format!("SELECT count(*) FROM {noun}")) > 0 {
            assert_eq!(refusal(&conn, &format!("DELETE FROM {noun}")), format!("{noun}_frozen"));
        } else {
            assert_eq!(*noun, "recipe");
        }
    }
    for change in [
        "hash = zeroblob(32)",
        "hash = randomblob(32)",
        "at = '2026-01-01T00:00:00Z'",
        "day = '2026-01-01'",
        "who = 2",
        "seen_by = 1",
        "seen_at = '2026-01-01T00:00:00Z'",
        "paper = 1",
        "kind = 'look'",
        "undoes = 1",
        "id = 99",
    ] {
        assert_eq!(refusal(&conn, &format!("UPDATE entry SET {change} WHERE id = 2")), "entry_frozen", "{change}");
    }
    assert_eq!(refusal(&conn, "DELETE FROM entry WHERE id = 1"), "entry_frozen");
}

#[test]
fn rules_across_rows_hold_for_raw_writers_too() {
    let mut book = full();
    let coated = NewSeedLot { treated: Treated::NotStated, ..coated(&book) };
    book.act(&Action::ReceiveSeedLot(Box::new(coated)));
    let gone = book.seed("PEA", 5);
    book.act(&Action::Undo);
    let conn = raw(&book.path);
    let moved = |lot: i64, sowing: &str, mg: i64, why: &str| {
        let values = format!("(2, {lot}, {sowing}, {mg}, '{why}')");
        format!("INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why) VALUES {values}")
    };
    assert_eq!(refusal(&conn, &moved(1, "1", -1_000_000, "sown")), "seed_below_zero");
    assert_eq!(refusal(&conn, &moved(1, "NULL", -1_000_000, "counted")), "seed_below_zero");
    assert_eq!(
        refusal(&conn, "UPDATE seed_move SET void_by = 3 WHERE why = 'received' AND seed_lot_id = 1"),
        "seed_below_zero"
    );
    assert_eq!(refusal(&conn, &moved(2, "1", -1, "sown")), "seed_treated");
    assert_eq!(refusal(&conn, &moved(gone.0, "1", -1, "sown")), "sow_blocked");
    assert_eq!(refusal(&conn, &moved(1, "NULL", -1, "sown")), "CHECK constraint failed: seed_move_sown");
    assert_eq!(refusal(&conn, &moved(1, "1", 1, "sown")), "CHECK constraint failed: seed_move_sown");
    assert_eq!(refusal(&conn, &moved(1, "NULL", 0, "counted")), "CHECK constraint failed: seed_move_mg");
    let loss =
        "INSERT INTO loss (entry_id, tray_id, day, mats, reason, gear) VALUES (2, 2, '2026-07-01', 1, 'rot', 'binned')";
    assert_eq!(refusal(&conn, loss), "tray_mats_over");
}

fn coated(book: &Book) -> NewSeedLot {
    NewSeedLot {
        supplier: "Fen Seeds".into(),
        supplier_lot: "none printed".into(),
        treated: Treated::No,
        ..NewSeedLot::of(book.board().crops[0].id, 1000, book.now.day())
    }
}

#[test]
fn named_checks_refuse_by_their_name() {
    let book = full();
    let conn = raw(&book.path);
    let look = |columns: &str, values: &str| {
        format!(
            "INSERT INTO look (entry_id, tray_id, day, basis, fuzz, watered, misted, faults{columns})
             VALUES (2, 1, '2026-07-01', {values})"
        )
    };
    let cases = [
        ("look_fuzz_mist", look("", "'tray', 1, 0, 0, 0")),
        ("look_skip_empty", look(", skip", "'tray', 0, 1, 0, 0, 'no_time'")),
        ("look_glance", look("", "'shelf', 0, 0, 0, 4")),
        ("look_basis", look("", "'far', 0, 0, 0, 0")),
        ("look_roots", look(", roots", "'tray', 0, 0, 0, 0, 'many'")),
        ("person_initials", "INSERT INTO person (initials, name, may_decide) VALUES ('A', '', 0)".into()),
        ("place_shelf", "UPDATE place SET shelf = 0 WHERE id = 1".into()),
        ("rack_retired", "UPDATE rack SET retired = 2".into()),
        ("crop_letters", "UPDATE crop SET letters = 'ra1' WHERE id = 1".into()),
        ("entry_day", entry("'2026-07-01T06:00:00Z', '2026-7-1', zeroblob(32)")),
        ("entry_at", entry("'2026-07-01 06:00:00', '2026-07-01', zeroblob(32)")),
        ("entry_at", entry("'2026-02-30T06:00:00Z', '2026-07-01', zeroblob(32)")),
        ("entry_hash", entry("'2026-07-01T06:00:00Z', '2026-07-01', x'00'")),
        ("power_cut_from", power_cut("'2026-07-01 06:00', NULL")),
        ("power_cut_to", power_cut("'2026-07-01T06:00:00Z', '2026-07-01'")),
        ("power_cut_order", power_cut("'2026-07-01T06:00:00Z', '2026-07-01T06:00:00Z'")),
        ("soak_product", soaked("'bleach', NULL, 5, NULL")),
        ("soak_minutes", soaked("NULL, NULL, 2881, NULL")),
        ("soak_minutes", soaked("NULL, NULL, NULL, NULL")),
        ("soak_minutes", soaked("NULL, NULL, 5, '2026-07-01T06:00:00Z'")),
        ("soak_drain_at", "INSERT INTO soak_drain (entry_id, soak_id, at) VALUES (2, 1, '2026-07-01')".into()),
        ("sensor_name", "INSERT INTO sensor (name, zone_id) VALUES ('', 1)".into()),
        ("sensor_map", "INSERT INTO sensor (name, csv_map) VALUES ('x', '{')".into()),
        (
            "reading_file_sha256",
            "INSERT INTO reading_file (entry_id, sensor_id, sha256, name, rows) VALUES (2, 1, 'ab', 'x', 1)".into(),
        ),
        ("reading_at", reading("1, 200, 800")),
        ("reading_temp", reading("1782885600, 601, 800")),
        ("reading_rh", reading("1782885600, 200, 0")),
        ("reading_rh", reading("1782885600, 200, 1001")),
        ("germ_test_day", germ_test("'2026-7-1', 4, 100")),
        ("germ_test_replicates", germ_test("'2026-07-01', 9, 100")),
        ("germ_test_replicates", germ_test("'2026-07-01', 0, 100")),
        ("germ_test_seeds", germ_test("'2026-07-01', 4, 0")),
        ("germ_count_normal", germ_count("1, '2026-07-02', -1")),
        ("germ_count_replicate", germ_count("9, '2026-07-02', 1")),
        ("germ_count_day", germ_count("1, '2026-07-32', 1")),
        ("germ_end_dead", germ_end("-1")),
        ("supplier_lead", "UPDATE supplier SET lead_d = 366".into()),
        (
            "baseline_order",
            "INSERT INTO baseline (entry_id, crop_id, from_day, to_day) VALUES (2, 1, '2026-07-02', '2026-07-01')"
                .into(),
        ),
        ("odd_weight_odd", "INSERT INTO odd_weight (entry_id, lot_id, odd) VALUES (2, 1, 2)".into()),
        ("entry_note_text", "INSERT INTO entry_note VALUES (1, '')".into()),
    ];
    for (name, sql) in cases {
        assert_eq!(refusal(&conn, &sql), format!("CHECK constraint failed: {name}"), "{sql}");
    }
    // of a replicate not more than its seeds, nor one that was not laid out, nor a second end
    for over in ["1, '2026-07-02', 11", "3, '2026-07-02', 1"] {
        assert_eq!(refusal(&conn, &germ_count(over)), "germ_over", "{over}");
    }
    assert_eq!(refusal(&conn, &germ_end("1")), "UNIQUE constraint failed: germ_end.germ_test_id");
    let drained = "INSERT INTO soak_drain (entry_id, soak_id, at) SELECT 2, soak_id, at FROM soak_drain LIMIT 1";
    assert_eq!(refusal(&conn, drained), "UNIQUE constraint failed: soak_drain.soak_id");
    let kind = "INSERT INTO entry (id, at, day, who, kind, hash) VALUES (99, '2026-07-01T06:00:00Z', '2026-07-01', 1, 'odd', zeroblob(32))";
    assert_eq!(refusal(&conn, kind), "FOREIGN KEY constraint failed");
    let twice = "INSERT INTO tray_now SELECT 3, place_id, layer, stage, mats_left, last_day, last_entry, watered_on, due_at,
        suspect, bad, wait_until, held FROM tray_now WHERE tray_id = 1 ON CONFLICT (tray_id) DO UPDATE SET place_id = excluded.place_id";
    assert_eq!(refusal(&conn, twice), "UNIQUE constraint failed: tray_now.place_id, tray_now.layer");
}

fn entry(values: &str) -> String {
    format!("INSERT INTO entry (at, day, hash, who, kind) VALUES ({values}, 1, 'look')")
}

fn germ_test(values: &str) -> String {
    format!("INSERT INTO germ_test (entry_id, seed_lot_id, day, replicates, seeds) VALUES (2, 1, {values})")
}

fn germ_count(values: &str) -> String {
    format!("INSERT INTO germ_count (entry_id, germ_test_id, replicate, day, normal) VALUES (2, 1, {values})")
}

fn germ_end(dead: &str) -> String {
    format!("INSERT INTO germ_end (entry_id, germ_test_id, day, dead) VALUES (2, 1, '2026-07-02', {dead})")
}

fn soaked(values: &str) -> String {
    format!(
        "INSERT INTO soak (entry_id, seed_lot_id, mg, start, product, strength, minutes, drained)
         VALUES (2, 1, 5, '2026-07-01T05:00:00Z', {values})"
    )
}

fn reading(values: &str) -> String {
    format!("INSERT INTO reading (sensor_id, file_id, at_s, temp_dc, rh_pm) VALUES (1, 1, {values})")
}

fn power_cut(times: &str) -> String {
    format!("INSERT INTO power_cut (entry_id, from_at, to_at) VALUES (2, {times})")
}
