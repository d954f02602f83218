use super::*;

fn crops() -> Vec<StarterCrop> {
    starter_crops().unwrap()
}

fn crop(letters: &str) -> StarterCrop {
    crops().into_iter().find(|crop| crop.letters == letters).unwrap()
}

fn ends<T: Copy>(span: &Span<T>) -> (T, T) {
    (span.from, span.to)
}

#[test]
fn the_rows_are_those_of_the_reference_table() {
    const P: bool = true;
    const M: bool = false;
    // Reference G2, "P" where it says the weight is published, else from memory. It has one row
    // for beet and chard, which are two crops with codes of their own.
    #[rustfmt::skip]
    let rows = [
        ("RAD", "radish",      (8.0, 12.0, P),    30.0,  (2, 4), (6, 10)),
        ("BRO", "broccoli",    (2.7, 5.8, P),     18.0,  (3, 4), (8, 12)),
        ("KAL", "kale",        (3.3, 4.0, P),     18.0,  (3, 4), (8, 12)),
        ("CAB", "red cabbage", (3.6, 3.6, P),     18.0,  (3, 4), (8, 12)),
        ("KOH", "kohlrabi",    (3.2, 3.2, P),     18.0,  (3, 4), (8, 12)),
        ("MUS", "mustard",     (2.5, 3.0, P),     10.0,  (3, 4), (8, 12)),
        ("ARU", "arugula",     (1.5, 2.2, M),     10.0,  (3, 4), (8, 12)),
        ("CRE", "cress",       (2.0, 2.5, M),     12.0,  (2, 3), (7, 14)),
        ("PEA", "pea",         (100.0, 300.0, M), 225.0, (3, 4), (10, 14)),
        ("SUN", "sunflower",   (40.0, 50.0, P),   125.0, (3, 4), (8, 12)),
        ("BEE", "beet",        (12.0, 22.0, M),   40.0,  (4, 6), (10, 16)),
        ("CHA", "chard",       (12.0, 22.0, M),   40.0,  (4, 6), (10, 16)),
        ("AMA", "amaranth",    (0.5, 0.9, M),     8.0,   (3, 5), (10, 16)),
        ("BAS", "basil",       (1.5, 1.7, P),     6.0,   (3, 5), (14, 21)),
        ("COR", "coriander",   (8.0, 12.0, M),    40.0,  (5, 7), (14, 25)),
        ("BUC", "buckwheat",   (20.0, 30.0, M),   120.0, (3, 4), (7, 12)),
        ("WHE", "wheatgrass",  (40.0, 42.0, P),   400.0, (3, 4), (7, 12)),
    ];
    let read: Vec<_> = crops()
        .into_iter()
        .map(|crop| {
            let tsw = (crop.tsw_g.from, crop.tsw_g.to, crop.tsw_g.source.is_published());
            let cover = (crop.cover_d.from, crop.cover_d.to);
            (crop.letters, crop.name, tsw, crop.grams.value, cover, ends(&crop.cut_d))
        })
        .collect();
    let rows = rows
        .map(|(letters, name, tsw, grams, cover, cut)| (letters.to_owned(), name.to_owned(), tsw, grams, cover, cut));
    assert_eq!(read, rows);
}

#[test]
fn minimum_germination_is_the_published_one() {
    // Published: 7 CFR 201.31, as in references G2 and G8.
    for crop in crops() {
        let wanted = match crop.letters.as_str() {
            "RAD" | "BRO" | "KAL" | "CAB" | "KOH" | "MUS" | "CRE" => Some(750),
            "PEA" => Some(800),
            "BEE" | "CHA" => Some(650),
            _ => None,
        };
        assert_eq!(crop.min_germ_pm(), wanted, "{}", crop.name);
        assert!(crop.min_germ_pct.as_ref().is_none_or(|pct| pct.source.to_string() == "P: 7 CFR 201.31"));
        assert_eq!(crop.want_germ_pm(), 900, "{}, from memory", crop.name);
    }
}

#[test]
fn yields_are_the_published_ones_or_say_memory() {
    // Published: Horticulturae 2023 9(11):1217.
    for letters in ["RAD", "BRO", "KAL"] {
        assert_eq!(ends(&crop(letters).yield_g), (118.0, 127.0), "{letters}");
    }
    assert_eq!(ends(&crop("PEA").yield_g), (319.0, 319.0));
    for crop in crops() {
        let published = ["RAD", "BRO", "KAL", "PEA"].contains(&crop.letters.as_str());
        let source = if published { "P: Horticulturae 2023 9(11):1217" } else { "memory" };
        assert_eq!(crop.yield_g.source.to_string(), source, "{}", crop.name);
    }
}

