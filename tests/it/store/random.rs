//! Days of work at random: whatever is done and taken back, the book stays sound.
//!
//! A model of its own keeps in plain maps what should stand where; it shares no code with the store.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;
use proptest::prelude::*;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{BreachId, PersonId, PlaceId, SeedLotId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::room::{Units, parse_racks};
use rackwalk::domain::setup::{NewFormat, NewRoom, lay_out};
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::time::Instant;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::store::error::StoreError;
use rusqlite::Connection;

use super::{assert_sound, number, person, raw};
use crate::book::{AK, Book, roots};

/// One step; numbers choose among what is there.
#[derive(Debug, Clone)]
enum Step {
    Sow(usize, i64),
    Look(usize, Option<Mist>),
    Move(usize, usize),
    Light(usize),
    /// A check that says hairs; then someone clears it, or sets it apart.
    Check(usize),
    Clear(usize),
    Apart(usize, usize),
    Cut(usize),
    Throw(usize),
    Count(i64),
    /// Sown although the jar may not hold it.
    Poured(usize, i64),
    /// Cut, whatever state it was in.
    WasCut(usize),
    Decide(usize, Verdict),
    /// The seed of a batch was misread; beforehand, or as it really was.
    Fix(usize, i64, bool),
    /// Some entry was of other hands, and of so many minutes before or after.
    Hands(usize, Option<i64>, bool),
    /// Some entry was of another grade, or put a tray to another place.
    Right(usize, usize),
    /// A tray, also a missing one, is found at some place, or nowhere.
    Sight(usize, Option<usize>),
    /// The stack is turned over.
    Turn,
    Undo,
    NextDay,
}

fn step() -> impl Strategy<Value = Step> {
    let mist = prop_oneof![Just(None), Just(Some(Mist::Down)), Just(Some(Mist::Stands)), Just(Some(Mist::Untested))];
    prop_oneof![
        2 => (1usize..4, 1i64..60_000).prop_map(|(n, mg)| Step::Sow(n, mg)),
        4 => (0usize..9, mist).prop_map(|(tray, mist)| Step::Look(tray, mist)),
        3 => (0usize..9, 0usize..6).prop_map(|(tray, place)| Step::Move(tray, place)),
        2 => (0usize..9).prop_map(Step::Check),
        2 => (0usize..9).prop_map(Step::Clear),
        1 => (0usize..9, 0usize..6).prop_map(|(tray, place)| Step::Apart(tray, place)),
        2 => (0usize..9).prop_map(Step::Light),
        2 => (0usize..9, proptest::option::of(0usize..6)).prop_map(|(tray, place)| Step::Sight(tray, place)),
        1 => Just(Step::Turn),
        1 => (0usize..9).prop_map(Step::Cut),
        1 => (0usize..9).prop_map(Step::Throw),
        1 => (0i64..200_000).prop_map(Step::Count),
        2 => (1usize..4, 40_000i64..120_000).prop_map(|(n, mg)| Step::Poured(n, mg)),
        1 => (0usize..9).prop_map(Step::WasCut),
        2 => (0usize..9, 0usize..3).prop_map(|(n, what)| Step::Decide(n, Verdict::ALL[what])),
        5 => Just(Step::Undo),
        1 => Just(Step::NextDay),
    ]
}

/// The same with past entries put right.
fn step_or_fix() -> impl Strategy<Value = Step> {
    let fix = (0usize..9, 1i64..120_000, any::<bool>()).prop_map(|(n, mg, already)| Step::Fix(n, mg, already));
    let when = prop_oneof![Just(None), (-900i64..200).prop_map(Some)];
    let hands = (0usize..40, when, any::<bool>()).prop_map(|(n, by, hers)| Step::Hands(n, by, hers));
    let right = (0usize..40, 0usize..6).prop_map(|(n, place)| Step::Right(n, place));
    prop_oneof![6 => step(), 1 => fix, 2 => hands, 1 => right]
}

/// What should be true now.
#[derive(Debug, Clone, Default, PartialEq)]
struct Truth {
    place: BTreeMap<TrayId, PlaceId>,
    /// Trays by when they were put where they are: the later, the higher in a stack.
    order: Vec<TrayId>,
    /// Fuzz seen, in order.
    fuzz: BTreeMap<TrayId, Vec<Mist>>,
    seed_mg: i64,
    /// Trays sown with seed that was not there, by the breach that nobody has accepted.
    held: BTreeMap<BreachId, BTreeSet<TrayId>>,
}

impl Truth {
    fn put(&mut self, tray: TrayId, place: Option<PlaceId>) {
        self.order.retain(|other| *other != tray);
        self.order.push(tray);
        match place {
            Some(place) => self.place.insert(tray, place),
            None => self.place.remove(&tray),
        };
    }

    /// Trays at a place from the top.
    fn stack(&self, place: PlaceId) -> Vec<TrayId> {
        self.order.iter().rev().filter(|tray| self.place.get(tray) == Some(&place)).copied().collect()
    }

    fn suspects(&self) -> BTreeSet<TrayId> {
        let is = |seen: &Vec<Mist>| seen.contains(&Mist::Stands) || seen.last() == Some(&Mist::Untested);
        self.place.keys().filter(|t| self.fuzz.get(t).is_some_and(is)).copied().collect()
    }
}

/// A room of two shelves by two, the first place holding two, and the two isolation places.
fn small() -> (Book, SeedLotId, Vec<PlaceId>) {
    let mut book = Book::empty();
    book.act(&Action::SetUp(Box::new(NewRoom {
        name: "North Bench".into(),
        code: "NB".into(),
        initials: "AK".into(),
        units: Units::Metric,
        racks: lay_out(&parse_racks("1x2x2").unwrap()),
        format: NewFormat::nominal(),
        crops: vec!["RAD".into()],
    })));
    let lot = book.seed("RAD", 100);
    let places: Vec<PlaceId> = book.board().places().map(|p| p.id).collect();
    let zone = book.board().place(places[0]).unwrap().zone;
    book.act(&Action::EditPlaces { places: vec![places[0]], zone, retired: false, rev: 0, stack: Some(2) });
    (book, lot, places)
}

fn decided(tray: TrayId, what: Choice) -> Action {
    Action::DecideSuspect { walk: None, tray, what, by: AK, reason: "hairs after all".into() }
}

fn already(action: Action) -> Action {
    Action::Already { action: Box::new(action), reason: "in a hurry".into() }
}

fn action(step: &Step, book: &Book, lot: SeedLotId, places: &[PlaceId]) -> Option<Action> {
    let board = book.board();
    let tray = |n: usize| board.trays.get(n % board.trays.len().max(1)).map(|t| t.id);
    Some(match step {
        Step::Sow(n, mg) => {
            let mut new = book.sowing("RAD", lot, *n);
            new.parts[0].seed = vec![(lot, *mg)];
            Action::Sow(Box::new(new))
        }
        Step::Look(n, None) => roots(tray(*n)?, Roots::Plenty),
        Step::Look(n, mist) => Action::Look(Box::new(Look { fuzz: *mist, ..Look::of(tray(*n)?) })),
        Step::Move(n, place) => Action::Move { walk: None, tray: tray(*n)?, to: Some(places[*place]), stage: None },
        Step::Light(n) => Action::Move { walk: None, tray: tray(*n)?, to: None, stage: Some(Stage::Lit) },
        Step::Check(n) => {
            let signs = Signs::of(&[Sign::Vanishes, Sign::RoundRoots, Sign::OnlyRoot]);
            Action::Look(Box::new(Look { signs, ..Look::of(tray(*n)?) }))
        }
        Step::Clear(n) => decided(tray(*n)?, Choice::Clear),
        Step::Apart(n, place) => decided(tray(*n)?, Choice::Isolate { to: places[*place] }),
        Step::Cut(n) => Action::Cut { trays: vec![tray(*n)?] },
        Step::Throw(n) => {
            let (reason, gear) = (LossReason::Rot, Gear::Binned);
            Action::Throw { walk: None, tray: tray(*n)?, reason, gear, cleanup: None, note: None }
        }
        Step::Count(mg) => Action::CountSeed { lot, counted_mg: *mg },
        Step::Poured(n, mg) => {
            let mut new = book.sowing("RAD", lot, *n);
            new.parts[0].seed = vec![(lot, *mg)];
            already(Action::Sow(Box::new(new)))
        }
        Step::WasCut(n) => already(Action::Cut { trays: vec![tray(*n)?] }),
        Step::Decide(n, what) => {
            let breach = board.breaches.get(n % board.breaches.len().max(1))?.id;
            Action::Decide { breach, what: *what, by: AK, reason: "looked at".into() }
        }
        Step::Fix(n, mg, was) => {
            let card = board.trays.get(n % board.trays.len().max(1))?;
            let entry = book.store.history(Of::Sowing(card.sowing), None, 99).unwrap().pop()?.id;
            let (sowing, crop, day) = (card.sowing, card.crop, card.sown);
            let after = book.store.entry(entry).unwrap().after;
            let correction = Correction::Sowing { sowing, crop, day, seed: vec![(lot, *mg)], after };
            let fix = Action::Correct { entry, correction, reason: "the scale was misread".into(), second: None };
            if *was { already(fix) } else { fix }
        }
        Step::Hands(n, minutes, hers) => {
            let lines = book.store.history(Of::Everything, None, 40).unwrap();
            let entry = book.store.entry(lines[n % lines.len()].id).unwrap();
            let at = minutes.map(|by| Instant(entry.at.0 + Duration::minutes(by)));
            let by = board.people[usize::from(*hers) % board.people.len()].id;
            let correction = Correction::Hands { at, by };
            Action::Correct { entry: entry.id, correction, reason: "the clock was wrong".into(), second: None }
        }
        Step::Right(n, place) => {
            let lines = book.store.history(Of::Everything, None, 40).unwrap();
            let entry = book.store.entry(lines[n % lines.len()].id).unwrap();
            let correction = match (entry.look, entry.placed.first()) {
                (Some(look), _) => Correction::Look(Box::new(Look { roots: Some(Roots::Full), skip: None, ..look })),
                (None, Some((tray, _))) => Correction::Place { tray: *tray, place: places[*place] },
                _ => return None,
            };
            Action::Correct { entry: entry.id, correction, reason: "another tray was meant".into(), second: None }
        }
        Step::Sight(n, place) => {
            let missing = board.missing.iter().map(|missing| missing.tray.id);
            let all: Vec<TrayId> = board.trays.iter().map(|t| t.id).chain(missing).collect();
            let tray = *all.get(n % all.len().max(1))?;
            Action::Sight { walk: None, trays: vec![(tray, place.map(|n| places[n]))] }
        }
        Step::Turn => {
            let stack: Vec<TrayId> = board.trays_at(places[0]).map(|t| t.id).collect();
            Action::Restack { place: places[0], trays: stack.into_iter().rev().collect() }
        }
        Step::Undo => Action::Undo,
        Step::NextDay => return None,
    })
}

/// What the action makes true, told from the action alone.
fn expect(truth: &mut Truth, action: &Action, made: &[TrayId], noted: Option<BreachId>) {
    match action {
        Action::Already { action, .. } => {
            expect(truth, action, made, None);
            if matches!(**action, Action::Sow(_)) && truth.seed_mg < 0 {
                truth.held.insert(noted.unwrap(), made.iter().copied().collect());
            }
        }
        Action::Decide { breach, what: Verdict::Accepted, .. } => {
            truth.held.remove(breach);
        }
        Action::Sow(new) => {
            truth.seed_mg -= new.parts.iter().flat_map(|p| &p.seed).map(|(_, mg)| mg).sum::<i64>();
            made.iter().zip(&new.places).for_each(|(tray, place)| truth.put(*tray, Some(*place)));
        }
        Action::Look(look) => {
            let checked = (!look.signs.is_empty()).then_some(Mist::Down);
            if let Some(mist) = look.fuzz.or(checked) {
                truth.fuzz.entry(look.trays[0]).or_default().push(mist);
            }
        }
        Action::DecideSuspect { tray, what: Choice::Clear, .. } => {
            truth.fuzz.remove(tray);
        }
        Action::DecideSuspect { tray, what: Choice::Isolate { to }, .. } => truth.put(*tray, Some(*to)),
        // where it stands already it stays as it lies
        Action::Move { tray, to: Some(to), .. } if truth.place.get(tray) != Some(to) => truth.put(*tray, Some(*to)),
        Action::Sight { trays, .. } => trays.iter().for_each(|(tray, place)| truth.put(*tray, *place)),
        Action::Restack { place, trays } => trays.iter().rev().for_each(|tray| truth.put(*tray, Some(*place))),
        Action::Cut { trays } => truth.place.retain(|tray, _| !trays.contains(tray)),
        Action::Throw { tray, .. } => truth.place.retain(|stands, _| stands != tray),
        Action::CountSeed { counted_mg, .. } => truth.seed_mg = *counted_mg,
        _ => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn one_person_at_work(steps in proptest::collection::vec(step(), 40)) {
        let (mut book, lot, places) = small();
        let conn = raw(&book.path);
        // one person's undo goes back exactly the way it came: a stack of what was true before each entry
        let mut truth = Truth { seed_mg: 100_000, ..Truth::default() };
        let mut before: Vec<Truth> = Vec::new();
        for step in &steps {
            book.later(Duration::minutes(7));
            let Some(action) = action(step, &book, lot, &places) else {
                book.later(Duration::days(1));
                continue;
            };
            if action == Action::Undo && before.is_empty() {
                continue; // the seed itself and the room stay
            }
            match book.store.act(&action, AK, book.now) {
                Ok(_) if action == Action::Undo => truth = before.pop().unwrap(),
                Ok(done) => {
                    before.push(truth.clone());
                    let open = book.board().breaches;
                    let noted = open.iter().find(|b| b.entry == done.entry && b.rule == "seed_below_zero");
                    expect(&mut truth, &action, &done.trays, noted.map(|b| b.id));
                }
                Err(StoreError::Rule(refusal)) => prop_assert!(action != Action::Undo || ["undo_older", "undo_finding"].contains(&refusal.rule), "{refusal}"),
                Err(other) => panic!("{action:?}: {other:?}"),
            }
            let board = book.board();
            let stands: BTreeMap<TrayId, PlaceId> = board.trays.iter().map(|t| (t.id, t.place.id)).collect();
            prop_assert_eq!(&stands, &truth.place);
            let suspects: BTreeSet<TrayId> = board.trays.iter().filter(|t| t.suspect).map(|t| t.id).collect();
            prop_assert_eq!(suspects, truth.suspects());
            prop_assert_eq!(book.store.seed_lots().unwrap()[0].left_mg, truth.seed_mg);
            let why = "SELECT count(*) FROM breach WHERE rule = 'seed_below_zero' AND void_by IS NULL AND reason <> ''";
            prop_assert!(truth.seed_mg >= 0 || number(&conn, why) > 0);
            let held: BTreeSet<TrayId> = board.trays.iter().filter(|t| t.held).map(|t| t.id).collect();
            prop_assert_eq!(held, truth.held.values().flatten().filter(|t| stands.contains_key(t)).copied().collect());
            for (n, place) in places.iter().enumerate() {
                let stack: Vec<TrayId> = board.trays_at(*place).map(|t| t.id).collect();
                prop_assert!(stack.len() <= if n == 0 { 2 } else { 1 }, "one tray per place, two where it holds two");
                prop_assert_eq!(stack, truth.stack(*place));
            }
        }
        assert_sound(&mut book);
        prop_assert_eq!(number(&conn, "SELECT count(*) FROM entry WHERE hash = zeroblob(32)"), 0);
    }

    #[test]
    fn two_people_in_each_others_way(steps in proptest::collection::vec((any::<bool>(), step_or_fix()), 40)) {
        let (mut book, lot, places) = small();
        let rm = person(&mut book, "RM", true);
        let conn = raw(&book.path);
        for (hers, step) in &steps {
            book.later(Duration::minutes(7));
            let who = if *hers { rm } else { AK };
            let before = (said(&conn), stood(&book));
            if let Some(action) = action(step, &book, lot, &places) {
                tried(&mut book, &action, who);
            }
            if matches!(step, Step::Hands(..) | Step::Right(..)) {
                // as much is said as before, and fuzz that stood goes on counting
                prop_assert_eq!(&said(&conn), &before.0);
                let here: BTreeSet<TrayId> = book.board().trays.iter().map(|t| t.id).collect();
                let stands = stood(&book);
                prop_assert!(before.1.intersection(&here).all(|tray| stands.contains(tray)), "{:?} {stands:?}", before.1);
            }
            // a correction taken back says as much again
            let taken = "SELECT count(*) FROM entry u JOIN entry c ON c.id = u.undoes AND c.kind = 'corrected'
                WHERE u.id = (SELECT max(id) FROM entry)";
            if matches!(step, Step::Undo) && number(&conn, taken) > 0 {
                prop_assert_eq!(&said(&conn), &before.0);
            }
            // a tray that has left has left once
            let doubled = "SELECT count(*) FROM (SELECT 1 FROM stage WHERE void_by IS NULL
                AND stage IN ('cut', 'thrown') GROUP BY tray_id HAVING count(*) > 1)";
            prop_assert_eq!(number(&conn, doubled), 0);
            let why = "SELECT count(*) FROM breach WHERE rule = 'seed_below_zero' AND void_by IS NULL AND reason <> ''";
            let seed = number(&conn, "SELECT coalesce(sum(mg), 0) FROM seed_move WHERE void_by IS NULL");
            prop_assert!(seed >= 0 || number(&conn, why) > 0, "{seed}");
            let doubled = "SELECT count(*) FROM (SELECT 1 FROM tray_now n JOIN place p ON p.id = n.place_id
                GROUP BY p.id HAVING count(*) > p.stack)";
            prop_assert_eq!(number(&conn, doubled), 0);
            // nothing live stands on something taken back
            for (child, column, parent) in [("seed_move", "seed_lot_id", "seed_lot"), ("seed_move", "sowing_id", "sowing")] {
                let text = format!(
                    "SELECT count(*) FROM {child} c JOIN {parent} p ON p.id = c.{column}
                     WHERE c.void_by IS NULL AND p.void_by IS NOT NULL");
                prop_assert_eq!(number(&conn, &text), 0);
            }
            for child in ["look", "placement", "stage", "loss"] {
                let text = format!(
                    "SELECT count(*) FROM {child} c JOIN tray t ON t.id = c.tray_id JOIN sowing s ON s.id = t.sowing_id
                     WHERE c.void_by IS NULL AND s.void_by IS NOT NULL");
                prop_assert_eq!(number(&conn, &text), 0);
            }
        }
        assert_sound(&mut book);
    }
}

/// Live rows that say something of trays, by table.
fn said(conn: &Connection) -> Vec<i64> {
    let count = |table: &str| number(conn, &format!("SELECT count(*) FROM {table} WHERE void_by IS NULL"));
    ["look", "placement", "stage", "loss", "water"].map(count).to_vec()
}

/// Trays in the room on which fuzz was seen to stand.
fn stood(book: &Book) -> BTreeSet<TrayId> {
    book.board().trays.iter().filter(|tray| tray.stood).map(|tray| tray.id).collect()
}

/// Done or refused by a rule; anything else is a fault.
fn tried(book: &mut Book, action: &Action, who: PersonId) {
    match book.store.act(action, who, book.now) {
        Ok(_) | Err(StoreError::Rule(_)) => {}
        Err(other) => panic!("{action:?}: {other:?}"),
    }
}
