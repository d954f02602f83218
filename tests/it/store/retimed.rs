//! When something happened and whose hands it was, put right.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{EntryId, PersonId, PlaceId, TrayId, WalkId};
use rackwalk::domain::look::{Basis, Look, Mist, Roots, WaterFigures};
use rackwalk::domain::sowing::NewSowing;
use rackwalk::domain::tray::{Gear, LossReason, Stage, TrayCard};
use rackwalk::domain::walk::Mode;

use super::{act_as, assert_sound, number, person, raw, refused_as};
use crate::book::{AK, Book, at, roots};

/// Three radish trays of the first of July, six o'clock; now it is the third, ten o'clock.
fn third_day() -> (Book, Vec<TrayId>, PersonId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    let rm = person(&mut book, "RM", false);
    book.now = at("2026-07-03T10:00");
    (book, trays, rm)
}

/// Typed by AK at a time of its own.
fn typed(book: &mut Book, when: &str, action: &Action) -> EntryId {
    book.store.act(action, AK, at(when)).unwrap().entry
}

fn hands(entry: EntryId, when: Option<&str>, by: PersonId) -> Action {
    let correction = Correction::Hands { at: when.map(|when| at(when).instant()), by };
    Action::Correct { entry, correction, reason: "the clock was read wrongly".into(), second: None }
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

/// The words of an entry, and whose it is.
fn told(book: &Book, entry: EntryId) -> (String, String) {
    let lines = book.store.history(Of::Everything, None, 99).unwrap();
    let line = lines.into_iter().find(|line| line.id == entry).unwrap();
    (line.words(book.now), line.who)
}

fn lit(tray: TrayId) -> Action {
    Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) }
}

fn go(tray: TrayId, to: PlaceId) -> Action {
    Action::Move { walk: None, tray, to: Some(to), stage: None }
}

#[test]
fn other_initials_count_wherever_someone_is_named_and_the_old_ones_stay_visible() {
    let (mut book, trays, rm) = third_day();
    let walk = typed(&mut book, "2026-07-03T08:00", &Action::StartWalk { mode: Mode::Both, racks: None });
    let look = Look { walk: Some(WalkId(1)), roots: Some(Roots::Peeking), ..Look::of(trays[0]) };
    let look = typed(&mut book, "2026-07-03T08:01", &Action::Look(Box::new(look)));
    let first = book.act(&hands(look, None, rm)).entry;
    assert_eq!(card(&book, trays[0]).last.unwrap().who, "RM");
    let seen = "T0001-W: roots peeking (seen 08:01 by RM, typed 08:01 by AK)";
    assert_eq!(told(&book, look), (seen.into(), "RM".into()));
    assert_eq!(told(&book, first), (format!("entry {} put right: it was RM, not AK", look.0), "AK".into()));
    // the newest one counts, and says what the one before said
    let third = person(&mut book, "CD", false);
    let second = book.act(&hands(look, None, third)).entry;
    assert_eq!(told(&book, second).0, format!("entry {} put right: it was CD, not RM", look.0));
    assert_eq!(book.refused(&hands(look, None, third)).rule, "no_change");
    book.act(&Action::Undo);
    assert_eq!(card(&book, trays[0]).last.unwrap().who, "RM");
    book.act(&hands(walk, None, rm));
    let walk = book.store.walk(WalkId(1)).unwrap();
    assert_eq!((walk.who.as_str(), walk.seen.by), ("RM", Some(rm)));
    // another grade is still what RM saw at eight
    let grade = Look { roots: Some(Roots::Plenty), ..Look::of(trays[0]) };
    let correction = Correction::Look(Box::new(grade));
    let right = book.act(&Action::Correct { entry: look, correction, reason: "slip".into(), second: None }).entry;
    let now = format!("entry {} put right: T0001-W: roots plenty (seen 08:01 by RM, typed 10:00 by AK)", look.0);
    assert_eq!(told(&book, right), (now, "RM".into()));
    assert_eq!(card(&book, trays[0]).last.unwrap().who, "RM");
    book.act(&Action::Undo);
    assert_eq!(card(&book, trays[0]).last.unwrap().who, "RM", "what came back is not of the hands that took back");
    assert_sound(&mut book);
}

