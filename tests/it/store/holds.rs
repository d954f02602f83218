//! Bad news and what it holds: a tray that may not be cut is not cut by any way, and what was cut before anyone knew is
//! held until someone has decided.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Verdict;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::Of;
use rackwalk::domain::hold::{Cause, NewHold};
use rackwalk::domain::id::{EntryId, HoldId, PersonId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::room::Zone;
use rackwalk::domain::sowing::{NewSowing, Wetting};
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::trace::Start;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::domain::treatment::NewTreatment;
use rusqlite::Connection;

use super::{act_as, assert_sound, mixes, person, raw, refused_as};
use crate::book::{AK, Book, roots};

fn lit(tray: TrayId) -> Action {
    Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) }
}

fn cut(trays: &[TrayId]) -> Action {
    Action::Cut { trays: trays.to_vec() }
}

fn fuzz(tray: TrayId, mist: Mist) -> Action {
    Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) }))
}

fn check(tray: TrayId, signs: &[Sign]) -> Action {
    Action::Look(Box::new(Look { signs: Signs::of(signs), ..Look::of(tray) }))
}

fn lose(tray: TrayId, reason: LossReason) -> Action {
    Action::LosePart { walk: None, tray, mats: 1, reason }
}

fn right(entry: EntryId, correction: Correction) -> Action {
    Action::Correct { entry, correction, reason: "read again".into(), second: None }
}

fn by_hand(tray: TrayId) -> Action {
    Action::Hold(Box::new(NewHold::of(Start::Tray(tray), None, "a glass broke above it".into())))
}

fn decide(hold: HoldId, what: Verdict) -> Action {
    Action::DecideHold { hold, what, by: AK, reason: "washed and seen".into() }
}

/// Three radish trays of four mats under light, eight days old, and one that was sprayed an hour ago.
fn eighth_day() -> (Book, Vec<TrayId>, TrayId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let four = NewSowing { mats: 4, ..book.sowing("RAD", lot, 3) };
    let trays = book.act(&Action::Sow(Box::new(four))).trays;
    for tray in &trays {
        book.act(&lit(*tray));
    }
    book.later(Duration::days(8));
    let mix = Wetting::Mix { name: "peroxide".into(), wait_h: 24 };
    let sprayed = NewSowing { wetting: mix, ..book.sowing("RAD", lot, 1) };
    let sprayed = book.act(&Action::Sow(Box::new(sprayed))).trays[0];
    book.act(&lit(sprayed));
    book.later(Duration::hours(1));
    (book, trays, sprayed)
}

/// What makes a tray one that is not cut, and the rule that says so.
fn barred() -> Vec<(&'static str, Vec<Action>)> {
    use Sign::*;
    let tray = TrayId(1);
    let mould = || check(tray, &[Stands, Web, Patches]);
    let two_spots = vec![check(tray, &[Vanishes, RoundRoots, OnlyRoot]), mould()];
    let throw =
        Action::Throw { walk: None, tray, reason: LossReason::Mould, gear: Gear::Binned, cleanup: None, note: None };
    vec![
        ("cut_suspect", vec![fuzz(tray, Mist::Untested)]),
        ("cut_suspect", vec![fuzz(tray, Mist::Stands)]),
        ("cut_suspect", vec![check(tray, &[White])]),
        ("cut_suspect", vec![check(tray, &[RoundRoots, OnlyRoot])]),
        ("cut_suspect", vec![mould()]),
        ("cut_suspect", vec![check(tray, &[BrownRoots, Falling])]),
        ("cut_suspect", vec![check(tray, &[Wider, Slime, Smell])]),
        ("cut_suspect", two_spots),
        ("cut_suspect", vec![lose(tray, LossReason::Mould)]),
        ("cut_suspect", vec![lose(tray, LossReason::Rot)]),
        // looked at again, moved, thrown and taken back, with another mat lost: it stays what it is
        ("cut_suspect", vec![mould(), roots(tray, Roots::Full)]),
        ("cut_suspect", vec![mould(), check(tray, &[Vanishes, RoundRoots, OnlyRoot])]),
        ("cut_suspect", vec![mould(), lose(tray, LossReason::Mould)]),
        ("cut_suspect", vec![mould(), throw, Action::Undo]),
        ("cut_held", vec![by_hand(tray)]),
        (
            "cut_held",
            vec![Action::Hold(Box::new(NewHold::of(
                Start::Sowing(rackwalk::domain::id::SowingId(1)),
                None,
                "x".into(),
            )))],
        ),
        ("cut_held", vec![by_hand(tray), decide(HoldId(1), Verdict::Watch)]),
        ("cut_held", vec![by_hand(tray), decide(HoldId(1), Verdict::Thrown)]),
    ]
}

