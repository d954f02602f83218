//! Crops of the room and their growing plans.

use super::id::{CropId, PlanId};
use super::look::Roots;
use super::words::words;

words!(
    /// Whether the seed is soaked before sowing.
    Soak {
        No = "no" / "not soaked",
        Hours = "hours" / "soaked",
        /// Seed that turns to slime in water.
        Never = "never" / "never soaked",
    }
);

words!(
    /// What the tray is filled with.
    Medium { Mat = "mat" / "mat", Soil = "soil" / "soil", Coco = "coco" / "coco", Other = "other" / "other" }
);

/// What a crop says of allergens; labels wait until somebody has checked.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum Allergy {
    No,
    NotChecked,
    /// This, to be declared.
    Yes(String),
}

impl Allergy {
    /// From the words of the crop: "no", "not checked", or what it is.
    pub fn of(text: &str) -> Self {
        match text.trim().to_lowercase().as_str() {
            "no" | "none" => Self::No,
            "" | "yes" => Self::NotChecked,
            text if text.starts_with("not checked") => Self::NotChecked,
            text => Self::Yes(text.to_owned()),
        }
    }
}

/// A crop as this room grows it.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Crop {
    pub id: CropId,
    /// Edits so far; a form that was opened on an older one is stale.
    pub rev: i64,
    /// Three capitals: the beginning of its lot codes.
    pub letters: String,
    pub name: String,
    pub soak: Soak,
    pub chilling: bool,
    pub hairs_expected: bool,
    pub roots_hidden: bool,
    pub second_cut: bool,
    pub weighted: bool,
    pub medium: Medium,
    /// Thousand-seed weight, mg, as a default for lots that state none.
    pub tsw_mg: Option<i64>,
    /// Seed for a nominal 10 × 20 inch tray, mg.
    pub tray_mg: i64,
    /// Expected yield of a nominal tray, g.
    pub yield_g: Option<i64>,
    /// Legal floor for selling seed, per mille.
    pub min_germ_pm: Option<i64>,
    /// What the grower wants of a lot, per mille.
    pub want_germ_pm: Option<i64>,
    /// Days from the cut after which it is never sold, whatever the shelf life says.
    pub most_d: Option<i64>,
    /// A kilogram of its seed, and all else that a tray costs, in hundredths.
    pub seed_kg_c: Option<i64>,
    pub tray_c: Option<i64>,
    pub allergen: String,
    pub us_list: String,
    pub light_hours: String,
    /// Where each figure comes from, figure by figure.
    pub sources: String,
    pub retired: bool,
    pub plan: Plan,
    /// Shelf life: tenths of °C and hours, from cold to warm.
    pub anchors: Vec<(i64, i64)>,
}

/// A growing plan: day 0 is the sowing.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Plan {
    pub id: PlanId,
    pub version: i64,
    pub soak_h: i64,
    /// Days under cover; 0 means lit from the sowing on.
    pub cover_d: i64,
    /// First and last day of the cutting window.
    pub cut_from_d: i64,
    pub cut_to_d: i64,
    /// Seeds per dm², where a thousand-seed weight is known.
    pub seeds_dm2: Option<i64>,
    pub source: String,
    /// Roots expected from a day on.
    pub roots: Vec<(i64, Roots)>,
}

impl Plan {
    /// Checks that the days can follow each other.
    pub fn check(&self) -> Result<(), String> {
        if self.cover_d < 0 || self.soak_h < 0 {
            return Err("Days under cover and hours of soaking are 0 or more.".into());
        }
        if self.soak_h > 48 {
            return Err("Soaking longer than 48 hours drowns the seed.".into());
        }
        if self.cut_from_d <= self.cover_d {
            return Err("The first cutting day comes after the last covered day.".into());
        }
        if self.cut_to_d < self.cut_from_d || self.cut_to_d > 90 {
            return Err("The cutting window ends on or after its first day, and by day 90.".into());
        }
        Ok(())
    }

