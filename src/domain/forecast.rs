//! When a batch will probably be ready, from how its roots came against the plan.
//!
//! The rule: the newest day with a roots grade counts, and on it the slowest tray. The days by which that grade is ahead
//! of or behind the plan move the cutting window; halved towards zero if grades were seen on one day only, and never more
//! than [`MOST`] days. The window never begins while the tray is covered and never ends before it begins. The band is a
//! day, and one more for each day of the shift. Roots that are hidden, not graded, or not in the plan give no forecast.
//! It is an estimate: signs, days left and refusals go by the plan and by what was seen.

use super::crop::Plan;
use super::look::Roots;
use super::shelf_life::days_to;
use super::time::Day;

/// Days by which a forecast moves the plan's window at most.
pub const MOST: i64 = 4;

/// The plan's cutting window, moved by what was seen. Days of growth; the sowing is day 0.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Forecast {
    /// Days with a grade, ascending, each with the slowest tray's.
    pub seen: Vec<(i64, Roots)>,
    /// Days by which the newest grade is ahead of the plan; negative: behind.
    pub lead: i64,
    /// Days by which the window moves; negative: earlier.
    pub shift: i64,
    pub from: i64,
    pub to: i64,
    /// Days by which either end may be off.
    pub band: i64,
}

/// A forecast window on the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Window {
    pub from: Day,
    pub to: Day,
    pub band: i64,
}

impl Forecast {
    /// From the grades seen, in any order and with any number on one day.
    pub fn of(plan: &Plan, grades: impl IntoIterator<Item = (i64, Roots)>) -> Option<Self> {
        let mut seen: Vec<(i64, Roots)> =
            grades.into_iter().filter(|(day, grade)| *day >= 1 && *grade != Roots::Hidden).collect();
        // of one day the lowest grade comes first and stays
        seen.sort_unstable();
        seen.dedup_by_key(|(day, _)| *day);
        let (day, grade) = *seen.last()?;
        if plan.roots.is_empty() {
            return None;
        }
        let lead = plan.lead(day, grade);
        let counted = if seen.len() == 1 { lead / 2 } else { lead };
        let shift = -counted.clamp(-MOST, MOST);
        let from = (plan.cut_from_d + shift).max((plan.cover_d + 1).min(plan.cut_from_d));
        let to = (plan.cut_to_d + shift).max(from);
        Some(Self { seen, lead, shift, from, to, band: 1 + shift.abs() })
    }

    /// Says something else than the plan.
    pub fn moved(&self) -> bool {
        self.shift != 0
    }

    /// The window of a batch on the calendar.
    pub fn window(&self, sown: Day) -> Window {
        let on = |day| sown + chrono::Duration::days(day);
        Window { from: on(self.from), to: on(self.to), band: self.band }
    }
}

impl Window {
    /// In words: `in 5-9 d`, then `4 d left`, and how far it may be off.
    pub fn words(&self, today: Day) -> String {
        format!("{} ±{} d", days_to(self.from, self.to, today), self.band)
    }
}

/// Days against the plan: `on plan`, `2 d ahead of the plan`, `1 d behind the plan`.
pub fn lead_words(lead: i64) -> String {
    match lead {
        0 => "on plan".to_string(),
        n if n > 0 => format!("{n} d ahead of the plan"),
        n => format!("{} d behind the plan", -n),
    }
}

#[cfg(test)]
mod tests {
    use super::super::id::PlanId;
    use super::*;
    use Roots::{Full, Hidden, None as No, Peeking, Plenty};

    /// Covered to day 4, roots none, peeking, plenty, full on days 1 to 4, cut on days 8 to 12.
    fn plan() -> Plan {
        Plan {
            id: PlanId(1),
            version: 1,
            soak_h: 0,
            cover_d: 4,
            cut_from_d: 8,
            cut_to_d: 12,
            seeds_dm2: None,
            source: String::new(),
            roots: vec![(1, No), (2, Peeking), (3, Plenty), (4, Full)],
        }
    }

    #[test]
    fn the_window_moves_with_the_newest_grade() {
        // grades seen; shift, first and last day, band
        for (seen, expected) in [
            // as planned
            (vec![(2, Peeking), (3, Plenty)], (0, 8, 12, 1)),
            // one day late, one day early
            (vec![(2, No), (3, Peeking)], (1, 9, 13, 2)),
            (vec![(1, No), (2, Plenty)], (-1, 7, 11, 2)),
            // only the newest day counts, in whatever order they come
            (vec![(4, Full), (2, No)], (0, 8, 12, 1)),
            // on one day the slowest tray counts
            (vec![(2, Peeking), (4, Full), (4, Plenty), (4, Full)], (1, 9, 13, 2)),
            // one day alone counts half, towards zero
            (vec![(3, Peeking)], (0, 8, 12, 1)),
            (vec![(4, Peeking)], (1, 9, 13, 2)),
            (vec![(4, No)], (1, 9, 13, 2)),
            (vec![(1, Plenty)], (-1, 7, 11, 2)),
            // never more than four days
            (vec![(2, No), (9, No)], (4, 12, 16, 5)),
        ] {
            let found = Forecast::of(&plan(), seen.clone()).unwrap();
            assert_eq!((found.shift, found.from, found.to, found.band), expected, "{seen:?}");
        }
    }

    #[test]
    fn no_forecast_without_a_grade_of_roots() {
        assert_eq!(Forecast::of(&plan(), []), None);
        assert_eq!(Forecast::of(&plan(), [(2, Hidden), (3, Hidden)]), None);
        assert_eq!(Forecast::of(&plan(), [(0, No)]), None, "before day 1");
        assert_eq!(Forecast::of(&Plan { roots: vec![], ..plan() }, [(2, No)]), None, "no grades in the plan");
        // a hidden look beside a graded one hides nothing
        assert_eq!(Forecast::of(&plan(), [(3, Plenty), (3, Hidden), (4, Hidden)]).unwrap().seen, [(3, Plenty)]);
    }

    #[test]
    fn the_window_never_begins_under_cover_nor_ends_before_it_begins() {
        let early = [(1, Full), (2, Full)];
        let short = Plan { cover_d: 4, cut_from_d: 5, cut_to_d: 5, ..plan() };
        let found = Forecast::of(&short, early).unwrap();
        assert_eq!((found.shift, found.from, found.to), (-2, 5, 5));
        let wide = Plan { cut_from_d: 6, cut_to_d: 10, ..plan() };
        let found = Forecast::of(&wide, early).unwrap();
        assert_eq!((found.shift, found.from, found.to), (-2, 5, 8));
    }

    #[test]
    fn the_window_on_the_calendar_and_in_words() {
        let day = |text: &str| -> Day { text.parse().unwrap() };
        let window = Forecast::of(&plan(), [(2, No), (3, Peeking)]).unwrap().window(day("2026-07-01"));
        assert_eq!((window.from, window.to), (day("2026-07-10"), day("2026-07-14")));
        assert_eq!(window.words(day("2026-07-05")), "in 5-9 d ±2 d");
        assert_eq!(window.words(day("2026-07-11")), "3 d left ±2 d");
        assert_eq!(
            [lead_words(0), lead_words(2), lead_words(-1)],
            ["on plan", "2 d ahead of the plan", "1 d behind the plan"]
        );
    }
}
