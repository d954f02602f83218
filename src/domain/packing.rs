//! A packing run: what is drawn from which lots, the packs it gives, and what is left over.

use super::id::{CropId, LotId, ProductId, StoreId, TrayId};
use super::lot::Lot;
use super::product::Part;
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
    /// The cold store the packs go into at once.
    pub store: Option<StoreId>,
    /// Table, scale, knife, by the names written on them.
    pub tools: Vec<String>,
    /// Boxes or bags, and the lot printed on their carton.
    pub packaging: Option<(String, String)>,
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

/// Lots of one crop alone, in the order given.
fn alone<'l>(lots: &[&'l Lot], crop: CropId) -> Vec<&'l Lot> {
    let only = |lot: &&&Lot| matches!(lot.parts.as_slice(), [part] if part.crop == crop);
    lots.iter().filter(only).copied().collect()
}

/// Grams of a lot that are here: of a pack lot what its packs hold.
pub fn grams_here(lot: &Lot) -> i64 {
    lot.pack_g.map_or(lot.grams, |pack_g| lot.packs * pack_g)
}

/// The most that lots of single crops give of a product by its shares: the scarcest crop limits a blend.
pub fn most(parts: &[Part], lots: &[&Lot]) -> i64 {
    let of = |part: &Part| {
        let here: i64 = alone(lots, part.crop).into_iter().map(grams_here).sum();
        here * 1000 / part.share_pm.max(1)
    };
    parts.iter().map(of).min().unwrap_or(0)
}

/// Draws so many grams of a product by its shares from lots of single crops, in the order given; the last crop takes what
/// rounding leaves.
pub fn share_out(parts: &[Part], lots: &[&Lot], grams: i64) -> Vec<Draw> {
    let mut left = grams;
    let mut draws = Vec::new();
    for (n, part) in parts.iter().enumerate() {
        let wanted = if n + 1 == parts.len() { left } else { (grams * part.share_pm + 500) / 1000 };
        left -= wanted;
        draws.extend(draw(&alone(lots, part.crop), wanted));
    }
    draws
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::lot::{Kind, LotPart};

    fn harvest(id: i64, crop: i64, grams: i64) -> Lot {
        let part = LotPart { crop: CropId(crop), name: String::new(), share_pm: 1000, allergen: "no".into() };
        Lot {
            id: LotId(id),
            code: String::new(),
            kind: Kind::Harvest,
            crop: Some(CropId(crop)),
            product: None,
            name: String::new(),
            day: "2026-07-12".parse().unwrap(),
            cut_at: None,
            pack_g: None,
            best_before: None,
            grams,
            packs: 0,
            out_packs: 0,
            held: false,
            parts: vec![part],
            cut_days: vec![],
        }
    }

    fn part(crop: i64, share_pm: i64) -> Part {
        Part { crop: CropId(crop), letters: String::new(), name: String::new(), share_pm, allergen: "no".into() }
    }

    /// Parts, the most they give, and what is drawn of which lot then.
    type Case<'c> = (&'c [Part], i64, &'c [(i64, i64)]);

    #[test]
    fn the_scarcest_crop_limits_a_blend_and_every_crop_gives_its_share() {
        let lots = [harvest(1, 1, 300), harvest(2, 1, 200), harvest(3, 2, 400)];
        let lots: Vec<&Lot> = lots.iter().collect();
        let cases: [Case<'_>; 4] = [
            (&[part(1, 1000)], 500, &[(1, 300), (2, 200)]),
            (&[part(1, 600), part(2, 400)], 833, &[(1, 300), (2, 200), (3, 333)]),
            (&[part(1, 500), part(2, 500)], 800, &[(1, 300), (2, 100), (3, 400)]),
            (&[part(1, 500), part(3, 500)], 0, &[]),
        ];
        for (parts, grams, drawn) in cases {
            assert_eq!(most(parts, &lots), grams);
            let draws = share_out(parts, &lots, grams);
            let got: Vec<(i64, i64)> = draws.iter().map(|draw| (draw.lot.0, draw.grams)).collect();
            assert_eq!(got, drawn);
        }
    }

    #[test]
    fn of_packs_whole_ones_are_opened() {
        let packs = Lot { kind: Kind::Pack, pack_g: Some(150), packs: 4, grams: 0, ..harvest(1, 1, 0) };
        assert_eq!(draw(&[&packs], 500), [Draw { lot: LotId(1), grams: 450, packs: Some(3) }]);
        assert_eq!(grams_here(&packs), 600);
    }

    #[test]
    fn what_is_not_accounted_for_is_drawn_less_packed_trim_and_waste() {
        // P: 5200 g drawn, 4800 packed, 310 trimmed, 50 binned: 99.2 % accounted for (our tracing reference, T5)
        let draws = vec![Draw { lot: LotId(1), grams: 5200, packs: None }];
        let run = |packs| NewRun {
            product: ProductId(1),
            draws: draws.clone(),
            packs,
            pack_g: 100,
            trim_g: 310,
            waste_g: 50,
            best_before: None,
            store: None,
            tools: vec![],
            packaging: None,
            sure: vec![],
        };
        let off = |packs| (run(packs).difference(), run(packs).off_pm(), run(packs).odd());
        assert_eq!(off(48), (40, 8, false));
        assert_eq!(off(46), (240, 46, false));
        assert_eq!(off(45), (340, 65, true));
        assert_eq!(off(51), (-260, 50, false));
    }
}
