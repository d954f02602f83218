//! How SQLite finds the rows: every statement of a day's work is listened to and its plan read.

use std::collections::BTreeSet;
use std::sync::Mutex;

use chrono::{DateTime, Duration};
use rusqlite::Connection;
use rusqlite::trace::{TraceEvent, TraceEventCodes};

use super::Store;
use crate::domain::action::{Action, Done, EditCrop};
use crate::domain::breach::Verdict;
use crate::domain::cause::{Asked, Of as Trouble};
use crate::domain::correction::Correction;
use crate::domain::crop::Medium;
use crate::domain::germ_test::{GermEnd, NewGermTest};
use crate::domain::hands::Seen;
use crate::domain::history::{Of, Record};
use crate::domain::hold::NewHold;
use crate::domain::id::{
    GermTestId, MaterialLotId, MixId, PersonId, PlaceId, RecipeId, SeedLotId, SensorId, SoakId, SowingId, SupplierId,
    TrayId, WalkId,
};
use crate::domain::look::{Basis, Look, Mist, Roots, Stand};
use crate::domain::measure::Amount;
use crate::domain::mix::{MixEnd, NewMaterialLot, NewMix, NewRecipe};
use crate::domain::reading::{NewReadings, Reading, Spot};
use crate::domain::room::{Units, Zone, parse_racks};
use crate::domain::seed_lot::{NewSeedLot, Treated};
use crate::domain::setup::{NewFormat, NewRoom, lay_out};
use crate::domain::soak::NewSoak;
use crate::domain::sowing::{NewSowing, Part, Wetting};
use crate::domain::suspect::Choice;
use crate::domain::time::{Day, Instant, Now};
use crate::domain::trace::Start;
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage};
use crate::domain::treatment::{Listed, NewTreatment};
use crate::domain::walk::Mode;
use crate::domain::water::NewWater;

/// Tables that grow with every day of work. Not among them are `hold`, `mix` and `soak`: what is still open there says
/// another table, so no index finds it; their lists read all of them, tens or hundreds a year.
const BIG: [&str; 17] = [
    "entry",
    "look",
    "placement",
    "stage",
    "change",
    "loss",
    "seed_move",
    "tray",
    "treatment",
    "treatment_tray",
    "hold_item",
    "room_check",
    "decision",
    "water",
    "water_tray",
    "reading_file",
    "reading",
];

static HEARD: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());

fn hear(event: TraceEvent<'_>) {
    if let TraceEvent::Stmt(statement, _) = event {
        HEARD.lock().unwrap().insert(statement.sql().to_string());
    }
}

fn set_up() -> Action {
    Action::SetUp(Box::new(NewRoom {
        name: "North Bench".into(),
        code: "NB".into(),
        initials: "AK".into(),
        units: Units::Metric,
        racks: lay_out(&parse_racks("1x3x4").unwrap()),
        format: NewFormat::nominal(),
        crops: vec!["RAD".into()],
    }))
}

/// A germination test, and everything that tells of a lot.
fn germinates(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, lot: SeedLotId) {
    let day: Day = "2026-07-01".parse().unwrap();
    let test = act(store, Action::BeginGermTest(Box::new(NewGermTest::of(lot, day, 4, 25)))).made.map(GermTestId);
    let end = GermEnd { day, abnormal: None, hard: None, dead: Some(3) };
    act(store, Action::EndGermTest { test: test.unwrap(), end });
    let (supplier, name) = (SupplierId(1), "Fen Seeds".to_string());
    act(
        store,
        Action::EditSupplier { supplier, name, address: String::new(), lead_d: Some(14), retired: false, rev: 0 },
    );
}

