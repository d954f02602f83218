//! What is sold: packs of one crop, packs of a blend, live trays.

use super::id::{CropId, ProductId};
use super::words::words;

words!(
    /// What a product is.
    Kind {
        Crop = "crop" / "one crop",
        Blend = "blend" / "a blend",
        Live = "live" / "a live tray",
    }
);

/// Letters of a blend's lot codes.
pub const BLEND: &str = "MIX";

/// A product to be written down: its parts by crop and share per mille, one part of 1000 for a single crop.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewProduct {
    pub name: String,
    pub kind: Kind,
    /// Grams of a pack; none of a live tray.
    pub pack_g: Option<i64>,
    /// Fourteen digits, where a licensed company prefix is set.
    pub gtin: Option<String>,
    /// Of a pack or a live tray, in hundredths.
    pub price_c: Option<i64>,
    pub parts: Vec<(CropId, i64)>,
}

/// A product in use.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Product {
    pub id: ProductId,
    pub rev: i64,
    pub name: String,
    pub kind: Kind,
    pub pack_g: Option<i64>,
    pub gtin: Option<String>,
    pub price_c: Option<i64>,
    pub parts: Vec<Part>,
}

/// One crop of a product.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Part {
    pub crop: CropId,
    pub letters: String,
    pub name: String,
    pub share_pm: i64,
    /// As the crop says: "no", "not checked", or what it is.
    pub allergen: String,
}

impl Product {
    /// The letters its lot codes begin with.
    pub fn letters(&self) -> &str {
        match (self.kind, self.parts.first()) {
            (Kind::Crop | Kind::Live, Some(part)) => &part.letters,
            _ => BLEND,
        }
    }

    pub fn has(&self, crop: CropId) -> bool {
        self.parts.iter().any(|part| part.crop == crop)
    }

    /// `pack`, `trays`: what so many of it are called.
    pub fn unit(&self, n: i64) -> &'static str {
        match (self.kind, n) {
            (Kind::Live, 1) => "tray",
            (Kind::Live, _) => "trays",
            (_, 1) => "pack",
            _ => "packs",
        }
    }
}

impl NewProduct {
    /// Checks what the book would not take; names the field.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        let name = self.name.trim();
        if name.is_empty() {
            return Err(("name", "Say what it is called on the label.".into()));
        }
        if self.parts.is_empty() {
            return Err(("parts", "Say which crop it is made of.".into()));
        }
        match self.kind {
            Kind::Crop | Kind::Live if self.parts.len() != 1 => {
                return Err(("parts", "It is of one crop: choose one, or make it a blend.".into()));
            }
            Kind::Blend if self.parts.len() < 2 => {
                return Err(("parts", "A blend has two crops or more: add another one.".into()));
            }
            _ => {}
        }
        let crops: std::collections::HashSet<CropId> = self.parts.iter().map(|(crop, _)| *crop).collect();
        if crops.len() != self.parts.len() {
            return Err(("parts", "A crop stands there twice: say it once with its whole share.".into()));
        }
        let sum: i64 = self.parts.iter().map(|(_, share)| *share).sum();
        if self.parts.iter().any(|(_, share)| *share <= 0) || sum != 1000 {
            let percent = super::seed_lot::percent(sum);
            return Err(("parts", format!("The shares make {percent} together: they must make 100 %.")));
        }
        if self.price_c.is_some_and(|cents| !(0..=1_000_000).contains(&cents)) {
            return Err(("price", "A price is 0 to 10000, or none.".into()));
        }
        match (self.kind, self.pack_g) {
            (Kind::Live, Some(_)) => Err(("pack_g", "A live tray has no weight: leave it empty.".into())),
            (Kind::Live, None) | (_, Some(1..=20_000)) => Ok(()),
            _ => Err(("pack_g", "Say how much is in a pack: 1 g to 20 kg.".into())),
        }
    }
}