#[test]
fn mucilaginous_seed_is_never_soaked() {
    // Reference G2: basil, arugula, cress and mustard, refused with a reason.
    for crop in crops() {
        let slimy = ["BAS", "ARU", "CRE", "MUS"].contains(&crop.letters.as_str());
        assert_eq!(matches!(crop.soak, Soak::Never { .. }), slimy, "{}", crop.name);
    }
}

#[test]
fn soaking_hours_are_those_of_the_reference() {
    let hours = |letters| match crop(letters).soak {
        Soak::Hours { from, to, .. } => Some((from, to)),
        Soak::No { .. } | Soak::Never { .. } => None,
    };
    assert_eq!(["PEA", "BUC", "WHE"].map(hours), [Some((8, 12)); 3]);
    assert_eq!(["SUN", "BEE", "CHA"].map(hours), [Some((6, 12)); 3]);
    assert_eq!(hours("COR"), Some((0, 8)));
    assert_eq!(["RAD", "BRO", "KAL", "CAB", "KOH", "AMA"].map(hours), [None; 6]);
}

#[test]
fn radish_follows_common_practice() {
    let radish = crop("RAD");
    let RootsPlan::Seen { by_day, source } = radish.roots else { panic!("radish grows on a mat") };
    assert_eq!(by_day, [Roots::None, Roots::Peeking, Roots::Plenty, Roots::Full]);
    assert_eq!(source.to_string(), "common practice, no source");
    assert_eq!((radish.cover_d.usual, radish.grams.value), (4, 30.0));
    assert!(radish.note.unwrap().contains("27–30 g"));
}

#[test]
fn hairs_are_expected_on_the_cabbage_family_only() {
    // From memory; elsewhere nobody is sure, so the table says nothing.
    let hairy: Vec<_> = crops().into_iter().filter(|crop| crop.hairs_d.is_some()).collect();
    let letters: Vec<_> = hairy.iter().map(|crop| crop.letters.as_str()).collect();
    assert_eq!(letters, ["RAD", "BRO", "KAL", "CAB", "KOH", "MUS", "ARU", "CRE"]);
    assert!(hairy.iter().all(|crop| crop.hairs_d.as_ref().map(ends) == Some((2, 4))));
}

#[test]
fn labels_stay_blocked_until_allergens_are_checked() {
    // Reference T4, from memory.
    for crop in crops() {
        match (crop.letters.as_str(), crop.allergen) {
            ("MUS", Allergen::Yes { what, .. }) => assert_eq!(what, "mustard"),
            ("WHE", Allergen::NotChecked { reminder, .. }) => {
                assert_eq!(reminder.unwrap(), "gluten check needed");
            }
            (_, allergen) => assert!(matches!(allergen, Allergen::NotChecked { reminder: None, .. })),
        }
        assert_eq!(crop.us_list, UsList::NotSure);
    }
}

#[test]
fn anchors_are_those_of_the_reference() {
    let anchors = |letters| {
        let of = crop(letters).anchors;
        of.iter().map(|anchor| (anchor.temp_dc(), anchor.life_h() / 24)).collect::<Vec<_>>()
    };
    // Published, K2; the 23 d at 1 °C includes a warm move and is not shipped.
    assert_eq!(anchors("RAD"), [(60, 10), (200, 3)]);
    // Published, K2: ≥14 / 4 / 2 / ≤1 d.
    assert_eq!(anchors("MUS"), [(50, 14), (100, 4), (150, 2), (200, 1)]);
    let marks: Vec<_> = crop("MUS").anchors.into_iter().map(|anchor| anchor.mark).collect();
    assert_eq!(marks.iter().map(Option::is_some).collect::<Vec<_>>(), [true, false, false, true]);
    // K2: 10 d at 5 °C from memory with mustard's published warm end.
    assert_eq!(anchors("KAL"), [(50, 10), (100, 4), (150, 2), (200, 1)]);
    // K2: chilling-sensitive, published only above 10 °C.
    assert!(crop("BAS").is_chilling() && anchors("BAS").iter().all(|&(temp_dc, _)| temp_dc > 100));
    assert_eq!(crops().iter().filter(|crop| crop.is_chilling()).count(), 1);
}

#[test]
fn some_flags_belong_to_one_crop() {
    let named =
        |has: fn(&StarterCrop) -> bool| crops().into_iter().filter(has).map(|crop| crop.name).collect::<Vec<_>>();
    assert_eq!(named(|crop| crop.cover_d.weighted), ["sunflower"]);
    assert_eq!(named(StarterCrop::has_second_cut), ["pea"]);
}

