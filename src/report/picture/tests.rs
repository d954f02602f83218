//! Pictures on paper, read back by a program that draws SVG.

use proptest::prelude::*;
use resvg::usvg::{Options, Tree};

use super::*;
use crate::domain::picture::tests::{all, anything, bars, dots, heat, runs};
use crate::domain::picture::{Bars, DotRow, Dots, Heat, HeatRack, Runs};

fn drawn(picture: &Picture) -> String {
    svg(picture).markup.into_string()
}

#[test]
fn every_picture_is_well_formed_stands_alone_and_says_what_it_is() {
    for picture in all() {
        let Svg { markup, high } = svg(&picture);
        let svg = markup.into_string();
        let tree = Tree::from_str(&svg, &Options::default()).unwrap();
        assert!(
            (f64::from(tree.size().width()) - WIDE).abs() < 0.01
                && (f64::from(tree.size().height()) - high).abs() < 0.01
        );
        assert!(tree.root().has_children());
        assert!(svg.contains(&format!("<title>{}</title>", picture.title())), "{svg}");
        assert!(svg.contains(&format!("<desc>{}</desc>", picture.words())), "{svg}");
        for never in ["<script", "href", "url(", "style=", "on"].iter().filter(|never| never.len() > 2) {
            assert!(!svg.contains(never), "{never}");
        }
    }
}

/// Every colour is a grey.
#[test]
fn nothing_is_told_by_colour() {
    for picture in all() {
        for ink in drawn(&picture).split("\"#").skip(1).map(|rest| rest.split('"').next().unwrap().to_string()) {
            // the same digits for red, green and blue
            let grey = [1, 2]
                .iter()
                .any(|digits| ink.len() == 3 * digits && ink.get(..*digits).is_some_and(|tone| ink == tone.repeat(3)));
            assert!(grey, "#{ink}");
        }
    }
}

#[test]
fn every_value_is_a_mark() {
    let count = |picture: &Picture, mark: &str| drawn(picture).matches(mark).count();
    let values: usize = dots().rows.iter().map(|row| row.values.len()).sum();
    assert_eq!(count(&Picture::Dots(dots()), "<circle"), values);
    assert_eq!(
        count(&Picture::Dots(dots()), "fill=\"#fff\" stroke=\"#000\" stroke-width=\"0.8\""),
        1,
        "the one to check is hollow"
    );
    assert_eq!(count(&Picture::Runs(runs()), "<circle"), runs().points.iter().filter(|(_, x)| x.is_some()).count());
    assert_eq!(count(&Picture::Runs(runs()), "rotate(45"), 1, "what is out of the ordinary is ringed");
    // a block each, and the paper
    assert_eq!(count(&Picture::Bars(bars()), "<rect"), 9 + 1);
    let places: usize = heat().racks.iter().flat_map(|rack| &rack.shelves).map(|(_, places)| places.len()).sum();
    assert_eq!(count(&Picture::Heat(heat()), "<rect"), places + 1);
    assert_eq!(count(&Picture::Heat(heat()), "stroke-width=\"2.2\""), 1, "the worst place is framed");
}

#[test]
fn equal_values_stand_on_each_other() {
    let row = DotRow { label: "radish".into(), values: vec![240.0; 40], ..DotRow::default() };
    let svg = drawn(&Picture::Dots(Dots { rows: vec![row], ..dots() }));
    let at = |name: &str| {
        let circles = svg.split("<circle").skip(1);
        circles
            .map(|c| c.split_once(&format!("{name}=\"")).unwrap().1.split('"').next().unwrap().to_string())
            .collect::<Vec<_>>()
    };
    assert!(at("cx").windows(2).all(|pair| pair[0] == pair[1]));
    let mut up = at("cy");
    up.dedup();
    assert_eq!(up.len(), 40, "no two at one place");
}

#[test]
fn a_gap_breaks_the_line_and_is_named() {
    let svg = drawn(&Picture::Runs(Runs { smoothed: vec![], ..runs() }));
    let path = svg.split_once("<path d=\"").unwrap().1.split('"').next().unwrap();
    assert_eq!(path.matches('M').count(), 2);
    assert!(svg.contains("No value: W41."));
}

#[test]
fn texts_are_escaped_and_cleaned() {
    let evil = "<b>\"Bell\" & \u{1b}[31mPeas\u{202e}";
    let pictures = [
        Picture::Dots(Dots {
            title: evil.into(),
            unit: evil.into(),
            rows: vec![DotRow { label: evil.into(), values: vec![1.0, 2.0, 3.0], ..DotRow::default() }],
            ..dots()
        }),
        Picture::Runs(Runs {
            title: evil.into(),
            centre_label: evil.into(),
            points: vec![(evil.into(), Some(1.0))],
            ..runs()
        }),
        Picture::Bars(Bars { title: evil.into(), each: evil.into(), bars: vec![(evil.into(), 1, evil.into())] }),
        Picture::Heat(Heat {
            title: evil.into(),
            what: evil.into(),
            racks: vec![HeatRack { name: evil.into(), shelves: vec![(evil.into(), vec![Some((1, 2))])] }],
        }),
    ];
    for picture in pictures {
        let svg = drawn(&picture);
        assert!(!svg.contains("<b>") && svg.contains("&lt;b&gt;"), "{svg}");
        assert!(!svg.contains(['\u{1b}', '\u{202e}']), "{svg}");
        assert!(Tree::from_str(&svg, &Options::default()).is_ok(), "{svg}");
    }
}

#[test]
fn a_picture_of_nothing_says_so() {
    for picture in [
        Picture::Dots(Dots::default()),
        Picture::Runs(Runs::default()),
        Picture::Bars(Bars::default()),
        Picture::Heat(Heat::default()),
    ] {
        assert!(drawn(&picture).contains(NOTHING));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn every_mark_lies_on_the_paper(picture in anything()) {
        let Svg { markup, high } = svg(&picture);
        let svg = markup.into_string();
        prop_assert!(Tree::from_str(&svg, &Options::default()).is_ok(), "{svg}");
        prop_assert!(high <= 900.0, "{high}");
        for (names, most) in [(["cx=\"", " x=\"", "x1=\"", "x2=\""], WIDE), (["cy=\"", " y=\"", "y1=\"", "y2=\""], high)] {
            for name in names {
                for rest in svg.split(name).skip(1) {
                    let at: f64 = rest.split('"').next().unwrap().parse().unwrap_or(0.0);
                    prop_assert!((0.0..=most).contains(&at), "{name} {at} of {most}: {svg}");
                }
            }
        }
    }
}
