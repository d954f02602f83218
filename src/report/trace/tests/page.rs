//! The page, its picture, and the same as text and JSON.

use resvg::usvg::{Node as Drawn, Options, Tree};
use serde_json::Value;

use super::{PACK, SEED, dossier, events, thing, trace};
use crate::domain::id::DeliveryId;
use crate::domain::trace::{Link, Node, Way};
use crate::report::trace::{html, json, picture, text};

#[test]
fn nothing_on_the_page_is_markup_of_a_name() {
    let page = html::page(&dossier());
    for never in ["<b>Table", "<script>alert", "\"Bell\" &"] {
        assert!(!page.contains(never), "{never}");
    }
    assert!(page.contains("&lt;b&gt;Table&lt;/b&gt;") && page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    // every tag is one of the page's own
    let own = "!DOCTYPE html head meta title style body p h1 h2 h3 ul li svg path text rect pre table thead tr th tbody td strong span br";
    for tag in page.split('<').skip(1) {
        let name = tag.trim_start_matches('/').split([' ', '>']).next().unwrap();
        assert!(own.split(' ').any(|known| known == name), "{name}");
    }
    assert_eq!(page.matches("<script").count(), 0);
    for must in [
        "What follows",
        "From seed to customer",
        "Who got it",
        "Events",
        "What touched it",
        "As it was written first",
        "put right",
        "taken back",
        "Local codes decide.",
        "United States. 21 CFR 1 subpart S",
        "not sure",
        "Batch B0002-O: no seed lot is known.",
    ] {
        assert!(page.contains(must), "{must}");
    }
}

#[test]
fn the_picture_is_well_formed_and_shows_every_thing_once() {
    let traces = dossier().traces;
    let svg = picture::picture(&traces).into_string();
    let tree = Tree::from_str(&svg, &Options::default()).unwrap();
    assert!(tree.size().width() > 500.0);
    let mut shapes = 0;
    for node in tree.root().children() {
        shapes += usize::from(matches!(node, Drawn::Path(_)));
    }
    // eight things, two trays of them in one box, and a line for each pair that is joined
    assert_eq!(svg.matches("<rect").count(), 7);
    assert_eq!(svg.matches("<path").count(), 6);
    assert!(shapes >= 13, "{shapes} shapes are drawn");
    for must in ["2 trays", "T0001-W, T0002-U", "PEA-260712-A-V", "HELD", "900 g", "Quay market"] {
        assert!(svg.contains(must), "{must}");
    }
    assert_eq!(svg.matches("stroke-width=\"3\"").count(), 1, "what was asked for");
    assert!(!svg.contains("<b>"));
}

#[test]
fn boxes_never_lie_on_each_other_and_lines_go_from_left_to_right() {
    let mut wide = trace(Way::Forward, SEED);
    for id in 10..90 {
        let node = Node::Delivery(DeliveryId(id));
        wide.things.extend([thing(node, "8", "Bell Table")]);
        wide.links.push(Link { from: PACK, to: node, amount: "1 pack".into() });
    }
    let svg = picture::picture(&[wide]).into_string();
    assert!(svg.contains("Not in the picture: 22 boxes"), "60 of 82 fit");
    let number = |rect: &str, name: &str| -> i64 {
        let (_, rest) = rect.split_once(&format!(" {name}=\"")).unwrap();
        rest.split_once('"').unwrap().0.parse().unwrap()
    };
    let rects: Vec<[i64; 4]> =
        svg.split("<rect").skip(1).map(|rect| ["x", "y", "width", "height"].map(|name| number(rect, name))).collect();
    for (n, [x, y, w, h]) in rects.iter().enumerate() {
        for [other_x, other_y, ..] in &rects[n + 1..] {
            assert!((x - other_x).abs() >= *w || (y - other_y).abs() >= *h);
        }
    }
    for path in svg.split(" d=\"M").skip(1) {
        let from: i64 = path.split(' ').next().unwrap().parse().unwrap();
        let d = path.split_once('"').unwrap().0;
        let to: i64 = d.split(' ').rev().nth(1).unwrap().parse().unwrap();
        assert!(from < to, "{d}");
    }
}

#[test]
fn text_says_what_a_person_asks_first() {
    let lines = text::lines(&dossier()).join("\n");
    insta::assert_snapshot!(lines, @r#"
    Lot PEA-260712-A-V, handed over 2026-07-14 06:00 +02:00
    North Bench, room NB, 2 Kiln Yard, 555 0123
    The chain is whole: all 21 entries are as they were written. Last hash abababababababababababababababababababababababababababababababab.

    WHAT FOLLOWS
      It was made of seed lot S0001-X pea; batch B0001-Q pea; 2 trays: T0001-W, T0002-U; lot PEA-260711-A-Z pea.
      6 packs went to 1 customer in 1 delivery: =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay; 1 pack came back.
      2 packs were sold or given to the public, whom nobody can call: Quay market.
      Nothing of it is here any more.
      Held: 1 of 8 things.

    WHAT IT WAS MADE OF
      PEA-260712-A-V pea 100 g  (so said)  HELD
        900 g · PEA-260711-A-Z pea  (so said)
          2 trays T0001-W, T0002-U
            B0001-Q pea  (so said)
              400 g · S0001-X pea  (so said)

    WHAT WAS MADE OF IT, AND WHO HAS IT
      PEA-260712-A-V pea 100 g  (so said)  HELD
        6 packs · =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay, 2026-07-12  (so said)
        2 packs · Quay market, 2026-07-12  (so said)

    WHO GOT IT
      2026-07-12  =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay, 1 Quay, +44 555: 6 of PEA-260712-A-V pea 100 g, 1 came back (delivery 7)
      2026-07-12  THE PUBLIC, Quay market, 8 to 12: 2 of PEA-260712-A-V pea 100 g

    EVENTS
      2026-06-01  seed received  S0001-X pea: 1000500 g from Fen Seeds, their lot FS-77 b  [entry 1, AK]
      2026-06-30  sown  B0002-O: 1 mat  [entry 2, AK]
      2026-07-01  sown  B0001-Q: 400 g of S0001-X pea -> 4 mats  [entry 3, AK]
      2026-07-01  sown  B0001-Q: 50 g of S0002-V pea -> 4 mats  [entry 3, AK]
      2026-07-11  harvested  PEA-260711-A-Z pea: 900 g  [entry 4, AK]
      2026-07-11  cooled  PEA-260711-A-Z pea: 900 g  [entry 4, AK]
      2026-07-12  packed  PEA-260712-A-V pea 100 g: 12 packs  [entry 7, AK]
      2026-07-12  blended  PEA-260712-A-V: 900 g of PEA-260711-A-Z pea -> 12 packs  [entry 7, AK]
      2026-07-12  blended  PEA-260712-A-V: 300 g of RAD-260711-A-7 pea -> 12 packs  [entry 7, AK]
      2026-07-12  shipped  PEA-260712-A-V pea 100 g: 6 packs to =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay  [entry 8, AK]
      2026-07-12  sold to the public  PEA-260712-A-V pea 100 g: 2 packs to the public: Quay market  [entry 9, AK]
      2026-07-13  returned  PEA-260712-A-V pea 100 g: 1 pack from =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay  [entry 10, AK]
      2026-07-13  given away  PEA-260712-A-V pea 100 g: 1 pack  [entry 11, AK]
      2026-07-13  kept as a sample  PEA-260712-A-V pea 100 g: 1 pack  [entry 12, AK]
      2026-07-13  binned  PEA-260712-A-V pea 100 g: 1 pack  [entry 13, AK]
      2026-07-13  new code  PEA-260712-A-V: 100 g of PEA-260711-B-X pea -> 12 packs  [entry 14, AK]

    WHAT TOUCHED IT
      LOOKS
        2026-07-09 06:10 RM  T0001-W: =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay (<script>alert(1)</script>)  [entry 5]

      WATER
        2026-07-09 06:10 AK  T0001-W: something was done  [entry 6]

    AS IT WAS WRITTEN FIRST
      2026-07-01  sown  B0001-Q: 450 g of S0002-V pea -> 4 mats  [entry 3, AK]; put right by entry 20 of AK
      2026-07-12  shipped  PEA-260712-A-V pea 100 g: 9 packs to =cmd|' /C calc'!A0, "Bell" & <b>Table</b> Quay  [entry 8, AK]; taken back by entry 21 of AK

    NOT IN THE BOOK
      Batch B0002-O: no seed lot is known.
      Batch B0002-O: no places are known.

    ON THE US LIST OF FOODS (21 CFR 1 SUBPART S), AS THE ROOM HAS SET IT
      pea: not sure

    Rules of: United States. 21 CFR 1 subpart S: records within 24 h of being asked, in an outbreak as one sortable spreadsheet; kept 2 years. No enforcement before 2028-07-20; small farms may be exempt.
    Local codes decide.
    "#);
}

#[test]
fn json_holds_everything() {
    let value: Value = serde_json::from_str(&json::text(&dossier())).unwrap();
    assert_eq!(value["events"].as_array().unwrap().len(), events().len());
    assert_eq!(value["replaced"].as_array().unwrap().len(), 2);
    assert_eq!(value["events"][0]["quantity"]["amount"], "1000500");
    assert_eq!(value["made_at"], "2026-07-14T06:00:00+02:00");
    assert_eq!(value["proof"]["head"].as_str().unwrap().len(), 64);
}