#[test]
fn sowings_deliveries_and_decisions_have_hands_to_put_right() {
    let (mut book, trays, rm) = third_day();
    let cut = Action::Already { action: Box::new(Action::Cut { trays: vec![trays[0]] }), reason: "van".into() };
    let cut = book.act(&cut).entry;
    let breach = book.board().breaches[0].id;
    let what = rackwalk::domain::breach::Verdict::Watch;
    let decided = book.act(&Action::Decide { breach, what, by: AK, reason: "taste it".into() }).entry;
    for entry in [EntryId(2), EntryId(3), EntryId(4), cut, decided] {
        assert!(book.store.entry(entry).unwrap().signed, "{entry:?}");
        book.act(&hands(entry, None, rm));
        assert_eq!(told(&book, entry).1, "RM");
    }
    assert_eq!(book.board().breaches[0].who, "RM");
    assert_sound(&mut book);
}

#[test]
fn a_look_of_another_day_stands_on_that_day_with_its_water_and_its_walk() {
    let (mut book, trays, rm) = third_day();
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(WalkId);
    let water = WaterFigures { ml: Some(400), ..WaterFigures::default() };
    let look = Look { walk, roots: Some(Roots::Peeking), watered: true, water, ..Look::of(trays[0]) };
    let look = book.act(&Action::Look(Box::new(look))).entry;
    let right = book.act(&hands(look, Some("2026-07-02T06:10"), rm)).entry;
    let seen = format!(
        "entry {} put right: T0001-W: roots peeking, watered (400 mL) (seen 02 Jul 06:10 by RM, typed 03 Jul 10:00 by AK)",
        look.0
    );
    assert_eq!(told(&book, right), (seen, "RM".into()));
    let (last, watered) = (card(&book, trays[0]).last.unwrap(), card(&book, trays[0]).watered_on);
    assert_eq!((last.day, last.who.as_str(), watered), (at("2026-07-02T06:10").day(), "RM", Some(last.day)));
    let line = book.store.timeline(card(&book, trays[0]).sowing).unwrap();
    let looked: Vec<(i64, i64)> = line.days.iter().map(|day| (day.day, day.looked)).filter(|d| d.1 > 0).collect();
    assert_eq!(looked, [(1, 1)]);
    assert_eq!(line.days.iter().map(|day| day.watered).sum::<i64>(), 4, "three at the sowing, one since");
    let conn = raw(&book.path);
    assert_eq!(
        number(&conn, "SELECT count(*) FROM water WHERE ml = 400 AND void_by IS NULL AND day = '2026-07-02'"),
        1
    );
    assert_eq!(book.store.walk(walk.unwrap()).unwrap().visited.len(), 1);
    // the old entry no longer counts; the new one can be put right again, and taken back
    assert_eq!(book.refused(&hands(look, None, rm)).rule, "correct_gone");
    book.later(Duration::minutes(5));
    book.act(&hands(right, Some("2026-07-02T07:00"), rm));
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    let last = card(&book, trays[0]).last.unwrap();
    assert_eq!((last.day, last.who.as_str()), (at("2026-07-03T10:00").day(), "AK"));
    assert_eq!(
        number(&conn, "SELECT count(*) FROM water WHERE ml = 400 AND void_by IS NULL AND day = '2026-07-03'"),
        1
    );
    assert_eq!(book.store.walk(walk.unwrap()).unwrap().visited.len(), 1);
    let line = book.store.timeline(card(&book, trays[0]).sowing).unwrap();
    assert_eq!(
        line.days.iter().map(|day| (day.looked, day.watered)).fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1)),
        (1, 4)
    );
    assert_sound(&mut book);
}

#[test]
fn fuzz_is_judged_again_in_the_order_of_events_and_never_forgotten() {
    let (mut book, trays, _) = third_day();
    let fuzz = |tray, mist| Action::Look(Box::new(Look { fuzz: Some(mist), ..Look::of(tray) }));
    let untested = typed(&mut book, "2026-07-03T09:00", &fuzz(trays[0], Mist::Untested));
    typed(&mut book, "2026-07-03T08:00", &fuzz(trays[0], Mist::Down));
    assert!(!card(&book, trays[0]).suspect, "written last");
    // as it happened, the fuzz nobody misted came after the one that lay down
    let now = book.now;
    let fix = hands(untested, Some("2026-07-03T09:30"), AK);
    let changes = book.store.preview(&fix, AK, now).unwrap();
    assert_eq!(
        changes,
        [
            "T0001-W: last look fuzz, lies down when misted (AK) -> fuzz, not misted yet (AK), it is not suspect -> suspect."
        ]
    );
    book.act(&fix);
    assert!(card(&book, trays[0]).suspect);
    let stood = typed(&mut book, "2026-07-03T09:00", &fuzz(trays[1], Mist::Stands));
    typed(&mut book, "2026-07-03T09:40", &fuzz(trays[1], Mist::Down));
    book.act(&hands(stood, Some("2026-07-01T23:00"), AK));
    assert!(card(&book, trays[1]).stood);
    assert_sound(&mut book);
}

