//! What runs out first. Days left never clear a tray or a lot; people do.

use super::forecast::Window;
use super::time::{Day, day_number};
use super::words::words;

words!(
    /// The kind of thing that runs out.
    Kind { Trays = "trays" / "trays", Seed = "seed" / "seed", Mix = "mix" / "mix", Lot = "lot" / "lot" }
);

words!(
    /// What the list is narrowed to.
    Only {
        All = "all" / "everything",
        Packs = "packs" / "packs",
        Cut = "cut" / "cut greens",
        Trays = "trays" / "trays",
        Mixes = "mixes" / "mixes",
        Seed = "seed" / "seed",
    }
);

/// One line of the shelf-life pane.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct RunsOut {
    pub kind: Kind,
    /// Batch or lot code.
    pub code: String,
    /// Crop, or recipe.
    pub name: String,
    /// `4 trays`, `812 g`.
    pub amount: String,
    /// From when it can be used, and the last day.
    pub from: Day,
    pub until: Day,
    /// When trays will probably be ready instead, where what was seen speaks against the plan.
    pub forecast: Option<Window>,
    /// All of it: not to be used before someone has decided.
    pub held: bool,
}

/// In words: `in 3-7 d` before a span of days, then `4 d left`, `last day`, `2 d past`.
pub fn days_to(from: Day, until: Day, today: Day) -> String {
    match day_number(today, until) {
        left if left < 0 => format!("{} d past", -left),
        0 => "last day".into(),
        left if from > today => format!("in {}-{left} d", day_number(today, from)),
        left => format!("{left} d left"),
    }
}

impl RunsOut {
    /// Days left to the last day; negative once it is past.
    pub fn days_left(&self, today: Day) -> i64 {
        day_number(today, self.until)
    }

    /// Time left in words, for trays by the plan.
    pub fn words(&self, today: Day) -> String {
        days_to(self.from, self.until, today)
    }

    /// Share of its time used, 0 to 10, for a bar.
    pub fn tenths_used(&self, today: Day, span: i64) -> i64 {
        if span <= 0 { 10 } else { (10 - self.days_left(today) * 10 / span).clamp(0, 10) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_left_in_words() {
        let line = RunsOut {
            kind: Kind::Trays,
            code: String::new(),
            name: "pea".into(),
            amount: String::new(),
            from: "2026-07-10".parse().unwrap(),
            until: "2026-07-14".parse().unwrap(),
            forecast: None,
            held: false,
        };
        let on = |day: &str| line.words(day.parse().unwrap());
        assert_eq!(on("2026-07-08"), "in 2-6 d");
        assert_eq!(on("2026-07-09"), "in 1-5 d");
        assert_eq!(on("2026-07-12"), "2 d left");
        assert_eq!(on("2026-07-14"), "last day");
        assert_eq!(on("2026-07-17"), "3 d past");
    }
}
