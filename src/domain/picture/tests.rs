//! Pictures of ordinary weeks and of odd ones.

use proptest::prelude::*;

use super::*;
use crate::domain::text::columns;

fn row(label: &str, values: &[f64], mean: f64, interval: (f64, f64)) -> DotRow {
    let (mean, interval) = (Some(mean), Some(interval));
    DotRow { label: label.into(), values: values.to_vec(), mean, interval, odd: Vec::new() }
}

/// An invented room's week: three crops, one slip of the pen.
pub fn dots() -> Dots {
    let radish = [231.0, 198.0, 262.0, 240.0, 255.0, 244.0, 219.0, 281.0, 236.0, 239.0, 248.0, 228.0, 240.0, 241.0];
    let mut pea = row("pea shoots", &[318.0, 341.0, 305.0, 41.0, 333.0, 322.0, 329.0, 311.0], 323.0, (311.0, 334.0));
    pea.odd = vec![false, false, false, true];
    Dots {
        title: "Grams per tray".into(),
        unit: "g".into(),
        each: "tray".into(),
        rows: vec![
            row("radish", &radish, 240.0, (228.0, 252.0)),
            row("broccoli", &[172.0, 190.0, 168.0, 181.0, 177.0], 177.6, (167.0, 188.0)),
            pea,
            DotRow { label: "basil".into(), values: vec![121.0], ..DotRow::default() },
        ],
    }
}

pub fn runs() -> Runs {
    let values = [238.0, 244.0, 231.0, 249.0, 240.0, 236.0, 252.0, 228.0, 243.0, 239.0, 182.0];
    let mut points: Vec<(String, Option<f64>)> =
        (37..).zip(values).map(|(week, x)| (format!("W{week}"), Some(x))).collect();
    if let Some(point) = points.get_mut(4) {
        point.1 = None;
    }
    let signal = (0..11).map(|n| n == 10).collect();
    Runs {
        title: "Radish, median grams per tray by week".into(),
        unit: "g".into(),
        points,
        centre: Some(240.0),
        centre_label: "median".into(),
        limits: Some((203.5, 276.5)),
        signal,
        smoothed: vec![Some(240.0), None, Some(238.0), Some(241.0), None, Some(240.0), Some(243.0)],
    }
}

pub fn bars() -> Bars {
    let bar =
        |label: &str, n: u32| (label.to_string(), u64::from(n), format!("{n} of 64, {:.0} %", f64::from(n) / 0.64));
    let bars = vec![bar("mould", 5), bar("poor germination", 3), bar("dried out", 1), bar("dropped", 0)];
    Bars { title: "Trays lost, by reason".into(), each: "tray".into(), bars }
}

pub fn heat() -> Heat {
    let shelf = |name: &str, places: &[(u64, u64)]| {
        (name.to_string(), places.iter().map(|(x, n)| (*n > 0).then_some((*x, *n))).collect())
    };
    let racks = vec![
        HeatRack {
            name: "A".into(),
            shelves: vec![
                shelf("4", &[(0, 6), (0, 5), (1, 6), (0, 6)]),
                shelf("3", &[(0, 6), (0, 6), (0, 6), (0, 4)]),
                shelf("2", &[(2, 6), (3, 6), (4, 6), (1, 5)]),
                shelf("1", &[(0, 6), (0, 0), (1, 6), (0, 6)]),
            ],
        },
        HeatRack {
            name: "B".into(),
            shelves: vec![
                shelf("3", &[(0, 6), (1, 1), (0, 6)]),
                shelf("2", &[(0, 6), (0, 6), (0, 6)]),
                shelf("1", &[(0, 6), (0, 6), (1, 12)]),
            ],
        },
    ];
    Heat { title: "Trays lost, by place".into(), what: "lost".into(), racks }
}

pub fn all() -> Vec<Picture> {
    vec![Picture::Dots(dots()), Picture::Runs(runs()), Picture::Bars(bars()), Picture::Heat(heat())]
}

fn told(picture: &Picture, width: usize, ascii: bool) -> String {
    picture.lines(width, ascii).join("\n")
}

