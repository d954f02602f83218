//! Light of a day.

/// Why light cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LightError {
    #[error("{0} hours are no day: give 0 to 24")]
    Hours(f64),
    #[error("{0} is no light: give 0 to 3000 µmol per m² and second")]
    Flux(f64),
}

/// Moles of light per m² and day (daily light integral) from µmol per m² and second, and hours. Covered days add none.
pub fn daily_mol(flux: f64, hours: f64) -> Result<f64, LightError> {
    if !(0.0..=24.0).contains(&hours) {
        return Err(LightError::Hours(hours));
    }
    if !(0.0..=3000.0).contains(&flux) {
        return Err(LightError::Flux(flux));
    }
    Ok(flux * hours * 0.0036)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_of_a_day_as_published() {
        // P: Jones-Baumgardt et al. 2020, microgreens under LED: 304 and 17.0 µmol for 16 h are 17.5 and 1.0 mol
        assert!((daily_mol(304.0, 16.0).unwrap() - 17.5).abs() < 0.05);
        assert!((daily_mol(17.0, 16.0).unwrap() - 1.0).abs() < 0.05);
        // derived: 400 · 16 · 0.0036
        assert!((daily_mol(400.0, 16.0).unwrap() - 23.04).abs() < 1e-9);
        assert_eq!(daily_mol(0.0, 16.0), Ok(0.0));
    }

    #[test]
    fn a_day_has_24_hours() {
        assert_eq!(daily_mol(100.0, 24.5), Err(LightError::Hours(24.5)));
        assert_eq!(daily_mol(-1.0, 1.0), Err(LightError::Flux(-1.0)));
        assert!(matches!(daily_mol(f64::NAN, 1.0), Err(LightError::Flux(_))));
    }
}
