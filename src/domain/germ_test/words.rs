//! What a test came to in plain sentences, and the figures behind them.

use super::{Against, GermTest, against};
use std::collections::BTreeSet;

use chrono::Duration;

use crate::domain::germination::{Agreement, Indices, TOLERANCE_SOURCE, agreement, indices_of, tolerance};
use crate::domain::room::Units;
use crate::domain::seed_lot::percent;
use crate::domain::time::day_number;

/// How sure a test is, said beside every one.
const ROUGH: &str = "100 seeds leave roughly 5 to 9 points up and down; 400 leave half of that.";

/// The result: share, replicates, packet, minimum; each with what to do. Figures of packet and crop are per mille.
pub fn lines(test: &GermTest, packet: Option<i64>, min: Option<i64>, want: Option<i64>) -> Vec<String> {
    let Some(share) = test.share() else { return vec!["Nothing was laid out.".into()] };
    if test.counts.is_empty() {
        return vec!["Nothing is counted yet: g on the seed shelf counts it.".into()];
    }
    let so_far = if test.end.is_some() { "" } else { " so far" };
    let mut lines = vec![format!("Normal seedlings{so_far}: {}.", share.words())];
    lines.extend(alike(test).map(|found| found.words()));
    // what still comes up would be called missing
    if test.end.is_some() {
        lines.extend(packet.map(|packet| against_packet(test, share.share * 100.0, packet)));
        lines.extend(min.map(|min| match against(&share, min) {
            Against::Holds => format!("At least {} is wanted of this crop: it holds.", percent(min)),
            Against::MayBeBelow => format!(
                "It may be below the {} wanted of this crop, these seeds are too few to say: test again before sowing.",
                percent(min)
            ),
            Against::Below => format!(
                "It is below the {} wanted of this crop: it is not proposed first. Take another lot, or test again.",
                percent(min)
            ),
        }));
        let failed = min.is_some_and(|min| against(&share, min) == Against::Below);
        let short = want.filter(|want| !failed && share.share * 1000.0 < real(*want));
        lines.extend(short.map(|want| {
            format!("The {} this room aims at are not reached: the sowing form adds seed, 20 % at most.", percent(want))
        }));
    }
    lines.push(ROUGH.into());
    lines
}

/// How the replicates agree; none where there is one only.
fn alike(test: &GermTest) -> Option<Agreement> {
    let normal: Option<Vec<u64>> = test.normals().into_iter().map(|n| u64::try_from(n).ok()).collect();
    let normal = normal.filter(|normal| normal.len() > 1)?;
    agreement(&normal, u64::try_from(test.seeds).ok()?).ok()
}

impl GermTest {
    /// What is wrong with a test whose replicates lie too far apart.
    pub fn doubt(&self) -> Option<String> {
        alike(self).filter(|found| !found.agree()).map(|found| found.words())
    }
}

fn against_packet(test: &GermTest, found: f64, packet: i64) -> String {
    // whole per cent, as the rule counts
    let (packet_pct, found) = ((real(packet) / 10.0).round(), found.round());
    let less = packet_pct - found;
    let says = format!("The packet says {}", percent(packet));
    if less <= 0.0 {
        return format!("{says}: it does no worse.");
    }
    let Some(may) = tolerance(f64::midpoint(packet_pct, found), u64::try_from(test.sown()).unwrap_or(0)) else {
        let within = test.share().is_some_and(|share| share.high * 100.0 >= packet_pct);
        let so = if within {
            "which so few seeds do not rule out"
        } else {
            "more than so few seeds explain: test more, then ask the supplier"
        };
        return format!("{says}, {less:.0} points more, {so}.");
    };
    if less <= may {
        format!("{says}, {less:.0} points more: two tests may differ by {may:.0} ({TOLERANCE_SOURCE}).")
    } else {
        format!(
            "{says}, {less:.0} points more, and two tests may differ by {may:.0} only ({TOLERANCE_SOURCE}): ask the supplier."
        )
    }
}

/// How fast it came, and what was counted when.
pub fn why(test: &GermTest, units: Units) -> Vec<String> {
    let mut lines = vec!["Why:".to_string()];
    let at = test.temp_dc.map_or_else(String::new, |dc| format!(", kept at {}", units.temperature(dc)));
    lines.push(format!("  {}{at}; normal seedlings counted and taken out.", test.words()));
    let days: BTreeSet<_> = test.counts.iter().map(|count| count.day).collect();
    for day in &days {
        let on = |n: i64| test.counts.iter().filter(move |count| count.day == *day && count.replicate == n);
        let each = (1..=test.replicates).map(|n| on(n).map(|count| count.normal).sum::<i64>().to_string());
        let each: Vec<String> = each.collect();
        lines.push(format!("  day {}, {day}: {}", day_number(test.day, *day), each.join(", ")));
    }
    let sums: Vec<String> = test.normals().iter().map(ToString::to_string).collect();
    lines.push(format!("  of each replicate: {} of {}", sums.join(", "), test.seeds));
    if let Some(end) = test.end {
        let told = [("abnormal", end.abnormal), ("hard", end.hard), ("dead", end.dead)];
        let words: Vec<String> = told.iter().filter_map(|(word, n)| Some(format!("{} {word}", (*n)?))).collect();
        let told: i64 = told.iter().filter_map(|(_, n)| *n).sum();
        let open = test.sown() - test.germinated() - told;
        let rest = if words.is_empty() { String::new() } else { format!("{}, ", words.join(", ")) };
        lines.push(format!("  ended {}: {rest}{open} not told apart", end.day));
    }
    let sown = u64::try_from(test.sown()).unwrap_or(0);
    let counted = |day: u32| days.contains(&(test.day + Duration::days(i64::from(day))));
    let found = indices_of(&test.by_day(), counted, sown).ok();
    lines.extend(found.and_then(|found| speed(&found, days.len())));
    lines
}

