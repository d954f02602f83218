//! What is held is not used: seed, mixes, lots of materials, knives and tables; and what was made with it all the same is
//! held with it.

use chrono::{DateTime, Duration};
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::cold::{Limits, NewStore, PutAway};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::harvest::NewHarvest;
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{
    HoldId, LotId, MaterialLotId, MixId, PersonId, SeedLotId, SowingId, StoreId, ToolId, TrayId,
};
use rackwalk::domain::packing::{Draw, NewRun};
use rackwalk::domain::soak::NewSoak;
use rackwalk::domain::sowing::{NewSowing, Part};
use rackwalk::domain::standing::NewStanding;
use rackwalk::domain::time::{Instant, Now};
use rackwalk::domain::trace::{Days, Hours, Start};
use rackwalk::domain::tray::Stage;
use rackwalk::domain::treatment::NewTreatment;
use rackwalk::domain::water::NewWater;
use rusqlite::Connection;

use super::sold::{Shop, checked, pack, shop};
use super::{assert_sound, crop, dump, mixes, raw};
use crate::book::{AK, Book};
use crate::screens::stock::ready;

/// The rules met here.
pub(super) const MET: &[&str] = &["seed_held", "mix_held", "material_held", "tool_held", "hold_empty"];

fn hold(what: Start) -> Action {
    Action::Hold(Box::new(NewHold::of(what, None, "a letter of the supplier".into())))
}

fn already(action: Action) -> Action {
    Action::Already { action: Box::new(action), reason: "the van was waiting".into() }
}

fn lift(book: &mut Book) {
    for hold in book.board().holds {
        let reason = "a new letter of the supplier".to_string();
        book.act(&Action::DecideHold { hold: hold.id, what: Verdict::Accepted, by: AK, reason });
    }
}

fn accept(book: &mut Book) {
    for breach in book.board().breaches {
        let reason = "looked at".to_string();
        book.act(&Action::Decide { breach: breach.id, what: Verdict::Accepted, by: AK, reason });
    }
}

/// Refused by this rule at this field, without a trace.
fn bars(book: &mut Book, rule: &str, field: Option<&str>, action: &Action) {
    let conn = raw(&book.path);
    let before = dump(&conn);
    let refusal = book.refused(action);
    assert_eq!((refusal.rule, refusal.field), (rule, field), "{}", refusal.sentence);
    assert!(refusal.sentence.contains(" is held: take another "), "{}", refusal.sentence);
    assert_eq!(dump(&conn), before, "{rule} left a trace");
}

/// Done all the same it is a breach of this rule that names the hold; the trays made by it.
fn breaks(book: &mut Book, rule: &str, action: Action) -> Vec<TrayId> {
    let held = book.board().holds[0].entry;
    let done = book.act(&already(action));
    let breach = book.board().breaches.into_iter().find(|breach| breach.entry == done.entry).unwrap();
    assert_eq!((breach.rule.as_str(), breach.about), (rule, Some(held)));
    done.trays
}

fn held(book: &Book, tray: TrayId) -> bool {
    book.board().tray(tray).unwrap().held
}

fn sow(book: &Book, lot: SeedLotId, change: impl FnOnce(&mut NewSowing)) -> Action {
    let mut new = book.sowing("RAD", lot, 1);
    change(&mut new);
    Action::Sow(Box::new(new))
}

fn material(book: &Book, code: &str) -> MaterialLotId {
    let materials = book.board().materials;
    materials.iter().flat_map(|material| &material.lots).find(|lot| lot.code == code).unwrap().id
}

/// What SQLite says to a raw statement.
fn refusal(conn: &Connection, sql: &str) -> String {
    match conn.execute_batch(sql) {
        Err(rusqlite::Error::SqliteFailure(_, Some(message))) => message,
        other => panic!("{sql}: {other:?}"),
    }
}

