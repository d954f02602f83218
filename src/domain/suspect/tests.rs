use super::*;

fn at(time: &str) -> Instant {
    Instant::parse(&format!("2026-07-13T{time}:00Z")).unwrap()
}

fn now(time: &str) -> Now {
    Now(chrono::DateTime::parse_from_rfc3339(&format!("2026-07-13T{time}Z")).unwrap())
}

fn fuzz(entry: i64, mist: Mist, verdict: Option<Verdict>) -> Event {
    let day = "2026-07-13".parse().unwrap();
    let (entry, at) = (EntryId(entry), at("06:00"));
    Event::Fuzz(Found { entry, at, day, mist, verdict, signs: Signs::default(), bad: 0 })
}

fn check(entry: i64, mist: Mist, verdict: Verdict) -> Event {
    fuzz(entry, mist, Some(verdict))
}

/// The same with what it showed, and its points for mould or rot.
fn showing(event: Event, signs: &[Sign], bad: i64) -> Event {
    match event {
        Event::Fuzz(found) => Event::Fuzz(Found { signs: Signs::of(signs), bad, ..found }),
        Event::Cleared(_) => event,
    }
}

fn clear(entry: i64) -> Event {
    Event::Cleared(EntryId(entry))
}

fn entries(events: &[Event]) -> Vec<i64> {
    counting(events).iter().map(|found| found.entry.0).collect()
}

const HAIRS: Verdict = Verdict::Hairs;

#[test]
fn doubt_ends_with_an_answer_what_stood_with_a_clear_and_what_was_named_never() {
    let (doubt, stood) = (fuzz(1, Mist::Untested, None), fuzz(2, Mist::Stands, None));
    let mould = check(3, Mist::Stands, Verdict::Mould);
    let hairs = check(4, Mist::Down, HAIRS);
    assert_eq!(entries(&[doubt]), [1]);
    assert_eq!(entries(&[doubt, hairs]), [0; 0]);
    assert_eq!(entries(&[stood, hairs]), [2]);
    assert_eq!(entries(&[stood, hairs, clear(5)]), [0; 0]);
    assert_eq!(entries(&[mould, hairs, clear(5)]), [3]);
    assert_eq!(entries(&[hairs, doubt]), [1]);
}

#[test]
fn a_check_is_answered_by_a_check_only_and_what_hairs_never_show_by_a_clear_only() {
    let doubt = check(1, Mist::Down, Verdict::CannotTell);
    let (down, hairs) = (fuzz(3, Mist::Down, None), check(4, Mist::Down, HAIRS));
    assert_eq!(entries(&[fuzz(1, Mist::Untested, None), down]), [0; 0]);
    assert_eq!(entries(&[doubt, down]), [1], "nobody checked where it sits");
    assert_eq!(entries(&[doubt, down, hairs]), [0; 0]);
    let grey = showing(doubt, &[Sign::Vanishes, Sign::Coloured], 1);
    let near = showing(doubt, &[Sign::Vanishes, Sign::Wider], 6);
    for lasting in [grey, near] {
        assert_eq!(entries(&[lasting, down, hairs]), [1], "{lasting:?}");
        assert_eq!(evidence(&[lasting, hairs], false).map_err(|refusal| refusal.rule), Ok(EntryId(4)));
        assert_eq!(entries(&[lasting, hairs, clear(5)]), [0; 0]);
    }
    assert_eq!(entries(&[showing(doubt, &[Sign::Vanishes, Sign::Wider], 5), hairs]), [0; 0]);
    // hairs that had points against them are hairs
    assert_eq!(entries(&[showing(hairs, &[Sign::Vanishes], 6)]), [0; 0]);
}

#[test]
fn what_came_after_a_clear_or_was_not_known_then_counts() {
    let (stood, hairs) = (fuzz(2, Mist::Stands, None), check(4, Mist::Down, HAIRS));
    assert_eq!(entries(&[stood, hairs, clear(5), fuzz(6, Mist::Untested, None)]), [6]);
    assert_eq!(entries(&[stood, hairs, clear(5), fuzz(6, Mist::Stands, None)]), [6]);
    // seen before the clear, and typed after it: whoever cleared did not know
    assert_eq!(entries(&[fuzz(6, Mist::Stands, None), hairs, clear(5)]), [6]);
    assert_eq!(entries(&[fuzz(6, Mist::Stands, None), hairs, clear(5), clear(7)]), [0; 0]);
}

