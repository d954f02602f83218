//! The mean kinetic temperature, as information only: life is never worked out from a mean.

/// `ΔH/R` of 83.144 kJ/mol. P: USP <1160>.
const KELVIN: f64 = 10_000.0;
const ZERO_C: f64 = 273.15;

/// Of readings at equal intervals, °C. `None` without any.
#[expect(clippy::cast_precision_loss, reason = "a number of readings")]
pub fn mean_kinetic_c(readings_c: &[f64]) -> Option<f64> {
    if readings_c.is_empty() {
        return None;
    }
    let sum: f64 = readings_c.iter().map(|c| (-KELVIN / (c + ZERO_C)).exp()).sum();
    Some(KELVIN / -(sum / readings_c.len() as f64).ln() - ZERO_C)
}
