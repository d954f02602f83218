//! How long seed keeps: Harrington's rule for advice, and the viability equation of Ellis and Roberts.
//!
//! Both are rough. They say sooner or later, never a date, and a test of the lot is always better.

use super::stats::{law, sound};

/// Why the keeping of seed cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LifeError {
    #[error(
        "{0} % moisture lies outside of 5 to 14 %, where the rule was seen to hold; it is not stretched beyond, so test the lot itself"
    )]
    Moisture(f64),
    #[error(
        "{0} °C lies outside of 0 to 50 °C, where the rule was seen to hold; it is not stretched beyond, so test the lot itself"
    )]
    Temperature(f64),
}

/// Where the rule comes from, said beside it.
pub const SOURCE: &str =
    "Harrington's rule: life halves with 1 % more moisture or 5 °C more warmth, within 5 to 14 % and 0 to 50 °C";

/// What is said beside it, always.
pub const ONLY: &str = "It is a rough rule and no date: test the lot. Let a cold jar warm up before it is opened.";

/// How many times as long seed keeps when it goes `from` one (moisture in per cent, °C) `to` another.
pub fn harrington(from: (f64, f64), to: (f64, f64)) -> Result<f64, LifeError> {
    for (moisture, celsius) in [from, to] {
        if !(5.0..=14.0).contains(&moisture) {
            return Err(LifeError::Moisture(moisture));
        }
        if !(0.0..=50.0).contains(&celsius) {
            return Err(LifeError::Temperature(celsius));
        }
    }
    Ok(((from.0 - to.0) + (from.1 - to.1) / 5.0).exp2())
}

/// The plain sentence.
pub fn words(times: f64) -> String {
    if (times - 1.0).abs() < 0.05 {
        "It keeps about as long in both.".into()
    } else if times > 1.0 {
        format!("It keeps about {} times as long there.", round(times))
    } else {
        format!("It keeps only about {:.0} % as long there, {} times shorter.", 100.0 * times, round(1.0 / times))
    }
}

/// No more digits than a rough rule has.
fn round(times: f64) -> String {
    if times < 10.0 { format!("{times:.1}").trim_end_matches(".0").into() } else { format!("{times:.0}") }
}

/// Constants of a species: how long its seed keeps by moisture and warmth.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Species {
    pub name: &'static str,
    pub ke: f64,
    pub cw: f64,
    pub ch: f64,
    pub cq: f64,
}

/// Temperature coefficients that hold for most species.
const CH: f64 = 0.0329;
const CQ: f64 = 0.000_478;

const fn usual(name: &'static str, ke: f64, cw: f64) -> Species {
    Species { name, ke, cw, ch: CH, cq: CQ }
}

/// P: the data set `viabilityconstants` of the R package viabilitymetrics, from the Kew Seed Information Database; radish
/// 'Kaiware': Coronado et al. 2023, measured at 50 °C only, so its temperature coefficients are assumed.
pub const SPECIES: &[Species] = &[
    usual("Brassica juncea", 7.768, 4.56),
    usual("Brassica napus", 7.718, 4.54),
    usual("Lactuca sativa", 7.938, 5.25),
    Species { name: "Eruca sativa", ke: 4.33, cw: 0.4574, ch: 0.03, cq: 0.000_304 },
    usual("Pisum sativum", 9.858, 5.39),
    usual("Helianthus annuus", 6.74, 4.16),
    Species { name: "Beta vulgaris", ke: 9.373, cw: 5.152, ch: 0.0372, cq: 0.000_467 },
    usual("Raphanus sativus 'Kaiware'", 6.54, 3.22),
];

impl Species {
    /// Days in which germination falls by one probit, at a moisture in per cent of fresh weight.
    fn days_a_probit(&self, moisture: f64, celsius: f64) -> Option<f64> {
        let log = self.ke - self.cw * moisture.log10() - self.ch * celsius - self.cq * celsius * celsius;
        sound(10f64.powf(log))
    }

    /// Germination in per cent after so many days.
    pub fn after(&self, percent: f64, moisture: f64, celsius: f64, days: f64) -> Option<f64> {
        let probit = law::normal_at(percent / 100.0)? - days / self.days_a_probit(moisture, celsius)?;
        sound(100.0 * law::normal_below(probit))
    }