    /// Roots the plan expects on a day; `None` before its first statement or where roots are hidden.
    pub fn roots_on(&self, day: i64) -> Option<Roots> {
        self.roots.iter().filter(|(from, _)| *from <= day).max_by_key(|(from, _)| *from).map(|(_, grade)| *grade)
    }

    /// Days by which a grade seen on a day is ahead of the plan; negative: behind.
    pub fn lead(&self, day: i64, seen: Roots) -> i64 {
        let last = self.roots.iter().map(|(from, _)| *from).max().unwrap_or(0).max(day);
        match self.roots_on(day) {
            None => 0,
            Some(expected) if expected == seen || seen == Roots::Hidden => 0,
            Some(expected) if seen < expected => {
                let due = (0..=day).rev().find(|d| self.roots_on(*d).is_none_or(|grade| grade <= seen)).unwrap_or(0);
                due - day
            }
            Some(_) => {
                (day..=last).find(|d| self.roots_on(*d).is_some_and(|grade| grade >= seen)).unwrap_or(last) - day
            }
        }
    }

    /// What the plan says of a day, in words.
    pub fn words_on(&self, day: i64) -> String {
        let stage = if day < self.cover_d {
            "covered".to_string()
        } else if day == self.cover_d && self.cover_d > 0 {
            "to the light today".to_string()
        } else if day < self.cut_from_d {
            format!("under light, cut from day {}", self.cut_from_d)
        } else if day <= self.cut_to_d {
            format!("in its cutting window, to day {}", self.cut_to_d)
        } else {
            format!("past its cutting window by {} d", day - self.cut_to_d)
        };
        match self.roots_on(day) {
            Some(grade) if day < self.cut_from_d => format!("roots {}, {stage}", grade.shown()),
            _ => stage,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn radish() -> Plan {
        Plan {
            id: PlanId(1),
            version: 1,
            soak_h: 0,
            cover_d: 4,
            cut_from_d: 6,
            cut_to_d: 10,
            seeds_dm2: None,
            source: String::new(),
            roots: vec![(1, Roots::None), (2, Roots::Peeking), (3, Roots::Plenty), (4, Roots::Full)],
        }
    }

    #[test]
    fn a_grade_holds_until_the_next_one() {
        let plan = radish();
        let seen: Vec<_> = (0..=6).map(|day| plan.roots_on(day)).collect();
        let (none, peeking, plenty, full) = (Roots::None, Roots::Peeking, Roots::Plenty, Roots::Full);
        assert_eq!(seen, [None, Some(none), Some(peeking), Some(plenty), Some(full), Some(full), Some(full)]);
    }

    #[test]
    fn early_and_late_against_the_plan() {
        let plan = radish();
        assert_eq!(plan.lead(3, Roots::Plenty), 0);
        assert_eq!(plan.lead(3, Roots::Peeking), -1);
        assert_eq!(plan.lead(4, Roots::None), -3);
        assert_eq!(plan.lead(2, Roots::Full), 2);
        assert_eq!(plan.lead(2, Roots::Hidden), 0);
        assert_eq!(plan.lead(0, Roots::Peeking), 0);
    }

    #[test]
    fn the_plan_says_its_day_in_words() {
        let plan = radish();
        assert_eq!(plan.words_on(2), "roots peeking, covered");
        assert_eq!(plan.words_on(4), "roots full, to the light today");
        assert_eq!(plan.words_on(7), "in its cutting window, to day 10");
        assert_eq!(plan.words_on(12), "past its cutting window by 2 d");
    }

    #[test]
    fn days_out_of_order_are_refused() {
        for broken in [
            Plan { cover_d: 6, ..radish() },
            Plan { cut_to_d: 5, ..radish() },
            Plan { cut_to_d: 91, ..radish() },
            Plan { soak_h: 49, ..radish() },
            Plan { cover_d: -1, ..radish() },
        ] {
            assert!(broken.check().is_err(), "{broken:?}");
        }
        assert!(radish().check().is_ok());
    }
}
