//! Readings of sensors, in the air of a zone or in a cold store, and for how long they told of mould weather.

use std::ops::RangeInclusive;

use chrono::Duration;

use super::air::Air;
use super::id::{SensorId, StoreId};
use super::logger::Map;
use super::room::{Units, Zone};
use super::time::Instant;
use super::units::trimmed;

/// What is said once wherever hours of mould weather stand.
pub const CLEARS_NOTHING: &str = "Hours of mould weather warn (85 % and more, 13 to 24 °C). Zero hours clear nothing: room air is not the air under a cover.";

/// One reading stands for at most this long; after it nothing is known.
pub const STANDS_FOR: Duration = Duration::hours(2);

/// Readings of a room or a cold store, °C.
const TEMP: RangeInclusive<f64> = -20.0..=60.0;

/// The same in tenths of °C, for every temperature the book keeps.
pub const TEMP_DC: RangeInclusive<i64> = -200..=600;

/// What a sensor measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Spot {
    /// The air of a zone.
    Zone(Zone),
    Store(StoreId),
}

impl Spot {
    pub fn zone(self) -> Option<Zone> {
        match self {
            Self::Zone(zone) => Some(zone),
            Self::Store(_) => None,
        }
    }

    /// Whether every reading must say the humidity: the air of a zone is judged by it.
    pub fn humid(self) -> bool {
        self.zone().is_some()
    }
}

/// The air at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Reading {
    pub at: Instant,
    /// Tenths of a degree Celsius.
    pub temp_dc: i64,
    /// Relative humidity, per mille. None only in a cold store.
    pub rh_pm: Option<i64>,
}

impl Reading {
    /// Refuses what no air of a room is; the sentence has no full stop.
    pub fn new(at: Instant, temp_c: f64, rh_pct: impl Into<Option<f64>>) -> Result<Self, String> {
        if !TEMP.contains(&temp_c) {
            return Err(format!("{temp_c} °C is no air of a room or a store: -20 to 60 °C can be"));
        }
        #[expect(clippy::cast_possible_truncation, reason = "both are limited; the cast saturates")]
        let tenths = |value: f64| (value * 10.0).round() as i64;
        let rh_pm = match rh_pct.into() {
            Some(rh_pct) if !(rh_pct > 0.0 && rh_pct <= 100.0 && tenths(rh_pct) > 0) => {
                return Err(format!("{rh_pct} % is no relative humidity: more than 0 and at most 100 can be"));
            }
            rh_pct => rh_pct.map(tenths),
        };
        Ok(Self { at, temp_dc: tenths(temp_c), rh_pm })
    }

    /// Known where the humidity is.
    #[expect(clippy::cast_precision_loss, reason = "both are far below 2^53")]
    pub fn air(&self) -> Option<Air> {
        Air::new(self.temp_dc as f64 / 10.0, self.rh_pm? as f64 / 10.0).ok()
    }

    /// `21.4 °C, 82 %`, or `4.1 °C` alone.
    pub fn words(&self, units: Units) -> String {
        let temp = units.temperature(self.temp_dc);
        self.rh_pm.map_or_else(|| temp.clone(), |rh_pm| format!("{temp}, {} %", tenths(rh_pm)))
    }

    /// `dew point 18.2 °C, drying power 0.46 kPa`; nothing without the humidity.
    pub fn worked_out(&self, units: Units) -> String {
        self.air().map_or_else(String::new, |air| {
            #[expect(clippy::cast_possible_truncation, reason = "a temperature of a room")]
            let dew = units.temperature((air.dew_point_c() * 10.0).round() as i64);
            format!("dew point {dew}, drying power {:.2} kPa", air.deficit_kpa())
        })
    }
}

#[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
fn tenths(n: i64) -> String {
    trimmed(n as f64 / 10.0, 1)
}

/// Of a stretch of time: minutes of mould weather, and minutes for which the air is known at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, serde::Serialize)]
pub struct Damp {
    pub minutes: i64,
    pub known: i64,
}

impl Damp {
    /// `3.5 of 24 h measured`: never without how much is known.
    pub fn words(self) -> String {
        if self.known > 0 { format!("{} measured", self.short()) } else { "unknown".into() }
    }

    /// Whether nearly all of a day is known.
    pub fn whole_day(self) -> bool {
        self.known >= 24 * 60 * 9 / 10
    }

    /// `3.5 of 24 h`, of those that are known.
    pub fn short(self) -> String {
        format!("{} of {} h", hours(self.minutes), hours(self.known))
    }
}

#[expect(clippy::cast_precision_loss, reason = "minutes of a few weeks")]
fn hours(minutes: i64) -> String {
    trimmed(minutes as f64 / 60.0, 1)
}

/// Mould weather between two moments, of readings in the order of time: each stands until the next, and at most for
/// [`STANDS_FOR`]. Those without humidity say nothing of it.
pub fn damp(readings: &[Reading], from: Instant, until: Instant) -> Damp {
    let first = readings.partition_point(|reading| reading.at.0 + STANDS_FOR <= from.0);
    let mut seconds = (0, 0);
    for (n, reading) in readings.iter().enumerate().skip(first).take_while(|(_, reading)| reading.at < until) {
        if reading.rh_pm.is_none() {
            continue;
        }
        let mut later = readings.iter().skip(n + 1).filter(|later| later.rh_pm.is_some());
        let next = later.next().map_or(until, |next| next.at.min(until));
        let end = next.0.min(reading.at.0 + STANDS_FOR);
        let stood = (end - reading.at.0.max(from.0)).num_seconds().max(0);
        seconds.1 += stood;
        if reading.air().is_some_and(Air::mould_weather) {
            seconds.0 += stood;
        }
    }
    Damp { minutes: seconds.0 / 60, known: seconds.1 / 60 }
}

