//! Life of a lot at one temperature: a quality estimate, never a safety clearance.

use super::time::Day;

/// The last day of greens cut on a day.
pub fn best_before(anchors: &[(i64, i64)], temp_dc: i64, cut: Day) -> Option<Day> {
    let (_, hours) = anchors.iter().rev().find(|(at, _)| *at <= temp_dc).or(anchors.first())?;
    Some(cut + chrono::Duration::days(hours / 24))
}