#[test]
fn a_move_of_another_time_falls_into_line() {
    let (mut book, trays, _) = third_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    let first = typed(&mut book, "2026-07-03T07:00", &go(trays[0], free[0]));
    let second = typed(&mut book, "2026-07-03T08:00", &go(trays[0], free[1]));
    let right = book.act(&hands(first, Some("2026-07-03T09:00"), AK)).entry;
    assert_eq!(card(&book, trays[0]).place.id, free[0], "moved there last");
    assert_eq!(
        told(&book, right).0,
        format!("entry {} put right: T0001-W: moved to A 1-4 (seen 09:00 by AK, typed 10:00 by AK)", first.0)
    );
    let line = book.store.timeline(card(&book, trays[0]).sowing).unwrap();
    assert_eq!(line.on(2).unwrap().moved, 2);
    book.act(&Action::Undo);
    assert_eq!(card(&book, trays[0]).place.id, free[1], "back at seven, before the move of eight");
    assert_eq!(book.store.timeline(card(&book, trays[0]).sowing).unwrap().on(2).unwrap().moved, 2);
    // another tray stands where this one would have been last
    typed(&mut book, "2026-07-03T09:30", &go(trays[1], free[0]));
    let back = book.store.history(Of::Tray(trays[0]), None, 1).unwrap()[0].id;
    assert_eq!(book.refused(&hands(second, Some("2026-07-03T06:00"), AK)).rule, "place_taken");
    assert_eq!(told(&book, back).0, format!("took back entry {}", right.0));
    // taken back, the copy goes with it, and the first move with that
    typed(&mut book, "2026-07-03T10:00", &Action::Undo);
    typed(&mut book, "2026-07-03T10:00", &Action::Undo);
    assert_eq!(card(&book, trays[0]).place.id, free[1]);
    typed(&mut book, "2026-07-03T10:00", &Action::Undo);
    assert_eq!(card(&book, trays[0]).place.label(), "A 1-1", "both moves are taken back");
    assert_sound(&mut book);
}

#[test]
fn cut_thrown_out_or_lost_in_part_at_another_time() {
    let (mut book, _, rm) = third_day();
    let lot = book.store.seed_lots().unwrap()[0].id;
    let new = NewSowing { mats: 4, day: at("2026-07-01T06:00").day(), ..book.sowing("RAD", lot, 3) };
    let trays = typed_trays(&mut book, "2026-07-01T06:30", new);
    let walk = typed(&mut book, "2026-07-03T06:00", &Action::StartWalk { mode: Mode::Both, racks: None });
    typed(&mut book, "2026-07-03T07:00", &lit(trays[0]));
    let reason = LossReason::Rot;
    let part = Action::LosePart { walk: None, tray: trays[0], mats: 1, reason };
    let part = typed(&mut book, "2026-07-03T08:00", &part);
    let cut = typed(
        &mut book,
        "2026-07-03T08:30",
        &Action::Already { action: Box::new(Action::Cut { trays: vec![trays[0]] }), reason: "van".into() },
    );
    let throw =
        Action::Throw { walk: Some(WalkId(1)), tray: trays[1], reason, gear: Gear::Binned, cleanup: None, note: None };
    let thrown = typed(&mut book, "2026-07-03T09:00", &throw);
    let day =
        |book: &Book, n| book.store.timeline(rackwalk::domain::id::SowingId(2)).unwrap().on(n).map(|d| (d.lost, d.cut));
    assert_eq!(book.refused(&hands(cut, Some("2026-07-03T06:59"), rm)).rule, "left_earlier");
    let right = book.act(&hands(cut, Some("2026-07-03T09:10"), rm)).entry;
    assert_eq!(told(&book, right).1, "RM");
    assert_eq!(book.board().breaches.len(), 1, "the breach stays to be decided");
    assert_eq!(book.board().breaches[0].who, "RM");
    let refusal = book.refused(&hands(part, Some("2026-07-03T09:11"), AK));
    assert_eq!(refusal.rule, "seen_after_leaving");
    assert_eq!(
        refusal.sentence,
        format!("T0004-Q had left the room by then (entry {}, 03 Jul 09:10): give an earlier time.", right.0)
    );
    book.act(&hands(part, Some("2026-07-02T09:00"), AK));
    let thrown = book.act(&hands(thrown, Some("2026-07-02T21:00"), rm)).entry;
    assert_eq!((day(&book, 1), day(&book, 2)), (Some((2, 0)), Some((0, 1))));
    assert_eq!(book.board().tray(trays[1]), None);
    assert_eq!(book.store.walk(WalkId(1)).unwrap().visited.len(), 1, "still a stop of its walk");
    assert!(
        told(&book, thrown).0.contains("T0005-O thrown out: rot; tray and cover binned"),
        "{:?}",
        told(&book, thrown)
    );
    book.act(&Action::Undo);
    assert_eq!((day(&book, 1), day(&book, 2)), (Some((1, 0)), Some((1, 1))));
    assert_eq!(book.board().tray(trays[1]), None, "thrown out still, at nine");
    assert_eq!(book.store.walk(WalkId(1)).unwrap().visited.len(), 1);
    let _ = walk;
    assert_sound(&mut book);
}

