//! The cut: which mats of which trays, what they weighed, and the short check before the knife is taken up.

use super::id::{CropId, PersonId, TrayId};
use super::time::{Day, Instant};

/// Mats of one tray that are cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct CutTray {
    pub tray: TrayId,
    /// `None`: all that are left.
    pub mats: Option<i64>,
    /// Its own weight; `None` where it was weighed together with the others.
    pub grams: Option<i64>,
}

/// Trays of one crop that are cut into one lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewHarvest {
    pub cuts: Vec<CutTray>,
    /// The weight of those that have none of their own, together.
    pub grams: Option<i64>,
    /// They stay and grow again.
    pub again: bool,
    /// Knife, table, scale, by the names written on them.
    pub tools: Vec<String>,
    /// Rules that were asked about and answered: `harvest_early`, `harvest_late`, `harvest_grams`.
    pub sure: Vec<&'static str>,
}

impl NewHarvest {
    /// All of it.
    pub fn total(&self) -> i64 {
        self.cuts.iter().filter_map(|cut| cut.grams).sum::<i64>() + self.grams.unwrap_or(0)
    }

    /// Whole trays weighed together.
    pub fn whole(trays: &[TrayId], grams: i64) -> Self {
        let cuts = trays.iter().map(|tray| CutTray { tray: *tray, mats: None, grams: None }).collect();
        Self { cuts, grams: Some(grams), again: false, tools: Vec::new(), sure: Vec::new() }
    }
}

/// Asked once before cutting begins: of the person at the knife, and anew after a crop that is an allergen.
#[expect(clippy::struct_excessive_bools, reason = "each is an answer of its own, none a state")]
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewCutCheck {
    /// Hands are washed, or gloves fresh.
    pub hands: bool,
    /// Nobody at the knife is ill.
    pub well: bool,
    pub blade: bool,
    /// Table, scale and tools are clean.
    pub cleaned: bool,
    pub with: String,
    /// Everything was washed after a crop that is an allergen; asked only then.
    pub washed: Option<bool>,
}

impl NewCutCheck {
    /// Nothing speaks against cutting.
    pub fn good(&self) -> bool {
        self.bar().is_none()
    }

    /// What speaks against cutting.
    pub fn bar(&self) -> Option<&'static str> {
        if !self.well {
            Some("who is ill cuts and packs nothing: someone else takes over")
        } else if !self.hands {
            Some("hands are to be washed first")
        } else if !self.blade {
            Some("the blade is not whole: look for the piece before anything is cut")
        } else if !self.cleaned {
            Some("table, scale and tools are to be cleaned first")
        } else if self.washed == Some(false) {
            Some("an allergen was cut before: everything is to be washed first")
        } else {
            None
        }
    }
}

/// The newest check of a person on a day.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CutCheck {
    pub person: PersonId,
    pub day: Day,
    pub at: Instant,
    pub check: NewCutCheck,
}

/// Whether a cut asks for a check first: what was cut last today, and what was checked since.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Knife {
    pub checks: Vec<CutCheck>,
    /// The crop cut last today, where it is an allergen, by whichever name, and when.
    pub allergen: Option<(CropId, String, Instant)>,
    /// With what was cleaned last, on whichever day.
    pub with: Option<String>,
}

/// What is to be checked before this crop is cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Needs {
    Nothing,
    /// No check of this person today, or the last one barred.
    Check,
    /// An allergen was cut before, this one.
    Wash(String),
}

impl Knife {
    pub fn needs(&self, who: PersonId, crop: CropId) -> Needs {
        let mine = self.checks.iter().filter(|check| check.person == who).max_by_key(|check| check.at);
        let Some(mine) = mine.filter(|mine| mine.check.good()) else { return Needs::Check };
        match &self.allergen {
            // washed counts for the room, whoever did it
            Some((last, name, at)) if *last != crop => {
                let washed = self.checks.iter().any(|check| check.at >= *at && check.check.washed == Some(true));
                if washed || (mine.at > *at && mine.check.washed == Some(true)) {
                    Needs::Nothing
                } else {
                    Needs::Wash(name.clone())
                }
            }
            _ => Needs::Nothing,
        }
    }
}

/// A nominal tray's area in mm², that a crop's expected yield is for.
const NOMINAL_MM2: f64 = 254.0 * 508.0;

/// Tenths of a gram that some mats of a tray usually give: the crop's figure for a nominal tray, by area.
pub fn usual_dg(yield_g: i64, (length_mm, width_mm): (i64, i64), (mats, of): (i64, i64)) -> i64 {
    #[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "grams of one tray")]
    let dg = {
        let share = (length_mm * width_mm) as f64 / NOMINAL_MM2 * mats as f64 / of.max(1) as f64;
        (yield_g as f64 * 10.0 * share).round() as i64
    };
    dg
}

/// Whether a weight is plausible: from half to double of what is expected, or nothing is expected.
pub fn plausible(expected_g: i64, grams: i64) -> bool {
    expected_g <= 0 || (grams * 2 >= expected_g && grams <= expected_g * 2)
}
