//! The air of the demo: a sensor in each zone, a logger's file of the last days and a reading by hand; all invented.

use chrono::Duration;

use crate::domain::action::{Action, Done};
use crate::domain::bands::{Band, Bands};
use crate::domain::id::SensorId;
use crate::domain::reading::{NewReadings, Reading, Spot};
use crate::domain::room::Zone;
use crate::domain::time::{Instant, Now};
use crate::store::air::digest;

/// Readings come every half hour, so many of them.
const STEP_MIN: i64 = 30;
const READINGS: i64 = 9 * 48;

/// A zone with the name of its sensor, its usual temperature and humidity, and how far they swing in a day.
const SENSORS: [(Zone, &str, f64, f64, f64, f64); 3] = [
    (Zone::Covered, "under the covers", 20.0, 1.2, 82.0, 5.0),
    (Zone::Lit, "by the lamps", 23.0, 1.8, 64.0, 8.0),
    (Zone::Isolation, "isolation shelf", 19.0, 0.8, 58.0, 4.0),
];

pub(super) fn sensors() -> Vec<Action> {
    let bands = Bands {
        ph_100: Band { min: Some(550), max: Some(650) },
        water_dc: Band { min: Some(170), max: Some(220) },
        air_dc: Band { min: Some(170), max: Some(260) },
        rh_pm: Band { min: None, max: Some(850) },
        every_d: Some(2),
        ..Bands::default()
    };
    let add = SENSORS.map(|(zone, name, ..)| Action::AddSensor { name: name.into(), at: Spot::Zone(zone) });
    add.into_iter().chain([Action::EditBands { bands: Box::new(bands), rev: 0 }]).collect()
}

/// What the loggers wrote up to `now`, and one reading by hand.
pub(super) fn readings(made: &[Done], now: Now) -> Vec<Action> {
    let ids: Vec<SensorId> = made.iter().filter_map(|done| done.made.map(SensorId)).collect();
    let files = ids.iter().zip(SENSORS).map(|(sensor, (zone, _, temp, swing, rh, damp))| {
        let readings: Vec<Reading> = (1..=READINGS)
            .rev()
            .filter_map(|n| {
                let at = Instant(now.instant().0 - Duration::minutes(n * STEP_MIN));
                let day = turn(at, 24.0);
                // damper for a while every two and a half days
                let spell = turn(at, 61.0).max(0.0);
                Reading::new(at, temp + swing * day, (rh - damp * day + damp * spell).min(99.0)).ok()
            })
            .collect();
        let file = format!("{}.csv", zone.stored());
        let sha256 = digest(format!("{file} {readings:?}").as_bytes());
        Action::ImportAir(Box::new(NewReadings { sensor: *sensor, file, sha256, part: None, readings, map: None }))
    });
    let by_hand = ids.first().zip(Reading::new(now.instant(), 20.4, 87.0).ok());
    let by_hand = by_hand.map(|(sensor, reading)| Action::ReadAir { sensor: *sensor, reading });
    files.chain(by_hand).collect()
}

/// Where a wave of so many hours stands, from -1 to 1.
#[expect(clippy::cast_precision_loss, reason = "minutes since 1970 are far below 2^53")]
pub(super) fn turn(at: Instant, hours: f64) -> f64 {
    (at.0.timestamp() as f64 / 3600.0 / hours * std::f64::consts::TAU).sin()
}
