//! Germination tests of seed lots: seed laid out in replicates, normal seedlings counted on some days, and what was left at the end.

pub mod typed;
mod words;

pub use words::{lines, why};

use std::collections::BTreeSet;

use super::id::{GermTestId, SeedLotId};
use super::proportion::Share;
use super::time::{Day, day_number};

/// Most replicates of a test, and most seeds of each.
pub const REPLICATES_MAX: i64 = 8;
pub const SEEDS_MAX: i64 = 400;

/// From a test, or from the receipt of a lot that was never tested, to the next. Common practice, no source.
pub const RETEST_D: i64 = 183;

/// Normal seedlings found and taken out on a day, a number for each replicate.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct DayCount {
    pub day: Day,
    pub normal: Vec<i64>,
}

/// The last count was made: what was left beside normal seedlings. What was not told apart is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct GermEnd {
    pub day: Day,
    pub abnormal: Option<i64>,
    pub hard: Option<i64>,
    pub dead: Option<i64>,
}

/// A test as it is begun. Who has the numbers already gives them at once, counts and end.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewGermTest {
    pub lot: SeedLotId,
    pub day: Day,
    pub replicates: i64,
    /// Of each replicate.
    pub seeds: i64,
    /// Tenths of a degree.
    pub temp_dc: Option<i64>,
    pub counts: Vec<DayCount>,
    pub end: Option<GermEnd>,
}

/// What is wrong: rule, field, sentence.
pub type Bad = (&'static str, &'static str, String);

impl NewGermTest {
    /// One just laid out.
    pub fn of(lot: SeedLotId, day: Day, replicates: i64, seeds: i64) -> Self {
        Self { lot, day, replicates, seeds, temp_dc: None, counts: vec![], end: None }
    }

    /// Limits of a believable test.
    pub fn check(&self, today: Day) -> Result<(), Bad> {
        if self.day > today {
            return Err(("germ_day", "day", format!("The day it was laid out cannot be after today, {today}.")));
        }
        if !(1..=REPLICATES_MAX).contains(&self.replicates) {
            let why = format!("A test has 1 to {REPLICATES_MAX} replicates: say how many dishes or papers there are.");
            return Err(("germ_size", "replicates", why));
        }
        if !(1..=SEEDS_MAX).contains(&self.seeds) {
            let why = format!("A replicate has 1 to {SEEDS_MAX} seeds: say how many lie in each.");
            return Err(("germ_size", "seeds", why));
        }
        if self.temp_dc.is_some_and(|dc| !(0..=450).contains(&dc)) {
            return Err(("germ_size", "temp", "A germination test is kept at 0 to 45 °C.".into()));
        }
        Ok(())
    }
}

/// Normal seedlings of one replicate on one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Counted {
    /// From 1 on.
    pub replicate: i64,
    pub day: Day,
    pub normal: i64,
}

/// A test with everything counted so far.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct GermTest {
    pub id: GermTestId,
    pub lot: SeedLotId,
    pub day: Day,
    pub replicates: i64,
    pub seeds: i64,
    pub temp_dc: Option<i64>,
    pub counts: Vec<Counted>,
    pub end: Option<GermEnd>,
}

impl GermTest {
    /// Seeds laid out.
    pub fn sown(&self) -> i64 {
        self.replicates * self.seeds
    }

    /// Normal seedlings of each replicate.
    pub fn normals(&self) -> Vec<i64> {
        let of = |replicate| self.counts.iter().filter(move |count| count.replicate == replicate);
        (1..=self.replicates).map(|replicate| of(replicate).map(|count| count.normal).sum()).collect()
    }

    pub fn germinated(&self) -> i64 {
        self.counts.iter().map(|count| count.normal).sum()
    }

    /// Germination so far, or in the end.
    pub fn share(&self) -> Option<Share> {
        share(self.germinated(), self.sown())
    }

    /// New seedlings on day 1, 2, ... of the test, all replicates together.
    pub fn by_day(&self) -> Vec<u64> {
        let last = self.counts.iter().map(|count| day_number(self.day, count.day)).max().unwrap_or(0);
        let on = |day: i64| {
            let counts = self.counts.iter().filter(|count| day_number(self.day, count.day) == day);
            u64::try_from(counts.map(|count| count.normal).sum::<i64>()).unwrap_or(0)
        };
        (1..=last).map(on).collect()
    }

    /// The day of its newest count or end; of one just laid out that day.
    pub fn newest(&self) -> Day {
        let counted = self.counts.iter().map(|count| count.day);
        counted.chain(self.end.map(|end| end.day)).max().unwrap_or(self.day)
    }

