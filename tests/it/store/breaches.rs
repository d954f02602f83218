//! What has happened is not refused: it is a breach, and it holds what follows until someone has decided.

use std::collections::BTreeSet;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::{Breach, Verdict, overridable, said};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::hold::NewHold;
use rackwalk::domain::id::{MixId, PersonId, SeedLotId, TrayId};
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::sowing::Part;
use rackwalk::domain::trace::Start;
use rackwalk::domain::tray::{Sign, Stage};
use rackwalk::domain::treatment::{Listed, NewTreatment};
use rusqlite::Connection;

use super::mixes;
use super::refusals::{World, glance, rules_in_source, sow, stage, stand, to, world};
use super::{act_as, assert_sound, crop, dump, number, person, raw, refused_as};
use crate::book::{AK, Book};

const WHY: &str = "the van was waiting";

fn already(action: Action) -> Action {
    Action::Already { action: Box::new(action), reason: WHY.into() }
}

fn cut(trays: &[TrayId]) -> Action {
    Action::Cut { trays: trays.to_vec() }
}

fn decide(breach: &Breach, what: Verdict) -> Action {
    Action::Decide { breach: breach.id, what, by: AK, reason: "seen and smelt".into() }
}

fn held(book: &Book) -> BTreeSet<TrayId> {
    book.board().trays.iter().filter(|tray| tray.held).map(|tray| tray.id).collect()
}

/// A breach's own seed: what was sown of which lot.
fn of(lot: SeedLotId, mg: i64) -> Vec<Part> {
    vec![Part { trays: 1, seed: vec![(lot, mg)] }]
}

/// Makes the radish tray held that stands under light.
fn hold_lit(w: &mut World) -> TrayId {
    let soaked = sow(w, |new| new.soak_h = 60);
    let tray = w.book.act(&already(soaked)).trays[0];
    w.book.act(&stage(tray, Stage::Lit));
    tray
}

/// Every rule that can be broken and noted, with an act that breaks it and no other rule.
fn cases(w: &mut World) -> Vec<(&'static str, Action)> {
    let lit = hold_lit(w);
    let mustard = w.book.seed("MUS", 100);
    let [covered, _, suspect, _] = w.trays[..] else { panic!("four trays") };
    let old = mixes::expired(&mut w.book);
    let bottle = MixId(w.book.act(&mixes::one_more(None)).made.unwrap());
    let spare = w.book.seed("RAD", 100);
    let on_mats = |w: &World| sow(w, |new| (new.medium_lot, new.parts) = (Some("M-9".into()), of(w.seed, 5_000)));
    let mats = on_mats(w);
    w.book.act(&mats);
    let materials = w.book.board().materials;
    let mats = materials.iter().flat_map(|material| &material.lots).find(|lot| lot.code == "M-9").unwrap().id;
    for what in [Start::SeedLot(spare), Start::Mix(bottle), Start::Material(mats)] {
        w.book.act(&Action::Hold(Box::new(NewHold::of(what, None, "a letter of the supplier".into()))));
    }
    let spray =
        |mix, listed| Action::Treat(Box::new(NewTreatment { listed, ..mixes::spray(&w.book, &[covered], mix) }));
    vec![
        ("treat_not_listed", spray(None, Listed::No)),
        ("mix_expired", spray(Some(old), Listed::Yes)),
        ("mix_held", spray(Some(bottle), Listed::Yes)),
        ("material_held", on_mats(w)),
        ("seed_held", sow(w, |new| new.parts = of(spare, 27_000))),
        ("cut_held", cut(&[lit])),
        ("cut_suspect", cut(&[suspect])),
        ("cut_covered", cut(&[covered])),
        ("cut_waiting", cut(&[w.sprayed])),
        ("ready_covered", stage(covered, Stage::Ready)),
        ("seed_treated", sow(w, |new| new.parts = of(w.treated, 5))),
        ("seed_barred", sow(w, |new| new.day -= Duration::days(1))),
        ("seed_below_zero", sow(w, |new| new.parts = of(w.seed, 500_000))),
        (
            "soak_never",
            sow(w, |new| (new.crop, new.soak_h, new.parts) = (crop(&w.book, "MUS").id, 4, of(mustard, 5_000))),
        ),
        ("soak_hours", sow(w, |new| new.soak_h = 49)),
        ("place_retired", to(w.peas, w.retired)),
        ("place_retired", sow(w, |new| new.places = vec![w.retired])),
        ("place_retired", stand(w, |new| new.places = vec![w.retired])),
    ]
}

