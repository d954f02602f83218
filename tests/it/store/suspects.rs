//! Suspect trays: decisions by name, the next look, what is at risk, and the closer look that follows.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::fuzz::{Sign, Signs};
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, PlaceId, TrayId};
use rackwalk::domain::look::{Basis, Look, Mist, Stand, WaterFigures};
use rackwalk::domain::suspect::{Choice, Decision, Near, Reason, Suspect};
use rackwalk::domain::time::Instant;
use rackwalk::domain::tray::{Cleanup, Gear, LossReason, Stage, TrayCard};
use rackwalk::store::error::StoreError;

use super::{act_as, assert_sound, person, raw, refused_as};
use crate::book::{AK, Book};

const MOULD: &[Sign] = &[Sign::Stands, Sign::Web, Sign::Patches];
const HAIRS: &[Sign] = &[Sign::Vanishes, Sign::RoundRoots, Sign::OnlyRoot];

/// Radish in the light on its third day: A 1-1 to A 1-3 of one batch, A 2-1 and B 2-3 of others.
fn room() -> (Book, Vec<TrayId>) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let mut trays = book.radish_at(lot, &["A 1-1", "A 1-2", "A 1-3"]);
    trays.extend(book.radish_at(lot, &["A 2-1"]));
    trays.extend(book.radish_at(lot, &["B 2-3"]));
    for tray in &trays {
        book.act(&Action::Move { walk: None, tray: *tray, to: None, stage: Some(Stage::Lit) });
    }
    book.later(Duration::days(3));
    (book, trays)
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

fn suspect(book: &Book, tray: TrayId) -> Suspect {
    book.board().suspect(tray).unwrap().clone()
}

fn fuzz(book: &mut Book, tray: TrayId, mist: Mist) -> rackwalk::domain::id::EntryId {
    book.act(&Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) }))).entry
}

fn check(book: &mut Book, tray: TrayId, signs: &[Sign]) -> rackwalk::domain::id::EntryId {
    book.act(&Action::Look(Box::new(Look { signs: Signs::of(signs), ..Look::of(tray) }))).entry
}

fn decide(tray: TrayId, what: Choice) -> Action {
    Action::DecideSuspect { walk: None, tray, what, by: AK, reason: "the same spot, seen by two".into() }
}

fn clear(tray: TrayId) -> Action {
    decide(tray, Choice::Clear)
}

fn isolate(book: &Book, tray: TrayId) -> Action {
    decide(tray, Choice::Isolate { to: book.place("ISO 1-1") })
}

/// Suspect, and stays so until a person decides.
fn state(book: &Book, tray: TrayId) -> (bool, bool) {
    let card = card(book, tray);
    (card.suspect, card.stood)
}

#[test]
fn what_stood_is_cleared_by_name_on_a_check_that_says_hairs_and_on_nothing_else() {
    let (mut book, trays) = room();
    let tray = trays[0];
    assert_eq!(book.refused(&clear(tray)).rule, "not_suspect");
    fuzz(&mut book, tray, Mist::Stands);
    assert_eq!(book.refused(&clear(tray)).rule, "clear_evidence");
    assert!(suspect(&book, tray).bar.unwrap().contains("No newer check says hairs"));
    book.later(Duration::hours(2));
    fuzz(&mut book, tray, Mist::Down);
    assert_eq!(book.refused(&clear(tray)).rule, "clear_evidence", "nobody checked where it sits");
    let hairs = check(&mut book, tray, HAIRS);
    assert_eq!((state(&book, tray), suspect(&book, tray).bar), ((true, true), None));
    let silent = Action::DecideSuspect { walk: None, tray, what: Choice::Clear, by: AK, reason: " ".into() };
    assert_eq!(book.refused(&silent).rule, "decision_reason");
    let done = book.act(&clear(tray));
    assert_eq!(
        done.sentence,
        format!("T0001-W is not suspect any more: AK cleared it on the check of entry {}.", hairs.0)
    );
    assert_eq!(state(&book, tray), (false, false));
    assert!(book.board().suspect(tray).is_none());
    assert_sound(&mut book);
    let story = book.store.history(Of::Tray(tray), None, 1).unwrap();
    assert_eq!(
        story[0].text,
        format!("T0001-W: AK decided that it is not suspect any more, on the look of entry {}", hairs.0)
    );
    assert_eq!(story[0].note.as_deref(), Some("the same spot, seen by two"));
    assert_eq!(book.refused(&clear(tray)).rule, "not_suspect");
    // taken back, the suspicion is there again
    book.act(&Action::Undo);
    assert_eq!(state(&book, tray), (true, true));
    assert_sound(&mut book);
    book.act(&clear(tray));
    // and what comes after a clear counts
    book.later(Duration::hours(3));
    fuzz(&mut book, tray, Mist::Untested);
    assert_eq!(state(&book, tray), (true, false));
    assert_eq!(suspect(&book, tray).reason, Reason::Untested);
    assert_sound(&mut book);
}