/// What the store does in a day: every kind of writing and every read model.
fn a_day(store: &mut Store) {
    let mut now = Now(DateTime::parse_from_rfc3339("2026-07-01T06:00:00Z").unwrap());
    let start = now;
    let mut act = |store: &mut Store, action: Action| -> Done {
        now = now.plus(Duration::minutes(1));
        store.act(&action, PersonId(1), now).unwrap()
    };
    act(store, set_up());
    store.conn.trace_v2(TraceEventCodes::SQLITE_TRACE_STMT, Some(hear));
    let board = store.board().unwrap();
    let places: Vec<_> = board.places().map(|place| place.id).collect();
    let day = "2026-07-01".parse().unwrap();
    let lot = NewSeedLot {
        supplier: "Fen Seeds".into(),
        supplier_lot: "FS-77".into(),
        treated: Treated::No,
        ..NewSeedLot::of(board.crops[0].id, 1_000_000, day)
    };
    let lot = SeedLotId(act(store, Action::ReceiveSeedLot(Box::new(lot))).made.unwrap());
    act(store, Action::CountSeed { lot, counted_mg: 990_000 });
    germinates(store, &mut act, lot);
    let sowing = NewSowing {
        crop: board.crops[0].id,
        day,
        format: board.formats[0].id,
        mats: 1,
        medium: Medium::Mat,
        medium_lot: Some("M-1".into()),
        wetting: Wetting::Water,
        soaks: vec![],
        soak_h: 0,
        parts: vec![Part { trays: 3, seed: vec![(lot, 81_000)] }],
        places: places[..3].to_vec(),
        counts: vec![],
    };
    let soaked = NewSowing { soak_h: 60, places: places[5..8].to_vec(), ..sowing.clone() };
    let trays = act(store, Action::Sow(Box::new(sowing))).trays;
    let walk = act(store, Action::StartWalk { mode: Mode::Both, racks: None }).made.map(WalkId);
    act(store, Action::TakeRacks { walk: walk.unwrap(), racks: vec![board.racks[0].id] });
    for tray in &trays {
        act(store, Action::Move { walk, tray: *tray, to: None, stage: Some(Stage::Lit) });
        act(store, Action::Look(Box::new(Look { walk, roots: Some(Roots::None), watered: true, ..Look::of(*tray) })));
    }
    act(store, Action::Undo);
    act(store, Action::Move { walk: None, tray: trays[0], to: Some(places[5]), stage: None });
    act(store, Action::Undo);
    act(
        store,
        Action::EditPlaces { places: vec![places[6]], zone: Zone::Isolation, retired: false, rev: 0, stack: None },
    );
    act(store, Action::Undo);
    let edit = |name: &str, retired| {
        let (name, person) = (name.to_string(), PersonId(1));
        Action::EditPerson { person, rev: 0, name, may_decide: true, retired }
    };
    stack(store, &mut act, &places, &trays);
    spray(store, &mut act, &trays[2..]);
    act(store, edit("Ann", false));
    act(store, Action::AddPerson { initials: "RM".into(), name: "rm".into(), may_decide: false });
    let retire =
        Action::EditCrop(Box::new(EditCrop { retired: true, ..EditCrop::of(store.crops().unwrap().remove(0)) }));
    assert!(store.act(&retire, PersonId(1), start).is_err());
    act(store, Action::AddStarterCrop { letters: "PEA".into() });
    act(store, Action::Undo);
    act(store, Action::Cut { trays: vec![trays[0]] });
    act(
        store,
        Action::Already { action: Box::new(Action::Sow(Box::new(soaked.clone()))), reason: "a long night".into() },
    );
    let breach = store.board().unwrap().breaches[0].id;
    soak(store, &mut act, lot, NewSowing { soak_h: 0, places: places[8..10].to_vec(), ..soaked });
    let reason = "kept for ourselves".to_string();
    act(store, Action::Decide { breach, what: Verdict::Accepted, by: PersonId(1), reason });
    keep_back(store, &mut act, trays[2]);
    doubt(store, &mut act, walk, &trays, start);
    clean_up(store, &mut act, (walk, trays[1]), places[1]);
    measure(store, &mut act, trays[2]);
    put_right(store, now);
    type_in(store, trays[2], now);
    read(store, now);
    store.walk(walk.unwrap()).unwrap();
    store.newest_walk(day).unwrap();
    store.newest_sheet().unwrap();
    for of in [
        Of::Everything,
        Of::Tray(trays[0]),
        Of::Sowing(SowingId(1)),
        Of::SeedLot(lot),
        Of::Place(places[0]),
        Of::Person(PersonId(1)),
        Of::Mix(MixId(1)),
        Of::Record(Record::Recipe, 1),
    ] {
        assert!(!store.history(of, None, 50).unwrap().is_empty(), "{of:?}");
    }
    store.conn.trace_v2(TraceEventCodes::empty(), None);
}