    /// Why these counts are not taken.
    pub fn check_counts(&self, counts: &[DayCount], today: Day) -> Result<(), Bad> {
        if self.end.is_some() {
            let why = "This test is ended, nothing more is counted: begin a new one, or take the end back.";
            return Err(("germ_ended", "counts", why.into()));
        }
        let mut sums = self.normals();
        let mut days = BTreeSet::new();
        for count in counts {
            if !days.insert(count.day) {
                let why = format!("{} is given twice: write each day once, with all that is new on it.", count.day);
                return Err(("germ_day", "counts", why));
            }
            self.check_day(count.day, today, "counts")?;
            if count.day == self.day {
                let why = "Seedlings are counted from the day after it was laid out on: give the day of the count.";
                return Err(("germ_day", "counts", why.into()));
            }
            if usize::try_from(self.replicates) != Ok(count.normal.len()) || count.normal.iter().any(|n| *n < 0) {
                let why = format!("Give a number for each of its {} replicates, 0 for none.", self.replicates);
                return Err(("germ_replicates", "counts", why));
            }
            for (sum, normal) in sums.iter_mut().zip(&count.normal) {
                *sum = sum.saturating_add(*normal);
            }
        }
        if let Some(at) = sums.iter().position(|sum| *sum > self.seeds) {
            let sum = sums.get(at).copied().unwrap_or_default();
            let why = format!(
                "Replicate {} had {} seeds, and {sum} seedlings would be counted: give only the new ones of each day.",
                at + 1,
                self.seeds
            );
            return Err(("germ_over", "counts", why));
        }
        Ok(())
    }

    /// Why this end is not taken.
    pub fn check_end(&self, end: &GermEnd, today: Day) -> Result<(), Bad> {
        if self.end.is_some() {
            return Err(("germ_ended", "end", "This test is ended already: take the end back to put it right.".into()));
        }
        self.check_day(end.day, today, "end")?;
        if end.day < self.newest() {
            let why = format!("Something was counted on {}: a test ends with its last count.", self.newest());
            return Err(("germ_day", "end", why));
        }
        let told = [end.abnormal, end.hard, end.dead];
        if told.iter().flatten().any(|n| !(0..=self.sown()).contains(n)) {
            return Err(("germ_sum", "abnormal", format!("Give 0 to {} for each, or leave it empty.", self.sown())));
        }
        let rest = self.sown() - self.germinated();
        if told.iter().flatten().sum::<i64>() > rest {
            let why =
                format!("Beside the normal seedlings only {rest} of its {} seeds are left: count again.", self.sown());
            return Err(("germ_sum", "abnormal", why));
        }
        Ok(())
    }

    fn check_day(&self, day: Day, today: Day, field: &'static str) -> Result<(), Bad> {
        if day < self.day {
            return Err(("germ_day", field, format!("It was laid out only on {}: give a later day.", self.day)));
        }
        if day > today {
            return Err(("germ_day", field, format!("{day} is still to come: give a day up to today, {today}.")));
        }
        Ok(())
    }

    /// With more counts and an end, as if they stood in the book.
    #[must_use]
    pub fn with(mut self, counts: &[DayCount], end: Option<GermEnd>) -> Self {
        for count in counts {
            let each = (1..).zip(&count.normal);
            self.counts.extend(each.map(|(replicate, normal)| Counted { replicate, day: count.day, normal: *normal }));
        }
        self.end = self.end.or(end);
        self
    }

    /// `4 x 100 seeds laid out 2026-07-01`.
    pub fn words(&self) -> String {
        let of = if self.replicates == 1 { String::new() } else { format!("{} x ", self.replicates) };
        format!("{of}{} seeds laid out {}", self.seeds, self.day)
    }

    /// `366 of 400, 92 % (88 to 94 %)`, with the day of the test for one that goes on.
    pub fn result(&self) -> String {
        let share = self.share().map_or_else(String::new, |share| share.words());
        match self.end {
            Some(_) => share,
            None if self.counts.is_empty() => "nothing counted yet".into(),
            None => format!("so far {share}, day {}", day_number(self.day, self.newest())),
        }
    }
}

impl GermTest {
    /// The same for a narrow list: `day 7: 94 of 100` of one that goes on.
    pub fn short(&self) -> String {
        if self.end.is_some() || self.counts.is_empty() {
            return self.result();
        }
        format!("day {}: {} of {}", day_number(self.day, self.newest()), self.germinated(), self.sown())
    }
}

fn share(x: i64, n: i64) -> Option<Share> {
    Share::of(u64::try_from(x).ok()?, u64::try_from(n).ok()?).ok()
}

/// A test's share held against a minimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Against {
    Holds,
    /// What was counted is below it, and the true share may lie above.
    MayBeBelow,
    /// Also the upper end of the interval lies below it.
    Below,
}

/// The newest ended test of a lot, as the shelf and the sowing form tell it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Tested {
    pub day: Day,
    pub normal: i64,
    pub seeds: i64,
    /// The crop's minimum, per mille.
    pub min_pm: Option<i64>,
}

impl Tested {
    pub fn share(&self) -> Option<Share> {
        share(self.normal, self.seeds)
    }

    pub fn against(&self) -> Against {
        self.share().zip(self.min_pm).map_or(Against::Holds, |(share, min)| against(&share, min))
    }

    /// Its retest failed: clearly below the minimum.
    pub fn failed(&self) -> bool {
        self.against() == Against::Below
    }

    /// Per mille, rounded down.
    pub fn pm(&self) -> i64 {
        if self.seeds > 0 { self.normal * 1000 / self.seeds } else { 0 }
    }

