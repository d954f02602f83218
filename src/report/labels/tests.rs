use super::*;
use crate::domain::seed_lot::tests::lot;
use crate::domain::tray::tests::{card, day};

/// What one label says, line by line, the QR code left out.
fn text(label: &Label) -> String {
    let html = page::one(label).into_string();
    let mut parts: Vec<String> = Vec::new();
    for part in html.split('<').filter_map(|part| part.split_once('>')) {
        if !part.1.is_empty() {
            parts.push(part.1.to_owned());
        }
    }
    parts.join("\n")
}

#[test]
fn a_trays_label_says_what_stands_where_and_what_the_plan_expects() {
    insta::assert_snapshot!(text(&Label::tray(&card(1), "NB")), @"
    T0001-W
    radish
    sown 2026-07-10
    place A 1-1
    batch NB B0001-0
    plan: uncover 2026-07-14
    plan: cut 2026-07-16 to 2026-07-20
    ");
}

#[test]
fn a_tray_that_is_never_covered_has_no_day_of_uncovering() {
    let mut tray = card(1);
    tray.plan.cover_d = 0;
    let said = text(&Label::tray(&tray, "NB"));
    assert!(said.contains("light from the start") && !said.contains("uncover"), "{said}");
}

#[test]
fn a_jars_label_says_where_the_seed_comes_from() {
    let lot =
        SeedLot { variety: "Red Stem".into(), use_by: Some(day("2027-06-30")), germ_pm: Some(965), ..lot(42, 10) };
    insta::assert_snapshot!(text(&Label::jar(&lot, "NB")), @"
    S0042-9
    radish, Red Stem
    room NB
    Fen Seeds
    their lot FS-1
    received 2026-01-10 · use by 2027-06-30
    germination 96.5 % · not treated
    ");
}

#[test]
fn only_seed_known_to_be_untreated_goes_without_a_caution() {
    let of = |treated| text(&Label::jar(&SeedLot { treated, ..lot(1, 10) }, "NB"));
    assert!(of(Treated::No).ends_with("not treated"));
    assert!(of(Treated::Yes).contains("NEVER FOOD") && !of(Treated::Yes).contains("not treated"));
    assert!(
        of(Treated::NotStated).contains("NOT STATED IF TREATED") && !of(Treated::NotStated).contains("not treated")
    );
    // what nobody stated is not left out
    assert!(of(Treated::No).contains("use by not stated") && of(Treated::No).contains("germination not stated"));
}

#[test]
fn a_bottles_label_always_carries_the_caution() {
    let bottle = Bottle {
        contents: "water and citric acid".into(),
        made: day("2026-07-15"),
        expires: day("2026-07-22"),
        caution: " Gloves.\u{202e} ".into(),
    };
    insta::assert_snapshot!(text(&Label::bottle(&bottle)), @"
    water and citric acid
    Never drink. The product's own label and local rules decide where it may be used. Gloves.
    made 2026-07-15
    throw out after 2026-07-22
    ");
    let own = Bottle { caution: "  ".into(), ..bottle };
    assert!(text(&Label::bottle(&own)).contains("it may be used.\nmade"));
}

#[test]
fn a_name_too_long_for_two_lines_is_cut_where_one_sees_it() {
    let lot = SeedLot { variety: "Old Hundredfold Giant of the Marshes".into(), ..lot(1, 10) };
    let said = text(&Label::jar(&lot, "NB"));
    assert!(said.contains("\nradish, Old Hundredfold Giant of th…\n"), "{said}");
}

#[test]
fn what_was_typed_is_text_and_never_markup() {
    let mut tray = card(1);
    tray.crop_name = "<b>pea</b> & \"co\"\u{1b}[31m\u{7}".into();
    tray.place.rack_name = "<script>alert(1)</script>".into();
    let html = page("<i>room\u{0}", &[Label::tray(&tray, "NB")], &Sheet::A4_24);
    assert!(html.contains("&lt;b&gt;pea&lt;/b&gt; &amp; &quot;co&quot;"), "{html}");
    assert!(!html.contains("<b>") && !html.contains("<i>") && !html.contains("<script"), "{html}");
    let odd = html.chars().find(|c| c.is_control() && *c != '\n');
    assert_eq!(odd, None);
}

#[test]
fn nothing_is_loaded_from_elsewhere_and_nothing_runs() {
    let html = page("labels", &[Label::tray(&card(1), "NB")], &Sheet::A4_24);
    // the one address is the name of the language SVG is written in
    let without = html.replace("http://www.w3.org/2000/svg", "");
    for word in ["http:", "https:", "//", "url(", "@import", "src=", "href=", "<script", "<link", "<?xml"] {
        assert!(!without.contains(word), "{word}");
    }
    assert!(html.contains("default-src 'none'"));
}

#[test]
fn paper_is_filled_before_the_next_page_begins() {
    let labels = |n: i64| (1..=n).map(|id| Label::tray(&card(id), "NB")).collect::<Vec<_>>();
    for (sheet, trays, pages) in
        [(Sheet::A4_24, 24, 1), (Sheet::A4_24, 25, 2), (Sheet::LETTER_12, 24, 2), (Sheet::roll(Roll::default()), 3, 3)]
    {
        let html = page("labels", &labels(trays), &sheet);
        assert_eq!(html.matches("<div class=\"paper\">").count(), pages);
        assert_eq!(html.matches("<section class=\"label\">").count(), usize::try_from(trays).unwrap());
        assert_eq!(html.matches("fail when wet").count(), 1, "said once");
    }
}

#[test]
fn the_style_knows_the_size_of_paper_and_labels() {
    let html = page("labels", &[], &Sheet::LETTER_24);
    assert!(html.contains("@page { size: 215.900mm 279.400mm; margin: 0 }"));
    assert!(html.contains("--w: 66.000mm; --h: 33.000mm;"));
    let filled = page("labels", &[Label::tray(&card(1), "NB"), Label::tray(&card(2), "NB")], &Sheet::LETTER_24);
    // the second label of the first row: 8.9 mm of margin and 66 mm of label from the left
    assert!(filled.contains("left: 74.900mm; top: 7.700mm"), "{filled}");
}