#[test]
fn every_rule_about_an_act_can_be_a_breach_that_holds_its_trays() {
    let mut w = world();
    let mut met: BTreeSet<String> = BTreeSet::new();
    let cases = cases(&mut w);
    let (before, standing) = (w.book.board().breaches, held(&w.book));
    for (rule, act) in cases {
        assert_eq!(w.book.refused(&act).rule, rule);
        let done = w.book.act(&already(act.clone()));
        assert!(done.sentence.contains(said(rule)), "{}", done.sentence);
        let open = w.book.board().breaches;
        let [new] = &open.iter().filter(|breach| !before.contains(breach)).collect::<Vec<_>>()[..] else {
            panic!("one breach of {rule}: {open:?}")
        };
        assert_eq!((new.rule.as_str(), new.reason.as_str(), new.who.as_str()), (rule, WHY, "AK"));
        assert_eq!((new.entry, &new.trays), (done.entry, &done.trays), "{rule}");
        let there: BTreeSet<TrayId> = w.book.board().trays.iter().map(|tray| tray.id).collect();
        let expected: BTreeSet<TrayId> = done.trays.iter().filter(|tray| there.contains(tray)).copied().collect();
        let more: BTreeSet<TrayId> = held(&w.book).difference(&standing).copied().collect();
        assert_eq!(more, expected, "{rule}");
        let story = w.book.store.history(Of::Tray(done.trays[0]), None, 1).unwrap().remove(0).text;
        assert!(story.ends_with(&format!("; a breach, {}. Reason: {WHY}", said(rule))), "{story}");
        assert_sound(&mut w.book);
        // taken back, it holds nothing, and the rule stands as it stood
        w.book.act(&Action::Undo);
        assert_eq!((w.book.board().breaches, held(&w.book)), (before.clone(), standing.clone()), "{rule}");
        assert_eq!(w.book.refused(&act).rule, rule);
        assert_sound(&mut w.book);
        met.insert(rule.to_string());
    }
    // met in harvests.rs
    met.extend(["cut_unchecked", "cut_unwashed"].map(String::from));
    // met in sold.rs
    met.insert("back_warm".into());
    // met in not_used.rs
    met.insert("tool_held".into());
    let all: BTreeSet<String> = rules_in_source().into_iter().filter(|rule| overridable(rule)).collect();
    assert_eq!(met, all);
}

#[test]
fn a_breach_names_the_entry_its_rule_speaks_of() {
    let mut w = world();
    let about = |w: &mut World, act: Action| {
        w.book.act(&already(act));
        let breach = w.book.board().breaches.remove(0);
        w.book.act(&Action::Undo);
        let about = breach.about.unwrap();
        let lines = w.book.store.history(Of::Everything, None, 99).unwrap();
        lines.into_iter().find(|line| line.id == about).unwrap().text
    };
    let (suspect, sprayed, treated) = (w.trays[2], w.sprayed, w.treated);
    assert!(about(&mut w, cut(&[suspect])).contains("fuzz, not misted yet"));
    assert!(about(&mut w, cut(&[sprayed])).contains("1 tray of radish sown"));
    let act = sow(&w, |new| new.parts = of(treated, 5));
    assert!(about(&mut w, act).contains("500 g of radish seed received"));
}

#[test]
fn what_cannot_have_happened_is_refused_all_the_same() {
    let mut w = world();
    let conn = raw(&w.book.path);
    let before = dump(&conn);
    let [covered, lit, _, gone] = w.trays[..] else { panic!("four trays") };
    let at = w.book.board().tray(covered).unwrap().place.id;
    let cases = [
        ("tray_gone", cut(&[gone])),
        ("cut_nothing", cut(&[])),
        ("tray_twice", cut(&[lit, lit])),
        ("place_taken", to(lit, at)),
        ("stage_leaves", stage(lit, Stage::Cut)),
        ("sowing", sow(&w, |new| new.day += Duration::days(1))),
        ("soak_range", sow(&w, |new| new.soak_h = 169)),
        ("seed_lot_unknown", sow(&w, |new| new.parts = of(SeedLotId(99), 5))),
        ("already_what", Action::Undo),
        ("already_what", Action::Look(Box::new(glance(&[lit, covered])))),
        ("already_what", already(cut(&[lit]))),
    ];
    for (rule, act) in cases {
        assert_eq!(w.book.refused(&already(act)).rule, rule);
        assert_eq!(dump(&conn), before, "{rule}");
    }
    let mute = Action::Already { action: Box::new(cut(&[covered])), reason: "  ".into() };
    assert_eq!(w.book.refused(&mute).rule, "breach_reason");
    assert_eq!(dump(&conn), before);
}