#[test]
fn held_seed_is_neither_sown_nor_soaked_nor_named_by_a_correction() {
    let mut book = Book::room();
    let (good, bad) = (book.seed("RAD", 500), book.seed("RAD", 500));
    let stood = book.sow("RAD", bad, 1)[0];
    let sown = book.act(&sow(&book, good, |_| ())).entry;
    book.act(&hold(Start::SeedLot(bad)));
    assert!(held(&book, stood), "what grows of it is held with it");
    let lots = book.store.seed_lots().unwrap();
    let bar = |id| lots.iter().find(|lot| lot.id == id).unwrap().bar(book.now.day());
    assert_eq!((bar(good), bar(bad)), (None, Some("HELD until it is lifted".into())));
    let soak = NewSoak { lot: bad, mg: 5_000, start: book.now.instant(), minutes: 60, with: None };
    let two = sow(&book, good, |new| {
        new.parts.push(Part { trays: 1, seed: vec![(bad, 27_000)] });
        new.places = book.board().free_places().iter().take(2).map(|place| place.id).collect();
    });
    let radish = crop(&book, "RAD").id;
    let named = |seed| Action::Correct {
        entry: sown,
        correction: Correction::Sowing { sowing: SowingId(2), crop: radish, day: book.now.day(), seed, after: None },
        reason: "the other jar".into(),
        second: None,
    };
    let wrong = named(vec![(good, 20_000), (bad, 7_000)]);
    bars(&mut book, "seed_held", Some("lot"), &two);
    bars(&mut book, "seed_held", None, &Action::Soak(soak.clone()));
    bars(&mut book, "seed_held", Some("lot"), &wrong);
    // of two batches only the one that got it is held by the breach
    let trays = breaks(&mut book, "seed_held", two);
    assert_eq!(trays.iter().map(|tray| held(&book, *tray)).collect::<Vec<_>>(), [false, true]);
    assert_eq!(book.board().breaches[0].trays, trays[1..]);
    // seed in water holds nothing: sown, it is refused anew
    breaks(&mut book, "seed_held", Action::Soak(soak));
    book.act(&Action::Undo);
    let put = book.act(&already(wrong)).trays;
    assert!(held(&book, put[0]) && put.len() == 1);
    // the breaches accepted, the hold still holds all that has seed of it
    accept(&mut book);
    assert!(held(&book, trays[1]) && held(&book, put[0]) && held(&book, stood) && !held(&book, trays[0]));
    let reached: Vec<TrayId> = book.board().holds[0].trays.iter().map(|held| held.tray).collect();
    assert_eq!(reached, [stood, put[0], trays[1]]);
    assert_sound(&mut book);
    // lifted by name all of it goes on, also what was named later; taken back, all of it is held again
    lift(&mut book);
    assert!([stood, trays[1], put[0]].iter().all(|tray| !held(&book, *tray)));
    book.act(&Action::Undo);
    assert!([stood, trays[1], put[0]].iter().all(|tray| held(&book, *tray)));
    assert_sound(&mut book);
    lift(&mut book);
    book.act(&sow(&book, bad, |_| ()));
    assert_sound(&mut book);
}

#[test]
fn trays_that_stood_before_the_book_name_held_seed_and_are_held_with_it() {
    let mut book = Book::room();
    let bad = book.seed("RAD", 500);
    book.act(&hold(Start::SeedLot(bad)));
    let board = book.board();
    let new = NewStanding {
        crop: crop(&book, "RAD").id,
        sown: book.now.day() - Duration::days(2),
        format: board.formats[0].id,
        lot: Some(bad),
        stage: Stage::Lit,
        places: vec![board.free_places()[0].id],
    };
    let tray = book.act(&Action::Standing(Box::new(new))).trays[0];
    assert!(held(&book, tray), "naming it is a fact");
    assert_eq!(book.refused(&Action::Cut { trays: vec![tray] }).rule, "cut_held");
    assert_eq!(book.board().holds[0].trays[0].tray, tray);
    lift(&mut book);
    assert!(!held(&book, tray));
    assert_sound(&mut book);
}

/// Two radish trays under light and a bottle with lot L-7 of its salt.
fn sprayed() -> (Book, Vec<TrayId>, MixId) {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let trays = book.sow("RAD", seed, 2);
    let bottle = mixes::bottle(&mut book);
    (book, trays, bottle)
}

#[test]
fn a_held_mix_is_not_sprayed() {
    let (mut book, trays, bottle) = sprayed();
    let spray = |book: &Book, tray: TrayId| {
        Action::Treat(Box::new(NewTreatment { wait_h: 0, ..mixes::spray(book, &[tray], Some(bottle)) }))
    };
    book.act(&spray(&book, trays[0]));
    let done = book.act(&hold(Start::Mix(bottle)));
    assert!(done.sentence.contains("Mix M0001-Y test rinse is held with all that was made of it"), "{}", done.sentence);
    assert!(held(&book, trays[0]) && !held(&book, trays[1]));
    assert!(book.board().mix(bottle).unwrap().words(book.now).starts_with("HELD, keeps until "));
    assert!(book.board().runs_out.iter().any(|line| line.held && line.code == "M0001-Y"));
    let late = spray(&book, trays[1]);
    bars(&mut book, "mix_held", Some("what"), &late);
    breaks(&mut book, "mix_held", late);
    accept(&mut book);
    assert!(held(&book, trays[1]), "as long as the bottle is");
    lift(&mut book);
    assert!(!held(&book, trays[0]) && !held(&book, trays[1]));
    assert_sound(&mut book);
}

