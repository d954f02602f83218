//! How long greens keep: a quality estimate for planning, never a safety clearance.
//!
//! Each crop has anchors of temperature and life ([`Rates`]). A cold store's readings are a [`Series`]; prefix sums over it
//! ([`Sums`]) say what share of its life any stretch of time used. A lot's way through rooms and stores ([`Way`]) adds those
//! shares, and what is left of the whole is its countdown ([`Left`]). Degrees are tenths of °C, moments seconds since 1970.

mod count;
mod mean;
mod rates;
mod series;
pub mod spent;
#[cfg(test)]
mod tests;

pub use count::{BAND, Figure, Left, Leg, Part, Place, Used, Way, early_day, shortest, used};
pub use mean::{Mean, ONLY, SOURCE, mean_kinetic_c, typed};
pub use rates::{Marks, Rates, life_h, rate};
pub use series::{Cut, Reading, Series, Stretch, Sums, warmest_of};

/// At or below this greens begin to freeze, tenths of °C. P: spinach, "freezing starts near -0.3 °C".
pub const FREEZING_DC: i64 = -3;

/// Colder than this never lengthens the life of a chilling-sensitive crop. P: UC Davis produce facts, basil and shiso.
pub const CHILLING_DC: i64 = 100;

/// What is said once wherever days left stand.
pub const NO_CLEARANCE: &str = "An estimate of quality. It never clears a safety flag: people do, by name.";
