//! Signs, flags and days of trays.

use super::super::id::{PlaceId, PlanId, RackId};
use super::*;

pub fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// Radish in its third day at place A 1-1.
pub fn card(id: i64) -> TrayCard {
    TrayCard {
        id: TrayId(id),
        sowing: SowingId(1),
        sowing_code: "B0001-0".into(),
        crop: CropId(1),
        letters: "RAD".into(),
        crop_name: "radish".into(),
        roots_hidden: false,
        hairs_expected: true,
        sown: day("2026-07-10"),
        known: day("2026-07-10"),
        plan: Plan {
            id: PlanId(1),
            version: 1,
            soak_h: 0,
            cover_d: 4,
            cut_from_d: 6,
            cut_to_d: 10,
            seeds_dm2: None,
            source: String::new(),
            roots: vec![(1, Roots::None), (2, Roots::Peeking)],
        },
        forecast: None,
        stage: Stage::Lit,
        place: Place {
            id: PlaceId(id),
            rack: RackId(1),
            rack_name: "A".into(),
            rack_sort: 1,
            shelf: 1,
            pos: id,
            zone: Zone::Lit,
            stack: 1,
        },
        from_top: 1,
        stacked: 1,
        mats_left: 1,
        usual_g: None,
        last: None,
        watered_on: None,
        fuzz_since: None,
        checks: Vec::new(),
        suspect: false,
        stood: false,
        bad: false,
        next_look: None,
        doubt: None,
        close_look: None,
        wait_until: None,
        treated: vec![],
        held: false,
    }
}

pub fn looked(on: &str) -> LastLook {
    LastLook {
        day: day(on),
        basis: Basis::Tray,
        roots: Some(Roots::Plenty),
        stand: None,
        fuzz: None,
        signs: Signs::default(),
        extent: None,
        verdict: None,
        faults: Faults::default(),
        who: "AK".into(),
    }
}

fn noon(on: &str) -> Now {
    Now(day(on).and_hms_opt(12, 0, 0).unwrap().and_utc().fixed_offset())
}

#[test]
fn every_tray_is_due_every_day_after_its_sowing() {
    let new = card(1);
    assert!(!new.look_due(day("2026-07-10")));
    assert_eq!(new.sign(noon("2026-07-10")), Sign::New);
    assert!(new.look_due(day("2026-07-11")) && !new.look_late(day("2026-07-11")));
    assert!(new.look_late(day("2026-07-12")));
    let stood = TrayCard { known: day("2026-07-12"), ..card(1) };
    assert_eq!(stood.sign(noon("2026-07-12")), Sign::Due);
    assert_eq!(stood.sign(noon("2026-07-14")), Sign::Late);
    let seen = TrayCard { last: Some(looked("2026-07-12")), ..card(1) };
    assert_eq!(seen.sign(noon("2026-07-12")), Sign::Looked);
    assert_eq!(seen.sign(noon("2026-07-13")), Sign::Due);
    assert_eq!(seen.sign(noon("2026-07-14")), Sign::Late);
}

#[test]
fn safety_signs_stand_above_everything_else() {
    let worst = TrayCard { held: true, suspect: true, ..card(1) };
    assert_eq!(worst.sign(noon("2026-07-13")), Sign::Held);
    assert_eq!(TrayCard { suspect: true, ..card(1) }.sign(noon("2026-07-13")), Sign::Suspect);
    let ready = TrayCard { last: Some(looked("2026-07-17")), ..card(1) };
    assert_eq!(ready.sign(noon("2026-07-17")), Sign::Ready);
    assert!(ready.may_be_cut(noon("2026-07-17")));
    let until = |text| Instant::parse(text);
    let treated = TrayCard { wait_until: until("2026-07-17T12:00:01Z"), ..ready.clone() };
    assert_eq!(treated.sign(noon("2026-07-17")), Sign::Waiting);
    let over = TrayCard { wait_until: until("2026-07-17T12:00:00Z"), ..ready.clone() };
    assert_eq!(over.sign(noon("2026-07-17")), Sign::Ready);
    for barred in [
        treated,
        TrayCard { suspect: true, ..ready.clone() },
        TrayCard { bad: true, ..ready.clone() },
        TrayCard { held: true, ..ready.clone() },
    ] {
        assert!(barred.ready(day("2026-07-17")) && !barred.may_be_cut(noon("2026-07-17")), "{barred:?}");
    }
    assert_eq!(TrayCard { suspect: true, ..ready }.sign(noon("2026-07-17")), Sign::Suspect);
}

#[test]
fn a_shelf_glance_leaves_out_whatever_wants_care() {
    assert_eq!(card(1).needs_own_look(day("2026-07-13")), None);
    let covered = Place { zone: Zone::Covered, ..card(1).place };
    let apart = Place { zone: Zone::Isolation, ..card(1).place };
    let odd = LastLook { faults: Faults(1), ..looked("2026-07-12") };
    for own in [
        TrayCard { stage: Stage::Covered, ..card(1) },
        TrayCard { place: covered, ..card(1) },
        TrayCard { place: apart, ..card(1) },
        TrayCard { suspect: true, ..card(1) },
        TrayCard { held: true, ..card(1) },
        TrayCard { last: Some(odd), ..card(1) },
    ] {
        assert!(own.needs_own_look(day("2026-07-13")).is_some(), "{own:?}");
    }
}

#[test]
fn hairs_are_expected_on_days_two_to_four() {
    let seen: Vec<bool> = (10..=16).map(|d| card(1).hairs_time(day(&format!("2026-07-{d}")))).collect();
    assert_eq!(seen, [false, false, true, true, true, false, false]);
    assert!(!TrayCard { hairs_expected: false, ..card(1) }.hairs_time(day("2026-07-12")));
}