#[test]
fn a_held_lot_of_an_ingredient_holds_every_bottle_with_it() {
    let (mut book, trays, bottle) = sprayed();
    let salt = material(&book, "L-7");
    let done = book.act(&hold(Start::Material(salt)));
    assert!(done.sentence.starts_with("test salt, lot L-7 is held"), "{}", done.sentence);
    assert!(book.board().materials.iter().flat_map(|m| &m.lots).any(|lot| lot.words().starts_with("HELD, L-7")));
    let spray = |book: &Book, mix| {
        Action::Treat(Box::new(NewTreatment { ml: Some(50), ..mixes::spray(book, &trays[..1], Some(mix)) }))
    };
    let treat = spray(&book, bottle);
    bars(&mut book, "mix_held", Some("what"), &treat);
    let more = mixes::one_more(Some(salt));
    bars(&mut book, "material_held", None, &more);
    book.act(&mixes::one_more(None));
    // prepared all the same: the bottle is held as long as the lot is, whatever becomes of the breach
    breaks(&mut book, "material_held", more);
    accept(&mut book);
    let late = book.board().mixes.iter().find(|mix| mix.id.0 == 3).unwrap().clone();
    assert!(late.held && !book.board().mix(MixId(2)).unwrap().held);
    let treat = spray(&book, late.id);
    bars(&mut book, "mix_held", Some("what"), &treat);
    breaks(&mut book, "mix_held", treat);
    accept(&mut book);
    assert!(held(&book, trays[0]));
    lift(&mut book);
    assert!(!held(&book, trays[0]) && !book.board().mix(late.id).unwrap().held);
    assert_sound(&mut book);
}

#[test]
fn a_held_lot_of_a_medium_is_not_sown_on() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let on = |book: &Book, code: &str| sow(book, seed, |new| new.medium_lot = Some(code.into()));
    let first = book.act(&on(&book, "M-1")).trays[0];
    book.act(&hold(Start::Material(material(&book, "M-1"))));
    assert!(held(&book, first));
    let again = on(&book, "M-1");
    bars(&mut book, "material_held", Some("medium_lot"), &again);
    let plain = book.act(&on(&book, "M-2")).trays[0];
    let again = on(&book, "M-1");
    let later = breaks(&mut book, "material_held", again)[0];
    accept(&mut book);
    assert!(held(&book, later) && !held(&book, plain));
    lift(&mut book);
    assert!(!held(&book, later) && !held(&book, first));
    assert_sound(&mut book);
}

fn run(s: &Shop, tools: &[&str], packaging: Option<(&str, &str)>) -> Action {
    let Action::Pack(new) = pack(s.shoots_of, s.pea, 1, 100) else { panic!("a run") };
    let tools = tools.iter().map(ToString::to_string).collect();
    let packaging = packaging.map(|(name, code)| (name.into(), code.into()));
    Action::Pack(Box::new(NewRun { tools, packaging, ..*new }))
}

#[test]
fn held_packaging_is_not_packed_into_and_holds_what_is_in_it() {
    let mut s = shop();
    let new = run(&s, &[], Some(("boxes", "BX-1")));
    let first = LotId(s.book.act(&new).made.unwrap());
    let boxes = material(&s.book, "BX-1");
    s.book.act(&hold(Start::Material(boxes)));
    assert!(s.lot(first).held && !s.lot(s.shoots).held);
    bars(&mut s.book, "material_held", Some("carton"), &new);
    let held = s.book.board().holds[0].entry;
    let later = LotId(s.book.act(&already(new)).made.unwrap());
    assert_eq!(s.book.board().breaches[0].about, Some(held));
    accept(&mut s.book);
    assert!(s.lot(later).held, "as long as the boxes are");
    let reached: Vec<LotId> = s.book.board().holds[0].lots.iter().map(|lot| lot.lot).collect();
    assert_eq!(reached, [first, later]);
    assert_sound(&mut s.book);
    lift(&mut s.book);
    assert!(!s.lot(first).held && !s.lot(later).held);
    s.book.act(&Action::Undo);
    assert!(s.lot(first).held && s.lot(later).held);
    assert_sound(&mut s.book);
}

