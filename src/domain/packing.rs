//! A packing run: what is drawn from which lots, the packs it gives, and what is left over.

use super::id::{LotId, ProductId, TrayId};
use super::lot::Lot;
use super::time::Day;

/// What a run takes of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Draw {
    pub lot: LotId,
    /// Grams of a harvest lot; of a pack lot the weight of the packs opened.
    pub grams: i64,
    /// Packs opened of a pack lot.
    pub packs: Option<i64>,
}

/// A packing run: one pack lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewRun {
    pub product: ProductId,
    pub draws: Vec<Draw>,
    pub packs: i64,
    pub pack_g: i64,
    pub trim_g: i64,
    pub waste_g: i64,
    /// Earlier than the greens would last, or the same.
    pub best_before: Option<Day>,
    /// Rules that were asked about and answered: `pack_balance`, `pack_parts`.
    pub sure: Vec<&'static str>,
}

impl NewRun {
    pub fn drawn(&self) -> i64 {
        self.draws.iter().map(|draw| draw.grams).sum()
    }

    /// Drawn less packed, trim and waste: worked out, never typed. Negative: more came out than went in.
    pub fn difference(&self) -> i64 {
        self.drawn() - self.packs * self.pack_g - self.trim_g - self.waste_g
    }

    /// The difference in tenths of a per cent of what was drawn, away from zero.
    pub fn off_pm(&self) -> i64 {
        let drawn = self.drawn();
        if drawn == 0 { 0 } else { (self.difference().abs() * 1000 + drawn / 2) / drawn }
    }

    /// More than 5 % is asked about.
    pub fn odd(&self) -> bool {
        self.difference().abs() * 20 > self.drawn()
    }
}

/// Live trays that leave the room as one lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewLive {
    pub product: ProductId,
    pub trays: Vec<TrayId>,
    pub best_before: Option<Day>,
}

/// Draws grams from lots in the order given, which is that of least life left; as far as they go.
pub fn draw(lots: &[&Lot], grams: i64) -> Vec<Draw> {
    let mut left = grams;
    let mut draws = Vec::new();
    for lot in lots {
        let (take, packs) = match lot.pack_g {
            Some(pack_g) if pack_g > 0 => {
                let packs = (left / pack_g).min(lot.packs);
                (packs * pack_g, Some(packs))
            }
            _ => (left.min(lot.grams), None),
        };
        if take > 0 {
            draws.push(Draw { lot: lot.id, grams: take, packs });
            left -= take;
        }
    }
    draws
}
