//! How long the seed of a crop lasts at the rate it was sown, and when to order.

use chrono::{Datelike, Duration};

use super::id::CropId;
use super::room::Units;
use super::supplier::Supplier;
use super::text::counted;
use super::time::Day;

/// The rate is that of so many full weeks.
pub const WEEKS: i64 = 4;

/// Nobody plans further ahead: also the last day told.
const FAR_D: f64 = 3650.0;

/// The full weeks before a day, Monday to Sunday, the oldest first.
pub fn full_weeks(today: Day) -> Vec<(Day, Day)> {
    let monday = today - Duration::days(i64::from(today.weekday().num_days_from_monday()));
    (1..=WEEKS)
        .rev()
        .map(|back| (monday - Duration::weeks(back), monday - Duration::weeks(back - 1) - Duration::days(1)))
        .collect()
}

/// Seed of one crop.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SeedUse {
    pub crop: CropId,
    pub crop_name: String,
    /// What may be sown, mg.
    pub left_mg: i64,
    /// What was sown in each of the last full weeks in which there was a lot, the oldest first, mg.
    pub weeks: Vec<i64>,
    /// Who the newest lot came from.
    pub supplier: Option<Supplier>,
}

impl SeedUse {
    /// Milligrams a week; none where nothing was sown.
    #[expect(clippy::cast_precision_loss, reason = "a tonne in milligrams is far below 2^53")]
    pub fn rate(&self) -> Option<f64> {
        let sown: i64 = self.weeks.iter().sum();
        (sown > 0).then(|| sown as f64 / self.weeks.len() as f64)
    }

    #[expect(clippy::cast_precision_loss, reason = "a tonne in milligrams is far below 2^53")]
    pub fn weeks_left(&self) -> Option<f64> {
        Some(self.left_mg.max(0) as f64 / self.rate()?)
    }

    /// The day it runs out at that rate; none if that is years away.
    pub fn runs_out(&self, today: Day) -> Option<Day> {
        let days = (self.weeks_left()? * 7.0).floor();
        #[expect(clippy::cast_possible_truncation, reason = "at most ten years of days")]
        (days <= FAR_D).then(|| today + Duration::days(days as i64))
    }

    /// The last day to order on.
    pub fn reorder(&self, today: Day) -> Option<Day> {
        let lead = self.supplier.as_ref()?.lead_d?;
        Some(self.runs_out(today)? - Duration::days(lead))
    }

    /// Two sentences: how long it lasts, and what to do.
    pub fn lines(&self, units: Units, today: Day) -> Vec<String> {
        let crop = &self.crop_name;
        let Some((rate, left)) = self.rate().zip(self.weeks_left()) else {
            let why = if self.weeks.is_empty() {
                "no full week has passed since its first lot came".to_string()
            } else {
                format!("nothing was sown of it in the last {}", full(self.weeks.len()))
            };
            return vec![format!("All {crop} seed: not enough to say how long it lasts, {why}.")];
        };
        let sown = self.weeks.iter().filter(|mg| **mg > 0).count();
        let few = if sown < 3 { ", few" } else { "" };
        #[expect(clippy::cast_possible_truncation, reason = "milligrams of a week")]
        let rate = units.weight(rate.round() as i64);
        let until = self.runs_out(today).map_or_else(String::new, |day| format!(", until {day}"));
        let last = format!(
            "All {crop} seed: {} may be sown, {rate} a week in {} (sown in {sown}{few}): {left:.1} weeks{until}.",
            units.weight(self.left_mg),
            full(self.weeks.len()),
        );
        vec![last, self.order_words(today)]
    }

    fn order_words(&self, today: Day) -> String {
        let Some(supplier) = &self.supplier else { return "No supplier is known: receive a lot first.".into() };
        let Some(lead) = supplier.lead_d else {
            return format!("No lead time of {} is set: p sets it, then the day to order is told here.", supplier.name);
        };
        let takes = format!("{} takes {}", supplier.name, counted(usize::try_from(lead).unwrap_or(0), "day"));
        match self.reorder(today) {
            None => format!("Nothing to order: it lasts for years; {takes}."),
            Some(day) if day <= today => format!("Order now: {takes}."),
            Some(day) => format!("Order by {day}: {takes}."),
        }
    }
}

fn full(weeks: usize) -> String {
    format!("{weeks} full {}", if weeks == 1 { "week" } else { "weeks" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::id::SupplierId;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn of(weeks: &[i64], left_g: i64, lead_d: Option<i64>) -> SeedUse {
        let supplier = Supplier {
            id: SupplierId(1),
            rev: 0,
            retired: false,
            name: "Fen Seeds".into(),
            address: String::new(),
            lead_d,
        };
        SeedUse {
            crop: CropId(1),
            crop_name: "radish".into(),
            left_mg: left_g * 1000,
            weeks: weeks.iter().map(|g| g * 1000).collect(),
            supplier: Some(supplier),
        }
    }

    #[test]
    fn full_weeks_end_on_the_sunday_before() {
        // 2026-07-08 is a Wednesday
        let weeks = full_weeks(day("2026-07-08"));
        assert_eq!(weeks.first(), Some(&(day("2026-06-08"), day("2026-06-14"))));
        assert_eq!(weeks.last(), Some(&(day("2026-06-29"), day("2026-07-05"))));
        assert_eq!(full_weeks(day("2026-07-06")).last().unwrap().1, day("2026-07-05"));
        assert_eq!(full_weeks(day("2026-07-05")).last().unwrap().1, day("2026-06-28"));
    }

    #[test]
    fn the_day_to_order_is_the_last_day_less_the_lead_time() {
        let today = day("2026-07-08");
        // derived by hand: 400 g in 4 weeks are 100 g a week; 810 g last 8.1 weeks = 56.7 d
        let seed = of(&[100, 100, 50, 150], 810, Some(14));
        assert_eq!((seed.runs_out(today), seed.reorder(today)), (Some(day("2026-09-02")), Some(day("2026-08-19"))));
        assert_eq!(
            seed.lines(Units::Metric, today),
            [
                "All radish seed: 810 g may be sown, 100 g a week in 4 full weeks (sown in 4): 8.1 weeks, until 2026-09-02.",
                "Order by 2026-08-19: Fen Seeds takes 14 days."
            ]
        );
        let soon = of(&[0, 0, 100], 20, Some(14)).lines(Units::Metric, today);
        assert!(soon[0].contains("a week in 3 full weeks (sown in 1, few)"), "{soon:?}");
        assert_eq!(soon[1], "Order now: Fen Seeds takes 14 days.");
        assert!(of(&[100], 20, None).lines(Units::Metric, today)[1].starts_with("No lead time of Fen Seeds is set: p"));
        assert!(of(&[0, 1, 0, 0], 900_000, Some(1)).lines(Units::Metric, today)[1].starts_with("Nothing to order"));
    }

    #[test]
    fn nothing_sown_is_not_enough_to_say() {
        let today = day("2026-07-08");
        let none = of(&[0, 0, 0, 0], 810, Some(14));
        assert_eq!((none.rate(), none.runs_out(today)), (None, None));
        assert!(none.lines(Units::Metric, today)[0].ends_with("nothing was sown of it in the last 4 full weeks."));
        assert!(of(&[], 810, None).lines(Units::Metric, today)[0].contains("no full week has passed"));
    }
}