#[test]
fn a_held_knife_cuts_and_a_held_table_packs_nothing() {
    let mut book = ready();
    checked(&mut book);
    let trays = |letters: &str| -> Vec<TrayId> {
        book.board().trays.iter().filter(|tray| tray.letters == letters).map(|tray| tray.id).collect()
    };
    let (pea, radish) = (trays("PEA"), trays("RAD"));
    let cut = |trays: &[TrayId], grams, tool: &str| {
        let tools = vec![tool.into(), "table 1".into()];
        Action::Harvest(Box::new(NewHarvest { tools, ..NewHarvest::whole(trays, grams) }))
    };
    let first = LotId(book.act(&cut(&pea, 1240, "knife 2")).made.unwrap());
    let goods = book.store.goods(book.now.day()).unwrap();
    let knife = goods.tools.iter().find(|tool| tool.name == "knife 2").unwrap().id;
    let today = Days { from: book.now.day(), to: book.now.day() };
    // a day on which it cut nothing holds nothing
    let before = Days { from: today.from - Duration::days(3), to: today.from - Duration::days(1) };
    assert_eq!(book.refused(&hold(Start::Tool(knife, before))).rule, "hold_empty");
    assert_eq!(book.refused(&hold(Start::Tool(ToolId(99), today))).rule, "hold_nothing");
    let done = book.act(&hold(Start::Tool(knife, today)));
    assert!(done.sentence.contains("and it is not used again"), "{}", done.sentence);
    let lot = |book: &Book, id: LotId| {
        book.store.goods(book.now.day()).unwrap().lots.into_iter().find(|lot| lot.id == id).unwrap()
    };
    assert!(lot(&book, first).held);
    // large or small letters, it is the same knife
    let again = cut(&radish, 480, "KNIFE 2");
    bars(&mut book, "tool_held", Some("tools"), &again);
    let held = book.board().holds[0].entry;
    let second = LotId(book.act(&already(again.clone())).made.unwrap());
    let breach = book.board().breaches.remove(0);
    assert_eq!((breach.rule.as_str(), breach.about, breach.lots[0].lot), ("tool_held", Some(held), second));
    assert!(lot(&book, second).held);
    accept(&mut book);
    assert!(!lot(&book, second).held, "the hold is of its days alone");
    // the same at packing
    let product =
        book.store.goods(book.now.day()).unwrap().products.iter().find(|p| p.name.starts_with("rad")).unwrap().id;
    let draws = vec![Draw { lot: second, grams: 100, packs: None }];
    let Action::Pack(new) = pack(product, second, 2, 50) else { panic!("a run") };
    let run = Action::Pack(Box::new(NewRun { draws, tools: vec!["knife 2".into()], ..*new }));
    bars(&mut book, "tool_held", Some("tools"), &run);
    let packed = LotId(book.act(&already(run)).made.unwrap());
    assert!(lot(&book, packed).held);
    accept(&mut book);
    lift(&mut book);
    assert!(!lot(&book, first).held);
    let told = book.store.history(Of::Record(Record::Tool, knife.0), None, 9).unwrap();
    let kinds: Vec<&str> = told.iter().map(|line| line.kind.as_str()).collect();
    assert_eq!(kinds, ["hold_decided", "packed", "harvested", "held", "harvested"]);
    assert_sound(&mut book);
}

#[test]
fn the_list_of_holds_says_what_each_is_of() {
    let (mut book, _, bottle) = sprayed();
    let seed = SeedLotId(1);
    let salt = material(&book, "L-7");
    book.act(&hold(Start::SeedLot(seed)));
    book.act(&hold(Start::Mix(bottle)));
    book.act(&hold(Start::Material(salt)));
    let of: Vec<Vec<(Of, String)>> = book.board().holds.into_iter().map(|hold| hold.of).collect();
    let mix = (Of::Mix(bottle), "mix M0001-Y test rinse".to_string());
    assert_eq!(of[0], [(Of::SeedLot(seed), "seed lot S0001-R radish".to_string())]);
    assert_eq!(of[1], std::slice::from_ref(&mix));
    assert_eq!(of[2], [(Of::Material(salt), "test salt, lot L-7".to_string()), mix], "and the bottles it is in");
    // each is told in the story of what it is of
    for of in [Of::SeedLot(seed), Of::Mix(bottle), Of::Material(salt)] {
        let kinds: Vec<String> = book.store.history(of, None, 9).unwrap().into_iter().map(|line| line.kind).collect();
        assert!(kinds.contains(&"held".to_string()), "{of:?}: {kinds:?}");
    }
    // an exercise is no hold anyone decides about
    assert_eq!(
        book.refused(&Action::DecideHold { hold: HoldId(9), what: Verdict::Accepted, by: AK, reason: "x".into() }).rule,
        "hold_unknown"
    );
}

