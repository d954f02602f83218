//! Fuzz checks in the book: signs become a verdict, and the verdict says what may be done with the tray.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::fuzz::{Extent, Points, Sign, Signs, Verdict, Weight};
use rackwalk::domain::history::Of;
use rackwalk::domain::id::{PersonId, TrayId};
use rackwalk::domain::look::{Look, Mist, Roots};
use rackwalk::domain::suspect::Choice;
use rackwalk::domain::tray::{Gear, LossReason, Stage, TrayCard};
use rackwalk::domain::walk::Mode;

use super::{assert_sound, person, raw, refused_as};
use crate::book::{AK, Book};

/// One radish tray on its third day.
fn third_day() -> (Book, TrayId) {
    let mut book = Book::room();
    let lot = book.seed("RAD", 500);
    let tray = book.sow("RAD", lot, 1)[0];
    book.later(Duration::days(3));
    (book, tray)
}

fn card(book: &Book, tray: TrayId) -> TrayCard {
    book.board().tray(tray).unwrap().clone()
}

fn check(tray: TrayId, signs: &[Sign]) -> Look {
    Look { signs: Signs::of(signs), ..Look::of(tray) }
}

fn written(book: &mut Book, look: Look) -> (Option<Verdict>, bool, bool, bool) {
    let tray = look.trays[0];
    book.act(&Action::Look(Box::new(look)));
    let card = card(book, tray);
    (card.last.unwrap().verdict, card.suspect, card.stood, card.bad)
}

/// Signs, and what the book makes of them.
type Case<'s> = (&'s [Sign], (Verdict, bool, bool, bool));

#[test]
fn a_check_is_judged_when_it_is_written() {
    use Sign::*;
    // what a check that says hairs does not answer: what was named or stood, or showed what hairs never show
    let lasts = |signs: &[Sign], stays| stays || signs.contains(&Coloured);
    // verdict, suspect, stays suspect, not for sale
    let cases: &[Case<'_>] = &[
        (&[Vanishes, RoundRoots, OnlyRoot], (Verdict::Hairs, false, false, false)),
        (&[RoundRoots, OnlyRoot], (Verdict::LooksLikeHairs, true, false, false)),
        (&[Vanishes], (Verdict::CannotTell, true, false, false)),
        (&[Vanishes, Coloured], (Verdict::CannotTell, true, false, false)),
        // it stood: that alone stays until a person decides
        (&[Stands], (Verdict::CannotTell, true, true, false)),
        (&[Stands, Web, Patches], (Verdict::Mould, true, true, true)),
        (&[BrownRoots, Falling], (Verdict::Rot, true, true, true)),
        (&[Wider, Slime, Smell], (Verdict::MouldOrRot, true, true, true)),
    ];
    for (signs, (verdict, suspect, stays, bad)) in cases {
        let (mut book, tray) = third_day();
        assert_eq!(written(&mut book, check(tray, signs)), (Some(*verdict), *suspect, *stays, *bad), "{signs:?}");
        assert_sound(&mut book);
        book.later(Duration::days(1));
        book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Down), ..Look::of(tray) })));
        assert_eq!(card(&book, tray).suspect, *suspect, "that it lay down answers no check: {signs:?}");
        book.act(&Action::Undo);
        written(&mut book, check(tray, &[Vanishes, OnlyRoot]));
        assert_eq!((card(&book, tray).suspect, card(&book, tray).bad), (lasts(signs, *stays), *bad), "{signs:?}");
        book.act(&Action::Undo);
        assert_eq!((card(&book, tray).suspect, card(&book, tray).bad), (*suspect, *bad), "{signs:?}");
        assert_sound(&mut book);
    }
}

#[test]
fn a_tray_on_which_mould_or_rot_was_named_is_not_cut() {
    for signs in [&[Sign::Stands, Sign::Web, Sign::Patches][..], &[Sign::BrownRoots, Sign::Falling]] {
        let (mut book, tray) = third_day();
        book.act(&Action::Move { walk: None, tray, to: None, stage: Some(Stage::Lit) });
        written(&mut book, check(tray, signs));
        book.later(Duration::days(5));
        let refused = book.refused(&Action::Cut { trays: vec![tray] });
        assert!(refused.rule.starts_with("cut_"), "{refused:?}");
    }
}

#[test]
fn the_day_is_filled_in_by_the_book_whatever_is_sent() {
    let (mut book, tray) = third_day();
    written(&mut book, check(tray, &[Sign::Vanishes, Sign::OnlyRoot]));
    assert!(card(&book, tray).last.unwrap().signs.has(Sign::EarlyDay));
    // late fuzz that was first seen early is not late
    book.later(Duration::days(4));
    written(&mut book, check(tray, &[Sign::White, Sign::EarlyDay]));
    let last = card(&book, tray).last.unwrap();
    assert_eq!(last.signs, Signs::of(&[Sign::White]));
    let (mut book, tray) = third_day();
    book.later(Duration::days(3));
    written(&mut book, check(tray, &[Sign::White]));
    assert!(card(&book, tray).last.unwrap().signs.has(Sign::LateDay));
}