#[test]
fn no_way_leads_to_the_cut_of_a_mouldy_suspect_held_or_waiting_tray() {
    for (rule, before) in barred() {
        let (mut book, trays, _) = eighth_day();
        for action in &before {
            book.act(action);
        }
        // by itself, in company, as a stage of a move, as ready
        for attempt in [&trays[..1], &[trays[1], trays[0]]] {
            assert_eq!(book.refused(&cut(attempt)).rule, rule, "{before:?}");
        }
        for stage in [Stage::Cut, Stage::LeftAlive] {
            let go = Action::Move { walk: None, tray: trays[0], to: None, stage: Some(stage) };
            assert_eq!(book.refused(&go).rule, "stage_leaves", "{before:?}");
        }
        let ready = Action::Move { walk: None, tray: trays[0], to: None, stage: Some(Stage::Ready) };
        assert_eq!(book.refused(&ready).rule, "ready_barred", "{before:?}");
        // cut at an earlier hour on paper, it is the same
        let seen = Seen { at: Some(book.now.instant()), paper: true, ..Seen::default() };
        assert!(book.store.act_seen(&cut(&trays[..1]), AK, &seen, book.now).is_err(), "{before:?}");
        assert_eq!(book.board().trays.len(), 4, "nothing left");
        // done all the same, it is a breach that holds it
        let done = Action::Already { action: Box::new(cut(&trays[..1])), reason: "the van was waiting".into() };
        book.act(&done);
        assert_eq!(book.board().breaches.iter().map(|b| b.rule.as_str()).collect::<Vec<_>>(), [rule], "{before:?}");
        assert_sound(&mut book);
    }
    let (mut book, _, sprayed) = eighth_day();
    assert_eq!(book.refused(&cut(&[sprayed])).rule, "cut_waiting");
    book.later(Duration::hours(23) - Duration::seconds(1));
    assert_eq!(book.refused(&cut(&[sprayed])).rule, "cut_waiting");
    book.later(Duration::seconds(1));
    book.act(&cut(&[sprayed]));
}

#[test]
fn the_database_itself_lets_no_such_tray_leave() {
    for (rule, before) in barred() {
        let (mut book, trays, sprayed) = eighth_day();
        for action in &before {
            book.act(action);
        }
        let name = if rule == "cut_held" { "input_blocked" } else { "input_bad_tray" };
        let conn = raw(&book.path);
        for stage in ["cut", "left_alive"] {
            assert_eq!(refusal(&conn, &insert(trays[0], stage)), name, "{before:?}");
            assert_eq!(refusal(&conn, &insert(sprayed, stage)), "input_waiting");
        }
    }
    // a sound tray may leave
    let (book, trays, _) = eighth_day();
    raw(&book.path).execute_batch(&insert(trays[0], "cut")).unwrap();
}

fn insert(tray: TrayId, stage: &str) -> String {
    format!("INSERT INTO stage (entry_id, tray_id, stage) VALUES (2, {}, '{stage}')", tray.0)
}

fn refusal(conn: &Connection, sql: &str) -> String {
    match conn.execute_batch(sql) {
        Err(rusqlite::Error::SqliteFailure(_, Some(message))) => message,
        other => panic!("{sql}: {other:?}"),
    }
}

/// Causes of the holds that wait for a decision, with the trays of each.
fn open(book: &Book) -> Vec<(Cause, Vec<TrayId>)> {
    let trays = |hold: &rackwalk::domain::hold::Hold| hold.trays.iter().map(|held| held.tray).collect();
    book.board().holds.iter().map(|hold| (hold.cause, trays(hold))).collect()
}

