//! From what scored lots tell to other figures of their crop, as a proposal.

use super::{Says, Why};
use crate::domain::id::{CropId, LotId};
use crate::domain::text::counted;

/// Under so many lots few are called few.
pub const FEW: usize = 5;

/// Hours of life that a figure may have.
const HOURS: std::ops::RangeInclusive<i64> = 1..=9600;

/// What one lot tells.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct LotSays {
    pub lot: LotId,
    pub code: String,
    /// The most that were looked at together.
    pub packs: i64,
    pub says: Says,
}

/// How long a crop really kept, beside the figures it has.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Proposal {
    pub crop: CropId,
    pub name: String,
    /// How often the crop was changed.
    pub rev: i64,
    /// Shelf life at temperatures as it stands: tenths of °C, hours.
    pub old: Vec<(i64, i64)>,
    /// Every lot of it that was scored.
    pub lots: Vec<LotSays>,
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The geometric mean of the lots' shares: life at every temperature is multiplied by it.
    pub factor: f64,
    /// The least and the most that a lot told.
    pub range: (f64, f64),
    /// Figures that would be written.
    pub anchors: Vec<(i64, i64)>,
}

impl Proposal {
    fn shares(&self) -> impl Iterator<Item = (&LotSays, f64)> {
        self.lots.iter().filter_map(|lot| match lot.says {
            Says::Share { share, .. } => Some((lot, share)),
            _ => None,
        })
    }

    /// Lots that are used: each counts once, however many packs of it were looked at.
    pub fn used(&self) -> usize {
        self.shares().count()
    }

    /// Packs of them.
    pub fn packs(&self) -> i64 {
        self.shares().map(|(lot, _)| lot.packs).sum()
    }

    pub fn few(&self) -> bool {
        self.used() < FEW
    }

    /// Lots that were still sold at their last score.
    pub fn still(&self) -> usize {
        self.lots.iter().filter(|lot| lot.says == Says::Still).count()
    }

    /// Used lots with gaps in their readings.
    pub fn gaps(&self) -> usize {
        self.lots.iter().filter(|lot| matches!(lot.says, Says::Share { gap: true, .. })).count()
    }

    /// Lots that tell nothing, with the reason.
    pub fn left_out(&self) -> impl Iterator<Item = (&str, Why)> {
        self.lots.iter().filter_map(|lot| match lot.says {
            Says::Nothing(why) => Some((lot.code.as_str(), why)),
            _ => None,
        })
    }

    /// The one factor and the figures that come of it, or why there are none.
    pub fn fit(&self) -> Result<Fit, &'static str> {
        if self.old.is_empty() {
            return Err("The crop has no figures to begin with: give it a shelf life first.");
        }
        let shares: Vec<f64> = self.shares().map(|(_, share)| share).collect();
        let factor = mean(&shares).ok_or("No lot of it fell below 5 that can be used: go on scoring.")?;
        let anchors = times(&self.old, factor)?;
        let range = (shares.iter().copied().fold(f64::MAX, f64::min), shares.iter().copied().fold(0.0, f64::max));
        Ok(Fit { factor, range, anchors })
    }

    /// `4 packs of 3 lots`.
    pub fn of(&self) -> String {
        let packs = usize::try_from(self.packs()).unwrap_or(0);
        format!("{} of {}", counted(packs, "pack"), counted(self.used(), "lot"))
    }
}

/// The geometric mean; half as long and twice as long leave things as they are.
#[expect(clippy::cast_precision_loss, reason = "a number of lots")]
fn mean(shares: &[f64]) -> Option<f64> {
    let sum: f64 = shares.iter().map(|share| share.ln()).sum();
    (!shares.is_empty()).then(|| (sum / shares.len() as f64).exp())
}

/// Figures multiplied, in whole hours.
fn times(old: &[(i64, i64)], factor: f64) -> Result<Vec<(i64, i64)>, &'static str> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "hours of some weeks; it saturates"
    )]
    let anchors: Vec<(i64, i64)> = old.iter().map(|(dc, h)| (*dc, (*h as f64 * factor).round() as i64)).collect();
    if !anchors.iter().all(|(_, hours)| HOURS.contains(hours)) {
        return Err("By that it would keep less than an hour or more than 400 days: look at the scores again.");
    }
    if !anchors.windows(2).all(|pair| matches!(pair, [a, b] if a.1 > b.1)) {
        return Err("By that it would keep as long warm as cold, in whole hours: look at the scores again.");
    }
    Ok(anchors)
}