/// A sensor with its newest reading and what the last day and week were like.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SensorAir {
    pub id: SensorId,
    pub rev: i64,
    pub name: String,
    pub spot: Spot,
    /// How its files were read last.
    pub map: Option<Map>,
    pub newest: Option<Reading>,
    pub day: Damp,
    pub week: Damp,
}

/// The last 24 hours of a zone: of its sensors the worst.
pub fn zone_day(sensors: &[SensorAir], zone: Zone) -> Option<Damp> {
    sensors
        .iter()
        .filter(|sensor| sensor.spot == Spot::Zone(zone) && sensor.day.known > 0)
        .map(|sensor| sensor.day)
        .max()
}

/// A reading by hand or those of a file, as they go into the book.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct NewReadings {
    pub sensor: SensorId,
    /// The file's name.
    pub file: String,
    /// Of the whole file, as 64 hexadecimal digits.
    pub sha256: String,
    /// Of a file too long for one import, counted from 1.
    pub part: Option<i64>,
    pub readings: Vec<Reading>,
    /// How it was read, to be remembered.
    pub map: Option<Map>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(time: &str) -> Instant {
        Instant::parse(&format!("2026-07-13T{time}:00Z")).unwrap()
    }

    fn reading(time: &str, rh: f64) -> Reading {
        Reading::new(at(time), 20.0, rh).unwrap()
    }

    #[test]
    fn what_no_air_of_a_room_is_is_refused() {
        for (temp, rh) in [(20.0, 0.0), (20.0, -3.0), (20.0, 100.1), (20.0, 0.04), (-20.1, 50.0), (60.1, 50.0)] {
            assert!(Reading::new(at("06:00"), temp, rh).is_err(), "{temp} {rh}");
        }
        assert!(
            Reading::new(at("06:00"), f64::NAN, 50.0).is_err() && Reading::new(at("06:00"), 20.0, f64::NAN).is_err()
        );
        let kept = Reading::new(at("06:00"), 21.38, 100.0).unwrap();
        assert_eq!((kept.temp_dc, kept.rh_pm), (214, Some(1000)));
    }

    #[test]
    fn a_reading_says_its_dew_point_and_drying_power() {
        // derived by FAO-56, equations 11, 12 and 14 (checked against its examples in air.rs): 24 °C, 80 %
        let warm = Reading::new(at("06:00"), 24.0, 80.0).unwrap();
        assert_eq!(warm.words(Units::Metric), "24.0 °C, 80 %");
        assert_eq!(warm.worked_out(Units::Metric), "dew point 20.3 °C, drying power 0.60 kPa");
        assert_eq!(warm.worked_out(Units::Us), "dew point 68.5 °F, drying power 0.60 kPa");
    }

    #[test]
    fn a_reading_of_a_store_may_have_no_humidity_and_then_says_nothing_of_mould_weather() {
        let cold = Reading::new(at("06:30"), 4.06, None).unwrap();
        assert_eq!((cold.temp_dc, cold.rh_pm, cold.air().is_none()), (41, None, true));
        assert_eq!((cold.words(Units::Metric), cold.worked_out(Units::Metric)), ("4.1 °C".into(), String::new()));
        assert!(Reading::new(at("06:30"), 60.1, None).is_err() && Reading::new(at("06:30"), f64::NAN, None).is_err());
        // between two damp ones it neither counts nor ends the first
        let series = [reading("06:00", 90.0), cold, reading("07:00", 90.0)];
        assert_eq!(damp(&series, at("00:00"), at("08:00")), Damp { minutes: 120, known: 120 });
        assert_eq!(damp(&[cold], at("00:00"), at("08:00")), Damp::default());
    }

    #[test]
    fn a_reading_stands_until_the_next_and_not_for_ever() {
        let series = [reading("06:00", 90.0), reading("07:00", 90.0), reading("08:30", 60.0), reading("10:00", 90.0)];
        // 06:00 to 07:00, 07:00 to 08:30, and two hours from 10:00; known from 06:00 to 12:00
        assert_eq!(damp(&series, at("00:00"), at("18:00")), Damp { minutes: 270, known: 360 });
        // cut at both ends
        assert_eq!(damp(&series, at("06:30"), at("07:30")), Damp { minutes: 60, known: 60 });
        assert_eq!(damp(&series, at("11:00"), at("11:30")), Damp { minutes: 30, known: 30 });
        assert_eq!(damp(&series, at("13:00"), at("18:00")), Damp::default());
        assert_eq!(damp(&[], at("00:00"), at("18:00")), Damp::default());
    }

    #[test]
    fn hours_say_how_much_of_the_time_is_known() {
        for (minutes, known, words) in [
            (0, 0, "unknown"),
            (0, 105, "0 of 1.8 h measured"),
            (0, 1440, "0 of 24 h measured"),
            (210, 600, "3.5 of 10 h measured"),
        ] {
            assert_eq!(Damp { minutes, known }.words(), words);
        }
    }
}