#[test]
fn bad_news_holds_what_was_cut_before_it_came() {
    use Sign::*;
    let (mut book, trays, sprayed) = eighth_day();
    let looked = book.act(&roots(trays[0], Roots::Full)).entry;
    let second = book.act(&roots(trays[1], Roots::Full)).entry;
    let seen = book.now.instant();
    book.later(Duration::hours(30));
    let left = book.act(&cut(&[trays[0], trays[1], trays[2], sprayed])).entry;
    assert!(open(&book).is_empty());
    // a look put right: mould was there after all
    let mould = Look { signs: Signs::of(&[Stands, Web, Patches]), ..Look::of(trays[0]) };
    let done = book.act(&right(looked, Correction::Look(Box::new(mould))));
    assert!(done.sentence.contains("T0001-W had been cut before this was known: it is held"), "{}", done.sentence);
    assert_eq!(open(&book), [(Cause::Mould, vec![trays[0]])]);
    let hold = book.board().holds.remove(0);
    assert_eq!((hold.about, hold.entry, hold.gone()), (Some(done.entry), done.entry, 1));
    assert!(hold.trays[0].words(book.now).contains("cut "), "{}", hold.trays[0].words(book.now));
    let story = book.store.history(Of::Tray(trays[0]), None, 1).unwrap()[0].words(book.now);
    assert!(story.contains("T0001-W held: mould or rot came to light"), "{story}");
    // fuzz nobody tested, the same way
    let odd = Look { fuzz: Some(Mist::Untested), ..Look::of(trays[1]) };
    book.act(&right(second, Correction::Look(Box::new(odd))));
    assert_eq!(open(&book).last().unwrap(), &(Cause::Fuzz, vec![trays[1]]));
    // a sheet typed late: what was seen before it was cut counts, what was seen after cannot be
    let late = Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(trays[2]) }));
    let then = Seen { at: Some(seen), ..Seen::default() };
    book.store.act_seen(&late, AK, &then, book.now).unwrap();
    assert_eq!(open(&book).last().unwrap(), &(Cause::Fuzz, vec![trays[2]]));
    book.later(Duration::hours(1));
    let after = Seen { at: Some(book.now.instant()), ..Seen::default() };
    assert!(book.store.act_seen(&late, AK, &after, book.now).is_err());
    assert_eq!(book.refused(&late).rule, "tray_gone");
    // the cut was earlier than written: its wait was not over
    let earlier = Correction::Hands { at: Some(seen), by: AK };
    book.act(&right(left, earlier));
    assert_eq!(open(&book).last().unwrap(), &(Cause::Treated, vec![sprayed]));
    assert_eq!(open(&book).len(), 4, "what is held already is not held twice");
    assert_sound(&mut book);
}

#[test]
fn news_that_comes_back_by_undo_holds_too() {
    let (mut book, trays, _) = eighth_day();
    let rm = person(&mut book, "RM", false);
    let looked = book.act(&fuzz(trays[0], Mist::Untested)).entry;
    let plain = Look { roots: Some(Roots::Full), ..Look::of(trays[0]) };
    book.act(&right(looked, Correction::Look(Box::new(plain))));
    act_as(&mut book, rm, &cut(&trays[..1]));
    // the correction taken back, the fuzz counts again
    book.act(&Action::Undo);
    assert_eq!(open(&book), [(Cause::Fuzz, vec![trays[0]])]);
    assert_sound(&mut book);
}

fn already(action: Action) -> Action {
    Action::Already { action: Box::new(action), reason: "the van was waiting".into() }
}

fn accept_breaches(book: &mut Book) {
    for breach in book.board().breaches {
        let reason = "seen".to_string();
        book.act(&Action::Decide { breach: breach.id, what: Verdict::Accepted, by: AK, reason });
    }
}

/// Fuzz that stood, a check that says hairs, and the clear that rests on it.
fn cleared(book: &mut Book, tray: TrayId) -> EntryId {
    use Sign::*;
    book.act(&fuzz(tray, Mist::Stands));
    book.act(&check(tray, &[Vanishes, RoundRoots, OnlyRoot]));
    let reason = "roots only".into();
    book.act(&Action::DecideSuspect { walk: None, tray, what: Choice::Clear, by: AK, reason }).entry
}