/// Only where it was counted often enough to tell.
fn speed(found: &Indices, days: usize) -> Option<String> {
    let (mean, half) = found.mean_d.zip(found.t50_coolbear)?;
    if days < 3 {
        return Some("  Counted on fewer than 3 days: not enough to say how fast it came.".into());
    }
    // nobody looked before the first count
    if let Some(first) = found.first_d.map(f64::from).filter(|first| half < *first) {
        return Some(format!(
            "  Half of those that came were up by day {first:.0}, the first count: count earlier to say how fast."
        ));
    }
    Some(format!("  Mean germination time {mean:.1} d; half of those that came were up after {half:.1} d (Coolbear)."))
}

#[expect(clippy::cast_precision_loss, reason = "per mille")]
fn real(pm: i64) -> f64 {
    pm as f64
}

#[cfg(test)]
mod tests {
    use super::super::tests::test;
    use super::super::{Counted, GermEnd};
    use super::*;

    fn ended() -> GermTest {
        let day = "2026-07-08".parse().unwrap();
        test().with(&[], Some(GermEnd { day, abnormal: Some(10), hard: None, dead: Some(20) }))
    }

    fn has(lines: &[String], text: &str) -> bool {
        lines.iter().any(|line| line.contains(text))
    }

    #[test]
    fn four_hundreds_are_told_with_range_packet_and_minimum() {
        let lines = lines(&ended(), Some(950), Some(850), Some(950));
        assert!(has(&lines, "Normal seedlings: 366 of 400, 92 % (88 to 94 %)."), "{lines:?}");
        // P: 7 CFR 201.55: of four hundreds at 92 % a range of 11; here 95 - 88
        assert!(has(&lines, "7 seeds apart, and up to 11 are usual at 92 % (7 CFR 201.55)"), "{lines:?}");
        // P: 7 CFR 201.63: 6 points at 90 to 95 % of 400 seeds; here 95 - 92, 91.5 in whole per cent
        assert!(has(&lines, "The packet says 95 %, 3 points more: two tests may differ by 6"), "{lines:?}");
        assert!(has(&lines, "At least 85 % is wanted of this crop: it holds."), "{lines:?}");
        assert!(has(&lines, "100 seeds leave roughly 5 to 9 points"), "{lines:?}");
    }

    #[test]
    fn replicates_far_apart_are_to_be_counted_again() {
        let mut test = ended();
        test.counts.push(Counted { replicate: 3, day: "2026-07-08".parse().unwrap(), normal: 5 });
        test.counts[1].normal -= 5;
        let lines = lines(&test, None, None, None);
        assert!(
            has(&lines, "do not agree: best and worst are 17 seeds apart") && has(&lines, "Count again"),
            "{lines:?}"
        );
    }

    #[test]
    fn a_failed_and_a_doubtful_lot_say_what_to_do() {
        let small = |normal| {
            let day = "2026-07-08".parse().unwrap();
            GermTest {
                replicates: 1,
                counts: vec![Counted { replicate: 1, day, normal }],
                end: Some(GermEnd { day, abnormal: None, hard: None, dead: None }),
                ..test()
            }
        };
        assert!(has(&lines(&small(60), Some(950), Some(850), None), "It is below the 85 % wanted"));
        assert!(has(&lines(&small(60), Some(950), Some(850), None), "ask the supplier"));
        assert!(has(&lines(&small(80), None, Some(850), None), "It may be below the 85 % wanted"));
        assert!(!has(&lines(&small(80), None, None, None), "replicates"), "one has nothing to agree with");
        assert!(has(&why(&small(80), Units::Metric), "not enough to say how fast"));
        // while it goes on nothing is held against it
        let open = GermTest { end: None, ..small(20) };
        let lines = lines(&open, Some(950), Some(850), Some(950));
        assert!(has(&lines, "so far: 20 of 100") && !has(&lines, "wanted") && !has(&lines, "packet"), "{lines:?}");
    }

    #[test]
    fn how_fast_it_came_is_behind_why() {
        // P: germinationmetrics vignette (growing.md G8): 40 of 50 seeds, mean 6.7 d, t50 5.970588 (Coolbear)
        let begun = test().day;
        let counts = [(5, 4), (6, 17), (7, 10), (8, 7), (9, 1), (11, 1)];
        let on = |(day, normal)| Counted { replicate: 1, day: begun + Duration::days(day), normal };
        let test = GermTest { replicates: 1, seeds: 50, counts: counts.map(on).to_vec(), ..test() };
        let lines = why(&test, Units::Metric);
        assert!(has(&lines, "Mean germination time 6.7 d; half of those that came were up after 6.0 d"), "{lines:?}");
        assert!(has(&lines, "1 x 50") || has(&lines, "50 seeds laid out 2026-07-01, kept at 20.0 °C"), "{lines:?}");
    }
}