#[test]
fn two_spots_that_differ_are_two_checks_of_one_walk() {
    let (mut book, tray) = third_day();
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    let hairs = Look { walk, ..check(tray, &[Sign::Vanishes, Sign::OnlyRoot]) };
    let mould = Look { walk, extent: Some(Extent::Patch), ..check(tray, &[Sign::Stands, Sign::Web, Sign::Patches]) };
    written(&mut book, hairs);
    assert_eq!(written(&mut book, mould), (Some(Verdict::HairsAndMould), true, true, true));
    let checks: Vec<Verdict> = card(&book, tray).checks.iter().map(|check| check.verdict).collect();
    assert_eq!(checks, [Verdict::Mould, Verdict::Hairs], "each keeps its own");
    let story = book.store.history(Of::Tray(tray), None, 1).unwrap();
    assert_eq!(
        story[0].text,
        "T0001-W: fuzz, stands when misted, web from seed to seed, over stems or bare mat, in patches, day 2 to 4, a patch; mould; suspect from then on"
    );
    assert_sound(&mut book);
}

#[test]
fn a_grade_of_the_same_stop_never_replaces_a_check() {
    let (mut book, tray) = third_day();
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    for (signs, suspect) in [(&[Sign::Vanishes, Sign::OnlyRoot][..], false), (&[Sign::Vanishes], true)] {
        written(&mut book, Look { walk, ..check(tray, signs) });
        book.act(&Action::Look(Box::new(Look { walk, roots: Some(Roots::Full), ..Look::of(tray) })));
        assert_eq!((card(&book, tray).suspect, card(&book, tray).last.unwrap().roots), (suspect, Some(Roots::Full)));
        let checks = card(&book, tray).checks;
        assert_eq!(checks.len(), 1);
        assert_eq!(checks[0].signs, Signs::of(signs).with(Sign::EarlyDay));
        assert_sound(&mut book);
        book.act(&Action::Undo);
        book.act(&Action::Undo);
    }
}

#[test]
fn a_clear_outlives_the_grade_that_follows_its_check_on_the_same_walk() {
    let (mut book, tray) = third_day();
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(tray) })));
    book.later(Duration::days(1));
    let walk = book.act(&Action::StartWalk { mode: Mode::Both, racks: None }).made.map(rackwalk::domain::id::WalkId);
    written(&mut book, Look { walk, ..check(tray, &[Sign::Vanishes, Sign::RoundRoots, Sign::OnlyRoot]) });
    let reason = "fibres only at the roots".into();
    book.act(&Action::DecideSuspect { walk: None, tray, what: Choice::Clear, by: AK, reason });
    assert!(!card(&book, tray).suspect);
    book.act(&Action::Look(Box::new(Look { walk, roots: Some(Roots::Full), ..Look::of(tray) })));
    assert!(!card(&book, tray).suspect);
    assert_sound(&mut book);
}

#[test]
fn named_mould_is_taken_back_by_two_only_and_a_corrected_check_keeps_its_signs() {
    let (mut book, tray) = third_day();
    written(&mut book, check(tray, &[Sign::Coloured, Sign::Web]));
    let story = book.store.history(Of::Tray(tray), None, 1).unwrap();
    let entry = story[0].id;
    let correct = |correction| Action::Correct { entry, correction, reason: "misread".into(), second: None };
    assert_eq!(book.refused(&correct(Correction::Never)).rule, "correct_finding");
    let read = book.store.entry(entry).unwrap().look.unwrap();
    assert_eq!(read.signs, Signs::of(&[Sign::Coloured, Sign::Web, Sign::EarlyDay]));
    let plain = Look { signs: Signs::default(), fuzz: Some(Mist::Down), ..read.clone() };
    assert_eq!(book.refused(&correct(Correction::Look(Box::new(plain)))).rule, "correct_finding");
    book.act(&correct(Correction::Look(Box::new(Look { roots: Some(Roots::Full), ..read }))));
    let card = card(&book, tray);
    assert_eq!((card.bad, card.last.unwrap().verdict), (true, Some(Verdict::Mould)));
    assert_sound(&mut book);
}