#[test]
fn who_was_told_of_one_thing_was_not_told_of_another() {
    // a breach about a wait says nothing of fuzz whose clear fell afterwards
    let (mut book, trays, _) = eighth_day();
    let clear = cleared(&mut book, trays[0]);
    book.act(&Action::Treat(Box::new(mixes::spray(&book, &trays[..1], None))));
    book.act(&already(cut(&trays[..1])));
    accept_breaches(&mut book);
    book.act(&right(clear, Correction::Never));
    assert_eq!(open(&book), [(Cause::Fuzz, vec![trays[0]])]);
    // nor does one about fuzz of a wait that was not over after all
    let (mut book, trays, _) = eighth_day();
    let spray = NewTreatment { wait_h: 4, ..mixes::spray(&book, &trays[..1], None) };
    book.act(&Action::Treat(Box::new(spray)));
    book.later(Duration::hours(3));
    let earlier = book.now.instant();
    book.later(Duration::hours(2));
    book.act(&fuzz(trays[0], Mist::Untested));
    // the look is older than the time the cut is put to
    let looked = book.store.history(Of::Tray(trays[0]), None, 1).unwrap()[0].id;
    let before = rackwalk::domain::time::Instant(earlier.0 - Duration::minutes(1));
    book.act(&right(looked, Correction::Hands { at: Some(before), by: AK }));
    let left = book.act(&already(cut(&trays[..1]))).entry;
    accept_breaches(&mut book);
    assert!(open(&book).is_empty());
    book.act(&right(left, Correction::Hands { at: Some(earlier), by: AK }));
    assert_eq!(open(&book), [(Cause::Treated, vec![trays[0]])]);
    // an accepted hold about fuzz does not cover a clear that falls later
    let (mut book, trays, _) = eighth_day();
    let tray = trays[0];
    let clear = cleared(&mut book, tray);
    let later = book.act(&roots(tray, Roots::Full)).entry;
    book.act(&cut(&[tray]));
    let odd = Look { fuzz: Some(Mist::Untested), ..Look::of(tray) };
    let wrong = book.act(&right(later, Correction::Look(Box::new(odd)))).entry;
    let hold = book.board().holds[0].id;
    book.act(&decide(hold, Verdict::Accepted));
    let plain = Look { roots: Some(Roots::Full), ..Look::of(tray) };
    book.act(&right(wrong, Correction::Look(Box::new(plain))));
    assert!(open(&book).is_empty());
    book.act(&right(clear, Correction::Never));
    assert_eq!(open(&book), [(Cause::Fuzz, vec![tray])]);
    assert_sound(&mut book);
}

#[test]
fn a_cut_against_a_hold_names_the_hold() {
    let (mut book, trays, _) = eighth_day();
    let held = book.act(&by_hand(trays[0])).entry;
    book.act(&already(cut(&trays[..1])));
    assert_eq!(book.board().breaches[0].about, Some(held));
}

#[test]
fn a_treatment_written_late_holds_what_was_cut_before_its_wait_was_over() {
    let (mut book, trays, _) = eighth_day();
    let sprayed_at = book.now.instant();
    book.later(Duration::hours(12));
    book.act(&cut(&trays[..1]));
    // of the tray that was cut twelve hours after it, and of one that still stands
    let spray = NewTreatment { at: sprayed_at, ..mixes::spray(&book, &trays[..2], None) };
    let done = book.act(&Action::Treat(Box::new(spray)));
    assert!(done.sentence.contains("T0001-W had been cut before this was known"), "{}", done.sentence);
    assert_eq!(open(&book), [(Cause::Treated, vec![trays[0]])]);
    assert_eq!(book.refused(&cut(&trays[1..2])).rule, "cut_waiting");
    // the wait was over by the time it was cut: nothing to hold
    let (mut book, trays, _) = eighth_day();
    let spray = NewTreatment { wait_h: 10, at: book.now.instant(), ..mixes::spray(&book, &trays[..1], None) };
    book.later(Duration::hours(12));
    book.act(&cut(&trays[..1]));
    book.act(&Action::Treat(Box::new(spray)));
    assert!(open(&book).is_empty());
    assert_sound(&mut book);
}

#[test]
fn neither_treatment_nor_isolation_makes_a_mouldy_tray_saleable() {
    let (mut book, trays, _) = eighth_day();
    let tray = trays[0];
    book.act(&check(tray, &[Sign::Stands, Sign::Web, Sign::Patches]));
    let to = book.board().places().find(|place| place.zone == Zone::Isolation).unwrap().id;
    let apart = Choice::Isolate { to };
    book.act(&Action::DecideSuspect { walk: None, tray, what: apart, by: AK, reason: String::new() });
    let spray = NewTreatment { wait_h: 0, ..mixes::spray(&book, &[tray], None) };
    book.act(&Action::Treat(Box::new(spray)));
    book.later(Duration::days(3));
    book.act(&check(tray, &[Sign::Vanishes, Sign::RoundRoots, Sign::OnlyRoot]));
    assert_eq!(book.refused(&cut(&[tray])).rule, "cut_suspect");
    let clear = Action::DecideSuspect { walk: None, tray, what: Choice::Clear, by: AK, reason: "sprayed".into() };
    book.refused(&clear);
    assert_eq!(book.refused(&cut(&[tray])).rule, "cut_suspect");
}

