//! Germination tests: what the counts of the days come to, and how sure the share is.

mod agreement;
mod standard;

pub use agreement::{Agreement, MOST_EXCEED, REGULATION_EXCEED, agreement, exact_range, exceeds, published_range};
pub use standard::{STANDARD_SOURCE, TOLERANCE_SOURCE, standard, tolerance};

use super::proportion::Share;
use super::stats::{count, sum};
use super::text::counted;

/// Why a test cannot be worked out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GermError {
    #[error("of no seeds there is no germination: say how many were laid out")]
    NoSeeds,
    #[error("{0} seeds are more than any test has: give at most {MOST_SEEDS}")]
    TooMany(u64),
    #[error("no day was counted: give the new seedlings of day 1, day 2 and so on, 0 where there were none")]
    NoDays,
    #[error("{germinated} germinated are more than the {sown} laid out: check the counts")]
    MoreThanSown { germinated: u64, sown: u64 },
    #[error("one replicate has nothing to agree with: give two or more")]
    OneReplicate,
}

/// No test is larger.
pub const MOST_SEEDS: u64 = 100_000;

/// Below so many seeds the share is too rough to lean on; 400 are usual in laboratories.
pub const ROUGH_BELOW: u64 = 400;

/// What a test of one lot came to. Days count from the day the seeds were laid out. Where no seed germinated there is no time to
/// tell, so everything that tells of time is `None`, never 0.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Indices {
    pub seeds: u64,
    pub germinated: u64,
    pub percent: f64,
    pub first_d: Option<u32>,
    pub last_d: Option<u32>,
    /// The day by which half of those that germinated had, by Coolbear (1984) and by Farooq (2005).
    pub t50_coolbear: Option<f64>,
    pub t50_farooq: Option<f64>,
    pub mean_d: Option<f64>,
    /// Of the days; of one seed there is none.
    pub variance: Option<f64>,
    pub se: Option<f64>,
    /// Standard deviation by mean, a fraction.
    pub cv: Option<f64>,
    /// One by the mean day, with its own variance and standard error.
    pub rate: Option<f64>,
    pub rate_variance: Option<f64>,
    pub rate_se: Option<f64>,
    /// The coefficient of velocity: the rate, in per cent.
    pub cvg: Option<f64>,
    /// Maguire's speed, and the same of the counts so far.
    pub speed: Option<f64>,
    pub accumulated: Option<f64>,
    /// The sum of what was up each day in per cent (Timson), that by the final per cent, and that by the days.
    pub timson: Option<f64>,
    pub labouriau: Option<f64>,
    pub khan: Option<f64>,
    /// Days before the last count, for each seed laid out (Melville).
    pub index: Option<f64>,
    /// Early seedlings count more, of 100.
    pub weighted: Option<f64>,
    /// In bits, over the days (Labouriau).
    pub uncertainty: Option<f64>,
    /// The share of pairs that came on one day; of one seed there is none.
    pub synchrony: Option<f64>,
    /// The coefficient of uniformity; `None` where all came on one day.
    pub cug: Option<f64>,
    /// The per cent for each day of the test, and the sum of what was up each day (George).
    pub percent_a_day: Option<f64>,
    pub george: Option<f64>,
}

/// Of what was new on day 1, day 2 and so on, of so many seeds.
pub fn indices(counts: &[u64], sown: u64) -> Result<Indices, GermError> {
    indices_of(counts, |_| true, sown)
}