#[test]
fn figures_come_in_the_units_of_the_book() {
    assert_eq!(crop("RAD").grams_mg(), 30_000);
    assert_eq!(crop("BRO").tsw_mg(), 4_250, "the middle of 2.7 and 5.8 g");
    assert_eq!(crop("AMA").tsw_mg(), 700);
    assert_eq!((crop("PEA").min_germ_pm(), crop("PEA").want_germ_pm()), (Some(800), 900));
}

/// Walks the raw file, so a figure is found even where the structs would let it pass.
fn figures_without_source(path: &str, value: &toml::Value, found: &mut Vec<String>) -> usize {
    match value {
        toml::Value::Table(table) => {
            let figures = table.values().filter(|v| v.is_integer() || v.is_float()).count();
            if figures > 0 && table.get("source").and_then(toml::Value::as_str).is_none_or(str::is_empty) {
                found.push(path.to_owned());
            }
            let below = table.iter().map(|(key, v)| figures_without_source(&format!("{path}.{key}"), v, found));
            figures + below.sum::<usize>()
        }
        toml::Value::Array(items) => items.iter().map(|item| figures_without_source(path, item, found)).sum(),
        _ => 0,
    }
}

#[test]
fn every_figure_has_a_source() {
    let table = toml::Value::Table(TABLE.parse().unwrap());
    let mut found = Vec::new();
    let figures = figures_without_source("", &table, &mut found);
    assert!(figures > 200, "the walk found only {figures} figures");
    assert_eq!(found, [""; 0]);
}

/// The table with one place of its rows changed.
fn read_with(from: &str, to: &str) -> Result<Vec<StarterCrop>, StarterError> {
    let (_, rows) = TABLE.split_once("\n\n").unwrap();
    assert!(rows.contains(from), "{from}");
    read(&rows.replacen(from, to, 1))
}

#[test]
fn a_table_with_a_mistake_is_refused() {
    for (from, to) in [
        ("to = 12, source = \"P: publication not noted\" }", "to = 12 }"),
        ("source = \"P: publication not noted\"", "source = \"\""),
        ("source = \"P: publication not noted\"", "source = \"P: \""),
        ("medium ", "mediun "),
        ("rule = \"no\"", "rule = \"perhaps\""),
    ] {
        assert!(matches!(read_with(from, to), Err(StarterError::Toml(_))), "{from} → {to}");
    }
    for to in ["\"RAD\"", "\"MIX\"", "\"BR\"", "\"bro\""] {
        assert!(matches!(read_with("\"BRO\"", to), Err(StarterError::Letters { .. })), "{to}");
    }
    for (from, to, wanted) in [
        ("{ from = 8, to = 12,", "{ from = 13, to = 12,", "the thousand-seed weights"),
        ("{ value = 30,", "{ value = 0,", "the grams of seed"),
        ("to = 12, usual = 10", "to = 12, usual = 13", "the hours of soaking"),
        ("usual = 4,", "usual = 5,", "the days under cover"),
        ("{ from = 6, to = 10,", "{ from = 3, to = 10,", "the cutting days"),
        ("\"peeking\", \"plenty\"", "\"plenty\", \"peeking\"", "the root grades"),
        ("\"mat\"", "\"soil\"", "the root grades"),
        (
            "{ from = 2, to = 4, source = \"memory\" }",
            "{ from = 5, to = 4, source = \"memory\" }",
            "the days of root hairs",
        ),
        ("{ from = 12, to = 16,", "{ from = 12, to = 25,", "the hours of light"),
        ("{ from = 118,", "{ from = 128,", "the expected yields"),
        ("{ value = 75,", "{ value = 750,", "the germination figures"),
        ("life_d = 3,", "life_d = 10,", "the shelf-life anchors"),
        ("temp_c = 20, life_d = 3,", "temp_c = 2, life_d = 3,", "the shelf-life anchors"),
    ] {
        match read_with(from, to) {
            Err(StarterError::Figures { what, .. }) => assert_eq!(what, wanted, "{from} → {to}"),
            other => panic!("{from} → {to}: {:?}", other.map(|crops| crops.len())),
        }
    }
}

#[test]
fn a_chilling_crop_gets_no_general_anchors() {
    let lost = TABLE.replacen("{ temp_c = 12,", "# { temp_c = 12,", 1);
    assert!(matches!(read(&lost), Err(StarterError::Figures { what: "the shelf-life anchors", .. })));
}