/// A sensor with a file and a reading by hand that is taken back; water outside of a walk.
fn measure(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, tray: TrayId) {
    let sensor =
        SensorId(act(store, Action::AddSensor { name: "door".into(), at: Spot::Zone(Zone::Lit) }).made.unwrap());
    let at = |text| Instant::parse(text).unwrap();
    let reading = |time| Reading::new(at(time), 20.0, 70.0).unwrap();
    let readings = vec![reading("2026-06-30T06:00:00Z"), reading("2026-06-30T07:00:00Z")];
    let new = NewReadings { sensor, file: "a.csv".into(), sha256: "a".repeat(64), part: None, readings, map: None };
    act(store, Action::ImportAir(Box::new(new)));
    act(store, Action::ReadAir { sensor, reading: reading("2026-07-01T05:00:00Z") });
    act(store, Action::Undo);
    act(store, Action::Water(Box::new(NewWater { trays: vec![tray], ..NewWater::default() })));
}

fn read(store: &Store, now: Now) {
    store.board().unwrap();
    store.crops().unwrap();
    let lots = store.seed_lots().unwrap();
    store.seed_shelf(&lots, now.day()).unwrap();
    store.seed_page(lots[0].id).unwrap();
    store.germ_tests(lots[0].id).unwrap();
    for of in Trouble::ALL {
        store.cause(&Asked::of(*of), now).unwrap();
    }
    store.timeline(SowingId(1)).unwrap();
    store.damp_days(SowingId(1), now).unwrap();
    store.air(now).unwrap();
}

/// The newest look, and the newest move, of other hands a while before; taken back again.
fn put_right(store: &mut Store, now: Now) {
    let lines = store.history(Of::Everything, None, 50).unwrap();
    for kind in ["look", "moved"] {
        let line = lines.iter().find(|line| line.kind == kind && line.undone_by.is_none()).unwrap();
        let entry = store.entry(line.id).unwrap();
        let correction = Correction::Hands { at: Some(Instant(entry.at.0 + Duration::seconds(30))), by: PersonId(1) };
        let action = Action::Correct { entry: entry.id, correction, reason: "late".into(), second: None };
        store.act(&action, PersonId(1), now).unwrap();
        store.act(&Action::Undo, PersonId(1), now).unwrap();
    }
}

/// A tray is thrown out, and its place cleaned.
fn clean_up(
    store: &mut Store,
    act: &mut dyn FnMut(&mut Store, Action) -> Done,
    (walk, tray): (Option<WalkId>, TrayId),
    place: PlaceId,
) {
    let (reason, gear, cleanup) = (LossReason::Rot, Gear::Binned, Some(Cleanup::Bagged));
    act(store, Action::Throw { walk, tray, reason, gear, cleanup, note: None });
    act(store, Action::CleanPlaces { places: vec![place], with: "soap".into() });
}

/// A tray held by hand, and the hold lifted.
fn keep_back(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, tray: TrayId) {
    act(store, Action::Hold(Box::new(NewHold::of(Start::Tray(tray), None, "a smell".into()))));
    let hold = store.board().unwrap().holds[0].id;
    act(store, Action::DecideHold { hold, what: Verdict::Accepted, by: PersonId(1), reason: "aired".into() });
}

