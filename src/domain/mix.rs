//! Recipes, what goes into them, and the bottles prepared by them. No dose comes with the program.

use super::id::{MaterialId, MaterialLotId, MixId, RecipeId};
use super::measure::Amount;
use super::time::{Day, Instant, Now};
use super::words::words;

/// Ingredients of a recipe at most.
pub const PARTS_MAX: usize = 6;

/// The largest bottle, in millilitres.
pub const ML_MAX: i64 = 1_000_000;

/// What is said where something is mixed.
pub const CAUTIONS: [&str; 3] = [
    "The product's label and local rules decide about any spray; a home mix on a crop for sale may be unlawful.",
    "Never mix bleach with acid, peroxide or ammonia. Strong peroxide burns: goggles and gloves.",
    "An oil gone solid in the cold: stand its bottle in hot water and shake it before it is measured.",
];

/// Those that concern a mix of these ingredients: the one about oils only where there is one.
pub fn cautions<'n>(mut names: impl Iterator<Item = &'n str>) -> Vec<&'static str> {
    let oil =
        names.any(|name| name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| word.ends_with("oil")));
    CAUTIONS.into_iter().take(if oil { 3 } else { 2 }).collect()
}

/// An ingredient with its lots, the newest first.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Material {
    pub id: MaterialId,
    pub name: String,
    pub lots: Vec<MaterialLot>,
}

/// A lot of an ingredient, by the code printed on it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct MaterialLot {
    pub id: MaterialLotId,
    pub code: String,
    pub received: Day,
    pub use_by: Option<Day>,
    /// Not to be used before someone has decided.
    pub held: bool,
}

impl MaterialLot {
    /// `L-7, received 01 Jul, use by 30 Sep`; HELD before it where it is.
    pub fn words(&self) -> String {
        let held = if self.held { "HELD, " } else { "" };
        let received = format!("{held}{}, received {}", self.code, self.received.format("%d %b %Y"));
        self.use_by.map_or(received.clone(), |day| format!("{received}, use by {}", day.format("%d %b %Y")))
    }
}

/// So much of one ingredient.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Part {
    pub material: MaterialId,
    pub name: String,
    pub amount: Amount,
}

/// A recipe in its newest version.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Recipe {
    pub id: RecipeId,
    pub rev: i64,
    pub name: String,
    /// The bottle it is written for.
    pub ml: i64,
    /// Days it keeps.
    pub life_d: i64,
    /// Of its ingredients.
    pub version: i64,
    pub parts: Vec<Part>,
}

/// One ingredient too little to measure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("that is too little {0} to measure, or more than a tonne: make another volume")]
pub struct ScaleError(pub String);

/// Amounts for another volume.
pub fn scaled<'p>(
    parts: impl IntoIterator<Item = (&'p str, Amount)>,
    from_ml: i64,
    to_ml: i64,
) -> Result<Vec<(&'p str, Amount)>, ScaleError> {
    parts
        .into_iter()
        .map(|(name, amount)| match amount.scaled(from_ml, to_ml) {
            Some(amount) => Ok((name, amount)),
            None => Err(ScaleError(name.to_string())),
        })
        .collect()
}

/// The amounts of a bottle, a line each, and the water.
pub fn bench_lines(parts: &[(&str, Amount)], ml: i64) -> Vec<String> {
    let mut lines: Vec<String> = parts.iter().map(|(name, amount)| format!("{name}: {}", amount.words())).collect();
    lines.push(format!("then water up to {ml} mL"));
    lines
}

impl Recipe {
    /// Its amounts for a bottle of another size.
    pub fn scaled(&self, ml: i64) -> Result<Vec<(&str, Amount)>, ScaleError> {
        scaled(self.parts.iter().map(|part| (part.name.as_str(), part.amount)), self.ml, ml)
    }

    /// `1500 mL, keeps 7 d: salt 2 g, oil 20 drops`.
    pub fn words(&self) -> String {
        let parts: Vec<String> =
            self.parts.iter().map(|part| format!("{} {}", part.name, part.amount.short())).collect();
        format!("{} mL, keeps {} d: {}", self.ml, self.life_d, parts.join(", "))
    }
}

/// A recipe as it is made or changed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewRecipe {
    pub name: String,
    pub ml: i64,
    pub life_d: i64,
    /// Ingredients by name.
    pub parts: Vec<(String, Amount)>,
}

