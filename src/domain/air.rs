//! The air of a room: dew point, drying power, and the hours in which grey mould likes it.
//!
//! Formulas of FAO Irrigation and Drainage Paper 56 (1998), equations 11, 12 and 14. Temperatures in °C, humidity in %,
//! pressures in kPa. It is the air of the room, not that under a cover.

/// The formula is for weather: beyond this no room is meant.
const TEMP: std::ops::RangeInclusive<f64> = -40.0..=60.0;

/// Why air cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AirError {
    #[error("{0} °C is no air of a room: give -40 to 60 °C, and Fahrenheit as such")]
    Temp(f64),
    #[error("{0} % is no relative humidity: give more than 0 and at most 100")]
    Humidity(f64),
}

/// Air as it was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    temp_c: f64,
    rh_pct: f64,
}

/// Pressure at which the air holds no more water, kPa.
pub fn saturation_kpa(temp_c: f64) -> f64 {
    0.6108 * (17.27 * temp_c / (temp_c + 237.3)).exp()
}

impl Air {
    /// Refuses what no air is. Air without any water has no dew point.
    pub fn new(temp_c: f64, rh_pct: f64) -> Result<Self, AirError> {
        if !TEMP.contains(&temp_c) {
            return Err(AirError::Temp(temp_c));
        }
        if !(rh_pct > 0.0 && rh_pct <= 100.0) {
            return Err(AirError::Humidity(rh_pct));
        }
        Ok(Self { temp_c, rh_pct })
    }

    /// Water in the air, as its pressure, kPa.
    pub fn vapour_kpa(self) -> f64 {
        saturation_kpa(self.temp_c) * self.rh_pct / 100.0
    }

    /// Where water comes out of it, °C: a lid colder than that drips.
    pub fn dew_point_c(self) -> f64 {
        let ln = (self.vapour_kpa() / 0.6108).ln();
        237.3 * ln / (17.27 - ln)
    }

    /// How much more water it would take up, kPa (vapour pressure deficit).
    pub fn deficit_kpa(self) -> f64 {
        saturation_kpa(self.temp_c) - self.vapour_kpa()
    }

    /// Weather of grey mould: humid and neither cold nor hot.
    ///
    /// Source: University of Massachusetts Extension, grey mould of greenhouse crops: 85 % and more, 13 to 24 °C.
    pub fn mould_weather(self) -> bool {
        self.rh_pct >= 85.0 && (13.0..=24.0).contains(&self.temp_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn air(temp: f64, rh: f64) -> Air {
        Air::new(temp, rh).unwrap()
    }

    fn near(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() <= by, "{a} is not {b}");
    }

    #[test]
    fn saturation_as_printed_by_the_fao() {
        // P: FAO-56, example 3: e°(15 °C) = 1.705 kPa, e°(24.5 °C) = 3.075 kPa, their mean 2.39 kPa
        near(saturation_kpa(15.0), 1.705, 6e-4);
        near(saturation_kpa(24.5), 3.075, 6e-4);
        near(f64::midpoint(saturation_kpa(15.0), saturation_kpa(24.5)), 2.39, 6e-3);
        // P: the same: e° doubles about every eleven degrees, e°(27)/e°(16) is about 2
        near(saturation_kpa(27.0) / saturation_kpa(16.0), 2.0, 0.05);
    }

    #[test]
    fn vapour_and_dew_point_of_a_day_as_printed_by_the_fao() {
        // P: FAO-56, example 5: 18/25 °C with 82/54 % give 1.70 kPa; its dew point is 14.96 °C
        let mean = f64::midpoint(air(18.0, 82.0).vapour_kpa(), air(25.0, 54.0).vapour_kpa());
        near(mean, 1.70, 6e-3);
        let at_dew = air(25.0, mean / saturation_kpa(25.0) * 100.0);
        near(at_dew.dew_point_c(), 14.96, 0.03);
    }

    #[test]
    fn a_usual_room_derived_from_the_formulas() {
        // derived, no printed source: 24 °C, 80 %
        near(air(24.0, 80.0).deficit_kpa(), 0.597, 6e-4);
        near(air(24.0, 80.0).dew_point_c(), 20.33, 6e-3);
        near(air(24.0, 100.0).dew_point_c(), 24.0, 1e-9);
        near(air(24.0, 100.0).deficit_kpa(), 0.0, 1e-12);
    }

    #[test]
    fn what_no_air_is_is_refused() {
        for rh in [0.0, -1.0, 100.1, f64::NAN] {
            assert!(matches!(Air::new(20.0, rh), Err(AirError::Humidity(_))), "{rh}");
        }
        for temp in [-41.0, 75.0, f64::NAN] {
            assert!(matches!(Air::new(temp, 50.0), Err(AirError::Temp(_))), "{temp}");
        }
    }

    #[test]
    fn weather_of_grey_mould() {
        // P: University of Massachusetts Extension: 85 % and more, 13 to 24 °C
        for (temp, rh, is) in
            [(13.0, 85.0, true), (24.0, 85.0, true), (24.1, 99.0, false), (12.9, 99.0, false), (20.0, 84.9, false)]
        {
            assert_eq!(air(temp, rh).mould_weather(), is, "{temp} {rh}");
        }
    }
}