#[test]
fn a_clear_falls_with_the_check_it_rests_on_and_late_news_is_not_covered_by_it() {
    let (mut book, trays) = room();
    let tray = trays[0];
    fuzz(&mut book, tray, Mist::Stands);
    book.later(Duration::hours(2));
    let hairs = check(&mut book, tray, HAIRS);
    book.later(Duration::hours(1));
    book.act(&clear(tray));
    let never =
        Action::Correct { entry: hairs, correction: Correction::Never, reason: "other tray".into(), second: None };
    book.act(&never);
    assert_eq!(state(&book, tray), (true, true));
    assert_eq!(book.refused(&clear(tray)).rule, "clear_evidence");
    assert_sound(&mut book);

    check(&mut book, tray, HAIRS);
    book.act(&clear(tray));
    assert_eq!(state(&book, tray), (false, false));
    // someone tells of fuzz that stood before the check: whoever cleared it did not know
    let seen = Seen { at: Some(book.now.plus(Duration::hours(-2)).instant()), ..Seen::default() };
    let late = Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(tray) }));
    book.store.act_seen(&late, AK, &seen, book.now).unwrap();
    assert_eq!(state(&book, tray), (true, true));
    book.act(&clear(tray));
    assert_eq!(state(&book, tray), (false, false));
    assert_sound(&mut book);
    // a clear of a time before the fuzz clears nothing
    book.later(Duration::hours(1));
    fuzz(&mut book, tray, Mist::Stands);
    check(&mut book, tray, HAIRS);
    let early = Seen { at: Some(book.now.plus(Duration::minutes(-30)).instant()), ..Seen::default() };
    match book.store.act_seen(&clear(tray), AK, &early, book.now) {
        Err(StoreError::Rule(refusal)) => assert_eq!(refusal.rule, "clear_earlier"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn named_mould_and_a_part_lost_to_it_are_never_cleared() {
    let (mut book, trays) = room();
    check(&mut book, trays[0], MOULD);
    book.later(Duration::days(1));
    check(&mut book, trays[0], HAIRS);
    let refused = book.refused(&clear(trays[0]));
    assert_eq!(refused.rule, "clear_named");
    assert!(refused.sentence.contains("never cleared"));
    assert!(matches!(suspect(&book, trays[0]).reason, Reason::Named(_)));

    let lot = book.seed("RAD", 100);
    let sowing = rackwalk::domain::sowing::NewSowing { mats: 2, ..book.sowing("RAD", lot, 1) };
    let tray = book.act(&Action::Sow(Box::new(sowing))).trays[0];
    book.act(&Action::LosePart { walk: None, tray, mats: 1, reason: LossReason::Rot });
    check(&mut book, tray, HAIRS);
    assert_eq!(book.refused(&clear(tray)).rule, "clear_named");
    let known = suspect(&book, tray);
    assert_eq!((known.reason, known.since), (Reason::Lost, book.now.instant()));
    assert_sound(&mut book);
}

#[test]
fn only_who_may_decide_clears_or_watches_and_anyone_sets_apart() {
    let (mut book, trays) = room();
    let cd = person(&mut book, "CD", false);
    fuzz(&mut book, trays[0], Mist::Stands);
    check(&mut book, trays[0], HAIRS);
    let by = |what, by| Action::DecideSuspect { walk: None, tray: trays[0], what, by, reason: "seen".into() };
    for what in [Choice::Clear, Choice::Watch] {
        assert_eq!(refused_as(&mut book, AK, &by(what, cd)).rule, "may_not_decide");
        assert_eq!(refused_as(&mut book, AK, &by(what, PersonId(99))).rule, "person_unknown");
    }
    let lit = book.place("B 1-1");
    let apart = |to| by(Choice::Isolate { to }, cd);
    assert_eq!(refused_as(&mut book, cd, &apart(lit)).rule, "not_isolation");
    assert_eq!(refused_as(&mut book, cd, &apart(PlaceId(999))).rule, "place_unknown");
    let iso = book.place("ISO 1-1");
    act_as(&mut book, cd, &apart(iso));
    assert_eq!(refused_as(&mut book, cd, &apart(iso)).rule, "move_nothing");
    // nor does any other program
    let conn = raw(&book.path);
    let row = "INSERT INTO decision (entry_id, tray_id, what, about_entry, person_id) VALUES (2, 1, 'clear', 2, 2)";
    assert!(conn.execute(row, []).unwrap_err().to_string().contains("may_not_decide"));
}

#[test]
fn setting_apart_is_one_entry_and_stays_suspect() {
    let (mut book, trays) = room();
    let tray = trays[0];
    fuzz(&mut book, tray, Mist::Stands);
    let action = isolate(&book, tray);
    let done = book.act(&action);
    assert!(done.sentence.contains("T0001-W isolated: to ISO 1-1. It stays suspect"), "{}", done.sentence);
    let now = card(&book, tray);
    assert_eq!((now.place.label(), now.suspect, now.stood), ("ISO 1-1".into(), true, true));
    let decided = suspect(&book, tray).decided.unwrap();
    assert_eq!((decided.what, decided.who.as_str()), (Decision::Isolate, "AK"));
    let story = book.store.history(Of::Place(book.place("ISO 1-1")), None, 1).unwrap();
    assert!(story[0].text.starts_with("T0001-W: isolated by AK, moved to ISO 1-1"), "{}", story[0].text);
    assert_sound(&mut book);
    book.act(&Action::Undo);
    assert_eq!(card(&book, tray).place.label(), "A 1-1");
    assert_eq!(suspect(&book, tray).decided, None);
    assert_sound(&mut book);
    book.act(&Action::Sight { walk: None, trays: vec![(tray, None)] });
    assert_eq!(book.refused(&action).rule, "tray_missing");
    assert_eq!(suspect(&book, tray).reason, Reason::Stood, "a missing suspect stays on the list");
}

#[test]
fn the_next_look_is_due_within_hours_or_a_day_and_a_watch_moves_it() {
    let (mut book, trays) = room();
    let at = |book: &Book, hours: i64| Instant(book.now.instant().0 + Duration::hours(hours));
    let due = |book: &Book, tray| {
        let next = suspect(book, tray).next;
        assert_eq!(card(book, tray).next_look, Some(next));
        (next.from, next.by)
    };
    fuzz(&mut book, trays[0], Mist::Untested);
    let (from, by) = (at(&book, 1), at(&book, 4));
    assert_eq!(due(&book, trays[0]), (from, by));
    assert!(!suspect(&book, trays[0]).next.overdue(book.now.plus(Duration::hours(4))));
    assert!(suspect(&book, trays[0]).next.overdue(book.now.plus(Duration::seconds(4 * 3600 + 1))));
    // a grade that says nothing of the fuzz does not mist it
    book.later(Duration::hours(2));
    book.act(&Action::Look(Box::new(Look { stand: Some(Stand::Good), ..Look::of(trays[0]) })));
    assert_eq!(due(&book, trays[0]), (from, by));
    fuzz(&mut book, trays[1], Mist::Stands);
    assert_eq!(due(&book, trays[1]), (at(&book, 0), at(&book, 24)));
    book.later(Duration::hours(3));
    book.act(&decide(trays[0], Choice::Watch));
    assert_eq!(due(&book, trays[0]), (at(&book, 0), at(&book, 24)));
    assert_eq!(suspect(&book, trays[0]).decided.unwrap().what, Decision::Watch);
    book.act(&Action::Undo);
    assert_eq!(due(&book, trays[0]), (from, by));
    // a look made after a watch counts from its own time
    book.act(&decide(trays[1], Choice::Watch));
    book.later(Duration::hours(5));
    check(&mut book, trays[1], &[Sign::Vanishes]);
    assert_eq!(due(&book, trays[1]), (at(&book, 0), at(&book, 24)));
    assert_sound(&mut book);
}

#[test]
fn what_is_at_risk_stands_beside_with_the_reason() {
    let (mut book, trays) = room();
    let water = WaterFigures { ml: Some(300), ..WaterFigures::default() };
    let glance = Look {
        trays: vec![trays[0], trays[1]],
        basis: Basis::Shelf,
        stand: Some(Stand::Good),
        watered: true,
        water,
        ..Look::of(trays[0])
    };
    book.act(&Action::Look(Box::new(glance)));
    book.later(Duration::hours(1));
    fuzz(&mut book, trays[0], Mist::Stands);
    let risk = |book: &Book| -> Vec<(TrayId, Vec<Near>)> {
        suspect(book, trays[0]).risk.into_iter().map(|risk| (risk.tray, risk.near)).collect()
    };
    let expected = vec![
        (trays[3], vec![Near::Beside]),
        (trays[1], vec![Near::Beside, Near::Batch, Near::Water]),
        (trays[2], vec![Near::Batch]),
    ];
    assert_eq!(risk(&book), expected);
    assert_eq!(suspect(&book, trays[0]).seed.len(), 1);
    // set apart, it is still those it stood beside that are at risk
    book.later(Duration::hours(1));
    let apart = isolate(&book, trays[0]);
    book.act(&apart);
    assert_eq!(risk(&book), expected);
    // one that left its side before the fuzz was seen is not
    let (mut book, trays) = room();
    let away = book.place("B 3-1");
    book.act(&Action::Move { walk: None, tray: trays[3], to: Some(away), stage: None });
    book.later(Duration::hours(1));
    fuzz(&mut book, trays[0], Mist::Stands);
    assert!(suspect(&book, trays[0]).risk.iter().all(|risk| risk.tray != trays[3]));
}

/// The trays that the shelf key may not take today because of what was found near them.
fn close(book: &Book, trays: &[TrayId]) -> Vec<usize> {
    let today = book.now.day();
    let closely = |tray: &TrayId| card(book, *tray).watched_closely(today).is_some();
    (1..=trays.len()).filter(|n| closely(&trays[n - 1])).collect()
}

#[test]
fn those_it_stood_beside_before_it_was_named_are_looked_at_closely_as_well() {
    // set apart for its fuzz, and named three hours later
    let (mut book, trays) = room();
    fuzz(&mut book, trays[0], Mist::Untested);
    let apart = isolate(&book, trays[0]);
    book.act(&apart);
    book.later(Duration::hours(3));
    check(&mut book, trays[0], MOULD);
    assert_eq!(close(&book, &trays), [2, 3, 4]);
    // moved on the evening before anything was seen; two days before is too long ago
    for (hours, beside) in [(12, vec![2, 3, 4]), (48, vec![2, 3])] {
        let (mut book, trays) = room();
        let away = book.place("B 3-1");
        book.act(&Action::Move { walk: None, tray: trays[0], to: Some(away), stage: None });
        book.later(Duration::hours(hours));
        check(&mut book, trays[0], MOULD);
        assert_eq!(close(&book, &trays), beside, "{hours} h");
    }
}

#[test]
fn trays_near_something_bad_are_looked_at_one_by_one_for_three_days() {
    let (mut book, trays) = room();
    let glance = |tray: TrayId| {
        let look = Look { basis: Basis::Shelf, stand: Some(Stand::Good), watered: true, ..Look::of(tray) };
        Action::Look(Box::new(look))
    };
    fuzz(&mut book, trays[0], Mist::Untested);
    assert_eq!(close(&book, &trays), [0; 0], "doubt alone worries nobody");
    check(&mut book, trays[0], MOULD);
    assert_eq!(close(&book, &trays), [2, 3, 4]);
    let beside = card(&book, trays[1]);
    assert_eq!(
        beside.watched_closely(book.now.day()).unwrap().words(),
        "look closely until Tue 07 Jul: mould on T0001-W, touching"
    );
    assert!(beside.needs_own_look(book.now.day()).unwrap().contains("found near it"));
    let refused = book.refused(&glance(trays[2]));
    assert_eq!(refused.rule, "glance_own_look");
    assert!(refused.sentence.contains("Something bad was found near T0003-S"), "{}", refused.sentence);
    book.act(&glance(trays[4]));
    // it goes out, and the others are still looked at closely
    book.later(Duration::minutes(5));
    let (reason, gear) = (LossReason::Mould, Gear::Binned);
    book.act(&Action::Throw { walk: None, tray: trays[0], reason, gear, cleanup: Some(Cleanup::Both), note: None });
    let rest = &trays[1..];
    book.later(Duration::days(3));
    assert_eq!(close(&book, rest), [1, 2, 3]);
    book.act(&glance(trays[4]));
    assert_eq!(book.refused(&glance(trays[1])).rule, "glance_own_look");
    book.later(Duration::days(1));
    assert_eq!(close(&book, rest), [0; 0]);
    book.act(&glance(trays[1]));
    assert_sound(&mut book);
}

#[test]
fn a_close_look_ends_with_a_clear_and_comes_with_a_loss_to_mould() {
    let (mut book, trays) = room();
    fuzz(&mut book, trays[0], Mist::Stands);
    check(&mut book, trays[0], HAIRS);
    assert_eq!(close(&book, &trays), [2, 3, 4]);
    book.act(&clear(trays[0]));
    assert_eq!(close(&book, &trays), [0; 0]);
    let gone = Action::Throw {
        walk: None,
        tray: trays[3],
        reason: LossReason::Mould,
        gear: Gear::Washed,
        cleanup: Some(Cleanup::Bagged),
        note: None,
    };
    book.act(&gone);
    let story = book.store.history(Of::Tray(trays[3]), None, 1).unwrap();
    assert_eq!(
        story[0].text,
        "T0004-Q thrown out: mould; tray and cover washed; bagged where it stood, place still to clean"
    );
    assert_eq!(close(&book, &trays[..3]), [1], "only the one below which it stood");
    book.act(&Action::Undo);
    assert_eq!(close(&book, &trays[..3]), [0; 0]);
    assert_sound(&mut book);
}