#[test]
fn several_rules_make_several_breaches_and_none_a_plain_entry() {
    let mut w = world();
    let [covered, lit, suspect, _] = w.trays[..] else { panic!("four trays") };
    w.book.act(&already(cut(&[suspect, covered, w.sprayed])));
    let open = w.book.board().breaches;
    let rules: Vec<&str> = open.iter().map(|breach| breach.rule.as_str()).collect();
    assert_eq!(rules, ["cut_suspect", "cut_waiting", "cut_covered"], "the gravest first");
    let trays: Vec<&[TrayId]> = open.iter().map(|breach| breach.trays.as_slice()).collect();
    assert_eq!(trays, [&[suspect][..], &[w.sprayed], &[covered]]);
    let done = w.book.act(&already(cut(&[lit])));
    assert!(done.sentence.ends_with("No rule was broken: it is an entry like any other."), "{}", done.sentence);
    assert_eq!(w.book.board().breaches, open);
    let line = w.book.store.history(Of::Tray(lit), None, 1).unwrap().remove(0);
    assert_eq!((line.text.ends_with("cut"), line.note.as_deref()), (true, Some(WHY)));
    assert_sound(&mut w.book);
}

#[test]
fn only_the_trays_with_the_seed_in_question_are_held() {
    let mut w = world();
    let two = sow(&w, |new| {
        new.places = w.book.board().free_places().iter().take(2).map(|place| place.id).collect();
        new.parts = vec![Part { trays: 1, seed: vec![(w.seed, 5)] }, Part { trays: 1, seed: vec![(w.treated, 5)] }];
    });
    let trays = w.book.act(&already(two)).trays;
    assert_eq!(held(&w.book), BTreeSet::from([trays[1]]));
    assert_eq!(w.book.board().count(Sign::Held, w.book.now), 1);
}

#[test]
fn a_held_tray_is_neither_cut_nor_glanced_at() {
    let mut w = world();
    let lit = hold_lit(&mut w);
    assert_eq!(w.book.refused(&cut(&[lit])).rule, "cut_held");
    assert_eq!(w.book.refused(&Action::Look(Box::new(glance(&[lit])))).rule, "glance_own_look");
}

#[test]
fn accepted_lifts_the_hold_and_the_other_decisions_do_not() {
    for (what, lifted, open) in [(Verdict::Accepted, true, 0), (Verdict::Thrown, false, 0), (Verdict::Watch, false, 1)]
    {
        let mut w = world();
        let lit = hold_lit(&mut w);
        let breach = w.book.board().breaches.remove(0);
        let done = w.book.act(&decide(&breach, what));
        assert!(done.sentence.contains(what.shown()) && done.sentence.contains(what.follows()), "{}", done.sentence);
        assert_eq!((held(&w.book).is_empty(), w.book.board().breaches.len()), (lifted, open), "{what:?}");
        assert_eq!(w.book.store.act(&cut(&[lit]), AK, w.book.now).is_ok(), lifted);
        if lifted {
            w.book.act(&Action::Undo);
        }
        let line = w.book.store.history(Of::Tray(lit), None, 1).unwrap().remove(0);
        let said = if lifted { w.book.store.history(Of::Tray(lit), None, 3).unwrap().remove(2) } else { line };
        assert!(said.text.starts_with("AK decided about 1 tray of entry"), "{}", said.text);
        assert_eq!(said.note.as_deref(), Some("seen and smelt"));
        assert_sound(&mut w.book);
        // what is decided stays so, but for what was put off
        match what {
            Verdict::Watch => {
                assert!(w.book.board().breaches[0].watched);
                w.book.act(&decide(&breach, Verdict::Accepted));
                assert!(held(&w.book).is_empty());
            }
            _ => assert_eq!(w.book.refused(&decide(&breach, Verdict::Accepted)).rule, "breach_decided"),
        }
        // a decision taken back holds again
        w.book.act(&Action::Undo);
        assert_eq!(held(&w.book), BTreeSet::from([lit]));
        assert_eq!(w.book.board().breaches.len(), 1);
        assert_sound(&mut w.book);
    }
}

