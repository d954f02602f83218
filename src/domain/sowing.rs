//! A sowing: one crop, one day, its trays, and the seed shared out to them.

use super::crop::Medium;
use super::id::{CropId, FormatId, PlaceId, SeedLotId, SoakId};
use super::room::Units;
use super::seed_lot::SEED_MG_MAX;
use super::time::Day;

/// Trays in one entry of the form at most.
pub const TRAYS_MAX: usize = 400;

/// Hours of soaking that seed stands; longer drowns it.
pub const SOAK_H: i64 = 48;
/// Hours of soaking that can be believed.
pub const SOAK_MAX_H: i64 = 168;

/// What wetted the tray at sowing.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum Wetting {
    Water,
    /// A prepared spray or soak: its name, and hours to wait before cutting.
    Mix {
        name: String,
        wait_h: i64,
    },
}

/// Consecutive trays that got seed from the same lots: one sowing of its own, so that a recall takes only its trays.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Part {
    pub trays: usize,
    /// Milligrams of each lot, for all trays of the part together.
    pub seed: Vec<(SeedLotId, i64)>,
}

impl Part {
    /// Whether it got seed of a lot.
    pub fn of(&self, lot: SeedLotId) -> bool {
        self.seed.iter().any(|(used, _)| *used == lot)
    }
}

/// The whole form: one crop into some places on one day.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewSowing {
    pub crop: CropId,
    pub day: Day,
    pub format: FormatId,
    pub mats: i64,
    pub medium: Medium,
    pub medium_lot: Option<String>,
    pub wetting: Wetting,
    /// Soaks of the book that seed of it comes from; those still running are drained by it.
    pub soaks: Vec<SoakId>,
    /// Hours the rest of the seed was soaked before, 0 for dry seed.
    pub soak_h: i64,
    pub parts: Vec<Part>,
    /// One place per tray, in order.
    pub places: Vec<PlaceId>,
    /// Jars found to hold other than the book says: lot and milligrams counted, before this sowing.
    pub counts: Vec<(SeedLotId, i64)>,
}

impl NewSowing {
    pub fn trays(&self) -> usize {
        self.parts.iter().map(|part| part.trays).sum()
    }

    /// What can be said against it without the book.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if self.day > today {
            return Err(("day", format!("A sowing is written down when it is done, not before: today is {today}.")));
        }
        if !(1..=TRAYS_MAX).contains(&self.trays()) {
            return Err(("trays", format!("A sowing has 1 to {TRAYS_MAX} trays.")));
        }
        if !(1..=8).contains(&self.mats) {
            return Err(("mats", "A tray holds 1 to 8 mats.".into()));
        }
        if self.places.len() != self.trays() {
            return Err(("places", format!("{} trays want {} places.", self.trays(), self.trays())));
        }
        if self.parts.iter().any(|part| part.trays == 0 || part.seed.is_empty()) {
            return Err(("grams", "Every tray gets seed, and all seed goes into trays.".into()));
        }
        if self.parts.iter().flat_map(|part| &part.seed).any(|(_, mg)| !(1..=SEED_MG_MAX).contains(mg)) {
            return Err(("grams", "Seed per tray is more than 0 g and no more than a lot can hold.".into()));
        }
        Ok(())
    }
}

/// Seed cannot be shared out: how much more would be needed, mg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Short {
    pub missing_mg: i64,
}

/// Shares lots out to trays in order: whole trays from the first lot, one tray mixed where it runs out, and on.
///
/// `lots` are lot and milligrams left, in the order of use.
pub fn share_out(lots: &[(SeedLotId, i64)], per_tray_mg: i64, trays: usize) -> Result<Vec<Part>, Short> {
    let mut supply = lots.iter().copied().filter(|(_, left)| *left > 0);
    let mut current = supply.next();
    let mut parts: Vec<Part> = Vec::new();
    for done in 0..trays {
        let mut tray: Vec<(SeedLotId, i64)> = Vec::new();
        let mut want = per_tray_mg;
        while want > 0 {
            let Some((lot, left)) = current else {
                let open = i64::try_from(trays - done - 1).unwrap_or(i64::MAX);
                return Err(Short { missing_mg: open.saturating_mul(per_tray_mg).saturating_add(want) });
            };
            let take = want.min(left);
            tray.push((lot, take));
            want -= take;
            current = if take == left { supply.next() } else { Some((lot, left - take)) };
        }
        match parts.last_mut() {
            Some(part) if same_lots(&part.seed, &tray) => {
                part.trays += 1;
                for ((_, sum), (_, mg)) in part.seed.iter_mut().zip(&tray) {
                    *sum += mg;
                }
            }
            _ => parts.push(Part { trays: 1, seed: tray }),
        }
    }
    Ok(parts)
}

