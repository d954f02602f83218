use proptest::prelude::*;

use super::*;

fn verdict(signs: &[Sign]) -> (Verdict, i64, i64, i64) {
    let found = judge(Signs::of(signs), &Points::default()).unwrap();
    (found.verdict, found.hair, found.mould, found.rot)
}

/// The cases of growing.md G5 with the points it names, and their neighbours worked out by hand from its table.
/// Signs, what they come to, and hair, mould and rot.
type Case<'s> = (&'s [Sign], Verdict, (i64, i64, i64));

#[test]
fn the_cases_and_their_neighbours() {
    use Sign::*;
    let cases: &[Case<'_>] = &[
        // as the reference says: hairs +15, mould +12, rot +12, veto
        (&[Vanishes, RoundRoots, OnlyRoot, EarlyDay], Verdict::Hairs, (15, -11, -1)),
        (&[Stands, Web, Patches], Verdict::Mould, (-12, 12, 2)),
        (&[BrownRoots, Falling], Verdict::Rot, (-5, 1, 12)),
        (&[Vanishes, Coloured], Verdict::CannotTell, (0, 1, 0)),
        (&[White], Verdict::CannotTell, (1, 0, 0)),
        // nothing seen
        (&[], Verdict::CannotTell, (0, 0, 0)),
        // the first case without misting, without a sign of place, and with each veto
        (&[RoundRoots, OnlyRoot, EarlyDay], Verdict::LooksLikeHairs, (9, -6, -1)),
        (&[Vanishes, EarlyDay], Verdict::CannotTell, (8, -6, -1)),
        (&[Vanishes], Verdict::CannotTell, (6, -5, 0)),
        (&[Vanishes, Alike], Verdict::Hairs, (8, -7, 0)),
        (&[Vanishes, RoundRoots, OnlyRoot, EarlyDay, Coloured], Verdict::CannotTell, (9, -5, -1)),
        (&[Vanishes, RoundRoots, OnlyRoot, EarlyDay, BrownRoots], Verdict::CannotTell, (12, -11, 5)),
        (&[Vanishes, RoundRoots, OnlyRoot, EarlyDay, Falling], Verdict::CannotTell, (13, -10, 5)),
        // hairs need 6 points
        (&[RoundRoots, White], Verdict::CannotTell, (5, -3, 0)),
        (&[RoundRoots, White, FirmRoots], Verdict::LooksLikeHairs, (6, -3, -4)),
        (&[BackWhenDry, Alike], Verdict::LooksLikeHairs, (6, -5, 0)),
        // and 4 more than the other side
        (&[Vanishes, OnlyRoot, Slime, White], Verdict::CannotTell, (6, -5, 4)),
        (&[Vanishes, OnlyRoot, Slime, BackWhenDry], Verdict::Hairs, (9, -8, 4)),
        // it stood: what looks like hairs is to be misted again
        (&[Stands, RoundRoots, OnlyRoot, BackWhenDry, Alike], Verdict::LooksLikeHairs, (7, -5, 1)),
        // mould and rot need 6 points
        (&[Stands], Verdict::CannotTell, (-6, 5, 1)),
        (&[Coloured], Verdict::Mould, (-6, 6, 0)),
        (&[Stands, LateDay], Verdict::Mould, (-8, 7, 2)),
        // and 4 more than hairs: 12 against 9 is not enough, 12 against 8 is
        (&[Vanishes, RoundRoots, BackWhenDry, BrownRoots, Falling], Verdict::CannotTell, (9, -10, 12)),
        (&[Vanishes, RoundRoots, OnlyRoot, BrownRoots, Falling], Verdict::Rot, (8, -9, 12)),
        // within 1 of each other they are one; 2 apart the larger names it
        (&[BrownRoots, Coloured], Verdict::MouldOrRot, (-9, 6, 6)),
        (&[Wider, Smell], Verdict::MouldOrRot, (-7, 7, 6)),
        (&[Wider, Slime], Verdict::MouldOrRot, (-8, 6, 7)),
        (&[BrownRoots, Coloured, Patches], Verdict::Mould, (-11, 9, 7)),
        (&[Smell, Slime], Verdict::Rot, (-7, 5, 7)),
    ];
    for (signs, expected, sums) in cases {
        let got = verdict(signs);
        assert_eq!((got.0, (got.1, got.2, got.3)), (*expected, *sums), "{signs:?}");
    }
}

#[test]
fn what_excludes_each_other_is_refused_in_a_sentence() {
    let clash = |signs: &[Sign]| judge(Signs::of(signs), &Points::default()).unwrap_err();
    let both = clash(&[Sign::Vanishes, Sign::Stands, Sign::Web]);
    assert_eq!(both.rule, "signs_clash");
    assert!(both.sentence.contains("two spots that differ are two checks"), "{both}");
    for pair in [
        [Sign::EarlyDay, Sign::LateDay],
        [Sign::Alike, Sign::Patches],
        [Sign::OnlyRoot, Sign::OnStems],
        [Sign::FirmRoots, Sign::BrownRoots],
    ] {
        assert_eq!(clash(&pair).rule, "signs_clash");
        let [answered, other] = pair;
        assert!(!open_questions(Signs::of(&[answered]), &Points::default()).contains(&other), "{answered:?}");
    }
}