#[test]
fn only_who_may_decide_decides_and_only_about_a_breach_that_stands() {
    let mut w = world();
    hold_lit(&mut w);
    let breach = w.book.board().breaches.remove(0);
    let by = |by: PersonId| Action::Decide { breach: breach.id, what: Verdict::Accepted, by, reason: "fine".into() };
    // whoever types it, the one who decides must be allowed to
    let no = refused_as(&mut w.book, w.idle, &by(w.idle));
    assert_eq!(
        (no.rule, no.sentence.as_str()),
        ("may_not_decide", "CD may not decide about a breach: ask someone who may.")
    );
    let (idle, away) = (w.idle, w.away);
    assert_eq!(w.book.refused(&by(idle)).rule, "may_not_decide");
    assert_eq!(w.book.refused(&by(away)).rule, "may_not_decide", "they left the room");
    assert_eq!(w.book.refused(&by(PersonId(99))).rule, "person_unknown");
    let mute = Action::Decide { breach: breach.id, what: Verdict::Accepted, by: AK, reason: " ".into() };
    assert_eq!(w.book.refused(&mute).rule, "decision_reason");
    act_as(&mut w.book, idle, &by(AK));
    assert!(held(&w.book).is_empty());
    assert_sound(&mut w.book);
}

#[test]
fn a_breach_with_a_decision_is_not_taken_back_before_the_decision() {
    let mut w = world();
    let rm = person(&mut w.book, "LM", true);
    let suspect = w.trays[2];
    w.book.act(&already(cut(&[suspect])));
    let breach = w.book.board().breaches.remove(0);
    let thrown = Action::Decide { breach: breach.id, what: Verdict::Thrown, by: rm, reason: "mould".into() };
    act_as(&mut w.book, rm, &thrown);
    assert_eq!(w.book.refused(&Action::Undo).rule, "undo_in_use");
    act_as(&mut w.book, rm, &Action::Undo);
    w.book.act(&Action::Undo);
    assert!(w.book.board().breaches.is_empty() && w.book.board().tray(suspect).unwrap().suspect);
    assert_eq!(w.book.refused(&decide(&breach, Verdict::Accepted)).rule, "breach_unknown");
    assert_sound(&mut w.book);
}

#[test]
fn seed_below_zero_stays_explained_whatever_is_counted_and_taken_back() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 100);
    let left = |book: &Book| book.store.seed_lots().unwrap()[0].left_mg;
    let mut new = book.sowing("RAD", lot, 1);
    new.parts = of(lot, 120_000);
    let tray = book.act(&already(Action::Sow(Box::new(new)))).trays[0];
    assert_eq!((left(&book), book.board().tray(tray).unwrap().held), (-20_000, true));
    // an ordinary sowing finds nothing there
    let mut new = book.sowing("RAD", lot, 1);
    new.parts = of(lot, 1_000);
    assert_eq!(book.refused(&Action::Sow(Box::new(new))).rule, "seed_below_zero");
    book.act(&Action::CountSeed { lot, counted_mg: 5_000 });
    assert_eq!(left(&book), 5_000);
    book.act(&Action::Undo);
    assert_eq!(left(&book), -20_000);
    assert_sound(&mut book);
    book.act(&Action::Undo);
    assert_eq!((left(&book), book.board().breaches.len()), (100_000, 0));
    assert_sound(&mut book);
}