#[test]
fn other_points_judge_what_comes_and_not_what_was() {
    let (mut book, tray) = third_day();
    written(&mut book, check(tray, &[Sign::Coloured, Sign::Web]));
    let mut points = Points::default();
    points.set(Sign::Coloured, Weight { hair: 0, mould: 2, rot: 0 });
    book.act(&Action::EditFuzzPoints(Box::new(points.clone())));
    assert_eq!(book.board().fuzz_points, Points { version: 1, ..points.clone() });
    let verdicts = |book: &Book| -> Vec<(String, i64)> {
        let conn = raw(&book.path);
        let mut select = conn.prepare("SELECT verdict, points_version FROM verdict ORDER BY entry_id").unwrap();
        let rows = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        rows.map(Result::unwrap).collect()
    };
    book.later(Duration::hours(1));
    written(&mut book, check(tray, &[Sign::Coloured, Sign::Web]));
    assert_eq!(verdicts(&book), [("mould".into(), 0), ("cannot_tell".into(), 1)]);
    let story = book.store.history(Of::Everything, None, 2).unwrap();
    let told = "points of fuzz signs, version 1: grey, black, blue or green from hair -6, mould 6, rot 0 to hair 0, mould 2, rot 0";
    assert_eq!(story[1].text, told);
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!(book.board().fuzz_points, Points::default());
    // a version that was taken back keeps its number
    book.act(&Action::EditFuzzPoints(Box::new(points)));
    assert_eq!(book.board().fuzz_points.version, 2);
    assert_sound(&mut book);
}

fn never(entry: rackwalk::domain::id::EntryId, second: Option<PersonId>) -> Action {
    Action::Correct { entry, correction: Correction::Never, reason: "another tray".into(), second }
}

#[test]
fn a_loss_to_mould_is_taken_back_by_two_people() {
    let (mut book, tray) = third_day();
    let rm = person(&mut book, "RM", false);
    let (reason, gear) = (LossReason::Mould, Gear::Binned);
    let thrown = book.act(&Action::Throw { walk: None, tray, reason, gear, cleanup: None, note: None }).entry;
    book.later(Duration::days(1));
    assert_eq!(book.refused(&never(thrown, None)).rule, "correct_finding");
    assert_eq!(book.refused(&never(thrown, Some(AK))).rule, "correct_finding");
    book.act(&never(thrown, Some(rm)));
    assert!(!card(&book, tray).bad);
    assert_sound(&mut book);
}

#[test]
fn undo_takes_a_finding_back_only_while_it_may_be_a_slip() {
    for look in [check(TrayId(1), &[Sign::Stands, Sign::Web]), Look { fuzz: Some(Mist::Stands), ..Look::of(TrayId(1)) }]
    {
        let (mut book, tray) = third_day();
        book.act(&Action::Look(Box::new(look.clone())));
        book.later(Duration::minutes(5));
        book.act(&Action::Undo);
        assert!(!card(&book, tray).suspect);
        book.act(&Action::Look(Box::new(look)));
        book.later(Duration::minutes(5) + Duration::seconds(1));
        assert_eq!(book.refused(&Action::Undo).rule, "undo_finding");
        assert!(card(&book, tray).suspect);
    }
    // what is no finding is taken back all day
    let (mut book, tray) = third_day();
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Untested), ..Look::of(tray) })));
    book.later(Duration::hours(5));
    book.act(&Action::Undo);
}

#[test]
fn a_check_put_right_counts_by_the_points_of_its_time() {
    let (mut book, tray) = third_day();
    let rm = person(&mut book, "RM", false);
    let mould = check(tray, &[Sign::Coloured, Sign::Web]);
    let entry = book.act(&Action::Look(Box::new(mould.clone()))).entry;
    assert!(card(&book, tray).bad);
    let mut points = Points::default();
    points.set(Sign::Web, Weight::default());
    points.set(Sign::Coloured, Weight::default());
    let edit = Action::EditFuzzPoints(Box::new(points));
    assert_eq!(refused_as(&mut book, rm, &edit).rule, "may_not_decide");
    book.act(&edit);
    let dry = Look { watered: true, ..mould };
    let correction = Correction::Look(Box::new(Look { signs: card(&book, tray).last.unwrap().signs, ..dry }));
    book.act(&Action::Correct { entry, correction, reason: "it was watered".into(), second: None });
    assert!(card(&book, tray).bad && card(&book, tray).last.unwrap().verdict == Some(Verdict::Mould));
    assert_sound(&mut book);
}

#[test]
fn of_two_spots_each_keeps_its_own_verdict() {
    let (mut book, tray) = third_day();
    let rm = person(&mut book, "RM", false);
    let mould = book.act(&Action::Look(Box::new(check(tray, &[Sign::Stands, Sign::Web, Sign::Patches])))).entry;
    assert_eq!(written(&mut book, check(tray, &[Sign::Vanishes, Sign::OnlyRoot])).0, Some(Verdict::HairsAndMould));
    book.act(&never(mould, Some(rm)));
    let card = card(&book, tray);
    assert_eq!((card.last.unwrap().verdict, card.bad, card.suspect), (Some(Verdict::Hairs), false, false));
    assert_sound(&mut book);
}
