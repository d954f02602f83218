//! How much seed a tray wants.
//!
//! grams = seeds/cm² · area · thousand-seed weight / 1000 · (germination aimed at / germination of
//! the lot). Growers think in grams per tray; the density is worked out from them.

use std::fmt;

use super::room::Units;

#[cfg(test)]
mod tests;

/// A weak lot gets at most a fifth more seed: the extra dead seed feeds mould.
pub const MOST_CORRECTION: f64 = 1.2;

/// What a sowing is worked out from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seeding {
    pub seeds_per_cm2: f64,
    pub area_cm2: f64,
    /// Weight of a thousand seeds in grams.
    pub tsw_g: f64,
    /// Germination of the lot in per cent; `None` is "not tested", which is not 0.
    pub germination_pct: Option<f64>,
    /// Germination the density was meant for, in per cent.
    pub target_pct: Option<f64>,
}

/// The grams and every step that led to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worked {
    of: Seeding,
    pub seeds: f64,
    /// Grams before the correction for germination.
    pub plain_g: f64,
    /// What the grams are multiplied by for the lot's germination; 1 if either per cent is missing.
    pub factor: f64,
    /// Whether the factor was held at [`MOST_CORRECTION`].
    pub capped: bool,
    pub grams: f64,
}

/// Why nothing can be worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SeedingError {
    #[error("the {0} must be a number above 0: type it again")]
    NotPositive(&'static str),
    #[error("the {0} must be above 0 and at most 100 %: type it again, or leave it empty if it is not known")]
    NotPercent(&'static str),
}

/// A figure far from the crop's default, as a multiple of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Odd {
    /// More than double.
    Over(f64),
    /// Under half.
    Under(f64),
}

impl Seeding {
    /// The formula as it stands, with the full correction for germination.
    pub fn grams(&self) -> Result<Worked, SeedingError> {
        self.worked(f64::INFINITY)
    }

    /// What the sowing form proposes: the correction stops at [`MOST_CORRECTION`].
    pub fn grams_to_sow(&self) -> Result<Worked, SeedingError> {
        self.worked(MOST_CORRECTION)
    }

    fn worked(&self, most: f64) -> Result<Worked, SeedingError> {
        let seeds = positive("density", self.seeds_per_cm2)? * positive("area", self.area_cm2)?;
        let plain_g = seeds * positive("thousand-seed weight", self.tsw_g)? / 1000.0;
        let lot = self.germination_pct.map(|p| percent("germination of the lot", p)).transpose()?;
        let target = self.target_pct.map(|p| percent("germination aimed at", p)).transpose()?;
        let wanted = lot.zip(target).map_or(1.0, |(lot, target)| target / lot);
        let factor = wanted.min(most);
        let capped = wanted > most;
        Ok(Worked { of: *self, seeds, plain_g, factor, capped, grams: plain_g * factor })
    }
}

impl Worked {
    /// The arithmetic, one step a line.
    pub fn lines(&self, units: Units) -> Vec<String> {
        let Seeding { seeds_per_cm2, area_cm2, tsw_g, germination_pct, target_pct } = self.of;
        let mut lines = vec![
            format!("{} × {} = {:.0} seeds", units.density(seeds_per_cm2), units.area(area_cm2), self.seeds),
            format!("{:.0} seeds × {} / 1000 = {}", self.seeds, units.step(tsw_g), units.step(self.plain_g)),
        ];
        let Some((lot, target)) = germination_pct.zip(target_pct) else {
            lines.push("not corrected for germination, because it is not known".to_owned());
            return lines;
        };
        lines.push(format!("{target} % aimed at / {lot} % in this lot = {:.4}", target / lot));
        if self.capped {
            lines.push(format!("held at {:.4}, because extra dead seed feeds mould", self.factor));
        }
        lines.push(format!("{} × {:.4} = {}", units.step(self.plain_g), self.factor, units.step(self.grams)));
        lines
    }
}

impl fmt::Display for Odd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (ratio, side) = match self {
            Self::Over(ratio) => (ratio, "more than double"),
            Self::Under(ratio) => (ratio, "under half"),
        };
        write!(f, "this is {ratio:.2} times what the crop's default asks, {side}: check the grams and the unit")
    }
}

/// Whether `grams` are more than double or under half of the crop's `default` for the same area.
/// Typing a density per square inch as per square centimetre, 6.45 times too much, ends here.
/// Figures that are not above 0 have no ratio; [`Seeding`] refuses them.
pub fn odd_amount(grams: f64, default: f64) -> Option<Odd> {
    let ratio = positive("amount", grams).ok()? / positive("default", default).ok()?;
    if ratio > 2.0 {
        Some(Odd::Over(ratio))
    } else if ratio < 0.5 {
        Some(Odd::Under(ratio))
    } else {
        None
    }
}

/// Grams for another area at the same density: g₂ = g₁ · A₂ / A₁.
pub fn scale_grams(grams: f64, from_cm2: f64, to_cm2: f64) -> Result<f64, SeedingError> {
    Ok(positive("amount", grams)? * positive("area", to_cm2)? / positive("area", from_cm2)?)
}

/// Seeds per cm² that `grams` make on an area.
pub fn density_from_grams(grams: f64, area_cm2: f64, tsw_g: f64) -> Result<f64, SeedingError> {
    let seeds = positive("amount", grams)? / positive("thousand-seed weight", tsw_g)? * 1000.0;
    Ok(seeds / positive("area", area_cm2)?)
}

fn positive(what: &'static str, number: f64) -> Result<f64, SeedingError> {
    if number.is_finite() && number > 0.0 { Ok(number) } else { Err(SeedingError::NotPositive(what)) }
}

fn percent(what: &'static str, number: f64) -> Result<f64, SeedingError> {
    if number > 0.0 && number <= 100.0 { Ok(number) } else { Err(SeedingError::NotPercent(what)) }
}