#[test]
fn two_spots_that_differ_are_hairs_and_mould() {
    for bad in [Verdict::Mould, Verdict::Rot, Verdict::MouldOrRot] {
        assert_eq!(
            (bad.beside(Verdict::Hairs), Verdict::Hairs.beside(bad)),
            (Verdict::HairsAndMould, Verdict::HairsAndMould)
        );
        assert_eq!(bad.beside(Verdict::CannotTell), bad);
    }
    assert_eq!(Verdict::Hairs.beside(Verdict::CannotTell), Verdict::Hairs);
    assert!(Verdict::HairsAndMould.is_bad() && !Verdict::CannotTell.is_bad());
    assert!(Verdict::ALL.iter().all(|v| v.is_suspect() == (*v != Verdict::Hairs)));
}

#[test]
fn the_day_fills_itself_in() {
    let on = |day, first| Signs::default().on_day(day, first).iter().collect::<Vec<_>>();
    assert_eq!(on(1, 1), []);
    assert_eq!((on(2, 2), on(4, 4)), (vec![Sign::EarlyDay], vec![Sign::EarlyDay]));
    assert_eq!((on(5, 5), on(7, 5)), (vec![], vec![]));
    assert_eq!((on(6, 6), on(9, 6)), (vec![Sign::LateDay], vec![Sign::LateDay]));
    // what was filled in for another day goes
    assert_eq!(Signs::of(&[Sign::EarlyDay, Sign::Web]).on_day(5, 5), Signs::of(&[Sign::Web]));
}

#[test]
fn each_verdict_says_why_in_one_sentence() {
    let why = |signs: &[Sign]| judge(Signs::of(signs), &Points::default()).unwrap().why;
    assert_eq!(why(&[Sign::Vanishes, Sign::Coloured]), "Hairs never show this: grey, black, blue or green.");
    assert_eq!(why(&[Sign::Vanishes]), "Nothing says yet where it sits: on the roots, or elsewhere.");
    assert_eq!(
        why(&[Sign::Stands, Sign::Web, Sign::Patches]),
        "The signs of mould have 12 points against -12 for hairs."
    );
    assert!(why(&[Sign::White]).starts_with("The signs are too few"));
    assert!(why(&[Sign::Vanishes, Sign::OnlyRoot, Sign::Slime, Sign::White]).starts_with("The signs speak against"));
}

#[test]
fn the_misting_test_is_asked_first_and_once() {
    let points = Points::default();
    let open = open_questions(Signs::default(), &points);
    assert_eq!(open.get(..2), Some(&[Sign::Vanishes, Sign::Stands][..]));
    assert!(!open.contains(&Sign::EarlyDay) && !open.contains(&Sign::LateDay));
    for misted in [Sign::Vanishes, Sign::Stands] {
        assert!(!open_questions(Signs::of(&[misted]), &points).contains(&Sign::Stands));
        assert!(!open_questions(Signs::of(&[misted]), &points).contains(&Sign::Vanishes));
    }
    // where it sits decides, its brightness hardly
    let next = open_questions(Signs::of(&[Sign::Vanishes]), &points);
    assert!(next.iter().position(|s| *s == Sign::OnlyRoot) < next.iter().position(|s| *s == Sign::White));
}

/// The first of them that one spot can show together.
fn together(order: Vec<Sign>, n: usize) -> Vec<Sign> {
    let mut signs = Signs::default();
    let mut some = Vec::new();
    for sign in order {
        if some.len() < n && signs.goes_with(sign) {
            signs = signs.with(sign);
            some.push(sign);
        }
    }
    some
}

/// Every subset of the signs left that makes a difference, by trying all of them with `judge`.
fn by_force(signs: Signs, points: &Points) -> Vec<Sign> {
    let left: Vec<Sign> = ASKED.into_iter().filter(|sign| !signs.has(*sign)).collect();
    let differs = |sign: Sign, set: u32| {
        let others = left.iter().enumerate().filter(|(n, other)| set & (1 << n) != 0 && **other != sign);
        let base = others.fold(signs, |set, (_, other)| set.with(*other));
        match (judge(base, points), judge(base.with(sign), points)) {
            (Ok(a), Ok(b)) => a.verdict != b.verdict,
            _ => false,
        }
    };
    left.iter().copied().filter(|sign| (0..1 << left.len()).any(|set| differs(*sign, set))).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_order_of_answers_changes_a_verdict(
        order in Just(Sign::ALL.to_vec()).prop_shuffle(), other in any::<u64>(), n in 0usize..12,
    ) {
        let some = together(order, n);
        let mut turned = some.clone();
        turned.sort_by_key(|s| (*s as u64 + 1).wrapping_mul(other | 1));
        let answered = |signs: &[Sign]| {
            let mut set = Signs::default();
            let mut last = judge(set, &Points::default());
            for sign in signs {
                set = set.with(*sign);
                last = judge(set, &Points::default());
            }
            last
        };
        prop_assert_eq!(answered(&some), answered(&turned));
    }

    #[test]
    fn no_sign_that_could_change_it_is_left_out(
        order in Just(Sign::ALL.to_vec()).prop_shuffle(), n in 8usize..16,
    ) {
        let signs = Signs::of(&together(order, n));
        let mut open = open_questions(signs, &Points::default());
        open.sort();
        let mut truth = by_force(signs, &Points::default());
        truth.sort();
        prop_assert_eq!(open, truth);
    }
}
