//! What seed in commerce should do at least, and by how much two tests may differ.

/// Where the minimum comes from.
pub const STANDARD_SOURCE: &str = "7 CFR 201.31";

/// Where the tolerance comes from.
pub const TOLERANCE_SOURCE: &str = "7 CFR 201.63";

/// Minimum germination in per cent by kind of seed. P: 7 CFR 201.31 (59 FR 64491), the kinds that may stand on a bench of trays.
/// Names are turned round where the regulation lists them by the noun.
const KINDS: &[(&str, u64)] = &[
    ("artichoke", 60),
    ("asparagus", 70),
    ("garden bean", 70),
    ("beet", 65),
    ("broadbean", 75),
    ("broccoli", 75),
    ("brussels sprouts", 70),
    ("cabbage", 75),
    ("carrot", 55),
    ("cauliflower", 75),
    ("celery", 55),
    ("chard", 65),
    ("swiss chard", 65),
    ("chicory", 65),
    ("chinese cabbage", 75),
    ("chives", 50),
    ("collards", 80),
    ("sweet corn", 75),
    ("cornsalad", 70),
    ("cowpea", 75),
    ("cress", 75),
    ("garden cress", 75),
    ("upland cress", 60),
    ("water cress", 40),
    ("cucumber", 80),
    ("dill", 60),
    ("endive", 70),
    ("kale", 75),
    ("kohlrabi", 75),
    ("leek", 60),
    ("lettuce", 80),
    ("mustard", 75),
    ("india mustard", 75),
    ("spinach mustard", 75),
    ("onion", 70),
    ("pak choi", 75),
    ("parsley", 60),
    ("pea", 80),
    ("radish", 75),
    ("rutabaga", 75),
    ("sage", 60),
    ("summer savory", 55),
    ("sorrel", 65),
    ("soybean", 75),
    ("spinach", 60),
    ("squash", 75),
    ("tomato", 75),
    ("turnip", 80),
];

/// The minimum of the kind that a crop is named for, such as that of cabbage for red cabbage; `None` of kinds not listed there.
pub fn standard(crop_name: &str) -> Option<u64> {
    let plain = crop_name.to_lowercase();
    let words: Vec<&str> = plain.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let named = |kind: &str| {
        let parts: Vec<&str> = kind.split(' ').collect();
        words.windows(parts.len()).any(|window| window == parts)
    };
    // the longest name that fits, so that upland cress is not taken for cress
    KINDS.iter().filter(|(kind, _)| named(kind)).max_by_key(|(kind, _)| kind.len()).map(|(_, percent)| *percent)
}

/// By how many points two tests, or a test and the packet, may differ, from the mean of the two. P: 7 CFR 201.63 for 400 seeds,
/// and 2 points more for 200. `None` below 200 seeds, for which nothing is published.
pub fn tolerance(mean_pct: f64, seeds: u64) -> Option<f64> {
    if seeds < 200 {
        return None;
    }
    let points = match mean_pct {
        pct if pct >= 96.0 => 5.0,
        pct if pct >= 90.0 => 6.0,
        pct if pct >= 80.0 => 7.0,
        pct if pct >= 70.0 => 8.0,
        pct if pct >= 60.0 => 9.0,
        _ => 10.0,
    };
    Some(if seeds < 400 { points + 2.0 } else { points })
}