/// Fuzz that stood, watched; what is beside it is not taken in at a glance.
fn doubt(
    store: &mut Store,
    act: &mut impl FnMut(&mut Store, Action) -> Done,
    walk: Option<WalkId>,
    trays: &[TrayId],
    start: Now,
) {
    let stood = Look { fuzz: Some(Mist::Stands), watered: true, ..Look::of(trays[1]) };
    act(store, Action::Look(Box::new(stood)));
    let (by, reason) = (PersonId(1), "until noon".to_string());
    act(store, Action::DecideSuspect { walk, tray: trays[1], what: Choice::Watch, by, reason });
    store.board().unwrap();
    let alike = Look { basis: Basis::Shelf, stand: Some(Stand::Good), ..Look::of(trays[2]) };
    assert!(store.act(&Action::Look(Box::new(alike)), PersonId(1), start).is_err());
}

/// Seed soaked, drained and sown.
fn soak(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, lot: SeedLotId, sowing: NewSowing) {
    let start = Instant::parse("2026-07-01T05:00:00Z").unwrap();
    let new = NewSoak { lot, mg: 90_000, start, minutes: 60, with: None };
    let soak = SoakId(act(store, Action::Soak(new)).made.unwrap());
    act(store, Action::Drain { soak, at: start, rinses: 1 });
    let parts = vec![Part { trays: 2, seed: vec![(lot, 54_000)] }];
    act(store, Action::Sow(Box::new(NewSowing { soaks: vec![soak], parts, ..sowing })));
}

/// Two trays on each other, one that is missing for a while.
fn stack(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, places: &[PlaceId], trays: &[TrayId]) {
    let stacked =
        |stack| Action::EditPlaces { places: vec![places[0]], zone: Zone::Covered, retired: false, rev: 0, stack };
    act(store, stacked(Some(2)));
    act(store, Action::Sight { walk: None, trays: vec![(trays[1], Some(places[0])), (trays[2], None)] });
    act(store, Action::Restack { place: places[0], trays: vec![trays[0], trays[1]] });
    store.board().unwrap();
    store.beside(trays[0]).unwrap();
    act(store, Action::Sight { walk: None, trays: vec![(trays[2], Some(places[2]))] });
}

/// A recipe, a bottle of it, and trays that were sprayed.
fn spray(store: &mut Store, act: &mut impl FnMut(&mut Store, Action) -> Done, trays: &[TrayId]) {
    let parts = vec![("salt".to_string(), Amount::parse("2 g").unwrap())];
    let new = Box::new(NewRecipe { name: "rinse".into(), ml: 500, life_d: 2, parts });
    let recipe = RecipeId(act(store, Action::AddRecipe(new)).made.unwrap());
    let (name, code) = ("salt".into(), "L-1".into());
    let received = "2026-07-01".parse().unwrap();
    act(store, Action::ReceiveMaterial(NewMaterialLot { name, code, received, use_by: None }));
    let lots = vec![Some(MaterialLotId(2))];
    let mix = act(store, Action::PrepareMix(NewMix { recipe, version: 1, ml: 400, lots })).made.map(MixId);
    let at = store.history(Of::Everything, None, 1).unwrap()[0].at;
    let new = NewTreatment {
        trays: trays.to_vec(),
        mix,
        product: String::new(),
        reg_no: None,
        at,
        ml: Some(20),
        purpose: "test".into(),
        listed: Listed::Yes,
        wait_h: 0,
        reentry_h: 2,
    };
    act(store, Action::Treat(Box::new(new)));
    act(store, Action::EndMix { mix: mix.unwrap(), what: MixEnd::Binned });
}

/// A paper sheet of one tray, which is cut at the end.
fn type_in(store: &mut Store, tray: TrayId, now: Now) {
    let paper = Seen { by: Some(PersonId(2)), at: Some(now.instant()), paper: true };
    let mut act = |action: &Action| store.act_seen(action, PersonId(1), &paper, now);
    let sheet = Action::StartWalk { mode: Mode::Both, racks: None };
    let walk = act(&sheet).unwrap().made.map(WalkId);
    act(&Action::Look(Box::new(Look { walk, watered: true, ..Look::of(tray) }))).unwrap();
    assert!(act(&sheet).is_err(), "typed twice");
    act(&Action::Cut { trays: vec![tray] }).unwrap();
}