#[test]
fn a_clear_rests_on_the_newest_check_and_on_nothing_else() {
    let (stood, hairs) = (fuzz(2, Mist::Stands, None), check(4, Mist::Down, HAIRS));
    let rule = |events: &[Event], lost| evidence(events, lost).map_err(|refusal| refusal.rule);
    assert_eq!(rule(&[stood, hairs], false), Ok(EntryId(4)));
    for events in [
        vec![stood],
        vec![hairs, stood],
        // lay down, but nobody checked where it sits
        vec![stood, fuzz(5, Mist::Down, None)],
        vec![stood, hairs, check(5, Mist::Down, Verdict::CannotTell)],
        vec![stood, hairs, fuzz(5, Mist::Untested, None)],
    ] {
        assert_eq!(rule(&events, false), Err("clear_evidence"), "{events:?}");
    }
    assert_eq!(rule(&[check(1, Mist::Stands, Verdict::Rot), hairs], false), Err("clear_named"));
    assert_eq!(rule(&[stood, hairs], true), Err("clear_named"), "part of it went to mould");
}

#[test]
fn untested_fuzz_wants_one_to_four_hours_anything_else_a_day() {
    let soon = NextLook::after(at("06:00"), true);
    assert_eq!((soon.from, soon.by), (at("07:00"), at("10:00")));
    assert_eq!([soon.overdue(now("10:00:00")), soon.overdue(now("10:00:01"))], [false, true]);
    assert_eq!(soon.words(now("06:30:00")), "next look between 07:00 and 10:00");
    assert_eq!(soon.words(now("09:00:00")), "next look by 10:00");
    assert_eq!(soon.words(now("10:30:00")), "OVERDUE: next look was due by 10:00");
    let day = NextLook::after(at("06:00"), false);
    assert_eq!(day.words(now("06:30:00")), "next look by Tue 14 Jul 06:00");
}

#[test]
fn the_worst_reason_is_told() {
    let found = |events: &[Event], lost| Reason::of(&counting(events), lost);
    let stood = fuzz(2, Mist::Stands, None);
    let doubt = check(3, Mist::Down, Verdict::CannotTell);
    assert_eq!(found(&[fuzz(1, Mist::Untested, None)], false), Reason::Untested);
    assert_eq!(found(&[doubt], false), Reason::Doubt(Verdict::CannotTell));
    let grey = showing(doubt, &[Sign::Coloured], 1);
    assert_eq!(found(&[grey, doubt, check(4, Mist::Down, HAIRS)], false), Reason::Veto(Sign::Coloured));
    assert_eq!(found(&[stood, doubt, grey], false), Reason::Stood);
    assert_eq!(found(&[stood], true), Reason::Lost);
    let rot = check(4, Mist::Untested, Verdict::Rot);
    assert_eq!(found(&[rot, stood], true), Reason::Named(Verdict::Rot));
}

#[test]
fn overdue_comes_first_then_the_worst_then_the_soonest() {
    let suspect = |tray, reason, by: &str| Suspect {
        tray: TrayId(tray),
        reason,
        since: at("05:00"),
        next: NextLook { from: at("05:00"), by: at(by) },
        seed: vec![],
        risk: vec![],
        decided: None,
        bar: None,
    };
    let all = [
        suspect(1, Reason::Untested, "09:00"),
        suspect(2, Reason::Stood, "12:00"),
        suspect(3, Reason::Stood, "11:00"),
        suspect(4, Reason::Lost, "13:00"),
        suspect(5, Reason::Untested, "07:00"),
    ];
    let order: Vec<i64> = by_urgency(&all, now("08:00:00")).iter().map(|suspect| suspect.tray.0).collect();
    assert_eq!(order, [5, 4, 3, 2, 1]);
}

#[test]
fn a_close_look_lasts_three_days() {
    let close = CloseLook::of("2026-07-11".parse().unwrap(), Reason::Stood, TrayId(3), Near::Beside);
    assert_eq!(close.words(), "look closely until Tue 14 Jul: fuzz that stood on T0003-S, touching");
}