#[test]
fn a_clear_taken_back_holds_what_was_cut_on_it() {
    use Sign::*;
    let (mut book, trays, _) = eighth_day();
    let rm = person(&mut book, "RM", false);
    let tray = trays[0];
    book.act(&fuzz(tray, Mist::Stands));
    book.act(&check(tray, &[Vanishes, RoundRoots, OnlyRoot]));
    let reason = "roots only, and it lay down twice".into();
    book.act(&Action::DecideSuspect { walk: None, tray, what: Choice::Clear, by: AK, reason });
    act_as(&mut book, rm, &cut(&[tray]));
    assert!(open(&book).is_empty());
    book.act(&Action::Undo);
    assert_eq!(open(&book), [(Cause::Fuzz, vec![tray])]);
    assert_sound(&mut book);
}

#[test]
fn a_hold_is_lifted_by_a_decision_only_and_new_news_holds_anew() {
    use Sign::*;
    let (mut book, trays, _) = eighth_day();
    let rm = person(&mut book, "RM", false);
    let looked = book.act(&roots(trays[0], Roots::Full)).entry;
    book.act(&cut(&trays[..1]));
    let mould = Look { signs: Signs::of(&[Stands, Web, Patches]), ..Look::of(trays[0]) };
    book.act(&right(looked, Correction::Look(Box::new(mould.clone()))));
    let hold = book.board().holds[0].id;
    // taken back, the finding no longer counts; what it held stays held
    let back = book.act(&Action::Undo).entry;
    assert_eq!(open(&book), [(Cause::Mould, vec![trays[0]])]);
    let decision =
        |by: PersonId, reason: &str| Action::DecideHold { hold, what: Verdict::Accepted, by, reason: reason.into() };
    assert_eq!(book.refused(&decision(rm, "fine")).rule, "may_not_decide");
    assert_eq!(book.refused(&decision(AK, " ")).rule, "decision_reason");
    assert_eq!(book.refused(&decision(PersonId(9), "fine")).rule, "person_unknown");
    assert_eq!(book.refused(&decide(HoldId(9), Verdict::Accepted)).rule, "hold_unknown");
    let done = book.act(&decide(hold, Verdict::Accepted));
    assert!(done.sentence.contains("AK decided about the hold of T0001-W: lifted"), "{}", done.sentence);
    assert!(open(&book).is_empty());
    assert_eq!(book.refused(&decide(hold, Verdict::Accepted)).rule, "hold_decided");
    // the decision taken back, it is held again
    book.act(&Action::Undo);
    assert_eq!(open(&book).len(), 1);
    book.act(&decide(hold, Verdict::Accepted));
    // found again: the decision was not about this
    book.act(&right(back, Correction::Look(Box::new(mould))));
    assert_eq!(open(&book), [(Cause::Mould, vec![trays[0]])]);
    assert_ne!(book.board().holds[0].id, hold);
    assert_sound(&mut book);
}

#[test]
fn a_batch_is_held_with_what_was_cut_of_it() {
    let (mut book, trays, _) = eighth_day();
    book.act(&cut(&trays[..1]));
    let sowing = book.board().tray(trays[1]).unwrap().sowing;
    let hold = |reason: &str| Action::Hold(Box::new(NewHold::of(Start::Sowing(sowing), None, reason.into())));
    assert_eq!(book.refused(&hold(" ")).rule, "hold_reason");
    let nothing = Action::Hold(Box::new(NewHold::of(Start::Tray(TrayId(99)), None, "x".into())));
    assert_eq!(book.refused(&nothing).rule, "hold_nothing");
    let done = book.act(&hold("stones in the seed"));
    assert_eq!(done.trays, trays);
    let held = book.board().holds.remove(0);
    assert_eq!((held.cause, held.gone(), held.note.as_deref()), (Cause::ByHand, 1, Some("stones in the seed")));
    assert!(book.board().tray(trays[1]).unwrap().held);
    // not by undo, not as if it had never happened
    assert_eq!(book.refused(&Action::Undo).rule, "hold_stays");
    assert_eq!(book.refused(&right(done.entry, Correction::Never)).rule, "hold_stays");
    assert_eq!(refused_as(&mut book, PersonId(9), &Action::Undo).rule, "person_unknown");
    book.act(&decide(held.id, Verdict::Watch));
    assert!(book.board().holds[0].watched && book.board().tray(trays[1]).unwrap().held);
    book.act(&decide(held.id, Verdict::Accepted));
    assert!(!book.board().tray(trays[1]).unwrap().held);
    book.act(&cut(&trays[1..]));
    assert_sound(&mut book);
}