#[test]
fn the_database_itself_lets_nothing_held_be_used() {
    let (mut book, trays, bottle) = sprayed();
    let seed = SeedLotId(1);
    book.act(&sow(&book, seed, |new| new.medium_lot = Some("M-1".into())));
    let (salt, mats) = (material(&book, "L-7"), material(&book, "M-1"));
    for what in [Start::SeedLot(seed), Start::Mix(bottle), Start::Material(salt), Start::Material(mats)] {
        book.act(&hold(what));
    }
    let conn = raw(&book.path);
    let (seed, bottle, salt, mats) = (seed.0, bottle.0, salt.0, mats.0);
    let sown =
        format!("INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why) VALUES (2, {seed}, 1, -5, 'sown')");
    assert_eq!(refusal(&conn, &sown), "sow_held");
    let soak = format!(
        "INSERT INTO soak (entry_id, seed_lot_id, mg, start, minutes) VALUES (2, {seed}, 5, '2026-07-01T05:00:00Z', 5)"
    );
    assert_eq!(refusal(&conn, &soak), "soak_held");
    let treat = format!(
        "INSERT INTO treatment (entry_id, mix_id, product, at, purpose, listed, wait_h, reentry_h)
         VALUES (2, {bottle}, 'x', '2026-07-01T06:00:00Z', 'x', 'yes', 0, 0)"
    );
    assert_eq!(refusal(&conn, &treat), "treat_held");
    let medium = format!(
        "INSERT INTO sowing (entry_id, code, crop_id, grow_plan_id, day, medium, medium_lot_id, before_book)
         VALUES (2, 'X', 1, 1, '2026-07-01', 'mat', {mats}, 0)"
    );
    assert_eq!(refusal(&conn, &medium), "use_held");
    let part =
        format!("INSERT INTO mix_part SELECT mix_id, 9, material_id, {salt}, amount, measure FROM mix_part LIMIT 1");
    assert_eq!(refusal(&conn, &part), "use_held");
    // and a tool and packaging around a lot
    let mut s = shop();
    let new = run(&s, &["table 1"], Some(("boxes", "BX-1")));
    s.book.act(&new);
    let boxes = material(&s.book, "BX-1");
    let today = Days { from: s.book.now.day(), to: s.book.now.day() };
    s.book.act(&hold(Start::Material(boxes)));
    s.book.act(&hold(Start::Tool(ToolId(1), today)));
    let conn = raw(&s.book.path);
    for (column, id) in [("tool_id", 1), ("material_lot_id", boxes.0)] {
        let used = format!("INSERT INTO lot_use (entry_id, lot_id, {column}) VALUES (2, 1, {id})");
        assert_eq!(refusal(&conn, &used), "use_held");
    }
    assert!(!trays.is_empty());
}

/// Trays of the newest hold.
fn newest(book: &Book) -> Vec<TrayId> {
    book.board().holds.last().unwrap().trays.iter().map(|held| held.tray).collect()
}

#[test]
fn water_is_held_by_its_source_however_it_was_written() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let trays = book.sow("RAD", seed, 3);
    book.later(Duration::days(1));
    let water = |trays: &[TrayId], source: &str| {
        Action::Water(Box::new(NewWater { trays: trays.to_vec(), source: source.into(), ..NewWater::default() }))
    };
    book.act(&water(&trays[..1], "Rain barrel"));
    book.act(&water(&trays[1..2], "rain barrel"));
    book.act(&water(&trays[2..], "the tap"));
    assert_eq!(book.board().water_sources, ["Rain barrel", "at sowing", "the tap"]);
    let today = book.now.day();
    let of = |source: &str, from: i64, to: i64| {
        let days = Days { from: today - Duration::days(from), to: today - Duration::days(to) };
        hold(Start::Water(source.into(), days))
    };
    assert_eq!(book.refused(&of("rain barrel", 9, 1)).rule, "hold_empty");
    assert_eq!(book.refused(&of("river", 0, 0)).rule, "hold_empty");
    book.act(&of("rain barrel", 0, 0));
    assert_eq!(newest(&book), trays[..2]);
    assert!(!held(&book, trays[2]));
    book.act(&of("at sowing", 1, 1));
    assert_eq!(newest(&book), trays);
    assert_sound(&mut book);
}