impl NewRecipe {
    /// What can be said against it without the book.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if !(1..=60).contains(&self.name.trim().chars().count()) {
            return Err(("name", "A recipe's name has 1 to 60 characters.".into()));
        }
        if !(1..=ML_MAX).contains(&self.ml) {
            return Err(("ml", "A bottle holds 1 mL to 1000 L.".into()));
        }
        if !(1..=3650).contains(&self.life_d) {
            return Err(("life", "A mix keeps 1 to 3650 days.".into()));
        }
        if self.parts.is_empty() || self.parts.len() > PARTS_MAX {
            return Err(("part1", format!("A recipe has 1 to {PARTS_MAX} ingredients beside the water.")));
        }
        if self.parts.iter().any(|(name, _)| !(1..=60).contains(&name.trim().chars().count())) {
            return Err(("part1", "An ingredient's name has 1 to 60 characters.".into()));
        }
        let parts_ml: f64 = self.parts.iter().filter_map(|(_, amount)| amount.ml()).sum();
        #[expect(clippy::cast_precision_loss, reason = "at most 10^6")]
        if parts_ml > self.ml as f64 {
            let why = format!(
                "The ingredients alone come to {parts_ml:.0} mL, and the bottle holds {} mL: look at both again.",
                self.ml
            );
            return Err(("ml", why));
        }
        let mut names: Vec<&str> = self.parts.iter().map(|(name, _)| name.trim()).collect();
        names.sort_unstable();
        if names.windows(2).any(|pair| pair.first() == pair.last()) {
            return Err(("part1", "An ingredient is named twice: write it once, with all of it.".into()));
        }
        Ok(())
    }
}

/// What bleach is sold as.
const BLEACH: [&str; 5] = ["bleach", "hypochlorit", "chlorine", "chloride of lime", "chlorinated"];

/// What makes a poisonous gas with it.
const NEVER_WITH_BLEACH: [&str; 6] = ["acid", "vinegar", "lemon", "peroxide", "ammoni", "percarbonate"];

/// Ingredients that make a poisonous gas, as far as their names say so.
pub fn poison<'n>(names: impl Iterator<Item = &'n str> + Clone) -> Option<String> {
    let named = |words: &[&str], name: &str| words.iter().any(|word| name.to_lowercase().contains(word));
    let bleach = names.clone().find(|name| named(&BLEACH, name))?;
    let other = names.into_iter().find(|name| *name != bleach && named(&NEVER_WITH_BLEACH, name))?;
    Some(format!("{bleach} and {other} make a poisonous gas: never mix them, and never pour one after the other."))
}

/// A lot of an ingredient as it came in.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewMaterialLot {
    pub name: String,
    pub code: String,
    pub received: Day,
    pub use_by: Option<Day>,
}

impl NewMaterialLot {
    /// What can be said against it without the book.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if !(1..=60).contains(&self.name.trim().chars().count()) {
            return Err(("name", "An ingredient's name has 1 to 60 characters.".into()));
        }
        if !(1..=40).contains(&self.code.trim().chars().count()) {
            return Err(("code", "Write the lot as printed, in 1 to 40 characters.".into()));
        }
        if self.received > today {
            return Err(("received", "That day is still to come: give the day it came in.".into()));
        }
        if self.use_by.is_some_and(|day| day < self.received) {
            return Err(("use_by", "It was past its day when it came in: check both days.".into()));
        }
        Ok(())
    }
}

/// A bottle as it is prepared.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewMix {
    pub recipe: RecipeId,
    /// The ingredients as they were read: see [`Recipe::version`].
    pub version: i64,
    pub ml: i64,
    /// The lot of each ingredient, in the recipe's order; `None`: nobody read it.
    pub lots: Vec<Option<MaterialLotId>>,
}

words!(
    /// What became of a bottle.
    MixEnd { UsedUp = "used_up" / "used up", Binned = "binned" / "binned" }
);

/// A prepared bottle that is still there.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Mix {
    pub id: MixId,
    pub code: String,
    /// Of its recipe.
    pub name: String,
    pub made_ml: i64,
    /// Less what treatments say they used.
    pub left_ml: i64,
    pub prepared: Day,
    pub expires: Option<Instant>,
    /// The day on which it expires.
    pub use_by: Option<Day>,
    /// Not to be used before someone has decided: itself, or a lot that went into it.
    pub held: bool,
}

impl Mix {
    /// Past its life.
    pub fn expired(&self, now: Now) -> bool {
        self.expires.is_some_and(|expires| expires < now.instant())
    }