/// The lines of a statement's plan, such as `SEARCH l USING INDEX look_tray (tray_id=?)`.
fn plan(conn: &Connection, sql: &str) -> Vec<String> {
    let mut explain = conn.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
    // parameters may stay unbound: the plan is made from the text
    let mut rows = explain.raw_query();
    let mut lines = Vec::new();
    while let Some(row) = rows.next().unwrap() {
        lines.push(row.get(3).unwrap());
    }
    lines
}

/// The names under which a statement speaks of big tables: the table's own and what it is called after FROM or JOIN.
fn names_of_big(sql: &str) -> BTreeSet<&str> {
    let words: Vec<&str> = sql.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty()).collect();
    let mut names: BTreeSet<&str> = BIG.into();
    for three in words.windows(3) {
        if matches!(three[0], "FROM" | "JOIN") && BIG.contains(&three[1]) && three[2].chars().all(char::is_lowercase) {
            names.insert(three[2]);
        }
    }
    names
}

#[test]
fn no_statement_of_a_day_reads_a_big_table_from_end_to_end() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(&folder.path().join("room.rackwalk"), "x").unwrap();
    a_day(&mut store);
    let heard = std::mem::take(&mut *HEARD.lock().unwrap());
    let plain: Vec<&String> = heard.iter().filter(|sql| !sql.starts_with("--") && !sql.starts_with("PRAGMA")).collect();
    assert!(plain.len() > 60, "{plain:#?}");
    // reads one row and stops
    let newest = "SELECT id, hash FROM entry ORDER BY id DESC LIMIT 1";
    // partial indexes that hold nothing but what went bad
    let few = |line: &str| line.ends_with("USING INDEX look_bad") || line.ends_with("USING INDEX loss_bad");
    let mut scans = Vec::new();
    for sql in plain.iter().filter(|sql| **sql != newest) {
        let names = names_of_big(sql);
        for line in plan(&store.conn, sql) {
            if line.strip_prefix("SCAN ").and_then(|rest| rest.split(' ').next()).is_some_and(|n| names.contains(n))
                && !few(&line)
            {
                scans.push(format!("{line}: {sql}"));
            }
        }
    }
    assert!(scans.is_empty(), "{scans:#?}");
    for (part, index) in [
        ("SELECT p.place_id, e.at, p.at FROM placement p", "p USING INDEX placement_tray (tray_id=?)"),
        ("SELECT s.stage, e.at, s.at FROM stage s", "s USING INDEX stage_tray (tray_id=?)"),
        ("SELECT l.entry_id, e.at, l.seen_at FROM look l", "l USING INDEX look_tray (tray_id=? AND day=?)"),
        (
            "SELECT l.entry_id, e.at, l.seen_at, l.mist, l.verdict, l.day, l.signs, max(l.mould, l.rot) FROM look l",
            "l USING INDEX look_tray (tray_id=?)",
        ),
        ("CROSS JOIN look o ON o.entry_id", "l USING INDEX look_tray (tray_id=? AND day>?)"),
        ("SELECT tray_id FROM look WHERE fuzz = 1", "look USING INDEX look_fuzz_day (day>?)"),
        ("SELECT d.entry_id, e.at, e.seen_at, e.day FROM decision d", "d USING INDEX decision_tray (tray_id=?)"),
        ("FROM walk_stop s JOIN look l", "s USING INDEX walk_stop_walk (walk_id=?)"),
        ("FROM walk_share s JOIN entry_hands", "s USING INDEX walk_share_walk (walk_id=?)"),
        ("FROM seed_lot l JOIN crop c", "seed_move USING COVERING INDEX seed_move_lot (seed_lot_id=? AND void_by=?)"),
        ("GROUP BY m.id ORDER BY m.at", "x USING COVERING INDEX treatment_tray_tray (tray_id=?)"),
        (
            "SELECT t.id, t.sowing_id\n  FROM (SELECT id FROM sowing",
            "sowing USING COVERING INDEX sowing_day_crop (day>? AND day<?)",
        ),
        ("SELECT t.id, t.sowing_id\n  FROM (SELECT id FROM sowing", "t USING COVERING INDEX tray_sowing (sowing_id=?)"),
        ("SELECT DISTINCT t.id FROM sowing s", "s USING INDEX sowing_day_crop (day>?)"),
        ("SELECT DISTINCT t.id FROM sowing s", "g USING INDEX stage_tray (tray_id=?)"),
        ("WHERE EXISTS (SELECT 1 FROM look WHERE tray_id", "look USING INDEX look_fuzz (tray_id=?)"),
        ("SELECT j.value, x.reason", "x USING INDEX loss_tray (tray_id=?)"),
        (
            "CROSS JOIN seed_move m ON m.sowing_id",
            "m USING COVERING INDEX seed_move_sowing (sowing_id=? AND void_by=?)",
        ),
        ("SELECT j.value, coalesce(r.name, m.product)", "x USING COVERING INDEX treatment_tray_tray (tray_id=?)"),
        ("SELECT j.value, w.source, w.day", "x USING COVERING INDEX water_tray_tray (tray_id=?)"),
        ("SELECT j.value, w.source, w.day", "s USING COVERING INDEX sowing_entry (entry_id=?)"),
        ("SELECT j.value, p.initials, x.day", "x USING INDEX look_tray (tray_id=?)"),
        ("p.stack, j.value", "x USING INDEX placement_tray (tray_id=?)"),
        ("SELECT DISTINCT l.id, l.code, p.name FROM stock_move", "m USING INDEX stock_move_day (day>? AND day<?)"),
        ("SELECT j.value, t.name FROM json_each(?1) j CROSS JOIN lot_use", "u USING INDEX lot_use_lot (lot_id=?)"),
        ("FROM seed_move m JOIN seed_lot l", "m USING COVERING INDEX seed_move_sowing (sowing_id=? AND void_by=?)"),
        ("FROM place_cleaned c JOIN entry", "c USING INDEX place_cleaned_place (place_id=?)"),
        ("SELECT entry_id FROM look WHERE tray_id", "look USING COVERING INDEX look_tray (tray_id=?)"),
        ("AND s.void_by IS NULL AND (d.id IS NULL", "s USING INDEX soak_begun"),
        ("AND s.void_by IS NULL AND (d.id IS NULL", "d USING INDEX soak_drain_live (soak_id=?) LEFT-JOIN"),
        ("AND s.void_by IS NULL AND (d.id IS NULL", "x USING INDEX soak_sown_soak (soak_id=?)"),
        ("SELECT entry_id FROM soak WHERE seed_lot_id", "soak USING INDEX soak_lot (seed_lot_id=?)"),
        ("SELECT id FROM entry WHERE who = ?1", "entry USING COVERING INDEX entry_who (who=? AND id<?)"),
        (
            "WHERE e.who = ?
",
            "e USING INDEX entry_who (who=?)",
        ),
        ("SELECT r.at_s, r.temp_dc, r.rh_pm FROM reading r", "r USING PRIMARY KEY (sensor_id=? AND at_s>? AND at_s<?)"),
        ("JOIN look l ON l.tray_id = t.id LEFT JOIN entry_note", "l USING INDEX look_tray (tray_id=?)"),
    ] {
        let found: Vec<String> =
            plain.iter().filter(|sql| sql.contains(part)).flat_map(|sql| plan(&store.conn, sql)).collect();
        assert!(found.iter().any(|line| line.ends_with(index)), "{part}: {found:#?}");
    }
}
