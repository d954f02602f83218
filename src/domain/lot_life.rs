//! How long greens keep at a temperature: a quality estimate for planning, never a safety clearance.
//!
//! Each crop has anchors of temperature and life. Between them the logarithm of life is linear in temperature; colder than
//! the coldest gives no extra credit; warmer than the warmest the faster of two ways to spoil counts.

use super::time::Day;

/// Relative rate of deterioration. P: Saltveit, "Respiratory metabolism", USDA Agriculture Handbook 66: Q10 of 3 to 10 °C,
/// 2.5 to 20, 2 to 30, 1.5 above.
pub fn rate(temp_c: f64) -> f64 {
    if temp_c <= 10.0 {
        3f64.powf(temp_c / 10.0)
    } else if temp_c <= 20.0 {
        3.0 * 2.5f64.powf((temp_c - 10.0) / 10.0)
    } else if temp_c <= 30.0 {
        7.5 * 2f64.powf((temp_c - 20.0) / 10.0)
    } else {
        15.0 * 1.5f64.powf((temp_c - 30.0) / 10.0)
    }
}

/// Hours of life at a temperature in °C; anchors in tenths of °C and hours, from cold to warm. `None` without anchors.
#[expect(clippy::cast_precision_loss, reason = "tenths of degrees and hours of some weeks")]
pub fn life_h(anchors: &[(i64, i64)], temp_c: f64) -> Option<f64> {
    let at = |(dc, hours): &(i64, i64)| (*dc as f64 / 10.0, *hours as f64);
    let (first, last) = (at(anchors.first()?), at(anchors.last()?));
    if anchors.len() == 1 {
        return Some(first.1 * rate(first.0) / rate(temp_c));
    }
    if temp_c <= first.0 {
        return Some(first.1);
    }
    for pair in anchors.windows(2) {
        if let [a, b] = pair {
            let (a, b) = (at(a), at(b));
            if temp_c <= b.0 {
                return Some(between(a, b, temp_c));
            }
        }
    }
    let before = anchors.iter().rev().nth(1).map(at)?;
    let shape = last.1 * rate(last.0) / rate(temp_c);
    Some(between(before, last, temp_c).min(shape))
}

/// The straight line of the logarithm through two anchors.
fn between(a: (f64, f64), b: (f64, f64), temp_c: f64) -> f64 {
    let share = (temp_c - a.0) / (b.0 - a.0);
    (a.1.ln() + (b.1.ln() - a.1.ln()) * share).exp()
}

/// The last day of greens cut on a day and kept at a temperature in tenths of °C: whole days, counted from the cut.
pub fn best_before(anchors: &[(i64, i64)], temp_dc: i64, cut: Day) -> Option<Day> {
    #[expect(clippy::cast_precision_loss, reason = "tenths of degrees")]
    let hours = life_h(anchors, temp_dc as f64 / 10.0)?;
    #[expect(clippy::cast_possible_truncation, reason = "some weeks of days")]
    let days = (hours / 24.0).floor() as i64;
    Some(cut + chrono::Duration::days(days))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Radish: 1 °C 23 d, 6 °C 10 d, 20 °C 3 d. P: J. Japanese Soc. Cold Preservation of Food 7(1):10; the 23 d include a move
    /// to 20 °C, so they are a vector here and in no table of the program.
    const RADISH: [(i64, i64); 3] = [(10, 23 * 24), (60, 240), (200, 72)];

    #[test]
    fn rates_are_those_of_the_handbook() {
        // P: the table of Handbook 66 at 0, 10, 20, 30, 40 °C; the others derived from its Q10 values
        for (temp, expected) in [
            (0.0, 1.0),
            (10.0, 3.0),
            (20.0, 7.5),
            (30.0, 15.0),
            (40.0, 22.5),
            (1.0, 1.1161),
            (2.0, 1.2457),
            (4.0, 1.5518),
            (5.0, 1.7321),
            (8.0, 2.4082),
            (12.0, 3.6034),
            (15.0, 4.7434),
            (25.0, 10.6066),
        ] {
            assert!((rate(temp) - expected).abs() < 0.001, "{temp}: {}", rate(temp));
        }
    }

    #[test]
    fn life_is_worked_out_between_anchors() {
        // derived by hand from the anchors, in days
        for (temp, days) in [(2.0, 19.47), (4.0, 13.95), (8.0, 8.42), (10.0, 7.09), (15.0, 4.61), (0.0, 23.0)] {
            let life = life_h(&RADISH, temp).unwrap() / 24.0;
            assert!((life - days).abs() < 0.01, "{temp}: {life}");
        }
        // one anchor: 10 d at 5 °C gives 3.65 d at 15 °C by the rates
        let one = life_h(&[(50, 240)], 15.0).unwrap() / 24.0;
        assert!((one - 3.65).abs() < 0.01, "{one}");
        assert_eq!(life_h(&[], 5.0), None);
    }

    #[test]
    fn warmer_than_the_warmest_the_faster_way_counts() {
        let last_slope = between((6.0, 240.0), (20.0, 72.0), 30.0);
        let life = life_h(&RADISH, 30.0).unwrap();
        assert!(life <= last_slope && life <= 72.0 * 7.5 / 15.0 + 0.001, "{life}");
    }

    #[test]
    fn best_before_counts_whole_days_from_the_cut() {
        let cut: Day = "2026-07-12".parse().unwrap();
        // 13.95 d at 4 °C
        assert_eq!(best_before(&RADISH, 40, cut), Some("2026-07-25".parse().unwrap()));
        assert_eq!(best_before(&[], 40, cut), None);
    }
}
