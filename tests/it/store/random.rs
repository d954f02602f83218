//! Days of work at random: whatever is done and taken back, the book stays sound.
//!
//! A model of its own keeps in plain maps what should stand where; it shares no code with the store.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Duration;
use proptest::prelude::*;
use rackwalk::domain::action::Action;
use rackwalk::domain::id::{PersonId, PlaceId, SeedLotId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::room::{Units, parse_racks};
use rackwalk::domain::setup::{NewFormat, NewRoom, lay_out};
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::store::error::StoreError;

use super::{assert_sound, number, person, raw};
use crate::book::{AK, Book, roots};

/// One step; numbers choose among what is there.
#[derive(Debug, Clone)]
enum Step {
    Sow(usize, i64),
    Look(usize, Option<Mist>),
    Move(usize, usize),
    Light(usize),
    Cut(usize),
    Throw(usize),
    Count(i64),
    Undo,
    NextDay,
}

fn step() -> impl Strategy<Value = Step> {
    let mist = prop_oneof![Just(None), Just(Some(Mist::Down)), Just(Some(Mist::Stands)), Just(Some(Mist::Untested))];
    prop_oneof![
        2 => (1usize..4, 1i64..60_000).prop_map(|(n, mg)| Step::Sow(n, mg)),
        4 => (0usize..9, mist).prop_map(|(tray, mist)| Step::Look(tray, mist)),
        3 => (0usize..9, 0usize..6).prop_map(|(tray, place)| Step::Move(tray, place)),
        2 => (0usize..9).prop_map(Step::Light),
        1 => (0usize..9).prop_map(Step::Cut),
        1 => (0usize..9).prop_map(Step::Throw),
        1 => (0i64..200_000).prop_map(Step::Count),
        5 => Just(Step::Undo),
        1 => Just(Step::NextDay),
    ]
}

/// What should be true now.
#[derive(Debug, Clone, Default, PartialEq)]
struct Truth {
    place: BTreeMap<TrayId, PlaceId>,
    /// Fuzz seen, in order.
    fuzz: BTreeMap<TrayId, Vec<Mist>>,
    seed_mg: i64,
}

impl Truth {
    fn suspects(&self) -> BTreeSet<TrayId> {
        let is = |seen: &Vec<Mist>| seen.contains(&Mist::Stands) || seen.last() == Some(&Mist::Untested);
        self.place.keys().filter(|t| self.fuzz.get(t).is_some_and(is)).copied().collect()
    }
}

/// A room of two shelves by two and the two isolation places.
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
    let places = book.board().places().map(|p| p.id).collect();
    (book, lot, places)
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
        Step::Cut(n) => Action::Cut { trays: vec![tray(*n)?] },
        Step::Throw(n) => {
            let (reason, gear) = (LossReason::Rot, Gear::Binned);
            Action::Throw { walk: None, tray: tray(*n)?, reason, gear, note: None }
        }
        Step::Count(mg) => Action::CountSeed { lot, counted_mg: *mg },
        Step::Undo => Action::Undo,
        Step::NextDay => return None,
    })
}

/// What the action makes true, told from the action alone.
fn expect(truth: &mut Truth, action: &Action, made: &[TrayId]) {
    match action {
        Action::Sow(new) => {
            truth.seed_mg -= new.parts.iter().flat_map(|p| &p.seed).map(|(_, mg)| mg).sum::<i64>();
            truth.place.extend(made.iter().copied().zip(new.places.iter().copied()));
        }
        Action::Look(look) => {
            if let Some(mist) = look.fuzz {
                truth.fuzz.entry(look.trays[0]).or_default().push(mist);
            }
        }
        Action::Move { tray, to: Some(to), .. } => {
            truth.place.insert(*tray, *to);
        }
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
                    expect(&mut truth, &action, &done.trays);
                }
                Err(StoreError::Rule(refusal)) => prop_assert!(action != Action::Undo || refusal.rule == "undo_older", "{refusal}"),
                Err(other) => panic!("{action:?}: {other:?}"),
            }
            let board = book.board();
            let stands: BTreeMap<TrayId, PlaceId> = board.trays.iter().map(|t| (t.id, t.place.id)).collect();
            prop_assert_eq!(&stands, &truth.place);
            let suspects: BTreeSet<TrayId> = board.trays.iter().filter(|t| t.suspect).map(|t| t.id).collect();
            prop_assert_eq!(suspects, truth.suspects());
            prop_assert_eq!(book.store.seed_lots().unwrap()[0].left_mg, truth.seed_mg);
            prop_assert!(truth.seed_mg >= 0);
            prop_assert_eq!(stands.values().collect::<BTreeSet<_>>().len(), stands.len(), "one tray per place");
        }
        assert_sound(&mut book);
        prop_assert_eq!(number(&conn, "SELECT count(*) FROM entry WHERE hash = zeroblob(32)"), 0);
    }

    #[test]
    fn two_people_in_each_others_way(steps in proptest::collection::vec((any::<bool>(), step()), 40)) {
        let (mut book, lot, places) = small();
        let rm = person(&mut book, "RM", true);
        let conn = raw(&book.path);
        for (hers, step) in &steps {
            book.later(Duration::minutes(7));
            let who = if *hers { rm } else { AK };
            if let Some(action) = action(step, &book, lot, &places) {
                tried(&mut book, &action, who);
            }
            prop_assert!(number(&conn, "SELECT coalesce(sum(mg), 0) FROM seed_move WHERE void_by IS NULL") >= 0);
            let doubled = "SELECT count(*) FROM (SELECT 1 FROM tray_now GROUP BY place_id HAVING count(*) > 1)";
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

/// Done or refused by a rule; anything else is a fault.
fn tried(book: &mut Book, action: &Action, who: PersonId) {
    match book.store.act(action, who, book.now) {
        Ok(_) | Err(StoreError::Rule(_)) => {}
        Err(other) => panic!("{action:?}: {other:?}"),
    }
}
