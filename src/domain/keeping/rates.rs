//! Life at a temperature, and the share of it that an hour there uses.

use super::{CHILLING_DC, FREEZING_DC};
use crate::domain::reading::TEMP_DC;

/// Relative rate of deterioration. P: Saltveit, "Respiratory metabolism", USDA Agriculture Handbook 66: Q10 of 3 to 10 °C,
/// 2.5 to 20, 2 to 30, 1.5 above.
pub fn rate(temp_c: f64) -> f64 {
    if temp_c <= 10.0 {
        3f64.powf(temp_c / 10.0)
    } else if temp_c <= 20.0 {
        3.0 * 2.5f64.powf((temp_c - 10.0) / 10.0)
    } else if temp_c <= 30.0 {
        7.5 * 2f64.powf((temp_c - 20.0) / 10.0)
    } else {
        15.0 * 1.5f64.powf((temp_c - 30.0) / 10.0)
    }
}

/// Hours of life at a temperature in °C; anchors in tenths of °C and hours, from cold to warm. `None` without anchors.
///
/// Between anchors the logarithm of life is linear in temperature. Colder than the coldest of several gives no extra credit;
/// warmer than the warmest the faster of the last slope and the shape of [`rate`] counts. One anchor alone follows that shape.
#[expect(clippy::cast_precision_loss, reason = "tenths of degrees and hours of some weeks")]
pub fn life_h(anchors: &[(i64, i64)], temp_c: f64) -> Option<f64> {
    let at = |(dc, hours): &(i64, i64)| (*dc as f64 / 10.0, *hours as f64);
    let (first, last) = (at(anchors.first()?), at(anchors.last()?));
    if anchors.len() == 1 {
        return Some(first.1 * rate(first.0) / rate(temp_c));
    }
    if temp_c <= first.0 {
        return Some(first.1);
    }
    for pair in anchors.windows(2) {
        if let [a, b] = pair {
            let (a, b) = (at(a), at(b));
            if temp_c <= b.0 {
                return Some(between(a, b, temp_c));
            }
        }
    }
    let before = anchors.iter().rev().nth(1).map(at)?;
    let shape = last.1 * rate(last.0) / rate(temp_c);
    Some(between(before, last, temp_c).min(shape))
}

/// The straight line of the logarithm through two anchors.
pub(super) fn between(a: (f64, f64), b: (f64, f64), temp_c: f64) -> f64 {
    let share = (temp_c - a.0) / (b.0 - a.0);
    (a.1.ln() + (b.1.ln() - a.1.ln()) * share).exp()
}

/// What has to be said beside a figure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is said by itself")]
pub struct Marks {
    /// It froze, or began to.
    pub freezing: bool,
    /// A chilling-sensitive crop was colder than it bears.
    pub chilling: bool,
    /// Warmer than the warmest anchor.
    pub extrapolated: bool,
    /// Readings were further apart than the store allows: the warmer of two counted.
    pub gap: bool,
    /// Some of the time nobody knows how warm it was.
    pub unknown: bool,
}

impl Marks {
    /// Nobody knows how warm it was, and nothing else is said.
    pub(super) const UNKNOWN: Self =
        Self { freezing: false, chilling: false, extrapolated: false, gap: false, unknown: true };

    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            freezing: self.freezing || other.freezing,
            chilling: self.chilling || other.chilling,
            extrapolated: self.extrapolated || other.extrapolated,
            gap: self.gap || other.gap,
            unknown: self.unknown || other.unknown,
        }
    }

    /// Each in a few words.
    pub fn words(self) -> Vec<&'static str> {
        [
            (self.freezing, "freezing, inspect"),
            (self.unknown, "temperature unknown, decide by name"),
            (self.chilling, "chilling"),
            (self.gap, "gap in the readings"),
            (self.extrapolated, "extrapolated"),
        ]
        .into_iter()
        .filter_map(|(is, words)| is.then_some(words))
        .collect()
    }
}

/// Readings of the book lie between these, tenths of °C.
pub(super) const COLDEST: i64 = *TEMP_DC.start();
pub(super) const WARMEST: i64 = *TEMP_DC.end();

/// How fast a crop ages at every tenth of a degree.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// Share of life used in a second, from [`COLDEST`].
    per_s: Vec<f64>,
    warmest_dc: i64,
    chilling: bool,
}

impl Rates {
    /// Of anchors in tenths of °C and hours, from cold to warm; `None` without any. The life of a chilling-sensitive crop is
    /// nowhere longer than at [`CHILLING_DC`].
    #[expect(clippy::cast_precision_loss, reason = "tenths of degrees")]
    pub fn of(anchors: &[(i64, i64)], chilling: bool) -> Option<Self> {
        let warmest_dc = anchors.last()?.0;
        let per_s = (COLDEST..=WARMEST)
            .map(|dc| {
                let dc = if chilling { dc.max(CHILLING_DC) } else { dc };
                // steep anchors never come to no time at all
                Some(1.0 / (life_h(anchors, dc as f64 / 10.0)? * 3600.0).max(1.0))
            })
            .collect::<Option<_>>()?;
        Some(Self { per_s, warmest_dc, chilling })
    }

    /// The share of its life that one second at a temperature uses.
    pub fn per_s(&self, dc: i64) -> f64 {
        let n = usize::try_from(dc.clamp(COLDEST, WARMEST) - COLDEST).unwrap_or(0);
        self.per_s.get(n).copied().unwrap_or(f64::INFINITY)
    }

    /// The share of its life that so many seconds at a temperature use.
    #[expect(clippy::cast_precision_loss, reason = "seconds of some years")]
    pub fn share(&self, seconds: i64, dc: i64) -> f64 {
        seconds as f64 * self.per_s(dc)
    }

    /// Whether cold harms the crop.
    pub fn chilling(&self) -> bool {
        self.chilling
    }

    /// Hours of life at a temperature.
    pub fn life_h(&self, dc: i64) -> f64 {
        1.0 / (self.per_s(dc) * 3600.0)
    }

    /// What a figure that rests on a temperature has to say.
    pub fn marks(&self, dc: i64) -> Marks {
        Marks {
            freezing: dc <= FREEZING_DC,
            chilling: self.chilling && dc < CHILLING_DC,
            extrapolated: dc > self.warmest_dc,
            ..Marks::default()
        }
    }
}