    /// `keeps until 14 Jul 06:00, 1200 of 1500 mL left`, or `EXPIRED 14 Jul 06:00, …`; HELD before it where it is.
    pub fn words(&self, now: Now) -> String {
        let held = if self.held { "HELD, " } else { "" };
        let left = format!("{} of {} mL left", self.left_ml.max(0), self.made_ml);
        let until = self.expires.map(|expires| now.local(expires).format("%d %b %H:%M"));
        match until {
            Some(until) if self.expired(now) => format!("{held}EXPIRED {until}, {left}"),
            Some(until) => format!("{held}keeps until {until}, {left}"),
            None => format!("{held}{left}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recipe() -> NewRecipe {
        // common practice, no source: measures to convert and to scale, never advice
        NewRecipe {
            name: "test bottle".into(),
            ml: 1500,
            life_d: 7,
            parts: vec![
                ("potassium bicarbonate".into(), Amount::parse("3/4 tsp us").unwrap()),
                ("oil one".into(), Amount::parse("20 drops").unwrap()),
                ("oil two".into(), Amount::parse("20 drops").unwrap()),
            ],
        }
    }

    #[test]
    fn a_bottle_of_another_size_gets_the_same_shares() {
        let new = recipe();
        let parts = || new.parts.iter().map(|(name, amount)| (name.as_str(), *amount));
        assert_eq!(
            bench_lines(&scaled(parts(), new.ml, 2000).unwrap(), 2000),
            [
                "potassium bicarbonate: 4.93 mL = 1 tsp (US)",
                "oil one: 27 drops, by the sum 26.7, about 1.33 mL (drops differ, an oil's most)",
                "oil two: 27 drops, by the sum 26.7, about 1.33 mL (drops differ, an oil's most)",
                "then water up to 2000 mL",
            ]
        );
        let why = scaled(parts(), 1_000_000, 1).unwrap_err();
        assert!(why.to_string().contains("too little potassium bicarbonate"), "{why}");
    }

    #[test]
    fn a_recipe_says_what_is_missing() {
        assert_eq!(recipe().check(), Ok(()));
        let bad = |change: fn(&mut NewRecipe)| {
            let mut new = recipe();
            change(&mut new);
            new.check().unwrap_err().0
        };
        assert_eq!(bad(|new| new.name = " ".into()), "name");
        assert_eq!(bad(|new| new.ml = 0), "ml");
        assert_eq!(bad(|new| new.life_d = 0), "life");
        assert_eq!(bad(|new| new.parts.clear()), "part1");
        assert_eq!(bad(|new| new.parts[0].0 = String::new()), "part1");
        assert_eq!(bad(|new| new.parts[0].0 = "oil two ".into()), "part1");
        assert_eq!(bad(|new| new.parts = vec![new.parts[0].clone(); 7]), "part1");
    }

    #[test]
    fn ingredients_are_no_more_than_the_bottle() {
        let of = |text: &str| NewRecipe {
            ml: 1000,
            parts: vec![
                ("soap".into(), Amount::parse(text).unwrap()),
                ("salt".into(), Amount::parse("5000 g").unwrap()),
            ],
            ..recipe()
        };
        assert_eq!(of("1000 mL").check(), Ok(()), "a weight says nothing of its room");
        let (field, why) = of("1000.5 mL").check().unwrap_err();
        assert_eq!(field, "ml");
        assert!(why.contains("1000 mL"), "{why}");
    }

    #[test]
    fn an_oil_is_warmed_only_where_there_is_one() {
        assert_eq!(cautions(["salt", "soap"].into_iter()).len(), 2);
        assert_eq!(cautions(["salt", "Neem oil"].into_iter()).len(), 3);
    }

    #[test]
    fn bleach_meets_nothing_that_makes_a_gas_of_it() {
        // common practice, no source: what labels of bleach warn of
        for pair in [
            ["Bleach 4 %", "vinegar"],
            ["citric acid", "calcium hypochlorite"],
            ["household ammonia", "bleach"],
            ["peroxide 3 %", "sodium hypochlorite"],
        ] {
            assert!(poison(pair.into_iter()).is_some_and(|why| why.contains("poisonous")), "{pair:?}");
        }
        for harmless in [["bleach", "salt"], ["vinegar", "oil"], ["bleach with acid", "salt"]] {
            assert_eq!(poison(harmless.into_iter()), None, "{harmless:?}");
        }
    }

    #[test]
    fn a_lot_of_an_ingredient_has_a_code_and_days_in_order() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        let lot = NewMaterialLot {
            name: "oil".into(),
            code: "L-7".into(),
            received: day("2026-07-01"),
            use_by: Some(day("2026-07-01")),
        };
        let today = day("2026-07-02");
        assert_eq!(lot.check(today), Ok(()));
        assert_eq!(lot.check(day("2026-06-30")).unwrap_err().0, "received");
        assert_eq!(NewMaterialLot { code: " ".into(), ..lot.clone() }.check(today).unwrap_err().0, "code");
        assert_eq!(NewMaterialLot { name: String::new(), ..lot.clone() }.check(today).unwrap_err().0, "name");
        assert_eq!(NewMaterialLot { use_by: Some(day("2026-06-30")), ..lot }.check(today).unwrap_err().0, "use_by");
    }
}
