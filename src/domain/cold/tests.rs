use super::*;
use crate::domain::id::CropId;
use crate::domain::keeping::{Leg, Place, Reading, Series, Way};

const M: i64 = 60;
const STORE: StoreId = StoreId(1);

fn series(readings: &[(i64, i64)]) -> Series {
    let readings = readings.iter().map(|(minute, dc)| Reading { at_s: minute * M, dc: *dc }).collect();
    Series::new(readings, 60 * M, vec![])
}

fn found(readings: &[(i64, i64)], limits: Limits, sensitive: &[(i64, i64)]) -> Vec<(Kind, i64, i64, bool, i64)> {
    let spells = spells(STORE, &series(readings), &limits, sensitive);
    spells.iter().map(|s| (s.key.kind, s.key.from_s / M, s.to_s / M, s.going_on, s.worst_dc)).collect()
}

#[test]
fn a_spell_is_longer_than_a_door_stands_open() {
    // P: Food Code 3-501.16, 5 °C: 5.0 is fine, 5.1 is not
    let of = |dc, until| found(&[(0, 40), (10, dc), (until, 40)], Limits::default(), &[]);
    assert_eq!(of(51, 40), []);
    assert_eq!(of(51, 41), [(Kind::Warm, 10, 41, false, 51)]);
    assert_eq!(of(50, 41), []);
    // two readings over the limit with a dip between them are two
    let dip = [(0, 60), (40, 40), (50, 90), (90, 70), (130, 40)];
    let two = [(Kind::Warm, 0, 40, false, 60), (Kind::Warm, 50, 130, false, 90)];
    assert_eq!(found(&dip, Limits::default(), &[]), two);
    // nobody has ended it
    assert_eq!(found(&[(0, 40), (10, 80), (50, 85)], Limits::default(), &[]), [(Kind::Warm, 10, 50, true, 85)]);
}

#[test]
fn a_gap_that_ends_warm_was_warm() {
    let morning = found(&[(0, 40), (720, 80), (730, 40)], Limits::default(), &[]);
    assert_eq!(morning, [(Kind::Warm, 0, 730, false, 80)]);
}

#[test]
fn freezing_is_never_allowed_and_cold_is_what_the_store_says() {
    let froze = found(&[(0, 20), (10, -3), (11, 20), (20, 20)], Limits::default(), &[]);
    assert_eq!(froze, [(Kind::Freezing, 10, 11, false, -3)]);
    assert_eq!(found(&[(0, 20), (10, -2), (20, 20)], Limits::default(), &[]), []);
    let basil = Limits { min_dc: 100, max_dc: 150, plan_dc: 120, ..Limits::default() };
    assert_eq!(found(&[(0, 120), (10, 95), (50, 120)], basil, &[]), [(Kind::Cold, 10, 50, false, 95)]);
}

#[test]
fn chilling_is_a_spell_only_while_something_lies_there_that_cold_harms() {
    let cold = [(0, 40), (60, 40), (120, 40)];
    assert_eq!(found(&cold, Limits::default(), &[]), []);
    assert_eq!(found(&cold, Limits::default(), &[(70 * M, 90 * M)]), [(Kind::Chilling, 60, 120, false, 40)]);
}

#[test]
fn a_decision_covers_what_is_no_longer_and_no_worse() {
    let spell = |from, to, worst_dc| Spell {
        key: SpellKey { store: STORE, kind: Kind::Warm, from_s: from },
        to_s: to,
        going_on: false,
        worst_dc,
    };
    let decided = spell(10, 40, 80);
    assert!(spell(10, 40, 80).within(&decided) && spell(20, 30, 70).within(&decided));
    assert!(!spell(10, 41, 80).within(&decided) && !spell(9, 40, 80).within(&decided));
    assert!(!spell(10, 40, 81).within(&decided));
}

fn way(cut: i64, legs: &[(i64, Place)]) -> Way {
    let ends = legs.iter().skip(1).map(|leg| Some(leg.0 * M)).chain([None]);
    let legs = legs.iter().zip(ends).map(|((from, place), to_s)| Leg { from_s: from * M, to_s, place: *place });
    Way { crop: CropId(1), name: "pea".into(), cut_s: cut * M, legs: legs.collect() }
}

#[test]
fn the_clock_runs_from_the_cut_to_the_first_cold_reading_where_it_lies() {
    // P: Food Code 3-501.14, four hours; 5.0 °C is cold enough
    let read = series(&[(0, 40), (60, 60), (75, 50), (90, 40)]);
    let of = |way: &Way, now| clock(way, now * M, |_| Some((&read, 50)));
    let put_away = way(10, &[(10, Place::Outside(Some(210))), (55, Place::Store(STORE))]);
    assert_eq!(of(&put_away, 300), Clock::Cold(65));
    // the cold reading before it was put there says nothing of it
    assert_eq!(of(&put_away, 70), Clock::Running(60));
    let outside = way(10, &[(10, Place::Outside(None))]);
    let state = |minutes: i64| {
        let clock = of(&outside, 10 + minutes);
        (clock.flagged(), clock.alarm(), clock.urgent())
    };
    assert_eq!(
        [119, 120, 239, 240].map(state),
        [(false, false, false), (true, false, true), (true, false, true), (true, true, true)]
    );
    assert_eq!(Clock::Cold(250).words(), "COLD ONLY AFTER 4 h 10 min");
}

#[test]
fn a_store_says_what_it_cannot_be() {
    let of = |limits| NewStore { name: "Walk-in".into(), limits }.check().map_err(|(field, _)| field);
    assert_eq!(of(Limits::default()), Ok(()));
    for (field, limits) in [
        ("max", Limits { max_dc: 601, ..Limits::default() }),
        ("min", Limits { min_dc: 50, ..Limits::default() }),
        ("plan", Limits { plan_dc: 51, ..Limits::default() }),
        ("over", Limits { over_min: 241, ..Limits::default() }),
        ("gap", Limits { gap_min: 0, ..Limits::default() }),
    ] {
        assert_eq!(of(limits), Err(field), "{limits:?}");
    }
    assert_eq!(NewStore { name: " ".into(), limits: Limits::default() }.check().map_err(|e| e.0), Err("name"));
}
