//! How much each sign weighs. These points are this program's own, not published.

use super::Sign;
use crate::domain::refusal::Refusal;

/// Said wherever the points are shown.
pub const OURS: &str = "These points are this program's own, not published; no figure here makes a tray safe.";

/// Points of one sign for hairs, mould and rot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Weight {
    pub hair: i64,
    pub mould: i64,
    pub rot: i64,
}

impl Weight {
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { hair: self.hair + other.hair, mould: self.mould + other.mould, rot: self.rot + other.rot }
    }
}

/// A table of points, one weight for each of [`Sign::ALL`]; version 0 is that of the program.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Points {
    pub version: i64,
    pub weights: Vec<Weight>,
}

impl Points {
    pub fn of(&self, sign: Sign) -> Weight {
        let at = Sign::ALL.iter().position(|s| *s == sign);
        at.and_then(|n| self.weights.get(n)).copied().unwrap_or_default()
    }

    pub fn set(&mut self, sign: Sign, weight: Weight) {
        let at = Sign::ALL.iter().position(|s| *s == sign);
        if let Some(place) = at.and_then(|n| self.weights.get_mut(n)) {
            *place = weight;
        }
    }

    /// Points lie between -20 and 20.
    pub fn check(&self) -> Result<(), Refusal> {
        let odd = Sign::ALL.iter().find(|sign| {
            let Weight { hair, mould, rot } = self.of(**sign);
            [hair, mould, rot].iter().any(|points| !(-20..=20).contains(points))
        });
        match odd {
            Some(sign) => {
                let sentence = format!("Points lie between -20 and 20: look at \"{}\".", sign.shown());
                Err(Refusal::new("points_range", sentence).at(sign.stored()))
            }
            None => Ok(()),
        }
    }
}

impl Default for Points {
    fn default() -> Self {
        Self { version: 0, weights: Sign::ALL.iter().map(|sign| usual(*sign)).collect() }
    }
}

fn usual(sign: Sign) -> Weight {
    let (hair, mould, rot) = match sign {
        Sign::Vanishes => (6, -5, 0),
        Sign::Stands => (-6, 5, 1),
        Sign::BackWhenDry | Sign::RoundRoots => (4, -3, 0),
        Sign::Web | Sign::OnStems => (-4, 4, 0),
        Sign::OnlyRoot => (3, -2, 0),
        Sign::Alike => (2, -2, 0),
        Sign::Patches => (-2, 3, 1),
        Sign::Wider => (-4, 4, 3),
        Sign::Coloured => (-6, 6, 0),
        Sign::White => (1, 0, 0),
        Sign::Smell => (-3, 3, 3),
        Sign::Slime => (-4, 2, 4),
        Sign::EarlyDay => (2, -1, -1),
        Sign::LateDay => (-2, 2, 1),
        Sign::BrownRoots => (-3, 0, 6),
        Sign::Falling => (-2, 1, 6),
        Sign::DeadSeed => (-3, 4, 2),
        Sign::FirmRoots => (1, 0, -4),
    };
    Weight { hair, mould, rot }
}