fn typed_trays(book: &mut Book, when: &str, new: NewSowing) -> Vec<TrayId> {
    book.store.act(&Action::Sow(Box::new(new)), AK, at(when)).unwrap().trays
}

#[test]
fn what_an_undo_brings_back_keeps_its_time() {
    let (mut book, trays, rm) = third_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    // the first place of all was put right, and the tray moved on by someone else
    let sown = EntryId(3);
    let correction = Correction::Place { tray: trays[0], place: free[0] };
    let right = Action::Correct { entry: sown, correction, reason: "misread".into(), second: None };
    let right = typed(&mut book, "2026-07-03T07:00", &right);
    act_as(&mut book, rm, &go(trays[0], free[1]));
    book.later(Duration::hours(1));
    book.act(&Action::Undo);
    assert_eq!(card(&book, trays[0]).place.id, free[1], "moved there since, whatever stood at the beginning");
    assert!(told(&book, right).0.contains("moved to A 1-4"), "{:?}", told(&book, right));
    // a look without a time of its own, graded again on the walk: the first grade is of its own minute
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(WalkId);
    let grade = |roots| Action::Look(Box::new(Look { walk, roots: Some(roots), ..Look::of(trays[1]) }));
    book.act(&grade(Roots::Peeking));
    book.later(Duration::minutes(1));
    let again = book.act(&grade(Roots::Full)).entry;
    book.later(Duration::minutes(1));
    act_as(&mut book, rm, &roots(trays[1], Roots::Plenty));
    book.later(Duration::minutes(1));
    book.act(&Action::Undo);
    assert_eq!(card(&book, trays[1]).last.unwrap().roots, Some(Roots::Plenty), "RM looked after that");
    assert!(told(&book, again).0.contains("roots full"));
    let conn = raw(&book.path);
    let seen =
        "SELECT count(*) FROM look WHERE roots = 'peeking' AND void_by IS NULL AND seen_at = '2026-07-03T11:00:00Z'";
    assert_eq!(number(&conn, seen), 1);
    // RM's own entry goes back as ever; a tray is never left without a place
    act_as(&mut book, rm, &Action::Undo);
    assert_eq!(card(&book, trays[1]).last.unwrap().roots, Some(Roots::Peeking));
    assert_sound(&mut book);
}

#[test]
fn nobody_takes_back_from_below_what_someone_else_put_right_since() {
    let (mut book, trays, rm) = third_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    let moved = book.act(&go(trays[0], free[0])).entry;
    let right = act_as(&mut book, rm, &hands(moved, Some("2026-07-02T06:00"), rm)).entry;
    book.act(&hands(right, Some("2026-07-02T07:00"), rm));
    assert_eq!(refused_as(&mut book, rm, &Action::Undo).rule, "undo_nothing", "theirs counts no more");
    book.act(&Action::Undo);
    assert_eq!(refused_as(&mut book, rm, &Action::Undo).rule, "undo_nothing");
    let conn = raw(&book.path);
    let at = |when: &str| {
        number(
            &conn,
            &format!("SELECT count(*) FROM placement WHERE tray_id = 1 AND void_by IS NULL AND at = '{when}'"),
        )
    };
    assert_eq!(at("2026-07-02T06:00:00Z"), 1);
    // once more: what RM had put right is taken back, and the move is of ten o'clock again
    book.act(&Action::Undo);
    assert_eq!((at("2026-07-02T06:00:00Z"), at("2026-07-03T10:00:00Z")), (0, 1));
    assert_eq!(card(&book, trays[0]).place.id, free[0]);
    book.act(&Action::Undo);
    assert_eq!(number(&conn, "SELECT count(*) FROM placement WHERE tray_id = 1 AND void_by IS NULL"), 1);
    // initials that someone put right stand in the way of the entry itself
    let look = book.act(&roots(trays[2], Roots::Peeking)).entry;
    act_as(&mut book, rm, &hands(look, None, rm));
    assert_eq!(book.refused(&Action::Undo).rule, "undo_in_use");
    assert_sound(&mut book);
}

