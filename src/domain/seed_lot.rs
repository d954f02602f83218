//! Seed lots as received, and what is left of them.

use super::germ_test::{RETEST_D, Tested};
use super::id::{CropId, SeedLotId, SupplierId};
use super::time::Day;
use super::words::words;

words!(
    /// Whether the seed was treated or coated. Only untreated seed becomes food.
    Treated { No = "no" / "no", Yes = "yes" / "yes", NotStated = "not_stated" / "not stated" }
);

/// A lot in the seed store, with what is left.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SeedLot {
    pub id: SeedLotId,
    pub code: String,
    pub crop: CropId,
    pub crop_name: String,
    pub variety: String,
    pub supplier_id: SupplierId,
    pub supplier: String,
    /// Verbatim, as on the supplier's bag.
    pub supplier_lot: String,
    pub received: Day,
    pub use_by: Option<Day>,
    /// Per mille.
    pub germ_pm: Option<i64>,
    /// Thousand-seed weight, mg.
    pub tsw_mg: Option<i64>,
    pub treated: Treated,
    pub cert: Option<String>,
    pub document: Option<String>,
    pub kept: Option<String>,
    pub received_mg: i64,
    /// Sum of all movements, mg.
    pub left_mg: i64,
    /// Not to be sown before someone has decided.
    pub held: bool,
    /// By the newest test that was ended.
    pub tested: Option<Tested>,
}

/// Said wherever the keeping of seed is.
pub const NEVER_FOOD: &str = "Treated or coated field seed is never food, however it was kept.";

impl Treated {
    /// Why such seed is not sown, if it is not.
    pub fn bar(self) -> Option<&'static str> {
        match self {
            Self::Yes => Some("treated seed is never sown for food"),
            Self::NotStated => Some("ask the supplier whether it was treated"),
            Self::No => None,
        }
    }
}

impl SeedLot {
    /// Why it may not be sown on a day, if it may not.
    pub fn bar(&self, day: Day) -> Option<String> {
        if let Some(why) = self.treated.bar() {
            return Some(why.into());
        }
        if self.held {
            return Some("HELD until it is lifted".into());
        }
        self.not_here(day).or_else(|| (self.left_mg <= 0).then(|| "nothing left".into()))
    }

    /// Why none of it can have been at hand on a day, if so.
    pub fn not_here(&self, day: Day) -> Option<String> {
        (self.received > day).then(|| format!("received only on {}", self.received))
    }

    /// Its newest test failed: it is not proposed before another.
    pub fn failed(&self) -> bool {
        self.tested.is_some_and(|tested| tested.failed())
    }

    /// Germination by its newest test, else as the packet says, per mille.
    pub fn germ_now(&self) -> Option<i64> {
        self.tested.map(|tested| tested.pm()).or(self.germ_pm)
    }

    /// When it is to be tested again; nothing where there is no seed left.
    pub fn retest(&self) -> Option<Day> {
        let last = self.tested.map_or(self.received, |tested| tested.day);
        (self.left_mg > 0).then(|| last + chrono::Duration::days(RETEST_D))
    }

    /// The characters that are read off the jar to confirm the lot.
    pub fn jar_tail(&self) -> String {
        let plain: Vec<char> = self.code.chars().filter(char::is_ascii_alphanumeric).collect();
        plain.iter().skip(plain.len().saturating_sub(3)).collect()
    }
}

/// A delivery of seed as typed in.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewSeedLot {
    pub crop: CropId,
    pub variety: String,
    pub supplier: String,
    pub supplier_address: String,
    pub supplier_lot: String,
    pub mg: i64,
    pub received: Day,
    pub use_by: Option<Day>,
    pub germ_pm: Option<i64>,
    pub tsw_mg: Option<i64>,
    pub treated: Treated,
    pub cert: Option<String>,
    pub document: Option<String>,
    pub kept: Option<String>,
}

/// A delivery is at most a tonne.
pub const SEED_MG_MAX: i64 = 1_000_000_000;

impl NewSeedLot {
    /// A delivery of which only crop, weight and day are known yet.
    pub fn of(crop: CropId, mg: i64, received: Day) -> Self {
        Self {
            crop,
            variety: String::new(),
            supplier: String::new(),
            supplier_address: String::new(),
            supplier_lot: String::new(),
            mg,
            received,
            use_by: None,
            germ_pm: None,
            tsw_mg: None,
            treated: Treated::NotStated,
            cert: None,
            document: None,
            kept: None,
        }
    }