#[test]
fn a_batch_put_right_to_seed_that_is_never_sown_is_a_breach() {
    let mut w = world();
    let trays = w.trays.clone();
    let card = w.book.board().tray(trays[1]).unwrap().clone();
    let entry = w.book.store.history(Of::Sowing(card.sowing), None, 99).unwrap().pop().unwrap().id;
    let right = |seed: Vec<(SeedLotId, i64)>| {
        let correction = Correction::Sowing { sowing: card.sowing, crop: card.crop, day: card.sown, seed, after: None };
        Action::Correct { entry, correction, reason: "the wrong jar was read".into(), second: None }
    };
    let left = |w: &World| w.book.store.seed_lots().unwrap().iter().find(|lot| lot.id == w.seed).unwrap().left_mg;
    let (had, standing) = (left(&w), held(&w.book));
    for (rule, act) in
        [("seed_treated", right(vec![(w.treated, 100_000)])), ("seed_below_zero", right(vec![(w.seed, 400_000)]))]
    {
        assert_eq!(w.book.refused(&act).rule, rule);
        w.book.act(&already(act));
        let breach = w.book.board().breaches.remove(0);
        assert_eq!((breach.rule.as_str(), &breach.trays), (rule, &trays), "cut ones too");
        assert_eq!(held(&w.book).len(), standing.len() + 3);
        assert_sound(&mut w.book);
        w.book.act(&Action::Undo);
        assert_eq!((left(&w), held(&w.book)), (had, standing.clone()));
        assert_sound(&mut w.book);
    }
    // taken back, a correction brings back even what only a breach explains
    w.book.act(&already(sow(&w, |new| new.parts = of(w.seed, 300_000))));
    let low = left(&w);
    let card = w.book.board().trays.iter().max_by_key(|tray| tray.id).unwrap().clone();
    let entry = w.book.store.history(Of::Sowing(card.sowing), None, 99).unwrap().pop().unwrap().id;
    let correction = Correction::Sowing {
        sowing: card.sowing,
        crop: card.crop,
        day: card.sown,
        seed: vec![(w.seed, 20_000)],
        after: None,
    };
    w.book.act(&Action::Correct { entry, correction, reason: "the scale was misread".into(), second: None });
    assert_eq!(left(&w), low + 280_000);
    w.book.act(&Action::Undo);
    assert_eq!(left(&w), low);
    assert_sound(&mut w.book);
}

#[test]
fn the_database_keeps_the_rules_too() {
    let mut w = world();
    w.book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(w.trays[1]) })));
    w.book.act(&already(cut(&[w.trays[1]])));
    let conn = raw(&w.book.path);
    let refused = |sql: &str| match conn.execute_batch(sql) {
        Err(rusqlite::Error::SqliteFailure(_, Some(message))) => message,
        other => panic!("{sql}: {other:?}"),
    };
    let newest = number(&conn, "SELECT max(id) FROM entry");
    let seed = |lot: SeedLotId, mg: i64| {
        let (lot, entry) = (lot.0, newest);
        format!(
            "INSERT INTO seed_move (entry_id, seed_lot_id, sowing_id, mg, why) VALUES ({entry}, {lot}, 1, {mg}, 'sown')"
        )
    };
    let breach = |conn: &Connection, rule: &str| {
        let text = format!("INSERT INTO breach (entry_id, rule, reason) VALUES ({newest}, '{rule}', 'x')");
        conn.execute_batch(&text).unwrap();
    };
    // a breach of another rule in the same entry opens nothing
    assert_eq!(refused(&seed(w.treated, -5)), "seed_treated");
    assert_eq!(refused(&seed(w.seed, -900_000)), "seed_below_zero");
    breach(&conn, "seed_treated");
    conn.execute_batch(&seed(w.treated, -5)).unwrap();
    assert_eq!(refused(&seed(w.seed, -900_000)), "seed_below_zero");
    breach(&conn, "seed_below_zero");
    conn.execute_batch(&seed(w.seed, -900_000)).unwrap();
    let decision = |who: PersonId, what: &str| {
        let who = who.0;
        format!(
            "INSERT INTO breach_decision (entry_id, breach_id, what, person_id) VALUES ({newest}, 1, '{what}', {who})"
        )
    };
    assert_eq!(refused(&decision(w.idle, "accepted")), "may_not_decide");
    assert_eq!(refused(&decision(w.away, "accepted")), "may_not_decide");
    assert_eq!(refused(&decision(AK, "forgotten")), "CHECK constraint failed: breach_decision_what");
    conn.execute_batch(&decision(AK, "watch")).unwrap();
}