/// Trays belong to one part only if their shares are of the same single lot; a mixed tray stands alone.
fn same_lots(part: &[(SeedLotId, i64)], tray: &[(SeedLotId, i64)]) -> bool {
    matches!((part, tray), ([(a, _)], [(b, _)]) if a == b)
}

/// `trays 1–14 from S0001-9, 15 from S0001-9 and S0002-7, 16–20 from S0002-7`, one line per part.
pub fn part_lines(parts: &[Part], units: Units, code: impl Fn(SeedLotId) -> String) -> Vec<String> {
    let mut first = 1;
    parts
        .iter()
        .map(|part| {
            let last = first + part.trays - 1;
            let trays = if first == last { format!("tray {first}") } else { format!("trays {first} to {last}") };
            let seed: Vec<String> =
                part.seed.iter().map(|(lot, mg)| format!("{} of {}", units.weight(*mg), code(*lot))).collect();
            first = last + 1;
            format!("{trays}: {}", seed.join(" and "))
        })
        .collect()
}

/// Milligrams as grams with up to three decimals: `27`, `18.58`.
pub fn grams(mg: i64) -> String {
    let sign = if mg < 0 { "-" } else { "" };
    let text = format!("{sign}{}.{:03}", mg.abs() / 1000, mg.abs() % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const A: SeedLotId = SeedLotId(1);
    const B: SeedLotId = SeedLotId(2);

    #[test]
    fn a_lot_that_runs_out_is_followed_by_the_next() {
        // 20 trays of 27 g: 390 g fill 14 trays and leave 12 g for the fifteenth.
        let parts = share_out(&[(A, 390_000), (B, 1_000_000)], 27_000, 20).unwrap();
        assert_eq!(
            parts,
            [
                Part { trays: 14, seed: vec![(A, 378_000)] },
                Part { trays: 1, seed: vec![(A, 12_000), (B, 15_000)] },
                Part { trays: 5, seed: vec![(B, 135_000)] },
            ]
        );
        let lines = part_lines(&parts, Units::Metric, |lot| format!("S{}", lot.0));
        assert_eq!(
            lines,
            ["trays 1 to 14: 378 g of S1", "tray 15: 12 g of S1 and 15 g of S2", "trays 16 to 20: 135 g of S2"]
        );
    }

    #[test]
    fn too_little_seed_says_how_much_is_missing() {
        assert_eq!(share_out(&[(A, 50_000)], 27_000, 3), Err(Short { missing_mg: 31_000 }));
        assert_eq!(share_out(&[], 27_000, 2), Err(Short { missing_mg: 54_000 }));
    }

    #[test]
    fn grams_are_written_without_empty_decimals() {
        assert_eq!([grams(27_000), grams(18_580), grams(5), grams(0)], ["27", "18.58", "0.005", "0"]);
        // less than nothing: more was sown than the book holds
        assert_eq!([grams(-500), grams(-18_580)], ["-0.5", "-18.58"]);
    }

    proptest! {
        #[test]
        fn sharing_out_loses_and_invents_nothing(
            lots in proptest::collection::vec(0i64..60_000, 0..6), per_tray in 1i64..30_000, trays in 1usize..12,
        ) {
            let lots: Vec<_> = (1..).map(SeedLotId).zip(lots).collect();
            let have: i64 = lots.iter().map(|(_, mg)| mg).sum();
            let need = per_tray * i64::try_from(trays).unwrap();
            match share_out(&lots, per_tray, trays) {
                Ok(parts) => {
                    prop_assert!(need <= have);
                    prop_assert_eq!(parts.iter().map(|p| p.trays).sum::<usize>(), trays);
                    prop_assert_eq!(parts.iter().flat_map(|p| &p.seed).map(|(_, mg)| mg).sum::<i64>(), need);
                    for (lot, left) in &lots {
                        let used: i64 = parts.iter().flat_map(|p| &p.seed).filter(|(l, _)| l == lot).map(|(_, mg)| mg).sum();
                        prop_assert!(used <= *left);
                    }
                }
                Err(short) => prop_assert_eq!(short.missing_mg, need - have),
            }
        }
    }
}