    /// Limits of a believable delivery.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if self.mg <= 0 || self.mg > SEED_MG_MAX {
            return Err(("grams", "A seed lot weighs more than 0 g and at most 1 000 000 g.".into()));
        }
        if self.supplier.trim().is_empty() {
            return Err(("supplier", "Say who supplied the seed; a trace ends there.".into()));
        }
        if self.supplier_lot.trim().is_empty() {
            return Err(("supplier_lot", "Copy the supplier's lot from the bag, or write \"none printed\".".into()));
        }
        if self.received > today {
            return Err(("received", format!("The day received cannot be after today, {today}.")));
        }
        if self.use_by.is_some_and(|use_by| use_by < self.received) {
            return Err(("use_by", "The use-by date cannot be before the day it was received.".into()));
        }
        if self.germ_pm.is_some_and(|pm| !(0..=1000).contains(&pm)) {
            return Err(("germ", "Germination is between 0 and 100 %.".into()));
        }
        if self.tsw_mg.is_some_and(|mg| !(10..=5_000_000).contains(&mg)) {
            return Err(("tsw", "A thousand seeds weigh 0.01 to 5000 g.".into()));
        }
        Ok(())
    }
}

/// From per mille: `96 %`, `96.5 %`.
pub fn percent(pm: i64) -> String {
    if pm % 10 == 0 { format!("{} %", pm / 10) } else { format!("{}.{} %", pm / 10, pm % 10) }
}

/// Order in which lots are used: earliest use-by first, then the older receipt; lots without a date last, and after all of them
/// those that failed their test.
/// P: earliest expiry first is WHO good distribution practice, Annex 5 (statistics.md section 7).
pub fn use_order(lot: &SeedLot) -> (bool, bool, Option<Day>, Day, SeedLotId) {
    (lot.failed(), lot.use_by.is_none(), lot.use_by, lot.received, lot.id)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub fn lot(id: i64, left_g: i64) -> SeedLot {
        SeedLot {
            id: SeedLotId(id),
            code: format!("S{id:04}-9"),
            crop: CropId(1),
            crop_name: "radish".into(),
            variety: String::new(),
            supplier_id: SupplierId(1),
            supplier: "Fen Seeds".into(),
            supplier_lot: "FS-1".into(),
            received: "2026-01-10".parse().unwrap(),
            use_by: None,
            germ_pm: None,
            tsw_mg: None,
            treated: Treated::No,
            cert: None,
            document: None,
            kept: None,
            received_mg: 1_000_000,
            left_mg: left_g * 1000,
            held: false,
            tested: None,
        }
    }

    #[test]
    fn only_untreated_seed_with_something_left_may_be_sown() {
        let day: Day = "2026-02-01".parse().unwrap();
        assert_eq!(lot(1, 10).bar(day), None);
        assert!(SeedLot { treated: Treated::Yes, ..lot(1, 10) }.bar(day).is_some());
        assert!(SeedLot { treated: Treated::NotStated, ..lot(1, 10) }.bar(day).is_some());
        assert!(lot(1, 0).bar(day).is_some());
        assert!(SeedLot { held: true, ..lot(1, 10) }.bar(day).is_some());
        assert!(lot(1, 10).bar("2026-01-09".parse().unwrap()).is_some());
    }

    #[test]
    fn the_earliest_use_by_goes_first_and_undated_lots_last() {
        let dated = |id, use_by: &str| SeedLot { use_by: Some(use_by.parse().unwrap()), ..lot(id, 1) };
        let mut lots = [lot(1, 1), dated(2, "2027-01-01"), dated(3, "2026-06-01")];
        lots.sort_by_key(use_order);
        assert_eq!(lots.map(|l| l.id.0), [3, 2, 1]);
    }

    #[test]
    fn a_lot_that_failed_its_test_goes_last_and_is_tested_again_half_a_year_later() {
        let day: Day = "2026-07-08".parse().unwrap();
        let tested = |normal| Some(Tested { day, normal, seeds: 400, min_pm: Some(850) });
        let dated = |id, tested| SeedLot { use_by: Some("2026-06-01".parse().unwrap()), tested, ..lot(id, 1) };
        let mut lots = [dated(1, tested(200)), dated(2, tested(360)), lot(3, 1)];
        lots.sort_by_key(use_order);
        assert_eq!(lots.map(|l| l.id.0), [2, 3, 1]);
        assert_eq!(dated(1, tested(200)).germ_now(), Some(500));
        assert_eq!(dated(1, tested(200)).retest().unwrap().to_string(), "2027-01-07");
        assert_eq!(lot(1, 1).retest().unwrap().to_string(), "2026-07-12");
        assert_eq!(lot(1, 0).retest(), None);
    }

    #[test]
    fn the_jar_is_confirmed_by_its_last_three_characters() {
        assert_eq!(lot(42, 1).jar_tail(), "429");
    }
}
