//! Making a weaker solution from a stronger one: what one takes times its strength stays the same (C₁V₁ = C₂V₂).

/// Why there is no such dilution.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DilutionError {
    #[error("a strength is more than 0 and at most 100 per cent")]
    Strength,
    #[error("an amount is more than 0")]
    Amount,
    #[error("{target} % is stronger than the stock of {stock} %: water only makes it weaker, so give a lower target")]
    TargetAboveStock { target: f64, stock: f64 },
}

/// So much stock, filled up with water.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Dilution {
    pub stock_pct: f64,
    pub target_pct: f64,
    pub make_ml: f64,
    pub stock_ml: f64,
    pub water_ml: f64,
}

fn strength(pct: f64) -> Result<(), DilutionError> {
    if pct > 0.0 && pct <= 100.0 { Ok(()) } else { Err(DilutionError::Strength) }
}

fn amount(x: f64) -> Result<(), DilutionError> {
    if x > 0.0 && x.is_finite() { Ok(()) } else { Err(DilutionError::Amount) }
}

impl Dilution {
    /// How much stock and how much water make so much of the target strength.
    pub fn new(stock_pct: f64, target_pct: f64, make_ml: f64) -> Result<Self, DilutionError> {
        strength(stock_pct)?;
        strength(target_pct)?;
        amount(make_ml)?;
        if target_pct > stock_pct {
            return Err(DilutionError::TargetAboveStock { target: target_pct, stock: stock_pct });
        }
        let stock_ml = make_ml * target_pct / stock_pct;
        Ok(Self { stock_pct, target_pct, make_ml, stock_ml, water_ml: make_ml - stock_ml })
    }
}

/// The strength of one part of stock and so many parts of water.
pub fn one_part_in(stock_pct: f64, water_parts: f64) -> Result<f64, DilutionError> {
    strength(stock_pct)?;
    amount(water_parts)?;
    Ok(stock_pct / (1.0 + water_parts))
}

/// What is said wherever a strong stock is made weaker.
pub const STRONG: [&str; 2] = [
    "Strong peroxide, acid and bleach burn skin and eyes: goggles and gloves, and the stock goes into the water.",
    "Never mix bleach with acid, peroxide or ammonia: the gas is poison.",
];

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, right: f64, by: f64) {
        assert!((found - right).abs() <= by, "{found} is not {right}");
    }

    #[test]
    fn stock_and_water_are_those_of_the_sources() {
        // growing.md G6: P: 600 mL of 0.5 % from 3 % = 100 mL + 500 mL
        let made = Dilution::new(3.0, 0.5, 600.0).unwrap();
        near(made.stock_ml, 100.0, 1e-9);
        near(made.water_ml, 500.0, 1e-9);
        // growing.md G6: D: 100 mL of 3 % from 35 % = 8.571 mL
        near(Dilution::new(35.0, 3.0, 100.0).unwrap().stock_ml, 8.571, 0.0005);
        // growing.md G6: D: one part 35 % plus 11 parts water = 2.917 %
        near(one_part_in(35.0, 11.0).unwrap(), 2.917, 0.0005);
        // as strong as the stock: nothing but stock
        near(Dilution::new(3.0, 3.0, 250.0).unwrap().water_ml, 0.0, 1e-9);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let above = Dilution::new(3.0, 3.5, 100.0).unwrap_err();
        assert!(above.to_string().contains("3.5 % is stronger than the stock of 3 %"), "{above}");
        for (stock, target, make) in [
            (0.0, 0.5, 1.0),
            (-3.0, 0.5, 1.0),
            (101.0, 0.5, 1.0),
            (3.0, 0.0, 1.0),
            (3.0, f64::NAN, 1.0),
            (3.0, 0.5, 0.0),
            (3.0, 0.5, -1.0),
            (3.0, 0.5, f64::INFINITY),
        ] {
            assert!(Dilution::new(stock, target, make).is_err(), "{stock} {target} {make}");
        }
        assert!(one_part_in(35.0, 0.0).is_err() && one_part_in(0.0, 11.0).is_err());
    }
}