    /// Nothing where it holds.
    pub fn warning(&self) -> Option<String> {
        let (share, min) = self.share().zip(self.min_pm)?;
        let least = super::seed_lot::percent(min);
        match self.against() {
            Against::Holds => None,
            Against::MayBeBelow => Some(format!(
                "may germinate below the {least} wanted: {} on {}; test it again",
                share.words(),
                self.day
            )),
            Against::Below => Some(format!(
                "failed its germination test: {} on {}, below the {least} wanted; take another lot, or test again",
                share.words(),
                self.day
            )),
        }
    }
}

/// A share held against a minimum in per mille.
pub fn against(share: &Share, min_pm: i64) -> Against {
    #[expect(clippy::cast_precision_loss, reason = "per mille")]
    let min = min_pm as f64 / 1000.0;
    if share.high < min {
        Against::Below
    } else if share.share < min {
        Against::MayBeBelow
    } else {
        Against::Holds
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    /// 4 x 100, laid out on the first, counted on the fourth and the seventh.
    pub fn test() -> GermTest {
        let test = GermTest {
            id: GermTestId(1),
            lot: SeedLotId(1),
            day: day("2026-07-01"),
            replicates: 4,
            seeds: 100,
            temp_dc: Some(200),
            counts: vec![],
            end: None,
        };
        let counts = [count("2026-07-04", &[50, 48, 55, 51]), count("2026-07-08", &[42, 40, 40, 40])];
        test.with(&counts, None)
    }

    fn count(on: &str, normal: &[i64]) -> DayCount {
        DayCount { day: day(on), normal: normal.to_vec() }
    }

    fn rule<T>(result: Result<T, Bad>) -> &'static str {
        result.err().unwrap().0
    }

    #[test]
    fn counts_are_added_up_by_replicate_and_by_day() {
        let test = test();
        assert_eq!((test.sown(), test.germinated()), (400, 366));
        assert_eq!(test.normals(), [92, 88, 95, 91]);
        assert_eq!(test.by_day(), [0, 0, 204, 0, 0, 0, 162]);
        assert_eq!(test.result(), "so far 366 of 400, 92 % (88 to 94 %), day 7");
        assert_eq!(test.words(), "4 x 100 seeds laid out 2026-07-01");
    }

    #[test]
    fn what_cannot_be_is_refused_by_its_rule() {
        let test = test();
        let today = day("2026-07-10");
        let counts = |count: DayCount| test.check_counts(&[count], today);
        assert_eq!(counts(count("2026-07-10", &[8, 0, 0, 0])), Ok(()));
        assert_eq!(rule(counts(count("2026-07-10", &[9, 0, 0, 0]))), "germ_over");
        assert_eq!(rule(counts(count("2026-07-10", &[1, 0, 0]))), "germ_replicates");
        assert_eq!(rule(counts(count("2026-07-10", &[1, 0, 0, -1]))), "germ_replicates");
        assert_eq!(rule(counts(count("2026-07-11", &[1, 0, 0, 0]))), "germ_day");
        assert_eq!(rule(counts(count("2026-07-01", &[1, 0, 0, 0]))), "germ_day");
        assert_eq!(rule(counts(count("2026-06-30", &[1, 0, 0, 0]))), "germ_day");
        let end = |on: &str, abnormal, dead| GermEnd { day: day(on), abnormal, hard: None, dead };
        let ends = |given: GermEnd| test.check_end(&given, today);
        assert_eq!(ends(end("2026-07-08", Some(30), Some(4))), Ok(()));
        assert_eq!(rule(ends(end("2026-07-08", Some(30), Some(5)))), "germ_sum");
        assert_eq!(rule(ends(end("2026-07-08", Some(-1), None))), "germ_sum");
        assert_eq!(rule(ends(end("2026-07-07", None, None))), "germ_day");
        assert_eq!(rule(ends(end("2026-07-11", None, None))), "germ_day");
        let ended = test.clone().with(&[], Some(end("2026-07-08", None, None)));
        assert_eq!(rule(ended.check_counts(&[], today)), "germ_ended");
        assert_eq!(rule(ended.check_end(&end("2026-07-09", None, None), today)), "germ_ended");
    }

    #[test]
    fn a_share_fails_only_where_also_the_upper_end_of_its_interval_is_below() {
        let tested = |normal, seeds| Tested { day: day("2026-07-08"), normal, seeds, min_pm: Some(850) };
        // Wilson by hand for 70 of 100: 60.4 to 78.1 %; for 80 of 100: 71.1 to 86.7 %
        assert_eq!(tested(70, 100).against(), Against::Below);
        assert_eq!(tested(80, 100).against(), Against::MayBeBelow);
        assert_eq!(tested(85, 100).against(), Against::Holds);
        assert_eq!(Tested { min_pm: None, ..tested(1, 100) }.against(), Against::Holds);
        assert!(
            tested(70, 100).warning().unwrap().starts_with("failed its germination test: 70 of 100, 70 % (60 to 78 %)")
        );
        assert_eq!(tested(85, 100).warning(), None);
    }
}
