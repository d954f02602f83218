//! Harvest lots and pack lots: the code on the label, and what is there of them.

use super::id::{CropId, LotId, ProductId};
use super::seed_lot::percent;
use super::time::{Day, Instant};
use super::words::words;

words!(
    /// What kind of lot.
    Kind { Harvest = "harvest" / "harvest lot", Pack = "pack" / "pack lot" }
);

/// The run letters of one day: A to Z, then AA to ZZ; counted from 0. `None`: there are no more.
pub fn run_letters(n: u32) -> Option<String> {
    let letter = |n: u32| char::from_u32(u32::from('A') + n % 26);
    match n {
        0..26 => letter(n).map(String::from),
        26..702 => Some([letter((n - 26) / 26)?, letter((n - 26) % 26)?].into_iter().collect()),
        _ => None,
    }
}

/// The number of run letters, from 0; the inverse of [`run_letters`].
pub fn run_number(letters: &str) -> Option<u32> {
    let value = |c: char| c.is_ascii_uppercase().then(|| u32::from(c) - u32::from('A'));
    let mut letters = letters.chars();
    match (letters.next(), letters.next(), letters.next()) {
        (Some(one), None, _) => value(one),
        (Some(tens), Some(ones), None) => Some(26 + value(tens)? * 26 + value(ones)?),
        _ => None,
    }
}

/// A lot of which something is there, or was lately.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Lot {
    pub id: LotId,
    /// With hyphens and check character.
    pub code: String,
    pub kind: Kind,
    /// Of a harvest lot.
    pub crop: Option<CropId>,
    /// Of a pack lot.
    pub product: Option<ProductId>,
    /// Crop or product.
    pub name: String,
    /// Cut, or packed.
    pub day: Day,
    pub cut_at: Option<Instant>,
    pub pack_g: Option<i64>,
    /// The last day it is sold; a planning figure, it clears nothing.
    pub best_before: Option<Day>,
    /// Grams of a harvest lot, packs of a pack lot that are here; packs on rounds.
    pub grams: i64,
    pub packs: i64,
    pub out_packs: i64,
    pub held: bool,
    /// Crops by weight, largest first: share per mille, and what the crop says of allergens.
    pub parts: Vec<LotPart>,
    /// Days on which its greens were cut.
    pub cut_days: Vec<Day>,
}

/// A crop in a lot.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct LotPart {
    pub crop: CropId,
    pub name: String,
    pub share_pm: i64,
    pub allergen: String,
}

impl Lot {
    /// Packs or grams here.
    pub fn here(&self) -> i64 {
        match self.kind {
            Kind::Harvest => self.grams,
            Kind::Pack => self.packs,
        }
    }

    /// Past the last day it is sold.
    pub fn past(&self, today: Day) -> bool {
        self.best_before.is_some_and(|day| day < today)
    }

    /// May be packed, sold or given away today.
    pub fn free(&self, today: Day) -> bool {
        !self.held && !self.past(today)
    }

    /// Life left in words.
    pub fn life(&self, today: Day) -> String {
        match self.best_before.map(|day| (day - today).num_days()) {
            None => "no day".into(),
            Some(0) => "last day".into(),
            Some(left) if left < 0 => "PAST".into(),
            Some(left) => format!("{left} d left"),
        }
    }

    /// Held, past its day or free, in one word.
    pub fn state(&self, today: Day) -> &'static str {
        if self.held {
            "HELD"
        } else if self.past(today) {
            "past"
        } else {
            "free"
        }
    }

    /// Its crops with their shares, largest first.
    pub fn composition(&self) -> String {
        let words = |part: &LotPart| match self.parts.len() {
            1 => part.name.clone(),
            _ => format!("{} {}", part.name, percent(part.share_pm)),
        };
        self.parts.iter().map(words).collect::<Vec<_>>().join(", ")
    }

    /// Least life left first; what has no day comes last, then the older code.
    pub fn order(&self) -> (Day, Day, LotId) {
        (self.best_before.unwrap_or(Day::MAX), self.day, self.id)
    }
}