#[test]
fn seed_put_right_twice_is_taken_back_in_order_or_not_at_all() {
    let (mut book, _, rm) = third_day();
    let lot = book.store.seed_lots().unwrap()[0].id;
    let card = card(&book, TrayId(1));
    let weigh = |mg, after| {
        let (sowing, crop, day) = (card.sowing, card.crop, card.sown);
        let correction = Correction::Sowing { sowing, crop, day, seed: vec![(lot, mg)], after };
        Action::Correct { entry: EntryId(3), correction, reason: "weighed again".into(), second: None }
    };
    let left = |book: &Book| book.store.seed_lots().unwrap()[0].left_mg;
    let first = book.act(&weigh(90_000, None)).entry;
    act_as(&mut book, rm, &weigh(70_000, Some(first)));
    assert_eq!(book.refused(&Action::Undo).rule, "undo_in_use");
    assert_eq!(left(&book), 930_000);
    act_as(&mut book, rm, &Action::Undo);
    assert_eq!(left(&book), 910_000);
    assert_eq!(book.refused(&Action::Undo).rule, "undo_in_use");
    assert_eq!(left(&book), 910_000, "never counted twice");
    assert_sound(&mut book);
}

#[test]
fn a_tray_is_never_left_without_a_place() {
    let (mut book, trays, _) = third_day();
    let free: Vec<PlaceId> = book.board().free_places().iter().map(|p| p.id).collect();
    let correction = Correction::Place { tray: trays[1], place: free[1] };
    book.act(&Action::Correct { entry: EntryId(3), correction, reason: "misread".into(), second: None });
    book.act(&Action::Undo);
    let refusal = book.refused(&Action::Undo);
    assert_eq!(refusal.rule, "undo_nowhere");
    assert_eq!(card(&book, trays[1]).place.label(), "A 1-2");
    assert_sound(&mut book);
}

#[test]
fn of_many_trays_only_what_was_not_put_right_since_comes_back() {
    let (mut book, trays, rm) = third_day();
    for tray in &trays {
        book.act(&lit(*tray));
    }
    let glance = Look { trays: trays.clone(), basis: Basis::Shelf, watered: true, ..Look::of(trays[0]) };
    let glance = Action::Look(Box::new(Look { roots: Some(Roots::Plenty), ..glance }));
    let glance = typed(&mut book, "2026-07-03T09:00", &glance);
    let right = act_as(&mut book, rm, &hands(glance, Some("2026-07-03T08:00"), rm)).entry;
    let grade = Look { trays: vec![trays[0]], roots: Some(Roots::Full), ..Look::of(trays[0]) };
    let correction = Correction::Look(Box::new(grade));
    book.act(&Action::Correct { entry: right, correction, reason: "slip".into(), second: None });
    assert_eq!(refused_as(&mut book, rm, &Action::Undo).rule, "undo_in_use");
    book.act(&Action::Undo);
    act_as(&mut book, rm, &Action::Undo);
    let conn = raw(&book.path);
    let seen = |tray: TrayId| {
        let text = "SELECT group_concat(seen_at) FROM look WHERE tray_id = ? AND void_by IS NULL AND roots IS NOT NULL";
        conn.query_row(text, [tray.0], |row| row.get::<_, String>(0)).unwrap()
    };
    let at = ["2026-07-03T08:00:00Z", "2026-07-03T09:00:00Z", "2026-07-03T09:00:00Z"];
    assert_eq!([seen(trays[0]), seen(trays[1]), seen(trays[2])], at, "one look a tray");
    assert_sound(&mut book);
}

#[test]
fn the_day_of_a_batch_put_right_is_taken_back_with_all_that_hangs_on_it() {
    let (mut book, ..) = third_day();
    let card = card(&book, TrayId(1));
    let entry = book.store.history(Of::Sowing(card.sowing), None, 99).unwrap().pop().unwrap().id;
    let known = book.store.entry(entry).unwrap();
    let (sowing, crop, seed) = (card.sowing, card.crop, known.sowings[0].seed.clone());
    let day = card.sown - Duration::days(2);
    let correction = Correction::Sowing { sowing, crop, day, seed, after: known.after };
    book.act(&Action::Correct { entry, correction, reason: "the calendar was misread".into(), second: None });
    assert_eq!(book.board().tray(TrayId(1)).unwrap().sown, day);
    book.act(&Action::Undo);
    assert_eq!(book.board().tray(TrayId(1)).unwrap().sown, card.sown);
    assert_sound(&mut book);
}