#[test]
fn an_ordinary_week_as_it_is_seen() {
    let seen = |width, ascii| all().iter().map(|picture| told(picture, width, ascii)).collect::<Vec<_>>().join("\n\n");
    insta::assert_snapshot!(seen(78, false), @r#"
    Grams per tray
    radish                         •   • 2•42 ••   •               14 trays, 240 g
                                         ├─┃─┤                     228 to 252 g
    broccoli                 •••••                                 5 trays, 178 g
                             ├─┃─┤                                 167 to 188 g
    pea shoots <                                       • ••••••    8 trays, 323 g
                                                         ├─┃─┤     311 to 334 g
    basil           •                                              1 tray, 121 g
                ┬──────────────────┬──────────────────┬──────────
               100                200                300
    Beyond the scale: pea shoots 41 g.
    • one tray, a digit: so many; ├─┃─┤ mean and how far off it may be; × check
    this entry.

    Radish, median grams per tray by week
    300 │
        │
        │┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄ limit 277 g
    250 │                 •              •
        │──•────•────•────~─────────•────~─────────•────•─────── median 240 g
        │                                     •
    200 │┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄ limit 204 g
        │
        │                                                    ◆
        └──┬────┬────┬────┬────┬────┬────┬────┬────┬────┬────┬──
          W37  W38  W39  W40  W41  W42  W43  W44  W45  W46  W47
    ◆ look here: W47 182 g.
    ~ smoothed; no value: W41.

    Trays lost, by reason
    mould             ■ ■ ■ ■ ■  5 of 64, 8 %
    poor germination  ■ ■ ■  3 of 64, 5 %
    dried out         ■  1 of 64, 2 %
    dropped           0 of 64, 0 %
    One ■ is one tray.

    Trays lost, by place
    A                               B
    4  0/6    0/5    1/6▒▒  0/6     3  0/6    1/1██  0/6
    3  0/6    0/6    0/6    0/4     2  0/6    0/6    0/6
    2  2/6▓▓  3/6▓▓  4/6██  1/5▒▒   1  0/6    0/6   1/12░░
    1  0/6      ·    1/6▒▒  0/6
    Most lost on shelf A 2: 10 of 23, 43 % (26 to 63 %); at place A 2-3: 4 of 6,
    67 % (30 to 90 %, few).
    x/n: x of n lost; ░░ up to 10 %, ▒▒ 25 %, ▓▓ 50 %, ██ more; · no tray.
    "#);
    insta::assert_snapshot!(seen(56, true), @r#"
    Grams per tray
    radish                o oo35oo o         14 trays, 240 g
                             [-|]            228 to 252 g
    broccoli           22o                   5 trays, 178 g
                       [|]                   167 to 188 g
    pea shoots <                     oo22o   8 trays, 323 g
                                      [|]    311 to 334 g
    basil         o                          1 tray, 121 g
                +---------+----------+-----
               100       200        300
    Beyond the scale: pea shoots 41 g.
    o one tray, a digit: so many; [-|-] mean and how far off
    it may be; x check this entry.

    Radish, median grams per tray by week
    300 |
        |
        |................................. limit 277 g
    250 |          o        o
        |-o--o--o--~-----o--~-----o--o---- median 240 g
        |                      o
    200 |................................. limit 204 g
        |
        |                               !
        +-+-----+-----+-----+-----+-----+-
         W37   W39   W41   W43   W45   W47
    ! look here: W47 182 g.
    ~ smoothed; no value: W41.

    Trays lost, by reason
    mould             # # # # #  5 of 64, 8 %
    poor germination  # # #  3 of 64, 5 %
    dried out         #  1 of 64, 2 %
    dropped           0 of 64, 0 %
    One # is one tray.

    Trays lost, by place
    A                               B
    4  0/6    0/5    1/6::  0/6     3  0/6    1/1##  0/6
    3  0/6    0/6    0/6    0/4     2  0/6    0/6    0/6
    2  2/6++  3/6++  4/6##  1/5::   1  0/6    0/6   1/12..
    1  0/6      .    1/6::  0/6
    Most lost on shelf A 2: 10 of 23, 43 % (26 to 63 %); at
    place A 2-3: 4 of 6, 67 % (30 to 90 %, few).
    x/n: x of n lost; .. up to 10 %, :: 25 %, ++ 50 %, ##
    more; . no tray.
    "#);
}

#[test]
fn every_value_is_a_mark_and_what_is_beyond_is_named() {
    let picture = told(&Picture::Dots(dots()), 78, false);
    let row = |name: &str| picture.lines().find(|line| line.starts_with(name)).unwrap();
    let marks = |name: &str| {
        let plot = row(name).rsplit_once("  ").unwrap().0;
        plot.chars().filter_map(|c| if c == '•' { Some(1) } else { c.to_digit(10) }).sum::<u32>()
    };
    assert_eq!([marks("radish"), marks("broccoli"), marks("pea")], [14, 5, 7]);
    assert!(row("pea").contains('<') && picture.contains("Beyond the scale: pea shoots 41 g."), "{picture}");
}

#[test]
fn nothing_is_drawn_of_nothing() {
    let empty = [
        Picture::Dots(Dots::default()),
        Picture::Dots(Dots { rows: vec![DotRow::default()], ..dots() }),
        Picture::Dots(Dots { rows: vec![DotRow { values: vec![f64::NAN], ..DotRow::default() }], ..dots() }),
        Picture::Runs(Runs::default()),
        Picture::Runs(Runs { points: vec![("W47".into(), None)], ..runs() }),
        Picture::Bars(Bars::default()),
        Picture::Heat(Heat::default()),
        Picture::Heat(Heat {
            racks: vec![HeatRack { shelves: vec![("1".into(), vec![None])], ..HeatRack::default() }],
            ..heat()
        }),
    ];
    for picture in empty {
        assert_eq!(picture.lines(60, false).get(1).map(String::as_str), Some(NOTHING), "{picture:?}");
    }
}

#[test]
fn one_value_and_equal_ones_are_drawn() {
    let of = |values: &[f64]| {
        let row = DotRow { label: "radish".into(), values: values.to_vec(), ..DotRow::default() };
        told(&Picture::Dots(Dots { rows: vec![row], ..dots() }), 60, false)
    };
    assert!(of(&[240.0]).contains("•") && of(&[240.0]).contains("1 tray, 240 g"));
    assert!(of(&[240.0, 240.0]).contains("240 and 240 g"));
    let nine = of(&[240.0; 9]);
    assert!(nine.lines().nth(1).unwrap().contains(" 9 "), "{nine}");
    assert!(of(&[240.0; 10]).lines().nth(1).unwrap().contains(" + "), "ten and more");
}

#[test]
fn forty_rows_say_how_many_are_left_out() {
    let mut many = dots();
    let first = many.rows[0].clone();
    many.rows = (0..40).map(|n| DotRow { label: format!("crop {n}"), ..first.clone() }).collect();
    let lines = Picture::Dots(many).lines(78, false);
    assert!(lines.len() <= 19, "{lines:?}");
    let rows = lines.iter().filter(|line| line.starts_with("crop")).count();
    assert!(lines.contains(&format!("and {} more: the tables have them.", 40 - rows)), "{lines:?}");
    assert!(lines[1].contains("(228 to 252 g)"), "{lines:?}");
}

#[test]
fn a_crossed_dot_is_seen_on_the_scale_and_explained() {
    let mut checked = dots();
    checked.rows[0].odd = vec![true];
    let picture = told(&Picture::Dots(checked), 78, false);
    assert!(picture.lines().nth(1).unwrap().contains('×') && picture.contains("× check"), "{picture}");
    assert!(!told(&Picture::Dots(Dots { rows: dots().rows.split_off(3), ..dots() }), 78, false).contains("check"));
}

#[test]
fn more_weeks_than_columns_leave_out_the_oldest() {
    let points = (0..200).map(|n| (format!("W{n}"), Some(f64::from(n % 9)))).collect();
    let picture = told(&Picture::Runs(Runs { points, signal: vec![], ..runs() }), 60, false);
    assert!(picture.contains("earlier left out") && picture.contains("W199"), "{picture}");
}

#[test]
fn gaps_and_what_is_out_of_the_ordinary_are_named() {
    let picture = told(&Picture::Runs(runs()), 78, false);
    for must in ["◆ look here: W47 182 g.", "no value: W41", "median 240 g", "limit 277 g"] {
        assert!(picture.contains(must), "{must}: {picture}");
    }
    assert_eq!(picture.matches('◆').count(), 2, "the point and its word");
}

#[test]
fn blocks_are_trays_until_there_are_too_many() {
    let of = |n: u64| Bars { bars: vec![("mould".into(), n, format!("{n} of 9000"))], ..bars() };
    for (n, blocks, key) in [
        (1, 1, "One ■ is one tray."),
        (30, 30, "One ■ is one tray."),
        (101, 51, "One ■ is 2 trays or a part of them."),
        (u64::MAX, 0, "or a part of them"),
    ] {
        let picture = told(&Picture::Bars(of(n)), 78, false);
        let row = picture.lines().nth(1).unwrap();
        assert!(blocks == 0 || row.matches('■').count() == blocks, "{n}: {row}");
        assert!(picture.contains(key), "{picture}");
    }
}

#[test]
fn the_worst_is_what_is_bad_for_sure() {
    // 1 of 1 is more than 10 of 23, and says less
    assert_eq!(heat().shelves().worst(true)[0].0, "A 2");
    assert_eq!(heat().worst(false)[0].0, "A 2-3");
    let none =
        Heat { racks: vec![HeatRack { name: "A".into(), shelves: vec![("1".into(), vec![Some((0, 3))])] }], ..heat() };
    assert_eq!(none.words(), "None lost at any of 1 place.");
}

#[test]
fn shades_follow_the_share() {
    for (x, n, shade) in [(0, 9, 0), (1, 10, 1), (1, 9, 2), (1, 4, 2), (1, 3, 3), (1, 2, 3), (2, 3, 4), (1, 1, 4)] {
        assert_eq!(Heat::shade(x, n), shade, "{x} of {n}");
    }
}

/// A rack of so many shelves and places, of which the lowest shelf loses most.
fn rack(name: &str, shelves: u64, places: usize) -> HeatRack {
    let shelves = (1..=shelves).rev().map(|n| (n.to_string(), vec![Some((if n == 1 { 30 } else { 1 }, 100)); places]));
    HeatRack { name: name.into(), shelves: shelves.collect() }
}

#[test]
fn a_large_room_is_drawn_by_shelves_and_a_very_large_one_by_its_worst() {
    let of = |racks| told(&Picture::Heat(Heat { racks, ..heat() }), 78, false);
    let wide = of(vec![rack("A", 4, 20)]);
    assert!(wide.lines().any(|line| line.starts_with("1 600/2000")), "{wide}");
    let huge: Vec<HeatRack> = (0..40).map(|n| rack(&format!("R{n}"), 9, 6)).collect();
    let huge = of(huge);
    assert!(huge.contains("more shelves, none worse") && huge.contains("R0 1"), "{huge}");
    assert!(huge.lines().count() <= 19, "{huge}");
}

#[test]
fn words_tell_what_is_drawn() {
    let words: Vec<String> = all().iter().map(Picture::words).collect();
    assert!(
        words[0].starts_with("radish: 14 trays, 240 g (228 to 252 g); ") && words[0].contains("check 41 g"),
        "{words:?}"
    );
    assert!(words[1].contains("W41 no value; ") && words[1].contains("W47 182 g, look here"), "{words:?}");
    assert!(words[2].starts_with("mould: 5 of 64, 8 %; "), "{words:?}");
    assert_eq!(words[3], heat().words());
}

fn number() -> impl Strategy<Value = f64> {
    let odd = vec![0.0, -0.0, 41.0, 1e-300, 1e9, 1e300, f64::MAX, f64::MIN, f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
    prop_oneof![4 => -10.0..500.0, 2 => Just(240.0), 1 => prop::sample::select(odd)]
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z ]{0,30}", "\\PC{0,12}", Just("豌豆苗\u{1b}[31m\u{202e}<b>".to_string())]
}

fn any_dots() -> impl Strategy<Value = Picture> {
    let row = (
        name(),
        prop::collection::vec(number(), 0..30),
        prop::option::of(number()),
        prop::option::of((number(), number())),
        prop::collection::vec(any::<bool>(), 0..30),
    );
    let row = row.prop_map(|(label, values, mean, interval, odd)| DotRow { label, values, mean, interval, odd });
    let dots = (name(), name(), prop::collection::vec(row, 0..40));
    dots.prop_map(|(title, unit, rows)| Picture::Dots(Dots { title, unit, each: "tray".into(), rows }))
}

fn any_runs() -> impl Strategy<Value = Picture> {
    let points = prop::collection::vec((name(), prop::option::of(number())), 0..120);
    let lines = (prop::option::of(number()), prop::option::of((number(), number())));
    let marks =
        (prop::collection::vec(any::<bool>(), 0..120), prop::collection::vec(prop::option::of(number()), 0..120));
    (name(), points, lines, marks).prop_map(|(title, points, (centre, limits), (signal, smoothed))| {
        let (unit, centre_label) = ("g".to_string(), title.clone());
        Picture::Runs(Runs { title, unit, points, centre, centre_label, limits, signal, smoothed })
    })
}

fn any_bars() -> impl Strategy<Value = Picture> {
    let bar = (name(), prop_oneof![0..60u64, any::<u64>()], name());
    let bars = (name(), prop::collection::vec(bar, 0..30));
    bars.prop_map(|(title, bars)| Picture::Bars(Bars { title, each: "tray".into(), bars }))
}

fn any_heat() -> impl Strategy<Value = Picture> {
    let place = prop::option::of(prop_oneof![4 => (0..9u64, 0..20u64), 1 => any::<(u64, u64)>()]);
    let shelf = (name(), prop::collection::vec(place, 0..24));
    let rack = (name(), prop::collection::vec(shelf, 0..9)).prop_map(|(name, shelves)| HeatRack { name, shelves });
    let heat = (name(), prop::collection::vec(rack, 0..12));
    heat.prop_map(|(title, racks)| Picture::Heat(Heat { title, what: "lost".into(), racks }))
}

pub fn anything() -> impl Strategy<Value = Picture> {
    prop_oneof![any_dots(), any_runs(), any_bars(), any_heat()]
}

proptest! {
    #[test]
    fn no_picture_leaves_its_frame(picture in anything(), width in 1..100_usize, ascii: bool) {
        let lines = picture.lines(width, ascii);
        prop_assert!(lines.len() <= 20, "{} rows", lines.len());
        for line in &lines {
            prop_assert!(columns(line) <= width, "{line:?}");
            prop_assert!(!ascii || line.is_ascii(), "{line:?}");
            prop_assert!(!line.contains(|c: char| c.is_control() || c == '\u{202e}'), "{line:?}");
        }
    }
}