    /// Days until germination has fallen from one per cent to another.
    pub fn days(&self, from: f64, to: f64, moisture: f64, celsius: f64) -> Option<f64> {
        sound(fall(from, to)? * self.days_a_probit(moisture, celsius)?)
    }

    /// The moisture at which germination falls so far in so many days.
    pub fn moisture(&self, from: f64, to: f64, celsius: f64, days: f64) -> Option<f64> {
        let log = (days / fall(from, to)?).log10();
        sound(10f64.powf((self.ke - self.ch * celsius - self.cq * celsius * celsius - log) / self.cw))
    }

    /// The temperature at which it does.
    pub fn celsius(&self, from: f64, to: f64, moisture: f64, days: f64) -> Option<f64> {
        let rest = self.ke - self.cw * moisture.log10() - (days / fall(from, to)?).log10();
        sound(((self.ch * self.ch + 4.0 * self.cq * rest).sqrt() - self.ch) / (2.0 * self.cq))
    }
}

/// By how many probits germination falls from one per cent to another.
fn fall(from: f64, to: f64) -> Option<f64> {
    Some(law::normal_at(from / 100.0)? - law::normal_at(to / 100.0)?).filter(|fall| *fall > 0.0)
}

/// Germination to begin with, in per cent: all of n and none of n lie on a bound that no probit reaches, so they are drawn off it by
/// a quarter of a seed.
pub fn begin(germinated: u64, of: u64) -> Option<f64> {
    if of == 0 || germinated > of {
        return None;
    }
    let (x, n) = (super::stats::count(germinated), super::stats::count(of));
    Some(100.0 * x.clamp(0.25, n - 0.25) / n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percent_and_five_degrees_each_halve() {
        // P: Harrington's rule
        for (from, to, times) in [
            ((8.0, 20.0), (8.0, 5.0), 8.0),
            ((9.0, 20.0), (8.0, 20.0), 2.0),
            ((8.0, 20.0), (9.0, 25.0), 0.25),
            ((5.0, 0.0), (14.0, 50.0), 1.0 / 524_288.0),
        ] {
            assert!((harrington(from, to).unwrap() / times - 1.0).abs() < 1e-12);
        }
        assert_eq!(words(8.0), "It keeps about 8 times as long there.");
        assert_eq!(words(0.25), "It keeps only about 25 % as long there, 4 times shorter.");
    }

    #[test]
    fn beyond_its_limits_the_rule_says_nothing() {
        for bad in [4.9, 14.1, f64::NAN] {
            assert!(matches!(harrington((bad, 20.0), (8.0, 5.0)), Err(LifeError::Moisture(_))));
            assert!(matches!(harrington((8.0, 20.0), (bad, 5.0)), Err(LifeError::Moisture(_))));
        }
        for bad in [-12.0, 50.1, f64::NAN] {
            assert!(matches!(harrington((8.0, bad), (8.0, 5.0)), Err(LifeError::Temperature(_))));
            assert!(matches!(harrington((8.0, 20.0), (8.0, bad)), Err(LifeError::Temperature(_))));
        }
        let freezer = harrington((8.0, 20.0), (8.0, -18.0)).unwrap_err().to_string();
        assert!(freezer.contains("not stretched beyond"), "{freezer}");
    }

    #[test]
    fn all_germinated_is_drawn_off_the_bound() {
        // 100 (n − 0.25) / n
        assert_eq!(begin(50, 50), Some(99.5));
        assert_eq!(begin(0, 50), Some(0.5));
        assert_eq!(begin(40, 50), Some(80.0));
        assert_eq!((begin(1, 0), begin(3, 2)), (None, None));
        let pea = SPECIES.iter().find(|species| species.name == "Pisum sativum").unwrap();
        assert_eq!(pea.after(100.0, 8.0, 5.0, 300.0), None, "no probit of all");
        let held = pea.after(begin(50, 50).unwrap(), 8.0, 5.0, 300.0).unwrap();
        assert!(held < 99.5 && held > 90.0, "{held}");
        assert_eq!(pea.days(90.0, 95.0, 8.0, 5.0), None, "it does not rise");
    }
}