/// The same where not every day was counted: what came up between two counts came evenly between them.
pub fn indices_of(counts: &[u64], counted: impl Fn(u32) -> bool, sown: u64) -> Result<Indices, GermError> {
    let germinated = checked(counts, sown)?;
    if counts.is_empty() {
        return Err(GermError::NoDays);
    }
    let percent = 100.0 * count(germinated) / count(sown);
    let none = Indices {
        seeds: sown,
        germinated,
        percent,
        first_d: None,
        last_d: None,
        t50_coolbear: None,
        t50_farooq: None,
        mean_d: None,
        variance: None,
        se: None,
        cv: None,
        rate: None,
        rate_variance: None,
        rate_se: None,
        cvg: None,
        speed: None,
        accumulated: None,
        timson: None,
        labouriau: None,
        khan: None,
        index: None,
        weighted: None,
        uncertainty: None,
        synchrony: None,
        cug: None,
        percent_a_day: None,
        george: None,
    };
    if germinated == 0 {
        return Ok(none);
    }
    let days: Vec<(u32, f64)> = (1..).zip(counts.iter().map(|new| count(*new))).collect();
    let so_far: Vec<(u32, f64)> = days
        .iter()
        .scan(0.0, |up, (day, new)| {
            *up += new;
            Some((*day, *up))
        })
        .collect();
    let at_counts: Vec<(u32, f64)> = so_far.iter().copied().filter(|(day, _)| counted(*day)).collect();
    let (all, seeds) = (count(germinated), count(sown));
    let last_count = f64::from(days.last().map_or(1, |(day, _)| *day));
    let over = |f: &dyn Fn(f64, f64) -> f64| sum(days.iter().map(|(day, new)| f(f64::from(*day), *new)));
    let mean = over(&|day, new| new * day) / all;
    let off = over(&|day, new| new * (day - mean).powi(2));
    let variance = (germinated >= 2).then(|| off / (all - 1.0));
    let up = sum(so_far.iter().map(|(_, up)| *up));
    let timson = 100.0 * up / seeds;
    let came = days.iter().filter(|(_, new)| *new > 0.0).map(|(day, _)| *day);
    Ok(Indices {
        first_d: came.clone().min(),
        last_d: came.max(),
        t50_coolbear: reached(&at_counts, f64::midpoint(all, 1.0)),
        t50_farooq: reached(&at_counts, all / 2.0),
        mean_d: Some(mean),
        variance,
        se: variance.map(|variance| (variance / all).sqrt()),
        cv: variance.map(|variance| variance.sqrt() / mean),
        rate: Some(1.0 / mean),
        rate_variance: variance.map(|variance| variance / mean.powi(4)),
        rate_se: variance.map(|variance| (variance / all).sqrt() / (mean * mean)),
        cvg: Some(100.0 / mean),
        speed: Some(over(&|day, new| new / day)),
        accumulated: Some(sum(so_far.iter().map(|(day, up)| up / f64::from(*day)))),
        timson: Some(timson),
        labouriau: Some(timson / percent),
        khan: Some(timson / last_count),
        index: Some(over(&|day, new| (last_count - day) * new) / seeds),
        weighted: Some(100.0 * over(&|day, new| (last_count - day + 1.0) * new) / (last_count * seeds)),
        // a sum of nothing is 0, not −0
        uncertainty: Some(0.0 - over(&|_, new| if new > 0.0 { new / all * (new / all).log2() } else { 0.0 })),
        synchrony: (germinated >= 2).then(|| over(&|_, new| new * (new - 1.0)) / (all * (all - 1.0))),
        cug: (off > 0.0).then(|| all / off),
        percent_a_day: Some(percent / last_count),
        george: Some(up),
        ..none
    })
}

/// How many came up in all, if so many can.
fn checked(counts: &[u64], sown: u64) -> Result<u64, GermError> {
    if sown == 0 {
        return Err(GermError::NoSeeds);
    }
    if sown > MOST_SEEDS {
        return Err(GermError::TooMany(sown));
    }
    let germinated = counts.iter().fold(0u64, |all, new| all.saturating_add(*new));
    if germinated > sown { Err(GermError::MoreThanSown { germinated, sown }) } else { Ok(germinated) }
}

/// When so many were up, evenly between the counts of two days. Reached exactly at a count, it is the day of that count.
fn reached(so_far: &[(u32, f64)], mark: f64) -> Option<f64> {
    let at = so_far.iter().position(|(_, up)| *up >= mark)?;
    let (day, up) = *so_far.get(at)?;
    let (before, had) = at.checked_sub(1).and_then(|at| so_far.get(at)).copied().unwrap_or((0, 0.0));
    Some(f64::from(before) + f64::from(day - before) * (mark - had) / (up - had))
}

impl Indices {
    /// The plain sentences, the share with its counts first.
    pub fn words(&self) -> Vec<String> {
        let Ok(share) = Share::of(self.germinated, self.seeds) else { return vec![] };
        let mut said = vec![format!("germinated: {}", share.words())];
        said.push(match (self.mean_d, self.t50_farooq, self.first_d, self.last_d) {
            (Some(mean), Some(half), Some(first), Some(last)) if first < last => {
                format!(
                    "From day {first} to day {last}; half of them by day {half:.1}, on average after {mean:.1} days."
                )
            }
            (Some(_), Some(_), Some(first), Some(_)) => format!("All of them on day {first}."),
            _ => "No seed germinated, so there is no time to tell. Lay out a second test before the lot is given up."
                .into(),
        });
        if self.seeds < ROUGH_BELOW {
            let (low, high) = (100.0 * share.low, 100.0 * share.high);
            said.push(format!(
                "So few as {} tell no closer than {low:.0} to {high:.0} %. Laboratories take 400; test more to know better.",
                counted(usize::try_from(self.seeds).unwrap_or(usize::MAX), "seed")
            ));
        }
        said
    }
}

impl Indices {
    /// The figures behind the sentences; none where no seed germinated.
    pub fn figures(&self) -> Vec<String> {
        let mut said = Vec::new();
        if let (Some(coolbear), Some(farooq), Some(mean)) = (self.t50_coolbear, self.t50_farooq, self.mean_d) {
            let spread = self.se.map_or(String::new(), |se| format!(" (standard error {se:.2})"));
            said.push(format!(
                "half up by day {farooq:.2} (Farooq), {coolbear:.2} (Coolbear); mean {mean:.2} days{spread}"
            ));
        }
        if let (Some(speed), Some(rate), Some(index)) = (self.speed, self.rate, self.index) {
            said.push(format!("speed {speed:.3} (Maguire), rate {rate:.4} a day, germination index {index:.2}"));
        }
        if let (Some(uncertainty), Some(synchrony)) = (self.uncertainty, self.synchrony) {
            said.push(format!("uncertainty {uncertainty:.3} bits, synchrony {synchrony:.3}"));
        }
        said
    }
}

#[cfg(test)]
mod tests;