#[test]
fn a_place_is_held_by_the_days_of_the_room_and_hands_by_their_hours() {
    let mut book = Book::room();
    // nine in the evening, eight hours behind: by the book's own clock it is the next day
    book.now = Now(DateTime::parse_from_rfc3339("2026-07-10T21:00:00-08:00").unwrap());
    let seed = book.seed("RAD", 500);
    let first = book.radish_at(seed, &["A 1-1"])[0];
    let evening = book.now.instant();
    book.later(Duration::days(2));
    let to = book.place("A 1-2");
    book.act(&Action::Move { walk: None, tray: first, to: Some(to), stage: None });
    let moved = book.now.instant();
    let second = book.radish_at(seed, &["A 1-1"])[0];
    let at = |label: &str, from: &str, to: &str| {
        let days = Days { from: from.parse().unwrap(), to: to.parse().unwrap() };
        hold(Start::Place(book.place(label), days))
    };
    let cases = [
        (at("A 1-1", "2026-07-10", "2026-07-10"), vec![first]),
        (at("A 1-1", "2026-07-11", "2026-07-11"), vec![first]),
        (at("A 1-1", "2026-07-12", "2026-07-12"), vec![first, second]),
        (at("A 1-2", "2026-07-12", "2026-07-12"), vec![first]),
    ];
    let nothing = [
        at("A 1-1", "2026-07-08", "2026-07-09"),
        at("A 1-2", "2026-07-10", "2026-07-11"),
        at("B 1-1", "2026-07-01", "2026-07-12"),
    ];
    for (action, trays) in cases {
        book.act(&action);
        assert_eq!(newest(&book), trays, "{action:?}");
    }
    for action in nothing {
        assert_eq!(book.refused(&action).rule, "hold_empty", "{action:?}");
    }
    let by = |who, from, to| hold(Start::Person(who, Hours { from, to }));
    book.act(&by(AK, evening, evening));
    assert_eq!(newest(&book), [first]);
    book.act(&by(AK, moved, moved));
    assert_eq!(newest(&book), [first, second]);
    let before = Instant(evening.0 - Duration::hours(2));
    assert_eq!(book.refused(&by(AK, before, before)).rule, "hold_empty");
    assert_eq!(book.refused(&by(PersonId(9), before, moved)).rule, "hold_nothing");
    assert_sound(&mut book);
}

#[test]
fn a_cold_store_is_held_by_what_lay_in_it_then() {
    let mut s = shop();
    let new = NewStore { name: "Walk-in".into(), limits: Limits::default() };
    let store = StoreId(s.book.act(&Action::AddStore(Box::new(new))).made.unwrap());
    let put = |s: &mut Shop, lot: LotId, to: Option<StoreId>| {
        let at = s.book.now.instant();
        s.book.act(&Action::PutAway(Box::new(PutAway { lots: vec![lot], store: to, at, out_dc: None })));
    };
    let (shoots, radish) = (s.shoots, s.radish);
    put(&mut s, shoots, Some(store));
    let first = s.book.now.instant();
    s.book.later(Duration::hours(2));
    put(&mut s, shoots, None);
    s.book.later(Duration::hours(2));
    put(&mut s, radish, Some(store));
    let last = s.book.now.instant();
    let of = |from, to| hold(Start::Store(store, Hours { from, to }));
    let before = Instant(first.0 - Duration::hours(1));
    assert_eq!(s.book.refused(&of(before, before)).rule, "hold_empty");
    s.book.act(&of(first, Instant(first.0 + Duration::hours(1))));
    assert!(s.lot(shoots).held && !s.lot(radish).held);
    s.book.act(&of(last, last));
    assert!(s.lot(radish).held);
    assert_eq!(s.book.refused(&hold(Start::Store(StoreId(9), Hours { from: first, to: last }))).rule, "hold_nothing");
    assert_sound(&mut s.book);
}
